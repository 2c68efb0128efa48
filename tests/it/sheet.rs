//! Reading sheets: the reference sheets, the ways an SVG can say things, and every kind of unusable file.

#![allow(clippy::unwrap_used, reason = "a test may fail anywhere")]

use std::fs;
use std::path::PathBuf;

use foldback::{
    Line, LineType, MAX_SHEET_BYTES, Projection, RemarkKind, Shape, Sheet, Unit, View, read_sheet,
};

fn reference_folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/reference")
}

fn reference(name: &str) -> Sheet {
    let bytes = fs::read(reference_folder().join(name)).unwrap();
    read_sheet(&bytes)
        .unwrap_or_else(|e| panic!("{name}: {e}"))
        .0
}

/// The names of all reference sheets.
fn reference_names() -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(reference_folder())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "svg"))
        .map(|path| path.file_stem().unwrap().to_string_lossy().into_owned())
        .collect();
    names.sort();
    assert!(!names.is_empty());
    names
}

/// What a line bears: nothing, a visible or a hidden edge.
fn bearing(line: &Line) -> Option<LineType> {
    Some(line.line_type).filter(|t| t.bears_geometry())
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// How far the ends of two straight lines are apart.
fn difference(a: &Shape, b: &Shape) -> f64 {
    match (a, b) {
        (Shape::Line { from: a, to: b }, Shape::Line { from: c, to: d }) => f64::min(
            apart(*a, *c).max(apart(*b, *d)),
            apart(*a, *d).max(apart(*b, *c)),
        ),
        _ => f64::INFINITY,
    }
}

// The sheets were written from one solid by the kernel named in their manifest; the SVG has 5 decimals in millimetres.
#[test]
fn svg_and_json_of_a_reference_sheet_have_the_same_lines() {
    let straight = |name: &String| name.starts_with(['p', 'q']);
    for name in reference_names().into_iter().filter(straight) {
        let json = reference(&format!("{name}.json"));
        let svg = reference(&format!("{name}.svg"));
        assert_eq!(json.unit, svg.unit, "{name}");
        assert_eq!(json.lines.len(), svg.lines.len(), "{name}");
        let millimetres = json.unit.millimetres();
        let mut left: Vec<&Line> = svg.lines.iter().collect();
        for line in &json.lines {
            let found = left.iter().position(|l| {
                bearing(l) == bearing(line)
                    && millimetres * difference(&l.shape, &line.shape) <= 1e-4
            });
            let found = found.unwrap_or_else(|| panic!("{name}: {line:?} is missing in the SVG"));
            left.swap_remove(found);
        }
    }
}

#[test]
fn a_sheet_written_as_json_reads_back_the_same() {
    let mut sheets: Vec<Sheet> = reference_names()
        .iter()
        .map(|name| reference(&format!("{name}.json")))
        .collect();
    sheets.push(every_shape());
    for sheet in sheets {
        let again = read_sheet(sheet.to_json().as_bytes()).unwrap().0;
        assert_eq!(again, sheet);
    }
}

fn every_shape() -> Sheet {
    let text = r#"{"unit": "in", "projection": "first-angle", "lines": [
        {"line": [0, 0, 1e-3, -2.5]},
        {"view": "top", "type": "center", "polyline": [[0, 0], [1, 2], [3, 4]]},
        {"view": "right", "type": "phantom", "circle": [1, 2, 3]},
        {"type": "dimension", "arc": [1, 2, 3, 350, 10]},
        {"type": "construction", "ellipse": [1, 2, 3, 4, 30]},
        {"type": "border", "elliptical_arc": [1, 2, 3, 4, 30, 0, 90.5]},
        {"view": "front", "type": "hidden", "curve": [[0, 0], [0.1, 0.30000000000000004]]}
    ]}"#;
    read_sheet(text.as_bytes()).unwrap().0
}

#[test]
fn json_says_unit_projection_view_and_type() {
    let sheet = every_shape();
    assert_eq!(sheet.unit, Unit::Inch);
    assert_eq!(sheet.projection, Some(Projection::FirstAngle));
    let views: Vec<Option<View>> = sheet.lines.iter().map(|l| l.view).collect();
    let (top, right, front) = (Some(View::Top), Some(View::Right), Some(View::Front));
    assert_eq!(views, [None, top, right, None, None, None, front]);
    let types: Vec<LineType> = sheet.lines.iter().map(|l| l.line_type).collect();
    use LineType::{Border, Center, Construction, Dimension, Hidden, Phantom, Visible};
    assert_eq!(
        types,
        [
            Visible,
            Center,
            Phantom,
            Dimension,
            Construction,
            Border,
            Hidden
        ]
    );
}

