//! Where ends come to lie, and what is told about it.

use super::*;

#[test]
fn exact_sheets_keep_their_coordinates() {
    let drawing = drawn(&block());
    assert_eq!(
        drawing.axes,
        [vec![0.0, 40.0], vec![0.0, 20.0], vec![0.0, 30.0]]
    );
    assert_eq!(drawing.corners, [[0.0, 0.0], [0.0, 50.0], [60.0, 0.0]]);
    assert_eq!(drawing.tolerance.mm(), 40.0 / 2000.0);
    assert_eq!(drawing.warnings, []);
    assert_eq!(drawing.problems, []);
}

// Sizes by the kernel that drew the sheets (see their manifest), to the 6 decimals they are written with.
#[test]
fn reference_sheets_have_the_size_of_their_solid() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    let manifest = fs::read_to_string(folder.join("manifest.json")).unwrap();
    let manifest: serde_json::Value = serde_json::from_str(&manifest).unwrap();
    let parts = manifest["parts"].as_array().unwrap();
    assert_eq!(parts.len(), reference_names().len());
    let planar = |part: &&serde_json::Value| part["class"] == "P" || part["class"] == "Q";
    for part in parts.iter().filter(planar) {
        let name = part["name"].as_str().unwrap();
        let at = |corner: usize, axis: usize| part["bbox_mm"][corner][axis].as_f64().unwrap();
        for (format, close) in [("json", 2e-6), ("svg", 4e-5)] {
            let drawing = drawn(&reference(&format!("{name}.{format}")));
            for (axis, places) in drawing.axes.iter().enumerate() {
                let size = places[places.len() - 1];
                let expected = at(1, axis) - at(0, axis);
                assert!(
                    (size - expected).abs() <= close,
                    "{name}.{format}: {size} for {expected}"
                );
            }
            assert_eq!(drawing.warnings, [], "{name}.{format}");
        }
    }
}

#[test]
fn in_first_angle_depth_runs_up_and_right_as_in_third() {
    // A line across the top view 5 from its lower edge is the line 5 from the left edge of the right-side view.
    let mut sheet = sheet(&[
        rectangle([0.0, 0.0], [40.0, 30.0]),
        rectangle([0.0, -50.0], [40.0, 20.0]),
        rectangle([-60.0, 0.0], [20.0, 30.0]),
    ]);
    sheet.lines.push(line([0.0, -45.0], [40.0, -45.0]));
    sheet.lines.push(line([-55.0, 0.0], [-55.0, 30.0]));
    let drawing = drawn(&sheet);
    assert_eq!(drawing.axes[1], [0.0, 5.0, 20.0]);
    let top = drawing.views[View::Top.index()].last().unwrap();
    let right = drawing.views[View::Right.index()].last().unwrap();
    assert_eq!([top.from[1], right.from[0]], [1, 1]);
    assert_eq!(
        drawing.on_sheet(View::Right, drawing.at(View::Right, right.from)),
        [-55.0, 0.0]
    );
}

#[test]
fn inches_become_millimetres_and_messages_stay_in_inches() {
    let mut sheet = block();
    sheet.unit = Unit::Inch;
    let Shape::Line { to, .. } = &mut sheet.lines[5].shape else {
        unreachable!()
    };
    to[0] += 0.0152;
    let drawing = drawn(&sheet);
    assert!((drawing.axes[2][1] - 762.0).abs() < 1e-9);
    assert_eq!(
        messages(&drawing.warnings, RemarkKind::SizesDiffer),
        ["the top view is 0.015 in wider than the front view"]
    );
}

/// The block with one view stretched along a sheet axis.
fn stretched(view: View, axis: usize, by: f64) -> Sheet {
    let mut sheet = block();
    let corner = [[0.0, 0.0], [0.0, 50.0], [60.0, 0.0]][view.index()];
    for line in &mut sheet.lines[4 * view.index()..][..4] {
        let Shape::Line { from, to } = &mut line.shape else {
            unreachable!()
        };
        for end in [from, to] {
            if end[axis] > corner[axis] {
                end[axis] += by;
            }
        }
    }
    sheet
}

#[test]
fn sizes_that_differ_within_the_tolerance_are_told_and_taken_as_one() {
    let cases = [
        (
            View::Top,
            0,
            "the top view is 0.4 mm wider than the front view",
        ),
        (
            View::Front,
            0,
            "the front view is 0.4 mm wider than the top view",
        ),
        (
            View::Right,
            1,
            "the right-side view is 0.4 mm higher than the front view",
        ),
        (
            View::Top,
            1,
            "the top view is 0.4 mm higher than the right-side view is wide",
        ),
        (
            View::Right,
            0,
            "the right-side view is 0.4 mm wider than the top view is high",
        ),
    ];
    for (view, axis, message) in cases {
        let sheet = stretched(view, axis, 0.4);
        let drawing = views::drawing(&sheet, &with_tolerance(0.5)).unwrap();
        assert_eq!(
            messages(&drawing.warnings, RemarkKind::SizesDiffer),
            [message]
        );
        assert!(drawing.axes.iter().all(|places| places.len() == 2));
        assert_eq!(drawing.problems, []);
    }
}

