//! What a person may have misunderstood or overlooked.
//!
//! Three mistakes are common: a line is missing, so that others end in the open; a ring or a rod is drawn round from more
//! than one side; and the lines that a circle shows as from the other sides are left out. All can be seen on the sheet alone,
//! and are told only of sheets that no object has.

use super::drawn::{in_words, rounded};
use crate::arrange::{Arrangement, Node, Piece};
use crate::geom::P2;
use crate::geom::arena::Id;
use crate::geom::carrier::Carrier;
use crate::sheet::{Remark, RemarkKind, View};
use crate::solve::board::Board;
use itertools::Itertools;

/// How many circles without their lines are named one by one.
const NAMED: usize = 5;

/// How many open ends of a view are named one by one.
const ENDS_NAMED: usize = 6;

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

/// Remarks on lines that end where no other line is, one for each view with any.
pub(super) fn open_ends(board: &dyn Board) -> impl Iterator<Item = Remark> + '_ {
    let views = board.views().iter();
    views.filter_map(|view| open_ends_of(board, view))
}

fn open_ends_of(board: &dyn Board, view: &Arrangement) -> Option<Remark> {
    let open = open_nodes(board, view);
    let place = |node: &Id<Node>| {
        let at = view.nodes[*node].at;
        let [x, y] = board
            .placement()
            .on_sheet(view.view, [at.x, at.y])
            .map(rounded);
        format!("({x}, {y})")
    };
    let places: Vec<String> = open.iter().take(ENDS_NAMED).map(place).collect();
    let more = match open.len() - places.len() {
        0 => String::new(),
        more => format!(" and in {more} more places"),
    };
    let what = if open.len() == 1 {
        "a line ends"
    } else {
        "lines end"
    };
    let lines = open.iter().flat_map(|&node| lines_at(view, node));
    (!open.is_empty()).then(|| Remark {
        kind: RemarkKind::OpenEnd,
        view: Some(view.view),
        message: format!(
            "{what} in the open in the {} at {} {}{more}; at each of its ends a line must meet another one",
            view.view.title(),
            listed(places),
            board.placement().unit.symbol(),
        ),
        lines: lines.sorted_unstable().dedup().collect(),
    })
}

/// The places where lines end in the open and must not: anywhere on a sheet of flat parts, as lines meet at every corner;
/// else on the outline, which is closed. Inside it a line may end where a round face begins to turn away.
fn open_nodes(board: &dyn Board, view: &Arrangement) -> Vec<Id<Node>> {
    let flat = board.views().iter().all(|view| view.carriers.is_empty());
    let places = || view.nodes.iter().map(|node| node.at);
    let [low, high] = [
        places().reduce(|a, b| a.inf(&b)).unwrap_or_default(),
        places().reduce(|a, b| a.sup(&b)).unwrap_or_default(),
    ];
    let reach = board.tolerance().mm();
    let on_outline = |at: P2| (0..2).any(|k| at[k] - low[k] <= reach || high[k] - at[k] <= reach);
    let loose = view.nodes.ids().filter(|&node| view.is_loose(node));
    loose
        .filter(|&node| flat || on_outline(view.nodes[node].at))
        .collect()
}

/// The sheet's lines that end at a node.
fn lines_at(view: &Arrangement, node: Id<Node>) -> impl Iterator<Item = usize> + '_ {
    let pieces = view
        .pieces
        .iter()
        .filter(move |piece| piece.ends.contains(&node));
    pieces.flat_map(|piece| piece.lines.iter().map(|&line| line as usize))
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

/// Told if the outlines of two views are circles of one size, or of all three and some circle is among the lines that do not
/// fit: a ball is round from every side, and what is wrong with its drawing may be something else.
fn round_everywhere(board: &dyn Board, circles: &[Circle], problems: &[Remark]) -> Option<Remark> {
    let mut outlines: Vec<&Circle> = circles.iter().filter(|c| is_outline(board, c)).collect();
    let reach = 2.0 * board.tolerance().mm();
    let middle = *outlines.get(1)?;
    outlines.retain(|c| (c.radius - middle.radius).abs() <= reach);
    let views: Vec<View> = outlines.iter().map(|c| c.view).dedup().collect();
    let at_fault = |circle: &Circle| {
        let named = |remark: &Remark| circle.lines.iter().any(|l| remark.lines.contains(l));
        problems.iter().any(named)
    };
    let applies = match views.len() {
        2 => problems.iter().any(|remark| !remark.lines.is_empty()),
        3 => circles.iter().any(at_fault),
        _ => false,
    };
    applies.then(|| Remark {
        kind: RemarkKind::RoundEverywhere,
        view: None,
        message: format!(
            "the outline is a circle in {}. A ring or a cylinder looks round from one side only; \
             from the other sides it looks like a rectangle",
            listed(
                views
                    .iter()
                    .map(|view| format!("the {}", view.title()))
                    .collect()
            )
        ),
        lines: outlines
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
