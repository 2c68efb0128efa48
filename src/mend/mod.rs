//! The fewest changes after which a contradictory sheet has a reading.
//!
//! `ghosts` finds the lines that two views ask for and the third lacks, `widen` draws them in, so that the search has
//! candidates for what could be. `lines` says what is changed as one, `choices` what may become of it, in clauses;
//! `fewest` searches for one change, two, three; `edits` and `apply` turn an answer into a mended sheet. Every mended sheet
//! is then answered from scratch: only what has a proven reading counts.

mod apply;
mod choices;
mod edits;
mod fewest;
mod ghosts;
mod lines;
mod widen;

use crate::error::Kind;
use crate::options::Watch;
use crate::outcome::{Action, Mend, Mending};
use crate::reconstruct::{Candidates, attempt};
use crate::sheet::Drawing;
use crate::sheet::views::drawing;
use crate::solve::board::Board;
use crate::solve::curved::CurvedBoard;
use crate::solve::flat::FlatBoard;
use crate::{Error, Limit, Options, Sheet, Verdict, reconstruct_watched};
use fewest::{Draft, Reach, fewest};

/// More changes than this at a time are not tried.
const MOST_CHANGES: usize = 4;

/// Readings of a mended sheet: two are enough to know that it is ambiguous.
const READINGS: usize = 2;

/// Finds all the smallest sets of changes of whole lines after which a contradictory sheet has a reading, at most `limit`.
///
/// A line is taken away, added, made visible or hidden, lengthened or shortened; lines to add are those that two views
/// support and the third lacks. Up to four changes are tried. A sheet that has a reading needs none, and is given back
/// with an empty list.
///
/// # Errors
/// As [`reconstruct`](crate::reconstruct()). Being stopped is no error: the result says so.
pub fn mend(
    sheet: &Sheet,
    options: &Options,
    limit: usize,
    watch: &dyn Watch,
) -> Result<Mending, Error> {
    let as_it_is = reconstruct_watched(sheet, options, watch)?;
    let mut mending = Mending {
        verdict: as_it_is.verdict,
        mends: Vec::new(),
        stopped_by: as_it_is.stopped_by,
    };
    if as_it_is.verdict != Verdict::Contradictory {
        return Ok(mending);
    }
    let drawing = drawing(sheet, options)?;
    let wide = widen::widened(&drawing).map_err(Kind::from)?;
    let run = Run {
        sheet,
        options: &Options {
            reading_limit: READINGS,
            places: false,
            ..options.clone()
        },
        limit,
        watch,
    };
    mending.stopped_by = if wide.is_curved() {
        run.mend::<CurvedBoard>(&wide, &mut mending.mends)?
    } else {
        run.mend::<FlatBoard>(&wide, &mut mending.mends)?
    };
    mending.mends.sort_by_key(unlikely);
    Ok(mending)
}

struct Run<'a> {
    sheet: &'a Sheet,
    options: &'a Options,
    limit: usize,
    watch: &'a dyn Watch,
}

impl Run<'_> {
    fn mend<C: Candidates>(
        &self,
        wide: &Drawing,
        mends: &mut Vec<Mend>,
    ) -> Result<Option<Limit>, Error> {
        let board = C::find(wide, wide.tolerance, self.options, self.watch).map_err(Kind::from)?;
        let elements = lines::elements(wide, &board);
        let units = lines::units(&elements);
        let draft = Draft {
            board: &board as &dyn Board,
            elements: &elements,
            units: &units,
        };
        let reach = Reach {
            changes: MOST_CHANGES,
            mends: self.limit,
        };
        let mut accept = |edits: Vec<edits::Edit>| {
            let (sheet, changes) = apply::applied(&draft, self.sheet, &edits);
            let Ok(outcome) = attempt(&sheet, self.options, self.watch) else {
                return false;
            };
            if outcome.readings.is_empty() {
                return false;
            }
            mends.push(Mend {
                changes,
                sheet,
                verdict: outcome.verdict,
            });
            true
        };
        Ok(fewest(&draft, reach, self.watch, &mut accept))
    }
}

/// How unlikely a mend is: a sheet is rather meant to be unique, and lines are rather forgotten than drawn for nothing.
fn unlikely(mend: &Mend) -> (bool, Vec<u8>) {
    let actions = mend.changes.iter().map(|change| match change.action {
        Action::Add => 0,
        Action::Retype => 1,
        Action::Move => 2,
        Action::Remove => 3,
    });
    (mend.verdict != Verdict::Unique, actions.collect())
}
