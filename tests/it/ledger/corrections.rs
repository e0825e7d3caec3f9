//! Corrections: the entry stays; readers apply the latest correction of it alone, to the original.

use crate::kit::ledger::{Ledger, Shop, evaluate, has, hours, instant, min, t};
use counterclock::evaluate::Options;
use serde_json::{Value, json};

const RULES: &[&str] = &["house-2h-4h"];

/// A cake in the fridge since 07:00, on the bench from 08:00 (`out`) until 09:00 (`back`).
fn shop() -> (Ledger, usize, usize) {
    let log = Ledger::shop()
        .item("cake", "07:00", "fridge", RULES)
        .moved("cake", "08:00", "bench")
        .moved("cake", "09:00", "fridge");
    let seq = log.seq();
    (log, seq - 1, seq)
}

#[track_caller]
fn total(log: &Ledger, minutes: i64) {
    has(&log.at("cake", "12:00"), json!({"total_out_ms": min(minutes)}));
}

#[test]
fn void_and_set() {
    let (log, out, back) = shop();
    total(&log, 60);
    total(&log.clone().set(out, "12:00", json!({"at": "08:20"})), 40);
    total(&log.clone().set(back, "12:00", json!({"at": "10:00"})), 120);
    total(&log.clone().void(back, "12:00"), 240);
    total(&log.clone().void(back, "12:00").void(out, "12:00"), 0);
    total(&log.set(out, "12:00", json!({"place": "shelf"})), 60);
}

#[test]
fn the_latest_alone_counts_on_the_original() {
    let (log, out, _) = shop();
    let log = log.set(out, "12:00", json!({"at": "08:20"}));
    // The second says nothing of the time: that of the original counts again.
    let log = log.set(out, "12:00", json!({"place": "shelf"}));
    total(&log, 60);
    has(&log.at("cake", "08:10"), json!({"place": "shelf"}));
    let log = log.void(out, "12:00");
    assert_eq!(log.refused(), Some((log.seq(), "upsets-another")), "the move back would be to where it is");
}

#[test]
fn an_empty_set_restores_the_original() {
    let (log, out, back) = shop();
    let log = log.set(out, "12:00", json!({"at": "08:20"})).set(out, "12:00", json!({}));
    total(&log, 60);
    total(&log.void(back, "12:00").set(back, "12:00", json!({})), 60);
}

#[test]
fn null_removes_a_member() {
    let log = Ledger::shop().item("cake", "07:00", "fridge", RULES).lapsed("fridge", "08:00", "08:30");
    let lapse = log.seq();
    total(&log, 30);
    // Nobody knows when it ended, after all.
    let log = log.set(lapse, "12:00", json!({"until": null}));
    total(&log, 240);
    total(&log.restore("fridge", "09:00"), 60);
    let log = Ledger::shop().item("cake", "07:00", "fridge", RULES).with(json!({"count": 3, "note": "three"}));
    let begin = log.seq();
    let log = log
        .set(begin, "12:00", json!({"count": null, "note": null}))
        .close("cake", "12:00", "sold")
        .with(json!({"count": 1}));
    has(&log.at("cake", "12:00"), json!({"state": "closed"}));
    // What must be there cannot be removed.
    let (log, out, _) = shop();
    let log = log.set(out, "12:00", json!({"place": null}));
    assert_eq!(log.refused(), Some((log.seq(), "missing-member")));
}

#[test]
fn corrections_apply_whatever_the_instant_asked_for() {
    let (log, out, _) = shop();
    let log = log.set(out, "15:00", json!({"at": "08:20"}));
    has(&log.at("cake", "08:30"), json!({"total_out_ms": min(10)}));
    has(&log.at("cake", "08:10"), json!({"state": "cold"}));
}