#[test]
fn a_byte_order_mark_before_utf_8_does_no_harm() {
    let mut bytes = b"\xef\xbb\xbf".to_vec();
    bytes.extend(every_shape().to_json().bytes());
    assert_eq!(read_sheet(&bytes).unwrap().0, every_shape());
}

#[test]
fn a_line_without_length_stays_in_the_list_and_is_told() {
    let text = br#"{"lines": [{"line": [1, 1, 1, 1]}, {"line": [0, 0, 4, 0]}, {"arc": [0, 0, 1, 30, 30]}]}"#;
    let (sheet, remarks) = read_sheet(text).unwrap();
    assert_eq!(sheet.lines.len(), 3);
    assert_eq!(remarks.len(), 1);
    assert_eq!(remarks[0].kind, RemarkKind::ShortLine);
    assert_eq!(remarks[0].lines, [0, 2]);
}

/// Checks the message of each file that cannot be read, and shows all that are not as expected.
fn assert_refused(cases: &[(Vec<u8>, &str)]) {
    let wrong: Vec<String> = cases
        .iter()
        .map(|(bytes, expected)| (refused(bytes), expected))
        .filter(|(message, expected)| message != *expected)
        .map(|(message, expected)| format!("said     {message}\nexpected {expected}"))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The message of a file that cannot be read.
fn refused(bytes: &[u8]) -> String {
    match read_sheet(bytes) {
        Ok((sheet, _)) => panic!("read as {sheet:?}"),
        Err(error) => error.to_string(),
    }
}

#[test]
fn what_is_no_text_is_refused() {
    let cases: [(&[u8], &str); 8] = [
        (
            b"",
            "the file is empty; draw a sheet with three views and save it again",
        ),
        (
            b" \n\t ",
            "the file is empty; draw a sheet with three views and save it again",
        ),
        (
            b"\xff\xfe{\0}\0",
            "the file is written in UTF-16; save it again with the encoding UTF-8",
        ),
        (
            b"{\0\"\0l\0",
            "the file is written in UTF-16; save it again with the encoding UTF-8",
        ),
        (
            b"\xff\xfe\0\0{\0\0\0",
            "the file is written in UTF-32; save it again with the encoding UTF-8",
        ),
        (
            b"{\"lines\":\n [\"gr\xf6n\"]}",
            "row 2, column 6: this is no UTF-8 text; save the file again with the encoding UTF-8",
        ),
        (
            b"\x1f\x8b\x08\0",
            "the file is compressed; unpack it and give the unpacked SVG or JSON file",
        ),
        (
            b"solid part\n facet normal",
            "this is neither JSON nor SVG, it begins with \"solid part\\n \"; save the drawing as SVG or write it as a JSON sheet",
        ),
    ];
    assert_refused(&cases.map(|(bytes, message)| (bytes.to_vec(), message)));
}

#[test]
fn a_file_too_large_is_refused_unread() {
    let bytes = vec![b' '; MAX_SHEET_BYTES + 1];
    assert_eq!(
        refused(&bytes),
        "the file has 65 MiB, more than the 64 MiB that are read; leave out everything but the three views"
    );
}

#[test]
fn two_million_lines_are_refused_at_the_first_line_too_many() {
    let line = "{\"line\":[0,0,9,9]}";
    let json = format!("{{\"lines\":[{}]}}", vec![line; 2_000_000].join(",\n"));
    assert_eq!(
        refused(json.as_bytes()),
        "row 200001, column 1: the sheet has more than 200000 lines; leave out what is not part of the views"
    );
    let line = "<line x2='9' stroke='red'/>";
    let svg = format!("<svg>{}</svg>", line.repeat(2_000_000));
    let message = refused(svg.as_bytes());
    assert!(
        message.ends_with("leave out what is not part of the views"),
        "{message}"
    );
}

/// A JSON sheet whose third row is this line.
fn with_line(line: &str) -> String {
    format!("{{\"lines\": [\n{{\"line\": [0, 0, 1, 1]}},\n{line}\n]}}")
}

/// Faulty lines and what is said about them.
const FAULTY_LINES: [(&str, &str); 23] = [
    (
        r#"{"tipe": "hidden", "line": [0, 0, 1, 1]}"#,
        "row 3, column 7: unknown key `tipe` in a line; did you mean `type`?",
    ),
    (
        r#"{"cirle": [0, 0, 1]}"#,
        "row 3, column 8: unknown key `cirle` in a line; did you mean `circle`?",
    ),
    (
        r#"{"zzz": 1}"#,
        "row 3, column 6: unknown key `zzz` in a line; there are `view`, `type`, `line`, `polyline`, `circle`, `arc`, \
             `ellipse`, `elliptical_arc`, `curve`",
    ),
    (
        r#"{"view": "frnt", "line": [0, 0, 1, 1]}"#,
        "row 3, column 15: unknown view `frnt`; did you mean `front`?",
    ),
    (
        r#"{"view": "left", "line": [0, 0, 1, 1]}"#,
        "row 3, column 15: unknown view `left`; there are `front`, `top`, `right`",
    ),
    (
        r#"{"type": "Hiden", "line": [0, 0, 1, 1]}"#,
        "row 3, column 16: unknown type `Hiden`; did you mean `hidden`?",
    ),
    (
        r#"{"view": 3, "line": [0, 0, 1, 1]}"#,
        "row 3, column 10: there must be a word in quotes here, not integer `3`",
    ),
    (
        r#"{"view": "top"}"#,
        "row 3, column 15: this line has no shape; give it one of `line`, `polyline`, `circle`, `arc`, `ellipse`, \
             `elliptical_arc`, `curve`",
    ),
    (
        r#"{"line": [0, 0, 1, 1], "circle": [0, 0, 1]}"#,
        "row 3, column 31: this line has two shapes, `line` and `circle`; make two lines of it",
    ),
    (
        r#"{"line": [0, 0, 1, 1], "line": [0, 0, 2, 2]}"#,
        "row 3, column 29: the key `line` is there twice; delete one of them",
    ),
    (
        r#"{"line": [0, 0, 1]}"#,
        "row 3, column 18: `line` needs 4 numbers (x1, y1, x2, y2), not 3",
    ),
    (
        r#"{"circle": [0, 0, 1, 5]}"#,
        "row 3, column 23: `circle` needs 3 numbers (cx, cy, r), not more",
    ),
    (
        "{\"circle\": [0, 0, 1],\n\"view\": \"back\"\n}",
        "row 4, column 14: unknown view `back`; there are `front`, `top`, `right`",
    ),
    (
        r#"{"polyline": [[0, 0], [1]]}"#,
        "row 3, column 25: a point of `polyline` needs 2 numbers (x, y), not 1",
    ),
    (
        r#"{"curve": [[0, 0]]}"#,
        "row 3, column 18: `curve` needs at least 2 points",
    ),
    (
        r#"{"circle": [0, 0, 0]}"#,
        "row 3, column 20: the radius 0 is not above 0; give the radius of a real circle or ellipse",
    ),
    (
        r#"{"ellipse": [0, 0, 5, -2, 0]}"#,
        "row 3, column 28: the radius -2 is not above 0; give the radius of a real circle or ellipse",
    ),
    (
        r#"{"line": [0, 0, 1, NaN]}"#,
        "row 3, column 20: `NaN` is no number a line can have; write a finite number",
    ),
    (
        r#"{"line": [0, 0, 1, -Infinity]}"#,
        "row 3, column 21: `-Infinity` is no number a line can have; write a finite number",
    ),
    (
        r#"{"line": [0, 0, 1, 1e999]}"#,
        "row 3, column 24: `1e999` is no number a line can have; write a finite number",
    ),
    (
        r#"{"line": [0, 0, 1, 1e9]}"#,
        "row 3, column 23: 1e9 is too large; no number may be beyond 10000000",
    ),
    (
        r#"{"line": [0, 0, 1, "7"]}"#,
        "row 3, column 22: there must be a number here, not string \"7\"",
    ),
    (
        r#"{"line": [0, 0, 1, 1]"#,
        "row 4, column 1: expected `,` or `}`; put the file right there, it is no valid JSON",
    ),
];

#[test]
fn a_faulty_json_line_is_named_with_its_place_and_remedy() {
    assert_refused(&FAULTY_LINES.map(|(line, message)| (with_line(line).into_bytes(), message)));
}

#[test]
fn a_faulty_json_sheet_is_named_with_its_place_and_remedy() {
    let cases = [
        (
            "{}",
            "row 1, column 2: the sheet has no list `lines`; add \"lines\": [...] with the lines of its views",
        ),
        (
            "[]",
            "row 1, column 1: there must be a sheet, { \"lines\": [...] }, here, not sequence",
        ),
        (
            r#"{"units": "mm"}"#,
            "row 1, column 8: unknown key `units` in the sheet; did you mean `unit`?",
        ),
        (
            r#"{"unit": "cm"}"#,
            "row 1, column 13: unknown unit `cm`; there are `mm`, `in`",
        ),
        (
            r#"{"projection": "third angle"}"#,
            "row 1, column 28: unknown projection `third angle`; did you mean `third-angle`?",
        ),
        (
            r#"{"lines": 3}"#,
            "row 1, column 11: there must be a list of lines in [ ] here, not integer `3`",
        ),
        (
            r#"{"lines": [], "lines": []}"#,
            "row 1, column 21: the key `lines` is there twice; delete one of them",
        ),
        (
            r#"{"lines": []} {}"#,
            "row 1, column 15: trailing characters; put the file right there, it is no valid JSON",
        ),
    ];
    assert_refused(&cases.map(|(text, message)| (text.into(), message)));
}

#[test]
fn a_file_cut_off_anywhere_is_refused() {
    for name in ["p01-step-stop.json", "p01-step-stop.svg"] {
        let whole = fs::read(reference_folder().join(name)).unwrap();
        let end = whole.trim_ascii_end().len();
        for length in (2..end).step_by(37) {
            let message = refused(&whole[..length]);
            assert!(
                message.contains("cut off"),
                "{name} cut at {length}: {message}"
            );
        }
    }
}

/// The lines of an SVG with this between its root's tags, its page 100 by 80 mm in user units of a millimetre.
fn svg_lines(body: &str) -> Vec<Line> {
    read_svg(body).0.lines
}

fn on_page(body: &str) -> String {
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg' xmlns:xlink='http://www.w3.org/1999/xlink' xmlns:ed='urn:editor' \
         width='100mm' height='80mm' viewBox='0 0 100 80'>\n{body}</svg>"
    )
}

