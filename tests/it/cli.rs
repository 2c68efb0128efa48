//! The command as a user meets it: run as a process of its own, judged by exit status, output and files left behind.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::fs;
use std::io::Write;
use std::process::Stdio;

use crate::desk::{BRICK, BRICK_REPORT, Desk, json};

/// The volume an STL file encloses, in cubic millimetres, by the divergence theorem over its triangles.
fn stl_volume(bytes: Vec<u8>) -> f64 {
    let mesh = stl_io::read_stl(&mut std::io::Cursor::new(bytes)).unwrap();
    mesh.validate().unwrap();
    let corner = |i: usize| {
        let v = mesh.vertices[i];
        nalgebra::Vector3::new(f64::from(v[0]), f64::from(v[1]), f64::from(v[2]))
    };
    let faces = mesh.faces.iter();
    faces
        .map(|face| {
            let [a, b, c] = face.vertices.map(corner);
            a.dot(&b.cross(&c)) / 6.0
        })
        .sum()
}

// ---- check -----------------------------------------------------------------------------------------------------------

#[test]
fn json_document_has_the_agreed_keys_in_the_agreed_order() {
    let run = Desk::with_brick().run(&["check", "--json", "brick.json"]);
    assert_eq!(run.out, format!("{BRICK_REPORT}\n"));
    assert_eq!((run.status, run.err.as_str()), (0, ""));
}

#[test]
fn report_for_a_person_says_what_the_sheet_describes() {
    let run = Desk::with_brick().run(&["check", "brick.json"]);
    assert!(
        run.out.contains("describes exactly one object"),
        "{}",
        run.out
    );
    assert!(run.out.contains("24000 mm³"), "{}", run.out);
    assert_eq!(run.status, 0);
}

#[test]
fn two_runs_print_the_same_bytes() {
    let desk = Desk::with_samples(&["mooring-steps", "tide-bracket", "roof-bracket"]);
    let check = [
        "check",
        "--json",
        "mooring-steps.json",
        "tide-bracket.json",
        "roof-bracket.json",
    ];
    let first = desk.run(&check).out;
    assert_eq!(first.matches("\"verdict\"").count(), 3);
    assert_eq!(first, desk.run(&check).out);
}

#[test]
fn largest_verdict_is_the_exit_status() {
    let desk = Desk::with_samples(&["mast-foot", "battery-cradle", "tide-bracket"]);
    let status = |sheets: &[&str]| desk.run(&[&["check"], sheets].concat()).status;
    assert_eq!(status(&["mast-foot.json"]), 0);
    assert_eq!(status(&["mast-foot.json", "battery-cradle.json"]), 3);
    assert_eq!(status(&["tide-bracket.json", "battery-cradle.json"]), 4);
}

#[test]
fn unreadable_sheet_makes_the_status_one_and_the_others_are_done() {
    let desk = Desk::with_samples(&["mast-foot", "tide-bracket"]);
    let run = desk.run(&[
        "check",
        "--json",
        "mast-foot.json",
        "none.json",
        "tide-bracket.json",
    ]);
    assert_eq!(run.status, 1);
    let lines: Vec<_> = run.out.lines().map(json).collect();
    assert_eq!(lines.len(), 3);
    assert_eq!(lines[0]["verdict"], "unique");
    assert_eq!(lines[1]["sheet"], "none.json");
    assert!(lines[1]["error"].as_str().unwrap().contains("no such file"));
    assert_eq!(lines[2]["verdict"], "contradictory");
    assert!(run.err.contains("none.json"), "{}", run.err);
}

#[test]
fn contradictory_sheet_names_lines_that_do_not_fit() {
    let desk = Desk::with_samples(&["vane-block"]);
    let run = desk.run(&["check", "--json", "vane-block.json"]);
    let report = json(&run.out);
    let lines = json(&String::from_utf8(desk.get("vane-block.json")).unwrap())["lines"].clone();
    // The impossible line is the last of the sheet.
    let last = lines.as_array().unwrap().len() - 1;
    let problems = report["problems"].as_array().unwrap();
    let named = problems.iter().flat_map(|p| p["lines"].as_array().unwrap());
    assert!(named.into_iter().any(|line| line == last), "{report}");
    assert_eq!(report["readings"].as_array().unwrap().len(), 0);
}

#[test]
fn reading_limit_leaves_the_answer_incomplete() {
    let desk = Desk::with_samples(&["mooring-steps"]);
    let run = desk.run(&["check", "--json", "--limit", "2", "mooring-steps.json"]);
    let report = json(&run.out);
    assert_eq!(report["complete"], false);
    assert_eq!(report["readings"].as_array().unwrap().len(), 2);
    assert_eq!(
        run.status, 3,
        "two readings are enough to be certain of several"
    );

    let run = desk.run(&["check", "--json", "--limit", "1", "mooring-steps.json"]);
    assert_eq!(json(&run.out)["verdict"], "undecided");
    assert_eq!(run.status, 5);
}

