//! The ledger room: what happened, and which entry may follow which. Pure.

pub mod chain;
mod decide;
mod entry;
mod id;
pub mod refusal;
mod state;
mod temperature;
mod validate;
mod wire;

pub use decide::{Draft, Misfit, Request, accept, read_all};
pub use entry::*;
pub use id::Id;
pub use refusal::Refusal;
pub use state::{Item, Place, Record, State};
pub use temperature::{Decimal, Temperature, Unit};
pub use wire::{From, Parsed, parse};
