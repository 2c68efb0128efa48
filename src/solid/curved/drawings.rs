//! Drawings of hand-made solids held against drawings made by hand, line by line.
//!
//! The sheets are worked out by the drafting rules that every textbook has: what is sharp is drawn, round surfaces show
//! their contours, what lies behind material is dashed.

use super::CurvedSolid;
use super::shapes::*;
use super::verify;
use crate::geom::V3;
use crate::geom::surface::Surface;
use crate::sheet::views::drawing;
use crate::sheet::{Drawing, Line, LineType, Shape, Sheet, View};
use crate::solid::verify::{Deviation, Difference};
use crate::{HiddenLines, Options, TangentEdges};

/// Whether a solid has the lines of a sheet without tangent edges.
fn gives_back(solid: &CurvedSolid, drawing: &Drawing) -> Result<(), Difference> {
    verify::gives_back(solid, drawing, TangentEdges::Omitted, HiddenLines::Required)
}

/// A line of a sheet in the view's own millimetres, and whether it is hidden.
type Drawn = (View, Shape, bool);

/// A sheet with the given lines; the views stand far enough apart for objects up to 100 mm.
fn sheet(lines: &[Drawn]) -> Drawing {
    let mut sheet = Sheet::default();
    for (view, shape, hidden) in lines {
        let by = [[0.0, 0.0], [0.0, 150.0], [150.0, 0.0]][view.index()];
        let at = |p: &[f64; 2]| [p[0] + by[0], p[1] + by[1]];
        let shape = match shape.clone() {
            Shape::Line { from, to } => Shape::Line {
                from: at(&from),
                to: at(&to),
            },
            Shape::Circle { center, radius } => Shape::Circle {
                center: at(&center),
                radius,
            },
            Shape::Arc {
                center,
                radius,
                start,
                end,
            } => Shape::Arc {
                center: at(&center),
                radius,
                start,
                end,
            },
            Shape::Curve(points) => Shape::Curve(points.iter().map(at).collect()),
            other => panic!("{other:?} is not used here"),
        };
        sheet.lines.push(Line {
            view: Some(*view),
            line_type: if *hidden {
                LineType::Hidden
            } else {
                LineType::Visible
            },
            shape,
        });
    }
    drawing(&sheet, &Options::default()).unwrap()
}

fn line(from: [f64; 2], to: [f64; 2]) -> Shape {
    Shape::Line { from, to }
}

fn circle_at(center: [f64; 2], radius: f64) -> Shape {
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

/// The four lines of a rectangle from the origin.
fn frame(view: View, w: f64, h: f64) -> Vec<Drawn> {
    let corners = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]];
    let sides = (0..4).map(|k| line(corners[k], corners[(k + 1) % 4]));
    sides.map(|side| (view, side, false)).collect()
}

fn visible(view: View, shapes: impl IntoIterator<Item = Shape>) -> Vec<Drawn> {
    shapes.into_iter().map(|s| (view, s, false)).collect()
}

fn hidden(view: View, shapes: impl IntoIterator<Item = Shape>) -> Vec<Drawn> {
    shapes.into_iter().map(|s| (view, s, true)).collect()
}

use View::{Front, Right, Top};

