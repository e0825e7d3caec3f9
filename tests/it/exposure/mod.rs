//! How long: every measure and every sentence about them, each with figures worked by hand.
//!
//! Guards against S-01 of SAFETY.md.

mod air;
mod chill;
mod closing;
mod cooled;
mod days;
mod deviations;
mod joins;
mod lapses;
mod late;
mod readings;
mod stays;
mod uses;

use crate::kit::ledger::{Ledger, has};
use serde_json::{Value, json};

/// Asserts what an item's standing has at an instant.
#[track_caller]
fn check(log: &Ledger, item: &str, at: &str, expected: Value) {
    has(&log.at(item, at), expected);
}

/// A shop with one rule of its own, `own`, of one clause that discards at the limit.
fn own(measure: Value) -> Ledger {
    own_at(measure, "breach")
}

/// The same with the limit allowed or not.
fn own_at(measure: Value, at_limit: &str) -> Ledger {
    let mut clause = measure;
    clause["verdict"] = json!("discard");
    clause["at_limit"] = json!(at_limit);
    Ledger::shop().rule("own", "any", json!([clause]))
}

/// What the one clause of `own` reads when it is breached.
fn used(standing: &Value) -> Value {
    let reason = &standing["reasons"][0];
    reason.get("used_ms").or(reason.get("used")).cloned().unwrap_or(Value::Null)
}
