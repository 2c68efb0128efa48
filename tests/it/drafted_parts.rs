//! Parts of the reference sheets, put together anew from their dimensions for the tests' own drafter.

use foldback::Reading;

use crate::cells::Point;
use crate::check::{Mesh, agree};
use crate::drafter::{Body, Drafting, ball, block, frustum, half, prism, ring, rod};
use crate::round_stl::is_watertight;

/// An inch in millimetres.
const INCH: f64 = 25.4;

/// A rod along an axis at its two cross coordinates in alphabetical order, from `low` to `high`.
pub(crate) fn round(axis: char, at: [f64; 2], radius: f64, span: [f64; 2]) -> Body {
    let (k, through) = placed(axis, at);
    rod(k, through, radius, span)
}

/// A frustum, its place as in [`round`].
pub(crate) fn cone(axis: char, at: [f64; 2], radii: [f64; 2], span: [f64; 2]) -> Body {
    let (k, through) = placed(axis, at);
    frustum(k, through, radii, span)
}

/// A slot with round ends between two middles that differ in one cross coordinate.
pub(crate) fn slot(axis: char, middles: [[f64; 2]; 2], radius: f64, span: [f64; 2]) -> Body {
    let (k, from) = placed(axis, middles[0]);
    let (_, to) = placed(axis, middles[1]);
    let along = (0..3)
        .find(|&i| (from[i] - to[i]).abs() > 1e-9)
        .expect("two middles");
    let (mut low, mut high) = (from, to);
    for i in (0..3).filter(|&i| i != k && i != along) {
        low[i] -= radius;
        high[i] += radius;
    }
    [low[k], high[k]] = span;
    let ends = [rod(k, from, radius, span), rod(k, to, radius, span)];
    block(low, high).with(ends)
}

fn placed(axis: char, [a, b]: [f64; 2]) -> (usize, Point) {
    match axis {
        'x' => (0, [0.0, a, b]),
        'y' => (1, [a, 0.0, b]),
        _ => (2, [a, b, 0.0]),
    }
}

/// The corner along z at (x, y) inside a square of side `radius` to the middle, without the round: what a fillet adds
/// or a rounding takes away. `span` along the axis.
pub(crate) fn corner(axis: char, at: [f64; 2], middle: [f64; 2], span: [f64; 2]) -> Body {
    let (k, from) = placed(axis, at);
    let (_, to) = placed(axis, middle);
    let (mut low, mut high) = ([0.0; 3], [0.0; 3]);
    for i in 0..3 {
        low[i] = from[i].min(to[i]);
        high[i] = from[i].max(to[i]);
    }
    [low[k], high[k]] = span;
    let radius = (at[0] - middle[0]).abs();
    block(low, high).without([rod(k, to, radius, [span[0] - 1.0, span[1] + 1.0])])
}

/// Whether a reading is a drafted solid: the same volume, a watertight file, and the same points inside.
pub(crate) fn is_reading_of(reading: &Reading, drafting: &Drafting) -> bool {
    is_reading_within(reading, drafting, 1e-6)
}

/// The same, the volume off by as much as this share of it.
pub(crate) fn is_reading_within(reading: &Reading, drafting: &Drafting, share: f64) -> bool {
    agree(reading.measures.volume_mm3, drafting.volume(), share) && is_watertight(reading) && {
        let mesh = Mesh::of(reading);
        let samples = drafting.samples();
        samples
            .iter()
            .all(|(p, filled)| mesh.contains(*p) == *filled)
    }
}

