//! What the tests share: builders for their inputs, and a whole service with those who call it.

#[macro_use]
pub mod base;
pub mod actor;
pub mod browser;
pub mod chance;
pub mod fault;
pub mod house;
pub mod ledger;
pub mod listen;
pub mod random;
