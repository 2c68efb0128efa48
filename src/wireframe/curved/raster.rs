//! A coarse picture of where a view has drawn line: it answers quickly that there is none near a place, or which pieces may
//! be.
//!
//! The view is covered with 64 by 64 square cells. A cell is marked if some piece of drawn line may pass within reach of a
//! point of it, so an unmarked cell is certain and a marked one only a hint.

use super::drawn::off;
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
    /// Cells per millimetre.
    fine: f64,
    /// By row, a bit for each column.
    rows: [u64; CELLS],
    /// By column, a bit for each row.
    columns: [u64; CELLS],
    /// The pieces near each cell, row by row: a stretch of `near` from its start to that of the next.
    starts: Vec<u32>,
    near: Vec<u32>,
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
        let cell = size.max(1e-9) / 63.5;
        let mut raster = Raster {
            low: P2::from(low),
            cell,
            fine: 1.0 / cell,
            rows: [0; CELLS],
            columns: [0; CELLS],
            starts: Vec::new(),
            near: Vec::new(),
        };
        let mut marked: Vec<(usize, Id<Piece>)> = Vec::new();
        for (piece, bounds) in view.pieces.ids().zip(boxes) {
            let mut add = |[column, row]: [usize; 2]| marked.push((row * CELLS + column, piece));
            let [wide, high] = [0, 1].map(|k| bounds[1][k] - bounds[0][k]);
            if wide.min(high) <= raster.cell {
                raster.fill(bounds, &mut add);
            } else {
                raster.mark(view, (piece, bounds), ([0, 0], CELLS), reach, &mut add);
            }
        }
        raster.sort(&marked);
        raster
    }

    /// Sets the bits of the marked cells, and sorts the pieces by cell.
    fn sort(&mut self, marked: &[(usize, Id<Piece>)]) {
        self.starts = vec![0; CELLS * CELLS + 1];
        for (cell, _) in marked {
            self.starts[cell + 1] += 1;
            self.rows[cell / CELLS] |= 1 << (cell % CELLS);
            self.columns[cell % CELLS] |= 1 << (cell / CELLS);
        }
        for cell in 0..CELLS * CELLS {
            self.starts[cell + 1] += self.starts[cell];
        }
        let mut next = self.starts.clone();
        self.near = vec![0; marked.len()];
        for (cell, piece) in marked {
            self.near[next[*cell] as usize] = piece.raw();
            next[*cell] += 1;
        }
    }

    /// Every cell of a box.
    fn fill(&self, bounds: &Bounds<2>, add: &mut impl FnMut([usize; 2])) {
        let columns = self.cells(0, bounds[0][0], bounds[1][0]);
        let rows = self.cells(1, bounds[0][1], bounds[1][1]);
        if let (Some([left, right]), Some([bottom, top])) = (columns, rows) {
            for row in bottom..=top {
                (left..=right).for_each(|column| add([column, row]));
            }
        }
    }

    /// What a piece may touch in a square of `count` by `count` cells, quarter by quarter.
    fn mark(
        &self,
        view: &Arrangement,
        (piece, bounds): (Id<Piece>, &Bounds<2>),
        (corner, count): ([usize; 2], usize),
        reach: f64,
        add: &mut impl FnMut([usize; 2]),
    ) {
        let size = self.cell * to_float(count);
        let from = [0, 1].map(|k| self.low[k] + self.cell * to_float(corner[k]));
        // Here and below a hair more for rounding.
        let hair = 1e-9 * size;
        let outside =
            |k: usize| from[k] > bounds[1][k] + hair || from[k] + size < bounds[0][k] - hair;
        if outside(0) || outside(1) {
            return;
        }
        let middle = P2::new(from[0] + 0.5 * size, from[1] + 0.5 * size);
        if off(view, piece, &middle) > reach + 1.001 * FRAC_1_SQRT_2 * size {
            return;
        }
        if count == 1 {
            add(corner);
            return;
        }
        let half = count / 2;
        for [i, j] in [[0, 0], [1, 0], [0, 1], [1, 1]] {
            let corner = [corner[0] + i * half, corner[1] + j * half];
            self.mark(view, (piece, bounds), (corner, half), reach, add);
        }
    }

    /// Whether drawn line may be within reach of some point of a box.
    pub(super) fn may_touch(&self, low: [f64; 2], high: [f64; 2]) -> bool {
        let columns = self.cells(0, low[0], high[0]);
        let rows = self.cells(1, low[1], high[1]);
        let (Some(columns), Some(rows)) = (columns, rows) else {
            return false;
        };
        let count = |cells: [usize; 2]| cells[1] - cells[0];
        let (lines, cells, [first, last]) = if count(columns) < count(rows) {
            (&self.columns, rows, columns)
        } else {
            (&self.rows, columns, rows)
        };
        let bits = mask(cells);
        lines[first..=last].iter().any(|line| line & bits != 0)
    }

    /// The pieces that may pass within reach of a point.
    pub(super) fn near(&self, at: &P2) -> &[u32] {
        let [x, y] = [0, 1].map(|k| (at[k] - self.low[k]) * self.fine);
        let within = 0.0..to_float(CELLS);
        if !within.contains(&x) || !within.contains(&y) {
            return &[];
        }
        let cell = whole(y) * CELLS + whole(x);
        &self.near[self.starts[cell] as usize..self.starts[cell + 1] as usize]
    }

    /// The cells from one coordinate to another.
    fn cells(&self, axis: usize, from: f64, to: f64) -> Option<[usize; 2]> {
        let beyond = to_float(CELLS);
        let [from, to] = [from, to].map(|x| (x - self.low[axis]) * self.fine);
        (to >= 0.0 && from < beyond).then(|| [whole(from), whole(to).min(CELLS - 1)])
    }
}

/// A number rounded down, nought if it is negative.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "casting brings into range and cuts off the fraction"
)]
fn whole(x: f64) -> usize {
    x as usize
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
