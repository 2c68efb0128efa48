//! Every defect a solid can have: one walk over its boundary reports them, and "the first", "all" and "is it sound" are
//! built on it.
//!
//! The walk goes from the simple to the intricate: how edges and loops hang together, then corners, then planes, then
//! shells, and last whether parts of the surface meet where they should not. Each step relies on the ones before and is
//! left out if they found something.

use super::Polyhedron;
use super::crossing;
use super::measure::{Moments, doubled_genus};
use super::region::Region;
use crate::geom::P3;
use crate::geom::num::direction_degrees;
use crate::geom::tolerance::{ROUNDING, Tolerance};
use petgraph::unionfind::UnionFind;
use std::cell::Cell;
use std::ops::ControlFlow;
use thiserror::Error;

/// What can be wrong with a solid; numbers are places in its lists.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub(crate) enum Defect {
    /// A list points beyond the end of another.
    #[error("something refers to a corner, face or shell that does not exist")]
    Reference,
    /// A loop of fewer than three corners.
    #[error("a border of face {face} has fewer than three corners")]
    ShortLoop { face: u32 },
    /// Not exactly one face each way along an edge, or a border step that is no edge.
    #[error("edge {edge} does not have exactly two faces that run along it in opposite ways")]
    Edge { edge: u32 },
    /// Borders have steps that are no edge, or edges are listed twice.
    #[error("the edges are not just the steps of the borders")]
    Edges,
    /// An edge without length.
    #[error("edge {edge} has no length")]
    NoLength { edge: u32 },
    /// The faces at a corner make no single fan: the surface touches itself there, or nothing meets there.
    #[error("the faces at corner {vertex} do not close around it once")]
    Corner { vertex: u32 },
    /// Only two edges meet, in a straight line.
    #[error("corner {vertex} lies within a straight edge")]
    NeedlessCorner { vertex: u32 },
    /// Corners off the plane of the face.
    #[error("face {face} is not flat")]
    NotFlat { face: u32 },
    /// An outer loop clockwise, a hole counter-clockwise, or a hole that is not inside the outer loop.
    #[error("border {border} of face {face} runs the wrong way or lies outside it")]
    Border { face: u32, border: u32 },
    /// Neighbours in one plane.
    #[error("the faces at edge {edge} lie in one plane")]
    Coplanar { edge: u32 },
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
    /// An edge passes through a face.
    #[error("edge {edge} passes through face {face}")]
    Crossing { edge: u32, face: u32 },
    /// An edge touches a face that it does not belong to.
    #[error("edge {edge} touches face {face}")]
    Touching { edge: u32, face: u32 },
}

/// Calls `report` for each defect until it breaks.
pub(crate) fn visit<B>(
    solid: &Polyhedron,
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
    let steps = Steps::of(solid);
    edges(solid, &steps, &mut report)?;
    if found.get() {
        return ControlFlow::Continue(());
    }
    corners(solid, &steps, &mut report)?;
    planes(solid, tolerance, &mut report)?;
    if found.get() {
        return ControlFlow::Continue(());
    }
    shells(solid, &mut report)?;
    if doubled_genus(solid) < 0 || doubled_genus(solid) % 2 != 0 {
        report(Defect::Genus)?;
    }
    crossing::visit(solid, tolerance, &mut report)
}

/// The first defect, or `None` if the solid is sound.
pub(crate) fn first(solid: &Polyhedron, tolerance: Tolerance) -> Option<Defect> {
    match visit(solid, tolerance, &mut ControlFlow::Break) {
        ControlFlow::Break(defect) => Some(defect),
        ControlFlow::Continue(()) => None,
    }
}

/// All defects.
#[cfg(test)]
pub(crate) fn all(solid: &Polyhedron, tolerance: Tolerance) -> Vec<Defect> {
    let mut defects = Vec::new();
    let _: ControlFlow<()> = visit(solid, tolerance, &mut |defect| {
        defects.push(defect);
        ControlFlow::Continue(())
    });
    defects
}

/// Whether the solid is one piece with a closed two-manifold surface of flat faces.
#[cfg(test)]
pub(crate) fn is_sound(solid: &Polyhedron, tolerance: Tolerance) -> bool {
    first(solid, tolerance).is_none()
}

