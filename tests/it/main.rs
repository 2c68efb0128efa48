//! The tests of the whole crate, one binary: a module per subject, and the tests' own means, which share no code with
//! the engine.

#![allow(
    clippy::disallowed_methods,
    reason = "what the tests compute may differ in its last bits"
)]

mod blocks;
mod cells;
mod check;
mod drafter;
mod generate;
mod layout;
mod mistakes;
mod project;
mod random;
mod round_solids;

mod ambiguous_round;
#[cfg(feature = "cli")]
mod bad_input;
#[cfg(feature = "cli")]
mod cli;
mod corpus;
mod crossing_faces;
#[cfg(feature = "cli")]
mod desk;
mod drafted_parts;
mod drafter_check;
mod families;
mod formulas;
mod fuzz;
mod hidden_lines;
mod inclined;
mod inclined_random;
mod laws;
mod mend;
mod mend_round;
mod noise;
mod part_features;
mod places;
mod random_curved;
mod random_heaps;
mod round_formulas;
mod round_mistakes;
mod round_samples;
mod round_stl;
#[cfg(feature = "cli")]
mod samples;
mod selfcheck;
mod sheet;
mod slips;
mod sweep;
mod tangent_edges;
mod worlds;