#[test]
fn sizes_that_disagree_beyond_the_tolerance_are_a_problem() {
    let drawing = drawn(&stretched(View::Top, 0, 2.0));
    assert_eq!(
        messages(&drawing.problems, RemarkKind::SizesDisagree),
        [
            "the front view is 40 mm wide, but the top view is 42 mm wide; both show the object's width, so one of them is \
             wrong"
        ]
    );
    assert_eq!(drawing.problems[0].view, Some(View::Top));
    // The right sides of both views.
    assert_eq!(drawing.problems[0].lines, [1, 5]);
    let drawing = drawn(&stretched(View::Right, 0, -1.0));
    assert_eq!(
        messages(&drawing.problems, RemarkKind::SizesDisagree),
        [
            "the top view is 20 mm high, but the right-side view is 19 mm wide; both show the object's depth, so one of them \
             is wrong"
        ]
    );
}

#[test]
fn a_view_out_of_line_is_refused_with_how_far_and_which_way() {
    let shifted = |top: [f64; 2], right: [f64; 2]| {
        sheet(&[
            rectangle([0.0, 0.0], [40.0, 30.0]),
            rectangle(top, [40.0, 20.0]),
            rectangle(right, [20.0, 30.0]),
        ])
    };
    assert_eq!(
        refused(&shifted([-3.0, 50.0], [60.0, 0.0])),
        "the top view stands 3 mm too far to the left to line up with the front view; move it back"
    );
    assert_eq!(
        refused(&shifted([0.0, 50.0], [60.0, 0.25])),
        "the right-side view stands 0.25 mm too far up to line up with the front view; move it back"
    );
}

#[test]
fn ends_that_miss_are_told_once_per_view_with_the_worst_place() {
    let mut sheet = block();
    sheet.lines.push(line([10.0, 0.01], [10.0, 30.0]));
    sheet.lines.push(line([20.0, 0.0], [20.0, 29.985]));
    let drawing = drawn(&sheet);
    assert_eq!(
        messages(&drawing.warnings, RemarkKind::EndsMiss),
        [
            "in the front view 2 places are not drawn quite as one, by up to 0.015 mm near (20, 29.985) mm"
        ]
    );
    assert_eq!(drawing.axes[2].len(), 2);
    let missed = drawing
        .warnings
        .iter()
        .find(|r| r.kind == RemarkKind::EndsMiss);
    assert!(missed.unwrap().lines.contains(&13));
}

#[test]
fn a_place_that_differs_between_two_views_is_told() {
    let mut sheet = block();
    sheet.lines.push(line([10.0, 0.0], [10.0, 30.0]));
    sheet.lines.push(line([10.016, 50.0], [10.016, 70.0]));
    assert_eq!(
        messages(&drawn(&sheet).warnings, RemarkKind::EndsMiss),
        [
            "a place along the width is drawn up to 0.016 mm apart in the front view and the top view; see the front view \
             near (10, 0) mm"
        ]
    );
}

#[test]
fn places_almost_within_the_tolerance_of_each_other_are_told() {
    let mut sheet = block();
    sheet.lines.push(line([10.0, 0.0], [10.0, 30.0]));
    sheet.lines.push(line([10.03, 0.0], [10.03, 30.0]));
    let drawing = drawn(&sheet);
    assert_eq!(drawing.axes[0].len(), 4);
    let told = messages(&drawing.warnings, RemarkKind::NearlyTheSame);
    assert_eq!(
        told,
        [
            "two places along the width are only 0.03 mm apart and were taken as different; if they are meant to be one, draw \
             them at one place or give a larger tolerance; see the front view near (10, 0) mm"
        ]
    );
}

#[test]
fn a_chain_longer_than_the_tolerance_is_one_place_and_is_told() {
    let mut sheet = block();
    for x in [10.0, 10.4, 10.8] {
        sheet.lines.push(line([x, 0.0], [x, 30.0]));
    }
    let drawing = views::drawing(&sheet, &with_tolerance(0.5)).unwrap();
    assert_eq!(drawing.axes[0].len(), 3);
    assert!((drawing.axes[0][1] - 10.4).abs() < 1e-9);
    let told = messages(&drawing.warnings, RemarkKind::NearlyTheSame);
    assert!(
        told[0].starts_with("places spread over 0.8 mm along the width were taken as one"),
        "{told:?}"
    );
}

