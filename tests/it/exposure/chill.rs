//! `chill_ms`: after coming under control an item counts as still out, where it was, until it is cold.

use super::{check, used};
use crate::kit::ledger::{Ledger, hours, min};
use serde_json::{Value, json};

/// A shop whose `cream` takes half an hour to chill, under one clause of its own.
fn cream(clause: Value) -> Ledger {
    let mut clause = clause;
    clause["verdict"] = json!("discard");
    Ledger::shop().rule("own", "any", json!([clause])).product("cream", &["own"], min(30))
}

fn sum(limit: &str) -> Ledger {
    cream(json!({"measure": "total_out", "limit": limit}))
}

#[test]
fn moved_into_the_cold_it_counts_on() {
    let log = sum("PT4H").of("cream", "tub", "08:00", "bench").moved("tub", "09:00", "fridge");
    check(&log, "tub", "09:00", json!({"state": "cold", "total_out_ms": hours(1), "return_by": null}));
    check(&log, "tub", "09:20", json!({"state": "cold", "place": "fridge", "total_out_ms": min(80), "spells": 1}));
    check(&log, "tub", "09:30", json!({"total_out_ms": min(90)}));
    check(&log, "tub", "12:00", json!({"total_out_ms": min(90), "spells": 1, "left_ms": min(150)}));
}

#[test]
fn a_reading_at_five_degrees_or_below_ends_it() {
    let log = |degrees: &str| {
        let log = sum("PT4H").of("cream", "tub", "08:00", "bench").moved("tub", "09:00", "fridge");
        log.food("tub", "09:10", degrees).at("tub", "12:00")["total_out_ms"].clone()
    };
    assert_eq!(log("5.0 C"), min(70));
    assert_eq!(log("41.0 F"), min(70));
    assert_eq!(log("-2.0 C"), min(70));
    assert_eq!(log("5.1 C"), min(90));
    assert_eq!(log("41.1 F"), min(90));
}

#[test]
fn a_reading_in_the_very_instant_of_the_move_leaves_nothing_to_chill() {
    let log =
        sum("PT4H").of("cream", "tub", "08:00", "bench").moved("tub", "09:00", "fridge").food("tub", "09:00", "4.0 C");
    check(&log, "tub", "12:00", json!({"total_out_ms": hours(1)}));
}

#[test]
fn a_reading_before_it_came_in_ends_nothing() {
    let log =
        sum("PT4H").of("cream", "tub", "08:00", "bench").food("tub", "08:50", "4.0 C").moved("tub", "09:00", "fridge");
    check(&log, "tub", "12:00", json!({"total_out_ms": min(90)}));
}

#[test]
fn a_reading_not_taken_yet_is_not_known_yet() {
    let log =
        sum("PT80M").of("cream", "tub", "08:00", "bench").moved("tub", "09:00", "fridge").food("tub", "09:10", "4.0 C");
    check(&log, "tub", "09:05", json!({"discard_by": "09:20"}));
    check(&log, "tub", "09:10", json!({"discard_by": null, "left_ms": min(10)}));
}

#[test]
fn restored_it_chills_too() {
    let log = sum("PT4H").of("cream", "tub", "07:00", "fridge").lapse("fridge", "08:00").restore("fridge", "09:00");
    check(&log, "tub", "09:20", json!({"state": "cold", "total_out_ms": min(80), "spells": 1}));
    check(&log, "tub", "12:00", json!({"total_out_ms": min(90), "spells": 1}));
}

#[test]
fn begun_in_the_cold_from_a_parent_that_is_out_it_chills() {
    let log = sum("PT4H").of("cream", "tub", "08:00", "bench");
    let made = log.of("cream", "cup", "09:00", "fridge").with(json!({"from": ["tub"]}));
    check(&made, "cup", "09:00", json!({"state": "cold", "total_out_ms": hours(1)}));
    check(&made, "cup", "09:20", json!({"state": "cold", "total_out_ms": min(80), "spells": 1}));
    check(&made, "cup", "12:00", json!({"total_out_ms": min(90), "first_out_at": "08:00"}));
    // A parent whose stretch ends at that instant is out then, and so is one that is still chilling.
    let log = sum("PT4H").of("cream", "tub", "08:00", "bench").moved("tub", "09:00", "fridge");
    let at_once = log.clone().of("cream", "cup", "09:00", "fridge").with(json!({"from": ["tub"]}));
    check(&at_once, "cup", "12:00", json!({"total_out_ms": min(90)}));
    let chilling = log.clone().of("cream", "cup", "09:10", "fridge").with(json!({"from": ["tub"]}));
    check(&chilling, "cup", "12:00", json!({"total_out_ms": min(100)}));
    // One that is cold lends no chill.
    let cold = log.of("cream", "cup", "10:00", "fridge").with(json!({"from": ["tub"]}));
    check(&cold, "cup", "12:00", json!({"total_out_ms": min(90), "spells": 1}));
}

