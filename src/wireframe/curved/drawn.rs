//! Whether a view has drawn line at a place, found through an index of its pieces.

use super::ALONG;
use super::raster::{Raster, flat_box};
use crate::arrange::{Arrangement, Piece, Run};
use crate::geom::arena::Id;
use crate::geom::carrier::Carrier;
use crate::geom::pairs::{Bounds, overlap};
use crate::geom::path::Path;
use crate::geom::{Few, P2, P3, V2, V3};

/// The pieces of a view by where they are.
pub(super) struct Drawn {
    /// The box of each piece, as much wider as a point may lie off.
    boxes: Vec<Bounds<2>>,
    /// The run of each piece.
    run: Vec<Id<Run>>,
    /// How far a point may lie off the line of each piece: sampled curves bulge between their points.
    reach: Vec<f64>,
    raster: Raster,
}

impl Drawn {
    /// The pieces of a view; `reach` in millimetres is how far a point may lie off.
    pub(super) fn of(view: &Arrangement, reach: f64) -> Self {
        let mut run = vec![Id::new(0); view.pieces.len()];
        for (id, r) in view.runs.enumerate() {
            r.pieces.iter().for_each(|p| run[p.ix()] = id);
        }
        let bulges: Vec<f64> = view.carriers.iter().map(bulge).collect();
        let reach: Vec<f64> = view
            .pieces
            .iter()
            .map(|piece| reach + piece.carrier.map_or(0.0, |c| bulges[c as usize]))
            .collect();
        let boxes: Vec<Bounds<2>> = view
            .pieces
            .iter()
            .zip(&reach)
            .map(|(piece, reach)| {
                let [a, b] = piece.ends.map(|n| view.nodes[n].at);
                let (low, high) = (a.inf(&b), a.sup(&b));
                [
                    [low.x - reach, low.y - reach],
                    [high.x + reach, high.y + reach],
                ]
            })
            .collect();
        let farthest = reach.iter().copied().fold(0.0, f64::max);
        Drawn {
            run,
            raster: Raster::of(view, &boxes, farthest),
            boxes,
            reach,
        }
    }

    /// The runs of the pieces that pass below a path in its direction.
    pub(super) fn runs_below(&self, view: &Arrangement, path: &Path) -> Few<Id<Run>, 1> {
        let mut runs: Few<Id<Run>, 1> = Few::new();
        for share in [0.5, 0.1, 0.9] {
            let (at, along) = path.place(share);
            let Some(way) = flat_way(view, &along).try_normalize(1e-6) else {
                continue;
            };
            runs.extend(self.nearest(view, &flat(view, &at), Some(&way)));
        }
        runs.sort_unstable();
        runs.dedup();
        runs
    }

    /// The pieces that there may be at a point.
    pub(super) fn near(&self, view: &Arrangement, point: &P3) -> &[u32] {
        self.raster.near(&flat(view, point))
    }

    /// Whether one of the pieces `near` a point is there, along a direction if one is given and not seen end-on.
    pub(super) fn has(
        &self,
        view: &Arrangement,
        (point, near): (&P3, &[u32]),
        along: Option<&V3>,
    ) -> bool {
        let way = along.and_then(|along| flat_way(view, along).try_normalize(ALONG));
        let at = flat(view, point);
        let mut pieces = near.iter();
        pieces.any(|&number| self.off(view, number, &at, way.as_ref()).is_some())
    }

    /// Whether there may be drawn line below some point of a box, given by its least and greatest corner.
    pub(super) fn may_touch(&self, view: &Arrangement, bounds: &[P3; 2]) -> bool {
        let [low, high] = flat_box(view, bounds);
        self.raster.may_touch(low, high)
    }

    fn nearest(&self, view: &Arrangement, at: &P2, way: Option<&V2>) -> Option<Id<Run>> {
        let pieces = self.raster.near(at).iter();
        let found = pieces.filter_map(|&number| Some((self.off(view, number, at, way)?, number)));
        let best = found.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        best.map(|(_, number)| self.run[number as usize])
    }

    /// How far a point is off a piece, if the piece is there and along a direction if one is given.
    fn off(&self, view: &Arrangement, number: u32, at: &P2, way: Option<&V2>) -> Option<f64> {
        let number = number as usize;
        if !overlap(&self.boxes[number], &[[at.x, at.y]; 2]) {
            return None;
        }
        let piece = Id::new(number);
        let (off, along) = match way {
            Some(way) => {
                let (off, direction) = beside(view, piece, at);
                (off, direction.perp(way).abs() <= ALONG)
            }
            None => (off(view, piece, at), true),
        };
        (off <= self.reach[number] && along).then_some(off)
    }
}

/// How far a smooth curve through sampled points bulges out from the chords between them: an eighth of the second
/// differences.
fn bulge(carrier: &Carrier) -> f64 {
    match carrier {
        Carrier::Free { points } => points
            .windows(3)
            .map(|p| ((p[2] - p[1]) - (p[1] - p[0])).norm() / 8.0)
            .fold(0.0, f64::max),
        _ => 0.0,
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

/// How far a point is from the line that a piece is part of, and the unit direction of that line next to it.
fn beside(view: &Arrangement, piece: Id<Piece>, at: &P2) -> (f64, V2) {
    match view.pieces[piece].carrier {
        Some(carrier) => view.carriers[carrier as usize].off_and_tangent(at),
        None => (off(view, piece, at), view.direction(piece, at)),
    }
}

/// How far a point is from the line that a piece is part of.
pub(super) fn off(view: &Arrangement, piece: Id<Piece>, at: &P2) -> f64 {
    match view.pieces[piece].carrier {
        Some(carrier) => view.carriers[carrier as usize].distance(at),
        None => {
            let [a, b] = view.pieces[piece].ends.map(|n| view.nodes[n].at);
            (b - a).perp(&(at - a)).abs() / (b - a).norm()
        }
    }
}
