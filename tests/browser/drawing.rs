//! Drawing with the mouse and with the keyboard alone.

use serde_json::json;

use crate::hand::{Board, DOWN, ENTER, LEFT, RIGHT, TAB, UP};
use crate::hand::{on_the_board, on_the_single_file};

/// The L-shaped block of these tests: 60 wide, 30 deep, 40 high, the foot 20 high and reaching 40 beyond the upright, so
/// 60 * 30 * 20 + 20 * 30 * 20 = 48 000 cubic millimetres.
fn draw_block_but_for_its_step_from_the_right(board: &Board) {
    board.draw(&[
        [80.0, 40.0],
        [140.0, 40.0],
        [140.0, 60.0],
        [100.0, 60.0],
        [100.0, 80.0],
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
    board.draw(&[[100.0, 110.0], [100.0, 140.0]]);
    board.draw(&[
        [160.0, 40.0],
        [190.0, 40.0],
        [190.0, 80.0],
        [160.0, 80.0],
        [160.0, 40.0],
    ]);
}

#[test]
fn an_l_shaped_block_is_drawn_stroke_by_stroke() {
    on_the_board(draw_the_block);
}

#[test]
fn an_l_shaped_block_is_drawn_on_the_single_file() {
    on_the_single_file(draw_the_block);
}

fn draw_the_block(board: &Board) {
    board.wait_for("empty");
    board.draw(&[[80.0, 40.0], [140.0, 40.0], [140.0, 60.0]]);
    board.wait_for("unfinished");
    board.click("#new");
    draw_block_but_for_its_step_from_the_right(board);
    board.draw(&[[160.0, 60.0], [190.0, 60.0]]);
    board.wait_for("unique");
    assert_eq!(board.text(".verdict-word"), "Exactly one object");
    let words = board.text("#verdict");
    assert!(words.contains("48 cm³"), "{words}");
    assert!(
        words.contains("60 mm wide, 30 mm deep, 40 mm high"),
        "{words}"
    );
}

#[test]
fn the_keyboard_alone_draws_a_block() {
    on_the_board(|board| {
        // The first stop is the way to the paper, for those who cannot point at it.
        board.keys(&format!("{TAB}{ENTER}"));
        let stroke = |key: char, steps: usize| {
            let mut keys = String::from(ENTER);
            keys.extend(std::iter::repeat_n(key, steps));
            keys.push(ENTER);
            board.keys(&keys);
        };
        let outline =
            |sides: &[(char, usize)]| sides.iter().for_each(|(key, steps)| stroke(*key, *steps));
        board.keys("1");
        outline(&[
            (RIGHT, 6),
            (UP, 2),
            (LEFT, 4),
            (UP, 2),
            (LEFT, 2),
            (DOWN, 4),
        ]);
        board.keys("2");
        outline(&[(RIGHT, 6), (UP, 4), (LEFT, 6), (DOWN, 4)]);
        board.keys(&[RIGHT; 2].iter().collect::<String>());
        stroke(UP, 4);
        board.keys("3");
        outline(&[(RIGHT, 4), (UP, 4), (LEFT, 4), (DOWN, 4)]);
        board.keys(&[UP; 2].iter().collect::<String>());
        stroke(RIGHT, 4);
        board.wait_for("unique");
        assert!(
            board.text("#spoken").contains("Exactly one object")
                || board.text(".verdict-word") == "Exactly one object"
        );
        // The letters choose and change: the last line becomes hidden, which no object has.
        board.keys(&format!("hr{ENTER}"));
        board.wait_for("contradictory");
        board.keys("u");
        board.wait_for("unique");
    });
}

#[test]
fn a_finger_draws() {
    on_the_board(|board| {
        board.draw_by_finger([[80.0, 40.0], [140.0, 40.0]]);
        let expected = json!({"view": "front", "type": "visible", "line": [80, 40, 140, 40]});
        assert_eq!(board.lines(), [expected]);
    });
}

#[test]
fn every_shape_can_be_drawn_in_every_type() {
    on_the_board(|board| {
        board.choose("circle");
        board.click_places(&[[40.0, 40.0], [50.0, 40.0]]);
        board.choose("hidden");
        board.choose("arc");
        // Centre, beginning, then three quarters of the way round.
        board.click_places(&[[80.0, 40.0], [90.0, 40.0]]);
        for place in [[80.0, 50.0], [70.0, 40.0], [80.0, 30.0]] {
            board.hover(place);
        }
        board.click_places(&[[80.0, 30.0]]);
        board.choose("center");
        board.choose("ellipse");
        board.click_places(&[[40.0, 150.0], [60.0, 150.0], [50.0, 160.0]]);
        let expected = [
            json!({"view": "front", "type": "visible", "circle": [40, 40, 10]}),
            json!({"view": "front", "type": "hidden", "arc": [80, 40, 10, 0, 270]}),
            json!({"view": "top", "type": "center", "ellipse": [40, 150, 20, 10, 0]}),
        ];
        assert_eq!(board.lines(), expected);
    });
}

#[test]
fn lines_are_changed_moved_and_erased() {
    on_the_board(|board| {
        board.draw(&[[20.0, 20.0], [50.0, 20.0]]);
        board.draw(&[[20.0, 60.0], [50.0, 60.0]]);
        board.choose("hidden");
        board.choose("retype");
        board.click_places(&[[35.0, 20.0]]);
        board.choose("move");
        // By its end it becomes longer, elsewhere it goes as a whole.
        board.draw(&[[50.0, 20.0], [60.0, 20.0]]);
        board.draw(&[[35.0, 20.0], [35.0, 25.0]]);
        let moved = json!({"view": "front", "type": "hidden", "line": [20, 25, 60, 25]});
        assert_eq!(board.lines()[0], moved);
        board.choose("erase");
        board.click_places(&[[35.0, 60.0]]);
        assert_eq!(board.lines(), [moved]);
    });
}

#[test]
fn the_eraser_and_the_type_stop_at_crossings_if_told_to() {
    on_the_board(|board| {
        // One line crossed at 40 and touched at 60; a center line at 50 divides nothing.
        board.draw(&[[20.0, 40.0], [80.0, 40.0]]);
        board.draw(&[[40.0, 30.0], [40.0, 50.0]]);
        board.draw(&[[60.0, 40.0], [60.0, 60.0]]);
        board.choose("center");
        board.draw(&[[50.0, 30.0], [50.0, 50.0]]);
        let others = board.lines()[1..].to_vec();
        let line = |kind: &str, from: i32, to: i32| json!({"view": "front", "type": kind, "line": [from, 40, to, 40]});
        board.click("label:has(#parts)");
        board.choose("hidden");
        board.choose("retype");
        board.click_places(&[[45.0, 40.0]]);
        let mut now = board.lines();
        now.retain(|line| !others.contains(line));
        assert_eq!(
            now,
            [
                line("visible", 20, 40),
                line("visible", 60, 80),
                line("hidden", 40, 60)
            ]
        );
        board.choose("erase");
        board.hover([70.0, 40.0]);
        board.wait(
            "document.querySelector('#paper .target')?.getAttribute('d') === 'M60 -40L80 -40'",
        );
        board.click_places(&[[55.0, 40.0]]);
        assert_eq!(board.lines().len(), others.len() + 2);
        board.chord("Control+z");
        board.chord("Control+z");
        assert_eq!(board.lines()[0], line("visible", 20, 80));
        // Without it the whole line goes.
        board.keys("p");
        board.click_places(&[[45.0, 40.0]]);
        assert_eq!(board.lines(), others);
    });
}

#[test]
fn round_lines_are_divided_too() {
    on_the_board(|board| {
        board.choose("circle");
        board.click_places(&[[60.0, 40.0], [80.0, 40.0]]);
        board.choose("ellipse");
        board.click_places(&[[60.0, 150.0], [90.0, 150.0], [60.0, 160.0]]);
        board.choose("line");
        board.draw(&[[30.0, 40.0], [90.0, 40.0]]);
        board.draw(&[[60.0, 130.0], [60.0, 170.0]]);
        board.click("label:has(#parts)");
        board.choose("erase");
        // The lower half of the circle, the left half of the ellipse.
        board.click_places(&[[60.0, 20.0], [30.0, 150.0]]);
        let expected = [
            json!({"view": "front", "type": "visible", "arc": [60, 40, 20, 0, 180]}),
            json!({"view": "top", "type": "visible", "elliptical_arc": [60, 150, 30, 10, 0, 270, 90]}),
        ];
        assert_eq!(board.lines()[..2], expected);
    });
}

#[test]
fn undo_and_redo_go_all_the_way() {
    on_the_board(|board| {
        draw_block_but_for_its_step_from_the_right(board);
        let drawn = board.lines();
        assert_eq!(drawn.len(), 15);
        for _ in 0..15 {
            board.chord("Control+z");
        }
        assert!(board.lines().is_empty());
        board.wait_for("empty");
        for _ in 0..15 {
            board.chord("Control+y");
        }
        assert_eq!(board.lines(), drawn);
    });
}

#[test]
fn the_pencil_holds_to_lines_carried_over_from_the_other_views() {
    on_the_board(|board| {
        // A depth on the 5 mm grid, and then a grid that does not have it.
        board.draw(&[[80.0, 115.0], [140.0, 115.0]]);
        board.set("grid", "10mm");
        // The fold lines cross at (150, 100): 15 mm behind the one is 15 mm to the right of the other.
        board.draw(&[[166.0, 40.0], [166.0, 60.0]]);
        let expected = json!({"view": "right", "type": "visible", "line": [165, 40, 165, 60]});
        assert_eq!(board.lines()[1], expected);
    });
}

#[test]
fn the_views_change_places_with_the_projection() {
    on_the_board(|board| {
        board.open_sample("float-ring");
        board.wait_for("unique");
        board.set("projection", "first-angle");
        board.wait("document.querySelector('#notice').textContent.includes('First-angle')");
        board.wait_for("unique");
        assert_eq!(board.kept()["projection"], "first-angle");
        // Widths stay lined up: the ring's front and top view still have one middle.
        let circle = board
            .lines()
            .into_iter()
            .find(|line| line["view"] == "top" && line["circle"].is_array());
        let middle = circle.unwrap()["circle"][0].as_f64().unwrap();
        let front: Vec<f64> = (board.lines().iter().filter(|line| line["view"] == "front"))
            .flat_map(|line| [line["line"][0].as_f64(), line["line"][2].as_f64()])
            .flatten()
            .collect();
        let [least, most] =
            [f64::min, f64::max].map(|pick| front.iter().copied().reduce(pick).unwrap());
        assert!(((least + most) / 2.0 - middle).abs() < 1e-9);
    });
}
