//! What a piece of drawn line demands of the edges and regions over it.
//!
//! Visible: some edge over the piece is drawn with nothing in front of it. Hidden: some edge is drawn, and each drawn
//! edge has something in front of it. What is in front is decided at the middle of the piece: borders of regions run over
//! drawn line, so a region covers all of a piece or nothing of it.

use super::Puzzle;
use super::literal::Literal;
use super::search::Search;
use super::variables::Variables;
use crate::arrange::Piece;
use crate::geom::Few;
use crate::geom::arena::Id;
use crate::sheet::View;

/// A piece of a view.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub(super) view: View,
    pub(super) piece: Id<Piece>,
}

/// Some edge over a piece is drawn, unless `guard` holds.
pub(super) fn some_drawn(
    puzzle: &Puzzle,
    search: &mut Search<'_>,
    variables: &Variables,
    place: Place,
    guard: Option<Literal>,
) {
    let over = &puzzle.edges_over[place.view.index()][place.piece.ix()];
    let drawn = over.iter().filter_map(|e| variables.drawn[e.ix()]);
    search.clause(drawn.chain(guard));
}

/// Some edge over a piece is drawn with nothing in front of it, unless `guard` holds.
pub(super) fn some_lit(
    puzzle: &Puzzle,
    search: &mut Search<'_>,
    variables: &Variables,
    place: Place,
    guard: Option<Literal>,
) {
    // `clear` implies that nothing up to here is in front; an edge is lit if it is drawn and clear.
    let mut clear: Option<Literal> = None;
    let mut lit = Vec::new();
    for Step { in_front, drawn } in sight(puzzle, search, variables, place, f64::NEG_INFINITY) {
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
    puzzle: &Puzzle,
    search: &mut Search<'_>,
    variables: &Variables,
    place: Place,
    guard: Option<Literal>,
) {
    let cover = sure_cover(puzzle, search, variables, place);
    // `blocked` implies that something up to here is in front.
    let mut blocked: Option<Literal> = None;
    for Step { in_front, drawn } in sight(puzzle, search, variables, place, cover) {
        if !in_front.is_empty() {
            let next = search.variable();
            search.clause([!next].into_iter().chain(in_front).chain(blocked));
            blocked = Some(next);
        }
        search.clause([!drawn].into_iter().chain(blocked).chain(guard));
    }
}

/// How near the nearest region is that is known to cover a piece: nothing behind it needs a closer look.
fn sure_cover(puzzle: &Puzzle, search: &Search<'_>, variables: &Variables, place: Place) -> f64 {
    let v = place.view.index();
    let middle = puzzle.views[v].middle(place.piece);
    let over = puzzle.covers[v].over_piece[place.piece.ix()].iter();
    over.filter(|r| search.known(variables.present[r.ix()]) == Some(true))
        .map(|&r| puzzle.nearness_of_region(place.view, r, middle))
        .fold(f64::NEG_INFINITY, f64::max)
}

/// An edge that may be drawn, with what may lie in front of it since the edge before.
struct Step {
    in_front: Few<Literal, 4>,
    drawn: Literal,
}

/// What a line of sight to the middle of a piece meets, from near to far, as long as it is nearer than `cover`.
fn sight(
    puzzle: &Puzzle,
    search: &Search<'_>,
    variables: &Variables,
    Place { view, piece }: Place,
    cover: f64,
) -> Vec<Step> {
    let v = view.index();
    let middle = puzzle.views[v].middle(piece);
    let possible = |near: f64, l: Literal| near > cover && search.known(l) != Some(false);
    let mut edges: Few<(f64, Literal), 8> = Few::new();
    let mut blockers: Few<(f64, Literal), 8> = Few::new();
    for &edge in &puzzle.edges_over[v][piece.ix()] {
        let near = puzzle.nearness_of_edge(view, edge, middle);
        edges.extend(
            variables.drawn[edge.ix()]
                .filter(|&l| possible(near, l))
                .map(|l| (near, l)),
        );
        // Across a smooth edge a surface passes over the piece, unless it is seen edge-on.
        for &(region, both) in &variables.smooth[edge.ix()] {
            if possible(near, both) && !puzzle.faces.edge_on(region, view) {
                blockers.push((near, both));
            }
        }
    }
    if edges.is_empty() {
        return Vec::new();
    }
    for &region in &puzzle.covers[v].over_piece[piece.ix()] {
        let near = puzzle.nearness_of_region(view, region, middle);
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
