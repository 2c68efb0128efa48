//! Words for what makes a drawing contradictory: which lines, where, and why no object can have them.

use crate::arrange::Piece;
use crate::geom::arena::Id;
use crate::sheet::{Remark, RemarkKind, View};
use crate::solve::board::Board;
use crate::solve::explain::{Conflict, DrawnLine};
use itertools::Itertools;

/// The remarks for a conflict, one for each line or set of lines at fault.
pub(crate) fn problems(board: &dyn Board, conflict: &Conflict) -> Vec<Remark> {
    match conflict {
        Conflict::NoEdge(pieces) => without_edge(board, pieces),
        Conflict::Lines(lines) => vec![in_conflict(board, lines)],
        Conflict::Touching => vec![almost(
            "the only solids with these views touch themselves along an edge or at a point and would fall apart there",
        )],
        Conflict::Apart => vec![almost(
            "the only solids with these views fall apart into separate pieces",
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
    let keyed = pieces
        .iter()
        .map(|&(view, piece)| ((view, line_of(board, view, piece)), piece))
        .sorted_unstable();
    let mut remarks = Vec::new();
    for ((view, line), group) in &keyed.chunk_by(|(key, _)| *key) {
        let pieces: Vec<Id<Piece>> = group.map(|(_, piece)| piece).collect();
        let stretch = stretch(board, view, &pieces);
        let kind = if board.views()[view.index()].pieces[pieces[0]].hidden {
            "hidden"
        } else {
            "visible"
        };
        remarks.push(Remark {
            kind: RemarkKind::LineWithoutEdge,
            view: Some(view),
            message: format!(
                "no object can have the {kind} line in the {} from {stretch}: \
                 the other two views show no edge that could be seen here",
                view.title()
            ),
            lines: vec![line as usize],
        });
    }
    remarks
}

fn line_of(board: &dyn Board, view: View, piece: Id<Piece>) -> u32 {
    let lines = &board.views()[view.index()].pieces[piece].lines;
    lines.iter().min().copied().unwrap_or(u32::MAX)
}

fn in_conflict(board: &dyn Board, lines: &[DrawnLine]) -> Remark {
    let described: Vec<String> = lines
        .iter()
        .map(|&(view, line)| describe(board, view, line))
        .collect();
    let view = lines.iter().map(|(view, _)| *view).all_equal_value().ok();
    let numbers = lines.iter().map(|(_, line)| *line as usize).collect();
    if let [only] = &described[..] {
        return Remark {
            kind: RemarkKind::LineWithoutEdge,
            view,
            message: format!("no object with the other lines can have {only}"),
            lines: numbers,
        };
    }
    Remark {
        kind: RemarkKind::NotTogether,
        view,
        message: format!(
            "each of these {} lines can be met on its own, but not all of them together: {}",
            described.len(),
            described.join("; ")
        ),
        lines: numbers,
    }
}

/// A line in words: type, view and the stretch it is drawn over.
fn describe(board: &dyn Board, view: View, line: u32) -> String {
    let arrangement = &board.views()[view.index()];
    let pieces: Vec<Id<Piece>> = arrangement
        .pieces
        .ids()
        .filter(|&p| arrangement.pieces[p].lines.contains(&line))
        .collect();
    let hidden = pieces.iter().any(|&p| arrangement.pieces[p].hidden);
    let kind = if hidden { "hidden" } else { "visible" };
    let stretch = stretch(board, view, &pieces);
    format!("the {kind} line in the {} from {stretch}", view.title())
}

/// From where to where some pieces of one straight line run, in sheet coordinates with the unit.
fn stretch(board: &dyn Board, view: View, pieces: &[Id<Piece>]) -> String {
    let arrangement = &board.views()[view.index()];
    let ends = pieces
        .iter()
        .flat_map(|&p| arrangement.pieces[p].ends)
        .map(|n| arrangement.nodes[n].at)
        .minmax_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let Some((from, to)) = ends.into_option() else {
        return String::from("nowhere");
    };
    let [from, to] = [from, to].map(|p| {
        let [x, y] = board.placement().on_sheet(view, [p.x, p.y]);
        format!("({}, {})", rounded(x), rounded(y))
    });
    format!("{from} to {to} {}", board.placement().unit.symbol())
}

/// A coordinate as one reads it off a ruler: at most three decimals.
fn rounded(value: f64) -> f64 {
    (value * 1e3).round() / 1e3
}
