//! Each deviation made to appear, and its neighbour in which it doesn't.
//!
//! Guards against S-11 of SAFETY.md.

use super::check;
use crate::kit::ledger::{Ledger, deviations, min};
use serde_json::{Value, json};

fn none() -> Value {
    json!({"deviations": []})
}

fn one(said: &str) -> Value {
    json!({"deviations": [said]})
}

#[test]
fn returned_late() {
    let log = |at: &str| Ledger::shop().item("cake", "08:00", "bench", &["sum-2h-4h"]).moved("cake", at, "fridge");
    check(&log("10:00"), "cake", "12:00", one("10:00 returned-late sum-2h-4h"));
    check(&log("09:59:59.999"), "cake", "12:00", none());
    // From one place out to another is no return.
    let log = Ledger::shop().item("cake", "08:00", "bench", &["sum-2h-4h"]).moved("cake", "11:00", "shelf");
    check(&log, "cake", "12:00", none());
    // Nor is a move into a fridge that has failed; its restore is.
    let log = Ledger::shop()
        .lapse("fridge", "07:00")
        .item("cake", "08:00", "bench", &["sum-2h-4h"])
        .moved("cake", "11:00", "fridge")
        .restore("fridge", "11:30");
    check(&log, "cake", "11:29", none());
    check(&log, "cake", "11:30", one("11:30 returned-late sum-2h-4h"));
    // Nor a move from cold to cold.
    let log = Ledger::shop()
        .item("cake", "08:00", "bench", &["sum-2h-4h"])
        .moved("cake", "11:00", "fridge")
        .moved("cake", "11:30", "case");
    check(&log, "cake", "12:00", one("11:00 returned-late sum-2h-4h"));
    // A rule that lets it return whenever it likes has nothing to say, nor does a breached `return`.
    let log =
        Ledger::shop().item("cake", "08:00", "bench", &["house-2h-4h", "two-hour"]).moved("cake", "11:00", "fridge");
    check(&log, "cake", "12:00", none());
    let asks = json!([{"measure": "total_out", "limit": "PT1H", "verdict": "return"}]);
    let log = Ledger::shop()
        .rule("own", "until-use", asks)
        .item("cake", "08:00", "bench", &["own"])
        .moved("cake", "11:00", "fridge");
    check(&log, "cake", "12:00", none());
}

#[test]
fn returned_not_allowed() {
    let log = |place: &str, rule: &str| {
        Ledger::shop()
            .item("cake", "07:00", "fridge", &[rule])
            .food("cake", "07:30", "4.0 C")
            .moved("cake", "08:00", place)
            .moved("cake", "08:05", "fridge")
    };
    check(&log("bench", "us-time-4h"), "cake", "09:00", one("08:05 returned-not-allowed us-time-4h"));
    check(&log("shelf", "us-prep-then-4h"), "cake", "09:00", one("08:05 returned-not-allowed us-prep-then-4h"));
    // On the bench that rule's clock has not begun.
    check(&log("bench", "us-prep-then-4h"), "cake", "09:00", none());
    check(&log("bench", "house-2h-4h"), "cake", "09:00", none());
    // Under a rule without such a clock any time out begins it.
    let own = json!([{"measure": "total_out", "limit": "PT4H", "uses": ["away"], "verdict": "discard"}]);
    let log = Ledger::shop()
        .rule("own", "never", own)
        .item("cake", "08:00", "bench", &["own"])
        .moved("cake", "08:05", "fridge");
    check(&log, "cake", "09:00", one("08:05 returned-not-allowed own"));
    // A clock that came with a parent has begun.
    let log = Ledger::shop()
        .item("tub", "08:00", "shelf", &["keep-7d"])
        .moved("tub", "08:10", "fridge")
        .item("cake", "07:00", "fridge", &["us-prep-then-4h"])
        .food("tub", "07:59:59.999", "4.0 C");
    assert!(log.refused().is_some(), "a reading before its item begins");
    let log = Ledger::shop()
        .item("tub", "07:00", "fridge", &["keep-7d"])
        .food("tub", "07:30", "4.0 C")
        .moved("tub", "08:00", "shelf")
        .moved("tub", "08:10", "fridge")
        .made("cake", "09:00", "bench", &["us-prep-then-4h"], &["tub"])
        .moved("cake", "09:30", "fridge");
    check(&log, "cake", "10:00", one("09:30 returned-not-allowed us-prep-then-4h"));
}

