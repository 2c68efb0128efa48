//! The paper itself: fold lines and the miter line, what is shown while drawing, fingers, and printing at true scale.

use std::io::Read;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde_json::json;

use crate::hand::{Board, on_the_board};

#[test]
fn fold_lines_and_the_miter_line_go_with_the_projection() {
    on_the_board(|board| {
        // Third-angle: the fold lines cross at (150, 100); depth turns the corner up and to the right. First-angle: down and
        // to the left. y runs down in SVG.
        for (projection, towards) in [("third-angle", 1.0), ("first-angle", -1.0)] {
            board.set("projection", projection);
            let path = |kind: &str| {
                board.run(&format!(
                    "return document.querySelector('#paper .{kind}').getAttribute('d')"
                ))
            };
            assert_eq!(path("fold"), "M0 -100H297M150 -210V0");
            let miter = path("miter");
            let numbers: Vec<f64> = miter
                .as_str()
                .unwrap()
                .split(['M', 'L', ' '])
                .filter_map(|n| n.parse().ok())
                .collect();
            assert_eq!(numbers[..2], [150.0, -100.0]);
            let [right, up] = [numbers[2] - 150.0, -100.0 - numbers[3]];
            assert!(
                right == up && right * towards > 50.0,
                "{projection}: {numbers:?}"
            );
        }
    });
}

#[test]
fn lengths_and_carried_over_lines_show_while_drawing() {
    on_the_board(|board| {
        board.draw(&[[80.0, 40.0], [120.0, 40.0]]);
        // Above the end of that line, three right and four up of where it begins: 30, 40 and 50 mm.
        board.click_places(&[[90.0, 120.0]]);
        board.hover([120.0, 160.0]);
        assert_eq!(
            board.text("#paper .label"),
            "50 mm (30 mm across, 40 mm up)"
        );
        assert_eq!(
            board.count("#paper .guides .guide"),
            1,
            "the width comes over from the front view"
        );
        let shown = board.run(
            "const l = document.querySelector('#paper .label').getBoundingClientRect();
             const p = document.getElementById('paper').getBoundingClientRect();
             return l.left >= p.left - 1 && l.right <= p.right + 1 && l.top >= p.top - 1",
        );
        assert_eq!(shown, json!(true));
        board.chord("Escape");
        for (tool, places, label) in [
            ("circle", vec![[40.0, 40.0], [55.0, 40.0]], "radius 15 mm"),
            (
                "ellipse",
                vec![[40.0, 40.0], [60.0, 40.0], [40.0, 50.0]],
                "radii 20 mm and 10 mm",
            ),
            (
                "arc",
                vec![[40.0, 40.0], [60.0, 40.0], [40.0, 60.0]],
                "radius 20 mm, 90°",
            ),
        ] {
            board.choose(tool);
            let (last, first) = places.split_last().unwrap();
            board.click_places(first);
            board.hover(*last);
            assert_eq!(board.text("#paper .label"), label);
            board.click("#fit");
            board.choose(tool);
        }
        board.set("grid", "1/4in");
        board.choose("line");
        board.click_places(&[[25.4, 25.4]]);
        board.hover([76.2, 25.4]);
        assert_eq!(board.text("#paper .label"), "2 in");
    });
}

#[test]
fn the_label_stays_in_sight_at_the_edge_of_the_paper() {
    on_the_board(|board| {
        board.click_places(&[[250.0, 40.0]]);
        board.hover([290.0, 75.0]);
        let cut = board.run(
            "const l = document.querySelector('#paper .label').getBoundingClientRect();
             return l.right - document.getElementById('paper').getBoundingClientRect().right",
        );
        assert!(cut.as_f64().unwrap() <= 0.5, "{cut} pixels are cut off");
    });
}

#[test]
fn two_fingers_zoom_and_draw_nothing() {
    on_the_board(|board| {
        let scale = || {
            board
                .run("return document.getElementById('paper').getScreenCTM().a")
                .as_f64()
                .unwrap()
        };
        let before = scale();
        let at = board.run("const r = document.getElementById('paper').getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]");
        let [x, y] = [0, 1].map(|k| at[k].as_f64().unwrap());
        let touch = |kind: &str, apart: Option<f64>| {
            let points: Vec<_> = apart.map_or(Vec::new(), |d| {
                vec![
                    json!({"x": x - d, "y": y, "id": 1}),
                    json!({"x": x + d, "y": y, "id": 2}),
                ]
            });
            let parameters = json!({"type": kind, "touchPoints": points});
            board
                .page
                .borrow_mut()
                .command("Input.dispatchTouchEvent", parameters);
        };
        touch("touchStart", Some(40.0));
        for apart in [50.0, 60.0, 70.0, 80.0] {
            touch("touchMove", Some(apart));
        }
        touch("touchEnd", None);
        // Fingers twice as far apart show the paper twice as large.
        let grown = scale() / before;
        assert!((1.8..2.2).contains(&grown), "{grown}");
        assert!(board.lines().is_empty());
        // Afterwards one finger draws again.
        board.click("#fit");
        board.draw_by_finger([[80.0, 40.0], [140.0, 40.0]]);
        assert_eq!(board.lines().len(), 1);
    });
}

