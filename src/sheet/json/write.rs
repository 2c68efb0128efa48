//! Writes a sheet as JSON.

use super::super::{Line, Shape, Sheet};

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
    let (name, numbers) = match &line.shape {
        Shape::Line { from, to } => ("line", number_list(&[from[0], from[1], to[0], to[1]])),
        Shape::Polyline(points) => ("polyline", point_list(points)),
        Shape::Curve(points) => ("curve", point_list(points)),
        Shape::Circle { center, radius } => {
            ("circle", number_list(&[center[0], center[1], *radius]))
        }
        Shape::Arc {
            center: [x, y],
            radius,
            start,
            end,
        } => ("arc", number_list(&[*x, *y, *radius, *start, *end])),
        Shape::Ellipse {
            center: [x, y],
            radii: [rx, ry],
            rotation,
        } => ("ellipse", number_list(&[*x, *y, *rx, *ry, *rotation])),
        Shape::EllipticalArc {
            center: [x, y],
            radii: [rx, ry],
            rotation,
            start,
            end,
        } => (
            "elliptical_arc",
            number_list(&[*x, *y, *rx, *ry, *rotation, *start, *end]),
        ),
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
