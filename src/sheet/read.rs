//! Bytes in, sheet out: checks size and encoding, tells JSON from SVG and hands over to the right reader.
//!
//! Every message names the place in the file as a row and a column, both counted from 1, because "line" is the word for
//! what is drawn. The name of the file is added by whoever opened it.

use std::fmt;

use super::json::{self, JsonFault};
use super::svg::{self, SvgFault};
use super::{Remark, RemarkKind, Shape, Sheet};
use crate::Error;
use crate::error::Kind;

/// The largest sheet file that is read, in bytes: 64 MiB.
pub const MAX_SHEET_BYTES: usize = 64 << 20;

/// The most lines a sheet may have.
pub(crate) const MAX_LINES: usize = 200_000;

/// The most points one polyline or curve may have.
pub(crate) const MAX_POINTS_PER_LINE: usize = 10_000;

/// The most points all polylines and curves of a sheet may have together.
pub(crate) const MAX_POINTS: usize = 1_000_000;

/// The largest number a coordinate, length or angle may be, in the sheet's unit or in degrees.
pub(crate) const MAX_NUMBER: f64 = 1e7;

/// A place in a text file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Place {
    /// Row, counted from 1.
    pub(crate) row: usize,
    /// Column, counted from 1.
    pub(crate) column: usize,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "row {}, column {}", self.row, self.column)
    }
}

/// Why a file is no usable sheet.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub(crate) enum ReadError {
    #[error("the file is empty; draw a sheet with three views and save it again")]
    Empty,
    #[error(
        "the file has {} MiB, more than the {} MiB that are read; leave out everything but the three views",
        .0.div_ceil(1 << 20), MAX_SHEET_BYTES >> 20
    )]
    TooLarge(usize),
    #[error("the file is written in {0}; save it again with the encoding UTF-8")]
    OtherEncoding(&'static str),
    #[error("{0}: this is no UTF-8 text; save the file again with the encoding UTF-8")]
    NotUtf8(Place),
    #[error("the file is compressed; unpack it and give the unpacked SVG or JSON file")]
    Compressed,
    #[error(
        "this is neither JSON nor SVG, it begins with {0:?}; save the drawing as SVG or write it as a JSON sheet"
    )]
    Neither(String),
    #[error("{0}: the file breaks off here; it was cut off, so save or copy it again")]
    CutOff(Place),
    #[error("{place}: {fault}")]
    Json { place: Place, fault: JsonFault },
    #[error("{place}: {fault}")]
    Svg { place: Place, fault: SvgFault },
}

/// Reads a sheet from the bytes of a JSON or SVG file, together with what was noticed on the way.
///
/// Lines without length stay in the list, so that places in it keep their meaning, and are told as a remark; every later
/// stage skips them. Nothing outside `bytes` is ever read or fetched.
///
/// # Errors
///
/// When the bytes are no sheet: not UTF-8, neither JSON nor SVG, cut off, longer than [`MAX_SHEET_BYTES`], more than
/// 200,000 lines, an unknown key or word, a number that is not finite or beyond ten million, an external reference.
/// The message names row and column and says what to do.
pub fn read_sheet(bytes: &[u8]) -> Result<(Sheet, Vec<Remark>), Error> {
    let (sheet, mut remarks) = read(bytes).map_err(Kind::from)?;
    remarks.extend(lines_without_length(&sheet));
    Ok((sheet, remarks))
}

fn read(bytes: &[u8]) -> Result<(Sheet, Vec<Remark>), ReadError> {
    let text = text_of(bytes)?;
    match text.trim_start().chars().next() {
        None => Err(ReadError::Empty),
        Some('{' | '[') => Ok((json::read(text)?, Vec::new())),
        Some('<') => svg::read(text),
        Some(_) => Err(ReadError::Neither(
            text.trim_start().chars().take(12).collect(),
        )),
    }
}

/// The bytes as text without a byte order mark.
fn text_of(bytes: &[u8]) -> Result<&str, ReadError> {
    if bytes.len() > MAX_SHEET_BYTES {
        return Err(ReadError::TooLarge(bytes.len()));
    }
    match bytes {
        [0xff, 0xfe, 0, 0, ..] | [0, 0, 0xfe, 0xff, ..] => {
            return Err(ReadError::OtherEncoding("UTF-32"));
        }
        [0xff, 0xfe, ..] | [0xfe, 0xff, ..] | [_, 0, _, 0, ..] | [0, _, 0, _, ..] => {
            return Err(ReadError::OtherEncoding("UTF-16"));
        }
        [0x1f, 0x8b, ..] | [b'P', b'K', 3, 4, ..] => return Err(ReadError::Compressed),
        _ => {}
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    std::str::from_utf8(bytes).map_err(|e| match e.error_len() {
        None => ReadError::CutOff(place_of(bytes, e.valid_up_to())),
        Some(_) => ReadError::NotUtf8(place_of(bytes, e.valid_up_to())),
    })
}

/// The place of the byte at `offset`.
pub(crate) fn place_of(bytes: &[u8], offset: usize) -> Place {
    let before = &bytes[..offset.min(bytes.len())];
    let row_start = before
        .iter()
        .rposition(|&b| b == b'\n')
        .map_or(0, |i| i + 1);
    Place {
        row: before.iter().filter(|&&b| b == b'\n').count() + 1,
        column: offset - row_start + 1,
    }
}

/// Whether a shape starts and ends, and never leaves, one point.
pub(crate) fn has_no_length(shape: &Shape) -> bool {
    match shape {
        Shape::Line { from, to } => from == to,
        Shape::Polyline(points) | Shape::Curve(points) => points.iter().all(|p| *p == points[0]),
        Shape::Arc { start, end, .. } | Shape::EllipticalArc { start, end, .. } => start == end,
        Shape::Circle { .. } | Shape::Ellipse { .. } => false,
    }
}

fn lines_without_length(sheet: &Sheet) -> Option<Remark> {
    let short: Vec<usize> = (0..sheet.lines.len())
        .filter(|&i| has_no_length(&sheet.lines[i].shape))
        .collect();
    let message = match short.len() {
        0 => return None,
        1 => "a line has no length and was left out; delete it or draw it longer".to_owned(),
        n => format!("{n} lines have no length and were left out; delete them or draw them longer"),
    };
    Some(Remark {
        kind: RemarkKind::ShortLine,
        view: None,
        message,
        lines: short,
    })
}