#[test]
fn known_at_drops_what_was_recorded_later() {
    let (log, out, _) = shop();
    let log = log.set(out, "12:00", json!({"at": "08:20"})).with(json!({"recorded_at": "12:00"}));
    let at = |known: &str| {
        let options = Options { as_of: Some(instant("11:00")), known_at: Some(instant(known)), zone: None };
        evaluate(&log.lines, options).expect("accepted")[0]["total_out_ms"].clone()
    };
    assert_eq!(at("11:59:59.999"), hours(1));
    assert_eq!(at("12:00"), min(40));
}

#[test]
fn the_default_instant_is_the_greatest_time_after_corrections() {
    let log = Ledger::shop().item("cake", "07:00", "bench", RULES).moved("cake", "18:00", "fridge");
    let moved = log.seq();
    let as_of = |log: &Ledger| evaluate(&log.lines, Options::default()).expect("accepted")[0]["as_of"].clone();
    assert_eq!(as_of(&log), t("18:00"));
    assert_eq!(as_of(&log.clone().set(moved, "09:00", json!({"at": "08:00"}))), t("09:00"));
    assert_eq!(as_of(&log.clone().void(moved, "07:30")), t("07:30"));
    assert_eq!(as_of(&log.set(moved, "09:00", json!({"at": "20:00"}))), t("20:00"));
}

#[test]
fn a_beginning_may_be_corrected_and_what_was_made_from_it_follows() {
    let log = Ledger::shop().item("tub", "07:00", "bench", RULES);
    let begin = log.seq();
    let log = log.made("cake", "08:00", "fridge", RULES, &["tub"]);
    total(&log, 60);
    total(&log.clone().set(begin, "12:00", json!({"at": "06:00"})), 120);
    total(&log.clone().set(begin, "12:00", json!({"place": "fridge"})), 0);
    assert_eq!(
        log.clone().set(begin, "12:00", json!({"at": "08:30"})).refused(),
        Some((log.seq() + 1, "upsets-another"))
    );
    assert_eq!(log.clone().void(begin, "12:00").refused(), Some((log.seq() + 1, "upsets-another")));
}

#[test]
fn rules_and_parents_of_a_beginning() {
    let log = Ledger::shop().item("tub", "07:00", "bench", RULES).item("cake", "07:30", "bench", RULES);
    let begin = log.seq();
    has(&log.at("cake", "08:00"), json!({"discard_by": "11:30"}));
    has(
        &log.clone().set(begin, "12:00", json!({"rules": ["two-hour"]})).at("cake", "08:00"),
        json!({"discard_by": "09:30"}),
    );
    has(&log.clone().set(begin, "12:00", json!({"from": ["tub"]})).at("cake", "08:00"), json!({"discard_by": "11:00"}));
    assert_eq!(
        log.clone().set(begin, "12:00", json!({"rules": []})).refused(),
        Some((log.seq() + 1, "upsets-another"))
    );
    assert_eq!(
        log.clone().set(begin, "12:00", json!({"from": ["cake"]})).refused(),
        Some((log.seq() + 1, "upsets-another"))
    );
}

/// The cake was written down first, then the tub that it had been filled from: only the correction can say so.
#[test]
fn a_correction_may_name_a_parent_that_was_entered_after_the_original() {
    let cake = || Ledger::shop().item("cake", "08:00", "fridge", RULES);
    let begin = cake().seq();
    let log = cake().item("tub", "07:00", "bench", RULES);
    total(&log.clone().set(begin, "12:00", json!({"from": ["tub"]})), 60);
    let mut shop = Shop::with(&log);
    // The rule that the cake took into use has the number before.
    let correction = json!({"kind": "correct", "at": t("12:00"), "entry": begin + 1, "set": {"from": ["tub"]},
        "reason": "left out"});
    shop.post(&[correction.to_string()], "+31 00:00").expect("accepted");
    has(&shop.at("cake", "12:00"), json!({"total_out_ms": min(60)}));
    // A join too, and it goes by when it happened.
    let log = cake().item("bowl", "07:30", "fridge", RULES);
    let join = log.seq() + 1;
    let log = log.add(json!({"kind": "join", "at": "09:00", "item": "cake", "from": ["bowl"]}));
    let log = log.item("tub", "07:00", "bench", RULES);
    total(&log.clone().set(join, "12:00", json!({"from": ["bowl", "tub"]})), 120);
    // What comes only after the correction it cannot name, nor what had not begun.
    let early = cake().set(begin, "12:00", json!({"from": ["tub"]})).item("tub", "07:00", "bench", RULES);
    assert_eq!(early.refused(), Some((begin + 1, "upsets-another")));
    let late = cake().item("tub", "08:30", "bench", RULES).set(begin, "12:00", json!({"from": ["tub"]}));
    assert_eq!(late.refused(), Some((begin + 2, "upsets-another")));
}

