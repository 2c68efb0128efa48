//! The curve that drawn arcs run along: a circle, an ellipse, or points on some smooth curve.
//!
//! A carrier knows nothing of where it is drawn. It answers where a point lies along it, how far off it is, and which way
//! it goes there; everything that follows a curve asks these questions only.

use super::num::{angle, sin_cos};
use super::{P2, V2};
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Steps towards the foot of a point on an ellipse; near it each doubles the number of right digits.
const FOOT_STEPS: usize = 8;

/// A last step smaller than this, in radians, ends the search for that foot; the next would be as small as rounding.
const FOOT_FOUND: f64 = 1e-7;

/// Halvings of a quarter of an ellipse until the foot is as good as the numbers.
const HALVINGS: usize = 50;

/// The curve that drawn arcs run along, in a view's own millimetres (right, up).
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Carrier {
    /// A whole circle.
    Circle {
        /// Its centre.
        center: P2,
        /// Its radius.
        radius: f64,
    },
    /// The points `center + axes[0] cos t + axes[1] sin t`.
    Ellipse {
        /// Its centre.
        center: P2,
        /// Its half-axes, perpendicular, the second a left turn from the first.
        axes: [V2; 2],
    },
    /// A smooth curve through points.
    Free {
        /// Points on it, in order; the first comes again at the end if the curve closes smoothly.
        points: Vec<P2>,
    },
}

impl Carrier {
    /// The distance of a point from the carrier in millimetres; a free curve ends at its first and last point.
    pub(crate) fn distance(&self, at: &P2) -> f64 {
        match self {
            Carrier::Circle { center, radius } => ((at - center).norm() - radius).abs(),
            Carrier::Ellipse { .. } => (at - self.point(self.foot_on_ellipse(at))).norm(),
            Carrier::Free { points } => nearest(points, at).off,
        }
    }

    /// The place along the carrier nearest to a point on it or close by.
    ///
    /// An angle in `(-π, π]` for a circle, the eccentric angle in `(-π, π]` for an ellipse, the length in millimetres
    /// along the polyline for a free curve.
    pub(crate) fn parameter(&self, at: &P2) -> f64 {
        let turn = match self {
            Carrier::Circle { center, .. } => angle(at.y - center.y, at.x - center.x),
            Carrier::Ellipse { center, axes } => eccentric(center, axes, at),
            Carrier::Free { points } => {
                let Foot { step, share, .. } = nearest(points, at);
                let long = (points[step + 1] - points[step]).norm();
                return length(&points[..=step]) + long * share;
            }
        };
        if turn == -PI { PI } else { turn }
    }

    /// The point at a parameter; a free curve stops at its ends unless it is closed.
    pub(crate) fn point(&self, parameter: f64) -> P2 {
        match self {
            Carrier::Circle { center, radius } => {
                let (sin, cos) = sin_cos(parameter);
                center + V2::new(cos, sin) * *radius
            }
            Carrier::Ellipse { center, axes } => {
                let (sin, cos) = sin_cos(parameter);
                center + axes[0] * cos + axes[1] * sin
            }
            Carrier::Free { points } => {
                let (i, rest) = locate(points, self.wrapped(parameter));
                let along = points[i + 1] - points[i];
                points[i] + along * (rest / along.norm()).clamp(0.0, 1.0)
            }
        }
    }

    /// The unit tangent at a parameter, in the direction in which the parameter grows.
    pub(crate) fn tangent(&self, parameter: f64) -> V2 {
        match self {
            Carrier::Circle { .. } => {
                let (sin, cos) = sin_cos(parameter);
                V2::new(-sin, cos)
            }
            Carrier::Ellipse { .. } => self.velocity(parameter).normalize(),
            Carrier::Free { points } => tangent_at(points, self.wrapped(parameter)),
        }
    }

