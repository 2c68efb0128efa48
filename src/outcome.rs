//! What comes out: the verdict on a sheet, its readings, and what there is to say about it.

use crate::sheet::{LineType, Projection, Remark, Shape, Sheet, View};
use crate::solid::Solid;
use crate::solid::measure::Measures;

mod choice;

pub use choice::{
    Alternative, FurtherLine, FurtherView, MaterialChange, Place, ReadingsTotal, Section, Settling,
};

/// What a sheet describes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Exactly one object.
    Unique,
    /// More than one object.
    Ambiguous,
    /// No object.
    Contradictory,
    /// A limit stopped the search before it was certain.
    Undecided,
}

impl Verdict {
    /// The word for it in a report.
    pub fn name(self) -> &'static str {
        match self {
            Verdict::Unique => "unique",
            Verdict::Ambiguous => "ambiguous",
            Verdict::Contradictory => "contradictory",
            Verdict::Undecided => "undecided",
        }
    }
}

/// The limit that stopped a search.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// As many readings as asked for were found, and there may be more.
    Readings,
    /// The caller asked to stop (a time limit, a key).
    Stopped,
    /// Hidden lines may be left out, and only objects were looked for whose every height, width and depth occurs on the
    /// sheet.
    Depths,
}

/// One solid that has exactly the drawn views.
#[derive(Clone, Debug)]
pub struct Reading {
    /// The solid.
    pub solid: Solid,
    /// Its volume, surface and counts.
    pub measures: Measures,
    /// The hidden lines it has and the sheet leaves out; empty unless they may be left out.
    pub left_out: Vec<Stretch>,
}

/// A stretch of drawn line that something is said about: one line, part of one, or several that follow one another.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// The view it stands in.
    pub view: View,
    /// Its type: visible or hidden.
    pub line_type: LineType,
    /// Its shape in sheet coordinates and the sheet's unit.
    pub shape: Shape,
    /// The lines it is part of, as places in [`Sheet::lines`].
    pub lines: Vec<usize>,
}

/// The answer to a sheet.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// What the sheet describes.
    pub verdict: Verdict,
    /// Third- or first-angle, as said or worked out.
    pub projection: Projection,
    /// The limit that stopped the search; `None`: every reading is listed.
    pub stopped_by: Option<Limit>,
    /// The readings, those without a sealed cavity first.
    pub readings: Vec<Reading>,
    /// What was off but could be put right.
    pub warnings: Vec<Remark>,
    /// What no object can have; empty unless contradictory.
    pub problems: Vec<Remark>,
    /// A smallest set of lines that cannot all be right: with any one of them left out the others can be met. Empty unless
    /// contradictory.
    pub conflict: Vec<Stretch>,
    /// How many readings there are, listed or not.
    pub readings_total: ReadingsTotal,
    /// The independent places at which the readings differ: every combination of their alternatives is a reading. Empty
    /// unless ambiguous, or if they could not be told apart.
    pub places: Vec<Place>,
    /// Readings that between them show every alternative: the n-th has the n-th alternative of each place, or the last of
    /// a place with fewer. Empty without places.
    pub examples: Vec<Reading>,
    /// What leaves one reading only, once it is drawn; `None` if nothing is sure to, or not ambiguous.
    pub settled_by: Option<Settling>,
    /// If a further view settles it: that view of each listed reading.
    pub further_views: Vec<Vec<FurtherLine>>,
}

impl Outcome {
    /// Whether every reading was found.
    pub fn complete(&self) -> bool {
        self.stopped_by.is_none()
    }
}

/// What is done to a line to mend a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Action {
    /// The line is added.
    Add,
    /// The line is taken away.
    Remove,
    /// A visible line becomes hidden, or a hidden one visible.
    Retype,
    /// The line becomes longer or shorter.
    Move,
}

impl Action {
    /// The word for it in a report.
    pub fn name(self) -> &'static str {
        match self {
            Action::Add => "add",
            Action::Remove => "remove",
            Action::Retype => "retype",
            Action::Move => "move",
        }
    }
}

/// One change of a whole line.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// What is done.
    pub action: Action,
    /// The view of the line.
    pub view: View,
    /// The type of the line afterwards; of a line taken away, before.
    pub line_type: LineType,
    /// The shape of the line afterwards, of a line taken away before, in sheet coordinates and the sheet's unit.
    pub shape: Shape,
    /// The sheet's lines that are changed, as places in [`Sheet::lines`]; empty for an added line.
    pub lines: Vec<usize>,
    /// The shape before, of a line that becomes longer or shorter.
    pub before: Option<Shape>,
}

/// A smallest set of changes after which a sheet has a reading.
#[derive(Clone, Debug)]
pub struct Mend {
    /// The changes.
    pub changes: Vec<Change>,
    /// The sheet after them.
    pub sheet: Sheet,
    /// What it then describes.
    pub verdict: Verdict,
}

/// All the smallest ways to mend a sheet.
#[derive(Clone, Debug)]
pub struct Mending {
    /// What the sheet describes as it is.
    pub verdict: Verdict,
    /// The ways to mend it, likeliest first; empty if it needs none, or if more changes are needed than were tried.
    pub mends: Vec<Mend>,
    /// The limit that ended the search; `None`: these are all the smallest.
    pub stopped_by: Option<Limit>,
}
