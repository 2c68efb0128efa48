//! Upright boxes around what is drawn.

use super::Shape;
use crate::geom::num::Diagonal;
use crate::geom::num::sin_cos_degrees;

/// An upright box on the sheet; the empty one has its least corner beyond its greatest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Bounds {
    /// Lower left corner.
    pub(crate) min: [f64; 2],
    /// Upper right corner.
    pub(crate) max: [f64; 2],
}

impl Bounds {
    /// The box around nothing.
    pub(crate) const EMPTY: Bounds = Bounds {
        min: [f64::INFINITY; 2],
        max: [f64::NEG_INFINITY; 2],
    };

    /// The box around points.
    pub(crate) fn of_points(points: &[[f64; 2]]) -> Bounds {
        points.iter().fold(Bounds::EMPTY, |b, p| b.with_point(*p))
    }

    /// The box around a shape, in the shape's unit.
    pub(crate) fn of_shape(shape: &Shape) -> Bounds {
        match shape {
            Shape::Line { from, to } => Bounds::EMPTY.with_point(*from).with_point(*to),
            Shape::Polyline(points) | Shape::Curve(points) => Bounds::of_points(points),
            Shape::Circle { center, radius } => Round::circle(*center, *radius).whole(),
            Shape::Arc {
                center,
                radius,
                start,
                end,
            } => Round::circle(*center, *radius).part(*start, *end),
            Shape::Ellipse {
                center,
                radii,
                rotation,
            } => Round::ellipse(*center, *radii, *rotation).whole(),
            Shape::EllipticalArc {
                center,
                radii,
                rotation,
                start,
                end,
            } => Round::ellipse(*center, *radii, *rotation).part(*start, *end),
        }
    }

    /// The box with one more point in it.
    pub(crate) fn with_point(self, p: [f64; 2]) -> Bounds {
        self.joined(Bounds { min: p, max: p })
    }

    /// The box around both.
    pub(crate) fn joined(self, other: Bounds) -> Bounds {
        Bounds {
            min: [0, 1].map(|i| self.min[i].min(other.min[i])),
            max: [0, 1].map(|i| self.max[i].max(other.max[i])),
        }
    }

    /// Width and height.
    pub(crate) fn size(&self) -> [f64; 2] {
        [0, 1].map(|i| self.max[i] - self.min[i])
    }

    /// The same box in another unit.
    pub(crate) fn scaled(self, factor: f64) -> Bounds {
        Bounds {
            min: self.min.map(|c| c * factor),
            max: self.max.map(|c| c * factor),
        }
    }

    /// By how much the two share along an axis; negative: the gap between them.
    pub(crate) fn shared(&self, other: &Bounds, axis: usize) -> f64 {
        self.max[axis].min(other.max[axis]) - self.min[axis].max(other.min[axis])
    }

    /// Whether the other box lies in this one, up to `slack`.
    pub(crate) fn contains(&self, other: &Bounds, slack: f64) -> bool {
        (0..2).all(|i| other.min[i] >= self.min[i] - slack && other.max[i] <= self.max[i] + slack)
    }

    /// Whether nothing is in it.
    pub(crate) fn is_empty(&self) -> bool {
        self.min[0] > self.max[0]
    }
}

/// Whether every coordinate and radius is a number not beyond `limit`.
pub(crate) fn within(shape: &Shape, limit: f64) -> bool {
    let small = |p: &[f64; 2]| p.iter().all(|c| c.abs() <= limit);
    match shape {
        Shape::Line { from, to } => small(from) && small(to),
        Shape::Polyline(points) | Shape::Curve(points) => points.iter().all(small),
        Shape::Circle { center, radius } | Shape::Arc { center, radius, .. } => {
            small(center) && *radius <= limit
        }
        Shape::Ellipse { center, radii, .. } | Shape::EllipticalArc { center, radii, .. } => {
            small(center) && small(radii)
        }
    }
}

/// A circle or ellipse: `center + u cos t + v sin t`.
struct Round {
    center: [f64; 2],
    u: [f64; 2],
    v: [f64; 2],
}

impl Round {
    fn circle(center: [f64; 2], radius: f64) -> Round {
        Round {
            center,
            u: [radius, 0.0],
            v: [0.0, radius],
        }
    }

    fn ellipse(center: [f64; 2], [rx, ry]: [f64; 2], rotation: f64) -> Round {
        let (sin, cos) = sin_cos_degrees(rotation);
        Round {
            center,
            u: [rx * cos, rx * sin],
            v: [-ry * sin, ry * cos],
        }
    }

    /// How far it reaches from its centre along each axis.
    fn reach(&self) -> [f64; 2] {
        [0, 1].map(|i| self.u[i].diagonal(self.v[i]))
    }

    fn whole(&self) -> Bounds {
        let reach = self.reach();
        Bounds {
            min: [0, 1].map(|i| self.center[i] - reach[i]),
            max: [0, 1].map(|i| self.center[i] + reach[i]),
        }
    }

    fn at(&self, degrees: f64) -> [f64; 2] {
        let (sin, cos) = sin_cos_degrees(degrees);
        [0, 1].map(|i| self.center[i] + self.u[i] * cos + self.v[i] * sin)
    }

    /// The part counter-clockwise from `start` to `end`: its ends, and the extremes that lie between.
    fn part(&self, start: f64, end: f64) -> Bounds {
        let turn = if (end - start).abs() >= 360.0 {
            360.0
        } else {
            (end - start).rem_euclid(360.0)
        };
        let mut bounds = Bounds::of_points(&[self.at(start), self.at(end)]);
        for axis in 0..2 {
            let extreme = crate::geom::num::direction_degrees(self.u[axis], self.v[axis]);
            for at in [extreme, extreme + 180.0] {
                if (at - start).rem_euclid(360.0) < turn {
                    bounds = bounds.with_point(self.at(at));
                }
            }
        }
        bounds
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(bounds: Bounds, min: [f64; 2], max: [f64; 2]) {
        for i in 0..2 {
            assert!((bounds.min[i] - min[i]).abs() < 1e-9, "{bounds:?}");
            assert!((bounds.max[i] - max[i]).abs() < 1e-9, "{bounds:?}");
        }
    }

    #[test]
    fn a_quarter_reaches_from_end_to_end() {
        let quarter = Shape::Arc {
            center: [1.0, 2.0],
            radius: 5.0,
            start: 0.0,
            end: 90.0,
        };
        near(Bounds::of_shape(&quarter), [1.0, 2.0], [6.0, 7.0]);
    }

    #[test]
    fn an_arc_over_the_start_of_the_circle_reaches_its_extreme() {
        let arc = Shape::Arc {
            center: [0.0, 0.0],
            radius: 2.0,
            start: 330.0,
            end: 390.0,
        };
        let root3 = 3f64.sqrt();
        near(Bounds::of_shape(&arc), [root3, -1.0], [2.0, 1.0]);
    }

    // The box of an ellipse turned by 45 degrees is a square of half side sqrt((rx² + ry²) / 2).
    #[test]
    fn a_turned_ellipse_has_the_box_of_the_formula() {
        let ellipse = Shape::Ellipse {
            center: [0.0, 0.0],
            radii: [4.0, 2.0],
            rotation: 45.0,
        };
        let half = 10f64.sqrt();
        near(Bounds::of_shape(&ellipse), [-half, -half], [half, half]);
    }
}
