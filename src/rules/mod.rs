//! The rules room: what is allowed. Clauses, the built-in book, verdicts and standings. Pure.

pub mod book;
mod clause;
mod late;
mod standing;

pub use clause::*;
pub use standing::*;
