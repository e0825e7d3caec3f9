//! Entries from JSON: what is malformed, doubled, unknown, out of range, and what just fits.

use crate::kit::ledger::{Ledger, has, min, read, t};
use serde_json::{Value, json};

const RULES: &[&str] = &["house-2h-4h"];

fn shop() -> Ledger {
    Ledger::shop().item("cake", "07:00", "fridge", RULES)
}

/// What becomes of a line after the shop.
fn said(line: &str) -> Option<&'static str> {
    let log = shop().line(line);
    log.refused().map(|(at, code)| {
        assert_eq!(at, log.seq());
        code
    })
}

/// A move to the bench with other members, as text.
fn moved(members: &str) -> String {
    format!(r#"{{"kind":"move","at":"2026-05-04T08:00:00Z","item":"cake","place":"bench"{members}}}"#)
}

#[test]
fn not_json() {
    for text in [
        "{",
        "nonsense",
        r#"{"kind":"move",}"#,
        "{'kind':'move'}",
        "\u{feff}{}",
        "{\"kind\":\"move\"} {}",
        "nul",
        "\"\u{0}\"",
    ] {
        assert_eq!(said(text), Some("malformed-json"), "{text}");
    }
    // A number no reader of JSON takes.
    assert_eq!(said(&moved(r#","note":01"#)), Some("malformed-json"));
}

#[test]
fn json_but_no_object() {
    for text in ["[]", "null", "3", "\"move\"", "true"] {
        assert!(said(text).is_some(), "{text}");
    }
    let moved = r#"["move","2026-05-04T08:00:00Z",null,null,null,null,null,null,null,null,null,"cake",null,"bench"]"#;
    assert!(said(moved).is_some());
    assert_eq!(said("{}"), Some("missing-member"));
    assert_eq!(said(r#"{"kind":null}"#), Some("bad-member"));
    assert_eq!(said(r#"{"kind":7}"#), Some("bad-member"));
    assert_eq!(said(r#"{"kind":"Move"}"#), Some("unknown-kind"));
    assert_eq!(said(r#"{"kind":""}"#), Some("unknown-kind"));
}

#[test]
fn an_empty_line_is_passed_over() {
    assert_eq!(said(""), None);
    assert_eq!(said("   \t "), None);
    let log = shop().line("").line("{");
    assert_eq!(log.refused(), Some((log.seq(), "malformed-json")));
}

/// With numbers of their own, too, a line is named by where it stands.
#[test]
fn a_bad_line_is_named_by_where_it_stands() {
    let lines = [
        "".to_owned(),
        r#"{"kind":"place","at":"2026-05-04T00:00:00Z","seq":10,"place":"fridge","name":"F","control":"cold"}"#
            .to_owned(),
        "".to_owned(),
        r#"{"kind":"restore","at":"2026-05-04T00:00:00Z","seq":11,"place":"fridge"}"#.to_owned(),
    ];
    assert_eq!(crate::kit::ledger::refused(&lines), Some((4, "no-lapse")));
}

#[test]
fn every_member_once() {
    for member in
        [r#","place":"bench""#, r#","kind":"move""#, r#","at":"2026-05-04T08:00:00Z""#, r#","note":"a","note":"a""#]
    {
        assert_eq!(said(&moved(member)), Some("doubled-member"), "{member}");
    }
    // However it is spelled.
    assert_eq!(said(&moved(r#","pl\u0061ce":"shelf""#)), Some("doubled-member"));
}

#[test]
fn every_member_once_within_members() {
    let rule = |clause: &str, source: &str| {
        format!(
            r#"{{"kind":"rule","at":"2026-05-04T06:00:00Z","rule":"own","name":"Own","returns":"any","clauses":[{{"measure":"total_out","limit":"PT4H","verdict":"discard"{clause}}}],"source":{{"title":"invented","basis":"from memory"{source}}}}}"#
        )
    };
    assert_eq!(said(&rule("", "")), None);
    assert_eq!(said(&rule(r#","limit":"PT9H""#, "")), Some("doubled-member"));
    assert_eq!(said(&rule("", r#","basis":"published""#)), Some("doubled-member"));
    assert_eq!(said(&rule(r#","colour":"red""#, "")), Some("unknown-member"));
    assert_eq!(said(&rule("", r#","colour":"red""#)), Some("unknown-member"));
    let exempt = |exempt: &str| {
        format!(
            r#"{{"kind":"product","at":"2026-05-04T06:00:00Z","product":"rusk","name":"Rusk","rules":[],"exempt":{exempt}}}"#
        )
    };
    assert_eq!(said(&exempt(r#"{"reason":"dry","evidence":"sheet 7"}"#)), None);
    assert_eq!(said(&exempt(r#"{"reason":"dry","reason":"wet","evidence":"sheet 7"}"#)), Some("doubled-member"));
}

#[test]
fn a_temperature_within_a_rule_has_its_members_once() {
    let rule = |limit: &str| {
        format!(
            r#"{{"kind":"rule","at":"2026-05-04T06:00:00Z","rule":"own","name":"Own","returns":"any","clauses":[{{"measure":"food_temperature","limit":{limit},"verdict":"discard"}}],"source":{{"title":"invented","basis":"from memory"}}}}"#
        )
    };
    assert_eq!(said(&rule(r#"{"value":"70.0","unit":"F"}"#)), None);
    assert!(said(&rule(r#"{"value":"70.0","value":"90.0","unit":"F"}"#)).is_some());
    assert!(said(&rule(r#"{"value":"70.0","unit":"F","colour":"red"}"#)).is_some());
    assert!(said(&rule(r#"{"value":"70.05","unit":"F"}"#)).is_some());
    assert!(said(&rule(r#"{"value":"70.0"}"#)).is_some());
}

#[test]
fn within_a_correction_every_member_once() {
    let correct = |set: &str| {
        format!(r#"{{"kind":"correct","at":"2026-05-04T12:00:00Z","entry":9,"reason":"misread","set":{set}}}"#)
    };
    assert_eq!(said(&correct(r#"{"at":"2026-05-04T06:30:00Z"}"#)), None);
    assert_eq!(said(&correct(r#"{"at":"2026-05-04T06:30:00Z","at":"2026-05-04T06:31:00Z"}"#)), Some("doubled-member"));
}

#[test]
fn within_a_member_of_a_correction_every_member_once() {
    let log = Ledger::shop()
        .add(json!({"kind": "product", "at": "06:00", "product": "rusk", "name": "Rusk", "rules": [],
        "exempt": {"reason": "dry", "evidence": "sheet 7"}}));
    let log = log.clone().line(&format!(
        r#"{{"kind":"correct","at":"2026-05-04T12:00:00Z","entry":{},"reason":"misread","set":{{"exempt":{{"reason":"dry","reason":"wet","evidence":"sheet 7"}}}}}}"#,
        log.seq()
    ));
    assert_eq!(log.refused(), Some((log.seq(), "doubled-member")));
}

/// A member that is an object is one, not a list of its values.
#[test]
fn objects_are_not_lists() {
    let exempt = json!({"kind": "product", "at": t("06:00"), "product": "rusk", "name": "Rusk", "rules": [], "exempt": ["dry", "sheet 7"]});
    assert_eq!(said(&exempt.to_string()), Some("bad-member"));
    let rule = json!({"kind": "rule", "at": t("06:00"), "rule": "own", "name": "Own", "returns": "any",
        "clauses": [{"measure": "total_out", "limit": "PT4H", "verdict": "discard"}],
        "source": ["invented", null, null, "from memory"]});
    assert_eq!(said(&rule.to_string()), Some("bad-member"));
    let rule = json!({"kind": "rule", "at": t("06:00"), "rule": "own", "name": "Own", "returns": "any",
        "clauses": [{"measure": "food_temperature", "limit": ["70.0", "F"], "verdict": "discard"}],
        "source": {"title": "invented", "basis": "from memory"}});
    assert_eq!(said(&rule.to_string()), Some("bad-member"));
}

/// `items` isn't accepted in a ledger, however it is spelled.
#[test]
fn a_ledger_holds_one_entry_an_item() {
    let moved = |name: &str, items: &str| {
        said(&format!(r#"{{"kind":"move","at":"2026-05-04T08:00:00Z","{name}":{items},"place":"bench"}}"#))
    };
    assert_eq!(moved("items", r#"["cake"]"#), Some("bad-member"));
    assert_eq!(moved("items", r#"["cake","cake"]"#), Some("bad-member"));
    assert_eq!(moved(r"it\u0065ms", r#"["cake"]"#), Some("bad-member"));
}

#[test]
fn ids() {
    let item = |id: &str| {
        said(
            &json!({"kind": "item", "at": t("07:00"), "item": id, "name": "Tart", "place": "fridge", "rules": RULES})
                .to_string(),
        )
    };
    let forty = "a".repeat(40);
    for id in ["a", "A.b_c-9", ".", "-", "..", &forty] {
        assert_eq!(item(id), None, "{id}");
    }
    let more = "a".repeat(41);
    for id in ["", &more, "a b", "a/b", "é", "a\u{0}", "a\n", "١"] {
        assert_eq!(item(id), Some("bad-id"), "{id}");
    }
    assert_eq!(said(&moved("").replace("\"cake\"", "7")), Some("bad-member"));
}

#[test]
fn temperatures() {
    let reading = |value: Value, unit: &str| {
        let entry = json!({"kind": "reading", "at": t("08:00"), "item": "cake", "value": value, "unit": unit});
        said(&entry.to_string())
    };
    for value in [
        json!("4.5"),
        json!(4.5),
        json!(5),
        json!("5"),
        json!("-0.5"),
        json!(-18),
        json!("300.0"),
        json!("-90.0"),
        json!("0.0"),
    ] {
        assert_eq!(reading(value.clone(), "C"), None, "{value}");
    }
    for value in [
        json!("4.55"),
        json!(4.55),
        json!(""),
        json!("warm"),
        json!("+4.5"),
        json!("4,5"),
        json!(" 4.5"),
        json!("1e1"),
        json!("NaN"),
        json!("300.1"),
        json!("-90.1"),
        json!("99999.9"),
        json!("4."),
        json!(".5"),
        json!("--4.5"),
        json!(true),
        json!(["4.5"]),
        json!({"value": "4.5"}),
    ] {
        assert_eq!(reading(value.clone(), "C"), Some("bad-temperature"), "{value}");
    }
    assert_eq!(reading(json!("572.0"), "F"), None);
    assert_eq!(reading(json!("572.1"), "F"), Some("bad-temperature"));
    assert_eq!(reading(json!("4.5"), "K"), Some("bad-member"));
    assert_eq!(
        said(&format!(r#"{{"kind":"reading","at":"{}","item":"cake","value":1e1,"unit":"C"}}"#, t("08:00"))),
        Some("bad-temperature")
    );
    // A number keeps the digits it was written with.
    assert_eq!(
        said(&format!(r#"{{"kind":"reading","at":"{}","item":"cake","value":4.50,"unit":"C"}}"#, t("08:00"))),
        Some("bad-temperature")
    );
}

#[test]
fn a_reading_is_of_one_thing() {
    let reading = |of: Value| {
        let mut entry = json!({"kind": "reading", "at": t("08:00"), "value": "4.5", "unit": "C"});
        entry.as_object_mut().expect("members").extend(of.as_object().expect("members").clone());
        said(&entry.to_string())
    };
    assert_eq!(reading(json!({"item": "cake"})), None);
    assert_eq!(reading(json!({"place": "fridge"})), None);
    assert_eq!(reading(json!({"item": "cake", "place": "fridge"})), Some("bad-member"));
    assert_eq!(reading(json!({"place": "fridge", "probed": "cake"})), Some("bad-member"));
    assert_eq!(reading(json!({})), Some("missing-member"));
}

#[test]
fn times() {
    let at = |at: &str| said(&moved("").replace("2026-05-04T08:00:00Z", at));
    for time in [
        "2026-05-04T08:00:00Z",
        "2026-05-04T10:00:00+02:00",
        "2026-05-04T08:00:00.123456789Z",
        "2028-02-29T08:00:00Z",
        "8999-12-31T23:59:59.999Z",
    ] {
        assert_eq!(at(time), None, "{time}");
    }
    for time in [
        "",
        "now",
        "2026-05-04",
        "2026-05-04T08:00:00",
        "2026-05-04T08:00Z",
        "08:00",
        "2026-13-04T08:00:00Z",
        "2026-02-30T08:00:00Z",
        "2026-05-04T24:00:00Z",
        "2026-05-04T08:60:00Z",
        "1969-12-31T23:59:59Z",
        "10000-01-01T00:00:00Z",
        "9000-01-01T00:00:00Z",
        "-2026-05-04T08:00:00Z",
        "2026-05-04T08:00:00+24:00",
        "1777852800",
    ] {
        assert_eq!(at(time), Some("bad-time"), "{time}");
    }
    assert_eq!(said(&moved("").replace("\"2026-05-04T08:00:00Z\"", "1777852800")), Some("bad-member"));
    assert_eq!(at("0000-01-01T00:00:00Z"), Some("bad-time"));
}

/// The last times an entry can say are still written as times where a limit goes beyond them.
#[test]
fn answers_at_the_end_of_time_are_times() {
    let log = Ledger::shop()
        .rule(
            "own",
            "any",
            json!([{"measure": "total_out", "limit": "PT10000H", "verdict": "use"},
            {"measure": "day", "limit": 10_000, "verdict": "discard"}]),
        )
        .item("cake", "8999-12-31T23:00:00Z", "bench", &["own"]);
    let standing = log.at("cake", "8999-12-31T23:00:00Z");
    for name in ["discard_by", "return_by"] {
        let said = standing[name].as_str().expect("a time");
        assert!(said.ends_with('Z') && said.contains('T'), "{name}: {said}");
    }
}

#[test]
fn texts_and_counts() {
    let note = |n: usize| said(&moved(&format!(r#","note":"{}""#, "é".repeat(n))));
    assert_eq!(note(500), None);
    assert_eq!(note(501), Some("bad-member"));
    let count = |count: Value| {
        said(&json!({"kind": "item", "at": t("07:00"), "item": "tart", "name": "Tart", "place": "fridge", "rules": RULES, "count": count}).to_string())
    };
    assert_eq!(count(json!(1)), None);
    assert_eq!(count(json!(100_000)), None);
    for n in [json!(0), json!(-1), json!(1.5), json!(100_001), json!("3"), json!(1e30)] {
        assert_eq!(count(n.clone()), Some("bad-member"), "{n}");
    }
}

#[test]
fn deep_json() {
    for depth in [50, 127, 200, 100_000] {
        let deep = format!("{}{}", "[".repeat(depth), "]".repeat(depth));
        for text in [
            moved(&format!(r#","note":{deep}"#)),
            moved(&format!(r#","x":{deep}"#)),
            deep.clone(),
            format!(r#"{{"kind":"correct","at":"{}","entry":9,"reason":"x","set":{{"x":{deep}}}}}"#, t("12:00")),
            format!(r#"{{"kind":"reading","at":"{}","item":"cake","value":{deep},"unit":"C"}}"#, t("08:00")),
            moved(&format!(r#","prev":{deep}"#)),
        ] {
            let got = said(&text);
            assert!(got.is_some() || text.contains("prev"), "{depth}");
        }
    }
    let deep = format!("{}{}", r#"{"a":"#.repeat(100_000), "}".repeat(100_000));
    assert!(said(&deep).is_some());
}

#[test]
fn a_rules_text() {
    let rule = |clause: Value| {
        let entry = json!({"kind": "rule", "at": t("06:00"), "rule": "own", "name": "Own", "returns": "any", "clauses": [clause],
            "source": {"title": "invented", "basis": "from memory"}});
        said(&entry.to_string())
    };
    let c = || json!({"value": "5.0", "unit": "C"});
    for clause in [
        json!({"measure": "total_out", "limit": "PT2H30M", "verdict": "discard"}),
        json!({"measure": "total_out", "limit": "PT150M", "verdict": "use", "uses": ["display", "away"]}),
        json!({"measure": "since_first_out", "limit": "PT9000S", "verdict": "return", "at_limit": "allowed"}),
        json!({"measure": "spells", "limit": 3, "verdict": "discard", "uses": ["work"]}),
        json!({"measure": "longest_spell", "limit": "PT1H", "verdict": "deviation"}),
        json!({"measure": "out_above", "limit": "PT1H", "above": c(), "verdict": "discard", "unread": "above", "uses": ["work"]}),
        json!({"measure": "food_temperature", "limit": c(), "verdict": "discard"}),
        json!({"measure": "start_temperature", "limit": c(), "verdict": "discard"}),
        json!({"measure": "day", "limit": 7, "verdict": "discard"}),
        json!({"measure": "cooled", "limit": "PT1H", "to": c(), "verdict": "discard"}),
        json!({"measure": "cooled", "limit": "PT1H", "to": c(), "from": {"value": "135.0", "unit": "F"}, "verdict": "discard"}),
    ] {
        assert_eq!(rule(clause.clone()), None, "{clause}");
    }
    for clause in [
        json!({"measure": "total_out", "limit": 2, "verdict": "discard"}),
        json!({"measure": "total_out", "limit": "2h", "verdict": "discard"}),
        json!({"measure": "total_out", "limit": "PT", "verdict": "discard"}),
        json!({"measure": "total_out", "limit": "P1D", "verdict": "discard"}),
        json!({"measure": "total_out", "limit": "PT1.5H", "verdict": "discard"}),
        json!({"measure": "total_out", "limit": "PT30M2H", "verdict": "discard"}),
        json!({"measure": "total_out", "limit": "PT0S", "verdict": "discard"}),
        json!({"measure": "total_out", "limit": "-PT1H", "verdict": "discard"}),
        json!({"measure": "total_out", "limit": "PT4H", "verdict": "safe"}),
        json!({"measure": "total_out", "limit": "PT4H", "verdict": "within"}),
        json!({"measure": "total_out", "limit": "PT4H", "verdict": "discard", "at_limit": "over"}),
        json!({"measure": "total_out", "limit": "PT4H", "verdict": "discard", "uses": []}),
        json!({"measure": "total_out", "limit": "PT4H", "verdict": "discard", "uses": ["loft"]}),
        json!({"measure": "total_out", "limit": "PT4H", "verdict": "discard", "above": c()}),
        json!({"measure": "day", "limit": 7, "verdict": "discard", "uses": ["work"]}),
        json!({"measure": "food_temperature", "limit": c(), "verdict": "discard", "uses": ["work"]}),
        json!({"measure": "start_temperature", "limit": c(), "verdict": "discard", "uses": ["work"]}),
        json!({"measure": "cooled", "limit": "PT1H", "to": c(), "verdict": "discard", "uses": ["work"]}),
        json!({"measure": "spells", "limit": 0, "verdict": "discard"}),
        json!({"measure": "spells", "limit": "PT1H", "verdict": "discard"}),
        json!({"measure": "day", "limit": 1.5, "verdict": "discard"}),
        json!({"measure": "out_above", "limit": "PT1H", "verdict": "discard"}),
        json!({"measure": "food_temperature", "limit": "5.0", "verdict": "discard"}),
        json!({"measure": "cooled", "limit": "PT1H", "verdict": "discard"}),
        json!({"measure": "cooled", "limit": "PT1H", "to": c(), "from": c(), "verdict": "discard"}),
        json!({"measure": "warmth", "limit": "PT1H", "verdict": "discard"}),
    ] {
        assert_eq!(rule(clause.clone()), Some("bad-member"), "{clause}");
    }
    let empty = json!({"kind": "rule", "at": t("06:00"), "rule": "own", "name": "Own", "returns": "any", "clauses": [],
        "source": {"title": "invented", "basis": "from memory"}});
    assert_eq!(said(&empty.to_string()), Some("bad-member"));
}

/// `seq` stands on all lines or on none.
#[test]
fn numbers_on_all_lines_or_none() {
    let place = |seq: &str| {
        format!(
            r#"{{"kind":"place","at":"2026-05-04T00:00:00Z"{seq},"place":"p{}","name":"P","control":"cold"}}"#,
            seq.len()
        )
    };
    let lines = |list: &[&str]| crate::kit::ledger::refused(&list.iter().map(|s| place(s)).collect::<Vec<_>>());
    assert_eq!(lines(&["", r#","note":"x""#]), None);
    assert_eq!(lines(&[r#","seq":4"#, r#","seq":30"#]), None);
    assert_eq!(lines(&[r#","seq":4"#, ""]), Some((2, "bad-member")));
    assert_eq!(lines(&["", r#","seq":4"#]), Some((2, "bad-member")));
    assert_eq!(lines(&[r#","seq":0"#]), Some((1, "bad-member")));
    assert_eq!(lines(&[r#","seq":-1"#]), Some((1, "bad-member")));
    assert_eq!(lines(&[r#","seq":30"#, r#","seq":30,"note":"x""#]).map(|(line, _)| line), Some(2));
}

/// Lines come in any order; their numbers say which.
#[test]
fn numbers_decide_not_lines() {
    let mut lines = Ledger::shop().item("cake", "08:00", "bench", RULES).moved("cake", "08:30", "fridge").lines;
    for (n, line) in lines.iter_mut().enumerate() {
        *line = line.replacen('{', &format!(r#"{{"seq":{},"#, n + 1), 1);
    }
    lines.reverse();
    let log = Ledger::of_lines(lines);
    has(&log.at("cake", "10:00"), json!({"total_out_ms": min(30)}));
}

/// The ledger's own members are accepted, and change no standing.
#[test]
fn the_ledgers_own_members() {
    let log = Ledger::shop().item("cake", "08:00", "bench", RULES);
    let plain = log.at("cake", "10:00");
    let log = log
        .with(json!({"by": "ann", "by_how": "pin", "device": "tablet-1", "recorded_at": "08:00:05", "late_ms": 5000,
        "prev": "00", "hash": "11"}));
    assert_eq!(log.at("cake", "10:00"), plain);
    assert_eq!(said(&moved(r#","by_how":"guess""#)), Some("bad-member"));
    // To a caller they are not open.
    for member in [
        r#","seq":9"#,
        r#","by":"ann""#,
        r#","by_how":"pin""#,
        r#","device":"d""#,
        r#","recorded_at":"2026-05-04T08:00:00Z""#,
        r#","late_ms":1"#,
        r#","prev":"00""#,
        r#","hash":"11""#,
    ] {
        let got =
            counterclock::ledger::parse(&moved(member), counterclock::ledger::From::Caller).err().map(|r| r.code.code);
        assert_eq!(got, Some("unknown-member"), "{member}");
    }
}

#[test]
fn read_and_written_again_it_reads_the_same() {
    let log = crate::kit::ledger::Ledger::shop()
        .product("cream", RULES, min(30))
        .of("cream", "tub", "07:00", "fridge")
        .with(json!({"count": 3, "lot": "L-7", "note": "with \"quotes\", a \\ and é"}))
        .made("cake", "08:00", "bench", &["us-time-4h"], &["tub"])
        .food("cake", "08:10", "4.5 C")
        .with(json!({"probe": "p1"}))
        .air("bench", "08:10", "70.5 F")
        .lapsed("fridge", "08:20", "08:30")
        .lapse("case", "08:20")
        .restore("case", "08:40")
        .mark("cake", "08:45", "12:00", 1)
        .add(json!({"kind": "seen", "at": "08:50", "item": "cake", "place": "fridge"}))
        .add(json!({"kind": "decide", "at": "08:55", "about": "cake", "action": "keep", "reason": "looked at"}))
        .add(json!({"kind": "approve", "at": "08:56", "what": "us-prep-then-4h", "reference": "letter 9"}))
        .add(json!({"kind": "review", "at": "08:57", "from": "2026-05-01", "to": "2026-05-03"}))
        .close("tub", "09:00", "used")
        .with(json!({"count": 2, "reason": "into cakes"}))
        .set(13, "09:10", json!({"at": "08:11", "note": null}))
        .void(16, "09:11");
    let (_, entries) = read(&log.lines).expect("accepted");
    let again: Vec<String> = entries.iter().map(|e| Value::Object(e.members()).to_string()).collect();
    let again = Ledger::of_lines(again);
    assert_eq!(again.standings("10:00"), log.standings("10:00"));
    let (_, twice) = read(&again.lines).expect("accepted");
    assert_eq!(entries, twice);
}
