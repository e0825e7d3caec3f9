//! Cases that authorities have published, with the authority beside each.
//!
//! Guards against S-04 of SAFETY.md.

use crate::kit::ledger::{Ledger, has, hours, min};
use serde_json::json;

/// Fairfax County VA, sample log of time as a control (read): out 10:30, discard by 14:30.
#[test]
fn a_four_hour_hold_from_half_past_ten() {
    let log = Ledger::shop().item("tray", "09:00", "fridge", &["us-time-4h"]).moved("tray", "10:30", "shelf");
    has(&log.at("tray", "10:30"), json!({"discard_by": "14:30", "left_ms": hours(4), "verdict": "within"}));
}

/// Texas DSHS, sample of chart F23-13363 (read): out 6:30, all served by 8:30. The food there is hot: what is checked is
/// the arithmetic.
#[test]
fn out_half_past_six_and_all_served_two_hours_later() {
    let log = Ledger::shop()
        .item("pan", "05:00", "fridge", &["us-time-4h"])
        .moved("pan", "06:30", "shelf")
        .close("pan", "08:30", "served");
    has(
        &log.at("pan", "12:00"),
        json!({"state": "closed", "verdict": "within", "total_out_ms": hours(2), "as_of": "08:30"}),
    );
}

/// City of Charles Sturt SA, food safety kit (read): sandwiches made 10:30 to 11:30, then left on display, have 3 h left.
#[test]
fn an_hour_of_making_counts() {
    let log = Ledger::shop().item("sandwiches", "10:30", "bench", &["sum-2h-4h"]).moved("sandwiches", "11:30", "shelf");
    has(&log.at("sandwiches", "11:30"), json!({"left_ms": hours(3), "total_out_ms": hours(1), "discard_by": "14:30"}));
}

/// The same kit (read): chilled at 12:30 with 2 h used, they have 2 h left when out again; it pauses and doesn't reset.
/// FSANZ's "less than 2 hours" (read) refuses that return, at exactly 2:00.
#[test]
fn chilling_pauses_and_does_not_reset() {
    let out = Ledger::shop().item("sandwiches", "10:30", "bench", &["sum-2h-4h"]).moved("sandwiches", "11:30", "shelf");
    let back = out.clone().moved("sandwiches", "12:30", "fridge");
    has(&back.at("sandwiches", "13:00"), json!({"left_ms": hours(2), "total_out_ms": hours(2), "discard_by": null}));
    has(&back.at("sandwiches", "13:00"), json!({"verdict": "use", "deviations": ["12:30 returned-late sum-2h-4h"]}));
    let again = back.moved("sandwiches", "14:00", "shelf");
    has(&again.at("sandwiches", "14:00"), json!({"left_ms": hours(2), "discard_by": "16:00", "verdict": "use"}));

    let earlier = out.moved("sandwiches", "12:29:59.999", "fridge");
    has(&earlier.at("sandwiches", "13:00"), json!({"verdict": "within", "deviations": [], "left_ms": hours(2) + 1}));
}

/// FSANZ, table of the 2-hour/4-hour rule (read): 1:59 may return, 2:00 use, 3:59 use, 4:00 discard.
#[test]
fn the_table_of_two_and_four_hours() {
    let log = Ledger::shop().item("tub", "08:00", "bench", &["sum-2h-4h"]);
    has(&log.at("tub", "09:59"), json!({"verdict": "within", "return_by": "10:00"}));
    has(&log.at("tub", "10:00"), json!({"verdict": "use"}));
    has(&log.at("tub", "11:59"), json!({"verdict": "use"}));
    has(&log.at("tub", "12:00"), json!({"verdict": "discard", "left_ms": 0}));
}

/// A note on Food Code 2022 (read): hot-held food taken off at 11:00 has until 15:00 under the four-hour option; the
/// six-hour option, which begins at 41 °F or below and never goes above 70 °F, is not open to it.
#[test]
fn hot_food_has_four_hours_and_never_six() {
    let log = |rule: &str| Ledger::shop().item("soup", "11:00", "shelf", &[rule]).food("soup", "11:00", "140.0 F");
    has(&log("us-time-4h").at("soup", "11:00"), json!({"verdict": "within", "discard_by": "15:00"}));
    has(&log("us-time-4h").at("soup", "15:00:00.001"), json!({"verdict": "discard"}));
    has(
        &log("us-time-6h").at("soup", "11:00"),
        json!({"verdict": "discard", "discard_by": "11:00", "deviations": ["11:00 start-warm us-time-6h"]}),
    );
}

/// Food Code 2022 3-501.19(C) (read in adoptions): at 70.0 °F it stays. New York City 81.10 (read) discards what
/// "reached or exceeded" 70 °F: a rule of the shop's own.
#[test]
fn exactly_seventy_degrees_divides_the_authorities() {
    let nyc = json!([{"measure": "food_temperature", "limit": {"value": "70.0", "unit": "F"}, "at_limit": "breach",
        "verdict": "discard"}]);
    let log = Ledger::shop()
        .rule("nyc-81-10", "never", nyc)
        .item("mousse", "07:00", "fridge", &["us-time-6h"])
        .item("flan", "07:00", "fridge", &["nyc-81-10"])
        .food("mousse", "07:55", "41.0 F")
        .moved("mousse", "08:00", "shelf")
        .moved("flan", "08:00", "shelf")
        .food("mousse", "12:00", "70.0 F")
        .food("flan", "12:00", "70.0 F");
    has(&log.at("mousse", "12:00"), json!({"verdict": "within", "discard_by": "14:00", "deviations": []}));
    has(&log.at("flan", "12:00"), json!({"verdict": "discard", "discard_by": "12:00"}));
    let warmer = log.food("mousse", "12:30", "70.1 F");
    has(&warmer.at("mousse", "12:30"), json!({"verdict": "discard", "discard_by": "12:30"}));
}

