//! Whole views drawn wrong must be recognised, or be a correct drawing of something else.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use foldback::{Line, Options, Remark, RemarkKind, Shape, Sheet, Verdict, View, reconstruct};

use crate::check::sheet_in;

/// What is done to the places of one view.
#[derive(Clone, Copy, Debug)]
enum Slip {
    UpsideDown,
    WrongWayRound,
    HalfTurn,
    Half,
    Shifted,
}

const ALL: [Slip; 5] = [
    Slip::UpsideDown,
    Slip::WrongWayRound,
    Slip::HalfTurn,
    Slip::Half,
    Slip::Shifted,
];

/// Sheets with straight lines and circles that say the view of each line.
const SHEETS: [&str; 8] = [
    "p03-sensor-tray",
    "p08-window-channel",
    "p12-cable-sorter",
    "q01-wedge-foot",
    "q03-corner-cut-block",
    "q12-skew-cut-bracket",
    "c01-sensor-plate",
    "k01-countersunk-plate",
];

fn slipped(sheet: &Sheet, view: View, slip: Slip) -> Sheet {
    let of_view = |line: &&Line| line.view == Some(view) && line.line_type.bears_geometry();
    let points = |line: &Line| match line.shape {
        Shape::Line { from, to } => [from, to],
        Shape::Circle { center, radius } => {
            [center.map(|c| c - radius), center.map(|c| c + radius)]
        }
        _ => panic!("only lines and circles, not {line:?}"),
    };
    let all: Vec<[f64; 2]> = sheet
        .lines
        .iter()
        .filter(of_view)
        .flat_map(points)
        .collect();
    let low = [0, 1].map(|k| all.iter().map(|p| p[k]).fold(f64::INFINITY, f64::min));
    let high = [0, 1].map(|k| all.iter().map(|p| p[k]).fold(f64::NEG_INFINITY, f64::max));
    let moved = |p: [f64; 2]| {
        [0, 1].map(|k| match (slip, k) {
            (Slip::UpsideDown, 1) | (Slip::WrongWayRound, 0) | (Slip::HalfTurn, _) => {
                low[k] + high[k] - p[k]
            }
            (Slip::Half, _) => low[k] + 0.5 * (p[k] - low[k]),
            (Slip::Shifted, _) => p[k] + 5.0,
            _ => p[k],
        })
    };
    let scale = if let Slip::Half = slip { 0.5 } else { 1.0 };
    let mut wrong = sheet.clone();
    for line in wrong.lines.iter_mut().filter(|line| of_view(&&**line)) {
        line.shape = match line.shape {
            Shape::Line { from, to } => Shape::Line {
                from: moved(from),
                to: moved(to),
            },
            Shape::Circle { center, radius } => Shape::Circle {
                center: moved(center),
                radius: radius * scale,
            },
            ref other => other.clone(),
        };
    }
    wrong
}

/// A sheet whose lines all say their views.
fn said(name: &str) -> Sheet {
    let sheet = sheet_in(&format!("reference/{name}.json"));
    let bearing = sheet.lines.iter().filter(|l| l.line_type.bears_geometry());
    let mut lines: Vec<Line> = bearing.cloned().collect();
    assert!(lines.iter().all(|line| line.view.is_some()), "{name}");
    lines.sort_by_key(|line| line.view);
    Sheet { lines, ..sheet }
}

fn slips(problems: &[Remark]) -> Vec<&Remark> {
    let whole = problems.iter().filter(|p| p.kind == RemarkKind::WholeView);
    whole.collect()
}

#[test]
fn every_slip_of_a_view_is_recognised_or_a_drawing_of_something_else() {
    let mut recognised = 0;
    for name in SHEETS {
        let sheet = said(name);
        for view in View::ALL {
            for slip in ALL {
                let wrong = slipped(&sheet, view, slip);
                match (reconstruct(&wrong, &Options::default()), slip) {
                    (Err(error), Slip::Shifted) => {
                        assert!(error.to_string().contains("line up"), "{name}: {error}");
                        recognised += 1;
                    }
                    (Err(error), _) => panic!("{name} {view:?} {slip:?}: {error}"),
                    (Ok(outcome), _) if outcome.verdict == Verdict::Contradictory => {
                        let told = slips(&outcome.problems);
                        assert!(
                            !told.is_empty(),
                            "{name} {view:?} {slip:?}: {:?}",
                            outcome.problems
                        );
                        assert!(told.iter().all(|r| r.message.contains("put right")));
                        recognised += 1;
                    }
                    // The other sheet was proven to be right too.
                    (Ok(outcome), _) => {
                        assert!(!outcome.readings.is_empty(), "{name} {view:?} {slip:?}")
                    }
                }
            }
        }
    }
    assert!(recognised > 80, "{recognised}");
}

#[test]
fn exchanged_views_are_named() {
    let sheet = said("p03-sensor-tray");
    let mut wrong = sheet.clone();
    // The top view and the right-side view change places, each to the other's corner.
    let corner = |view: View| {
        let ends = sheet
            .lines
            .iter()
            .filter(|l| l.view == Some(view))
            .flat_map(|l| match l.shape {
                Shape::Line { from, to } => [from, to],
                _ => unreachable!("a sheet of straight lines"),
            });
        ends.fold([f64::INFINITY; 2], |low, p| {
            [low[0].min(p[0]), low[1].min(p[1])]
        })
    };
    let corners = View::ALL.map(corner);
    for line in &mut wrong.lines {
        let (from_view, to_view) = match line.view {
            Some(View::Top) => (View::Top, View::Right),
            Some(View::Right) => (View::Right, View::Top),
            _ => continue,
        };
        let [old, new] =
            [from_view, to_view].map(|v| corners[View::ALL.iter().position(|w| *w == v).unwrap()]);
        let put = |p: [f64; 2]| [0, 1].map(|k| p[k] - old[k] + new[k]);
        if let Shape::Line { from, to } = line.shape {
            line.shape = Shape::Line {
                from: put(from),
                to: put(to),
            };
        }
        line.view = Some(to_view);
    }
    let outcome = reconstruct(&wrong, &Options::default()).unwrap();
    let told = slips(&outcome.problems);
    assert!(
        told.iter().any(|r| r
            .message
            .contains("the right-side view stands in the place of the top view")),
        "{:?}",
        outcome.problems
    );
}

#[test]
fn a_left_side_view_in_place_of_the_right_side_view_is_named() {
    // An angle with an upright plate at its left: a step shows on the left side, none on the right.
    let sheet = said("q12-skew-cut-bracket");
    // Seen in a mirror the right-side view of the part is the left-side view of its mirror image.
    let mut wrong = sheet;
    for view in View::ALL {
        wrong = slipped(&wrong, view, Slip::WrongWayRound);
    }
    let outcome = reconstruct(&wrong, &Options::default()).unwrap();
    assert_eq!(outcome.verdict, Verdict::Contradictory);
    let told = slips(&outcome.problems);
    assert!(
        told.iter().any(|r| r.message.contains("left-side view")),
        "{:?}",
        outcome.problems
    );
}
