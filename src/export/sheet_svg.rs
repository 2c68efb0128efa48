//! A sheet as an SVG at true scale, as a draughtsman inks it: outlines wide, everything else narrow with the dashes of its
//! line type. One user unit is one unit of the sheet, y is turned over, and each drawn line is one element whose class is
//! its type, so that reading the file back gives the same lines at the same places. Marks lie beneath the lines as wide
//! bands told apart by their dashes as well as by their colour, with numbers beside them; a reader passes them over.

mod smooth;

use super::page::escaped;
use crate::geom::num::sin_cos_degrees;
use crate::sheet::bounds::Bounds;
use crate::{Line, LineType, Projection, Shape, Sheet, Unit};

/// White paper around the drawing in millimetres.
const MARGIN_MM: f64 = 10.0;

/// Width of outlines in millimetres, one of the widths of ISO 128-2; all other lines are half as wide.
const WIDE_MM: f64 = 0.7;

/// Width of the bands of marks in millimetres.
const BAND_MM: f64 = 3.0;

/// Height of the numbers beside marks in millimetres (ISO 3098-1).
const LETTERING_MM: f64 = 5.0;

/// Something on a sheet to point at.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// The place, in sheet coordinates and the sheet's unit.
    pub shape: Shape,
    /// How it is marked.
    pub style: MarkStyle,
    /// A word or number beside it.
    pub label: Option<String>,
}

/// The looks of a [`Mark`]; each has dashes of its own, so that they differ in black and white too.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MarkStyle {
    /// Part of a conflict: a dotted band.
    Conflict,
    /// A place of choice: a plain band.
    Choice,
    /// To be drawn: a narrow dashed line in a dashed band.
    Add,
    /// To be taken away: a band of short strokes across the line.
    Remove,
}

impl MarkStyle {
    /// The word for it, which is also its class in the SVG.
    pub fn name(self) -> &'static str {
        match self {
            MarkStyle::Conflict => "conflict",
            MarkStyle::Choice => "choice",
            MarkStyle::Add => "add",
            MarkStyle::Remove => "remove",
        }
    }

    /// Colour and dashes in millimetres; dark enough to be told from white paper when printed grey.
    fn looks(self) -> (&'static str, &'static [f64]) {
        match self {
            MarkStyle::Conflict => ("#c0392b", &[0.0, 4.5]),
            MarkStyle::Choice => ("#2471a3", &[]),
            MarkStyle::Add => ("#1e8449", &[6.0, 5.0]),
            MarkStyle::Remove => ("#b9770e", &[0.8, 2.2]),
        }
    }
}

impl Sheet {
    /// The sheet as an SVG at true scale, with white paper around the lines.
    ///
    /// Reading it back gives the same lines in the same views, as well as single precision keeps coordinates (seven
    /// digits): polylines come back as their straight parts, the points of a curve lie elsewhere along it, and a short arc
    /// may be described in another way.
    ///
    /// # Examples
    ///
    /// ```
    /// # fn main() -> Result<(), foldback::Error> {
    /// let (sheet, _) = foldback::read_sheet(br#"{"lines": [{"type": "hidden", "line": [0, 0, 40, 30]}]}"#)?;
    /// let (again, _) = foldback::read_sheet(sheet.to_svg().as_bytes())?;
    /// assert_eq!(again, sheet);
    /// # Ok(())
    /// # }
    /// ```
    pub fn to_svg(&self) -> String {
        self.to_svg_with(&[])
    }

    /// As [`Sheet::to_svg`], with marks beneath the lines.
    pub fn to_svg_with(&self, marks: &[Mark]) -> String {
        let paper = Paper::of(self, marks);
        let mut svg = paper.open(self.projection);
        svg += &paper.styles();
        if !marks.is_empty() {
            // The class says that nothing in the group bears geometry.
            svg += " <g class=\"construction\">\n";
            for mark in marks {
                svg += &paper.mark(mark);
            }
            svg += " </g>\n";
        }
        for line in &self.lines {
            svg += &drawn(line, self.unit);
        }
        svg += "</svg>\n";
        svg
    }
}

/// The paper the sheet is drawn on.
struct Paper {
    unit: Unit,
    /// Lower left corner in sheet coordinates.
    corner: [f64; 2],
    /// Width and height in sheet units.
    size: [f64; 2],
}

impl Paper {
    fn of(sheet: &Sheet, marks: &[Mark]) -> Paper {
        let shapes = sheet.lines.iter().map(|line| &line.shape);
        let all = shapes
            .chain(marks.iter().map(|mark| &mark.shape))
            .fold(Bounds::EMPTY, |all, shape| {
                all.joined(Bounds::of_shape(shape))
            });
        let all = if all.is_empty() {
            Bounds::of_points(&[[0.0; 2]])
        } else {
            all
        };
        let margin = MARGIN_MM / sheet.unit.millimetres();
        let corner = all.min.map(|c| rounded(c - margin));
        Paper {
            unit: sheet.unit,
            corner,
            size: [0, 1].map(|i| rounded(all.max[i] + margin - corner[i])),
        }
    }