/// A solid of a name and its sheet.
type Example = (&'static str, CurvedSolid, Vec<Drawn>);

fn cylinder_along_x() -> Example {
    let lines = [
        frame(Front, 30.0, 20.0),
        frame(Top, 30.0, 20.0),
        visible(Right, [circle_at([10.0, 10.0], 10.0)]),
    ];
    (
        "cylinder",
        in_corner(&cylinder(0, 10.0, 30.0)),
        lines.concat(),
    )
}

fn plate() -> Example {
    let lines = [
        frame(Front, 40.0, 10.0),
        hidden(Front, [10.0, 30.0].map(|x| line([x, 0.0], [x, 10.0]))),
        frame(Top, 40.0, 30.0),
        visible(Top, [circle_at([20.0, 15.0], 10.0)]),
        frame(Right, 30.0, 10.0),
        hidden(Right, [5.0, 25.0].map(|y| line([y, 0.0], [y, 10.0]))),
    ];
    ("bored plate", plate_with_hole(), lines.concat())
}

fn ring() -> Example {
    let side = |view| {
        let bore = [6.0, 18.0].map(|x| line([x, 0.0], [x, 5.0]));
        [frame(view, 24.0, 5.0), hidden(view, bore)].concat()
    };
    let circles = [6.0, 12.0].map(|r| circle_at([12.0, 12.0], r));
    let lines = [side(Front), visible(Top, circles), side(Right)];
    ("ring", in_corner(&washer(6.0, 12.0, 5.0)), lines.concat())
}

fn round() -> Example {
    let outline = [
        line([0.0, 0.0], [40.0, 0.0]),
        line([40.0, 0.0], [40.0, 20.0]),
        arc([30.0, 20.0], 10.0, 0.0, 90.0),
        line([30.0, 30.0], [0.0, 30.0]),
        line([0.0, 30.0], [0.0, 0.0]),
    ];
    let lines = [
        visible(Front, outline),
        frame(Top, 40.0, 20.0),
        frame(Right, 20.0, 30.0),
    ];
    ("rounded block", rounded_block(), lines.concat())
}

fn cone() -> Example {
    let side = |view| {
        let corners = [[0.0, 0.0], [20.0, 0.0], [14.0, 12.0], [6.0, 12.0]];
        visible(view, (0..4).map(|k| line(corners[k], corners[(k + 1) % 4])))
    };
    let circles = [4.0, 10.0].map(|r| circle_at([10.0, 10.0], r));
    let lines = [side(Front), visible(Top, circles), side(Right)];
    (
        "frustum",
        in_corner(&frustum(10.0, 4.0, 12.0)),
        lines.concat(),
    )
}

fn sphere() -> Example {
    let lines = View::ALL.map(|view| visible(view, [circle_at([8.0, 8.0], 8.0)]));
    ("ball", in_corner(&ball(8.0)), lines.concat())
}

/// From the side: two half circles visible, their other halves within the material, and two lines.
fn doughnut() -> Example {
    let side = |view| {
        let seen = [
            arc([6.0, 6.0], 6.0, 90.0, 270.0),
            arc([46.0, 6.0], 6.0, 270.0, 450.0),
            line([6.0, 0.0], [46.0, 0.0]),
            line([6.0, 12.0], [46.0, 12.0]),
        ];
        let dashed = [
            arc([6.0, 6.0], 6.0, 270.0, 450.0),
            arc([46.0, 6.0], 6.0, 90.0, 270.0),
        ];
        [visible(view, seen), hidden(view, dashed)].concat()
    };
    let circles = [14.0, 26.0].map(|r| circle_at([26.0, 26.0], r));
    let lines = [side(Front), visible(Top, circles), side(Right)];
    ("torus", in_corner(&torus(2, 20.0, 6.0)), lines.concat())
}

/// Where the bores meet, x² + y² = 100 and y² + z² = 36 give x² = 64 + z², a hyperbola in the front view.
fn crossing_bores() -> Example {
    let meeting = |side: f64| {
        let point = |k: i32| {
            let z = f64::from(k) * 0.25;
            [20.0 + side * (64.0 + z * z).sqrt(), 20.0 + z]
        };
        Shape::Curve((-24..=24).map(point).collect())
    };
    let both_ends = |a: f64, b: f64| [[0.0, a], [b, 40.0]];
    let along = |v: f64, ends: [[f64; 2]; 2]| ends.map(|[s, t]| line([s, v], [t, v]));
    let upright = |v: f64, ends: [[f64; 2]; 2]| ends.map(|[s, t]| line([v, s], [v, t]));
    let lines = [
        frame(Front, 40.0, 40.0),
        hidden(Front, [meeting(1.0), meeting(-1.0)]),
        hidden(Front, along(14.0, both_ends(10.0, 30.0))),
        hidden(Front, along(26.0, both_ends(10.0, 30.0))),
        hidden(Front, upright(10.0, both_ends(14.0, 26.0))),
        hidden(Front, upright(30.0, both_ends(14.0, 26.0))),
        frame(Top, 40.0, 40.0),
        visible(Top, [circle_at([20.0, 20.0], 10.0)]),
        hidden(Top, along(14.0, both_ends(12.0, 28.0))),
        hidden(Top, along(26.0, both_ends(12.0, 28.0))),
        frame(Right, 40.0, 40.0),
        visible(Right, [circle_at([20.0, 20.0], 6.0)]),
        hidden(Right, [10.0, 30.0].map(|y| line([y, 0.0], [y, 40.0]))),
    ];
    (
        "crossing bores",
        in_corner(&cross_drilled()),
        lines.concat(),
    )
}

/// A pipe along x, wider inside at one end: its step is a dashed line right across the seams of the outside.
fn counterbored_pipe() -> Example {
    let corners = [
        [4.0, 0.0],
        [12.0, 0.0],
        [12.0, 40.0],
        [8.0, 40.0],
        [8.0, 25.0],
        [4.0, 25.0],
    ];
    let side = |view| {
        let inside = [
            line([0.0, 8.0], [25.0, 8.0]),
            line([0.0, 16.0], [25.0, 16.0]),
            line([25.0, 4.0], [40.0, 4.0]),
            line([25.0, 20.0], [40.0, 20.0]),
            line([25.0, 4.0], [25.0, 20.0]),
        ];
        [frame(view, 40.0, 24.0), hidden(view, inside)].concat()
    };
    let circles = [4.0, 8.0, 12.0].map(|r| circle_at([12.0, 12.0], r));
    let lines = [side(Front), side(Top), visible(Right, circles)];
    let solid = turned_solid(0, &polygon(&corners));
    ("counterbored pipe", in_corner(&solid), lines.concat())
}

/// A plate with all corners rounded that stands on its edge: the tangent lines show nowhere.
fn rounded_plate() -> Example {
    let outline = [
        line([8.0, 0.0], [32.0, 0.0]),
        arc([32.0, 8.0], 8.0, 270.0, 360.0),
        line([40.0, 8.0], [40.0, 22.0]),
        arc([32.0, 22.0], 8.0, 0.0, 90.0),
        line([32.0, 30.0], [8.0, 30.0]),
        arc([8.0, 22.0], 8.0, 90.0, 180.0),
        line([0.0, 22.0], [0.0, 8.0]),
        arc([8.0, 8.0], 8.0, 180.0, 270.0),
    ];
    let solid = pulled_solid(2, [0.0, 12.0], &[rounded([0.0, 0.0], [40.0, 30.0], 8.0)]);
    let lines = [
        frame(Front, 40.0, 12.0),
        visible(Top, outline),
        frame(Right, 30.0, 12.0),
    ];
    ("rounded plate", solid, lines.concat())
}

fn examples() -> Vec<Example> {
    vec![
        cylinder_along_x(),
        plate(),
        ring(),
        round(),
        cone(),
        sphere(),
        doughnut(),
        crossing_bores(),
        counterbored_pipe(),
        rounded_plate(),
    ]
}

#[test]
fn drawings_are_those_made_by_hand() {
    for (name, solid, lines) in examples() {
        assert_eq!(gives_back(&solid, &sheet(&lines)), Ok(()), "{name}");
    }
}

/// Asserts a difference of one sort in one view.
fn assert_found(found: Result<(), Difference>, view: View, what: Deviation, context: &str) {
    let found = found.expect_err(context);
    assert_eq!((found.view, found.what), (view, what), "{context}");
}

#[test]
fn every_dropped_line_is_noticed() {
    for (name, solid, lines) in examples() {
        let whole = sheet(&lines);
        for view in View::ALL {
            let v = view.index();
            for k in 0..whole.views[v].len() {
                let mut less = whole.clone();
                let line = less.views[v].remove(k);
                let context = format!("{name} {view:?} {line:?}");
                assert_found(gives_back(&solid, &less), view, Deviation::Extra, &context);
            }
            for k in 0..whole.arcs[v].len() {
                let mut less = whole.clone();
                let line = less.arcs[v].remove(k);
                let context = format!("{name} {view:?} {line:?}");
                assert_found(gives_back(&solid, &less), view, Deviation::Extra, &context);
            }
        }
    }
}

#[test]
fn every_line_of_the_wrong_type_is_noticed() {
    for (name, solid, lines) in examples() {
        let whole = sheet(&lines);
        for view in View::ALL {
            let v = view.index();
            for k in 0..whole.views[v].len() {
                let mut other = whole.clone();
                other.views[v][k].hidden ^= true;
                let context = format!("{name} {view:?} {:?}", other.views[v][k]);
                assert_found(
                    gives_back(&solid, &other),
                    view,
                    Deviation::WrongType,
                    &context,
                );
            }
            for k in 0..whole.arcs[v].len() {
                let mut other = whole.clone();
                other.arcs[v][k].hidden ^= true;
                let context = format!("{name} {view:?} {:?}", other.arcs[v][k]);
                assert_found(
                    gives_back(&solid, &other),
                    view,
                    Deviation::WrongType,
                    &context,
                );
            }
        }
    }
}

#[test]
fn a_line_too_many_is_noticed() {
    for (name, solid, lines) in examples() {
        for view in View::ALL {
            for dashed in [false, true] {
                let mut more = lines.clone();
                let [right, up] = view.axes();
                let size = solid.bounds()[1];
                let extra = line(
                    [size[right] * 0.31, size[up] * 0.46],
                    [size[right] * 0.37, size[up] * 0.55],
                );
                more.push((view, extra, dashed));
                let found = gives_back(&solid, &sheet(&more));
                assert_found(found, view, Deviation::Missing, name);
            }
        }
    }
}

#[test]
fn a_curve_moved_by_a_few_tolerances_is_noticed() {
    for (name, solid, lines) in examples() {
        let whole = sheet(&lines);
        for v in 0..3 {
            for k in 0..whole.carriers[v].len() {
                for by in [[4.0, 0.0], [0.0, -4.0]] {
                    let mut other = whole.clone();
                    let by = V3::new(by[0], by[1], 0.0).xy() * whole.tolerance.mm();
                    other.carriers[v][k] = other.carriers[v][k].moved(by);
                    assert!(gives_back(&solid, &other).is_err(), "{name} {v} {k}");
                }
            }
        }
    }
}

/// Moved along by 0.5 mm, the place where a line runs into a round of 8 mm is off the round by 0.016 mm only.
#[test]
fn where_a_line_runs_smoothly_into_an_arc_may_be_drawn_early_or_late() {
    let (_, solid, _) = rounded_plate();
    for late in [-0.5, 0.5] {
        let turn = (late / 8.0_f64).to_degrees();
        let outline = [
            line([8.0, 0.0], [32.0 + late, 0.0]),
            arc([32.0, 8.0], 8.0, 270.0 + turn, 360.0 + turn),
            line([40.0, 8.0 + late], [40.0, 22.0]),
            arc([32.0, 22.0], 8.0, 0.0, 90.0 - turn),
            line([32.0 + late, 30.0], [8.0, 30.0]),
            arc([8.0, 22.0], 8.0, 90.0, 180.0),
            line([0.0, 22.0], [0.0, 8.0]),
            arc([8.0, 8.0], 8.0, 180.0, 270.0),
        ];
        let lines = [
            frame(Front, 40.0, 12.0),
            visible(Top, outline),
            frame(Right, 30.0, 12.0),
        ];
        assert_eq!(
            gives_back(&solid, &sheet(&lines.concat())),
            Ok(()),
            "{late}"
        );
    }
}

/// The rounded plate's eight tangent lines, two of them behind others in each of the two views that show them.
#[test]
fn tangent_lines_are_given_back_as_the_sheet_treats_them() {
    let (_, solid, plain) = rounded_plate();
    let tangent = [
        visible(Front, [8.0, 32.0].map(|x| line([x, 0.0], [x, 12.0]))),
        visible(Right, [8.0, 22.0].map(|y| line([y, 0.0], [y, 12.0]))),
    ]
    .concat();
    let given = |more: &[Drawn], tangent_edges| {
        let lines = [&plain, more].concat();
        verify::gives_back(&solid, &sheet(&lines), tangent_edges, HiddenLines::Required)
            .map_err(|d| (d.view, d.what))
    };
    let [omitted, drawn, either] = [
        TangentEdges::Omitted,
        TangentEdges::Drawn,
        TangentEdges::Either,
    ];
    assert_eq!(given(&[], omitted), Ok(()));
    assert_eq!(given(&[], either), Ok(()));
    assert_eq!(given(&[], drawn), Err((Front, Deviation::Extra)));
    assert_eq!(given(&tangent, omitted), Err((Front, Deviation::Missing)));
    assert_eq!(given(&tangent, either), Ok(()));
    assert_eq!(given(&tangent, drawn), Ok(()));
    assert_eq!(given(&tangent[1..3], either), Ok(()));
    assert_eq!(given(&tangent[1..3], drawn), Err((Front, Deviation::Extra)));
    // Dashed, it can only be the one behind, drawn without the one in front.
    let (view, shape, _) = tangent[0].clone();
    let dashed = [(view, shape, true)];
    assert_eq!(given(&dashed, either), Ok(()));
    // Where there is no tangent edge, a line is wrong whatever is chosen.
    let beside = [(view, line([9.0, 0.0], [9.0, 12.0]), false)];
    for (wrong, how) in [
        (&dashed, omitted),
        (&dashed, drawn),
        (&beside, omitted),
        (&beside, drawn),
        (&beside, either),
    ] {
        assert!(given(wrong, how).is_err(), "{wrong:?} {how:?}");
    }
}

/// On an inaccurate sheet borders lie beside their surfaces by about the tolerance; what covers what is the same.
#[test]
fn surfaces_a_tolerance_off_their_borders_change_nothing() {
    let mut state = 7_u32;
    let mut next = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(state >> 16) / 32_768.0 - 1.0
    };
    for (name, solid, lines) in examples() {
        let drawing = sheet(&lines);
        let off = drawing.tolerance.mm();
        for _ in 0..20 {
            let mut solid = solid.clone();
            for face in &mut solid.faces {
                match &mut face.surface {
                    Surface::Plane(plane) => plane.offset += off * next(),
                    Surface::Turned(turned) => {
                        turned.origin += V3::new(next(), next(), next()) * off
                    }
                }
            }
            assert_eq!(gives_back(&solid, &drawing), Ok(()), "{name}");
        }
    }
}
