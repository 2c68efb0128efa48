//! The drawn lines of a sheet as what can be changed: elements, and the units in which they are changed together.
//!
//! An element is a straight stretch or an arc as it came from the sheet. A person changes whole lines, and what looks like one
//! line may be drawn in several parts: so elements of one line of the sheet, and straight elements of one type that
//! follow one another, also make a unit.

use super::widen::FRESH;
use crate::arrange::{Arrangement, Piece, Run};
use crate::geom::arena::Id;
use crate::sheet::{Drawing, View};
use crate::solve::board::Board;
use itertools::Itertools;

/// A straight stretch or an arc of a drawn line.
#[derive(Clone, Debug)]
pub(super) struct Element {
    pub(super) view: View,
    pub(super) hidden: bool,
    /// The line of the sheet it came from, or [`FRESH`].
    pub(super) line: u32,
    /// What it runs along; `None` if it is straight.
    pub(super) carrier: Option<u32>,
    pub(super) run: Id<Run>,
    /// The positions of its ends on the run; on a run that goes all the way round the second may be past its end.
    pub(super) reach: [usize; 2],
    /// Its pieces in the direction of their run.
    pub(super) pieces: Vec<Id<Piece>>,
}

/// All elements, fresh strokes among them.
pub(super) fn elements(drawing: &Drawing, board: &dyn Board) -> Vec<Element> {
    let mut all = Vec::new();
    for view in View::ALL {
        let arrangement = &board.views()[view.index()];
        for segment in &drawing.views[view.index()] {
            let ends = [segment.from, segment.to];
            let found = straight_under(arrangement, ends);
            all.extend(found.map(|(run, reach)| Element {
                view,
                hidden: segment.hidden,
                line: segment.line,
                carrier: None,
                run,
                reach,
                pieces: pieces(arrangement, run, reach),
            }));
        }
        for arc in &drawing.arcs[view.index()] {
            let ends = [arc.from, arc.to];
            let found = arc_under(arrangement, arc.carrier, ends);
            all.extend(found.map(|(run, reach)| Element {
                view,
                hidden: arc.hidden,
                line: arc.line,
                carrier: Some(arc.carrier),
                run,
                reach,
                pieces: pieces(arrangement, run, reach),
            }));
        }
    }
    all
}

type Under = (Id<Run>, [usize; 2]);

/// The stretch between two places on one straight run.
fn straight_under(view: &Arrangement, ends: [[u32; 2]; 2]) -> Option<Under> {
    let (run, [a, b]) = both_on(view, ends, None)?;
    Some((run, [a.min(b), a.max(b)]))
}

/// The stretch of an arc from one place to the other, the way its carrier goes.
fn arc_under(view: &Arrangement, carrier: u32, ends: [[u32; 2]; 2]) -> Option<Under> {
    let (run, [a, b]) = both_on(view, ends, Some(carrier))?;
    let count = view.runs[run].pieces.len();
    Some((run, [a, if b <= a { b + count } else { b }]))
}

/// The run along a carrier that has nodes at both places, and their positions on it.
fn both_on(view: &Arrangement, ends: [[u32; 2]; 2], carrier: Option<u32>) -> Option<Under> {
    let [from, to] = ends.map(|end| view.node_at.get(&end).copied());
    let (from, to) = (from?, to?);
    let mut of_from = view.nodes[from].runs.iter();
    of_from.find_map(|&(run, a)| {
        let fits = view.runs[run].carrier == carrier;
        let b = view.position(run, to).filter(|_| fits)?;
        Some((run, [a as usize, b]))
    })
}

/// The pieces of a stretch of a run.
fn pieces(view: &Arrangement, run: Id<Run>, [from, to]: [usize; 2]) -> Vec<Id<Piece>> {
    let all = &view.runs[run].pieces;
    (from..to).map(|i| all[i % all.len()]).collect()
}

/// Drawn elements that are changed together, as places in the list of elements.
pub(super) type Unit = Vec<usize>;

/// All units, single elements first.
pub(super) fn units(elements: &[Element]) -> Vec<Unit> {
    let drawn = || (0..elements.len()).filter(|&e| elements[e].line != FRESH);
    let by_arc = |e: &usize| {
        let element = &elements[*e];
        match element.carrier {
            // A circle is kept in arcs, but drawn in one go.
            Some(_) => (element.view, element.line, element.carrier, usize::MAX),
            None => (element.view, element.line, None, *e),
        }
    };
    let mut units: Vec<Unit> = grouped(drawn(), by_arc);
    let singles = units.clone();
    let whole_lines = grouped(drawn(), |e| elements[*e].line);
    units.extend(whole_lines.into_iter().filter(|u| !singles.contains(u)));
    let looks_like_one = in_a_row(elements);
    let fresh: Vec<Unit> = looks_like_one
        .into_iter()
        .filter(|u| !units.contains(u))
        .collect();
    units.extend(fresh);
    units
}

/// Groups of the same key, each in order.
fn grouped<K: Ord>(all: impl Iterator<Item = usize>, key: impl Fn(&usize) -> K) -> Vec<Unit> {
    let sorted = all.sorted_by_key(|e| (key(e), *e));
    let chunks = sorted.chunk_by(|e| key(e));
    chunks.into_iter().map(|(_, unit)| unit.collect()).collect()
}

/// Straight elements of one type that touch or overlap along a run.
fn in_a_row(elements: &[Element]) -> Vec<Unit> {
    let straight =
        (0..elements.len()).filter(|&e| elements[e].line != FRESH && elements[e].carrier.is_none());
    let along = grouped(straight, |&e| {
        (elements[e].view, elements[e].run, elements[e].hidden)
    });
    let mut rows = Vec::new();
    for mut row in along {
        row.sort_by_key(|&e| elements[e].reach);
        let mut reach = None;
        for e in row {
            let [from, to] = elements[e].reach;
            match (reach, rows.last_mut()) {
                (Some(end), Some(unit)) if from <= end => {
                    let unit: &mut Unit = unit;
                    unit.push(e);
                    reach = Some(to.max(end));
                }
                _ => {
                    rows.push(vec![e]);
                    reach = Some(to);
                }
            }
        }
    }
    rows.retain(|unit| unit.len() > 1);
    for unit in &mut rows {
        unit.sort_unstable();
    }
    rows
}
