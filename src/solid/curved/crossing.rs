//! Finds faces that cross where there is no edge, by edges that pass through them.
//!
//! Where two faces cross, an edge of the one passes through the other unless the crossing closes within both (`closed`). Only what
//! is clearly through counts: the edge lies beyond the tolerance on both sides of the surface, and the place is strictly
//! inside the other face; or it runs along the surface and strictly inside; or two borders of one face cross at an angle.
//! Near a tangency "on the border" reaches as far
//! as the square root of the tolerance, and there a hasty answer would refuse sound solids.

use super::check::Defect;
use super::inside::{Caster, across};
use super::trace::{Trace, crossings};
use super::{CurvedEdge, CurvedSolid, Patch, closed};
use crate::geom::pairs::{Bounds, BoxIndex};
use crate::geom::seen::Place;
use crate::geom::surface::{Surface, crossing};
use crate::geom::tolerance::Tolerance;
use crate::geom::{Few, P3, V3};
use std::cell::OnceCell;
use std::ops::ControlFlow;

/// How far from a border is strictly inside, in tolerances.
pub(super) const INSIDE: f64 = 4.0;

/// How near to a side of the box around a face nothing can be strictly inside it, in tolerances; the box is one too wide.
const SIDE: f64 = 2.0;

/// Into how many steps a curved edge is cut to look for changes of side.
const STEPS: u32 = 8;

/// Borders that cross at a smaller angle, in radians, may touch.
const ANGLE: f64 = 0.05;

/// Reports each edge that passes through a face it is no border of, or runs within one.
pub(super) fn visit<B>(
    solid: &CurvedSolid,
    caster: &Caster,
    tolerance: Tolerance,
    report: &mut impl FnMut(Defect) -> ControlFlow<B>,
) -> ControlFlow<B> {
    let margin = V3::repeat(tolerance.mm());
    let boxes: Vec<Bounds<3>> = (solid.faces.iter())
        .map(|face| {
            let paths = solid.paths(face).map(|path| path.bounds());
            let around = paths.reduce(|[a, b], [c, d]| [a.inf(&c), b.sup(&d)]);
            around.map_or([[0.0; 3]; 2], |[a, b]| {
                [(a - margin).into(), (b + margin).into()]
            })
        })
        .collect();
    let index = BoxIndex::new(&boxes);
    let mut near = Vec::new();
    for (edge, e) in (0_u32..).zip(&solid.edges) {
        near.clear();
        let bounds = e.path.bounds().map(Into::into);
        index.touching(&bounds, |face| {
            let (patch, around) = (&solid.faces[face as usize], &boxes[face as usize]);
            if may_be_inside(&bounds, (patch, around), SIDE * tolerance.mm()) {
                near.push(face);
            }
        });
        near.sort_unstable();
        let looks = OnceCell::new();
        for &face in &near {
            let edge_looks = (e, &looks);
            if !e.faces.contains(&face) && passes(solid, caster, edge_looks, face, tolerance.mm()) {
                report(Defect::Crossing { edge, face })?;
            }
        }
    }
    for (face, patch) in (0_u32..).zip(&solid.faces) {
        if let Some(axis) = (0..3).find(|k| patch.signs[*k] != 0)
            && let Some(edge) = crossed_border(solid, face, axis, tolerance.mm())
        {
            report(Defect::Crossing { edge, face })?;
        }
    }
    closed::visit(solid, caster, (&boxes, tolerance.mm()), report)
}

/// Whether something in a box may be strictly inside a face: as seen along an axis, the face lies in the box `around` it, and
/// what is so `near` to a side of that is about as near to a border.
fn may_be_inside(bounds: &Bounds<3>, (patch, around): (&Patch, &Bounds<3>), near: f64) -> bool {
    let within =
        |k: usize| bounds[0][k] < around[1][k] - near && bounds[1][k] > around[0][k] + near;
    (0..3).any(|axis| patch.signs[axis] != 0 && across(axis).into_iter().all(within))
}

