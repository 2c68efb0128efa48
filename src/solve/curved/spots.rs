//! Spots: parts of drawn pieces over each of which the candidates are the same all along, and what lies over them.

use super::overlook::{Inside, Overlook, seen_box};
use super::{Covered, CurvedBoard};
use crate::arrange::{Arrangement, Piece};
use crate::face::Region;
use crate::geom::arena::Id;
use crate::geom::carrier::Carrier;
use crate::geom::conic::Conic;
use crate::geom::pairs::{Bounds, BoxIndex};
use crate::geom::path::Path;
use crate::geom::tolerance::Tolerance;
use crate::geom::{Few, P2, P3, V2};
use crate::sheet::View;
use crate::solve::twins::{beside_visible, share_twins};
use crate::wireframe::Edge;
use crate::wireframe::curved::{CurvedWireframe, Seen};
use smallvec::smallvec;
use std::f64::consts::TAU;

/// How long, in tolerances, two lines that touch may stay within the tolerance of each other for nobody to miss the piece.
const TOUCH: f64 = 20.0;

impl CurvedBoard {
    /// Every piece of a view, cut where edges over blank paper cross it, with what lies over each part.
    pub(super) fn spots(&self, overlook: &Overlook) -> Vec<Covered> {
        let view = overlook.view;
        let arrangement = &self.views[view.index()];
        let edges_over = edges_over(arrangement, &self.wireframe, self.tolerance);
        let covered = beside_visible(arrangement, self.tolerance.mm());
        let blank = BlankPaths::of(self, view);
        let mut spots = Vec::new();
        for piece in arrangement.pieces.ids().filter(|p| !covered[p.ix()]) {
            let paths = piece_paths(arrangement, piece);
            let edges = &edges_over[piece.ix()];
            // What has an edge over the piece has it along its border, however inaccurately drawn.
            let leaves = edges.iter().flat_map(|edge| &self.faces.around[edge.ix()]);
            let beside: Few<Id<Region>, 16> = leaves.map(|leaf| leaf.region).collect();
            let first = spots.len();
            for part in blank.parts(self, &paths, view) {
                let place = |share: f64| seen_at(&paths, between(part, share), view);
                let Some((at, met)) = self.clearest(overlook, &beside, place) else {
                    continue;
                };
                let covered = self.covered(view, piece, (edges, at), met);
                let known = spots[first..].iter().any(|other: &Covered| {
                    other.edges == covered.edges && other.regions == covered.regions
                });
                if !known {
                    spots.push(covered);
                }
            }
        }
        spots
    }

    /// Whether some piece for which `of` holds has no candidate edge over it although its spots will ask for one. Where lines
    /// stay within the tolerance of each other, the edges over one of them stand for the others too.
    pub(crate) fn demands_missing_edge(
        views: &[Arrangement; 3],
        wireframe: &CurvedWireframe,
        tolerance: Tolerance,
        of: &dyn Fn(&Piece) -> bool,
    ) -> bool {
        views.iter().any(|view| {
            let bare = &wireframe.without_edge[view.view.index()];
            if bare.is_empty() {
                return false;
            }
            let over = edges_over(view, wireframe, tolerance);
            let covered = beside_visible(view, tolerance.mm());
            bare.iter().any(|&piece| {
                let [a, b] = view.pieces[piece].ends.map(|n| view.nodes[n].at);
                let long = (b - a).norm() > TOUCH * tolerance.mm();
                of(&view.pieces[piece])
                    && long
                    && over[piece.ix()].is_empty()
                    && !covered[piece.ix()]
            })
        })
    }

    /// The first of some places, all with the same candidates over them, that lies on the border of no region but of those
    /// `beside` it, and what else is met there. If there is none, the first; but none at all on a piece so short that it
    /// lies within the tolerance of a border that it touches: there nobody can say what covers it, and it goes on in pieces
    /// that can be judged.
    fn clearest(
        &self,
        overlook: &Overlook,
        beside: &[Id<Region>],
        place: impl Fn(f64) -> P2,
    ) -> Option<(P2, Inside)> {
        let mut first = None;
        for at in SHARES.into_iter().map(&place) {
            let (met, borders) = overlook.look(self, at, beside);
            if borders.is_empty() {
                return Some((at, met));
            }
            first.get_or_insert((at, met));
        }
        let [.., start, end] = SHARES;
        let short = (place(end) - place(start)).norm() <= TOUCH * self.tolerance.mm();
        first.filter(|_| !short)
    }

    /// What lies over a point of a piece, nearest first, if a line of sight meets some regions there.
    fn covered(
        &self,
        view: View,
        piece: Id<Piece>,
        (edges, at): (&[Id<Edge>], P2),
        regions: Inside,
    ) -> Covered {
        let near = |depth: f64| view.nearness(depth);
        let [right, up] = view.axes();
        let mut over: Few<(f64, Id<Edge>), 8> = edges
            .iter()
            .map(|&edge| {
                let path = self.wireframe.path(edge);
                let span = path.ends[1] - path.ends[0];
                let k = usize::from(span[right].abs() < span[up].abs());
                let along = [right, up][k];
                let [a, b] = path.ends.map(|end| end[along]);
                let abreast = at[k].clamp(a.min(b), a.max(b));
                (near(path.height(along, abreast, view.depth_axis())), edge)
            })
            .collect();
        over.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        Covered {
            piece,
            edges: over.iter().map(|o| o.1).collect(),
            edge_nearness: over.iter().map(|o| o.0).collect(),
            regions: regions.iter().map(|o| o.1).collect(),
            region_nearness: regions.iter().map(|o| o.0).collect(),
        }
    }
}

