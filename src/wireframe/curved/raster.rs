//! A coarse picture of where a view has drawn line: it answers quickly that there is none near a place.
//!
//! The view is covered with 64 by 64 square cells. A cell is marked if some piece of drawn line may pass within reach of a
//! point of it, so an unmarked cell is certain and a marked one only a hint.

use super::drawn::off_and_along;
use crate::arrange::{Arrangement, Piece};
use crate::geom::arena::Id;
use crate::geom::pairs::Bounds;
use crate::geom::{P2, P3};
use std::f64::consts::FRAC_1_SQRT_2;

/// Cells in each direction, one bit of a row each.
const CELLS: usize = 64;

/// The marked cells of a view.
pub(super) struct Raster {
    low: P2,
    cell: f64,
    rows: [u64; CELLS],
}

impl Raster {
    /// Marks the cells within `reach` millimetres of drawn line; `boxes` are those of the pieces, widened by `reach`.
    pub(super) fn of(view: &Arrangement, boxes: &[Bounds<2>], reach: f64) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for bounds in boxes {
            for k in 0..2 {
                low[k] = low[k].min(bounds[0][k]);
                high[k] = high[k].max(bounds[1][k]);
            }
        }
        let size = (high[0] - low[0]).max(high[1] - low[1]);
        let mut raster = Raster {
            low: P2::from(low),
            cell: size.max(f64::MIN_POSITIVE) / 63.5,
            rows: [0; CELLS],
        };
        for (piece, bounds) in view.pieces.ids().zip(boxes) {
            let [wide, high] = [0, 1].map(|k| bounds[1][k] - bounds[0][k]);
            if wide.min(high) <= raster.cell {
                raster.fill(bounds);
            } else {
                raster.mark(view, (piece, bounds), [0, 0], CELLS, reach);
            }
        }
        raster
    }

    /// Marks every cell of a box.
    fn fill(&mut self, bounds: &Bounds<2>) {
        let columns = self.cells(0, bounds[0][0], bounds[1][0]);
        let rows = self.cells(1, bounds[0][1], bounds[1][1]);
        if let (Some(columns), Some([bottom, top])) = (columns, rows) {
            let bits = mask(columns);
            for row in &mut self.rows[bottom..=top] {
                *row |= bits;
            }
        }
    }

    /// Marks what a piece may touch in a square of `count` by `count` cells, quarter by quarter.
    fn mark(
        &mut self,
        view: &Arrangement,
        (piece, bounds): (Id<Piece>, &Bounds<2>),
        corner: [usize; 2],
        count: usize,
        reach: f64,
    ) {
        let size = self.cell * to_float(count);
        let from = [0, 1].map(|k| self.low[k] + self.cell * to_float(corner[k]));
        let outside = |k: usize| from[k] > bounds[1][k] || from[k] + size < bounds[0][k];
        if outside(0) || outside(1) {
            return;
        }
        let middle = P2::new(from[0] + 0.5 * size, from[1] + 0.5 * size);
        // A hair more for rounding.
        if off_and_along(view, piece, &middle).0 > reach + 1.001 * FRAC_1_SQRT_2 * size {
            return;
        }
        if count == 1 {
            self.rows[corner[1]] |= 1 << corner[0];
            return;
        }
        let half = count / 2;
        for [i, j] in [[0, 0], [1, 0], [0, 1], [1, 1]] {
            let corner = [corner[0] + i * half, corner[1] + j * half];
            self.mark(view, (piece, bounds), corner, half, reach);
        }
    }

    /// Whether drawn line may be within reach of some point of a box.
    pub(super) fn may_touch(&self, low: [f64; 2], high: [f64; 2]) -> bool {
        let columns = self.cells(0, low[0], high[0]);
        let rows = self.cells(1, low[1], high[1]);
        let (Some(columns), Some([bottom, top])) = (columns, rows) else {
            return false;
        };
        let bits = mask(columns);
        self.rows[bottom..=top].iter().any(|row| row & bits != 0)
    }

    /// The cells from one coordinate to another.
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "brought into the range of the cells"
    )]
    fn cells(&self, axis: usize, from: f64, to: f64) -> Option<[usize; 2]> {
        let beyond = to_float(CELLS);
        let [from, to] = [from, to].map(|x| (x - self.low[axis]) / self.cell);
        // Cutting off the fraction rounds down what is not negative.
        (to >= 0.0 && from < beyond).then(|| [from.max(0.0) as usize, (to as usize).min(CELLS - 1)])
    }
}

/// The bits of the cells from one to another.
fn mask([left, right]: [usize; 2]) -> u64 {
    (u64::MAX >> (CELLS - 1 - (right - left))) << left
}

#[allow(clippy::cast_precision_loss, reason = "at most the number of cells")]
fn to_float(cells: usize) -> f64 {
    cells as f64
}

/// A box of space as a view sees it.
pub(super) fn flat_box(view: &Arrangement, [low, high]: &[P3; 2]) -> [[f64; 2]; 2] {
    let axes = view.view.axes();
    [low, high].map(|p| axes.map(|axis| p[axis]))
}
