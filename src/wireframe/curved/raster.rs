//! A coarse picture of where a view has drawn line: it answers quickly that there is none near a place, or which pieces may
//! be.
//!
//! The view is covered with 64 by 64 square cells. A cell is marked if some piece of drawn line may pass within reach of a
//! point of it, so an unmarked cell is certain and a marked one only a hint.

use crate::arrange::{Arrangement, Piece};
use crate::geom::arena::Id;
use crate::geom::carrier::Carrier;
use crate::geom::pairs::Bounds;
use crate::geom::{P2, P3, V2};

/// Cells in each direction, one bit of a row each.
const CELLS: usize = 64;

/// How far beyond its ends the line of a piece is marked, in reaches: a point one reach off the piece's box may be one reach
/// off the line.
const BEYOND: f64 = 3.0;

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
        let mut marked: Vec<(u32, u32)> = Vec::new();
        // Steps that follow each other have cells in common: the piece that each cell was marked for last, counted from 1.
        let mut last = vec![0; CELLS * CELLS];
        for (piece, bounds) in view.pieces.ids().zip(boxes) {
            let mut add = |[column, row]: [usize; 2]| {
                let cell = row * CELLS + column;
                if last[cell] != piece.raw() + 1 {
                    last[cell] = piece.raw() + 1;
                    marked.push((to_number(cell), piece.raw()));
                }
            };
            let [wide, high] = [0, 1].map(|k| bounds[1][k] - bounds[0][k]);
            if wide.min(high) <= raster.cell {
                raster.fill(bounds, &mut add);
            } else {
                raster.mark(view, (piece, bounds), reach, &mut add);
            }
        }
        raster.sort(&marked);
        raster
    }

    /// Sets the bits of the marked cells, and sorts the pieces by cell.
    fn sort(&mut self, marked: &[(u32, u32)]) {
        let mut starts = vec![0; CELLS * CELLS + 1];
        for &(cell, _) in marked {
            let cell = cell as usize;
            starts[cell] += 1;
            self.rows[cell / CELLS] |= 1 << (cell % CELLS);
            self.columns[cell % CELLS] |= 1 << (cell / CELLS);
        }
        let mut end = 0;
        for start in &mut starts {
            end += *start;
            *start = end;
        }
        // From the last to the first, so that each stretch begins where its first piece comes to stand.
        self.near = vec![0; marked.len()];
        for &(cell, piece) in marked.iter().rev() {
            let start = &mut starts[cell as usize];
            *start -= 1;
            self.near[*start as usize] = piece;
        }
        self.starts = starts;
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

    /// What a piece, known with its box, may touch, in steps of about a cell: a monotone curve stays in the box between two
    /// points of it. A little beyond its ends the line of the piece counts as well.
    fn mark(
        &self,
        view: &Arrangement,
        (piece, bounds): (Id<Piece>, &Bounds<2>),
        reach: f64,
        add: &mut impl FnMut([usize; 2]),
    ) {
        let Piece { ends, carrier, .. } = &view.pieces[piece];
        let [a, b] = ends.map(|n| view.nodes[n].at);
        let wide = V2::repeat(BEYOND * reach);
        let mut between = |p: P2, q: P2| {
            let [low, high] = [p.inf(&q) - wide, p.sup(&q) + wide];
            let low = [0, 1].map(|k| low[k].max(bounds[0][k]));
            let high = [0, 1].map(|k| high[k].min(bounds[1][k]));
            if low[0] <= high[0] && low[1] <= high[1] {
                self.fill(&[low, high], add);
            }
        };
        let steps = whole((b - a).amax() * self.fine) + 1;
        let mut chain = |point: &dyn Fn(f64) -> P2| {
            let mut from = point(0.0);
            for k in 1..=steps {
                let to = point(to_float(k) / to_float(steps));
                between(from, to);
                from = to;
            }
        };
        match carrier.map(|c| &view.carriers[c as usize]) {
            None => chain(&|share| a + (b - a) * share),
            // One that runs back along itself has two places for one point.
            Some(Carrier::Free { points }) => {
                points.windows(2).for_each(|p| between(p[0], p[1]));
            }
            Some(carrier) => {
                let from = carrier.parameter(&a);
                let turn = carrier.onward(from, carrier.parameter(&b)) - from;
                chain(&|share| carrier.point(from + turn * share));
            }
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

#[allow(
    clippy::cast_possible_truncation,
    reason = "at most the number of cells"
)]
fn to_number(cell: usize) -> u32 {
    cell as u32
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
