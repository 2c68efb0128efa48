//! Whole runs against formulas and tables: the views are written down here line by line, the figures by formula.

use foldback::{Measures, Verdict};

use crate::check::{agree, answer};
use crate::layout::{Layout, Stroke, Views};

/// The measures of the only reading of these views.
fn only_reading(views: &Views) -> Measures {
    let outcome = answer(&views.sheet(Layout::default())).expect("an answer");
    assert_eq!(
        outcome.verdict,
        Verdict::Unique,
        "{:?} {:?}",
        outcome.problems,
        outcome.readings
    );
    outcome.readings[0].measures.clone()
}

fn assert_measures(measures: &Measures, volume: f64, surface: f64, counts: [usize; 3]) {
    let Measures {
        volume_mm3,
        surface_mm2,
        faces,
        edges,
        vertices,
        shells,
        genus,
        ..
    } = *measures;
    assert!(
        agree(volume_mm3, volume, 1e-9),
        "volume {volume_mm3} instead of {volume}"
    );
    assert!(
        agree(surface_mm2, surface, 1e-9),
        "surface {surface_mm2} instead of {surface}"
    );
    assert_eq!([faces, edges, vertices], counts);
    assert_eq!([shells, genus], [1, 0]);
}

fn assert_centroid(measures: &Measures, centroid: [f64; 3]) {
    for (found, known) in measures.centroid_mm.iter().zip(centroid) {
        assert!(
            agree(*found, known, 1e-9),
            "centroid {:?} instead of {centroid:?}",
            measures.centroid_mm
        );
    }
}

/// Strokes of one type between these points, one after the other.
fn path(hidden: bool, points: &[[f64; 2]]) -> Vec<Stroke> {
    points
        .windows(2)
        .map(|w| Stroke {
            from: w[0],
            to: w[1],
            hidden,
        })
        .collect()
}

fn visible(points: &[[f64; 2]]) -> Vec<Stroke> {
    path(false, points)
}

fn rectangle([left, low]: [f64; 2], [right, high]: [f64; 2]) -> Vec<Stroke> {
    visible(&[
        [left, low],
        [right, low],
        [right, high],
        [left, high],
        [left, low],
    ])
}

#[test]
fn box_has_the_product_of_its_sides() {
    let [w, d, h] = [40.0, 20.0, 30.0];
    let zero = [0.0, 0.0];
    let views = Views {
        strokes: [
            rectangle(zero, [w, h]),
            rectangle(zero, [w, d]),
            rectangle(zero, [d, h]),
        ],
        size: [w, d, h],
    };
    let measures = only_reading(&views);
    assert_measures(
        &measures,
        w * d * h,
        2.0 * (w * d + d * h + h * w),
        [6, 12, 8],
    );
    assert_centroid(&measures, [w / 2.0, d / 2.0, h / 2.0]);
}

#[test]
fn wedge_has_half_the_volume_of_its_box() {
    // A right triangular prism: volume is base area times length, the centroid of a triangle is the mean of its corners.
    for [w, d, h] in [
        [40.0, 20.0, 30.0],
        [33.3, 21.7, 4.9],
        [100.0, 1.0 / 3.0, 0.7],
    ] {
        let zero = [0.0, 0.0];
        let views = Views {
            strokes: [
                visible(&[zero, [w, 0.0], [0.0, h], zero]),
                rectangle(zero, [w, d]),
                rectangle(zero, [d, h]),
            ],
            size: [w, d, h],
        };
        let measures = only_reading(&views);
        let surface = w * h + d * (w + h + w.hypot(h));
        assert_measures(&measures, w * d * h / 2.0, surface, [5, 9, 6]);
        assert_centroid(&measures, [w / 3.0, d / 2.0, h / 3.0]);
    }
}

#[test]
fn pyramid_has_a_third_of_base_times_height() {
    // V = A h / 3, centroid at h / 4 above the base; the slant height is that of each face's triangle.
    for [w, d, h] in [[40.0, 40.0, 30.0], [30.0, 50.0, 41.7], [12.7, 25.4, 3.175]] {
        let zero = [0.0, 0.0];
        let apex = [w / 2.0, d / 2.0];
        let mut top = rectangle(zero, [w, d]);
        top.extend(visible(&[zero, apex, [w, d]]));
        top.extend(visible(&[[w, 0.0], apex, [0.0, d]]));
        let views = Views {
            strokes: [
                visible(&[zero, [w, 0.0], [w / 2.0, h], zero]),
                top,
                visible(&[zero, [d, 0.0], [d / 2.0, h], zero]),
            ],
            size: [w, d, h],
        };
        let measures = only_reading(&views);
        let surface = w * d + w * h.hypot(d / 2.0) + d * h.hypot(w / 2.0);
        assert_measures(&measures, w * d * h / 3.0, surface, [5, 8, 5]);
        assert_centroid(&measures, [w / 2.0, d / 2.0, h / 4.0]);
    }
}

