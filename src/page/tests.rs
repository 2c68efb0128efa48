//! Requests as the page makes them, and as it should not.

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;

use serde_json::{Value, json};

use super::answer;

fn asked(request: &Value) -> Vec<u8> {
    answer(request.to_string().as_bytes())
}

fn told(request: &Value) -> Value {
    serde_json::from_slice(&asked(request)).unwrap()
}

fn error(request: &Value) -> String {
    told(request)["error"]
        .as_str()
        .unwrap_or_default()
        .to_owned()
}

fn rectangle(view: &str, [x, y]: [f64; 2], [w, h]: [f64; 2]) -> Vec<Value> {
    let corners = [[x, y], [x + w, y], [x + w, y + h], [x, y + h], [x, y]];
    corners
        .windows(2)
        .map(|ends| json!({"view": view, "line": [ends[0][0], ends[0][1], ends[1][0], ends[1][1]]}))
        .collect()
}

/// The twelve lines of a block 40 mm wide, 20 mm deep and 30 mm high.
fn block() -> Vec<Value> {
    [
        rectangle("front", [0.0, 0.0], [40.0, 30.0]),
        rectangle("top", [0.0, 40.0], [40.0, 20.0]),
        rectangle("right", [50.0, 0.0], [20.0, 30.0]),
    ]
    .concat()
}

fn check(lines: &[Value]) -> Value {
    told(&json!({"do": "check", "sheet": {"lines": lines}}))
}

/// The text of every sample.
fn samples() -> BTreeMap<String, String> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("samples");
    let files = fs::read_dir(folder).unwrap().flat_map(|entry| {
        let folder = entry.unwrap().path();
        ["sheet.json", "sheet.svg"].map(|name| folder.join(name))
    });
    let sheets: BTreeMap<String, String> = files
        .filter(|path| path.exists())
        .map(|path| {
            (
                path.display().to_string(),
                fs::read_to_string(path).unwrap(),
            )
        })
        .collect();
    assert!(sheets.len() > 30);
    sheets
}

#[test]
fn empty_views_are_missing_and_no_error() {
    let lines = block();
    for (count, missing) in [
        (0, vec!["front", "top", "right"]),
        (1, vec!["top", "right"]),
        (4, vec!["top", "right"]),
        (8, vec!["right"]),
    ] {
        let answer = check(&lines[..count]);
        assert_eq!(
            answer["unfinished"]["missing"],
            json!(missing),
            "{count} lines: {answer}"
        );
        assert_eq!(answer["report"], Value::Null);
    }
    let center = json!({"view": "top", "type": "center", "line": [0, 50, 40, 50]});
    let answer = check(&[&lines[..4], &[center]].concat());
    assert_eq!(answer["unfinished"]["missing"], json!(["top", "right"]));
}

#[test]
fn lines_without_a_view_that_are_not_three_views_are_unfinished() {
    let lines: Vec<Value> = block()
        .iter()
        .map(|line| json!({"line": line["line"]}))
        .collect();
    for count in 1..9 {
        let answer = check(&lines[..count]);
        assert!(
            answer["unfinished"]["message"].is_string(),
            "{count} lines: {answer}"
        );
    }
    assert_eq!(check(&lines)["unfinished"], Value::Null);
}

#[test]
fn ends_in_the_open_are_unfinished_and_named() {
    let mut lines = block();
    let taken = lines.remove(6);
    let answer = check(&lines);
    assert_eq!(answer["report"]["verdict"], "contradictory");
    let mut open: Vec<String> = answer["unfinished"]["open"]
        .as_array()
        .unwrap()
        .iter()
        .map(|end| format!("{} {}", end["view"], end["at"]))
        .collect();
    open.sort();
    // The upper side of the top view is gone; its two ends are where the neighbours end.
    assert_eq!(taken["line"], json!([40.0, 60.0, 0.0, 60.0]));
    assert_eq!(open, ["\"top\" [0.0,60.0]", "\"top\" [40.0,60.0]"]);
    let message = answer["unfinished"]["message"].as_str().unwrap();
    assert!(
        message.contains("top view") && message.contains("(40, 60) mm"),
        "{message}"
    );
}

