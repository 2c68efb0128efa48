//! Several lines that are missing at a time, and other changes with them.
//!
//! Lines to add are laid out one after the other, each where it makes the least number of changes smaller: those that
//! leave the fewest are looked at further. What is drawn of them, and what else is changed, the search says.

use super::added::laid_out;
use super::fewest::Fewest;
use super::trials::{self, Bare, Trial};
use super::widen::widened;
use super::{Bench, Draft, Ended, Lines, MOST_CHANGES};
use crate::Limit;
use crate::reconstruct::Candidates;
use crate::sheet::Drawing;
use itertools::Itertools;
use std::ops::RangeInclusive;

/// The changes that a drawing needs are not counted further.
const MOST_NEEDED: usize = 40;

/// No more lines are tried first.
const MOST_FIRST: usize = 200;

/// No more lines are tried next to others.
const MOST_NEXT: usize = 40;

/// No more choices of lines are looked at further.
const MOST_KEPT: usize = 3;

/// No more sloping lines are laid out together.
const MOST_SLOPING: usize = 8;

/// Sloping lines less likely than this are not laid out together.
const LIKELY: usize = 2;

/// On a sheet with more lines and no curves, sloping lines are laid out only if nothing else was found.
const MOST_LINES: usize = 100;

/// Lines that are laid out.
struct Laid {
    trials: Vec<Trial>,
    /// How many changes the drawing needs at least if they may be drawn.
    needed: usize,
}