    /// The unit tangent at the place nearest to a point on the carrier or close by.
    pub(crate) fn tangent_near(&self, at: &P2) -> V2 {
        match self {
            Carrier::Circle { center, .. } => {
                let out = at - center;
                V2::new(-out.y, out.x).try_normalize(0.0).unwrap_or(V2::y())
            }
            Carrier::Ellipse { center, axes } => {
                let [cos, sin] = unrounded(center, axes, at);
                let along = axes[1] * cos - axes[0] * sin;
                along.try_normalize(0.0).unwrap_or(axes[1].normalize())
            }
            Carrier::Free { .. } => self.off_and_tangent(at).1,
        }
    }

    /// How far a point is off, and the unit tangent at the place nearest to it.
    pub(crate) fn off_and_tangent(&self, at: &P2) -> (f64, V2) {
        match self {
            Carrier::Free { points } => {
                let Foot { step, share, off } = nearest(points, at);
                (off, tangent_in(points, step, share))
            }
            _ => (self.distance(at), self.tangent_near(at)),
        }
    }

    /// After how much the parameter comes back to the same point; `None` if the curve is not closed.
    pub(crate) fn period(&self) -> Option<f64> {
        match self {
            Carrier::Circle { .. } | Carrier::Ellipse { .. } => Some(TAU),
            Carrier::Free { points } => {
                (points.len() > 3 && points.first() == points.last()).then(|| length(points))
            }
        }
    }

    /// The first value not below `from` of the parameter `to`, going on around a closed curve.
    pub(crate) fn onward(&self, from: f64, to: f64) -> f64 {
        match self.period() {
            Some(period) => from + (to - from).rem_euclid(period),
            None => to,
        }
    }

    /// How many millimetres the point moves per unit of parameter.
    pub(crate) fn speed(&self, parameter: f64) -> f64 {
        match self {
            Carrier::Circle { radius, .. } => *radius,
            Carrier::Ellipse { .. } => self.velocity(parameter).norm(),
            Carrier::Free { .. } => 1.0,
        }
    }

    /// The whole length of a free curve's polyline, in millimetres; a full turn of a circle or ellipse.
    pub(crate) fn extent(&self) -> f64 {
        match self {
            Carrier::Circle { .. } | Carrier::Ellipse { .. } => TAU,
            Carrier::Free { points } => length(points),
        }
    }

    /// The same carrier shifted.
    pub(crate) fn moved(&self, by: V2) -> Carrier {
        match self {
            Carrier::Circle { center, radius } => Carrier::Circle {
                center: center + by,
                radius: *radius,
            },
            Carrier::Ellipse { center, axes } => Carrier::Ellipse {
                center: center + by,
                axes: *axes,
            },
            Carrier::Free { points } => Carrier::Free {
                points: points.iter().map(|p| p + by).collect(),
            },
        }
    }

    /// A parameter of a closed free curve within its length.
    fn wrapped(&self, parameter: f64) -> f64 {
        match self.period() {
            Some(period) if !(0.0..=period).contains(&parameter) => parameter.rem_euclid(period),
            _ => parameter,
        }
    }

    fn velocity(&self, parameter: f64) -> V2 {
        match self {
            Carrier::Ellipse { axes, .. } => {
                let (sin, cos) = sin_cos(parameter);
                axes[1] * cos - axes[0] * sin
            }
            _ => self.tangent(parameter) * self.speed(parameter),
        }
    }

    /// The eccentric angle of the point of an ellipse nearest to `at`: by Newton's method on the distance, and where that goes
    /// astray, far from the ellipse, by halving the quarter that the point lies in.
    fn foot_on_ellipse(&self, at: &P2) -> f64 {
        let Carrier::Ellipse { center, axes } = self else {
            return self.parameter(at);
        };
        let mut t = eccentric(center, axes, at);
        let start = t;
        for _ in 0..FOOT_STEPS {
            let (sin, cos) = sin_cos(t);
            let out = axes[0] * cos + axes[1] * sin;
            let (apart, velocity) = (center + out - at, axes[1] * cos - axes[0] * sin);
            // The acceleration points from the ellipse's point to its centre.
            let slope = velocity.dot(&velocity) - apart.dot(&out);
            let step = apart.dot(&velocity) / slope;
            if !step.is_finite() || slope <= 0.0 || (t - step - start).abs() > 0.5 {
                return self.foot_by_halving(at);
            }
            t -= step;
            if step.abs() < FOOT_FOUND {
                return t;
            }
        }
        self.foot_by_halving(at)
    }

