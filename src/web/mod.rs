//! The web room: HTTP. Handlers load, call one pure function, store its decision.

pub mod api;
pub mod assets;
pub mod auth;
pub mod error;
mod first_run;
pub mod manages;
pub mod pages;
pub mod people;
pub mod procedures;
mod router;
pub mod server;
pub mod service;
pub mod strip;
pub mod tags;

pub use crate::show;
pub use router::router;
