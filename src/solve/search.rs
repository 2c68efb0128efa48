//! The SAT solver behind a small face: literals, clauses, assumptions, answers.
//!
//! Clauses are first gathered and their plain consequences drawn (unit propagation); only what is left open goes to the
//! solver. Most drawings leave little open, and many nothing at all.

use crate::options::Watch;
use batsat::{Callbacks, Lit, Solver, SolverInterface, SolverOpts, lbool};

/// A variable or its negation: twice the variable's number, plus one if negated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Literal(u32);

impl Literal {
    fn variable(self) -> usize {
        (self.0 / 2) as usize
    }

    fn index(self) -> usize {
        self.0 as usize
    }

    fn negated(self) -> bool {
        self.0 % 2 == 1
    }
}

impl std::ops::Not for Literal {
    type Output = Literal;
    fn not(self) -> Literal {
        Literal(self.0 ^ 1)
    }
}

/// What a search found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Answer {
    /// An assignment that satisfies everything.
    Found,
    /// There is none.
    None,
    /// The watcher stopped the search first.
    Stopped,
}

/// A growing set of clauses and the search for assignments that satisfy them.
pub(super) struct Search<'w> {
    watch: &'w dyn Watch,
    variables: u32,
    /// Clauses not yet looked at, one after the other; `ends` says where each ends.
    gathered: Vec<Literal>,
    ends: Vec<usize>,
    /// What propagation fixed, by variable.
    fixed: Vec<Option<bool>>,
    /// Set once the clauses contradict one another whatever is assumed.
    hopeless: bool,
    /// The solver for what is left open, made when there is something.
    solver: Option<Solver<Stop<'w>>>,
    /// The solver's variable for each of ours, where it has one.
    inner: Vec<Option<batsat::Var>>,
    buffer: Vec<Lit>,
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
    pub(super) fn new(watch: &'w dyn Watch) -> Self {
        Search {
            watch,
            variables: 0,
            gathered: Vec::new(),
            ends: Vec::new(),
            fixed: Vec::new(),
            hopeless: false,
            solver: None,
            inner: Vec::new(),
            buffer: Vec::new(),
        }
    }

    /// A new variable; where nothing decides it, it is false.
    pub(super) fn variable(&mut self) -> Literal {
        let literal = Literal(2 * self.variables);
        self.variables += 1;
        literal
    }

    /// At least one of the literals must hold.
    pub(super) fn clause(&mut self, literals: impl IntoIterator<Item = Literal>) {
        let start = self.gathered.len();
        for literal in literals {
            let clause = &self.gathered[start..];
            if clause.contains(&!literal) {
                self.gathered.truncate(start); // always met
                return;
            }
            // Regions of one group share a variable, so repetition is common and hides plain consequences.
            if !clause.contains(&literal) {
                self.gathered.push(literal);
            }
        }
        self.ends.push(self.gathered.len());
    }

    /// Looks for an assignment in which the assumptions hold too.
    pub(super) fn solve(&mut self, assumptions: &[Literal]) -> Answer {
        self.settle();
        if !self.watch.keep_going() {
            return Answer::Stopped;
        }
        if self.hopeless || assumptions.iter().any(|a| self.value(*a) == Some(false)) {
            return Answer::None;
        }
        let mut open = Vec::new();
        for &assumption in assumptions {
            if self.value(assumption).is_none() {
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
    pub(super) fn holds(&self, literal: Literal) -> bool {
        if let Some(value) = self.value(literal) {
            return value;
        }
        let known = self.inner.get(literal.variable()).copied().flatten();
        match (known, &self.solver) {
            (Some(variable), Some(solver)) => {
                solver.value_lit(Lit::new(variable, !literal.negated())) == lbool::TRUE
            }
            // Nothing depends on it: false.
            _ => literal.negated(),
        }
    }

    /// After [`Answer::None`]: whether an assumption took part in ruling everything out.
    pub(super) fn to_blame(&self, assumption: Literal) -> bool {
        match self.value(assumption) {
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

    fn value(&self, literal: Literal) -> Option<bool> {
        let fixed = self.fixed.get(literal.variable()).copied().flatten();
        fixed.map(|value| value != literal.negated())
    }

    /// Draws the plain consequences of the gathered clauses and hands the rest to the solver.
    fn settle(&mut self) {
        self.fixed.resize(self.variables as usize, None);
        let gathered = std::mem::take(&mut self.gathered);
        let ends = std::mem::take(&mut self.ends);
        if self.solver.is_none() {
            let clauses = Clauses::new(&gathered, &ends);
            self.hopeless |= !clauses.propagate(&mut self.fixed, self.variables);
        }
        let mut start = 0;
        for end in ends {
            if !self.hopeless {
                self.hand_over(&gathered[start..end]);
            }
            start = end;
        }
    }

    fn hand_over(&mut self, clause: &[Literal]) {
        if clause.iter().any(|l| self.value(*l) == Some(true)) {
            return;
        }
        let mut open = std::mem::take(&mut self.buffer);
        open.clear();
        for &literal in clause {
            if self.value(literal).is_none() {
                open.push(self.inner(literal));
            }
        }
        match (&mut self.solver, open.is_empty()) {
            (Some(solver), false) => self.hopeless |= !solver.add_clause_reuse(&mut open),
            _ => self.hopeless = true,
        }
        self.buffer = open;
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
            .get_or_insert_with(|| solver.new_var(lbool::UNDEF, true));
        Lit::new(variable, !literal.negated())
    }
}

/// Clauses end to end, for propagation.
struct Clauses<'a> {
    literals: &'a [Literal],
    ends: &'a [usize],
}

impl<'a> Clauses<'a> {
    fn new(literals: &'a [Literal], ends: &'a [usize]) -> Self {
        Clauses { literals, ends }
    }

    fn get(&self, clause: usize) -> &'a [Literal] {
        let start = if clause == 0 {
            0
        } else {
            self.ends[clause - 1]
        };
        &self.literals[start..self.ends[clause]]
    }

    /// Fixes what clauses with one open literal demand, until none has; `false` if that fails.
    fn propagate(&self, fixed: &mut [Option<bool>], variables: u32) -> bool {
        let (start, containing) = self.occurrences(variables);
        let mut open: Vec<u32> = (0..self.ends.len())
            .map(|c| u32::try_from(self.get(c).len()).expect("clauses are short"))
            .collect();
        let mut waiting: Vec<Literal> = Vec::new();
        for (clause, &length) in open.iter().enumerate() {
            match length {
                0 => return false,
                1 => waiting.push(self.get(clause)[0]),
                _ => {}
            }
        }
        while let Some(literal) = waiting.pop() {
            let value = &mut fixed[literal.variable()];
            match value {
                Some(known) if *known == literal.negated() => return false,
                Some(_) => continue,
                None => *value = Some(!literal.negated()),
            }
            let gone = (!literal).index();
            for &clause in &containing[start[gone] as usize..start[gone + 1] as usize] {
                open[clause as usize] -= 1;
                if open[clause as usize] == 1 {
                    let rest = self.get(clause as usize).iter();
                    let is_open = |l: &&Literal| fixed[l.variable()] != Some(l.negated());
                    match rest.copied().find(|l| is_open(&l)) {
                        Some(last) => waiting.push(last),
                        None => return false,
                    }
                }
            }
        }
        true
    }

    /// For each literal the clauses that contain it: where its list starts, and all lists end to end.
    fn occurrences(&self, variables: u32) -> (Vec<u32>, Vec<u32>) {
        let mut start = vec![0_u32; 2 * variables as usize + 2];
        for literal in self.literals {
            start[literal.index() + 2] += 1;
        }
        for i in 2..start.len() {
            start[i] += start[i - 1];
        }
        let mut containing = vec![0_u32; self.literals.len()];
        for (number, clause) in (0..).zip(0..self.ends.len()) {
            for literal in self.get(clause) {
                let place = &mut start[literal.index() + 1];
                containing[*place as usize] = number;
                *place += 1;
            }
        }
        (start, containing)
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
