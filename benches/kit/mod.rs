//! What the benchmarks share: an invented bakery's ledger of any length, a client, a server process, floors.
#![allow(dead_code, reason = "each benchmark uses its own part")]

pub mod args;
pub mod client;
pub mod floor;
pub mod preload;
pub mod server;
pub mod story;
