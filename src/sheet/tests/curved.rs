//! Where circles, arcs and curves come to lie.

use super::*;
use crate::arrange::Arrangement;
use crate::arrange::split::arrange;
use crate::geom::carrier::Carrier;
use crate::geom::num::sin_cos_degrees;

fn drawn_as(shape: Shape, line_type: LineType) -> Line {
    Line {
        view: None,
        line_type,
        shape,
    }
}

fn visible(shape: Shape) -> Line {
    drawn_as(shape, LineType::Visible)
}

fn circle(center: [f64; 2], radius: f64) -> Shape {
    Shape::Circle { center, radius }
}

fn arc(center: [f64; 2], radius: f64, start: f64, end: f64) -> Shape {
    Shape::Arc {
        center,
        radius,
        start,
        end,
    }
}

/// Points of an ellipse from one eccentric angle to another, in degrees.
fn sampled(center: [f64; 2], radii: [f64; 2], [from, to]: [f64; 2], steps: u32) -> Vec<[f64; 2]> {
    (0..=steps)
        .map(|i| {
            let turn = from + (to - from) * f64::from(i) / f64::from(steps);
            let (sin, cos) = sin_cos_degrees(turn);
            [center[0] + radii[0] * cos, center[1] + radii[1] * sin]
        })
        .collect()
}

/// The block of 40 by 20 by 30 with more lines.
fn block_with(lines: Vec<Line>) -> Drawing {
    let mut sheet = block();
    sheet.lines.extend(lines);
    drawn(&sheet)
}

/// The ends of the arcs of a view in its own millimetres.
fn ends(drawing: &Drawing, view: View) -> Vec<[[f64; 2]; 2]> {
    let arcs = drawing.arcs[view.index()].iter();
    arcs.map(|a| [a.from, a.to].map(|end| drawing.at(view, end)))
        .collect()
}

#[test]
fn a_circle_becomes_four_arcs_between_its_extremes() {
    let drawing = block_with(vec![visible(circle([10.0, 12.0], 5.0))]);
    assert!(drawing.is_curved() && !drawn(&block()).is_curved());
    let [right, top, left, bottom] = [[15.0, 12.0], [10.0, 17.0], [5.0, 12.0], [10.0, 7.0]];
    assert_eq!(
        ends(&drawing, View::Front),
        [[right, top], [top, left], [left, bottom], [bottom, right]]
    );
    assert!(matches!(
        drawing.carriers[0][..],
        [Carrier::Circle { center, radius: 5.0 }] if center == [10.0, 12.0].into()
    ));
    assert_eq!(drawing.warnings, []);
}

#[test]
fn an_ellipse_with_equal_radii_is_a_circle() {
    let ellipse = Shape::Ellipse {
        center: [10.0, 12.0],
        radii: [5.0, 5.001],
        rotation: 30.0,
    };
    let drawing = block_with(vec![visible(ellipse)]);
    assert!(matches!(drawing.carriers[0][..], [Carrier::Circle { .. }]));
    assert_eq!(drawing.arcs[0].len(), 4);
}

#[test]
fn a_turned_ellipse_is_split_where_its_tangent_is_level_or_upright() {
    let ellipse = Shape::Ellipse {
        center: [20.0, 15.0],
        radii: [10.0, 4.0],
        rotation: 45.0,
    };
    let drawing = block_with(vec![visible(ellipse)]);
    // The box of an ellipse turned by 45 degrees is a square of half side sqrt((a² + b²) / 2).
    let reach = (116.0_f64 / 2.0).sqrt();
    let ends = ends(&drawing, View::Front);
    assert_eq!(ends.len(), 4);
    for [right, up] in ends.map_ends() {
        let extreme = |c: f64| ((c.abs()) - reach).abs() < 1e-9;
        assert!(
            extreme(right - 20.0) != extreme(up - 15.0),
            "({right}, {up})"
        );
    }
}

trait Ends {
    fn map_ends(self) -> Vec<[f64; 2]>;
}