/// Southern Nevada Health District (read): opened or made on 1 April, the last day is 7 April.
/// Dubuque IA (read): made 1 July, until 7 July; made 1 May, until 7 May.
#[test]
fn the_day_it_was_made_is_the_first_of_seven() {
    for (made, last, over) in [
        ("2026-04-01T09:00:00Z", "2026-04-07", "2026-04-08T00:00:00.000Z"),
        ("2026-07-01T09:00:00Z", "2026-07-07", "2026-07-08T00:00:00.000Z"),
        ("2026-05-01T09:00:00Z", "2026-05-07", "2026-05-08T00:00:00.000Z"),
    ] {
        let log = Ledger::shop().item("custard", made, "fridge", &["keep-7d"]);
        has(&log.at("custard", made), json!({"use_by": last, "discard_by": over, "verdict": "within"}));
        let before = over.replace("-08T00:00:00.000", "-07T23:59:59.999");
        has(&log.at("custard", &before), json!({"verdict": "within", "use_by": last}));
        has(&log.at("custard", over), json!({"verdict": "discard", "use_by": last, "discard_by": over}));
    }
}

/// Southern Nevada Health District (read): an ingredient of 1 June used on 3 June, the last day is 7 June.
#[test]
fn combined_food_keeps_the_earliest_date() {
    let log = Ledger::shop().item("filling", "2026-06-01T10:00:00Z", "fridge", &["keep-7d"]).made(
        "eclairs",
        "2026-06-03T10:00:00Z",
        "fridge",
        &["keep-7d"],
        &["filling"],
    );
    has(&log.at("eclairs", "2026-06-03T12:00:00Z"), json!({"use_by": "2026-06-07"}));
}

/// Singapore, Environmental Public Health (Food Hygiene) Regulations r. 13B (read; the clock times derived): items ready
/// at 10:00 and 10:45 under one sign of four hours, consume by 14:00.
#[test]
fn the_earliest_under_one_sign_governs() {
    let log = Ledger::shop()
        .item("puffs", "10:00", "bench", &["us-time-4h"])
        .item("tarts", "10:45", "bench", &["us-time-4h"])
        .made("tray", "10:45", "shelf", &["us-time-4h"], &["puffs", "tarts"]);
    has(&log.at("tray", "10:45"), json!({"discard_by": "14:00", "first_out_at": "10:00"}));
}

/// The consumer two-hour rule (read; minutes derived): an hour and five minutes in a room of 92 °F, discard; in one of
/// 75 °F, keep.
#[test]
fn one_hour_in_a_room_above_ninety() {
    let log = |air: &str| {
        Ledger::shop().air("shelf", "11:00", air).item("cake", "12:00", "shelf", &["two-hour"]).at("cake", "13:05")
    };
    has(&log("92.0 F"), json!({"verdict": "discard", "discard_by": "13:00", "decides": "two-hour out_above"}));
    has(&log("75.0 F"), json!({"verdict": "within", "discard_by": "14:00", "left_ms": min(55)}));
}

/// A legal limit of a chilled display case, 8 °C (SI 2013/2996 Schedule 4 paragraph 2, read), and every figure in
/// Fahrenheit that isn't a round one in Celsius: 41 °F is 5.0 °C exactly, 70 °F lies between 21.1 and 21.2 °C, 90 °F
/// between 32.2 and 32.3 °C. Compared exactly, never through a rounded conversion.
#[test]
fn fahrenheit_and_celsius_meet_exactly() {
    let verdict = |limit: (&str, &str), at_limit: &str, read: &str| {
        let clause = json!([{"measure": "food_temperature", "limit": {"value": limit.0, "unit": limit.1},
            "at_limit": at_limit, "verdict": "discard"}]);
        let log = Ledger::shop()
            .rule("own", "any", clause)
            .item("flan", "08:00", "bench", &["own"])
            .food("flan", "08:30", read);
        log.at("flan", "08:30")["verdict"].clone()
    };
    assert_eq!(verdict(("41.0", "F"), "allowed", "5.0 C"), "within");
    assert_eq!(verdict(("41.0", "F"), "breach", "5.0 C"), "discard");
    assert_eq!(verdict(("41.0", "F"), "allowed", "5.1 C"), "discard");
    assert_eq!(verdict(("5.0", "C"), "allowed", "41.0 F"), "within");
    assert_eq!(verdict(("5.0", "C"), "allowed", "41.1 F"), "discard");
    assert_eq!(verdict(("8.0", "C"), "allowed", "46.4 F"), "within");
    assert_eq!(verdict(("8.0", "C"), "allowed", "46.5 F"), "discard");
    assert_eq!(verdict(("70.0", "F"), "breach", "21.1 C"), "within");
    assert_eq!(verdict(("70.0", "F"), "allowed", "21.2 C"), "discard");
    assert_eq!(verdict(("90.0", "F"), "breach", "32.2 C"), "within");
    assert_eq!(verdict(("90.0", "F"), "allowed", "32.3 C"), "discard");
}
