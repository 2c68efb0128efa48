//! One mistake in a right sheet: the smallest mends must contain the right sheet, or lead to proven readings of their own.

use foldback::{Line, LineType, Options, Shape, Sheet, Unwatched, Verdict, View, mend};
use std::f64::consts::TAU;

use crate::check::sheet_in;
use crate::random::Random;

/// How far apart what is drawn may be, in the sheet's unit; sheets are drawn with a chord error of up to 0.01 mm.
const NEAR: f64 = 0.02;

/// A mistake of one line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Mistake {
    Deleted,
    Retyped,
    Added,
}

/// A sheet with one mistake; none if this sheet has no room for it.
pub(crate) fn with_mistake(sheet: &Sheet, mistake: Mistake, random: &mut Random) -> Option<Sheet> {
    let bearing = |line: &Line| line.line_type.bears_geometry();
    let places: Vec<usize> = (0..sheet.lines.len())
        .filter(|&i| bearing(&sheet.lines[i]))
        .collect();
    let at = *random.pick(&places);
    let mut wrong = sheet.clone();
    match mistake {
        Mistake::Deleted => {
            wrong.lines.remove(at);
        }
        Mistake::Retyped => {
            let drawn = &mut wrong.lines[at].line_type;
            *drawn = match drawn {
                LineType::Hidden => LineType::Visible,
                _ => LineType::Hidden,
            };
        }
        Mistake::Added => {
            let view = sheet.lines[at].view?;
            let ends: Vec<[f64; 2]> = sheet
                .lines
                .iter()
                .filter(|line| bearing(line) && line.view == Some(view))
                .filter_map(|line| match line.shape {
                    Shape::Line { from, to } => Some([from, to]),
                    _ => None,
                })
                .flatten()
                .collect();
            let from = *random.pick(&ends);
            let level: Vec<[f64; 2]> = ends
                .into_iter()
                .filter(|to| *to != from && (to[0] == from[0] || to[1] == from[1]))
                .collect();
            if level.is_empty() {
                return None;
            }
            let line_type = *random.pick(&[LineType::Visible, LineType::Hidden]);
            wrong.lines.push(Line {
                view: Some(view),
                line_type,
                shape: Shape::Line {
                    from,
                    to: *random.pick(&level),
                },
            });
        }
    }
    (!same_drawing(sheet, &wrong)).then_some(wrong)
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

fn points(shape: &Shape) -> Vec<[f64; 2]> {
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

#[test]
#[ignore = "for measuring"]
fn rates() {
    let prefix = std::env::var("PREFIX").unwrap_or_else(|_| "p01".into());
    let count: usize = std::env::var("COUNT").map_or(10, |c| c.parse().unwrap());
    let mut names: Vec<String> = std::fs::read_dir("tests/reference")
        .unwrap()
        .filter_map(|e| e.unwrap().file_name().into_string().ok())
        .filter(|n| n.starts_with(&prefix) && n.ends_with(".json"))
        .collect();
    names.sort();
    for name in names {
        let sheet = sheet_in(&format!("reference/{name}"));
        for mistake in [Mistake::Deleted, Mistake::Retyped, Mistake::Added] {
            let mut random = Random::new(7);
            let (mut tried, mut exact, mut other, mut none) = (0, 0, 0, 0);
            let mut slowest = 0.0_f64;
            let mut sum = 0;
            for i in 0..count {
                let Some(wrong) = with_mistake(&sheet, mistake, &mut random) else {
                    continue;
                };
                let start = std::time::Instant::now();
                let mending = match mend(&wrong, &Options::default(), 50, &Unwatched) {
                    Ok(m) => m,
                    Err(e) => {
                        println!("{name} {mistake:?} {i}: error {e}");
                        tried += 1;
                        none += 1;
                        continue;
                    }
                };
                slowest = slowest.max(start.elapsed().as_secs_f64());
                if mending.verdict != Verdict::Contradictory {
                    continue;
                }
                tried += 1;
                sum += mending.mends.len();
                if mending.mends.iter().any(|m| same_drawing(&m.sheet, &sheet)) {
                    exact += 1
                } else if !mending.mends.is_empty() {
                    other += 1;
                    println!(
                        "{name} {mistake:?} {i}: other, {:?}",
                        mending.mends[0].changes
                    )
                } else {
                    none += 1;
                    println!(
                        "{name} {mistake:?} {i}: none; {:?}",
                        sheet.lines.iter().find(|l| !wrong.lines.contains(l))
                    )
                }
            }
            println!(
                "{name} {mistake:?}: {tried} tried, {exact} exact, {other} other, {none} none, {sum} mends, slowest {slowest:.2} s"
            );
        }
    }
}
