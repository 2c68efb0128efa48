//! Circles and ellipses in space, and pieces of them that bend over to ends a little beside them.

use super::num::{angle, arc_cosine, sin_cos};
use super::{P2, P3, V2, V3};
use crate::geom::num::Diagonal;
use std::f64::consts::PI;
use std::ops::Deref;

/// A conic and how far the path's ends lie off it; reads like the conic itself.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bent {
    pub(super) conic: Conic,
    pub(super) off: [V3; 2],
}

/// Ends that lie off their conic by less than this, in millimetres, do not bend it.
pub(super) const UNBENT: f64 = 1e-6;

impl Deref for Bent {
    type Target = Conic;

    fn deref(&self) -> &Conic {
        &self.conic
    }
}

impl Bent {
    /// The most that an end lies off along an axis.
    pub(super) fn bend(&self) -> f64 {
        self.off[0].amax().max(self.off[1].amax())
    }

    /// Whether the whole curve is farther from a point than `reach`, as far as a quick look tells.
    pub(crate) fn is_clear_of(&self, point: &P3, reach: f64) -> bool {
        let Conic { center, u, v, .. } = &self.conic;
        let (uu, vv, out) = (u.norm_squared(), v.norm_squared(), point - center);
        let (p, q) = (out.dot(u) / uu, out.dot(v) / vv);
        let reach = reach + 1.8 * self.bend();
        let above = (out - u * p - v * q).norm();
        // In the measure of u and v the curve is a circle of radius 1.
        let aside = ((p * p + q * q).sqrt() - 1.0).abs() * uu.min(vv).sqrt();
        above > reach || aside > reach
    }

    /// Coordinate `across` where coordinate `along` is `value`, without angles; `span` are its values at the ends. None where
    /// that is not plain: the path is bent, or both places of the conic with that coordinate may be on it.
    pub(super) fn height(
        &self,
        along: usize,
        value: f64,
        across: usize,
        span: [f64; 2],
    ) -> Option<f64> {
        if self.bend() > UNBENT {
            return None;
        }
        let ([p, r], [q, s]) = (
            [along, across].map(|k| self.u[k]),
            [along, across].map(|k| self.v[k]),
        );
        let (square, out) = (p * p + q * q, value - self.center[along]);
        let half = (square - out * out).max(0.0).sqrt();
        let middle = self.center[across] + out * (p * r + q * s) / square;
        let swing = half * (p * s - q * r) / square;
        let (low, high) = (span[0].min(span[1]) - UNBENT, span[0].max(span[1]) + UNBENT);
        let within = |height: &f64| (low..=high).contains(height);
        match [middle + swing, middle - swing] {
            [one, other] if within(&one) && !within(&other) => Some(one),
            [one, other] if within(&other) && !within(&one) => Some(other),
            [one, _] if within(&one) && swing.abs() < UNBENT => Some(one),
            _ => None,
        }
    }
}

/// The points `center + u cos t + v sin t` for `t` from `from` to `to` (radians); `u` and `v` are perpendicular, a circle
/// has both of one length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Conic {
    pub(crate) center: P3,
    pub(crate) u: V3,
    pub(crate) v: V3,
    pub(crate) from: f64,
    pub(crate) to: f64,
}

impl Conic {
    /// The point at angle `t`.
    pub(crate) fn point(&self, t: f64) -> P3 {
        let (sin, cos) = sin_cos(t);
        self.center + self.u * cos + self.v * sin
    }

    /// The change of the point per radian at angle `t`.
    pub(crate) fn velocity(&self, t: f64) -> V3 {
        let (sin, cos) = sin_cos(t);
        self.v * cos - self.u * sin
    }

    /// The angle of the point of the curve towards which `point` lies from the centre, in `(-pi, pi]`.
    pub(crate) fn angle(&self, point: &P3) -> f64 {
        let reach = point - self.center;
        angle(
            reach.dot(&self.v) / self.v.norm_squared(),
            reach.dot(&self.u) / self.u.norm_squared(),
        )
    }

    /// Centre and radius, if a view sees it as a circle.
    pub(super) fn seen_circle(&self, [right, up]: [usize; 2]) -> Option<(P2, f64)> {
        let flat = |w: &V3| V2::new(w[right], w[up]);
        let (u, v) = (flat(&self.u), flat(&self.v));
        let square = u.norm_squared();
        let out_of_round = (square - v.norm_squared()).abs().max(u.dot(&v).abs());
        let center = P2::from(flat(&self.center.coords));
        (out_of_round < 1e-9 * square).then(|| (center, square.sqrt()))
    }

    /// The angle in the range of this piece at which coordinate `axis` is `value`, or the nearer end.
    pub(super) fn at(&self, axis: usize, value: f64) -> f64 {
        let (p, q) = (self.u[axis], self.v[axis]);
        let size = p.diagonal(q);
        if size == 0.0 {
            return self.from;
        }
        let (middle, off) = (angle(q, p), arc_cosine((value - self.center[axis]) / size));
        let (low, high) = (self.from.min(self.to), self.from.max(self.to));
        let beyond = |t: &f64| (low - t).max(t - high);
        let turned = |t: f64| {
            // Into the turn around the middle of the range.
            let centre = 0.5 * (low + high);
            t - 2.0 * PI * ((t - centre) / (2.0 * PI)).round()
        };
        let (one, other) = (turned(middle + off), turned(middle - off));
        let nearest = if beyond(&one) <= beyond(&other) {
            one
        } else {
            other
        };
        nearest.clamp(low, high)
    }
}
