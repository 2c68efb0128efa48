//! All integration tests in one binary, a module per stage.

mod fuzz;
mod sheet;
