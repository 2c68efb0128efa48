//! What there is to say about a sheet with several readings: how many, where they differ, and what settles it.

use super::Stretch;
use crate::sheet::{LineType, Shape, View};

/// How many readings a sheet has.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadingsTotal {
    /// How many, in decimal digits; it can be large.
    pub count: String,
    /// How many of them have a sealed hollow, in decimal digits.
    pub hollow: String,
    /// Whether that is exactly the number; else there are at least so many.
    pub exact: bool,
}

/// A place at which readings differ, whatever they are elsewhere.
#[derive(Clone, Debug)]
pub struct Place {
    /// The box around what differs: least and greatest x, y and z in millimetres from the part's lower, left, near
    /// corner.
    pub box_mm: [[f64; 3]; 2],
    /// The same in the front, the top and the right-side view: least and greatest x and y in sheet coordinates.
    pub on_sheet: [[[f64; 2]; 2]; 3],
    /// What may be there; two at least.
    pub alternatives: Vec<Alternative>,
    /// The drawn lines behind which the choice hides: edges over them are there in some alternatives only.
    pub lines: Vec<Stretch>,
    /// What tells its alternatives apart, once it is drawn; `None` if nothing is sure to.
    pub settled_by: Option<Settling>,
}

/// What may be at a place, as compared with the place's first alternative.
#[derive(Clone, Debug)]
pub struct Alternative {
    /// Where there is more or less material than in the first alternative; empty for that itself.
    pub changes: Vec<MaterialChange>,
    /// How much more material there is than in the first alternative, in cubic millimetres; less is negative.
    pub volume_mm3: f64,
    /// Whether it has a sealed hollow, which no tool can reach.
    pub hollow: bool,
    /// The listed readings that have it, as places in [`Outcome::readings`](super::Outcome::readings).
    pub readings: Vec<usize>,
}

/// A piece of material that is there in one alternative and not in another; pieces that touch along an edge count as one.
#[derive(Clone, Debug, PartialEq)]
pub struct MaterialChange {
    /// Whether it is more material; else it is less.
    pub more: bool,
    /// Its volume in cubic millimetres; where more and less touch, by how much they differ.
    pub volume_mm3: f64,
    /// The box around it, as [`Place::box_mm`].
    pub box_mm: [[f64; 3]; 2],
    /// Whether it fills that box.
    pub block: bool,
}

/// A view besides the three.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FurtherView {
    /// The left-side view: looks along +x; y runs left, z up.
    Left,
    /// Looks along +z; x runs right, y down.
    Bottom,
    /// Looks along -y; x runs left, z up.
    Rear,
}

impl FurtherView {
    /// All three, in the order in which they are proposed.
    pub const ALL: [FurtherView; 3] = [FurtherView::Left, FurtherView::Bottom, FurtherView::Rear];

    /// `left`, `bottom` or `rear`.
    pub fn name(self) -> &'static str {
        match self {
            FurtherView::Left => "left",
            FurtherView::Bottom => "bottom",
            FurtherView::Rear => "rear",
        }
    }

    /// The view's full name in a sentence: `left-side view`, `bottom view`, `rear view`.
    pub fn title(self) -> &'static str {
        match self {
            FurtherView::Left => "left-side view",
            FurtherView::Bottom => "bottom view",
            FurtherView::Rear => "rear view",
        }
    }

    /// The view from the opposite side: it has the same lines mirrored, visible or hidden each in its own way.
    pub fn opposite(self) -> View {
        match self {
            FurtherView::Left => View::Right,
            FurtherView::Bottom => View::Top,
            FurtherView::Rear => View::Front,
        }
    }
}

/// What leaves fewer readings once it is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Settling {
    /// A further view.
    View(FurtherView),
    /// A full section.
    Section(Section),
}

/// A full section: the part cut through by a plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// The view that the plane is parallel to.
    pub parallel_to: View,
    /// Where the plane lies on the axis that this view looks along, in millimetres from the part's lower, left, near
    /// corner.
    pub at_mm: f64,
    /// The view in which the plane is seen edge-on and its line is drawn.
    pub seen_in: View,
    /// The line, from end to end in sheet coordinates.
    pub line: [[f64; 2]; 2],
}

/// A line of a further view.
#[derive(Clone, Debug, PartialEq)]
pub struct FurtherLine {
    /// Visible or hidden.
    pub line_type: LineType,
    /// Its shape, in sheet coordinates as the view stands beside the others: the left-side view on the other side of the
    /// front view than the right-side view, the bottom view on the other side than the top view, the rear view beyond the
    /// right-side view.
    pub shape: Shape,
}