/// What a reading was probed at and what a decision is about are known, to whoever corrects them too.
#[test]
fn a_correction_names_nothing_unknown() {
    // A rule of its own, so that the shop numbers its entries as the file does.
    let own = json!([{"measure": "total_out", "limit": "PT4H", "verdict": "discard"}]);
    let log = Ledger::shop().rule("own", "any", own).item("cake", "07:00", "bench", &["own"]);
    let log = log.food("cake", "08:00", "4.0 C");
    let reading = log.seq();
    let log = log.add(json!({"kind": "decide", "at": "08:10", "about": "cake", "action": "keep", "reason": "cold"}));
    let decide = log.seq();
    let log = log.item("bun", "08:20", "fridge", &["own"]).close("bun", "08:30", "sold");
    let correct = |entry: usize, set: Value| {
        let log = log.clone().set(entry, "12:00", set.clone());
        let (read, line) = (log.refused(), log.lines.last().expect("a line").clone());
        let asked = Shop::with(&Ledger::of_lines(log.lines[..log.lines.len() - 1].to_vec())).post(&[line], "+31 00:00");
        assert_eq!(read.map(|(_, code)| code), asked.err(), "{set}");
        assert!(read.is_none_or(|(line, _)| line == log.seq()), "{set}");
        read.map(|(_, code)| code)
    };
    // Written down by the time of the correction is enough; so is one that closed.
    assert_eq!(correct(reading, json!({"probed": "bun"})), None);
    assert_eq!(correct(reading, json!({"probed": "cake"})), None);
    assert_eq!(correct(reading, json!({"probed": "nobody"})), Some("unknown-item"));
    assert_eq!(correct(reading, json!({"probed": "bench"})), Some("unknown-item"));
    for about in [json!("bun"), json!("bench"), json!(1), json!(reading), json!(log.seq())] {
        assert_eq!(correct(decide, json!({"about": about})), None, "{about}");
    }
    assert_eq!(correct(decide, json!({"about": "nobody"})), Some("unknown-item"));
    for about in [0, log.seq() + 1, 9_999] {
        assert_eq!(correct(decide, json!({"about": about})), Some("unknown-entry"), "{about}");
    }
    // Of the originals, only what was written down before them.
    let early = Ledger::shop().item("cake", "07:00", "bench", RULES).food("cake", "08:00", "4.0 C");
    let early = early.with(json!({"probed": "bun"})).item("bun", "06:00", "fridge", RULES);
    assert_eq!(early.refused(), Some((early.seq() - 1, "unknown-item")));
    // When it began is no matter: a probe's reading may be entered with the wrong time.
    let later = Ledger::shop().item("cake", "07:00", "bench", RULES).item("bun", "09:00", "fridge", RULES);
    assert_eq!(later.food("cake", "08:00", "4.0 C").with(json!({"probed": "bun"})).refused(), None);
}

