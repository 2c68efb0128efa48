//! Vectors, angles and roots of the drafter: the one place of it that calls trigonometry.

#![allow(
    clippy::disallowed_methods,
    reason = "expected drawings need not agree between machines to the last bit"
)]

use crate::cells::{Point, cross, dot, minus, unit};

/// The object axes as directions.
pub(crate) const AXES: [Point; 3] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];

/// A whole turn in radians.
pub(crate) const TURN: f64 = std::f64::consts::TAU;

/// `a + b`.
pub(crate) fn plus(a: Point, b: Point) -> Point {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

/// `k a`.
pub(crate) fn times(a: Point, k: f64) -> Point {
    a.map(|c| c * k)
}

/// The point `t` steps of `way` from `from`.
pub(crate) fn ahead(from: Point, way: Point, t: f64) -> Point {
    plus(from, times(way, t))
}

/// Two unit vectors across a unit vector; the three make a right-handed frame.
pub(crate) fn across(way: Point) -> [Point; 2] {
    let least = (0..3)
        .min_by(|&i, &j| way[i].abs().total_cmp(&way[j].abs()))
        .unwrap_or(0);
    let first = unit(cross(AXES[least], way));
    [first, cross(way, first)]
}

/// What is left of `a` across the unit vector `way`.
pub(crate) fn rejected(a: Point, way: Point) -> Point {
    minus(a, times(way, dot(a, way)))
}

/// Cosine and sine of an angle in radians.
pub(crate) fn cos_sin(angle: f64) -> [f64; 2] {
    [angle.cos(), angle.sin()]
}

/// The angle in radians whose cosine this is.
pub(crate) fn arc_cosine(cosine: f64) -> f64 {
    cosine.clamp(-1.0, 1.0).acos()
}

/// The direction of `(x, y)` in radians, counter-clockwise from +x.
pub(crate) fn direction(x: f64, y: f64) -> f64 {
    y.atan2(x)
}

/// Where `f` changes its sign between `a` and `b`, by halving.
pub(crate) fn halved(mut a: f64, mut b: f64, f: impl Fn(f64) -> f64) -> f64 {
    let positive = f(a) > 0.0;
    for _ in 0..80 {
        let middle = f64::midpoint(a, b);
        if (f(middle) > 0.0) == positive {
            a = middle;
        } else {
            b = middle;
        }
    }
    f64::midpoint(a, b)
}

/// Nodes and weights of Gauss and Legendre's rule with `n` points on -1 ..= 1 (Newton's method on the polynomial).
pub(crate) fn gauss(n: usize) -> Vec<[f64; 2]> {
    (0..n)
        .map(|i| {
            let mut x = (std::f64::consts::PI * (i as f64 + 0.75) / (n as f64 + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..20 {
                let (mut p, mut before) = (x, 1.0);
                for k in 2..=n {
                    let k = k as f64;
                    (p, before) = (((2.0 * k - 1.0) * x * p - (k - 1.0) * before) / k, p);
                }
                slope = n as f64 * (x * p - before) / (x * x - 1.0);
                x -= p / slope;
            }
            [x, 2.0 / ((1.0 - x * x) * slope * slope)]
        })
        .collect()
}
