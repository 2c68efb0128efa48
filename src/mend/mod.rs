//! The fewest changes after which a contradictory sheet has a reading.
//!
//! `ghosts` finds the lines that two views ask for and the third lacks, `widen` draws them in, so that the search has
//! candidates for what could be. `lines` says what is changed as one, `choices` what may become of it, in clauses;
//! `fewest` searches for one change, two, three; `edits` and `apply` turn an answer into a mended sheet. `trials` has lines
//! that would crowd the search and are tried one by one. Every mended sheet is answered from scratch: only what has a
//! proven reading counts.

mod apply;
mod choices;
mod edits;
mod fewest;
mod ghosts;
mod lines;
mod trials;
mod widen;

use crate::error::Kind;
use crate::options::Watch;
use crate::outcome::{Action, Change, Mend, Mending};
use crate::reconstruct::{Candidates, attempt};
use crate::sheet::Drawing;
use crate::sheet::views::drawing;
use crate::solve::board::Board;
use crate::solve::curved::CurvedBoard;
use crate::solve::enumerate::Stopped;
use crate::solve::flat::FlatBoard;
use crate::{
    Error, Limit, Line, LineType, Options, Shape, Sheet, Verdict, View, reconstruct_watched,
};
use fewest::{Draft, Fewest};
use widen::widened;

/// More changes than this at a time are not tried.
const MOST_CHANGES: usize = 4;

/// More lines than this are not tried one by one.
const MOST_TRIALS: usize = 60;

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
    let quick = Options {
        reading_limit: READINGS,
        explain: false,
        ..options.clone()
    };
    let as_it_is = reconstruct_watched(sheet, &quick, watch)?;
    let mut mending = Mending {
        verdict: as_it_is.verdict,
        mends: Vec::new(),
        stopped_by: as_it_is.stopped_by,
    };
    if as_it_is.verdict != Verdict::Contradictory {
        return Ok(mending);
    }
    let drawing = drawing(sheet, &quick)?;
    let mut bench = Bench {
        sheet,
        options: &quick,
        watch,
        limit,
        mends: Vec::new(),
    };
    let wide = widened(&drawing).map_err(Kind::from)?;
    mending.stopped_by = if wide.is_curved() {
        bench.mend::<CurvedBoard>(&drawing, &wide)?
    } else {
        bench.mend::<FlatBoard>(&drawing, &wide)?
    };
    mending.mends = bench.mends;
    mending.mends.sort_by_key(unlikely);
    Ok(mending)
}

/// A sheet on the bench, and the ways to mend it found so far.
struct Bench<'a> {
    sheet: &'a Sheet,
    options: &'a Options,
    watch: &'a dyn Watch,
    limit: usize,
    mends: Vec<Mend>,
}

impl Bench<'_> {
    /// Gives the limit that ended the search early.
    fn mend<C: Candidates>(
        &mut self,
        drawing: &Drawing,
        wide: &Drawing,
    ) -> Result<Option<Limit>, Error> {
        let board = C::find(wide, wide.tolerance, self.options, self.watch).map_err(Kind::from)?;
        let elements = lines::elements(wide, &board);
        let units = lines::units(&elements);
        let draft = Draft {
            board: &board as &dyn Board,
            elements: &elements,
            units: &units,
        };
        let mut search = Fewest::new(&draft, MOST_CHANGES, self.watch);
        for changes in 1..=MOST_CHANGES {
            loop {
                match search.next(changes) {
                    Err(Stopped) => return Ok(Some(Limit::Stopped)),
                    Ok(None) => break,
                    Ok(Some(edits)) => {
                        let (sheet, changes) = apply::applied(&draft, self.sheet, &edits);
                        self.consider(sheet, changes);
                    }
                }
                if self.mends.len() == self.limit {
                    return Ok(Some(Limit::Readings));
                }
            }
            if changes == 1 {
                self.try_lines(&trials::lines(drawing, MOST_TRIALS).map_err(Kind::from)?);
            }
            if !self.mends.is_empty() {
                break;
            }
        }
        Ok(None)
    }

    /// Keeps a mended sheet if it has a proven reading.
    fn consider(&mut self, sheet: Sheet, changes: Vec<Change>) {
        match attempt(&sheet, self.options, self.watch) {
            Ok(outcome) if !outcome.readings.is_empty() => self.mends.push(Mend {
                changes,
                sheet,
                verdict: outcome.verdict,
            }),
            _ => {}
        }
    }

    /// Tries lines one by one, as visible and as hidden lines.
    fn try_lines(&mut self, lines: &[(View, Shape)]) {
        for (view, shape) in lines {
            for line_type in [LineType::Visible, LineType::Hidden] {
                if self.mends.len() == self.limit || !self.watch.keep_going() {
                    return;
                }
                let mut sheet = self.sheet.clone();
                sheet.lines.push(Line {
                    view: Some(*view),
                    line_type,
                    shape: shape.clone(),
                });
                let change = Change {
                    action: Action::Add,
                    view: *view,
                    line_type,
                    shape: shape.clone(),
                    lines: Vec::new(),
                    before: None,
                };
                self.consider(sheet, vec![change]);
            }
        }
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
