//! `day`: local dates on which it was at any time not frozen.

use super::{check, own, used};
use crate::kit::ledger::{Ledger, hours, t};
use serde_json::{Value, json};

fn keep(days: u32) -> Value {
    json!({"measure": "day", "limit": days})
}

#[test]
fn over_midnight() {
    let log = own(keep(1)).item("cake", "23:59:59.999", "fridge", &["own"]);
    check(
        &log,
        "cake",
        "23:59:59.999",
        json!({"verdict": "within", "discard_by": "+1 00:00", "use_by": "2026-05-04", "left_ms": 1}),
    );
    check(&log, "cake", "+1 00:00", json!({"verdict": "discard", "discard_by": "+1 00:00", "use_by": "2026-05-04"}));
    assert_eq!(used(&log.at("cake", "+1 00:00")), 2);
    let log = own(keep(1)).item("cake", "00:00", "fridge", &["own"]);
    check(&log, "cake", "23:59:59.999", json!({"verdict": "within"}));
}

/// Berlin, the last Sundays of March and October 2026: days of 23 and 25 hours. Midnights by the local calendar.
#[test]
fn days_of_twenty_three_and_twenty_five_hours() {
    let log = |made: &str, days: u32| {
        let mut log = Ledger::shop_in("Europe/Berlin");
        log = log.rule("own", "any", json!([{"measure": "day", "limit": days, "verdict": "discard"}]));
        log.item("cake", made, "fridge", &["own"]).at("cake", made)
    };
    // Winter time until 01:00 UTC on 29 March.
    assert_eq!(log("2026-03-27T10:00:00Z", 2)["discard_by"], "2026-03-28T23:00:00.000Z");
    assert_eq!(log("2026-03-27T10:00:00Z", 3)["discard_by"], "2026-03-29T22:00:00.000Z");
    assert_eq!(log("2026-03-27T10:00:00Z", 3)["use_by"], "2026-03-29");
    // Summer time until 01:00 UTC on 25 October.
    assert_eq!(log("2026-10-24T10:00:00Z", 1)["discard_by"], "2026-10-24T22:00:00.000Z");
    assert_eq!(log("2026-10-24T10:00:00Z", 2)["discard_by"], "2026-10-25T23:00:00.000Z");
    // 23:30 UTC is the next day there.
    assert_eq!(log("2026-03-28T23:30:00Z", 1)["discard_by"], "2026-03-29T22:00:00.000Z");
    assert_eq!(log("2026-03-28T23:30:00Z", 1)["use_by"], "2026-03-29");
}

/// A change of the clocks in the night moves no limit of elapsed time.
#[test]
fn elapsed_time_is_that_of_the_world() {
    let log = Ledger::shop_in("Europe/Berlin").item("cake", "2026-03-29T00:30:00Z", "bench", &["us-time-4h"]);
    assert_eq!(log.at("cake", "2026-03-29T01:30:00Z")["total_out_ms"], hours(1));
    assert_eq!(log.at("cake", "2026-03-29T01:30:00Z")["discard_by"], "2026-03-29T04:30:00.000Z");
}

/// Beirut puts its clocks forward at midnight: 29 March 2026 begins at 01:00 there, which is 22:00 UTC of the 28th.
/// From the time zone database as the program carries it.
#[test]
fn where_the_clocks_skip_midnight_the_day_begins_at_one() {
    let log = Ledger::shop_in("Asia/Beirut")
        .rule("own", "any", json!([{"measure": "day", "limit": 1, "verdict": "discard"}]))
        .item("cake", "2026-03-28T10:00:00Z", "fridge", &["own"]);
    assert_eq!(log.at("cake", "2026-03-28T10:00:00Z")["discard_by"], "2026-03-28T22:00:00.000Z");
}

#[test]
fn another_zone_may_be_asked_for() {
    let log = Ledger::shop().item("cake", "2026-05-04T23:30:00Z", "fridge", &["keep-7d"]);
    check(&log, "cake", "2026-05-04T23:30:00Z", json!({"use_by": "2026-05-10"}));
    let berlin = log.zone("Europe/Berlin");
    check(&berlin, "cake", "2026-05-04T23:30:00Z", json!({"use_by": "2026-05-11"}));
}

#[test]
fn frozen_dates_do_not_count() {
    let log = own(keep(2))
        .item("cake", "10:00", "fridge", &["own"])
        .moved("cake", "12:00", "freezer")
        .moved("cake", "+5 09:00", "fridge");
    check(&log, "cake", "12:00", json!({"state": "frozen", "use_by": null, "discard_by": null, "verdict": "within"}));
    // Taken out now it would be day 1 still, and day 2 tomorrow.
    check(&log, "cake", "12:00", json!({"left_ms": hours(36)}));
    // On a later date that one would be day 2 itself.
    check(&log, "cake", "+4 12:00", json!({"discard_by": null, "left_ms": hours(12)}));
    // The day it thaws is day 2.
    check(&log, "cake", "+5 09:00", json!({"discard_by": "+6 00:00", "use_by": "2026-05-09", "verdict": "within"}));
    check(&log, "cake", "+6 00:00", json!({"verdict": "discard"}));
}

