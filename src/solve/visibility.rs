//! What a piece of drawn line demands of the edges and regions over it.
//!
//! Visible: some edge over the piece is drawn with nothing in front of it. Hidden: some edge is drawn, and each drawn
//! edge has something in front of it. What is in front is decided at the middle of the piece: borders of regions run over
//! drawn line, so a region covers all of a piece or nothing of it.

use super::board::{Board, Spot};
use super::literal::Literal;
use super::search::Search;
use super::variables::Variables;
use crate::geom::Few;

/// Some edge over a piece is drawn, unless `guard` holds.
pub(super) fn some_drawn(
    board: &dyn Board,
    search: &mut Search<'_>,
    variables: &Variables,
    spot: Spot,
    guard: Option<Literal>,
) {
    let over = board.edges_over(spot).iter();
    let drawn = over.filter_map(|e| variables.drawn[e.ix()][spot.view.index()]);
    search.clause(drawn.chain(guard));
}

/// Some edge over a piece is drawn with nothing in front of it, unless `guard` holds.
pub(super) fn some_lit(
    board: &dyn Board,
    search: &mut Search<'_>,
    variables: &Variables,
    spot: Spot,
    guard: Option<Literal>,
) {
    // `clear` implies that nothing up to here is in front; an edge is lit if it is drawn and clear.
    let mut clear: Option<Literal> = None;
    let mut lit: Few<Literal, 8> = Few::new();
    for Step { in_front, drawn } in sight(board, search, variables, spot, f64::NEG_INFINITY) {
        if !in_front.is_empty() {
            let next = search.variable();
            for blocker in in_front {
                search.clause([!next, !blocker]);
            }
            if let Some(before) = clear {
                search.clause([!next, before]);
            }
            clear = Some(next);
        }
        lit.push(match clear {
            None => drawn,
            Some(clear) => {
                let lit = search.variable();
                search.clause([!lit, drawn]);
                search.clause([!lit, clear]);
                lit
            }
        });
    }
    search.clause(lit.into_iter().chain(guard));
}

/// Each drawn edge over a piece has something in front of it, unless `guard` holds.
pub(super) fn none_lit(
    board: &dyn Board,
    search: &mut Search<'_>,
    variables: &Variables,
    spot: Spot,
    guard: Option<Literal>,
) {
    let cover = sure_cover(board, search, variables, spot);
    // `blocked` implies that something up to here is in front.
    let mut blocked: Option<Literal> = None;
    for Step { in_front, drawn } in sight(board, search, variables, spot, cover) {
        if !in_front.is_empty() {
            let next = search.variable();
            search.clause([!next].into_iter().chain(in_front).chain(blocked));
            blocked = Some(next);
        }
        search.clause([!drawn].into_iter().chain(blocked).chain(guard));
    }
}

/// How near the nearest region is that is known to cover a piece: nothing behind it needs a closer look.
fn sure_cover(board: &dyn Board, search: &Search<'_>, variables: &Variables, spot: Spot) -> f64 {
    let over = board.regions_over(spot).iter();
    over.filter(|r| search.known(variables.present[r.ix()]) == Some(true))
        .map(|&r| board.region_nearness(spot, r))
        .fold(f64::NEG_INFINITY, f64::max)
}

/// An edge that may be drawn, with what may lie in front of it since the edge before.
struct Step {
    in_front: Few<Literal, 4>,
    drawn: Literal,
}

/// What a line of sight to the middle of a piece meets, from near to far, as long as it is nearer than `cover`.
fn sight(
    board: &dyn Board,
    search: &Search<'_>,
    variables: &Variables,
    spot: Spot,
    cover: f64,
) -> Few<Step, 4> {
    let possible = |near: f64, l: Literal| near > cover && search.known(l) != Some(false);
    let mut edges: Few<(f64, Literal), 8> = Few::new();
    let mut blockers: Few<(f64, Literal), 8> = Few::new();
    for &edge in board.edges_over(spot) {
        let near = board.edge_nearness(spot, edge);
        edges.extend(
            variables.drawn[edge.ix()][spot.view.index()]
                .filter(|&l| possible(near, l))
                .map(|l| (near, l)),
        );
        // Across a smooth edge a surface passes over the piece, unless it is seen edge-on. If the edge is drawn there, it is
        // exactly as near as the surface, which does not cover it.
        for pair in &variables.smooth[edge.ix()] {
            let both = pair.both;
            if possible(near, both) && pair.seen[spot.view.index()].covers() {
                blockers.push((near, both));
            }
        }
    }
    if edges.is_empty() {
        return Few::new();
    }
    for &region in board.regions_over(spot) {
        let near = board.region_nearness(spot, region);
        let present = variables.present[region.ix()];
        if possible(near, present) {
            blockers.push((near, present));
        }
    }
    for list in [&mut edges, &mut blockers] {
        list.sort_by(|a, b| b.0.total_cmp(&a.0));
    }
    let mut blockers = blockers.into_iter().peekable();
    edges
        .into_iter()
        .map(|(near, drawn)| {
            let nearer = std::iter::from_fn(|| blockers.next_if(|(n, _)| *n > near));
            let in_front = nearer.map(|(_, literal)| literal).collect();
            Step { in_front, drawn }
        })
        .collect()
}
