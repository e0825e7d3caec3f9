//! The tests of the rooms, in one binary so that they link once. The tree mirrors `src`.

mod demo;
mod exposure;
mod fuzz;
mod kit;
mod ledger;
mod openapi;
mod pages;
mod properties;
mod rooms;
mod rules;
