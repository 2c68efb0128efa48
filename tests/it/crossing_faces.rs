//! Sheets on which two faces cross and no line shows where: a solid with both is none, and the search goes on to those without
//! one of them.

use std::f64::consts::PI;

use foldback::{LineType, RemarkKind, Shape, Sheet, Verdict};
use itertools::Itertools;

use crate::cells::{Point, unit};
use crate::check::{agree, answer};
use crate::drafter::{Stroke, set_out};
use crate::layout::Layout;

/// Width, depth and height of the cube.
const SIDE: f64 = 60.0;

/// How much of its width, depth and height the corner that is cut off takes.
const CUT: Point = [10.0, 50.0, 50.0];

/// The radius of the hollows.
const RADIUS: f64 = 6.0;

fn visible(from: [f64; 2], to: [f64; 2]) -> Stroke {
    (LineType::Visible, Shape::Line { from, to })
}

/// A point so far behind the middle of the slanting face, into the cube.
fn behind_the_cut(far: f64) -> Point {
    let [x, y, z] = CUT;
    let middle = [SIDE - x / 3.0, y / 3.0, SIDE - z / 3.0];
    let out = unit([1.0 / x, -1.0 / y, 1.0 / z]);
    [0, 1, 2].map(|k| middle[k] - far * out[k])
}

/// A cube whose corner at the right, in front, at the top is cut off askew, each view with hidden circles for ball-shaped hollows
/// at every pair of these places of its two axes.
fn hollows(places: [&[f64]; 3]) -> Sheet {
    let [x, y, z] = CUT;
    let cuts = [
        visible([SIDE - x, SIDE], [SIDE, SIDE - z]),
        visible([SIDE - x, 0.0], [SIDE, y]),
        visible([y, SIDE], [0.0, SIDE - z]),
    ];
    let corners = [[0.0; 2], [SIDE, 0.0], [SIDE; 2], [0.0, SIDE], [0.0; 2]];
    let outline = corners.windows(2).map(|w| visible(w[0], w[1]));
    let mut views = cuts.map(|cut| outline.clone().chain([cut]).collect_vec());
    for (view, [right, up]) in views.iter_mut().zip([[0, 2], [0, 1], [1, 2]]) {
        let centers = places[right].iter().cartesian_product(places[up]);
        view.extend(centers.map(|(u, v)| {
            let (center, radius) = ([*u, *v], RADIUS);
            (LineType::Hidden, Shape::Circle { center, radius })
        }));
    }
    set_out(&views, [SIDE; 3], Layout::default())
}

#[test]
fn hollow_that_breaks_through_a_face_without_a_line_is_no_object() {
    let sheet = |far: f64| hollows(behind_the_cut(far).each_ref().map(std::slice::from_ref));
    let inside = answer(&sheet(RADIUS + 0.3)).expect("an answer");
    assert_eq!(inside.verdict, Verdict::Unique, "{:?}", inside.problems);
    let outcome = answer(&sheet(RADIUS - 0.5)).expect("an answer");
    assert_eq!(outcome.verdict, Verdict::Contradictory);
    assert!(outcome.complete());
    let problems = &outcome.problems;
    let told = problems.iter().find(|p| p.kind == RemarkKind::AlmostSolid);
    assert!(
        told.is_some_and(|p| p.message.contains("pass through each other")),
        "{problems:?}"
    );
}

#[test]
fn search_goes_on_past_solids_whose_faces_cross() {
    let [x, y, z] = behind_the_cut(RADIUS - 0.5);
    // The first corner of the eight is the one whose hollow would break through.
    let outcome = answer(&hollows([&[x, 15.0], &[y, 45.0], &[z, 15.0]])).expect("an answer");
    assert_eq!(outcome.verdict, Verdict::Ambiguous);
    assert!(outcome.complete());
    // Every view shows all its circles if of any two corners that an edge joins one has a hollow.
    let joined = |a: usize, b: usize| (a ^ b).is_power_of_two();
    let shows_all = |set: &u32| {
        let has = |k: usize| set >> k & 1 == 1;
        (0..8).all(|a| (0..8).all(|b| !joined(a, b) || has(a) || has(b)))
    };
    let sets = (0..256).filter(shows_all).collect_vec();
    let without_first = sets.iter().filter(|set| *set & 1 == 0).collect_vec();
    assert_eq!([sets.len(), without_first.len()], [35, 9]);
    let cube = SIDE.powi(3) - CUT.iter().product::<f64>() / 6.0;
    let volume = |set: &&u32| cube - f64::from(set.count_ones()) * 4.0 / 3.0 * PI * RADIUS.powi(3);
    let known = without_first.iter().map(volume).sorted_by(f64::total_cmp);
    let readings = outcome.readings.iter().map(|r| r.measures.volume_mm3);
    let found = readings.sorted_by(f64::total_cmp).collect_vec();
    assert_eq!(found.len(), known.len());
    assert!(
        known.zip(&found).all(|(a, b)| agree(a, *b, 1e-9)),
        "{found:?}"
    );
}