#[test]
fn time_limit_leaves_the_answer_open() {
    let desk = Desk::with_samples(&["mooring-steps"]);
    let run = desk.run(&["check", "--time-limit", "0.000000001", "mooring-steps.json"]);
    assert_eq!(run.status, 5);
    assert!(run.out.contains("ran out of time"), "{}", run.out);
}

#[test]
fn tolerance_decides_whether_sizes_agree() {
    let desk = Desk::with_samples(&["gauge-stand"]);
    // The top view of this sample is 4 mm narrower than the front view.
    assert_eq!(desk.run(&["check", "gauge-stand.json"]).status, 4);
    let run = desk.run(&["check", "--json", "--tolerance", "4.5", "gauge-stand.json"]);
    assert_eq!(json(&run.out)["verdict"], "unique", "{}", run.out);
    assert!(!json(&run.out)["warnings"].as_array().unwrap().is_empty());
}

#[test]
fn dash_reads_standard_input() {
    let desk = Desk::new();
    let mut child = desk
        .command(&["check", "--json", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child
        .stdin
        .take()
        .unwrap()
        .write_all(BRICK.as_bytes())
        .unwrap();
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(
        json(&String::from_utf8(output.stdout).unwrap())["verdict"],
        "unique"
    );
}

#[test]
fn closed_standard_output_ends_the_run_quietly() {
    let desk = Desk::with_brick();
    let sheets = vec!["brick.json"; 50];
    let mut child = desk
        .command(&[&["check"], sheets.as_slice()].concat())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "");
    assert_eq!(output.status.code(), Some(0));
}

#[test]
fn progress_stays_off_what_is_no_terminal() {
    let run = Desk::with_samples(&["mooring-steps"]).run(&["check", "mooring-steps.json"]);
    assert_eq!(run.err, "");
}

// ---- wrong usage and help --------------------------------------------------------------------------------------------

#[test]
fn wrong_usage_has_status_two_and_reads_nothing() {
    let desk = Desk::with_brick();
    let wrong: [&[&str]; 10] = [
        &[],
        &["check"],
        &["fold", "brick.json"],
        &["check", "--tolerance", "-1", "brick.json"],
        &["check", "--tolerance", "nan", "brick.json"],
        &["check", "--limit", "0", "brick.json"],
        &["check", "--time-limit", "0", "brick.json"],
        &["solid", "brick.json"],
        &["solid", "brick.json", "-o", "a.stl", "--chord", "0"],
        &[
            "solid",
            "brick.json",
            "-o",
            "a.stl",
            "--all",
            "--reading",
            "1",
        ],
    ];
    for arguments in wrong {
        let run = desk.run(arguments);
        assert_eq!(run.status, 2, "{arguments:?}: {}", run.err);
        assert_eq!(run.out, "", "{arguments:?}");
        assert!(!run.err.is_empty(), "{arguments:?}");
    }
    assert_eq!(desk.names(), ["brick.json"]);
}

#[test]
fn help_of_every_command_has_an_example() {
    let desk = Desk::new();
    for command in ["check", "solid", "picture"] {
        let run = desk.run(&[command, "--help"]);
        assert_eq!(run.status, 0);
        let (_, examples) = run.out.split_once("Example").expect("has examples");
        assert!(
            examples.contains(&format!("foldback {command} ")),
            "{}",
            run.out
        );
    }
    assert!(desk.run(&["--help"]).out.contains("foldback check "));
}

// ---- solid and picture -----------------------------------------------------------------------------------------------

#[test]
fn only_reading_is_written_as_stl() {
    let desk = Desk::with_brick();
    let run = desk.run(&["solid", "brick.json", "-o", "brick.stl"]);
    assert_eq!((run.status, run.err.as_str()), (0, ""));
    assert_eq!(desk.names(), ["brick.json", "brick.stl"]);
    let volume = stl_volume(desk.get("brick.stl"));
    assert!((volume - 24_000.0).abs() < 1e-3, "{volume}");
}

#[test]
fn several_readings_are_not_written_until_one_is_chosen() {
    let desk = Desk::with_samples(&["battery-cradle"]);
    let run = desk.run(&["solid", "battery-cradle.json", "-o", "cradle.stl"]);
    assert_eq!(run.status, 3);
    assert!(run.err.contains("--reading"), "{}", run.err);
    assert_eq!(desk.names(), ["battery-cradle.json"]);

    let run = desk.run(&[
        "solid",
        "battery-cradle.json",
        "--reading",
        "2",
        "-o",
        "cradle.stl",
    ]);
    assert_eq!(run.status, 0, "{}", run.err);
    assert_eq!(desk.names(), ["battery-cradle.json", "cradle.stl"]);
}

#[test]
fn all_readings_are_written_with_numbers() {
    let desk = Desk::with_samples(&["mooring-steps"]);
    let run = desk.run(&["solid", "mooring-steps.json", "--all", "-o", "steps.stl"]);
    assert_eq!(run.status, 0, "{}", run.err);
    assert_eq!(
        desk.names(),
        [
            "mooring-steps.json",
            "steps-1.stl",
            "steps-2.stl",
            "steps-3.stl"
        ]
    );
    let report = json(&desk.run(&["check", "--json", "mooring-steps.json"]).out);
    for number in 1..=3 {
        let volume = stl_volume(desk.get(&format!("steps-{number}.stl")));
        let said = report["readings"][number - 1]["volume_mm3"]
            .as_f64()
            .unwrap();
        assert!(
            (volume / said - 1.0).abs() < 1e-6,
            "{number}: {volume} {said}"
        );
    }
}

#[test]
fn reading_that_does_not_exist_is_wrong_usage() {
    let desk = Desk::with_brick();
    let run = desk.run(&["solid", "brick.json", "--reading", "2", "-o", "brick.stl"]);
    assert_eq!(run.status, 2);
    assert!(run.err.contains("no reading 2"), "{}", run.err);
    assert_eq!(desk.names(), ["brick.json"]);
}

#[test]
fn contradictory_sheet_leaves_the_old_output_as_it_was() {
    let desk = Desk::with_samples(&["tide-bracket"]);
    desk.put("old.stl", "old");
    for command in ["solid", "picture"] {
        let run = desk.run(&[command, "tide-bracket.json", "-o", "old.stl"]);
        assert_eq!(run.status, 4, "{}", run.err);
        assert_eq!(desk.get("old.stl"), b"old");
    }
    assert_eq!(desk.names(), ["old.stl", "tide-bracket.json"]);
}

#[test]
fn unreadable_sheet_leaves_the_old_output_as_it_was() {
    let desk = Desk::new();
    desk.put("cut.json", &BRICK[..200]);
    desk.put("old.stl", "old");
    assert_eq!(desk.run(&["solid", "cut.json", "-o", "old.stl"]).status, 1);
    assert_eq!(desk.get("old.stl"), b"old");
    assert_eq!(desk.names(), ["cut.json", "old.stl"]);
}

#[test]
fn place_that_cannot_be_written_is_named() {
    let desk = Desk::with_brick();
    fs::create_dir(desk.path("folder")).unwrap();
    for (output, words) in [
        ("none/part.stl", "no folder none"),
        ("folder", "this is a folder"),
        (".", "no file name"),
    ] {
        let run = desk.run(&["solid", "brick.json", "-o", output]);
        assert_eq!(run.status, 1, "{output}");
        assert!(run.err.contains(words), "{output}: {}", run.err);
    }
    assert_eq!(desk.names(), ["brick.json", "folder"]);
}

#[test]
fn all_or_none_are_written_when_one_place_is_taken_by_a_folder() {
    let desk = Desk::with_samples(&["mooring-steps"]);
    fs::create_dir(desk.path("steps-3.stl")).unwrap();
    let run = desk.run(&["solid", "mooring-steps.json", "--all", "-o", "steps.stl"]);
    assert_eq!(run.status, 1);
    assert!(run.err.contains("steps-3.stl"), "{}", run.err);
    assert_eq!(desk.names(), ["mooring-steps.json", "steps-3.stl"]);
}

#[test]
fn sheet_is_never_overwritten_by_its_own_solid() {
    let desk = Desk::with_brick();
    let run = desk.run(&["solid", "brick.json", "-o", "./brick.json"]);
    assert_eq!(run.status, 2);
    assert_eq!(desk.get("brick.json"), BRICK.as_bytes());
}

#[cfg(unix)]
#[test]
fn output_has_the_rights_of_an_ordinary_file() {
    use std::os::unix::fs::PermissionsExt;
    let desk = Desk::with_brick();
    desk.run(&["solid", "brick.json", "-o", "brick.stl"]);
    let rights = |name: &str| fs::metadata(desk.path(name)).unwrap().permissions().mode();
    // `brick.json` was created in the ordinary way.
    assert_eq!(rights("brick.stl"), rights("brick.json"));
}

#[test]
fn pictures_of_every_kind_are_svg_and_differ() {
    let desk = Desk::with_brick();
    let draw = |flags: &[&str]| {
        let run = desk.run(&[&["picture", "brick.json", "-o", "brick.svg"], flags].concat());
        assert_eq!(run.status, 0, "{}", run.err);
        let svg = String::from_utf8(desk.get("brick.svg")).unwrap();
        assert!(
            svg.contains("<svg") && svg.trim_end().ends_with("</svg>"),
            "{svg}"
        );
        svg
    };
    let isometric = draw(&[]);
    assert_eq!(isometric, draw(&["--kind", "isometric"]));
    assert_ne!(isometric, draw(&["--kind", "cavalier"]));
    assert_ne!(draw(&["--kind", "cabinet"]), draw(&["--kind", "cavalier"]));
    assert_ne!(isometric, draw(&["--shaded"]));
}
