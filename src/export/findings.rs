//! Words for what makes a drawing contradictory: which lines, where, and why no object can have them.

use super::drawn::in_words;
use super::hints::{hints, open_ends};
use super::stretch::stretches;
use crate::arrange::{Arrangement, Piece, Run};
use crate::geom::arena::Id;
use crate::outcome::Stretch;
use crate::sheet::{Remark, RemarkKind, View};
use crate::solve::board::Board;
use crate::solve::explain::{Conflict, DrawnLine};
use itertools::Itertools;

/// The remarks for a conflict: what can be seen at once, each line or set of lines at fault, and what may have been
/// misunderstood.
pub(crate) fn problems(board: &dyn Board, conflict: &Conflict) -> Vec<Remark> {
    let faults = faults(board, conflict);
    let hints = hints(board, &faults);
    open_ends(board).chain(faults).chain(hints).collect()
}

/// The lines of a conflict as stretches on the sheet. Where single lines have no edge each is a conflict of its own, and the
/// first stands for them.
pub(crate) fn conflict(board: &dyn Board, conflict: &Conflict) -> Vec<Stretch> {
    match conflict {
        Conflict::NoEdge(pieces) => without_edge_by_line(pieces, board)
            .into_iter()
            .take(1)
            .flat_map(|((view, ..), pieces)| stretches(board, view, &pieces))
            .collect(),
        Conflict::Lines(lines) => lines
            .iter()
            .flat_map(|&line| stretches(board, line.0, &pieces_of(board, line)))
            .collect(),
        Conflict::Touching | Conflict::Apart | Conflict::Crossing | Conflict::Stopped => Vec::new(),
    }
}

fn faults(board: &dyn Board, conflict: &Conflict) -> Vec<Remark> {
    match conflict {
        Conflict::NoEdge(pieces) => without_edge(board, pieces),
        Conflict::Lines(lines) => vec![in_conflict(board, lines)],
        Conflict::Touching => vec![almost(
            "the only solids with these views touch themselves along an edge or at a point and would fall apart there",
        )],
        Conflict::Apart => vec![almost(
            "the only solids with these views fall apart into separate pieces",
        )],
        Conflict::Crossing => vec![almost(
            "the only solids with these views have faces that pass through each other, and no line is drawn where they do",
        )],
        Conflict::Stopped => Vec::new(),
    }
}

fn almost(message: &str) -> Remark {
    Remark {
        kind: RemarkKind::AlmostSolid,
        view: None,
        message: message.to_owned(),
        lines: Vec::new(),
    }
}

/// One remark for each line with a stretch that no edge of an object can have given.
fn without_edge(board: &dyn Board, pieces: &[(View, Id<Piece>)]) -> Vec<Remark> {
    let by_line = without_edge_by_line(pieces, board).into_iter();
    by_line
        .map(|((view, line, _), pieces)| Remark {
            kind: RemarkKind::LineWithoutEdge,
            view: Some(view),
            message: format!(
                "no object can have {}: the other two views show no edge that could be seen here",
                in_words(board, view, &pieces)
            ),
            lines: line.map(|line| line as usize).into_iter().collect(),
        })
        .collect()
}

/// A view, a line of it, and what the line runs along.
type LineKey = (View, Option<u32>, Option<u32>);

/// The pieces of each line, in the order of views and lines.
fn without_edge_by_line(
    pieces: &[(View, Id<Piece>)],
    board: &dyn Board,
) -> Vec<(LineKey, Vec<Id<Piece>>)> {
    let keyed = pieces.iter().map(|&(view, piece)| {
        let arrangement = &board.views()[view.index()];
        let carrier = arrangement.pieces[piece].carrier;
        ((view, line_of(arrangement, piece), carrier), piece)
    });
    let groups = keyed.sorted_unstable().chunk_by(|(key, _)| *key);
    groups
        .into_iter()
        .map(|(key, group)| (key, group.map(|(_, piece)| piece).collect()))
        .collect()
}

/// The line that a piece is part of. Where ends were moved together a short piece may be left between two arcs and
/// belong to neither; then it is the nearest line of the same run.
fn line_of(arrangement: &Arrangement, piece: Id<Piece>) -> Option<u32> {
    let own = |piece: Id<Piece>| arrangement.pieces[piece].lines.iter().min().copied();
    own(piece).or_else(|| {
        let place = |run: &Run| run.pieces.iter().position(|p| *p == piece);
        let mut runs = arrangement.runs.iter();
        let (run, here) = runs.find_map(|run| Some((run, place(run)?)))?;
        let with_line = run.pieces.iter().enumerate();
        with_line
            .filter_map(|(i, p)| Some((i.abs_diff(here), own(*p)?)))
            .min()
            .map(|(_, line)| line)
    })
}

fn in_conflict(board: &dyn Board, lines: &[DrawnLine]) -> Remark {
    let described: Vec<String> = lines
        .iter()
        .map(|&line| in_words(board, line.0, &pieces_of(board, line)))
        .collect();
    let view = lines.iter().map(|(view, _)| *view).all_equal_value().ok();
    let numbers = lines
        .iter()
        .flat_map(|&line| numbers(board, line))
        .unique()
        .collect();
    if let [only] = &described[..] {
        return Remark {
            kind: RemarkKind::LineWithoutEdge,
            view,
            message: format!("{only} does not fit: no object has it and all the other lines"),
            lines: numbers,
        };
    }
    Remark {
        kind: RemarkKind::NotTogether,
        view,
        message: format!(
            "each of these {} lines could be right by itself, but not all of them together: {}",
            described.len(),
            described.join("; ")
        ),
        lines: numbers,
    }
}

/// The places in the sheet of what counts as one line in a conflict.
fn numbers(board: &dyn Board, line: DrawnLine) -> Vec<usize> {
    let arrangement = &board.views()[line.0.index()];
    let pieces = pieces_of(board, line).into_iter();
    match line.1 {
        u32::MAX => pieces
            .filter_map(|p| line_of(arrangement, p))
            .map(|l| l as usize)
            .collect(),
        number => vec![number as usize],
    }
}

/// The pieces that are said to belong to a line.
fn pieces_of(board: &dyn Board, (view, line): DrawnLine) -> Vec<Id<Piece>> {
    let pieces = &board.views()[view.index()].pieces;
    let belongs = |piece: &Id<Piece>| match &pieces[*piece].lines[..] {
        [] => line == u32::MAX,
        lines => lines.contains(&line),
    };
    pieces.ids().filter(belongs).collect()
}
