//! Sheets that draw tangent edges, leave them out, or draw some: what each choice makes of them.

use std::f64::consts::PI;

use foldback::{LineType, Outcome, Shape, Sheet, TangentEdges, Verdict};

use crate::cells::Point;
use crate::check::{agree, answer_with};
use crate::drafted_parts::{corner, is_reading_of, part};
use crate::drafter::{Body, Stroke, ball, block, draft, draft_with_tangent_edges, set_out};
use crate::layout::Layout;

use TangentEdges::{Drawn, Either, Omitted};

/// A drawing by hand: the lines of the front, top and right-side view without tangent edges, and those of the tangent edges.
struct ByHand {
    size: Point,
    plain: [Vec<Stroke>; 3],
    tangent: Vec<(usize, Stroke)>,
    /// In cubic millimetres.
    volume: f64,
}

fn visible(from: [f64; 2], to: [f64; 2]) -> Stroke {
    (LineType::Visible, Shape::Line { from, to })
}

fn hidden(from: [f64; 2], to: [f64; 2]) -> Stroke {
    (LineType::Hidden, Shape::Line { from, to })
}

fn arc(center: [f64; 2], radius: f64, start: f64, end: f64) -> Stroke {
    let shape = Shape::Arc {
        center,
        radius,
        start,
        end,
    };
    (LineType::Visible, shape)
}

fn frame([w, h]: [f64; 2]) -> Vec<Stroke> {
    let corners = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]];
    (0..4)
        .map(|k| visible(corners[k], corners[(k + 1) % 4]))
        .collect()
}

/// A block of 40 by 20 by 30 mm, its upper right edge rounded with 10 mm.
fn rounded_block() -> ByHand {
    let front = vec![
        visible([0.0, 0.0], [40.0, 0.0]),
        visible([40.0, 0.0], [40.0, 20.0]),
        arc([30.0, 20.0], 10.0, 0.0, 90.0),
        visible([30.0, 30.0], [0.0, 30.0]),
        visible([0.0, 30.0], [0.0, 0.0]),
    ];
    ByHand {
        size: [40.0, 20.0, 30.0],
        plain: [front, frame([40.0, 20.0]), frame([20.0, 30.0])],
        tangent: vec![
            (1, visible([30.0, 0.0], [30.0, 20.0])),
            (2, visible([0.0, 20.0], [20.0, 20.0])),
        ],
        // Rounding takes a square less a quarter of a circle.
        volume: 20.0 * (40.0 * 30.0 - (100.0 - PI * 100.0 / 4.0)),
    }
}

/// A plate of 60 by 30 by 8 mm with a slot of 12 mm through it, 32 mm long over its round ends.
fn slotted_plate() -> ByHand {
    let upright = |x: f64| hidden([x, 0.0], [x, 8.0]);
    let mut top = frame([60.0, 30.0]);
    top.extend([
        visible([20.0, 9.0], [40.0, 9.0]),
        arc([40.0, 15.0], 6.0, 270.0, 450.0),
        visible([40.0, 21.0], [20.0, 21.0]),
        arc([20.0, 15.0], 6.0, 90.0, 270.0),
    ]);
    let mut front = frame([60.0, 8.0]);
    front.extend([14.0, 46.0].map(upright));
    let mut right = frame([30.0, 8.0]);
    right.extend([9.0, 21.0].map(upright));
    ByHand {
        size: [60.0, 30.0, 8.0],
        plain: [front, top, right],
        tangent: [20.0, 40.0].map(|x| (0, upright(x))).to_vec(),
        volume: 8.0 * (60.0 * 30.0 - (20.0 * 12.0 + PI * 36.0)),
    }
}

impl ByHand {
    /// The sheet with those tangent edges that `keep` wants, by their place.
    fn sheet(&self, keep: impl Fn(usize) -> bool) -> Sheet {
        let mut strokes = self.plain.clone();
        for (place, (view, stroke)) in self.tangent.iter().enumerate() {
            if keep(place) {
                strokes[*view].push(stroke.clone());
            }
        }
        set_out(&strokes, self.size, Layout::default())
    }

    fn assert_unique(&self, sheet: &Sheet, tangent_edges: TangentEdges) {
        let outcome = answered(sheet, tangent_edges);
        assert_eq!(
            outcome.verdict,
            Verdict::Unique,
            "{tangent_edges:?}: {:?}",
            outcome.problems
        );
        let volume = outcome.readings[0].measures.volume_mm3;
        assert!(agree(volume, self.volume, 1e-9), "{volume}");
    }
}

fn answered(sheet: &Sheet, tangent_edges: TangentEdges) -> Outcome {
    answer_with(sheet, tangent_edges).unwrap_or_else(|why| panic!("{tangent_edges:?}: {why}"))
}

fn assert_none(sheet: &Sheet, tangent_edges: TangentEdges) {
    let outcome = answered(sheet, tangent_edges);
    assert_eq!(outcome.verdict, Verdict::Contradictory, "{tangent_edges:?}");
    assert!(!outcome.problems.is_empty());
}

