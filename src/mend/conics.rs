//! The simplest curve through points: a circle, an ellipse along the axes, or no more than the points.

use super::bends::Bend;
use crate::geom::carrier::Carrier;
use crate::geom::{P2, V2};
use nalgebra::{Matrix4, Vector4};

/// The simplest curve through points in their order, to within a tolerance; it is closed if they end where they start.
pub(super) fn through(points: &[P2], tolerance: f64) -> Bend {
    let last = points.len() - 1;
    let whole = (points[last] - points[0]).norm() <= tolerance;
    let fits = |carrier: &Carrier| points.iter().all(|p| carrier.distance(p) <= tolerance);
    let mut ends = [points[0], points[last]];
    let conic = circle([0, last / 3, 2 * last / 3].map(|i| points[i]));
    let conic = conic.filter(fits).or_else(|| ellipse(points).filter(fits));
    let Some(carrier) = conic else {
        let points = points.to_vec();
        let carrier = Carrier::Free { points };
        return Bend {
            carrier,
            ends,
            whole,
        };
    };
    let [from, middle, to] =
        [points[0], points[last / 2], points[last]].map(|p| carrier.parameter(&p));
    if !whole && carrier.onward(from, middle) > carrier.onward(from, to) {
        ends.reverse();
    }
    Bend {
        carrier,
        ends,
        whole,
    }
}

/// The circle through three points, unless they lie on a line.
fn circle([a, b, c]: [P2; 3]) -> Option<Carrier> {
    let [u, v] = [b - a, c - a];
    let twice = 2.0 * u.perp(&v);
    if twice.abs() <= 1e-9 * u.norm() * v.norm() {
        return None;
    }
    let [p, q] = [u.norm_squared(), v.norm_squared()];
    let reach = V2::new(v.y * p - u.y * q, u.x * q - v.x * p) / twice;
    Some(Carrier::Circle {
        center: a + reach,
        radius: reach.norm(),
    })
}

/// The ellipse along the axes that fits points best: least squares for `a x² + b y² + c x + d y = 1` about their mean.
fn ellipse(points: &[P2]) -> Option<Carrier> {
    let count = u32::try_from(points.len()).ok()?;
    let mean = points.iter().map(|p| p.coords).sum::<V2>() / f64::from(count);
    let (mut matrix, mut right) = (Matrix4::zeros(), Vector4::zeros());
    for p in points.iter().map(|p| p - mean) {
        let row = Vector4::new(p.x * p.x, p.y * p.y, p.x, p.y);
        matrix += row * row.transpose();
        right += row;
    }
    let [[a, b, c, d]] = matrix.lu().solve(&right)?.data.0;
    if a <= 0.0 || b <= 0.0 {
        return None;
    }
    let off = V2::new(-0.5 * c / a, -0.5 * d / b);
    let level = 1.0 + a * off.x * off.x + b * off.y * off.y;
    Some(Carrier::Ellipse {
        center: P2::from(mean + off),
        axes: [V2::x() * (level / a).sqrt(), V2::y() * (level / b).sqrt()],
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::num::sin_cos;

    fn arc(center: P2, [width, height]: [f64; 2], span: [f64; 2]) -> Vec<P2> {
        let at = |k: u32| {
            let turn = span[0] + (span[1] - span[0]) * f64::from(k) / 20.0;
            let (sin, cos) = sin_cos(turn);
            center + V2::new(width * cos, height * sin)
        };
        (0..=20).map(at).collect()
    }

    #[test]
    fn points_on_a_circle_give_the_circle() {
        let bend = through(&arc(P2::new(3.0, -4.0), [5.0, 5.0], [2.0, 0.5]), 1e-6);
        let Carrier::Circle { center, radius } = bend.carrier else {
            panic!("{bend:?}");
        };
        assert!((center - P2::new(3.0, -4.0)).norm() < 1e-9 && (radius - 5.0).abs() < 1e-9);
        // The parameter grows counter-clockwise, so the arc starts where the points end.
        let (sin, cos) = sin_cos(0.5);
        assert!((bend.ends[0] - (center + V2::new(cos, sin) * 5.0)).norm() < 1e-9);
        assert!(!bend.whole);
    }

    #[test]
    fn points_on_an_ellipse_give_the_ellipse() {
        let turn = std::f64::consts::TAU;
        for span in [[0.3, 2.0], [0.0, turn]] {
            let bend = through(&arc(P2::new(30.0, 8.0), [7.0, 2.0], span), 1e-6);
            let Carrier::Ellipse { center, axes } = &bend.carrier else {
                panic!("{bend:?}");
            };
            assert!((center - P2::new(30.0, 8.0)).norm() < 1e-6);
            assert!((axes[0].norm() - 7.0).abs() < 1e-6 && (axes[1].norm() - 2.0).abs() < 1e-6);
            assert_eq!(bend.whole, span[1] == turn);
        }
    }

    #[test]
    fn other_points_stay_points() {
        let at = |k: u32| P2::new(f64::from(k), (f64::from(k) / 5.0).powi(3));
        let points: Vec<P2> = (0..=20).map(at).collect();
        assert!(
            matches!(through(&points, 1e-3).carrier, Carrier::Free { points: p } if p == points)
        );
    }
}