#[test]
fn start_warm_and_start_unread() {
    let log = |degrees: &str| {
        Ledger::shop()
            .item("cake", "07:00", "fridge", &["us-time-4h"])
            .food("cake", "07:30", degrees)
            .moved("cake", "08:00", "bench")
    };
    check(&log("41.1 F"), "cake", "09:00", one("08:00 start-warm us-time-4h"));
    check(&log("41.0 F"), "cake", "09:00", none());
    check(&log("5.0 C"), "cake", "09:00", none());
    check(&log("41.1 F"), "cake", "07:59", none());
    let unread = Ledger::shop().item("cake", "07:00", "fridge", &["us-time-4h"]).moved("cake", "08:00", "bench");
    check(&unread, "cake", "09:00", one("08:00 start-unread us-time-4h"));
    check(&unread, "cake", "09:00", json!({"verdict": "within"}));
}

#[test]
fn not_cooled() {
    let log = |at: &str| {
        Ledger::shop().item("curd", "08:00", "bench", &["us-cooling"]).food("curd", at, "41.0 F").at("curd", "20:00")
    };
    assert_eq!(deviations(&log("12:00")), [] as [&str; 0]);
    assert_eq!(deviations(&log("12:00:00.001")), ["12:00 not-cooled us-cooling"]);
    assert_eq!(log("12:00:00.001")["verdict"], "within");
    let unread = Ledger::shop().item("curd", "08:00", "bench", &["us-cooling"]);
    check(&unread, "curd", "12:00", none());
    check(&unread, "curd", "12:00:00.001", one("12:00 not-cooled us-cooling"));
}

#[test]
fn made_from_over() {
    let log = |at: &str| {
        Ledger::shop().item("tub", "08:00", "bench", &["two-hour"]).item("cake", "08:00", "fridge", &["two-hour"]).join(
            "cake",
            at,
            &["tub"],
        )
    };
    check(&log("10:00"), "cake", "12:00", one("10:00 made-from-over"));
    check(&log("09:59:59.999"), "cake", "12:00", none());
    let born = Ledger::shop().item("tub", "08:00", "bench", &["two-hour"]).made(
        "cake",
        "11:00",
        "fridge",
        &["house-2h-4h"],
        &["tub"],
    );
    check(&born, "cake", "12:00", json!({"deviations": ["11:00 made-from-over"], "verdict": "discard"}));
}

#[test]
fn served_late() {
    let log = |at: &str, how: &str| {
        Ledger::shop().item("cake", "08:00", "bench", &["two-hour"]).close("cake", at, how).at("cake", "12:00")
    };
    for how in ["served", "sold", "handed-over", "used"] {
        assert_eq!(deviations(&log("10:00", how)), ["10:00 served-late"], "{how}");
        assert_eq!(deviations(&log("09:59:59.999", how)), [] as [&str; 0], "{how}");
    }
    for how in ["discarded", "lost"] {
        assert_eq!(deviations(&log("10:00", how)), [] as [&str; 0], "{how}");
    }
    // Some of it counts too.
    let some = Ledger::shop()
        .item("tray", "08:00", "bench", &["two-hour"])
        .with(json!({"count": 9}))
        .close("tray", "09:00", "sold")
        .with(json!({"count": 2}))
        .close("tray", "10:30", "sold")
        .with(json!({"count": 2}))
        .close("tray", "11:00", "discarded");
    check(&some, "tray", "12:00", one("10:30 served-late"));
    // What holds a parent that was over is at discard.
    let inherited = Ledger::shop()
        .item("tub", "08:00", "bench", &["two-hour"])
        .made("cake", "11:00", "fridge", &["keep-7d"], &["tub"])
        .close("cake", "11:30", "sold");
    check(&inherited, "cake", "12:00", json!({"deviations": ["11:00 made-from-over", "11:30 served-late"]}));
    // `use` isn't `discard`.
    let used = Ledger::shop().item("cake", "08:00", "bench", &["sum-2h-4h"]).close("cake", "11:00", "sold");
    check(&used, "cake", "12:00", none());
}

