//! The `foldback` command.
