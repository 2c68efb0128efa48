//! The features of turned and milled parts, each with a test of its name: drawn by the tests' own drafter, the volume from
//! the dimensions by the formulas of elementary solids. The drawing has the part as its only reading.

use std::f64::consts::PI;

use foldback::{Shape, Verdict};

use crate::cells::Point;
use crate::check::{agree, answer};
use crate::drafted_parts::{cone, corner, round, slot};
use crate::drafter::{Body, ball, block, draft, ring, rod};
use crate::inclined::assert_found;
use crate::layout::Layout;

const PLATE: f64 = 30.0 * 20.0 * 10.0;

fn plate() -> Body {
    block([0.0; 3], [30.0, 20.0, 10.0])
}

/// Where the features of the plate are.
const AT: [f64; 2] = [12.0, 9.0];

fn disc(radius: f64) -> f64 {
    PI * radius * radius
}

/// A frustum of a cone.
fn tapered(low: f64, high: f64, height: f64) -> f64 {
    PI * height / 3.0 * (low * low + low * high + high * high)
}

/// What a fillet leaves between a square of its radius and the quarter disc.
fn spandrel(radius: f64) -> f64 {
    (1.0 - PI / 4.0) * radius * radius
}

/// The part of a disc beyond a chord at a distance from its centre.
fn segment(radius: f64, distance: f64) -> f64 {
    radius * radius * (distance / radius).acos()
        - distance * (radius * radius - distance * distance).sqrt()
}

/// The area below the circle of a radius about the origin, from `-half` to `half`.
fn below_arc(radius: f64, half: f64) -> f64 {
    half * (radius * radius - half * half).sqrt() + radius * radius * (half / radius).asin()
}

/// Everything within a radius of the cuboid between two corners; faces of it may be far away.
fn swollen(low: Point, high: Point, radius: f64) -> Body {
    let mut parts = Vec::new();
    for k in 0..3 {
        let (mut from, mut to) = (low, high);
        (from[k], to[k]) = (low[k] - radius, high[k] + radius);
        parts.push(block(from, to));
        let [u, v] = [(k + 1) % 3, (k + 2) % 3];
        for corner in 0..4 {
            let mut at = [0.0; 3];
            at[u] = [low, high][corner & 1][u];
            at[v] = [low, high][corner >> 1][v];
            parts.push(rod(k, at, radius, [low[k], high[k]]));
        }
    }
    for corner in 0..8 {
        let at = [0, 1, 2].map(|k| [low, high][corner >> k & 1][k]);
        parts.push(ball(at, radius));
    }
    Body::Union(parts)
}

#[test]
fn through_hole() {
    let body = plate().without([round('z', AT, 4.0, [-1.0, 11.0])]);
    assert_found(&body, PLATE - disc(4.0) * 10.0);
}

#[test]
fn blind_hole() {
    let body = plate().without([round('z', AT, 4.0, [4.0, 11.0])]);
    assert_found(&body, PLATE - disc(4.0) * 6.0);
}

#[test]
fn blind_hole_with_a_drill_point() {
    let point = cone('z', AT, [0.0, 4.0], [2.5, 5.0]);
    let body = plate().without([round('z', AT, 4.0, [5.0, 11.0]), point]);
    assert_found(&body, PLATE - disc(4.0) * (5.0 + 2.5 / 3.0));
}

#[test]
fn counterbore() {
    let sink = round('z', AT, 5.5, [6.0, 11.0]);
    let body = plate().without([round('z', AT, 3.0, [-1.0, 11.0]), sink]);
    assert_found(&body, PLATE - disc(3.0) * 6.0 - disc(5.5) * 4.0);
}

#[test]
fn countersink() {
    let sink = cone('z', AT, [3.0, 7.0], [7.0, 11.0]);
    let body = plate().without([round('z', AT, 3.0, [-1.0, 11.0]), sink]);
    assert_found(&body, PLATE - disc(3.0) * 7.0 - tapered(3.0, 6.0, 3.0));
}

#[test]
fn boss() {
    let body = plate().with([round('z', AT, 6.0, [10.0, 22.0])]);
    assert_found(&body, PLATE + disc(6.0) * 12.0);
}

