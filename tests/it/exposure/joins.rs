//! What is made inherits: at a join each measure becomes the worse of the item's own and each parent's.
//!
//! Guards against S-02 of SAFETY.md.

use super::{check, own, used};
use crate::kit::ledger::{Ledger, hours, min};
use serde_json::json;

const HOUSE: &[&str] = &["house-2h-4h"];

#[test]
fn the_larger_sum_goes_on() {
    // The tub has 50 min when it goes in at 10:00; cake a has 30 of its own, cake b 60.
    let log = Ledger::shop()
        .item("tub", "07:00", "fridge", HOUSE)
        .item("a", "07:00", "fridge", HOUSE)
        .item("b", "07:00", "fridge", HOUSE)
        .moved("b", "09:00", "bench")
        .moved("tub", "09:10", "bench")
        .moved("a", "09:30", "bench")
        .join("a", "10:00", &["tub"])
        .join("b", "10:00", &["tub"]);
    check(&log, "a", "09:59:59.999", json!({"total_out_ms": min(30) - 1, "first_out_at": "09:30"}));
    check(&log, "a", "10:00", json!({"total_out_ms": min(50), "first_out_at": "09:10"}));
    check(&log, "a", "10:10", json!({"total_out_ms": min(60), "discard_by": "13:10"}));
    check(&log, "b", "10:10", json!({"total_out_ms": min(70), "first_out_at": "09:00", "discard_by": "13:00"}));
    // What the tub does later is its own affair.
    check(&log.clone().moved("tub", "10:05", "fridge"), "a", "11:00", json!({"total_out_ms": min(110)}));
    check(&log.moved("a", "10:10", "fridge"), "a", "12:00", json!({"total_out_ms": min(60)}));
}

#[test]
fn an_item_begins_with_what_it_was_made_from() {
    let log = Ledger::shop()
        .item("tub", "08:00", "bench", HOUSE)
        .moved("tub", "08:40", "fridge")
        .made("cake", "10:00", "fridge", HOUSE, &["tub"])
        .made("tart", "10:00", "bench", HOUSE, &["tub"]);
    check(
        &log,
        "cake",
        "10:00",
        json!({"state": "cold", "total_out_ms": min(40), "first_out_at": "08:00", "spells": 1, "spell_ms": 0,
               "left_ms": min(200)}),
    );
    // The tart is out and the tub isn't: one stretch more.
    check(&log, "tart", "10:00", json!({"state": "out", "total_out_ms": min(40), "spells": 2, "discard_by": "13:20"}));
}

#[test]
fn splitting_copies_the_history() {
    let log = Ledger::shop()
        .item("cake", "08:00", "bench", HOUSE)
        .made("slice-1", "09:00", "shelf", HOUSE, &["cake"])
        .made("slice-2", "09:00", "shelf", HOUSE, &["cake"]);
    for slice in ["slice-1", "slice-2"] {
        check(&log, slice, "09:30", json!({"total_out_ms": min(90), "spells": 1, "discard_by": "12:00"}));
    }
}

#[test]
fn the_earlier_first_instant_goes_on_even_before_the_item_began() {
    let log = own(json!({"measure": "since_first_out", "limit": "PT2H"}))
        .item("tub", "08:00", "bench", &["own"])
        .moved("tub", "08:05", "fridge")
        .made("cake", "09:30", "fridge", &["own"], &["tub"]);
    check(&log, "cake", "09:30", json!({"discard_by": "10:00", "first_out_at": "08:00", "left_ms": min(30)}));
    let over = log.made("tart", "10:30", "fridge", &["own"], &["tub"]);
    check(&over, "tart", "10:30", json!({"verdict": "discard", "discard_by": "10:00"}));
}

