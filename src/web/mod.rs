//! The web room: HTTP. Handlers load, call one pure function, store its decision.

pub mod api;
pub mod auth;
pub mod error;
mod router;
pub mod server;
pub mod service;

pub use router::router;
