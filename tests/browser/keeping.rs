//! In and out: files, links, reloading.

use serde_json::{Value, json};

use crate::hand::Board;
use crate::hand::on_the_board;

#[test]
fn a_reload_keeps_the_drawing() {
    on_the_board(|board| {
        board.draw(&[[80.0, 40.0], [140.0, 40.0], [140.0, 60.0]]);
        board.set("grid", "10mm");
        let drawn = board.lines();
        assert_eq!(drawn.len(), 2);
        board.reload();
        board.wait_for("unfinished");
        assert_eq!(board.lines(), drawn);
        assert_eq!(board.count("#paper .lines path"), 2);
        assert_eq!(
            board.run("return document.getElementById('grid').value"),
            json!("10mm")
        );
    });
}

/// The link that the page copies.
fn copied_link(board: &Board, button: &str) -> String {
    // The clipboard of a headless browser asks for a permission; the page then shows the link instead.
    board.run("navigator.clipboard.writeText = () => Promise.reject(new Error('not allowed'))");
    board.click("#link-menu summary");
    board.click(button);
    board.wait("document.getElementById('link-dialog').open");
    let link = board.run("return document.getElementById('link-text').value");
    board.click("#link-close");
    link.as_str().expect("a link").to_owned()
}

#[test]
fn a_link_carries_the_sheet_to_a_fresh_page() {
    on_the_board(|board| {
        board.open_sample("tide-bracket");
        board.wait_for("contradictory");
        let lines = board.lines();
        let link = copied_link(board, "#link-exercise");
        board.click("#new");
        board.wait_for("empty");
        board.open(&link);
        board.wait_for("contradictory");
        assert_eq!(board.lines(), lines);
        let hints = board.run("return document.getElementById('hints').checked");
        assert_eq!(hints, json!(false), "the exercise comes without hints");
        let address = board.run("return location.href");
        assert_eq!(
            address,
            json!(board.address),
            "a reload must not bring the exercise back over the work"
        );
    });
}

/// Opens an address and says what the page tells about it.
fn told_about(board: &Board, fragment: &str) -> String {
    board.open(&format!("{}{fragment}", board.address));
    board.wait("document.querySelector('#notice').textContent.startsWith('Link could')");
    board.text("#notice")
}

#[test]
fn hostile_links_are_refused_and_run_nothing() {
    on_the_board(|board| {
        assert!(told_about(board, "#sheet=1AAAA").contains("damaged"));
        let encode = "const pack = async (text) => {
            const stream = new Blob([text]).stream().pipeThrough(new CompressionStream('deflate-raw'));
            const bytes = new Uint8Array(await new Response(stream).arrayBuffer());
            let letters = ''; for (const b of bytes) letters += String.fromCharCode(b);
            return btoa(letters).replaceAll('+', '-').replaceAll('/', '_').replaceAll('=', '');
        };";
        // 40 MB of nothing behind a short link.
        let bomb = board.run(&format!("{encode} return pack(' '.repeat(4e7))"));
        assert!(
            told_about(board, &format!("#sheet=1{}", bomb.as_str().unwrap())).contains("too large")
        );
        let sheet = r#"{"unit":"<img src=x onerror=alert(1)>","lines":[{"view":"<script>","line":[0,0,1,"<b>"]}]}"#;
        let script = board.run(&format!("{encode} return pack({sheet:?})"));
        assert!(
            told_about(board, &format!("#sheet=1{}", script.as_str().unwrap()))
                .contains("no sheet")
        );
        assert_eq!(board.count("img") + board.count("#notice *"), 0);
    });
}

/// The bytes that the command writes for a sample.
fn stl_of_the_command(sheet: &Value) -> Vec<u8> {
    let folder = tempfile::tempdir().expect("a folder");
    let [input, output] = ["sheet.json", "solid.stl"].map(|name| folder.path().join(name));
    std::fs::write(&input, sheet.to_string()).expect("a place to write");
    let run = std::process::Command::new(env!("CARGO_BIN_EXE_foldback"))
        .args([
            "solid".as_ref(),
            input.as_os_str(),
            "-o".as_ref(),
            output.as_os_str(),
        ])
        .output()
        .expect("the command runs");
    assert!(
        run.status.success(),
        "{}",
        String::from_utf8_lossy(&run.stderr)
    );
    std::fs::read(output).expect("the file is written")
}

#[test]
fn saved_stl_is_byte_for_byte_that_of_the_command() {
    on_the_board(|board| {
        for sample in ["mast-foot", "float-ring"] {
            board.click("#new");
            board.wait_for("empty");
            board.open_sample(sample);
            board.wait_for("unique");
            board.click("#save-menu summary");
            board.click("#save-stl");
            let saved = board.saved("stl");
            let mut sheet = board.kept();
            // What only the page needs is no part of a sheet.
            sheet
                .as_object_mut()
                .unwrap()
                .retain(|key, _| ["unit", "projection", "lines"].contains(&key.as_str()));
            assert!(
                saved == stl_of_the_command(&sheet),
                "{sample}: {} bytes differ",
                saved.len()
            );
        }
    });
}

#[test]
fn a_saved_sheet_opens_again() {
    on_the_board(|board| {
        board.open_sample("vane-shaft");
        board.wait_for("unique");
        let lines = board.lines();
        for (button, ending) in [("#save-json", "json"), ("#save-svg", "svg")] {
            board.click("#save-menu summary");
            board.click(button);
            let text = String::from_utf8(board.saved(ending)).unwrap();
            board.click("#new");
            board.wait_for("empty");
            board.drop_file(&format!("sheet.{ending}"), &text);
            board.wait_for("unique");
            assert_eq!(board.lines().len(), lines.len(), "{ending}");
        }
    });
}

#[test]
fn a_file_that_is_no_sheet_leaves_the_drawing_alone() {
    on_the_board(|board| {
        board.draw(&[[80.0, 40.0], [140.0, 40.0]]);
        let drawn = board.lines();
        board.drop_file("<b>notes</b>.json", "{\"lines\": 7}");
        board.wait("document.querySelector('#notice').textContent.includes('could not be opened')");
        assert_eq!(board.count("#notice *"), 0, "a file's name is text");
        assert_eq!(board.lines(), drawn);
    });
}
