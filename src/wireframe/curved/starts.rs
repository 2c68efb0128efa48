//! Points from which the curve where two surfaces meet is followed: where the straight lines of a cylinder or cone, or the
//! circles of a torus, meet the other surface.

use super::meetings::{Finder, LINES};
use crate::geom::num::{Diagonal, sin_cos};
use crate::geom::plane::Plane;
use crate::geom::surface::{Profile, Surface, Turned, crossing};
use crate::geom::{P3, V3};
use std::f64::consts::TAU;

/// Into how many steps a circle of a torus is cut to see where it passes through another surface.
const ARCS: u32 = 24;

/// More than a step on a torus bulges out from its chord, as a share of its reach.
const BULGE: f64 = 0.01;

/// Where along a cone the circles are that a plane beside its axis is tried with, as shares of the way.
const CIRCLES: [f64; 3] = [0.2, 0.5, 0.8];

impl Finder<'_> {
    /// Points of the curve where two surfaces meet inside the drawing's box, at least one on each branch that is not tiny.
    /// None that no view shows within `step` of it, as far as a quick look tells.
    pub(super) fn starts(
        &self,
        of: &Turned,
        (other, step): (&Surface, f64),
        common: &[P3; 2],
    ) -> Vec<P3> {
        match of.profile {
            Profile::Torus { major, minor } => {
                self.points_on_circles(of, [major, minor], (other, step))
            }
            _ => {
                let mut points = self.points_on_lines(of, other, common);
                if let Surface::Plane(plane) = other {
                    points.extend(self.points_on_circles_across(of, plane, common));
                }
                points
            }
        }
    }

    /// Where circles round the tube of a torus, and others round its axis, meet another surface: a curve that goes round the tube
    /// may run between two of the one kind all the way, a curve round the axis between two of the other.
    fn points_on_circles(
        &self,
        torus: &Turned,
        [major, minor]: [f64; 2],
        (other, step): (&Surface, f64),
    ) -> Vec<P3> {
        let [one, two] = across(torus);
        let place = |i: u32, j: u32| {
            let steps = [(i, 0.31, LINES), (j, 0.0, ARCS)];
            steps.map(|(k, off, all)| (f64::from(k) + off) * TAU / f64::from(all))
        };
        let point = |[turn, arc]: [f64; 2]| {
            let [(sin, cos), (rise, out)] = [turn, arc].map(sin_cos);
            let way = one * cos + two * sin;
            torus.origin + way * (major + minor * out) + torus.axis * (minor * rise)
        };
        let off = |at: [f64; 2]| other.distance(&point(at));
        // A step lies in the box of its ends, but for so much.
        let near = V3::repeat(BULGE * (major + minor) + self.near(step));
        let mut points = Vec::new();
        let mut meet = |ends: [[f64; 2]; 2], offs: [f64; 2]| {
            let [from, to] = ends.map(point);
            if self.may_be_drawn(&[from.inf(&to) - near, from.sup(&to) + near]) {
                let between = |s: f64| [0, 1].map(|k| ends[0][k] + (ends[1][k] - ends[0][k]) * s);
                let there = crossing(&|s| off(between(s)), (0.0, offs[0]), (1.0, offs[1]));
                points.push(point(between(there)));
            }
        };
        let is_met = |a: f64, b: f64| (a >= 0.0) != (b >= 0.0);
        let row = |i: u32| -> Vec<f64> { (0..=ARCS).map(|j| off(place(i, j))).collect() };
        let mut here = row(0);
        for i in 0..LINES {
            let next = row(i + 1);
            for j in 0..ARCS {
                let (k, at) = (j as usize, place(i, j));
                if is_met(here[k], here[k + 1]) {
                    meet([at, place(i, j + 1)], [here[k], here[k + 1]]);
                }
                // A curve that crosses both kinds here is found by the one.
                let is_between = |row: &[f64]| !is_met(row[k.max(1) - 1], row[k + 1]);
                if is_met(here[k], next[k]) && is_between(&here) && is_between(&next) {
                    meet([at, place(i + 1, j)], [here[k], next[k]]);
                }
            }
            here = next;
        }
        points.retain(|at| self.in_box(at, self.tolerance));
        points
    }

    /// Where circles across the axis of a cone meet a plane inside a box: a plane beside the axis may cut it in a curve that runs
    /// between two of its straight lines all the way.
    fn points_on_circles_across(&self, cone: &Turned, plane: &Plane, common: &[P3; 2]) -> Vec<P3> {
        let Profile::Cone { radius, slope } = cone.profile else {
            return Vec::new();
        };
        let [one, two] = across(cone);
        let lean = plane.normal.dot(&cone.axis);
        let (x, y) = (plane.normal.dot(&one), plane.normal.dot(&two));
        let steepest = x.diagonal(y);
        let [low, high] = self.heights(cone, common);
        let circles = CIRCLES.into_iter().filter_map(|share| {
            let height = low + (high - low) * share;
            let center = cone.origin + cone.axis * height;
            let radius = radius + slope * height;
            let cosine = -plane.distance(&center) / (radius * steepest);
            (radius > 0.0 && cosine.abs() < 1.0).then_some((center, radius, cosine))
        });
        let on_circle = |(center, radius, cosine): (P3, f64, f64)| {
            let sine = (1.0 - cosine * cosine).sqrt();
            [sine, -sine].map(|sine| {
                let (out, aside) = (one * x + two * y, two * x - one * y);
                center + (out * cosine + aside * sine) * (radius / steepest)
            })
        };
        let cuts_circles = lean.abs() < steepest;
        let points = circles.filter(|_| cuts_circles).flat_map(on_circle);
        points
            .filter(|point| self.is_within(point, common, self.tolerance))
            .collect()
    }

    /// From where to where along an axis a box reaches.
    fn heights(&self, turned: &Turned, [low, high]: &[P3; 2]) -> [f64; 2] {
        let middle = turned.split(&nalgebra::center(low, high)).0;
        let reach = (high - low).component_mul(&turned.axis.abs()).sum() / 2.0;
        [middle - reach, middle + reach]
    }

    /// Where the straight lines of a cylinder or cone meet another surface inside the drawing's box.
    fn points_on_lines(&self, ruled: &Turned, other: &Surface, common: &[P3; 2]) -> Vec<P3> {
        let mut points = Vec::new();
        let (radius, slope) = match ruled.profile {
            Profile::Cylinder { radius } => (radius, 0.0),
            Profile::Cone { radius, slope } => (radius, slope),
            _ => return points,
        };
        // Only one half of a cone's line is on the cone.
        let on_cone =
            |point: &P3| slope == 0.0 || Surface::Turned(*ruled).distance(point).abs() < 1e-6;
        let [one, two] = across(ruled);
        let length = (1.0 + slope * slope).sqrt();
        for &(sin, cos) in &self.turns {
            let out = one * cos + two * sin;
            let from = ruled.origin + out * radius;
            let direction = (ruled.axis + out * slope) / length;
            if !self.meets_box(&from, &direction, common) {
                continue;
            }
            for t in other.hits(&from, &direction) {
                let point = from + direction * t;
                if self.is_within(&point, common, self.tolerance) && on_cone(&point) {
                    points.push(point);
                }
            }
        }
        points
    }

    /// Whether a line passes through a box, but for the tolerance.
    fn meets_box(&self, from: &P3, direction: &V3, [low, high]: &[P3; 2]) -> bool {
        let (mut enter, mut leave) = (f64::NEG_INFINITY, f64::INFINITY);
        for k in 0..3 {
            let (a, b) = (
                low[k] - self.tolerance - from[k],
                high[k] + self.tolerance - from[k],
            );
            if direction[k].abs() < 1e-12 {
                if a > 0.0 || b < 0.0 {
                    return false;
                }
                continue;
            }
            let (a, b) = (a / direction[k], b / direction[k]);
            enter = enter.max(a.min(b));
            leave = leave.min(a.max(b));
        }
        enter <= leave
    }

    /// Whether a point lies in the drawing's box and in another one, but for a margin.
    pub(super) fn is_within(&self, point: &P3, [low, high]: &[P3; 2], wide: f64) -> bool {
        self.in_box(point, wide)
            && (0..3).all(|k| low[k] - wide <= point[k] && point[k] <= high[k] + wide)
    }
}

/// Two unit directions across an axis, perpendicular to each other.
fn across(turned: &Turned) -> [V3; 2] {
    let axis = turned.axis;
    if axis.amax() == 1.0 {
        return [1, 2].map(|k| V3::ith((axis.iamax() + k) % 3, 1.0));
    }
    let one = V3::ith(axis.iamin(), 1.0).cross(&axis).normalize();
    [one, axis.cross(&one)]
}