/// Whether all places in lists exist and there is anything at all.
fn refers_well(solid: &Polyhedron) -> bool {
    let corner = |v: &u32| (*v as usize) < solid.vertices.len();
    let face = |f: &u32| (*f as usize) < solid.faces.len();
    !solid.faces.is_empty()
        && solid
            .edges
            .iter()
            .all(|e| e.ends.iter().all(corner) && e.faces.iter().all(face))
        && solid.faces.iter().all(|f| {
            f.shell < solid.shells && !f.loops.is_empty() && f.loops.iter().flatten().all(corner)
        })
}

/// The steps of all border loops, and the edges by their ends, both sorted to be looked up.
struct Steps {
    /// From, to, face.
    borders: Vec<[u32; 3]>,
    /// Lower end, upper end, edge.
    edges: Vec<[u32; 3]>,
}

impl Steps {
    fn of(solid: &Polyhedron) -> Self {
        let mut borders = Vec::with_capacity(2 * solid.edges.len());
        for (f, face) in (0_u32..).zip(&solid.faces) {
            for border in &face.loops {
                let next = border.iter().cycle().skip(1);
                borders.extend(border.iter().zip(next).map(|(a, b)| [*a, *b, f]));
            }
        }
        let ends = |(k, e): (u32, &super::Edge)| {
            let [a, b] = e.ends;
            [a.min(b), a.max(b), k]
        };
        let mut edges: Vec<[u32; 3]> = (0_u32..).zip(&solid.edges).map(ends).collect();
        borders.sort_unstable();
        edges.sort_unstable();
        Steps { borders, edges }
    }

    /// The only face whose border runs from `a` to `b`, if there is exactly one.
    fn only_face(&self, a: u32, b: u32) -> Option<u32> {
        let start = self.borders.partition_point(|step| *step < [a, b, 0]);
        match self.borders[start..] {
            [[c, d, _], [e, f, _], ..] if [c, d] == [a, b] && [e, f] == [a, b] => None,
            [[c, d, face], ..] if [c, d] == [a, b] => Some(face),
            _ => None,
        }
    }

    /// The edge between two corners, and which of its ends the first one is; only after all edges were found well.
    fn end_at(&self, solid: &Polyhedron, at: u32, other: u32) -> usize {
        let key = [at.min(other), at.max(other), 0];
        let edge = self.edges[self.edges.partition_point(|e| *e < key)][2] as usize;
        2 * edge + usize::from(solid.edges[edge].ends[1] == at)
    }
}

/// Edges and border steps are the same, each edge has its two faces and a length.
fn edges<B>(
    solid: &Polyhedron,
    steps: &Steps,
    report: &mut impl FnMut(Defect) -> ControlFlow<B>,
) -> ControlFlow<B> {
    for (face, f) in (0_u32..).zip(&solid.faces) {
        if f.loops.iter().any(|l| l.len() < 3) {
            report(Defect::ShortLoop { face })?;
        }
    }
    let [lo, hi] = solid.bounds();
    let rounding = (hi - lo).norm() * ROUNDING;
    for (edge, e) in (0_u32..).zip(&solid.edges) {
        let ([a, b], [f, g]) = (e.ends, e.faces);
        if f == g || steps.only_face(a, b) != Some(f) || steps.only_face(b, a) != Some(g) {
            report(Defect::Edge { edge })?;
        }
        let length = (solid.vertices[a as usize] - solid.vertices[b as usize]).norm();
        if length <= rounding {
            report(Defect::NoLength { edge })?;
        }
    }
    let doubled = steps
        .edges
        .windows(2)
        .any(|pair| pair[0][..2] == pair[1][..2]);
    if doubled || steps.borders.len() != 2 * steps.edges.len() {
        report(Defect::Edges)?;
    }
    ControlFlow::Continue(())
}

