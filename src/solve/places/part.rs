//! The alternatives of one part of what is open.

use super::Listing;
use super::clauses::value;
use super::open::Open;
use crate::face::Region;
use crate::geom::arena::Id;
use crate::options::Watch;
use crate::solve::board::Board;
use crate::solve::check::touches_at;
use crate::solve::literal::Literal;
use crate::solve::search::{Answer, Search};
use crate::solve::{Facing, Model};
use crate::wireframe::Vertex;
use rustc_hash::FxHashMap;

/// A group of parts with its alternatives so far.
pub(super) struct Part {
    /// The parts it is made of.
    pub(super) members: Vec<usize>,
    /// Its open regions.
    pub(super) regions: Vec<Id<Region>>,
    /// How they may face, the first as in the base.
    pub(super) alternatives: Vec<Vec<Option<Facing>>>,
    /// Whether these are all.
    pub(super) complete: bool,
}

impl Part {
    /// Lists the alternatives of some parts together; none if the search is stopped.
    pub(super) fn list(listing: &Listing<'_>, members: Vec<usize>) -> Option<Part> {
        let Listing {
            board, base, open, ..
        } = *listing;
        let all = (0..board.region_count()).map(Id::new);
        let here = |r: &Id<Region>| open.part(*r).is_some_and(|p| members.contains(&p));
        let regions: Vec<Id<Region>> = all.filter(here).collect();
        let mut part = Part {
            members,
            alternatives: vec![regions.iter().map(|r| base[r.ix()]).collect()],
            regions,
            complete: false,
        };
        let vertices = part.own_vertices(board, open);
        let mut local = Local::of(open, &part, listing.watch);
        let mut model = base.clone();
        local.exclude(&part.regions, &model);
        loop {
            match local.search.solve(&[]) {
                Answer::Stopped => return None,
                Answer::None => {
                    part.complete = true;
                    return Some(part);
                }
                Answer::Found if part.alternatives.len() == listing.most => return Some(part),
                Answer::Found => {}
            }
            let facing: Vec<_> = part.regions.iter().map(|r| local.facing(*r)).collect();
            part.put(&facing, &mut model);
            let touching = vertices.iter().find(|v| touches_at(board, &model, **v));
            if let Some(&vertex) = touching {
                let mut there = board.at_vertex(vertex);
                there.retain(|r| open.part(*r).is_some());
                local.exclude(&there, &model);
            } else {
                local.exclude(&part.regions, &model);
                part.alternatives.push(facing);
            }
        }
    }

    /// Puts an alternative into a model.
    pub(super) fn choose(&self, alternative: usize, model: &mut Model) {
        self.put(&self.alternatives[alternative], model);
    }

    fn put(&self, facing: &[Option<Facing>], model: &mut Model) {
        for (region, facing) in self.regions.iter().zip(facing) {
            model[region.ix()] = *facing;
        }
    }

    /// The corners of its regions.
    pub(super) fn vertices(&self, board: &dyn Board) -> Vec<Id<Vertex>> {
        let regions = self.regions.iter();
        let halves = regions.flat_map(|r| board.borders(*r).iter().flatten());
        let mut all: Vec<Id<Vertex>> = halves.flat_map(|half| board.ends(half.edge)).collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    /// The corners where nothing else is open.
    fn own_vertices(&self, board: &dyn Board, open: &Open) -> Vec<Id<Vertex>> {
        let mut vertices = self.vertices(board);
        vertices.retain(|v| {
            let parts = board.at_vertex(*v).into_iter().filter_map(|r| open.part(r));
            parts.into_iter().all(|p| self.members.contains(&p))
        });
        vertices
    }
}

/// The search among one group's own clauses, with variables numbered anew.
struct Local<'a> {
    open: &'a Open,
    search: Search<'a>,
    renamed: FxHashMap<usize, Literal>,
}

impl<'a> Local<'a> {
    fn of(open: &'a Open, part: &Part, watch: &'a dyn Watch) -> Self {
        let mut local = Local {
            open,
            search: Search::new(watch),
            renamed: FxHashMap::default(),
        };
        for region in part.regions.iter().filter(|r| open.may_be_absent(**r)) {
            local.literal(open.variables.present[region.ix()]);
        }
        for &member in &part.members {
            for clause in open.parts[member].iter() {
                let clause: Vec<Literal> = clause.iter().map(|l| local.literal(*l)).collect();
                local.search.clause(clause);
            }
        }
        local
    }

    fn literal(&mut self, literal: Literal) -> Literal {
        let search = &mut self.search;
        let renamed = *self
            .renamed
            .entry(literal.variable())
            .or_insert_with(|| search.variable());
        if literal.is_negated() {
            !renamed
        } else {
            renamed
        }
    }

    fn holds(&self, literal: Literal) -> bool {
        value(&self.open.values, literal).unwrap_or_else(|| {
            let renamed = self.renamed.get(&literal.variable());
            renamed.is_some_and(|l| self.search.holds(*l) != literal.is_negated())
        })
    }

    fn facing(&self, region: Id<Region>) -> Option<Facing> {
        let variables = &self.open.variables;
        if self.holds(variables.along[region.ix()]) {
            Some(Facing::Along)
        } else if self.holds(variables.against[region.ix()]) {
            Some(Facing::Against)
        } else {
            None
        }
    }

    /// Excludes having just these regions as the model has them.
    fn exclude(&mut self, regions: &[Id<Region>], model: &Model) {
        let present = &self.open.variables.present;
        let literals: Vec<Literal> = regions
            .iter()
            .filter(|r| self.open.may_be_absent(**r))
            .map(|r| match model[r.ix()] {
                Some(_) => !present[r.ix()],
                None => present[r.ix()],
            })
            .collect();
        let clause: Vec<Literal> = literals.into_iter().map(|l| self.literal(l)).collect();
        self.search.clause(clause);
    }
}