impl Ends for Vec<[[f64; 2]; 2]> {
    fn map_ends(self) -> Vec<[f64; 2]> {
        self.into_iter().map(|[from, _]| from).collect()
    }
}

#[test]
fn halves_and_the_whole_drawn_over_them_are_one_carrier_with_all_lines() {
    let center = [10.0, 12.0];
    let drawing = block_with(vec![
        visible(arc(center, 5.0, 20.0, 200.0)),
        visible(arc(center, 5.0, 200.0, 380.0)),
        visible(circle([10.005, 12.0], 5.004)),
    ]);
    assert_eq!(drawing.carriers[0].len(), 1);
    let mut pieces: Vec<[[u32; 2]; 2]> = drawing.arcs[0].iter().map(|a| [a.from, a.to]).collect();
    pieces.sort_unstable();
    pieces.dedup();
    assert_eq!(pieces.len(), 4, "the joints of the halves mean nothing");
    let mut lines: Vec<u32> = drawing.arcs[0].iter().map(|a| a.line).collect();
    lines.sort_unstable();
    lines.dedup();
    assert_eq!(lines, [12, 13, 14]);
}

#[test]
fn a_hidden_circle_shows_only_where_no_visible_arc_lies_on_it() {
    // ISO 128-2: of lines that coincide, the visible one is drawn.
    let center = [10.0, 12.0];
    let drawing = block_with(vec![
        drawn_as(circle(center, 5.0), LineType::Hidden),
        visible(arc(center, 5.0, 0.0, 120.0)),
    ]);
    assert_eq!(drawing.carriers[0].len(), 1);
    let turn = |a: &crate::sheet::Arc| {
        let [from, to] = [a.from, a.to].map(|end| drawing.at(View::Front, end).into());
        let carrier = &drawing.carriers[0][0];
        let from = carrier.parameter(&from);
        (carrier.onward(from, carrier.parameter(&to)) - from).to_degrees()
    };
    let total = |hidden: bool| -> f64 {
        let arcs = drawing.arcs[0].iter().filter(|a| a.hidden == hidden);
        arcs.map(turn).sum()
    };
    assert!((total(false) - 120.0).abs() < 1e-6 && (total(true) - 240.0).abs() < 1e-6);
}

#[test]
fn the_extreme_of_a_circle_and_the_contour_in_another_view_share_a_place() {
    // A bore of radius 5 in the front view; its contours in the top view are 0.01 off, and end 0.01 short.
    let drawing = block_with(vec![
        visible(circle([10.0, 12.0], 5.0)),
        line([15.01, 50.0], [15.01, 69.99]),
        line([4.99, 50.0], [4.99, 70.0]),
    ]);
    assert_eq!(drawing.axes[0].len(), 5, "{:?}", drawing.axes[0]);
    assert_eq!(drawing.axes[1].len(), 2);
    let contour = drawing.views[View::Top.index()][4].from[0];
    let right = drawing.arcs[0][0].from[0];
    assert_eq!(contour, right);
}

#[test]
fn an_arc_that_misses_the_end_of_a_line_meets_it() {
    // A rounded corner; the level line ends 0.015 too far along the tangent, the upright one 0.015 short.
    let drawing = block_with(vec![
        line([5.0, 25.0], [15.015, 25.01]),
        visible(arc([15.0, 20.0], 5.0, 0.0, 90.0)),
        line([20.01, 20.015], [20.0, 10.0]),
    ]);
    let segments = &drawing.views[0];
    let [[right, top]] = ends(&drawing, View::Front)[..] else {
        panic!("{:?}", drawing.arcs)
    };
    assert_eq!(drawing.at(View::Front, segments[4].to), top);
    assert_eq!(drawing.at(View::Front, segments[5].from), right);
}

