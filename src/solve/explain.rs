//! Why no solid has the drawn views: the lines that cannot be right.

use super::encode::encode;
use super::search::{Answer, Literal, Search};
use super::Puzzle;
use crate::arrange::Piece;
use crate::geom::arena::Id;
use crate::options::Watch;
use crate::sheet::View;
use rustc_hash::FxHashMap;

/// What is wrong with a drawing that no solid has.
#[derive(Clone, Debug)]
pub(crate) enum Conflict {
    /// These pieces have no edge of any object over them.
    NoEdge(Vec<(View, Id<Piece>)>),
    /// This line alone, by view and place in the sheet, rules out every object that the candidates allow.
    OneLine(View, u32),
    /// These lines, by view and place in the sheet, cannot all be right.
    Together(Vec<(View, u32)>),
    /// The candidates allow no solid at all, whatever the lines demand.
    NoSolid,
    /// The search was stopped.
    Stopped,
}

/// Finds a conflict in a drawing without readings.
pub(crate) fn explain(puzzle: &Puzzle, watch: &dyn Watch) -> Conflict {
    let bare = without_edge(puzzle);
    if !bare.is_empty() {
        return Conflict::NoEdge(bare);
    }
    let mut search = Search::new(watch);
    let mut guards = Guards::default();
    encode(puzzle, &mut search, &mut |search, view, piece| {
        Some(guards.of(puzzle, search, view, piece))
    });
    let all: Vec<Literal> = guards.list.iter().map(|g| g.1).collect();
    match search.solve(&all) {
        Answer::Stopped => Conflict::Stopped,
        Answer::Found => Conflict::NoSolid,
        Answer::None => {
            let blamed: Vec<(View, u32)> = guards
                .list
                .iter()
                .filter(|(_, guard)| search.to_blame(*guard))
                .map(|(line, _)| *line)
                .collect();
            match blamed[..] {
                [] => Conflict::NoSolid,
                [(view, line)] => Conflict::OneLine(view, line),
                _ => Conflict::Together(blamed),
            }
        }
    }
}

/// Pieces over which no candidate edge lies that any region could meet.
fn without_edge(puzzle: &Puzzle) -> Vec<(View, Id<Piece>)> {
    let mut found = Vec::new();
    for view in View::ALL {
        for (piece, over) in puzzle.edges_over[view.index()].iter().enumerate() {
            if over.iter().all(|e| puzzle.faces.around[e.ix()].is_empty()) {
                found.push((view, Id::new(piece)));
            }
        }
    }
    found
}

/// One assumption per drawn line and view.
#[derive(Default)]
struct Guards {
    known: FxHashMap<(View, u32), Literal>,
    list: Vec<((View, u32), Literal)>,
}

impl Guards {
    fn of(
        &mut self,
        puzzle: &Puzzle,
        search: &mut Search<'_>,
        view: View,
        piece: Id<Piece>,
    ) -> Literal {
        let line = puzzle.views[view.index()].pieces[piece].lines.first();
        let key = (view, line.copied().unwrap_or(u32::MAX));
        *self.known.entry(key).or_insert_with(|| {
            let guard = search.variable();
            self.list.push((key, guard));
            guard
        })
    }
}
