//! Curves in space on which edges may lie: straight lines, ellipses, and traced crossings of two surfaces.

use std::rc::Rc;

use super::body::Room;
use super::space::{TURN, ahead, cos_sin, halved, plus, times};
use super::surface::{SAME, Surface};
use crate::cells::{Point, cross, dot, length, minus, unit};

/// A curve with a parameter.
#[derive(Clone, Debug)]
pub(crate) struct Curve {
    /// What it is.
    pub(crate) shape: Shape,
    /// Where its parameter starts and ends.
    pub(crate) range: [f64; 2],
}

/// The shape of a curve.
#[derive(Clone, Debug)]
pub(crate) enum Shape {
    /// `from + t way`; `way` is a unit vector.
    Line { from: Point, way: Point },
    /// `center + cos t arms[0] + sin t arms[1]`.
    Ellipse { center: Point, arms: [Point; 2] },
    /// Through exact points, `t` counts them; between them the nearest point on both surfaces.
    Traced {
        points: Rc<Vec<Point>>,
        on: [Surface; 2],
    },
}

impl Curve {
    /// The part of a straight line in a box, if there is any.
    pub(crate) fn line(from: Point, way: Point, room: &Room) -> Option<Curve> {
        let way = unit(way);
        let mut range = [f64::NEG_INFINITY, f64::INFINITY];
        for k in 0..3 {
            let mut ends = [0, 1].map(|side| (room[side][k] - from[k]) / way[k]);
            if way[k].abs() < 1e-12 {
                if from[k] < room[0][k] || from[k] > room[1][k] {
                    return None;
                }
                continue;
            }
            ends.sort_by(f64::total_cmp);
            range = [range[0].max(ends[0]), range[1].min(ends[1])];
        }
        (range[0] < range[1]).then_some(Curve {
            shape: Shape::Line { from, way },
            range,
        })
    }

    /// A whole ellipse; a circle if its arms are equally long and upright on each other.
    pub(crate) fn ellipse(center: Point, arms: [Point; 2]) -> Curve {
        Curve {
            shape: Shape::Ellipse { center, arms },
            range: [0.0, TURN],
        }
    }

    /// A circle about a direction.
    pub(crate) fn circle(center: Point, way: Point, radius: f64) -> Curve {
        let arms = super::space::across(way).map(|arm| times(arm, radius));
        Curve::ellipse(center, arms)
    }

    /// The crossing of two surfaces through these points.
    pub(crate) fn traced(points: Vec<Point>, on: [Surface; 2]) -> Curve {
        let last = points.len() as f64 - 1.0;
        Curve {
            shape: Shape::Traced {
                points: Rc::new(points),
                on,
            },
            range: [0.0, last],
        }
    }

    /// The point at a parameter.
    pub(crate) fn at(&self, t: f64) -> Point {
        match &self.shape {
            Shape::Line { from, way } => ahead(*from, *way, t),
            Shape::Ellipse { center, arms } => {
                let [c, s] = cos_sin(t);
                plus(*center, plus(times(arms[0], c), times(arms[1], s)))
            }
            Shape::Traced { points, on } => {
                let i = step_of(t, points.len());
                let rest = t - i as f64;
                if rest == 0.0 {
                    return points[i];
                }
                let between = plus(times(points[i], 1.0 - rest), times(points[i + 1], rest));
                onto(on, between)
            }
        }
    }

    /// How fast and which way the point moves with the parameter.
    pub(crate) fn way(&self, t: f64) -> Point {
        match &self.shape {
            Shape::Line { way, .. } => *way,
            Shape::Ellipse { arms, .. } => {
                let [c, s] = cos_sin(t);
                plus(times(arms[0], -s), times(arms[1], c))
            }
            Shape::Traced { points, on } => {
                let i = step_of(t, points.len());
                let chord = minus(points[i + 1], points[i]);
                let p = self.at(t);
                let way = cross(on[0].normal(p), on[1].normal(p));
                if length(way) < 1e-9 {
                    return chord;
                }
                times(unit(way), length(chord).copysign(dot(way, chord)))
            }
        }
    }

    /// Parameters between two, near enough to each other to follow every turn.
    pub(crate) fn stops(&self, [from, to]: [f64; 2]) -> Vec<f64> {
        let step = match &self.shape {
            Shape::Line { .. } => (self.range[1] - self.range[0]) / 40.0,
            Shape::Ellipse { .. } => TURN / 96.0,
            Shape::Traced { .. } => 1.0,
        };
        let mut stops = vec![from];
        let mut k = (from / step).floor() + 1.0;
        while k * step < to - 1e-6 * step {
            if k * step > from + 1e-6 * step {
                stops.push(k * step);
            }
            k += 1.0;
        }
        stops.push(to);
        stops
    }

    /// The parameters at which it goes through a surface or touches it; none if it lies on the surface.
    pub(crate) fn meetings(&self, surface: &Surface) -> Vec<f64> {
        let stops = self.stops(self.range);
        let off = |t: f64| surface.distance(self.at(t));
        let values: Vec<f64> = stops.iter().map(|t| off(*t)).collect();
        if values.iter().all(|v| v.abs() < SAME) {
            return Vec::new();
        }
        let slope = |t: f64| dot(surface.normal(self.at(t)), self.way(t));
        let slopes: Vec<f64> = stops.iter().map(|t| slope(*t)).collect();
        let mut found = Vec::new();
        let mut through = |a: f64, b: f64, fa: f64, fb: f64| {
            if (fa > 0.0) != (fb > 0.0) {
                found.push(halved(a, b, off));
            }
        };
        let mut touching = Vec::new();
        for i in 1..stops.len() {
            let (a, b) = (stops[i - 1], stops[i]);
            if (slopes[i - 1] > 0.0) == (slopes[i] > 0.0) {
                through(a, b, values[i - 1], values[i]);
            } else {
                let turn = halved(a, b, slope);
                let there = off(turn);
                if there.abs() < SAME {
                    touching.push(turn);
                } else {
                    through(a, turn, values[i - 1], there);
                    through(turn, b, there, values[i]);
                }
            }
        }
        found.extend(touching);
        found
    }

    /// Whether both are stretches of the same traced curve.
    pub(crate) fn is_same_trace(&self, other: &Curve) -> bool {
        match (&self.shape, &other.shape) {
            (Shape::Traced { points, .. }, Shape::Traced { points: p, .. }) => {
                Rc::ptr_eq(points, p)
            }
            _ => false,
        }
    }

    /// Length of a unit of the parameter near `t`, in millimetres.
    pub(crate) fn speed(&self, t: f64) -> f64 {
        length(self.way(t))
    }
}

/// Moves a point onto both surfaces by the shortest way (Newton's method).
pub(crate) fn onto(on: &[Surface; 2], mut p: Point) -> Point {
    for _ in 0..8 {
        let [f, g] = on.map(|s| s.distance(p));
        if f.abs() + g.abs() < 1e-13 {
            break;
        }
        let [a, b] = on.map(|s| s.normal(p));
        let lean = dot(a, b);
        let left = 1.0 - lean * lean;
        if left < 1e-12 {
            break;
        }
        let (x, y) = ((f - lean * g) / left, (g - lean * f) / left);
        p = minus(p, plus(times(a, x), times(b, y)));
    }
    p
}

/// The last point at or before a parameter that still has a next one.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the parameter counts points and is not negative"
)]
fn step_of(t: f64, count: usize) -> usize {
    (t.max(0.0).floor() as usize).min(count - 2)
}
