//! The built-in rule book against figures written down by hand from its sources.

use counterclock::ledger::Id;
use counterclock::rules::book;
use serde_json::{Value, json};

struct Expected {
    rule: &'static str,
    returns: &'static str,
    clauses: Value,
    /// Where the figures come from, and how far that was read.
    from: &'static str,
    basis: &'static str,
    /// Words that the rule's own `source` must have.
    named: &'static [&'static str],
}

fn f41() -> Value {
    json!({"value": "41.0", "unit": "F"})
}

fn expected() -> Vec<Expected> {
    vec![
        Expected {
            rule: "house-2h-4h",
            returns: "any",
            clauses: json!([
                {"measure": "total_out", "limit": "PT2H", "at_limit": "breach", "verdict": "return"},
                {"measure": "total_out", "limit": "PT4H", "at_limit": "breach", "verdict": "discard"}]),
            from: "common practice, no source: refrigerate within two hours, four hours at most over the whole life",
            basis: "common practice",
            named: &[],
        },
        Expected {
            rule: "sum-2h-4h",
            returns: "until-use",
            clauses: json!([
                {"measure": "total_out", "limit": "PT2H", "at_limit": "breach", "verdict": "use"},
                {"measure": "total_out", "limit": "PT4H", "at_limit": "breach", "verdict": "discard"}]),
            from: "FSANZ, 2-hour/4-hour rule for Standard 3.2.2 clause 25, page before December 2023: \"less than 2\", \
                   \"4 hours or more\" (read); NSW Food Authority: \"4 hours or longer\" (read). A later page says \
                   \"more than 4\": the stricter edge is taken.",
            basis: "published",
            named: &["2-hour/4-hour", "3.2.2", "2023"],
        },
        Expected {
            rule: "us-time-4h",
            returns: "never",
            clauses: json!([
                {"measure": "since_first_out", "limit": "PT4H", "at_limit": "allowed", "verdict": "discard"},
                {"measure": "start_temperature", "limit": f41(), "at_limit": "allowed", "verdict": "deviation"}]),
            from: "FDA Food Code 2022 3-501.19(B), read in Wisconsin ATCP 75 and Delaware",
            basis: "published",
            named: &["FDA Food Code", "2022", "3-501.19(B)"],
        },
        Expected {
            rule: "us-prep-then-4h",
            returns: "never",
            clauses: json!([
                {"measure": "since_first_out", "limit": "PT4H", "at_limit": "allowed", "verdict": "discard",
                 "uses": ["display", "transport", "away"]},
                {"measure": "total_out", "limit": "PT4H", "at_limit": "allowed", "verdict": "discard"},
                {"measure": "start_temperature", "limit": f41(), "at_limit": "allowed", "verdict": "deviation"}]),
            from: "the project's reading of FDA Food Code 2022 3-501.16(A), 3-501.14(B) and 3-501.19(B)",
            basis: "project's reading",
            named: &["3-501.16(A)", "3-501.14(B)", "3-501.19(B)"],
        },
        Expected {
            rule: "us-time-6h",
            returns: "never",
            clauses: json!([
                {"measure": "since_first_out", "limit": "PT6H", "at_limit": "allowed", "verdict": "discard"},
                {"measure": "food_temperature", "limit": {"value": "70.0", "unit": "F"}, "at_limit": "allowed",
                 "verdict": "discard"},
                {"measure": "start_temperature", "limit": f41(), "at_limit": "allowed", "verdict": "deviation"}]),
            from: "FDA Food Code 2022 3-501.19(C), read in Wisconsin, Delaware, Minnesota 4626.0408",
            basis: "published",
            named: &["FDA Food Code", "2022", "3-501.19(C)"],
        },
        Expected {
            rule: "us-cooling",
            returns: "any",
            clauses: json!([
                {"measure": "cooled", "from": {"value": "135.0", "unit": "F"}, "to": {"value": "70.0", "unit": "F"},
                 "limit": "PT2H", "at_limit": "allowed", "verdict": "discard"},
                {"measure": "cooled", "from": {"value": "135.0", "unit": "F"}, "to": f41(),
                 "limit": "PT6H", "at_limit": "allowed", "verdict": "discard"},
                {"measure": "cooled", "to": f41(), "limit": "PT4H", "at_limit": "allowed", "verdict": "deviation"}]),
            from: "FDA Food Code 2022 3-501.14(A) and (B), read in Delaware and Wisconsin",
            basis: "published",
            named: &["FDA Food Code", "2022", "3-501.14(A)", "(B)"],
        },
        Expected {
            rule: "uk-display-4h",
            returns: "until-use",
            clauses: json!([
                {"measure": "longest_spell", "limit": "PT4H", "at_limit": "breach", "verdict": "discard",
                 "uses": ["display"]},
                {"measure": "spells", "limit": 1, "at_limit": "breach", "verdict": "discard", "uses": ["display"]}]),
            from: "Food Safety and Hygiene (England) Regulations 2013 Schedule 4 paragraph 5 (from memory); the twin \
                   text NI SR 2006/3 Schedule 4 paragraph 5: \"less than four hours\", not so displayed before (read)",
            basis: "published",
            named: &["Food Safety and Hygiene (England)", "2013", "Schedule 4", "NI SR 2006/3"],
        },
        Expected {
            rule: "two-hour",
            returns: "any",
            clauses: json!([
                {"measure": "total_out", "limit": "PT2H", "at_limit": "breach", "verdict": "discard"},
                {"measure": "out_above", "above": {"value": "90.0", "unit": "F"}, "limit": "PT1H",
                 "at_limit": "breach", "unread": "not-above", "verdict": "discard"}]),
            from: "USDA and FDA consumer advice, read in a USDA official's words",
            basis: "published",
            named: &["consumer"],
        },
        Expected {
            rule: "banded-70f",
            returns: "any",
            clauses: json!([
                {"measure": "total_out", "limit": "PT4H", "at_limit": "allowed", "verdict": "discard"},
                {"measure": "out_above", "above": {"value": "70.0", "unit": "F"}, "limit": "PT2H",
                 "at_limit": "allowed", "verdict": "discard"}]),
            from: "FDA Fish and Fishery Products Hazards and Controls Guidance, 2020, Appendix 4, ready-to-eat row (read)",
            basis: "published",
            named: &["Fish and Fishery Products", "2020", "Appendix 4"],
        },
        Expected {
            rule: "keep-7d",
            returns: "any",
            clauses: json!([{"measure": "day", "limit": 7, "verdict": "discard"}]),
            from: "FDA Food Code 2022 3-501.17, read in county and state documents: 7 days at 41 °F, the day of \
                   preparation is day 1",
            basis: "published",
            named: &["FDA Food Code", "2022", "3-501.17"],
        },
    ]
}