fn read_svg(body: &str) -> (Sheet, Vec<foldback::Remark>) {
    read_sheet(on_page(body).as_bytes()).unwrap_or_else(|e| panic!("{body}: {e}"))
}

fn assert_lines(lines: &[Line], expected: &[[f64; 4]]) {
    assert_eq!(lines.len(), expected.len(), "{lines:?}");
    for (line, [x1, y1, x2, y2]) in lines.iter().zip(expected) {
        let Shape::Line { from, to } = line.shape else {
            panic!("{line:?} is no line")
        };
        let off = apart(from, [*x1, *y1]).max(apart(to, [*x2, *y2]));
        assert!(off < 1e-9, "{line:?} is not {:?}", [x1, y1, x2, y2]);
    }
}

#[test]
fn svg_coordinates_come_out_with_y_up_and_no_digit_lost() {
    let lines = svg_lines("<line x1='10.3' y1='72.7' x2='0.1' y2='7.3' stroke='black'/>");
    assert_lines(&lines, &[[10.3, 80.0 - 72.7, 0.1, 80.0 - 7.3]]);
}

#[test]
fn every_straight_stretch_of_a_path_is_a_line_of_its_own() {
    let lines = svg_lines("<path d='M 1 1 h 4 v 3 z m 10 0 l 2 2' stroke='black'/>");
    assert_lines(
        &lines,
        &[
            [1.0, 79.0, 5.0, 79.0],
            [5.0, 79.0, 5.0, 76.0],
            [5.0, 76.0, 1.0, 79.0],
            [11.0, 79.0, 13.0, 77.0],
        ],
    );
    let lines = svg_lines(
        "<g stroke='black'><rect x='1' y='1' width='4' height='3'/><polygon points='0,0 1,0 1,1'/></g>",
    );
    assert_eq!(lines.len(), 7);
    let lines = svg_lines("<polyline points='0,0 1,0 1,1' stroke='black'/>");
    assert_lines(&lines, &[[0.0, 80.0, 1.0, 80.0], [1.0, 80.0, 1.0, 79.0]]);
}