#[test]
fn readings_lapses_marks_and_closes() {
    let own = json!([{"measure": "food_temperature", "limit": {"value": "20.0", "unit": "C"}, "verdict": "discard"}]);
    let log =
        Ledger::shop().rule("own", "any", own).item("cake", "07:00", "bench", &["own"]).food("cake", "08:00", "21.0 C");
    let reading = log.seq();
    has(&log.at("cake", "09:00"), json!({"verdict": "discard"}));
    for right in [json!("12.0"), json!(12.0), json!(12)] {
        has(
            &log.clone().set(reading, "12:00", json!({"value": right})).at("cake", "09:00"),
            json!({"verdict": "within"}),
        );
    }
    // 21.0 °F is well below zero.
    has(&log.clone().set(reading, "12:00", json!({"unit": "F"})).at("cake", "09:00"), json!({"verdict": "within"}));
    has(&log.void(reading, "12:00").at("cake", "09:00"), json!({"verdict": "within"}));
    let log = Ledger::shop().item("cake", "07:00", "fridge", RULES).close("cake", "08:00", "sold");
    let close = log.seq();
    has(&log.clone().void(close, "12:00").at("cake", "09:00"), json!({"state": "cold"}));
    has(&log.clone().set(close, "12:00", json!({"at": "09:30"})).at("cake", "09:00"), json!({"state": "cold"}));
    let log = Ledger::shop().item("cake", "07:00", "fridge", RULES).lapse("fridge", "08:00");
    let lapse = log.seq();
    total(&log.clone().set(lapse, "12:00", json!({"at": "09:00"})), 180);
    total(&log.void(lapse, "12:00"), 0);
}

#[test]
fn a_reading_of_the_air_may_turn_out_to_be_another_places() {
    let own = json!([{"measure": "out_above", "above": {"value": "20.0", "unit": "C"}, "limit": "PT1H", "unread": "not-above",
        "verdict": "discard"}]);
    let log =
        Ledger::shop().rule("own", "any", own).item("cake", "07:00", "bench", &["own"]).air("shelf", "07:00", "30.0 C");
    let reading = log.seq();
    has(&log.at("cake", "09:00"), json!({"verdict": "within"}));
    let log = log.set(reading, "12:00", json!({"place": "bench"}));
    has(&log.at("cake", "09:00"), json!({"verdict": "discard"}));
    let log = Ledger::shop().item("cake", "07:00", "fridge", RULES).lapsed("case", "08:00", "08:30");
    let lapse = log.seq();
    total(&log.set(lapse, "12:00", json!({"place": "fridge"})), 30);
}

#[test]
fn what_cannot_be_corrected() {
    let (log, out, _) = shop();
    let log = log.set(out, "12:00", json!({"at": "08:20"}));
    let correction = log.seq();
    let refused = |log: Ledger| log.refused().map(|(line, code)| (line - log.seq(), code));
    let not = Some((0, "not-correctable"));
    assert_eq!(refused(log.clone().set(correction, "12:00", json!({"reason": "other"}))), not);
    assert_eq!(refused(log.clone().void(correction, "12:00")), not);
    for member in [json!({"kind": "seen"}), json!({"item": "tub"}), json!({"items": ["cake"]}), json!({"by": "ann"})] {
        assert_eq!(refused(log.clone().set(out, "12:00", member.clone())), not, "{member}");
    }
    let own =
        || Ledger::shop().rule("own", "any", json!([{"measure": "total_out", "limit": "PT4H", "verdict": "discard"}]));
    let rule = own().seq();
    assert_eq!(refused(own().void(rule, "12:00")), not);
    assert_eq!(refused(own().set(rule, "12:00", json!({"returns": "never"}))), not);
    // Of itself, or of what comes later.
    let (log, _, back) = shop();
    assert_eq!(refused(log.clone().void(back + 1, "12:00")), Some((0, "unknown-entry")));
    assert_eq!(
        log.clone().void(back + 2, "12:00").moved("cake", "10:00", "bench").refused(),
        Some((back + 1, "unknown-entry"))
    );
}

