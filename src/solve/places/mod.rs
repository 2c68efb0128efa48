//! Where the readings of a drawing differ: independent places of choice, each with its alternatives.
//!
//! Regions that are the same in all answers are settled. What is left of the clauses falls into parts that share no
//! variable (`open`); each part's alternatives are listed (`part`). What no clause says, that a solid is one piece and
//! touches itself nowhere, could still tie parts together: `ties` finds out, and such parts are taken as one. Then every
//! combination of alternatives is an answer, and their number is a product.

mod clauses;
mod open;
mod part;
mod ties;

use super::board::Board;
use super::check::{Fault, Shell, Sound, check};
use super::{Facing, Model};
use crate::face::Region;
use crate::geom::P3;
use crate::geom::arena::Id;
use crate::options::Watch;
use num_bigint::BigUint;
use open::Open;
use part::Part;
use std::cmp::Ordering;
use ties::Ties;

/// How many alternatives of one part are listed at least, if there are so many: each of them must be proven later.
const ALTERNATIVES: usize = 64;

/// The places of choice of an ambiguous drawing.
#[derive(Clone, Debug)]
pub(crate) struct Places {
    /// One answer; what is no choice is the same in all of them.
    pub(crate) base: Model,
    pub(crate) places: Vec<Place>,
    /// Whether the alternatives are all there are; else there may be more.
    pub(crate) exact: bool,
    /// Whether every answer has a sealed cavity, whatever is chosen.
    hollow: bool,
}

/// A place of choice.
#[derive(Clone, Debug)]
pub(crate) struct Place {
    /// The regions that some of its alternatives have and others have not, or that face the other way in others.
    pub(crate) regions: Vec<Id<Region>>,
    /// How they may be chosen; the first as in the base.
    pub(crate) alternatives: Vec<Choice>,
}

/// One alternative of a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Choice {
    /// How each of the place's regions faces, if it is there.
    pub(crate) facing: Vec<Option<Facing>>,
    /// Whether it has a sealed cavity.
    pub(crate) hollow: bool,
}

impl Place {
    /// Puts an alternative into a model.
    pub(crate) fn choose(&self, alternative: usize, model: &mut Model) {
        let choice = &self.alternatives[alternative.min(self.alternatives.len() - 1)];
        for (region, facing) in self.regions.iter().zip(&choice.facing) {
            model[region.ix()] = *facing;
        }
    }

    /// Which alternative a model has, if any.
    pub(crate) fn chosen(&self, model: &Model) -> Option<usize> {
        let has = |choice: &Choice| {
            let mut all = self.regions.iter().zip(&choice.facing);
            all.all(|(r, facing)| model[r.ix()].is_some() == facing.is_some())
        };
        self.alternatives.iter().position(has)
    }

    /// The box around its regions.
    pub(crate) fn bounds(&self, board: &dyn Board) -> [P3; 2] {
        let boxes = self.regions.iter().map(|r| board.bounds(*r));
        let around = boxes.reduce(|[a, b], [c, d]| [a.inf(&c), b.sup(&d)]);
        around.unwrap_or([P3::origin(); 2])
    }
}

impl Places {
    /// How many answers there are.
    pub(crate) fn total(&self) -> BigUint {
        let counts = self.places.iter().map(|p| p.alternatives.len());
        counts.map(BigUint::from).product()
    }

    /// How many of them have a sealed cavity.
    pub(crate) fn hollow_total(&self) -> BigUint {
        let open = |place: &Place| place.alternatives.iter().filter(|a| !a.hollow).count();
        let without: BigUint = match self.hollow {
            true => BigUint::ZERO,
            false => self.places.iter().map(open).map(BigUint::from).product(),
        };
        self.total() - without
    }

    /// The answer with the given alternative of each place; where a place has fewer, its last.
    pub(crate) fn answer(&self, chosen: impl Fn(usize) -> usize) -> Model {
        let mut model = self.base.clone();
        for (number, place) in self.places.iter().enumerate() {
            place.choose(chosen(number), &mut model);
        }
        model
    }
}

/// Finds the places of choice of a drawing with several answers; none if the search is stopped or they
/// cannot be told apart.
///
/// `listed` are some of its answers, at least one; the more they are, the more alternatives of one place are listed.
pub(crate) fn find(
    board: &dyn Board,
    listed: &[(Model, Sound)],
    watch: &dyn Watch,
) -> Option<Places> {
    let base = &listed.first()?.0;
    let open = Open::of(board, listed, watch)?;
    let listing = Listing {
        board,
        base,
        open: &open,
        most: listed.len().max(ALTERNATIVES),
        watch,
    };
    let mut groups = open.groups(board);
    let mut parts: Vec<Part> = Vec::new();
    loop {
        parts = listing.parts(&groups, parts)?;
        let ties = Ties::of(board, base, &open, &parts);
        if ties.pairs.is_empty() {
            let mut found = ties.finish(board, base, &parts)?;
            found
                .places
                .sort_by(|a, b| in_order(a.bounds(board), b.bounds(board)));
            return Some(found);
        }
        for [a, b] in ties.pairs {
            groups.join(a, b);
        }
    }
}

/// From left to right, then from near to far, then upwards.
fn in_order([a, _]: [P3; 2], [b, _]: [P3; 2]) -> Ordering {
    let by = |axis: usize| a[axis].total_cmp(&b[axis]);
    by(0).then(by(1)).then(by(2))
}

/// What listing alternatives takes.
struct Listing<'a> {
    board: &'a dyn Board,
    base: &'a Model,
    open: &'a Open,
    /// No more alternatives of one part are listed.
    most: usize,
    watch: &'a dyn Watch,
}

impl Listing<'_> {
    /// The alternatives of every group; groups already listed are taken over. None if the search is stopped.
    fn parts(&self, groups: &open::Groups, known: Vec<Part>) -> Option<Vec<Part>> {
        let mut known: Vec<Option<Part>> = known.into_iter().map(Some).collect();
        let mut parts = Vec::new();
        for members in groups.all() {
            let same = |p: &&mut Option<Part>| p.as_ref().is_some_and(|p| p.members == members);
            let before = known.iter_mut().find(same).and_then(Option::take);
            parts.push(match before {
                Some(part) => part,
                None => Part::list(self, members)?,
            });
        }
        Some(parts)
    }
}

/// Whether a shell is a cavity.
fn is_cavity(shell: &&Shell) -> bool {
    shell.hollow
}

/// The base with one alternative of a part: its shells, or what is wrong with it.
fn checked(
    board: &dyn Board,
    base: &Model,
    part: &Part,
    alternative: usize,
) -> Result<Sound, Vec<Fault>> {
    let mut model = base.clone();
    part.choose(alternative, &mut model);
    check(board, &model)
}
