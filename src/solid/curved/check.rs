//! Every defect a solid with curved faces can have: one walk over its boundary reports them.
//!
//! The walk goes from the simple to the intricate: how edges and borders hang together, then corners, then surfaces, then
//! shells, and last whether faces cross where they should not. Each step relies on the ones before and is left out if they
//! found something.

use super::faces::doubled_genus;
use super::inside::{Caster, across};
use super::measure::patches_of;
use super::{CurvedSolid, Patch, Step, crossing};
use crate::geom::conic::Conic;
use crate::geom::integral::flux_along;
use crate::geom::path::Path;
use crate::geom::seen::{Place, locate};
use crate::geom::tolerance::{ROUNDING, Tolerance};
use crate::geom::{Few, P2, V3};
use itertools::Itertools;
use petgraph::unionfind::UnionFind;
use std::cell::Cell;
use std::ops::ControlFlow;
use thiserror::Error;

/// What can be wrong with a solid; numbers are places in its lists.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub(crate) enum Defect {
    /// A list points beyond the end of another.
    #[error("something refers to a corner, edge, face or shell that does not exist")]
    Reference,
    /// A border whose steps do not follow one another.
    #[error("border {border} of face {face} is no closed chain of edges")]
    OpenBorder { face: u32, border: u32 },
    /// Not exactly one face each way along an edge.
    #[error("edge {edge} does not have exactly two faces that run along it in opposite ways")]
    Edge { edge: u32 },
    /// An edge whose path is somewhere else, or has no length.
    #[error("the path of edge {edge} does not run between its corners")]
    Ends { edge: u32 },
    /// An edge beside the surface of its face.
    #[error("edge {edge} does not lie on face {face}")]
    OffSurface { edge: u32, face: u32 },
    /// The faces at a corner make no single fan: the surface touches itself there, or nothing meets there.
    #[error("the faces at corner {vertex} do not close around it once")]
    Corner { vertex: u32 },
    /// The normal points elsewhere than the signs say.
    #[error("the normal of face {face} does not have the signs it should have")]
    Signs { face: u32 },
    /// An outer border clockwise, a hole counter-clockwise, or a hole that is not inside the outer border.
    #[error("border {border} of face {face} runs the wrong way or lies outside it")]
    Border { face: u32, border: u32 },
    /// Said to be smooth and is sharp, or the other way round.
    #[error("edge {edge} is taken for smooth and is not, or the other way round")]
    Smooth { edge: u32 },
    /// Shells counted or numbered wrongly.
    #[error("the faces do not hang together in the shells they are said to belong to")]
    Shells,
    /// The outer shell faces inwards.
    #[error("the outer shell is inside out")]
    InsideOut,
    /// Another shell with material inside, or a cavity outside the material: more than one piece.
    #[error("shell {shell} is no cavity of the outer shell")]
    SecondPiece { shell: u32 },
    /// Euler's and Poincaré's formula gives no whole number of through holes.
    #[error("the numbers of corners, edges and faces do not fit together")]
    Genus,
    /// An edge passes through a face or runs within it.
    #[error("edge {edge} passes through face {face}")]
    Crossing { edge: u32, face: u32 },
    /// Two faces cross in a closed curve that lies inside both.
    #[error("faces {} and {} pass through each other", faces[0], faces[1])]
    Faces { faces: [u32; 2] },
}

/// How far an edge may lie off its surface, in tolerances: a corner may be off by one along each axis.
const OFF: f64 = 2.0;

/// How far the normal of a curved surface may point beyond its signs at a border, in radians: where it turns away from an
/// axis, a border may lie as wrong as the square root of the tolerance.
const TURNED: f64 = 0.15;

/// A plane's normal has a component if it is more than this.
const FLAT: f64 = 1e-6;

/// Two normals that differ by less than the first, in radians, cannot be a sharp edge, by more than the second, no smooth
/// one.
const BEND: [f64; 2] = [1e-4, 0.1];

/// Where along an edge it is looked.
const SHARES: [f64; 3] = [0.25, 0.5, 0.75];

