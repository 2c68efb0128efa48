//! What a sheet with misdrawn round parts is told: the line by its shape and place, and what is commonly misunderstood.
//!
//! All sheets are worked out by hand; the places are those of the lines written down here.

use foldback::{Outcome, Remark, RemarkKind, Verdict, read_sheet};

use crate::check::answer;

/// The four sides of a rectangle, as sheet lines.
fn rectangle(view: &str, [x, y]: [f64; 2], [w, h]: [f64; 2]) -> String {
    format!(
        r#"{{"view":"{view}","polyline":[[{x},{y}],[{},{y}],[{},{}],[{x},{}],[{x},{y}]]}}"#,
        x + w,
        x + w,
        y + h,
        y + h
    )
}

/// A block 40 wide, 20 deep and 30 high with more lines; the top view starts at (0, 42.7), the right-side view at (52.7, 0).
fn block_with(more: &[&str]) -> Outcome {
    let mut lines = vec![
        rectangle("front", [0.0, 0.0], [40.0, 30.0]),
        rectangle("top", [0.0, 42.7], [40.0, 20.0]),
        rectangle("right", [52.7, 0.0], [20.0, 30.0]),
    ];
    lines.extend(more.iter().map(|&line| line.to_owned()));
    told(&lines.join(","))
}

fn told(lines: &str) -> Outcome {
    let text = format!(r#"{{"projection":"third-angle","lines":[{lines}]}}"#);
    let (sheet, _) = read_sheet(text.as_bytes()).expect("a sheet");
    answer(&sheet).expect("an answer")
}

fn of_kind(outcome: &Outcome, kind: RemarkKind) -> Vec<&Remark> {
    assert_eq!(outcome.verdict, Verdict::Contradictory);
    outcome.problems.iter().filter(|p| p.kind == kind).collect()
}

const HOLE: &str = r#"{"view":"top","circle":[20,52.7,5]}"#;

#[test]
fn hole_without_hidden_lines_is_told_where_they_belong() {
    let outcome = block_with(&[HOLE]);
    let told = of_kind(&outcome, RemarkKind::MissingLines);
    assert_eq!(told.len(), 1, "{:?}", outcome.problems);
    assert_eq!(
        told[0].message,
        "the visible circle of radius 5 mm around (20, 52.7) mm in the top view needs two lines in the front view at \
         x = 15 mm and x = 25 mm and two lines in the right-side view at x = 57.7 mm and x = 67.7 mm \
         (hidden if it is a hole)"
    );
    assert_eq!(told[0].lines, [3]);
}

#[test]
fn hole_with_one_hidden_line_too_few_is_told_which() {
    let outcome = block_with(&[
        HOLE,
        r#"{"view":"front","type":"hidden","line":[15,0,15,30]}"#,
        r#"{"view":"right","type":"hidden","line":[57.7,0,57.7,30]}"#,
        r#"{"view":"right","type":"hidden","line":[67.7,0,67.7,30]}"#,
    ]);
    let told = of_kind(&outcome, RemarkKind::MissingLines);
    assert_eq!(told.len(), 1, "{:?}", outcome.problems);
    assert!(
        told[0]
            .message
            .contains("needs a line in the front view at x = 25 mm (hidden"),
        "{}",
        told[0].message
    );
}

#[test]
fn arc_without_an_edge_is_called_an_arc() {
    let outcome = block_with(&[r#"{"view":"front","arc":[0,0,10,0,90]}"#]);
    let messages: Vec<&str> = outcome.problems.iter().map(|p| &p.message[..]).collect();
    assert!(
        messages.iter().any(|m| m.contains(
            "the visible arc in the front view from (10, 0) to (0, 10) mm around (0, 0) mm"
        )),
        "{messages:?}"
    );
    assert!(of_kind(&outcome, RemarkKind::RoundEverywhere).is_empty());
}

#[test]
fn rod_drawn_round_from_two_sides_is_told_that_it_is_round_from_one() {
    // A rod of radius 10 that stands 20 high would be a rectangle in the front view.
    let outcome = told(&format!(
        r#"{{"view":"front","circle":[10,10,10]}},{{"view":"top","circle":[10,42.7,10]}},
           {{"view":"front","circle":[10,10,4]}},{{"view":"top","circle":[10,42.7,4]}},{}"#,
        rectangle("right", [32.7, 0.0], [20.0, 20.0])
    ));
    let told = of_kind(&outcome, RemarkKind::RoundEverywhere);
    assert_eq!(told.len(), 1, "{:?}", outcome.problems);
    assert_eq!(
        told[0].message,
        "the outline is a circle in the front view and the top view. A ring or a cylinder looks round from one side \
         only; from the other sides it looks like a rectangle"
    );
    assert_eq!(told[0].lines, [0, 1]);
}

#[test]
fn ball_with_a_line_too_many_is_not_told_that_it_may_not_be_round() {
    let ball = r#"{"view":"front","circle":[10,10,10]},{"view":"top","circle":[10,42.7,10]},
                  {"view":"right","circle":[42.7,10,10]}"#;
    let outcome = told(&format!(
        r#"{ball},{{"view":"front","type":"hidden","line":[5,7,12,9]}}"#
    ));
    assert!(of_kind(&outcome, RemarkKind::RoundEverywhere).is_empty());
    assert!(of_kind(&outcome, RemarkKind::MissingLines).is_empty());
}

#[test]
fn an_open_outline_is_told_where() {
    let outcome = told(&format!(
        r#"{},{},{{"view":"right","polyline":[[52.7,0],[72.7,0],[72.7,30],[52.7,30]]}},{HOLE},
           {{"view":"front","type":"hidden","line":[15,0,15,30]}},{{"view":"front","type":"hidden","line":[25,0,25,30]}},
           {{"view":"right","type":"hidden","line":[57.7,0,57.7,30]}},{{"view":"right","type":"hidden","line":[67.7,0,67.7,30]}}"#,
        rectangle("front", [0.0, 0.0], [40.0, 30.0]),
        rectangle("top", [0.0, 42.7], [40.0, 20.0])
    ));
    let told = of_kind(&outcome, RemarkKind::OpenEnd);
    assert_eq!(told.len(), 1, "{:?}", outcome.problems);
    assert_eq!(
        told[0].message,
        "lines end in the open in the right-side view at (52.7, 0) and (52.7, 30) mm; at each of its ends a line must \
         meet another one"
    );
    assert_eq!(told[0].lines, [2]);
}

#[test]
fn on_a_sheet_of_flat_parts_no_line_may_end_inside_the_outline() {
    let outcome = block_with(&[r#"{"view":"front","line":[10,0,10,12]}"#]);
    let told = of_kind(&outcome, RemarkKind::OpenEnd);
    assert_eq!(told.len(), 1, "{:?}", outcome.problems);
    let message = &told[0].message;
    assert!(
        message.starts_with("a line ends in the open in the front view at (10, 12) mm;"),
        "{message}"
    );
}
