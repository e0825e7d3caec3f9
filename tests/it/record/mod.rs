//! The inspector's paper, and what labels may say.

mod labels;
mod marking;
mod paper;
pub mod tools;
