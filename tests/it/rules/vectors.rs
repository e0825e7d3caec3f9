//! Three days worked by hand, each through every built-in rule. "Four hours" is three clocks: one wall clock from the
//! first removal, a sum that pauses, one display once. The same day passes one and fails another.

use crate::kit::ledger::{Ledger, has, hours, min};
use serde_json::{Value, json};

/// (rule, instant, what the standing then has).
type Row = (&'static str, &'static str, Value);

fn run(item: &str, log: impl Fn(&str) -> Ledger, rows: Vec<Row>) {
    for (rule, at, want) in rows {
        println!("{rule} at {at}");
        has(&log(rule).at(item, at), want);
    }
}

/// Out on the shelf 08:00–08:50, 10:00–11:15, 13:30–14:00; in the fridge else. No reading was taken.
///
/// Sum: 50 min at 08:50, 125 at 11:15, 155 at 14:00. It reaches 2 h when 70 min of the second stay are gone, at 11:10;
/// 4 h would come, if it stayed out from 13:30, after 240 − 125 = 115 min, at 15:25.
/// One clock from 08:00: 4 h at 12:00, 6 h at 14:00, whatever the fridge did.
/// One display: the second begins at 10:00; the longest stay is 75 min.
#[test]
fn three_stays_on_the_shelf() {
    let log = |rule: &str| {
        Ledger::shop()
            .item("cake", "06:00", "fridge", &[rule])
            .moved("cake", "08:00", "shelf")
            .moved("cake", "08:50", "fridge")
            .moved("cake", "10:00", "shelf")
            .moved("cake", "11:15", "fridge")
            .moved("cake", "13:30", "shelf")
            .moved("cake", "14:00", "fridge")
    };
    let never = |rule: &str| {
        [
            format!("08:00 start-unread {rule}"),
            format!("08:50 returned-not-allowed {rule}"),
            format!("11:15 returned-not-allowed {rule}"),
            format!("14:00 returned-not-allowed {rule}"),
        ]
    };
    let rows = vec![
        // Sum of 115 min at 11:05: 5 to go until it must be back, 125 until 4 h.
        (
            "house-2h-4h",
            "11:05",
            json!({"state": "out", "verdict": "within", "total_out_ms": min(115),
            "return_by": "11:10", "discard_by": "13:10", "left_ms": min(125), "next": "11:10 return"}),
        ),
        ("house-2h-4h", "11:10", json!({"verdict": "return", "return_by": "11:10", "next": "13:10 discard"})),
        // In the fridge nothing more is asked: 240 − 125 = 115 min are left.
        (
            "house-2h-4h",
            "11:15",
            json!({"state": "cold", "verdict": "within", "total_out_ms": min(125),
            "discard_by": null, "left_ms": min(115), "return_by": null, "next": null, "deviations": []}),
        ),
        (
            "house-2h-4h",
            "13:45",
            json!({"state": "out", "verdict": "return", "total_out_ms": min(140),
            "spell_ms": min(15), "discard_by": "15:25", "left_ms": min(100), "return_by": "11:10"}),
        ),
        (
            "house-2h-4h",
            "14:00",
            json!({"verdict": "within", "total_out_ms": min(155), "left_ms": min(85),
            "spells": 3, "first_out_at": "08:00", "deviations": [], "use_by": null, "spell_ms": 0}),
        ),
        // The return at 08:50 was in time; those at 11:15 and 14:00 were not.
        ("sum-2h-4h", "08:50", json!({"verdict": "within", "total_out_ms": min(50), "deviations": []})),
        (
            "sum-2h-4h",
            "11:15",
            json!({"verdict": "use", "total_out_ms": min(125), "left_ms": min(115),
            "discard_by": null, "deviations": ["11:15 returned-late sum-2h-4h"],
            "reasons": ["sum-2h-4h total_out use 11:10"]}),
        ),
        (
            "sum-2h-4h",
            "13:45",
            json!({"verdict": "use", "discard_by": "15:25", "left_ms": min(100),
            "return_by": "11:10", "next": "15:25 discard", "decides": "sum-2h-4h total_out"}),
        ),
        (
            "sum-2h-4h",
            "14:00",
            json!({"verdict": "use", "total_out_ms": min(155), "left_ms": min(85),
            "deviations": ["11:15 returned-late sum-2h-4h", "14:00 returned-late sum-2h-4h"]}),
        ),
        // One clock: over after 12:00, at which it is allowed.
        (
            "us-time-4h",
            "08:30",
            json!({"verdict": "within", "discard_by": "12:00", "left_ms": min(210),
            "return_by": null, "deviations": ["08:00 start-unread us-time-4h"]}),
        ),
        (
            "us-time-4h",
            "12:00",
            json!({"state": "cold", "verdict": "within", "discard_by": "12:00", "left_ms": 0,
            "next": "12:00 discard", "total_out_ms": min(125)}),
        ),
        (
            "us-time-4h",
            "12:00:00.001",
            json!({"verdict": "discard", "discard_by": "12:00", "left_ms": 0,
            "decides": "us-time-4h since_first_out"}),
        ),
        (
            "us-time-4h",
            "14:00",
            json!({"verdict": "discard", "total_out_ms": min(155), "discard_by": "12:00",
            "left_ms": 0, "deviations": never("us-time-4h")}),
        ),
        // On the shelf its one clock has begun at 08:00 too; the sum alone would last until 15:25.
        ("us-prep-then-4h", "12:00", json!({"verdict": "within", "discard_by": "12:00", "left_ms": 0})),
        (
            "us-prep-then-4h",
            "14:00",
            json!({"verdict": "discard", "total_out_ms": min(155), "discard_by": "12:00",
            "decides": "us-prep-then-4h since_first_out", "deviations": never("us-prep-then-4h")}),
        ),
        (
            "us-time-6h",
            "14:00",
            json!({"verdict": "within", "total_out_ms": min(155), "discard_by": "14:00",
            "left_ms": 0, "deviations": never("us-time-6h")}),
        ),
        ("us-time-6h", "14:00:00.001", json!({"verdict": "discard", "discard_by": "14:00", "left_ms": 0})),
        // It began in the cold and was never read hot: no cooling to time, and nothing that would ever discard it.
        (
            "us-cooling",
            "14:00",
            json!({"verdict": "within", "total_out_ms": min(155), "discard_by": null,
            "left_ms": null, "decides": null, "reasons": [], "deviations": []}),
        ),
        // One display of less than 4 h: the first could go on until 12:00; once it ended there is no other.
        (
            "uk-display-4h",
            "08:30",
            json!({"verdict": "within", "discard_by": "12:00", "left_ms": min(210),
            "return_by": "12:00", "decides": "uk-display-4h longest_spell"}),
        ),
        ("uk-display-4h", "09:00", json!({"verdict": "within", "discard_by": null, "left_ms": 0, "deviations": []})),
        (
            "uk-display-4h",
            "10:00",
            json!({"verdict": "discard", "discard_by": "10:00", "left_ms": 0,
            "reasons": ["uk-display-4h spells discard 10:00"], "decides": "uk-display-4h spells"}),
        ),
        (
            "uk-display-4h",
            "14:00",
            json!({"verdict": "discard", "total_out_ms": min(155), "discard_by": "10:00",
            "left_ms": 0, "deviations": ["11:15 returned-late uk-display-4h", "14:00 returned-late uk-display-4h"]}),
        ),
        ("two-hour", "11:09:59.999", json!({"verdict": "within", "discard_by": "11:10", "left_ms": 1})),
        (
            "two-hour",
            "14:00",
            json!({"verdict": "discard", "total_out_ms": min(155), "discard_by": "11:10",
            "left_ms": 0, "decides": "two-hour total_out", "deviations": []}),
        ),
        // Nobody read the air: it counts as above 70 °F, so the two hours of a warm room hold, and are allowed.
        ("banded-70f", "11:10", json!({"verdict": "within", "discard_by": "11:10", "left_ms": 0})),
        (
            "banded-70f",
            "14:00",
            json!({"verdict": "discard", "total_out_ms": min(155), "discard_by": "11:10",
            "left_ms": 0, "decides": "banded-70f out_above", "deviations": []}),
        ),
        // Made on 4 May: the 10th is the seventh day. 6 days and 10 hours from 14:00 to the midnight that ends it.
        (
            "keep-7d",
            "14:00",
            json!({"verdict": "within", "total_out_ms": min(155), "discard_by": "+7 00:00",
            "left_ms": hours(154), "use_by": "2026-05-10", "decides": "keep-7d day", "deviations": []}),
        ),
    ];
    run("cake", log, rows);
}