/// The part of a reference sheet by its name; in millimetres.
pub(crate) fn part(name: &str) -> Body {
    match name {
        "c01-sensor-plate" => sensor_plate(),
        "c02-spacer-ring" => spacer_ring(),
        "c03-counterbored-flange" => counterbored_flange(),
        "c04-boss-tab" => boss_tab(),
        "c05-slotted-foot" => slotted_foot(),
        "c06-pipe-saddle" => pipe_saddle(),
        "c07-dee-shaft" => dee_shaft(),
        "c08-aitch-section" => aitch_section(),
        "c09-mast-clamp-half" => mast_clamp_half(),
        "c10-link-rod" => link_rod(),
        "c12-three-way-block" => three_way_block(),
        "c13-three-pipe-rack" => three_pipe_rack(),
        "k01-countersunk-plate" => countersunk_plate(),
        "k03-domed-button" => domed_button(),
        "k06-rounded-logger-case" => rounded_logger_case(),
        "k07-cone-foot" => cone_foot(),
        "k08-rain-funnel" => rain_funnel(),
        "k11-filleted-boss-plate" => filleted_boss_plate(),
        "k13-ring-seat" => ring_seat(),
        "x01-cross-drilled-shaft" => cross_drilled_shaft(),
        "x02-equal-tee" => equal_tee(),
        "x03-oblique-cut-pin" => oblique_cut_pin(),
        "x04-cone-side-boss" => cone_side_boss(),
        "x08-bored-ball" => bored_ball(),
        "x11-three-way-cross" => three_way_cross(),
        "x13-crossing-bores" => crossing_bores(),
        _ => panic!("no part {name}"),
    }
}

fn sensor_plate() -> Body {
    let corners = [[8.0, 8.0], [8.0, 32.0], [52.0, 8.0], [52.0, 32.0]];
    block([0.0; 3], [60.0, 40.0, 10.0])
        .without(corners.map(|at| round('z', at, 3.0, [-1.0, 11.0])))
        .without([
            round('z', [30.0, 20.0], 9.0, [-1.0, 11.0]),
            round('z', [20.0, 32.0], 2.5, [4.0, 11.0]),
        ])
}

fn spacer_ring() -> Body {
    let tube =
        round('z', [0.0; 2], 20.0, [0.0, 9.0]).without([round('z', [0.0; 2], 12.0, [-1.0, 10.0])]);
    tube.with([block([17.0, -5.0, 0.0], [27.0, 5.0, 9.0])])
}

fn counterbored_flange() -> Body {
    let o = [0.0; 2];
    let body = round('y', o, 24.0, [0.0, 10.0]).with([round('y', o, 14.0, [10.0, 26.0])]);
    let mut gone = vec![
        round('y', o, 7.0, [-1.0, 27.0]),
        round('y', o, 10.0, [18.0, 27.0]),
        block([-30.0, -1.0, -30.0], [30.0, 30.0, -19.0]),
    ];
    let far = 18.5 / 2f64.sqrt();
    for at in [[far, far], [-far, far], [-far, -far], [far, -far]] {
        gone.push(round('y', at, 2.0, [-1.0, 11.0]));
        gone.push(round('y', at, 3.5, [-1.0, 4.0]));
    }
    body.without(gone)
}

fn boss_tab() -> Body {
    block([0.0; 3], [34.0, 28.0, 9.0])
        .without([
            corner('z', [34.0, 28.0], [22.0, 16.0], [-1.0, 10.0]),
            corner('z', [0.0, 28.0], [8.0, 20.0], [-1.0, 10.0]),
        ])
        .with([round('z', [17.0, 14.0], 8.0, [9.0, 20.0])])
        .without([round('z', [17.0, 14.0], 4.0, [-1.0, 21.0])])
}

fn slotted_foot() -> Body {
    block([0.0; 3], [64.0, 30.0, 8.0])
        .with([block([24.0, 0.0, 8.0], [40.0, 30.0, 26.0])])
        .without([
            slot('z', [[8.0, 15.0], [15.0, 15.0]], 4.0, [-1.0, 9.0]),
            slot('z', [[49.0, 15.0], [56.0, 15.0]], 4.0, [-1.0, 9.0]),
            slot('x', [[10.0, 18.0], [20.0, 18.0]], 3.0, [23.0, 41.0]),
        ])
}

