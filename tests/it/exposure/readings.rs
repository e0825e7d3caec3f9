//! Food readings: over the limit for good, and at the start.
//!
//! Guards against S-10 of SAFETY.md.

use super::{check, own_at, used};
use crate::kit::ledger::{Ledger, has, min};
use serde_json::{Value, json};

fn food() -> Ledger {
    own_at(json!({"measure": "food_temperature", "limit": {"value": "20.0", "unit": "C"}}), "allowed")
}

fn start() -> Ledger {
    own_at(json!({"measure": "start_temperature", "limit": {"value": "5.0", "unit": "C"}}), "allowed")
}

#[test]
fn one_reading_over_the_limit_is_enough_for_good() {
    let log = food()
        .item("cake", "08:00", "bench", &["own"])
        .food("cake", "09:00", "20.0 C")
        .food("cake", "09:30", "20.1 C")
        .food("cake", "10:00", "30.0 C")
        .moved("cake", "10:10", "fridge")
        .food("cake", "12:00", "4.0 C");
    check(&log, "cake", "09:29:59.999", json!({"verdict": "within", "discard_by": null, "left_ms": null}));
    check(&log, "cake", "09:30", json!({"verdict": "discard", "discard_by": "09:30", "left_ms": 0}));
    check(&log, "cake", "13:00", json!({"verdict": "discard", "discard_by": "09:30"}));
    has(
        &log.at("cake", "13:00")["reasons"][0],
        json!({"rule": "own", "measure": "food_temperature", "verdict": "discard", "used": "20.1",
               "limit": {"value": "20.0", "unit": "C"}, "reached_at": "2026-05-04T09:30:00.000Z"}),
    );
}

#[test]
fn readings_before_it_was_first_out_do_not_count() {
    let log = food().item("cake", "07:00", "fridge", &["own"]).food("cake", "07:30", "60.0 C");
    check(&log, "cake", "08:00", json!({"verdict": "within"}));
    let out = log.clone().moved("cake", "08:00", "bench");
    check(&out, "cake", "09:00", json!({"verdict": "within"}));
    // In the very instant it comes out it counts.
    check(&out.food("cake", "08:00", "60.0 C"), "cake", "08:00", json!({"verdict": "discard", "discard_by": "08:00"}));
    // And in the fridge, once it has been out.
    let back = log.moved("cake", "08:00", "bench").moved("cake", "08:10", "fridge").food("cake", "08:20", "21.0 C");
    check(&back, "cake", "09:00", json!({"verdict": "discard", "discard_by": "08:20"}));
}

#[test]
fn at_a_join_the_parents_readings_too() {
    let log = food()
        .item("tub", "08:00", "bench", &["keep-7d"])
        .food("tub", "08:30", "22.0 C")
        .item("cake", "08:40", "fridge", &["own"])
        .join("cake", "09:00", &["tub"]);
    check(&log, "cake", "08:59", json!({"verdict": "within"}));
    check(&log, "cake", "09:00", json!({"verdict": "discard", "discard_by": "08:30", "deviations": []}));
    // One taken of the tub after the join is the tub's.
    let log = food()
        .item("tub", "08:00", "bench", &["keep-7d"])
        .item("cake", "08:40", "fridge", &["own"])
        .join("cake", "09:00", &["tub"])
        .food("tub", "09:30", "22.0 C");
    check(&log, "cake", "10:00", json!({"verdict": "within"}));
    // One taken of the tub before the tub was first out doesn't count.
    let log = food()
        .item("tub", "07:00", "fridge", &["keep-7d"])
        .food("tub", "07:30", "60.0 C")
        .moved("tub", "08:00", "bench")
        .made("cake", "09:00", "bench", &["own"], &["tub"]);
    check(&log, "cake", "10:00", json!({"verdict": "within"}));
}

#[test]
fn the_first_reading_over_the_limit_of_item_and_parents() {
    let log = food()
        .item("tub", "08:00", "bench", &["keep-7d"])
        .item("cake", "08:00", "bench", &["own"])
        .food("tub", "08:10", "25.0 C")
        .food("cake", "08:20", "26.0 C")
        .join("cake", "09:00", &["tub"]);
    check(&log, "cake", "08:30", json!({"discard_by": "08:20"}));
    check(&log, "cake", "09:00", json!({"discard_by": "08:10"}));
    assert_eq!(used(&log.at("cake", "09:00")), "25.0");
}

#[test]
fn a_rack_probed_at_one() {
    let log = food().item("cake", "08:00", "bench", &["own"]).food("cake", "09:00", "25.0 C");
    let probed = log.with(json!({"probed": "cake", "probe": "thermo-1"}));
    check(&probed, "cake", "09:00", json!({"verdict": "discard"}));
}

#[test]
fn the_start_reading_is_the_last_in_the_hour_up_to_the_first_instant_out() {
    let log = |readings: &[(&str, &str)]| {
        let begun = start().item("cake", "06:00", "fridge", &["own"]).moved("cake", "08:00", "bench");
        let log = readings.iter().fold(begun, |log, (at, degrees)| log.food("cake", at, degrees));
        let s = log.at("cake", "12:00");
        (s["verdict"].clone(), used(&s))
    };
    let within = (json!("within"), Value::Null);
    let over = |degrees: &str| (json!("discard"), json!(degrees));
    assert_eq!(log(&[]), (json!("discard"), Value::Null), "none counts as over");
    assert_eq!(log(&[("07:30", "4.0 C")]), within);
    assert_eq!(log(&[("07:30", "5.1 C")]), over("5.1"));
    assert_eq!(log(&[("07:00", "5.0 C")]), within, "exactly an hour before");
    assert_eq!(log(&[("06:59:59.999", "5.0 C")]), (json!("discard"), Value::Null), "more than an hour before");
    assert_eq!(log(&[("08:00", "5.0 C")]), within, "in that very instant");
    assert_eq!(log(&[("08:00:00.001", "5.0 C")]), (json!("discard"), Value::Null), "after it");
    assert_eq!(log(&[("07:30", "9.0 C"), ("07:40", "5.0 C")]), within, "the last one");
    assert_eq!(log(&[("07:30", "5.0 C"), ("07:40", "9.0 C")]), over("9.0"), "the last one");
    assert_eq!(log(&[("07:30", "5.0 C"), ("08:10", "30.0 C")]), within, "what comes later is another matter");
}

