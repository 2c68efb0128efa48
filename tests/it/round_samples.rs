//! The curved samples: volumes by hand from the parts' dimensions, and what the misdrawn rings are told.

use std::f64::consts::PI;

use foldback::{Outcome, RemarkKind, Verdict};

use crate::check::{agree, answer, sheet_in};

fn sample(name: &str, ending: &str) -> Outcome {
    answer(&sheet_in(&format!("../samples/{name}/sheet.{ending}"))).expect("an answer")
}

/// A round disc's area by its radius.
fn disc(radius: f64) -> f64 {
    PI * radius * radius
}

/// What a square of side `radius` has outside its quarter of a circle.
fn corner(radius: f64) -> f64 {
    (1.0 - PI / 4.0) * radius * radius
}

/// The frustum of a cone: pi h / 3 (R^2 + R r + r^2).
fn frustum(low: f64, high: f64, height: f64) -> f64 {
    PI * height / 3.0 * (low * low + low * high + high * high)
}

/// The smaller segment of a disc beyond a chord at this distance from its middle: half the sector less the triangle.
fn segment(radius: f64, distance: f64) -> f64 {
    let half = (radius * radius - distance * distance).sqrt();
    let angle = crate::drafter::direction(distance, half);
    radius * radius * angle - distance * half
}

/// Half a ring of round wire that a groove of wire radius `wire` cuts out of a cylinder: by the rule of Pappus, the half
/// disc's area times the way of its centroid, 4 r / (3 pi) inside the cylinder.
fn groove(radius: f64, wire: f64) -> f64 {
    disc(wire) / 2.0 * 2.0 * PI * (radius - 4.0 * wire / (3.0 * PI))
}

/// Samples with their volumes in cubic millimetres.
type Known = Vec<(&'static str, &'static str, f64)>;

/// Parts with flat sides.
fn plates() -> Known {
    let slot = |radius: f64, between: f64| disc(radius) + 2.0 * radius * between;
    vec![
        // 70 x 46 x 12, four corners of 8; holes of 3.5 and 5; counterbore of 9, 5 deep; a blind hole of 4, 7 deep.
        (
            "anemometer-plate",
            "svg",
            12.0 * (70.0 * 46.0 - 4.0 * corner(8.0) - 2.0 * disc(3.5))
                - 7.0 * disc(5.0)
                - 5.0 * disc(9.0)
                - 7.0 * disc(4.0),
        ),
        // 64 x 40 x 9, boss of 12 and 18 high, bore of 6.5; holes of 2.5 sunk to 6 over 3.5 mm.
        (
            "rain-gauge-foot",
            "json",
            9.0 * 64.0 * 40.0 + 18.0 * disc(12.0)
                - 27.0 * disc(6.5)
                - 2.0 * (5.5 * disc(2.5) + frustum(2.5, 6.0, 3.5)),
        ),
        // Foot 72 x 36 x 8 with slots of 4 and 3, upright 20 x 36 x 22 with a hole of 6.
        (
            "wave-gauge-slide",
            "json",
            8.0 * (72.0 * 36.0 - slot(4.0, 26.0) - slot(3.0, 26.0))
                + 20.0 * (36.0 * 22.0 - disc(6.0)),
        ),
        // 96 x 100 x 5 x 8 with fillets of 12, 60 long.
        (
            "pier-beam",
            "svg",
            60.0 * (2.0 * 100.0 * 8.0 + 80.0 * 5.0 + 4.0 * corner(12.0)),
        ),
        // Legs 44 x 7 and 33 x 7, 32 deep, fillet of 8; two corners of 10, a hole of 4.5, a slot of 3.5.
        (
            "instrument-angle",
            "svg",
            32.0 * (44.0 * 7.0 + 33.0 * 7.0 + corner(8.0))
                - 7.0 * (2.0 * corner(10.0) + disc(4.5) + slot(3.5, 8.0)),
        ),
        // 60 x 30 x 26, half a round of 13, two holes of 3, and 24 x 4 cut out below.
        (
            "cable-saddle",
            "json",
            30.0 * (60.0 * 26.0 - disc(13.0) / 2.0 - 24.0 * 4.0) - 2.0 * 26.0 * disc(3.0),
        ),
    ]
}

