//! Pieces of drawn line that cannot be told apart: where a line leaves a circle it touches, the two stay within the
//! tolerance of each other for a while.

use crate::arrange::{Arrangement, Node, Piece};
use crate::geom::arena::Id;
use crate::geom::pairs::{Bounds, BoxIndex};
use crate::geom::{Few, P2};
use crate::wireframe::Edge;

/// Pieces of different lines between the same nodes that lie within the tolerance of each other are one to the eye: what
/// lies over one lies over the other.
pub(super) fn share_twins(view: &Arrangement, edges_over: &mut [Few<Id<Edge>, 4>], tolerance: f64) {
    let mut sorted: Vec<([Id<Node>; 2], Id<Piece>)> = view
        .pieces
        .enumerate()
        .map(|(id, piece)| {
            let [a, b] = piece.ends;
            ([a.min(b), a.max(b)], id)
        })
        .collect();
    sorted.sort_unstable();
    for same in sorted.chunk_by(|a, b| a.0 == b.0) {
        for (i, (_, p)) in same.iter().enumerate() {
            for (_, q) in &same[..i] {
                if (view.middle(*p) - view.middle(*q)).norm() <= tolerance {
                    let mut both = edges_over[p.ix()].clone();
                    both.extend(edges_over[q.ix()].iter().copied());
                    both.sort_unstable();
                    both.dedup();
                    edges_over[p.ix()].clone_from(&both);
                    edges_over[q.ix()] = both;
                }
            }
        }
    }
}

/// Which hidden pieces lie all along within the tolerance of visible line, of which one or the other is curved: there visible
/// takes precedence (ISO 128-2), and they say nothing.
pub(super) fn beside_visible(view: &Arrangement, tolerance: f64) -> Vec<bool> {
    let visible: Vec<Id<Piece>> = view
        .pieces
        .ids()
        .filter(|p| !view.pieces[*p].hidden)
        .collect();
    // Ends may have been cut where the tolerance ends.
    let reach = 2.0 * tolerance;
    let boxes: Vec<Bounds<2>> = visible
        .iter()
        .map(|p| {
            let [a, b] = view.pieces[*p].ends.map(|n| view.nodes[n].at);
            let (low, high) = (a.inf(&b), a.sup(&b));
            [
                [low.x - reach, low.y - reach],
                [high.x + reach, high.y + reach],
            ]
        })
        .collect();
    let index = BoxIndex::new(&boxes);
    let is_beside = |id: Id<Piece>| {
        let piece = &view.pieces[id];
        let on_visible = |at: P2, most: f64| {
            let mut found = false;
            index.touching(&[[at.x, at.y]; 2], |k| {
                let other = visible[k as usize];
                let curved = piece.carrier.is_some() || view.pieces[other].carrier.is_some();
                found |= curved && off(view, other, &at) <= most;
            });
            found
        };
        piece.hidden
            && on_visible(view.middle(id), tolerance)
            && (piece.ends.iter()).all(|n| on_visible(view.nodes[*n].at, reach))
    };
    view.pieces.ids().map(is_beside).collect()
}

/// How far a point lies beside the line of a piece.
fn off(view: &Arrangement, piece: Id<Piece>, at: &P2) -> f64 {
    match view.pieces[piece].carrier {
        Some(carrier) => view.carriers[carrier as usize].distance(at),
        None => {
            let from = view.nodes[view.pieces[piece].ends[0]].at;
            view.direction(piece, at).perp(&(at - from)).abs()
        }
    }
}
