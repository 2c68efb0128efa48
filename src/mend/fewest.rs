//! The search for the fewest changes: every drawing with one change that the candidates can meet, then with two, and so on.

use super::choices::Choices;
use super::edits::{Edit, edits};
use super::least::{Least, more_than};
use super::lines::{Element, Unit};
use crate::options::Watch;
use crate::sheet::View;
use crate::solve::board::Board;
use crate::solve::encode::Demand;
use crate::solve::enumerate::{Run, Stopped};
use crate::solve::literal::Literal;
use crate::solve::search::Search;

/// A drawing with room for other lines, as candidates for the search.
pub(super) struct Draft<'a> {
    pub(super) board: &'a dyn Board,
    pub(super) elements: &'a [Element],
    pub(super) units: &'a [Unit],
}

/// The search for the fewest changes.
pub(super) struct Fewest<'a> {
    draft: &'a Draft<'a>,
    choices: Choices,
    most: usize,
    /// Not known before the first search.
    least: Option<Least>,
    /// The one at place `k` holds if there are more than `k` changes; made once it is needed.
    more_than: Vec<Literal>,
    run: Run<'a>,
}

impl<'a> Fewest<'a> {
    /// A search for up to `most` changes at a time.
    pub(super) fn new(draft: &'a Draft<'a>, most: usize, watch: &'a dyn Watch) -> Self {
        let mut search = Search::untried(watch);
        let choices = Choices::new(draft.board, draft.elements, draft.units, &mut search);
        let run = Run::start(draft.board, search, &mut |_, spot| {
            let ink = choices.ink(spot.view, draft.board.piece(spot));
            Demand::Chosen {
                visible: ink.visible,
                hidden: ink.hidden,
            }
        });
        Fewest {
            draft,
            choices,
            most,
            least: None,
            more_than: Vec::new(),
            run,
        }
    }

    /// The next drawing with at most so many changes that the search can meet; none if there are no more.
    pub(super) fn next(&mut self, changes: usize) -> Result<Option<Vec<Edit>>, Stopped> {
        let Some(assumed) = self.assumed(changes)? else {
            return Ok(None);
        };
        if self.run.next_with(&assumed, true)?.is_none() {
            return Ok(None);
        }
        let found = edits(self.draft, &self.choices, &self.run.search);
        let other = another_drawing(&self.choices, &self.run.search);
        self.run.search.clause(other);
        Ok(Some(found))
    }
}

impl Fewest<'_> {
    /// The least number of changes; more than asked for if so many are not enough.
    pub(super) fn least(&mut self) -> Result<usize, Stopped> {
        if self.least.is_none() {
            self.least = Some(Least::of(
                &self.choices.costs,
                self.most,
                &mut self.run.search,
            )?);
        }
        Ok(self.least.as_ref().map_or(0, |least| least.changes))
    }

    /// What holds if there are at most so many changes; none if there must be more.
    fn assumed(&mut self, changes: usize) -> Result<Option<Vec<Literal>>, Stopped> {
        self.least()?;
        match &self.least {
            Some(least) if changes < least.changes => Ok(None),
            Some(least) if changes == least.changes => Ok(Some(least.just_these.clone())),
            _ => {
                if self.more_than.is_empty() {
                    let costs = self.choices.costs.concat();
                    self.more_than = more_than(&costs, self.most, &mut self.run.search);
                }
                let too_many = self.more_than.get(changes);
                Ok(Some(
                    too_many.map(|literal| !*literal).into_iter().collect(),
                ))
            }
        }
    }
}

/// A clause that rules out the drawing found last, however it is reached.
fn another_drawing(choices: &Choices, search: &Search<'_>) -> Vec<Literal> {
    let inks = View::ALL
        .into_iter()
        .flat_map(|view| &choices.inks[view.index()]);
    inks.flat_map(|ink| {
        if search.holds(ink.visible) {
            vec![!ink.visible]
        } else if search.holds(ink.hidden) {
            vec![!ink.hidden]
        } else {
            vec![ink.visible, ink.hidden]
        }
    })
    .collect()
}
