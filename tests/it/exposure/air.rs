//! `out_above`: time out while the air of its place was above a temperature.
//!
//! Guards against S-10 of SAFETY.md.

use super::{check, own, own_at, used};
use crate::kit::ledger::{Ledger, hours, min};
use serde_json::{Value, json};

/// One hour out where the air is above 25.0 °C.
fn warm() -> Value {
    json!({"measure": "out_above", "above": {"value": "25.0", "unit": "C"}, "limit": "PT1H"})
}

fn warm_read() -> Value {
    let mut clause = warm();
    clause["unread"] = json!("not-above");
    clause
}

#[test]
fn a_reading_holds_until_the_next() {
    let log = own(warm())
        .air("bench", "07:00", "20.0 C")
        .item("cake", "08:00", "bench", &["own"])
        .air("bench", "09:00", "26.0 C")
        .air("bench", "09:40", "24.0 C")
        .air("bench", "11:00", "25.1 C");
    check(&log, "cake", "10:00", json!({"verdict": "within"}));
    // 40 minutes until 09:40; the other 20 from 11:00.
    check(&log, "cake", "11:00", json!({"discard_by": "11:20"}));
    check(&log, "cake", "11:20", json!({"verdict": "discard"}));
    assert_eq!(used(&log.at("cake", "11:30")), min(70));
}

#[test]
fn exactly_at_the_temperature_is_not_above_it() {
    let log = |degrees: &str| {
        own(warm()).air("bench", "08:00", degrees).item("cake", "08:00", "bench", &["own"]).at("cake", "09:00")
    };
    assert_eq!(log("25.0 C")["verdict"], "within");
    assert_eq!(log("77.0 F")["verdict"], "within");
    assert_eq!(log("77.1 F")["verdict"], "discard");
    assert_eq!(log("25.1 C")["verdict"], "discard");
}

#[test]
fn air_runs_out_after_four_hours() {
    let log = own(warm()).air("bench", "08:00", "20.0 C").item("cake", "08:00", "bench", &["own"]);
    // Known until 12:00, unknown and so above from then on: an hour later it is over, and that is foreseen.
    check(&log, "cake", "08:00", json!({"discard_by": "13:00", "verdict": "within"}));
    check(&log, "cake", "12:59:59.999", json!({"verdict": "within"}));
    check(&log, "cake", "13:00", json!({"verdict": "discard"}));
    // Where unknown air isn't held to be above, it isn't.
    let log = own(warm_read()).air("bench", "08:00", "30.0 C").item("cake", "11:30", "bench", &["own"]);
    check(&log, "cake", "11:30", json!({"discard_by": null}));
    check(&log, "cake", "20:00", json!({"verdict": "within"}));
    // A reading a millisecond more fresh lasts a millisecond more.
    let log = own(warm_read()).air("bench", "08:30:00.001", "30.0 C").item("cake", "11:30", "bench", &["own"]);
    check(&log, "cake", "20:00", json!({"verdict": "discard", "discard_by": "12:30"}));
}

#[test]
fn air_never_read_counts_as_above() {
    let log = own(warm()).item("cake", "08:00", "bench", &["own"]);
    check(&log, "cake", "08:30", json!({"discard_by": "09:00"}));
    let log = own(warm_read()).item("cake", "08:00", "bench", &["own"]);
    check(&log, "cake", "08:30", json!({"discard_by": null, "left_ms": null}));
}

#[test]
fn unknown_before_the_first_reading() {
    let log = own(warm())
        .item("cake", "08:00", "bench", &["own"])
        .air("bench", "08:40", "20.0 C")
        .moved("cake", "09:00", "fridge");
    check(&log, "cake", "10:00", json!({"verdict": "within", "left_ms": null, "discard_by": null}));
    let again = log.moved("cake", "10:00", "shelf");
    check(&again, "cake", "10:00", json!({"discard_by": "10:20"}));
}

#[test]
fn each_place_has_its_own_air() {
    let log = own(warm())
        .air("bench", "08:00", "20.0 C")
        .air("shelf", "08:00", "30.0 C")
        .item("cake", "08:00", "bench", &["own"])
        .moved("cake", "09:00", "shelf")
        .moved("cake", "09:30", "bench");
    check(&log, "cake", "09:15", json!({"discard_by": "10:00"}));
    check(&log, "cake", "10:00", json!({"discard_by": "12:30"}));
}

#[test]
fn in_the_cold_the_air_counts_for_nothing() {
    let log = own(warm()).item("cake", "06:00", "fridge", &["own"]).air("fridge", "07:00", "30.0 C");
    check(&log, "cake", "12:00", json!({"verdict": "within", "state": "cold"}));
    // In a lapse it does.
    let log = log.lapsed("fridge", "09:00", "10:30");
    check(&log, "cake", "12:00", json!({"verdict": "discard", "discard_by": "10:00"}));
}

#[test]
fn only_counted_uses() {
    let mut clause = warm();
    clause["uses"] = json!(["display"]);
    let log = own(clause).item("cake", "08:00", "bench", &["own"]).moved("cake", "10:00", "shelf");
    check(&log, "cake", "10:00", json!({"verdict": "within", "discard_by": "11:00"}));
}

#[test]
fn at_a_join_the_larger() {
    let log = own(warm())
        .air("bench", "09:00", "30.0 C")
        .item("tub", "09:00", "bench", &["own"])
        .item("cake", "09:00", "fridge", &["own"])
        .moved("cake", "09:30", "bench")
        .join("cake", "09:40", &["tub"]);
    check(&log, "cake", "09:35", json!({"discard_by": "10:30"}));
    check(&log, "cake", "09:40", json!({"discard_by": "10:00"}));
    // Over its limit when it came, but the tub's own rule has nothing against it: reached at the join.
    let log = own(warm()).item("tub", "08:00", "bench", &["keep-7d"]).item("cake", "09:00", "fridge", &["own"]).join(
        "cake",
        "09:40",
        &["tub"],
    );
    check(&log, "cake", "09:40", json!({"verdict": "discard", "discard_by": "09:40", "deviations": []}));
}

#[test]
fn the_later_of_two_readings_at_one_instant_holds() {
    let log = own(warm()).air("bench", "08:00", "30.0 C").air("bench", "08:00", "20.0 C").item(
        "cake",
        "08:00",
        "bench",
        &["own"],
    );
    check(&log, "cake", "09:30", json!({"verdict": "within"}));
}

#[test]
fn left_in_the_cold_supposes_mild_air() {
    let rule = json!([{"measure": "out_above", "above": {"value": "25.0", "unit": "C"}, "limit": "PT1H",
        "verdict": "discard"}, {"measure": "total_out", "limit": "PT4H", "verdict": "discard"}]);
    let log = Ledger::shop().rule("own", "any", rule).item("cake", "08:00", "fridge", &["own"]);
    check(&log, "cake", "08:30", json!({"left_ms": hours(4), "discard_by": null}));
    check(&log.moved("cake", "09:00", "bench"), "cake", "09:00", json!({"left_ms": hours(1), "discard_by": "10:00"}));
}

#[test]
fn air_at_the_limit_allowed() {
    let log = own_at(warm(), "allowed").item("cake", "08:00", "bench", &["own"]);
    check(&log, "cake", "09:00", json!({"verdict": "within", "left_ms": 0, "next": "09:00 discard"}));
    check(&log, "cake", "09:00:00.001", json!({"verdict": "discard", "discard_by": "09:00"}));
}