#[test]
fn tapered_boss() {
    let body = plate().with([cone('z', AT, [7.0, 5.0], [10.0, 24.0])]);
    assert_found(&body, PLATE + tapered(7.0, 5.0, 14.0));
}

#[test]
fn rounded_slot() {
    let body = plate().without([slot('z', [[9.0, 9.0], [21.0, 9.0]], 4.0, [-1.0, 11.0])]);
    assert_found(&body, PLATE - (12.0 * 8.0 + disc(4.0)) * 10.0);
}

#[test]
fn blind_rounded_slot() {
    let body = plate().without([slot('z', [[9.0, 9.0], [21.0, 9.0]], 4.0, [6.0, 11.0])]);
    assert_found(&body, PLATE - (12.0 * 8.0 + disc(4.0)) * 4.0);
}

#[test]
fn external_rounds() {
    let body = plate().without([
        corner('z', [30.0, 20.0], [22.0, 12.0], [-1.0, 11.0]),
        corner('z', [0.0, 20.0], [5.0, 15.0], [-1.0, 11.0]),
    ]);
    assert_found(&body, PLATE - (spandrel(8.0) + spandrel(5.0)) * 10.0);
}

#[test]
fn external_rounds_meet_in_a_corner_ball() {
    let r = 4.0;
    let rounded = swollen([-50.0; 3], [26.0, 16.0, 6.0], r);
    let body = plate().and(rounded);
    let volume = PLATE - spandrel(r) * (26.0 + 16.0 + 6.0) - r.powi(3) * (1.0 - PI / 6.0);
    assert_found(&body, volume);
}

#[test]
fn internal_fillet() {
    let body = block([0.0; 3], [30.0, 20.0, 6.0]).with([
        block([0.0; 3], [8.0, 20.0, 24.0]),
        corner('y', [8.0, 6.0], [13.0, 11.0], [0.0, 20.0]),
    ]);
    let volume = 20.0 * (30.0 * 6.0 + 8.0 * 18.0 + spandrel(5.0));
    assert_found(&body, volume);
}

#[test]
fn internal_fillets_meet_in_a_corner_ball() {
    let r = 5.0;
    // The corner of a bracket: three walls of 10 mm, and fillets between any two of them.
    let notch = swollen([15.0; 3], [90.0; 3], r);
    let body = block([0.0; 3], [40.0, 30.0, 26.0]).without([notch]);
    let volume = 40.0 * 30.0 * 26.0 - 30.0 * 20.0 * 16.0
        + spandrel(r) * (25.0 + 15.0 + 11.0)
        + r.powi(3) * (1.0 - PI / 6.0);
    assert_found(&body, volume);
}

#[test]
fn pocket_with_upright_fillets() {
    let body = block([0.0; 3], [40.0, 30.0, 16.0]).without([
        block([12.0, 6.0, 6.0], [28.0, 24.0, 17.0]),
        block([8.0, 10.0, 6.0], [32.0, 20.0, 17.0]),
        round('z', [12.0, 10.0], 4.0, [6.0, 17.0]),
        round('z', [28.0, 10.0], 4.0, [6.0, 17.0]),
        round('z', [12.0, 20.0], 4.0, [6.0, 17.0]),
        round('z', [28.0, 20.0], 4.0, [6.0, 17.0]),
    ]);
    let pocket = (24.0 * 18.0 - 4.0 * spandrel(4.0)) * 10.0;
    assert_found(&body, 40.0 * 30.0 * 16.0 - pocket);
}

#[test]
fn pocket_with_fillets_all_around_and_corner_balls() {
    let r = 4.0;
    let pocket = swollen([12.0, 10.0, 10.0], [28.0, 20.0, 90.0], r);
    let body = block([0.0; 3], [40.0, 30.0, 16.0]).without([pocket]);
    // Steiner's formula for a cuboid of 16 by 10 by 6 mm without what lies above it.
    let upright = (16.0 * 10.0 + 2.0 * (16.0 + 10.0) * r + disc(r)) * 6.0;
    let floor = 16.0 * 10.0 * r + 2.0 * (16.0 + 10.0) * disc(r) / 4.0 + 2.0 / 3.0 * PI * r.powi(3);
    assert_found(&body, 40.0 * 30.0 * 16.0 - upright - floor);
}

