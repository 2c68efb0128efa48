//! Writes a sheet as JSON.

use super::super::{Line, Shape, Sheet};

/// The numbers of a shape as they stand in a sheet file.
pub(crate) enum Numbers<'a> {
    /// One list.
    Flat(Vec<f64>),
    /// A list of points.
    Points(&'a [[f64; 2]]),
}

impl Shape {
    /// The key of the shape in a sheet file, and its numbers.
    pub(crate) fn in_numbers(&self) -> (&'static str, Numbers<'_>) {
        let (name, numbers) = match self {
            Shape::Polyline(points) => return ("polyline", Numbers::Points(points)),
            Shape::Curve(points) => return ("curve", Numbers::Points(points)),
            Shape::Line { from, to } => ("line", vec![from[0], from[1], to[0], to[1]]),
            Shape::Circle { center, radius } => ("circle", vec![center[0], center[1], *radius]),
            Shape::Arc {
                center: [x, y],
                radius,
                start,
                end,
            } => ("arc", vec![*x, *y, *radius, *start, *end]),
            Shape::Ellipse {
                center: [x, y],
                radii: [rx, ry],
                rotation,
            } => ("ellipse", vec![*x, *y, *rx, *ry, *rotation]),
            Shape::EllipticalArc {
                center: [x, y],
                radii: [rx, ry],
                rotation,
                start,
                end,
            } => (
                "elliptical_arc",
                vec![*x, *y, *rx, *ry, *rotation, *start, *end],
            ),
        };
        (name, Numbers::Flat(numbers))
    }
}

impl Sheet {
    /// The sheet as JSON, one line of text per drawn line; reading it back gives the same sheet.
    pub fn to_json(&self) -> String {
        let mut text = format!("{{\"unit\": \"{}\", ", self.unit.symbol());
        if let Some(projection) = self.projection {
            text += &format!("\"projection\": \"{}\", ", projection.name());
        }
        text += "\"lines\": [";
        for (i, line) in self.lines.iter().enumerate() {
            text += if i == 0 { "\n " } else { ",\n " };
            text += &line_to_json(line);
        }
        text += "\n]}\n";
        text
    }
}

fn line_to_json(line: &Line) -> String {
    let view = line
        .view
        .map_or(String::new(), |v| format!("\"view\": \"{}\", ", v.name()));
    let (name, numbers) = line.shape.in_numbers();
    let numbers = match numbers {
        Numbers::Flat(numbers) => number_list(&numbers),
        Numbers::Points(points) => point_list(points),
    };
    let line_type = line.line_type.name();
    format!("{{{view}\"type\": \"{line_type}\", \"{name}\": [{numbers}]}}")
}

fn number_list(numbers: &[f64]) -> String {
    let texts: Vec<String> = numbers.iter().map(f64::to_string).collect();
    texts.join(", ")
}

fn point_list(points: &[[f64; 2]]) -> String {
    let texts: Vec<String> = points.iter().map(|[x, y]| format!("[{x}, {y}]")).collect();
    texts.join(", ")
}
