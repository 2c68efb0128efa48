//! Whether a view has drawn line at a place, found through an index of its pieces.

use super::ALONG;
use super::raster::{Raster, flat_box};
use crate::arrange::{Arrangement, Piece, Run};
use crate::geom::arena::Id;
use crate::geom::pairs::{Bounds, BoxIndex};
use crate::geom::path::Path;
use crate::geom::{P2, P3, V2, V3};

/// The pieces of a view by where they are.
pub(super) struct Drawn {
    pieces: BoxIndex<2>,
    /// The run of each piece.
    run: Vec<Id<Run>>,
    raster: Raster,
    reach: f64,
}

impl Drawn {
    /// The pieces of a view; `reach` in millimetres is how far a point may lie off.
    pub(super) fn of(view: &Arrangement, reach: f64) -> Self {
        let mut run = vec![Id::new(0); view.pieces.len()];
        for (id, r) in view.runs.enumerate() {
            r.pieces.iter().for_each(|p| run[p.ix()] = id);
        }
        let boxes: Vec<Bounds<2>> = view
            .pieces
            .iter()
            .map(|piece| {
                let [a, b] = piece.ends.map(|n| view.nodes[n].at);
                let (low, high) = (a.inf(&b), a.sup(&b));
                [
                    [low.x - reach, low.y - reach],
                    [high.x + reach, high.y + reach],
                ]
            })
            .collect();
        Drawn {
            pieces: BoxIndex::new(&boxes),
            run,
            raster: Raster::of(view, &boxes, reach),
            reach,
        }
    }

    /// The run of the piece that passes the middle of a path in its direction.
    pub(super) fn run_below(&self, view: &Arrangement, path: &Path) -> Option<Id<Run>> {
        let at = flat(view, &path.middle());
        let way = flat_way(view, &path.direction(0.5)).try_normalize(0.0)?;
        self.nearest(view, &at, Some(&way))
    }

    /// Whether there is drawn line at a point, along a direction if one is given and not seen end-on.
    pub(super) fn has(&self, view: &Arrangement, point: &P3, along: Option<&V3>) -> bool {
        let way = along.and_then(|along| flat_way(view, along).try_normalize(ALONG));
        self.nearest(view, &flat(view, point), way.as_ref())
            .is_some()
    }

    /// Whether there may be drawn line below some point of a box, given by its least and greatest corner.
    pub(super) fn may_touch(&self, view: &Arrangement, bounds: &[P3; 2]) -> bool {
        let [low, high] = flat_box(view, bounds);
        self.raster.may_touch(low, high)
    }

    fn nearest(&self, view: &Arrangement, at: &P2, way: Option<&V2>) -> Option<Id<Run>> {
        if !self.raster.may_touch([at.x, at.y], [at.x, at.y]) {
            return None;
        }
        let mut best: Option<(f64, u32)> = None;
        self.pieces
            .touching(&[[at.x, at.y], [at.x, at.y]], |number| {
                let (off, along) = off_and_along(view, Id::new(number as usize), at);
                if off <= self.reach
                    && way.is_none_or(|way| along.perp(way).abs() <= ALONG)
                    && best.is_none_or(|(least, n)| (off, number) < (least, n))
                {
                    best = Some((off, number));
                }
            });
        best.map(|(_, number)| self.run[number as usize])
    }
}

/// A point as a view sees it.
pub(super) fn flat(view: &Arrangement, point: &P3) -> P2 {
    let [right, up] = view.view.axes();
    P2::new(point[right], point[up])
}

fn flat_way(view: &Arrangement, way: &V3) -> V2 {
    let [right, up] = view.view.axes();
    V2::new(way[right], way[up])
}

/// How far a point is from the line that a piece is part of, and the direction there.
pub(super) fn off_and_along(view: &Arrangement, piece: Id<Piece>, at: &P2) -> (f64, V2) {
    let along = view.direction(piece, at);
    let piece = &view.pieces[piece];
    let off = match piece.carrier {
        Some(carrier) => view.carriers[carrier as usize].distance(at),
        None => along.perp(&(at - view.nodes[piece.ends[0]].at)).abs(),
    };
    (off, along)
}