#[test]
fn nested_groups_transforms_and_use_are_resolved_in_document_order() {
    let lines = svg_lines(
        "<defs><g id='pair'><line x2='2' id='a'/><line y2='2'/></g></defs>\
         <g transform='translate(10 20)' stroke='black'><g transform='scale(2) rotate(90)'><line x2='3'/></g>\
         <use href='#pair' x='1'/></g><use xlink:href='#a' y='5' stroke='black' transform='scale(3)'/>",
    );
    assert_lines(
        &lines,
        &[
            [10.0, 60.0, 10.0, 54.0],
            [11.0, 60.0, 13.0, 60.0],
            [11.0, 60.0, 11.0, 58.0],
            [0.0, 65.0, 6.0, 65.0],
        ],
    );
}

#[test]
fn circles_and_ellipses_are_found_again() {
    let near = |a: f64, b: f64| (a - b).abs() < 1e-4;
    let lines = svg_lines(
        "<g stroke='black'><circle cx='30' cy='40' r='12.5'/>\
         <ellipse cx='30' cy='40' rx='10' ry='4' transform='rotate(-30 30 40)'/></g>",
    );
    let Shape::Circle { center, radius } = lines[0].shape else {
        panic!("{lines:?}")
    };
    assert!(
        apart(center, [30.0, 40.0]) < 1e-4 && near(radius, 12.5),
        "{lines:?}"
    );
    let Shape::Ellipse {
        center,
        radii,
        rotation,
    } = lines[1].shape
    else {
        panic!("{lines:?}")
    };
    assert!(apart(center, [30.0, 40.0]) < 1e-4, "{lines:?}");
    assert!(near(radii[0], 10.0) && near(radii[1], 4.0), "{lines:?}");
    assert!(
        (rotation.rem_euclid(180.0) - 30.0).abs() < 1e-3,
        "{lines:?}"
    );
}

