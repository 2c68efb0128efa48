//! A line of a sheet for programs: its view, its type and its shape under the same keys as in a sheet file.

use super::json::rounded;
use crate::outcome::Stretch;
use crate::sheet::json::write::Numbers;
use crate::{LineType, Shape, View};
use serde::ser::{Serialize, SerializeMap, Serializer};

/// A line as in a sheet file, numbers rounded; `lines` are the sheet's lines it is part of, left out if there are none.
pub(crate) struct LineEntry<'a> {
    /// What comes first in the entry.
    pub(crate) action: Option<&'a str>,
    pub(crate) view: View,
    pub(crate) line_type: LineType,
    pub(crate) shape: &'a Shape,
    pub(crate) lines: &'a [usize],
}

impl<'a> LineEntry<'a> {
    /// The entry of a stretch.
    pub(crate) fn of(stretch: &'a Stretch) -> Self {
        LineEntry {
            action: None,
            view: stretch.view,
            line_type: stretch.line_type,
            shape: &stretch.shape,
            lines: &stretch.lines,
        }
    }
}

impl Serialize for LineEntry<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        if let Some(action) = self.action {
            map.serialize_entry("do", action)?;
        }
        map.serialize_entry("view", self.view.name())?;
        map.serialize_entry("type", self.line_type.name())?;
        shape_entry(&mut map, self.shape)?;
        if !self.lines.is_empty() {
            map.serialize_entry("lines", self.lines)?;
        }
        map.end()
    }
}

/// Adds a shape under its key in a sheet file, numbers rounded.
pub(super) fn shape_entry<M: SerializeMap>(map: &mut M, shape: &Shape) -> Result<(), M::Error> {
    let (name, numbers) = shape.in_numbers();
    match numbers {
        Numbers::Flat(numbers) => {
            let numbers: Vec<f64> = numbers.into_iter().map(rounded).collect();
            map.serialize_entry(name, &numbers)
        }
        Numbers::Points(points) => {
            let points: Vec<[f64; 2]> = points.iter().map(|p| p.map(rounded)).collect();
            map.serialize_entry(name, &points)
        }
    }
}
