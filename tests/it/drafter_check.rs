//! The tests' own drafter against others: a geometry kernel's sheets and volumes of the same parts, and the engine's
//! answers for plane-faced solids.

use foldback::{Line, LineType, Shape};

use crate::check::{agree, answer, json_in, sheet_in};
use crate::drafted_parts::part;
use crate::drafter::{Body, block, difference, draft, half, prism, rod};
use crate::layout::Layout;

/// Reference sheets whose parts are put together anew.
const DRAWN_BY_A_KERNEL: [&str; 26] = [
    "c01-sensor-plate",
    "c02-spacer-ring",
    "c03-counterbored-flange",
    "c04-boss-tab",
    "c05-slotted-foot",
    "c06-pipe-saddle",
    "c07-dee-shaft",
    "c08-aitch-section",
    "c09-mast-clamp-half",
    "c10-link-rod",
    "c12-three-way-block",
    "c13-three-pipe-rack",
    "k01-countersunk-plate",
    "k03-domed-button",
    "k06-rounded-logger-case",
    "k07-cone-foot",
    "k08-rain-funnel",
    "k11-filleted-boss-plate",
    "k13-ring-seat",
    "x01-cross-drilled-shaft",
    "x02-equal-tee",
    "x03-oblique-cut-pin",
    "x04-cone-side-boss",
    "x08-bored-ball",
    "x11-three-way-cross",
    "x13-crossing-bores",
];

/// What two drawings of one part may differ by, in millimetres: curves are sampled by the kernel with chords that stray
/// by up to 0.01 mm, by the drafter by 0.005 mm.
const WITHIN: f64 = 0.02;

#[test]
fn drafter_draws_what_a_kernel_draws() {
    let wrong: Vec<String> = DRAWN_BY_A_KERNEL
        .iter()
        .filter_map(|name| {
            let drafting = draft(&part(name));
            let sheet = sheet_in(&format!("reference/{name}.json"));
            difference(&drafting.sheet(Layout::default()), &sheet, WITHIN)
                .map(|at| format!("{name}: {at}"))
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn drafter_measures_what_a_kernel_measures() {
    // The manifest's last digit is 1e-6 mm3, and so is the kernel's claim for parts of this size.
    let manifest = json_in("reference/manifest.json");
    let parts = manifest["parts"].as_array().expect("a list of parts");
    for name in DRAWN_BY_A_KERNEL {
        let entry = parts.iter().find(|part| part["name"] == name);
        let known = entry.and_then(|part| part["volume_mm3"].as_f64());
        let known = known.unwrap_or_else(|| panic!("{name} is measured"));
        let found = draft(&part(name)).volume();
        assert!(
            agree(found, known, 1e-8),
            "{name}: {found} instead of {known}"
        );
    }
}

#[test]
fn comparison_sees_every_line_that_is_missing_retyped_or_added() {
    for name in [
        "c01-sensor-plate",
        "k07-cone-foot",
        "x01-cross-drilled-shaft",
    ] {
        let sheet = draft(&part(name)).sheet(Layout::default());
        assert_eq!(difference(&sheet, &sheet, WITHIN), None, "{name}");
        for i in 0..sheet.lines.len() {
            let mut gone = sheet.clone();
            gone.lines.remove(i);
            assert!(difference(&sheet, &gone, WITHIN).is_some(), "{name} {i}");
            let mut retyped = sheet.clone();
            retyped.lines[i].line_type = match retyped.lines[i].line_type {
                LineType::Visible => LineType::Hidden,
                _ => LineType::Visible,
            };
            assert!(difference(&sheet, &retyped, WITHIN).is_some(), "{name} {i}");
        }
        let mut more = sheet.clone();
        more.lines.push(Line {
            view: sheet.lines[0].view,
            line_type: LineType::Hidden,
            shape: Shape::Line {
                from: [1.3, 1.1],
                to: [4.3, 5.1],
            },
        });
        assert!(difference(&sheet, &more, WITHIN).is_some(), "{name}");
    }
}

#[test]
fn edge_where_more_than_two_faces_meet_is_noticed() {
    let one = block([0.0; 3], [10.0, 10.0, 10.0]);
    let beside = |x: f64| {
        one.clone()
            .with([block([x, 10.0, 0.0], [x + 10.0, 20.0, 10.0])])
    };
    assert!(draft(&beside(10.0)).touches_itself);
    assert!(!draft(&beside(9.0)).touches_itself);
    // A bore that touches a side from inside, and one that does not.
    let bored = |y: f64| {
        one.clone()
            .without([rod(2, [5.0, y, 0.0], 3.0, [-1.0, 11.0])])
    };
    assert!(draft(&bored(3.0)).touches_itself);
    assert!(!draft(&bored(4.0)).touches_itself);
}

/// Plane-faced solids with their volumes by hand.
fn plane_faced() -> Vec<(Body, f64)> {
    let step =
        block([0.0; 3], [40.0, 25.0, 18.0]).without([block([22.0, -1.0, 8.0], [41.0, 26.0, 19.0])]);
    let window =
        block([0.0; 3], [30.0, 20.0, 24.0]).without([block([8.0, -1.0, 6.0], [19.0, 21.0, 17.0])]);
    let wedge = prism(0, &[[0.0, 0.0], [30.0, 0.0], [0.0, 18.0]], [0.0, 44.0]);
    let corner = block([0.0; 3], [20.0, 24.0, 28.0]).and(half([20.0, 24.0, 16.0], [1.0, 1.0, 1.0]));
    let stacked =
        block([0.0; 3], [40.0, 34.0, 8.0]).with([block([10.0, 7.0, 8.0], [25.0, 30.0, 20.0])]);
    vec![
        (step, 40.0 * 25.0 * 18.0 - 18.0 * 25.0 * 10.0),
        (window, 20.0 * (30.0 * 24.0 - 11.0 * 11.0)),
        (wedge, 44.0 * 30.0 * 18.0 / 2.0),
        // A corner with legs of 12 mm is cut off: a sixth of their product.
        (corner, 20.0 * 24.0 * 28.0 - 12f64.powi(3) / 6.0),
        (stacked, 40.0 * 34.0 * 8.0 + 15.0 * 23.0 * 12.0),
    ]
}

#[test]
fn engine_reads_drafted_plane_faced_solids_as_the_only_ones() {
    for (i, (body, volume)) in plane_faced().iter().enumerate() {
        let drafting = draft(body);
        let found = drafting.volume();
        assert!(agree(found, *volume, 1e-9), "{i}: {found} {volume}");
        let outcome = answer(&drafting.sheet(Layout::default())).expect("an answer");
        let volumes: Vec<f64> = outcome
            .readings
            .iter()
            .map(|r| r.measures.volume_mm3)
            .collect();
        assert_eq!(volumes.len(), 1, "{i}: {volumes:?} {:?}", outcome.problems);
        assert!(
            agree(volumes[0], *volume, 1e-9),
            "{i}: {volumes:?} {volume}"
        );
    }
}
