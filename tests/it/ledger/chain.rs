//! The chain: each hash covers the canonical JSON of the entry and the hash before it.
//!
//! The literals were made with a shell alone: `printf '%s\n%s' "$PREV" "$CANONICAL" | sha256sum`, the canonical JSON
//! being written by hand: members sorted by name, no spaces, escapes as RFC 8785 has them.

use counterclock::ledger::{Entry, From, chain, parse};
use serde_json::{Value, json};

const FIRST: &str = r#"{"at":"2026-05-04T08:00:00.000Z","by":"ann","by_how":"pin","device":"tablet-1","item":"cake","kind":"reading","late_ms":300000,"note":"crème \"brûlée\"\t\u001f","probe":"p1","recorded_at":"2026-05-04T08:05:00.000Z","seq":1,"unit":"C","value":"4.5"}"#;
const FIRST_HASH: &str = "b4ca75c9dbbc98806a00b0aa76d4943134ea9294e4ee8bce77c1e0a625b03267";
const SECOND: &str = r#"{"at":"2026-05-04T09:00:00.000Z","entry":1,"kind":"correct","reason":"misread","seq":2,"set":{"note":null,"value":"4.0"}}"#;
const SECOND_HASH: &str = "f5ddc388056e73eb7d88fe80a99f07c29febcbbe6c92df0d460fb00356233ff6";

fn entry(json: Value) -> Entry {
    let parsed = parse(&json.to_string(), From::Ledger).expect("an entry");
    let body = parsed.bodies.into_iter().next().expect("a body");
    Entry { at: parsed.at.expect("a time"), note: parsed.note, body, meta: parsed.meta }
}

fn first() -> Entry {
    entry(
        json!({"value": 4.5, "unit": "C", "kind": "reading", "seq": 1, "by": "ann", "by_how": "pin", "device": "tablet-1",
        "item": "cake", "at": "2026-05-04T10:00:00.0004+02:00", "recorded_at": "2026-05-04T08:05:00Z", "probe": "p1",
        "note": "crème \"brûlée\"\t\u{1f}"}),
    )
}

fn second() -> Entry {
    entry(json!({"kind": "correct", "at": "2026-05-04T09:00:00Z", "entry": 1, "reason": "misread", "seq": 2,
        "set": {"value": "4.0", "note": null}}))
}

#[test]
fn a_fixed_entry_has_the_hash_that_sha256sum_gives() {
    assert_eq!(chain::START, "0".repeat(64));
    assert_eq!(chain::hash(chain::START, FIRST), FIRST_HASH);
    assert_eq!(chain::canonical(&first().members()), FIRST);
    let (line, hash) = chain::seal(chain::START, &first());
    assert_eq!(hash, FIRST_HASH);
    assert_eq!(chain::canonical(&second().members()), SECOND);
    let (next, hash) = chain::seal(&hash, &second());
    assert_eq!(hash, SECOND_HASH);
    // What is kept is the canonical line with the chain's two members among the others.
    for (line, prev, hash) in [(line, chain::START, FIRST_HASH), (next, FIRST_HASH, SECOND_HASH)] {
        let kept: Value = serde_json::from_str(&line).expect("JSON");
        assert_eq!((kept["prev"].as_str(), kept["hash"].as_str()), (Some(prev), Some(hash)));
        assert_eq!(line, kept.to_string(), "sorted, and without spaces");
    }
}

/// Maps keep their names sorted: no package of the build may switch that off.
#[test]
fn members_are_sorted() {
    let map: Value = serde_json::from_str(r#"{"b":1,"a":{"d":1,"c":2},"B":3}"#).expect("JSON");
    assert_eq!(map.to_string(), r#"{"B":3,"a":{"c":2,"d":1},"b":1}"#);
    assert_eq!(json!({"zone": 1, "at": 2}).to_string(), r#"{"at":2,"zone":1}"#);
}

#[test]
fn a_chain_is_checked() {
    let (line, hash) = chain::seal(chain::START, &first());
    assert_eq!(chain::check(Some(chain::START), &line).as_deref(), Ok(FIRST_HASH));
    assert_eq!(chain::check(None, &line).as_deref(), Ok(FIRST_HASH));
    assert!(chain::check(Some(&hash), &line).is_err(), "another entry before it");
    assert!(chain::check(None, &line.replace("4.5", "4.4")).is_err(), "another value");
    assert!(chain::check(None, &line.replace("\"seq\":1", "\"seq\":2")).is_err(), "another number");
    assert!(chain::check(None, &line.replace(&hash, SECOND_HASH)).is_err(), "another hash");
    assert!(chain::check(None, FIRST).is_err(), "no chain at all");
    assert!(chain::check(None, "[]").is_err());
    // An entry read back from what is kept gives the same line again.
    let back = entry(serde_json::from_str(&line).expect("JSON"));
    assert_eq!(chain::seal(chain::START, &back), (line, hash));
}

/// Numbers in what is kept are whole, temperatures are texts with one decimal.
#[test]
fn no_number_is_a_fraction() {
    fn whole(v: &Value) -> bool {
        match v {
            Value::Number(n) => n.is_i64() || n.is_u64(),
            Value::Array(a) => a.iter().all(whole),
            Value::Object(o) => o.values().all(whole),
            _ => true,
        }
    }
    let rule =
        entry(json!({"kind": "rule", "at": "2026-05-04T08:00:00Z", "rule": "own", "name": "Own", "returns": "any",
        "clauses": [{"measure": "food_temperature", "limit": {"value": "7", "unit": "C"}, "verdict": "discard"}],
        "source": {"title": "invented", "basis": "from memory"}}));
    for entry in [first(), rule] {
        let members = Value::Object(entry.members());
        assert!(whole(&members), "{members}");
    }
    let kept = Value::Object(
        entry(json!({"kind": "reading", "at": "2026-05-04T08:00:00Z", "item": "cake", "value": -18, "unit": "C"}))
            .members(),
    );
    assert_eq!(kept["value"], "-18.0");
}
