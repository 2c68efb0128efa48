//! The fewest changes after which a contradictory sheet has a reading.
//!
//! `ghosts` finds the lines that two views ask for and the third lacks, `widen` draws them in, so that the search has
//! candidates for what could be. `lines` says what is changed as one, `choices` what may become of it, in clauses;
//! `fewest` searches for the least number of changes (`least`) and for more; `edits` and `apply` turn an answer into a mended
//! sheet. `trials` has lines that would crowd the search and are tried one by one (`added`) or one after the other (`several`):
//! those that curves ask for (`sides`, `rounds`, `rings`, `bends`, `conics`) among them. `within` looks at other tolerances.
//! Every mended sheet is answered from scratch: only what has a proven reading counts.

mod added;
mod apply;
mod bends;
mod choices;
mod conics;
mod edits;
mod fewest;
mod ghosts;
mod least;
mod lines;
mod rings;
mod rounds;
mod same;
mod several;
mod sides;
mod trials;
pub(crate) mod widen;
mod within;

use crate::error::Kind;
use crate::geom::crowded::CrowdedError;
use crate::geom::tolerance::Tolerance;
use crate::options::Watch;
use crate::outcome::{Action, Change, Mend, Mending};
use crate::reconstruct::{Candidates, attempt};
use crate::sheet::Drawing;
use crate::sheet::views::{drawing, place};
use crate::solve::board::Board;
use crate::solve::curved::CurvedBoard;
use crate::solve::enumerate::Stopped;
use crate::solve::flat::FlatBoard;
use crate::{Error, Limit, LineType, Options, Sheet, Verdict, reconstruct_watched};
use fewest::{Draft, Fewest};
use lines::{Element, Unit};
use std::ops::RangeInclusive;
use widen::widened;

/// More changes than this at a time are not tried.
const MOST_CHANGES: usize = 4;

/// A sheet with more lines is mended within the usual tolerance only.
const MOST_ALONE: usize = 120;

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
        considered: Vec::new(),
        mends: Vec::new(),
    };
    let ended = if drawing.is_curved() {
        bench.mend::<CurvedBoard>(&drawing)
    } else {
        bench.mend::<FlatBoard>(&drawing)
    };
    mending.stopped_by = match ended {
        Ok(()) => None,
        Err(Ended::Early(limit)) => Some(limit),
        Err(Ended::Failed(error)) => return Err(error),
    };
    mending.mends = bench.mends;
    let least = mending.mends.iter().map(|mend| mend.changes.len()).min();
    mending
        .mends
        .retain(|mend| Some(mend.changes.len()) == least);
    mending.mends.sort_by_key(unlikely);
    Ok(mending)
}

/// A sheet on the bench, and the ways to mend it found so far.
struct Bench<'a> {
    sheet: &'a Sheet,
    options: &'a Options,
    watch: &'a dyn Watch,
    limit: usize,
    /// What the mended sheets show that were looked at so far.
    considered: Vec<same::Shown>,
    mends: Vec<Mend>,
}

/// Why the search for mends ended before it was through.
enum Ended {
    Early(Limit),
    Failed(Error),
}

impl From<Kind> for Ended {
    fn from(kind: Kind) -> Self {
        Ended::Failed(kind.into())
    }
}

impl From<Error> for Ended {
    fn from(error: Error) -> Self {
        Ended::Failed(error)
    }
}

impl From<CrowdedError> for Ended {
    fn from(crowded: CrowdedError) -> Self {
        Kind::from(crowded).into()
    }
}