#[test]
fn arcs_are_found_again_from_arc_commands_and_from_beziers() {
    // A quarter about (20, 60) from (30, 60) up to (20, 70), once as an arc and once as the usual cubic.
    let k = 10.0 * 4.0 / 3.0 * (2f64.sqrt() - 1.0);
    let cubic = format!("M 30 20 C 30 {} {} 10 20 10", 20.0 - k, 20.0 + k);
    let three_quarters = "M 30 20 A 10 10 0 1 0 20 30";
    for (data, end) in [
        ("M 30 20 A 10 10 0 0 0 20 10", 90.0),
        (&cubic, 90.0),
        (three_quarters, 270.0),
    ] {
        let lines = svg_lines(&format!("<path d='{data}' stroke='black'/>"));
        let [
            Line {
                shape:
                    Shape::Arc {
                        center,
                        radius,
                        start,
                        end: to,
                    },
                ..
            },
        ] = lines[..]
        else {
            panic!("{data}: {lines:?}")
        };
        assert!(
            apart(center, [20.0, 60.0]) < 1e-4 && (radius - 10.0).abs() < 1e-4,
            "{lines:?}"
        );
        assert!(start.abs() < 1e-3 && (to - end).abs() < 1e-3, "{lines:?}");
    }
}

#[test]
fn an_elliptical_arc_is_found_again() {
    // The upper half of an ellipse about (30, 40), drawn over two symmetric pieces in one and over one arc each.
    let lines = svg_lines("<path d='M 10 40 A 20 8 0 0 1 50 40' stroke='black'/>");
    let [
        Line {
            shape:
                Shape::EllipticalArc {
                    center,
                    radii,
                    rotation,
                    start,
                    end,
                },
            ..
        },
    ] = lines[..]
    else {
        panic!("{lines:?}")
    };
    assert!(apart(center, [30.0, 40.0]) < 1e-3, "{lines:?}");
    let [long, short] = [radii[0].max(radii[1]), radii[0].min(radii[1])];
    assert!(
        (long - 20.0).abs() < 1e-3 && (short - 8.0).abs() < 1e-3,
        "{lines:?}"
    );
    let first = (rotation + start).rem_euclid(360.0);
    assert!(
        first.min(360.0 - first) < 0.01 && (end - start - 180.0).abs() < 0.01,
        "{lines:?}"
    );
}

#[test]
fn other_beziers_become_points_within_a_hundredth_of_a_millimetre() {
    let lines = svg_lines("<path d='M 10 70 C 20 10 60 90 80 20' stroke='black'/>");
    let [
        Line {
            shape: Shape::Curve(points),
            ..
        },
    ] = &lines[..]
    else {
        panic!("{lines:?}")
    };
    // On the curve at t: Bernstein's form.
    let at = |t: f64| {
        let s = 1.0 - t;
        [0, 1].map(|i| {
            let [a, b, c, d] =
                [[10.0, 10.0], [20.0, 70.0], [60.0, -10.0], [80.0, 60.0]].map(|p: [f64; 2]| p[i]);
            s * s * s * a + 3.0 * s * s * t * b + 3.0 * s * t * t * c + t * t * t * d
        })
    };
    for i in 0..=1000 {
        let p = at(f64::from(i) / 1000.0);
        let off = points
            .windows(2)
            .map(|ends| from_chord(p, ends[0], ends[1]))
            .fold(f64::INFINITY, f64::min);
        assert!(off < 0.0101, "{p:?} is {off} off");
    }
}

/// How far a point is from a straight piece.
fn from_chord(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let (v, w) = ([b[0] - a[0], b[1] - a[1]], [p[0] - a[0], p[1] - a[1]]);
    let t = ((v[0] * w[0] + v[1] * w[1]) / (v[0] * v[0] + v[1] * v[1])).clamp(0.0, 1.0);
    apart(p, [a[0] + t * v[0], a[1] + t * v[1]])
}