#[test]
fn label_late() {
    let log = |by: &str| Ledger::shop().item("cake", "08:00", "bench", &["house-2h-4h"]).mark("cake", "08:01", by, 1);
    check(&log("12:00"), "cake", "09:00", none());
    check(&log("11:00"), "cake", "09:00", none());
    check(&log("12:00:00.001"), "cake", "09:00", one("08:01 label-late"));
    // Before it was written, it isn't there.
    check(&log("13:00"), "cake", "08:00:30", none());
    // The tub that goes in later makes an honest label late.
    let joined = Ledger::shop()
        .item("tub", "07:00", "bench", &["house-2h-4h"])
        .item("cake", "08:00", "bench", &["house-2h-4h"])
        .mark("cake", "08:01", "12:00", 1)
        .join("cake", "09:00", &["tub"]);
    check(&joined, "cake", "08:59", none());
    check(&joined, "cake", "09:00", json!({"deviations": ["08:01 label-late"], "discard_by": "11:00"}));
    // The next copy puts it right.
    check(&joined.mark("cake", "09:05", "11:00", 2), "cake", "09:10", none());
    // Nothing would discard it now: no time to be later than.
    check(&log("12:00").moved("cake", "08:30", "fridge"), "cake", "09:00", none());
}

/// The cake is out from 08:00 and marked 12:00 (or 12:30). At 11:00 somebody enters that it was back from 09:00 to 10:00,
/// which moves its time from 12:00 to 13:00.
#[test]
fn entered_late() {
    let stamped = |log: Ledger, recorded: &str| log.with(json!({"recorded_at": recorded}));
    let base = |by: &str| {
        let log = stamped(Ledger::shop().item("cake", "08:00", "bench", &["house-2h-4h"]), "08:00");
        stamped(log.mark("cake", "08:01", by, 1), "08:01")
    };
    let late = |by: &str| {
        let log = stamped(base(by).moved("cake", "09:00", "fridge"), "11:00");
        stamped(log.moved("cake", "10:00", "bench"), "11:00:01")
    };
    check(&base("12:00"), "cake", "11:30", none());
    let got = deviations(&late("12:00").at("cake", "11:30"));
    assert!(!got.is_empty() && got.iter().all(|d| d.starts_with("11:00") && d.ends_with("entered-late")), "{got:?}");
    check(&late("12:00"), "cake", "11:30", json!({"discard_by": "13:00", "total_out_ms": min(150)}));
    // At an instant before it was entered there is nothing to say of it.
    check(&late("12:00"), "cake", "10:59", none());
    // Entered in time it is no late entry.
    let prompt = stamped(base("12:00").moved("cake", "09:00", "fridge"), "09:01");
    check(&stamped(prompt.moved("cake", "10:00", "bench"), "10:01"), "cake", "11:30", none());
    // A late entry that makes the time earlier, or leaves it, isn't one of these.
    let earlier = stamped(
        stamped(Ledger::shop().item("cake", "07:00", "fridge", &["house-2h-4h"]), "07:00")
            .moved("cake", "09:00", "bench"),
        "09:00",
    );
    let earlier = stamped(earlier.mark("cake", "09:01", "13:00", 1), "09:01");
    let earlier = stamped(earlier.moved("cake", "07:30", "bench"), "10:00");
    let earlier = stamped(earlier.moved("cake", "08:00", "fridge"), "10:00:01");
    check(&earlier, "cake", "10:30", json!({"deviations": ["09:01 label-late"], "discard_by": "12:30"}));
    // Without a mark there is nothing it could be later than.
    let unmarked = stamped(Ledger::shop().item("cake", "08:00", "bench", &["house-2h-4h"]), "08:00");
    let unmarked = stamped(unmarked.moved("cake", "09:00", "fridge"), "11:00");
    check(&unmarked, "cake", "11:30", none());
}

