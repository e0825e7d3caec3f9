//! The store and the writer, seen from outside: what lasts, what fails, what is worked out anew.
//!
//! Guards against S-19 of SAFETY.md.

mod faults;
mod keeping;
mod late;
mod long;
mod opening;
mod servers;
mod stays;
