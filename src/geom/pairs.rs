//! Which of many boxes overlap: every pair for a few boxes, a spatial index for many.

use super::crowded::CrowdedError;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, Point, RTree};

/// A box by its least and greatest corner.
pub(crate) type Bounds<const N: usize> = [[f64; N]; 2];

/// Up to this many boxes comparing every pair is faster than building an index.
const FEW: usize = 160;

/// Up to this many, going through them in order is the fastest way to find all pairs.
const SOME: usize = 1000;

/// Boxes that can be asked which of them overlap another.
pub(crate) enum BoxIndex<const N: usize>
where
    [f64; N]: Point<Scalar = f64>,
{
    /// Looks at every box.
    Few(Vec<Bounds<N>>),
    /// Looks only near by.
    Many(RTree<GeomWithData<Rectangle<[f64; N]>, u32>>),
}

impl<const N: usize> BoxIndex<N>
where
    [f64; N]: Point<Scalar = f64>,
{
    /// Builds the index; boxes are known by their place in the list.
    pub(crate) fn new(boxes: &[Bounds<N>]) -> Self {
        if boxes.len() <= FEW {
            return BoxIndex::Few(boxes.to_vec());
        }
        let boxed = (0..)
            .zip(boxes)
            .map(|(i, [lo, hi])| GeomWithData::new(Rectangle::from_corners(*lo, *hi), i));
        BoxIndex::Many(RTree::bulk_load(boxed.collect()))
    }

    /// Calls `visit` with each box that overlaps or touches `bounds`, in no particular order.
    pub(crate) fn touching(&self, bounds: &Bounds<N>, mut visit: impl FnMut(u32)) {
        match self {
            BoxIndex::Few(boxes) => (0..)
                .zip(boxes)
                .filter(|(_, b)| overlap(b, bounds))
                .for_each(|(i, _)| visit(i)),
            BoxIndex::Many(tree) => tree
                .locate_in_envelope_intersecting(AABB::from_corners(bounds[0], bounds[1]))
                .for_each(|g| visit(g.data)),
        }
    }
}

/// More pairs than this are never listed, so that a hostile drawing cannot fill the memory.
const MOST_PAIRS: usize = 10_000_000;

/// All pairs `(i, j)`, `i < j`, of boxes that overlap or touch, in ascending order.
///
/// # Errors
/// If there are more than ten million.
pub(crate) fn overlapping<const N: usize>(
    boxes: &[Bounds<N>],
) -> Result<Vec<(u32, u32)>, CrowdedError>
where
    [f64; N]: Point<Scalar = f64>,
{
    let mut pairs = Vec::new();
    if boxes.len() <= SOME {
        swept(boxes, |i, j| pairs.push((i.min(j), i.max(j))));
        pairs.sort_unstable();
        return Ok(pairs);
    }
    let index = BoxIndex::new(boxes);
    for (j, bounds) in (0..).zip(boxes) {
        index.touching(bounds, |i| {
            if i < j {
                pairs.push((i, j));
            }
        });
        if pairs.len() > MOST_PAIRS {
            return Err(CrowdedError::Meetings { most: MOST_PAIRS });
        }
    }
    pairs.sort_unstable();
    Ok(pairs)
}

/// Calls `visit` with each pair of boxes that overlap: all that begin, in the first direction, before a box ends.
fn swept<const N: usize>(boxes: &[Bounds<N>], mut visit: impl FnMut(u32, u32)) {
    let mut order: Vec<(u32, &Bounds<N>)> = (0..).zip(boxes).collect();
    order.sort_unstable_by(|(_, a), (_, b)| a[0][0].total_cmp(&b[0][0]));
    for (k, (i, a)) in order.iter().enumerate() {
        let after = order[k + 1..].iter();
        after
            .take_while(|(_, b)| b[0][0] <= a[1][0])
            .filter(|(_, b)| overlap(a, b))
            .for_each(|(j, _)| visit(*i, *j));
    }
}

/// Whether two boxes overlap or touch.
pub(crate) fn overlap<const N: usize>(a: &Bounds<N>, b: &Bounds<N>) -> bool {
    // Comparing everything at once is faster than stopping early, for then nothing has to be foreseen.
    (0..N).fold(true, |so_far, k| {
        so_far & (a[0][k] <= b[1][k]) & (b[0][k] <= a[1][k])
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn many_boxes_give_the_pairs_that_comparing_all_gives() {
        let mut state = 1_u32;
        let mut next = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(state >> 22)
        };
        let boxes: Vec<Bounds<2>> = (0..200)
            .map(|_| {
                let (x, y) = (next(), next());
                [[x, y], [x + next() / 16.0, y + next() / 16.0]]
            })
            .collect();
        let mut slow = Vec::new();
        for j in 0..200_u32 {
            for i in 0..j {
                if overlap(&boxes[i as usize], &boxes[j as usize]) {
                    slow.push((i, j));
                }
            }
        }
        slow.sort_unstable();
        assert!(slow.len() > 50, "the boxes must overlap now and then");
        assert_eq!(overlapping(&boxes), Ok(slow));
    }
}