fn pipe_saddle() -> Body {
    block([0.0; 3], [56.6, 32.3, 28.7]).without([
        round('y', [28.3, 28.7], 15.9, [-1.0, 33.0]),
        round('z', [6.1, 8.2], 2.4, [-1.0, 29.0]),
        round('z', [50.4, 23.9], 2.4, [-1.0, 29.0]),
        block([20.2, 10.1, -1.0], [36.4, 22.2, 6.0 + 1.0 / 3.0]),
    ])
}

fn dee_shaft() -> Body {
    let i = |c: f64| c * INCH;
    let step = |r: f64, a: f64, b: f64| round('x', [0.0; 2], i(r), [i(a), i(b)]);
    let cut = |low: Point, high: Point| block(low.map(i), high.map(i));
    step(0.4375, 0.0, 1.5)
        .with([step(0.625, 1.5, 1.875), step(0.3125, 1.875, 2.625)])
        .without([
            cut([-1.0, -2.0, 0.25], [1.0, 2.0, 2.0]),
            cut([2.125, -2.0, -2.0], [3.0, 2.0, -0.1875]),
            cut([1.25, 0.5, -2.0], [2.0, 2.0, 2.0]),
        ])
}

fn aitch_section() -> Body {
    let span = [0.0, 50.0];
    let bars = block([0.0; 3], [40.0, 50.0, 6.0]).with([
        block([0.0, 0.0, 28.0], [40.0, 50.0, 34.0]),
        block([17.0, 0.0, 6.0], [23.0, 50.0, 28.0]),
        corner('y', [23.0, 6.0], [28.0, 11.0], span),
        corner('y', [23.0, 28.0], [28.0, 23.0], span),
        corner('y', [17.0, 28.0], [12.0, 23.0], span),
        corner('y', [17.0, 6.0], [12.0, 11.0], span),
    ]);
    bars.without([
        round('z', [8.0, 12.0], 3.0, [-1.0, 8.0]),
        round('z', [32.0, 38.0], 3.0, [-1.0, 8.0]),
        round('x', [25.0, 17.0], 4.0, [16.0, 24.0]),
    ])
}

fn mast_clamp_half() -> Body {
    round('z', [0.0; 2], 22.0, [0.0, 24.0])
        .with([block([-36.0, 0.0, 0.0], [36.0, 8.0, 24.0])])
        .without([
            round('z', [0.0; 2], 15.0, [-1.0, 25.0]),
            block([-40.0, -30.0, -1.0], [40.0, 0.0, 25.0]),
            round('y', [-29.0, 12.0], 3.0, [-2.0, 9.0]),
            round('y', [29.0, 12.0], 3.0, [-2.0, 9.0]),
            round('y', [29.0, 12.0], 5.0, [5.0, 9.0]),
        ])
}

fn link_rod() -> Body {
    let [r, s, d]: [f64; 3] = [13.3, 7.7, 48.6];
    // The web touches both eyes: its sides lean by the angle whose sine is (r - s) / d.
    let sine = (r - s) / d;
    let cosine = (1.0 - sine * sine).sqrt();
    let outline = [
        [r * sine, -r * cosine],
        [d + s * sine, -s * cosine],
        [d + s * sine, s * cosine],
        [r * sine, r * cosine],
    ];
    round('z', [0.0; 2], r, [0.0, 15.2])
        .with([
            round('z', [d, 0.0], s, [1.7, 12.9]),
            prism(2, &outline, [3.4, 10.1]),
        ])
        .without([
            round('z', [0.0; 2], 7.3, [-1.0, 16.0]),
            round('z', [d, 0.0], 3.9, [-1.0, 16.0]),
        ])
}