#[test]
fn the_default_tolerance_shrinks_until_fine_steps_stay_apart() {
    // 3000 steps of 1 mm: a two-thousandth of the width would be 1.5 mm and everything one place.
    let n = 3000;
    let wide = f64::from(n);
    let mut sheet = sheet(&[
        rectangle([0.0, 0.0], [wide, wide]),
        rectangle([0.0, 4000.0], [wide, 10.0]),
        rectangle([4000.0, 0.0], [10.0, wide]),
    ]);
    for i in 0..n {
        let x = f64::from(i);
        sheet.lines.push(line([x, x], [x + 1.0, x]));
        sheet.lines.push(line([x + 1.0, x], [x + 1.0, x + 1.0]));
    }
    let drawing = drawn(&sheet);
    assert_eq!(drawing.axes[0].len(), 3001);
    assert_eq!(drawing.tolerance.mm(), 0.75);
}

#[test]
fn lines_shorter_than_the_tolerance_are_left_out_and_told() {
    let mut sheet = block();
    sheet.lines.push(line([10.0, 10.0], [10.01, 10.0]));
    sheet.lines.push(line([5.0, 5.0], [5.0, 5.0]));
    let drawing = drawn(&sheet);
    let all = drawing.views.iter().flatten();
    assert!(all.clone().all(|s| s.from != s.to && s.line < 12));
    assert_eq!(
        messages(&drawing.warnings, RemarkKind::ShortLine),
        ["in the front view a line is not longer than the tolerance of 0.02 mm and left out"]
    );
    assert_eq!(drawing.warnings.last().unwrap().lines, [12]);
}

#[test]
fn polylines_become_segments_of_their_line() {
    let mut sheet = block();
    sheet.lines.push(Line {
        line_type: LineType::Hidden,
        shape: Shape::Polyline(vec![[0.0, 10.0], [15.0, 10.0], [20.0, 0.0]]),
        ..line([0.0; 2], [0.0; 2])
    });
    let drawing = drawn(&sheet);
    let mine: Vec<&Segment> = drawing.views[0].iter().filter(|s| s.line == 12).collect();
    assert_eq!(mine.len(), 2);
    assert!(mine.iter().all(|s| s.hidden));
    assert_eq!(drawing.at(View::Front, mine[0].to), [15.0, 10.0]);
}

#[test]
fn a_tolerance_that_is_none_is_refused() {
    for wrong in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let message = refused_with(&block(), &with_tolerance(wrong));
        assert!(
            message.starts_with("the tolerance must be a length above 0 mm"),
            "{message}"
        );
    }
    assert_eq!(
        refused_with(&said_block(), &with_tolerance(25.0)),
        "the drawing has no depth beyond the tolerance of 25 mm; draw a solid object, or give a smaller tolerance"
    );
}

fn said_block() -> Sheet {
    let mut sheet = block();
    for (i, line) in sheet.lines.iter_mut().enumerate() {
        line.view = Some(View::ALL[i / 4]);
    }
    sheet
}

/// The sheet with lines split at places that exist, doubled, turned round and shuffled.
fn drawn_otherwise(sheet: &Sheet, dice: &mut Dice) -> Sheet {
    let mut lines = Vec::new();
    for old in &sheet.lines {
        let Shape::Line { from, to } = old.shape else {
            unreachable!()
        };
        let with = |from, to| Line {
            shape: Shape::Line { from, to },
            ..old.clone()
        };
        match dice.below(4) {
            0 => lines.extend([with(from, to), with(to, from)]),
            1 => lines.push(with(to, from)),
            2 if from[0] == to[0] || from[1] == to[1] => {
                // The other end of a parallel line is a place already.
                let part = [0, 1].map(|i| if dice.below(2) == 0 { from[i] } else { to[i] });
                lines.extend([with(from, part), with(part, to)]);
            }
            _ => lines.push(with(from, to)),
        }
    }
    for i in (1..lines.len()).rev() {
        lines.swap(i, dice.below(i + 1));
    }
    Sheet {
        lines,
        ..sheet.clone()
    }
}

#[test]
fn splitting_doubling_and_shuffling_lines_gives_the_same_places() {
    let mut dice = Dice(0xd1ce_0001);
    for name in planar_names() {
        let sheet = reference(&format!("{name}.json"));
        let plain = Sheet {
            lines: sheet
                .lines
                .iter()
                .filter(|l| l.line_type.bears_geometry())
                .cloned()
                .collect(),
            ..sheet
        };
        let expected = drawn(&plain);
        for _ in 0..5 {
            let drawing = drawn(&drawn_otherwise(&plain, &mut dice));
            for (places, expected) in drawing.axes.iter().zip(&expected.axes) {
                assert_eq!(places.len(), expected.len(), "{name}");
                let off = places.iter().zip(expected).map(|(a, b)| (a - b).abs());
                assert!(off.fold(0.0, f64::max) < 1e-9, "{name}");
            }
        }
    }
}

