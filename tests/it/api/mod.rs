//! The JSON API through its front door, on both databases.

mod entries;
mod items;
mod keys;
mod plan;
mod problems;
mod record;
mod refusals;
mod roles;
