//! Every way an entry is turned down, over HTTP, with the ledger as long as before.

use crate::kit::actor::Actor;
use crate::kit::house::{House, t};
use counterclock::ledger::refusal::CODES;
use serde_json::{Value, json};
use std::collections::BTreeSet;

both!(every_refusal_is_produced);

/// A refusal's code, what is written before, and the text that is turned down.
struct Case {
    code: &'static str,
    before: Vec<Value>,
    sent: String,
}

fn case(code: &'static str, sent: Value) -> Case {
    Case { code, before: Vec::new(), sent: sent.to_string() }
}

fn text(code: &'static str, sent: &str) -> Case {
    Case { code, before: Vec::new(), sent: sent.to_owned() }
}

fn item(id: &str, at: &str, from: &[String]) -> Value {
    let mut entry = json!({"kind": "item", "at": t(at), "item": id, "name": id, "place": "fridge", "product": "cake"});
    if !from.is_empty() {
        entry["from"] = json!(from);
    }
    entry
}

fn moved(id: &str, at: &str, place: &str) -> Value {
    json!({"kind": "move", "at": t(at), "item": id, "place": place})
}

fn rule(id: &str, limit: &str) -> Value {
    json!({"kind": "rule", "at": t("09:00"), "rule": id, "name": id, "returns": "any",
        "clauses": [{"measure": "total_out", "limit": limit, "verdict": "discard"}],
        "source": {"title": "invented for a test", "basis": "from memory"}})
}

/// What is there before: `tub` from 08:00, `gone` from 08:00 to 09:00, a lapse of the walk-in since 10:00.
fn shop() -> Value {
    json!([
        item("tub", "08:00", &[]),
        item("gone", "08:00", &[]),
        item("bun", "08:00", &[]),
        {"kind": "close", "at": t("09:00"), "item": "gone", "as": "sold"},
        {"kind": "lapse", "at": t("10:00"), "place": "walk-in"},
    ])
}

