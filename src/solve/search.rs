//! The SAT solver behind a small face: literals, clauses, assumptions, answers.
//!
//! Clauses are first gathered and their plain consequences drawn; only what is left open goes to the solver. Most drawings leave little open, and many nothing at all.

use super::consequences::{Consequences, Contradiction};
use super::literal::Literal;
use crate::options::Watch;
use batsat::{Callbacks, Lit, Solver, SolverInterface, SolverOpts, lbool};

/// What a search found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Answer {
    /// An assignment that satisfies everything.
    Found,
    /// There is none.
    None,
    /// The watcher stopped the search first.
    Stopped,
}

/// A growing set of clauses and the search for assignments that satisfy them.
pub(crate) struct Search<'w> {
    watch: &'w dyn Watch,
    variables: u32,
    /// Clauses not yet with the solver, one after the other; `ends` says where each ends.
    gathered: Vec<Literal>,
    ends: Vec<usize>,
    /// What propagation fixed, by variable.
    fixed: Vec<Option<bool>>,
    /// Literals worth trying out beforehand; none if nothing is tried out.
    probes: Option<Vec<Literal>>,
    /// Set once the clauses contradict one another whatever is assumed.
    hopeless: bool,
    /// The solver for what is left open, made when there is something.
    solver: Option<Solver<Stop<'w>>>,
    /// The solver's variable for each of ours, where it has one.
    inner: Vec<Option<batsat::Var>>,
    buffer: Vec<Lit>,
}

/// Clauses end to end.
#[derive(Clone, Debug)]
pub(super) struct Clauses {
    pub(super) literals: Vec<Literal>,
    /// Where each clause ends.
    pub(super) ends: Vec<usize>,
    /// How many variables there are.
    pub(super) variables: u32,
}

/// Lets the watcher stop the solver.
struct Stop<'w>(&'w dyn Watch);

impl Callbacks for Stop<'_> {
    fn stop(&self) -> bool {
        !self.0.keep_going()
    }
}

impl<'w> Search<'w> {
    /// No clauses yet.
    pub(crate) fn new(watch: &'w dyn Watch) -> Self {
        Search {
            watch,
            variables: 0,
            gathered: Vec::new(),
            ends: Vec::new(),
            fixed: Vec::new(),
            probes: Some(Vec::new()),
            hopeless: false,
            solver: None,
            inner: Vec::new(),
            buffer: Vec::new(),
        }
    }

    /// No clauses yet, and nothing is tried out before the search: where much is left open, that tells little.
    pub(crate) fn untried(watch: &'w dyn Watch) -> Self {
        Search {
            probes: None,
            ..Search::new(watch)
        }
    }

    /// A new variable. Where nothing decides it, it is tried as false first: regions are rather absent, so that simple
    /// solids come before intricate ones.
    pub(crate) fn variable(&mut self) -> Literal {
        let literal = Literal::of_variable(self.variables);
        self.variables += 1;
        literal
    }

    /// A new literal that does not hold.
    pub(crate) fn never(&mut self) -> Literal {
        let never = self.variable();
        self.clause([!never]);
        never
    }

    /// Says that a literal decides much: it is tried out either way before the search.
    pub(crate) fn probe(&mut self, literal: Literal) {
        self.probes
            .iter_mut()
            .for_each(|probes| probes.push(literal));
    }

    /// At least one of the literals must hold.
    pub(crate) fn clause(&mut self, literals: impl IntoIterator<Item = Literal>) {
        let start = self.gathered.len();
        for literal in literals {
            let value = self.known(literal);
            let clause = &self.gathered[start..];
            if value == Some(true) || clause.contains(&!literal) {
                self.gathered.truncate(start); // always met
                return;
            }
            // Regions of one group share a variable, so repetition is common and hides plain consequences.
            if value.is_none() && !clause.contains(&literal) {
                self.gathered.push(literal);
            }
        }
        self.ends.push(self.gathered.len());
    }

    /// What is known of a literal before any search.
    pub(crate) fn known(&self, literal: Literal) -> Option<bool> {
        let fixed = self.fixed.get(literal.variable()).copied().flatten();
        fixed.map(|value| value != literal.is_negated())
    }

    /// Draws the plain consequences of the clauses so far; afterwards [`Search::known`] tells them.
    pub(crate) fn infer(&mut self) {
        if self.solver.is_some() || self.hopeless {
            return;
        }
        let gathered = std::mem::take(&mut self.gathered);
        let ends = std::mem::take(&mut self.ends);
        let clauses = Consequences::new(&gathered, &ends, self.variables as usize);
        match clauses.draw(self.probes.as_deref().unwrap_or_default()) {
            Ok(values) => {
                self.fixed.resize(self.variables as usize, None);
                for (fixed, value) in self.fixed.iter_mut().zip(values) {
                    *fixed = fixed.or(value);
                }
            }
            Err(Contradiction) => self.hopeless = true,
        }
        let mut start = 0;
        for end in ends {
            self.clause(gathered[start..end].iter().copied());
            start = end;
        }
    }

