//! Whole runs on curved parts against formulas and tables. All views are written down here by hand, line by line; the
//! figures come from the formula or table named beside each.

use std::f64::consts::PI;

use foldback::{LineType, Measures, Shape, Verdict};

use crate::cells::Point;
use crate::check::{agree, answer};
use crate::drafted_parts::corner;
use crate::drafter::{Body, Stroke, block, difference, draft, frustum, half, ring, rod, set_out};
use crate::layout::Layout;

/// Density of steel in the tables, in grams per cubic millimetre.
const STEEL: f64 = 7.85e-3;

/// The measures of the only reading of these views.
fn only_reading(views: &[Vec<Stroke>; 3], size: Point) -> Measures {
    let outcome = answer(&set_out(views, size, Layout::default())).expect("an answer");
    let volumes: Vec<f64> = outcome
        .readings
        .iter()
        .map(|r| r.measures.volume_mm3)
        .collect();
    assert_eq!(
        outcome.verdict,
        Verdict::Unique,
        "{volumes:?} {:?}",
        outcome.problems
    );
    outcome.readings[0].measures.clone()
}

fn assert_figures(measures: &Measures, volume: f64, surface: f64) {
    let Measures {
        volume_mm3,
        surface_mm2,
        ..
    } = *measures;
    assert!(
        agree(volume_mm3, volume, 1e-8),
        "volume {volume_mm3} instead of {volume}"
    );
    assert!(
        agree(surface_mm2, surface, 1e-8),
        "surface {surface_mm2} instead of {surface}"
    );
}

fn line(line_type: LineType, from: [f64; 2], to: [f64; 2]) -> Stroke {
    (line_type, Shape::Line { from, to })
}

fn path(line_type: LineType, points: &[[f64; 2]]) -> Vec<Stroke> {
    points
        .windows(2)
        .map(|w| line(line_type, w[0], w[1]))
        .collect()
}

fn rectangle([left, low]: [f64; 2], [right, high]: [f64; 2]) -> Vec<Stroke> {
    path(
        LineType::Visible,
        &[
            [left, low],
            [right, low],
            [right, high],
            [left, high],
            [left, low],
        ],
    )
}

fn circle(line_type: LineType, center: [f64; 2], radius: f64) -> Stroke {
    (line_type, Shape::Circle { center, radius })
}

fn arc(line_type: LineType, center: [f64; 2], radius: f64, [start, end]: [f64; 2]) -> Stroke {
    let shape = Shape::Arc {
        center,
        radius,
        start,
        end,
    };
    (line_type, shape)
}

/// The side view of a pipe: a rectangle, and its bore as two hidden lines upright.
fn upright_pipe(outer: f64, inner: f64, height: f64) -> Vec<Stroke> {
    let mut view = rectangle([0.0; 2], [2.0 * outer, height]);
    for x in [outer - inner, outer + inner] {
        view.push(line(LineType::Hidden, [x, 0.0], [x, height]));
    }
    view
}

fn ring_views(outer: f64, inner: f64, height: f64) -> [Vec<Stroke>; 3] {
    let side = upright_pipe(outer, inner, height);
    let top = vec![
        circle(LineType::Visible, [outer; 2], outer),
        circle(LineType::Visible, [outer; 2], inner),
    ];
    [side.clone(), top, side]
}

#[test]
fn ring_has_the_area_of_the_annulus_times_its_height() {
    // V = pi (R^2 - r^2) h; surface 2 pi (R^2 - r^2) + 2 pi (R + r) h: any table of solids (hollow cylinder).
    for [outer, inner, height] in [
        [20.0, 12.0, 9.0],
        [31.75, 31.0, 60.0],
        [100.0 / 3.0, 7.1, 2.3],
    ] {
        let measures = only_reading(
            &ring_views(outer, inner, height),
            [2.0 * outer, 2.0 * outer, height],
        );
        let annulus = PI * (outer * outer - inner * inner);
        assert_figures(
            &measures,
            annulus * height,
            2.0 * annulus + 2.0 * PI * (outer + inner) * height,
        );
        assert_eq!(measures.genus, 1);
    }
}

