//! The one entry: a sheet in, its verdict and every reading out.

mod ambiguity;
mod candidates;
#[cfg(test)]
mod conflicts;
mod finer;
mod optional;
mod slips;

use candidates::Proven;

pub(crate) use candidates::Candidates;
pub(crate) use finer::{finer_tolerances, imprint_of};

use crate::error::Kind;
use crate::export::findings::{self, problems};
use crate::geom::crowded::CrowdedError;
use crate::geom::tolerance::Tolerance;
use crate::options::{Stage, Unwatched, Watch};
use crate::outcome::{Limit, Outcome, Reading, Verdict};
use crate::sheet::Drawing;
use crate::sheet::views::{self, drawing};
use crate::solve::Model;
use crate::solve::board::Board;
use crate::solve::check::Sound;
use crate::solve::curved::CurvedBoard;
use crate::solve::enumerate::{Answers, Room, enumerate};
use crate::solve::explain::{Conflict, explain};
use crate::solve::flat::FlatBoard;
use crate::{Error, HiddenLines, Options, Remark, RemarkKind, Sheet};

/// Finds every solid that has exactly the three views on a sheet.
///
/// "No solid" and "several solids" are answers, not errors. Every reading is drawn again by code that shares nothing
/// with the search and must give back the sheet. The same sheet and options give the same outcome, bit for bit.
///
/// # Errors
/// If the lines cannot be told apart into three views that line up, or if a self-check of the engine fails
/// ([`Error::is_internal`]).
///
/// # Examples
/// ```
/// use foldback::{Line, LineType, Options, Shape, Sheet, Verdict, View, reconstruct};
///
/// // A block 40 mm wide, 20 mm deep and 30 mm high, the views half an inch apart.
/// let mut sheet = Sheet::default();
/// for (view, [x, y], [w, h]) in [
///     (View::Front, [0.0, 0.0], [40.0, 30.0]),
///     (View::Top, [0.0, 42.7], [40.0, 20.0]),
///     (View::Right, [52.7, 0.0], [20.0, 30.0]),
/// ] {
///     sheet.lines.push(Line {
///         view: Some(view),
///         line_type: LineType::Visible,
///         shape: Shape::Polyline(vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h], [x, y]]),
///     });
/// }
/// let outcome = reconstruct(&sheet, &Options::default())?;
/// assert_eq!(outcome.verdict, Verdict::Unique);
/// assert!((outcome.readings[0].measures.volume_mm3 - 24_000.0).abs() < 1e-6);
///
/// // Without its right-side view it is no sheet.
/// sheet.lines.pop();
/// assert!(reconstruct(&sheet, &Options::default()).is_err());
/// # Ok::<(), foldback::Error>(())
/// ```
pub fn reconstruct(sheet: &Sheet, options: &Options) -> Result<Outcome, Error> {
    reconstruct_watched(sheet, options, &Unwatched)
}

/// Like [`reconstruct`], told of each stage and stopped when the watcher says so.
///
/// # Errors
/// As [`reconstruct`]. Being stopped is no error: the outcome says so.
pub fn reconstruct_watched(
    sheet: &Sheet,
    options: &Options,
    watch: &dyn Watch,
) -> Result<Outcome, Error> {
    watch.stage(Stage::Views);
    let usual = drawing(sheet, options);
    let finer_first =
        matches!(&usual, Ok(drawing) if finer::takes_places_for_one(drawing, sheet, options));
    if finer_first
        && let Ok(drawing) = &usual
        && let Some(outcome) = finer::within_finer(sheet, options, (drawing, None), watch)
    {
        return Ok(outcome);
    }
    // Most sheets show at once which curves there may be.
    let at_first = |drawing: Drawing| Drawing {
        all_curves: !drawing.is_round(),
        ..drawing
    };
    let first = usual.and_then(|drawing| attempt_on(at_first(drawing), options, watch));
    let (first, imprint) = match first {
        Ok((outcome, imprint)) => (Ok(outcome), imprint),
        Err(error) => (Err(error), None),
    };
    // On an inaccurate sheet places may be taken apart so that a solid is found but fails its proof.
    let unsolved = match &first {
        Ok(outcome) => match outcome.verdict {
            Verdict::Contradictory => outcome.complete(),
            _ => outcome.stopped_by == Some(Limit::Depths),
        },
        Err(_) => true,
    };
    if !unsolved {
        return first;
    }
    if !finer_first
        && let Ok(usual) = drawing(sheet, options)
        && let Some(outcome) = finer::within_finer(sheet, options, (&usual, imprint), watch)
    {
        return Ok(outcome);
    }
    if (first.is_err() || may_be_inaccurate(sheet, options))
        && let Some(inaccurate) = within_wider(sheet, options, watch)
    {
        return Ok(inaccurate);
    }
    let mut outcome = first?;
    if options.explain {
        // What is wrong with a whole view explains the single lines that do not fit.
        let slips = slips::slips(sheet, options, watch);
        outcome.problems.splice(0..0, slips);
    }
    Ok(outcome)
}