#[test]
fn a_sampled_curve_runs_between_the_line_ends_it_misses() {
    // Part of an ellipse, so that it is no circle; its ends miss the lines by up to 0.015.
    let mut points = sampled([10.0, 10.0], [8.0, 5.0], [10.0, 80.0], 12);
    let (first, last) = (points[0], points[12]);
    points[0][1] += 0.015;
    points[12][0] -= 0.015;
    let drawing = block_with(vec![
        visible(Shape::Curve(points)),
        line(first, [first[0], 2.0]),
        line(last, [2.0, last[1]]),
    ]);
    assert!(matches!(drawing.carriers[0][..], [Carrier::Free { .. }]));
    let ends = ends(&drawing, View::Front);
    let segments = &drawing.views[0];
    let corners = [4, 5].map(|i| drawing.at(View::Front, segments[i].from));
    assert_eq!(ends, [corners]);
}

#[test]
fn points_of_a_circle_are_its_arc_and_points_of_a_line_a_line() {
    let drawing = block_with(vec![
        visible(Shape::Curve(sampled(
            [10.0, 12.0],
            [5.0, 5.0],
            [0.0, 90.0],
            9,
        ))),
        visible(arc([10.0, 12.0], 5.0, 90.0, 360.0)),
        visible(Shape::Curve(vec![
            [30.0, 1.0],
            [31.0, 2.0],
            [32.0, 3.0],
            [33.0, 4.0],
        ])),
    ]);
    assert!(matches!(drawing.carriers[0][..], [Carrier::Circle { .. }]));
    assert_eq!((drawing.arcs[0].len(), drawing.views[0].len()), (4, 5));
}

#[test]
fn a_curve_drawn_in_overlapping_parts_is_one_carrier_split_where_it_turns() {
    let points = sampled([20.0, 10.0], [8.0, 5.0], [10.0, 170.0], 32);
    let drawing = block_with(vec![
        visible(Shape::Curve(points[..20].to_vec())),
        drawn_as(
            Shape::Curve(points[12..].iter().rev().copied().collect()),
            LineType::Hidden,
        ),
        visible(Shape::Curve(sampled(
            [20.0, 10.0],
            [8.0, 5.0],
            [30.0, 70.0],
            9,
        ))),
    ]);
    assert_eq!(drawing.carriers[0].len(), 1);
    // Visible to the top, once for each of its two lines, visible to the end of the first part, then hidden.
    assert_eq!(drawing.arcs[0].len(), 4);
    assert_eq!(drawing.arcs[0].iter().filter(|a| a.hidden).count(), 1);
    let highest = |a: &[f64; 2], b: &[f64; 2]| a[1].total_cmp(&b[1]);
    let top = ends(&drawing, View::Front)
        .concat()
        .into_iter()
        .max_by(highest)
        .unwrap();
    assert!(
        (top[0] - 20.0).abs() < 0.02 && (top[1] - 15.0).abs() < 1e-3,
        "{top:?}"
    );
}

/// The corners of a regular polygon.
fn polygon(center: [f64; 2], radius: f64, corners: u32) -> Vec<[f64; 2]> {
    sampled(center, [radius, radius], [0.0, 360.0], corners)
}

#[test]
fn a_circle_drawn_as_short_lines_is_read_as_a_circle_and_told() {
    let corners = polygon([12.0, 60.0], 5.0, 36);
    let single = corners.windows(2).map(|w| line(w[0], w[1])).collect();
    let whole = vec![visible(Shape::Polyline(corners.clone()))];
    let twice = [&whole[..], &whole[..]].concat();
    for lines in [single, whole, twice] {
        let drawing = block_with(lines);
        assert_eq!(drawing.views[View::Top.index()].len(), 4);
        assert!(matches!(drawing.carriers[1][..], [Carrier::Circle { .. }]));
        let told = messages(&drawing.warnings, RemarkKind::ChordsAsCircle);
        assert_eq!(
            told[0],
            "the circle at (12, 60) mm in the top view is drawn as 36 short lines; read as a circle of radius 5 mm"
        );
        let mut ends = ends(&drawing, View::Top).map_ends();
        ends.dedup();
        assert_eq!(ends.len(), 4);
    }
}

