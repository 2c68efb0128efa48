//! Which candidate faces bound a solid: all answers, or why there is none.
//!
//! `board` is what all candidates look like to the search, `flat` makes one of plane candidates. `encode` says in clauses what the drawing means, `search` wraps the SAT solver, `enumerate` lists all answers,
//! `check` finds what clauses cannot say, `explain` names the lines that cannot be right. `places` finds where answers
//! differ and how many there are, `settle` what tells them apart.

pub(crate) mod board;
pub(crate) mod check;
mod consequences;
pub(crate) mod curved;
pub(crate) mod encode;
pub(crate) mod enumerate;
pub(crate) mod explain;
pub(crate) mod flat;
mod group;
pub(crate) mod literal;
pub(crate) mod places;
pub(crate) mod search;
pub(crate) mod settle;
mod thin;
mod twins;
pub(crate) mod variables;
mod visibility;

/// Which way a chosen region faces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Facing {
    /// Its surface's normal points out of the material.
    Along,
    /// Its surface's normal points into the material.
    Against,
}

/// A choice of regions, by region; `None` is absent.
pub(crate) type Model = Vec<Option<Facing>>;
