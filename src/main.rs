//! The `foldback` command; everything it does is in the library.
fn main() {}
