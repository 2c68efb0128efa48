//! Lines to add that are tried one by one, alone or together with a change of what is drawn, on sheets with curves above all.

use super::fewest::Fewest;
use super::trials::{self, Bare, Trial};
use super::widen::FRESH;
use super::{Bench, Draft, Ended};
use crate::arrange::Piece;
use crate::outcome::{Action, Change};
use crate::reconstruct::Candidates;
use crate::sheet::Drawing;
use crate::sheet::views::{drawing, drawings_otherwise};
use crate::{Limit, Line, LineType, Options, Sheet};
use rustc_hash::FxHashSet;
use std::iter::once;
use std::slice;

/// Lines no less likely than this are tried even if a change was found.
const LIKELY: usize = 1;

impl Bench<'_> {
    /// Searches for one change of a drawing with curves.
    ///
    /// Lines to add may cut up the surfaces of one another, so that together they hide what each would show: the drawn
    /// lines are looked at alone first, then the likeliest of the others together, in `wide`, and one by one.
    pub(super) fn one_by_curves<C: Candidates>(
        &mut self,
        drawing: &Drawing,
        wide: &Draft<'_>,
        among_wide: &mut Fewest<'_>,
    ) -> Result<(), Ended> {
        let tolerance = drawing.tolerance;
        let board: C = self.candidates(drawing, tolerance)?;
        self.search_drawn(drawing, &board)?;
        self.search(wide, among_wide, 1..=1)?;
        let otherwise = drawings_otherwise(self.sheet, self.options);
        let drawings: Vec<&Drawing> = [drawing].into_iter().chain(&otherwise).collect();
        // Those as likely as each other are tried together, the less likely only if nothing was found.
        let trials = trials::around_curves(&drawings, &Bare::all(&board))?;
        let mut groups = trials.chunk_by(|a, b| a.unlikely == b.unlikely);
        groups.try_for_each(|group| {
            match self.mends.is_empty() || group[0].unlikely <= LIKELY {
                true => self.try_all::<C>(drawing, group),
                false => Ok(()),
            }
        })?;
        match tolerance.with_noise(drawing.noise) {
            Some(slack) if self.mends.is_empty() => {
                let board: C = self.candidates(drawing, slack)?;
                self.search_drawn(drawing, &board)
            }
            _ => Ok(()),
        }
    }

    /// Tries lines one by one, each laid out on the drawing, so that the search says how it is drawn.
    pub(super) fn try_all<C: Candidates>(
        &mut self,
        drawing: &Drawing,
        trials: &[Trial],
    ) -> Result<(), Ended> {
        for trial in trials {
            if !self.watch.keep_going() {
                return Err(Ended::Early(Limit::Stopped));
            }
            match laid_out(self.sheet, self.options, drawing, slice::from_ref(trial)) {
                Some(laid) => self.one_among::<C>(&laid)?,
                None => self.try_both(trial)?,
            }
        }
        Ok(())
    }

    /// Searches for one change of a drawing in which a line is laid out.
    fn one_among<C: Candidates>(&mut self, laid: &Drawing) -> Result<(), Ended> {
        let before = self.mends.len();
        let slack = laid.tolerance.with_noise(laid.noise);
        for tolerance in once(laid.tolerance).chain(slack) {
            let Ok(lifted) = C::lift(laid, tolerance) else {
                continue;
            };
            // Drawn line that nothing lies over needs a change as well.
            let is_drawn = |piece: &Piece| piece.lines.iter().any(|line| *line != FRESH);
            if C::is_hopeless(&lifted, tolerance, &is_drawn) {
                continue;
            }
            if let Ok(board) = C::on(lifted, laid, tolerance, self.options) {
                self.search_drawn(laid, &board)?;
            }
            if self.mends.len() > before {
                break;
            }
        }
        Ok(())
    }

    /// Tries a line that is drawn as one with others of its type, as a visible and as a hidden one.
    fn try_both(&mut self, trial: &Trial) -> Result<(), Ended> {
        for line_type in [LineType::Visible, LineType::Hidden] {
            let sheet = with_lines(self.sheet, slice::from_ref(trial), line_type);
            let change = Change {
                action: Action::Add,
                view: trial.view,
                line_type,
                shape: trial.shape.clone(),
                lines: Vec::new(),
                before: None,
            };
            self.consider(sheet, vec![change])?;
        }
        Ok(())
    }
}

/// The drawing of a sheet with lines more that may be drawn or not; none if they are not told from other lines.
pub(super) fn laid_out(
    sheet: &Sheet,
    options: &Options,
    without: &Drawing,
    trials: &[Trial],
) -> Option<Drawing> {
    let first = u32::try_from(sheet.lines.len()).ok()?;
    // Arcs are drawn as one with those of their type that they go on from.
    [LineType::Hidden, LineType::Visible]
        .into_iter()
        .find_map(|line_type| {
            let mut laid = drawing(&with_lines(sheet, trials, line_type), options).ok()?;
            let numbers = numbers_of(&laid);
            let all = (first..).take(trials.len()).chain(numbers_of(without));
            let are_apart = all.into_iter().all(|number| numbers.contains(&number));
            if !are_apart || !laid.problems.is_empty() {
                return None;
            }
            let segments = laid.views.iter_mut().flatten();
            let arcs = laid.arcs.iter_mut().flatten();
            let lines = segments
                .map(|s| &mut s.line)
                .chain(arcs.map(|a| &mut a.line));
            lines
                .filter(|line| **line >= first)
                .for_each(|line| *line = FRESH);
            Some(laid)
        })
}

/// The numbers of the lines that a drawing shows.
fn numbers_of(drawing: &Drawing) -> FxHashSet<u32> {
    let segments = drawing.views.iter().flatten().map(|s| s.line);
    let arcs = drawing.arcs.iter().flatten().map(|a| a.line);
    segments.chain(arcs).collect()
}

/// A sheet with lines more, all of one type.
fn with_lines(sheet: &Sheet, trials: &[Trial], line_type: LineType) -> Sheet {
    let mut sheet = sheet.clone();
    sheet.lines.extend(trials.iter().map(|trial| Line {
        view: Some(trial.view),
        line_type,
        shape: trial.shape.clone(),
    }));
    sheet
}
