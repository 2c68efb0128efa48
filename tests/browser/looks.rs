//! What is in sight at once, on a school laptop, a projector, a large screen and a telephone. With
//! `FOLDBACK_PICTURES=FOLDER` each of these scenes is also written there as a picture, to be looked at.

use serde_json::json;

use crate::hand::{Board, on_the_board};

/// Width and height of a school laptop, a projector, a common laptop and a large screen, in pixels.
const WIDE: [[u32; 2]; 4] = [[1024, 600], [1280, 800], [1366, 768], [1920, 1080]];

/// A telephone held upright.
const NARROW: [u32; 2] = [390, 844];

/// Opens the page at a size, with nothing drawn.
fn fresh(board: &Board, size: [u32; 2]) {
    board.page.borrow_mut().resize(size);
    board.click("#new");
    board.wait_for("empty");
    board.run("document.getElementById('fit').click()");
}

/// Keeps a picture of the scene, if that is wanted.
fn keep(board: &Board, scene: &str, [wide, high]: [u32; 2]) {
    if let Some(folder) = std::env::var_os("FOLDBACK_PICTURES") {
        std::thread::sleep(std::time::Duration::from_millis(500));
        let name = format!("{scene}-{wide}x{high}.png");
        board
            .page
            .borrow_mut()
            .screenshot(&std::path::PathBuf::from(folder).join(name));
    }
}

/// Elements that must be wholly in sight, without scrolling, and not below anything else.
fn assert_in_sight(board: &Board, scene: &str, size: [u32; 2], selectors: &[&str]) {
    keep(board, scene, size);
    for selector in selectors {
        let script = format!(
            "const e = document.querySelector({selector:?});
             const r = e.getBoundingClientRect();
             const inside = r.width > 0 && r.height > 0 && r.left >= 0 && r.top >= 0
               && r.right <= innerWidth + 0.5 && r.bottom <= innerHeight + 0.5;
             const at = document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2);
             return inside && at !== null && (e.contains(at) || at.contains(e))"
        );
        assert_eq!(
            board.run(&script),
            json!(true),
            "{scene}, {size:?}: {selector} is out of sight"
        );
    }
    let sideways = board.run("return document.documentElement.scrollWidth <= innerWidth");
    assert_eq!(
        sideways,
        json!(true),
        "{scene}, {size:?}: wider than the screen"
    );
}

#[test]
fn sheet_verdict_and_solid_are_in_sight_at_once() {
    on_the_board(|board| {
        for size in WIDE {
            fresh(board, size);
            let always = [
                "#paper",
                ".verdict-word",
                "#solid-title",
                "#undo",
                "#help",
                "#erase, [value=erase]",
            ];
            assert_in_sight(board, "empty", size, &always);
            for (sample, state) in [("mast-foot", "unique"), ("mooring-steps", "ambiguous")] {
                board.open_sample(sample);
                board.wait_for(state);
                let seen = ["#paper", ".verdict-word", "#solid", "#looks", "#turns"];
                assert_in_sight(board, sample, size, &seen);
            }
            assert_in_sight(
                board,
                "mooring-steps",
                size,
                &["#previous", "#next", "#reading"],
            );
            board.click("[data-look=front]");
            assert_in_sight(board, "front", size, &["#solid", "#solid-note"]);
            board.click("[data-look=isometric]");
        }
    });
}

#[test]
fn sheet_verdict_and_corrections_are_in_sight_at_once() {
    on_the_board(|board| {
        for size in WIDE {
            for sample in ["tide-bracket", "hoop-all-round"] {
                fresh(board, size);
                board.open_sample(sample);
                board.wait_for("contradictory");
                board.wait("!document.getElementById('mends').textContent.includes('Looking')");
                let seen = [
                    "#paper",
                    ".verdict-word",
                    ".findings li",
                    "#mends-title",
                    "#solid-title",
                ];
                assert_in_sight(board, sample, size, &seen);
            }
        }
    });
}

#[test]
fn a_telephone_shows_tools_and_paper_at_once_and_scrolls_to_the_rest() {
    on_the_board(|board| {
        fresh(board, NARROW);
        assert_in_sight(
            board,
            "empty",
            NARROW,
            &["#paper", "#pencils", "#shapes", "#changes", "#notice"],
        );
        board.draw_by_finger([[80.0, 40.0], [140.0, 40.0]]);
        board.wait_for("unfinished");
        assert_in_sight(board, "begun", NARROW, &["#paper", ".verdict-word"]);
        let expected = json!({"view": "front", "type": "visible", "line": [80, 40, 140, 40]});
        assert_eq!(board.lines(), [expected]);
        board.open_sample("mooring-steps");
        board.wait_for("ambiguous");
        board.run("document.getElementById('solid-box').scrollIntoView()");
        assert_in_sight(
            board,
            "ambiguous",
            NARROW,
            &["#solid", "#next", "#looks", "#turns"],
        );
    });
}

#[test]
fn drawing_never_shifts_the_paper() {
    on_the_board(|board| {
        for size in [[1024, 600], NARROW] {
            fresh(board, size);
            let place = || {
                board.run("const r = document.getElementById('paper').getBoundingClientRect(); return [r.x, r.y, r.width, r.height]")
            };
            let before = place();
            board.choose("circle");
            for [x, y] in [[90.0, 50.0], [90.0, 150.0], [200.0, 50.0]] {
                for radius in [30.0, 15.0] {
                    board.click_places(&[[x, y], [x + radius, y]]);
                }
            }
            board.wait_for("contradictory");
            board.wait("!document.getElementById('mends').textContent.includes('Looking')");
            board.choose("line");
            assert_eq!(place(), before, "{size:?}");
        }
    });
}