/// An edge of a face that crosses another one of it, as seen along an axis.
fn crossed_border(solid: &CurvedSolid, face: u32, axis: usize, tolerance: f64) -> Option<u32> {
    let axes = across(axis);
    let steps = solid.faces[face as usize].borders.iter().flatten();
    let edges: Few<u32, 16> = steps.map(|step| step.edge).collect();
    let path = |k: usize| &solid.edges[edges[k] as usize].path;
    let flat = |p: P3| axes.map(|k| p[k]);
    let boxes: Vec<Bounds<2>> = (0..edges.len())
        .map(|k| path(k).bounds().map(flat))
        .collect();
    let index = BoxIndex::new(&boxes);
    let mut found = None;
    for (i, bounds) in boxes.iter().enumerate() {
        index.touching(bounds, |j| {
            let j = j as usize;
            if j >= i || found.is_some() || are_neighbours(solid, [edges[i], edges[j]]) {
                return;
            }
            let [a, b] = [i, j].map(|k| Trace::new(path(k), axes));
            crossings(&a, &b, tolerance * 1e-3, &mut |s, t| {
                let inner = a.is_inner(s, tolerance) && b.is_inner(t, tolerance);
                let angle = a.direction(s).perp(&b.direction(t));
                if inner && angle.abs() > ANGLE {
                    found = Some(edges[i]);
                }
            });
        });
    }
    found
}

/// Whether two edges have a corner in common.
fn are_neighbours(solid: &CurvedSolid, pair: [u32; 2]) -> bool {
    let [a, b] = pair.map(|edge| solid.edges[edge as usize].ends);
    a.iter().any(|v| b.contains(v))
}

/// Whether an edge passes through a face or runs within it.
fn passes(
    solid: &CurvedSolid,
    caster: &Caster,
    (edge, looks): (&CurvedEdge, &OnceCell<Looks>),
    face: u32,
    tolerance: f64,
) -> bool {
    let surface = &solid.faces[face as usize].surface;
    let off = |share: f64| surface.distance(&edge.path.point(share));
    let strictly_inside = |share: f64| {
        let at = surface.nearest(&edge.path.point(share));
        caster.place(face, &at, INSIDE * tolerance) == Place::Inside
    };
    if surface.is_plane() && edge.path.is_straight() {
        return match [0.0, 1.0].map(off) {
            ends if ends.iter().all(|off| off.abs() <= tolerance) => {
                [0.25, 0.5, 0.75].into_iter().any(strictly_inside)
            }
            ends if ends.iter().any(|off| off.abs() <= tolerance) => false,
            [a, b] => (a < 0.0) != (b < 0.0) && strictly_inside(a / (a - b)),
        };
    }
    let looks = if edge.path.is_straight() {
        &straight_looks(edge, surface)
    } else {
        looks.get_or_init(|| bent_looks(edge))
    };
    // The last place clear of the surface, and how far off it is.
    let mut clear: Option<(f64, f64)> = None;
    for &(share, at) in looks {
        let here = surface.distance(&at);
        if here.abs() <= tolerance {
            continue;
        }
        if let Some((before, there)) = clear
            && (there < 0.0) != (here < 0.0)
            && strictly_inside(crossing(&off, (before, there), (share, here)))
        {
            return true;
        }
        clear = Some((share, here));
    }
    clear.is_none() && [0.25, 0.5, 0.75].into_iter().any(strictly_inside)
}

/// Places along an edge where it is looked which side of a surface it is on: shares of the way, and the points.
type Looks = Few<(f64, P3), 16>;

/// Along a bent edge, evenly.
fn bent_looks(edge: &CurvedEdge) -> Looks {
    (0..=STEPS)
        .map(|k| f64::from(k) / f64::from(STEPS))
        .map(|share| (share, edge.path.point(share)))
        .collect()
}

/// Along a straight edge, between any two places where it meets the surface.
fn straight_looks(edge: &CurvedEdge, surface: &Surface) -> Looks {
    let path = &edge.path;
    let length = (path.ends[1] - path.ends[0]).norm();
    let hits = surface.hits(&path.ends[0], &path.direction(0.0));
    let mut cuts: Few<f64, 16> = Few::new();
    cuts.push(0.0);
    cuts.extend(
        hits.into_iter()
            .map(|t| t / length)
            .filter(|t| *t > 0.0 && *t < 1.0),
    );
    cuts.push(1.0);
    let mut shares: Few<f64, 16> = Few::new();
    shares.push(0.0);
    shares.extend(cuts.windows(2).map(|pair| 0.5 * (pair[0] + pair[1])));
    shares.push(1.0);
    let looks = shares.into_iter();
    looks.map(|share| (share, path.point(share))).collect()
}
