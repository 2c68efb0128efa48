//! The variables of a search.

use super::board::Crossing;
use super::literal::Literal;
use crate::geom::Few;

/// Two regions that continue each other across an edge.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pair {
    /// Both are present.
    pub(crate) both: Literal,
    /// How each view sees it, by [`crate::sheet::View::index`].
    pub(crate) seen: [Crossing; 3],
}

/// The pairs of regions that continue each other across an edge.
pub(crate) type Smooth = Few<Pair, 2>;

/// The variables a caller needs to read an answer.
pub(crate) struct Variables {
    /// The region is present and its normal points out of the material.
    pub(crate) along: Vec<Literal>,
    /// The region is present and its normal points into the material.
    pub(crate) against: Vec<Literal>,
    /// The region is present.
    pub(crate) present: Vec<Literal>,
    /// Something is drawn at the edge in each view; `None` where nothing ever is.
    pub(crate) drawn: Vec<[Option<Literal>; 3]>,
    /// The pairs of regions across which each edge is smooth.
    pub(crate) smooth: Vec<Smooth>,
}
