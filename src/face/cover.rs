//! Which cells and pieces of a view a region lies over.
//!
//! The borders of a region run over drawn pieces, so in each view that does not see it edge-on it covers whole cells,
//! and whole pieces between them. They are found by spreading out from its borders, without measuring anything.

use super::{Faces, Region};
use crate::arrange::cells::Cells;
use crate::arrange::subdivide::OUTSIDE;
use crate::arrange::{Arrangement, Piece};
use crate::geom::Few;
use crate::geom::arena::Id;
use crate::wireframe::Wireframe;

/// The regions over each cell and each piece of one view, in no order of depth.
#[derive(Clone, Debug, Default)]
pub(crate) struct Cover {
    pub(crate) over_cell: Vec<Few<Id<Region>, 4>>,
    /// Only regions with the piece inside them, not along their border.
    pub(crate) over_piece: Vec<Few<Id<Region>, 4>>,
}

/// One view with its cells.
#[derive(Clone, Copy)]
pub(crate) struct Seen<'a> {
    pub(crate) view: &'a Arrangement,
    pub(crate) cells: &'a Cells,
}

impl Cover {
    /// Spreads every region out over one view.
    pub(crate) fn of(seen: Seen<'_>, wireframe: &Wireframe, faces: &Faces) -> Self {
        let mut cover = Cover {
            over_cell: vec![Few::new(); seen.cells.inside.len()],
            over_piece: vec![Few::new(); seen.view.pieces.len()],
        };
        let mut marks = Marks {
            border: vec![false; seen.view.pieces.len()],
            covered: vec![false; seen.cells.inside.len()],
        };
        for (id, region) in faces.regions.enumerate() {
            if !faces.edge_on(id, seen.view.view) {
                let lean = faces.plane(id).normal[seen.view.view.depth_axis()];
                let towards = seen.view.view.nearness(lean) > 0.0;
                marks.spread(seen, wireframe, (id, region), towards, &mut cover);
            }
        }
        cover
    }
}

/// Scratch marks per piece and cell, all false between two regions.
struct Marks {
    border: Vec<bool>,
    covered: Vec<bool>,
}

impl Marks {
    fn spread(
        &mut self,
        seen: Seen<'_>,
        wireframe: &Wireframe,
        (id, region): (Id<Region>, &Region),
        towards: bool,
        cover: &mut Cover,
    ) {
        let mut rim: Vec<(Id<Piece>, bool)> = Vec::new();
        for half in region.halves() {
            let pieces = wireframe.pieces_under(seen.view, half.edge);
            let along_run = runs_along(seen.view, wireframe, half.edge);
            for &piece in pieces {
                rim.push((piece, along_run == half.forward));
                // A border run twice, there and back, is no border: the region lies on both sides.
                self.border[piece.ix()] ^= true;
            }
        }
        let mut spread: Vec<u32> = Vec::new();
        for &(piece, forward) in &rim {
            if self.border[piece.ix()] {
                let [left, right] = seen.cells.beside(piece);
                let inner = if forward == towards { left } else { right };
                self.enter(inner, &mut spread);
            }
        }
        let mut next = 0;
        while next < spread.len() {
            let cell = spread[next];
            next += 1;
            cover.over_cell[cell as usize].push(id);
            for half in seen.cells.subdivision.halves(cell) {
                let piece = Id::<Piece>::new((half / 2) as usize);
                if self.border[piece.ix()] {
                    continue;
                }
                if half % 2 == 0 {
                    cover.over_piece[piece.ix()].push(id);
                }
                self.enter(seen.cells.subdivision.cell(half ^ 1), &mut spread);
            }
        }
        for cell in spread {
            self.covered[cell as usize] = false;
        }
        for (piece, _) in rim {
            self.border[piece.ix()] = false;
        }
    }

    fn enter(&mut self, cell: u32, spread: &mut Vec<u32>) {
        if cell != OUTSIDE && !self.covered[cell as usize] {
            self.covered[cell as usize] = true;
            spread.push(cell);
        }
    }
}

/// Whether an edge goes the same way as the run below it.
fn runs_along(view: &Arrangement, wireframe: &Wireframe, edge: Id<crate::wireframe::Edge>) -> bool {
    let pieces = wireframe.pieces_under(view, edge);
    let Some(first) = pieces.first() else {
        return true;
    };
    let start = wireframe.edges[edge].ends[0];
    let start = wireframe.vertices[start].nodes[view.view.index()];
    view.pieces[*first].ends[0] == start
}
