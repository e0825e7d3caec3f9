//! The end of an item: its standing is that of the instant it closed.

use super::check;
use crate::kit::ledger::{Ledger, hours, min};
use serde_json::json;

#[test]
fn a_closed_item_stands_as_it_stood() {
    let log = Ledger::shop().item("cake", "08:00", "bench", &["house-2h-4h", "keep-7d"]).close("cake", "10:30", "sold");
    check(&log, "cake", "10:29:59.999", json!({"state": "out", "return_by": "10:00"}));
    for at in ["10:30", "11:00", "+9 00:00"] {
        check(
            &log,
            "cake",
            at,
            json!({"state": "closed", "verdict": "return", "total_out_ms": min(150), "spell_ms": min(150), "spells": 1,
                   "discard_by": "12:00", "left_ms": min(90), "return_by": null, "next": null, "use_by": null,
                   "as_of": "10:30", "place": "bench", "decides": "house-2h-4h total_out", "deviations": []}),
        );
    }
}

#[test]
fn every_way_of_closing() {
    for how in ["served", "sold", "used", "handed-over", "discarded", "lost"] {
        let log = Ledger::shop().item("cake", "08:00", "fridge", &["house-2h-4h"]).close("cake", "09:00", how);
        check(&log, "cake", "10:00", json!({"state": "closed"}));
    }
}

#[test]
fn what_comes_later_in_the_order_of_truth_does_not_count() {
    let log = Ledger::shop()
        .item("cake", "08:00", "bench", &["house-2h-4h"])
        .item("tub", "08:00", "fridge", &["house-2h-4h"])
        .lapse("fridge", "08:30")
        .close("tub", "09:00", "sold")
        .restore("fridge", "09:00");
    // The restore of that very instant is a later entry: at its close the tub was out.
    check(&log, "tub", "10:00", json!({"total_out_ms": min(30), "discard_by": "12:30", "deviations": []}));
    let log = Ledger::shop().item("cake", "08:00", "fridge", &["house-2h-4h"]).close("cake", "09:00", "sold");
    check(&log.lapse("fridge", "09:00"), "cake", "10:00", json!({"total_out_ms": 0, "spells": 0}));
    // A late entry of before counts.
    let log = Ledger::shop().item("cake", "08:00", "fridge", &["house-2h-4h"]).close("cake", "09:00", "sold");
    check(&log.lapse("fridge", "08:30"), "cake", "10:00", json!({"total_out_ms": min(30), "spells": 1}));
}

#[test]
fn some_of_it() {
    let log = Ledger::shop()
        .item("tray", "08:00", "bench", &["house-2h-4h"])
        .with(json!({"count": 12}))
        .close("tray", "09:00", "sold")
        .with(json!({"count": 5}))
        .close("tray", "09:30", "served")
        .with(json!({"count": 6}));
    check(&log, "tray", "10:00", json!({"state": "out", "total_out_ms": hours(2)}));
    let last = log.clone().close("tray", "11:00", "discarded").with(json!({"count": 1}));
    check(&last, "tray", "12:00", json!({"state": "closed", "total_out_ms": hours(3)}));
    let rest = log.close("tray", "11:00", "discarded");
    check(&rest, "tray", "12:00", json!({"state": "closed", "total_out_ms": hours(3)}));
}

#[test]
fn one_of_one_is_all() {
    let log = Ledger::shop()
        .item("cake", "08:00", "bench", &["house-2h-4h"])
        .close("cake", "09:00", "sold")
        .with(json!({"count": 1}));
    check(&log, "cake", "10:00", json!({"state": "closed"}));
}

#[test]
fn closing_ends_no_spell_by_a_return() {
    let log =
        Ledger::shop().item("cake", "08:00", "bench", &["sum-2h-4h", "us-time-4h"]).close("cake", "11:00", "sold");
    check(&log, "cake", "12:00", json!({"deviations": ["08:00 start-unread us-time-4h"], "verdict": "use"}));
}