    /// The nearest point lies in the same quarter of the ellipse as `at`, and within it the distance has one least value.
    fn foot_by_halving(&self, at: &P2) -> f64 {
        let Carrier::Ellipse { center, axes } = self else {
            return self.parameter(at);
        };
        let reach = at - center;
        let sizes = axes.map(|axis| axis.norm());
        let local = [0, 1].map(|k| axes[k].dot(&reach) / sizes[k]);
        // Half the change of the squared distance with the angle, in the first quarter.
        let grows = |t: f64| {
            let (sin, cos) = sin_cos(t);
            let [x, y] = [0, 1].map(|k| sizes[k] * [cos, sin][k] - local[k].abs());
            y * sizes[1] * cos - x * sizes[0] * sin > 0.0
        };
        let (mut low, mut high) = (0.0, FRAC_PI_2);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if grows(middle) {
                high = middle;
            } else {
                low = middle;
            }
        }
        match (local[0] < 0.0, local[1] < 0.0) {
            (false, false) => low,
            (true, false) => PI - low,
            (true, true) => low - PI,
            (false, true) => -low,
        }
    }
}

/// The eccentric angle of a point near an ellipse.
fn eccentric(center: &P2, axes: &[V2; 2], at: &P2) -> f64 {
    let [x, y] = unrounded(center, axes, at);
    angle(y, x)
}

/// A point in the measure of an ellipse's half-axes, in which it is a circle of radius 1.
fn unrounded(center: &P2, axes: &[V2; 2], at: &P2) -> [f64; 2] {
    let reach = at - center;
    [0, 1].map(|k| axes[k].dot(&reach) / axes[k].norm_squared())
}

/// The length of a polyline.
pub(crate) fn length(points: &[P2]) -> f64 {
    points.windows(2).map(|w| (w[1] - w[0]).norm()).sum()
}

/// The place on a polyline nearest to a point.
struct Foot {
    /// On which of its steps, and at what share of that.
    step: usize,
    share: f64,
    /// How far off the point is.
    off: f64,
}

fn nearest(points: &[P2], at: &P2) -> Foot {
    let (mut step, mut share, mut least) = (0, 0.0, f64::INFINITY);
    for (k, pair) in points.windows(2).enumerate() {
        let (along, reach) = (pair[1] - pair[0], at - pair[0]);
        let square = along.norm_squared();
        if square > 0.0 {
            let foot = (along.dot(&reach) / square).clamp(0.0, 1.0);
            let off = (reach - along * foot).norm_squared();
            if off < least {
                (step, share, least) = (k, foot, off);
            }
        }
    }
    let off = least.sqrt();
    Foot { step, share, off }
}

/// The stretch of a polyline that contains a length along it, and how far into it that is.
fn locate(points: &[P2], parameter: f64) -> (usize, f64) {
    let mut rest = parameter;
    for (i, pair) in points.windows(2).enumerate() {
        let long = (pair[1] - pair[0]).norm();
        if rest <= long || i + 2 == points.len() {
            return (i, rest);
        }
        rest -= long;
    }
    (0, 0.0)
}

/// The tangent of the smooth curve through points: directions of neighbouring chords, mixed by how near each is.
fn tangent_at(points: &[P2], parameter: f64) -> V2 {
    let (i, rest) = locate(points, parameter);
    let long = (points[i + 1] - points[i]).norm();
    tangent_in(points, i, (rest / long).clamp(0.0, 1.0))
}

