//! Whole views drawn wrong must be recognised, or be a correct drawing of something else.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use itertools::Itertools;

use foldback::{Line, Options, Remark, RemarkKind, Shape, Sheet, Verdict, View, reconstruct};

use crate::check::sheet_in;
use crate::mistakes::points;
use crate::sweep::right_sheets;

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
    let drawn = sheet.lines.iter().filter(of_view);
    let all: Vec<[f64; 2]> = drawn.flat_map(|line| points(&line.shape)).collect();
    let low = [0, 1].map(|k| all.iter().map(|p| p[k]).fold(f64::INFINITY, f64::min));
    let high = [0, 1].map(|k| all.iter().map(|p| p[k]).fold(f64::NEG_INFINITY, f64::max));
    let mut wrong = sheet.clone();
    for line in wrong.lines.iter_mut().filter(|line| of_view(&&**line)) {
        line.shape = slip.of(&line.shape, [low, high]);
    }
    wrong
}

impl Slip {
    /// Whether left and right are exchanged, and top and bottom.
    fn flips(self) -> [bool; 2] {
        match self {
            Slip::UpsideDown => [false, true],
            Slip::WrongWayRound => [true, false],
            Slip::HalfTurn => [true, true],
            Slip::Half | Slip::Shifted => [false, false],
        }
    }

    /// A place after the slip of a view that reaches from one corner to the other.
    fn put(self, p: [f64; 2], [low, high]: [[f64; 2]; 2]) -> [f64; 2] {
        [0, 1].map(|k| match self {
            Slip::Half => low[k] + 0.5 * (p[k] - low[k]),
            Slip::Shifted => p[k] + 5.0,
            _ if self.flips()[k] => low[k] + high[k] - p[k],
            _ => p[k],
        })
    }

    /// Angles of an arc after it; flipped, an arc runs from its end to its start.
    fn angles(self, [start, end]: [f64; 2]) -> [f64; 2] {
        match self.flips() {
            [false, false] => [start, end],
            [true, true] => [start + 180.0, end + 180.0],
            [true, false] => [180.0 - end, 180.0 - start],
            [false, true] => [-end, -start],
        }
    }

    fn of(self, shape: &Shape, corners: [[f64; 2]; 2]) -> Shape {
        let put = |p: &[f64; 2]| self.put(*p, corners);
        let scale = if let Slip::Half = self { 0.5 } else { 1.0 };
        // In a mirror what leans to the left leans to the right.
        let mirrored = self.flips()[0] != self.flips()[1];
        let turned = |rotation: f64| if mirrored { -rotation } else { rotation };
        match shape {
            Shape::Line { from, to } => Shape::Line {
                from: put(from),
                to: put(to),
            },
            Shape::Polyline(points) => Shape::Polyline(points.iter().map(put).collect()),
            Shape::Curve(points) => Shape::Curve(points.iter().map(put).collect()),
            Shape::Circle { center, radius } => Shape::Circle {
                center: put(center),
                radius: radius * scale,
            },
            Shape::Arc {
                center,
                radius,
                start,
                end,
            } => {
                let [start, end] = self.angles([*start, *end]);
                Shape::Arc {
                    center: put(center),
                    radius: radius * scale,
                    start,
                    end,
                }
            }
            Shape::Ellipse {
                center,
                radii,
                rotation,
            } => Shape::Ellipse {
                center: put(center),
                radii: radii.map(|r| r * scale),
                rotation: turned(*rotation),
            },
            Shape::EllipticalArc {
                center,
                radii,
                rotation,
                start,
                end,
            } => {
                let [start, end] = self.angles([*start, *end]);
                Shape::EllipticalArc {
                    center: put(center),
                    radii: radii.map(|r| r * scale),
                    rotation: turned(*rotation),
                    start,
                    end,
                }
            }
        }
    }
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

/// What is wrong with the answer to a sheet with a slip, and whether the slip was recognised.
fn judged(name: &str, sheet: &Sheet, view: View, slip: Slip) -> Result<bool, String> {
    let wrong = slipped(sheet, view, slip);
    let words = |what: String| Err(format!("{name} {view:?} {slip:?}: {what}"));
    match (reconstruct(&wrong, &Options::default()), slip) {
        // Out of line, or so far off that it stands where the other projection has it: either is said.
        (Err(error), Slip::Shifted)
            if ["line up", "stand as in"]
                .iter()
                .any(|words| error.to_string().contains(words)) =>
        {
            Ok(true)
        }
        (Err(error), _) => words(error.to_string()),
        (Ok(outcome), _) if outcome.verdict == Verdict::Contradictory => {
            let told = slips(&outcome.problems);
            match !told.is_empty() && told.iter().all(|r| r.message.contains("put right")) {
                true => Ok(true),
                false => words(format!("{:?}", outcome.problems)),
            }
        }
        // The other sheet was proven to be right too.
        (Ok(outcome), _) if !outcome.readings.is_empty() => Ok(false),
        (Ok(outcome), _) => words(format!("{:?}", outcome.verdict)),
    }
}

#[test]
fn every_slip_of_a_view_is_recognised_or_a_drawing_of_something_else() {
    let mut recognised = 0;
    for name in SHEETS {
        let sheet = said(name);
        for view in View::ALL {
            for slip in ALL {
                recognised += usize::from(judged(name, &sheet, view, slip).unwrap());
            }
        }
    }
    assert!(recognised > 80, "{recognised}");
}

/// Of each sample one slip of one view, by turns; with `FOLDBACK_SWEEP` all of each.
#[test]
fn slips_on_every_sample_are_recognised_or_drawings_of_something_else() {
    let all = std::env::var_os("FOLDBACK_SWEEP").is_some();
    let samples = right_sheets()
        .into_iter()
        .filter(|right| right.class == 'S');
    let (mut recognised, mut tried, mut wrong) = (0, 0, Vec::new());
    for (at, right) in samples.enumerate() {
        let each = View::ALL.into_iter().cartesian_product(ALL).enumerate();
        let picked = each.filter(|(n, _)| all || *n == 7 * at % 15);
        for (_, (view, slip)) in picked {
            tried += 1;
            match judged(&right.name, &right.sheet, view, slip) {
                Ok(told) => recognised += usize::from(told),
                Err(why) => wrong.push(why),
            }
        }
    }
    println!(
        "{recognised} of {tried} recognised, {} neither recognised nor right",
        wrong.len()
    );
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(2 * recognised > tried, "{recognised} of {tried}");
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