#[test]
fn sheet_without_tangent_edges_fits_unless_they_must_be_drawn() {
    for drawing in [rounded_block(), slotted_plate()] {
        let sheet = drawing.sheet(|_| false);
        drawing.assert_unique(&sheet, Omitted);
        drawing.assert_unique(&sheet, Either);
        assert_none(&sheet, Drawn);
    }
}

#[test]
fn sheet_with_all_tangent_edges_fits_unless_they_must_be_left_out() {
    for drawing in [rounded_block(), slotted_plate()] {
        let sheet = drawing.sheet(|_| true);
        drawing.assert_unique(&sheet, Drawn);
        drawing.assert_unique(&sheet, Either);
        assert_none(&sheet, Omitted);
    }
}

#[test]
fn sheet_with_some_tangent_edges_fits_only_if_each_may_be_drawn_or_not() {
    for drawing in [rounded_block(), slotted_plate()] {
        for kept in 0..drawing.tangent.len() {
            let sheet = drawing.sheet(|place| place == kept);
            drawing.assert_unique(&sheet, Either);
            assert_none(&sheet, Omitted);
            assert_none(&sheet, Drawn);
        }
    }
}

#[test]
fn tangent_edge_of_the_wrong_line_type_never_fits() {
    let mut drawing = rounded_block();
    drawing.tangent[0].1.0 = LineType::Hidden;
    let sheet = drawing.sheet(|_| true);
    for tangent_edges in [Omitted, Drawn, Either] {
        assert_none(&sheet, tangent_edges);
    }
}

/// A block with three rounded edges that meet in the corner of a ball.
fn ball_corner() -> Body {
    let ball_cut =
        block([25.0, 0.0, 15.0], [30.0, 5.0, 20.0]).without([ball([25.0, 5.0, 15.0], 5.0)]);
    block([0.0; 3], [30.0, 24.0, 20.0]).without([
        corner('x', [0.0, 20.0], [5.0, 15.0], [-1.0, 25.0]),
        corner('y', [30.0, 20.0], [25.0, 15.0], [5.0, 25.0]),
        corner('z', [30.0, 0.0], [25.0, 5.0], [-1.0, 15.0]),
        ball_cut,
    ])
}

/// Parts with tangent edges between planes, cylinders and rings.
const PARTS: [&str; 5] = [
    "c04-boss-tab",
    "c05-slotted-foot",
    "c08-aitch-section",
    "c10-link-rod",
    "k11-filleted-boss-plate",
];

#[test]
fn part_is_among_the_readings_whether_its_tangent_edges_are_drawn_or_not() {
    let mut lost = Vec::new();
    let named = PARTS.map(|name| (name, part(name)));
    for (name, body) in named.into_iter().chain([("ball corner", ball_corner())]) {
        let (plain, full) = (draft(&body), draft_with_tangent_edges(&body));
        let count = |strokes: &[Vec<Stroke>; 3]| strokes.iter().map(Vec::len).sum::<usize>();
        assert!(count(&full.strokes) > count(&plain.strokes), "{name}");
        for (drafting, how) in [(&full, Drawn), (&full, Either), (&plain, Either)] {
            let outcome = match answer_with(&drafting.sheet(Layout::default()), how) {
                Ok(outcome) => outcome,
                Err(why) => {
                    lost.push(format!("{name} {how:?}: {why}"));
                    continue;
                }
            };
            let found = outcome.readings.iter();
            if !found.into_iter().any(|r| is_reading_of(r, drafting)) {
                let readings = outcome.readings.len();
                lost.push(format!(
                    "{name} {how:?}: not among {readings} readings, {:?}",
                    outcome.problems
                ));
            }
        }
        let other_way = answered(&full.sheet(Layout::default()), Omitted);
        if other_way.readings.iter().any(|r| is_reading_of(r, &full)) {
            lost.push(format!("{name}: found with tangent edges left out"));
        }
    }
    assert!(lost.is_empty(), "{}", lost.join("\n"));
}

#[cfg(feature = "cli")]
#[test]
fn command_takes_the_choice_and_refuses_others() {
    let drawing = rounded_block();
    let desk = crate::desk::Desk::new();
    desk.put("case.json", drawing.sheet(|_| true).to_json());
    let status = |choice: &[&str]| desk.run(&[&["check", "case.json"], choice].concat()).status;
    // 0 one object, 4 none, 2 wrong usage.
    assert_eq!(status(&[]), 4);
    assert_eq!(status(&["--tangent-edges", "omitted"]), 4);
    assert_eq!(status(&["--tangent-edges", "drawn"]), 0);
    assert_eq!(status(&["--tangent-edges", "either"]), 0);
    assert_eq!(status(&["--tangent-edges", "smooth"]), 2);
    assert_eq!(status(&["--tangent-edges"]), 2);
    let written = ["case.json", "--tangent-edges", "drawn", "-o"];
    for (command, file) in [("solid", "case.stl"), ("picture", "case.svg")] {
        let run = desk.run(&[&[command][..], &written, &[file]].concat());
        assert_eq!(run.status, 0, "{}", run.err);
        assert!(!desk.get(file).is_empty());
    }
}
