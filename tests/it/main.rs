//! The tests of the whole crate, one binary: a module per subject, and the tests' own means, which share no code with
//! the engine.

mod blocks;
mod cells;
mod check;
mod generate;
mod layout;
mod project;
mod random;

mod corpus;
mod formulas;
mod laws;
mod selfcheck;
mod worlds;