/// Parts from the lathe.
fn turned() -> Known {
    let inch = 25.4f64.powi(3);
    vec![
        // Ring of 24 and 15, 20 high, with a groove of 3.
        (
            "seal-ring",
            "json",
            20.0 * (disc(24.0) - disc(15.0)) - groove(24.0, 3.0),
        ),
        // Rim of 20, 10 high; a cap of 10 of a ball of 25: pi h^2 (3 R - h) / 3; a hole of 8, 12 deep.
        (
            "buoy-cap",
            "json",
            10.0 * disc(20.0) + PI * 100.0 * 65.0 / 3.0 - 12.0 * disc(8.0),
        ),
        // In inches: chamfer, journal, collar, cone, end, and the hole in it.
        (
            "vane-shaft",
            "json",
            inch * (frustum(0.3125, 0.375, 0.0625)
                + 0.9375 * disc(0.375)
                + 0.25 * disc(0.625)
                + frustum(0.625, 0.25, 0.375)
                + 1.125 * disc(0.25)
                - 0.5 * disc(0.125)),
        ),
        // Collar of 11, 14 long; journal of 7, 34 long, its last 18 with a flat 4.5 from the middle.
        (
            "cup-spindle",
            "json",
            14.0 * disc(11.0) + 34.0 * disc(7.0) - 18.0 * segment(7.0, 4.5),
        ),
        // Flange of 25, 6 high, four holes of 3; pipe of 13, 32 more; bore of 10.
        (
            "drain-pipe",
            "svg",
            6.0 * (disc(25.0) - 4.0 * disc(3.0)) + 32.0 * disc(13.0) - 38.0 * disc(10.0),
        ),
        // V = 2 pi^2 R r^2 (Pappus).
        ("mooring-eye", "json", 2.0 * PI * PI * 22.0 * 36.0),
        // A ring of 26 and 16, 12 high.
        ("float-ring", "json", 12.0 * (disc(26.0) - disc(16.0))),
    ]
}

#[test]
fn volume_of_a_curved_sample_is_that_of_its_dimensions() {
    for (name, ending, volume) in plates().into_iter().chain(turned()) {
        let outcome = sample(name, ending);
        assert_eq!(outcome.verdict, Verdict::Unique, "{name}");
        let found = outcome.readings[0].measures.volume_mm3;
        assert!(
            agree(found, volume, 1e-6),
            "{name}: {found} instead of {volume}"
        );
    }
}

/// The pin has edges for which there is no formula; its volume by the drafter's sum of heights, to nine digits.
#[test]
fn pin_drilled_crosswise_has_the_volume_of_its_heights() {
    let outcome = sample("tide-pin", "json");
    assert_eq!(outcome.verdict, Verdict::Unique, "{:?}", outcome.problems);
    let pin = crate::drafter::rod(0, [0.0; 3], 10.0, [0.0, 56.0])
        .with([crate::drafter::rod(0, [0.0; 3], 15.0, [0.0, 8.0])])
        .without([
            crate::drafter::rod(2, [30.0, 0.0, 0.0], 4.0, [-20.0, 20.0]),
            crate::drafter::rod(1, [46.0, 0.0, 0.0], 3.0, [-20.0, 20.0]),
        ]);
    let volume = crate::drafter::draft(&pin).volume();
    let found = outcome.readings[0].measures.volume_mm3;
    assert!(agree(found, volume, 1e-6), "{found} instead of {volume}");
}

/// By reasoning: each row and each column has one deep and one shallow pocket, so either the two round ones are deep or
/// the two square ones.
#[test]
fn rack_with_round_and_square_pockets_is_read_both_ways() {
    let outcome = sample("sample-rack", "json");
    assert_eq!(outcome.verdict, Verdict::Ambiguous);
    let (round, square) = (2.0 * disc(7.0), 2.0 * 14.0 * 14.0);
    let whole = 50.0 * 44.0 * 24.0;
    let mut known = [
        whole - 16.0 * round - 8.0 * square,
        whole - 8.0 * round - 16.0 * square,
    ];
    let mut found: Vec<f64> = outcome
        .readings
        .iter()
        .map(|r| r.measures.volume_mm3)
        .collect();
    known.sort_by(f64::total_cmp);
    found.sort_by(f64::total_cmp);
    assert_eq!(found.len(), 2, "{found:?}");
    assert!(
        known.iter().zip(&found).all(|(a, b)| agree(*a, *b, 1e-6)),
        "{found:?} instead of {known:?}"
    );
}

#[test]
fn ring_drawn_round_in_every_view_or_without_its_hidden_lines_is_no_object() {
    for (name, kind, words) in [
        (
            "hoop-all-round",
            RemarkKind::RoundEverywhere,
            "looks round from one side only",
        ),
        (
            "hoop-without-bore",
            RemarkKind::MissingLines,
            "two lines in the front view at x = 10 mm and x = 42 mm",
        ),
    ] {
        let outcome = sample(name, "json");
        assert_eq!(outcome.verdict, Verdict::Contradictory, "{name}");
        // It says which lines do not fit, and what was misunderstood.
        let problems = &outcome.problems;
        assert!(!problems[0].lines.is_empty(), "{name}: {problems:?}");
        let told = problems.iter().find(|p| p.kind == kind);
        assert!(
            told.is_some_and(|p| p.message.contains(words)),
            "{name}: {problems:?}"
        );
    }
}
