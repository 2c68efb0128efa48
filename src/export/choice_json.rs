//! Places of choice and what settles them, for programs. Readings and alternatives are counted from 0.

use super::json::rounded;
use super::shape::{LineEntry, shape_entry};
use crate::outcome::{Alternative, FurtherLine, MaterialChange, Place, Section, Settling};
use serde::Serialize;
use serde::ser::{SerializeMap, Serializer};

/// A place of choice.
#[derive(Serialize)]
pub(super) struct PlaceEntry<'a> {
    box_mm: [[f64; 3]; 2],
    on_sheet: OnSheet,
    alternatives: Vec<AlternativeEntry<'a>>,
    lines: Vec<LineEntry<'a>>,
    settled_by: Option<SettlingEntry<'a>>,
}

/// A box in each view: least x and y, greatest x and y, in sheet coordinates.
#[derive(Serialize)]
struct OnSheet {
    front: [f64; 4],
    top: [f64; 4],
    right: [f64; 4],
}

#[derive(Serialize)]
struct AlternativeEntry<'a> {
    changes: Vec<ChangeEntry>,
    volume_mm3: f64,
    hollow: bool,
    readings: &'a [usize],
}

#[derive(Serialize)]
struct ChangeEntry {
    more: bool,
    volume_mm3: f64,
    box_mm: [[f64; 3]; 2],
    block: bool,
}

impl<'a> PlaceEntry<'a> {
    /// The entry of a place.
    pub(super) fn of(place: &'a Place) -> Self {
        let [front, top, right] = place
            .on_sheet
            .map(|[[a, b], [c, d]]| [a, b, c, d].map(rounded));
        PlaceEntry {
            box_mm: box_entry(&place.box_mm),
            on_sheet: OnSheet { front, top, right },
            alternatives: place.alternatives.iter().map(alternative_entry).collect(),
            lines: place.lines.iter().map(LineEntry::of).collect(),
            settled_by: place.settled_by.map(|s| SettlingEntry::of(s, &[])),
        }
    }
}

fn alternative_entry(alternative: &Alternative) -> AlternativeEntry<'_> {
    AlternativeEntry {
        changes: alternative.changes.iter().map(change_entry).collect(),
        volume_mm3: rounded(alternative.volume_mm3),
        hollow: alternative.hollow,
        readings: &alternative.readings,
    }
}

fn change_entry(change: &MaterialChange) -> ChangeEntry {
    ChangeEntry {
        more: change.more,
        volume_mm3: rounded(change.volume_mm3),
        box_mm: box_entry(&change.box_mm),
        block: change.block,
    }
}

fn box_entry(bounds: &[[f64; 3]; 2]) -> [[f64; 3]; 2] {
    bounds.map(|corner| corner.map(rounded))
}

/// What settles readings: `{"view": "left", "lines": […]}` as the first reading has that view, or
/// `{"section": "front", "at": …, "view": "top", "line": […]}`.
pub(super) struct SettlingEntry<'a> {
    settling: Settling,
    lines: &'a [FurtherLine],
}

impl<'a> SettlingEntry<'a> {
    /// The entry of what settles; `lines` are those of the further view, left out if there are none.
    pub(super) fn of(settling: Settling, lines: &'a [FurtherLine]) -> Self {
        SettlingEntry { settling, lines }
    }
}

impl Serialize for SettlingEntry<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        match self.settling {
            Settling::View(view) => {
                map.serialize_entry("view", view.name())?;
                if !self.lines.is_empty() {
                    let lines: Vec<FurtherEntry> = self.lines.iter().map(FurtherEntry).collect();
                    map.serialize_entry("lines", &lines)?;
                }
            }
            Settling::Section(Section {
                parallel_to,
                at_mm,
                seen_in,
                line: [from, to],
            }) => {
                map.serialize_entry("section", parallel_to.name())?;
                map.serialize_entry("at", &rounded(at_mm))?;
                map.serialize_entry("view", seen_in.name())?;
                let line = [from[0], from[1], to[0], to[1]].map(rounded);
                map.serialize_entry("line", &line)?;
            }
        }
        map.end()
    }
}

struct FurtherEntry<'a>(&'a FurtherLine);

impl Serialize for FurtherEntry<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("type", self.0.line_type.name())?;
        shape_entry(&mut map, &self.0.shape)?;
        map.end()
    }
}
