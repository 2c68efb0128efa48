//! The report for programs: one JSON document on one line.
//!
//! Keys keep their order and names; `lines` are places in the sheet's own list, counted from 0. Numbers are rounded to
//! ten significant digits and to a billionth, so that rounding noise of the arithmetic does not show.

use serde::Serialize;

use super::choice_json::{PlaceEntry, SettlingEntry};
use super::report::Report;
use super::shape::LineEntry;
use crate::Remark;

#[derive(Serialize)]
struct Document<'a> {
    sheet: &'a str,
    verdict: &'a str,
    projection: &'a str,
    complete: bool,
    readings: Vec<ReadingEntry<'a>>,
    warnings: Vec<RemarkEntry<'a>>,
    problems: Vec<RemarkEntry<'a>>,
    conflict: Vec<LineEntry<'a>>,
    readings_total: &'a str,
    readings_total_hollow: &'a str,
    readings_total_exact: bool,
    places: Vec<PlaceEntry<'a>>,
    settled_by: Option<SettlingEntry<'a>>,
}

#[derive(Serialize)]
struct ReadingEntry<'a> {
    volume_mm3: f64,
    surface_mm2: f64,
    centroid_mm: [f64; 3],
    size_mm: [f64; 3],
    faces: usize,
    edges: usize,
    vertices: usize,
    shells: usize,
    genus: usize,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    left_out: Vec<LineEntry<'a>>,
}

/// A remark as in a report.
#[derive(Serialize)]
pub(crate) struct RemarkEntry<'a> {
    kind: &'a str,
    view: Option<&'a str>,
    message: &'a str,
    lines: &'a [usize],
}

#[cfg(feature = "cli")]
#[derive(Serialize)]
struct Failure<'a> {
    sheet: &'a str,
    error: &'a str,
}

impl Report {
    /// The report as one JSON document on one line, without a line break at its end.
    ///
    /// Lengths are millimetres; the origin is the lower, left, near corner of the drawing's box.
    pub fn to_json(&self) -> String {
        one_line(&Document {
            sheet: &self.name,
            verdict: self.verdict.name(),
            projection: self.projection.name(),
            complete: self.complete(),
            readings: (0..self.readings.len())
                .map(|n| self.reading_entry(n))
                .collect(),
            warnings: self.warnings.iter().map(remark_entry).collect(),
            problems: self.problems.iter().map(remark_entry).collect(),
            conflict: self.conflict.iter().map(LineEntry::of).collect(),
            readings_total: &self.readings_total.count,
            readings_total_hollow: &self.readings_total.hollow,
            readings_total_exact: self.readings_total.exact,
            places: self.places.iter().map(PlaceEntry::of).collect(),
            settled_by: self
                .settled_by
                .map(|settling| SettlingEntry::of(settling, &self.further_view)),
        })
    }

    fn reading_entry(&self, number: usize) -> ReadingEntry<'_> {
        let measures = &self.readings[number];
        ReadingEntry {
            volume_mm3: rounded(measures.volume_mm3),
            surface_mm2: rounded(measures.surface_mm2),
            centroid_mm: measures.centroid_mm.map(rounded),
            size_mm: measures.size_mm.map(rounded),
            faces: measures.faces,
            edges: measures.edges,
            vertices: measures.vertices,
            shells: measures.shells,
            genus: measures.genus,
            left_out: self.left_out[number].iter().map(LineEntry::of).collect(),
        }
    }
}

/// The document for a sheet that could not be read or answered, on one line.
#[cfg(feature = "cli")]
pub(crate) fn failure(sheet: &str, error: &str) -> String {
    one_line(&Failure { sheet, error })
}

pub(crate) fn one_line(document: &impl Serialize) -> String {
    serde_json::to_string(document).expect("strings and numbers can always be written as JSON")
}

/// The entry of a remark.
pub(crate) fn remark_entry(remark: &Remark) -> RemarkEntry<'_> {
    RemarkEntry {
        kind: remark.kind.name(),
        view: remark.view.map(crate::View::name),
        message: &remark.message,
        lines: &remark.lines,
    }
}

/// `value` with ten significant digits and at most nine decimals; never minus zero.
///
/// Rounding goes through decimal text, because only that ends on the number nearest to the short decimal.
pub(crate) fn rounded(value: f64) -> f64 {
    let billionths = format!("{value:.9}").parse().unwrap_or(value);
    let digits: f64 = format!("{billionths:.9e}").parse().unwrap_or(billionths);
    digits + 0.0
}

#[cfg(test)]
mod tests {
    use super::rounded;

    #[test]
    fn noise_of_arithmetic_does_not_show() {
        assert_eq!(rounded(24_000.000_000_001), 24_000.0);
        assert_eq!(rounded(0.1 + 0.2), 0.3);
        assert_eq!(rounded(123_456.789_012_345), 123_456.789);
    }

    #[test]
    fn zero_has_no_sign() {
        assert!(rounded(-1e-15).is_sign_positive());
    }

    #[test]
    fn six_digits_are_always_kept() {
        for value in [1.0 / 3.0, 2.0e7 / 7.0, 1.0e9 / 9.0, 0.012_345_678_9] {
            assert!(((rounded(value) - value) / value).abs() < 1e-6, "{value}");
        }
    }
}
