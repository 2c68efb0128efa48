//! The `foldback` command; everything it does is in the library.

use std::process::ExitCode;

fn main() -> ExitCode {
    foldback::cli::main(std::env::args_os())
}
