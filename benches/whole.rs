//! The whole run from a sheet to its readings: every sample, sheets of known solids, and four families that grow; and from
//! a sheet with mistakes to the smallest mends.
//!
//! `cargo bench --bench whole` measures all of it, `cargo bench --bench whole -- windows` one family.

#![allow(
    missing_docs,
    reason = "the macro of the benchmark library makes an undocumented function"
)]

mod families;

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use families::Member;
use foldback::{LineType, Options, Sheet, Unwatched, Verdict, mend, read_sheet, reconstruct};

/// Every sample: reading the file and finding the answer, without opening the file.
fn samples(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("sample");
    for folder in entries("samples") {
        let bytes = fs::read(folder.join("sheet.json"))
            .or_else(|_| fs::read(folder.join("sheet.svg")))
            .expect("every sample has a sheet");
        let name = folder
            .file_name()
            .expect("has a name")
            .to_string_lossy()
            .into_owned();
        group.bench_function(name, |bencher| {
            bencher.iter(|| {
                let (sheet, _) = read_sheet(&bytes).expect("readable");
                reconstruct(&sheet, &Options::default()).expect("answered")
            });
        });
    }
    group.finish();
}

/// What lies in a folder of the project, in order.
fn entries(folder: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let entries = fs::read_dir(folder).expect("the folder is there");
    let mut paths: Vec<_> = entries
        .map(|entry| entry.expect("readable").path())
        .collect();
    paths.sort();
    paths
}

/// The sheets drawn from known solids, without reading the file: `hlr_s` in their manifest is what the kernel needed
/// just to draw the three views.
fn reference(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("reference");
    for path in entries("tests/reference") {
        let name = path.file_stem().expect("has a name").to_string_lossy();
        if path.extension().is_none_or(|e| e != "json") || name == "manifest" {
            continue;
        }
        let (sheet, _) = read_sheet(&fs::read(&path).expect("readable")).expect("a sheet");
        group.bench_function(name.into_owned(), |bencher| {
            bencher.iter(|| reconstruct(&sheet, &Options::default()).expect("answered"));
        });
    }
    group.finish();
}

/// One growing family; throughput counts drawn lines, so equal figures mean time in proportion to the lines.
fn family(criterion: &mut Criterion, name: &str, make: fn(u32) -> Member, sizes: &[u32]) {
    let options = families::options();
    let mut group = criterion.benchmark_group(name);
    group
        .sample_size(10)
        .measurement_time(Duration::from_secs(5));
    for &n in sizes {
        let member = make(n);
        member.checked_answer(&format!("{name} {n}"));
        let sheet = &member.sheet;
        group.throughput(Throughput::Elements(sheet.lines.len() as u64));
        group.bench_with_input(BenchmarkId::from_parameter(n), sheet, |bencher, sheet| {
            bencher.iter(|| reconstruct(sheet, &options).expect("answered"));
        });
    }
    group.finish();
}

/// Up to 10,000 drawn lines each.
fn growing(criterion: &mut Criterion) {
    family(
        criterion,
        "staircase",
        families::staircase,
        &[10, 50, 250, 1250, 2500],
    );
    family(criterion, "windows", families::windows, &[2, 5, 11, 25, 49]);
    family(criterion, "pockets", families::pockets, &[2, 4, 9, 20, 40]);
    family(
        criterion,
        "plate-with-n-by-n-round-holes",
        families::round_holes,
        &[2, 5, 10, 20],
    );
}

/// Sheets of 50 to 230 lines with one to four mistakes, and all their smallest mends.
fn mending(criterion: &mut Criterion) {
    let reference = |name: &str| {
        let bytes = fs::read(format!(
            "{}/tests/reference/{name}.json",
            env!("CARGO_MANIFEST_DIR")
        ));
        let (sheet, _) = read_sheet(&bytes.expect("readable")).expect("a sheet");
        (name.to_owned(), sheet)
    };
    let mut sheets: Vec<(String, Sheet)> = [
        "p06-tee-slot-bed",
        "p10-comb-block",
        "p11-letter-block",
        "p15-terminal-board",
        "q10-gable-hut",
        "c09-mast-clamp-half",
        "c15-flatted-spindle",
    ]
    .map(reference)
    .into();
    sheets.push(("windows 5".to_owned(), families::windows(5).sheet));
    sheets.push(("pockets 4".to_owned(), families::pockets(4).sheet));
    sheets.push(("staircase 36".to_owned(), families::staircase(36).sheet));
    let mut group = criterion.benchmark_group("mend");
    group
        .sample_size(10)
        .measurement_time(Duration::from_secs(5));
    for (name, sheet) in &sheets {
        for mistakes in 1..=4 {
            let wrong = with_mistakes(sheet, mistakes);
            let mends =
                |wrong: &Sheet| mend(wrong, &Options::default(), 32, &Unwatched).expect("answered");
            // Some mistakes give a right drawing of something else.
            let found = mends(&wrong);
            let is_wrong = found.verdict == Verdict::Contradictory;
            assert!(!is_wrong || !found.mends.is_empty(), "{name} {mistakes}");
            group.bench_with_input(
                BenchmarkId::new(name, mistakes),
                &wrong,
                |bencher, wrong| {
                    bencher.iter(|| mends(wrong));
                },
            );
        }
    }
    group.finish();
}

/// The sheet with lines from all over it by turns given the other type and taken away.
fn with_mistakes(sheet: &Sheet, mistakes: usize) -> Sheet {
    let mut wrong = sheet.clone();
    for k in 0..mistakes {
        let at = wrong.lines.len() * (2 * k + 1) / (2 * mistakes);
        if k % 2 == 1 {
            wrong.lines.remove(at);
            continue;
        }
        let line_type = &mut wrong.lines[at].line_type;
        *line_type = match line_type {
            LineType::Hidden => LineType::Visible,
            _ => LineType::Hidden,
        };
    }
    wrong
}

criterion_group!(benches, samples, reference, growing, mending);
criterion_main!(benches);
