//! From an answer of the search to changes of whole lines.
//!
//! One drawing can be reached in several ways. Of equal ones the plainest is told: giving a line the other type rather than
//! drawing over it, lengthening a line rather than adding a piece to it.

use super::choices::{Choices, Room};
use super::fewest::Draft;
use super::widen::FRESH;
use crate::arrange::Run;
use crate::geom::arena::Id;
use crate::sheet::View;
use crate::solve::search::Search;

/// One change of a drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Edit {
    /// A unit is taken away.
    Remove(usize),
    /// A unit has the other type.
    Retype(usize),
    /// A straight element goes over another stretch of its run.
    Reach(usize, [usize; 2]),
    /// A line over a stretch of a run is added.
    Add(Stroke),
}

/// A line to add over a stretch of a run, from one position to another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stroke {
    pub(super) view: View,
    pub(super) run: Id<Run>,
    pub(super) reach: [usize; 2],
    pub(super) hidden: bool,
}

/// The changes that the answer found last makes.
pub(super) fn edits(draft: &Draft<'_>, choices: &Choices, search: &Search<'_>) -> Vec<Edit> {
    let holds = |literal| search.holds(literal);
    let mut edits = Vec::new();
    for unit in 0..draft.units.len() {
        if holds(choices.removed[unit]) {
            edits.push(Edit::Remove(unit));
        } else if holds(choices.retyped[unit]) {
            edits.push(Edit::Retype(unit));
        }
    }
    let touched = |e: usize| {
        edits.iter().any(|edit| match edit {
            Edit::Remove(u) | Edit::Retype(u) => draft.units[*u].contains(&e),
            Edit::Reach(..) | Edit::Add(_) => false,
        })
    };
    let mut reaches = Vec::new();
    for (e, cut) in choices.cut.iter().enumerate() {
        let [start, end] = [0, 1].map(|k| cut[k].iter().filter(|l| holds(**l)).count());
        if start + end > 0 && !touched(e) {
            let [from, to] = draft.elements[e].reach;
            reaches.push(Edit::Reach(e, [from + start, to - end]));
        }
    }
    let strokes: Vec<Stroke> = choices
        .rooms
        .iter()
        .flat_map(|room| strokes(draft, room, search))
        .collect();
    let fates = Fates {
        draft,
        edits: [edits, reaches].concat(),
    };
    let added: Vec<Edit> = strokes
        .into_iter()
        .filter_map(|stroke| fates.trimmed(stroke))
        .map(|stroke| fates.plainest(stroke))
        .collect();
    [fates.edits, added].concat()
}

/// The stretches of a run that added lines cover.
fn strokes(draft: &Draft<'_>, room: &Room, search: &Search<'_>) -> Vec<Stroke> {
    let run = &draft.board.views()[room.view.index()].runs[room.run];
    let closed = run.nodes.first() == run.nodes.last();
    let mut all = Vec::new();
    for (hidden, covered) in [false, true].into_iter().zip(&room.covered) {
        let count = covered.len();
        let holds = |i: usize| search.holds(covered[i % count]);
        let stroke = |reach| Stroke {
            view: room.view,
            run: room.run,
            reach,
            hidden,
        };
        if closed && (0..count).all(holds) {
            all.push(stroke([0, count]));
            continue;
        }
        let before = |i: usize| match i {
            0 => closed && holds(count - 1),
            _ => holds(i - 1),
        };
        for from in (0..count).filter(|&i| holds(i) && !before(i)) {
            let most = if closed { from + count } else { count };
            let to = (from..most).find(|&i| !holds(i)).unwrap_or(most);
            all.push(stroke([from, to]));
        }
    }
    all
}

/// What has become of the drawn lines.
struct Fates<'d> {
    draft: &'d Draft<'d>,
    edits: Vec<Edit>,
}

impl Fates<'_> {
    /// The type and reach of a drawn element after the changes; none if it is gone.
    fn of(&self, e: usize) -> Option<(bool, [usize; 2])> {
        let element = &self.draft.elements[e];
        let (mut hidden, mut reach) = (element.hidden, element.reach);
        for edit in &self.edits {
            match edit {
                Edit::Remove(unit) if self.draft.units[*unit].contains(&e) => return None,
                Edit::Retype(unit) if self.draft.units[*unit].contains(&e) => hidden = !hidden,
                Edit::Reach(other, kept) if *other == e => reach = *kept,
                _ => {}
            }
        }
        Some((hidden, reach))
    }

    /// The drawn elements on a run that are still there, with their types and reaches.
    fn on(&self, view: View, run: Id<Run>) -> impl Iterator<Item = (usize, bool, [usize; 2])> + '_ {
        let elements = self.draft.elements.iter().enumerate();
        elements
            .filter(move |(_, e)| e.view == view && e.run == run && e.line != FRESH)
            .filter_map(|(e, _)| self.of(e).map(|(hidden, reach)| (e, hidden, reach)))
    }

    /// A stroke without the parts at its ends that are drawn so anyway; none if nothing is left.
    fn trimmed(&self, stroke: Stroke) -> Option<Stroke> {
        let idle = |i: usize| {
            self.on(stroke.view, stroke.run)
                .any(|(_, hidden, [from, to])| {
                    (from..to).contains(&i) && (hidden == stroke.hidden || !hidden)
                })
        };
        let [mut from, mut to] = stroke.reach;
        while from < to && idle(from) {
            from += 1;
        }
        while from < to && idle(to - 1) {
            to -= 1;
        }
        (from < to).then_some(Stroke {
            reach: [from, to],
            ..stroke
        })
    }

    /// A stroke as the plainest change.
    fn plainest(&self, stroke: Stroke) -> Edit {
        let over = |unit: &Vec<usize>| {
            let mut covered = Vec::new();
            for &e in unit {
                let element = &self.draft.elements[e];
                let here = (element.view, element.run) == (stroke.view, stroke.run);
                if !here || element.hidden == stroke.hidden || self.of(e).is_none() {
                    return false;
                }
                covered.extend(element.reach[0]..element.reach[1]);
            }
            covered.sort_unstable();
            covered.dedup();
            covered == (stroke.reach[0]..stroke.reach[1]).collect::<Vec<_>>()
        };
        if let Some(unit) = self.draft.units.iter().position(over) {
            return Edit::Retype(unit);
        }
        let [from, to] = stroke.reach;
        let same = |hidden: bool| hidden == stroke.hidden;
        let of_run = || {
            self.on(stroke.view, stroke.run)
                .filter(|(_, h, _)| same(*h))
        };
        let before = of_run().find(|(_, _, [_, end])| *end == from);
        let after = of_run().find(|(_, _, [start, _])| *start == to);
        let untouched = |e: usize| self.of(e).map(|f| f.1) == Some(self.draft.elements[e].reach);
        match (before, after) {
            (Some((e, _, [start, _])), None) if self.straight(e) && untouched(e) => {
                Edit::Reach(e, [start, to])
            }
            (None, Some((e, _, [_, end]))) if self.straight(e) && untouched(e) => {
                Edit::Reach(e, [from, end])
            }
            _ => Edit::Add(stroke),
        }
    }

    fn straight(&self, e: usize) -> bool {
        self.draft.elements[e].carrier.is_none()
    }
}
