//! A cold place that loses its cold.
//!
//! Guards against S-05 of SAFETY.md.

use super::check;
use crate::kit::ledger::{Ledger, hours, min};
use serde_json::json;

fn shop() -> Ledger {
    Ledger::shop().item("cake", "06:00", "fridge", &["house-2h-4h"])
}

#[test]
fn an_open_lapse_runs_on_until_it_is_restored() {
    let log = shop().lapse("fridge", "08:00");
    check(&log, "cake", "07:59:59.999", json!({"state": "cold", "total_out_ms": 0}));
    check(&log, "cake", "08:00", json!({"state": "out", "spells": 1, "discard_by": "12:00", "place": "fridge"}));
    check(&log, "cake", "20:00", json!({"state": "out", "total_out_ms": hours(12), "verdict": "discard"}));
    let back = log.restore("fridge", "09:00");
    check(&back, "cake", "08:59:59.999", json!({"state": "out"}));
    check(&back, "cake", "09:00", json!({"state": "cold", "total_out_ms": hours(1), "spells": 1}));
    check(&back, "cake", "20:00", json!({"state": "cold", "total_out_ms": hours(1)}));
}

#[test]
fn a_lapse_with_an_end() {
    let log = shop().lapsed("fridge", "08:00", "09:00");
    check(&log, "cake", "08:00", json!({"state": "out"}));
    check(&log, "cake", "09:00", json!({"state": "cold", "total_out_ms": hours(1)}));
    // At an instant within it nobody knew when it would end: it is as if it went on.
    check(&log, "cake", "08:30", json!({"discard_by": "12:00", "total_out_ms": min(30), "return_by": "10:00"}));
}

#[test]
fn overlapping_lapses_count_once() {
    let log = shop()
        .lapsed("fridge", "08:00", "09:00")
        .lapsed("fridge", "08:30", "09:30")
        .lapsed("fridge", "08:40", "08:50")
        .lapse("fridge", "09:15")
        .restore("fridge", "10:00");
    check(&log, "cake", "12:00", json!({"total_out_ms": hours(2), "spells": 1}));
}

#[test]
fn touching_lapses_are_one_stretch_and_apart_are_two() {
    let log = shop().lapsed("fridge", "08:00", "08:20").lapsed("fridge", "08:20", "08:40");
    check(&log, "cake", "12:00", json!({"total_out_ms": min(40), "spells": 1}));
    let log = shop().lapsed("fridge", "08:00", "08:20").lapsed("fridge", "08:20:00.001", "08:40");
    check(&log, "cake", "12:00", json!({"total_out_ms": min(40) - 1, "spells": 2}));
}

#[test]
fn restoring_ends_the_open_lapse_only() {
    let log = shop().lapse("fridge", "08:00").lapsed("fridge", "08:10", "09:00").restore("fridge", "08:30");
    check(&log, "cake", "08:45", json!({"state": "out"}));
    check(&log, "cake", "12:00", json!({"total_out_ms": hours(1), "spells": 1}));
}

#[test]
fn a_place_without_cold_goes_on_counting_after_a_lapse_of_another() {
    let log = shop().lapse("freezer", "07:00").moved("cake", "08:00", "bench").restore("freezer", "09:00");
    check(&log, "cake", "10:00", json!({"total_out_ms": hours(2), "spells": 1}));
}

#[test]
fn from_the_bench_into_a_failed_fridge_is_one_stretch() {
    let log = shop()
        .moved("cake", "08:00", "bench")
        .lapse("fridge", "08:10")
        .moved("cake", "08:30", "fridge")
        .restore("fridge", "09:00");
    check(
        &log,
        "cake",
        "10:00",
        json!({"total_out_ms": hours(1), "spells": 1, "first_out_at": "08:00", "state": "cold"}),
    );
}

#[test]
fn from_the_failed_fridge_into_another() {
    let log = shop().lapse("fridge", "08:00").moved("cake", "08:30", "case");
    check(&log, "cake", "10:00", json!({"total_out_ms": min(30), "state": "cold", "place": "case"}));
}

#[test]
fn a_freezer_that_lapses_is_out_and_not_frozen() {
    let log = Ledger::shop().item("cake", "06:00", "freezer", &["house-2h-4h"]).lapsed("freezer", "08:00", "09:00");
    check(&log, "cake", "07:00", json!({"state": "frozen"}));
    check(&log, "cake", "08:30", json!({"state": "out", "total_out_ms": min(30)}));
    check(&log, "cake", "09:00", json!({"state": "frozen", "total_out_ms": hours(1)}));
}

#[test]
fn an_item_that_begins_in_a_lapse_is_out() {
    let log = Ledger::shop().lapse("fridge", "05:00").item("cake", "06:00", "fridge", &["house-2h-4h"]);
    check(&log, "cake", "06:00", json!({"state": "out", "first_out_at": "06:00", "spells": 1}));
}

#[test]
fn a_lapse_that_begins_and_ends_at_one_instant_is_none() {
    let log = shop().lapse("fridge", "08:00").restore("fridge", "08:00");
    check(&log, "cake", "08:00", json!({"state": "cold", "spells": 0}));
    check(&log, "cake", "10:00", json!({"total_out_ms": 0, "spells": 0, "first_out_at": null, "deviations": []}));
}

#[test]
fn lapse_and_restore_again_and_again() {
    let log = shop()
        .lapse("fridge", "08:00")
        .restore("fridge", "08:10")
        .lapse("fridge", "09:00")
        .restore("fridge", "09:10")
        .lapse("fridge", "10:00");
    check(&log, "cake", "10:10", json!({"total_out_ms": min(30), "spells": 3, "state": "out"}));
}
