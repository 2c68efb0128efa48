//! What no clause says: that a choice of regions is one piece, and touches itself nowhere.
//!
//! Each fault comes with the regions to blame, so that one clause on just these rules out every choice with the same
//! fault.

use super::board::Board;
use super::{Facing, Model};
use crate::face::{Half, Region};
use crate::geom::arena::Id;
use crate::geom::{Few, P3};
use crate::wireframe::{Edge, Vertex};
use itertools::Itertools;
use petgraph::unionfind::UnionFind;

/// A closed shell of present regions.
#[derive(Clone, Debug)]
pub(crate) struct Shell {
    pub(crate) regions: Vec<Id<Region>>,
    /// Whether it bounds a sealed cavity. A shell that is alone never does: lines of sight tell inside and outside apart.
    pub(crate) hollow: bool,
    bounds: [P3; 2],
}

/// Why a choice is no solid.
#[derive(Clone, Debug)]
pub(crate) enum Fault {
    /// Parts touch at a vertex: the regions there, present and absent.
    Touching(Vec<Id<Region>>),
    /// Parts are apart from each other: shells that cannot all be there.
    Apart(Vec<Id<Region>>),
    /// Regions that cross where no edge is: they cannot both be there; twice the same if its own borders cross. Only the
    /// proof of a reading finds them.
    Crossing([Id<Region>; 2]),
}

/// What a sound choice is made of.
#[derive(Clone, Debug)]
pub(crate) struct Sound {
    /// Its shells.
    pub(crate) shells: Vec<Shell>,
}

impl Sound {
    /// The shells around sealed cavities.
    pub(crate) fn cavities(&self) -> impl Iterator<Item = &Shell> {
        self.shells.iter().filter(|s| s.hollow)
    }
}

/// Checks a choice of regions that satisfies all clauses.
pub(crate) fn check(board: &dyn Board, model: &Model) -> Result<Sound, Vec<Fault>> {
    let mut faults: Vec<Fault> = touching(board, model).collect();
    let shells = shells(board, model);
    faults.extend(apart(board, &shells));
    if faults.is_empty() {
        Ok(Sound { shells })
    } else {
        Err(faults)
    }
}

fn present(model: &Model) -> impl Iterator<Item = Id<Region>> + '_ {
    (0..model.len())
        .filter(|&r| model[r].is_some())
        .map(Id::new)
}

/// The vertices at which the present regions form more than one fan.
fn touching<'a>(board: &'a dyn Board, model: &'a Model) -> impl Iterator<Item = Fault> + 'a {
    let mut corners: Vec<(Id<Vertex>, Id<Edge>, Id<Edge>)> = Vec::new();
    for region in present(model) {
        for border in board.borders(region) {
            corners.extend(border.iter().circular_tuple_windows().map(
                |(into, out): (&Half, &Half)| {
                    let start = board.ends(out.edge)[usize::from(!out.forward)];
                    (start, into.edge, out.edge)
                },
            ));
        }
    }
    corners.sort_unstable();
    let mut vertices = Vec::new();
    for here in corners.chunk_by(|a, b| a.0 == b.0) {
        if fans(here) > 1 {
            vertices.push(here[0].0);
        }
    }
    vertices
        .into_iter()
        .map(|v| Fault::Touching(board.at_vertex(v)))
}

/// Whether the present regions form more than one fan at a vertex.
pub(super) fn touches_at(board: &dyn Board, model: &Model, vertex: Id<Vertex>) -> bool {
    let mut here = Vec::new();
    let regions = board.at_vertex(vertex);
    for region in regions.into_iter().filter(|r| model[r.ix()].is_some()) {
        for border in board.borders(region) {
            let corners = border.iter().circular_tuple_windows();
            here.extend(corners.filter_map(|(into, out): (&Half, &Half)| {
                let start = board.ends(out.edge)[usize::from(!out.forward)];
                (start == vertex).then_some((start, into.edge, out.edge))
            }));
        }
    }
    fans(&here) > 1
}

/// How many separate fans the corners at one vertex form.
fn fans(corners: &[(Id<Vertex>, Id<Edge>, Id<Edge>)]) -> usize {
    let mut edges: Few<Id<Edge>, 16> = corners.iter().flat_map(|c| [c.1, c.2]).collect();
    edges.sort_unstable();
    edges.dedup();
    let place = |e: Id<Edge>| edges.partition_point(|&other| other < e);
    let mut joined = UnionFind::<usize>::new(edges.len());
    let mut fans = edges.len();
    for (_, a, b) in corners {
        if joined.union(place(*a), place(*b)) {
            fans -= 1;
        }
    }
    fans
}

/// Groups the present regions into closed shells.
fn shells(board: &dyn Board, model: &Model) -> Vec<Shell> {
    let mut joined = UnionFind::<usize>::new(model.len());
    for edge in (0..board.edge_count()).map(Id::new) {
        let here = board
            .around(edge)
            .iter()
            .filter(|l| model[l.region.ix()].is_some());
        for (a, b) in here.tuple_windows() {
            joined.union(a.region.ix(), b.region.ix());
        }
    }
    let mut shells: Vec<Shell> = Vec::new();
    let mut shell_of = vec![usize::MAX; model.len()];
    for region in present(model) {
        let bounds = board.bounds(region);
        let group = &mut shell_of[joined.find(region.ix())];
        if *group == usize::MAX {
            *group = shells.len();
            shells.push(Shell {
                regions: Vec::new(),
                hollow: false,
                bounds,
            });
        }
        let shell = &mut shells[*group];
        shell.regions.push(region);
        shell.bounds = [
            shell.bounds[0].inf(&bounds[0]),
            shell.bounds[1].sup(&bounds[1]),
        ];
    }
    if shells.len() > 1 {
        for shell in &mut shells {
            shell.hollow = volume(board, model, &shell.regions) < 0.0;
        }
    }
    shells
}

/// The volume inside a shell, negative for a cavity.
fn volume(board: &dyn Board, model: &Model, shell: &[Id<Region>]) -> f64 {
    let signed = |region: &Id<Region>| match model[region.ix()] {
        Some(Facing::Against) => -board.volume(*region),
        _ => board.volume(*region),
    };
    shell.iter().map(signed).sum()
}

/// Outer shells that cannot be the whole solid, or that are not alone.
fn apart(board: &dyn Board, shells: &[Shell]) -> Vec<Fault> {
    let outer: Vec<&Shell> = shells.iter().filter(|s| !s.hollow).collect();
    if outer.len() < 2 {
        return Vec::new();
    }
    let (lo, hi) = outer
        .iter()
        .fold((outer[0].bounds[0], outer[0].bounds[1]), |(lo, hi), s| {
            (lo.inf(&s.bounds[0]), hi.sup(&s.bounds[1]))
        });
    // The one piece of a reading fills the drawing's box: a shell that does not can never be it.
    let small = |shell: &&Shell| {
        let [a, b] = shell.bounds;
        (a - lo).amax().max((b - hi).amax()) > board.tolerance().mm()
    };
    let faults: Vec<Fault> = outer
        .iter()
        .copied()
        .filter(small)
        .map(|s| Fault::Apart(s.regions.clone()))
        .collect();
    if faults.is_empty() {
        let all = outer.iter().take(2).flat_map(|s| s.regions.iter().copied());
        return vec![Fault::Apart(all.collect())];
    }
    faults
}
