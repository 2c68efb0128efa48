//! Variables and their negations, as the clauses use them.

/// A variable or its negation: twice the variable's number, plus one if negated.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) struct Literal(u32);

impl Literal {
    /// The variable with this number.
    pub(crate) fn of_variable(number: u32) -> Self {
        Literal(2 * number)
    }

    /// The number of its variable.
    pub(crate) fn variable(self) -> usize {
        (self.0 / 2) as usize
    }

    /// A number of its own, for side tables.
    pub(crate) fn index(self) -> usize {
        self.0 as usize
    }

    /// Whether it is the negation.
    pub(crate) fn is_negated(self) -> bool {
        self.0 % 2 == 1
    }
}

impl std::ops::Not for Literal {
    type Output = Literal;
    fn not(self) -> Literal {
        Literal(self.0 ^ 1)
    }
}
