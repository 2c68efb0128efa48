//! When the engine breaks, is stuck, or has gone: the drawing is kept, the page says so, and the next stroke is answered.

use std::thread;
use std::time::Duration;

use serde_json::json;

use crate::board::{Served, Single};
use crate::chromium::Browser;
use crate::hand::Board;

/// Opens the single file with a worker that first runs `fault` on every request whose text is `text`. The page's own script
/// stays as it is: what the worker runs is a block of text in the file.
fn with_fault(fault: &str, test: impl FnOnce(&Board)) {
    let (Some(single), Some(browser)) = (Single::write(), Browser::start()) else {
        return;
    };
    let page = std::fs::read_to_string(single.path()).expect("the page is there");
    let before = "const place = engine.alloc(request.length);";
    assert_eq!(page.matches(before).count(), 1);
    let faulty = format!("const text = new TextDecoder().decode(request); {fault}; {before}");
    std::fs::write(single.path(), page.replacen(before, &faulty, 1)).expect("a place to write");
    let board = Board::open_in(browser, &single.url());
    test(&board);
    board.assert_calm();
}

/// A block whose last line, when it is hidden instead of visible, meets the fault.
fn draw_block(board: &Board, last: &str) {
    board.draw(&[
        [80.0, 40.0],
        [140.0, 40.0],
        [140.0, 80.0],
        [80.0, 80.0],
        [80.0, 40.0],
    ]);
    board.draw(&[
        [80.0, 110.0],
        [140.0, 110.0],
        [140.0, 140.0],
        [80.0, 140.0],
        [80.0, 110.0],
    ]);
    board.draw(&[[160.0, 40.0], [190.0, 40.0], [190.0, 80.0], [160.0, 80.0]]);
    board.choose(last);
    board.draw(&[[160.0, 80.0], [160.0, 40.0]]);
}

#[test]
fn an_engine_that_breaks_is_started_anew_and_the_drawing_kept() {
    with_fault(
        r#"if (text.includes('"hidden"')) throw new Error('broken')"#,
        |board| {
            draw_block(board, "hidden");
            board.wait_for("trouble");
            let words = board.text("#verdict");
            assert!(words.contains("Your drawing is kept"), "{words}");
            assert_eq!(board.lines().len(), 12);
            assert_eq!(board.count("#paper .lines path"), 12);
            assert!(board.text("#notice").contains("started anew"));
            board.chord("Control+z");
            board.choose("visible");
            board.draw(&[[160.0, 80.0], [160.0, 40.0]]);
            board.wait_for("unique");
        },
    );
}

#[test]
fn an_engine_that_is_stuck_is_ended_by_the_next_stroke() {
    with_fault(r#"while (text.includes('"hidden"'));"#, |board| {
        draw_block(board, "hidden");
        board.wait_for("waiting");
        assert_eq!(
            board.lines().len(),
            12,
            "drawing goes on while the engine is stuck"
        );
        board.chord("Control+z");
        board.choose("visible");
        board.draw(&[[160.0, 80.0], [160.0, 40.0]]);
        board.wait_for("unique");
    });
}

#[test]
fn an_engine_that_is_stuck_for_long_is_given_up() {
    with_fault(r#"while (text.includes('"hidden"'));"#, |board| {
        draw_block(board, "hidden");
        board.wait_for("waiting");
        // The page waits for twenty seconds.
        thread::sleep(Duration::from_secs(18));
        board.wait_for("trouble");
        assert!(board.text("#verdict").contains("Your drawing is kept"));
        assert_eq!(board.lines().len(), 12);
        board.chord("Control+z");
        board.wait_for("unfinished");
    });
}

#[test]
fn a_server_that_has_gone_is_missed_and_welcomed_back() {
    let Some(browser) = Browser::start() else {
        return;
    };
    let served = Served::start();
    let port = served.port();
    let board = Board::open_in(browser, &served.url);
    board.draw(&[[80.0, 40.0], [140.0, 40.0]]);
    board.wait_for("unfinished");
    drop(served);
    board.draw(&[[140.0, 40.0], [140.0, 60.0]]);
    board.wait_for("trouble");
    let words = board.text("#verdict");
    assert!(
        words.contains("Your drawing is kept") && words.contains("Is foldback still running?"),
        "{words}"
    );
    assert_eq!(board.lines().len(), 2);
    let _served = Served::at(port);
    board.draw(&[[140.0, 60.0], [80.0, 60.0]]);
    board.wait_for("unfinished");
    assert_eq!(
        board.run("return document.querySelectorAll('#paper .lines path').length"),
        json!(3)
    );
}
