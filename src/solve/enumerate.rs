//! Lists all answers in a fixed order: those without a sealed cavity first, then the others.

use super::board::Board;
use super::check::{Fault, Sound, check};
use super::encode::{Contact, Demand, Demands, encode};
use super::literal::Literal;
use super::search::{Answer, Search};
use super::thin::{is_same, is_simpler};
use super::variables::Variables;
use super::{Facing, Model};
use crate::arrange::Piece;
use crate::face::Region;
use crate::geom::arena::Id;
use crate::options::{Stage, Watch};
use crate::outcome::Limit;
use crate::sheet::View;

/// All answers found, and how the search ended.
#[derive(Clone, Debug, Default)]
pub(crate) struct Answers {
    pub(crate) models: Vec<(Model, Sound)>,
    /// The limit that stopped the search; `None`: these are all.
    pub(crate) stopped_by: Option<Limit>,
    /// Choices were met that touch themselves at a point.
    pub(crate) touching: bool,
    /// Choices were met that fall apart into pieces.
    pub(crate) apart: bool,
    /// Choices were met with faces that cross.
    pub(crate) crossing: bool,
}

/// Proves an answer: what is wrong with it that neither a clause nor `check` says; nothing if it is a reading. An answer at
/// fault is ruled out, and the search goes on. The number is its place in the list: that of an answer before, if it is the
/// same within the tolerance but simpler and takes its place.
pub(crate) type Proof<'p> = &'p mut dyn FnMut(usize, &Model, &Sound) -> Vec<Fault>;

/// Finds all answers, at most `limit`. One more is proven to know that there are more.
pub(crate) fn enumerate(
    board: &dyn Board,
    limit: usize,
    proof: Proof<'_>,
    watch: &dyn Watch,
) -> Answers {
    Run::new(board, watch).all(limit, proof, watch)
}

/// Says of each piece of a view whether a hidden line may be drawn there or not, and nothing else.
pub(crate) type Room<'r> = &'r dyn Fn(View, Id<Piece>) -> bool;

/// Likewise, with room for hidden lines.
pub(crate) fn enumerate_with_room(
    board: &dyn Board,
    room: Room<'_>,
    (limit, proof): (usize, Proof<'_>),
    watch: &dyn Watch,
) -> Answers {
    let mut search = Search::new(watch);
    let never = search.never();
    search.infer();
    let run = Run::start(
        board,
        search,
        &mut |search, spot| match room(spot.view, board.piece(spot)) {
            true => Demand::open(never, search),
            false => Demand::AsDrawn,
        },
    );
    run.all(limit, proof, watch)
}

/// The watcher stopped the search.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Stopped;

/// A search under way.
pub(crate) struct Run<'a> {
    board: &'a dyn Board,
    pub(crate) search: Search<'a>,
    variables: Variables,
    /// Assumed while sealed cavities are left for later.
    no_cavity: Literal,
    answers: Answers,
    /// How many answers were the same as one found before.
    same_again: usize,
}

/// Of answers that are the same within the tolerance no more are passed over: further ones count as readings.
const MOST_SAME: usize = 4096;

impl<'a> Run<'a> {
    fn new(board: &'a dyn Board, watch: &'a dyn Watch) -> Self {
        Self::start(board, Search::new(watch), &mut |_, _| Demand::AsDrawn)
    }

    /// All answers, at most `limit`.
    fn all(mut self, limit: usize, proof: Proof<'_>, watch: &dyn Watch) -> Answers {
        for cavities in [false, true] {
            while let Some((model, sound)) = self.next(cavities) {
                let same = self.same_as(&model);
                if same.is_some_and(|k| !is_simpler(&model, &self.answers.models[k].0)) {
                    self.block(&model);
                    continue;
                }
                let place = same.unwrap_or(self.answers.models.len());
                let faults = proof(place, &model, &sound);
                if !faults.is_empty() {
                    faults.iter().for_each(|fault| self.rule_out(&model, fault));
                    continue;
                }
                if place == limit {
                    self.answers.stopped_by = Some(Limit::Readings);
                    return self.answers;
                }
                self.block(&model);
                match self.answers.models.get_mut(place) {
                    Some(known) => *known = (model, sound),
                    None => self.answers.models.push((model, sound)),
                }
                watch.stage(Stage::Search(self.answers.models.len()));
            }
            if self.answers.stopped_by.is_some() {
                break;
            }
        }
        self.answers
    }

