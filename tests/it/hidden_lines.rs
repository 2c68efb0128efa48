//! Sheets on which hidden lines are left out.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use foldback::{HiddenLines, LineType, Options, Outcome, Sheet, Verdict, reconstruct};

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
        sheet.lines.push(foldback::Line {
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
