//! The variables of a search.

use super::board::Crossing;
use super::literal::Literal;
use crate::geom::Few;

/// Two regions that continue each other across an edge.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pair {
    /// Both are present.
    pub(super) both: Literal,
    /// How each view sees it, by [`crate::sheet::View::index`].
    pub(super) seen: [Crossing; 3],
}

/// The pairs of regions that continue each other across an edge.
pub(super) type Smooth = Few<Pair, 2>;

/// The variables a caller needs to read an answer.
pub(super) struct Variables {
    /// The region is present and its normal points out of the material.
    pub(super) along: Vec<Literal>,
    /// The region is present and its normal points into the material.
    pub(super) against: Vec<Literal>,
    /// The region is present.
    pub(super) present: Vec<Literal>,
    /// Something is drawn at the edge in each view; `None` where nothing ever is.
    pub(super) drawn: Vec<[Option<Literal>; 3]>,
    /// The pairs of regions across which each edge is smooth.
    pub(super) smooth: Vec<Smooth>,
}