/// Members that say what they would say if they were left out.
fn without_defaults(clauses: &Value) -> Vec<Value> {
    let plain = |c: &Value| {
        let mut c = c.clone();
        let members = c.as_object_mut().expect("a clause is an object");
        members.retain(|name, v| {
            !matches!((name.as_str(), v.as_str()), ("at_limit", Some("breach")) | ("unread", Some("above")))
        });
        c
    };
    clauses.as_array().expect("clauses").iter().map(plain).collect()
}

#[test]
fn every_rule_says_what_its_source_says() {
    for want in expected() {
        let id = Id::new(want.rule).expect("an id");
        let rule = book::built_in(&id).unwrap_or_else(|| panic!("no rule `{id}`"));
        let got = serde_json::to_value(&*rule).expect("a rule is JSON");
        assert_eq!(without_defaults(&got["clauses"]), without_defaults(&want.clauses), "{id}: {}", want.from);
        assert_eq!(got["returns"], want.returns, "{id}: {}", want.from);
        assert_eq!(got["source"]["basis"], want.basis, "{id}");
        let source = got["source"].to_string();
        for name in want.named {
            assert!(source.contains(name), "{id}: `{name}` is missing in {source}");
        }
    }
}

#[test]
fn there_are_no_other_rules() {
    let got: Vec<&str> = book::all().iter().map(|r| r.rule.as_str()).collect();
    let want: Vec<&str> = expected().iter().map(|e| e.rule).collect();
    assert_eq!(got, want);
}

#[test]
fn every_clause_is_written_out() {
    for rule in book::all() {
        for clause in &rule.clauses {
            assert!(clause.text.at_limit.is_some(), "{}: `at_limit` of {:?}", rule.rule, clause.text);
            if &*clause.text.measure == "out_above" {
                assert!(clause.text.unread.is_some(), "{}: `unread` of {:?}", rule.rule, clause.text);
            }
        }
    }
}

#[test]
fn the_book_defers_to_the_local_health_authority() {
    assert!(book::defers().contains("local health authority"));
}