/// The edges over each piece of a view.
fn edges_over(
    view: &Arrangement,
    wireframe: &CurvedWireframe,
    tolerance: Tolerance,
) -> Vec<Few<Id<Edge>, 4>> {
    let mut over = vec![Few::new(); view.pieces.len()];
    for (number, edge) in wireframe.edges.iter().enumerate() {
        if let Seen::Over(pieces) = &edge.seen[view.view.index()] {
            let id = Id::new(number);
            pieces.iter().for_each(|p| over[p.ix()].push(id));
        }
    }
    share_twins(view, &mut over, tolerance.mm());
    over
}

/// The way of a piece in the view's plane, its depth 0: one path, or short straight ones along a free curve.
fn piece_paths(view: &Arrangement, piece: Id<Piece>) -> Few<Path, 1> {
    let [right, up] = view.view.axes();
    let lift = |x: f64, y: f64| {
        let mut point = P3::origin();
        (point[right], point[up]) = (x, y);
        point
    };
    let p = &view.pieces[piece];
    let flat = p.ends.map(|n| view.nodes[n].at);
    let ends = flat.map(|at| lift(at.x, at.y));
    let conic = |center: &P2, axes: [V2; 2]| {
        let [u, v] = axes.map(|w| lift(w.x, w.y).coords);
        let mut conic = Conic {
            center: lift(center.x, center.y),
            u,
            v,
            from: 0.0,
            to: 0.0,
        };
        [conic.from, conic.to] = ends.map(|end| conic.angle(&end));
        if conic.to < conic.from {
            conic.to += TAU;
        }
        smallvec![Path::bent(conic, ends)]
    };
    let Some(carrier) = p.carrier.map(|c| &view.carriers[c as usize]) else {
        return smallvec![Path::straight(ends[0], ends[1])];
    };
    match carrier {
        Carrier::Circle { center, radius } => conic(center, [V2::x() * *radius, V2::y() * *radius]),
        Carrier::Ellipse { center, axes } => conic(center, *axes),
        Carrier::Free { .. } => {
            let from = carrier.parameter(&flat[0]);
            let to = carrier.onward(from, carrier.parameter(&flat[1]));
            let at = |k: u32| match k {
                0 => ends[0],
                FREE_STEPS => ends[1],
                k => {
                    let share = f64::from(k) / f64::from(FREE_STEPS);
                    let at = carrier.point(from + (to - from) * share);
                    lift(at.x, at.y)
                }
            };
            (0..FREE_STEPS)
                .map(|k| Path::straight(at(k), at(k + 1)))
                .collect()
        }
    }
}

/// Into how many straight steps a free curve is cut to look at it.
const FREE_STEPS: u32 = 8;

/// The edges over blank paper of a view, by where they are seen.
struct BlankPaths {
    edges: Vec<Id<Edge>>,
    index: BoxIndex<2>,
}

impl BlankPaths {
    fn of(board: &CurvedBoard, view: View) -> Self {
        let edges = board.blank[view.index()].clone();
        let boxes: Vec<Bounds<2>> = edges
            .iter()
            .map(|&e| seen_box(board.wireframe.path(e).bounds(), view))
            .collect();
        BlankPaths {
            edges,
            index: BoxIndex::new(&boxes),
        }
    }

    /// The parts into which blank edges cut a piece, each from one place on its chain of paths to another.
    fn parts(&self, board: &CurvedBoard, piece: &[Path], view: View) -> Few<[OnChain; 2], 2> {
        let mut cuts: Few<OnChain, 8> = Few::new();
        for (k, path) in piece.iter().enumerate() {
            self.index
                .touching(&seen_box(path.bounds(), view), |number| {
                    let edge = self.edges[number as usize];
                    let shares = path.crossings(board.wireframe.path(edge), view.axes());
                    cuts.extend(shares.into_iter().map(|share| (k, share)));
                });
        }
        let last = piece.len() - 1;
        cuts.push((last, 1.0));
        cuts.sort_unstable_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let place = |at: OnChain| seen_at(piece, at, view);
        let mut parts = Few::new();
        let mut from = (0, 0.0);
        for cut in cuts {
            if (place(cut) - place(from)).norm() > 2.0 * board.tolerance.mm() {
                parts.push([from, cut]);
                from = cut;
            }
        }
        if parts.is_empty() {
            parts.push([(0, 0.0), (last, 1.0)]);
        }
        parts
    }
}

/// A place on a chain of paths: the number of a path, and the share of its way.
type OnChain = (usize, f64);

/// Where a view sees a place on a chain of paths.
fn seen_at(chain: &[Path], (k, share): OnChain, view: View) -> P2 {
    let at = chain[k].point(share);
    let [right, up] = view.axes();
    P2::new(at[right], at[up])
}

/// Where on a part it is looked, as shares of the way: in the middle, and where that is not clear of borders, elsewhere.
const SHARES: [f64; 5] = [0.5, 0.25, 0.75, 0.1, 0.9];

/// The place at a share of the way between two places on a chain of paths.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    reason = "a short chain"
)]
fn between([from, to]: [OnChain; 2], share: f64) -> OnChain {
    let [start, end] = [from, to].map(|(k, rest)| k as f64 + rest);
    let there = start + (end - start) * share;
    let k = (there as usize).min(to.0);
    (k, there - k as f64)
}
