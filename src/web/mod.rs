//! The web room: HTTP. The router table is on one page; handlers load, call one pure function, store its decision.

pub mod service;