/// The same at a share of one of its steps.
fn tangent_in(points: &[P2], i: usize, share: f64) -> V2 {
    let chord = |k: usize| (points[k + 1] - points[k]).normalize();
    let share = share - 0.5;
    let closed = points.first() == points.last();
    let last = points.len() - 2;
    let neighbour = match (share < 0.0, closed) {
        (true, true) if i == 0 => Some(last),
        (false, true) if i == last => Some(0),
        (true, _) => i.checked_sub(1),
        (false, _) => (i < last).then_some(i + 1),
    };
    let mixed = match neighbour {
        Some(other) => chord(i) * (1.0 - share.abs()) + chord(other) * share.abs(),
        // Beyond the middle of an outer chord the curve goes on turning as it did.
        None if last > 0 => {
            let inner = chord(if i == 0 { 1 } else { i - 1 });
            chord(i) * (1.0 + share.abs()) - inner * share.abs()
        }
        None => chord(i),
    };
    mixed.try_normalize(0.0).unwrap_or_else(|| chord(i))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn carriers() -> [Carrier; 3] {
        let on_circle = |i: i32| {
            let (sin, cos) = sin_cos(f64::from(i) * 0.05);
            P2::new(5.0 * cos, 5.0 * sin)
        };
        [
            Carrier::Circle {
                center: P2::new(1.0, 2.0),
                radius: 5.0,
            },
            Carrier::Ellipse {
                center: P2::new(-3.0, 1.0),
                axes: [V2::new(4.0, 3.0), V2::new(-1.5, 2.0)],
            },
            Carrier::Free {
                points: (0..=20).map(on_circle).collect(),
            },
        ]
    }

    #[test]
    fn the_point_at_a_parameter_has_that_parameter_and_no_distance() {
        for carrier in carriers() {
            for i in 1..20 {
                let t = carrier.extent()
                    * (f64::from(i) / 20.0 - if carrier.period().is_some() { 0.5 } else { 0.0 });
                let at = carrier.point(t);
                assert!(
                    (carrier.parameter(&at) - t).abs() < 1e-9,
                    "{carrier:?} at {t}"
                );
                assert!(carrier.distance(&at) < 1e-9);
            }
        }
    }

    #[test]
    fn the_tangent_is_the_direction_of_the_next_point() {
        for carrier in carriers() {
            for i in 1..20 {
                let t = carrier.extent() * f64::from(i) / 21.0;
                let ahead = carrier.point(t + 1e-6) - carrier.point(t - 1e-6);
                let off = carrier.tangent(t).perp(&ahead.normalize()).abs();
                // The chords of the sampled curve turn by 0.05 each.
                let allowed = if carrier.period().is_some() {
                    1e-6
                } else {
                    0.026
                };
                assert!(off < allowed, "{carrier:?} at {t}: {off}");
            }
        }
    }

    #[test]
    fn a_point_off_a_curve_has_the_distance_it_was_moved_by() {
        for carrier in carriers() {
            for i in 1..10 {
                let t = carrier.extent() * f64::from(i) / 11.0;
                let along = carrier.tangent(t);
                let at = carrier.point(t) + V2::new(along.y, -along.x) * 0.3;
                assert!(
                    (carrier.distance(&at) - 0.3).abs() < 2e-3,
                    "{carrier:?} at {t}"
                );
            }
        }
    }

    /// The distance from an ellipse, far from it as well, is that of the nearest of many points on it.
    #[test]
    fn no_point_of_an_ellipse_is_nearer_than_its_distance() {
        let flat = Carrier::Ellipse {
            center: P2::new(7.0, 30.0),
            axes: [V2::new(5.0, 0.0), V2::new(0.0, 2.3)],
        };
        for ellipse in [flat, carriers()[1].clone()] {
            for k in 0..400 {
                let at = P2::new(f64::from(k % 20) * 0.9 - 5.0, f64::from(k / 20) * 2.0 - 3.0);
                let nearest = (0..2000)
                    .map(|i| (at - ellipse.point(f64::from(i) * TAU / 2000.0)).norm())
                    .fold(f64::INFINITY, f64::min);
                let off = ellipse.distance(&at);
                assert!(
                    off <= nearest + 1e-9 && off > nearest - 1e-2,
                    "{at:?}: {off}, {nearest}"
                );
            }
        }
    }

    #[test]
    fn going_onward_passes_the_seam() {
        let [circle, _, free] = carriers();
        assert!((circle.onward(3.0, -3.0) - (TAU - 3.0)).abs() < 1e-12);
        assert_eq!(circle.onward(-1.0, 2.0), 2.0);
        assert_eq!(free.onward(1.0, 2.0), 2.0);
    }
}
