//! How many changes are needed at least, and what that leaves open.
//!
//! Changes are forbidden, all of them; the solver says which of these together cannot be, one of them must be made after
//! all, and from then on only a second one of that set is forbidden. So the number of changes grows by one each time, until a
//! drawing is possible: with that many changes and no fewer. Changes at one place are forbidden as one until one of them is
//! needed: the solver has fewer to say no to, and blames smaller sets. (The method is known from searches for the most
//! clauses that can be met together: Andres, Kaufmann, Matheis, Schaub 2012, and Morgado, Dodaro, Marques-Silva 2014; from
//! memory.)

use crate::solve::enumerate::Stopped;
use crate::solve::literal::Literal;
use crate::solve::search::{Answer, Search};
use rustc_hash::FxHashMap;

/// The least number of changes, and what must not be then.
pub(super) struct Least {
    /// More than asked for if so many are not enough.
    pub(super) changes: usize,
    /// Literals that hold if just so many changes are made, whichever these are.
    pub(super) just_these: Vec<Literal>,
}

impl Least {
    /// Looks for the least number among `costs`, which are the literals that count as a change, those of one place together,
    /// but not beyond `most`.
    pub(super) fn of(
        costs: &[Vec<Literal>],
        most: usize,
        search: &mut Search<'_>,
    ) -> Result<Self, Stopped> {
        let mut changes = 0;
        // What is forbidden next once a set must have one more.
        let mut after: FxHashMap<Literal, Literal> = FxHashMap::default();
        // The literals of the places that are still forbidden as one.
        let mut places: FxHashMap<Literal, &[Literal]> = FxHashMap::default();
        let mut forbidden = Vec::new();
        for place in costs {
            let any = any_of(place, search);
            forbidden.push(any);
            if place.len() > 1 {
                places.insert(any, place);
            }
        }
        while changes <= most {
            let Some(set) = needed_of(&forbidden, search)? else {
                break;
            };
            if set.is_empty() {
                // No change helps.
                changes = most + 1;
                break;
            }
            changes += 1;
            forbidden.retain(|literal| !set.contains(literal));
            search.clause(set.iter().copied());
            let opened = set.iter().filter_map(|literal| places.remove(literal));
            let counted: Vec<&[Literal]> = opened.chain([&set[..]]).collect();
            for literals in counted {
                let counts = more_than(literals, most, search);
                after.extend(counts.windows(2).map(|pair| (pair[0], pair[1])));
                forbidden.extend(counts.get(1));
            }
            forbidden.extend(set.iter().filter_map(|literal| after.get(literal)));
        }
        let just_these = forbidden.into_iter().map(|literal| !literal).collect();
        Ok(Least {
            changes,
            just_these,
        })
    }
}

/// A literal that holds if any of some does.
fn any_of(literals: &[Literal], search: &mut Search<'_>) -> Literal {
    if let [only] = literals {
        return *only;
    }
    let any = search.variable();
    for literal in literals {
        search.clause([!*literal, any]);
    }
    any
}

/// Some of the literals that cannot all be false; none if they can.
fn needed_of(
    forbidden: &[Literal],
    search: &mut Search<'_>,
) -> Result<Option<Vec<Literal>>, Stopped> {
    let mut needed = forbidden.to_vec();
    let mut in_vain = 0;
    while in_vain < IN_VAIN {
        let none: Vec<Literal> = needed.iter().map(|literal| !*literal).collect();
        match search.solve(&none) {
            Answer::Found => return Ok(None),
            Answer::Stopped => return Err(Stopped),
            Answer::None => {}
        }
        let before = needed.len();
        needed.retain(|literal| search.to_blame(!*literal));
        in_vain = if needed.len() == before {
            in_vain + 1
        } else {
            0
        };
        // The solver blames what comes first: from the other end it may do without some of it.
        needed.reverse();
    }
    Ok(Some(needed))
}

/// A set that did not become smaller so many times stays as it is.
const IN_VAIN: usize = 2;

/// Literals of which the one at place `k` holds if more than `k` of the given ones do, up to `most`.
pub(super) fn more_than(
    literals: &[Literal],
    most: usize,
    search: &mut Search<'_>,
) -> Vec<Literal> {
    // So far at least one, at least two, and so on: a counter as in Sinz (2005), from memory.
    let mut counts: Vec<Literal> = Vec::new();
    for &literal in literals {
        let count = (counts.len() + 1).min(most + 1);
        let next: Vec<Literal> = (0..count).map(|_| search.variable()).collect();
        search.clause([!literal, next[0]]);
        for (k, count) in counts.iter().enumerate() {
            search.clause([!*count, next[k]]);
            if let Some(more) = next.get(k + 1) {
                search.clause([!literal, !*count, *more]);
            }
        }
        counts = next;
    }
    counts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::options::Unwatched;

    /// In how many ways just two of the changes are made.
    fn pairs(least: &Least, changes: [Literal; 4], search: &mut Search<'_>) -> usize {
        let mut found = 0;
        while search.solve(&least.just_these) == Answer::Found {
            let made: Vec<Literal> = changes.into_iter().filter(|l| search.holds(*l)).collect();
            assert_eq!(made.len(), 2);
            search.clause(made.into_iter().map(|l| !l));
            found += 1;
        }
        found
    }

    #[test]
    fn changes_for_faults_apart_add_up() {
        let mut search = Search::new(&Unwatched);
        let [a, b, c, d] = [(); 4].map(|()| search.variable());
        // One of the first two, and two of the others and the first.
        for clause in [[a, b], [c, d], [a, c], [a, d]] {
            search.clause(clause);
        }
        let apart = [a, b, c, d].map(|change| vec![change]);
        let least = Least::of(&apart, 4, &mut search).unwrap();
        assert_eq!(least.changes, 2);
        let found = pairs(&least, [a, b, c, d], &mut search);
        assert_eq!(found, 2, "a with c, and a with d");
    }

    #[test]
    fn changes_at_one_place_are_counted_one_by_one() {
        let mut search = Search::new(&Unwatched);
        let [a, b, c, d] = [(); 4].map(|()| search.variable());
        // Two of the first three, which are at one place, or one of them and the last.
        for clause in [[a, b], [a, c], [b, c]] {
            search.clause(clause.into_iter().chain([d]));
        }
        search.clause([a, b, c]);
        let least = Least::of(&[vec![a, b, c], vec![d]], 4, &mut search).unwrap();
        assert_eq!(least.changes, 2);
        let found = pairs(&least, [a, b, c, d], &mut search);
        assert_eq!(found, 6, "any two of the four");
    }

    #[test]
    fn where_no_change_helps_there_are_more_than_any() {
        let mut search = Search::new(&Unwatched);
        let [cost, open] = [(); 2].map(|()| search.variable());
        search.clause([open]);
        search.clause([!open]);
        let least = Least::of(&[vec![cost]], 4, &mut search).unwrap();
        assert_eq!(least.changes, 5);
    }
}
