//! Late entries and corrections that lie before a descendant's join: everything made from it is folded again.
//!
//! Each begins with base → filling → cake → slice, made at 09:00, 10:00 and 11:00 in the fridge; the base is on the bench
//! 08:00–08:30. So each has 30 min, first out 08:00, until something comes in late.
//!
//! Guards against S-02 of SAFETY.md.

use super::check;
use crate::kit::ledger::{Ledger, hours, min};
use serde_json::{Value, json};

const RULES: &[&str] = &["house-2h-4h"];

fn family() -> Ledger {
    family_under(Ledger::shop(), RULES)
}

/// `seq` of the base's move back is that of the fourth line after the set-up.
fn family_under(shop: Ledger, rules: &[&str]) -> Ledger {
    shop.item("base", "07:00", "fridge", rules)
        .moved("base", "08:00", "bench")
        .moved("base", "08:30", "fridge")
        .made("filling", "09:00", "fridge", rules, &["base"])
        .made("cake", "10:00", "fridge", rules, &["filling"])
        .made("slice", "11:00", "fridge", rules, &["cake"])
}

fn all(log: &Ledger, expected: Value) {
    for item in ["base", "filling", "cake", "slice"] {
        println!("{item}");
        check(log, item, "12:00", expected.clone());
    }
}

#[test]
fn before_anything_is_late() {
    all(&family(), json!({"total_out_ms": min(30), "first_out_at": "08:00", "spells": 1, "verdict": "within"}));
}

#[test]
fn a_late_move() {
    let log = family().moved("base", "07:20", "bench").moved("base", "07:50", "fridge");
    all(&log, json!({"total_out_ms": hours(1), "first_out_at": "07:20", "spells": 2, "left_ms": hours(3)}));
    // After the filling was made it is the base's own affair.
    let log = family().moved("base", "09:20", "bench").moved("base", "09:40", "fridge");
    check(&log, "base", "12:00", json!({"total_out_ms": min(50)}));
    check(&log, "slice", "12:00", json!({"total_out_ms": min(30)}));
}

#[test]
fn a_late_move_of_the_one_in_the_middle() {
    let log = family().moved("filling", "09:20", "bench").moved("filling", "09:40", "fridge");
    check(&log, "filling", "12:00", json!({"total_out_ms": min(50), "spells": 2}));
    check(&log, "slice", "12:00", json!({"total_out_ms": min(50), "spells": 2}));
    check(&log, "base", "12:00", json!({"total_out_ms": min(30)}));
}

#[test]
fn a_late_lapse_and_a_late_restore() {
    // The fridge failed at 07:10; nobody knows until when: the base is out until it went to the bench and after.
    let log = family().lapse("fridge", "07:10");
    all(&log, json!({"total_out_ms": min(290), "first_out_at": "07:10", "spells": 1, "verdict": "discard"}));
    // 07:10–07:40 it was; the half hour counts, in a stretch of its own.
    let log = log.restore("fridge", "07:40");
    all(&log, json!({"total_out_ms": hours(1), "first_out_at": "07:10", "spells": 2, "verdict": "within"}));
}

#[test]
fn a_late_lapse_with_an_end() {
    let log = family().lapsed("fridge", "07:10", "07:40");
    all(&log, json!({"total_out_ms": hours(1), "first_out_at": "07:10", "spells": 2}));
    // In the bench's time it changes nothing; touching it, it is one stretch.
    let log = family().lapsed("fridge", "08:10", "08:40");
    all(&log, json!({"total_out_ms": min(40), "first_out_at": "08:00", "spells": 1}));
}

