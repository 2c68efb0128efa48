//! The samples: each sheet's report is the stored one, and the reports show what the samples are there to show.
//!
//! `FOLDBACK_RENEW=1 cargo test samples` writes the reports anew; read the difference before committing it.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::f64::consts::PI;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Whether the stored reports are to be written anew instead of compared.
fn renew() -> bool {
    std::env::var_os("FOLDBACK_RENEW").is_some_and(|value| value == "1")
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The folders of all samples, sorted by name.
fn samples() -> Vec<PathBuf> {
    let entries = fs::read_dir(root().join("samples")).unwrap();
    let mut folders: Vec<_> = entries.map(|entry| entry.unwrap().path()).collect();
    folders.sort();
    folders
}

/// The sheet of a sample as a path from the crate's root, with forward slashes on every system.
fn sheet_of(folder: &Path) -> String {
    let name = folder.file_name().unwrap().to_str().unwrap();
    let file = if folder.join("sheet.svg").exists() {
        "sheet.svg"
    } else {
        "sheet.json"
    };
    format!("samples/{name}/{file}")
}

fn check(flags: &[&str], sheet: &str) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_foldback"))
        .arg("check")
        .args(flags)
        .arg(sheet)
        .current_dir(root())
        .output()
        .unwrap();
    assert!(
        output.stderr.is_empty(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn every_sample_gives_its_stored_report() {
    for folder in samples() {
        let report = check(&[], &sheet_of(&folder));
        let stored = folder.join("expected.txt");
        if renew() {
            fs::write(&stored, &report).unwrap();
        }
        let expected = fs::read_to_string(&stored)
            .unwrap_or_else(|_| panic!("{} is missing", stored.display()));
        assert_eq!(
            report,
            expected.replace("\r\n", "\n"),
            "{}",
            folder.display()
        );
    }
}

#[test]
fn every_sample_has_its_sheet_and_one_line_about_it() {
    for folder in samples() {
        let about = fs::read_to_string(folder.join("about.txt")).unwrap();
        assert_eq!(about.trim_end().lines().count(), 1, "{}", folder.display());
        let sheets = ["sheet.json", "sheet.svg"]
            .iter()
            .filter(|name| folder.join(name).exists());
        assert_eq!(sheets.count(), 1, "{}", folder.display());
    }
}

/// The first word about a sample is what it shows; the verdict must agree with it.
#[test]
fn verdict_of_every_sample_is_the_one_it_is_there_for() {
    let mut seen = Vec::new();
    for folder in samples() {
        let about = fs::read_to_string(folder.join("about.txt")).unwrap();
        let report: serde_json::Value =
            serde_json::from_str(&check(&["--json"], &sheet_of(&folder))).unwrap();
        let expected = match about.split(':').next().unwrap() {
            "Ambiguous" => "ambiguous",
            "Contradictory" => "contradictory",
            _ => "unique",
        };
        assert_eq!(
            report["verdict"],
            expected,
            "{}: {report}",
            folder.display()
        );
        seen.push(expected);
    }
    assert!(seen.len() >= 12);
}

/// Volumes by hand from the parts' dimensions, in cubic millimetres.
#[test]
fn volume_of_a_sample_is_that_of_its_dimensions() {
    let inch = 25.4_f64;
    let known = [
        // Foot 60 x 40 x 10, post 25 x 40 x 20 on it, slot 15 x 12 through the foot.
        ("mast-foot/sheet.json", 24_000.0 + 20_000.0 - 1_800.0),
        // Trapezium of 45 mm height for 10 mm and from 15 to 45 mm over 60 mm, 50 deep, less a pocket 30 x 20 x 8.
        (
            "solar-wedge/sheet.json",
            50.0 * (60.0 * 30.0 + 10.0 * 45.0) - 4_800.0,
        ),
        // 60 x 28 less a dovetail 24 mm wide above, 36 mm below and 14 mm deep, 45 mm long.
        ("vane-slide/sheet.json", 45.0 * (60.0 * 28.0 - 14.0 * 30.0)),
        // Plinth 40 x 40 x 8, pyramid 28 x 28 and 30 high: a third of base times height.
        ("rod-cap/sheet.svg", 1600.0 * 8.0 + 784.0 * 30.0 / 3.0),
        // Box 50 x 40 x 30 less the hollow 34 x 24 x 18.
        ("logger-box/sheet.json", 60_000.0 - 34.0 * 24.0 * 18.0),
        // 3 x 2 x 1/2 in and 3 x 1/2 x 5/4 in, less a notch 1 x 5/8 x 1/2 in.
        (
            "barometer-shelf/sheet.json",
            (3.0 + 1.875 - 0.3125) * inch * inch * inch,
        ),
        // Roof: 80 long, 50 wide, 14 to the eaves and 22 of gable, less a tunnel 20 x 12 and a slot 20 wide 8 high.
        (
            "roof-bracket/sheet.json",
            80.0 * (700.0 + 550.0 - 240.0) - 20.0 * 8.0 * 30.0,
        ),
        // 44 x 20 x 30 less a hole of 4 at 60 degrees: a cylinder cut askew is as long as its axis (Cavalieri's principle).
        (
            "anchor-block/sheet.json",
            26_400.0 - PI * 16.0 * 30.0 / (0.75_f64).sqrt(),
        ),
        // A tube of 7 and 5 with 30 and 26 mm of axis on either side of the mitre.
        ("vent-elbow/sheet.json", PI * (49.0 - 25.0) * 56.0),
    ];
    for (sheet, volume) in known {
        let report: serde_json::Value =
            serde_json::from_str(&check(&["--json"], &format!("samples/{sheet}"))).unwrap();
        let found = report["readings"][0]["volume_mm3"].as_f64().unwrap();
        // The roof bracket's ends are off by up to 0.03 mm on 50 mm.
        let allowed = if sheet.starts_with("roof") {
            2e-3
        } else {
            1e-6
        };
        assert!(
            (found / volume - 1.0).abs() < allowed,
            "{sheet}: {found} {volume}"
        );
    }
}

/// How many objects the ambiguous samples describe, by reasoning about each.
#[test]
fn ambiguous_samples_have_all_their_readings() {
    let known = [
        // Two of four pockets are deep, on one diagonal or on the other.
        ("battery-cradle/sheet.json", 2),
        // The whole plinth, or any one of the four halves that a diagonal cuts off below the pyramid.
        ("beacon-tip/sheet.svg", 5),
        // One of the 60 drawings of 3 x 3 x 3 blocks with three readings, found by running through all of them.
        ("mooring-steps/sheet.json", 3),
    ];
    for (sheet, readings) in known {
        let report: serde_json::Value =
            serde_json::from_str(&check(&["--json"], &format!("samples/{sheet}"))).unwrap();
        assert_eq!(
            report["readings"].as_array().unwrap().len(),
            readings,
            "{sheet}"
        );
        assert_eq!(report["complete"], true, "{sheet}");
    }
}

#[test]
fn slightly_inaccurate_sample_says_what_was_off() {
    let report: serde_json::Value =
        serde_json::from_str(&check(&["--json"], "samples/roof-bracket/sheet.json")).unwrap();
    assert!(
        !report["warnings"].as_array().unwrap().is_empty(),
        "{report}"
    );
}
