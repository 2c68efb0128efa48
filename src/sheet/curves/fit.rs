//! Whether sampled points are really those of a circle or of a straight line.

use crate::geom::carrier::Carrier;
use crate::geom::{P2, V2};
use nalgebra::{Matrix3, Vector3};
use std::f64::consts::TAU;

/// Fewer points than this say nothing about a circle: any smooth curve nearly fits.
const FEWEST_POINTS: usize = 5;

/// Points of a circle lie this many times nearer to it than their chords stray from it, at least.
const BETTER_THAN_CHORDS: f64 = 50.0;

/// Or they miss it by no more than this part of how far it bends away from its chord.
const PART_OF_BEND: f64 = 1e-4;

/// A circle is told from a straight line if it bends this many tolerances away from its chord.
const NOTICEABLE_BEND: f64 = 3.0;

/// The circle that points of a sampled curve lie on, and the span they cover, in whichever direction is counter-clockwise.
///
/// None unless they fit it far better than points of some other curve would, and bend noticeably.
pub(super) fn circle(points: &[P2], tolerance: f64) -> Option<(Carrier, [f64; 2])> {
    if points.len() < FEWEST_POINTS || bend(points) < NOTICEABLE_BEND * tolerance {
        return None;
    }
    let (center, radius) = through(points)?;
    let off = points
        .iter()
        .map(|p| ((p - center).norm() - radius).abs())
        .fold(0.0, f64::max);
    let longest = points
        .windows(2)
        .map(|w| (w[1] - w[0]).norm_squared())
        .fold(0.0, f64::max);
    let chord_error = longest / (8.0 * radius);
    let allowed = (chord_error / BETTER_THAN_CHORDS).max(PART_OF_BEND * bend(points));
    if off > allowed.min(tolerance) {
        return None;
    }
    let carrier = Carrier::Circle { center, radius };
    let span = span(&carrier, center, points)?;
    Some((carrier, span))
}

/// The circle with the least squares of `|p - c|² - r²`, which is a linear problem (Kåsa's method).
pub(super) fn through(points: &[P2]) -> Option<(P2, f64)> {
    let mut system = Matrix3::zeros();
    let mut right = Vector3::zeros();
    let middle = points.iter().fold(V2::zeros(), |s, p| s + p.coords) / count(points);
    for point in points {
        let p = point.coords - middle;
        let row = Vector3::new(2.0 * p.x, 2.0 * p.y, 1.0);
        system += row * row.transpose();
        right += row * p.norm_squared();
    }
    let found = system.lu().solve(&right)?;
    let square = found.z + found.x * found.x + found.y * found.y;
    (square.is_finite() && square > 0.0)
        .then(|| (P2::from(V2::new(found.x, found.y) + middle), square.sqrt()))
}

#[allow(
    clippy::cast_precision_loss,
    reason = "a curve has far fewer than 2^52 points"
)]
fn count(points: &[P2]) -> f64 {
    points.len() as f64
}

/// The span of points that go one way round a circle; none if they turn back or go round more than once.
fn span(carrier: &Carrier, center: P2, points: &[P2]) -> Option<[f64; 2]> {
    let turns = points
        .windows(2)
        .map(|w| (w[0] - center).perp(&(w[1] - center)));
    let left = turns.clone().filter(|t| *t > 0.0).count();
    if left != 0 && left != points.len() - 1 {
        return None;
    }
    let angles: Vec<f64> = points.iter().map(|p| carrier.parameter(p)).collect();
    let step = |w: &[f64]| {
        if left == 0 {
            (w[0] - w[1]).rem_euclid(TAU)
        } else {
            (w[1] - w[0]).rem_euclid(TAU)
        }
    };
    let turn: f64 = angles.windows(2).map(step).sum();
    let start = if left == 0 {
        angles[angles.len() - 1]
    } else {
        angles[0]
    };
    (turn <= TAU + 1e-6).then_some([start, start + turn.min(TAU)])
}

/// How far points stray from the straight line between the first and the last, or from the first if the two coincide.
pub(super) fn bend(points: &[P2]) -> f64 {
    let (first, last) = (points[0], points[points.len() - 1]);
    let off = |p: &P2| match (last - first).try_normalize(0.0) {
        Some(chord) => chord.perp(&(p - first)).abs(),
        None => (p - first).norm(),
    };
    points.iter().map(off).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::num::sin_cos;

    fn sampled(radii: [f64; 2], from: f64, to: f64, n: i32) -> Vec<P2> {
        (0..=n)
            .map(|i| {
                let (sin, cos) = sin_cos(from + (to - from) * f64::from(i) / f64::from(n));
                P2::new(7.0 + radii[0] * cos, 3.0 + radii[1] * sin)
            })
            .collect()
    }

    #[test]
    fn points_of_a_circle_are_that_circle() {
        let (carrier, span) = circle(&sampled([6.0, 6.0], 2.0, 0.5, 8), 0.03).unwrap();
        let Carrier::Circle { center, radius } = carrier else {
            panic!("{carrier:?}")
        };
        assert!((center - P2::new(7.0, 3.0)).norm() < 1e-9 && (radius - 6.0).abs() < 1e-9);
        assert!((span[0] - 0.5).abs() < 1e-9 && (span[1] - 2.0).abs() < 1e-9);
    }

    #[test]
    fn points_of_an_ellipse_are_no_circle() {
        // Nearest to round at its flat side; sampled as coarsely as kernels do.
        for by in [0.3, 0.5, 0.7] {
            let points = sampled([10.0, 8.0], 1.57 - by, 1.57 + by, 10);
            assert!(circle(&points, 0.03).is_none(), "{by}");
        }
    }

    #[test]
    fn four_points_or_a_slight_bend_are_no_circle() {
        assert!(circle(&sampled([6.0, 6.0], 0.0, 1.0, 3), 0.03).is_none());
        assert!(circle(&sampled([6.0, 6.0], 0.0, 0.2, 9), 0.03).is_none());
    }
}
