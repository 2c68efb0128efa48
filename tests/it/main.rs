//! The tests of the whole crate, one binary: a module per subject.

#[cfg(feature = "cli")]
mod bad_input;
#[cfg(feature = "cli")]
mod cli;
#[cfg(feature = "cli")]
mod desk;
mod families;
mod fuzz;
#[cfg(feature = "cli")]
mod samples;
mod sheet;
