//! `cooled`: how long it took to cool, from its beginning or from the last reading at or above a temperature.

use super::{check, own_at, used};
use crate::kit::ledger::{Ledger, hours, min};
use serde_json::{Value, json};

fn to() -> Value {
    json!({"measure": "cooled", "to": {"value": "5.0", "unit": "C"}, "limit": "PT4H"})
}

fn from() -> Value {
    json!({"measure": "cooled", "from": {"value": "60.0", "unit": "C"}, "to": {"value": "5.0", "unit": "C"},
        "limit": "PT4H"})
}

fn plain() -> Ledger {
    own_at(to(), "allowed")
}

fn hot() -> Ledger {
    own_at(from(), "allowed")
}

#[test]
fn from_its_beginning_if_it_began_out_with_no_parent() {
    let log = plain().item("base", "08:00", "bench", &["own"]).moved("base", "09:00", "fridge");
    check(&log, "base", "08:00", json!({"discard_by": "12:00", "verdict": "within", "left_ms": hours(4)}));
    check(&log, "base", "11:00", json!({"discard_by": "12:00", "left_ms": hours(1), "state": "cold"}));
    check(&log, "base", "12:00:00.001", json!({"verdict": "discard"}));
    let cooled = log.clone().food("base", "11:00", "5.0 C");
    check(&cooled, "base", "10:59", json!({"discard_by": "12:00"}));
    check(&cooled, "base", "11:00", json!({"discard_by": null, "left_ms": null, "verdict": "within"}));
    check(&cooled, "base", "20:00", json!({"verdict": "within"}));
    // Too warm a reading ends nothing.
    check(&log.food("base", "11:00", "5.1 C"), "base", "12:01", json!({"verdict": "discard"}));
}

#[test]
fn at_the_limit_and_a_millisecond_after() {
    let log = |at: &str| {
        let log = plain().item("base", "08:00", "bench", &["own"]).food("base", at, "5.0 C");
        log.at("base", "18:00")["verdict"].clone()
    };
    assert_eq!(log("12:00"), "within");
    assert_eq!(log("12:00:00.001"), "discard");
    let log = own_at(to(), "breach").item("base", "08:00", "bench", &["own"]).food("base", "12:00", "5.0 C");
    check(&log, "base", "18:00", json!({"verdict": "discard", "discard_by": "12:00"}));
}

#[test]
fn over_once_it_is_over_for_good() {
    let log = plain()
        .item("base", "08:00", "bench", &["own"])
        .food("base", "13:00", "4.0 C")
        .food("base", "14:00", "80.0 C")
        .food("base", "15:00", "4.0 C");
    check(&log, "base", "18:00", json!({"verdict": "discard", "discard_by": "12:00"}));
    assert_eq!(used(&log.at("base", "18:00")), hours(5));
}

#[test]
fn begun_in_the_cold_there_is_nothing_to_cool() {
    let log = plain().item("base", "08:00", "fridge", &["own"]).moved("base", "08:01", "bench");
    check(&log, "base", "18:00", json!({"verdict": "within", "discard_by": null}));
    // Begun in a fridge that has failed is begun out.
    let log = plain().lapse("fridge", "07:00").item("base", "08:00", "fridge", &["own"]);
    check(&log, "base", "09:00", json!({"discard_by": "12:00"}));
}

#[test]
fn begun_from_a_parent_only_the_parents_clock_runs() {
    let log = plain()
        .item("cold", "07:00", "fridge", &["own"])
        .item("base", "08:00", "bench", &["own"])
        .made("tart", "09:00", "bench", &["own"], &["cold"])
        .made("cake", "09:00", "bench", &["own"], &["cold", "base"]);
    check(&log, "tart", "18:00", json!({"verdict": "within", "discard_by": null}));
    check(&log, "cake", "09:00", json!({"discard_by": "12:00"}));
    check(&log, "cake", "13:00", json!({"verdict": "discard"}));
    // Cooled by then, the parent brings nothing.
    let log = plain().item("base", "08:00", "bench", &["own"]).food("base", "08:50", "3.0 C").made(
        "cake",
        "09:00",
        "bench",
        &["own"],
        &["base"],
    );
    check(&log, "cake", "18:00", json!({"verdict": "within", "discard_by": null}));
}

#[test]
fn an_unfinished_clock_is_joined_with_the_earlier_start() {
    let log =
        plain().item("a", "08:00", "bench", &["own"]).item("b", "09:00", "bench", &["own"]).join("b", "10:00", &["a"]);
    check(&log, "b", "09:59", json!({"discard_by": "13:00"}));
    check(&log, "b", "10:00", json!({"discard_by": "12:00"}));
    // The item's own reading ends it.
    check(&log.clone().food("b", "11:00", "4.0 C"), "b", "18:00", json!({"verdict": "within"}));
    check(&log.food("a", "11:00", "4.0 C"), "b", "18:00", json!({"verdict": "discard"}));
    let later =
        plain().item("a", "08:00", "bench", &["own"]).item("b", "07:00", "bench", &["own"]).join("b", "10:00", &["a"]);
    check(&later, "b", "10:00", json!({"discard_by": "11:00"}));
    // Into one that had cooled already: it has a clock again.
    let again =
        plain().item("a", "08:00", "bench", &["own"]).item("b", "07:00", "fridge", &["own"]).join("b", "10:00", &["a"]);
    check(&again, "b", "10:00", json!({"discard_by": "12:00"}));
}

