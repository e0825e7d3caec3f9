//! `at_limit`, to the millisecond: `breach` is over at the limit, `allowed` a millisecond after it.
//!
//! Guards against S-04 of SAFETY.md.

use crate::kit::ledger::{Ledger, has};
use serde_json::{Value, json};

/// The verdicts a millisecond before an instant, at it and a millisecond after.
fn around(log: &Ledger, at: &str) -> [String; 3] {
    let t = crate::kit::ledger::instant(at);
    [-1, 0, 1].map(|ms| {
        let s = log.at("cake", &counterclock::clock::Instant(t.0 + ms).to_string());
        s["verdict"].as_str().expect("a verdict").to_owned()
    })
}

/// A cake under one clause of the shop's own, out on the shelf from 08:00.
fn under(clause: Value) -> Ledger {
    Ledger::shop().rule("own", "any", json!([clause])).item("cake", "08:00", "shelf", &["own"])
}

const BREACH: [&str; 3] = ["within", "discard", "discard"];
const ALLOWED: [&str; 3] = ["within", "within", "discard"];

#[test]
fn built_in_limits() {
    for (rule, limit, want) in [
        ("house-2h-4h", "12:00", ["return", "discard", "discard"]),
        ("house-2h-4h", "10:00", ["within", "return", "return"]),
        ("sum-2h-4h", "10:00", ["within", "use", "use"]),
        ("sum-2h-4h", "12:00", ["use", "discard", "discard"]),
        ("us-time-4h", "12:00", ALLOWED),
        ("us-prep-then-4h", "12:00", ALLOWED),
        ("us-time-6h", "14:00", ALLOWED),
        ("uk-display-4h", "12:00", BREACH),
        ("two-hour", "10:00", BREACH),
        ("banded-70f", "10:00", ALLOWED),
        ("keep-7d", "+7 00:00", BREACH),
    ] {
        let log = Ledger::shop().item("cake", "08:00", "shelf", &[rule]);
        assert_eq!(around(&log, limit), want, "{rule} at {limit}");
    }
}

#[test]
fn every_measure_of_time_has_both_edges() {
    for measure in [
        json!({"measure": "total_out"}),
        json!({"measure": "since_first_out"}),
        json!({"measure": "longest_spell"}),
        json!({"measure": "out_above", "above": {"value": "20.0", "unit": "C"}}),
        json!({"measure": "cooled", "to": {"value": "5.0", "unit": "C"}}),
    ] {
        for (at_limit, want) in [(json!("breach"), BREACH), (json!("allowed"), ALLOWED), (Value::Null, BREACH)] {
            let mut clause = measure.clone();
            clause["limit"] = json!("PT1H30M");
            clause["verdict"] = json!("discard");
            if !at_limit.is_null() {
                clause["at_limit"] = at_limit.clone();
            }
            let log = under(clause);
            assert_eq!(around(&log, "09:30"), want, "{measure} {at_limit}");
            // The reach is the limit itself, whichever it is.
            has(&log.at("cake", "09:00"), json!({"discard_by": "09:30"}));
            has(&log.at("cake", "09:31"), json!({"discard_by": "09:30", "left_ms": 0}));
        }
    }
}

#[test]
fn temperatures_have_both_edges() {
    for (at_limit, read, want) in [
        ("breach", "19.9 C", "within"),
        ("breach", "20.0 C", "discard"),
        ("allowed", "20.0 C", "within"),
        ("allowed", "20.1 C", "discard"),
    ] {
        for measure in ["food_temperature", "start_temperature"] {
            let clause = json!({"measure": measure, "limit": {"value": "20.0", "unit": "C"}, "at_limit": at_limit,
                "verdict": "discard"});
            let log = under(clause).food("cake", "08:00", read);
            has(&log.at("cake", "09:00"), json!({"verdict": want}));
        }
    }
}

#[test]
fn the_cooled_food_must_be_at_the_temperature_or_below() {
    for (read, verdict) in [("5.1 C", "discard"), ("5.0 C", "within"), ("41.0 F", "within"), ("41.1 F", "discard")] {
        let clause = json!({"measure": "cooled", "to": {"value": "5.0", "unit": "C"}, "limit": "PT2H",
            "at_limit": "allowed", "verdict": "discard"});
        let log = under(clause).food("cake", "10:00", read);
        has(&log.at("cake", "10:00:00.001"), json!({"verdict": verdict}));
    }
}

/// Counts are breached above their limit, whatever `at_limit` says.
#[test]
fn counts_are_over_above_their_limit() {
    for at_limit in ["breach", "allowed"] {
        let log = under(json!({"measure": "spells", "limit": 2, "at_limit": at_limit, "verdict": "discard"}))
            .moved("cake", "09:00", "fridge")
            .moved("cake", "10:00", "shelf")
            .moved("cake", "11:00", "fridge")
            .moved("cake", "12:00", "shelf");
        assert_eq!(around(&log, "10:00"), ["within", "within", "within"]);
        assert_eq!(around(&log, "12:00"), BREACH);
        let log = under(json!({"measure": "day", "limit": 2, "at_limit": at_limit, "verdict": "discard"}));
        assert_eq!(around(&log, "+1 00:00"), ["within", "within", "within"]);
        assert_eq!(around(&log, "+2 00:00"), BREACH);
    }
}