#[test]
fn ends_off_by_less_than_the_tolerance_come_to_the_same_places() {
    let mut dice = Dice(0xd1ce_0002);
    for name in planar_names() {
        let exact = reference(&format!("{name}.json"));
        let expected = drawn(&exact);
        // Two ends meant as one are then at most nine tenths of the tolerance apart.
        let by = 0.45 * expected.tolerance.mm() / exact.unit.millimetres();
        let mut shaken = exact.clone();
        for line in &mut shaken.lines {
            let Shape::Line { from, to } = &mut line.shape else {
                unreachable!()
            };
            for c in from.iter_mut().chain(to) {
                *c += by * dice.unit();
            }
        }
        let drawing = drawn(&shaken);
        for (places, expected) in drawing.axes.iter().zip(&expected.axes) {
            assert_eq!(places.len(), expected.len(), "{name}");
        }
        assert_eq!(drawing.views, expected.views, "{name}");
        assert!(!drawing.warnings.is_empty(), "{name}");
    }
}

/// The block with more lines in it on a coarse grid, so that much meets, and now and then something odd.
fn wild_sheet(dice: &mut Dice) -> Sheet {
    let steps = [2, 5, 40][dice.below(3)];
    let shake = [0.0, 1e-6, 1e-3, 0.3][dice.below(4)];
    let mut lines = if dice.below(9) == 0 {
        Vec::new()
    } else {
        block().lines
    };
    for _ in 0..dice.below(40) {
        let view = dice.below(3);
        let corner = [[0.0, 0.0], [0.0, 50.0], [60.0, 0.0]][view];
        let size = [[40.0, 30.0], [40.0, 20.0], [20.0, 30.0]][view];
        let coordinate = |dice: &mut Dice, axis: usize| match dice.below(2000) {
            odd @ 0..4 => [f64::NAN, f64::INFINITY, 1e300, -1e-300][odd],
            4 => 200.0,
            _ => {
                corner[axis]
                    + size[axis] * dice.below(steps + 1) as f64 / steps as f64
                    + shake * dice.unit()
            }
        };
        let point = |dice: &mut Dice| [coordinate(dice, 0), coordinate(dice, 1)];
        let (from, to, third) = (point(dice), point(dice), point(dice));
        let shape = match dice.below(100) {
            0 => Shape::Arc {
                center: from,
                radius: 3.0,
                start: to[0],
                end: third[0],
            },
            1..20 => Shape::Polyline(vec![from, to, third]),
            20..25 => Shape::Line { from, to: from },
            25..50 => Shape::Line { from, to },
            50..75 => Shape::Line {
                from,
                to: [to[0], from[1]],
            },
            _ => Shape::Line {
                from,
                to: [from[0], to[1]],
            },
        };
        lines.push(Line {
            view: (dice.below(3) == 0).then_some(View::ALL[view]),
            line_type: LineType::ALL[dice.below(3)],
            shape,
        });
    }
    Sheet {
        unit: [Unit::Millimetre, Unit::Inch][dice.below(2)],
        projection: [
            None,
            Some(Projection::ThirdAngle),
            Some(Projection::FirstAngle),
        ][dice.below(3)],
        lines,
    }
}

#[test]
fn no_sheet_makes_the_views_panic_and_what_comes_out_is_in_order() {
    let mut dice = Dice(0xd1ce_0003);
    let mut drawings = 0;
    for _ in 0..10_000 {
        let sheet = wild_sheet(&mut dice);
        let options = match dice.below(4) {
            0 => with_tolerance([1e-9, 0.01, 1.0, 1e9][dice.below(4)]),
            _ => Options::default(),
        };
        let Ok(drawing) = views::drawing(&sheet, &options) else {
            continue;
        };
        drawings += 1;
        for places in &drawing.axes {
            assert_eq!(places[0], 0.0);
            assert!(places.is_sorted_by(|a, b| a < b));
        }
        for view in View::ALL {
            let [right, up] = view.axes().map(|axis| drawing.axes[axis].len());
            for s in &drawing.views[view.index()] {
                assert!(s.from != s.to && (s.line as usize) < sheet.lines.len());
                for end in [s.from, s.to] {
                    assert!((end[0] as usize) < right && (end[1] as usize) < up);
                }
            }
        }
        for remark in drawing.warnings.iter().chain(&drawing.problems) {
            assert!(remark.lines.iter().all(|l| *l < sheet.lines.len()));
        }
    }
    assert!(drawings > 3000, "only {drawings} drawings came of it");
}
