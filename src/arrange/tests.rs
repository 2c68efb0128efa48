//! Where lines and arcs meet, and runs along carriers.

use super::split::arrange;
use super::{Arrangement, Run, Slope};
use crate::Options;
use crate::geom::arena::Id;
use crate::geom::carrier::Carrier;
use crate::geom::{P2, V2};
use crate::sheet::{Line, LineType, Shape, Sheet, View, views};

fn line(view: View, from: [f64; 2], to: [f64; 2]) -> Line {
    Line {
        view: Some(view),
        line_type: LineType::Visible,
        shape: Shape::Line { from, to },
    }
}

fn rectangle(view: View, [x, y]: [f64; 2], [w, h]: [f64; 2]) -> Vec<Line> {
    let corners = [[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
    (0..4)
        .map(|i| line(view, corners[i], corners[(i + 1) % 4]))
        .collect()
}

/// The front view of a block 100 wide and high with these shapes in it; the tolerance is 0.05.
fn front(shapes: Vec<Shape>) -> Arrangement {
    let mut lines = rectangle(View::Front, [0.0, 0.0], [100.0, 100.0]);
    lines.extend(rectangle(View::Top, [0.0, 120.0], [100.0, 20.0]));
    lines.extend(rectangle(View::Right, [120.0, 0.0], [20.0, 100.0]));
    lines.extend(shapes.into_iter().map(|shape| Line {
        view: Some(View::Front),
        line_type: LineType::Visible,
        shape,
    }));
    let sheet = Sheet {
        lines,
        ..Sheet::default()
    };
    let drawing = views::drawing(&sheet, &Options::default()).unwrap();
    assert_eq!(drawing.tolerance.mm(), 0.05);
    let ([front, ..], _) = arrange(&drawing).unwrap();
    front
}

fn circle(x: f64, y: f64, radius: f64) -> Shape {
    Shape::Circle {
        center: [x, y],
        radius,
    }
}

fn straight(from: [f64; 2], to: [f64; 2]) -> Shape {
    Shape::Line { from, to }
}

/// Nodes and pieces without the four of the block's outline.
fn counts(view: &Arrangement) -> [usize; 2] {
    [view.nodes.len() - 4, view.pieces.len() - 4]
}

/// The nodes on more than one run, but for the corners of the outline.
fn meeting_places(view: &Arrangement) -> Vec<P2> {
    let inner = |p: &P2| p.x > 1.0 && p.x < 99.0 && p.y > 1.0 && p.y < 99.0;
    let nodes = view.nodes.iter().filter(|n| n.runs.len() > 1);
    nodes.map(|n| n.at).filter(inner).collect()
}

fn near(found: &[P2], expected: &[[f64; 2]]) {
    assert_eq!(found.len(), expected.len(), "{found:?}");
    for point in expected {
        let off = found.iter().map(|p| (p - P2::from(*point)).norm());
        assert!(
            off.fold(f64::INFINITY, f64::min) < 0.06,
            "{point:?} in {found:?}"
        );
    }
}

#[test]
fn a_line_through_a_circle_crosses_it_twice() {
    // Pythagoras: 8 above the centre of a circle of radius 10 the chord reaches 6 to both sides.
    let view = front(vec![
        circle(50.0, 50.0, 10.0),
        straight([20.0, 58.0], [80.0, 58.0]),
    ]);
    near(&meeting_places(&view), &[[44.0, 58.0], [56.0, 58.0]]);
    assert_eq!(counts(&view), [4 + 2 + 2, 4 + 2 + 3]);
}

#[test]
fn a_level_tangent_touches_at_the_extreme_only() {
    for off in [0.0, 0.02, -0.02] {
        let tangent = straight([20.0, 60.0 + off], [80.0, 60.0 + off]);
        let view = front(vec![circle(50.0, 50.0, 10.0), tangent]);
        near(&meeting_places(&view), &[[50.0, 60.0]]);
        assert_eq!(counts(&view), [4 + 2, 4 + 2], "{off}");
    }
}

#[test]
fn a_sloping_tangent_touches_at_its_foot_only() {
    // The line 3 x + 4 y = 350 + 50 k is 10 + 10 k away from (50, 50): its normal is (0.6, 0.8).
    for off in [0.0, 0.03, -0.03] {
        let foot = P2::new(50.0 + 0.6 * (10.0 + off), 50.0 + 0.8 * (10.0 + off));
        let ends = [-20.0, 25.0].map(|s| [foot.x + 0.8 * s, foot.y - 0.6 * s]);
        let view = front(vec![circle(50.0, 50.0, 10.0), straight(ends[0], ends[1])]);
        near(&meeting_places(&view), &[[56.0, 58.0]]);
        assert_eq!(counts(&view), [4 + 3, 5 + 2], "{off}");
    }
}

#[test]
fn a_line_that_comes_no_nearer_than_twice_the_tolerance_does_not_touch() {
    let view = front(vec![
        circle(50.0, 50.0, 10.0),
        straight([20.0, 60.12], [80.0, 60.12]),
    ]);
    near(&meeting_places(&view), &[]);
}

#[test]
fn a_line_may_end_on_a_circle_and_be_off_by_less_than_the_tolerance() {
    let view = front(vec![
        circle(50.0, 50.0, 10.0),
        straight([50.0, 50.0], [56.02, 58.02]),
    ]);
    near(&meeting_places(&view), &[[56.0, 58.0]]);
    assert_eq!(counts(&view), [4 + 2, 5 + 1]);
}

#[test]
fn circles_cross_twice_or_touch_on_the_line_of_their_centres() {
    // Centres 12 apart, radii 10: they cross 8 above and below the middle.
    let crossing = front(vec![circle(40.0, 50.0, 10.0), circle(52.0, 50.0, 10.0)]);
    near(&meeting_places(&crossing), &[[46.0, 42.0], [46.0, 58.0]]);
    // The centres lie in the direction (0.6, 0.8).
    for off in [0.0, 0.03, -0.03] {
        let apart = 15.0 + off;
        let outer = circle(40.0 + 0.6 * apart, 40.0 + 0.8 * apart, 5.0);
        let touching = front(vec![circle(40.0, 40.0, 10.0), outer]);
        near(&meeting_places(&touching), &[[46.0, 48.0]]);
        let apart = 4.0 + off;
        let inner = circle(40.0 + 0.6 * apart, 40.0 + 0.8 * apart, 6.0);
        let touching = front(vec![circle(40.0, 40.0, 10.0), inner]);
        near(&meeting_places(&touching), &[[46.0, 48.0]]);
    }
    let apart = front(vec![circle(40.0, 40.0, 10.0), circle(40.0, 40.0, 9.5)]);
    near(&meeting_places(&apart), &[]);
}

#[test]
fn a_circle_crosses_an_ellipse_four_times() {
    // x² + y² = 50 and x²/64 + y²/36 = 1 (y² = 36·14/28 = 18, x² = 32) about (50, 50).
    let ellipse = Shape::Ellipse {
        center: [50.0, 50.0],
        radii: [8.0, 6.0],
        rotation: 0.0,
    };
    let view = front(vec![circle(50.0, 50.0, 50.0_f64.sqrt()), ellipse]);
    let (x, y) = (32.0_f64.sqrt(), 18.0_f64.sqrt());
    let expected = [[x, y], [-x, y], [-x, -y], [x, -y]].map(|p| p.map(|c| c + 50.0));
    near(&meeting_places(&view), &expected);
    assert_eq!(counts(&view), [12, 16]);
}

#[test]
fn a_sampled_curve_meets_lines_circles_and_other_curves() {
    // The parabola y = 30 + x²/20, its mirror image y = 70 - x²/20, both about x = 50: they cross at x = ±20, y = 50. At the
    // height of 35 the first is at x = ±10, the second at x = ±sqrt(700).
    let parabola = |base: f64, sign: f64| {
        let points = (-28..=28).map(|i| {
            let x = f64::from(i);
            [50.0 + x, base + sign * x * x / 20.0]
        });
        Shape::Curve(points.collect())
    };
    let view = front(vec![
        parabola(30.0, 1.0),
        parabola(70.0, -1.0),
        straight([5.0, 35.0], [95.0, 35.0]),
        circle(50.0, 80.0, 10.0),
    ]);
    near(
        &meeting_places(&view),
        &[
            [30.0, 50.0],
            [70.0, 50.0],
            [40.0, 35.0],
            [60.0, 35.0],
            [50.0 - 700.0_f64.sqrt(), 35.0],
            [50.0 + 700.0_f64.sqrt(), 35.0],
            [50.0, 70.0],
        ],
    );
}

/// The closed runs of a view along carriers.
fn closed(view: &Arrangement) -> Vec<(Id<Run>, &Run)> {
    let runs = view.runs.enumerate();
    runs.filter(|(_, r)| r.slope == Slope::Curved && r.nodes[0] == r.nodes[r.nodes.len() - 1])
        .collect()
}

#[test]
fn a_whole_circle_is_a_closed_run_and_half_of_one_is_not() {
    let half = Shape::Arc {
        center: [20.0, 20.0],
        radius: 5.0,
        start: 135.0,
        end: 315.0,
    };
    let view = front(vec![circle(50.0, 50.0, 10.0), half]);
    let closed = closed(&view);
    assert_eq!(closed.len(), 1);
    assert_eq!(closed[0].1.nodes.len(), 5);
    let open = view
        .runs
        .iter()
        .find(|r| r.slope == Slope::Curved && r.nodes.len() == 4);
    assert_eq!(
        open.unwrap().pieces.len(),
        3,
        "from an end over two extremes to the other end"
    );
}

#[test]
fn the_middle_of_a_piece_lies_on_its_curve() {
    let view = front(vec![circle(50.0, 50.0, 10.0)]);
    let diagonal = 10.0 * 0.5_f64.sqrt();
    for (id, piece) in view.pieces.enumerate().filter(|(_, p)| p.carrier.is_some()) {
        let off = view.middle(id) - P2::new(50.0, 50.0);
        assert!(
            (off.abs() - V2::new(diagonal, diagonal)).norm() < 1e-9,
            "{piece:?}"
        );
    }
}

#[test]
fn cutting_a_closed_run_anywhere_keeps_its_order_and_lines() {
    let mut view = front(vec![circle(50.0, 50.0, 10.0)]);
    let (run, _) = closed(&view)[0];
    // The points of whole numbers on the circle, once round; the places are made up.
    let around = [
        [6, 8],
        [8, 6],
        [8, -6],
        [6, -8],
        [-6, -8],
        [-8, -6],
        [-8, 6],
        [-6, 8],
    ];
    for (i, [x, y]) in (1000..).zip(around) {
        let at = P2::new(50.0 + f64::from(x), 50.0 + f64::from(y));
        let node = view.cut_run(run, [i, i], at);
        assert_eq!(view.cut_run(run, [i, i], at), node);
    }
    let Run {
        nodes,
        pieces,
        carrier,
        ..
    } = &view.runs[run];
    assert_eq!((nodes.len(), pieces.len()), (13, 12));
    assert_eq!(nodes[0], nodes[12]);
    let carrier = &view.carriers[carrier.unwrap() as usize];
    let turn: f64 = nodes
        .windows(2)
        .map(|w| {
            let [from, to] = [0, 1].map(|k| carrier.parameter(&view.nodes[w[k]].at));
            carrier.onward(from, to) - from
        })
        .sum();
    assert!(
        (turn - std::f64::consts::TAU).abs() < 1e-9,
        "once round, not {turn}"
    );
    for (i, node) in nodes.iter().enumerate().take(12) {
        assert_eq!(view.position(run, *node), Some(i));
        let piece = &view.pieces[pieces[i]];
        assert_eq!(piece.ends, [*node, nodes[i + 1]]);
        assert_eq!(piece.lines[..], [12]);
    }
    assert!(matches!(carrier, Carrier::Circle { .. }));
}
