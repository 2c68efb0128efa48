//! The one entry: a sheet in, its verdict and every reading out.

mod ambiguity;
#[cfg(test)]
mod conflicts;
mod optional;
mod slips;

use crate::arrange::split::arrange;
use crate::error::{InternalError, Kind};
use crate::export::findings::{self, problems};
use crate::face::Faces;
use crate::face::curved::CurvedFaces;
use crate::geom::crowded::CrowdedError;
use crate::geom::tolerance::Tolerance;
use crate::options::{Stage, Unwatched, Watch};
use crate::outcome::{Limit, Outcome, Reading, Verdict};
use crate::sheet::Drawing;
use crate::sheet::views::{self, drawing};
use crate::solid::build::build;
use crate::solid::check;
use crate::solid::curved;
use crate::solid::measure::measure;
use crate::solid::verify::{Difference, gives_back};
use crate::solid::{Body, Solid};
use crate::solve::Model;
use crate::solve::board::Board;
use crate::solve::check::Sound;
use crate::solve::curved::CurvedBoard;
use crate::solve::enumerate::{Answers, Room, enumerate};
use crate::solve::explain::{Conflict, explain};
use crate::solve::flat::FlatBoard;
use crate::wireframe::Wireframe;
use crate::wireframe::curved::CurvedWireframe;
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
    let first = attempt(sheet, options, watch);
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
    if let Some(inaccurate) = within_wider(sheet, options, watch) {
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
    if options.tolerance_mm.is_some() {
        return None;
    }
    let widest = views::wide_tolerance(sheet, options)?;
    let mut tolerances = WIDENING.iter().map(|share| widest * share);
    tolerances.find_map(|tolerance| within(tolerance, sheet, options, watch))
}

/// The wider tolerances that are tried one after the other, as shares of the widest.
const WIDENING: [f64; 4] = [0.5, 2.0 / 3.0, 5.0 / 6.0, 1.0];

/// The readings within a tolerance in millimetres, if there are any.
fn within(tolerance: f64, sheet: &Sheet, options: &Options, watch: &dyn Watch) -> Option<Outcome> {
    let wider = Options {
        tolerance_mm: Some(tolerance),
        explain: false,
        ..options.clone()
    };
    let mut outcome = attempt(sheet, &wider, watch).ok()?;
    if outcome.readings.is_empty() {
        return None;
    }
    if options.explain && outcome.verdict == Verdict::Ambiguous {
        let explained = Options {
            explain: true,
            ..wider.clone()
        };
        outcome = attempt(sheet, &explained, watch).ok()?;
    }
    outcome.warnings.insert(0, inaccurate(sheet, &wider));
    Some(outcome)
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
    let drawing = drawing(sheet, options)?;
    if !drawing.problems.is_empty() {
        return Ok(outcome(&drawing, Vec::new(), None));
    }
    if options.hidden_lines == HiddenLines::Optional {
        return optional::answer(&drawing, options, watch);
    }
    if drawing.is_curved() {
        answer::<CurvedBoard>(drawing, options, watch)
    } else {
        answer::<FlatBoard>(drawing, options, watch)
    }
}

/// A kind of candidates: how to find them in a drawing, and how to make a reading of a choice among them.
pub(crate) trait Candidates: Board + Sized {
    /// Every vertex, edge and face that the views allow.
    fn find(
        drawing: &Drawing,
        tolerance: Tolerance,
        options: &Options,
        watch: &dyn Watch,
    ) -> Result<Self, CrowdedError>;

    /// Builds an answer's solid and proves it: it must be sound and give back the drawing.
    fn reading(
        &self,
        drawing: &Drawing,
        hidden_lines: HiddenLines,
        model: &Model,
        sound: &Sound,
    ) -> Result<Reading, InternalError>;
}

fn answer<C: Candidates>(
    drawing: Drawing,
    options: &Options,
    watch: &dyn Watch,
) -> Result<Outcome, Error> {
    let (board, answers) = search::<C>(&drawing, options, watch).map_err(Kind::from)?;
    let readings = answers
        .models
        .iter()
        .map(|(model, sound)| board.reading(&drawing, options.hidden_lines, model, sound))
        .collect::<Result<Vec<_>, InternalError>>()
        .map_err(Kind::from)?;
    let mut outcome = outcome(&drawing, readings, answers.stopped_by);
    if outcome.verdict == Verdict::Contradictory && options.explain {
        contradiction(&board, &|_, _| false, &answers, watch, &mut outcome);
    }
    if outcome.verdict == Verdict::Ambiguous && options.explain {
        ambiguity::explain(&board, &drawing, &answers, watch, &mut outcome);
    }
    Ok(outcome)
}

