//! Views and snapping, on the reference sheets and on sheets put together here.

mod curved;
mod snapping;
mod viewing;

use std::fs;
use std::path::PathBuf;

use super::read::read_sheet;
use super::{
    Drawing, Line, LineType, Projection, Remark, RemarkKind, Segment, Shape, Sheet, Unit, View,
    views,
};
use crate::Options;

fn reference_names() -> Vec<String> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .filter(|name| name.ends_with(".json") && name != "manifest.json")
        .map(|name| name.trim_end_matches(".json").to_owned())
        .collect();
    names.sort();
    assert!(!names.is_empty());
    names
}

/// The reference sheets with straight lines only.
fn planar_names() -> Vec<String> {
    let mut names = reference_names();
    names.retain(|name| name.starts_with(['p', 'q']));
    names
}

/// The reference sheets with curved lines.
fn curved_names() -> Vec<String> {
    let mut names = reference_names();
    names.retain(|name| name.starts_with(['c', 'k', 'x']));
    names
}

fn reference(name: &str) -> Sheet {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    read_sheet(&fs::read(folder.join(name)).unwrap()).unwrap().0
}

fn line(from: [f64; 2], to: [f64; 2]) -> Line {
    Line {
        view: None,
        line_type: LineType::Visible,
        shape: Shape::Line { from, to },
    }
}

/// The four sides of a rectangle from its lower left corner, bottom first, then counter-clockwise.
fn rectangle([x, y]: [f64; 2], [w, h]: [f64; 2]) -> Vec<Line> {
    let corners = [[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
    (0..4)
        .map(|i| line(corners[i], corners[(i + 1) % 4]))
        .collect()
}

fn sheet(parts: &[Vec<Line>]) -> Sheet {
    Sheet {
        lines: parts.concat(),
        ..Sheet::default()
    }
}

/// A block 40 wide, 20 deep and 30 high in third-angle: front at (0, 0), top at (0, 50), right at (60, 0).
fn block() -> Sheet {
    sheet(&[
        rectangle([0.0, 0.0], [40.0, 30.0]),
        rectangle([0.0, 50.0], [40.0, 20.0]),
        rectangle([60.0, 0.0], [20.0, 30.0]),
    ])
}

fn drawn(sheet: &Sheet) -> Drawing {
    views::drawing(sheet, &Options::default()).unwrap_or_else(|e| panic!("{e}"))
}

fn with_tolerance(millimetres: f64) -> Options {
    Options {
        tolerance_mm: Some(millimetres),
        ..Options::default()
    }
}

fn refused(sheet: &Sheet) -> String {
    refused_with(sheet, &Options::default())
}

fn refused_with(sheet: &Sheet, options: &Options) -> String {
    match views::drawing(sheet, options) {
        Ok(drawing) => panic!("drawn as {drawing:?}"),
        Err(error) => error.to_string(),
    }
}

/// The messages of some kind of remark.
fn messages(remarks: &[Remark], kind: RemarkKind) -> Vec<&str> {
    let of_kind = remarks.iter().filter(|r| r.kind == kind);
    of_kind.map(|r| r.message.as_str()).collect()
}

/// Numbers that look random and are the same on every run (xorshift, 64 bits).
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    /// A number from 0 up to, but not including, `end`.
    fn below(&mut self, end: usize) -> usize {
        usize::try_from(self.next() % end as u64).unwrap()
    }

    /// A number from -1 to 1.
    fn unit(&mut self) -> f64 {
        (self.next() % 20_001) as f64 / 10_000.0 - 1.0
    }
}
