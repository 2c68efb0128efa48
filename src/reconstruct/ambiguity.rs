//! What there is to say about an ambiguous sheet: where its readings differ, how many there are, and what settles it.
//!
//! Readings beyond the list are counted only if every alternative of every place was proven in a whole reading.

use super::Candidates;
use crate::export::places::{further_view, places, settling};
use crate::options::{HiddenLines, Watch};
use crate::outcome::{Outcome, Reading, ReadingsTotal, Settling};
use crate::sheet::Drawing;
use crate::solve::Model;
use crate::solve::check::check;
use crate::solve::enumerate::Answers;
use crate::solve::places::{self as found, Place, Places};
use crate::solve::settle;
use itertools::Itertools;
use num_bigint::BigUint;

/// No more readings are proven for the sake of pairs of places that may cross.
const MOST_PAIRS: usize = 200;

/// The number of readings, as far as it follows from a list; `all` says whether the list is complete.
pub(super) fn listed(readings: &[Reading], all: bool) -> ReadingsTotal {
    let hollow = readings.iter().filter(|r| r.measures.shells > 1).count();
    ReadingsTotal {
        count: readings.len().to_string(),
        hollow: hollow.to_string(),
        exact: all,
    }
}

/// Adds the places of choice, the number of readings and what settles it.
pub(super) fn explain<C: Candidates>(
    board: &C,
    drawing: &Drawing,
    answers: &Answers,
    watch: &dyn Watch,
    outcome: &mut Outcome,
) {
    let models: Vec<&Model> = answers.models.iter().map(|(model, _)| model).collect();
    let mut settled = match outcome.complete() {
        true => settle::of_list(board, &models),
        false => None,
    };
    let proof = Proof {
        board,
        drawing,
        answers,
        watch,
    };
    let found = found::find(board, &answers.models, watch)
        .filter(|found| !outcome.complete() || found.total() == BigUint::from(models.len()))
        .and_then(|found| Some((proof.examples(&found, &outcome.readings)?, found)));
    if let Some((examples, found)) = found {
        let (each, all) = settle::of_places(board, &found);
        if found.exact && !outcome.complete() {
            settled = all;
        }
        if !outcome.complete() && found.total() > BigUint::from(models.len()) {
            outcome.readings_total = ReadingsTotal {
                count: found.total().to_string(),
                hollow: found.hollow_total().to_string(),
                exact: found.exact,
            };
        }
        outcome.places = places(board, &found, &models, &each);
        outcome.examples = examples;
    }
    outcome.settled_by = settled.map(|s| settling(board, s));
    if let Some(Settling::View(view)) = outcome.settled_by {
        let draw = |model: &&Model| further_view(board, view, model);
        outcome.further_views = models.iter().map(draw).collect();
    }
}

/// What proving readings takes.
struct Proof<'a, C> {
    board: &'a C,
    drawing: &'a Drawing,
    answers: &'a Answers,
    watch: &'a dyn Watch,
}

impl<C: Candidates> Proof<'_, C> {
    /// Readings that between them show every alternative; none if some cannot be proven.
    fn examples(&self, found: &Places, listed: &[Reading]) -> Option<Vec<Reading>> {
        let most = found.places.iter().map(|p| p.alternatives.len()).max()?;
        let examples = (0..most).map(|k| self.reading(&found.answer(|_| k), listed));
        let examples = examples.collect::<Option<Vec<Reading>>>()?;
        if self.board.is_curved() {
            self.prove_pairs(found, listed)?;
        }
        Some(examples)
    }

    /// Curved faces of two places may cross, which only the proof of a reading with both finds.
    fn prove_pairs(&self, found: &Places, listed: &[Reading]) -> Option<()> {
        let mut left = MOST_PAIRS;
        for [i, j] in (0..found.places.len()).array_combinations() {
            let [a, b] = [i, j].map(|n| &found.places[n]);
            if !self.near(a, b) {
                continue;
            }
            let [m, n] = [a, b].map(|place| place.alternatives.len());
            for (k, l) in (0..m).cartesian_product(0..n) {
                left = left.checked_sub(1)?;
                let chosen = |place: usize| match place {
                    _ if place == i => k,
                    _ if place == j => l,
                    _ => 0,
                };
                self.reading(&found.answer(chosen), listed)?;
            }
        }
        Some(())
    }

    fn near(&self, a: &Place, b: &Place) -> bool {
        let [[a, b], [c, d]] = [a, b].map(|place| place.bounds(self.board));
        (0..3).all(|axis| a[axis] <= d[axis] && c[axis] <= b[axis])
    }

    /// A proven reading: from the list if it is there.
    fn reading(&self, model: &Model, listed: &[Reading]) -> Option<Reading> {
        if !self.watch.keep_going() {
            return None;
        }
        let same = |(other, _): &(Model, _)| {
            let mut both = other.iter().zip(model);
            both.all(|(a, b)| a.is_some() == b.is_some())
        };
        let known = self.answers.models.iter().position(same);
        if let Some(reading) = known.and_then(|k| listed.get(k)) {
            return Some(reading.clone());
        }
        let sound = check(self.board, model).ok()?;
        self.board
            .reading(self.drawing, HiddenLines::Required, model, &sound)
            .ok()
    }
}