#[test]
fn frozen_up_to_midnight_and_from_midnight() {
    // Frozen until midnight exactly: the date before doesn't count.
    let log = own(keep(1)).item("cake", "10:00", "freezer", &["own"]).moved("cake", "+2 00:00", "fridge");
    check(&log, "cake", "+1 23:59:59.999", json!({"verdict": "within"}));
    check(&log, "cake", "+2 00:00", json!({"verdict": "discard"}));
    assert_eq!(used(&log.at("cake", "+2 12:00")), 2);
    // Into the freezer at midnight exactly: the date that begins doesn't count.
    let log = own(keep(1)).item("cake", "10:00", "fridge", &["own"]).moved("cake", "+1 00:00", "freezer");
    check(&log, "cake", "+3 00:00", json!({"verdict": "within"}));
    // A millisecond later it does.
    let log = own(keep(1)).item("cake", "10:00", "fridge", &["own"]).moved("cake", "+1 00:00:00.001", "freezer");
    check(&log, "cake", "+3 00:00", json!({"verdict": "discard", "discard_by": "+1 00:00"}));
}

#[test]
fn a_moment_out_of_the_freezer_makes_a_day() {
    let log = own(keep(2))
        .item("cake", "10:00", "freezer", &["own"])
        .moved("cake", "+1 10:00", "bench")
        .moved("cake", "+1 10:01", "freezer")
        .moved("cake", "+2 10:00", "bench")
        .moved("cake", "+2 10:01", "freezer");
    check(&log, "cake", "+2 09:59", json!({"verdict": "within", "left_ms": 0}));
    check(&log, "cake", "+2 10:00", json!({"verdict": "discard"}));
    assert_eq!(used(&log.at("cake", "+2 10:00")), 3);
}

#[test]
fn the_day_it_began_is_the_first_though_frozen() {
    let log = own(keep(2)).item("cake", "10:00", "freezer", &["own"]).moved("cake", "12:00", "fridge");
    check(&log, "cake", "12:00", json!({"use_by": "2026-05-05", "discard_by": "+2 00:00"}));
}

#[test]
fn a_freezer_in_lapse_does_not_freeze() {
    let log = own(keep(2))
        .item("cake", "10:00", "freezer", &["own"])
        .lapsed("freezer", "+1 10:00", "+1 10:05")
        .lapsed("freezer", "+2 10:00", "+2 10:05");
    check(&log, "cake", "+1 12:00", json!({"verdict": "within", "use_by": null}));
    check(&log, "cake", "+2 10:00", json!({"verdict": "discard"}));
}

#[test]
fn at_a_join_the_larger() {
    let log = own(keep(5)).item("tub", "-2 10:00", "fridge", &["own"]).item("cake", "10:00", "fridge", &["own"]).join(
        "cake",
        "+1 10:00",
        &["tub"],
    );
    check(&log, "cake", "12:00", json!({"use_by": "2026-05-08"}));
    check(&log, "cake", "+1 10:00", json!({"use_by": "2026-05-06", "discard_by": "+3 00:00"}));
    // The older item keeps its own.
    let older = own(keep(5))
        .item("tub", "10:00", "fridge", &["own"])
        .item("cake", "-2 10:00", "fridge", &["own"])
        .join("cake", "+1 10:00", &["tub"]);
    check(&older, "cake", "+1 10:00", json!({"use_by": "2026-05-06"}));
}

#[test]
fn a_frozen_parent_counts_the_date_of_the_join_as_a_day_of_its_own() {
    // Tub: days on 2 and 3 May, frozen since; joined on 6 May it brings day 3.
    let log = own(keep(3)).item("tub", "-2 10:00", "fridge", &["own"]).moved("tub", "-1 10:00", "freezer").made(
        "cake",
        "+2 10:00",
        "fridge",
        &["own"],
        &["tub"],
    );
    check(&log, "cake", "+2 10:00", json!({"use_by": "2026-05-06", "discard_by": "+3 00:00", "verdict": "within"}));
    check(&log, "cake", "+3 00:00", json!({"verdict": "discard"}));
    // With one day fewer allowed it is over as it begins, though the tub in the freezer isn't.
    let log = own(keep(2)).item("tub", "-2 10:00", "fridge", &["own"]).moved("tub", "-1 10:00", "freezer").made(
        "cake",
        "+2 10:00",
        "fridge",
        &["own"],
        &["tub"],
    );
    check(&log, "tub", "+2 10:00", json!({"verdict": "within"}));
    check(&log, "cake", "+2 10:00", json!({"verdict": "discard", "deviations": []}));
    assert_eq!(used(&log.at("cake", "+2 10:00")), 3);
}

#[test]
fn the_last_date_of_the_strictest_clause() {
    let rule =
        json!([{"measure": "day", "limit": 3, "verdict": "use"}, {"measure": "day", "limit": 5, "verdict": "discard"}]);
    let log = Ledger::shop().rule("own", "any", rule).item("cake", "10:00", "fridge", &["own", "keep-7d"]);
    check(&log, "cake", "12:00", json!({"use_by": "2026-05-06", "discard_by": "+5 00:00", "next": "+3 00:00 use"}));
}

#[test]
fn no_day_clause_no_date() {
    let log = Ledger::shop().item("cake", "10:00", "fridge", &["house-2h-4h"]);
    check(&log, "cake", "12:00", json!({"use_by": null}));
    assert_eq!(t("+1 00:00"), "2026-05-05T00:00:00.000Z");
}
