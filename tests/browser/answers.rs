//! Verdicts, marks, corrections and readings as the page shows them.

use serde_json::json;

use crate::hand::{Board, on_the_board, on_the_single_file};

#[test]
fn an_unfinished_sheet_is_told_what_is_missing() {
    on_the_board(|board| {
        board.draw(&[
            [80.0, 40.0],
            [140.0, 40.0],
            [140.0, 60.0],
            [80.0, 60.0],
            [80.0, 40.0],
        ]);
        board.wait_for("unfinished");
        let words = board.text("#verdict");
        assert!(words.contains("Not an object yet"), "{words}");
        assert!(
            words.contains("lines in the top view")
                && words.contains("lines in the right-side view"),
            "{words}"
        );
        assert_eq!(board.count(".halo"), 0, "nothing is marked as wrong");
    });
}

#[test]
fn a_forgotten_hidden_line_is_proposed_previewed_applied_and_taken_back() {
    on_the_board(|board| {
        // A box 60 x 30 x 40 with a groove 20 wide and 10 deep along its underside, whose roof is forgotten in the
        // right-side view: a hidden line from (160, 50) to (190, 50).
        board.draw(&[
            [80.0, 40.0],
            [100.0, 40.0],
            [100.0, 50.0],
            [120.0, 50.0],
            [120.0, 40.0],
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
        board.draw(&[
            [160.0, 40.0],
            [190.0, 40.0],
            [190.0, 80.0],
            [160.0, 80.0],
            [160.0, 40.0],
        ]);
        board.choose("hidden");
        board.draw(&[[100.0, 110.0], [100.0, 140.0]]);
        board.draw(&[[120.0, 110.0], [120.0, 140.0]]);
        board.wait_for("contradictory");
        let before = board.lines();
        board.wait("document.querySelectorAll('.mend').length > 0");
        let script = "return [...document.querySelectorAll('.mend')].findIndex((b) => b.textContent.startsWith(
            'Add a hidden line in the right-side view from (160, 50) to (190, 50) mm'))";
        let place = board.run(script).as_i64().unwrap();
        assert!(place >= 0, "{}", board.text("#mends"));
        let button = format!("#mends li:nth-child({}) .mend", place + 1);
        board.point_at(&button);
        board.wait("document.querySelectorAll('.halo.comes').length === 1");
        assert_eq!(board.lines(), before, "pointing changes nothing");
        board.click(&button);
        board.wait_for("unique");
        let added = json!({"view": "right", "type": "hidden", "line": [160, 50, 190, 50]});
        let after = board.lines();
        assert!(
            after.len() == before.len() + 1 && after.contains(&added),
            "{after:?}"
        );
        board.chord("Control+z");
        board.wait_for("contradictory");
        assert_eq!(board.lines(), before);
    });
}

#[test]
fn hints_can_be_switched_off_for_an_exercise() {
    on_the_board(|board| {
        board.open_sample("tide-bracket");
        board.wait_for("contradictory");
        assert!(
            board.count(".halo.conflict") > 0,
            "lines in conflict are marked"
        );
        board.click("#hints");
        board.wait("document.querySelectorAll('.halo').length === 0");
        assert!(
            board
                .text("#verdict")
                .contains("No object can have these three views")
        );
        assert_eq!(board.count(".findings"), 0);
        let shown = board.run("return document.getElementById('mends-box').hidden");
        assert_eq!(shown, json!(true));
    });
}

#[test]
fn a_ring_drawn_round_in_all_three_views_is_explained() {
    on_the_board(|board| {
        board.choose("circle");
        for [x, y] in [[90.0, 50.0], [90.0, 150.0], [200.0, 50.0]] {
            board.click_places(&[[x, y], [x + 30.0, y]]);
            board.click_places(&[[x, y], [x + 15.0, y]]);
        }
        board.wait_for("contradictory");
        let words = board.text("#verdict");
        assert!(words.contains("looks round from one side only"), "{words}");
    });
}

