//! The JSON API through its front door, on both databases.
//!
//! Guards against S-21, S-22 of SAFETY.md.

mod entries;
mod items;
mod keys;
mod plan;
mod problems;
mod record;
mod refusals;
mod roles;