fn cases() -> Vec<Case> {
    let at = t("11:00");
    let cake = |members: Value| {
        let mut entry = json!({"kind": "item", "at": at, "item": "cake-1", "name": "Cake", "place": "fridge"});
        entry.as_object_mut().expect("an object").extend(members.as_object().expect("members").clone());
        entry
    };
    let lapse = |place: &str, at: &str| json!({"kind": "lapse", "at": t(at), "place": place});
    let rack: Vec<Value> = (0..65).map(|n| item(&format!("p{n}"), "09:00", &[])).collect();
    let chain: Vec<Value> = (1..=32)
        .map(|n| item(&format!("g{n}"), "10:00", &if n == 1 { vec![] } else { vec![format!("g{}", n - 1)] }))
        .collect();
    let seen = |n: usize| json!(vec![json!({"kind": "seen", "at": at, "item": "tub", "place": "fridge"}); n]);
    vec![
        text("malformed-json", r#"{"kind":"restore","#),
        text("malformed-json", ""),
        text("malformed-json", r#"{"kind":"restore","place":"fridge"} {}"#),
        case("unknown-kind", json!({"kind": "thaw", "item": "tub"})),
        case("unknown-member", json!({"kind": "restore", "place": "walk-in", "why": "mended"})),
        case("unknown-member", json!({"kind": "restore", "place": "walk-in", "seq": 9})),
        text("doubled-member", r#"{"kind":"restore","place":"walk-in","place":"walk-in"}"#),
        text("doubled-member", r#"{"kind":"restore","kind":"restore","place":"walk-in"}"#),
        case("missing-member", json!({"kind": "restore"})),
        case("missing-member", json!({"place": "walk-in"})),
        case("bad-member", json!({"kind": "restore", "place": 7})),
        case("bad-member", json!({"kind": "restore", "place": "walk-in", "note": "n".repeat(501)})),
        case("bad-member", json!("restore")),
        case("bad-member", json!({"kind": "restore", "place": "walk-in", "note": null})),
        case("bad-member", json!({"kind": "restore", "place": "walk-in", "at": null})),
        case("bad-member", cake(json!({"product": "cake", "count": null}))),
        case("bad-member", json!({"kind": "move", "item": "tub", "items": null, "place": "bench"})),
        case("bad-id", moved("tub 1", "11:00", "bench")),
        case("bad-id", moved(&"x".repeat(41), "11:00", "bench")),
        case("bad-time", json!({"kind": "restore", "place": "walk-in", "at": "2026-05-04T11:00:00"})),
        case("bad-temperature", json!({"kind": "reading", "item": "tub", "value": "4.55", "unit": "C"})),
        case("too-many", json!([])),
        case("too-many", seen(501)),
        case("unknown-item", moved("nobody", "11:00", "bench")),
        case(
            "unknown-item",
            json!({"kind": "reading", "item": "tub", "probed": "nobody", "value": "4.5", "unit": "C"}),
        ),
        case("unknown-item", json!({"kind": "decide", "about": "nobody", "action": "keep", "reason": "so"})),
        Case {
            before: vec![json!({"kind": "decide", "about": "gone", "action": "keep", "reason": "so"})],
            ..case("unknown-entry", json!({"kind": "decide", "about": 9_999, "action": "keep", "reason": "so"}))
        },
        case("unknown-place", moved("tub", "11:00", "nowhere")),
        case("unknown-rule", cake(json!({"rules": ["no-such-rule"]}))),
        case("unknown-product", cake(json!({"product": "no-such-product"}))),
        case("unknown-entry", json!({"kind": "correct", "entry": 9_999, "void": true, "reason": "wrong"})),
        case("id-used", cake(json!({"item": "gone", "product": "cake"}))),
        Case { before: vec![rule("own", "PT3H")], ..case("id-used", rule("own", "PT3H")) },
        case("no-rule", cake(json!({}))),
        case("exempt-unclear", json!({"kind": "product", "product": "toast", "name": "Toast", "rules": []})),
        case("site-fixed", json!({"kind": "site", "name": "Shop", "zone": "Europe/Paris", "units": "C"})),
        case("place-fixed", json!({"kind": "place", "place": "fridge", "name": "Fridge", "control": "frozen"})),
        Case { before: vec![rule("own", "PT3H")], ..case("rule-fixed", rule("own", "PT5H")) },
        case("built-in", rule("two-hour", "PT3H")),
        case("before-beginning", moved("tub", "07:59", "bench")),
        case("after-close", moved("gone", "11:00", "bench")),
        case("parent-not-begun", item("cake-1", "07:00", &["tub".into()])),
        case("parent-closed", item("cake-1", "11:00", &["gone".into()])),
        case("joined-to-itself", json!({"kind": "join", "at": at, "item": "tub", "from": ["tub"]})),
        case("already-there", moved("tub", "11:00", "fridge")),
        case("lapse-open", lapse("walk-in", "11:00")),
        case("no-lapse", json!({"kind": "restore", "at": at, "place": "fridge"})),
        case("before-ledger", json!({"kind": "lapse", "at": "1970-01-01T00:00:00Z", "place": "fridge"})),
        Case {
            before: vec![json!({"kind": "reading", "at": t("10:59"), "place": "fridge", "value": "4.0", "unit": "C"})],
            ..case("air-jump", json!({"kind": "reading", "at": at, "place": "fridge", "value": "64.0", "unit": "C"}))
        },
        case("no-control", lapse("bench", "11:00")),
        case("bad-until", json!({"kind": "lapse", "at": at, "place": "fridge", "until": t("10:00")})),
        case("bad-until", json!({"kind": "lapse", "at": at, "place": "fridge", "until": t("12:01")})),
        case("in-the-future", moved("tub", "12:02:00.001", "bench")),
        case("more-than-left", json!({"kind": "close", "at": at, "item": "tub", "as": "sold", "count": 2})),
        Case {
            before: vec![seen(500), seen(500), seen(500), seen(499)],
            ..case("item-full", json!({"kind": "seen", "at": at, "item": "tub", "place": "fridge"}))
        },
        Case {
            before: vec![json!(rack)],
            ..case(
                "too-many-parents",
                cake(json!({"product": "cake",
                "from": (0..65).map(|n| format!("p{n}")).collect::<Vec<_>>()})),
            )
        },
        Case { before: vec![json!(chain)], ..case("too-many-generations", item("g33", "11:00", &["g32".into()])) },
        case("not-correctable", json!({"kind": "correct", "entry": 1, "set": {"kind": "item"}, "reason": "no"})),
        case("not-correctable", json!({"kind": "correct", "entry": 9, "void": true, "reason": "no"})),
        Case {
            before: vec![moved("bun", "11:30", "bench")],
            ..case("upsets-another", json!({"kind": "close", "at": at, "item": "bun", "as": "discarded"}))
        },
        case("managers-only", json!({"kind": "place", "place": "shed", "name": "Shed", "control": "none"})),
    ]
}

async fn every_refusal_is_produced(house: House) {
    house.set_up().await;
    house.manager().post(&shop()).await.ok();
    let mut produced = BTreeSet::new();
    for (n, case) in cases().into_iter().enumerate() {
        for entry in &case.before {
            // Two cases may share what comes before them.
            let answer = house.manager().post(entry).await;
            assert!(answer.status.is_success() || answer.code() == "id-used", "{n} {}: {}", case.code, answer.text());
        }
        let actor = match case.code {
            "managers-only" => house.staff(),
            "air-jump" => house.role("probe"),
            _ => house.manager(),
        };
        let head = house.head().await;
        let row = CODES.iter().find(|c| c.code == case.code).expect("a code of the table");
        let answer = actor.post_text(&case.sent, &[]).await.refused(row.status, row.code);
        assert_eq!(answer.json()["title"], (row.title)());
        assert_eq!(answer.json()["next"], (row.next)());
        assert_eq!(house.head().await, head, "{}: nothing was written", case.code);
        produced.insert(row.code);
    }
    let known: BTreeSet<&str> = CODES.iter().map(|c| c.code).collect();
    assert_eq!(produced, known, "a refusal without a case here");
    house.agrees().await;
}
