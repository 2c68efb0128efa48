//! Long arcs in path data, cut into quarters.
//!
//! The library turns arcs into Béziers that may be off by a tenth of a user unit, whatever that unit is; on a page measured
//! in inches that is too much. A quarter or less becomes a single Bézier, from which the arc can be found again exactly.

use std::fmt::Write;

use kurbo::{Arc, Point, SvgArc, Vec2};
use svgtypes::{PathParser, PathSegment};

use crate::geom::num::sin_cos_degrees;

/// Path data with the same course in which no arc turns by more than a quarter; `None` if there is none to cut.
pub(super) fn split(data: &str) -> Option<String> {
    if !data.contains(['A', 'a']) {
        return None;
    }
    let mut pen = Pen::default();
    for segment in PathParser::from(data) {
        pen.draw(segment.ok()?).ok()?;
    }
    Some(pen.data)
}

/// Writes absolute path data and remembers where it stands.
#[derive(Default)]
struct Pen {
    data: String,
    start: Point,
    at: Point,
}

impl Pen {
    fn draw(&mut self, segment: PathSegment) -> std::fmt::Result {
        let origin = if segment.is_abs() {
            Vec2::ZERO
        } else {
            self.at.to_vec2()
        };
        let place = |x: f64, y: f64| Point::new(x, y) + origin;
        let from = self.at;
        match segment {
            PathSegment::MoveTo { x, y, .. } => {
                self.at = place(x, y);
                self.start = self.at;
                self.put("M", &[self.at])
            }
            PathSegment::LineTo { x, y, .. } => {
                self.at = place(x, y);
                self.put("L", &[self.at])
            }
            PathSegment::HorizontalLineTo { x, .. } => {
                self.at.x = x + origin.x;
                self.put("L", &[self.at])
            }
            PathSegment::VerticalLineTo { y, .. } => {
                self.at.y = y + origin.y;
                self.put("L", &[self.at])
            }
            PathSegment::CurveTo {
                x1,
                y1,
                x2,
                y2,
                x,
                y,
                ..
            } => {
                self.at = place(x, y);
                self.put("C", &[place(x1, y1), place(x2, y2), self.at])
            }
            PathSegment::SmoothCurveTo { x2, y2, x, y, .. } => {
                self.at = place(x, y);
                self.put("S", &[place(x2, y2), self.at])
            }
            PathSegment::Quadratic { x1, y1, x, y, .. } => {
                self.at = place(x, y);
                self.put("Q", &[place(x1, y1), self.at])
            }
            PathSegment::SmoothQuadratic { x, y, .. } => {
                self.at = place(x, y);
                self.put("T", &[self.at])
            }
            PathSegment::EllipticalArc {
                rx,
                ry,
                x_axis_rotation,
                large_arc,
                sweep,
                x,
                y,
                ..
            } => {
                self.at = place(x, y);
                self.arc(&SvgArc {
                    from,
                    to: self.at,
                    radii: Vec2::new(rx, ry),
                    x_rotation: x_axis_rotation.to_radians(),
                    large_arc,
                    sweep,
                })
            }
            PathSegment::ClosePath { .. } => {
                self.at = self.start;
                self.put("Z", &[])
            }
        }
    }

    fn put(&mut self, command: &str, points: &[Point]) -> std::fmt::Result {
        self.data += command;
        for point in points {
            write!(self.data, " {} {}", point.x, point.y)?;
        }
        Ok(())
    }

    fn arc(&mut self, whole: &SvgArc) -> std::fmt::Result {
        let Some(arc) = Arc::from_svg_arc(whole) else {
            return self.put("L", &[whole.to]);
        };
        let turn = arc.sweep_angle.to_degrees();
        let pieces = (turn.abs() / 90.0 - 1e-9).ceil().clamp(1.0, 4.0);
        let mut i = 1.0;
        while i <= pieces {
            let to = if i < pieces {
                on(&arc, arc.start_angle.to_degrees() + turn * i / pieces)
            } else {
                whole.to
            };
            let sweep = u8::from(whole.sweep);
            let rotation = whole.x_rotation.to_degrees();
            write!(
                self.data,
                "A {} {} {rotation} 0 {sweep} {} {}",
                arc.radii.x, arc.radii.y, to.x, to.y
            )?;
            i += 1.0;
        }
        Ok(())
    }
}

/// The point of an arc at an eccentric angle in degrees.
fn on(arc: &Arc, angle: f64) -> Point {
    let (sin, cos) = sin_cos_degrees(angle);
    let (turned_sin, turned_cos) = sin_cos_degrees(arc.x_rotation.to_degrees());
    let (u, v) = (arc.radii.x * cos, arc.radii.y * sin);
    arc.center
        + Vec2::new(
            u * turned_cos - v * turned_sin,
            u * turned_sin + v * turned_cos,
        )
}
