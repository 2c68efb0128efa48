//! Holes, bosses and tubes whose axis is inclined: drawn by the tests' own drafter, their volumes by hand.
//!
//! A cylinder cut askew has the volume of its cross-section times the length of its axis between the cuts (Cavalieri's
//! principle: what a slanting cut adds on one side of the axis it takes away on the other).

use std::f64::consts::PI;

use foldback::Verdict;

use crate::cells::Point;
use crate::check::{agree, answer};
use crate::drafted_parts::is_reading_of;
use crate::drafter::{Body, bar, block, draft, half, rod};
use crate::layout::Layout;

/// The only reading of a part's drawing is the part, and has this volume in cubic millimetres.
fn assert_found(body: &Body, volume: f64) {
    let drafting = draft(body);
    assert!(!drafting.touches_itself);
    let sheet = drafting.sheet(Layout::default());
    assert!(
        agree(drafting.volume(), volume, 1e-6),
        "{}",
        drafting.volume()
    );
    let outcome = answer(&sheet).expect("an answer");
    assert_eq!(outcome.verdict, Verdict::Unique, "{:?}", outcome.problems);
    let reading = &outcome.readings[0];
    assert!(agree(reading.measures.volume_mm3, volume, 1e-6));
    assert!(is_reading_of(reading, &drafting));
}

/// A body within a box wide enough for all of them: the drafter asks for bounds along the axes.
fn within_reach(body: Body) -> Body {
    body.and(block([-90.0; 3], [90.0; 3]))
}

/// A point so far from another along a direction in the plane of x and z, in millimetres; 0 degrees is along x.
fn ahead(from: Point, degrees: f64, far: f64) -> Point {
    let [cos, sin] = crate::drafter::cos_sin(degrees.to_radians());
    [from[0] + far * cos, from[1], from[2] + far * sin]
}

/// The same in another plane: `way` 0 is the plane of x and z, 1 that of x and y, 2 that of y and z.
fn ahead_in(way: usize, from: Point, degrees: f64, far: f64) -> Point {
    let [u, v] = [[0, 2], [0, 1], [1, 2]][way];
    let [cos, sin] = crate::drafter::cos_sin(degrees.to_radians());
    let mut to = from;
    (to[u], to[v]) = (from[u] + far * cos, from[v] + far * sin);
    to
}

fn sine(degrees: f64) -> f64 {
    crate::drafter::cos_sin(degrees.to_radians())[1]
}

#[test]
fn inclined_hole_through_a_block_is_found() {
    let middle = [22.0, 10.0, 15.0];
    let drill = bar(
        [ahead(middle, 60.0, -40.0), ahead(middle, 60.0, 40.0)],
        [4.0; 2],
    );
    let body = block([0.0; 3], [44.0, 20.0, 30.0]).without([drill]);
    let volume = 44.0 * 20.0 * 30.0 - PI * 16.0 * 30.0 / sine(60.0);
    assert_found(&body, volume);
}

#[test]
fn inclined_blind_hole_is_found() {
    let mouth = [14.0, 10.0, 30.0];
    let drill = bar(
        [ahead(mouth, 125.0, 20.0), ahead(mouth, 125.0, -18.0)],
        [4.0; 2],
    );
    let body = block([0.0; 3], [44.0, 20.0, 30.0]).without([drill]);
    let volume = 44.0 * 20.0 * 30.0 - PI * 16.0 * 18.0;
    assert_found(&body, volume);
}

#[test]
fn inclined_boss_is_found() {
    let foot = [16.0, 14.0, 10.0];
    let ends = [ahead(foot, 55.0, -7.0), ahead(foot, 55.0, 22.0)];
    let boss = within_reach(bar(ends, [5.0; 2]));
    let body = block([0.0; 3], [40.0, 28.0, 10.0]).with([boss]);
    let volume = 40.0 * 28.0 * 10.0 + PI * 25.0 * 22.0;
    assert_found(&body, volume);
}

/// Two round bars cut off square that meet in a mitre at the origin, one down along z, the other upwards at an angle.
fn elbow(radius: f64, degrees: f64, down: f64, out: f64) -> Body {
    let upright = bar([[0.0, 0.0, -down], [0.0, 0.0, 40.0]], [radius; 2]);
    let inclined = bar(
        [
            ahead([0.0; 3], degrees, -40.0),
            ahead([0.0; 3], degrees, out),
        ],
        [radius; 2],
    );
    // The mitre halves the angle between the way up and the way out.
    let normal = {
        let out = ahead([0.0; 3], degrees, 1.0);
        [out[0], 0.0, out[2] + 1.0]
    };
    let back = normal.map(|c| -c);
    let upright = upright.and(half([0.0; 3], normal));
    let inclined = inclined.and(half([0.0; 3], back));
    within_reach(upright.with([inclined]))
}

#[test]
fn mitred_bars_are_found() {
    let body = elbow(7.0, 30.0, 30.0, 26.0);
    assert_found(&body, PI * 49.0 * 56.0);
}

#[test]
fn mitred_tube_is_found() {
    let body = elbow(7.0, 40.0, 30.0, 26.0).without([elbow(5.0, 40.0, 31.0, 27.0)]);
    assert_found(&body, PI * (49.0 - 25.0) * 56.0);
}

#[test]
fn inclined_hole_across_a_shaft_is_found() {
    let middle = [20.0, 0.0, 0.0];
    let drill = bar(
        [ahead(middle, 60.0, -40.0), ahead(middle, 60.0, 40.0)],
        [3.0; 2],
    );
    let body = rod(0, [0.0; 3], 10.0, [0.0, 44.0]).without([drill]);
    let volume = draft(&body).volume();
    assert_found(&body, volume);
}

/// Through holes, blind holes and bosses at many angles, their axes across each of the three views.
#[test]
fn inclined_features_are_found_whichever_view_shows_their_slope() {
    let size = [44.0, 36.0, 40.0];
    let mut lost = Vec::new();
    for way in 0..3 {
        for degrees in [22.0, 37.5, 45.0, 63.0, 81.0, 117.0] {
            let middle = size.map(|c| c / 2.0);
            let at = |far: f64| ahead_in(way, middle, degrees, far);
            let through = bar([at(-70.0), at(70.0)], [5.0; 2]);
            let blind = bar([at(-4.0), at(70.0)], [5.0; 2]);
            let boss = within_reach(bar([at(0.0), at(45.0)], [5.0; 2]));
            let block = || block([0.0; 3], size);
            let bodies = [
                ("through", block().without([through])),
                ("blind", block().without([blind])),
                ("boss", block().with([boss])),
            ];
            for (name, body) in bodies {
                let drafting = draft(&body);
                if drafting.touches_itself {
                    continue;
                }
                let outcome = answer(&drafting.sheet(Layout::default()));
                let found = outcome.as_ref().is_ok_and(|outcome| {
                    outcome.readings.iter().any(|r| is_reading_of(r, &drafting))
                });
                if !found {
                    let why = outcome.map(|o| o.problems.len());
                    lost.push(format!("{name}, plane {way}, {degrees} degrees: {why:?}"));
                }
            }
        }
    }
    assert!(lost.is_empty(), "{}", lost.join("\n"));
}
