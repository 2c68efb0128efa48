//! The search for the fewest changes: none with one more than the last, then all with as many as the first found.

use super::choices::Choices;
use super::edits::{Edit, edits};
use super::lines::{Element, Unit};
use crate::options::Watch;
use crate::outcome::Limit;
use crate::sheet::View;
use crate::solve::board::Board;
use crate::solve::encode::Demand;
use crate::solve::enumerate::{Run, Stopped};
use crate::solve::literal::Literal;
use crate::solve::search::Search;

/// How far to search.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reach {
    /// At most so many changes at a time.
    pub(super) changes: usize,
    /// At most so many ways to mend the sheet.
    pub(super) mends: usize,
}

/// A drawing with room for other lines, as candidates for the search.
pub(super) struct Draft<'a> {
    pub(super) board: &'a dyn Board,
    pub(super) elements: &'a [Element],
    pub(super) units: &'a [Unit],
}

/// Calls `accept` with every smallest set of changes that lets the views be met; those it accepts count. Gives the limit
/// that ended the search early.
pub(super) fn fewest(
    draft: &Draft<'_>,
    reach: Reach,
    watch: &dyn Watch,
    accept: &mut dyn FnMut(Vec<Edit>) -> bool,
) -> Option<Limit> {
    let mut search = Search::new(watch);
    let choices = Choices::new(draft.board, draft.elements, draft.units, &mut search);
    let more_than = choices.more_than(reach.changes, &mut search);
    let mut run = Run::start(draft.board, search, &mut |_, spot| {
        let ink = choices.ink(spot.view, draft.board.piece(spot));
        Demand::Chosen {
            visible: ink.visible,
            hidden: ink.hidden,
        }
    });
    let mut accepted = 0;
    for most in 1..=reach.changes {
        loop {
            match run.next_with(&[!more_than[most]], true) {
                Err(Stopped) => return Some(Limit::Stopped),
                Ok(None) => break,
                Ok(Some(_)) => {}
            }
            let found = edits(draft, &choices, &run.search);
            let other = another_drawing(&choices, &run.search);
            run.search.clause(other);
            accepted += usize::from(accept(found));
            if accepted == reach.mends {
                return Some(Limit::Readings);
            }
        }
        if accepted > 0 {
            break;
        }
    }
    None
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
