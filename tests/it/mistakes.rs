//! Mistakes of one line on a right sheet, and whether a mended sheet is the right one again.

use std::f64::consts::TAU;

use foldback::{Line, LineType, Shape, Sheet, View};

use crate::random::Random;

/// How far apart what is drawn may be, in the sheet's unit; sheets are drawn with a chord error of up to 0.01 mm.
const NEAR: f64 = 0.02;

/// A mistake of one line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Mistake {
    Deleted,
    Retyped,
    /// Straight, from one end of a line to another in the same view.
    Added,
}

impl Mistake {
    pub(crate) const ALL: [Mistake; 3] = [Mistake::Deleted, Mistake::Retyped, Mistake::Added];
}

/// Sheets with one mistake each, `most` of all there are or fewer; every line must say its view.
pub(crate) fn with_mistakes(
    sheet: &Sheet,
    mistake: Mistake,
    most: usize,
    random: &mut Random,
) -> Vec<Sheet> {
    let bearing = (0..sheet.lines.len()).filter(|&i| sheet.lines[i].line_type.bears_geometry());
    let mut slips: Vec<Slip> = match mistake {
        Mistake::Deleted => bearing.map(Slip::Delete).collect(),
        Mistake::Retyped => bearing.map(Slip::Retype).collect(),
        Mistake::Added => lines_to_add(sheet).into_iter().map(Slip::Add).collect(),
    };
    random.shuffle(&mut slips);
    let wrong = slips.into_iter().map(|slip| slip.on(sheet));
    wrong
        .filter(|wrong| !same_drawing(sheet, wrong))
        .take(most)
        .collect()
}

/// A sheet with lines from all over it by turns given the other type and taken away.
pub(crate) fn spread_over(sheet: &Sheet, mistakes: usize) -> Sheet {
    let mut wrong = sheet.clone();
    for k in 0..mistakes {
        let at = wrong.lines.len() * (2 * k + 1) / (2 * mistakes);
        match k % 2 {
            0 => retype(&mut wrong.lines[at]),
            _ => drop(wrong.lines.remove(at)),
        }
    }
    wrong
}

/// What is done to which line.
enum Slip {
    Delete(usize),
    Retype(usize),
    Add(Line),
}

impl Slip {
    fn on(self, sheet: &Sheet) -> Sheet {
        let mut wrong = sheet.clone();
        match self {
            Slip::Delete(at) => drop(wrong.lines.remove(at)),
            Slip::Retype(at) => retype(&mut wrong.lines[at]),
            Slip::Add(line) => wrong.lines.push(line),
        }
        wrong
    }
}

/// Makes a visible line hidden, and a hidden one visible.
pub(crate) fn retype(line: &mut Line) {
    line.line_type = match line.line_type {
        LineType::Hidden => LineType::Visible,
        _ => LineType::Hidden,
    };
}

/// Every straight line between two ends of drawn lines, of either type.
fn lines_to_add(sheet: &Sheet) -> Vec<Line> {
    let mut lines = Vec::new();
    for view in View::ALL.map(Some) {
        let of_view = sheet.lines.iter().filter(|line| line.view == view);
        let bearing = of_view.filter(|line| line.line_type.bears_geometry());
        let mut ends: Vec<[f64; 2]> = bearing.flat_map(|line| ends(&line.shape)).collect();
        ends.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
        ends.dedup();
        for (i, &to) in ends.iter().enumerate() {
            for &from in &ends[..i] {
                lines.extend([LineType::Visible, LineType::Hidden].map(|line_type| Line {
                    view,
                    line_type,
                    shape: Shape::Line { from, to },
                }));
            }
        }
    }
    lines
}

/// Both ends of a line; none if it goes round.
fn ends(shape: &Shape) -> Vec<[f64; 2]> {
    match shape {
        Shape::Circle { .. } | Shape::Ellipse { .. } => Vec::new(),
        _ => {
            let points = points(shape);
            vec![points[0], points[points.len() - 1]]
        }
    }
}

/// Whether two sheets show the same lines, however they are split.
pub(crate) fn same_drawing(a: &Sheet, b: &Sheet) -> bool {
    let [a, b] = [a, b].map(strokes);
    covers(&a, &b) && covers(&b, &a)
}

/// A drawn line as points along it.
struct Stroke {
    view: Option<View>,
    hidden: bool,
    points: Vec<[f64; 2]>,
}

fn strokes(sheet: &Sheet) -> Vec<Stroke> {
    let bearing = sheet.lines.iter().filter(|l| l.line_type.bears_geometry());
    bearing
        .map(|line| Stroke {
            view: line.view,
            hidden: line.line_type == LineType::Hidden,
            points: points(&line.shape),
        })
        .collect()
}

/// Points along a shape; of a straight line its ends.
pub(crate) fn points(shape: &Shape) -> Vec<[f64; 2]> {
    let round = |center: &[f64; 2], radii: [f64; 2], turn: f64, from: f64, to: f64| {
        let to = if to <= from { to + 360.0 } else { to };
        let (sin, cos) = turn.to_radians().sin_cos();
        (0..=96)
            .map(|i| {
                let t = (from + (to - from) * f64::from(i) / 96.0) / 360.0 * TAU;
                let (x, y) = (radii[0] * t.cos(), radii[1] * t.sin());
                [center[0] + x * cos - y * sin, center[1] + x * sin + y * cos]
            })
            .collect()
    };
    match shape {
        Shape::Line { from, to } => vec![*from, *to],
        Shape::Polyline(points) | Shape::Curve(points) => points.clone(),
        Shape::Circle { center, radius } => round(center, [*radius; 2], 0.0, 0.0, 360.0),
        Shape::Arc {
            center,
            radius,
            start,
            end,
        } => round(center, [*radius; 2], 0.0, *start, *end),
        Shape::Ellipse {
            center,
            radii,
            rotation,
        } => round(center, *radii, *rotation, 0.0, 360.0),
        Shape::EllipticalArc {
            center,
            radii,
            rotation,
            start,
            end,
        } => round(center, *radii, *rotation, *start, *end),
    }
}

/// Whether everything that `a` shows is shown by `b` with the same type.
fn covers(a: &[Stroke], b: &[Stroke]) -> bool {
    let shown = |strokes: &[Stroke], view: Option<View>, at: [f64; 2]| -> Option<bool> {
        let here = strokes
            .iter()
            .filter(|s| s.view == view && near(&s.points, at));
        here.map(|s| s.hidden).min()
    };
    a.iter().all(|stroke| {
        stroke.points.windows(2).all(|pair| {
            (0..40).all(|i| {
                let t = (f64::from(i) + 0.5) / 40.0;
                let at = [0, 1].map(|k| pair[0][k] + t * (pair[1][k] - pair[0][k]));
                shown(a, stroke.view, at) == shown(b, stroke.view, at)
            })
        })
    })
}

fn near(points: &[[f64; 2]], [x, y]: [f64; 2]) -> bool {
    points.windows(2).any(|pair| {
        let [[ax, ay], [bx, by]] = [pair[0], pair[1]];
        let (dx, dy) = (bx - ax, by - ay);
        let along = ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy).max(1e-12);
        let along = along.clamp(0.0, 1.0);
        (ax + along * dx - x).hypot(ay + along * dy - y) < NEAR
    })
}
