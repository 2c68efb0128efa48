//! Which of many boxes overlap: every pair for a few boxes, shelves for many, a tree for very many.
//!
//! Shelves divide each axis into equal steps. Which boxes begin up to a step and which end from it on is kept as a bit for
//! each box, so that a few operations on whole words leave little more than the boxes asked for.

use super::crowded::CrowdedError;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, Point, RTree};

/// A box by its least and greatest corner.
pub(crate) type Bounds<const N: usize> = [[f64; N]; 2];

/// Up to this many boxes looking at each is faster than building an index.
const FEW: usize = 16;

/// Up to this many, shelves are faster than a tree.
const SOME: usize = 4000;

/// Up to this many, going through them in order is the fastest way to find all pairs.
const SWEPT: usize = 1000;

/// Into how many steps shelves divide an axis.
const STEPS: usize = 32;

/// Boxes that can be asked which of them overlap another.
pub(crate) enum BoxIndex<const N: usize>
where
    [f64; N]: Point<Scalar = f64>,
{
    /// Looks at every box.
    Few(Vec<Bounds<N>>),
    /// Looks at those that shelves leave.
    Some(Shelves<N>),
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
        if boxes.len() <= SOME {
            return BoxIndex::Some(Shelves::of(boxes));
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
            BoxIndex::Some(shelves) => shelves.touching(bounds, visit),
            BoxIndex::Many(tree) => tree
                .locate_in_envelope_intersecting(AABB::from_corners(bounds[0], bounds[1]))
                .for_each(|g| visit(g.data)),
        }
    }
}

/// Boxes sorted into the steps of each axis.
pub(crate) struct Shelves<const N: usize> {
    boxes: Vec<Bounds<N>>,
    /// Where the steps of each axis begin, and how many there are to a millimetre.
    from: [f64; N],
    fine: [f64; N],
    /// For each axis, and on it for each step, the boxes that begin there or before, in as many words as they need; then
    /// likewise those that end there or after.
    bits: Vec<u64>,
}

impl<const N: usize> Shelves<N> {
    fn of(boxes: &[Bounds<N>]) -> Self {
        let least = |k: usize| boxes.iter().map(|b| b[0][k]).fold(f64::INFINITY, f64::min);
        let most = |k: usize| {
            boxes
                .iter()
                .map(|b| b[1][k])
                .fold(f64::NEG_INFINITY, f64::max)
        };
        let from = std::array::from_fn(least);
        let words = boxes.len().div_ceil(64);
        let mut shelves = Shelves {
            from,
            fine: std::array::from_fn(|k| STEPS as f64 / (most(k) - from[k])),
            boxes: boxes.to_vec(),
            bits: vec![0; 2 * N * STEPS * words],
        };
        for (i, bounds) in boxes.iter().enumerate() {
            for (side, corner) in bounds.iter().enumerate() {
                for (axis, at) in corner.iter().enumerate() {
                    let shelf = shelves.shelf(axis, side, *at);
                    shelves.bits[shelf + i / 64] |= 1 << (i % 64);
                }
            }
        }
        for axis in shelves.bits.chunks_mut(2 * STEPS * words) {
            let (begun, ended) = axis.split_at_mut(STEPS * words);
            (words..begun.len()).for_each(|w| begun[w] |= begun[w - words]);
            (words..ended.len())
                .rev()
                .for_each(|w| ended[w - words] |= ended[w]);
        }
        shelves
    }

    /// Where the words begin for a coordinate along an axis: of the boxes that have begun there (side 0), or that have not
    /// ended (side 1).
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "casting brings into range, and what is no number to nought"
    )]
    fn shelf(&self, axis: usize, side: usize, at: f64) -> usize {
        let step = ((at - self.from[axis]) * self.fine[axis]) as usize;
        ((2 * axis + side) * STEPS + step.min(STEPS - 1)) * self.boxes.len().div_ceil(64)
    }

    fn touching(&self, bounds: &Bounds<N>, mut visit: impl FnMut(u32)) {
        // What has begun where the other ends, and not ended where it begins.
        let shelves: [[usize; 2]; N] =
            std::array::from_fn(|k| [0, 1].map(|side| self.shelf(k, side, bounds[1 - side][k])));
        for (word, boxes) in (0_u32..).zip(self.boxes.chunks(64)) {
            let mut left = shelves.iter().flatten().fold(u64::MAX, |left, shelf| {
                left & self.bits[shelf + word as usize]
            });
            while left != 0 {
                let bit = left.trailing_zeros();
                left &= left - 1;
                if overlap(&boxes[bit as usize], bounds) {
                    visit(64 * word + bit);
                }
            }
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
    if boxes.len() <= SWEPT {
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
    fn boxes_without_size_or_end_are_found() {
        let points: Vec<Bounds<2>> = (0..40).map(|k| [[f64::from(k % 7), 3.0]; 2]).collect();
        let found = |bounds: Bounds<2>| {
            let mut found = 0;
            BoxIndex::new(&points).touching(&bounds, |_| found += 1);
            found
        };
        assert_eq!(found([[f64::NEG_INFINITY; 2], [f64::INFINITY; 2]]), 40);
        assert_eq!(found([[6.0, 3.0]; 2]), 5);
        assert_eq!(found([[-1.0, 3.0], [0.0, 9.0]]), 6);
        assert_eq!(found([[-1.0, 3.1], [9.0, 9.0]]), 0);
        assert_eq!(found([[-9.0, -9.0], [9.0, 2.9]]), 0);
    }

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
        assert_eq!(overlapping(&boxes), Ok(slow.clone()));
        let shelves = Shelves::of(&boxes);
        let mut found = Vec::new();
        for (j, bounds) in (0..).zip(&boxes) {
            shelves.touching(bounds, |i| found.extend((i < j).then_some((i, j))));
        }
        found.sort_unstable();
        assert_eq!(found, slow);
    }
}
