//! Clauses with part of the variables settled, and the parts into which the rest falls.

use crate::solve::consequences::Consequences;
use crate::solve::literal::Literal;
use crate::solve::search::Clauses;
use petgraph::unionfind::UnionFind;
use rustc_hash::FxHashMap;

/// Values by variable; none where nothing is known.
pub(super) type Values = Vec<Option<bool>>;

/// What a literal is worth under some values.
pub(super) fn value(values: &Values, literal: Literal) -> Option<bool> {
    values[literal.variable()].map(|value| value != literal.is_negated())
}

impl Clauses {
    /// No clauses over so many variables.
    pub(super) fn none(variables: u32) -> Self {
        Clauses {
            literals: Vec::new(),
            ends: Vec::new(),
            variables,
        }
    }

    /// The clauses one after the other.
    pub(super) fn iter(&self) -> impl Iterator<Item = &[Literal]> {
        let starts = std::iter::once(0).chain(self.ends.iter().copied());
        starts
            .zip(&self.ends)
            .map(|(start, &end)| &self.literals[start..end])
    }

    /// Adds a clause.
    pub(super) fn push(&mut self, clause: impl IntoIterator<Item = Literal>) {
        self.literals.extend(clause);
        self.ends.push(self.literals.len());
    }

    /// What is left of the clauses if the literals hold, and all that follows plainly; none if they contradict.
    pub(super) fn given(&self, settled: &[Literal]) -> Option<(Clauses, Values)> {
        let mut all = self.clone();
        settled.iter().for_each(|&literal| all.push([literal]));
        let clauses = Consequences::new(&all.literals, &all.ends, all.variables as usize);
        let values = clauses.draw(&[]).ok()?;
        let mut left = Clauses::none(self.variables);
        for clause in self.iter() {
            if !clause.iter().any(|l| value(&values, *l) == Some(true)) {
                let open = clause.iter().copied();
                left.push(open.filter(|l| value(&values, *l).is_none()));
            }
        }
        Some((left, values))
    }

    /// Leaves out the clauses that a helping variable meets without harm to any other: one that occurs with one sign only
    /// can be chosen so. What the variables to `keep` may be together stays exactly the same.
    pub(super) fn without_idle(self, keep: &[bool]) -> Clauses {
        let mut clauses = self;
        loop {
            let mut occurs = vec![false; 2 * clauses.variables as usize];
            for literal in &clauses.literals {
                occurs[literal.index()] = true;
            }
            let idle = |l: &Literal| !keep[l.variable()] && !occurs[(!*l).index()];
            let mut left = Clauses::none(clauses.variables);
            for clause in clauses.iter().filter(|c| !c.iter().any(idle)) {
                left.push(clause.iter().copied());
            }
            if left.ends.len() == clauses.ends.len() {
                return left;
            }
            clauses = left;
        }
    }

    /// The clauses in parts that share no variable.
    pub(super) fn parts(&self) -> Vec<Clauses> {
        let mut joined = UnionFind::<usize>::new(self.variables as usize);
        for clause in self.iter() {
            for pair in clause.windows(2) {
                joined.union(pair[0].variable(), pair[1].variable());
            }
        }
        let mut parts: Vec<Clauses> = Vec::new();
        let mut part_of: FxHashMap<usize, usize> = FxHashMap::default();
        for clause in self.iter().filter(|c| !c.is_empty()) {
            let part = *part_of
                .entry(joined.find(clause[0].variable()))
                .or_insert_with(|| {
                    parts.push(Clauses::none(self.variables));
                    parts.len() - 1
                });
            parts[part].push(clause.iter().copied());
        }
        parts
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn clauses(variables: u32, all: &[&[i32]]) -> Clauses {
        let mut clauses = Clauses::none(variables);
        for clause in all {
            clauses.push(clause.iter().map(|&n| {
                let literal = Literal::of_variable(n.unsigned_abs() - 1);
                if n < 0 { !literal } else { literal }
            }));
        }
        clauses
    }

    #[test]
    fn settled_variables_take_clauses_apart() {
        let all = clauses(5, &[&[1, 2], &[-1, 3, 4], &[-2, 5, 3]]);
        assert_eq!(all.parts().len(), 1);
        let (left, values) = all.given(&[Literal::of_variable(2)]).unwrap();
        assert_eq!(values[2], Some(true));
        assert_eq!(left.parts().len(), 1);
        assert_eq!(left.ends.len(), 1);
    }

    #[test]
    fn helping_variable_of_one_sign_goes_with_its_clauses() {
        // 3 helps: it may be true whatever 1 and 2 are, so the first clause says nothing about them.
        let all = clauses(4, &[&[1, 2, 3], &[-4, 3], &[1, 4]]);
        let left = all.without_idle(&[true, true, false, true]);
        assert_eq!(left.ends.len(), 1);
    }

    #[test]
    fn clauses_that_contradict_leave_nothing() {
        let all = clauses(2, &[&[1, 2], &[-1, 2]]);
        assert!(all.given(&[!Literal::of_variable(1)]).is_none());
    }
}