#[test]
fn sums_and_lengths_never_reach_their_limit_before_the_join_that_carried_it_over() {
    for measure in ["total_out", "longest_spell"] {
        // The parent has another rule and isn't at discard itself.
        let log = own(json!({"measure": measure, "limit": "PT1H"}))
            .item("tub", "08:00", "bench", HOUSE)
            .moved("tub", "09:30", "fridge")
            .item("cake", "09:00", "fridge", &["own"])
            .join("cake", "10:00", &["tub"]);
        check(&log, "cake", "09:59:59.999", json!({"verdict": "within"}));
        check(
            &log,
            "cake",
            "10:00",
            json!({"verdict": "discard", "discard_by": "10:00", "decides": format!("own {measure}"),
            "deviations": []}),
        );
        assert_eq!(used(&log.at("cake", "10:00")), min(90), "{measure}");
    }
}

/// Spells at a join: the larger count; the parent's plus one if the item is out then and the parent is not.
#[test]
fn spells_of_item_and_parent() {
    // The tub has had two stretches out; the present place of each at 12:00 differs by case.
    let tub_in = |log: Ledger| {
        log.item("tub", "08:00", "bench", HOUSE)
            .moved("tub", "08:10", "fridge")
            .moved("tub", "09:00", "bench")
            .moved("tub", "09:10", "fridge")
    };
    // Item out, parent cold: 2 + 1.
    let log = tub_in(Ledger::shop()).item("cake", "11:00", "bench", HOUSE).join("cake", "12:00", &["tub"]);
    check(&log, "cake", "11:59", json!({"spells": 1}));
    check(&log, "cake", "12:00", json!({"spells": 3}));
    // Both cold: 2.
    let log = tub_in(Ledger::shop()).item("cake", "11:00", "fridge", HOUSE).join("cake", "12:00", &["tub"]);
    check(&log, "cake", "12:00", json!({"spells": 2}));
    // Item cold, parent out: 3 of the parent's.
    let log = tub_in(Ledger::shop()).moved("tub", "11:30", "bench").item("cake", "11:00", "fridge", HOUSE);
    check(&log.join("cake", "12:00", &["tub"]), "cake", "12:00", json!({"spells": 3}));
    // Both out: 3 of the parent's, none added.
    let log = tub_in(Ledger::shop()).moved("tub", "11:30", "bench").item("cake", "11:00", "bench", HOUSE);
    check(&log.join("cake", "12:00", &["tub"]), "cake", "12:00", json!({"spells": 3}));
    // The parent's stretch ends at that instant: it is out then.
    let log = tub_in(Ledger::shop())
        .moved("tub", "11:30", "bench")
        .moved("tub", "12:00", "fridge")
        .item("cake", "11:00", "bench", HOUSE);
    check(&log.join("cake", "12:00", &["tub"]), "cake", "12:00", json!({"spells": 3}));
    // A millisecond earlier it isn't.
    let log = tub_in(Ledger::shop())
        .moved("tub", "11:30", "bench")
        .moved("tub", "11:59:59.999", "fridge")
        .item("cake", "11:00", "bench", HOUSE);
    check(&log.join("cake", "12:00", &["tub"]), "cake", "12:00", json!({"spells": 4}));
    // The item's own count is the larger.
    let log = Ledger::shop()
        .item("tub", "08:00", "fridge", HOUSE)
        .item("cake", "08:00", "bench", HOUSE)
        .moved("cake", "08:10", "fridge")
        .moved("cake", "09:00", "bench")
        .join("cake", "09:30", &["tub"]);
    check(&log, "cake", "09:30", json!({"spells": 2}));
    // Both have never been out; the item begins out: its own stretch.
    let log = Ledger::shop().item("tub", "08:00", "fridge", HOUSE).made("cake", "09:00", "bench", HOUSE, &["tub"]);
    check(&log, "cake", "09:00", json!({"spells": 1}));
}

#[test]
fn the_one_spell_too_many_began_with_the_present_stretch() {
    let log = own(json!({"measure": "spells", "limit": 2}))
        .item("tub", "08:00", "bench", &["own"])
        .moved("tub", "08:10", "fridge")
        .moved("tub", "09:00", "bench")
        .moved("tub", "09:10", "fridge")
        .item("cake", "11:00", "bench", &["own"])
        .join("cake", "12:00", &["tub"]);
    check(&log, "cake", "11:59:59.999", json!({"verdict": "within"}));
    check(&log, "cake", "12:00", json!({"verdict": "discard", "spells": 3, "discard_by": "11:00", "deviations": []}));
}