#[test]
fn washers_weigh_what_the_standard_says() {
    // Plain washers, sizes of ISO 7089, d1 x d2 x h in mm; grams at 7.85 g/cm3 to as many digits as the table has.
    for ([d1, d2, h], grams, digit) in [
        ([8.4, 16.0, 1.6], 1.83, 0.01),
        ([10.5, 20.0, 2.0], 3.57, 0.01),
        ([13.0, 24.0, 2.5], 6.27, 0.01),
        ([17.0, 30.0, 3.0], 11.3, 0.1),
    ] {
        let measures = only_reading(&ring_views(d2 / 2.0, d1 / 2.0, h), [d2, d2, h]);
        let found = measures.volume_mm3 * STEEL;
        assert!(
            (found - grams).abs() <= digit / 2.0,
            "{found} g instead of {grams} g"
        );
    }
}

/// The views of a ring of round wire that lies flat.
fn torus(major: f64, minor: f64) -> [Vec<Stroke>; 3] {
    let wide = major + minor;
    let [near, far] = [minor, minor + 2.0 * major];
    let mut side = vec![
        line(LineType::Visible, [near, 0.0], [far, 0.0]),
        line(LineType::Visible, [near, 2.0 * minor], [far, 2.0 * minor]),
    ];
    // The wire's section is seen as half a circle at either end; the inner halves lie behind the near side.
    for (x, outside, inside) in [
        (near, [90.0, 270.0], [-90.0, 90.0]),
        (far, [-90.0, 90.0], [90.0, 270.0]),
    ] {
        side.push(arc(LineType::Visible, [x, minor], minor, outside));
        side.push(arc(LineType::Hidden, [x, minor], minor, inside));
    }
    let top = vec![
        circle(LineType::Visible, [wide; 2], wide),
        circle(LineType::Visible, [wide; 2], major - minor),
    ];
    [side.clone(), top, side]
}

#[test]
fn ring_of_round_wire_follows_the_rule_of_its_centre_line() {
    // V = 2 pi^2 R r^2, S = 4 pi^2 R r (Pappus and Guldin).
    for [major, minor] in [[22.0, 6.0], [41.3, 2.7], [10.0, 9.0]] {
        let wide = 2.0 * (major + minor);
        let measures = only_reading(&torus(major, minor), [wide, wide, 2.0 * minor]);
        assert_figures(
            &measures,
            2.0 * PI * PI * major * minor * minor,
            4.0 * PI * PI * major * minor,
        );
    }
}

#[test]
fn spherical_cap_follows_its_formula() {
    // V = pi h^2 (3 R - h) / 3, curved surface 2 pi R h, base pi a^2 with a^2 = h (2 R - h): Archimedes; any table of
    // solids. `half` is half the angle of the arc in degrees.
    for [radius, half] in [[25.0, 60.0], [40.0, 30.0], [18.0, 90.0]] {
        let [cosine, sine] = crate::drafter::cos_sin(f64::to_radians(half));
        // The cosine of a right angle is not quite nothing.
        let cosine = if half == 90.0 { 0.0 } else { cosine };
        let (h, a) = (radius * (1.0 - cosine), radius * sine);
        let side = vec![
            line(LineType::Visible, [0.0, 0.0], [2.0 * a, 0.0]),
            arc(
                LineType::Visible,
                [a, h - radius],
                radius,
                [90.0 - half, 90.0 + half],
            ),
        ];
        let top = vec![circle(LineType::Visible, [a; 2], a)];
        let measures = only_reading(&[side.clone(), top, side], [2.0 * a, 2.0 * a, h]);
        assert_figures(
            &measures,
            PI * h * h * (3.0 * radius - h) / 3.0,
            2.0 * PI * radius * h + PI * a * a,
        );
    }
}

/// The views of a cone or frustum by its lower and upper radius.
fn cone([low, high]: [f64; 2], h: f64) -> [Vec<Stroke>; 3] {
    let corners = [
        [low - high, h],
        [0.0, 0.0],
        [2.0 * low, 0.0],
        [low + high, h],
    ];
    let mut side = path(LineType::Visible, &corners);
    let mut top = vec![circle(LineType::Visible, [low; 2], low)];
    if high > 0.0 {
        side.push(line(LineType::Visible, corners[0], corners[3]));
        top.push(circle(LineType::Visible, [low; 2], high));
    }
    [side.clone(), top, side]
}