    /// The opening tag: size on paper, and where on the sheet the paper's lower left corner is.
    fn open(&self, projection: Option<Projection>) -> String {
        let [x, y] = self.corner;
        let [w, h] = self.size;
        let unit = self.unit.symbol();
        let view_box = numbers(&[x, -(y + h), w, h]);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}{unit}\" height=\"{}{unit}\" viewBox=\"{view_box}\" \
             data-lower-left=\"{}\"{}>\n",
            number(w),
            number(h),
            numbers(&[x, y]),
            projection.map_or(String::new(), |p| format!(
                " data-projection=\"{}\"",
                p.name()
            ))
        )
    }

    /// How each type of line is drawn (ISO 128-2; lengths of dashes in widths from memory).
    fn styles(&self) -> String {
        let mut css = format!(
            " <style>\n  path, circle, ellipse {{ fill: none; stroke: black; stroke-width: {}; stroke-linecap: butt; \
             stroke-linejoin: round }}\n",
            self.length(WIDE_MM / 2.0)
        );
        css += &format!(
            "  .visible {{ stroke-width: {}; stroke-linecap: round }}\n",
            self.length(WIDE_MM)
        );
        for (line_type, dashes) in [
            (LineType::Hidden, [3.5, 1.5].as_slice()),
            (LineType::Center, &[10.0, 1.5, 1.5, 1.5]),
            (LineType::Phantom, &[10.0, 1.5, 1.5, 1.5, 1.5, 1.5]),
        ] {
            css += &format!(
                "  .{} {{ stroke-dasharray: {} }}\n",
                line_type.name(),
                self.lengths(dashes)
            );
        }
        css + " </style>\n"
    }

    fn mark(&self, mark: &Mark) -> String {
        let (color, dashes) = mark.style.looks();
        let cap = match mark.style {
            MarkStyle::Conflict => "round",
            _ => "butt",
        };
        let band = format!(
            "stroke: {color}; stroke-opacity: 0.45; stroke-width: {}; stroke-linecap: {cap}; stroke-dasharray: {}",
            self.length(BAND_MM),
            if dashes.is_empty() {
                "none".to_owned()
            } else {
                self.lengths(dashes)
            }
        );
        let class = mark.style.name();
        let band = format!("class=\"mark {class}\" style=\"{band}\"");
        let mut svg = element(&mark.shape, self.unit, &band);
        if mark.style == MarkStyle::Add {
            let line = format!(
                "class=\"mark\" style=\"stroke: {color}; stroke-dasharray: {}\"",
                self.lengths(&[6.0, 5.0])
            );
            svg += &element(&mark.shape, self.unit, &line);
        }
        if let Some(label) = &mark.label {
            let [x, y] = beside(&mark.shape, self.length_of(BAND_MM));
            svg += &format!(
                "  <text x=\"{}\" y=\"{}\" font-family=\"sans-serif\" font-weight=\"bold\" font-size=\"{}\" \
                 fill=\"{color}\" stroke=\"white\" stroke-width=\"{}\" paint-order=\"stroke\">{}</text>\n",
                number(x),
                number(-y),
                self.length(LETTERING_MM),
                self.length(1.0),
                escaped(label)
            );
        }
        svg
    }

    /// Millimetres in sheet units.
    fn length_of(&self, millimetres: f64) -> f64 {
        millimetres / self.unit.millimetres()
    }

    fn length(&self, millimetres: f64) -> String {
        number(rounded(self.length_of(millimetres)))
    }

    fn lengths(&self, millimetres: &[f64]) -> String {
        let texts: Vec<String> = millimetres.iter().map(|l| self.length(*l)).collect();
        texts.join(" ")
    }
}

/// One drawn line; its class is its type.
fn drawn(line: &Line, unit: Unit) -> String {
    let mut attributes = format!("class=\"{}\"", line.line_type.name());
    if let Some(view) = line.view {
        attributes += &format!(" data-view=\"{}\"", view.name());
    }
    if let Shape::Curve(_) = line.shape {
        // Or else a reader might find an arc in it.
        attributes += " data-shape=\"curve\"";
    }
    element(&line.shape, unit, &attributes)
}

/// A shape as an element with further attributes.
fn element(shape: &Shape, unit: Unit, attributes: &str) -> String {
    let shape = match shape {
        Shape::Circle {
            center: [x, y],
            radius,
        } => format!(
            "circle cx=\"{}\" cy=\"{}\" r=\"{}\"",
            number(*x),
            number(-y),
            number(*radius)
        ),
        Shape::Ellipse {
            center: [x, y],
            radii: [rx, ry],
            rotation,
        } => format!(
            "ellipse cx=\"{}\" cy=\"{}\" rx=\"{}\" ry=\"{}\" transform=\"rotate({})\"",
            number(*x),
            number(-y),
            number(*rx),
            number(*ry),
            numbers(&[-rotation, *x, -y])
        ),
        other => format!("path d=\"{}\"", path(other, unit)),
    };
    format!("  <{shape} {attributes}/>\n")
}