/// Lengths in millimetres of the straight pieces that a PDF draws.
fn printed_lengths(pdf: &[u8]) -> Vec<f64> {
    let mut lengths = Vec::new();
    let text = String::from_utf8_lossy(pdf);
    assert!(text.starts_with("%PDF"));
    let find = |from: usize, word: &[u8]| {
        pdf[from..]
            .windows(word.len())
            .position(|w| w == word)
            .map(|at| from + at)
    };
    let mut from = 0;
    while let Some(start) = find(from, b"stream\n") {
        let start = start + 7;
        let end = find(start, b"endstream").expect("a stream ends");
        let mut content = Vec::new();
        // Fonts and pictures are streams as well; what is no text is left out.
        if flate2::read::ZlibDecoder::new(&pdf[start..end])
            .read_to_end(&mut content)
            .is_ok()
        {
            lengths.extend(straight_pieces(&String::from_utf8_lossy(&content)));
        }
        from = end + 9;
    }
    lengths
}

/// Straight pieces in a page's content: `m` and `l` under the transforms of `cm`, kept and restored by `q` and `Q`
/// (ISO 32000-1, 8.4 and 8.5, from memory). A point is a seventy-second of an inch.
fn straight_pieces(content: &str) -> Vec<f64> {
    let mut lengths = Vec::new();
    let mut matrix = [1.0, 0.0, 0.0, 1.0, 0.0, 0.0];
    let (mut kept, mut numbers, mut at) = (Vec::new(), Vec::<f64>::new(), [0.0; 2]);
    for word in content.split_ascii_whitespace() {
        if let Ok(number) = word.parse() {
            numbers.push(number);
            continue;
        }
        let [a, b, c, d, e, f]: [f64; 6] = matrix;
        match (word, &numbers[..]) {
            ("q", _) => kept.push(matrix),
            ("Q", _) => matrix = kept.pop().expect("nothing is restored that was not kept"),
            ("cm", &[p, q, r, s, t, u]) => {
                matrix = [
                    a * p + c * q,
                    b * p + d * q,
                    a * r + c * s,
                    b * r + d * s,
                    a * t + c * u + e,
                    b * t + d * u + f,
                ];
            }
            ("m" | "l", &[x, y]) => {
                let to = [a * x + c * y + e, b * x + d * y + f];
                if word == "l" {
                    lengths.push((to[0] - at[0]).hypot(to[1] - at[1]) * 25.4 / 72.0);
                }
                at = to;
            }
            _ => {}
        }
        numbers.clear();
    }
    lengths
}

#[test]
fn a_printed_line_is_as_long_as_it_is_drawn() {
    on_the_board(|board| {
        board.draw(&[[70.0, 40.0], [143.0, 40.0]]);
        board.chord("Escape");
        let drawn = board.lines()[0]["line"].clone();
        let long = drawn[2].as_f64().unwrap() - drawn[0].as_f64().unwrap();
        assert!((70.0..=75.0).contains(&long), "{drawn}");
        let lengths = print(board);
        let near = |mm: f64| {
            lengths
                .iter()
                .filter(|length| (*length - mm).abs() < 0.05)
                .count()
        };
        assert!(near(long) >= 1, "no line of {long} mm among {lengths:?}");
        assert!(
            near(50.0) >= 1,
            "the line to check the printer by has 50 mm: {lengths:?}"
        );
        // The page is as before.
        board.draw(&[[70.0, 60.0], [100.0, 60.0]]);
        assert_eq!(board.lines().len(), 2);
    });
}

fn print(board: &Board) -> Vec<f64> {
    let paper = json!({"preferCSSPageSize": true, "printBackground": true});
    let printed = board.page.borrow_mut().command("Page.printToPDF", paper);
    let pdf = STANDARD
        .decode(printed["data"].as_str().expect("a PDF"))
        .expect("base64");
    printed_lengths(&pdf)
}
