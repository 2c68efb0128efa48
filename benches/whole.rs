//! The whole run from a sheet to its readings: every sample, sheets of known solids, and four families that grow.
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
use foldback::{Options, read_sheet, reconstruct};

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

criterion_group!(benches, samples, reference, growing);
criterion_main!(benches);