/// At each corner the faces close to a single fan, and at least three edges meet.
fn corners<B>(
    solid: &Polyhedron,
    steps: &Steps,
    report: &mut impl FnMut(Defect) -> ControlFlow<B>,
) -> ControlFlow<B> {
    // Two ends of edges hang together at a corner if they are neighbours on the border of a face there.
    let mut fans = UnionFind::<usize>::new(2 * solid.edges.len());
    for border in solid.faces.iter().flat_map(|f| &f.loops) {
        for k in 0..border.len() {
            let (before, at) = (border[k], border[(k + 1) % border.len()]);
            let after = border[(k + 2) % border.len()];
            fans.union(
                steps.end_at(solid, at, before),
                steps.end_at(solid, at, after),
            );
        }
    }
    let fan_of = fans.into_labeling();
    let mut seen = vec![(0_u32, usize::MAX, true); solid.vertices.len()];
    for (k, fan) in fan_of.into_iter().enumerate() {
        let (count, first, single) = &mut seen[solid.edges[k / 2].ends[k % 2] as usize];
        *single &= *count == 0 || *first == fan;
        (*count, *first) = (*count + 1, fan);
    }
    for (vertex, (count, _, single)) in (0_u32..).zip(seen) {
        if !single || count == 0 {
            report(Defect::Corner { vertex })?;
        } else if count < 3 {
            report(Defect::NeedlessCorner { vertex })?;
        }
    }
    ControlFlow::Continue(())
}

/// Faces are flat, their borders run the right way, and no two neighbours lie in one plane.
fn planes<B>(
    solid: &Polyhedron,
    tolerance: Tolerance,
    report: &mut impl FnMut(Defect) -> ControlFlow<B>,
) -> ControlFlow<B> {
    for (face, f) in (0_u32..).zip(&solid.faces) {
        let off = |v: &u32| f.plane.distance(&solid.vertices[*v as usize]).abs();
        if f.loops.iter().flatten().any(|v| off(v) > tolerance.mm()) {
            report(Defect::NotFlat { face })?;
            continue;
        }
        let region = Region::of(solid, f);
        for border in 0..f.loops.len() {
            if !region.is_well_placed(border) {
                let border = u32::try_from(border).unwrap_or(u32::MAX);
                report(Defect::Border { face, border })?;
            }
        }
    }
    let [lo, hi] = solid.bounds();
    let extent = (hi - lo).norm();
    for (edge, e) in (0_u32..).zip(&solid.edges) {
        let [f, g] = e.faces.map(|f| solid.faces[f as usize].plane.normal);
        if f.cross(&g).norm() * extent <= tolerance.mm() {
            report(Defect::Coplanar { edge })?;
        }
    }
    ControlFlow::Continue(())
}

/// Shells are what hangs together, the outer one holds material and all others are cavities in it.
fn shells<B>(
    solid: &Polyhedron,
    report: &mut impl FnMut(Defect) -> ControlFlow<B>,
) -> ControlFlow<B> {
    let mut groups = UnionFind::<usize>::new(solid.faces.len());
    let mut pieces = solid.faces.len();
    for e in &solid.edges {
        pieces -= usize::from(groups.union(e.faces[0] as usize, e.faces[1] as usize));
    }
    let shell_of = |f: u32| solid.faces[f as usize].shell;
    let mixed = solid
        .edges
        .iter()
        .any(|e| shell_of(e.faces[0]) != shell_of(e.faces[1]));
    let named = (0..solid.shells).all(|s| solid.faces.iter().any(|f| f.shell == s));
    if mixed || !named || pieces != solid.shells as usize {
        return report(Defect::Shells);
    }
    let mut volumes = vec![0.0; pieces];
    for face in &solid.faces {
        volumes[face.shell as usize] += Moments::of_face(solid, face, &solid.vertices[0]).volume;
    }
    if volumes[0] <= 0.0 {
        return report(Defect::InsideOut);
    }
    for shell in 1..solid.shells {
        let corner = solid
            .faces
            .iter()
            .find(|f| f.shell == shell)
            .map(|f| f.loops[0][0]);
        let point = solid.vertices[corner.unwrap_or(0) as usize];
        let held = volumes[shell as usize] < 0.0
            && (0..solid.shells)
                .all(|s| s == shell || turns(solid, s, &point) == i64::from(s == 0));
        if !held {
            report(Defect::SecondPiece { shell })?;
        }
    }
    ControlFlow::Continue(())
}

