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

#[test]
fn rules_of_a_sheet_change_the_verdict_and_travel_with_it() {
    on_the_board(|board| {
        let chosen = |id: &str| board.run(&format!("return document.getElementById('{id}').value"));
        // A foot with a hole through it; the views from the sides leave its hidden lines out.
        board.open_sample("mast-foot");
        board.wait_for("unique");
        let mut sheet = shared(board.kept());
        let lines = sheet["lines"].as_array_mut().unwrap();
        lines.retain(|line| line["type"] != "hidden");
        board.drop_file("foot.json", &sheet.to_string());
        board.wait_for("contradictory");
        board.set("hidden_lines", "optional");
        board.wait(
            "['unique', 'ambiguous'].includes(document.getElementById('verdict').dataset.state)",
        );
        assert!(
            board
                .text("#verdict")
                .contains("Rule: hidden lines may be left out.")
        );
        board.set("tangent_edges", "either");
        let link = copied_link(board, "#link-copy");
        board.reload();
        board.wait(
            "['unique', 'ambiguous'].includes(document.getElementById('verdict').dataset.state)",
        );
        assert_eq!(
            [chosen("hidden_lines"), chosen("tangent_edges")],
            ["optional", "either"]
        );
        board.chord("Control+z");
        board.set("hidden_lines", "required");
        board.set("tangent_edges", "omitted");
        board.wait_for("contradictory");
        board.open(&link);
        board.wait(
            "['unique', 'ambiguous'].includes(document.getElementById('verdict').dataset.state)",
        );
        assert_eq!(
            [chosen("hidden_lines"), chosen("tangent_edges")],
            ["optional", "either"]
        );
    });
}

#[test]
fn an_open_answer_says_that_a_depth_may_be_missing() {
    on_the_board(|board| {
        board.open_sample("hoop-all-round");
        board.wait_for("contradictory");
        board.set("hidden_lines", "optional");
        board.wait_for("undecided");
        assert!(board.text("#verdict").contains("perhaps a hidden line"));
    });
}

#[test]
fn a_link_keeps_the_fold_lines_of_a_sheet_just_begun() {
    on_the_board(|board| {
        board.set("grid", "1/2in");
        board.draw(&[[25.4, 25.4], [76.2, 25.4]]);
        let before = board.kept();
        let link = copied_link(board, "#link-copy");
        board.open(&link);
        board.wait_for("unfinished");
        let after = board.kept();
        for key in ["unit", "projection", "fold", "rules", "lines"] {
            assert_eq!(after[key], before[key], "{key}");
        }
    });
}

#[test]
fn a_hostile_drawing_is_read_as_lines_and_runs_nothing() {
    on_the_board(|board| {
        board.run("window.hurt = 0");
        // A block 40 x 20 x 30 amid whatever an SVG could bring along.
        let svg = r#"<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="120mm" height="120mm" viewBox="0 0 120 120" onload="window.hurt=1">
            <script>window.hurt=1</script>
            <foreignObject width="50" height="50"><body xmlns="http://www.w3.org/1999/xhtml"><img src="x" onerror="window.hurt=1"/></body></foreignObject>
            <a xlink:href="javascript:window.hurt=1"><title>&lt;img src=x onerror=window.hurt=1&gt;</title>
            <g fill="none" stroke="black" stroke-width="0.7" onclick="window.hurt=1" id="&lt;img src=x onerror=window.hurt=1&gt;">
            <path d="M10 110h40v-30h-40z"/><path d="M10 70h40v-20h-40z"/><path d="M60 110h20v-30h-20z"/></g></a>
            <animate onbegin="window.hurt=1" attributeName="x" dur="1s"/></svg>"#;
        board.drop_file("<img src=x onerror=window.hurt=1>.svg", svg);
        board.wait_for("unique");
        assert!(board.text("#verdict").contains("24 cm³"));
        assert_eq!(board.run("return window.hurt"), json!(0));
        assert_eq!(
            board.count("img, image, foreignObject, #paper a, #paper script, #notice *"),
            0
        );
        // What refers to elsewhere is refused whole, and nothing is asked for.
        let style = r#"<style>@import url("https://board.example/x.css");</style>"#;
        board.drop_file(
            "far.svg",
            &svg.replace("<script>window.hurt=1</script>", style),
        );
        board.wait(
            "document.querySelector('#notice').textContent.includes('nothing is ever fetched')",
        );
        // What is sent on is plain as well.
        board.click("#save-menu summary");
        board.click("#save-svg");
        let saved = String::from_utf8(board.saved("svg")).unwrap();
        for word in [
            "script",
            "onload",
            "onerror",
            "http://board",
            "https://",
            "javascript",
        ] {
            assert!(!saved.contains(word), "{word}");
        }
    });
}

#[test]
fn names_in_a_link_are_never_markup() {
    on_the_board(|board| {
        board.run("window.hurt = 0");
        let encode = |text: &str| {
            board.run(&format!(
                "return (async () => {{
                    const stream = new Blob([{text:?}]).stream().pipeThrough(new CompressionStream('deflate-raw'));
                    const bytes = new Uint8Array(await new Response(stream).arrayBuffer());
                    return btoa(String.fromCharCode(...bytes)).replaceAll('+', '-').replaceAll('/', '_').replaceAll('=', '');
                }})()"
            ))
        };
        // Everything a sheet may say beside its lines, and keys it may not: all of it is let alone.
        let sheet = r#"{"unit":"mm","projection":"<b>","fold":"<i>","rules":{"hidden_lines":"<u>","tangent_edges":{"toString":1}},"hints":"<s>","title":"<img src=x onerror=window.hurt=1>","__proto__":{"hurt":1},"lines":[{"view":"front","line":[10,10,50,10],"note":"<img src=x onerror=window.hurt=1>"}]}"#;
        let letters = encode(sheet);
        board.open(&format!(
            "{}#sheet=1{}",
            board.address,
            letters.as_str().unwrap()
        ));
        board.wait_for("unfinished");
        assert_eq!(
            board.run("return window.hurt === undefined || window.hurt === 0"),
            json!(true)
        );
        assert_eq!(board.count("img, b, i, u, s"), 0);
        assert_eq!(
            board.lines(),
            [json!({"view": "front", "type": "visible", "line": [10, 10, 50, 10]})]
        );
        assert_eq!(
            board.kept()["rules"],
            json!({"hidden_lines": "required", "tangent_edges": "omitted"})
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

/// A sheet without what only the page needs.
fn shared(mut sheet: Value) -> Value {
    let keys = sheet.as_object_mut().expect("a sheet");
    keys.retain(|key, _| ["unit", "projection", "lines"].contains(&key.as_str()));
    sheet
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
            let sheet = shared(board.kept());
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
