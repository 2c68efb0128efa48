//! Holes, bosses, tubes, countersinks and spouts whose axis is inclined: drawn by the tests' own drafter, their volumes by
//! hand.
//!
//! A cylinder cut askew has the volume of its cross-section times the length of its axis between the cuts (Cavalieri's
//! principle: what a slanting cut adds on one side of the axis it takes away on the other).

use std::f64::consts::PI;

use foldback::{Reading, Verdict};

use crate::cells::Point;
use crate::check::{agree, answer};
use crate::drafted_parts::{is_reading_of, is_reading_within};
use crate::drafter::{Body, ball, bar, block, draft, half, rod};
use crate::layout::Layout;
use crate::random::Random;

/// The only reading of a part's drawing is the part, and has this volume in cubic millimetres.
pub(crate) fn assert_found(body: &Body, volume: f64) {
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
pub(crate) fn within_reach(body: Body) -> Body {
    body.and(block([-90.0; 3], [90.0; 3]))
}

/// A point so far from another along a direction in the plane of x and z, in millimetres; 0 degrees is along x.
fn ahead(from: Point, degrees: f64, far: f64) -> Point {
    let [cos, sin] = crate::drafter::cos_sin(degrees.to_radians());
    [from[0] + far * cos, from[1], from[2] + far * sin]
}

/// The same in another plane: `way` 0 is the plane of x and z, 1 that of x and y, 2 that of y and z.
pub(crate) fn ahead_in(way: usize, from: Point, degrees: f64, far: f64) -> Point {
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

#[test]
fn inclined_hole_that_ends_in_half_a_ball_is_found() {
    // As a ball-nosed cutter leaves it. Where the hole runs into the ball no view has a line.
    let mouth = [14.0, 10.0, 30.0];
    let end = ahead(mouth, 125.0, -16.0);
    let drill = bar([ahead(mouth, 125.0, 20.0), end], [4.0; 2]);
    let body = block([0.0; 3], [44.0, 20.0, 30.0]).without([drill, ball(end, 4.0)]);
    let volume = 44.0 * 20.0 * 30.0 - PI * 16.0 * 16.0 - 2.0 / 3.0 * PI * 64.0;
    assert_found(&body, volume);
}

#[test]
fn inclined_boss_with_a_round_end_is_found() {
    let foot = [16.0, 14.0, 10.0];
    let end = ahead(foot, 55.0, 20.0);
    let boss = within_reach(bar([ahead(foot, 55.0, -7.0), end], [5.0; 2]));
    let body = block([0.0; 3], [40.0, 28.0, 10.0]).with([boss, ball(end, 5.0)]);
    let volume = 40.0 * 28.0 * 10.0 + PI * 25.0 * 20.0 + 2.0 / 3.0 * PI * 125.0;
    assert_found(&body, volume);
}

#[test]
fn half_round_groove_down_a_slope_is_found() {
    // The slope falls from (8, 30) to (40, 6): 24 on 32 on 40 mm. Fibres of the groove a depth t below the slope are longer
    // than its axis by t times tangent and cotangent of the slope; the centroid of half a disc lies 4 r / (3 pi) deep.
    let [top, side] = [[8.0, 12.0, 30.0], [40.0, 12.0, 6.0]];
    let way = |far: f64| [0, 1, 2].map(|k| top[k] + (side[k] - top[k]) / 40.0 * far);
    let groove = bar([way(-40.0), way(80.0)], [4.0; 2]);
    let body = block([0.0; 3], [40.0, 24.0, 30.0])
        .and(half(top, [24.0, 0.0, 32.0]))
        .without([groove]);
    let cut = PI * 16.0 / 2.0 * (40.0 + 16.0 / (3.0 * PI) * (3.0 / 4.0 + 4.0 / 3.0));
    assert_found(&body, 24.0 * (40.0 * 30.0 - 32.0 * 24.0 / 2.0) - cut);
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

/// Grooves down a slope, holes right through, blind ones with flat and round ends, and bosses at many angles, their axes across
/// each of the three views.
#[test]
fn inclined_features_are_found_whichever_view_shows_their_slope() {
    let mut lost = Vec::new();
    for way in 0..3 {
        for degrees in [22.0, 37.5, 45.0, 63.0, 81.0, 117.0] {
            let at = |far: f64| ahead_in(way, MIDDLE, degrees, far);
            let through = bar([at(-70.0), at(70.0)], [5.0; 2]);
            let blind = bar([at(-4.0), at(70.0)], [5.0; 2]);
            let boss = within_reach(bar([at(0.0), at(45.0)], [5.0; 2]));
            // Across the axis, in the plane that sees its slope.
            let upright = ahead_in(way, [0.0; 3], degrees + 90.0, 1.0);
            let slope = cuboid().and(half(MIDDLE, upright));
            let bodies = [
                ("groove", slope.without([through.clone()])),
                ("through", cuboid().without([through])),
                (
                    "round",
                    cuboid().without([blind.clone(), ball(at(-4.0), 5.0)]),
                ),
                ("blind", cuboid().without([blind])),
                ("boss", cuboid().with([boss])),
            ];
            for (name, body) in bodies {
                let name = format!("{name}, plane {way}, {degrees} degrees");
                lost.extend(is_lost(&body).map(|why| format!("{name}: {why}")));
            }
        }
    }
    assert!(lost.is_empty(), "{}", lost.join("\n"));
}

/// Half the size of [`cuboid`].
const MIDDLE: Point = [22.0, 18.0, 20.0];

fn cuboid() -> Body {
    block([0.0; 3], MIDDLE.map(|c| 2.0 * c))
}

/// Why a body is not among the readings of its drawing; none if it is, or touches itself and is no body.
fn is_lost(body: &Body) -> Option<String> {
    is_lost_within(body, 1e-6)
}

/// The same, the volume off by as much as this share of it.
pub(crate) fn is_lost_within(body: &Body, share: f64) -> Option<String> {
    let drafting = draft(body);
    if drafting.touches_itself {
        return None;
    }
    let outcome = answer(&drafting.sheet(Layout::default()));
    let is_it = |reading: &Reading| is_reading_within(reading, &drafting, share);
    let found = outcome.as_ref().is_ok_and(|o| o.readings.iter().any(is_it));
    (!found).then(|| format!("{:?}", outcome.map(|o| o.problems)))
}

/// Tapered holes and spouts of random size and angle.
#[test]
fn inclined_cones_are_found_whichever_view_shows_their_slope() {
    let mut random = Random::new(59);
    let mut lost = Vec::new();
    for way in 0..3 {
        for _ in 0..4 {
            let degrees = random.between(15.0, 165.0);
            let at = |far: f64| ahead_in(way, MIDDLE, degrees, far);
            let (narrow, slope) = (random.between(2.0, 4.0), random.between(0.1, 0.3));
            let hole = bar([at(-6.0), at(60.0)], [narrow, narrow + 66.0 * slope]);
            let spout = bar([at(0.0), at(44.0)], [narrow + 44.0 * slope * 0.5, narrow]);
            let bodies = [
                ("hole", cuboid().without([hole])),
                ("spout", cuboid().with([within_reach(spout)])),
            ];
            for (name, body) in bodies {
                let name = format!("{name}, plane {way}, {degrees} degrees, {narrow}, {slope}");
                lost.extend(is_lost(&body).map(|why| format!("{name}: {why}")));
            }
        }
    }
    assert!(lost.is_empty(), "{}", lost.join("\n"));
}

/// The volume between the apex of a cone and a plane across the plane of its axis, by the formula for any cone: a third of
/// the base, here an ellipse, times the height. `from` is the apex, the axis goes at `degrees`, the half angle at the apex
/// has the tangent `slope`, the plane is `x = level` or `z = level`.
fn tip(from: Point, degrees: f64, slope: f64, (axis, level): (usize, f64)) -> f64 {
    let [cos, sin] = crate::drafter::cos_sin(degrees.to_radians());
    let (along, across) = ([cos, sin], [-sin, cos]);
    let k = usize::from(axis == 2);
    let height = level - [from[0], from[2]][k];
    // Where the two contours meet the plane, from the apex.
    let [p, q] = [1.0, -1.0].map(|side| {
        let way = [0, 1].map(|i| along[i] + side * slope * across[i]);
        way.map(|c| c * height / way[k])
    });
    let middle = [0, 1].map(|i| f64::midpoint(p[i], q[i]));
    let dot = |a: [f64; 2], b: [f64; 2]| a[0] * b[0] + a[1] * b[1];
    let (radius, off) = (slope * dot(middle, along), dot(middle, across));
    let long = (p[1 - k] - q[1 - k]).abs() / 2.0;
    PI * long * (radius * radius - off * off).sqrt() * height.abs() / 3.0
}

#[test]
fn inclined_countersink_is_found() {
    // Widening from 3 mm at its flat bottom by 0.4 mm per millimetre, leaving through the top.
    let (bottom, degrees, slope) = ([18.0, 14.0, 16.0], 65.0, 0.4);
    let top = ahead(bottom, degrees, 30.0);
    let body = block([0.0; 3], [48.0, 28.0, 30.0]).without([bar([bottom, top], [3.0, 15.0])]);
    let apex = ahead(bottom, degrees, -3.0 / slope);
    let hole = tip(apex, degrees, slope, (2, 30.0)) - PI * 9.0 * (3.0 / slope) / 3.0;
    assert_found(&body, 48.0 * 28.0 * 30.0 - hole);
}

#[test]
fn inclined_tapered_spout_is_found() {
    // From 8 mm where its axis enters the top down to 4 mm at its square end.
    let (foot, degrees, slope) = ([17.0, 14.0, 20.0], 55.0, 0.2);
    let ends = [ahead(foot, degrees, -10.0), ahead(foot, degrees, 20.0)];
    let spout = within_reach(bar(ends, [10.0, 4.0]));
    let body = block([0.0; 3], [44.0, 28.0, 20.0]).with([spout]);
    let apex = ahead(foot, degrees, 8.0 / slope);
    let above = tip(apex, degrees, slope, (2, 20.0)) - PI * 16.0 * (4.0 / slope) / 3.0;
    assert_found(&body, 44.0 * 28.0 * 20.0 + above);
}

#[test]
fn inclined_blind_hole_with_a_drill_point_is_found() {
    // A drill's point has 118 degrees (common practice): its half angle has the tangent 1.664.
    let mouth = [14.0, 12.0, 34.0];
    let at = |far: f64| ahead(mouth, 112.0, far);
    let slope = sine(59.0) / sine(31.0);
    let point = bar([at(-20.0), at(-20.0 - 4.0 / slope)], [4.0, 0.0]);
    let drill = bar([at(20.0), at(-20.0)], [4.0; 2]);
    let body = block([0.0; 3], [48.0, 24.0, 34.0]).without([drill, point]);
    let volume = 48.0 * 24.0 * 34.0 - PI * 16.0 * (20.0 + 4.0 / slope / 3.0);
    assert_found(&body, volume);
}

/// A hole through a block with a conical sink that begins 9 mm before its inclined axis leaves the block.
fn sunk_hole(way: usize, degrees: f64, slope: f64) -> Body {
    let at = |far: f64| ahead_in(way, MIDDLE, degrees, far);
    let far = at(1.0);
    let out = (0..3).map(|k| MIDDLE[k] / (far[k] - MIDDLE[k]).abs());
    let from = out.fold(f64::INFINITY, f64::min) - 9.0;
    let hole = bar([at(-70.0), at(from)], [4.0; 2]);
    let sink = bar([at(from), at(70.0)], [4.0, 4.0 + (70.0 - from) * slope]);
    cuboid().without([hole, sink])
}

#[test]
fn countersink_with_contours_along_the_sheet_is_found() {
    let mut lost = Vec::new();
    for way in 0..3 {
        // 90 degrees at 45 degrees: one contour level, the other plumb; 60 degrees at 30 or 60 degrees: one of them.
        for (degrees, half) in [
            (45.0, 45.0),
            (135.0, 45.0),
            (30.0, 30.0),
            (60.0, 30.0),
            (120.0, 30.0),
        ] {
            let slope = sine(half) / sine(90.0 - half);
            let body = sunk_hole(way, degrees, slope);
            let name = format!("plane {way}, {degrees} degrees, half angle {half}");
            lost.extend(is_lost(&body).map(|why| format!("{name}: {why}")));
        }
    }
    assert!(lost.is_empty(), "{}", lost.join("\n"));
}