/// The same stays on the bench, for the rules that tell the uses apart: preparation adds up and begins no display.
#[test]
fn three_stays_on_the_bench() {
    let log = |rule: &str| {
        Ledger::shop()
            .item("cake", "06:00", "fridge", &[rule])
            .moved("cake", "08:00", "bench")
            .moved("cake", "08:50", "fridge")
            .moved("cake", "10:00", "bench")
            .moved("cake", "11:15", "fridge")
            .moved("cake", "13:30", "bench")
            .moved("cake", "14:00", "fridge")
    };
    let rows = vec![
        // No clock of display has begun, so it may still return; the sum's 4 h come at 15:25.
        (
            "us-prep-then-4h",
            "13:45",
            json!({"verdict": "within", "discard_by": "15:25", "left_ms": min(100),
            "return_by": "15:25", "decides": "us-prep-then-4h total_out", "deviations": []}),
        ),
        (
            "us-prep-then-4h",
            "14:00",
            json!({"verdict": "within", "total_out_ms": min(155), "discard_by": null,
            "left_ms": min(85), "deviations": []}),
        ),
        // Never displayed: a first display of 4 h is open to it, in the fridge and on the bench alike.
        (
            "uk-display-4h",
            "14:00",
            json!({"verdict": "within", "total_out_ms": min(155), "spells": 3,
            "discard_by": null, "left_ms": hours(4), "deviations": []}),
        ),
        (
            "uk-display-4h",
            "13:45",
            json!({"verdict": "within", "discard_by": null, "left_ms": hours(4),
            "return_by": null}),
        ),
    ];
    run("cake", log, rows);
}