#[test]
fn cone_and_frustum_follow_their_formulas() {
    // V = pi h / 3 (R^2 + R r + r^2), curved surface pi (R + r) s with s the slant height: any table of solids.
    for [low, high, h] in [[20.0, 8.0, 36.0], [15.0, 0.0, 40.0], [9.5, 9.0, 31.7]] {
        let wide = 2.0 * low;
        let mut side = path(
            LineType::Visible,
            &[[low - high, h], [0.0, 0.0], [wide, 0.0], [low + high, h]],
        );
        let mut top = vec![circle(LineType::Visible, [low; 2], low)];
        if high > 0.0 {
            side.push(line(LineType::Visible, [low - high, h], [low + high, h]));
            top.push(circle(LineType::Visible, [low; 2], high));
        }
        let measures = only_reading(&[side.clone(), top, side], [wide, wide, h]);
        let slant = h.hypot(low - high);
        assert_figures(
            &measures,
            PI * h / 3.0 * (low * low + low * high + high * high),
            PI * (low * low + high * high) + PI * (low + high) * slant,
        );
    }
}

/// The views of what two rods along x and y share: front and right show the rods end-on, the top view a square, whose
/// diagonals are the ellipses where the two meet.
fn two_rods(r: f64) -> [Vec<Stroke>; 3] {
    let round = vec![circle(LineType::Visible, [r; 2], r)];
    let mut top = rectangle([0.0; 2], [2.0 * r; 2]);
    top.push(line(LineType::Visible, [0.0; 2], [2.0 * r; 2]));
    top.push(line(LineType::Visible, [0.0, 2.0 * r], [2.0 * r, 0.0]));
    [round.clone(), top, round]
}

#[test]
fn what_two_equal_crossing_cylinders_share_follows_its_formula() {
    // V = 16/3 r^3 (Archimedes, The Method), S = 16 r^2.
    for r in [10.0, 12.7, 31.3] {
        let measures = only_reading(&two_rods(r), [2.0 * r; 3]);
        assert_figures(&measures, 16.0 / 3.0 * r.powi(3), 16.0 * r * r);
    }
}

/// The views of what three rods share: each shows one rod end-on and, across it, the ellipses where the others meet.
fn three_rods(r: f64) -> [Vec<Stroke>; 3] {
    let [near, far] = [-1.0, 1.0].map(|k| r + k * r / 2f64.sqrt());
    let view = vec![
        circle(LineType::Visible, [r; 2], r),
        line(LineType::Visible, [near, near], [far, far]),
        line(LineType::Visible, [near, far], [far, near]),
    ];
    [view.clone(), view.clone(), view]
}

#[test]
fn what_three_equal_crossing_cylinders_share_follows_its_formula() {
    // V = 8 (2 - sqrt 2) r^3. Every face touches the ball of radius r inside, so V = S r / 3. Other solids have these
    // views as well: see `ambiguous_round`.
    for r in [10.0, 12.7, 31.3] {
        let sheet = set_out(&three_rods(r), [2.0 * r; 3], Layout::default());
        let outcome = answer(&sheet).expect("an answer");
        let figures: Vec<[f64; 2]> = outcome
            .readings
            .iter()
            .map(|reading| [reading.measures.volume_mm3, reading.measures.surface_mm2])
            .collect();
        let volume = 8.0 * (2.0 - 2f64.sqrt()) * r.powi(3);
        let known =
            |[v, s]: &[f64; 2]| agree(*v, volume, 1e-6) && agree(*s, 3.0 * volume / r, 1e-6);
        assert!(figures.iter().any(known), "{volume} not in {figures:?}");
    }
}

