//! The inspector's paper, and what labels may say.

mod archive;
mod asked;
mod labels;
mod marking;
mod paper;
mod paper_log;
pub mod procedure;
mod proof;
mod renderings;
mod shelf;
mod templates;
pub mod tools;
