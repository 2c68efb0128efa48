//! What a person may have misunderstood who drew round things wrong.
//!
//! Two mistakes are common: a ring or a rod is drawn round from more than one side, and the lines that a circle shows as
//! from the other sides are left out. Both can be seen on the sheet alone, and are told only of sheets that no object has.

use super::drawn::{in_words, rounded};
use crate::arrange::{Arrangement, Piece};
use crate::geom::P2;
use crate::geom::arena::Id;
use crate::geom::carrier::Carrier;
use crate::sheet::{Remark, RemarkKind, View};
use crate::solve::board::Board;
use itertools::Itertools;

/// How many circles without their lines are named one by one.
const NAMED: usize = 5;

/// Remarks that explain the problems of a contradictory drawing.
pub(super) fn hints(board: &dyn Board, problems: &[Remark]) -> Vec<Remark> {
    let circles: Vec<Circle> = View::ALL
        .into_iter()
        .flat_map(|view| circles_of(&board.views()[view.index()]))
        .collect();
    let mut remarks: Vec<Remark> = round_everywhere(board, &circles, problems)
        .into_iter()
        .collect();
    let lacking = circles.iter().filter_map(|c| without_lines(board, c));
    remarks.extend(lacking.take(NAMED));
    remarks
}

/// A circle that is drawn all the way round.
struct Circle {
    view: View,
    center: P2,
    radius: f64,
    pieces: Vec<Id<Piece>>,
    lines: Vec<usize>,
}

fn circles_of(arrangement: &Arrangement) -> Vec<Circle> {
    let closed = arrangement
        .runs
        .iter()
        .filter(|run| run.nodes.first() == run.nodes.last());
    closed
        .filter_map(|run| {
            let Carrier::Circle { center, radius } = arrangement.carriers[run.carrier? as usize]
            else {
                return None;
            };
            let lines = run
                .pieces
                .iter()
                .flat_map(|&p| &arrangement.pieces[p].lines);
            Some(Circle {
                view: arrangement.view,
                center,
                radius,
                pieces: run.pieces.clone(),
                lines: lines
                    .map(|&l| l as usize)
                    .sorted_unstable()
                    .dedup()
                    .collect(),
            })
        })
        .collect()
}

/// Told if the outlines of two or three views are circles of one size, and one of them is among the lines that do not fit.
fn round_everywhere(board: &dyn Board, circles: &[Circle], problems: &[Remark]) -> Option<Remark> {
    let outlines: Vec<&Circle> = circles.iter().filter(|c| is_outline(board, c)).collect();
    let at_fault = |circle: &Circle| {
        let named = |remark: &Remark| circle.lines.iter().any(|l| remark.lines.contains(l));
        problems.iter().any(named)
    };
    let first = outlines.iter().find(|c| at_fault(c))?;
    let reach = 2.0 * board.tolerance().mm();
    let alike = |c: &&&Circle| (c.radius - first.radius).abs() <= reach;
    let alike: Vec<&&Circle> = outlines.iter().filter(alike).collect();
    if alike.iter().map(|c| c.view).all_equal() {
        return None;
    }
    let views = listed(
        alike
            .iter()
            .map(|c| format!("the {}", c.view.title()))
            .unique()
            .collect(),
    );
    Some(Remark {
        kind: RemarkKind::RoundEverywhere,
        view: None,
        message: format!(
            "the outline is a circle in {views}. A ring or a cylinder looks round from one side only; \
             from the other sides it looks like a rectangle"
        ),
        lines: alike
            .iter()
            .flat_map(|c| c.lines.clone())
            .sorted_unstable()
            .collect(),
    })
}

/// Whether a circle is as large as all that is drawn in its view.
fn is_outline(board: &dyn Board, circle: &Circle) -> bool {
    let reach = 2.0 * board.tolerance().mm();
    let nodes = board.views()[circle.view.index()].nodes.iter();
    let within = |at: P2| (at - circle.center).amax() <= circle.radius + reach;
    nodes.map(|node| node.at).all(within)
}

/// Told if another view has nothing where a circle ends: whatever is round there, bore or rod or ball, has a contour from
/// these places on, seen from the other side.
fn without_lines(board: &dyn Board, circle: &Circle) -> Option<Remark> {
    let others = View::ALL.into_iter().filter(|view| *view != circle.view);
    let lacks: Vec<String> = others
        .filter_map(|other| {
            let places = blank_ends(board, circle, other);
            let lines = ["", "a line", "two lines"][places.len()];
            let at = listed(places);
            (!at.is_empty()).then(|| format!("{lines} in the {} at {at}", other.title()))
        })
        .collect();
    let whose = in_words(board, circle.view, &circle.pieces);
    (!lacks.is_empty()).then(|| Remark {
        kind: RemarkKind::MissingLines,
        view: Some(circle.view),
        message: format!("{whose} needs {} (hidden if it is a hole)", listed(lacks)),
        lines: circle.lines.clone(),
    })
}

/// Where a circle ends along the axis that another view shares with its own, and nothing is drawn there in the other view:
/// at most two places such as `x = 12.5 mm`, as found with a ruler on the sheet.
fn blank_ends(board: &dyn Board, circle: &Circle, other: View) -> Vec<String> {
    let shared = |i: &usize| other.axes().contains(&circle.view.axes()[*i]);
    let own = [0, 1].into_iter().find(shared).unwrap_or(0);
    let along = usize::from(other.axes()[1] == circle.view.axes()[own]);
    let placement = board.placement();
    [-circle.radius, circle.radius]
        .into_iter()
        .map(|off| circle.center[own] + off)
        .filter(|&value| !leaves_from(board, other, along, value))
        .map(|value| {
            let mut at = [0.0; 2];
            at[along] = value;
            let number = rounded(placement.on_sheet(other, at)[along]);
            format!(
                "{} = {number} {}",
                ["x", "y"][along],
                placement.unit.symbol()
            )
        })
        .collect()
}

/// Whether any line of a view leaves from a place along one of its axes, other than along that axis itself.
fn leaves_from(board: &dyn Board, view: View, along: usize, value: f64) -> bool {
    let arrangement = &board.views()[view.index()];
    let reach = 2.0 * board.tolerance().mm();
    arrangement.pieces.iter().any(|piece| {
        let [a, b] = piece.ends.map(|end| arrangement.nodes[end].at);
        let is_level = piece.carrier.is_none() && (a - b)[1 - along].abs() <= reach;
        !is_level && [a, b].iter().any(|p| (p[along] - value).abs() <= reach)
    })
}

/// `a`, `a and b`, `a, b and c`.
fn listed(mut words: Vec<String>) -> String {
    let last = words.pop().unwrap_or_default();
    match words.is_empty() {
        true => last,
        false => format!("{} and {last}", words.join(", ")),
    }
}
