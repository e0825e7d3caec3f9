//! The web room: HTTP. Handlers load, call one pure function, store its decision.

pub mod accesses;
pub mod api;
pub mod assets;
pub mod auth;
pub mod chart;
pub mod clocks;
pub mod cold;
pub mod come_backs;
pub mod error;
pub mod feed;
mod first_run;
pub mod fragments;
pub mod handovers;
pub mod language;
pub mod manages;
pub mod mqtt;
pub mod notices;
pub mod oversight;
pub mod pages;
mod patient;
pub mod people;
pub mod plans;
pub mod probes;
pub mod procedures;
mod proofs;
pub mod proxies;
pub mod records;
mod router;
pub mod server;
pub mod service;
pub mod tags;
mod timekeeper;
pub mod trust;
mod upload;

pub use crate::{show, strip};
pub use router::router;