/// Drawn by hand, a sheet may be off by more than the tolerance that suits a drawing program: its readings within a wider
/// one, unless the user gave one. The narrowest that gives any counts: what is wider than needed takes places for one that
/// are not.
fn within_wider(sheet: &Sheet, options: &Options, watch: &dyn Watch) -> Option<Outcome> {
    let found = |tolerance| within(tolerance, sheet, options, watch);
    let (mut outcome, wider) = wider_tolerances(sheet, options)
        .into_iter()
        .find_map(found)?;
    outcome.warnings.insert(0, inaccurate(sheet, &wider));
    Some(outcome)
}

/// The wider tolerances in millimetres that are tried one after the other; none if the user gave one.
pub(crate) fn wider_tolerances(sheet: &Sheet, options: &Options) -> Vec<f64> {
    let widest = match options.tolerance_mm {
        Some(_) => None,
        None => views::wide_tolerance(sheet, options),
    };
    let tolerances = widest.map(|widest| WIDENING.map(|share| widest * share));
    tolerances.into_iter().flatten().collect()
}

/// The same, as shares of the widest.
const WIDENING: [f64; 4] = [0.5, 2.0 / 3.0, 5.0 / 6.0, 1.0];

/// Whether a wider tolerance may tell more: the places of the sheet miss each other by more than a small part of the default
/// one, or the widest takes further places for one.
pub(crate) fn may_be_inaccurate(sheet: &Sheet, options: &Options) -> bool {
    let within = |tolerance_mm| {
        let options = Options {
            tolerance_mm,
            ..options.clone()
        };
        drawing(sheet, &options)
    };
    let widest = views::wide_tolerance(sheet, options);
    match (within(options.tolerance_mm), within(widest)) {
        (Ok(strict), Ok(wide)) => {
            strict.noise > ACCURATE * strict.tolerance.mm() || !strict.has_the_places_of(&wide)
        }
        _ => true,
    }
}

/// The share of the tolerance by which the places of an accurate drawing miss each other at most.
const ACCURATE: f64 = 0.05;

/// The readings within a tolerance in millimetres, if there are any, and the options they were found with.
fn within(
    tolerance: f64,
    sheet: &Sheet,
    options: &Options,
    watch: &dyn Watch,
) -> Option<(Outcome, Options)> {
    let changed = Options {
        tolerance_mm: Some(tolerance),
        explain: false,
        ..options.clone()
    };
    let mut outcome = attempt(sheet, &changed, watch).ok()?;
    if outcome.readings.is_empty() {
        return None;
    }
    if options.explain && outcome.verdict == Verdict::Ambiguous {
        let explained = Options {
            explain: true,
            ..changed.clone()
        };
        outcome = attempt(sheet, &explained, watch).ok()?;
    }
    Some((outcome, changed))
}

/// What to say of a sheet that is only right within a wide tolerance.
fn inaccurate(sheet: &Sheet, options: &Options) -> Remark {
    let apart = sheet.unit.show(options.tolerance_mm.unwrap_or_default());
    Remark {
        kind: RemarkKind::Inaccurate,
        view: None,
        message: format!(
            "the lines fit together only if places up to {apart} apart are taken as one; draw them more accurately"
        ),
        lines: Vec::new(),
    }
}

/// One run with one tolerance.
///
/// # Errors
/// As [`reconstruct`].
pub(crate) fn attempt(
    sheet: &Sheet,
    options: &Options,
    watch: &dyn Watch,
) -> Result<Outcome, Error> {
    watch.stage(Stage::Views);
    Ok(attempt_on(drawing(sheet, options)?, options, watch)?.0)
}

/// An outcome, and the imprint of the candidates if they have no reading.
type Attempted = (Outcome, Option<u64>);

/// The same, once the views are known.
fn attempt_on(drawing: Drawing, options: &Options, watch: &dyn Watch) -> Result<Attempted, Error> {
    if !drawing.problems.is_empty() {
        return Ok((outcome(&drawing, Vec::new(), None), None));
    }
    if options.hidden_lines == HiddenLines::Optional {
        return Ok((optional::answer(&drawing, options, watch)?, None));
    }
    if drawing.is_curved() {
        answer::<CurvedBoard>(&drawing, options, watch)
    } else {
        answer::<FlatBoard>(&drawing, options, watch)
    }
}

fn answer<C: Candidates>(
    drawing: &Drawing,
    options: &Options,
    watch: &dyn Watch,
) -> Result<Attempted, Error> {
    let searched = search::<C>(drawing, options, watch).map_err(Kind::from)?;
    if !drawing.all_curves
        && let Some(all) = with_more_edges(drawing, searched.as_ref())
    {
        return answer::<C>(&all, options, watch);
    }
    let Some(searched) = searched else {
        return Ok((outcome(drawing, Vec::new(), None), None));
    };
    let Searched {
        board,
        answers,
        proven,
    } = searched;
    let readings = proven.first(answers.models.len()).map_err(Kind::from)?;
    let mut outcome = outcome(drawing, readings, answers.stopped_by);
    if outcome.verdict == Verdict::Ambiguous && options.explain {
        ambiguity::explain(&board, drawing, &answers, watch, &mut outcome);
    }
    if outcome.verdict == Verdict::Contradictory && options.explain {
        contradiction(&board, &|_, _| false, &answers, watch, &mut outcome);
    }
    let in_vain = outcome.verdict == Verdict::Contradictory && outcome.complete();
    let is_exact = drawing.tolerance.with_noise(drawing.noise).is_none();
    let imprint = (in_vain && is_exact && drawing.is_curved()).then(|| finer::imprint(&board));
    Ok((outcome, imprint))
}