#[cfg(test)]
#[allow(
    clippy::cast_possible_truncation,
    reason = "numbers in tests are small"
)]
mod tests {
    use crate::geom::V3;
    use crate::outcome::{FurtherLine, FurtherView};
    use crate::sheet::{LineType, Shape};
    use crate::solid::lines::Lines;
    use crate::solid::project::{Frame, Stroke, project};
    use crate::solid::{Body, Polyhedron};
    use crate::{Options, Outcome, Settling, read_sheet, reconstruct};

    /// The frame of a further view after its definition: what runs right and up there.
    fn frame(view: FurtherView) -> Frame {
        let [right, up] = match view {
            FurtherView::Left => [-V3::y(), V3::z()],
            FurtherView::Bottom => [V3::x(), -V3::y()],
            FurtherView::Rear => [-V3::x(), V3::z()],
        };
        Frame {
            right,
            up,
            towards: right.cross(&up),
        }
    }

    /// Lines in thousandths of a millimetre from the lower left corner of them all, in a fixed order.
    fn sorted(lines: &Lines) -> Vec<(bool, [[i64; 2]; 2])> {
        let all = [(true, &lines.visible), (false, &lines.hidden)];
        let ends = || all.iter().flat_map(|(_, lines)| lines.iter().flatten());
        let low = ends().fold([f64::MAX; 2], |low, p| [low[0].min(p.x), low[1].min(p.y)]);
        let place =
            |p: &crate::geom::V2| [p.x - low[0], p.y - low[1]].map(|c| (c * 1e3).round() as i64);
        let mut sorted: Vec<_> = all
            .iter()
            .flat_map(|(visible, lines)| lines.iter().map(|l| (*visible, l.each_ref().map(place))))
            .map(|(visible, mut ends)| {
                ends.sort_unstable();
                (visible, ends)
            })
            .collect();
        sorted.sort_unstable();
        sorted
    }

    fn given(lines: &[FurtherLine]) -> Lines {
        Lines::of(lines.iter().map(|line| match &line.shape {
            Shape::Line { from, to } => ([*from, *to], line.line_type == LineType::Visible),
            other => panic!("{other:?} on a plane-faced solid"),
        }))
    }

    fn projected(solid: &Polyhedron, view: FurtherView) -> Lines {
        Lines::of(project(solid, &frame(view)).iter().map(Stroke::line))
    }

    /// The further views come from the search's own candidates; the projector shares nothing with them.
    fn assert_drawn_alike(outcome: &Outcome) {
        let Some(Settling::View(view)) = outcome.settled_by else {
            panic!("{:?}", outcome.settled_by);
        };
        assert_eq!(outcome.further_views.len(), outcome.readings.len());
        let mut drawings = Vec::new();
        for (reading, lines) in outcome.readings.iter().zip(&outcome.further_views) {
            let Body::Flat(solid) = &reading.solid.body else {
                panic!("a plane-faced solid");
            };
            let drawn = sorted(&given(lines));
            assert_eq!(drawn, sorted(&projected(solid, view)));
            drawings.push(drawn);
        }
        drawings.sort_unstable();
        assert!(drawings.windows(2).all(|pair| pair[0] != pair[1]));
    }

    #[test]
    fn further_view_of_each_reading_is_what_the_projector_draws() {
        let sheet = include_bytes!("../../samples/mooring-steps/sheet.json");
        let (sheet, _) = read_sheet(sheet).expect("a sheet");
        assert_drawn_alike(&reconstruct(&sheet, &Options::default()).expect("an answer"));
    }

    #[test]
    fn views_from_the_other_side_are_seen_from_there() {
        let towards = FurtherView::ALL.map(|view| frame(view).towards);
        assert_eq!(towards, [-V3::x(), -V3::z(), V3::y()]);
    }
}
