//! Where it is, and the measures of time and spells without joins.

use super::{check, own, used};
use crate::kit::ledger::{Ledger, hours, instant, min, t};
use serde_json::json;

#[test]
fn an_item_just_moved_out_has_begun_a_spell_of_no_length() {
    let log = Ledger::shop().item("cake", "07:00", "fridge", &["house-2h-4h"]).moved("cake", "08:00", "bench");
    check(&log, "cake", "07:59:59.999", json!({"state": "cold", "spells": 0, "first_out_at": null, "spell_ms": 0}));
    check(
        &log,
        "cake",
        "08:00",
        json!({"state": "out", "spells": 1, "first_out_at": "08:00", "spell_ms": 0, "total_out_ms": 0,
               "discard_by": "12:00", "left_ms": hours(4), "return_by": "10:00", "place": "bench"}),
    );
}

#[test]
fn an_item_that_begins_out_is_out_from_its_beginning() {
    let log = Ledger::shop().item("cake", "08:00", "bench", &["house-2h-4h"]);
    check(&log, "cake", "08:00", json!({"state": "out", "spells": 1, "first_out_at": "08:00", "total_out_ms": 0}));
    check(&log, "cake", "08:30", json!({"total_out_ms": min(30), "spell_ms": min(30)}));
}

#[test]
fn moved_twice_at_one_instant_it_is_where_the_later_entry_says() {
    let begun = Ledger::shop().item("cake", "07:00", "fridge", &["house-2h-4h"]);
    let out_and_back = begun.clone().moved("cake", "08:00", "bench").moved("cake", "08:00", "fridge");
    check(&out_and_back, "cake", "09:00", json!({"state": "cold", "spells": 0, "first_out_at": null}));
    let back_and_out =
        begun.moved("cake", "08:00", "bench").moved("cake", "08:30", "fridge").moved("cake", "08:30", "shelf");
    check(
        &back_and_out,
        "cake",
        "09:00",
        json!({"state": "out", "place": "shelf", "spells": 1, "spell_ms": hours(1), "deviations": []}),
    );
}

#[test]
fn moved_away_at_the_instant_of_its_beginning_it_was_never_there() {
    let log = Ledger::shop().item("cake", "08:00", "bench", &["house-2h-4h"]).moved("cake", "08:00", "fridge");
    check(&log, "cake", "09:00", json!({"state": "cold", "spells": 0, "total_out_ms": 0, "first_out_at": null}));
}

#[test]
fn touching_stretches_are_one() {
    let log = Ledger::shop()
        .item("cake", "08:00", "bench", &["house-2h-4h"])
        .moved("cake", "08:30", "shelf")
        .moved("cake", "09:00", "van");
    check(&log, "cake", "09:30", json!({"spells": 1, "spell_ms": min(90), "total_out_ms": min(90)}));
}

#[test]
fn all_spells_are_added() {
    let log = own(json!({"measure": "total_out", "limit": "PT1H"}))
        .item("cake", "08:00", "bench", &["own"])
        .moved("cake", "08:20", "fridge")
        .moved("cake", "09:00", "bench")
        .moved("cake", "09:20", "freezer")
        .moved("cake", "10:00", "bench");
    check(&log, "cake", "10:19:59.999", json!({"verdict": "within", "discard_by": "10:20", "left_ms": 1}));
    check(&log, "cake", "10:30", json!({"verdict": "discard", "discard_by": "10:20", "total_out_ms": min(70)}));
    assert_eq!(used(&log.at("cake", "10:30")), min(70));
    check(&log, "cake", "09:10", json!({"discard_by": "09:40"}));
    check(&log, "cake", "09:30", json!({"discard_by": null, "left_ms": min(20), "state": "frozen"}));
}

#[test]
fn the_clock_of_the_first_instant_runs_on_in_the_fridge_until_the_item_closes() {
    let log = own(json!({"measure": "since_first_out", "limit": "PT4H"}))
        .item("cake", "07:00", "fridge", &["own"])
        .moved("cake", "08:00", "bench")
        .moved("cake", "08:10", "fridge");
    check(&log, "cake", "11:00", json!({"discard_by": "12:00", "left_ms": hours(1), "state": "cold"}));
    check(&log, "cake", "12:00", json!({"verdict": "discard", "total_out_ms": min(10)}));
    let closed = log.close("cake", "11:30", "sold");
    check(&closed, "cake", "13:00", json!({"verdict": "within", "state": "closed"}));
    check(
        &own(json!({"measure": "since_first_out", "limit": "PT4H"})).item("c", "07:00", "fridge", &["own"]),
        "c",
        "08:00",
        json!({"discard_by": null, "left_ms": hours(4)}),
    );
}

