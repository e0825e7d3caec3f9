//! Parses arguments, calls the library.
fn main() {}
