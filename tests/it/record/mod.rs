//! The inspector's paper.

mod paper;
pub mod tools;
