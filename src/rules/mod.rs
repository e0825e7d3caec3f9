//! The rules room: what is allowed. Clauses, the built-in book, verdicts and standings. Pure.

pub mod book;
mod build;
mod clause;
mod late;
pub mod regions;
mod standing;
pub mod trial;

pub use build::{RuleParts, parse_duration};
pub use clause::*;
pub use standing::*;