#[test]
fn a_correction_says_void_or_set() {
    let (log, out, _) = shop();
    for (change, code) in [
        (json!({}), "bad-member"),
        (json!({"void": false}), "bad-member"),
        (json!({"void": true, "set": {}}), "bad-member"),
        (json!({"set": []}), "bad-member"),
        (json!({"set": {"colour": "blue"}}), "unknown-member"),
        (json!({"set": {"at": "yesterday"}}), "bad-time"),
    ] {
        let mut entry = json!({"kind": "correct", "at": "12:00", "entry": out, "reason": "misread"});
        entry.as_object_mut().expect("members").extend(change.as_object().expect("members").clone());
        let log = log.clone().add(entry);
        assert_eq!(log.refused(), Some((log.seq(), code)), "{change}");
    }
}

/// An array of corrections is judged as a whole: what neither could do alone both may do together.
#[test]
fn an_array_of_corrections_is_judged_as_a_whole() {
    let (log, _, _) = shop();
    let correct = |seq: u64, at: &str| {
        json!({"kind": "correct", "at": t("12:00"), "entry": seq, "set": {"at": t(at)}, "reason": "a day's sheet misread"}).to_string()
    };
    let head = Shop::with(&log).state.head;
    let (out, back) = (head - 1, head);
    // Out at 10:00 and back at 11:00. The first alone would leave the move back first, to where it is.
    let (first, second) = (correct(out, "10:00"), correct(back, "11:00"));
    let mut shop = Shop::with(&log);
    assert_eq!(shop.post(std::slice::from_ref(&first), "+31 00:00"), Err("upsets-another"));
    assert_eq!(shop.post(&[first.clone(), correct(back, "09:30")], "+31 00:00"), Err("upsets-another"));
    assert_eq!(shop.state.head, head);
    assert!(shop.post(&[first, second], "+31 00:00").is_ok());
    has(&shop.at("cake", "12:00"), json!({"total_out_ms": hours(1), "first_out_at": "10:00"}));
    // What is kept reads the same again.
    let kept = Ledger::of_lines(shop.kept());
    assert_eq!(kept.at("cake", "12:00"), shop.at("cake", "12:00"));
}

/// What the ledger keeps of `set` is in the ledger's own form: temperatures as strings with one decimal, times in UTC.
#[test]
fn a_correction_is_kept_in_the_ledgers_own_form() {
    let mut shop = Shop::with(&Ledger::shop().item("cake", "07:00", "bench", RULES).food("cake", "08:00", "21.0 C"));
    let line = json!({"kind": "correct", "at": "2026-05-04T14:00:00+02:00", "entry": shop.state.head, "reason": "misread",
        "set": {"value": 12.5, "at": "2026-05-04T10:15:00.0009+02:00", "note": null}});
    shop.post(&[line.to_string()], "+31 00:00").expect("accepted");
    let kept: Value = serde_json::from_str(shop.kept().last().expect("an entry")).expect("JSON");
    assert_eq!(kept["set"], json!({"value": "12.5", "at": "2026-05-04T08:15:00.000Z", "note": null}));
    assert_eq!(kept["at"], "2026-05-04T12:00:00.000Z");
}

#[test]
fn corrections_of_the_set_up() {
    let log = Ledger::shop().product("cream", RULES, min(30));
    let product = log.seq();
    let log = log.of("cream", "cake", "08:00", "bench").moved("cake", "09:00", "fridge");
    total(&log, 90);
    total(&log.clone().set(product, "12:00", json!({"chill_ms": 0})), 60);
    total(&log.clone().set(product, "12:00", json!({"chill_ms": null})), 60);
    assert_eq!(log.clone().void(product, "12:00").refused(), Some((log.seq() + 1, "upsets-another")));
    // A place that things are in cannot become unwritten.
    let fridge = 2;
    let got = log.clone().void(fridge, "12:00").refused();
    assert!(got.is_some_and(|(line, _)| line == log.seq() + 1), "{got:?}");
    assert_eq!(log.set(fridge, "12:00", json!({"name": "Walk-in"})).refused(), None);
}
