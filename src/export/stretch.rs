//! Pieces of an arrangement as stretches of line on the sheet: connected pieces of one carrier and type become one shape.

use crate::arrange::{Arrangement, Piece, Run};
use crate::geom::arena::Id;
use crate::geom::carrier::Carrier;
use crate::geom::num::angle;
use crate::geom::{P2, V2};
use crate::outcome::Stretch;
use crate::sheet::{LineType, Placement, Shape, View};
use crate::solve::board::Board;
use itertools::Itertools;

/// The stretches that some pieces of a view make, in the order of their runs.
pub(crate) fn stretches(board: &dyn Board, view: View, pieces: &[Id<Piece>]) -> Vec<Stretch> {
    on_sheet(&board.views()[view.index()], board.placement(), pieces)
}

/// Likewise, for an arrangement that is not yet on a board.
pub(crate) fn on_sheet(
    arrangement: &Arrangement,
    placement: Placement,
    pieces: &[Id<Piece>],
) -> Vec<Stretch> {
    let mut wanted = vec![false; arrangement.pieces.len()];
    pieces.iter().for_each(|p| wanted[p.ix()] = true);
    let sheet = OnSheet {
        arrangement,
        placement,
    };
    let mut all = Vec::new();
    for run in arrangement.runs.iter() {
        let kind = |i: usize| {
            let piece = run.pieces[i];
            wanted[piece.ix()].then(|| arrangement.pieces[piece].hidden)
        };
        for (from, to) in spans(run, kind) {
            all.push(sheet.stretch(run, from, to));
        }
    }
    all
}

/// The shape of a stretch of a run between two positions; the second may go past the end of a run that goes all the way round.
pub(crate) fn shape_along(
    arrangement: &Arrangement,
    placement: Placement,
    run: &Run,
    [from, to]: [usize; 2],
) -> Shape {
    let sheet = OnSheet {
        arrangement,
        placement,
    };
    sheet.shape(run, from, to)
}

/// The longest spans `from..to` of pieces of a run with the same kind, which is not none; `to` may go past the end of a run
/// that goes all the way round.
pub(crate) fn spans<K: PartialEq>(
    run: &Run,
    kind: impl Fn(usize) -> Option<K>,
) -> Vec<(usize, usize)> {
    let count = run.pieces.len();
    let closed = run.nodes.first() == run.nodes.last();
    let first = match closed {
        true => (0..count).find(|&i| kind(i) != kind((i + count - 1) % count)),
        false => Some(0),
    };
    let Some(first) = first else {
        return kind(0).map(|_| (0, count)).into_iter().collect();
    };
    let chunks = (first..first + count).chunk_by(|&i| kind(i % count));
    chunks
        .into_iter()
        .filter(|(kind, _)| kind.is_some())
        .filter_map(|(_, chunk)| chunk.minmax().into_option())
        .map(|(from, last)| (from, last + 1))
        .collect()
}

/// One view's arrangement and where it stands.
struct OnSheet<'a> {
    arrangement: &'a Arrangement,
    placement: Placement,
}

impl OnSheet<'_> {
    fn stretch(&self, run: &Run, from: usize, to: usize) -> Stretch {
        let count = run.pieces.len();
        let piece = |i: usize| &self.arrangement.pieces[run.pieces[i % count]];
        let lines = (from..to).flat_map(|i| piece(i).lines.iter().map(|&l| l as usize));
        Stretch {
            view: self.arrangement.view,
            line_type: if piece(from).hidden {
                LineType::Hidden
            } else {
                LineType::Visible
            },
            shape: self.shape(run, from, to),
            lines: lines.sorted_unstable().dedup().collect(),
        }
    }

    fn shape(&self, run: &Run, from: usize, to: usize) -> Shape {
        let paper = Paper {
            view: self.arrangement.view,
            placement: self.placement,
        };
        let count = run.pieces.len();
        let at = |i: usize| self.arrangement.nodes[run.nodes[i]].at;
        let whole = to - from == count && run.nodes[0] == run.nodes[count];
        // On a closed run the node after the last is the second.
        let ends = [at(from % count), at((to - 1) % count + 1)];
        match run.carrier {
            None => Shape::Line {
                from: paper.place(ends[0]),
                to: paper.place(ends[1]),
            },
            Some(c) => paper.curve(&self.arrangement.carriers[c as usize], ends, whole),
        }
    }
}

/// Where a view stands on the sheet.
#[derive(Clone, Copy)]
pub(crate) struct Paper {
    pub(crate) view: View,
    pub(crate) placement: Placement,
}

impl Paper {
    /// A place of the view on the sheet.
    pub(crate) fn place(&self, at: P2) -> [f64; 2] {
        self.placement.on_sheet(self.view, [at.x, at.y])
    }

    fn length(&self, millimetres: f64) -> f64 {
        millimetres / self.placement.unit.millimetres()
    }

    /// A curve from one place to another in the direction in which its parameter grows, or the whole of it.
    pub(crate) fn curve(&self, carrier: &Carrier, ends: [P2; 2], whole: bool) -> Shape {
        let [from, to] = ends.map(|p| carrier.parameter(&p));
        let [start, end] = [from, carrier.onward(from, to)].map(f64::to_degrees);
        match carrier {
            Carrier::Circle { center, radius } => {
                let (center, radius) = (self.place(*center), self.length(*radius));
                match whole {
                    true => Shape::Circle { center, radius },
                    false => Shape::Arc {
                        center,
                        radius,
                        start,
                        end,
                    },
                }
            }
            Carrier::Ellipse { center, axes } => {
                let center = self.place(*center);
                let radii = axes.map(|axis: V2| self.length(axis.norm()));
                let rotation = angle(axes[0].y, axes[0].x).to_degrees();
                match whole {
                    true => Shape::Ellipse {
                        center,
                        radii,
                        rotation,
                    },
                    false => Shape::EllipticalArc {
                        center,
                        radii,
                        rotation,
                        start,
                        end,
                    },
                }
            }
            Carrier::Free { points } => {
                Shape::Curve(self.free(carrier, points, [from, to], whole, ends))
            }
        }
    }

    /// The points of a free curve between two parameters.
    fn free(
        &self,
        carrier: &Carrier,
        points: &[P2],
        [from, to]: [f64; 2],
        whole: bool,
        ends: [P2; 2],
    ) -> Vec<[f64; 2]> {
        if whole {
            return points.iter().map(|p| self.place(*p)).collect();
        }
        let to = carrier.onward(from, to);
        let between = points
            .iter()
            .map(|p| (carrier.onward(from, carrier.parameter(p)), *p))
            .filter(|(at, _)| from < *at && *at < to)
            .sorted_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, p)| p);
        std::iter::once(ends[0])
            .chain(between)
            .chain(std::iter::once(ends[1]))
            .map(|p| self.place(p))
            .collect()
    }
}
