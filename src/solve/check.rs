//! What no clause says: that a choice of regions is one piece, and touches itself nowhere.
//!
//! Each fault comes with the regions to blame, so that one clause on just these rules out every choice with the same
//! fault.

use super::{Facing, Model, Puzzle};
use crate::face::{Half, Region};
use crate::face::{flat, plane_axes};
use crate::geom::arena::Id;
use crate::geom::{P2, P3};
use crate::wireframe::{Edge, Vertex};
use itertools::Itertools;
use petgraph::unionfind::UnionFind;

/// A closed shell of present regions.
#[derive(Clone, Debug)]
pub(crate) struct Shell {
    pub(crate) regions: Vec<Id<Region>>,
    /// Volume inside it; negative for a cavity. In cubic millimetres.
    pub(crate) volume: f64,
    bounds: [P3; 2],
}

/// Why a choice is no solid.
#[derive(Clone, Debug)]
pub(crate) enum Fault {
    /// Parts touch at a vertex: the regions there, present and absent.
    Touching(Vec<Id<Region>>),
    /// Parts are apart from each other: shells that cannot all be there.
    Apart(Vec<Id<Region>>),
}

/// What a sound choice is made of.
#[derive(Clone, Debug)]
pub(crate) struct Sound {
    /// Its shells; cavities have negative volume.
    pub(crate) shells: Vec<Shell>,
}

impl Sound {
    /// The shells around sealed cavities.
    pub(crate) fn cavities(&self) -> impl Iterator<Item = &Shell> {
        self.shells.iter().filter(|s| s.volume < 0.0)
    }
}

/// Checks a choice of regions that satisfies all clauses.
pub(crate) fn check(puzzle: &Puzzle, model: &Model) -> Result<Sound, Vec<Fault>> {
    let mut faults: Vec<Fault> = touching(puzzle, model).collect();
    let shells = shells(puzzle, model);
    faults.extend(apart(puzzle, &shells));
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
fn touching<'a>(puzzle: &'a Puzzle, model: &'a Model) -> impl Iterator<Item = Fault> + 'a {
    let mut corners: Vec<(Id<Vertex>, Id<Edge>, Id<Edge>)> = Vec::new();
    for region in present(model) {
        for border in &puzzle.faces.regions[region].borders {
            corners.extend(border.iter().circular_tuple_windows().map(
                |(into, out): (&Half, &Half)| (out.start(&puzzle.wireframe), into.edge, out.edge),
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
        .map(|v| Fault::Touching(puzzle.faces.at_vertex(&puzzle.wireframe, v)))
}

/// How many separate fans the corners at one vertex form.
fn fans(corners: &[(Id<Vertex>, Id<Edge>, Id<Edge>)]) -> usize {
    let mut edges: Vec<Id<Edge>> = corners.iter().flat_map(|c| [c.1, c.2]).collect();
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
fn shells(puzzle: &Puzzle, model: &Model) -> Vec<Shell> {
    let mut joined = UnionFind::<usize>::new(model.len());
    for around in &puzzle.faces.around {
        let here = around.iter().filter(|l| model[l.region.ix()].is_some());
        for (a, b) in here.tuple_windows() {
            joined.union(a.region.ix(), b.region.ix());
        }
    }
    let mut shells: Vec<Shell> = Vec::new();
    let mut shell_of = vec![usize::MAX; model.len()];
    for region in present(model) {
        let (signed, bounds) = contribution(puzzle, region, model[region.ix()]);
        let group = &mut shell_of[joined.find(region.ix())];
        if *group == usize::MAX {
            *group = shells.len();
            shells.push(Shell {
                regions: Vec::new(),
                volume: 0.0,
                bounds,
            });
        }
        let shell = &mut shells[*group];
        shell.regions.push(region);
        shell.volume += signed;
        shell.bounds = [
            shell.bounds[0].inf(&bounds[0]),
            shell.bounds[1].sup(&bounds[1]),
        ];
    }
    shells
}

/// A region's part of the volume (divergence theorem) and the box around it.
fn contribution(puzzle: &Puzzle, region: Id<Region>, facing: Option<Facing>) -> (f64, [P3; 2]) {
    let plane = puzzle.faces.plane(region);
    let axes = plane_axes(plane);
    let mut doubled = 0.0;
    let mut bounds: Option<[P3; 2]> = None;
    for half in puzzle.faces.regions[region].halves() {
        let mut span = puzzle.wireframe.span(half.edge);
        if !half.forward {
            span.swap(0, 1);
        }
        let [p, q]: [P2; 2] = span.map(|end| flat(axes, &end));
        doubled += p.coords.perp(&q.coords);
        let [lo, hi] = bounds.unwrap_or([span[0], span[0]]);
        bounds = Some([lo.inf(&span[0]), hi.sup(&span[0])]);
    }
    let area = 0.5 * doubled / plane.normal.amax();
    let sign = if facing == Some(Facing::Against) {
        -1.0
    } else {
        1.0
    };
    (
        sign * plane.offset * area / 3.0,
        bounds.unwrap_or([P3::origin(); 2]),
    )
}

/// Outer shells that cannot be the whole solid, or that are not alone.
fn apart(puzzle: &Puzzle, shells: &[Shell]) -> Vec<Fault> {
    let outer: Vec<&Shell> = shells.iter().filter(|s| s.volume > 0.0).collect();
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
        (a - lo).amax().max((b - hi).amax()) > puzzle.tolerance.mm()
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