/// All answers. On a drawing that is a little inaccurate, slanting faces may need more slack than the tolerance: they get
/// it if nothing is found without.
fn search<C: Candidates>(
    drawing: &Drawing,
    options: &Options,
    watch: &dyn Watch,
) -> Result<(C, Answers), CrowdedError> {
    let strict = search_within::<C>(drawing, drawing.tolerance, options, watch)?;
    let found = !strict.1.models.is_empty() || strict.1.stopped_by.is_some();
    let Some(slack) = drawing
        .tolerance
        .with_noise(drawing.noise)
        .filter(|_| !found)
    else {
        return Ok(strict);
    };
    let slack = search_within::<C>(drawing, slack, options, watch)?;
    Ok(if slack.1.models.is_empty() {
        strict
    } else {
        slack
    })
}

fn search_within<C: Candidates>(
    drawing: &Drawing,
    tolerance: Tolerance,
    options: &Options,
    watch: &dyn Watch,
) -> Result<(C, Answers), CrowdedError> {
    let board = C::find(drawing, tolerance, options, watch)?;
    watch.stage(Stage::Search(0));
    let answers = enumerate(&board, options.reading_limit, watch);
    Ok((board, answers))
}

impl Candidates for FlatBoard {
    fn find(
        drawing: &Drawing,
        tolerance: Tolerance,
        _: &Options,
        watch: &dyn Watch,
    ) -> Result<Self, CrowdedError> {
        watch.stage(Stage::Edges);
        let (mut views, mut axes) = arrange(drawing)?;
        let wireframe = Wireframe::build(&mut views, &mut axes, tolerance)?;
        watch.stage(Stage::Faces);
        let faces = Faces::build(&wireframe, tolerance)?;
        Ok(FlatBoard::new(
            views,
            wireframe,
            faces,
            drawing.placement(),
            tolerance,
        ))
    }

    fn reading(
        &self,
        drawing: &Drawing,
        hidden_lines: HiddenLines,
        model: &Model,
        sound: &Sound,
    ) -> Result<Reading, InternalError> {
        let solid = build(self, model, sound);
        if let Some(defect) = check::first(&solid, self.tolerance.all_slack()) {
            return Err(InternalError::NotSound {
                defect: defect.to_string(),
            });
        }
        gives_back(&solid, drawing, hidden_lines)
            .map_err(|difference| not_given_back(drawing, &difference))?;
        let measures = measure(&solid);
        Ok(Reading {
            solid: Solid {
                body: Body::Flat(solid),
            },
            measures,
            left_out: Vec::new(),
        })
    }
}

impl Candidates for CurvedBoard {
    fn find(
        drawing: &Drawing,
        tolerance: Tolerance,
        options: &Options,
        watch: &dyn Watch,
    ) -> Result<Self, CrowdedError> {
        watch.stage(Stage::Edges);
        let (mut views, mut axes) = arrange(drawing)?;
        let wireframe = CurvedWireframe::build(&mut views, &mut axes, tolerance)?;
        watch.stage(Stage::Faces);
        let faces = CurvedFaces::build(&wireframe, tolerance);
        Ok(CurvedBoard::new(
            views,
            wireframe,
            faces,
            drawing.placement(),
            tolerance,
            options.tangent_edges,
        ))
    }

    fn reading(
        &self,
        drawing: &Drawing,
        hidden_lines: HiddenLines,
        model: &Model,
        sound: &Sound,
    ) -> Result<Reading, InternalError> {
        let solid = curved::build::build(self, model, sound);
        if let Some(defect) = curved::check::first(&solid, self.tolerance.all_slack()) {
            return Err(InternalError::NotSound {
                defect: defect.to_string(),
            });
        }
        curved::verify::gives_back(&solid, drawing, self.tangent_edges(), hidden_lines)
            .map_err(|difference| not_given_back(drawing, &difference))?;
        let measures = curved::measure::measure(&solid);
        Ok(Reading {
            solid: Solid {
                body: Body::Curved(solid),
            },
            measures,
            left_out: Vec::new(),
        })
    }
}

fn not_given_back(drawing: &Drawing, difference: &Difference) -> InternalError {
    let [x, y] = drawing.on_sheet(difference.view, difference.at);
    InternalError::NotGivenBack {
        view: difference.view.title(),
        x,
        y,
        unit: drawing.unit.symbol(),
    }
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