/// A shape with two ends as path text, y turned over.
fn path(shape: &Shape, unit: Unit) -> String {
    match shape {
        Shape::Line { from, to } => format!("M{} L{}", point(*from), point(*to)),
        Shape::Polyline(points) => straight(points),
        Shape::Curve(points) if points.len() < 3 => straight(points),
        Shape::Curve(points) => smooth(points, unit),
        Shape::Circle { center, radius } => Part::new(*center, [*radius; 2], 0.0).path(0.0, 360.0),
        Shape::Arc {
            center,
            radius,
            start,
            end,
        } => Part::new(*center, [*radius; 2], 0.0).path(*start, *end),
        Shape::Ellipse {
            center,
            radii,
            rotation,
        } => Part::new(*center, *radii, *rotation).path(0.0, 360.0),
        Shape::EllipticalArc {
            center,
            radii,
            rotation,
            start,
            end,
        } => Part::new(*center, *radii, *rotation).path(*start, *end),
    }
}

fn straight(points: &[[f64; 2]]) -> String {
    let texts: Vec<String> = points.iter().map(|p| point(*p)).collect();
    format!("M{}", texts.join(" L"))
}

/// A smooth curve through three or more points.
fn smooth(points: &[[f64; 2]], unit: Unit) -> String {
    let mut text = format!("M{}", point(points[0]));
    for [_, out, on, end] in smooth::pieces(points, unit.millimetres()) {
        text += &format!(" C{} {} {}", point(out), point(on), point(end));
    }
    text
}

/// Part of an ellipse or circle.
struct Part {
    center: [f64; 2],
    radii: [f64; 2],
    rotation: f64,
}

impl Part {
    fn new(center: [f64; 2], radii: [f64; 2], rotation: f64) -> Part {
        Part {
            center,
            radii,
            rotation,
        }
    }

    /// The point at an eccentric angle.
    fn at(&self, degrees: f64) -> [f64; 2] {
        let (sin, cos) = sin_cos_degrees(degrees);
        let (turn_sin, turn_cos) = sin_cos_degrees(self.rotation);
        let [u, v] = [self.radii[0] * cos, self.radii[1] * sin];
        [
            self.center[0] + u * turn_cos - v * turn_sin,
            self.center[1] + u * turn_sin + v * turn_cos,
        ]
    }

    /// Counter-clockwise from one angle to another, in two halves: SVG cannot draw a whole turn at once, and two pieces of
    /// one ellipse are read back as such even if they are short.
    fn path(&self, start: f64, end: f64) -> String {
        let turn = (end - start).rem_euclid(360.0);
        let turn = if turn == 0.0 { 360.0 } else { turn };
        let mut text = format!("M{}", point(self.at(start)));
        let stops = [start + turn / 2.0, start + turn];
        for to in &stops[usize::from(turn < 1.0)..] {
            text += &format!(
                " A{} 0 0 {}",
                numbers(&[self.radii[0], self.radii[1], -self.rotation]),
                point(self.at(*to))
            );
        }
        text
    }
}

/// Where a label stands: beside the middle of a shape.
fn beside(shape: &Shape, distance: f64) -> [f64; 2] {
    let middle = |points: &[[f64; 2]]| match points {
        [a, b] => [0, 1].map(|i| f64::midpoint(a[i], b[i])),
        _ => points.get(points.len() / 2).copied().unwrap_or_default(),
    };
    let [x, y] =
        match shape {
            Shape::Line { from, to } => middle(&[*from, *to]),
            Shape::Polyline(points) | Shape::Curve(points) => middle(points),
            Shape::Circle { center, radius } => Part::new(*center, [*radius; 2], 0.0).at(45.0),
            Shape::Ellipse {
                center,
                radii,
                rotation,
            } => Part::new(*center, *radii, *rotation).at(45.0),
            Shape::Arc {
                center,
                radius,
                start,
                end,
            } => Part::new(*center, [*radius; 2], 0.0)
                .at(start + (end - start).rem_euclid(360.0) / 2.0),
            Shape::EllipticalArc {
                center,
                radii,
                rotation,
                start,
                end,
            } => Part::new(*center, *radii, *rotation)
                .at(start + (end - start).rem_euclid(360.0) / 2.0),
        };
    [x + distance, y + distance]
}

fn point([x, y]: [f64; 2]) -> String {
    numbers(&[x, -y])
}

fn numbers(values: &[f64]) -> String {
    let texts: Vec<String> = values.iter().map(|v| number(*v)).collect();
    texts.join(" ")
}

/// A number as short as it can be written exactly, without the digits that only rounding of the arithmetic left.
fn number(value: f64) -> String {
    // Nought has no sign.
    (rounded_to(value, 1e9) + 0.0).to_string()
}

fn rounded(value: f64) -> f64 {
    rounded_to(value, 1e4)
}

fn rounded_to(value: f64, parts: f64) -> f64 {
    let rounded = (value * parts).round() / parts;
    if rounded.is_finite() { rounded } else { value }
}

#[cfg(test)]
mod tests;