#[test]
fn what_a_parent_took_too_long_for_stays() {
    let log = plain()
        .item("base", "04:00", "bench", &["own"])
        .food("base", "09:00", "4.0 C")
        .item("cake", "06:00", "fridge", &["own"])
        .join("cake", "10:00", &["base"]);
    check(&log, "cake", "10:00", json!({"verdict": "discard", "discard_by": "08:00"}));
    assert_eq!(used(&log.at("cake", "10:00")), hours(5));
}

#[test]
fn from_the_last_reading_at_or_above_before_a_lower_one() {
    let log =
        hot().item("base", "07:00", "bench", &["own"]).food("base", "07:30", "90.0 C").food("base", "08:00", "60.0 C");
    // Never seen below yet: nothing has begun to cool.
    check(&log, "base", "20:00", json!({"verdict": "within", "discard_by": null, "left_ms": null}));
    let log = log.food("base", "08:30", "59.9 C");
    check(&log, "base", "08:29:59.999", json!({"discard_by": null}));
    check(&log, "base", "08:30", json!({"discard_by": "12:00"}));
    check(&log, "base", "12:00", json!({"verdict": "within"}));
    check(&log, "base", "12:00:00.001", json!({"verdict": "discard", "discard_by": "12:00"}));
    check(&log.food("base", "11:00", "5.0 C"), "base", "18:00", json!({"verdict": "within", "discard_by": null}));
}

#[test]
fn never_read_hot_there_is_nothing_to_time() {
    let log = hot().item("base", "07:00", "bench", &["own"]).food("base", "08:00", "59.9 C");
    check(&log, "base", "20:00", json!({"verdict": "within", "discard_by": null}));
}

#[test]
fn straight_from_hot_to_cold() {
    let log = |at: &str| {
        let log = hot().item("base", "07:00", "bench", &["own"]).food("base", "08:00", "80.0 C");
        log.food("base", at, "3.0 C").at("base", "20:00")
    };
    assert_eq!(log("12:00")["verdict"], "within");
    assert_eq!(log("12:00:00.001")["verdict"], "discard");
    assert_eq!(log("12:00:00.001")["discard_by"], "2026-05-04T12:00:00.000Z");
}

#[test]
fn reheating_undoes_nothing() {
    // Still under way: heated again at 10:00 it goes on from 08:00.
    let log = hot()
        .item("base", "07:00", "bench", &["own"])
        .food("base", "08:00", "80.0 C")
        .food("base", "09:00", "30.0 C")
        .food("base", "10:00", "80.0 C")
        .food("base", "10:30", "30.0 C");
    check(&log, "base", "10:30", json!({"discard_by": "12:00"}));
    check(&log, "base", "12:30", json!({"verdict": "discard"}));
    // Over: it stays over.
    let log = log.food("base", "13:00", "80.0 C").food("base", "13:30", "4.0 C");
    check(&log, "base", "20:00", json!({"verdict": "discard", "discard_by": "12:00"}));
}

#[test]
fn cooled_in_time_and_heated_again_it_cools_again() {
    let log = hot()
        .item("base", "07:00", "bench", &["own"])
        .food("base", "08:00", "80.0 C")
        .food("base", "10:00", "5.0 C")
        .food("base", "13:00", "70.0 C")
        .food("base", "13:10", "40.0 C");
    check(&log, "base", "13:00", json!({"discard_by": null}));
    check(&log, "base", "13:10", json!({"discard_by": "17:00", "verdict": "within"}));
    check(&log, "base", "17:00:00.001", json!({"verdict": "discard", "discard_by": "17:00"}));
}

#[test]
fn the_parents_running_clock_from_hot_is_joined_too() {
    let log = hot()
        .item("base", "07:00", "bench", &["own"])
        .food("base", "08:00", "80.0 C")
        .food("base", "08:30", "40.0 C")
        .item("cake", "08:00", "fridge", &["own"])
        .join("cake", "09:00", &["base"]);
    check(&log, "cake", "08:59", json!({"discard_by": null}));
    check(&log, "cake", "09:00", json!({"discard_by": "12:00"}));
    check(&log.food("cake", "09:30", "4.0 C"), "cake", "20:00", json!({"verdict": "within"}));
}

/// FDA Food Code 2022 3-501.14(A): within 2 h from 135 °F to 70 °F, and within 6 h from 135 °F to 41 °F.
#[test]
fn custard_in_two_stages() {
    let base = || {
        Ledger::shop()
            .item("custard", "08:00", "bench", &["us-cooling"])
            .food("custard", "08:10", "180.0 F")
            .food("custard", "09:00", "135.0 F")
            .food("custard", "09:20", "120.0 F")
    };
    // 70 °F by 11:00, 41 °F by 15:00.
    check(&base(), "custard", "09:20", json!({"discard_by": "11:00", "left_ms": min(100)}));
    let first = base().food("custard", "10:45", "70.0 F");
    check(&first, "custard", "10:45", json!({"discard_by": "15:00"}));
    check(
        &first.clone().food("custard", "14:50", "41.0 F"),
        "custard",
        "20:00",
        json!({"verdict": "within", "discard_by": null}),
    );
    check(
        &first.food("custard", "15:10", "41.0 F"),
        "custard",
        "20:00",
        json!({"verdict": "discard", "discard_by": "15:00"}),
    );
    check(
        &base().food("custard", "11:10", "70.0 F"),
        "custard",
        "20:00",
        json!({"verdict": "discard", "discard_by": "11:00"}),
    );
}