#[test]
fn an_ambiguous_sheet_is_stepped_through() {
    on_the_board(|board| {
        board.open_sample("mooring-steps");
        board.wait_for("ambiguous");
        // One place of choice, framed in each view and lettered; what settles it is the engine's finding.
        assert_eq!(board.count("#paper rect.frame.choice"), 3);
        assert!(
            board
                .text(".findings")
                .contains("A bottom view would settle it")
        );
        let picture = || board.run("return document.getElementById('solid').toDataURL()");
        let shown = "Number(document.getElementById('solid').dataset.frame) > 0";
        board.wait(shown);
        let mut pictures = Vec::new();
        for n in 1..=3 {
            assert_eq!(board.text("#reading"), format!("Object {n} of 3"));
            // A frame or two pass before the next object is painted.
            std::thread::sleep(std::time::Duration::from_millis(150));
            pictures.push(picture());
            board.click("#next");
        }
        assert_eq!(
            board.text("#reading"),
            "Object 1 of 3",
            "after the last comes the first"
        );
        pictures.dedup();
        assert_eq!(pictures.len(), 3, "each object looks different");
    });
}

/// What the page says about every sample, each with the verdict that its line announces.
fn words_about_every_sample(board: &Board) -> Vec<(String, String)> {
    board.wait("document.querySelector('#samples button')");
    let samples = board.run(
        "return [...document.querySelectorAll('#samples strong')].map((e) => ({
           name: e.textContent, title: e.nextSibling.textContent.trim() }))",
    );
    let samples = samples.as_array().unwrap();
    assert!(samples.len() >= 38, "{} samples", samples.len());
    let mut words = Vec::new();
    for sample in samples {
        let title = sample["title"].as_str().unwrap();
        let state = ["Ambiguous", "Contradictory"]
            .into_iter()
            .find(|word| title.starts_with(word));
        let state = state.unwrap_or("Unique").to_lowercase();
        board.click("#new");
        board.wait_for("empty");
        let name = sample["name"].as_str().unwrap();
        board.open_sample(name);
        board.wait_for(&state);
        if state == "contradictory" {
            board.wait("!document.getElementById('mends').textContent.includes('Looking')");
        }
        let said = board.text("#verdict") + &board.text("#mends") + &board.text("#reading");
        words.push((name.to_owned(), said));
    }
    words
}

#[test]
fn every_sample_gets_the_same_words_from_a_server_and_from_a_file() {
    let mut both = Vec::new();
    on_the_board(|board| both.push(words_about_every_sample(board)));
    on_the_single_file(|board| both.push(words_about_every_sample(board)));
    if let [served, single] = &both[..] {
        for (one, other) in served.iter().zip(single) {
            assert_eq!(one, other);
        }
    }
}

#[test]
fn the_solid_seen_from_the_front_lies_over_the_drawn_view() {
    on_the_board(|board| {
        board.open_sample("mast-foot");
        board.wait_for("unique");
        for look in ["front", "top", "right"] {
            board.click(&format!("[data-look={look}]"));
            std::thread::sleep(std::time::Duration::from_millis(600));
            // Every bluish pixel of the drawn band has a dark one of the solid's line near it, and there are many.
            let script = "const c = document.createElement('canvas');
                const shown = document.getElementById('solid');
                [c.width, c.height] = [shown.width, shown.height];
                const pen = c.getContext('2d', { willReadFrequently: true });
                pen.drawImage(shown, 0, 0);
                const d = pen.getImageData(0, 0, c.width, c.height).data;
                const dark = (i) => d[i] < 90 && d[i + 2] < 90 && d[i + 3] > 200;
                let [blue, alone] = [0, 0];
                for (let y = 12; y < c.height - 12; y++) for (let x = 12; x < c.width - 12; x++) {
                  const i = 4 * (y * c.width + x);
                  if (!(d[i + 2] > d[i] + 25)) continue;
                  blue++;
                  let near = false;
                  for (let k = -9; k <= 9 && !near; k++) near = dark(i + 4 * k) || dark(i + 4 * k * c.width);
                  if (!near) alone++;
                }
                return [blue, alone]";
            let found = board.run(script);
            let [blue, alone] = [0, 1].map(|i| found[i].as_u64().unwrap());
            // Gaps of dashed lines may leave a few without.
            assert!(
                blue > 500 && alone * 20 < blue,
                "{look}: {alone} of {blue} stand alone"
            );
        }
    });
}