#[test]
fn a_polygon_of_fewer_than_twelve_sides_stays_one() {
    for corners in [6, 8, 11] {
        let drawing = block_with(vec![visible(Shape::Polyline(polygon(
            [12.0, 60.0],
            5.0,
            corners,
        )))]);
        assert!(!drawing.is_curved(), "{corners}");
        assert_eq!(drawing.views[1].len(), 4 + corners as usize);
        assert_eq!(
            messages(&drawing.warnings, RemarkKind::ChordsAsCircle),
            [""; 0]
        );
    }
}

/// Nodes, pieces and hidden pieces of each view.
fn counts(views: &[Arrangement; 3]) -> [[usize; 3]; 3] {
    views.each_ref().map(|v| {
        let hidden = v.pieces.iter().filter(|p| p.hidden).count();
        [v.nodes.len(), v.pieces.len(), hidden]
    })
}

/// What must hold for every arrangement; that pieces are monotone only if no curve comes near itself.
fn sane(name: &str, drawing: &Drawing, views: &[Arrangement; 3], monotone: bool) {
    for view in views {
        for run in view.runs.iter() {
            assert_eq!(run.nodes.len(), run.pieces.len() + 1, "{name}");
            for (pair, piece) in run.nodes.windows(2).zip(&run.pieces) {
                let piece = &view.pieces[*piece];
                assert_eq!(
                    (piece.ends, piece.carrier),
                    ([pair[0], pair[1]], run.carrier),
                    "{name}"
                );
                assert!(pair[0] != pair[1], "{name}");
                assert!(piece.carrier.is_none() || !piece.lines.is_empty(), "{name}");
            }
        }
        for (id, node) in view.nodes.enumerate() {
            for (run, position) in &node.runs {
                assert_eq!(view.runs[*run].nodes[*position as usize], id, "{name}");
            }
        }
        for (id, piece) in view.pieces.enumerate() {
            let Some(carrier) = piece.carrier.map(|c| &view.carriers[c as usize]) else {
                continue;
            };
            let [from, to] = piece.ends.map(|end| view.nodes[end].at);
            let middle = view.middle(id);
            assert!(carrier.distance(&middle) < 1e-9, "{name}");
            // Monotone: its middle lies between its ends.
            let slack = 4.0 * drawing.tolerance.mm();
            for k in 0..2 {
                let (low, high) = (from[k].min(to[k]) - slack, from[k].max(to[k]) + slack);
                assert!(
                    !monotone || (low..=high).contains(&middle[k]),
                    "{name}: {from} {middle} {to}"
                );
            }
        }
    }
}

#[test]
fn json_and_svg_of_every_curved_reference_sheet_have_the_same_nodes_and_pieces() {
    for name in curved_names() {
        let [json, svg] = ["json", "svg"].map(|format| {
            let drawing = drawn(&reference(&format!("{name}.{format}")));
            assert!(drawing.is_curved() && drawing.problems.is_empty(), "{name}");
            let (views, _) = arrange(&drawing).unwrap();
            sane(&name, &drawing, &views, true);
            counts(&views)
        });
        assert_eq!(json, svg, "{name}");
    }
}