#[test]
fn pocket_with_floor_fillets_smaller_than_the_upright_ones() {
    // The floor's fillet runs around the corners as part of a ring.
    let (big, small) = (5.0, 2.0);
    let (low, high) = ([13.0, 11.0], [27.0, 19.0]);
    let mut parts = vec![
        block([low[0] - big, low[1], 8.0], [high[0] + big, high[1], 17.0]),
        block([low[0], low[1] - big, 8.0], [high[0], high[1] + big, 17.0]),
        block([low[0] - 3.0, low[1], 6.0], [high[0] + 3.0, high[1], 8.0]),
        block([low[0], low[1] - 3.0, 6.0], [high[0], high[1] + 3.0, 8.0]),
    ];
    for x in [low[0], high[0]] {
        let side = if x == low[0] { -3.0 } else { 3.0 };
        parts.push(round('y', [x + side, 8.0], small, [low[1], high[1]]));
        for y in [low[1], high[1]] {
            parts.push(round('z', [x, y], big, [8.0, 17.0]));
            parts.push(round('z', [x, y], 3.0, [6.0, 8.0]));
            parts.push(ring(2, [x, y, 8.0], 3.0, small));
        }
    }
    for y in [low[1], high[1]] {
        let side = if y == low[1] { -3.0 } else { 3.0 };
        parts.push(round('x', [y + side, 8.0], small, [low[0], high[0]]));
    }
    let body = block([0.0; 3], [40.0, 30.0, 16.0]).without(parts);
    // A level section is a rectangle of 14 by 8 mm swollen by 5 mm, or in the fillet by 3 + s with s = sqrt(4 - u * u): the
    // integrals of s and its square over u from 0 to 2 are pi and 16 / 3.
    let section = |one: f64, square: f64| 14.0 * 8.0 + 2.0 * (14.0 + 8.0) * one + PI * square;
    let upright = section(5.0, 25.0) * 8.0;
    let fillet =
        14.0 * 8.0 * 2.0 + 2.0 * (14.0 + 8.0) * (6.0 + PI) + PI * (18.0 + 6.0 * PI + 16.0 / 3.0);
    assert_found(&body, 40.0 * 30.0 * 16.0 - upright - fillet);
}

#[test]
fn ring_of_round_wire() {
    // Guldin's rule.
    let body = ring(2, [0.0; 3], 15.0, 4.0);
    assert_found(&body, 2.0 * PI * 15.0 * disc(4.0));
}

#[test]
fn spacer_ring() {
    let body =
        round('z', [0.0; 2], 20.0, [0.0, 9.0]).without([round('z', [0.0; 2], 12.0, [-1.0, 10.0])]);
    assert_found(&body, (disc(20.0) - disc(12.0)) * 9.0);
}

fn shaft() -> Body {
    round('x', [0.0; 2], 10.0, [0.0, 40.0])
}

#[test]
fn turned_groove_with_square_walls() {
    let cut =
        round('x', [0.0; 2], 20.0, [15.0, 19.0]).without([round('x', [0.0; 2], 7.0, [14.0, 20.0])]);
    let body = shaft().without([cut]);
    assert_found(&body, disc(10.0) * 40.0 - (disc(10.0) - disc(7.0)) * 4.0);
}

#[test]
fn turned_groove_with_a_round_bottom() {
    let body = shaft().without([ring(0, [17.0, 0.0, 0.0], 10.0, 2.0)]);
    // Guldin's rule: the centroid of half a disc lies 4 r / (3 pi) from its middle.
    let cut = 2.0 * PI * (10.0 - 8.0 / (3.0 * PI)) * disc(2.0) / 2.0;
    assert_found(&body, disc(10.0) * 40.0 - cut);
}