/// Calls `report` for each defect until it breaks.
pub(crate) fn visit<B>(
    solid: &CurvedSolid,
    tolerance: Tolerance,
    report: &mut impl FnMut(Defect) -> ControlFlow<B>,
) -> ControlFlow<B> {
    let found = Cell::new(false);
    let mut report = |defect| {
        found.set(true);
        report(defect)
    };
    if !refers_well(solid) {
        return report(Defect::Reference);
    }
    borders(solid, &mut report)?;
    edges(solid, &mut report)?;
    if found.get() {
        return ControlFlow::Continue(());
    }
    corners(solid, &mut report)?;
    surfaces(solid, tolerance, &mut report)?;
    if found.get() {
        return ControlFlow::Continue(());
    }
    let caster = Caster::new(solid);
    shells(solid, &caster, &mut report)?;
    let genus = doubled_genus(solid);
    if genus < 0 || genus % 2 != 0 {
        report(Defect::Genus)?;
    }
    crossing::visit(solid, &caster, tolerance, &mut report)
}

/// All defects; none if the solid is sound.
pub(crate) fn all(solid: &CurvedSolid, tolerance: Tolerance) -> Vec<Defect> {
    let mut defects = Vec::new();
    let _: ControlFlow<()> = visit(solid, tolerance, &mut |defect| {
        defects.push(defect);
        ControlFlow::Continue(())
    });
    defects
}

/// The pairs of faces that some of the defects say cross, each once; twice the same face if its own borders cross.
///
/// An edge that passes through a face takes both its faces with it.
pub(crate) fn crossing_faces(solid: &CurvedSolid, defects: &[Defect]) -> Vec<[u32; 2]> {
    let mut pairs: Vec<[u32; 2]> = Vec::new();
    for defect in defects {
        match defect {
            Defect::Crossing { edge, face } => {
                let own = solid.edges[*edge as usize].faces;
                match own.contains(face) {
                    true => pairs.push([*face; 2]),
                    false => pairs.extend(own.map(|other| [other.min(*face), other.max(*face)])),
                }
            }
            Defect::Faces { faces: [a, b] } => pairs.push([*a.min(b), *a.max(b)]),
            _ => {}
        }
    }
    pairs.sort_unstable();
    pairs.dedup();
    pairs
}

/// Whether all places in lists exist and there is anything at all.
fn refers_well(solid: &CurvedSolid) -> bool {
    let corner = |v: &u32| (*v as usize) < solid.vertices.len();
    let face = |f: &u32| (*f as usize) < solid.faces.len();
    let edge = |step: &Step| (step.edge as usize) < solid.edges.len();
    !solid.faces.is_empty()
        && solid
            .edges
            .iter()
            .all(|e| e.ends.iter().all(corner) && e.faces.iter().all(face))
        && solid.faces.iter().all(|f| {
            let whole = f.borders.iter().all(|border| border.len() > 1);
            let known = f.borders.iter().flatten().all(edge);
            f.shell < solid.shells && !f.borders.is_empty() && whole && known
        })
}

/// The corner a step starts at and the one it ends at.
fn ends(solid: &CurvedSolid, step: Step) -> [u32; 2] {
    let [a, b] = solid.edges[step.edge as usize].ends;
    if step.forward { [a, b] } else { [b, a] }
}

/// Each step of a border starts where the one before ends.
fn borders<B>(
    solid: &CurvedSolid,
    report: &mut impl FnMut(Defect) -> ControlFlow<B>,
) -> ControlFlow<B> {
    for (face, patch) in (0_u32..).zip(&solid.faces) {
        for (border, steps) in (0_u32..).zip(&patch.borders) {
            let next = steps.iter().cycle().skip(1);
            let follows = |(a, b): (&Step, &Step)| ends(solid, *a)[1] == ends(solid, *b)[0];
            if !steps.iter().zip(next).all(follows) {
                report(Defect::OpenBorder { face, border })?;
            }
        }
    }
    ControlFlow::Continue(())
}

/// Each edge is run once by each of its faces, the first forwards, and its path joins its corners.
fn edges<B>(
    solid: &CurvedSolid,
    report: &mut impl FnMut(Defect) -> ControlFlow<B>,
) -> ControlFlow<B> {
    let mut runs: Vec<[Few<u32, 1>; 2]> = vec![Default::default(); solid.edges.len()];
    for (face, patch) in (0_u32..).zip(&solid.faces) {
        for step in patch.borders.iter().flatten() {
            runs[step.edge as usize][usize::from(!step.forward)].push(face);
        }
    }
    let rounding = solid.size() * ROUNDING;
    for (edge, (e, runs)) in (0_u32..).zip(solid.edges.iter().zip(&runs)) {
        let as_said = (0..2).all(|k| runs[k][..] == [e.faces[k]]);
        if !as_said || e.faces[0] == e.faces[1] {
            report(Defect::Edge { edge })?;
        }
        let [a, b] = e.ends.map(|v| solid.vertices[v as usize]);
        if e.path.ends != [a, b] || (b - a).norm() <= rounding {
            report(Defect::Ends { edge })?;
        }
    }
    ControlFlow::Continue(())
}

