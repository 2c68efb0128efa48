//! Sheets on which hidden lines are left out.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use foldback::{
    HiddenLines, Line, LineType, Options, Outcome, Shape, Sheet, Verdict, View, reconstruct,
};

use crate::check::{EVERY_READING, agree, sheet_in};

fn answer(sheet: &Sheet) -> Outcome {
    let options = Options {
        hidden_lines: HiddenLines::Optional,
        reading_limit: EVERY_READING,
        ..Options::default()
    };
    reconstruct(sheet, &options).unwrap()
}

const SHEETS: [&str; 6] = [
    "p02-rail-tee",
    "p03-sensor-tray",
    "p07-sealed-float-box",
    "q01-wedge-foot",
    "q14-vee-cradle",
    "c01-sensor-plate",
];

/// The volume of the one solid of a complete sheet.
fn volume(sheet: &Sheet) -> f64 {
    reconstruct(sheet, &Options::default()).unwrap().readings[0]
        .measures
        .volume_mm3
}

#[test]
fn the_solid_is_still_found_when_any_hidden_line_is_left_out() {
    for name in SHEETS {
        let sheet = sheet_in(&format!("reference/{name}.json"));
        let volume = volume(&sheet);
        let hidden: Vec<usize> = (0..sheet.lines.len())
            .filter(|&i| sheet.lines[i].line_type == LineType::Hidden)
            .collect();
        for &line in hidden.iter().step_by(3) {
            let mut less = sheet.clone();
            less.lines.remove(line);
            let outcome = answer(&less);
            let right = outcome
                .readings
                .iter()
                .any(|r| agree(r.measures.volume_mm3, volume, 1e-6));
            assert!(right || !outcome.complete(), "{name} without line {line}");
            assert_ne!(
                outcome.verdict,
                Verdict::Contradictory,
                "{name} without line {line}"
            );
        }
    }
}

#[test]
fn the_lines_left_out_are_listed() {
    let mut sheet = sheet_in("reference/q01-wedge-foot.json");
    let hidden = sheet
        .lines
        .iter()
        .filter(|l| l.line_type == LineType::Hidden)
        .count();
    assert!(hidden > 0);
    let complete = answer(&sheet);
    assert!(complete.readings.iter().any(|r| r.left_out.is_empty()));
    sheet
        .lines
        .retain(|line| line.line_type != LineType::Hidden);
    let outcome = answer(&sheet);
    assert_eq!(outcome.verdict, Verdict::Unique);
    // A line may be left out only if it is hidden.
    let left_out = &outcome.readings[0].left_out;
    assert!(!left_out.is_empty());
    assert!(left_out.iter().all(|s| s.line_type == LineType::Hidden));
    // Drawn in, they make the sheet complete.
    for stretch in left_out {
        sheet.lines.push(Line {
            view: Some(stretch.view),
            line_type: stretch.line_type,
            shape: stretch.shape.clone(),
        });
    }
    let complete = reconstruct(&sheet, &Options::default()).unwrap();
    assert_eq!(complete.verdict, Verdict::Unique);
    assert!(agree(
        complete.readings[0].measures.volume_mm3,
        outcome.readings[0].measures.volume_mm3,
        1e-9
    ));
}

#[test]
fn a_depth_that_no_line_shows_leaves_the_answer_open() {
    // The tray's floor is shown by hidden lines only.
    let mut sheet = sheet_in("reference/p03-sensor-tray.json");
    sheet
        .lines
        .retain(|line| line.line_type != LineType::Hidden);
    let outcome = answer(&sheet);
    assert_eq!(outcome.verdict, Verdict::Undecided);
    assert!(!outcome.complete());
}

/// A plain block shows no line across its front, and no depth that hidden lines may have left out makes one without a
/// visible line from above: by reasoning.
#[test]
fn a_line_that_fits_nothing_is_named_where_hidden_lines_may_be_left_out() {
    let mut sheet = Sheet::default();
    let mut draw = |view, [x, y]: [f64; 2], [w, h]: [f64; 2]| {
        let corners = vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h], [x, y]];
        sheet.lines.push(Line {
            view: Some(view),
            line_type: LineType::Visible,
            shape: Shape::Polyline(corners),
        });
    };
    draw(View::Front, [0.0, 0.0], [40.0, 30.0]);
    draw(View::Top, [0.0, 42.7], [40.0, 20.0]);
    draw(View::Right, [52.7, 0.0], [20.0, 30.0]);
    assert_eq!(answer(&sheet).verdict, Verdict::Unique);
    sheet.lines.push(Line {
        view: Some(View::Front),
        line_type: LineType::Visible,
        shape: Shape::Line {
            from: [10.0, 0.0],
            to: [10.0, 30.0],
        },
    });
    let outcome = answer(&sheet);
    // No depth is known to be missing, none known not to be.
    assert_eq!(outcome.verdict, Verdict::Undecided);
    let [named] = &outcome.conflict[..] else {
        panic!("{:?}", outcome.conflict);
    };
    assert_eq!((named.view, &named.lines[..]), (View::Front, &[3][..]));
    assert_eq!(outcome.problems.len(), 1);
    let message = &outcome.problems[0].message;
    assert!(message.contains("from (10, 0) to (10, 30) mm"), "{message}");
    assert_eq!(outcome.marks(&sheet).len(), 1);
}

#[test]
fn lines_left_out_are_never_named_as_wrong() {
    for name in ["p03-sensor-tray", "p08-window-channel", "c01-sensor-plate"] {
        let mut sheet = sheet_in(&format!("reference/{name}.json"));
        let count = sheet.lines.len();
        // What is visible is drawn hidden: no object has that, whatever is left out.
        let visible = |line: &Line| line.line_type == LineType::Visible;
        let at = sheet.lines.iter().position(visible).unwrap();
        sheet.lines[at].line_type = LineType::Hidden;
        let outcome = answer(&sheet);
        assert!(outcome.readings.is_empty(), "{name}");
        assert!(!outcome.problems.is_empty(), "{name}");
        let named = outcome.problems.iter().flat_map(|p| &p.lines);
        assert!(
            named
                .chain(outcome.conflict.iter().flat_map(|s| &s.lines))
                .all(|l| *l < count)
        );
    }
}