#[test]
fn the_page_says_how_long_a_user_unit_is() {
    let line = "<line x1='0' y1='10' x2='10' y2='10' stroke='black'/>";
    // Root attributes, the sheet's unit, and the length of ten user units in it. A point is 1/72 inch, a pica 1/6 inch.
    let cases = [
        (
            "width='100mm' height='80mm' viewBox='0 0 100 80'",
            Unit::Millimetre,
            10.0,
        ),
        (
            "width='10cm' height='8cm' viewBox='0 0 100 80'",
            Unit::Millimetre,
            10.0,
        ),
        (
            "width='10cm' height='8cm' viewBox='0 0 200 160'",
            Unit::Millimetre,
            5.0,
        ),
        (
            "width='4in' height='3in' viewBox='0 0 4 3'",
            Unit::Inch,
            10.0,
        ),
        (
            "width='4in' height='3in' viewBox='0 0 400 300'",
            Unit::Inch,
            0.1,
        ),
        (
            "width='72pt' height='72pt' viewBox='0 0 72 72'",
            Unit::Millimetre,
            254.0 / 72.0,
        ),
        (
            "width='6pc' height='6pc' viewBox='0 0 25.4 25.4'",
            Unit::Millimetre,
            10.0,
        ),
        ("width='100mm' viewBox='0 0 200 160'", Unit::Millimetre, 5.0),
        ("viewBox='0 0 100 80'", Unit::Millimetre, 10.0),
        (
            "width='400' height='320' viewBox='0 0 100 80'",
            Unit::Millimetre,
            10.0,
        ),
        (
            "width='100%' height='100%' viewBox='0 0 100 80'",
            Unit::Millimetre,
            10.0,
        ),
        ("width='100mm' height='80mm'", Unit::Millimetre, 10.0),
        ("", Unit::Millimetre, 10.0),
    ];
    for (root, unit, length) in cases {
        let (sheet, _) = read_sheet(format!("<svg {root}>{line}</svg>").as_bytes()).unwrap();
        assert_eq!(sheet.unit, unit, "{root}");
        let Shape::Line { from, to } = sheet.lines[0].shape else {
            panic!("{sheet:?}")
        };
        assert!((apart(from, to) - length).abs() < 1e-9, "{root}: {sheet:?}");
    }
}

#[test]
fn lengths_with_a_unit_keep_it_on_a_page_without_view_box() {
    let text = "<svg width='5in' height='50mm'><line x1='1cm' y1='10mm' x2='1in' y2='20mm' stroke='black'/></svg>";
    let (sheet, _) = read_sheet(text.as_bytes()).unwrap();
    let Shape::Line { from, to } = sheet.lines[0].shape else {
        panic!("{sheet:?}")
    };
    // To single precision, in which the library multiplies.
    assert!(
        apart(from, [10.0, 40.0]) < 1e-5 && apart(to, [25.4, 30.0]) < 1e-5,
        "{sheet:?}"
    );
}

fn types(body: &str) -> Vec<LineType> {
    svg_lines(body).iter().map(|l| l.line_type).collect()
}

#[test]
fn a_name_speaks_before_dashes_and_dashes_before_width() {
    let body = "<g stroke='black' stroke-width='0.7'>\
        <line x2='9'/>\
        <line x2='9' stroke-dasharray='3 1.5' stroke-width='0.35'/>\
        <line x2='9' stroke-dasharray='8 1.5 1.5 1.5'/>\
        <line x2='9' stroke-dasharray='8 1 1 1 1 1'/>\
        <line x2='9' stroke-width='0.35'/>\
        <line x2='9' stroke-width='0.5'/>\
        <line x2='9' stroke-width='0.35' class='edge visible'/>\
        <line x2='9' id='center-3'/>\
        <line x2='9' stroke-dasharray='3 1.5' class='phantom'/></g>";
    use LineType::{Center, Dimension, Hidden, Phantom, Visible};
    assert_eq!(
        types(body),
        [
            Visible, Hidden, Center, Phantom, Dimension, Visible, Visible, Center, Phantom
        ]
    );
}

#[test]
fn the_nearest_name_counts_and_goes_through_groups_and_use() {
    let body = "<defs><line id='plain' x2='9'/><line class='hidden' id='own' x2='9'/></defs>\
        <g ed:label='Construction lines' stroke='black'><line x2='9'/><g class='Visible'><line x2='9'/>\
        <use href='#plain'/><use href='#own'/></g><use href='#plain' class='border'/></g>";
    use LineType::{Border, Construction, Hidden, Visible};
    assert_eq!(
        types(body),
        [Construction, Visible, Visible, Hidden, Border]
    );
}

#[test]
fn style_sheets_decide_stroke_width_and_dashes() {
    let body = "<style>.a{stroke:#000;stroke-width:2} .b{stroke:#000;stroke-dasharray:3,1;fill:none!important}\
        #gone{display:none}</style><line class='a' x2='9'/><line class='b' x2='9'/><line class='a' id='gone' x2='9'/>\
        <line class='a' x2='9' style='stroke-width:1'/>";
    assert_eq!(
        types(body),
        [LineType::Visible, LineType::Hidden, LineType::Dimension]
    );
}

#[test]
fn widths_count_as_drawn() {
    let body =
        "<g stroke='black' stroke-width='1'><line x2='9'/><line x2='9' transform='scale(.5)'/></g>";
    assert_eq!(types(body), [LineType::Visible, LineType::Dimension]);
}