#[test]
fn closed_views_that_no_object_has_are_contradictory_and_not_unfinished() {
    let mut lines = block();
    lines.push(json!({"view": "front", "line": [20, 0, 20, 30]}));
    let answer = check(&lines);
    assert_eq!(answer["report"]["verdict"], "contradictory");
    assert_eq!(answer["unfinished"], Value::Null);
}

#[test]
fn no_finished_sample_is_called_unfinished() {
    for (name, text) in samples() {
        let sheet = told(&json!({"do": "open", "text": text}))["sheet"].clone();
        let answer = told(&json!({"do": "check", "sheet": sheet, "limit": 2}));
        assert_eq!(answer["unfinished"], Value::Null, "{name}");
        let verdict = answer["report"]["verdict"].as_str().unwrap();
        let none = verdict == "contradictory";
        assert_eq!(
            answer["solids"].as_array().unwrap().is_empty(),
            none,
            "{name}"
        );
    }
}

#[test]
fn opened_sheet_has_a_view_for_every_line_that_bears_geometry() {
    for (name, text) in samples() {
        let sheet = told(&json!({"do": "open", "text": text}))["sheet"].clone();
        for line in sheet["lines"].as_array().unwrap() {
            let bears = line["type"] == "visible" || line["type"] == "hidden";
            assert!(!bears || line["view"].is_string(), "{name}: {line}");
        }
        assert!(sheet["projection"].is_string(), "{name}");
    }
}

#[test]
fn solid_comes_with_its_size_corners_and_edges() {
    let answer = check(&block());
    assert_eq!(answer["report"]["verdict"], "unique");
    let solid = &answer["solids"][0];
    assert_eq!(solid["size"], json!([40.0, 20.0, 30.0]));
    assert_eq!(solid["edges"].as_array().unwrap().len(), 12);
    assert_eq!(solid["positions"].as_array().unwrap().len(), 3 * 8);
    assert_eq!(solid["triangles"].as_array().unwrap().len(), 3 * 12);
}

/// A sample without its lines of one type.
fn without(name: &str, kind: &str) -> Value {
    let (_, text) = samples()
        .into_iter()
        .find(|(path, _)| path.contains(&format!("/{name}/")))
        .unwrap();
    let mut sheet = told(&json!({"do": "open", "text": text}))["sheet"].clone();
    let lines = sheet["lines"].as_array_mut().unwrap();
    lines.retain(|line| line["type"] != kind);
    sheet
}

#[test]
fn rules_of_a_sheet_are_heeded() {
    let verdict = |sheet: &Value, rule: &str, word: &str| {
        let answer = told(&json!({"do": "check", "sheet": sheet, rule: word}));
        answer["report"]["verdict"].as_str().unwrap().to_owned()
    };
    // A foot with a hole through it, of which the sides then show nothing.
    let bare = without("mast-foot", "hidden");
    assert_eq!(verdict(&bare, "hidden_lines", "required"), "contradictory");
    assert_ne!(verdict(&bare, "hidden_lines", "optional"), "contradictory");
    // A beam with fillets and no line where they begin.
    let beam = without("pier-beam", "border");
    assert_eq!(verdict(&beam, "tangent_edges", "omitted"), "unique");
    assert_eq!(verdict(&beam, "tangent_edges", "drawn"), "contradictory");
    assert_ne!(verdict(&beam, "tangent_edges", "either"), "contradictory");
}

#[test]
fn triangles_of_every_sample_close_without_a_gap() {
    for (name, text) in samples() {
        let sheet = told(&json!({"do": "open", "text": text}))["sheet"].clone();
        let answer = told(&json!({"do": "check", "sheet": sheet, "limit": 1}));
        for solid in answer["solids"].as_array().unwrap() {
            let corners: Vec<u64> = solid["triangles"]
                .as_array()
                .unwrap()
                .iter()
                .map(|v| v.as_u64().unwrap())
                .collect();
            assert_eq!(
                corners.len(),
                3 * solid["faces"].as_array().unwrap().len(),
                "{name}"
            );
            let mut sides = BTreeMap::new();
            for triangle in corners.chunks(3) {
                for k in 0..3 {
                    let (a, b) = (triangle[k], triangle[(k + 1) % 3]);
                    *sides.entry((a.min(b), a.max(b))).or_insert(0) += if a < b { 1 } else { -1 };
                }
            }
            assert!(sides.values().all(|sum| *sum == 0), "{name}");
        }
    }
}

