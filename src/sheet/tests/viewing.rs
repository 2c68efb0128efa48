//! Which line stands in which view.

use super::*;

/// The sheet with no view and projection said, its border drawn like any visible line.
fn bare(said: &Sheet) -> Sheet {
    let mut bare = said.clone();
    bare.projection = None;
    for line in &mut bare.lines {
        line.view = None;
        if line.line_type == LineType::Border {
            line.line_type = LineType::Visible;
        }
    }
    bare
}

#[test]
fn views_and_projection_are_worked_out_as_the_reference_sheets_say() {
    for name in reference_names() {
        let said = reference(&format!("{name}.json"));
        let placed = views::place(&bare(&said), &Options::default())
            .unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(Some(placed.projection), said.projection, "{name}");
        let expected: Vec<(usize, View)> = said
            .lines
            .iter()
            .enumerate()
            .filter(|(_, l)| l.line_type.bears_geometry())
            .map(|(i, l)| (i, l.view.unwrap()))
            .collect();
        assert_eq!(placed.lines, expected, "{name}");
    }
}

#[test]
fn a_cube_in_first_angle_is_told_from_one_in_third_angle() {
    let square = |x, y| rectangle([x, y], [10.0, 10.0]);
    let third = sheet(&[square(0.0, 0.0), square(0.0, 20.0), square(20.0, 0.0)]);
    assert_eq!(drawn(&third).projection, Projection::ThirdAngle);
    let first = sheet(&[square(0.0, 0.0), square(-20.0, 0.0), square(0.0, -20.0)]);
    assert_eq!(drawn(&first).projection, Projection::FirstAngle);
}

#[test]
fn separate_pieces_inside_an_outline_belong_to_its_view() {
    let mut sheet = block();
    sheet.lines.extend(rectangle([10.0, 10.0], [5.0, 5.0]));
    sheet.lines.extend(rectangle([12.0, 12.0], [1.0, 1.0]));
    let placed = views::place(&sheet, &Options::default()).unwrap();
    assert!(
        placed.lines[12..]
            .iter()
            .all(|(_, view)| *view == View::Front)
    );
}

#[test]
fn a_view_that_is_said_counts_for_the_lines_around_it() {
    let mut sheet = block();
    sheet.lines[0].view = Some(View::Front);
    sheet.lines[4].view = Some(View::Top);
    let placed = views::place(&sheet, &Options::default()).unwrap();
    assert_eq!(placed.lines[10], (10, View::Right));
    assert_eq!(placed.lines[1], (1, View::Front));
}

/// A border around the block with a title block at its lower right, and what else is given.
fn bordered(more: &[Vec<Line>]) -> Sheet {
    let mut sheet = block();
    sheet
        .lines
        .extend(rectangle([-20.0, -40.0], [140.0, 130.0]));
    for part in more {
        sheet.lines.extend(part.clone());
    }
    sheet
}

fn title_block() -> Vec<Line> {
    vec![
        line([50.0, -40.0], [50.0, -20.0]),
        line([50.0, -20.0], [120.0, -20.0]),
        line([80.0, -40.0], [80.0, -20.0]),
        line([80.0, -30.0], [120.0, -30.0]),
    ]
}

fn only_the_block_is_left(sheet: &Sheet) {
    let placed = views::place(sheet, &Options::default()).unwrap_or_else(|e| panic!("{e}"));
    let lines: Vec<usize> = placed.lines.iter().map(|(line, _)| *line).collect();
    assert_eq!(lines, (0..12).collect::<Vec<_>>());
}

#[test]
fn a_border_and_what_hangs_on_it_bear_no_geometry() {
    only_the_block_is_left(&bordered(&[]));
    only_the_block_is_left(&bordered(&[title_block()]));
}

#[test]
fn a_border_drawn_as_one_polyline_is_a_border() {
    let mut sheet = block();
    sheet.lines.push(Line {
        shape: Shape::Polyline(vec![
            [-5.0, -5.0],
            [100.0, -5.0],
            [100.0, 90.0],
            [-5.0, 90.0],
            [-5.0, -5.0],
        ]),
        ..line([0.0; 2], [0.0; 2])
    });
    only_the_block_is_left(&sheet);
}

#[test]
fn a_projection_symbol_standing_free_in_the_title_block_goes_with_it() {
    let circle = Line {
        shape: Shape::Circle {
            center: [60.0, -30.0],
            radius: 4.0,
        },
        ..line([0.0; 2], [0.0; 2])
    };
    let cone = rectangle([68.0, -34.0], [8.0, 8.0]);
    only_the_block_is_left(&bordered(&[title_block(), vec![circle], cone]));
}

// ISO 5457: trimmed edge and drawing frame, tied together by the ticks of the grid reference.
#[test]
fn a_frame_in_a_frame_with_ticks_between_them_is_all_border() {
    let outer = rectangle([-25.0, -45.0], [150.0, 140.0]);
    let ticks = vec![
        line([40.0, -45.0], [40.0, -40.0]),
        line([-25.0, 20.0], [-20.0, 20.0]),
    ];
    only_the_block_is_left(&bordered(&[title_block(), outer.clone()]));
    only_the_block_is_left(&bordered(&[title_block(), outer, ticks]));
}