/// A plate with three holes, a slot and two rounded corners in the top view, with everything that shows in the others.
fn plate() -> Sheet {
    let mut lines = rectangle([0.0, 0.0], [120.0, 10.0]);
    lines.extend(rectangle([150.0, 0.0], [80.0, 10.0]));
    // The outline in the top view, from y = 50, with corners of radius 15 at the far side.
    lines.extend([
        line([0.0, 50.0], [120.0, 50.0]),
        line([120.0, 50.0], [120.0, 115.0]),
        visible(arc([105.0, 115.0], 15.0, 0.0, 90.0)),
        line([105.0, 130.0], [15.0, 130.0]),
        visible(arc([15.0, 115.0], 15.0, 90.0, 180.0)),
        line([0.0, 115.0], [0.0, 50.0]),
    ]);
    let hidden = |from, to| drawn_as(Shape::Line { from, to }, LineType::Hidden);
    for ([x, y], r) in [
        ([15.0, 115.0], 6.0),
        ([105.0, 115.0], 6.0),
        ([60.0, 70.0], 11.0),
    ] {
        lines.push(visible(circle([x, y], r)));
        for side in [-r, r] {
            lines.push(hidden([x + side, 0.0], [x + side, 10.0]));
            lines.push(hidden([y + side + 100.0, 0.0], [y + side + 100.0, 10.0]));
        }
    }
    // The slot: from x = 40 to x = 80 between its centres, at y = 100, of radius 8.
    lines.extend([
        line([40.0, 108.0], [80.0, 108.0]),
        visible(arc([80.0, 100.0], 8.0, 270.0, 450.0)),
        line([80.0, 92.0], [40.0, 92.0]),
        visible(arc([40.0, 100.0], 8.0, 90.0, 270.0)),
    ]);
    for x in [32.0, 88.0] {
        lines.push(hidden([x, 0.0], [x, 10.0]));
    }
    for y in [92.0, 108.0] {
        lines.push(hidden([y + 100.0, 0.0], [y + 100.0, 10.0]));
    }
    sheet(&[lines])
}

#[test]
fn a_rounded_slot_has_no_needless_nodes() {
    let drawing = drawn(&plate());
    let (views, _) = arrange(&drawing).unwrap();
    sane("plate", &drawing, &views, true);
    // Outline 6 corners and rounds' ends; each hole 4; the slot 4 where lines and rounds meet and 2 extremes.
    assert_eq!(views[1].nodes.len(), 6 + 3 * 4 + 6);
    assert_eq!(views[1].pieces.len(), 6 + 3 * 4 + 6);
    let closed = views[1]
        .runs
        .iter()
        .filter(|r| r.nodes[0] == r.nodes[r.nodes.len() - 1]);
    assert_eq!(closed.count(), 3);
}

/// The sheet with every number moved by up to `by` sheet units or degrees.
fn shaken(sheet: &Sheet, by: f64, dice: &mut Dice) -> Sheet {
    let mut sheet = sheet.clone();
    let mut shake = |c: &mut f64| *c += by * dice.unit();
    for line in &mut sheet.lines {
        match &mut line.shape {
            Shape::Line { from, to } => from.iter_mut().chain(to).for_each(&mut shake),
            Shape::Polyline(points) | Shape::Curve(points) => {
                points.iter_mut().flatten().for_each(&mut shake);
            }
            Shape::Circle { center, radius } => {
                center.iter_mut().chain([radius]).for_each(&mut shake);
            }
            Shape::Arc {
                center,
                radius,
                start,
                end,
            } => {
                let numbers = center.iter_mut().chain([radius, start, end]);
                numbers.for_each(&mut shake);
            }
            Shape::Ellipse {
                center,
                radii,
                rotation,
            } => {
                let numbers = center.iter_mut().chain(radii).chain([rotation]);
                numbers.for_each(&mut shake);
            }
            Shape::EllipticalArc {
                center,
                radii,
                rotation,
                start,
                end,
            } => {
                let numbers = center.iter_mut().chain(radii);
                numbers.chain([rotation, start, end]).for_each(&mut shake);
            }
        }
    }
    sheet
}

fn counts_of(sheet: &Sheet, options: &Options) -> Option<[[usize; 3]; 3]> {
    let drawing = views::drawing(sheet, options).ok()?;
    let (views, _) = arrange(&drawing).unwrap();
    sane("shaken", &drawing, &views, true);
    drawing.problems.is_empty().then(|| counts(&views))
}

#[test]
fn numbers_off_by_a_fiftieth_of_a_millimetre_give_the_same_nodes_and_pieces() {
    let mut dice = Dice(0xd1ce_0004);
    let exact = counts_of(&plate(), &Options::default());
    for _ in 0..200 {
        let sheet = shaken(&plate(), 0.02, &mut dice);
        assert_eq!(counts_of(&sheet, &Options::default()), exact);
    }
}