#[test]
fn a_late_reading() {
    let rule = json!([{"measure": "food_temperature", "limit": {"value": "20.0", "unit": "C"}, "verdict": "discard"}]);
    let log = family_under(Ledger::shop().rule("own", "any", rule), &["own"]);
    all(&log, json!({"verdict": "within"}));
    let log = log.food("base", "08:40", "25.0 C");
    all(&log, json!({"verdict": "discard", "discard_by": "08:40"}));
    check(&log, "slice", "12:00", json!({"deviations": ["11:00 made-from-over"]}));
    let rule = json!([{"measure": "start_temperature", "limit": {"value": "5.0", "unit": "C"}, "at_limit": "allowed",
        "verdict": "deviation"}]);
    let log = family_under(Ledger::shop().rule("own", "any", rule), &["own"]);
    all(&log, json!({"deviations": ["08:00 start-unread own"]}));
    all(&log.food("base", "07:50", "5.0 C"), json!({"deviations": []}));
}

#[test]
fn a_late_air_reading() {
    let rule = json!([{"measure": "out_above", "above": {"value": "20.0", "unit": "C"}, "limit": "PT30M",
        "verdict": "discard"}]);
    let log = family_under(Ledger::shop().rule("own", "any", rule), &["own"]);
    all(&log, json!({"verdict": "discard"}));
    all(&log.air("bench", "07:55", "19.0 C"), json!({"verdict": "within"}));
}

#[test]
fn a_late_join() {
    let log = family().item("egg-wash", "06:00", "bench", RULES).join("base", "08:50", &["egg-wash"]);
    // 170 min came with it.
    all(&log, json!({"total_out_ms": min(170), "first_out_at": "06:00", "spells": 1}));
}

#[test]
fn a_correction() {
    let log = family();
    let back = log.seq() - 3;
    // The base came back at 08:50, not at 08:30.
    let log = log.set(back, "12:00", json!({"at": "08:50"}));
    all(&log, json!({"total_out_ms": min(50), "first_out_at": "08:00", "spells": 1}));
    // It was never out at all.
    let log = family();
    let (out, back) = (log.seq() - 4, log.seq() - 3);
    let log = log.void(back, "12:00").void(out, "12:00");
    all(&log, json!({"total_out_ms": 0, "first_out_at": null, "spells": 0}));
}

#[test]
fn a_corrected_lapse() {
    let log = family().lapsed("fridge", "07:10", "07:40");
    let lapse = log.seq();
    let log = log.set(lapse, "12:00", json!({"until": "07:20"}));
    all(&log, json!({"total_out_ms": min(40), "spells": 2}));
    all(&log.void(lapse, "12:00"), json!({"total_out_ms": min(30), "spells": 1}));
}

#[test]
fn late_chilling_of_an_ancestor() {
    let shop = || Ledger::shop().product("cream", RULES, min(30));
    let log = shop()
        .of("cream", "base", "07:00", "fridge")
        .made("filling", "09:00", "fridge", RULES, &["base"])
        .made("cake", "10:00", "fridge", RULES, &["filling"])
        .made("slice", "11:00", "fridge", RULES, &["cake"]);
    all(&log, json!({"total_out_ms": 0}));
    let log = log.moved("base", "07:30", "bench").moved("base", "08:00", "fridge");
    all(&log, json!({"total_out_ms": hours(1)}));
    all(&log.food("base", "08:10", "5.0 C"), json!({"total_out_ms": min(40)}));
}

#[test]
fn a_late_entry_that_dooms_an_ancestor_dooms_what_was_made_from_it() {
    let log = Ledger::shop()
        .item("base", "04:00", "fridge", &["two-hour"])
        .made("filling", "09:00", "fridge", &["keep-7d"], &["base"])
        .made("cake", "10:00", "fridge", &["keep-7d"], &["filling"])
        .made("slice", "11:00", "fridge", &["keep-7d"], &["cake"]);
    all(&log, json!({"verdict": "within"}));
    let log = log.moved("base", "05:00", "bench").moved("base", "07:00", "fridge");
    all(&log, json!({"verdict": "discard", "discard_by": "07:00", "left_ms": 0, "decides": "two-hour total_out"}));
}