/// The fridge fails at 08:00 and holds again from 13:00: five hours out, in a place of use `store`, which counts in
/// every rule. Reaches from 08:00: 2 h at 10:00, 4 h at 12:00, 6 h at 14:00.
/// Guards against S-05.
#[test]
fn a_fridge_fails_for_five_hours() {
    let log = |rule: &str| {
        Ledger::shop().item("cake", "06:00", "fridge", &[rule]).lapse("fridge", "08:00").restore("fridge", "13:00")
    };
    let never = |rule: &str| [format!("08:00 start-unread {rule}"), format!("13:00 returned-not-allowed {rule}")];
    let rows = vec![
        (
            "house-2h-4h",
            "11:00",
            json!({"state": "out", "place": "fridge", "verdict": "return",
            "total_out_ms": hours(3), "spell_ms": hours(3), "discard_by": "12:00", "left_ms": hours(1)}),
        ),
        (
            "house-2h-4h",
            "13:00",
            json!({"state": "cold", "verdict": "discard", "total_out_ms": hours(5),
            "discard_by": "12:00", "left_ms": 0, "spells": 1, "deviations": []}),
        ),
        ("sum-2h-4h", "11:00", json!({"verdict": "use", "discard_by": "12:00", "return_by": "10:00"})),
        (
            "sum-2h-4h",
            "13:00",
            json!({"verdict": "discard", "total_out_ms": hours(5), "discard_by": "12:00",
            "left_ms": 0, "deviations": ["13:00 returned-late sum-2h-4h"]}),
        ),
        ("us-time-4h", "12:00", json!({"verdict": "within", "discard_by": "12:00", "left_ms": 0})),
        (
            "us-time-4h",
            "13:00",
            json!({"verdict": "discard", "total_out_ms": hours(5), "discard_by": "12:00",
            "left_ms": 0, "deviations": never("us-time-4h")}),
        ),
        // Both its clauses reach 12:00, the one clock because a store counts whatever the uses.
        ("us-prep-then-4h", "12:00", json!({"verdict": "within", "discard_by": "12:00", "left_ms": 0})),
        (
            "us-prep-then-4h",
            "13:00",
            json!({"verdict": "discard", "total_out_ms": hours(5), "discard_by": "12:00",
            "left_ms": 0, "deviations": never("us-prep-then-4h"),
            "reasons": ["us-prep-then-4h since_first_out discard 12:00", "us-prep-then-4h total_out discard 12:00",
                        "us-prep-then-4h start_temperature deviation 08:00"]}),
        ),
        (
            "us-time-6h",
            "13:00",
            json!({"state": "cold", "verdict": "within", "total_out_ms": hours(5),
            "discard_by": "14:00", "left_ms": hours(1), "deviations": never("us-time-6h")}),
        ),
        ("us-time-6h", "14:00:00.001", json!({"verdict": "discard", "left_ms": 0})),
        (
            "us-cooling",
            "13:00",
            json!({"verdict": "within", "total_out_ms": hours(5), "discard_by": null,
            "left_ms": null, "deviations": []}),
        ),
        // Five hours in a failed fridge count as a display of five hours.
        ("uk-display-4h", "11:59:59.999", json!({"verdict": "within", "discard_by": "12:00", "left_ms": 1})),
        (
            "uk-display-4h",
            "13:00",
            json!({"verdict": "discard", "total_out_ms": hours(5), "discard_by": "12:00",
            "left_ms": 0, "decides": "uk-display-4h longest_spell",
            "deviations": ["13:00 returned-late uk-display-4h"]}),
        ),
        (
            "two-hour",
            "13:00",
            json!({"verdict": "discard", "total_out_ms": hours(5), "discard_by": "10:00",
            "left_ms": 0, "decides": "two-hour total_out", "deviations": []}),
        ),
        ("banded-70f", "10:00", json!({"verdict": "within", "discard_by": "10:00"})),
        (
            "banded-70f",
            "13:00",
            json!({"verdict": "discard", "total_out_ms": hours(5), "discard_by": "10:00",
            "left_ms": 0, "decides": "banded-70f out_above", "deviations": []}),
        ),
        // 6 days and 11 hours from 13:00 to the midnight that ends 10 May.
        (
            "keep-7d",
            "13:00",
            json!({"verdict": "within", "total_out_ms": hours(5), "discard_by": "+7 00:00",
            "left_ms": hours(155), "use_by": "2026-05-10", "deviations": []}),
        ),
    ];
    run("cake", log, rows);
}