#[test]
fn entered_late_by_a_correction() {
    let stamped = |log: Ledger, recorded: &str| log.with(json!({"recorded_at": recorded}));
    let log = stamped(Ledger::shop().item("cake", "07:00", "fridge", &["house-2h-4h"]), "07:00");
    let log = stamped(log.moved("cake", "08:00", "bench"), "08:00");
    let moved = log.seq();
    let log = stamped(log.mark("cake", "08:01", "12:00", 1), "08:01");
    let later = stamped(log.clone().set(moved, "11:00", json!({"at": "08:30"})), "11:00");
    check(&later, "cake", "11:30", json!({"discard_by": "12:30", "deviations": ["11:00 entered-late"]}));
    let earlier = stamped(log.set(moved, "11:00", json!({"at": "07:30"})), "11:00");
    check(&earlier, "cake", "11:10", json!({"discard_by": "11:30", "deviations": ["08:01 label-late"]}));
}

/// A lapse is corrected to have been of another place, and back: each time it leaves the place that an item stood in.
#[test]
fn entered_late_by_a_lapse_of_another_place() {
    let stamped = |log: Ledger, recorded: &str| log.with(json!({"recorded_at": recorded}));
    let log = stamped(Ledger::shop().item("cake", "07:00", "fridge", &["sum-2h-4h"]), "07:00");
    let log = stamped(log.item("pie", "07:00", "case", &["sum-2h-4h"]), "07:00");
    let log = stamped(log.lapsed("fridge", "08:00", "09:00"), "09:00");
    let lapse = log.seq();
    let log = stamped(log.moved("cake", "10:00", "bench"), "10:00");
    let log = stamped(log.moved("pie", "10:00", "bench"), "10:00");
    let log = stamped(log.mark("cake", "10:01", "13:00", 1), "10:01");
    let log = stamped(log.mark("pie", "10:01", "13:30", 1), "10:01");
    let there = stamped(log.set(lapse, "11:00", json!({"place": "case"})), "11:00");
    check(&there, "cake", "11:10", json!({"discard_by": "14:00", "deviations": ["11:00 entered-late"]}));
    check(&there, "pie", "11:10", json!({"discard_by": "13:00", "deviations": ["10:01 label-late"]}));
    let back = stamped(there.set(lapse, "11:30", json!({})), "11:30");
    check(&back, "cake", "11:40", json!({"discard_by": "13:00", "deviations": ["11:00 entered-late"]}));
    check(&back, "pie", "11:40", json!({"discard_by": "14:00", "deviations": ["11:30 entered-late"]}));
}

/// An item that closed stands as it stood, but a late entry that moved its time past the mark it carried is told of:
/// closing does not hide it.
#[test]
fn entered_late_after_it_closed() {
    let stamped = |log: Ledger, recorded: &str| log.with(json!({"recorded_at": recorded}));
    let log = stamped(Ledger::shop().item("cake", "08:00", "bench", &["house-2h-4h"]), "08:00");
    let log = stamped(log.mark("cake", "08:01", "12:00", 1), "08:01");
    let log = stamped(log.close("cake", "12:30", "sold"), "12:30");
    check(&log, "cake", "13:00", json!({"deviations": ["12:30 served-late"], "verdict": "discard"}));
    let log = stamped(log.moved("cake", "09:00", "fridge"), "13:30");
    let got = deviations(&log.at("cake", "14:00"));
    assert!(got.iter().any(|d| d.ends_with("entered-late")), "{got:?}");
}

/// All that deviates is listed in the order it happened, once.
#[test]
fn in_the_order_they_happened() {
    let log = Ledger::shop()
        .item("cake", "07:00", "fridge", &["sum-2h-4h", "us-time-4h"])
        .moved("cake", "08:00", "shelf")
        .moved("cake", "11:00", "fridge")
        .moved("cake", "12:00", "shelf")
        .close("cake", "13:00", "sold");
    check(
        &log,
        "cake",
        "14:00",
        json!({"deviations": ["08:00 start-unread us-time-4h", "11:00 returned-late sum-2h-4h",
            "11:00 returned-not-allowed us-time-4h", "13:00 served-late"]}),
    );
}
