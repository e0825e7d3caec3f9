//! Counterclock tells a bakery how long each perishable-dairy item has been out of the cold.
//!
//! Entries go into the ledger; the ledger is folded into exposure; exposure meets the rules and becomes a
//! standing; every face shows standings. The rooms, in reading order:

pub mod answer;
pub mod archive;
pub mod board;
pub mod check;
pub mod cli;
pub mod clock;
pub mod config;
pub mod demo;
pub mod evaluate;
pub mod exposure;
pub mod fill;
pub mod items;
pub(crate) mod lang;
pub mod ledger;
pub mod notice;
pub mod parallel;
pub mod people;
pub mod plan;
pub mod record;
pub mod rules;
pub mod show;
pub mod store;
pub mod strip;
pub mod tls;
pub mod web;
pub mod words;