#[test]
fn named_lines_count_even_if_their_stroke_is_not_said() {
    let body = "<line class='visible' x2='9'/><line class='hidden' x2='9' stroke='none'/><path d='M0 0h1v1z'/>";
    let (sheet, remarks) = read_svg(body);
    assert_eq!(sheet.lines.len(), 1);
    assert_eq!(sheet.lines[0].line_type, LineType::Visible);
    assert_eq!(remarks[0].kind, RemarkKind::PassedOver);
    assert_eq!(
        remarks[0].message,
        "2 shape(s) without a stroke were passed over; if they are lines, give them one"
    );
}

#[test]
fn text_markers_clips_patterns_and_foreign_data_bear_no_geometry() {
    let body = "<defs><marker id='m'><path d='M0 0h1' stroke='red'/></marker>\
        <clipPath id='c'><rect width='1' height='1'/></clipPath><pattern id='p'><line x2='1' stroke='red'/></pattern></defs>\
        <ed:view><line x2='3' stroke='red'/></ed:view><text stroke='red'>front view</text>\
        <foreignObject><line x2='3' stroke='red'/></foreignObject>\
        <line x2='9' stroke='black' marker-end='url(#m)' clip-path='url(#c)' filter='url(#none)' mask='url(#none)'/>";
    assert_lines(&svg_lines(body), &[[0.0, 80.0, 9.0, 80.0]]);
}

#[test]
fn entities_and_a_document_type_are_understood() {
    let text = "<?xml version='1.0' encoding='UTF-8'?>\n<!DOCTYPE svg PUBLIC '-//W3C//DTD SVG 1.1//EN' \
        'http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd' [<!ENTITY pen 'stroke:black'><!ENTITY one '<line class=\"hidden\" x2=\"7\" \
        stroke=\"red\"/>'>]>\n<svg viewBox='0 0 9 9'><line x2='9' style='&pen;'/>&one;&one;</svg>";
    let (sheet, _) = read_sheet(text.as_bytes()).unwrap();
    let types: Vec<LineType> = sheet.lines.iter().map(|l| l.line_type).collect();
    assert_eq!(
        types,
        [LineType::Visible, LineType::Hidden, LineType::Hidden]
    );
}

#[test]
fn a_faulty_svg_is_named_with_its_place_and_remedy() {
    let cases = [
        (
            "<line x2='NaN'/>",
            "row 2, column 1: `x2` is \"NaN\", which cannot be read; write finite numbers",
        ),
        (
            "<line x2='1e999'/>",
            "row 2, column 1: `x2` is \"1e999\", which cannot be read; write finite numbers",
        ),
        (
            "<line x2='1e9'/>",
            "row 2, column 1: `x2` is 1e9, which is too large; no number may be beyond 10000000",
        ),
        (
            "<circle r='-3'/>",
            "row 2, column 1: `r` is -3; a radius or size must not be below 0",
        ),
        (
            "<polyline points='0,0 a,b'/>",
            "row 2, column 1: `points` is \"0,0 a,b\", which cannot be read; write finite numbers",
        ),
        (
            "<g transform='turn(3)'/>",
            "row 2, column 1: `transform` is \"turn(3)\", which cannot be read; write finite numbers",
        ),
        (
            "<image href='http://harbour.invalid/photo.png'/>",
            "row 2, column 1: `image` refers to \"http://harbour.invalid/photo.png\" outside this file, and nothing is ever \
             fetched; embed what is meant, or delete this element",
        ),
        (
            "<g>\n <use xlink:href='other.svg#part'/></g>",
            "row 3, column 2: `use` refers to \"other.svg#part\" outside this file, and nothing is ever fetched; embed what \
             is meant, or delete this element",
        ),
        (
            "<style>@import url(lines.css);</style>",
            "row 2, column 1: `style` refers to \"an @import\" outside this file, and nothing is ever fetched; embed what is \
             meant, or delete this element",
        ),
        (
            "<g id='a'><use href='#a'/></g>",
            "row 2, column 1: this element contains a `use` that leads back to it; break the circle",
        ),
        (
            "<g id='a'><use href='#b'/></g><g id='b'><use href='#a'/></g>",
            "row 2, column 31: this element contains a `use` that leads back to it; break the circle",
        ),
        (
            "<path d='M 0 0 h 5' fill='red' stroke='none'/>",
            "row 1, column 1: no line is drawn in this file; give the lines a stroke, and turn pictures into lines",
        ),
        (
            "<g stroke='red' transform='scale(1e6)'><line x2='900'/></g>",
            "row 1, column 1: drawn line 1 reaches beyond 10000000; move the drawing onto the page",
        ),
        (
            "</g>",
            "row 2, column 1: expected 'svg' tag, not 'g'; put the file right there, it is no valid XML",
        ),
    ];
    assert_refused(&cases.map(|(body, message)| (on_page(body).into_bytes(), message)));
    let message = refused(on_page("<path d='M 0 0 h 5 k 3'/>").as_bytes());
    assert!(
        message.starts_with("row 2, column 1: the path data `d` cannot be read"),
        "{message}"
    );
}

