//! The record room: the inspector's paper. One model of it (an [`account::Account`] an item, the cold's table in [`cold`],
//! what people said in [`said`], the head in [`cover`]) and its renderings: [`csv`], in words for page and paper ([`told`]),
//! on paper ([`mod@print`]). The fourth, JSON Lines, is the ledger's own entries. [`proof`] holds a copy against the ledger.

pub mod account;
pub mod card;
pub mod cold;
pub mod corrected;
pub mod cover;
pub mod csv;
pub mod history;
pub mod label;
pub mod marking;
pub mod paper;
pub mod print;
pub mod procedure;
pub mod proof;
pub mod recall;
pub mod said;
pub mod told;
