//! A sheet with the further view that settles it, as SVG: the drawn views thin, the further one as it is to be drawn.

use super::page::{LETTERING, MARGIN, NARROW, WIDE, draw, line, number, stroke};
use crate::geom::num::sin_cos_degrees;
use crate::outcome::{Outcome, Section, Settling};
use crate::sheet::{LineType, Shape, Sheet};

impl Outcome {
    /// What settles an ambiguous sheet, drawn beside its views as an SVG file at true size: the further view as the given
    /// listed reading (counted from 0) has it, or the line of the section. `None` if nothing is sure to settle it, or
    /// there is no such reading.
    pub fn to_settling_picture(&self, sheet: &Sheet, reading: usize) -> Option<String> {
        let unit = sheet.unit.millimetres();
        let mut marks = Marks::default();
        for drawn in &sheet.lines {
            if matches!(drawn.line_type, LineType::Visible | LineType::Hidden) {
                marks.add(&drawn.shape, unit, Kind::of(drawn.line_type, false));
            }
        }
        let caption = match self.settled_by? {
            Settling::View(view) => {
                for further in self.further_views.get(reading)? {
                    marks.add(&further.shape, unit, Kind::of(further.line_type, true));
                }
                format!("{} of reading {}", view.title(), reading + 1)
            }
            Settling::Section(Section {
                parallel_to,
                line: [from, to],
                ..
            }) => {
                let cut = Shape::Line { from, to };
                marks.add(&cut, unit, Kind::Cut);
                format!("section parallel to the {}", parallel_to.title())
            }
        };
        Some(marks.written(&caption))
    }
}

/// The ways of drawing a line here.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Given,
    GivenHidden,
    Further,
    FurtherHidden,
    Cut,
}

impl Kind {
    const ALL: [Kind; 5] = [
        Kind::Given,
        Kind::GivenHidden,
        Kind::Further,
        Kind::FurtherHidden,
        Kind::Cut,
    ];

    fn of(line_type: LineType, further: bool) -> Self {
        match (line_type, further) {
            (LineType::Hidden, false) => Kind::GivenHidden,
            (_, false) => Kind::Given,
            (LineType::Hidden, true) => Kind::FurtherHidden,
            (_, true) => Kind::Further,
        }
    }

    /// Class and style. Cutting planes are long dashes and dots (ISO 128-2, line 04).
    fn style(self) -> (&'static str, String) {
        let dashes = |parts: &[f64]| {
            let parts: Vec<String> = parts.iter().map(|p| number(p * NARROW)).collect();
            format!(" stroke-dasharray=\"{}\"", parts.join(" "))
        };
        match self {
            Kind::Given => ("given", stroke(NARROW / 2.0, "")),
            Kind::GivenHidden => ("given-hidden", stroke(NARROW / 2.0, &dashes(&[6.0, 3.0]))),
            Kind::Further => ("visible", stroke(WIDE, "")),
            Kind::FurtherHidden => ("hidden", stroke(NARROW, &dashes(&[12.0, 3.0]))),
            Kind::Cut => ("cut", stroke(WIDE, &dashes(&[24.0, 3.0, 0.5, 3.0]))),
        }
    }
}

/// Lines on paper, in millimetres, y up.
#[derive(Default)]
struct Marks {
    lines: Vec<(Kind, Vec<[f64; 2]>)>,
}

impl Marks {
    fn add(&mut self, shape: &Shape, unit: f64, kind: Kind) {
        let points = points(shape).into_iter().map(|p| p.map(|c| c * unit));
        self.lines.push((kind, points.collect()));
    }

    fn written(&self, caption: &str) -> String {
        let all = || self.lines.iter().flat_map(|(_, points)| points);
        let least = |a: usize| all().map(|p| p[a]).fold(f64::MAX, f64::min);
        let most = |a: usize| all().map(|p| p[a]).fold(f64::MIN, f64::max);
        let (left, top) = (least(0) - MARGIN, most(1) + MARGIN);
        let width = number(most(0) + MARGIN - left);
        let height = number(top - least(1) + MARGIN + 2.0 * LETTERING);
        let mut svg = String::new();
        line(
            &mut svg,
            0,
            &format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
                 viewBox=\"0 0 {width} {height}\" role=\"img\" aria-labelledby=\"title\">"
            ),
        );
        line(
            &mut svg,
            1,
            &format!("<title id=\"title\">{caption}</title>"),
        );
        line(
            &mut svg,
            1,
            "<rect width=\"100%\" height=\"100%\" fill=\"white\"/>",
        );
        for kind in Kind::ALL {
            let mut path = String::new();
            for (_, points) in self.lines.iter().filter(|(k, _)| *k == kind) {
                for (k, [x, y]) in points.iter().enumerate() {
                    let step = if k == 0 { "M" } else { "L" };
                    path += &format!("{step}{} {}", number(x - left), number(top - y));
                }
            }
            let (class, style) = kind.style();
            draw(&mut svg, class, &path, &style);
        }
        let (x, y) = (number(MARGIN), number(top - least(1) + MARGIN + LETTERING));
        let text = format!(
            "<text x=\"{x}\" y=\"{y}\" font-family=\"sans-serif\" font-size=\"{LETTERING}\">{caption}</text>"
        );
        line(&mut svg, 1, &text);
        svg.push_str("</svg>\n");
        svg
    }
}

/// Into how many straight steps a whole turn is drawn: on the largest paper they stay within the pen's width.
const STEPS: u32 = 180;

/// Points along a shape.
fn points(shape: &Shape) -> Vec<[f64; 2]> {
    let turn = |center: &[f64; 2], radii: [f64; 2], rotation: f64, [start, end]: [f64; 2]| {
        let span = (end - start).rem_euclid(360.0);
        let span = if span == 0.0 { 360.0 } else { span };
        let (sin, cos) = sin_cos_degrees(rotation);
        let at = |k: u32| {
            let (s, c) = sin_cos_degrees(start + span * f64::from(k) / f64::from(STEPS));
            let [u, v] = [radii[0] * c, radii[1] * s];
            [center[0] + u * cos - v * sin, center[1] + u * sin + v * cos]
        };
        (0..=STEPS).map(at).collect()
    };
    match shape {
        Shape::Line { from, to } => vec![*from, *to],
        Shape::Polyline(points) | Shape::Curve(points) => points.clone(),
        Shape::Circle { center, radius } => turn(center, [*radius; 2], 0.0, [0.0, 360.0]),
        Shape::Arc {
            center,
            radius,
            start,
            end,
        } => turn(center, [*radius; 2], 0.0, [*start, *end]),
        Shape::Ellipse {
            center,
            radii,
            rotation,
        } => turn(center, *radii, *rotation, [0.0, 360.0]),
        Shape::EllipticalArc {
            center,
            radii,
            rotation,
            start,
            end,
        } => turn(center, *radii, *rotation, [*start, *end]),
    }
}