#[test]
fn what_is_no_svg_page_is_refused() {
    assert_eq!(
        refused(b"<html><body/></html>"),
        "row 1, column 1: this is no SVG, its outermost element is `html`; save the drawing as SVG"
    );
    assert_eq!(
        refused(b"<svg width='-5mm'/>"),
        "row 1, column 1: `width` of the page is \"-5mm\"; give it a size above 0, such as \"297mm\" or for viewBox \"0 0 297 210\""
    );
    let outside = refused(b"<?xml-stylesheet href='lines.css'?><svg/>");
    assert!(outside.contains("nothing is ever fetched"), "{outside}");
    let unknown =
        refused(b"<!DOCTYPE svg [<!ENTITY x SYSTEM 'file:///etc/hostname'>]><svg>&x;</svg>");
    assert!(unknown.contains("no valid XML"), "{unknown}");
}

#[test]
fn missing_targets_and_embedded_pictures_are_told() {
    let (_, remarks) = read_svg(
        "<use href='#none'/><image href='data:image/png;base64,AAAA'/><line x2='1' stroke='red'/>",
    );
    let messages: Vec<&str> = remarks.iter().map(|r| r.message.as_str()).collect();
    assert_eq!(
        messages,
        [
            "1 embedded picture(s) were passed over; only drawn lines are read, so trace what matters",
            "row 2, column 1: `use` refers to `#none`, which is not in the file, so nothing was drawn there",
        ]
    );
}

#[test]
fn deep_nesting_is_refused_and_what_is_allowed_can_be_resolved() {
    let nested = |n: usize| {
        format!(
            "{}<line x2='9' stroke='red'/>{}",
            "<g>".repeat(n),
            "</g>".repeat(n)
        )
    };
    assert_eq!(svg_lines(&nested(120)).len(), 1);
    let linked: String = (0..60)
        .map(|i| {
            format!(
                "<symbol id='s{i}' viewBox='0 0 9 9'><use width='9' href='#s{}'/></symbol>",
                i + 1
            )
        })
        .collect();
    let end = "<symbol id='s60'><line x2='9' stroke='red'/></symbol><use href='#s0'/>";
    assert_eq!(svg_lines(&format!("{linked}{end}")).len(), 1);
    for n in [150, 300_000] {
        let message = refused(on_page(&nested(n)).as_bytes());
        assert!(
            message.contains("elements are nested more than 128 deep here"),
            "{message}"
        );
    }
}

#[test]
fn styles_and_attributes_that_would_take_for_ever_are_refused() {
    let style = format!("<line style='{}'/>", "stroke:red;".repeat(50_000));
    let sheet = format!("<style>{}</style>", "g,a{b:c}".repeat(20_000));
    let rules = "the styles of this file have too many rules; write short styles into the elements";
    let attributes: String = (0..201).map(|i| format!(" a{i}='>'")).collect();
    assert_refused(&[
        (on_page(&style).into(), &format!("row 2, column 1: {rules}")),
        (on_page(&sheet).into(), &format!("row 2, column 1: {rules}")),
        (
            on_page(&format!("<g{attributes}/>")).into(),
            "row 2, column 1: this element has too many attributes; save the drawing as plain SVG",
        ),
    ]);
}

#[test]
fn growth_by_use_and_by_entities_is_bounded() {
    let mut body = "<defs><g id='g0'><line x2='9' stroke='red'/></g>".to_owned();
    for i in 1..40 {
        body += &format!(
            "<g id='g{i}'><use href='#g{0}'/><use href='#g{0}'/></g>",
            i - 1
        );
    }
    let message = refused(on_page(&format!("{body}</defs><use href='#g39'/>")).as_bytes());
    assert!(
        message.contains("the drawing comes to more than 500000 elements"),
        "{message}"
    );

    let path = format!("<path d='M0 0{}'/>", "l1 1".repeat(600_000));
    let message = refused(on_page(&path).as_bytes());
    assert!(
        message.starts_with("row 2, column 1: the drawing has more than 200000 lines"),
        "{message}"
    );

    let text = "x".repeat(1 << 20);
    let laughs = "&a;".repeat(2000);
    let svg = format!("<!DOCTYPE svg [<!ENTITY a '{text}'>]><svg><desc>{laughs}</desc></svg>");
    let message = refused(svg.as_bytes());
    assert!(
        message.contains("entities of this file stand for too much text"),
        "{message}"
    );
}
