//! Ends of drawn lines that meet no other line of their view.

use crate::geom::num::Diagonal;
use crate::geom::num::sin_cos_degrees;
use crate::geom::tolerance::Tolerance;
use crate::sheet::bounds::Bounds;
use crate::sheet::views::Placed;
use crate::{Options, Shape, Sheet, View};

/// Lines nearer than so many tolerances meet: what the engine takes as one on a sheet drawn by hand.
const MEETING: f64 = 3.0;

/// A larger sheet comes from a program and is not looked at: all pairs of lines are.
const MOST_LINES: usize = 2000;

/// Chords for a whole turn; they leave a circle by less than a thousandth of its radius.
const CHORDS: f64 = 128.0;

/// An end in the open.
pub(super) struct End {
    pub(super) view: View,
    /// In sheet coordinates.
    pub(super) at: [f64; 2],
    /// A place in the sheet's lines.
    pub(super) line: usize,
}

/// The open ends of all views, in the order of the sheet.
pub(super) fn open(sheet: &Sheet, placed: &Placed, options: &Options) -> Vec<End> {
    if placed.lines.len() > MOST_LINES {
        return Vec::new();
    }
    let unit = sheet.unit.millimetres();
    let extent = placed
        .bounds
        .iter()
        .flat_map(Bounds::size)
        .fold(0.0, f64::max);
    let reach = match options.tolerance_mm {
        Some(mm) => mm / unit,
        None => MEETING * Tolerance::for_extent(extent).mm() / unit,
    };
    let drawn: Vec<Drawn> = placed
        .lines
        .iter()
        .map(|&(line, view)| Drawn::new(line, view, &sheet.lines[line].shape))
        .collect();
    let mut ends = Vec::new();
    for (k, one) in drawn.iter().enumerate() {
        for (at, rest) in one.ends() {
            let met = near(at, rest, reach)
                || drawn
                    .iter()
                    .enumerate()
                    .any(|(other, d)| other != k && d.view == one.view && d.meets(at, reach));
            if !met {
                let (view, line) = (one.view, one.line);
                ends.push(End { view, at, line });
            }
        }
    }
    ends
}

/// A drawn line as chords.
struct Drawn {
    line: usize,
    view: View,
    chords: Vec<[f64; 2]>,
    bounds: Bounds,
}

impl Drawn {
    fn new(line: usize, view: View, shape: &Shape) -> Drawn {
        let chords = chords(shape);
        Drawn {
            line,
            view,
            bounds: Bounds::of_points(&chords),
            chords,
        }
    }

    /// Its two ends, each with the chords of its own line that it may meet.
    fn ends(&self) -> [([f64; 2], &[[f64; 2]]); 2] {
        let last = self.chords.len() - 1;
        [
            (self.chords[0], &self.chords[2.min(last)..]),
            (
                self.chords[last],
                &self.chords[..last.max(1) - 1 + usize::from(last == 0)],
            ),
        ]
    }

    fn meets(&self, at: [f64; 2], reach: f64) -> bool {
        let point = Bounds::of_points(&[at]);
        self.bounds.contains(&point, reach) && near(at, &self.chords, reach)
    }
}

/// Whether a point lies within `reach` of the chords between points.
fn near(at: [f64; 2], chords: &[[f64; 2]], reach: f64) -> bool {
    let far = |point: &[f64; 2]| (at[0] - point[0]).diagonal(at[1] - point[1]);
    chords.iter().any(|point| far(point) <= reach)
        || chords.windows(2).any(|ends| {
            let [dx, dy] = [0, 1].map(|i| ends[1][i] - ends[0][i]);
            let along = [0, 1].map(|i| at[i] - ends[0][i]);
            let share = (along[0] * dx + along[1] * dy) / (dx * dx + dy * dy);
            let foot = [ends[0][0] + share * dx, ends[0][1] + share * dy];
            (0.0..=1.0).contains(&share) && far(&foot) <= reach
        })
}

/// A shape as chords; a closed one ends where it starts.
fn chords(shape: &Shape) -> Vec<[f64; 2]> {
    match shape {
        Shape::Line { from, to } => vec![*from, *to],
        Shape::Polyline(points) | Shape::Curve(points) => points.clone(),
        Shape::Circle { center, radius } => turned(*center, [*radius; 2], [0.0, 0.0, 360.0]),
        Shape::Arc {
            center,
            radius,
            start,
            end,
        } => turned(*center, [*radius; 2], [0.0, *start, *end]),
        Shape::Ellipse {
            center,
            radii,
            rotation,
        } => turned(*center, *radii, [*rotation, 0.0, 360.0]),
        Shape::EllipticalArc {
            center,
            radii,
            rotation,
            start,
            end,
        } => turned(*center, *radii, [*rotation, *start, *end]),
    }
}

/// Points on part of an ellipse: its turn, and the eccentric angles where the part starts and ends.
fn turned(center: [f64; 2], radii: [f64; 2], [rotation, start, end]: [f64; 3]) -> Vec<[f64; 2]> {
    let turn = match (end - start).rem_euclid(360.0) {
        0.0 => 360.0,
        turn => turn,
    };
    let (turn_sin, turn_cos) = sin_cos_degrees(rotation);
    let count = (CHORDS * turn / 360.0).ceil().max(4.0);
    let mut points = Vec::new();
    let mut k = 0.0;
    while k <= count {
        let (sin, cos) = sin_cos_degrees(start + turn * k / count);
        let [u, v] = [radii[0] * cos, radii[1] * sin];
        points.push([
            center[0] + u * turn_cos - v * turn_sin,
            center[1] + u * turn_sin + v * turn_cos,
        ]);
        k += 1.0;
    }
    points
}