// Five times the noise is common practice for a tolerance. The sheets that change have places nearer than that to one
// another, or arcs shorter than the noise, which a shake may turn into nearly whole circles.
#[test]
fn shaken_reference_sheets_mostly_keep_their_nodes_and_pieces() {
    let mut dice = Dice(0xd1ce_0005);
    let options = with_tolerance(0.1);
    for (class, at_least) in [("c", 57), ("k", 50), ("x", 50)] {
        let mut kept = 0;
        for name in curved_names().iter().filter(|n| n.starts_with(class)) {
            let sheet = reference(&format!("{name}.json"));
            let exact = counts_of(&sheet, &options);
            let by = 0.02 / sheet.unit.millimetres();
            let same =
                (0..4).filter(|_| counts_of(&shaken(&sheet, by, &mut dice), &options) == exact);
            kept += same.count();
        }
        assert!(kept >= at_least, "{class}: {kept} of 60");
    }
}

/// The block with curves of all kinds thrown onto a coarse grid, so that much meets, touches and overlaps.
fn wild_curves(dice: &mut Dice) -> (Sheet, f64) {
    let mut sheet = block();
    for _ in 0..1 + dice.below(12) {
        let view = dice.below(3);
        let corner = [[0.0, 0.0], [0.0, 50.0], [60.0, 0.0]][view];
        let mut number =
            |steps: usize, size: f64| size * dice.below(steps + 1) as f64 / steps as f64;
        let center = [
            corner[0] + 8.0 + number(4, 4.0),
            corner[1] + 8.0 + number(4, 4.0),
        ];
        let radii = [1.0 + number(6, 7.0), 1.0 + number(6, 7.0)];
        let (start, end, rotation) = (number(8, 360.0), number(8, 360.0), number(4, 180.0));
        let shape = match dice.below(7) {
            0 => circle(center, radii[0]),
            1 => arc(center, radii[0], start, end),
            2 => Shape::Ellipse {
                center,
                radii,
                rotation,
            },
            3 => Shape::EllipticalArc {
                center,
                radii,
                rotation,
                start,
                end,
            },
            4 => Shape::Curve(sampled(center, radii, [start, end], 9)),
            5 => Shape::Polyline(polygon(center, radii[0], 24)),
            _ => Shape::Line {
                from: center,
                to: [center[0] + radii[0] - 4.0, center[1] + radii[1] - 4.0],
            },
        };
        let line_type = [LineType::Visible, LineType::Hidden][dice.below(2)];
        sheet.lines.push(drawn_as(shape, line_type));
    }
    let by = [0.0, 1e-6, 0.004, 0.3][dice.below(4)];
    let block: Vec<Line> = sheet.lines.drain(..12).collect();
    let mut sheet = shaken(&sheet, by, dice);
    sheet.lines.splice(..0, block);
    (sheet, by)
}

#[test]
fn no_curves_make_the_arrangement_panic_and_what_comes_out_is_in_order() {
    let mut dice = Dice(0xd1ce_0006);
    let mut drawings = 0;
    for i in 0..4000 {
        let (sheet, by) = wild_curves(&mut dice);
        let Ok(drawing) = views::drawing(&sheet, &Options::default()) else {
            continue;
        };
        drawings += 1;
        let (views, _) = arrange(&drawing).unwrap();
        sane(&format!("wild {i}"), &drawing, &views, by < 0.01);
        for view in View::ALL {
            let [right, up] = view.axes().map(|axis| drawing.axes[axis].len());
            let carriers = drawing.carriers[view.index()].len();
            for a in &drawing.arcs[view.index()] {
                assert!(a.from != a.to && (a.carrier as usize) < carriers);
                assert!((a.line as usize) < sheet.lines.len());
                for end in [a.from, a.to] {
                    assert!((end[0] as usize) < right && (end[1] as usize) < up);
                }
            }
        }
    }
    assert!(drawings > 2000, "only {drawings} drawings came of it");
}
