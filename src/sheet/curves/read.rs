//! Drawn shapes as straight pieces and bends, in millimetres on the sheet.

use super::super::views::Placed;
use super::super::{LineType, Shape, Sheet, View};
use super::{Bend, fit};
use crate::geom::carrier::{Carrier, length};
use crate::geom::num::sin_cos_degrees;
use crate::geom::{P2, V2};
use std::f64::consts::{PI, TAU};

/// A straight piece before it is moved, in millimetres on the sheet.
#[derive(Clone, Copy, Debug)]
pub(in crate::sheet) struct Raw {
    /// The line it came from, a place in the sheet's list.
    pub(in crate::sheet) line: u32,
    /// The view it stands in.
    pub(in crate::sheet) view: View,
    /// Whether it is drawn hidden.
    pub(in crate::sheet) hidden: bool,
    /// Its ends.
    pub(in crate::sheet) ends: [[f64; 2]; 2],
}

/// The geometry-bearing lines of a sheet.
#[derive(Default)]
pub(in crate::sheet) struct Drawn {
    /// Straight pieces, in the order of their lines.
    pub(in crate::sheet) straight: Vec<Raw>,
    /// Curved lines, in the order of the sheet.
    pub(in crate::sheet) bends: Vec<Bend>,
}

/// The straight pieces and bends of a sheet; what bends by less than a small part of `tolerance` (mm) is straight.
pub(in crate::sheet) fn drawn(sheet: &Sheet, placed: &Placed, tolerance: f64) -> Drawn {
    let mut drawn = Drawn {
        straight: Vec::with_capacity(placed.lines.len()),
        bends: Vec::new(),
    };
    for &(line, view) in &placed.lines {
        let source = Source {
            line: u32::try_from(line).expect("readers bound the number of lines"),
            view,
            hidden: sheet.lines[line].line_type == LineType::Hidden,
            mm: sheet.unit.millimetres(),
            tolerance,
        };
        source.read(&sheet.lines[line].shape, &mut drawn);
    }
    drawn
}

/// The line a shape belongs to.
struct Source {
    line: u32,
    view: View,
    hidden: bool,
    /// Millimetres per unit of the sheet.
    mm: f64,
    tolerance: f64,
}

impl Source {
    fn read(&self, shape: &Shape, drawn: &mut Drawn) {
        match shape {
            Shape::Line { from, to } => drawn.straight.push(self.straight(*from, *to)),
            Shape::Polyline(points) => {
                let pieces = points.windows(2).map(|w| self.straight(w[0], w[1]));
                drawn.straight.extend(pieces);
            }
            Shape::Circle { center, radius } => {
                drawn
                    .bends
                    .push(self.circle(*center, *radius, [0.0, 360.0]));
            }
            Shape::Arc {
                center,
                radius,
                start,
                end,
            } => drawn
                .bends
                .push(self.circle(*center, *radius, [*start, *end])),
            Shape::Ellipse {
                center,
                radii,
                rotation,
            } => self.ellipse(*center, *radii, *rotation, [0.0, 360.0], drawn),
            Shape::EllipticalArc {
                center,
                radii,
                rotation,
                start,
                end,
            } => self.ellipse(*center, *radii, *rotation, [*start, *end], drawn),
            Shape::Curve(points) => self.curve(points, drawn),
        }
    }

    fn straight(&self, from: [f64; 2], to: [f64; 2]) -> Raw {
        Raw {
            line: self.line,
            view: self.view,
            hidden: self.hidden,
            ends: [from, to].map(|p| p.map(|c| c * self.mm)),
        }
    }

    fn bend(&self, carrier: Carrier, span: [f64; 2]) -> Bend {
        Bend {
            line: self.line,
            view: self.view,
            hidden: self.hidden,
            carrier,
            span,
        }
    }

    fn point(&self, at: [f64; 2]) -> P2 {
        P2::from(at.map(|c| c * self.mm))
    }

    fn circle(&self, center: [f64; 2], radius: f64, degrees: [f64; 2]) -> Bend {
        let carrier = Carrier::Circle {
            center: self.point(center),
            radius: radius * self.mm,
        };
        self.bend(carrier, span(degrees))
    }

    fn ellipse(
        &self,
        center: [f64; 2],
        radii: [f64; 2],
        rotation: f64,
        degrees: [f64; 2],
        drawn: &mut Drawn,
    ) {
        let [rx, ry] = radii.map(|r| r * self.mm);
        if (rx - ry).abs() <= self.tolerance {
            let turned = degrees.map(|d| d + rotation);
            let turned = if turned_fully(degrees) {
                [0.0, 360.0]
            } else {
                turned
            };
            let radius = f64::midpoint(radii[0], radii[1]);
            drawn.bends.push(self.circle(center, radius, turned));
            return;
        }
        let (sin, cos) = sin_cos_degrees(rotation);
        let first = V2::new(cos, sin);
        let second = V2::new(-sin, cos);
        // The longer half-axis comes first and points right, so that an ellipse has one form only.
        let quarter = 0.5 * PI;
        let (mut axes, mut shift) = if rx >= ry {
            ([first * rx, second * ry], 0.0)
        } else {
            ([second * ry, first * -rx], -quarter)
        };
        if axes[0].x < 0.0 {
            axes = axes.map(|a| -a);
            shift += PI;
        }
        let center = self.point(center);
        let span = span(degrees).map(|t| t + shift);
        if axes[1].norm() <= 0.5 * self.tolerance {
            drawn.straight.extend(self.flat(center, axes[0], span));
        } else {
            drawn
                .bends
                .push(self.bend(Carrier::Ellipse { center, axes }, span));
        }
    }

    /// An ellipse seen from the side: the stretch of its longer axis that it covers.
    fn flat(&self, center: P2, axis: V2, [start, end]: [f64; 2]) -> Option<Raw> {
        let extremes = (-2..=4).map(|k| f64::from(k) * PI);
        let inside = extremes.filter(|t| (start..=end).contains(t));
        let reach = inside
            .chain([start, end])
            .map(|t| crate::geom::num::sin_cos(t).1);
        let (low, high) = reach.fold((1.0, -1.0), |(low, high), c| {
            (f64::min(low, c), f64::max(high, c))
        });
        (low < high).then(|| Raw {
            line: self.line,
            view: self.view,
            hidden: self.hidden,
            ends: [low, high].map(|c| (center + axis * c).into()),
        })
    }

    fn curve(&self, points: &[[f64; 2]], drawn: &mut Drawn) {
        let mut points: Vec<P2> = points.iter().map(|p| self.point(*p)).collect();
        points.dedup();
        if points.len() < 2 {
            return;
        }
        if let Some((carrier, span)) = fit::circle(&points, self.tolerance) {
            drawn.bends.push(self.bend(carrier, span));
        } else {
            let span = [0.0, length(&points)];
            drawn.bends.push(self.bend(Carrier::Free { points }, span));
        }
    }
}

fn turned_fully([start, end]: [f64; 2]) -> bool {
    (end - start).abs() >= 360.0
}

/// Start and end of an arc in radians, counter-clockwise, the start within one turn from 0.
fn span(degrees: [f64; 2]) -> [f64; 2] {
    if turned_fully(degrees) {
        return [0.0, TAU];
    }
    let start = degrees[0].rem_euclid(360.0);
    let turn = (degrees[1] - degrees[0]).rem_euclid(360.0);
    [start.to_radians(), (start + turn).to_radians()]
}
