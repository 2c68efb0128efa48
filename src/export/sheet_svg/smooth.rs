//! A smooth curve through points, as cubic Béziers: as few as pass every point closely, because a piece too short to bend
//! noticeably would be read back as a straight line.

use crate::geom::num::Diagonal;
use kurbo::{CubicBez, ParamCurveNearest, Point};

/// How far a point may be from the curve that stands for it, in millimetres; a drawn line is 0.35 mm wide.
const CLOSE_MM: f64 = 0.002;

/// The most points one piece passes; a longer one would take long to check.
const MOST_PASSED: usize = 40;

/// Bézier pieces through the first and last point and closely along all others, smooth where they meet. At least three
/// points are needed; `unit_mm` is the length of the points' unit in millimetres.
pub(super) fn pieces(points: &[[f64; 2]], unit_mm: f64) -> Vec<[[f64; 2]; 4]> {
    let tangents = tangents(points);
    let close = CLOSE_MM / unit_mm;
    let piece =
        |from: usize, to: usize| bezier([points[from], points[to]], [tangents[from], tangents[to]]);
    let (mut pieces, mut from) = (Vec::new(), 0);
    while from + 1 < points.len() {
        let furthest = (from + MOST_PASSED).min(points.len() - 1);
        // Where a long piece is close enough, shorter ones nearly always are: halving finds about the longest.
        let (mut good, mut bad) = (from + 1, furthest + 1);
        while bad - good > 1 {
            let to = usize::midpoint(good, bad);
            if passes(&piece(from, to), &points[from + 1..to], close) {
                good = to;
            } else {
                bad = to;
            }
        }
        pieces.push(piece(from, good));
        from = good;
    }
    pieces
}

/// The Bézier between two points with given directions that is an arc's if the directions allow one: control points at
/// chord / (3 cos² a/4) for a turn by a.
fn bezier([a, b]: [[f64; 2]; 2], [out, on]: [[f64; 2]; 2]) -> [[f64; 2]; 4] {
    let chord = (b[0] - a[0]).diagonal(b[1] - a[1]);
    let cosine = (out[0] * on[0] + out[1] * on[1]).clamp(-1.0, 1.0);
    let half = f64::midpoint(1.0, cosine).sqrt();
    let arm = chord / (3.0 * f64::midpoint(1.0, half));
    [
        a,
        [0, 1].map(|i| a[i] + arm * out[i]),
        [0, 1].map(|i| b[i] - arm * on[i]),
        b,
    ]
}

fn passes(piece: &[[f64; 2]; 4], points: &[[f64; 2]], close: f64) -> bool {
    let [a, b, c, d] = piece.map(|[x, y]| Point::new(x, y));
    let piece = CubicBez::new(a, b, c, d);
    points.iter().all(|point| {
        let nearest = piece.nearest(Point::new(point[0], point[1]), close / 10.0);
        nearest.distance_sq <= close * close
    })
}

/// The direction of the curve at each of its points: the steps before and after a point, each weighted with the length of
/// the other, which is the direction of the parabola through the three. At an end the curve bends as much as in the middle
/// of its last step. Length 1, or zero where points coincide.
fn tangents(points: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let last = points.len() - 1;
    let step = |k: usize| [0, 1].map(|i| points[k + 1][i] - points[k][i]);
    let mut tangents = vec![[0.0; 2]; points.len()];
    for (k, tangent) in tangents.iter_mut().enumerate().take(last).skip(1) {
        *tangent = between(step(k - 1), step(k));
    }
    if points[0] == points[last] {
        tangents[0] = between(step(last - 1), step(0));
        tangents[last] = tangents[0];
    } else {
        tangents[0] = mirrored(step(0), tangents[1]);
        tangents[last] = mirrored(step(last - 1), tangents[last - 1]);
    }
    tangents
}

fn between(before: [f64; 2], after: [f64; 2]) -> [f64; 2] {
    let square = |[x, y]: [f64; 2]| x * x + y * y;
    let [b, a] = [before, after].map(square);
    unit([0, 1].map(|i| before[i] * a + after[i] * b))
}

/// The direction at one end of a step if it bends evenly and has direction `t` at the other.
fn mirrored(step: [f64; 2], t: [f64; 2]) -> [f64; 2] {
    let c = unit(step);
    let along = 2.0 * (c[0] * t[0] + c[1] * t[1]);
    unit([0, 1].map(|i| along * c[i] - t[i]))
}

fn unit([x, y]: [f64; 2]) -> [f64; 2] {
    let length = x.diagonal(y);
    if length > 0.0 {
        [x / length, y / length]
    } else {
        [0.0; 2]
    }
}
