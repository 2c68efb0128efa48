//! Lines to add that are tried one by one, alone or together with a change of what is drawn, on sheets with curves above all.

use super::apply;
use super::fewest::Fewest;
use super::trials::{self, Bare, Trial};
use super::widen::widened;
use super::{Bench, Draft, Ended, Lines};
use crate::outcome::{Action, Change};
use crate::reconstruct::{Candidates, finer_tolerances, imprint_of};
use crate::sheet::Drawing;
use crate::sheet::views::{drawing, drawings_otherwise};
use crate::solve::enumerate::Stopped;
use crate::{Limit, Line, LineType, Options, Sheet};
use std::iter::once;

/// Lines no less likely than this are tried even if a change was found.
const LIKELY: usize = 1;

/// No more lines are tried together with a change of what is drawn.
const MOST_PAIRED: usize = 30;

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
                true => self.try_all(group),
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

    /// Searches for one change within the finer tolerances that a sheet with curves is read within as well.
    pub(super) fn one_within_finer<C: Candidates>(&mut self) -> Result<(), Ended> {
        let usual = imprint_of(self.sheet, self.options, self.watch);
        for tolerance in finer_tolerances(self.sheet, self.options, usual, self.watch) {
            let options = Options {
                tolerance_mm: Some(tolerance),
                ..self.options.clone()
            };
            let drawing = drawing(self.sheet, &options)?;
            let mut finer = Bench {
                options: &options,
                considered: Vec::new(),
                mends: Vec::new(),
                ..*self
            };
            let wide = widened(&drawing)?;
            let candidates: C = finer.candidates(&wide, drawing.tolerance)?;
            let lines = Lines::of(&wide, &candidates);
            let draft = lines.draft(&candidates);
            let mut search = Fewest::new(&draft, 1, self.watch);
            let ended = finer.one_by_curves::<C>(&drawing, &draft, &mut search);
            self.mends.append(&mut finer.mends);
            ended?;
            if !self.mends.is_empty() {
                break;
            }
        }
        Ok(())
    }

    /// Searches for two changes: a likely line is added, and what is drawn is changed as well.
    pub(super) fn two_by_curves<C: Candidates>(&mut self, drawing: &Drawing) -> Result<(), Ended> {
        let board: C = self.candidates(drawing, drawing.tolerance)?;
        let trials = trials::around_curves(&[drawing], &Bare::all(&board))?;
        for trial in trials.iter().take(MOST_PAIRED) {
            for line_type in [LineType::Visible, LineType::Hidden] {
                let (sheet, change) = with_line(self.sheet, trial, line_type);
                self.one_more::<C>(&sheet, &change)?;
            }
        }
        Ok(())
    }

    /// Searches for one change of a sheet to which a line was added.
    fn one_more<C: Candidates>(&mut self, sheet: &Sheet, added: &Change) -> Result<(), Ended> {
        if !self.watch.keep_going() {
            return Err(Ended::Early(Limit::Stopped));
        }
        let Ok(drawing) = drawing(sheet, self.options) else {
            return Ok(());
        };
        let found = C::find(&drawing, drawing.tolerance, self.options, self.watch);
        let Ok(board) = found else {
            return Ok(());
        };
        let lines = Lines::of(&drawing, &board);
        let draft = lines.draft(&board);
        let mut search = Fewest::new(&draft, 1, self.watch);
        let next = |search: &mut Fewest<'_>| match search.next(1) {
            Err(Stopped) => Err(Ended::Early(Limit::Stopped)),
            Ok(edits) => Ok(edits),
        };
        while let Some(edits) = next(&mut search)? {
            let (mended, changes) = apply::applied(&draft, sheet, &edits);
            let is_new = |change: &Change| change.lines.contains(&self.sheet.lines.len());
            if !changes.iter().any(is_new) {
                self.consider(mended, once(added.clone()).chain(changes).collect())?;
            }
        }
        Ok(())
    }

    /// Tries lines one by one, as visible and as hidden lines.
    pub(super) fn try_all(&mut self, trials: &[Trial]) -> Result<(), Ended> {
        for trial in trials {
            for line_type in [LineType::Visible, LineType::Hidden] {
                if !self.watch.keep_going() {
                    return Err(Ended::Early(Limit::Stopped));
                }
                let (sheet, change) = with_line(self.sheet, trial, line_type);
                self.consider(sheet, vec![change])?;
            }
        }
        Ok(())
    }
}

/// A sheet with a line more, and that as a change.
fn with_line(sheet: &Sheet, trial: &Trial, line_type: LineType) -> (Sheet, Change) {
    let mut sheet = sheet.clone();
    sheet.lines.push(Line {
        view: Some(trial.view),
        line_type,
        shape: trial.shape.clone(),
    });
    let change = Change {
        action: Action::Add,
        view: trial.view,
        line_type,
        shape: trial.shape.clone(),
        lines: Vec::new(),
        before: None,
    };
    (sheet, change)
}
