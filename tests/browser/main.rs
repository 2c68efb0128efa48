//! The drawing board in a real browser: what a person does, and what must hold however the board is run.
//!
//! Chromium is driven over its DevTools protocol. Where there is no Chromium, or the engine for the page is not built, each
//! test says "not run" and passes; with `FOLDBACK_CI=1` it fails instead.
#![allow(
    clippy::print_stderr,
    clippy::print_stdout,
    reason = "a test that was not run says so, and figures are printed"
)]
#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
#![allow(
    clippy::disallowed_methods,
    reason = "what is expected may be computed with the machine's own mathematics"
)]

mod access;
mod answers;
mod board;
mod chromium;
mod devtools;
mod drawing;
mod hand;
mod keeping;
mod looks;
mod page;
mod paper;
mod safety;
mod same_answers;
mod speed;
mod trouble;

use std::path::PathBuf;

/// A folder of the repository.
fn folder(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(name)
}

/// Says that a test was not run and why; where everything must be run, that is a failure.
fn not_run(why: &str) {
    assert!(
        std::env::var_os("FOLDBACK_CI").is_none(),
        "not run: {why}, but FOLDBACK_CI is set"
    );
    eprintln!("not run: {why}");
}
