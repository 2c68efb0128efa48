//! Finds faces that cross in a closed curve inside both, where no edge passes through anything.
//!
//! Inside such a curve the one face bulges through the other: somewhere there it is farthest beyond it. That place is sought
//! from the middle of the face, step by step along the surface; on the way from there to the border the face comes back
//! through the other one. Only what is strictly inside both faces counts, so a hasty search overlooks but never accuses.

use super::check::Defect;
use super::crossing::INSIDE;
use super::cut::bends_both_ways;
use super::inside::Caster;
use super::{CurvedSolid, Patch};
use crate::geom::pairs::{Bounds, BoxIndex};
use crate::geom::plane::Plane;
use crate::geom::seen::Place;
use crate::geom::surface::{Profile, Surface, Turned, crossing};
use crate::geom::{P3, V3};
use std::ops::ControlFlow;

/// More steps towards the farthest place are not taken, nor shorter ones than this share of the first.
const MOST_STEPS: usize = 60;
const SHORTEST: f64 = 1e-6;

/// Reports each pair of faces that cross in a closed curve inside both; `boxes` are around the faces.
pub(super) fn visit<B>(
    solid: &CurvedSolid,
    caster: &Caster,
    (boxes, tolerance): (&[Bounds<3>], f64),
    report: &mut impl FnMut(Defect) -> ControlFlow<B>,
) -> ControlFlow<B> {
    let index = BoxIndex::new(boxes);
    for (face, patch) in (0_u32..).zip(&solid.faces) {
        if patch.surface.is_plane() {
            continue;
        }
        let mut others = Vec::new();
        index.touching(&boxes[face as usize], |other| others.push(other));
        others.retain(|&other| {
            // Of two curved faces, either shows the crossing.
            let surface = &solid.faces[other as usize].surface;
            match surface {
                Surface::Plane(plane) => may_bulge_through(&patch.surface, plane),
                Surface::Turned(_) if other >= face || *surface == patch.surface => false,
                Surface::Turned(turned) => {
                    let own = patch.surface.turned();
                    own.is_none_or(|own| !share_axis(own, turned))
                }
            }
        });
        if others.is_empty() {
            continue;
        }
        others.sort_unstable();
        let bulge = Bulge::of(solid, caster, (face, &boxes[face as usize]), tolerance);
        for other in others {
            if bulge.passes(other) {
                report(Defect::Faces {
                    faces: [face, other],
                })?;
            }
        }
    }
    ControlFlow::Continue(())
}

/// Whether a patch can be farthest beyond a plane inside: where it is, its normal is the plane's. Along a cylinder or cone the
/// way goes on straight to the border, and a patch has a normal across an axis on its border only.
fn may_bulge_through(surface: &Surface, plane: &Plane) -> bool {
    bends_both_ways(surface) && plane.normal.iter().all(|n| *n != 0.0)
}

/// Whether two surfaces have one axis, square to x, y or z: they meet in whole circles about it. Along such a circle the
/// normal turns to both sides of that coordinate, and no patch does.
fn share_axis(one: &Turned, other: &Turned) -> bool {
    let is_ball = |t: &Turned| matches!(t.profile, Profile::Sphere { .. });
    let apart = other.origin - one.origin;
    let axis = match [is_ball(one), is_ball(other)] {
        [false, false] if one.axis.cross(&other.axis).norm() > ONE_AXIS => return false,
        [false, _] => one.axis,
        [true, false] => other.axis,
        [true, true] => apart.try_normalize(ONE_AXIS).unwrap_or(one.axis),
    };
    axis.amin() <= ONE_AXIS && apart.cross(&axis).norm() <= ONE_AXIS
}

/// Axes are one if they differ by nothing but rounding, as directions and in millimetres.
const ONE_AXIS: f64 = 1e-9;

/// A curved face, to see whether it bulges through others.
struct Bulge<'s> {
    caster: &'s Caster<'s>,
    solid: &'s CurvedSolid,
    face: u32,
    patch: &'s Patch,
    /// Middles of its edges.
    border: Vec<P3>,
    /// A place in the midst of them on the surface, and how far they are from there.
    middle: P3,
    size: f64,
    /// The middle of its box, and how far that reaches from there.
    center: P3,
    reach: f64,
    tolerance: f64,
}

impl<'s> Bulge<'s> {
    fn of(
        solid: &'s CurvedSolid,
        caster: &'s Caster<'s>,
        (face, bounds): (u32, &Bounds<3>),
        tolerance: f64,
    ) -> Self {
        let bounds = bounds.map(P3::from);
        let patch = &solid.faces[face as usize];
        let border: Vec<P3> = solid.paths(patch).map(|path| path.middle()).collect();
        let low = border.iter().fold(border[0], |low, p| low.inf(p));
        let high = border.iter().fold(border[0], |high, p| high.sup(p));
        Bulge {
            caster,
            solid,
            face,
            patch,
            middle: patch.surface.nearest(&nalgebra::center(&low, &high)),
            size: 0.25 * (high - low).norm(),
            center: nalgebra::center(&bounds[0], &bounds[1]),
            reach: 0.5 * (bounds[1] - bounds[0]).norm(),
            border,
            tolerance,
        }
    }

    /// Whether the face comes through another one and back, strictly inside both.
    fn passes(&self, other: u32) -> bool {
        let surface = &self.solid.faces[other as usize].surface;
        [1.0, -1.0].into_iter().any(|side| {
            let beyond = |p: &P3| side * surface.distance(p);
            let is_back = |p: &&P3| beyond(p) < -self.tolerance;
            // Nowhere does a distance change faster than the place.
            let most = beyond(&self.center) + self.reach;
            if most <= self.tolerance || !self.border.iter().any(|p| is_back(&p)) {
                return false;
            }
            let farthest = self.farthest(surface, side);
            let through =
                beyond(&farthest) > self.tolerance && self.is_inside(self.face, &farthest);
            let mut back = self.border.iter().filter(is_back);
            through
                && back.any(|end| {
                    let at =
                        |t: f64| (self.patch.surface).nearest(&(farthest + (end - farthest) * t));
                    let place = at(crossing(
                        &|t| beyond(&at(t)),
                        (0.0, beyond(&at(0.0))),
                        (1.0, beyond(&at(1.0))),
                    ));
                    let foot = surface.nearest(&place);
                    self.is_inside(self.face, &place) && self.is_inside(other, &foot)
                })
        })
    }

    fn is_inside(&self, face: u32, at: &P3) -> bool {
        self.caster.place(face, at, INSIDE * self.tolerance) == Place::Inside
    }

    /// A place of the face's surface that is farther on one side of another surface than all around it: uphill from the
    /// middle, in shorter steps where one would lead down again.
    fn farthest(&self, surface: &Surface, side: f64) -> P3 {
        let own = &self.patch.surface;
        let mut step = self.size;
        let (mut at, mut high) = (self.middle, side * surface.distance(&self.middle));
        for _ in 0..MOST_STEPS {
            let (up, normal): (V3, V3) = (surface.normal(&at) * side, own.normal(&at));
            let along = up - normal * normal.dot(&up);
            let next = own.nearest(&(at + along * step));
            let there = side * surface.distance(&next);
            if there > high {
                (at, high) = (next, there);
            } else {
                step *= 0.5;
                if step < SHORTEST * self.size {
                    break;
                }
            }
        }
        at
    }
}
