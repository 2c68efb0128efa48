//! A line in words: its type, its shape, its view, and where on the sheet it is.

use crate::geom::num::sin_cos_degrees;
use crate::sheet::bounds::Bounds;
use crate::{LineType, Shape, Unit, View};

/// Words for a line without an article, such as `hidden line in the right-side view from (52, 10) to (52, 30) mm`.
pub(crate) fn line_in_words(view: View, line_type: LineType, shape: &Shape, unit: Unit) -> String {
    let (kind, view, symbol) = (line_type.name(), view.title(), unit.symbol());
    match shape {
        Shape::Line { from, to } => {
            format!("{kind} line in the {view} {}", from_to(*from, *to, unit))
        }
        Shape::Circle { center, radius } => format!(
            "{kind} circle of radius {} {symbol} around {} {symbol} in the {view}",
            figure(*radius),
            place(*center)
        ),
        Shape::Arc {
            center,
            radius,
            start,
            end,
        } => {
            let on = |angle| on_ellipse(*center, [*radius; 2], 0.0, angle);
            format!(
                "{kind} arc in the {view} {} around {} {symbol}",
                from_to(on(*start), on(*end), unit),
                place(*center)
            )
        }
        Shape::Ellipse { center, .. } => {
            format!(
                "{kind} ellipse around {} {symbol} in the {view}",
                place(*center)
            )
        }
        Shape::EllipticalArc {
            center,
            radii,
            rotation,
            start,
            end,
        } => {
            let on = |angle| on_ellipse(*center, *radii, *rotation, angle);
            format!(
                "{kind} arc of an ellipse in the {view} {} around {} {symbol}",
                from_to(on(*start), on(*end), unit),
                place(*center)
            )
        }
        Shape::Curve(points) if !points.is_empty() && points.first() != points.last() => {
            let ends = [points[0], points[points.len() - 1]];
            format!(
                "{kind} curve in the {view} {}",
                from_to(ends[0], ends[1], unit)
            )
        }
        Shape::Polyline(_) | Shape::Curve(_) => {
            let bounds = Bounds::of_shape(shape);
            let [low, high] = [bounds.min, bounds.max].map(place);
            format!("{kind} lines in the {view} between {low} and {high} {symbol}")
        }
    }
}

fn from_to(from: [f64; 2], to: [f64; 2], unit: Unit) -> String {
    format!("from {} to {} {}", place(from), place(to), unit.symbol())
}

/// A place as one reads it off a ruler.
fn place([x, y]: [f64; 2]) -> String {
    format!("({}, {})", figure(x), figure(y))
}

fn figure(value: f64) -> f64 {
    // Minus nought is written as nought.
    (value * 1e3).round() / 1e3 + 0.0
}

fn on_ellipse(center: [f64; 2], radii: [f64; 2], rotation: f64, angle: f64) -> [f64; 2] {
    let (sin, cos) = sin_cos_degrees(angle);
    let (turn_sin, turn_cos) = sin_cos_degrees(rotation);
    let (x, y) = (radii[0] * cos, radii[1] * sin);
    [
        center[0] + x * turn_cos - y * turn_sin,
        center[1] + x * turn_sin + y * turn_cos,
    ]
}
