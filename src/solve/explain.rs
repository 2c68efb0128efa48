//! Why no solid has the drawn views: the lines that cannot be right, or the solids that almost do.

use super::board::{Board, Spot};
use super::encode::{Contact, Demand, encode};
use super::enumerate::{Answers, Room};
use super::literal::Literal;
use super::search::{Answer, Search};
use crate::arrange::Piece;
use crate::geom::arena::Id;
use crate::options::Watch;
use crate::sheet::View;
use rustc_hash::FxHashMap;

/// A drawn line of a view, by its place in the sheet.
pub(crate) type DrawnLine = (View, u32);

/// What is wrong with a drawing that no solid has.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Conflict {
    /// These pieces have no edge of any object over them.
    NoEdge(Vec<(View, Id<Piece>)>),
    /// These lines cannot all be right; any fewer of them could be.
    Lines(Vec<DrawnLine>),
    /// Only solids that touch themselves at a point or along an edge have these views.
    Touching,
    /// Only solids that fall apart into pieces have these views.
    Apart,
    /// Only solids with faces that pass through each other have these views.
    Crossing,
    /// The search was stopped before it was certain.
    Stopped,
}

/// Finds out what is wrong with a drawing for which the search found no solid, with room for hidden lines or without.
pub(crate) fn explain(
    board: &dyn Board,
    room: Room<'_>,
    answers: &Answers,
    watch: &dyn Watch,
) -> Conflict {
    let bare = board.without_edge();
    let of_view = |view: View| bare[view.index()].iter().map(move |&piece| (view, piece));
    let drawn = View::ALL.into_iter().flat_map(of_view);
    let bare: Vec<(View, Id<Piece>)> = drawn.filter(|&(view, piece)| !room(view, piece)).collect();
    if !bare.is_empty() {
        return Conflict::NoEdge(bare);
    }
    // What crosses has passed all other checks.
    if answers.crossing {
        return Conflict::Crossing;
    }
    if answers.apart {
        return Conflict::Apart;
    }
    if answers.touching {
        return Conflict::Touching;
    }
    let mut relaxed = Search::new(watch);
    let never = relaxed.never();
    encode(
        board,
        &mut relaxed,
        Contact::Allowed,
        &mut |search, spot| match room(spot.view, board.piece(spot)) {
            true => Demand::open(never, search),
            false => Demand::AsDrawn,
        },
    );
    match relaxed.solve(&[]) {
        Answer::Found => Conflict::Touching,
        Answer::Stopped => Conflict::Stopped,
        Answer::None => lines_in_conflict(board, room, watch),
    }
}

/// The lines whose demands together rule out every choice, none of them to spare.
fn lines_in_conflict(board: &dyn Board, room: Room<'_>, watch: &dyn Watch) -> Conflict {
    let mut search = Search::new(watch);
    let never = search.never();
    let mut guards = Guards::default();
    encode(
        board,
        &mut search,
        Contact::Forbidden,
        &mut |search, spot| match room(spot.view, board.piece(spot)) {
            true => Demand::open(never, search),
            false => Demand::While(guards.of(board, search, spot)),
        },
    );
    let mut left: Vec<(DrawnLine, Literal)> = guards.list;
    if search.solve(&assumptions(&left)) != Answer::None {
        return Conflict::Stopped;
    }
    left.retain(|(_, guard)| search.to_blame(*guard));
    let mut needed = 0;
    while needed < left.len() {
        // Without this line, is there still a conflict among the others?
        let (line, guard) = left.remove(needed);
        match search.solve(&assumptions(&left)) {
            Answer::None => left.retain(|(_, guard)| search.to_blame(*guard)),
            Answer::Found => {
                left.insert(needed, (line, guard));
                needed += 1;
            }
            Answer::Stopped => return Conflict::Stopped,
        }
    }
    Conflict::Lines(left.into_iter().map(|(line, _)| line).collect())
}

fn assumptions(lines: &[(DrawnLine, Literal)]) -> Vec<Literal> {
    lines.iter().map(|(_, guard)| *guard).collect()
}

/// One assumption per drawn line: its pieces need only be met while it holds.
#[derive(Default)]
struct Guards {
    known: FxHashMap<DrawnLine, Literal>,
    list: Vec<(DrawnLine, Literal)>,
}

impl Guards {
    fn of(&mut self, board: &dyn Board, search: &mut Search<'_>, spot: Spot) -> Literal {
        let view = spot.view;
        let drawn = &board.views()[view.index()].pieces[board.piece(spot)].lines;
        let line = drawn.iter().min().copied().unwrap_or(u32::MAX);
        *self.known.entry((view, line)).or_insert_with(|| {
            let guard = search.variable();
            self.list.push(((view, line), guard));
            guard
        })
    }
}