/// The views of an upright cylinder cut by a plane that falls to the right, so that the right-side view shows all of it.
fn askew(r: f64, high: f64, low: f64) -> [Vec<Stroke>; 3] {
    let wide = 2.0 * r;
    let corners = [
        [0.0, high],
        [0.0, 0.0],
        [wide, 0.0],
        [wide, low],
        [0.0, high],
    ];
    let front = path(LineType::Visible, &corners);
    let top = vec![circle(LineType::Visible, [r; 2], r)];
    let middle = f64::midpoint(high, low);
    let rise = (high - low) / 2.0;
    let mut right = path(
        LineType::Visible,
        &[[0.0, middle], [0.0, 0.0], [wide, 0.0], [wide, middle]],
    );
    let seen = if rise == r {
        Shape::Circle {
            center: [r, middle],
            radius: r,
        }
    } else {
        Shape::Ellipse {
            center: [r, middle],
            radii: [r, rise],
            rotation: 0.0,
        }
    };
    right.push((LineType::Visible, seen));
    [front, top, right]
}

#[test]
fn cylinder_cut_askew_has_its_mean_height() {
    // V = pi r^2 (h1 + h2) / 2, curved surface pi r (h1 + h2), the cut an ellipse with the axes r and half the slanting
    // line: any table of solids.
    for [r, high, low] in [[12.0, 36.0, 20.0], [15.0, 40.0, 10.0], [7.3, 31.7, 4.9]] {
        let measures = only_reading(&askew(r, high, low), [2.0 * r, 2.0 * r, high]);
        let middle = f64::midpoint(high, low);
        let rise = (high - low) / 2.0;
        assert_figures(
            &measures,
            PI * r * r * middle,
            PI * r * r + 2.0 * PI * r * middle + PI * r * r.hypot(rise),
        );
    }
}

/// The views of a length of H-section that stands as in use, seen end-on from the front.
fn h_section([h, b, tw, tf, r]: [f64; 5], length: f64) -> [Vec<Stroke>; 3] {
    let [left, right] = [(b - tw) / 2.0, f64::midpoint(b, tw)];
    let v = LineType::Visible;
    let mut front = Vec::new();
    // The flanges, each open where the web meets it, the web, and the four root fillets.
    for (outside, inside, root) in [(0.0, tf, tf + r), (h, h - tf, h - tf - r)] {
        front.extend(path(
            v,
            &[
                [left - r, inside],
                [0.0, inside],
                [0.0, outside],
                [b, outside],
                [b, inside],
                [right + r, inside],
            ],
        ));
        let below = outside < inside;
        let [by_left, by_right] = if below {
            [[-90.0, 0.0], [180.0, 270.0]]
        } else {
            [[0.0, 90.0], [90.0, 180.0]]
        };
        front.push(arc(v, [left - r, root], r, by_left));
        front.push(arc(v, [right + r, root], r, by_right));
    }
    for x in [left, right] {
        front.push(line(v, [x, tf + r], [x, h - tf - r]));
    }
    let mut top = rectangle([0.0; 2], [b, length]);
    for x in [left, right] {
        top.push(line(LineType::Hidden, [x, 0.0], [x, length]));
    }
    let mut side = rectangle([0.0; 2], [length, h]);
    for z in [tf, h - tf] {
        side.push(line(v, [0.0, z], [length, z]));
    }
    [front, top, side]
}

#[test]
fn h_sections_with_root_fillets_weigh_what_the_table_says() {
    // Hot-rolled H-sections of EN 10365: h x b x tw x tf x r in mm, kg/m at 7.85 kg/dm3 to as many digits as the table
    // has. The fillets are 3 to 6 % of the area and are seen in the front view only.
    let length = 120.0;
    for (section, kilograms) in [
        ([96.0, 100.0, 5.0, 8.0, 12.0], 16.7),
        ([190.0, 200.0, 6.5, 10.0, 18.0], 42.3),
        ([290.0, 300.0, 8.5, 14.0, 27.0], 88.3),
    ] {
        let [h, b, tw, tf, r] = section;
        let measures = only_reading(&h_section(section, length), [b, length, h]);
        let area = measures.volume_mm3 / length;
        let found = area * STEEL;
        assert!(
            (found - kilograms).abs() <= 0.05,
            "{found} kg/m instead of {kilograms} kg/m"
        );
        // Flanges and web, and four corners of a square of side r without their quarter of a circle.
        let fillets = (4.0 - PI) * r * r;
        assert!(agree(
            area,
            2.0 * b * tf + (h - 2.0 * tf) * tw + fillets,
            1e-8
        ));
        assert!(
            (0.03..0.06).contains(&(fillets / area)),
            "{}",
            fillets / area
        );
    }
}

