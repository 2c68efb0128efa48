//! Sheets on which hidden lines may be left out.
//!
//! Every line that may be missing is drawn in as room for a hidden line: the lines that two views ask for and the third lacks,
//! and those that follow if an edge shown by one view only lies at any height, width or depth that occurs on the sheet. In
//! that room a hidden line is drawn or not, as the solid will have it.

use super::candidates::Proven;
use super::{Candidates, contradiction, outcome};
use crate::arrange::Piece;
use crate::error::Kind;
use crate::export::stretch::stretches;
use crate::face::Leaf;
use crate::geom::arena::Id;
use crate::mend::widen::{FRESH, with_hidden_room};
use crate::options::Watch;
use crate::outcome::{Limit, Outcome, Stretch};
use crate::sheet::Drawing;
use crate::solve::Model;
use crate::solve::board::{Board, Crossing, Spot};
use crate::solve::check::Sound;
use crate::solve::curved::CurvedBoard;
use crate::solve::enumerate::enumerate_with_room;
use crate::solve::flat::FlatBoard;
use crate::wireframe::Edge;
use crate::{Error, Options, Remark, RemarkKind, Stage, Verdict, View};

/// Every solid that has the visible lines of a drawing, its hidden lines, and perhaps more hidden lines.
///
/// # Errors
/// If there are too many lines or places, or if a self-check fails.
pub(super) fn answer(
    drawing: &Drawing,
    options: &Options,
    watch: &dyn Watch,
) -> Result<Outcome, Error> {
    // Curves that are not drawn may be among what is left out.
    let wide = Drawing {
        all_curves: true,
        ..with_hidden_room(drawing).map_err(Kind::from)?
    };
    if drawing.is_curved() {
        within::<CurvedBoard>(drawing, &wide, options, watch)
    } else {
        within::<FlatBoard>(drawing, &wide, options, watch)
    }
}

fn within<C: Candidates>(
    drawing: &Drawing,
    wide: &Drawing,
    options: &Options,
    watch: &dyn Watch,
) -> Result<Outcome, Error> {
    let board = C::find(wide, wide.tolerance, options, watch).map_err(Kind::from)?;
    watch.stage(Stage::Search(0));
    let room = |view: View, piece: Id<Piece>| is_room(&board, view, piece);
    let mut proven = Proven::new();
    let mut prove = |place: usize, model: &Model, sound: &Sound| {
        proven.take(place, || {
            let mut reading = board.reading(drawing, options.hidden_lines, model, sound)?;
            reading.left_out = left_out(&board, model);
            Ok(reading)
        })
    };
    let answers = enumerate_with_room(&board, &room, (options.reading_limit, &mut prove), watch);
    let readings = proven.first(answers.models.len()).map_err(Kind::from)?;
    let mut outcome = outcome(drawing, readings, answers.stopped_by);
    if outcome.verdict == Verdict::Contradictory {
        if options.explain {
            contradiction(&board, &room, &answers, watch, &mut outcome);
            only_drawn(&mut outcome);
        }
        // A depth that no line shows is looked for nowhere.
        outcome.verdict = Verdict::Undecided;
        outcome.stopped_by.get_or_insert(Limit::Depths);
    } else if outcome.readings.iter().any(|r| !r.left_out.is_empty()) {
        outcome.warnings.push(Remark {
            kind: RemarkKind::LinesLeftOut,
            view: None,
            message: "hidden lines are left out; only objects were looked for whose every height, width and depth occurs on \
                      the sheet, and whose sloping edges show in some view how they slope"
                .to_owned(),
            lines: Vec::new(),
        });
    }
    Ok(outcome)
}

/// Leaves out of what is said to be wrong the lines that are merely room, and that lines are missing: they may be.
fn only_drawn(outcome: &mut Outcome) {
    let may_be = |kind| matches!(kind, RemarkKind::MissingLines | RemarkKind::OpenEnd);
    outcome.problems.retain(|remark| !may_be(remark.kind));
    for stretch in &mut outcome.conflict {
        stretch.lines.retain(|line| *line != FRESH as usize);
    }
}

/// Whether nothing is drawn at a piece.
fn is_room(board: &dyn Board, view: View, piece: Id<Piece>) -> bool {
    let piece = &board.views()[view.index()].pieces[piece];
    piece.lines.iter().all(|line| *line == FRESH)
}

/// The hidden lines of a choice of regions on which nothing is drawn.
fn left_out(board: &dyn Board, model: &Model) -> Vec<Stretch> {
    let mut all = Vec::new();
    for view in View::ALL {
        let mut pieces = Vec::new();
        for number in 0..board.spot_count(view) {
            let spot = Spot { view, number };
            let over = board.edges_over(spot);
            if is_room(board, view, board.piece(spot))
                && over.iter().any(|e| is_drawn(board, model, *e, view))
            {
                pieces.push(board.piece(spot));
            }
        }
        all.extend(stretches(board, view, &pieces));
    }
    for stretch in &mut all {
        stretch.lines.clear();
    }
    all
}

/// Whether a view shows an edge of the solid that a choice of regions makes.
fn is_drawn(board: &dyn Board, model: &Model, edge: Id<Edge>, view: View) -> bool {
    let around = board.around(edge);
    let present = |leaf: &&Leaf| model[leaf.region.ix()].is_some();
    let here: Vec<&Leaf> = around.iter().filter(present).collect();
    let [one, other] = here[..] else {
        return !here.is_empty();
    };
    let is_other = |place: &u32| std::ptr::eq(&raw const around[*place as usize], other);
    !one.across.iter().any(is_other)
        || matches!(
            board.crossing(edge, [one, other], view),
            Crossing::Contour | Crossing::Tangent
        )
}