/// How many times a shell goes around a point: the solid angle its faces fill, in whole spheres.
///
/// Angle of a triangle by van Oosterom and Strackee, *The Polyhedron Angle of a Plane Triangle*, 1983.
#[allow(clippy::cast_possible_truncation, reason = "rounded, and small")]
fn turns(solid: &Polyhedron, shell: u32, point: &P3) -> i64 {
    let at = |v: u32| (solid.vertices[v as usize] - point).normalize();
    let mut degrees = 0.0;
    for border in solid
        .faces
        .iter()
        .filter(|f| f.shell == shell)
        .flat_map(|f| &f.loops)
    {
        let a = at(border[0]);
        for pair in border[1..].windows(2) {
            let (b, c) = (at(pair[0]), at(pair[1]));
            let below = 1.0 + a.dot(&b) + b.dot(&c) + c.dot(&a);
            degrees += 2.0 * direction_degrees(below, a.dot(&b.cross(&c)));
        }
    }
    (degrees / 720.0).round() as i64
}

#[cfg(test)]
mod tests {
    use super::super::blocks::{Blocks, Dice, pinched};
    use super::super::shapes::{
        block, from_faces, loft, prism, pyramid, rectangle, staircase, upright, windows,
    };
    use super::*;
    use std::collections::BTreeSet;

    fn tolerance() -> Tolerance {
        Tolerance::new(0.02).unwrap()
    }

    /// Blocks listed as x, y, z places of the filled ones.
    fn filled(size: [usize; 3], cells: &[[usize; 3]]) -> Blocks {
        let place = |c: &[usize; 3]| (c[2] * size[1] + c[1]) * size[0] + c[0];
        let mut filled = vec![false; size.iter().product()];
        cells.iter().for_each(|c| filled[place(c)] = true);
        Blocks::cubes(size, filled)
    }

    #[test]
    fn sound_solids_have_no_defect() {
        let outer = [
            rectangle([0.0, 0.0], [31.0, 33.0]),
            rectangle([3.0, 4.0], [25.0, 26.0]),
        ];
        let base = rectangle([0.0, 0.0], [20.0, 20.0]);
        let solids = [
            block([1.0, 2.0, 3.0]),
            windows(4),
            staircase(30),
            upright(&windows(2)),
            loft([0.0, 17.0], &[outer]),
            pyramid(&base, [-30.0, 10.0, 4.0]),
            pinched().solid(),
        ];
        for solid in solids {
            assert_eq!(all(&solid, tolerance()), []);
        }
    }

    #[test]
    fn blocks_are_sound_exactly_if_their_cubes_are() {
        let mut dice = Dice(11);
        let mut counts = [0, 0];
        let thrown = (0..2000).map(|_| (0..18).map(|_| dice.roll(100) < 60).collect());
        let thrown = thrown.map(|filled| Blocks::cubes([3, 3, 2], filled));
        for blocks in thrown.chain(Dice(12).pieces(200)) {
            let sound = blocks.is_one_sound_piece();
            let solid = blocks.solid();
            assert_eq!(
                is_sound(&solid, tolerance()),
                sound,
                "{blocks:?} {:?}",
                all(&solid, tolerance())
            );
            counts[usize::from(sound)] += 1;
        }
        assert!(counts[0] > 500 && counts[1] > 200, "{counts:?}");
    }

    #[test]
    fn touching_along_an_edge_is_found() {
        let solid = filled([2, 2, 1], &[[0, 0, 0], [1, 1, 0]]).solid();
        assert!(
            all(&solid, tolerance())
                .iter()
                .any(|d| matches!(d, Defect::Edge { .. }))
        );
    }

    #[test]
    fn touching_at_a_corner_is_found() {
        let solid = filled([2, 2, 2], &[[0, 0, 0], [1, 1, 1]]).solid();
        let defects = all(&solid, tolerance());
        let corners = defects
            .iter()
            .filter(|d| matches!(d, Defect::Corner { .. }));
        assert_eq!(corners.count(), 1, "{defects:?}");
    }

    #[test]
    fn two_pieces_are_found() {
        let solid = filled([3, 1, 1], &[[0, 0, 0], [2, 0, 0]]).solid();
        assert_eq!(all(&solid, tolerance()), [Defect::SecondPiece { shell: 1 }]);
    }

    #[test]
    fn a_block_within_a_cavity_is_a_second_piece() {
        let room: Vec<[usize; 3]> = itertools::iproduct!(0..5, 0..5, 0..5)
            .map(|(i, j, k)| [i, j, k])
            .filter(|c| c.iter().any(|x| *x == 0 || *x == 4) || *c == [2, 2, 2])
            .collect();
        let defects = all(&filled([5, 5, 5], &room).solid(), tolerance());
        assert!(
            matches!(defects[..], [Defect::SecondPiece { .. }]),
            "{defects:?}"
        );
    }

