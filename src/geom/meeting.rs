//! The curve in which two surfaces meet, known by points on it and exact in between: a place near the curve is brought onto both
//! surfaces by steps that square the error each time.

use super::conic::UNBENT;
use super::surface::Surface;
use super::{P3, V3};
use std::sync::Arc;

/// A curve gets on along an axis plainly if that part of its direction, times the sine of the angle between its surfaces, is
/// more than this.
const PLAIN: f64 = 0.05;

/// A curve on two surfaces.
#[derive(Clone, Debug)]
pub(crate) struct Meeting {
    pub(crate) surfaces: [Surface; 2],
    /// Points of the curve in order, both ends included; two at least.
    pub(crate) points: Arc<[P3]>,
}

impl Meeting {
    pub(super) fn point(&self, share: f64) -> P3 {
        let last = self.points.len() - 1;
        let (k, rest) = place_among(share, last);
        let (a, b) = (self.points[k], self.points[k + 1]);
        if rest == 0.0 {
            return a;
        }
        settled(&self.surfaces, a + (b - a) * rest)
    }

    /// The share of the way of the place on its chords nearest to a point.
    pub(crate) fn share_on_chords(&self, point: &P3) -> f64 {
        let steps = self.points.len() - 1;
        let mut best = (f64::INFINITY, 0.0);
        for (k, pair) in self.points.windows(2).enumerate() {
            let (along, reach) = (pair[1] - pair[0], point - pair[0]);
            let rest = (along.dot(&reach) / along.norm_squared()).clamp(0.0, 1.0);
            let off = (reach - along * rest).norm_squared();
            if off < best.0 {
                best = (off, share_of(k, rest, steps));
            }
        }
        best.1
    }

    /// The first of its points at which a coordinate has reached a value.
    fn first_at(&self, axis: usize, value: f64) -> usize {
        let rising = self.points[0][axis] <= self.points[self.points.len() - 1][axis];
        let before = |p: &P3| (p[axis] < value) == rising && p[axis] != value;
        self.points.partition_point(before)
    }

    /// The points before and after the one at which a coordinate has a value: a monotone curve lies in the box between them.
    /// None next to its ends, which may lie beside the curve.
    pub(super) fn around(&self, axis: usize, value: f64) -> Option<[P3; 2]> {
        let last = self.points.len() - 1;
        let k = self.first_at(axis, value);
        (1 < k && k < last).then(|| [self.points[k - 1], self.points[k]])
    }

    /// The point at which a coordinate has a value, by Newton's method in the plane of all points that have it; none where
    /// the curve is too close to turning back along that axis, or beside its chord, for that to be plain.
    pub(super) fn abreast(&self, axis: usize, value: f64) -> Option<P3> {
        let k = self.first_at(axis, value);
        let (p, q) = (self.points.get(k.checked_sub(1)?)?, self.points.get(k)?);
        let mut at = p + (q - p) * ((value - p[axis]) / (q[axis] - p[axis]));
        at[axis] = value;
        let [i, j] = [(axis + 1) % 3, (axis + 2) % 3];
        for _ in 0..6 {
            let [(f, n), (g, m)] = [0, 1].map(|k| self.surfaces[k].off(&at));
            let spread = n[i] * m[j] - n[j] * m[i];
            at[i] += (g * n[j] - f * m[j]) / spread;
            at[j] += (f * m[i] - g * n[i]) / spread;
            // Each step squares the error.
            if f.abs().max(g.abs()) < 1e-6 * spread.abs() {
                let between = |k: usize| {
                    let (low, high) = (p[k].min(q[k]) - UNBENT, p[k].max(q[k]) + UNBENT);
                    (low..=high).contains(&at[k])
                };
                return (spread.abs() > PLAIN && between(i) && between(j)).then_some(at);
            }
        }
        None
    }

    /// The chord at a share of the way, and how many there are.
    #[allow(clippy::cast_precision_loss, reason = "a short list")]
    fn chord(&self, share: f64) -> (V3, f64) {
        let last = self.points.len() - 1;
        let (k, _) = place_among(share, last);
        (self.points[k + 1] - self.points[k], last as f64)
    }

    /// The unit direction at a point of the curve.
    pub(super) fn direction(&self, share: f64, at: &P3) -> V3 {
        let [n, m] = self.surfaces.map(|s| s.normal(at));
        let (chord, _) = self.chord(share);
        match n.cross(&m).try_normalize(1e-9) {
            Some(unit) if unit.dot(&chord) < 0.0 => -unit,
            Some(unit) => unit,
            None => chord.normalize(),
        }
    }

    /// Along the curve, at a point of it, as fast as its chord is long.
    pub(super) fn velocity(&self, share: f64, at: &P3) -> V3 {
        let (chord, count) = self.chord(share);
        let along = self.direction(share, at);
        let speed = chord.norm_squared() / along.dot(&chord);
        let velocity = if speed.is_finite() {
            along * speed
        } else {
            chord
        };
        velocity * count
    }

    pub(super) fn at(&self, axis: usize, value: f64) -> f64 {
        let last = self.points.len() - 1;
        let k = self.first_at(axis, value);
        if k == 0 {
            return 0.0;
        }
        if k > last {
            return 1.0;
        }
        let (mut low, mut high) = (0.0, 1.0);
        let point = |rest: f64| self.point(share_of(k - 1, rest, last));
        let (a, b) = (self.points[k - 1][axis], self.points[k][axis]);
        let mut rest = (value - a) / (b - a);
        let mut previous = (0.0, a);
        for _ in 0..50 {
            let there = point(rest)[axis];
            if (there - value).abs() < 1e-12 * (1.0 + value.abs()) {
                break;
            }
            if (there < value) == (a < b) {
                low = rest;
            } else {
                high = rest;
            }
            // Along the secant through the last two places, kept inside what is known.
            let step = rest + (value - there) * (rest - previous.0) / (there - previous.1);
            previous = (rest, there);
            rest = if low < step && step < high {
                step
            } else {
                0.5 * (low + high)
            };
        }
        share_of(k - 1, rest, last)
    }
}

/// A point near `guess` on both surfaces; where they touch, one on the first of them.
pub(crate) fn settled([a, b]: &[Surface; 2], guess: P3) -> P3 {
    let mut point = guess;
    for _ in 0..4 {
        let ((f, n), (g, m)) = (a.off(&point), b.off(&point));
        let c = n.dot(&m);
        let spread = 1.0 - c * c;
        if spread < 1e-12 {
            // The surfaces touch here: there is no better point.
            return point - n * f;
        }
        // The smallest step that undoes both distances.
        point -= n * ((f - c * g) / spread) + m * ((g - c * f) / spread);
        // Each step squares the error; where the surfaces nearly touch, it does so later.
        if f.abs().max(g.abs()) < 1e-6 * spread {
            break;
        }
    }
    point
}

/// The whole step below `share` of `steps` steps, and what is left of a step; the last step includes its end.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    reason = "a share between 0 and 1 of a short list"
)]
fn place_among(share: f64, steps: usize) -> (usize, f64) {
    let along = share.clamp(0.0, 1.0) * steps as f64;
    let k = (along as usize).min(steps - 1);
    (k, along - k as f64)
}

/// The share of the way after `k` of `steps` steps and so much of the next.
#[allow(clippy::cast_precision_loss, reason = "a short list")]
pub(super) fn share_of(k: usize, rest: f64, steps: usize) -> f64 {
    (k as f64 + rest) / steps as f64
}
