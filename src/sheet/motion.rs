//! Shapes turned over, made larger or smaller, and moved.

use super::Shape;

/// Turns over left and right, or up and down, then scales, then moves; all about the origin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Motion {
    /// Whether left and right, and up and down, are exchanged.
    pub(crate) flip: [bool; 2],
    /// How many times as large.
    pub(crate) scale: f64,
    /// How far to the right and up, in the shape's unit.
    pub(crate) shift: [f64; 2],
}

impl Motion {
    /// A shape after the motion.
    pub(crate) fn of(&self, shape: &Shape) -> Shape {
        let place = |p: &[f64; 2]| self.place(*p);
        match shape {
            Shape::Line { from, to } => Shape::Line {
                from: place(from),
                to: place(to),
            },
            Shape::Polyline(points) => Shape::Polyline(points.iter().map(place).collect()),
            Shape::Curve(points) => Shape::Curve(points.iter().map(place).collect()),
            Shape::Circle { center, radius } => Shape::Circle {
                center: place(center),
                radius: radius * self.scale,
            },
            Shape::Arc {
                center,
                radius,
                start,
                end,
            } => {
                let [start, end] = self.span([*start, *end]);
                let turn = self.turned(0.0);
                Shape::Arc {
                    center: place(center),
                    radius: radius * self.scale,
                    start: turn + start,
                    end: turn + end,
                }
            }
            Shape::Ellipse {
                center,
                radii,
                rotation,
            } => Shape::Ellipse {
                center: place(center),
                radii: radii.map(|r| r * self.scale),
                rotation: self.turned(*rotation),
            },
            Shape::EllipticalArc {
                center,
                radii,
                rotation,
                start,
                end,
            } => {
                let [start, end] = self.span([*start, *end]);
                Shape::EllipticalArc {
                    center: place(center),
                    radii: radii.map(|r| r * self.scale),
                    rotation: self.turned(*rotation),
                    start,
                    end,
                }
            }
        }
    }

    fn place(&self, at: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|k| {
            let side = if self.flip[k] { -1.0 } else { 1.0 };
            side * at[k] * self.scale + self.shift[k]
        })
    }

    /// The direction of an axis at `degrees` after the motion.
    fn turned(&self, degrees: f64) -> f64 {
        match self.flip {
            [false, false] => degrees,
            [true, false] => 180.0 - degrees,
            [false, true] => -degrees,
            [true, true] => 180.0 + degrees,
        }
    }

    /// Angles from an axis, counter-clockwise from start to end before and after.
    fn span(&self, [start, end]: [f64; 2]) -> [f64; 2] {
        if self.flip[0] == self.flip[1] {
            [start, end]
        } else {
            [-end, -start]
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::num::sin_cos_degrees;

    /// The end points of an arc of an ellipse, by its definition.
    fn ends(shape: &Shape) -> [[f64; 2]; 2] {
        let (center, radii, rotation, span) = match shape {
            Shape::Arc {
                center,
                radius,
                start,
                end,
            } => (center, [*radius; 2], 0.0, [*start, *end]),
            Shape::EllipticalArc {
                center,
                radii,
                rotation,
                start,
                end,
            } => (center, *radii, *rotation, [*start, *end]),
            _ => unreachable!("only arcs are asked for"),
        };
        span.map(|t| {
            let ((sin, cos), (s, c)) = (sin_cos_degrees(t), sin_cos_degrees(rotation));
            let (x, y) = (radii[0] * cos, radii[1] * sin);
            [center[0] + x * c - y * s, center[1] + x * s + y * c]
        })
    }

    #[test]
    fn arcs_keep_their_ends_and_their_way_round() {
        let arcs = [
            Shape::Arc {
                center: [3.0, 1.0],
                radius: 2.0,
                start: 20.0,
                end: 75.0,
            },
            Shape::EllipticalArc {
                center: [3.0, 1.0],
                radii: [4.0, 2.0],
                rotation: 30.0,
                start: 20.0,
                end: 75.0,
            },
        ];
        for flip in [[false, true], [true, false], [true, true]] {
            let motion = Motion {
                flip,
                scale: 2.0,
                shift: [5.0, 7.0],
            };
            for arc in &arcs {
                let mut wanted = ends(arc).map(|p| motion.place(p));
                if flip[0] != flip[1] {
                    wanted.reverse(); // seen in a mirror the way round changes
                }
                let found = ends(&motion.of(arc));
                for (a, b) in wanted.as_flattened().iter().zip(found.as_flattened()) {
                    assert!((a - b).abs() < 1e-9, "{flip:?} {arc:?}");
                }
            }
        }
    }
}
