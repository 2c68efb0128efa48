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
fn assert_found(name: &str, body: &Body, volume: f64) {
    let drafting = draft(body);
    assert!(!drafting.touches_itself);
    let sheet = drafting.sheet(Layout::default());
    if let Ok(dir) = std::env::var("DUMP") {
        std::fs::write(format!("{dir}/{name}.json"), sheet.to_json()).unwrap();
        std::fs::write(format!("{dir}/{name}.vol"), format!("{volume}")).unwrap();
    }
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
    assert_found("hole", &body, volume);
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
    assert_found("blind", &body, volume);
}

#[test]
fn inclined_boss_is_found() {
    let foot = [16.0, 14.0, 10.0];
    let ends = [ahead(foot, 55.0, -7.0), ahead(foot, 55.0, 22.0)];
    let boss = within_reach(bar(ends, [5.0; 2]));
    let body = block([0.0; 3], [40.0, 28.0, 10.0]).with([boss]);
    let volume = 40.0 * 28.0 * 10.0 + PI * 25.0 * 22.0;
    assert_found("boss", &body, volume);
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
    assert_found("elbow", &body, PI * 49.0 * 56.0);
}

#[test]
fn mitred_tube_is_found() {
    let body = elbow(7.0, 40.0, 30.0, 26.0).without([elbow(5.0, 40.0, 31.0, 27.0)]);
    assert_found("tube", &body, PI * (49.0 - 25.0) * 56.0);
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
    assert_found("shaft", &body, volume);
}
