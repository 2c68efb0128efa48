//! Bad input: every unusable file is named with what to do about it, and the sheets after it are still done.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::fs;

use crate::desk::{BRICK, BRICK_REPORT, Desk, json};

/// A whole sheet around the lines given.
fn sheet(lines: &str) -> String {
    format!(r#"{{"projection": "third-angle", "lines": [{lines}]}}"#)
}

fn svg(inside: &str) -> String {
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">{inside}</svg>"#
    )
}

/// A square of 30 mm whose lower left corner is at `(x, y)`, in a view that must be worked out.
fn square((x, y): (i32, i32)) -> String {
    let (right, up) = (x + 30, y + 30);
    format!(
        r#"{{"polyline": [[{x}, {y}], [{right}, {y}], [{right}, {up}], [{x}, {up}], [{x}, {y}]]}}"#
    )
}

/// A bad file: its name, its contents, and words the message must have besides the name.
type BadFile = (&'static str, Vec<u8>, &'static [&'static str]);

fn no_text_of_a_sheet() -> Vec<BadFile> {
    let utf16: Vec<u8> = BRICK.encode_utf16().flat_map(u16::to_le_bytes).collect();
    vec![
        ("empty.json", vec![], &["empty"]),
        (
            "text.json",
            b"a drawing of a cleat".to_vec(),
            &["JSON", "SVG"],
        ),
        ("binary.svg", vec![0xff, 0x00, 0x13, 0x80, 0x81], &["UTF-8"]),
        ("cut.json", BRICK.as_bytes()[..200].to_vec(), &["cut off"]),
        (
            "cut.svg",
            svg("<g><line").trim_end_matches("</svg>").into(),
            &["cut off"],
        ),
        ("utf16.json", utf16, &["UTF-8"]),
    ]
}

fn wrong_keys_words_and_numbers() -> Vec<BadFile> {
    vec![
        (
            "key.json",
            sheet(r#"{"veiw": "front", "line": [0, 0, 1, 0]}"#).into(),
            &["veiw", "view"],
        ),
        (
            "word.json",
            sheet(r#"{"type": "hiden", "line": [0, 0, 1, 0]}"#).into(),
            &["hiden", "hidden"],
        ),
        (
            "number.json",
            sheet(r#"{"line": [0, 0, 1e999, 0]}"#).into(),
            &["1e999", "finite"],
        ),
        (
            "nan.json",
            sheet(r#"{"line": [0, 0, NaN, 0]}"#).into(),
            &["NaN", "finite"],
        ),
        (
            "huge.json",
            sheet(r#"{"line": [0, 0, 1e300, 0]}"#).into(),
            &["too large"],
        ),
        (
            "short.json",
            sheet(r#"{"line": [0, 0, 1]}"#).into(),
            &["line"],
        ),
    ]
}

fn views_that_do_not_make_a_sheet() -> Vec<BadFile> {
    let front = r#"{"view": "front", "polyline": [[0, 0], [40, 0], [40, 30], [0, 30], [0, 0]]}"#;
    let top =
        r#"{"view": "top", "polyline": [[0, 42.7], [40, 42.7], [40, 62.7], [0, 62.7], [0, 42.7]]}"#;
    let center = r#"{"view": "right", "type": "center", "line": [52.7, 0, 52.7, 30]}"#;
    vec![
        (
            "no-lines.json",
            sheet("").into(),
            &["no visible or hidden line"],
        ),
        (
            "two-views.json",
            sheet(&[front, top].join(",")).into(),
            &["right-side view"],
        ),
        (
            "empty-view.json",
            sheet(&[front, top, center].join(",")).into(),
            &["right-side view"],
        ),
        (
            "four-views.json",
            sheet(&[(0, 0), (0, 50), (50, 0), (100, 0)].map(square).join(",")).into(),
            &["4 groups"],
        ),
        (
            "overlap.json",
            sheet(&[(0, 0), (10, 10), (50, 0)].map(square).join(",")).into(),
            &["top view"],
        ),
        (
            "zero.json",
            sheet(r#"{"view": "front", "line": [3, 3, 3, 3]}"#).into(),
            &["no visible or hidden line"],
        ),
    ]
}

fn svg_that_is_no_sheet() -> Vec<BadFile> {
    let nested = format!("{}{}", "<g>".repeat(50_000), "</g>".repeat(50_000));
    vec![
        (
            "itself.svg",
            svg(r##"<g id="a"><use href="#a"/></g>"##).into(),
            &["`use`"],
        ),
        ("nested.svg", svg(&nested).into(), &["nested"]),
        (
            "outside.svg",
            svg(r#"<image href="http://127.0.0.1/a.png" width="9" height="9"/>"#).into(),
            &["nothing is ever fetched"],
        ),
        (
            "border.svg",
            svg(r#"<rect x="5" y="5" width="90" height="90" fill="none" stroke="black"/>"#).into(),
            &["border"],
        ),
    ]
}

#[test]
fn every_bad_file_is_named_and_the_good_sheet_after_it_is_done() {
    let desk = Desk::with_brick();
    let bad_files = [
        no_text_of_a_sheet(),
        wrong_keys_words_and_numbers(),
        views_that_do_not_make_a_sheet(),
        svg_that_is_no_sheet(),
    ];
    for (name, contents, words) in bad_files.into_iter().flatten() {
        desk.put(name, contents);
        let run = desk.run(&["check", "--json", name, "brick.json"]);
        assert_eq!(run.status, 1, "{name}: {}", run.err);
        assert!(run.err.contains(name), "{name}: {}", run.err);
        for word in words {
            assert!(
                run.err.contains(word),
                "{name}: {word} is missing in: {}",
                run.err
            );
        }
        let lines: Vec<_> = run.out.lines().collect();
        assert!(json(lines[0])["error"].is_string(), "{name}: {}", run.out);
        assert_eq!(lines[1..], [BRICK_REPORT], "{name}");
    }
}

#[test]
fn missing_file_is_answered_with_the_nearest_name() {
    let run = Desk::with_brick().run(&["check", "birck.json"]);
    assert_eq!(run.status, 1);
    assert!(run.err.contains("did you mean brick.json"), "{}", run.err);
    assert_eq!(run.out, "");
}

#[test]
fn folder_is_not_taken_for_a_sheet() {
    let desk = Desk::with_brick();
    let run = desk.run(&["check", "."]);
    assert_eq!(run.status, 1);
    assert!(run.err.contains("this is a folder"), "{}", run.err);
}

#[test]
fn oversized_file_is_refused_before_it_is_read() {
    let desk = Desk::new();
    let file = fs::File::create(desk.path("large.json")).unwrap();
    file.set_len(1 << 40)
        .unwrap_or_else(|_| file.set_len(65 << 20).unwrap());
    let run = desk.run(&["check", "large.json"]);
    assert_eq!(run.status, 1);
    assert!(run.err.contains("64 MiB"), "{}", run.err);
}

#[test]
fn two_million_lines_are_refused() {
    let desk = Desk::with_brick();
    let lines = vec![r#"{"line":[0,0,1,1]}"#; 2_000_000].join(",");
    desk.put("many.json", sheet(&lines));
    let run = desk.run(&["check", "--json", "many.json", "brick.json"]);
    assert_eq!(run.status, 1);
    assert!(run.err.contains("200000 lines"), "{}", run.err);
    assert!(run.out.ends_with(&format!("{BRICK_REPORT}\n")));
}

#[test]
fn views_ruled_into_a_fine_grid_are_refused_before_they_fill_the_memory() {
    let desk = Desk::with_brick();
    let size = 99;
    let ruled = |(view, x, y): (&str, i32, i32)| {
        let line = move |a: i32, b: i32, c: i32, d: i32| {
            format!(r#"{{"view":"{view}","line":[{a},{b},{c},{d}]}}"#)
        };
        (0..=size)
            .flat_map(|i| {
                [
                    line(x + i, y, x + i, y + size),
                    line(x, y + i, x + size, y + i),
                ]
            })
            .collect::<Vec<_>>()
            .join(",")
    };
    let views = [("front", 0, 0), ("top", 0, 120), ("right", 120, 0)].map(ruled);
    desk.put("grid.json", sheet(&views.join(",")));
    let run = desk.run(&["check", "--json", "grid.json", "brick.json"]);
    assert_eq!(run.status, 1);
    assert!(run.err.contains("60000 corners"), "{}", run.err);
    assert!(run.out.ends_with(&format!("{BRICK_REPORT}\n")));
}

#[cfg(target_os = "linux")]
#[test]
fn name_that_is_no_unicode_is_printed_as_well_as_it_can_be() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let desk = Desk::new();
    let name = OsStr::from_bytes(b"br\xffck.json");
    fs::write(desk.path(name), BRICK).unwrap();
    let output = desk
        .command(&["check", "--json"])
        .arg(name)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(
        json(&String::from_utf8(output.stdout).unwrap())["sheet"],
        "br\u{fffd}ck.json"
    );
}