fn three_way_block() -> Body {
    block([0.0; 3], [50.0, 42.0, 36.0]).without([
        round('z', [12.0, 30.0], 6.0, [14.0, 37.0]),
        round('z', [38.0, 31.0], 4.0, [-1.0, 37.0]),
        round('x', [10.0, 26.0], 5.0, [-1.0, 28.0]),
        round('x', [12.0, 10.0], 4.0, [30.0, 51.0]),
        round('y', [12.0, 9.0], 4.5, [-1.0, 16.0]),
        round('y', [40.0, 25.0], 3.0, [-1.0, 8.0]),
    ])
}

fn three_pipe_rack() -> Body {
    block([0.0; 3], [78.0, 24.0, 22.0]).without([
        round('y', [14.0, 22.0], 8.0, [-1.0, 25.0]),
        round('y', [38.0, 22.0], 10.0, [-1.0, 25.0]),
        round('y', [64.0, 22.0], 7.0, [-1.0, 25.0]),
        slot('x', [[8.0, 6.0], [16.0, 6.0]], 2.5, [-1.0, 79.0]),
    ])
}

fn countersunk_plate() -> Body {
    let mut gone = vec![cone('z', [12.0, 28.0], [1.0, 4.0], [3.0, 9.0])];
    for at in [[10.0, 10.0], [46.0, 10.0], [28.0, 28.0]] {
        gone.push(round('z', at, 3.0, [-1.0, 10.0]));
        gone.push(cone('z', at, [2.0, 7.0], [5.0, 10.0]));
    }
    block([0.0; 3], [56.0, 38.0, 9.0]).without(gone)
}

fn domed_button() -> Body {
    round('z', [0.0; 2], 18.0, [0.0, 8.0])
        .with([
            ball([0.0; 3], 20.0).and(block([-30.0, -30.0, 8.0], [30.0, 30.0, 40.0])),
            block([12.0, -4.0, 0.0], [24.0, 4.0, 6.0]),
        ])
        .without([round('z', [0.0; 2], 5.0, [-1.0, 10.0])])
}

fn rounded_logger_case() -> Body {
    let size = [52.0, 36.0, 24.0];
    let r = 5.0;
    let ends = |k: usize| [r, size[k] - r];
    let mut parts = Vec::new();
    for k in 0..3 {
        let [u, v] = [(k + 1) % 3, (k + 2) % 3];
        let (mut low, mut high) = ([r; 3], size.map(|c| c - r));
        (low[k], high[k]) = (0.0, size[k]);
        parts.push(block(low, high));
        for a in ends(u) {
            for b in ends(v) {
                let mut through = [0.0; 3];
                (through[u], through[v]) = (a, b);
                parts.push(rod(k, through, r, ends(k)));
            }
        }
    }
    for x in ends(0) {
        for y in ends(1) {
            parts.extend(ends(2).map(|z| ball([x, y, z], r)));
        }
    }
    Body::Union(parts).without([block([14.0, -1.0, 8.0], [38.0, 4.0, 16.0])])
}

fn cone_foot() -> Body {
    let o = [0.0; 2];
    round('z', o, 17.3, [0.0, 4.4])
        .with([
            cone('z', o, [17.3, 8.9], [4.4, 21.6]),
            round('z', o, 8.9, [21.6, 27.4]),
        ])
        .without([
            round('z', o, 4.7, [-1.0, 30.0]),
            cone('z', o, [7.4, 4.7], [0.0, 6.8]),
        ])
        .with([block([10.3, -3.6, 0.0], [23.9, 3.6, 4.4])])
}

fn rain_funnel() -> Body {
    let o = [0.0; 2];
    round('z', o, 6.0, [0.0, 14.0])
        .with([
            cone('z', o, [6.0, 22.0], [14.0, 34.0]),
            round('z', o, 22.0, [34.0, 40.0]),
        ])
        .without([
            round('z', o, 4.0, [-1.0, 14.7]),
            cone('z', o, [4.0, 20.0], [14.7, 34.7]),
            round('z', o, 20.0, [34.7, 41.0]),
        ])
        .with(
            [block([20.5, -5.0, 34.0], [32.0, 5.0, 40.0]).without([round(
                'z',
                o,
                20.0,
                [33.0, 41.0],
            )])],
        )
}

