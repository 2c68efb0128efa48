//! The variables of a puzzle.

use super::literal::Literal;
use crate::face::Region;
use crate::geom::Few;
use crate::geom::arena::Id;

/// The pairs of regions that continue each other across an edge: the first of the two, and that both are present.
pub(super) type Smooth = Few<(Id<Region>, Literal), 2>;

/// The variables a caller needs to read an answer.
pub(super) struct Variables {
    /// The region is present and its normal points out of the material.
    pub(super) along: Vec<Literal>,
    /// The region is present and its normal points into the material.
    pub(super) against: Vec<Literal>,
    /// The region is present.
    pub(super) present: Vec<Literal>,
    /// Something is drawn at the edge; `None` where no region could meet.
    pub(super) drawn: Vec<Option<Literal>>,
    /// Two regions that continue each other across an edge are both present, with the first of the two.
    pub(super) smooth: Vec<Smooth>,
}