#[test]
fn an_item_never_out_has_no_start_to_read() {
    let log = start().item("cake", "06:00", "fridge", &["own"]);
    check(&log, "cake", "12:00", json!({"verdict": "within", "discard_by": null}));
    // Taken out now, unread, it would be over at once.
    check(&log, "cake", "12:00", json!({"left_ms": 0}));
    check(&log.food("cake", "11:30", "4.0 C"), "cake", "12:00", json!({"left_ms": null}));
}

#[test]
fn the_start_breaches_at_the_first_instant_out() {
    let log = start().item("cake", "06:00", "fridge", &["own"]).moved("cake", "08:00", "bench");
    check(&log, "cake", "08:00", json!({"verdict": "discard", "discard_by": "08:00", "left_ms": 0}));
}

#[test]
fn the_start_is_where_the_rule_counts_from() {
    let rule = json!([
        {"measure": "since_first_out", "limit": "PT9H", "uses": ["display"], "verdict": "discard"},
        {"measure": "start_temperature", "limit": {"value": "5.0", "unit": "C"}, "at_limit": "allowed",
         "verdict": "discard"}]);
    let log = Ledger::shop()
        .rule("own", "any", rule)
        .item("cake", "06:00", "fridge", &["own"])
        .moved("cake", "08:00", "bench")
        .moved("cake", "08:30", "fridge")
        .food("cake", "09:30", "4.0 C");
    // The bench begins no display: nothing to read yet.
    check(&log, "cake", "09:00", json!({"verdict": "within"}));
    check(&log.clone().moved("cake", "10:00", "shelf"), "cake", "10:00", json!({"verdict": "within"}));
    check(&log.clone().moved("cake", "11:00", "shelf"), "cake", "11:00", json!({"verdict": "discard"}));
    // A failed store counts.
    check(&log.lapse("fridge", "10:00"), "cake", "10:00", json!({"verdict": "within", "discard_by": "19:00"}));
}

#[test]
fn where_the_first_instant_was_a_parents_so_is_the_reading() {
    let begun = start()
        .item("tub", "06:00", "fridge", &["keep-7d"])
        .item("cake", "06:00", "fridge", &["own"])
        .food("tub", "07:50", "9.0 C")
        .food("cake", "08:50", "4.0 C")
        .moved("tub", "08:00", "bench");
    // The cake is in the cold: the first instant out becomes the tub's, with its reading of 9 °C.
    let log = begun.clone().join("cake", "08:30", &["tub"]);
    check(&log, "cake", "08:30", json!({"verdict": "discard", "discard_by": "08:00"}));
    assert_eq!(used(&log.at("cake", "08:30")), "9.0");
    // A cake that was out before keeps its own.
    let log = begun
        .food("cake", "07:30", "4.0 C")
        .moved("cake", "07:40", "bench")
        .moved("cake", "07:45", "fridge")
        .join("cake", "08:30", &["tub"]);
    check(&log, "cake", "08:30", json!({"verdict": "within"}));
}

#[test]
fn the_parents_reading_may_be_good() {
    let log = start()
        .item("tub", "06:00", "fridge", &["keep-7d"])
        .food("tub", "07:50", "4.0 C")
        .moved("tub", "08:00", "bench")
        .made("cake", "08:30", "bench", &["own"], &["tub"]);
    check(&log, "cake", "09:00", json!({"verdict": "within", "discard_by": null}));
}

/// "No verdict ever becomes milder but by a correction": a start that was over stays over when a parent that was out
/// earlier, and cold at its own start, goes in.
#[test]
fn a_bad_start_is_not_mended_by_a_join() {
    let log = start()
        .item("tub", "06:00", "fridge", &["keep-7d"])
        .food("tub", "07:50", "4.0 C")
        .moved("tub", "08:00", "bench")
        .item("cake", "06:00", "fridge", &["own"])
        .moved("cake", "09:00", "bench")
        .join("cake", "09:30", &["tub"]);
    check(&log, "cake", "09:29", json!({"verdict": "discard", "discard_by": "09:00"}));
    check(&log, "cake", "09:30", json!({"verdict": "discard", "left_ms": 0}));
}

/// As a mere deviation it is of the instant the rule counts from: where that was a parent's, so is the reading.
#[test]
fn a_listed_start_follows_the_instant() {
    let log = Ledger::shop()
        .item("tub", "06:00", "fridge", &["us-time-4h"])
        .food("tub", "07:50", "4.0 C")
        .moved("tub", "08:00", "bench")
        .item("cake", "06:00", "fridge", &["us-time-4h"])
        .moved("cake", "09:00", "bench")
        .join("cake", "09:30", &["tub"]);
    check(&log, "cake", "09:29", json!({"deviations": ["09:00 start-unread us-time-4h"]}));
    check(&log, "cake", "09:30", json!({"deviations": [], "total_out_ms": min(90)}));
}
