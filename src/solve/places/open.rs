//! What the clauses of a drawing leave open: the regions that answers may differ in, in parts that share no variable.

use super::clauses::{Values, value};
use crate::face::Region;
use crate::geom::arena::Id;
use crate::options::Watch;
use crate::solve::Model;
use crate::solve::board::Board;
use crate::solve::check::Sound;
use crate::solve::encode::{Contact, Demand, encode};
use crate::solve::literal::Literal;
use crate::solve::search::{Answer, Clauses, Search};
use crate::solve::variables::Variables;
use petgraph::unionfind::UnionFind;
use rustc_hash::FxHashMap;

/// No part.
const NONE: u32 = u32::MAX;

/// What is open.
pub(super) struct Open {
    pub(super) variables: Variables,
    /// What is settled.
    pub(super) values: Values,
    /// Clauses that share no variable, each with a region to choose.
    pub(super) parts: Vec<Clauses>,
    /// By region, the part it is open in.
    part_of: Vec<u32>,
}

impl Open {
    /// Finds out what is open; none if the search is stopped.
    pub(super) fn of(
        board: &dyn Board,
        listed: &[(Model, Sound)],
        watch: &dyn Watch,
    ) -> Option<Self> {
        let mut search = Search::new(watch);
        let variables = encode(board, &mut search, Contact::Forbidden, &mut |_, _| {
            Demand::AsDrawn
        });
        let clauses = search.open_clauses()?;
        let regions = region_variables(&variables, clauses.variables);
        let mut candidates = Candidates::of(&search, &variables.present);
        for (model, _) in listed {
            let is = |r: usize| model[r].is_some();
            candidates.compare(|literal| regions.of(literal).first().is_some_and(|r| is(r.ix())));
        }
        let mut settled = candidates.settled(&mut search)?;
        let keep = regions.keep();
        let (left, _) = clauses.given(&settled)?;
        // Helping variables that are settled too take parts further apart.
        let left = left.without_idle(&keep);
        let mut used: Vec<Literal> = left.literals.clone();
        used.iter_mut()
            .for_each(|l| *l = if l.is_negated() { !*l } else { *l });
        used.sort_unstable_by_key(|l| l.index());
        used.dedup();
        let helping: Vec<Literal> = used.into_iter().filter(|l| !keep[l.variable()]).collect();
        let known = Candidates::of(&search, &helping);
        settled.extend(known.settled(&mut search)?);
        let (left, mut values) = clauses.given(&settled)?;
        for (number, value) in (0..).zip(&mut values) {
            *value = value.or(search.known(Literal::of_variable(number)));
        }
        let parts = left.without_idle(&keep).parts();
        Some(Open::from_parts(variables, values, parts))
    }

    fn from_parts(variables: Variables, values: Values, parts: Vec<Clauses>) -> Self {
        let mut of_variable: Vec<u32> = vec![NONE; values.len()];
        for (number, part) in (0..).zip(&parts) {
            let all = part.literals.iter();
            all.for_each(|l| of_variable[l.variable()] = number);
        }
        let mut free = u32::try_from(parts.len()).expect("fewer than 2^32 parts");
        let mut parts = parts;
        let part_of = (0..variables.present.len()).map(|region| {
            // A region that is always there may still face one way or the other.
            let all = [&variables.present, &variables.along, &variables.against];
            let mut open = all.map(|of| of[region]).into_iter();
            let Some(literal) = open.find(|l| value(&values, *l).is_none()) else {
                return NONE;
            };
            // Nothing speaks of it any more: a part of its own.
            if of_variable[literal.variable()] == NONE {
                of_variable[literal.variable()] = free;
                parts.push(Clauses::none(0));
                free += 1;
            }
            of_variable[literal.variable()]
        });
        let part_of: Vec<u32> = part_of.collect();
        Open {
            variables,
            values,
            parts,
            part_of,
        }
    }

    /// Whether it is open if a region is there at all, and not only how it faces.
    pub(super) fn may_be_absent(&self, region: Id<Region>) -> bool {
        value(&self.values, self.variables.present[region.ix()]).is_none()
    }

    /// The part a region is open in.
    pub(super) fn part(&self, region: Id<Region>) -> Option<usize> {
        let part = self.part_of[region.ix()];
        (part != NONE).then_some(part as usize)
    }