#[test]
fn turned_groove_with_slanting_walls() {
    let body = Body::Union(vec![
        round('x', [0.0; 2], 10.0, [0.0, 14.0]),
        cone('x', [0.0; 2], [10.0, 7.0], [14.0, 16.0]),
        round('x', [0.0; 2], 7.0, [16.0, 19.0]),
        cone('x', [0.0; 2], [7.0, 10.0], [19.0, 21.0]),
        round('x', [0.0; 2], 10.0, [21.0, 40.0]),
    ]);
    let volume = disc(10.0) * 33.0 + disc(7.0) * 3.0 + 2.0 * tapered(10.0, 7.0, 2.0);
    assert_found(&body, volume);
}

#[test]
fn round_groove_along_a_block() {
    let body = plate().without([round('y', [12.0, 10.0], 4.0, [-1.0, 21.0])]);
    assert_found(&body, PLATE - disc(4.0) / 2.0 * 20.0);
}

#[test]
fn dome_of_half_a_ball() {
    let body = round('z', [0.0; 2], 10.0, [0.0, 12.0]).with([ball([0.0, 0.0, 12.0], 10.0)]);
    assert_found(&body, disc(10.0) * 12.0 + 2.0 / 3.0 * PI * 1000.0);
}

#[test]
fn shallow_dome() {
    // A cap of 4 mm on a disc of 10 mm has the radius (10 * 10 + 4 * 4) / (2 * 4).
    let cap = ball([0.0, 0.0, 1.5], 14.5).and(block([-20.0, -20.0, 12.0], [20.0; 3]));
    let body = round('z', [0.0; 2], 10.0, [0.0, 12.0]).with([cap]);
    assert_found(
        &body,
        disc(10.0) * 12.0 + PI * 16.0 / 3.0 * (3.0 * 14.5 - 4.0),
    );
}

#[test]
fn turned_profile() {
    let o = [0.0; 2];
    let fillet = round('x', o, 7.0, [24.0, 26.0]).without([ring(0, [26.0, 0.0, 0.0], 7.0, 2.0)]);
    let body = Body::Union(vec![
        round('x', o, 6.0, [0.0, 10.0]),
        cone('x', o, [6.0, 9.0], [10.0, 16.0]),
        round('x', o, 9.0, [16.0, 24.0]),
        round('x', o, 5.0, [24.0, 40.0]),
        fillet,
        ball([40.0, 0.0, 0.0], 5.0),
    ]);
    // The fillet has the radius 7 - s at u from its end, s = sqrt(4 - u * u).
    let foot = PI * ((49.0 - 25.0) * 2.0 - 14.0 * PI + 16.0 / 3.0);
    let volume = disc(6.0) * 10.0
        + tapered(6.0, 9.0, 6.0)
        + disc(9.0) * 8.0
        + disc(5.0) * 16.0
        + foot
        + 2.0 / 3.0 * PI * 125.0;
    assert_found(&body, volume);
}

#[test]
fn dee_shaft() {
    let body = shaft().without([block([-1.0, -20.0, 7.0], [15.0, 20.0, 20.0])]);
    assert_found(&body, disc(10.0) * 40.0 - segment(10.0, 7.0) * 15.0);
}

#[test]
fn keyway_in_a_shaft() {
    let body = shaft().without([block([12.0, -3.0, 6.0], [28.0, 3.0, 20.0])]);
    let cut = (below_arc(10.0, 3.0) - 6.0 * 6.0) * 16.0;
    assert_found(&body, disc(10.0) * 40.0 - cut);
}

#[test]
fn keyway_with_round_ends() {
    let body = shaft().without([slot('z', [[13.0, 0.0], [26.0, 0.0]], 3.0, [6.0, 20.0])]);
    // Both ends make a whole round hole: by Simpson's rule, with y = 3 sin t.
    let depth = |y: f64| (100.0 - y * y).sqrt() - 6.0;
    let slice = |t: f64| 2.0 * (3.0 * t.cos()).powi(2) * depth(3.0 * t.sin());
    let step = PI / 400.0;
    let ends: f64 = (0..200)
        .map(|k| -PI / 2.0 + 2.0 * f64::from(k) * step)
        .map(|t| (slice(t) + 4.0 * slice(t + step) + slice(t + 2.0 * step)) * step / 3.0)
        .sum();
    let straight = (below_arc(10.0, 3.0) - 6.0 * 6.0) * 13.0;
    assert_found(&body, disc(10.0) * 40.0 - straight - ends);
}

