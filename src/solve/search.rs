//! The SAT solver behind a small face: literals, clauses, assumptions, answers.

use crate::options::Watch;
use batsat::{Callbacks, Lit, Solver, SolverInterface, SolverOpts, lbool};

/// A variable or its negation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Literal(Lit);

impl std::ops::Not for Literal {
    type Output = Literal;
    fn not(self) -> Literal {
        Literal(!self.0)
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
    solver: Solver<Stop<'w>>,
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
            solver: Solver::new(SolverOpts::default(), Stop(watch)),
            buffer: Vec::new(),
        }
    }

    /// A new variable; where nothing decides it, it is tried as false first.
    pub(super) fn variable(&mut self) -> Literal {
        Literal(Lit::new(self.solver.new_var(lbool::UNDEF, true), true))
    }

    /// At least one of the literals must hold.
    pub(super) fn clause(&mut self, literals: impl IntoIterator<Item = Literal>) {
        self.buffer.clear();
        self.buffer.extend(literals.into_iter().map(|l| l.0));
        self.solver.add_clause_reuse(&mut self.buffer);
    }

    /// Looks for an assignment in which the assumptions hold too.
    pub(super) fn solve(&mut self, assumptions: &[Literal]) -> Answer {
        let assumptions: Vec<Lit> = assumptions.iter().map(|l| l.0).collect();
        let answer = self.solver.solve_limited(&assumptions);
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
        self.solver.value_lit(literal.0) == lbool::TRUE
    }

    /// After [`Answer::None`]: whether an assumption took part in ruling everything out.
    pub(super) fn to_blame(&self, assumption: Literal) -> bool {
        self.solver.unsat_core().contains(&!assumption.0)
            || self.solver.unsat_core().contains(&assumption.0)
    }
}
