//! What happened, and which entry may follow which.

mod chain;
mod corrections;
mod refusals;
mod wire;