fn filleted_boss_plate() -> Body {
    let at = [22.0, 20.0];
    let center = |z: f64| [22.0, 20.0, z];
    let foot = round('z', at, 15.0, [8.0, 12.0]).without([ring(2, center(12.0), 15.0, 4.0)]);
    let rim = round('z', at, 8.0, [21.0, 24.0]).with([ring(2, center(21.0), 8.0, 3.0)]);
    block([0.0; 3], [58.0, 40.0, 8.0])
        .with([round('z', at, 11.0, [8.0, 21.0]), foot, rim])
        .without([
            round('z', at, 5.0, [-1.0, 25.0]),
            round('z', [48.0, 20.0], 4.0, [-1.0, 9.0]),
        ])
}

fn ring_seat() -> Body {
    let i = |c: f64| c * INCH;
    let at = [i(1.125); 2];
    block([0.0; 3], [2.5, 2.25, 0.75].map(i)).without([
        ring(2, [1.125, 1.125, 0.75].map(i), i(0.75), i(0.1875)),
        round('z', at, i(0.25), [-1.0, i(2.0)]),
        cone('z', at, [i(0.25), i(0.4375)], [i(0.5), i(0.75)]),
    ])
}

fn cross_drilled_shaft() -> Body {
    round('x', [0.0; 2], 11.0, [0.0, 54.0]).without([
        round('z', [18.0, 0.0], 4.0, [-20.0, 20.0]),
        round('y', [38.0, 0.0], 6.0, [-20.0, 20.0]),
        block([-1.0, -20.0, 7.0], [6.0, 20.0, 20.0]),
        block([-1.0, -20.0, -20.0], [55.0, 20.0, -9.5]),
    ])
}

fn equal_tee() -> Body {
    round('x', [0.0; 2], 10.0, [-26.0, 24.0]).with([round('z', [0.0; 2], 10.0, [0.0, 28.0])])
}

fn oblique_cut_pin() -> Body {
    round('z', [0.0; 2], 12.0, [0.0, 40.0])
        .and(half([0.0, 0.0, 28.0], [-1.0, 0.0, 1.5]))
        .without([block([-20.0, -20.0, -1.0], [-7.0, 20.0, 10.0])])
        .with([block([-4.0, -17.0, 0.0], [4.0, 0.0, 8.0])])
}

fn cone_side_boss() -> Body {
    cone('z', [0.0; 2], [20.0, 8.0], [0.0, 36.0])
        .with([round('x', [0.0, 12.0], 6.0, [0.0, 28.0])])
        .without([round('z', [0.0; 2], 4.0, [-1.0, 40.0])])
}

fn bored_ball() -> Body {
    ball([0.0; 3], 18.0)
        .without([
            round('z', [4.0, 0.0], 7.0, [-20.0, 20.0]),
            block([-20.0, -20.0, -20.0], [20.0, 20.0, -14.0]),
        ])
        .and(half([0.0, 15.0, 0.0], [0.0, 1.0, 0.0]))
}

fn three_way_cross() -> Body {
    round('x', [0.0; 2], 8.0, [-24.0, 20.0]).with([
        round('y', [0.0; 2], 8.0, [-18.0, 16.0]),
        round('z', [0.0; 2], 8.0, [-14.0, 26.0]),
    ])
}

fn crossing_bores() -> Body {
    block([0.0; 3], [50.0, 40.0, 34.0]).without([
        round('x', [20.0, 17.0], 9.0, [-1.0, 51.0]),
        round('z', [25.0, 20.0], 6.0, [17.0, 35.0]),
        round('y', [38.0, 17.0], 5.0, [-1.0, 20.0]),
    ])
}
