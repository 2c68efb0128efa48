//! Volume, surface, centroid and counts of a solid.
/// x
#[derive(Clone, Debug)]
pub struct Measures;