/// At each corner the faces close to a single fan.
fn corners<B>(
    solid: &CurvedSolid,
    report: &mut impl FnMut(Defect) -> ControlFlow<B>,
) -> ControlFlow<B> {
    // Two ends of edges hang together at a corner if they are neighbours on the border of a face there.
    let mut fans = UnionFind::<usize>::new(2 * solid.edges.len());
    let end = |step: &Step, last: bool| 2 * step.edge as usize + usize::from(step.forward == last);
    for border in solid.faces.iter().flat_map(|f| &f.borders) {
        for (step, next) in border.iter().zip(border.iter().cycle().skip(1)) {
            fans.union(end(step, true), end(next, false));
        }
    }
    let mut seen = vec![None; solid.vertices.len()];
    let mut single = vec![true; solid.vertices.len()];
    for (k, fan) in fans.into_labeling().into_iter().enumerate() {
        let vertex = solid.edges[k / 2].ends[k % 2] as usize;
        single[vertex] &= *seen[vertex].get_or_insert(fan) == fan;
    }
    for (vertex, (seen, single)) in (0_u32..).zip(seen.iter().zip(single)) {
        if seen.is_none() || !single {
            report(Defect::Corner { vertex })?;
        }
    }
    ControlFlow::Continue(())
}

/// Edges lie on their surfaces, normals have their signs, borders run the right way, smooth edges are smooth.
fn surfaces<B>(
    solid: &CurvedSolid,
    tolerance: Tolerance,
    report: &mut impl FnMut(Defect) -> ControlFlow<B>,
) -> ControlFlow<B> {
    let mut normals = vec![Normals::default(); solid.faces.len()];
    for (edge, e) in (0_u32..).zip(&solid.edges) {
        let places = SHARES.map(|share| e.path.point(share));
        let mut outward = [[V3::zeros(); SHARES.len()]; 2];
        for (face, outward) in e.faces.into_iter().zip(&mut outward) {
            let patch = &solid.faces[face as usize];
            let looks = places.map(|at| patch.surface.off(&at));
            let ends = e.path.ends.map(|end| patch.surface.distance(&end));
            let mut offs = looks.iter().map(|(off, _)| off).chain(&ends);
            if offs.any(|off| off.abs() > OFF * tolerance.mm()) {
                report(Defect::OffSurface { edge, face })?;
            }
            normals[face as usize].add(patch, looks.map(|(_, normal)| normal));
            *outward = looks.map(|(_, normal)| if patch.outward { normal } else { -normal });
        }
        let bends = [0, 1, 2].map(|k| (outward[0][k] - outward[1][k]).norm());
        let [least, most] = BEND;
        let wrong = if e.smooth {
            bends.iter().any(|bend| *bend > most)
        } else {
            bends.iter().all(|bend| *bend < least)
        };
        if wrong {
            report(Defect::Smooth { edge })?;
        }
    }
    for (face, (patch, normals)) in (0_u32..).zip(solid.faces.iter().zip(&normals)) {
        if normals.wrong || patch.signs == [0; 3] {
            report(Defect::Signs { face })?;
            continue;
        }
        for border in 0..patch.borders.len() {
            if !is_well_placed(solid, patch, border, normals.axis(patch)) {
                let border = u32::try_from(border).unwrap_or(u32::MAX);
                report(Defect::Border { face, border })?;
            }
        }
    }
    ControlFlow::Continue(())
}

/// The normals of a patch along its borders.
#[derive(Clone, Debug, Default)]
struct Normals {
    sum: V3,
    /// Some do not have the signs of the patch.
    wrong: bool,
}

impl Normals {
    /// Adds those along an edge.
    fn add(&mut self, patch: &Patch, normals: [V3; SHARES.len()]) {
        let slack = if patch.surface.is_plane() {
            FLAT
        } else {
            TURNED
        };
        let agrees = |normal: &V3| {
            (0..3).all(|k| match patch.signs[k] {
                0 => normal[k].abs() <= slack,
                sign => normal[k] * f64::from(sign) > -slack,
            })
        };
        self.wrong |= !normals.iter().all(agrees);
        self.sum += normals[1];
    }

    /// The axis they are nearest to, all in all.
    fn axis(&self, patch: &Patch) -> usize {
        (0..3)
            .filter(|k| patch.signs[*k] != 0)
            .max_by(|i, j| self.sum[*i].abs().total_cmp(&self.sum[*j].abs()))
            .unwrap_or(0)
    }
}