/// A drawing of straight lines and circles for a search for all curves, if one without found nothing and lacked edges.
///
/// Two surfaces that meet in neither lines nor circles show that in some view: of the cylinders over the three views of a curve
/// of the fourth degree one is a hyperbola's. What is flatter than the tolerance may be drawn straight all the same.
fn with_more_edges<C: Candidates>(
    drawing: &Drawing,
    searched: Option<&Searched<C>>,
) -> Option<Drawing> {
    let in_vain = |searched: &Searched<C>| {
        let nothing = searched.answers.models.is_empty() || searched.proven.has_failed();
        nothing && searched.answers.stopped_by.is_none()
    };
    if !searched.is_none_or(in_vain) {
        return None;
    }
    let all = Drawing {
        all_curves: true,
        ..drawing.clone()
    };
    let has_more = searched.is_none_or(|Searched { board, .. }| {
        C::lift(&all, board.tolerance()).is_ok_and(|lifted| !board.is_on(&lifted))
    });
    has_more.then_some(all)
}

/// Candidates, the answers among them, and the readings that these are.
struct Searched<C> {
    board: C,
    answers: Answers,
    proven: Proven,
}

/// All answers; none if there cannot be any and nobody asks why. On a drawing that is a little inaccurate, slanting faces
/// may need more slack than the tolerance: they get it if nothing is found without.
fn search<C: Candidates>(
    drawing: &Drawing,
    options: &Options,
    watch: &dyn Watch,
) -> Result<Option<Searched<C>>, CrowdedError> {
    let found = |search: &Option<Searched<C>>| {
        let answers = search.as_ref().map(|searched| &searched.answers);
        answers.is_some_and(|a| !a.models.is_empty() || a.stopped_by.is_some())
    };
    let strict = search_within::<C>(drawing, drawing.tolerance, options, watch)?;
    let slack = drawing.tolerance.with_noise(drawing.noise);
    let Some(slack) = slack.filter(|_| !found(&strict)) else {
        return Ok(strict);
    };
    let slack = search_within::<C>(drawing, slack, options, watch)?;
    Ok(if found(&slack) { slack } else { strict })
}

fn search_within<C: Candidates>(
    drawing: &Drawing,
    tolerance: Tolerance,
    options: &Options,
    watch: &dyn Watch,
) -> Result<Option<Searched<C>>, CrowdedError> {
    watch.stage(Stage::Edges);
    let lifted = C::lift(drawing, tolerance)?;
    if !options.explain && C::is_hopeless(&lifted, tolerance, &|_| true) {
        return Ok(None);
    }
    watch.stage(Stage::Faces);
    let board = C::on(lifted, drawing, tolerance, options)?;
    watch.stage(Stage::Search(0));
    let mut proven = Proven::new();
    let mut prove = |place: usize, model: &Model, sound: &Sound| {
        proven.take(place, || {
            board.reading(drawing, options.hidden_lines, model, sound)
        })
    };
    let answers = enumerate(&board, options.reading_limit, &mut prove, watch);
    Ok(Some(Searched {
        board,
        answers,
        proven,
    }))
}

fn outcome(drawing: &Drawing, readings: Vec<Reading>, stopped_by: Option<Limit>) -> Outcome {
    let verdict = match (readings.len(), stopped_by) {
        (2.., _) => Verdict::Ambiguous,
        (_, Some(_)) => Verdict::Undecided,
        (1, None) => Verdict::Unique,
        (0, None) => Verdict::Contradictory,
    };
    Outcome {
        verdict,
        projection: drawing.projection,
        stopped_by,
        readings_total: ambiguity::listed(&readings, stopped_by.is_none()),
        readings,
        warnings: drawing.warnings.clone(),
        problems: drawing.problems.clone(),
        conflict: Vec::new(),
        places: Vec::new(),
        examples: Vec::new(),
        settled_by: None,
        further_views: Vec::new(),
    }
}

/// Adds what is wrong. If the time was up before that was known, the verdict stands without it.
fn contradiction(
    board: &dyn Board,
    room: Room<'_>,
    answers: &Answers,
    watch: &dyn Watch,
    outcome: &mut Outcome,
) {
    let conflict = explain(board, room, answers, watch);
    if conflict == Conflict::Stopped {
        outcome.stopped_by = Some(Limit::Stopped);
    }
    outcome.problems = problems(board, &conflict);
    outcome.conflict = findings::conflict(board, &conflict);
}