#[test]
fn the_longer_of_two_present_stretches_goes_on() {
    let rule = || own(json!({"measure": "longest_spell", "limit": "PT2H"}));
    let both = |cake: &str, tub: &str| {
        rule()
            .item("tub", "07:00", "fridge", &["own"])
            .item("cake", "07:00", "fridge", &["own"])
            .moved("tub", tub, "bench")
            .moved("cake", cake, "bench")
            .join("cake", "09:30", &["tub"])
    };
    check(&both("09:00", "08:00"), "cake", "09:15", json!({"discard_by": "11:00"}));
    check(&both("09:00", "08:00"), "cake", "09:30", json!({"discard_by": "10:00"}));
    check(&both("08:00", "09:00"), "cake", "09:30", json!({"discard_by": "10:00"}));
    // The parent's stretch ends at that instant: it was out then, and its stretch goes on.
    let ended = both("09:00", "08:00").moved("tub", "09:30", "fridge");
    check(&ended, "cake", "09:30", json!({"discard_by": "10:00"}));
}

#[test]
fn a_stretch_of_the_parents_counts_but_does_not_go_on_in_the_cold() {
    let log = own(json!({"measure": "longest_spell", "limit": "PT2H"}))
        .item("tub", "08:00", "bench", &["own"])
        .item("cake", "07:00", "fridge", &["own"])
        .join("cake", "09:30", &["tub"])
        .moved("cake", "10:00", "bench");
    check(&log, "cake", "09:45", json!({"discard_by": null, "left_ms": hours(2)}));
    check(&log, "cake", "10:00", json!({"discard_by": "12:00"}));
    // And a parent that is cold lends no present stretch to an item that is out.
    let log = own(json!({"measure": "longest_spell", "limit": "PT2H"}))
        .item("tub", "08:00", "bench", &["own"])
        .moved("tub", "09:30", "fridge")
        .item("cake", "10:00", "bench", &["own"])
        .join("cake", "10:15", &["tub"]);
    check(&log, "cake", "10:30", json!({"discard_by": "12:00", "total_out_ms": min(105)}));
}

#[test]
fn joins_earlier_in_the_order_of_truth_are_included() {
    let begun = Ledger::shop()
        .item("a", "08:00", "bench", HOUSE)
        .item("b", "08:00", "fridge", HOUSE)
        .item("c", "08:00", "fridge", HOUSE);
    let first = begun.clone().join("b", "10:00", &["a"]).join("c", "10:00", &["b"]);
    check(&first, "c", "10:00", json!({"total_out_ms": hours(2), "first_out_at": "08:00"}));
    let after = begun.join("c", "10:00", &["b"]).join("b", "10:00", &["a"]);
    check(&after, "c", "10:00", json!({"total_out_ms": 0, "first_out_at": null}));
    check(&after, "b", "10:00", json!({"total_out_ms": hours(2)}));
}

#[test]
fn begun_and_joined_at_one_instant() {
    let log = Ledger::shop()
        .item("base", "08:00", "bench", HOUSE)
        .made("filling", "09:00", "bench", HOUSE, &["base"])
        .made("cake", "09:00", "fridge", HOUSE, &["filling"])
        .join("cake", "09:00", &["base"]);
    check(&log, "cake", "09:00", json!({"total_out_ms": hours(1), "first_out_at": "08:00", "spells": 1}));
}

#[test]
fn the_worst_of_several_parents() {
    let log = Ledger::shop()
        .item("a", "07:00", "fridge", HOUSE)
        .item("b", "07:00", "fridge", HOUSE)
        .moved("a", "08:00", "bench")
        .moved("a", "08:10", "fridge")
        .moved("b", "09:00", "bench")
        .moved("b", "09:40", "fridge")
        .made("cake", "10:00", "fridge", HOUSE, &["a", "b"]);
    check(&log, "cake", "10:00", json!({"total_out_ms": min(40), "first_out_at": "08:00", "spells": 1}));
}