    /// Every part with open regions on its own, those that share an edge together.
    pub(super) fn groups(&self, board: &dyn Board) -> Groups {
        let mut groups = Groups {
            joined: UnionFind::new(self.parts.len()),
            used: vec![false; self.parts.len()],
        };
        for part in self.part_of.iter().filter(|p| **p != NONE) {
            groups.used[*part as usize] = true;
        }
        for edge in (0..board.edge_count()).map(Id::new) {
            let here = board.around(edge).iter();
            let parts: Vec<usize> = here.filter_map(|l| self.part(l.region)).collect();
            for pair in parts.windows(2) {
                groups.join(pair[0], pair[1]);
            }
        }
        groups
    }
}

/// Parts taken together.
pub(super) struct Groups {
    joined: UnionFind<usize>,
    /// Whether a part has a region to choose.
    used: Vec<bool>,
}

impl Groups {
    /// Takes two parts together.
    pub(super) fn join(&mut self, a: usize, b: usize) {
        self.joined.union(a, b);
    }

    /// The groups, each with its parts in order.
    pub(super) fn all(&self) -> Vec<Vec<usize>> {
        let mut place: FxHashMap<usize, usize> = FxHashMap::default();
        let mut groups: Vec<Vec<usize>> = Vec::new();
        for part in (0..self.used.len()).filter(|p| self.used[*p]) {
            let group = *place.entry(self.joined.find(part)).or_insert_with(|| {
                groups.push(Vec::new());
                groups.len() - 1
            });
            groups[group].push(part);
        }
        groups
    }
}

/// Which regions each variable speaks of.
struct RegionVariables {
    present: FxHashMap<usize, Vec<Id<Region>>>,
    keep: Vec<bool>,
}

fn region_variables(variables: &Variables, count: u32) -> RegionVariables {
    let mut present: FxHashMap<usize, Vec<Id<Region>>> = FxHashMap::default();
    let mut keep = vec![false; count as usize];
    for (region, literal) in variables.present.iter().enumerate() {
        let regions = present.entry(literal.variable()).or_default();
        regions.push(Id::new(region));
    }
    let all = [&variables.present, &variables.along, &variables.against];
    for literal in all.into_iter().flatten() {
        keep[literal.variable()] = true;
    }
    RegionVariables { present, keep }
}

impl RegionVariables {
    fn of(&self, literal: Literal) -> &[Id<Region>] {
        self.present
            .get(&literal.variable())
            .map_or(&[], |regions| &regions[..])
    }

    fn keep(&self) -> Vec<bool> {
        self.keep.clone()
    }
}

/// Variables that may be the same in all answers.
struct Candidates {
    /// Each with its value in the first answer, once there is one.
    left: Vec<(Literal, Option<bool>)>,
}

impl Candidates {
    fn of(search: &Search<'_>, literals: &[Literal]) -> Self {
        let mut left: Vec<(Literal, Option<bool>)> = literals
            .iter()
            .filter(|l| search.known(**l).is_none())
            .map(|l| (*l, None))
            .collect();
        left.sort_unstable_by_key(|(l, _)| l.index());
        left.dedup();
        Candidates { left }
    }

    /// Drops those that an answer has otherwise than the answers before.
    fn compare(&mut self, holds: impl Fn(Literal) -> bool) {
        self.left.retain_mut(|(literal, value)| {
            let now = holds(*literal);
            *value.get_or_insert(now) == now
        });
    }

    /// The literals that hold in every answer; none if the search is stopped.
    fn settled(mut self, search: &mut Search<'_>) -> Option<Vec<Literal>> {
        if search.solve(&[]) != Answer::Found {
            return None;
        }
        self.compare(|l| search.holds(l));
        let mut settled = Vec::new();
        while let Some((literal, value)) = self.left.pop() {
            let literal = if value == Some(true) {
                literal
            } else {
                !literal
            };
            match search.solve(&[!literal]) {
                Answer::Stopped => return None,
                Answer::None => {
                    search.clause([literal]);
                    settled.push(literal);
                }
                Answer::Found => self.compare(|l| search.holds(l)),
            }
        }
        Some(settled)
    }
}
