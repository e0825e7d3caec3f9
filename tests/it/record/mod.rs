//! The inspector's paper, and what labels may say.

mod labels;
mod marking;
mod paper;
mod procedure;
mod shelf;
mod templates;
pub mod tools;
