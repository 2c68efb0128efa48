//! One change of a sheet that is read within a finer or a wider tolerance only: within the usual one the candidates may lack
//! what the right sheet needs.

use super::fewest::Fewest;
use super::widen::widened;
use super::{Bench, Ended, Lines};
use crate::reconstruct::{
    Candidates, finer_tolerances, imprint_of, may_be_inaccurate, reconstruct_watched,
    wider_tolerances,
};
use crate::sheet::Drawing;
use crate::sheet::views::drawing;
use crate::{Options, Sheet};
use std::iter::once;

/// If a sheet needs no more changes than this, their number tells whether a tolerance suits it.
const FEW: usize = 12;

impl Bench<'_> {
    /// Searches for one change within the finer and then the wider tolerances that such a sheet is read within as well.
    pub(super) fn one_within_others<C: Candidates>(
        &mut self,
        usual: &Drawing,
    ) -> Result<(), Ended> {
        if usual.is_curved() {
            self.one_within_finer::<C>(usual)?;
        }
        if self.mends.is_empty() && may_be_inaccurate(self.sheet, self.options) {
            self.one_within_wider::<C>()?;
        }
        Ok(())
    }

    fn one_within_finer<C: Candidates>(&mut self, usual: &Drawing) -> Result<(), Ended> {
        let imprint = imprint_of(self.sheet, self.options, self.watch);
        let needed = self.needed::<C>(usual, FEW)?;
        for tolerance in finer_tolerances(self.sheet, self.options, (usual, imprint), self.watch) {
            let found = self.within(tolerance, |bench, drawing| {
                // Where little contradicts itself, finer is better only if less does so then.
                let fewer = bench.needed::<C>(drawing, FEW)?;
                if needed.is_some() && fewer.is_some() && needed <= fewer {
                    return Ok(());
                }
                let wide = widened(drawing)?;
                let candidates: C = bench.candidates(&wide, drawing.tolerance)?;
                let lines = Lines::of(&wide, &candidates);
                let draft = lines.draft(&candidates);
                let mut search = Fewest::new(&draft, 1, bench.watch);
                bench.one_by_curves::<C>(drawing, &draft, &mut search)
            })?;
            if found {
                break;
            }
        }
        Ok(())
    }

    fn one_within_wider<C: Candidates>(&mut self) -> Result<(), Ended> {
        for tolerance in wider_tolerances(self.sheet, self.options) {
            let found = self.within(tolerance, |bench, drawing| {
                let slack = drawing.tolerance.with_noise(drawing.noise);
                for tolerance in once(drawing.tolerance).chain(slack) {
                    let board: C = bench.candidates(drawing, tolerance)?;
                    bench.search_drawn(drawing, &board)?;
                }
                Ok(())
            })?;
            if found {
                break;
            }
        }
        Ok(())
    }

    /// Searches within a tolerance, in millimetres. What is found counts if the sheet is read then, within whichever tolerance.
    fn within(
        &mut self,
        tolerance: f64,
        search: impl FnOnce(&mut Bench<'_>, &Drawing) -> Result<(), Ended>,
    ) -> Result<bool, Ended> {
        let options = Options {
            tolerance_mm: Some(tolerance),
            ..self.options.clone()
        };
        let Ok(drawing) = drawing(self.sheet, &options) else {
            return Ok(false);
        };
        let mut other = Bench {
            options: &options,
            considered: Vec::new(),
            mends: Vec::new(),
            ..*self
        };
        let ended = search(&mut other, &drawing);
        for mut mend in other.mends {
            let answer = |sheet: &Sheet| reconstruct_watched(sheet, self.options, self.watch);
            let Ok(outcome) = answer(&mend.sheet) else {
                continue;
            };
            if !outcome.readings.is_empty() {
                mend.verdict = outcome.verdict;
                self.mends.push(mend);
            }
        }
        match ended {
            Err(Ended::Early(limit)) => Err(Ended::Early(limit)),
            // What is too much within this tolerance may do within another.
            Err(Ended::Failed(_)) | Ok(()) => Ok(!self.mends.is_empty()),
        }
    }
}
