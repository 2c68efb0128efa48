//! Answers that are the same within the tolerance.
//!
//! Where a curved face leaves a plane smoothly, edges run beside each other for a while, and the face between them may be
//! taken from the one surface or from the other. What lies between two such answers is thinner than the tolerance, and the
//! drawing knows no two places nearer to each other than that: they are one solid. So it is with a narrow strip that may be
//! taken as flat.

use super::Model;
use super::board::Board;
use crate::face::Region;
use crate::geom::arena::Id;
use petgraph::unionfind::UnionFind;
use rustc_hash::FxHashMap;

/// Whether all that two answers differ in is thinner than the tolerance: regions that hang together bound what lies between the
/// two there.
pub(super) fn is_same(board: &dyn Board, one: &Model, other: &Model) -> bool {
    let differing: Vec<Id<Region>> = (0..one.len())
        .filter(|r| one[*r] != other[*r])
        .map(Id::new)
        .collect();
    let mut joined = UnionFind::<usize>::new(differing.len());
    let mut first_at = FxHashMap::default();
    for (number, region) in differing.iter().enumerate() {
        for half in board.borders(*region).iter().flatten() {
            joined.union(number, *first_at.entry(half.edge).or_insert(number));
        }
    }
    let labels = joined.into_labeling();
    (0..differing.len()).all(|label| {
        let together = labels.iter().zip(&differing).filter(|(l, _)| **l == label);
        let together: Vec<Id<Region>> = together.map(|(_, region)| *region).collect();
        is_thin(board, &together) || are_twins(board, &together, [one, other])
    })
}

/// Whether the box around regions is thinner than the tolerance.
fn is_thin(board: &dyn Board, regions: &[Id<Region>]) -> bool {
    let boxes = regions.iter().map(|region| board.bounds(*region));
    let whole = boxes.reduce(|[a, b], [c, d]| [a.inf(&c), b.sup(&d)]);
    whole.is_none_or(|[low, high]| (high - low).min() <= board.tolerance().mm())
}

/// Whether each of some regions has a twin in the answer that lacks it.
fn are_twins(board: &dyn Board, regions: &[Id<Region>], answers: [&Model; 2]) -> bool {
    let lacked = |region: &Id<Region>| answers.map(|model| model[region.ix()].is_none());
    regions.iter().all(|region| {
        let mut others = regions
            .iter()
            .filter(|other| lacked(other) != lacked(region));
        others.any(|other| board.are_twins(*region, *other))
    })
}

/// Whether an answer has fewer regions than another: of two that are the same, that is the one with fewer slivers.
pub(super) fn is_simpler(one: &Model, other: &Model) -> bool {
    let present = |model: &Model| model.iter().flatten().count();
    present(one) < present(other)
}
