//! Drawn by a program, a sheet with round parts may have places nearer to each other than the tolerance, where contours end
//! beside other lines. A finer tolerance tells them apart. Most sheets have none: their candidates are the same.

use super::{Candidates, within};
use crate::geom::arena::Id;
use crate::options::Watch;
use crate::outcome::Outcome;
use crate::sheet::views::drawing;
use crate::sheet::{Drawing, View};
use crate::solve::board::{Board, Spot};
use crate::solve::curved::CurvedBoard;
use crate::{Options, Sheet};
use itertools::iproduct;
use std::hash::{DefaultHasher, Hash, Hasher};

/// The finer tolerances that are tried one after the other, as shares of the one that suits the size of the sheet: what
/// programs write is more exact still.
const FINER: [f64; 2] = [0.2, 0.05];

/// Beyond these, two for contours that leave another line so smoothly that they stay beside it for long. For that places must
/// be written as exactly, so mends do not try them.
const FINEST: [f64; 2] = [0.01, 0.002];

/// Whether a drawing with curves has places that its tolerance takes for one although they are drawn apart.
pub(super) fn takes_places_for_one(usual: &Drawing, sheet: &Sheet, options: &Options) -> bool {
    let finest = Options {
        tolerance_mm: Some(usual.tolerance.mm() * FINEST[0]),
        ..options.clone()
    };
    let is_apart = |finer: Drawing| !finer.has_the_places_of(usual);
    options.tolerance_mm.is_none()
        && usual.is_curved()
        && drawing(sheet, &finest).is_ok_and(is_apart)
}

/// The readings within a finer tolerance, unless the user gave one. `usual` is the drawing within the usual tolerance, with the
/// imprint of its candidates if they are known to have no reading.
pub(super) fn within_finer(
    sheet: &Sheet,
    options: &Options,
    usual: (&Drawing, Option<u64>),
    watch: &dyn Watch,
) -> Option<Outcome> {
    let shares = [FINER, FINEST].concat();
    let tolerances = tolerances((sheet, options), usual, &shares, watch);
    let found = |t: f64| within(t, sheet, options, watch);
    let (outcome, _) = tolerances.into_iter().find_map(found)?;
    Some(outcome)
}

/// The finer tolerances in millimetres that may give a sheet other candidates than the usual one, given with its drawing and
/// the imprint of its candidates if that is known.
pub(crate) fn finer_tolerances(
    sheet: &Sheet,
    options: &Options,
    usual: (&Drawing, Option<u64>),
    watch: &dyn Watch,
) -> Vec<f64> {
    tolerances((sheet, options), usual, &FINER, watch)
}

/// The tolerances that are these shares of the usual one, in millimetres; none if the last has the candidates of the imprint.
fn tolerances(
    (sheet, options): (&Sheet, &Options),
    (drawing, imprint): (&Drawing, Option<u64>),
    shares: &[f64],
    watch: &dyn Watch,
) -> Vec<f64> {
    if options.tolerance_mm.is_some() || !drawing.is_curved() || !drawing.problems.is_empty() {
        return Vec::new();
    }
    let tolerances: Vec<f64> = (shares.iter())
        .map(|share| drawing.tolerance.mm() * share)
        .collect();
    let finest = Options {
        tolerance_mm: tolerances.last().copied(),
        ..options.clone()
    };
    match imprint {
        Some(_) if imprint == imprint_of(sheet, &finest, watch) => Vec::new(),
        _ => tolerances,
    }
}

/// The imprint of the candidates that a sheet with curves has.
pub(crate) fn imprint_of(sheet: &Sheet, options: &Options, watch: &dyn Watch) -> Option<u64> {
    let drawing = drawing(sheet, options).ok()?;
    let board = CurvedBoard::find(&drawing, drawing.tolerance, options, watch).ok()?;
    Some(imprint(&board))
}

/// A number for all that the search asks about candidates: what borders what, what is drawn where and what covers it. Where
/// they lie exactly is not in it.
pub(super) fn imprint(board: &dyn Board) -> u64 {
    let mut hasher = DefaultHasher::new();
    let regions = (0..board.region_count()).map(Id::new);
    regions.for_each(|r| board.borders(r).hash(&mut hasher));
    for edge in (0..board.edge_count()).map(Id::new) {
        let leaves = board.around(edge);
        (board.ends(edge), leaves.len()).hash(&mut hasher);
        for leaf in leaves {
            (leaf.region, leaf.front_after, &leaf.across).hash(&mut hasher);
            for (view, &other) in iproduct!(View::ALL, &leaf.across) {
                let pair = [leaf, &leaves[other as usize]];
                board.crossing(edge, pair, view).hash(&mut hasher);
            }
        }
    }
    for view in View::ALL {
        let pieces = board.views()[view.index()].pieces.iter();
        pieces.for_each(|p| (p.ends, p.hidden).hash(&mut hasher));
        board.blank(view).hash(&mut hasher);
        for number in 0..board.spot_count(view) {
            let spot = Spot { view, number };
            let over = (board.edges_over(spot), board.regions_over(spot));
            (board.piece(spot), over).hash(&mut hasher);
            for (&edge, &region) in iproduct!(over.0, over.1) {
                let nearer = board.region_nearness(spot, region) > board.edge_nearness(spot, edge);
                nearer.hash(&mut hasher);
            }
        }
    }
    board.sights(&mut |met| met.iter().for_each(|s| s.hash(&mut hasher)));
    hasher.finish()
}