/// A tub of frosting of 3 May is out 08:00–09:30 and again from 10:30; it was read at 40.0 °F at 07:45. A cake begins in
/// the fridge at 10:00, is out from 10:50, and gets the frosting at 11:00. At noon it goes into the fridge.
///
/// At 11:00 the tub has been out for 90 + 30 = 120 min, first at 08:00, in 2 stretches, the present one since 10:30, the
/// longest 90 min. The cake by itself has 10 min in one stretch. So the cake goes on from 120 min, first out 08:00, and 2
/// stretches (both are out: none is added), the present one since 10:30. By noon that is 180 min.
/// Four hours of the sum are reached 120 min after 11:00, at 13:00; the one clock ends at 12:00 (4 h) or 14:00 (6 h).
#[test]
fn a_tub_joins_a_cake() {
    let log = |rule: &str| {
        Ledger::shop()
            .item("tub", "-1 06:00", "fridge", &[rule])
            .food("tub", "07:45", "40.0 F")
            .moved("tub", "08:00", "shelf")
            .moved("tub", "09:30", "fridge")
            .item("cake", "10:00", "fridge", &[rule])
            .moved("tub", "10:30", "shelf")
            .moved("cake", "10:50", "shelf")
            .join("cake", "11:00", &["tub"])
            .moved("cake", "12:00", "fridge")
    };
    let rows = vec![
        (
            "house-2h-4h",
            "10:59:59.999",
            json!({"verdict": "within", "spells": 1, "first_out_at": "10:50",
            "total_out_ms": min(10) - 1}),
        ),
        // The two hours come with the tub: reached at the join, never before.
        (
            "house-2h-4h",
            "11:00",
            json!({"verdict": "return", "total_out_ms": min(120), "spells": 2,
            "first_out_at": "08:00", "return_by": "11:00", "discard_by": "13:00", "left_ms": hours(2)}),
        ),
        (
            "house-2h-4h",
            "12:00",
            json!({"state": "cold", "verdict": "within", "total_out_ms": min(180),
            "discard_by": null, "left_ms": min(60), "deviations": []}),
        ),
        (
            "sum-2h-4h",
            "11:30",
            json!({"verdict": "use", "total_out_ms": min(150), "discard_by": "13:00",
            "left_ms": min(90), "return_by": "11:00"}),
        ),
        (
            "sum-2h-4h",
            "12:00",
            json!({"verdict": "use", "total_out_ms": min(180), "discard_by": null,
            "left_ms": min(60), "deviations": ["12:00 returned-late sum-2h-4h"]}),
        ),
        // First out 08:00, before the cake began, with the tub's reading of 40.0 °F: no start-warm, no start-unread.
        ("us-time-4h", "10:55", json!({"discard_by": "14:50", "deviations": ["10:50 start-unread us-time-4h"]})),
        (
            "us-time-4h",
            "12:00",
            json!({"verdict": "within", "total_out_ms": min(180), "discard_by": "12:00",
            "left_ms": 0, "first_out_at": "08:00"}),
        ),
        ("us-time-4h", "12:00:00.001", json!({"verdict": "discard", "left_ms": 0})),
        (
            "us-prep-then-4h",
            "12:00",
            json!({"verdict": "within", "total_out_ms": min(180), "discard_by": "12:00",
            "left_ms": 0, "decides": "us-prep-then-4h since_first_out"}),
        ),
        ("us-prep-then-4h", "12:00:00.001", json!({"verdict": "discard", "left_ms": 0})),
        (
            "us-time-6h",
            "12:00",
            json!({"verdict": "within", "total_out_ms": min(180), "discard_by": "14:00",
            "left_ms": hours(2)}),
        ),
        ("us-time-6h", "14:00:00.001", json!({"verdict": "discard", "left_ms": 0})),
        (
            "us-cooling",
            "12:00",
            json!({"verdict": "within", "total_out_ms": min(180), "discard_by": null,
            "left_ms": null, "deviations": []}),
        ),
        // The tub's second display began at 10:30, so what it went into is at discard from the join on.
        ("uk-display-4h", "10:55", json!({"verdict": "within", "discard_by": "14:50"})),
        (
            "uk-display-4h",
            "11:00",
            json!({"verdict": "discard", "discard_by": "10:30", "left_ms": 0,
            "deviations": ["11:00 made-from-over"]}),
        ),
        (
            "uk-display-4h",
            "12:00",
            json!({"verdict": "discard", "total_out_ms": min(180), "discard_by": "10:30",
            "left_ms": 0, "deviations": ["11:00 made-from-over", "12:00 returned-late uk-display-4h"]}),
        ),
        // The tub reaches its two hours at the very instant of the join.
        (
            "two-hour",
            "12:00",
            json!({"verdict": "discard", "total_out_ms": min(180), "discard_by": "11:00",
            "left_ms": 0, "deviations": ["11:00 made-from-over"]}),
        ),
        // Allowed at that instant, so the tub wasn't over; a millisecond later the cake is.
        ("banded-70f", "11:00", json!({"verdict": "within", "discard_by": "11:00", "left_ms": 0, "deviations": []})),
        (
            "banded-70f",
            "12:00",
            json!({"verdict": "discard", "total_out_ms": min(180), "discard_by": "11:00",
            "left_ms": 0, "decides": "banded-70f out_above", "deviations": []}),
        ),
        // The tub's 3 May is the first day, so the 9th is the last. From noon: 5 days and 12 hours.
        ("keep-7d", "10:55", json!({"discard_by": "+7 00:00", "use_by": "2026-05-10"})),
        (
            "keep-7d",
            "12:00",
            json!({"verdict": "within", "total_out_ms": min(180), "discard_by": "+6 00:00",
            "left_ms": hours(132), "use_by": "2026-05-09", "deviations": []}),
        ),
    ];
    run("cake", log, rows);
}
