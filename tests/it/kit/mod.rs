//! Builders that tests write their inputs with.

pub mod ledger;
pub mod random;