#[test]
fn files_are_what_the_library_writes() {
    let sheet = json!({"lines": block()});
    let (read, _) = crate::read_sheet(sheet.to_string().as_bytes()).unwrap();
    let outcome = crate::reconstruct(&read, &crate::Options::default()).unwrap();
    let solid = &outcome.readings[0].solid;
    assert_eq!(
        asked(&json!({"do": "stl", "sheet": sheet, "reading": 1})),
        solid.to_stl()
    );
    assert_eq!(
        asked(&json!({"do": "svg", "sheet": sheet})),
        read.to_svg().into_bytes()
    );
    assert_eq!(
        asked(&json!({"do": "json", "sheet": sheet})),
        read.to_json().into_bytes()
    );
    let picture =
        asked(&json!({"do": "picture", "sheet": sheet, "kind": "cabinet", "shaded": true}));
    assert!(picture.starts_with(b"<"));
    for request in [
        json!({"do": "stl", "sheet": sheet, "reading": 2}),
        json!({"do": "stl", "sheet": sheet, "reading": 0}),
        json!({"do": "picture", "sheet": sheet, "kind": "round"}),
        json!({"do": "stl", "sheet": {"lines": []}}),
    ] {
        assert!(!error(&request).is_empty(), "{request}");
    }
}

#[test]
fn forgotten_line_is_among_the_corrections() {
    // An L-shaped block from the sample's own views, its step left out in the top view.
    let mut lines = block();
    lines.truncate(0);
    for (view, points) in [
        (
            "front",
            [
                [0, 0],
                [40, 0],
                [40, 10],
                [20, 10],
                [20, 30],
                [0, 30],
                [0, 0],
            ]
            .as_slice(),
        ),
        ("top", &[[0, 40], [40, 40], [40, 60], [0, 60], [0, 40]]),
        ("right", &[[50, 0], [70, 0], [70, 30], [50, 30], [50, 0]]),
        ("right", &[[50, 10], [70, 10]]),
    ] {
        let straight = |ends: &[[i32; 2]]| json!({"view": view, "line": [ends[0][0], ends[0][1], ends[1][0], ends[1][1]]});
        lines.extend(points.windows(2).map(straight));
    }
    let answer = told(&json!({"do": "mend", "sheet": {"lines": lines}}));
    assert_eq!(answer["verdict"], "contradictory");
    let wanted = |mend: &Value| {
        let change = &mend["changes"][0];
        change["do"] == "add"
            && change["view"] == "top"
            && mend["sheet"]["lines"].as_array().unwrap().len() == lines.len() + 1
    };
    assert!(
        answer["mends"].as_array().unwrap().iter().any(wanted),
        "{answer}"
    );
}

#[test]
fn steps_bound_the_work() {
    let sheet = json!({"lines": block()});
    let answer = told(&json!({"do": "check", "sheet": sheet, "steps": 1}));
    assert_eq!(answer["report"]["verdict"], "undecided");
    let answer = told(&json!({"do": "check", "sheet": sheet, "steps": 1_000_000}));
    assert_eq!(answer["report"]["verdict"], "unique");
}

#[test]
fn mistaken_requests_are_told_and_never_panic() {
    let sheet = json!({"lines": block()});
    for request in [
        json!({}),
        json!({"do": "dance"}),
        json!({"do": "check"}),
        json!({"do": "check", "sheet": 1}),
        json!({"do": "check", "sheet": {"lines": [{"line": [0, 0, 1]}]}}),
        json!({"do": "check", "sheet": sheet, "tolerance": -1}),
        json!({"do": "check", "sheet": sheet, "tangent_edges": "perhaps"}),
        json!({"do": "check", "sheet": sheet, "hidden_lines": "some"}),
        json!({"do": "check", "sheet": sheet, "limit": "all"}),
        json!({"do": "open"}),
        json!({"do": "open", "text": "<svg"}),
    ] {
        assert!(!error(&request).is_empty(), "{request}");
    }
    let whole = json!({"do": "check", "sheet": sheet}).to_string();
    for end in 0..whole.len() {
        assert!(
            answer(&whole.as_bytes()[..end]).starts_with(b"{\"error\""),
            "{end}"
        );
    }
    assert!(answer(&[0xff; 100]).starts_with(b"{\"error\""));
    assert!(answer("[".repeat(100_000).as_bytes()).starts_with(b"{\"error\""));
}