#[test]
fn spells_are_counted_and_the_one_too_many_decides_when() {
    let log = own(json!({"measure": "spells", "limit": 1}))
        .item("cake", "07:00", "fridge", &["own"])
        .moved("cake", "08:00", "bench")
        .moved("cake", "08:10", "fridge")
        .moved("cake", "09:00", "bench")
        .moved("cake", "09:10", "fridge");
    check(&log, "cake", "07:30", json!({"discard_by": null, "left_ms": null}));
    check(&log, "cake", "08:05", json!({"verdict": "within", "discard_by": null, "left_ms": null}));
    check(&log, "cake", "08:30", json!({"verdict": "within", "discard_by": null, "left_ms": 0}));
    check(&log, "cake", "09:00", json!({"verdict": "discard", "discard_by": "09:00", "left_ms": 0, "spells": 2}));
    check(&log, "cake", "10:00", json!({"verdict": "discard", "discard_by": "09:00"}));
    assert_eq!(used(&log.at("cake", "10:00")), 2);
}

#[test]
fn the_longest_stretch_is_kept_the_present_one_included() {
    let log = own(json!({"measure": "longest_spell", "limit": "PT1H"}))
        .item("cake", "08:00", "bench", &["own"])
        .moved("cake", "08:50", "fridge")
        .moved("cake", "10:00", "bench");
    // Taken out again in the very instant it came back, it would go on with the same stretch.
    check(&log, "cake", "08:50", json!({"discard_by": null, "left_ms": min(10)}));
    check(&log, "cake", "08:50:00.001", json!({"discard_by": null, "left_ms": hours(1)}));
    check(&log, "cake", "10:00", json!({"discard_by": "11:00"}));
    check(&log, "cake", "11:00", json!({"verdict": "discard"}));
    let back = log.moved("cake", "11:05", "fridge").moved("cake", "12:00", "bench");
    check(&back, "cake", "12:10", json!({"verdict": "discard", "discard_by": "11:00"}));
    assert_eq!(used(&back.at("cake", "12:10")), min(65));
}

#[test]
fn the_worst_breached_clause_of_all_rules_decides() {
    let log = Ledger::shop().item("cake", "08:00", "bench", &["house-2h-4h", "sum-2h-4h", "two-hour", "keep-7d"]);
    check(
        &log,
        "cake",
        "09:00",
        json!({"next": "10:00 discard", "discard_by": "10:00", "decides": "two-hour total_out"}),
    );
    check(
        &log,
        "cake",
        "10:00",
        json!({"verdict": "discard", "left_ms": 0, "next": null, "return_by": "10:00",
               "reasons": ["house-2h-4h total_out return 10:00", "sum-2h-4h total_out use 10:00",
                           "two-hour total_out discard 10:00"]}),
    );
}

#[test]
fn return_is_asked_only_while_it_is_out() {
    let log = Ledger::shop().item("cake", "08:00", "bench", &["house-2h-4h"]).moved("cake", "10:30", "fridge");
    check(&log, "cake", "10:10", json!({"verdict": "return", "return_by": "10:00", "next": "12:00 discard"}));
    check(&log, "cake", "10:30", json!({"verdict": "within", "return_by": null, "next": null}));
    // The clause stays breached, and is listed.
    check(&log, "cake", "11:00", json!({"reasons": ["house-2h-4h total_out return 10:00"], "verdict": "within"}));
    let again = log.moved("cake", "11:30", "bench");
    check(&again, "cake", "11:30", json!({"verdict": "return", "discard_by": "13:00"}));
}

#[test]
fn what_may_not_return_has_no_time_to_return_by() {
    let never = |measure: serde_json::Value| {
        let mut clause = measure;
        clause["verdict"] = json!("discard");
        Ledger::shop().rule("own", "never", json!([clause])).item("cake", "08:00", "bench", &["own"])
    };
    // Its clock has begun.
    let log = never(json!({"measure": "since_first_out", "limit": "PT4H"}));
    check(&log, "cake", "09:00", json!({"return_by": null, "discard_by": "12:00"}));
    // Its clock counts displays and hasn't begun: nothing would ever discard it here.
    let log = never(json!({"measure": "since_first_out", "limit": "PT4H", "uses": ["display"]}));
    check(&log, "cake", "09:00", json!({"return_by": null, "discard_by": null, "left_ms": hours(4)}));
    // It has no clock of a first instant: any time out begins it.
    let log = never(json!({"measure": "total_out", "limit": "PT4H"}));
    check(&log, "cake", "09:00", json!({"return_by": null, "discard_by": "12:00"}));
}

#[test]
fn nothing_that_would_ever_discard_it_leaves_no_time_to_tell() {
    let clause = json!([{"measure": "total_out", "limit": "PT2H", "verdict": "use"}]);
    let log = Ledger::shop().rule("own", "any", clause).item("cake", "08:00", "bench", &["own"]);
    check(
        &log,
        "cake",
        "11:00",
        json!({"verdict": "use", "left_ms": null, "discard_by": null, "decides": null, "return_by": "10:00"}),
    );
}

#[test]
fn left_in_the_cold_is_what_it_would_have_if_taken_out_now() {
    let log =
        Ledger::shop().item("cake", "08:00", "bench", &["us-time-4h", "sum-2h-4h"]).moved("cake", "09:00", "fridge");
    // The sum would last 3 h more from now; the clock from 08:00 ends at 12:00.
    check(&log, "cake", "09:00", json!({"left_ms": hours(3), "discard_by": "12:00"}));
    check(&log, "cake", "11:00", json!({"left_ms": hours(1), "discard_by": "12:00"}));
}