    /// The clauses that the plain consequences leave open, before any search; none if they contradict one another.
    pub(super) fn open_clauses(&mut self) -> Option<Clauses> {
        self.infer();
        (!self.hopeless && self.solver.is_none()).then(|| Clauses {
            literals: self.gathered.clone(),
            ends: self.ends.clone(),
            variables: self.variables,
        })
    }

    /// Looks for an assignment in which the assumptions hold too.
    pub(crate) fn solve(&mut self, assumptions: &[Literal]) -> Answer {
        self.infer();
        self.hand_over();
        if !self.watch.keep_going() {
            return Answer::Stopped;
        }
        if self.hopeless || assumptions.iter().any(|a| self.known(*a) == Some(false)) {
            return Answer::None;
        }
        let mut open = Vec::new();
        for &assumption in assumptions {
            if self.known(assumption).is_none() {
                open.push(self.inner(assumption));
            }
        }
        let Some(solver) = &mut self.solver else {
            return Answer::Found;
        };
        let answer = solver.solve_limited(&open);
        if answer == lbool::TRUE {
            Answer::Found
        } else if answer == lbool::FALSE {
            Answer::None
        } else {
            Answer::Stopped
        }
    }

    /// Whether a literal holds in the assignment found last.
    pub(crate) fn holds(&self, literal: Literal) -> bool {
        if let Some(value) = self.known(literal) {
            return value;
        }
        let known = self.inner.get(literal.variable()).copied().flatten();
        match (known, &self.solver) {
            (Some(variable), Some(solver)) => {
                solver.value_lit(Lit::new(variable, !literal.is_negated())) == lbool::TRUE
            }
            // Nothing depends on it: false.
            _ => literal.is_negated(),
        }
    }

    /// After [`Answer::None`]: whether an assumption took part in ruling everything out.
    pub(crate) fn to_blame(&self, assumption: Literal) -> bool {
        match self.known(assumption) {
            Some(value) => !value,
            None if self.hopeless => false,
            None => {
                let known = self.inner.get(assumption.variable()).copied().flatten();
                let (Some(variable), Some(solver)) = (known, &self.solver) else {
                    return false;
                };
                solver.unsat_core_contains_var(variable)
            }
        }
    }

    /// Hands the gathered clauses to the solver.
    fn hand_over(&mut self) {
        let gathered = std::mem::take(&mut self.gathered);
        let mut start = 0;
        for end in std::mem::take(&mut self.ends) {
            let mut clause = std::mem::take(&mut self.buffer);
            clause.clear();
            clause.extend(gathered[start..end].iter().map(|l| self.inner(*l)));
            match (&mut self.solver, clause.is_empty()) {
                (Some(solver), false) => self.hopeless |= !solver.add_clause_reuse(&mut clause),
                _ => self.hopeless = true,
            }
            self.buffer = clause;
            start = end;
        }
    }

    /// The solver's literal for one of ours that is still open.
    fn inner(&mut self, literal: Literal) -> Lit {
        let watch = self.watch;
        let solver = self
            .solver
            .get_or_insert_with(|| Solver::new(SolverOpts::default(), Stop(watch)));
        if self.inner.len() <= literal.variable() {
            self.inner.resize(self.variables as usize, None);
        }
        let variable = *self.inner[literal.variable()]
            .get_or_insert_with(|| solver.new_var(lbool::FALSE, true));
        Lit::new(variable, !literal.is_negated())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::options::Unwatched;

    #[test]
    fn plain_consequences_need_no_solver() {
        let mut search = Search::new(&Unwatched);
        let [a, b, c] = [(); 3].map(|()| search.variable());
        search.clause([a]);
        search.clause([!a, b]);
        search.clause([!b, !a, !c]);
        assert_eq!(search.solve(&[]), Answer::Found);
        assert!(search.holds(a) && search.holds(b) && search.holds(!c));
        assert!(search.solver.is_none());
        assert_eq!(search.solve(&[c]), Answer::None);
        assert!(search.to_blame(c));
    }

    #[test]
    fn clauses_added_later_exclude_answers_one_by_one() {
        let mut search = Search::new(&Unwatched);
        let [a, b] = [(); 2].map(|()| search.variable());
        search.clause([a, b]);
        let mut found = Vec::new();
        while search.solve(&[]) == Answer::Found {
            let now = [a, b].map(|l| if search.holds(l) { l } else { !l });
            search.clause(now.map(|l| !l));
            found.push(now);
        }
        assert_eq!(found.len(), 3);
    }

    #[test]
    fn variables_that_nothing_mentions_can_still_be_excluded() {
        let mut search = Search::new(&Unwatched);
        let free = search.variable();
        assert_eq!(search.solve(&[]), Answer::Found);
        assert!(!search.holds(free));
        search.clause([free]);
        assert_eq!(search.solve(&[]), Answer::Found);
        assert!(search.holds(free));
    }

    #[test]
    fn the_assumptions_at_fault_are_named() {
        let mut search = Search::new(&Unwatched);
        let [a, b, c, d] = [(); 4].map(|()| search.variable());
        search.clause([!a, !b]);
        search.clause([c, d]);
        assert_eq!(search.solve(&[a, c, b]), Answer::None);
        assert!(search.to_blame(a) && search.to_blame(b) && !search.to_blame(c));
        assert_eq!(search.solve(&[a, c]), Answer::Found);
    }
}
