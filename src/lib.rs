//! Counterclock tells a bakery how long each perishable-dairy item has been out of the cold.
//!
//! Entries go into the ledger; the ledger is folded into exposure; exposure meets the rules and becomes a
//! standing; every face shows standings. The rooms, in reading order:

pub mod answer;
pub mod cli;
pub mod clock;
pub mod evaluate;
pub mod exposure;
pub mod ledger;
pub mod people;
pub mod rules;
pub mod store;
pub mod web;