#[test]
fn entries_are_read_in_the_order_of_their_times_then_of_their_numbers() {
    let log = Ledger::shop()
        .item("cake", "07:00", "fridge", &["house-2h-4h"])
        .moved("cake", "10:00", "shelf")
        .moved("cake", "08:00", "bench");
    check(&log, "cake", "09:00", json!({"state": "out", "place": "bench", "spell_ms": hours(1)}));
    check(&log, "cake", "11:00", json!({"place": "shelf", "spells": 1, "total_out_ms": hours(3)}));
}

#[test]
fn seconds_and_milliseconds_count_and_what_is_finer_is_cut() {
    let log = Ledger::shop().item("cake", "2026-05-04T08:00:00.000999Z", "bench", &["house-2h-4h"]).moved(
        "cake",
        "2026-05-04T10:00:00.001999999+00:00",
        "fridge",
    );
    check(&log, "cake", "10:30", json!({"first_out_at": "08:00", "total_out_ms": hours(2) + 1}));
    assert_eq!(instant("08:00:00.007").to_string(), t("08:00:00.007"));
}

#[test]
fn offsets_change_nothing() {
    let log = Ledger::shop().item("cake", "2026-05-04T10:00:00+02:00", "bench", &["house-2h-4h"]).moved(
        "cake",
        "2026-05-04T04:30:00-05:30",
        "fridge",
    );
    check(&log, "cake", "11:00", json!({"first_out_at": "08:00", "total_out_ms": hours(2)}));
}

#[test]
fn seen_moves_nothing() {
    let log = Ledger::shop()
        .item("cake", "08:00", "bench", &["house-2h-4h"])
        .add(json!({"kind": "seen", "at": "09:00", "item": "cake", "place": "fridge"}));
    check(&log, "cake", "10:00", json!({"place": "bench", "state": "out", "total_out_ms": hours(2)}));
}

#[test]
fn standings_come_in_order_of_the_items_beginning() {
    let log = Ledger::shop()
        .item("b", "09:00", "bench", &["house-2h-4h"])
        .item("c", "08:00", "bench", &["house-2h-4h"])
        .item("a", "09:00", "bench", &["house-2h-4h"])
        .item("late", "12:00", "bench", &["house-2h-4h"]);
    let order: Vec<String> = log.standings("10:00").iter().map(|s| s["item"].to_string()).collect();
    assert_eq!(order, ["\"c\"", "\"b\"", "\"a\""]);
}

#[test]
fn a_product_brings_its_rules_and_the_item_adds_its_own() {
    let log = Ledger::shop()
        .product("eclair", &["house-2h-4h"], 0)
        .of("eclair", "e1", "08:00", "bench")
        .with(json!({"rules": ["two-hour"]}))
        .of("eclair", "e2", "08:00", "bench");
    check(&log, "e1", "08:00", json!({"discard_by": "10:00"}));
    check(&log, "e2", "08:00", json!({"discard_by": "12:00"}));
    // The same id again changes it for items begun after, in the order of numbers, whatever its `at`.
    let log = log.product("eclair", &["two-hour"], 0).of("eclair", "e3", "07:00", "bench");
    check(&log, "e2", "08:00", json!({"discard_by": "12:00"}));
    check(&log, "e3", "08:00", json!({"discard_by": "09:00"}));
}

#[test]
fn an_exempt_product_is_under_no_rule() {
    let log = Ledger::shop()
        .add(json!({"kind": "product", "at": "06:00", "product": "rusk", "name": "Rusk", "rules": [],
            "exempt": {"reason": "dry", "evidence": "water activity 0.3, invented laboratory, sheet 7"}}))
        .of("rusk", "r1", "08:00", "bench");
    check(
        &log,
        "r1",
        "20:00",
        json!({"verdict": "within", "left_ms": null, "discard_by": null, "decides": null,
        "total_out_ms": hours(12)}),
    );
}

/// The members of a standing are those that were promised, no more and no fewer.
#[test]
fn a_standing_has_exactly_its_members() {
    let log = Ledger::shop().item("cake", "08:00", "bench", &["house-2h-4h"]);
    let standing = log.at("cake", "08:30");
    let mut names: Vec<&str> = standing.as_object().expect("an object").keys().map(String::as_str).collect();
    let mut want = vec![
        "item",
        "as_of",
        "place",
        "state",
        "verdict",
        "total_out_ms",
        "spell_ms",
        "spells",
        "first_out_at",
        "discard_by",
        "left_ms",
        "return_by",
        "next",
        "use_by",
        "decides",
        "reasons",
        "deviations",
    ];
    names.sort_unstable();
    want.sort_unstable();
    assert_eq!(names, want);
    assert_eq!(standing["as_of"], "2026-05-04T08:30:00.000Z");
}