#[test]
fn keyway_in_a_bore() {
    let body = round('y', [0.0; 2], 14.0, [0.0, 18.0]).without([
        round('y', [0.0; 2], 7.0, [-1.0, 19.0]),
        block([-2.0, -1.0, 0.0], [2.0, 19.0, 9.5]),
    ]);
    let key = 4.0 * 9.5 - below_arc(7.0, 2.0);
    assert_found(&body, (disc(14.0) - disc(7.0) - key) * 18.0);
}

#[test]
fn pipe() {
    let body =
        round('x', [0.0; 2], 10.0, [0.0, 36.0]).without([round('x', [0.0; 2], 7.5, [-1.0, 37.0])]);
    assert_found(&body, (disc(10.0) - disc(7.5)) * 36.0);
}

#[test]
fn pipe_with_a_flange() {
    let body = round('x', [0.0; 2], 10.0, [0.0, 36.0])
        .with([round('x', [0.0; 2], 17.0, [0.0, 5.0])])
        .without([round('x', [0.0; 2], 7.5, [-1.0, 37.0])]);
    let volume = disc(10.0) * 31.0 + disc(17.0) * 5.0 - disc(7.5) * 36.0;
    assert_found(&body, volume);
}

#[test]
fn aitch_section_with_root_fillets() {
    let span = [0.0, 50.0];
    let body = block([0.0; 3], [40.0, 50.0, 6.0]).with([
        block([0.0, 0.0, 28.0], [40.0, 50.0, 34.0]),
        block([17.0, 0.0, 6.0], [23.0, 50.0, 28.0]),
        corner('y', [23.0, 6.0], [28.0, 11.0], span),
        corner('y', [23.0, 28.0], [28.0, 23.0], span),
        corner('y', [17.0, 28.0], [12.0, 23.0], span),
        corner('y', [17.0, 6.0], [12.0, 11.0], span),
    ]);
    let section = 2.0 * 40.0 * 6.0 + 6.0 * 22.0 + 4.0 * spandrel(5.0);
    assert_found(&body, section * 50.0);
}

#[test]
fn saddle_cut() {
    let body =
        block([0.0; 3], [44.0, 24.0, 26.0]).without([round('y', [20.0, 31.0], 13.0, [-1.0, 25.0])]);
    assert_found(&body, 24.0 * (44.0 * 26.0 - segment(13.0, 5.0)));
}

#[test]
fn saddle_cut_of_a_square_post() {
    // A post to be joined to a pipe.
    let body =
        block([0.0; 3], [16.0, 20.0, 30.0]).without([round('y', [8.0, 34.0], 11.0, [-1.0, 25.0])]);
    let cut = below_arc(11.0, 8.0) - 4.0 * 16.0;
    assert_found(&body, 20.0 * (16.0 * 30.0 - cut));
}

#[test]
fn bore_so_fine_that_its_mouths_are_drawn_straight() {
    // The mouths dip by 20 - sqrt(20² - 0.6²) = 0.009 mm; the tolerance is 0.03 mm.
    let body = rod(0, [0.0, 20.0, 20.0], 20.0, [0.0, 60.0]).without([round(
        'z',
        [30.0, 20.0],
        0.6,
        [-1.0, 41.0],
    )]);
    let drafting = draft(&body);
    let mut sheet = drafting.sheet(Layout::default());
    let mut straightened = 0;
    for line in &mut sheet.lines {
        if let Shape::Curve(points) = &line.shape {
            line.shape = Shape::Polyline(vec![points[0], points[points.len() - 1]]);
            straightened += 1;
        }
    }
    assert!(straightened > 0);
    let outcome = answer(&sheet).expect("an answer");
    assert_eq!(outcome.verdict, Verdict::Unique, "{:?}", outcome.problems);
    let volume = outcome.readings[0].measures.volume_mm3;
    // Straight mouths leave the bore's radius open to within the tolerance: a fiftieth of its 45 mm³.
    assert!(agree(volume, drafting.volume(), 2e-5), "{volume}");
}