#[test]
fn views_by_hand_are_those_of_the_drafter() {
    let r = 12.0;
    let center = [0.0; 3];
    let [x, y, z] = [0, 1, 2].map(|axis| rod(axis, center, r, [-20.0, 20.0]));
    let upright = rod(2, center, r, [0.0, 40.0]);
    let slope = half([-r, 0.0, 36.0], [16.0, 0.0, 2.0 * r]);
    let section = [96.0, 100.0, 5.0, 8.0, 12.0];
    let known = [
        (two_rods(r), x.clone().and(y.clone())),
        (three_rods(r), x.and(y).and(z)),
        (askew(r, 36.0, 20.0), upright.and(slope)),
        (
            cone([r, 5.0], 30.0),
            frustum(2, center, [r, 5.0], [0.0, 30.0]),
        ),
        (
            cone([r, 0.0], 30.0),
            frustum(2, center, [r, 0.0], [0.0, 30.0]),
        ),
        (torus(22.0, 6.0), ring(2, center, 22.0, 6.0)),
        (h_section(section, 60.0), h_beam(section, 60.0)),
    ];
    for (i, (by_hand, body)) in known.iter().enumerate() {
        let drafting = draft(body);
        let by_hand = set_out(by_hand, drafting.size, Layout::default());
        let drafted = drafting.sheet(Layout::default());
        assert_eq!(difference(&by_hand, &drafted, 1e-3), None, "{i}");
    }
}

fn h_beam([h, b, tw, tf, r]: [f64; 5], length: f64) -> Body {
    let [left, right] = [(b - tw) / 2.0, f64::midpoint(b, tw)];
    let span = [0.0, length];
    block([0.0; 3], [b, length, tf]).with([
        block([0.0, 0.0, h - tf], [b, length, h]),
        block([left, 0.0, tf], [right, length, h - tf]),
        corner('y', [right, tf], [right + r, tf + r], span),
        corner('y', [right, h - tf], [right + r, h - tf - r], span),
        corner('y', [left, tf], [left - r, tf + r], span),
        corner('y', [left, h - tf], [left - r, h - tf - r], span),
    ])
}

#[test]
fn cylinder_lying_crosswise_shows_as_a_rectangle() {
    // Common practice: a round rod seen from the side is a rectangle, seen end-on a circle.
    for [r, length] in [[9.0, 50.0], [25.4, 12.7], [3.1, 71.9]] {
        let wide = 2.0 * r;
        let long = rectangle([0.0; 2], [length, wide]);
        let end = vec![circle(LineType::Visible, [r; 2], r)];
        let measures = only_reading(&[long.clone(), long, end], [length, wide, wide]);
        assert_figures(&measures, PI * r * r * length, 2.0 * PI * r * (r + length));
        assert_eq!(measures.genus, 0);
    }
}

#[test]
fn bore_in_a_cylinder_shows_as_two_hidden_lines() {
    // Common practice, as above; a blind bore ends in a third hidden line.
    let ([outer, inner], length) = ([14.0, 6.0], 40.0);
    let wide = 2.0 * outer;
    for depth in [length, 25.0] {
        let from = length - depth;
        let mut long = rectangle([0.0; 2], [length, wide]);
        for z in [outer - inner, outer + inner] {
            long.push(line(LineType::Hidden, [from, z], [length, z]));
        }
        if from > 0.0 {
            let [low, high] = [outer - inner, outer + inner];
            long.push(line(LineType::Hidden, [from, low], [from, high]));
        }
        let end = vec![
            circle(LineType::Visible, [outer; 2], outer),
            circle(LineType::Visible, [outer; 2], inner),
        ];
        let measures = only_reading(&[long.clone(), long, end], [length, wide, wide]);
        let volume = PI * (outer * outer * length - inner * inner * depth);
        assert!(agree(measures.volume_mm3, volume, 1e-8), "{measures:?}");
        assert_eq!(measures.genus, usize::from(from == 0.0));
    }
}