#[test]
fn lines_that_say_their_view_are_never_border() {
    let mut sheet = block();
    for (i, line) in sheet.lines.iter_mut().enumerate() {
        line.view = Some(View::ALL[i / 4]);
    }
    sheet.lines.extend(rectangle([-5.0, -5.0], [100.0, 100.0]));
    only_the_block_is_left(&sheet);
}

#[test]
fn sheets_without_three_views_are_refused_with_what_to_do() {
    let view = |x, y| rectangle([x, y], [10.0, 10.0]);
    let center = Sheet {
        lines: vec![Line {
            line_type: LineType::Center,
            ..line([0.0; 2], [1.0; 2])
        }],
        ..Sheet::default()
    };
    let cases = [
        (
            center,
            "the sheet has no visible or hidden line; draw the front, top and right-side view with visible lines",
        ),
        (
            sheet(&[view(0.0, 0.0)]),
            "the sheet has only a border, or one single view; draw the front, top and right-side view inside it",
        ),
        (
            sheet(&[vec![line([0.0, 0.0], [10.0, 10.0])]]),
            "all lines stand in one group; draw front, top and right-side view with empty space between them, or say the \
             `view` of each line",
        ),
        (
            sheet(&[view(0.0, 0.0), view(0.0, 20.0)]),
            "the right-side view is missing, no visible or hidden line stands in it; draw it straight to the right \
             (third-angle) or left (first-angle) of the front view",
        ),
        (
            sheet(&[view(0.0, 0.0), view(20.0, 0.0)]),
            "the top view is missing, no visible or hidden line stands in it; draw it straight above (third-angle) or below \
             (first-angle) the front view",
        ),
        (
            sheet(&[view(0.0, 0.0), view(20.0, 20.0)]),
            "only two groups of lines were found, and neither stands above or beside the other; draw front, top and \
             right-side view in line with each other",
        ),
        (
            sheet(&[
                view(0.0, 0.0),
                view(0.0, 20.0),
                view(20.0, 0.0),
                view(40.0, 5.0),
            ]),
            "there are 4 groups of lines, not three views; the one from (40, 5) mm to (50, 15) mm fits nowhere, so leave it \
             out or move it to its view",
        ),
        (
            sheet(&[view(0.0, 0.0), view(20.0, 20.0), view(40.0, 40.0)]),
            "the three groups of lines do not stand like front, top and right-side view; put the top view straight above \
             (third-angle) or below (first-angle) the front view and the right-side view straight to the right \
             (third-angle) or left (first-angle)",
        ),
        (
            sheet(&[view(0.0, 0.0), view(0.0, 20.0), view(-20.0, 0.0)]),
            "the top view stands above the front view but the right-side view to the left of it; third-angle is above and \
             to the right, first-angle is below and to the left, so move one of them",
        ),
    ];
    for (sheet, message) in cases {
        assert_eq!(refused(&sheet), message);
    }
}

#[test]
fn five_or_more_groups_are_refused_even_if_they_are_very_many() {
    let many: Vec<Vec<Line>> = (0..3000)
        .map(|i| rectangle([f64::from(i) * 2.0, f64::from(i % 7) * 3.0], [1.0, 1.0]))
        .collect();
    assert_eq!(
        refused(&sheet(&many)),
        "there are 16 or more groups of lines, not three views; leave out what is no view, or say the `view` of each line"
    );
}

fn said(mut sheet: Sheet) -> Sheet {
    for (i, line) in sheet.lines.iter_mut().enumerate() {
        line.view = Some(View::ALL[i / 4]);
    }
    sheet
}

#[test]
fn an_empty_view_is_named() {
    let mut sheet = said(block());
    for line in &mut sheet.lines[4..8] {
        line.line_type = LineType::Center;
    }
    assert!(refused(&sheet).starts_with("the top view is missing"));
}

#[test]
fn views_that_overlap_are_named() {
    let front = rectangle([0.0, 0.0], [40.0, 30.0]);
    let top = rectangle([0.0, 25.0], [40.0, 20.0]);
    let right = rectangle([60.0, 0.0], [20.0, 30.0]);
    let overlap = "the front view and the top view overlap; move them apart so that there is empty space between them";
    let mut sheet = said(sheet(&[front, top, right]));
    assert_eq!(refused(&sheet), overlap);
    sheet.lines[9].view = None;
    assert_eq!(refused(&sheet), overlap);
}

#[test]
fn a_projection_against_the_views_is_refused_and_both_are_named() {
    let mut sheet = block();
    sheet.projection = Some(Projection::FirstAngle);
    let message = "the sheet says first-angle, but its views stand as in third-angle; correct `projection` or move the views";
    assert_eq!(refused(&sheet), message);
    assert_eq!(refused(&said(sheet)), message);
}

#[test]
fn a_coordinate_that_is_no_number_is_refused() {
    let mut sheet = block();
    sheet.lines[3] = line([f64::NAN, 0.0], [1.0, 1.0]);
    assert_eq!(
        refused(&sheet),
        "line 4 of the file's list has a coordinate that is no number up to 10000000; correct or delete it"
    );
}