impl Bench<'_> {
    fn mend<C: Candidates>(&mut self, drawing: &Drawing) -> Result<(), Ended> {
        let wide = widened(drawing)?;
        let candidates: C = self.candidates(&wide, drawing.tolerance)?;
        let lines = Lines::of(&wide, &candidates);
        let draft = lines.draft(&candidates);
        let mut search = Fewest::new(&draft, MOST_CHANGES, self.watch);
        if drawing.is_curved() {
            self.one_by_curves::<C>(drawing, &draft, &mut search)?;
        } else {
            self.search(&draft, &mut search, 1..=1)?;
            self.try_all::<C>(drawing, &trials::sloping(drawing)?)?;
            if self.mends.is_empty() {
                // The only curve may be the one that is missing.
                self.try_all::<CurvedBoard>(drawing, &trials::circles(drawing)?)?;
            }
        }
        if self.mends.is_empty() && self.sheet.lines.len() <= MOST_ALONE {
            if drawing.is_curved() {
                self.one_from_scratch()?;
            }
            self.one_within_others::<C>(drawing)?;
        }
        if self.mends.is_empty() {
            match drawing.is_curved() {
                true => self.several_by_curves::<C>(drawing, &draft, &mut search)?,
                false => self.several_straight::<C>(drawing, &draft, &mut search)?,
            }
        }
        Ok(())
    }

    /// Takes each line away, or gives it the other type, and answers the sheet anew: curves of one type that go on from one
    /// another are drawn as one, and a line too many may have moved others.
    fn one_from_scratch(&mut self) -> Result<(), Ended> {
        let placed = place(self.sheet, self.options).map_err(Kind::from)?;
        for (number, view) in placed.lines {
            let line = &self.sheet.lines[number];
            let other = match line.line_type {
                LineType::Hidden => LineType::Visible,
                _ => LineType::Hidden,
            };
            let changes = [(Action::Retype, other), (Action::Remove, line.line_type)];
            for (action, line_type) in changes {
                if !self.watch.keep_going() {
                    return Err(Ended::Early(Limit::Stopped));
                }
                let mut sheet = self.sheet.clone();
                match action {
                    Action::Retype => sheet.lines[number].line_type = line_type,
                    _ => drop(sheet.lines.remove(number)),
                }
                let change = Change {
                    action,
                    view,
                    line_type,
                    shape: line.shape.clone(),
                    lines: vec![number],
                    before: None,
                };
                self.consider(sheet, vec![change])?;
            }
        }
        Ok(())
    }

    fn candidates<C: Candidates>(
        &self,
        drawing: &Drawing,
        tolerance: Tolerance,
    ) -> Result<C, Ended> {
        match self.watch.keep_going() {
            true => Ok(C::find(drawing, tolerance, self.options, self.watch)?),
            false => Err(Ended::Early(Limit::Stopped)),
        }
    }

    /// Searches for one change of the drawn lines alone.
    fn search_drawn(&mut self, drawing: &Drawing, board: &dyn Board) -> Result<(), Ended> {
        let lines = Lines::of(drawing, board);
        let draft = lines.draft(board);
        let mut search = Fewest::new(&draft, 1, self.watch);
        self.search(&draft, &mut search, 1..=1)
    }

    /// Searches for so many changes, and for more only if there are none with fewer.
    fn search(
        &mut self,
        draft: &Draft<'_>,
        search: &mut Fewest<'_>,
        changes: RangeInclusive<usize>,
    ) -> Result<(), Ended> {
        let before = self.mends.len();
        for changes in changes {
            loop {
                match search.next(changes) {
                    Err(Stopped) => return Err(Ended::Early(Limit::Stopped)),
                    Ok(None) => break,
                    Ok(Some(edits)) => {
                        let (sheet, changes) = apply::applied(draft, self.sheet, &edits);
                        self.consider(sheet, changes)?;
                    }
                }
            }
            if self.mends.len() > before {
                break;
            }
        }
        Ok(())
    }

    /// Keeps a mended sheet if it has a proven reading and was not looked at before.
    fn consider(&mut self, sheet: Sheet, changes: Vec<Change>) -> Result<(), Ended> {
        let Some(shown) = same::shown(&sheet, self.options) else {
            return Ok(());
        };
        if self.considered.iter().any(|other| other.same_as(&shown)) {
            return Ok(());
        }
        self.considered.push(shown);
        if let Ok(outcome) = attempt(&sheet, self.options, self.watch)
            && !outcome.readings.is_empty()
        {
            self.mends.push(Mend {
                changes,
                sheet,
                verdict: outcome.verdict,
            });
        }
        match self.mends.len() == self.limit {
            true => Err(Ended::Early(Limit::Readings)),
            false => Ok(()),
        }
    }
}

/// What may be changed of a drawing.
struct Lines {
    elements: Vec<Element>,
    units: Vec<Unit>,
}

impl Lines {
    fn of(drawing: &Drawing, board: &dyn Board) -> Self {
        let elements = lines::elements(drawing, board);
        let units = lines::units(&elements);
        Lines { elements, units }
    }

    fn draft<'a>(&'a self, board: &'a dyn Board) -> Draft<'a> {
        Draft {
            board,
            elements: &self.elements,
            units: &self.units,
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
