//! The drawing board in a real browser, used as a person uses it.
//!
//! Needs Chromium and chromedriver. Without them each test says "not run" and passes, unless `FOLDBACK_BROWSER=required` is
//! set, as CI does.
#![cfg(feature = "cli")]
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a test may fail loudly and say what it measured"
)]

mod answers;
mod board;
mod drawing;
mod driver;
mod keeping;
mod speed;

use board::{Board, Server};

/// Runs a test on the page as `foldback serve` gives it; nothing happens if there is no browser.
fn on_the_board(test: impl FnOnce(&Board)) {
    if !driver::there_is_a_browser() {
        return;
    }
    let server = Server::start();
    let board = Board::open(&server.address);
    test(&board);
    board.ends_quietly();
}