/// Whether a border has the patch to its left, seen from outside, and is inside the outer one if it is a hole.
fn is_well_placed(solid: &CurvedSolid, patch: &Patch, border: usize, axis: usize) -> bool {
    let axes = across(axis);
    // Seen with y away, x right and z up stand the other way round than the axes do.
    let seen = if axis == 1 { -1.0 } else { 1.0 };
    let facing = f64::from(patch.facing()[axis]) * seen;
    let doubled: f64 = (patch.borders[border].iter())
        .map(|step| swept(&solid.edges[step.edge as usize].path, step.forward, axes))
        .sum();
    if border == 0 {
        return doubled * facing > 0.0;
    }
    let outer = patch.borders[0]
        .iter()
        .map(|step| &solid.edges[step.edge as usize].path);
    let middle = solid.edges[patch.borders[border][0].edge as usize]
        .path
        .middle();
    let at = P2::new(middle[axes[0]], middle[axes[1]]);
    doubled * facing < 0.0 && locate(outer, axes, &at, 0.0) != Place::Outside
}

/// Twice the area that a path sweeps around the origin of a view.
fn swept(path: &Path, forward: bool, axes: [usize; 2]) -> f64 {
    let across = |p: &V3, q: &V3| p[axes[0]] * q[axes[1]] - p[axes[1]] * q[axes[0]];
    let [a, b] = path.ends.map(|end| end.coords);
    let doubled = match path.exact_conic() {
        Some(Conic {
            center,
            u,
            v,
            from,
            to,
        }) => across(&center.coords, &(b - a)) + across(u, v) * (to - from),
        None if path.is_straight() => across(&a, &b),
        None => {
            let places = (0..=8).map(|k| path.point(f64::from(k) / 8.0).coords);
            let steps = places.tuple_windows();
            steps.map(|(p, q)| across(&p, &q)).sum()
        }
    };
    if forward { doubled } else { -doubled }
}

/// Shells are what hangs together, the outer one holds material and all others are cavities in it.
fn shells<B>(
    solid: &CurvedSolid,
    caster: &Caster,
    report: &mut impl FnMut(Defect) -> ControlFlow<B>,
) -> ControlFlow<B> {
    let mut groups = UnionFind::<usize>::new(solid.faces.len());
    let mut pieces = solid.faces.len();
    for e in &solid.edges {
        pieces -= usize::from(groups.union(e.faces[0] as usize, e.faces[1] as usize));
    }
    let shell_of = |f: u32| solid.faces[f as usize].shell;
    let mixed = |e: &super::CurvedEdge| shell_of(e.faces[0]) != shell_of(e.faces[1]);
    let named = (0..solid.shells).all(|s| solid.faces.iter().any(|f| f.shell == s));
    if solid.edges.iter().any(mixed) || !named || pieces != solid.shells as usize {
        return report(Defect::Shells);
    }
    let patches = patches_of(solid);
    // Three times each.
    let mut volumes = vec![0.0; pieces];
    for edge in &solid.edges {
        let [left, right] = flux_along(&edge.path, edge.faces.map(|f| &patches[f as usize]));
        volumes[shell_of(edge.faces[0]) as usize] += right - left;
    }
    if volumes[0] <= 0.0 {
        return report(Defect::InsideOut);
    }
    for shell in 1..solid.shells {
        let turns = turns(solid, caster, shell);
        let held = (0..solid.shells).all(|s| s == shell || turns[s as usize] == i64::from(s == 0));
        if volumes[shell as usize] >= 0.0 || !held {
            report(Defect::SecondPiece { shell })?;
        }
    }
    ControlFlow::Continue(())
}

/// How many times each shell goes around another one: how often a line from that one leaves it, less how often it enters.
fn turns(solid: &CurvedSolid, caster: &Caster, shell: u32) -> Vec<i64> {
    let mut turns = vec![0; solid.shells as usize];
    let towards = V3::new(0.347, 0.491, 0.799).normalize();
    let face = solid.faces.iter().find(|f| f.shell == shell);
    let Some(path) = face.and_then(|f| solid.paths(f).next()) else {
        return turns;
    };
    let from = path.point(0.437);
    caster.hits(&from, &towards, |face, t| {
        let leaves = caster.outward(face, &(from + towards * t)).dot(&towards) > 0.0;
        let shell = solid.faces[face as usize].shell;
        turns[shell as usize] += if leaves { 1 } else { -1 };
    });
    turns
}

#[cfg(test)]
mod tests;
