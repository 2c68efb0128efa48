//! Each stage by itself: reading, the engine's stages one by one, and the writers.
//!
//! The engine tells a watcher when a stage begins; the time until the next one begins is the stage's time. So the stages
//! stay private and are measured as they run. `cargo bench --bench stages`.

#![allow(
    missing_docs,
    reason = "the macro of the benchmark library makes an undocumented function"
)]

mod families;

use std::cell::RefCell;
use std::mem::discriminant;
use std::time::{Duration, Instant};

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use families::Member;
use foldback::{
    Options, PictureKind, PictureOptions, Report, Sheet, Stage, Watch, read_sheet,
    reconstruct_watched,
};

/// Notes when each stage began.
#[derive(Default)]
struct Stopwatch(RefCell<Vec<(Stage, Instant)>>);

impl Watch for Stopwatch {
    fn stage(&self, stage: Stage) {
        self.0.borrow_mut().push((stage, Instant::now()));
    }
}

/// How long one run spends in `stage`.
fn time_in(stage: Stage, sheet: &Sheet, options: &Options) -> Duration {
    let stopwatch = Stopwatch::default();
    reconstruct_watched(sheet, options, &stopwatch).expect("answered");
    let end = Instant::now();
    let began = stopwatch.0.into_inner();
    let ends = began.iter().skip(1).map(|&(_, at)| at).chain([end]);
    let same = |other: Stage| discriminant(&other) == discriminant(&stage);
    let spent = began
        .iter()
        .zip(ends)
        .filter(|((other, _), _)| same(*other));
    spent.map(|(&(_, from), to)| to - from).sum()
}

fn engine(criterion: &mut Criterion) {
    let stages = [
        ("views", Stage::Views),
        ("edges", Stage::Edges),
        ("faces", Stage::Faces),
        ("search", Stage::Search(0)),
    ];
    let options = families::options();
    for (name, stage) in stages {
        let mut group = criterion.benchmark_group(name);
        group.sample_size(10);
        for (family, member) in members() {
            group.bench_with_input(
                BenchmarkId::from_parameter(family),
                &member.sheet,
                |bencher, sheet| {
                    bencher.iter_custom(|runs| {
                        (0..runs).map(|_| time_in(stage, sheet, &options)).sum()
                    });
                },
            );
        }
        group.finish();
    }
}

fn reading(criterion: &mut Criterion) {
    criterion.bench_function("read/json", |bencher| {
        bencher.iter(|| {
            read_sheet(include_bytes!("../samples/sensor-tray/sheet.json")).expect("readable")
        });
    });
    criterion.bench_function("read/svg", |bencher| {
        bencher.iter(|| {
            read_sheet(include_bytes!("../samples/wind-arm/sheet.svg")).expect("readable")
        });
    });
}

fn writing(criterion: &mut Criterion) {
    let plate = families::windows(11);
    let outcome = plate.checked_answer("windows 11");
    let solid = &outcome.readings[0].solid;
    criterion.bench_function("write/stl", |bencher| bencher.iter(|| solid.to_stl()));
    criterion.bench_function("write/picture", |bencher| {
        bencher.iter(|| solid.to_picture(PictureKind::Isometric, &PictureOptions::default()));
    });
    criterion.bench_function("write/report", |bencher| {
        bencher.iter(|| Report::new("plate", &plate.sheet, &[], &outcome).to_json());
    });
}

/// One member of each family with some 500 to 600 drawn lines.
fn members() -> [(&'static str, Member); 4] {
    [
        ("staircase-140", families::staircase(140)),
        ("windows-11", families::windows(11)),
        ("pockets-9", families::pockets(9)),
        ("round-holes-12", families::round_holes(12)),
    ]
}

criterion_group!(benches, reading, engine, writing);
criterion_main!(benches);
