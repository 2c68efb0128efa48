//! Plain consequences of clauses: what a clause with one open literal demands (unit propagation), and what follows
//! because the opposite leads to a contradiction that way (failed literals).

use super::literal::Literal;

/// Clauses end to end, with the values that follow so far.
pub(super) struct Consequences<'a> {
    literals: &'a [Literal],
    ends: &'a [usize],
    /// For each literal, where its list of clauses starts in `containing`.
    start: Vec<u32>,
    /// The clauses that contain each literal, list after list.
    containing: Vec<u32>,
    /// How many literals of each clause are not false.
    open: Vec<u32>,
    /// The values, by variable.
    values: Vec<Option<bool>>,
    /// The literals that hold, in the order they were found.
    trail: Vec<Literal>,
    /// How much more work probing may do.
    budget: usize,
}

/// The clauses contradict one another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Contradiction;

/// Probing stops after this many times the work of looking at every literal once.
const PROBE_EFFORT: usize = 40;

impl<'a> Consequences<'a> {
    /// Takes the clauses in, each ending where `ends` says, over `variables` variables.
    pub(super) fn new(literals: &'a [Literal], ends: &'a [usize], variables: usize) -> Self {
        let mut start = vec![0_u32; 2 * variables + 2];
        for literal in literals {
            start[literal.index() + 2] += 1;
        }
        for i in 2..start.len() {
            start[i] += start[i - 1];
        }
        let mut taken = Consequences {
            literals,
            ends,
            start,
            containing: vec![0; literals.len()],
            open: Vec::with_capacity(ends.len()),
            values: vec![None; variables],
            trail: Vec::new(),
            budget: PROBE_EFFORT * literals.len(),
        };
        for (number, clause) in (0..).zip(0..ends.len()) {
            let clause = taken.clause(clause);
            for literal in clause {
                let place = &mut taken.start[literal.index() + 1];
                taken.containing[*place as usize] = number;
                *place += 1;
            }
            let length =
                u32::try_from(clause.len()).expect("a clause has fewer than 2^32 literals");
            taken.open.push(length);
        }
        taken
    }

    /// Draws the consequences of the clauses with a single literal, and then of trying out each of `probes`.
    pub(super) fn draw(mut self, probes: &[Literal]) -> Result<Vec<Option<bool>>, Contradiction> {
        let mut demanded = Vec::new();
        for clause in 0..self.ends.len() {
            match self.clause(clause) {
                [] => return Err(Contradiction),
                [only] => demanded.push(*only),
                _ => {}
            }
        }
        self.assume(demanded)?;
        for &probe in probes {
            for literal in [!probe, probe] {
                if self.budget > 0 && self.values[literal.variable()].is_none() {
                    let before = self.trail.len();
                    let possible = self.assume(vec![literal]).is_ok();
                    self.undo(before);
                    if !possible {
                        self.assume(vec![!literal])?;
                    }
                }
            }
        }
        Ok(self.values)
    }

    fn clause(&self, clause: usize) -> &'a [Literal] {
        let start = if clause == 0 {
            0
        } else {
            self.ends[clause - 1]
        };
        &self.literals[start..self.ends[clause]]
    }

    fn containing(&self, literal: Literal) -> std::ops::Range<usize> {
        let [start, end] = [0, 1].map(|k| self.start[literal.index() + k] as usize);
        start..end
    }

    fn is_false(&self, literal: Literal) -> bool {
        self.values[literal.variable()] == Some(literal.is_negated())
    }

    /// Lets the literals hold, and all that follows from them.
    fn assume(&mut self, mut waiting: Vec<Literal>) -> Result<(), Contradiction> {
        let mut sound = Ok(());
        while let Some(literal) = waiting.pop() {
            if self.is_false(literal) {
                return Err(Contradiction);
            }
            if self.values[literal.variable()].is_some() {
                continue;
            }
            self.values[literal.variable()] = Some(!literal.is_negated());
            self.trail.push(literal);
            let gone = self.containing(!literal);
            self.budget = self.budget.saturating_sub(gone.len() + 1);
            // All counts are brought up to date even after a contradiction, so that they can be taken back.
            for place in gone {
                let clause = self.containing[place] as usize;
                self.open[clause] -= 1;
                if self.open[clause] == 1 && sound.is_ok() {
                    let rest = self.clause(clause).iter().copied();
                    match rest.into_iter().find(|l| !self.is_false(*l)) {
                        Some(last) => waiting.push(last),
                        None => sound = Err(Contradiction),
                    }
                }
            }
            sound?;
        }
        Ok(())
    }

    /// Takes back everything after the first `keep` literals of the trail.
    fn undo(&mut self, keep: usize) {
        while self.trail.len() > keep {
            let Some(literal) = self.trail.pop() else {
                return;
            };
            self.values[literal.variable()] = None;
            for place in self.containing(!literal) {
                self.open[self.containing[place] as usize] += 1;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::options::Unwatched;
    use crate::solve::search::Search;

    #[test]
    fn a_literal_whose_opposite_fails_holds() {
        let mut search = Search::new(&Unwatched);
        let [a, b, c] = [(); 3].map(|()| search.variable());
        search.probe(a);
        // Without `a`, both `b` and its opposite would follow.
        search.clause([a, b]);
        search.clause([a, !b, c]);
        search.clause([a, !c]);
        search.infer();
        assert_eq!(search.known(a), Some(true));
        assert_eq!(search.known(b), None, "trying out leaves no trace");
    }

    #[test]
    fn contradictory_clauses_are_seen_without_a_search() {
        let literal = |search: &mut Search<'_>| search.variable();
        let mut search = Search::new(&Unwatched);
        let (a, b) = (literal(&mut search), literal(&mut search));
        for clause in [[a, b], [a, !b], [!a, b], [!a, !b]] {
            search.clause(clause);
        }
        search.probe(a);
        assert_eq!(search.solve(&[]), crate::solve::search::Answer::None);
    }
}