impl Bench<'_> {
    /// Searches for two to four changes of a drawing with curves.
    pub(super) fn several_by_curves<C: Candidates>(
        &mut self,
        drawing: &Drawing,
        wide: &Draft<'_>,
        among_wide: &mut Fewest<'_>,
    ) -> Result<(), Ended> {
        self.search(wide, among_wide, 2..=2)?;
        if self.mends.is_empty() {
            self.one_after_another::<C>(drawing)?;
        }
        if self.mends.is_empty() {
            self.search(wide, among_wide, 3..=MOST_CHANGES)?;
        }
        Ok(())
    }

    /// Searches for two to four changes of a drawing without curves.
    pub(super) fn several_straight<C: Candidates>(
        &mut self,
        drawing: &Drawing,
        wide: &Draft<'_>,
        among_wide: &mut Fewest<'_>,
    ) -> Result<(), Ended> {
        self.search(wide, among_wide, 2..=MOST_CHANGES)?;
        let is_small = self.sheet.lines.len() <= MOST_LINES;
        if is_small || self.mends.is_empty() {
            self.sloping_together::<C>(drawing)?;
        }
        if is_small && self.mends.is_empty() {
            self.one_after_another::<C>(drawing)?;
        }
        Ok(())
    }

    /// Searches for up to four changes, some of them lines to add.
    fn one_after_another<C: Candidates>(&mut self, drawing: &Drawing) -> Result<(), Ended> {
        let needed = self.needed::<C>(drawing, MOST_NEEDED)?;
        let mut kept = vec![Laid {
            trials: Vec::new(),
            needed: needed.unwrap_or(MOST_NEEDED + 1),
        }];
        let mut most = MOST_CHANGES;
        for count in 1..=MOST_CHANGES {
            if count > most {
                break;
            }
            let mut next = Vec::new();
            for laid in &kept {
                next.extend(self.with_one_more::<C>(drawing, laid)?);
            }
            next.sort_by_key(|laid| laid.needed);
            let mut best = None;
            for Laid { trials, needed } in &next {
                if *needed <= best.unwrap_or(most) {
                    let before = self.mends.len();
                    self.search_with::<C>(drawing, trials, *needed..=*needed)?;
                    best = best.or((self.mends.len() > before).then_some(*needed));
                }
            }
            // With more lines laid out only fewer changes are worth a look.
            most = best.map_or(most, |best| best - 1);
            next.truncate(MOST_KEPT);
            kept = next;
        }
        Ok(())
    }

    /// Searches for fewer changes than were found, the likeliest sloping lines laid out all together.
    fn sloping_together<C: Candidates>(&mut self, drawing: &Drawing) -> Result<(), Ended> {
        let sloping = trials::sloping(drawing)?;
        let likely = sloping
            .into_iter()
            .take_while(|trial| trial.unlikely <= LIKELY);
        let trials = likely.take(MOST_SLOPING).collect_vec();
        let fewest = self.mends.iter().map(|mend| mend.changes.len()).min();
        let most = fewest.map_or(MOST_CHANGES, |fewest| fewest - 1);
        if trials.is_empty() || most < 2 {
            return Ok(());
        }
        self.search_with::<C>(drawing, &trials, 2..=most)
    }

    /// The lines laid out and one more, where that makes the least number of changes smaller.
    fn with_one_more<C: Candidates>(
        &self,
        drawing: &Drawing,
        laid: &Laid,
    ) -> Result<Vec<Laid>, Ended> {
        let fewer = laid.needed.saturating_sub(1);
        let wide = laid_out(self.sheet, self.options, drawing, &laid.trials);
        let Some(wide) = wide.filter(|_| fewer > 0) else {
            return Ok(Vec::new());
        };
        let trials = if wide.is_curved() {
            let board: C = self.candidates(&wide, wide.tolerance)?;
            trials::around_curves(&[&wide], &Bare::all(&board))?
        } else {
            trials::sloping(&wide)?
        };
        let mut better = Vec::new();
        let most = match laid.trials.is_empty() {
            true => MOST_FIRST,
            false => MOST_NEXT,
        };
        for trial in trials.into_iter().take(most) {
            let trials = laid.trials.iter().cloned().chain([trial]).collect_vec();
            let Some(wide) = laid_out(self.sheet, self.options, drawing, &trials) else {
                continue;
            };
            let needed = self.needed::<C>(&wide, fewer)?;
            better.extend(needed.map(|needed| Laid { trials, needed }));
        }
        Ok(better)
    }

    /// The least number of changes that a drawing needs, if it is not more than `most`.
    pub(super) fn needed<C: Candidates>(
        &self,
        wide: &Drawing,
        most: usize,
    ) -> Result<Option<usize>, Ended> {
        let Some((wide, board)) = self.board_of::<C>(wide)? else {
            return Ok(None);
        };
        let lines = Lines::of(&wide, &board);
        let draft = lines.draft(&board);
        let mut search = Fewest::new(&draft, most, self.watch);
        let needed = search.least().map_err(|_| Ended::Early(Limit::Stopped))?;
        Ok((needed <= most).then_some(needed))
    }

    /// Searches for so many changes with lines laid out.
    fn search_with<C: Candidates>(
        &mut self,
        drawing: &Drawing,
        trials: &[Trial],
        changes: RangeInclusive<usize>,
    ) -> Result<(), Ended> {
        let laid = laid_out(self.sheet, self.options, drawing, trials);
        let board = laid.map(|laid| self.board_of::<C>(&laid)).transpose()?;
        let Some((wide, board)) = board.flatten() else {
            return Ok(());
        };
        let lines = Lines::of(&wide, &board);
        let draft = lines.draft(&board);
        let mut search = Fewest::new(&draft, *changes.end(), self.watch);
        self.search(&draft, &mut search, changes)
    }

    /// The candidates of a drawing with lines laid out, and that drawing; none if there are too many.
    fn board_of<C: Candidates>(&self, laid: &Drawing) -> Result<Option<(Drawing, C)>, Ended> {
        let wide = match laid.is_curved() {
            true => Ok(laid.clone()),
            false => widened(laid),
        };
        let Ok(wide) = wide else {
            return Ok(None);
        };
        match self.candidates(&wide, wide.tolerance) {
            Ok(board) => Ok(Some((wide, board))),
            Err(Ended::Failed(_)) => Ok(None),
            Err(early) => Err(early),
        }
    }
}
