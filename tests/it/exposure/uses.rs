//! Clauses that count only places of some uses, and a failed store always.

use super::{check, own, used};
use crate::kit::ledger::{has, hours, min};
use serde_json::json;

#[test]
fn only_the_named_uses_count() {
    let log = own(json!({"measure": "total_out", "limit": "PT1H", "uses": ["display", "transport"]}))
        .item("cake", "08:00", "bench", &["own"])
        .moved("cake", "09:00", "shelf")
        .moved("cake", "09:20", "venue")
        .moved("cake", "10:00", "van");
    check(&log, "cake", "08:30", json!({"discard_by": null, "left_ms": hours(1), "total_out_ms": min(30)}));
    check(&log, "cake", "09:10", json!({"discard_by": "10:00"}));
    check(&log, "cake", "09:30", json!({"discard_by": null, "left_ms": min(40)}));
    check(&log, "cake", "10:00", json!({"discard_by": "10:40", "total_out_ms": hours(2)}));
    assert_eq!(used(&log.at("cake", "11:00")), min(80));
}

#[test]
fn the_first_instant_is_that_of_a_counted_place() {
    let log = own(json!({"measure": "since_first_out", "limit": "PT1H", "uses": ["away"]}))
        .item("cake", "08:00", "bench", &["own"])
        .moved("cake", "09:00", "venue");
    check(&log, "cake", "08:30", json!({"discard_by": null}));
    check(&log, "cake", "09:00", json!({"discard_by": "10:00", "first_out_at": "08:00"}));
}

#[test]
fn a_failed_fridge_counts_whatever_the_uses() {
    for measure in ["total_out", "since_first_out", "longest_spell", "out_above"] {
        let mut clause = json!({"measure": measure, "limit": "PT1H", "uses": ["display"]});
        if measure == "out_above" {
            clause["above"] = json!({"value": "20.0", "unit": "C"});
        }
        let log = own(clause).item("cake", "06:00", "fridge", &["own"]).lapse("fridge", "08:00");
        check(&log, "cake", "08:30", json!({"discard_by": "09:00"}));
        check(&log, "cake", "09:00", json!({"verdict": "discard"}));
    }
    let log = own(json!({"measure": "spells", "limit": 1, "uses": ["display"]}))
        .item("cake", "06:00", "shelf", &["own"])
        .moved("cake", "07:00", "fridge")
        .lapse("fridge", "08:00");
    check(&log, "cake", "08:00", json!({"verdict": "discard", "discard_by": "08:00"}));
}

#[test]
fn a_failed_case_for_display_counts_as_display_only() {
    let log = own(json!({"measure": "total_out", "limit": "PT1H", "uses": ["work"]}))
        .item("cake", "06:00", "case", &["own"])
        .lapse("case", "08:00");
    check(&log, "cake", "12:00", json!({"verdict": "within", "total_out_ms": hours(4), "discard_by": null}));
    let log = own(json!({"measure": "total_out", "limit": "PT1H", "uses": ["display"]}))
        .item("cake", "06:00", "case", &["own"])
        .lapse("case", "08:00");
    check(&log, "cake", "12:00", json!({"verdict": "discard", "discard_by": "09:00"}));
}

#[test]
fn stretches_are_those_of_the_counted_places() {
    let log = own(json!({"measure": "spells", "limit": 1, "uses": ["display"]}))
        .item("cake", "08:00", "bench", &["own"])
        .moved("cake", "09:00", "shelf")
        .moved("cake", "09:30", "bench")
        .moved("cake", "10:00", "shelf");
    check(&log, "cake", "09:59", json!({"verdict": "within", "spells": 1}));
    check(&log, "cake", "10:00", json!({"verdict": "discard", "spells": 1, "discard_by": "10:00"}));
    let log = own(json!({"measure": "longest_spell", "limit": "PT1H", "uses": ["display"]}))
        .item("cake", "08:00", "bench", &["own"])
        .moved("cake", "09:00", "shelf");
    check(&log, "cake", "09:30", json!({"discard_by": "10:00", "spell_ms": min(90)}));
}

#[test]
fn from_the_shelf_into_a_failed_fridge_is_one_stretch_of_a_display() {
    let log = own(json!({"measure": "spells", "limit": 1, "uses": ["display"]}))
        .lapse("fridge", "07:00")
        .item("cake", "08:00", "shelf", &["own"])
        .moved("cake", "09:00", "fridge")
        .moved("cake", "09:30", "shelf");
    check(&log, "cake", "10:00", json!({"verdict": "within", "spells": 1}));
}

#[test]
fn at_a_join_the_parents_are_measured_with_the_clauses_uses() {
    let log = own(json!({"measure": "total_out", "limit": "PT1H", "uses": ["display"]}))
        .item("tub", "08:00", "bench", &["own"])
        .moved("tub", "09:00", "shelf")
        .item("cake", "09:00", "fridge", &["own"])
        .join("cake", "09:40", &["tub"])
        .moved("cake", "10:00", "shelf");
    // 40 minutes of display came with it; 20 are left.
    check(&log, "cake", "10:00", json!({"discard_by": "10:20", "total_out_ms": min(100)}));
}

#[test]
fn taken_out_means_to_a_place_that_counts() {
    let log = own(json!({"measure": "total_out", "limit": "PT1H", "uses": ["transport"]}))
        .item("cake", "08:00", "fridge", &["own"])
        .moved("cake", "09:00", "bench");
    has(&log.at("cake", "08:30"), json!({"left_ms": hours(1), "discard_by": null}));
    has(&log.at("cake", "09:30"), json!({"left_ms": hours(1), "discard_by": null, "state": "out"}));
}
