//! The ledger room: what happened, and which entry may follow which. Pure.

mod air;
pub mod chain;
mod decide;
mod entry;
mod id;
mod kind;
mod place;
mod record;
pub mod refusal;
mod setup;
mod state;
mod strict;
mod temperature;
mod validate;
mod wire;

pub use air::{JUMP, JUMP_WITHIN_MS};
pub use decide::{Draft, Misfit, Request, accept, is_setup, made_id, read_all};
pub use entry::*;
pub use id::Id;
pub use place::{Odd, Place};
pub use record::{Record, overlay, records};
pub use refusal::Refusal;
pub use state::{Item, State};
pub use strict::{Object, given};
pub use temperature::{Decimal, Temperature, Unit};
pub use wire::{From, MOST_COUNT, Parsed, parse};