    /// Adds what a board means, each spot with its demand, to the clauses already in `search`.
    pub(crate) fn start(
        board: &'a dyn Board,
        mut search: Search<'a>,
        demands: Demands<'_>,
    ) -> Self {
        let variables = encode(board, &mut search, Contact::Forbidden, demands);
        let no_cavity = search.variable();
        Run {
            board,
            search,
            variables,
            no_cavity,
            answers: Answers::default(),
            same_again: 0,
        }
    }

    /// The next sound answer; none if there are no more or the search was stopped.
    fn next(&mut self, cavities: bool) -> Option<(Model, Sound)> {
        let no_cavity = self.no_cavity;
        let assumptions: &[Literal] = if cavities { &[] } else { &[no_cavity] };
        let found = self.next_with(assumptions, cavities);
        found.unwrap_or_else(|Stopped| {
            self.answers.stopped_by = Some(Limit::Stopped);
            None
        })
    }

    /// The next sound answer in which the assumptions hold.
    pub(crate) fn next_with(
        &mut self,
        assumptions: &[Literal],
        cavities: bool,
    ) -> Result<Option<(Model, Sound)>, Stopped> {
        loop {
            match self.search.solve(assumptions) {
                Answer::None => return Ok(None),
                Answer::Stopped => return Err(Stopped),
                Answer::Found => {}
            }
            let model = self.model();
            match check(self.board, &model) {
                Err(faults) => faults.iter().for_each(|fault| self.rule_out(&model, fault)),
                Ok(sound) if cavities || sound.cavities().next().is_none() => {
                    return Ok(Some((model, sound)));
                }
                Ok(sound) => self.put_off(&model, &sound),
            }
        }
    }

    fn model(&self) -> Model {
        let facing = |r: usize| {
            if self.search.holds(self.variables.along[r]) {
                Some(Facing::Along)
            } else if self.search.holds(self.variables.against[r]) {
                Some(Facing::Against)
            } else {
                None
            }
        };
        (0..self.variables.present.len()).map(facing).collect()
    }

    /// The place of an answer found before that is the same within the tolerance.
    fn same_as(&mut self, model: &Model) -> Option<usize> {
        if !self.board.is_curved() || self.same_again >= MOST_SAME {
            return None;
        }
        let mut known = self.answers.models.iter();
        let place = known.position(|(known, _)| is_same(self.board, known, model));
        self.same_again += usize::from(place.is_some());
        place
    }

    /// Excludes this very choice.
    fn block(&mut self, model: &Model) {
        let all: Vec<Id<Region>> = (0..model.len()).map(Id::new).collect();
        self.exclude_choice(model, &all);
    }

    /// Excludes choosing these regions as the model does, whatever the others do.
    fn exclude_choice(&mut self, model: &Model, regions: &[Id<Region>]) {
        let present = &self.variables.present;
        let changed = regions.iter().map(|r| match model[r.ix()] {
            Some(_) => !present[r.ix()],
            None => present[r.ix()],
        });
        self.search.clause(changed);
    }

    fn rule_out(&mut self, model: &Model, fault: &Fault) {
        match fault {
            Fault::Touching(regions) => {
                self.answers.touching = true;
                self.exclude_choice(model, regions);
            }
            Fault::Apart(regions) => {
                self.answers.apart = true;
                let clause = self.not_all(model, regions);
                self.search.clause(clause);
            }
            Fault::Crossing(regions) => {
                self.answers.crossing = true;
                // Whichever way they face.
                let present = &self.variables.present;
                self.search.clause(regions.map(|r| !present[r.ix()]));
            }
        }
    }

    /// Leaves every choice with one of these cavities for the second round.
    fn put_off(&mut self, model: &Model, sound: &Sound) {
        let cavities: Vec<_> = sound.cavities().cloned().collect();
        for cavity in cavities {
            let mut clause = self.not_all(model, &cavity.regions);
            clause.push(!self.no_cavity);
            self.search.clause(clause);
        }
    }

    /// At least one of the regions is absent or faces the other way.
    fn not_all(&self, model: &Model, regions: &[Id<Region>]) -> Vec<Literal> {
        let facing = |r: &Id<Region>| match model[r.ix()] {
            Some(Facing::Against) => !self.variables.against[r.ix()],
            _ => !self.variables.along[r.ix()],
        };
        regions.iter().map(facing).collect()
    }
}