#[test]
fn frustum_has_the_volume_of_the_two_areas_and_their_mean() {
    // V = h / 3 (A1 + A2 + sqrt(A1 A2)): the prismoidal formula for a frustum of a pyramid, found in any table book.
    for [a, b, h] in [[40.0, 20.0, 30.0], [31.3, 30.1, 17.9], [25.0, 5.0, 60.0]] {
        let inset = (a - b) / 2.0;
        let [near, far] = [inset, a - inset];
        let side = visible(&[[0.0, 0.0], [a, 0.0], [far, h], [near, h], [0.0, 0.0]]);
        let mut top = rectangle([0.0, 0.0], [a, a]);
        top.extend(rectangle([near, near], [far, far]));
        for (outer, inner) in [
            ([0.0, 0.0], [near, near]),
            ([a, 0.0], [far, near]),
            ([a, a], [far, far]),
            ([0.0, a], [near, far]),
        ] {
            top.extend(visible(&[outer, inner]));
        }
        let measures = only_reading(&Views {
            strokes: [side.clone(), top, side],
            size: [a, a, h],
        });
        let volume = h / 3.0 * (a * a + b * b + (a * a * b * b).sqrt());
        let surface = a * a + b * b + 2.0 * (a + b) * h.hypot(inset);
        assert_measures(&measures, volume, surface, [6, 12, 8]);
    }
}

#[test]
fn hexagonal_prism_follows_the_widths_across_flats_of_fasteners() {
    // Widths across flats of M6, M8, M10, M12, M16 and M20 heads after ISO 272 / ISO 4014, from memory; the heights are
    // nominal head heights k of ISO 4014, from memory. Area (sqrt(3) / 2) s^2, side s / sqrt(3).
    for [s, h] in [
        [10.0, 4.0],
        [13.0, 5.3],
        [16.0, 6.4],
        [18.0, 7.5],
        [24.0, 10.0],
        [30.0, 12.5],
    ] {
        let side = s / 3f64.sqrt();
        // Corners point along x: four lines in the front view, three in the right-side view.
        let across = 2.0 * side;
        let [p, q] = [side / 2.0, 1.5 * side];
        let outline = [
            [0.0, s / 2.0],
            [p, 0.0],
            [q, 0.0],
            [across, s / 2.0],
            [q, s],
            [p, s],
            [0.0, s / 2.0],
        ];
        let mut front = rectangle([0.0, 0.0], [across, h]);
        front.extend(visible(&[[p, 0.0], [p, h]]));
        front.extend(visible(&[[q, 0.0], [q, h]]));
        let mut right = rectangle([0.0, 0.0], [s, h]);
        right.extend(visible(&[[s / 2.0, 0.0], [s / 2.0, h]]));
        let measures = only_reading(&Views {
            strokes: [front, visible(&outline), right],
            size: [across, s, h],
        });
        let area = 3f64.sqrt() / 2.0 * s * s;
        assert_measures(
            &measures,
            area * h,
            2.0 * area + 6.0 * side * h,
            [8, 18, 12],
        );
        assert_centroid(&measures, [side, s / 2.0, h / 2.0]);
    }
}

#[test]
fn octagonal_prism_follows_its_width_across_flats() {
    // Area 2 (sqrt(2) - 1) s^2, side (sqrt(2) - 1) s: the regular octagon as a square with its corners cut off.
    for [s, h] in [[20.0, 35.0], [17.3, 8.1], [50.8, 101.6]] {
        let side = (2f64.sqrt() - 1.0) * s;
        let [p, q] = [(s - side) / 2.0, f64::midpoint(s, side)];
        let outline = [
            [p, 0.0],
            [q, 0.0],
            [s, p],
            [s, q],
            [q, s],
            [p, s],
            [0.0, q],
            [0.0, p],
            [p, 0.0],
        ];
        let mut elevation = rectangle([0.0, 0.0], [s, h]);
        elevation.extend(visible(&[[p, 0.0], [p, h]]));
        elevation.extend(visible(&[[q, 0.0], [q, h]]));
        let views = Views {
            strokes: [elevation.clone(), visible(&outline), elevation],
            size: [s, s, h],
        };
        let measures = only_reading(&views);
        let area = 2.0 * (2f64.sqrt() - 1.0) * s * s;
        assert_measures(
            &measures,
            area * h,
            2.0 * area + 8.0 * side * h,
            [10, 24, 16],
        );
        assert_centroid(&measures, [s / 2.0, s / 2.0, h / 2.0]);
    }
}

#[test]
fn hole_through_a_box_takes_its_own_volume_away() {
    let [w, d, h] = [40.0, 30.0, 20.0];
    let [low, high] = [[10.0, 8.0], [25.0, 20.0]];
    let zero = [0.0, 0.0];
    let mut front = rectangle(zero, [w, h]);
    front.extend(
        [low[0], high[0]]
            .iter()
            .flat_map(|x| path(true, &[[*x, 0.0], [*x, h]])),
    );
    let mut top = rectangle(zero, [w, d]);
    top.extend(rectangle(low, high));
    let mut right = rectangle(zero, [d, h]);
    right.extend(
        [low[1], high[1]]
            .iter()
            .flat_map(|y| path(true, &[[*y, 0.0], [*y, h]])),
    );
    let measures = only_reading(&Views {
        strokes: [front, top, right],
        size: [w, d, h],
    });
    let hole = (high[0] - low[0]) * (high[1] - low[1]);
    assert!(
        agree(measures.volume_mm3, (w * d - hole) * h, 1e-9),
        "{measures:?}"
    );
    assert_eq!(
        [measures.faces, measures.edges, measures.vertices],
        [10, 24, 16]
    );
    assert_eq!([measures.shells, measures.genus], [1, 1]);
}