    #[test]
    fn a_solid_turned_inside_out_is_found() {
        let solid = block([10.0, 20.0, 30.0]);
        let corners: Vec<_> = solid.corners().collect();
        let turned = |f: &super::super::Face| {
            f.loops
                .iter()
                .map(|l| l.iter().rev().copied().collect())
                .collect()
        };
        let faces: Vec<_> = solid.faces.iter().map(turned).collect();
        assert_eq!(
            all(&from_faces(&corners, &faces), tolerance()),
            [Defect::InsideOut]
        );
    }

    #[test]
    fn a_missing_face_is_found_at_each_of_its_edges() {
        let mut solid = block([10.0, 20.0, 30.0]);
        solid.faces[5].loops = solid.faces[4].loops.clone();
        let edges: BTreeSet<u32> = all(&solid, tolerance())
            .into_iter()
            .filter_map(|d| {
                if let Defect::Edge { edge } = d {
                    Some(edge)
                } else {
                    None
                }
            })
            .collect();
        // The four edges of the face that is gone and the four of the face that is there twice; one edge is both's.
        assert_eq!(edges.len(), 7);
    }

    #[test]
    fn a_bent_face_is_found() {
        let mut solid = block([10.0, 20.0, 30.0]);
        solid.vertices[7].z += 0.5;
        let defects = all(&solid, tolerance());
        assert!(
            matches!(defects[..], [Defect::NotFlat { .. }]),
            "{defects:?}"
        );
        assert_eq!(all(&solid, Tolerance::new(1.0).unwrap()), []);
    }

    #[test]
    fn faces_in_one_plane_are_found() {
        let outline = vec![
            [0.0, 0.0],
            [10.0, 0.0],
            [20.0, 0.0],
            [20.0, 10.0],
            [0.0, 10.0],
        ];
        let defects = all(&prism([0.0, 5.0], &[outline]), tolerance());
        assert!(
            defects.iter().any(|d| matches!(d, Defect::Coplanar { .. })),
            "{defects:?}"
        );
    }

    #[test]
    fn a_hole_outside_its_face_is_found() {
        let mut hole = rectangle([30.0, 2.0], [35.0, 6.0]);
        hole.reverse();
        let solid = prism([0.0, 5.0], &[rectangle([0.0, 0.0], [20.0, 10.0]), hole]);
        let defects = all(&solid, tolerance());
        assert!(
            matches!(defects[0], Defect::Border { border: 1, .. }),
            "{defects:?}"
        );
    }

    #[test]
    fn a_cavity_that_leaves_its_block_crosses_it() {
        assert_eq!(all(&bulging(15.0), tolerance()), []);
        let crossing = all(&bulging(45.0), tolerance());
        assert!(
            crossing
                .iter()
                .any(|d| matches!(d, Defect::Crossing { .. })),
            "{crossing:?}"
        );
    }

    #[test]
    fn a_cavity_that_touches_a_wall_from_inside_is_found() {
        let touching = all(&bulging(20.0), tolerance());
        assert!(
            touching
                .iter()
                .any(|d| matches!(d, Defect::Touching { .. })),
            "{touching:?}"
        );
    }

    /// A block 40 x 40 x 20 with a sealed cavity: a pyramid on an upright square in the middle that points along x and is
    /// `reach` high.
    fn bulging(reach: f64) -> Polyhedron {
        let mut corners: Vec<[f64; 3]> = block([40.0, 40.0, 20.0]).corners().collect();
        corners.extend([
            [20.0, 15.0, 5.0],
            [20.0, 25.0, 5.0],
            [20.0, 25.0, 15.0],
            [20.0, 15.0, 15.0],
        ]);
        corners.push([20.0 + reach, 20.0, 10.0]);
        let mut faces: Vec<Vec<Vec<u32>>> = block([40.0, 40.0, 20.0])
            .faces
            .iter()
            .map(|f| f.loops.clone())
            .collect();
        // Normals point into the cavity: its base looks along +x, seen from there counter-clockwise.
        faces.push(vec![vec![8, 9, 10, 11]]);
        faces
            .extend([[9, 8, 12], [10, 9, 12], [11, 10, 12], [8, 11, 12]].map(|t| vec![t.to_vec()]));
        from_faces(&corners, &faces)
    }
}
