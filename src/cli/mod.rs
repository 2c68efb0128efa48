//! The `foldback` command: flags, files, the clock and the terminal.
//!
//! `args` holds the flags as typed; `check`, `mend` and `write` do what they ask for with the help of `answer` (one
//! sheet through the engine), `files` (reading and writing) and `progress` (clock and terminal). `serve` and
//! `page` run the drawing board in `board`: one as a server by means of `http`, one as a single file. Nothing
//! below this folder knows any of these.

mod answer;
mod args;
mod board;
mod check;
mod files;
mod http;
mod mend;
mod page;
mod progress;
mod serve;
mod status;
mod write;

use std::ffi::OsString;
use std::io::{self, Write};
use std::process::ExitCode;

use clap::Parser;

use args::{Arguments, Command};
use status::Status;

/// Runs the command with `arguments` (the program's own name first) and gives its exit status.
pub fn main(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(usage) => {
            // Asking for help is no mistake; when even the terminal is gone there is no one left to tell.
            let _ = usage.print();
            return match usage.use_stderr() {
                true => Status::WrongUsage.into(),
                false => Status::Unique.into(),
            };
        }
    };
    let mut out = io::stdout().lock();
    let status = match arguments.command {
        Command::Check(check) => check::run(&check, &mut out),
        Command::Mend(mend) => mend::run(&mend, &mut out),
        Command::Solid(solid) => write::solid(&solid, &mut out),
        Command::Picture(picture) => write::picture(&picture, &mut out),
        Command::Serve(serve) => serve::run(&serve, &mut out),
        Command::Page(page) => page::run(&page, &mut out),
    };
    status.into()
}

/// Tells the user what went wrong, on standard error.
fn complain(message: &str) {
    // With standard error closed there is no other place to say it.
    let _ = writeln!(io::stderr(), "foldback: {message}");
}
