//! Random solids with round faces, drawn by the tests' own drafter: the solid is among the engine's readings.

use crate::check::answer;
use crate::drafted_parts::is_reading_of;
use crate::layout::Layout;
use crate::round_solids::{Kind, drafted};
use foldback::{LineType, Shape, Verdict};
use std::collections::BTreeMap;

/// How many solids of planes and cylinders are tried.
const CYLINDERS: u64 = 60;
/// How many solids with cones, spheres and rings are tried.
const CONES: u64 = 30;
/// One more of them: a rod with a round groove, cut flat along its axis through the groove.
const FLAT_ON_GROOVE: u64 = 103;

#[test]
fn random_solid_of_planes_and_cylinders_is_among_the_readings_of_its_drawing() {
    let lost = lost(Kind::Cylinders, 0..CYLINDERS);
    println!("{} of {CYLINDERS} lost", lost.len());
    assert!(lost.is_empty(), "{}", lost.join("\n"));
}

#[test]
fn random_solid_with_cones_and_spheres_is_among_the_readings_of_its_drawing() {
    let numbers = (0..CONES).chain([FLAT_ON_GROOVE]);
    let lost = lost(Kind::Cones, numbers);
    println!("{} of {} lost", lost.len(), CONES + 1);
    assert!(lost.is_empty(), "{}", lost.join("\n"));
}

/// Which solids of a kind are not found, and why.
fn lost(kind: Kind, numbers: impl IntoIterator<Item = u64>) -> Vec<String> {
    numbers
        .into_iter()
        .filter_map(|number| why_lost(kind, number).map(|why| format!("{kind:?} {number}: {why}")))
        .collect()
}

/// What is wrong with the answer to the drawing of a random solid.
fn why_lost(kind: Kind, number: u64) -> Option<String> {
    let drafting = drafted(kind, number);
    let known = drafting.volume();
    let outcome = match answer(&drafting.sheet(Layout::default())) {
        Ok(outcome) => outcome,
        Err(why) => return Some(why),
    };
    let volumes: Vec<f64> = outcome
        .readings
        .iter()
        .map(|r| r.measures.volume_mm3)
        .collect();
    let found = outcome
        .readings
        .iter()
        .any(|reading| is_reading_of(reading, &drafting));
    let verdict = matches!(outcome.verdict, Verdict::Unique | Verdict::Ambiguous);
    (!found || !verdict).then(|| {
        format!(
            "{}, volumes {volumes:.3?} without {known:.3}, {:?}",
            outcome.verdict.name(),
            outcome.problems
        )
    })
}

#[test]
fn random_round_solids_vary_enough() {
    let mut shapes = BTreeMap::new();
    let mut hidden = 0;
    let mut straight_only = 0;
    for (kind, count) in [(Kind::Cylinders, CYLINDERS), (Kind::Cones, CONES)] {
        for number in 0..count {
            let drafting = drafted(kind, number);
            let strokes = drafting.strokes.iter().flatten();
            let mut round = 0;
            for (line_type, shape) in strokes {
                let word = match shape {
                    Shape::Line { .. } => "line",
                    Shape::Circle { .. } => "circle",
                    Shape::Arc { .. } => "arc",
                    Shape::Curve(_) => "curve",
                    _ => "other",
                };
                *shapes.entry(word).or_insert(0) += 1;
                round += usize::from(word != "line");
                hidden += usize::from(word != "line" && *line_type == LineType::Hidden);
            }
            straight_only += usize::from(round == 0);
        }
    }
    println!("{shapes:?}, {hidden} round ones hidden, {straight_only} solids without any");
    let enough = [("line", 1000), ("circle", 150), ("arc", 90), ("curve", 25)];
    for (word, least) in enough {
        assert!(shapes.get(word).is_some_and(|n| *n >= least), "{shapes:?}");
    }
    assert!(hidden >= 50 && straight_only <= 5);
}