#[test]
fn begun_in_the_cold_from_nothing_it_does_not_chill() {
    let log = sum("PT4H").of("cream", "tub", "08:00", "fridge");
    check(&log, "tub", "09:00", json!({"total_out_ms": 0, "spells": 0}));
}

#[test]
fn out_again_before_it_is_chilled_is_the_same_stretch() {
    let log = sum("PT4H")
        .of("cream", "tub", "08:00", "bench")
        .moved("tub", "09:00", "fridge")
        .moved("tub", "09:20", "bench")
        .moved("tub", "09:30", "fridge");
    check(&log, "tub", "09:20", json!({"spells": 1, "spell_ms": min(80)}));
    // It counts half an hour from the second time it came in.
    check(&log, "tub", "12:00", json!({"spells": 1, "total_out_ms": hours(2)}));
}

#[test]
fn from_one_cold_place_to_another_the_chilling_goes_on_and_does_not_begin_again() {
    let log = sum("PT4H")
        .of("cream", "tub", "08:00", "bench")
        .moved("tub", "09:00", "fridge")
        .moved("tub", "09:20", "freezer");
    check(&log, "tub", "09:25", json!({"state": "frozen", "total_out_ms": min(85)}));
    check(&log, "tub", "12:00", json!({"total_out_ms": min(90)}));
}

#[test]
fn it_counts_as_where_it_was() {
    // On display it was, so the half hour is one of display.
    let log = cream(json!({"measure": "total_out", "limit": "PT1H20M", "uses": ["display"]}))
        .of("cream", "tub", "08:00", "shelf")
        .moved("tub", "09:00", "fridge");
    check(&log, "tub", "10:00", json!({"verdict": "discard", "discard_by": "09:20"}));
    assert_eq!(used(&log.at("tub", "10:00")), min(90));
    // On the bench: no display.
    let log = cream(json!({"measure": "total_out", "limit": "PT1M", "uses": ["display"]}))
        .of("cream", "tub", "08:00", "bench")
        .moved("tub", "09:00", "fridge");
    check(&log, "tub", "10:00", json!({"verdict": "within"}));
    // And the air is that of the bench, not of the fridge.
    let log = cream(json!({"measure": "out_above", "above": {"value": "30.0", "unit": "C"}, "limit": "PT10M",
            "unread": "not-above"}))
    .air("bench", "07:00", "31.0 C")
    .air("fridge", "07:00", "4.0 C")
    .of("cream", "tub", "08:55", "bench")
    .moved("tub", "09:00", "fridge");
    check(&log, "tub", "10:00", json!({"verdict": "discard", "discard_by": "09:05"}));
}

#[test]
fn the_limit_may_be_reached_while_it_chills() {
    let log = sum("PT80M").of("cream", "tub", "08:00", "bench").moved("tub", "09:00", "fridge");
    check(
        &log,
        "tub",
        "09:00",
        json!({"state": "cold", "discard_by": "09:20", "left_ms": min(20), "next": "09:20 discard"}),
    );
    check(&log, "tub", "09:20", json!({"verdict": "discard"}));
    let log = sum("PT100M").of("cream", "tub", "08:00", "bench").moved("tub", "09:00", "fridge");
    check(&log, "tub", "09:00", json!({"discard_by": null, "left_ms": min(40)}));
}

#[test]
fn a_freezer_is_no_freezing_while_it_chills() {
    let days = |at: &str| {
        cream(json!({"measure": "day", "limit": 1}))
            .of("cream", "tub", "22:00", "bench")
            .moved("tub", at, "freezer")
            .at("tub", "+1 12:00")["verdict"]
            .clone()
    };
    // Until 00:15 it counts as on the bench: a second day.
    assert_eq!(days("23:45"), "discard");
    assert_eq!(days("23:30"), "within");
}

#[test]
fn the_chill_time_is_that_of_the_product_when_the_item_began() {
    let log = sum("PT4H")
        .of("cream", "tub", "08:00", "bench")
        .product("cream", &["own"], 0)
        .of("cream", "cup", "08:00", "bench")
        .moved("tub", "09:00", "fridge")
        .moved("cup", "09:00", "fridge");
    check(&log, "tub", "12:00", json!({"total_out_ms": min(90)}));
    check(&log, "cup", "12:00", json!({"total_out_ms": hours(1)}));
}

#[test]
fn coming_in_is_a_return_at_the_instant_of_the_move() {
    let log = Ledger::shop()
        .product("cream", &["sum-2h-4h"], min(30))
        .of("cream", "tub", "08:00", "bench")
        .moved("tub", "09:50", "fridge");
    // Two hours are reached at 10:00, while it chills; the return itself was in time.
    check(&log, "tub", "12:00", json!({"verdict": "use", "deviations": [], "total_out_ms": min(140)}));
}
