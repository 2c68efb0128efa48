//! One engine, three places: in the test itself, behind the server, and as WebAssembly in the single file. All must answer
//! alike, byte for byte.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use crate::board::{Served, Single, asked, foldback, ready};
use crate::chromium::Browser;
use crate::{folder, page::Page};

/// The sheets of all samples.
fn samples() -> Vec<PathBuf> {
    let folders = fs::read_dir(folder("samples")).expect("samples");
    let mut sheets: Vec<PathBuf> = folders
        .flat_map(|entry| {
            let folder = entry.expect("a folder").path();
            ["sheet.json", "sheet.svg"].map(|name| folder.join(name))
        })
        .filter(|path| path.exists())
        .collect();
    sheets.sort();
    assert!(sheets.len() > 30);
    sheets
}

/// The reference sheets, JSON and SVG.
fn references() -> Vec<PathBuf> {
    let files = fs::read_dir(folder("tests/reference")).expect("reference sheets");
    let mut sheets: Vec<PathBuf> = files
        .map(|entry| entry.expect("a file").path())
        .filter(|path| !path.ends_with("manifest.json"))
        .filter(|path| path.extension().is_some_and(|e| e == "json" || e == "svg"))
        .collect();
    sheets.sort();
    assert_eq!(sheets.len(), 150);
    sheets
}

/// The sheet in a file, as the board opens it.
fn opened(path: &Path) -> (Value, Value) {
    let text = fs::read_to_string(path).expect("a sheet");
    let request = json!({"do": "open", "text": text});
    let answer = foldback::answer(request.to_string().as_bytes());
    let answer: Value = serde_json::from_slice(&answer).expect("JSON");
    (request, answer["sheet"].clone())
}

/// Holds the page's answers against those of this test's own engine.
fn assert_same(page: &mut Page, request: &Value, what: &str) -> Vec<u8> {
    let here = foldback::answer(request.to_string().as_bytes());
    let there = asked(page, request);
    if here != there {
        let [here, there] = [&here, &there].map(|bytes| String::from_utf8_lossy(bytes));
        let at = here
            .bytes()
            .zip(there.bytes())
            .take_while(|(a, b)| a == b)
            .count();
        let around = |text: &str| {
            text.chars()
                .skip(at.saturating_sub(60))
                .take(120)
                .collect::<String>()
        };
        panic!(
            "{what}, {}: at {at}\n{}\n{}",
            request["do"],
            around(&here),
            around(&there)
        );
    }
    here
}

fn assert_all_same(page: &mut Page, sheets: &[PathBuf], questions: &[&str]) {
    for path in sheets {
        let what = path.display().to_string();
        let (open, sheet) = opened(path);
        assert_same(page, &open, &what);
        for question in questions {
            let request = json!({"do": question, "sheet": sheet, "limit": 4});
            assert_same(page, &request, &what);
        }
        assert_same(page, &json!({"do": "svg", "sheet": sheet}), &what);
    }
}

#[test]
fn single_file_answers_every_sample_like_the_native_engine() {
    let (Some(single), Some(mut browser)) = (Single::write(), Browser::start()) else {
        return;
    };
    let mut page = browser.open(&single.url());
    ready(&mut page);
    assert_all_same(&mut page, &samples(), &["check", "mend"]);
}

#[test]
fn single_file_answers_every_reference_sheet_like_the_native_engine() {
    let (Some(single), Some(mut browser)) = (Single::write(), Browser::start()) else {
        return;
    };
    let mut page = browser.open(&single.url());
    ready(&mut page);
    assert_all_same(&mut page, &references(), &["check", "mend"]);
}

#[test]
fn server_answers_every_sample_like_the_native_engine() {
    let Some(mut browser) = Browser::start() else {
        return;
    };
    let served = Served::start();
    let mut page = browser.open(&served.url);
    ready(&mut page);
    // The server has a clock, and may give up on corrections sooner than the engine alone.
    assert_all_same(&mut page, &samples(), &["check"]);
}

#[test]
fn stl_and_picture_from_the_page_are_the_command_s_bytes() {
    let (Some(single), Some(mut browser)) = (Single::write(), Browser::start()) else {
        return;
    };
    let served = Served::start();
    let written = tempfile::tempdir().expect("a folder");
    for url in [single.url(), served.url.clone()] {
        let mut page = browser.open(&url);
        ready(&mut page);
        for name in ["mast-foot", "float-ring", "tide-pin", "cup-spindle"] {
            let path = folder("samples").join(name);
            let path = ["sheet.json", "sheet.svg"].map(|file| path.join(file));
            let path = path.iter().find(|path| path.exists()).expect("a sheet");
            let (_, sheet) = opened(path);
            for (what, ending) in [("solid", "stl"), ("picture", "svg")] {
                let out = written.path().join(format!("{name}.{ending}"));
                let [sheet_path, out_path] =
                    [path, &out].map(|p| p.to_str().expect("a plain name"));
                assert!(
                    foldback(&[what, sheet_path, "-o", out_path])
                        .status
                        .success()
                );
                let request = if what == "solid" { "stl" } else { "picture" };
                let from_page = asked(
                    &mut page,
                    &json!({"do": request, "sheet": sheet, "reading": 1}),
                );
                assert!(
                    from_page == fs::read(&out).expect("written"),
                    "{name}.{ending}"
                );
            }
        }
    }
}
