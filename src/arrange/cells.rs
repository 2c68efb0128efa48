//! The cells of a view: what its drawn lines enclose, each with a point inside.

use super::subdivide::{Subdivision, subdivide};
use super::{Arrangement, Piece};
use crate::geom::P2;
use crate::geom::arena::Id;

/// The cells of one view.
#[derive(Clone, Debug)]
pub(crate) struct Cells {
    /// Half-edge `2 * piece` runs along the piece, `2 * piece + 1` back.
    pub(crate) subdivision: Subdivision,
    /// A point inside each cell, in the view's millimetres.
    pub(crate) inside: Vec<P2>,
}

impl Cells {
    /// Traces the cells of an arrangement.
    pub(crate) fn of(arrangement: &Arrangement) -> Self {
        let points: Vec<P2> = arrangement.nodes.iter().map(|n| n.at).collect();
        let edges: Vec<[u32; 2]> = arrangement
            .pieces
            .iter()
            .map(|p| p.ends.map(Id::raw))
            .collect();
        let subdivision = subdivide(&points, &edges);
        let inside = (0..)
            .take(subdivision.cells())
            .map(|cell| {
                let halves = subdivision.halves(cell);
                point_inside(halves.map(|h| edges[(h / 2) as usize].map(|p| points[p as usize])))
            })
            .collect();
        Cells {
            subdivision,
            inside,
        }
    }

    /// The cells to the left and right of `piece` in its own direction.
    pub(crate) fn beside(&self, piece: Id<Piece>) -> [u32; 2] {
        let half = 2 * piece.raw();
        [self.subdivision.cell(half), self.subdivision.cell(half + 1)]
    }
}

/// A point well inside the area bounded by `borders`: in the middle of the widest gap on a level line between two
/// heights of corners, the two that lie farthest apart.
fn point_inside(borders: impl Iterator<Item = [P2; 2]>) -> P2 {
    let borders: Vec<[P2; 2]> = borders.collect();
    let mut heights: Vec<f64> = borders.iter().flatten().map(|p| p.y).collect();
    heights.sort_unstable_by(f64::total_cmp);
    let level = heights
        .windows(2)
        .max_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0])))
        .map_or(0.0, |w| 0.5 * (w[0] + w[1]));
    let mut across: Vec<f64> = borders
        .iter()
        .filter(|[p, q]| (p.y <= level) != (q.y <= level))
        .map(|[p, q]| p.x + (q.x - p.x) * ((level - p.y) / (q.y - p.y)))
        .collect();
    across.sort_unstable_by(f64::total_cmp);
    let gap = across
        .chunks_exact(2)
        .max_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0])));
    gap.map_or(P2::origin(), |g| P2::new(0.5 * (g[0] + g[1]), level))
}