/// base → filling → cake → slice, each made while the one before was out; then out no more.
///
/// base: 08:00–09:00 on the bench. filling, 09:00 to 09:20 on the bench: 60 + 20. cake, from 09:20, on the shelf until
/// 09:50: 80 + 30 = 110. slice, from 09:50 in the fridge: 110, first out 08:00.
#[test]
fn three_generations() {
    let log = Ledger::shop()
        .item("base", "08:00", "bench", HOUSE)
        .made("filling", "09:00", "bench", HOUSE, &["base"])
        .close("base", "09:00", "used")
        .made("cake", "09:20", "shelf", HOUSE, &["filling"])
        .close("filling", "09:20", "used")
        .made("slice", "09:50", "fridge", HOUSE, &["cake"]);
    check(&log, "filling", "09:10", json!({"total_out_ms": min(70), "first_out_at": "08:00", "spells": 1}));
    check(&log, "cake", "09:30", json!({"total_out_ms": min(90), "first_out_at": "08:00", "spells": 1}));
    check(
        &log,
        "slice",
        "12:00",
        json!({"total_out_ms": min(110), "first_out_at": "08:00", "spells": 1, "left_ms": min(130), "state": "cold"}),
    );
}

#[test]
fn a_tub_topped_up_and_scraped_back() {
    // Scrapings of the bowl go into the tub and, later, some of the tub into the same bowl: no circle in time.
    let log = Ledger::shop()
        .item("bowl", "08:00", "bench", HOUSE)
        .item("tub", "08:00", "fridge", HOUSE)
        .join("tub", "08:30", &["bowl"])
        .moved("tub", "08:30", "bench")
        .join("bowl", "09:00", &["tub"]);
    check(&log, "tub", "09:00", json!({"total_out_ms": hours(1), "spells": 1}));
    check(&log, "bowl", "09:00", json!({"total_out_ms": hours(1), "spells": 1}));
}

#[test]
fn the_same_parent_again_brings_what_it_has_by_then() {
    let log = Ledger::shop()
        .item("tub", "08:00", "bench", HOUSE)
        .made("cake", "08:30", "fridge", HOUSE, &["tub"])
        .join("cake", "09:30", &["tub"]);
    check(&log, "cake", "09:00", json!({"total_out_ms": min(30)}));
    check(&log, "cake", "09:30", json!({"total_out_ms": min(90)}));
}

#[test]
fn what_went_in_with_a_parent_at_discard_is_at_discard() {
    // The cake's own rule would never discard it for this; the tub's does.
    let log = Ledger::shop()
        .item("tub", "06:00", "bench", &["two-hour"])
        .item("cake", "08:00", "fridge", &["keep-7d"])
        .join("cake", "08:30", &["tub"]);
    check(&log, "cake", "08:29", json!({"verdict": "within", "discard_by": "+7 00:00"}));
    check(
        &log,
        "cake",
        "08:30",
        json!({"verdict": "discard", "discard_by": "08:00", "left_ms": 0, "decides": "two-hour total_out",
               "deviations": ["08:30 made-from-over"], "next": null}),
    );
    // A generation on, too.
    let slice = log.made("slice", "09:00", "fridge", &["keep-7d"], &["cake"]);
    check(
        &slice,
        "slice",
        "10:00",
        json!({"verdict": "discard", "discard_by": "08:00", "deviations": ["09:00 made-from-over"]}),
    );
}

#[test]
fn a_parent_that_is_over_later_takes_nothing_with_it() {
    let log = Ledger::shop()
        .item("tub", "06:00", "bench", &["two-hour"])
        .item("cake", "07:00", "fridge", &["keep-7d"])
        .join("cake", "07:59:59.999", &["tub"]);
    check(&log, "cake", "09:00", json!({"verdict": "within", "deviations": [], "discard_by": "+7 00:00"}));
}

#[test]
fn a_parent_that_closes_at_that_very_instant_after_the_join() {
    let log = Ledger::shop()
        .item("tub", "08:00", "bench", HOUSE)
        .made("cake", "09:00", "fridge", HOUSE, &["tub"])
        .close("tub", "09:00", "used");
    check(&log, "cake", "10:00", json!({"total_out_ms": hours(1)}));
    check(&log, "tub", "10:00", json!({"state": "closed", "total_out_ms": hours(1)}));
}
