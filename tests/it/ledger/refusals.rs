//! Every refusal produced, and the nearest thing to it that is accepted.

use crate::kit::ledger::{Ledger, Shop, t};
use counterclock::ledger::refusal;
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// A refusal: its code, the ledger before, the line that is refused and one close to it that isn't.
struct Row {
    code: &'static str,
    before: Ledger,
    bad: String,
    good: Option<String>,
}

fn row(code: &'static str, before: Ledger, bad: Value, good: Value) -> Row {
    let said = |v: Value| Ledger::empty().add(v).lines.remove(0);
    Row { code, before, bad: said(bad), good: Some(said(good)) }
}

const RULES: &[&str] = &["house-2h-4h"];

/// A cake in the fridge since 07:00, on the bench 08:00–09:00, and a tub in the fridge since 07:00.
fn shop() -> Ledger {
    Ledger::shop()
        .item("cake", "07:00", "fridge", RULES)
        .item("tub", "07:00", "fridge", RULES)
        .moved("cake", "08:00", "bench")
        .moved("cake", "09:00", "fridge")
}

fn item(id: &str) -> Value {
    json!({"kind": "item", "at": "10:00", "item": id, "name": "Tart", "place": "fridge", "rules": RULES})
}

fn with(mut entry: Value, members: Value) -> Value {
    for (name, value) in members.as_object().expect("members") {
        entry[name] = value.clone();
    }
    entry
}

fn moved(item: &str, at: &str, place: &str) -> Value {
    json!({"kind": "move", "at": at, "item": item, "place": place})
}

fn join(item: &str, at: &str, from: Value) -> Value {
    json!({"kind": "join", "at": at, "item": item, "from": from})
}

fn read(value: Value) -> Value {
    json!({"kind": "reading", "at": "10:00", "item": "cake", "value": value, "unit": "C"})
}

fn close(item: &str, at: &str) -> Value {
    json!({"kind": "close", "at": at, "item": item, "as": "sold"})
}

fn air(place: &str) -> Value {
    json!({"kind": "reading", "at": "10:00", "place": place, "value": "4.0", "unit": "C"})
}

fn lapse(place: &str, at: &str) -> Value {
    json!({"kind": "lapse", "at": at, "place": place})
}

fn correct(seq: usize, change: Value) -> Value {
    with(json!({"kind": "correct", "at": "12:00", "entry": seq, "reason": "misread"}), change)
}

fn rule(id: &str, clauses: Value) -> Value {
    json!({"kind": "rule", "at": "06:00", "rule": id, "name": id, "returns": "any", "clauses": clauses,
        "source": {"title": "invented for a test", "basis": "from memory"}})
}

fn four_hours() -> Value {
    json!([{"measure": "total_out", "limit": "PT4H", "verdict": "discard"}])
}

fn product(id: &str, rules: Value) -> Value {
    json!({"kind": "product", "at": "06:00", "product": id, "name": id, "rules": rules})
}

fn chain(generations: usize) -> Ledger {
    let log = Ledger::shop().item("g1", "07:00", "fridge", RULES);
    (2..=generations)
        .fold(log, |log, n| log.made(&format!("g{n}"), &t_in(n), "fridge", RULES, &[&format!("g{}", n - 1)]))
}

fn t_in(minutes: usize) -> String {
    format!("{:02}:{:02}", 7 + minutes / 60, minutes % 60)
}

fn parents(n: usize) -> (Ledger, Vec<String>) {
    let names: Vec<String> = (1..=n).map(|n| format!("p{n}")).collect();
    (names.iter().fold(shop(), |log, name| log.item(name, "07:00", "fridge", RULES)), names)
}

/// A cake with that many entries, its beginning among them.
fn full(entries: usize) -> Ledger {
    let log = Ledger::shop().item("cake", "07:00", "fridge", RULES);
    (1..entries).fold(log, |log, n| {
        let at = format!("08:{:02}:{:02}", n / 60, n % 60);
        log.moved("cake", &at, if n % 2 == 1 { "bench" } else { "fridge" })
    })
}

fn rows() -> Vec<Row> {
    let cake = shop().seq() - 3;
    let back = shop().seq();
    let own = || Ledger::shop().add(rule("own", four_hours()));
    let own_seq = own().seq();
    let (many, names) = parents(65);
    let raw = |code, bad: &str, good: &str| Row { code, before: shop(), bad: bad.into(), good: Some(good.into()) };
    let good_move = json!({"kind": "move", "at": t("10:00"), "item": "cake", "place": "bench"}).to_string();
    vec![
        raw("malformed-json", r#"{"kind": "move", "at": "#, &good_move),
        row(
            "unknown-kind",
            shop(),
            json!({"kind": "cook", "at": "10:00", "item": "cake"}),
            moved("cake", "10:00", "bench"),
        ),
        row(
            "unknown-member",
            shop(),
            with(moved("cake", "10:00", "bench"), json!({"reason": "hot"})),
            with(moved("cake", "10:00", "bench"), json!({"note": "hot"})),
        ),
        raw("doubled-member", &good_move.replacen('{', r#"{"place": "shelf", "#, 1), &good_move),
        row(
            "missing-member",
            shop(),
            json!({"kind": "move", "at": "10:00", "item": "cake"}),
            moved("cake", "10:00", "bench"),
        ),
        row("bad-member", shop(), with(item("tart"), json!({"count": 0})), with(item("tart"), json!({"count": 1}))),
        row("bad-id", shop(), item("a/b"), item("a.b")),
        row(
            "bad-time",
            shop(),
            moved("cake", "2026-05-04T10:00:00", "bench"),
            moved("cake", "2026-05-04T10:00:00Z", "bench"),
        ),
        row("bad-temperature", shop(), read(json!("4.55")), read(json!("4.5"))),
        row("unknown-item", shop(), moved("pie", "10:00", "bench"), moved("cake", "10:00", "bench")),
        row("unknown-place", shop(), moved("cake", "10:00", "attic"), moved("cake", "10:00", "van")),
        row(
            "unknown-rule",
            shop(),
            with(item("tart"), json!({"rules": ["own"]})),
            with(item("tart"), json!({"rules": ["keep-7d"]})),
        ),
        row(
            "unknown-product",
            shop().product("flan", RULES, 0),
            with(item("tart"), json!({"product": "tart"})),
            with(item("tart"), json!({"product": "flan"})),
        ),
        row("unknown-entry", shop(), correct(99, json!({"set": {}})), correct(back, json!({"set": {}}))),
        row("id-used", shop(), item("cake"), item("cake-2")),
        row("no-rule", shop(), with(item("tart"), json!({"rules": []})), item("tart")),
        row(
            "exempt-unclear",
            shop(),
            product("rusk", json!([])),
            with(product("rusk", json!([])), json!({"exempt": {"reason": "dry", "evidence": "sheet 7"}})),
        ),
        row(
            "site-fixed",
            shop(),
            json!({"kind": "site", "at": "10:00", "name": "Anvil & Rye", "zone": "Europe/Paris", "units": "C"}),
            json!({"kind": "site", "at": "10:00", "name": "Rye & Anvil", "zone": "UTC", "units": "F"}),
        ),
        row(
            "place-fixed",
            shop(),
            json!({"kind": "place", "at": "10:00", "place": "fridge", "name": "Fridge", "control": "none", "use": "store"}),
            json!({"kind": "place", "at": "10:00", "place": "fridge", "name": "Fridge", "control": "cold", "use": "store"}),
        ),
        row(
            "rule-fixed",
            own(),
            rule("own", json!([{"measure": "total_out", "limit": "PT5H", "verdict": "discard"}])),
            rule("own-2", json!([{"measure": "total_out", "limit": "PT5H", "verdict": "discard"}])),
        ),
        row(
            "built-in",
            shop(),
            rule("two-hour", four_hours()),
            rule(
                "two-hour",
                json!([{"measure": "total_out", "limit": "PT2H", "verdict": "discard"},
                    {"measure": "out_above", "above": {"value": "90.0", "unit": "F"}, "limit": "PT1H",
                     "unread": "not-above", "verdict": "discard"}]),
            ),
        ),
        row("before-beginning", shop(), read_at("06:59:59.999"), read_at("07:00")),
        row("after-close", shop().close("cake", "10:00", "sold"), read_at("10:00:00.001"), read_at("09:59:59.999")),
        row(
            "parent-not-begun",
            shop().item("tart", "11:00", "fridge", RULES),
            join("cake", "10:59:59.999", json!(["tart"])),
            join("cake", "11:00", json!(["tart"])),
        ),
        row(
            "parent-closed",
            shop().close("tub", "10:00", "used"),
            join("cake", "10:00", json!(["tub"])),
            join("cake", "09:59:59.999", json!(["tub"])),
        ),
        row(
            "joined-to-itself",
            shop(),
            join("cake", "10:00", json!(["tub", "cake"])),
            join("cake", "10:00", json!(["tub"])),
        ),
        row("already-there", shop(), moved("cake", "10:00", "fridge"), moved("cake", "10:00", "case")),
        row("lapse-open", shop().lapse("fridge", "10:00"), lapse("fridge", "11:00"), lapse("case", "11:00")),
        row(
            "no-lapse",
            shop().lapse("fridge", "10:00"),
            json!({"kind": "restore", "at": "09:59:59.999", "place": "fridge"}),
            json!({"kind": "restore", "at": "10:00", "place": "fridge"}),
        ),
        row("no-control", shop(), lapse("bench", "10:00"), lapse("freezer", "10:00")),
        // A day before the shop was there is taken.
        row(
            "before-ledger",
            shop(),
            lapse("fridge", "2026-04-29T23:59:59.999Z"),
            lapse("fridge", "2026-04-30T00:00:00Z"),
        ),
        row(
            "before-ledger",
            shop(),
            with(air("fridge"), json!({"at": "1970-01-01T00:00:00Z"})),
            with(air("fridge"), json!({"at": "2026-04-30T00:00:00Z"})),
        ),
        row(
            "bad-until",
            shop(),
            with(lapse("fridge", "10:00"), json!({"until": "10:00"})),
            with(lapse("fridge", "10:00"), json!({"until": "10:00:00.001"})),
        ),
        row(
            "more-than-left",
            shop()
                .item("rolls", "07:00", "fridge", RULES)
                .with(json!({"count": 6}))
                .close("rolls", "08:00", "sold")
                .with(json!({"count": 4})),
            with(close("rolls", "10:00"), json!({"count": 3})),
            with(close("rolls", "10:00"), json!({"count": 2})),
        ),
        row("item-full", full(2_000), with(read(json!("4.0")), json!({"at": "09:00"})), item("cake-2")),
        row("too-many-parents", many, join("cake", "10:00", json!(names)), join("cake", "10:00", json!(names[..64]))),
        row(
            "too-many-generations",
            chain(32),
            with(item("g33"), json!({"from": ["g32"]})),
            with(item("g33"), json!({"from": ["g31"]})),
        ),
        row(
            "not-correctable",
            own(),
            correct(own_seq, json!({"void": true})),
            correct(own_seq, json!({"set": {"at": t("06:30")}})),
        ),
        row(
            "upsets-another",
            shop(),
            correct(cake, json!({"set": {"at": t("08:00:00.001")}})),
            correct(cake, json!({"set": {"at": t("07:59:59.999")}})),
        ),
    ]
}

fn read_at(at: &str) -> Value {
    with(read(json!("4.0")), json!({"at": at}))
}

#[test]
fn each_is_refused_and_its_neighbour_accepted() {
    for Row { code, before, bad, good } in rows() {
        println!("{code}: {bad}");
        assert_eq!(before.refused(), None, "what comes before");
        assert_eq!(before.clone().line(&bad).refused(), Some((before.seq() + 1, code)));
        if let Some(good) = good {
            assert_eq!(before.line(&good).refused(), None, "{good}");
        }
    }
}

/// The same rows, request by request, as the service is asked: same code, and nothing written.
#[test]
fn the_service_refuses_the_same() {
    for Row { code, before, bad, good } in rows() {
        println!("{code}: {bad}");
        let mut shop = Shop::with(&before);
        // Rules taken into use are entries of their own, so numbers named in corrections differ.
        if bad.contains("\"correct\"") {
            continue;
        }
        let head = shop.state.head;
        assert_eq!(shop.post(&[bad], "+30 00:00"), Err(code));
        assert_eq!(shop.state.head, head);
        if let Some(good) = good.filter(|_| code != "built-in") {
            assert!(shop.post(std::slice::from_ref(&good), "+30 00:00").is_ok(), "{good}");
        }
    }
}

/// No refusal is without a row here, but those that a ledger read as a whole cannot produce.
#[test]
fn no_code_is_left_out() {
    let all: BTreeSet<&str> = refusal::CODES.iter().map(|c| c.code).collect();
    let made: BTreeSet<&str> = rows().iter().map(|r| r.code).collect();
    let missing: Vec<&str> = all.difference(&made).copied().collect();
    // `too-many` is a request's, `in-the-future`, `managers-only` and `air-jump` are asked by the clock and the role;
    // `evaluate` needs no site.
    assert_eq!(missing, ["air-jump", "in-the-future", "managers-only", "too-many"]);
}

/// Where no shop is named, as `evaluate` may be asked, nothing says when its ledger began.
#[test]
fn without_a_site_there_is_no_beginning() {
    let place = json!({"kind": "place", "at": "10:00", "place": "fridge", "name": "F", "control": "cold"});
    let early = Ledger::empty().add(place).lapse("fridge", "1970-01-01T00:00:00Z");
    assert_eq!(early.refused(), None);
}

#[test]
fn in_the_future_by_more_than_two_minutes() {
    let mut shop = Shop::with(&shop());
    let post = |shop: &mut Shop, now: &str| {
        shop.post(&[json!({"kind": "move", "at": t("10:02"), "item": "cake", "place": "bench"}).to_string()], now)
    };
    assert_eq!(post(&mut shop, "09:59:59.999"), Err("in-the-future"));
    assert!(post(&mut shop, "10:00").is_ok());
}

#[test]
fn only_managers_set_the_shop_up() {
    for entry in [
        json!({"kind": "site", "name": "B", "zone": "UTC", "units": "C"}),
        json!({"kind": "place", "place": "attic", "name": "Attic", "control": "none"}),
        with(rule("own", four_hours()), json!({"at": t("10:00")})),
        with(product("flan", json!(RULES)), json!({"at": t("10:00")})),
        json!({"kind": "approve", "what": "own"}),
        json!({"kind": "review", "from": "2026-05-01", "to": "2026-05-03"}),
    ] {
        let mut shop = Shop::with(&shop());
        assert_eq!(shop.post_as(&[entry.to_string()], "12:00", false), Err("managers-only"), "{entry}");
        assert!(shop.post_as(&[entry.to_string()], "+31 00:00", true).is_ok(), "{entry}");
    }
    let mut shop = Shop::with(&shop());
    assert_eq!(
        shop.post_as(&[correct(1, json!({"set": {}})).to_string().replace("12:00", &t("12:00"))], "+31 00:00", false),
        Err("managers-only")
    );
}

/// A record of some days may hold a decision about an entry of an earlier day, so `evaluate` lets it pass.
#[test]
fn a_decision_about_an_entry_nobody_wrote() {
    let decide = |seq: u64| {
        json!({"kind": "decide", "at": t("10:00"), "about": seq, "action": "keep", "reason": "it is fine"}).to_string()
    };
    let mut shop = Shop::with(&shop());
    let head = shop.state.head;
    assert_eq!(shop.post(&[decide(head + 1)], "12:00"), Err("unknown-entry"));
    assert!(shop.post(&[decide(head)], "12:00").is_ok());
}

#[test]
fn nothing_of_an_array_is_written_if_one_is_refused() {
    let mut shop = Shop::with(&shop());
    let head = shop.state.head;
    let lines = [moved("cake", &t("10:00"), "bench").to_string(), moved("tub", &t("10:00"), "attic").to_string()];
    assert_eq!(shop.post(&lines, "12:00"), Err("unknown-place"));
    assert_eq!(shop.state.head, head);
    assert_eq!(shop.at("cake", "11:00")["state"], "cold");
}

#[test]
fn an_array_is_judged_in_order() {
    let begin = with(item("tart"), json!({"at": t("10:00")})).to_string();
    let joined = join("tart", &t("10:30"), json!(["tub"])).to_string();
    assert_eq!(Shop::with(&shop()).post(&[joined.clone(), begin.clone()], "12:00"), Err("unknown-item"));
    assert!(Shop::with(&shop()).post(&[begin, joined], "12:00").is_ok());
}

#[test]
fn a_move_of_several_becomes_one_entry_an_item() {
    let mut shop = Shop::with(&shop());
    let line = json!({"kind": "move", "at": t("10:00"), "items": ["cake", "tub"], "place": "bench"}).to_string();
    assert_eq!(shop.post(&[line], "12:00").map(|seqs| seqs.len()), Ok(2));
    assert_eq!(shop.at("tub", "11:00")["place"], "bench");
    assert!(shop.kept().iter().all(|l| !l.contains("\"items\"")));
}

/// More of what the ledger turns down, one line a case: the code, and the line after the shop above.
#[test]
fn other_ways_to_be_refused() {
    let before = shop().product("flan", RULES, 0);
    for (code, entry) in [
        ("unknown-item", join("cake", "10:00", json!(["pie"]))),
        ("unknown-item", close("pie", "10:00")),
        ("unknown-item", with(item("tart"), json!({"from": ["pie"]}))),
        ("unknown-item", json!({"kind": "seen", "at": "10:00", "item": "pie", "place": "fridge"})),
        (
            "unknown-item",
            json!({"kind": "mark", "at": "10:00", "item": "pie", "discard_by": "12:00", "how": "written", "copy": 1}),
        ),
        (
            "unknown-item",
            json!({"kind": "decide", "at": "10:00", "about": "pie", "action": "keep", "reason": "it is fine"}),
        ),
        ("unknown-place", with(item("tart"), json!({"place": "attic"}))),
        ("unknown-place", lapse("attic", "10:00")),
        ("unknown-place", json!({"kind": "restore", "at": "10:00", "place": "attic"})),
        ("unknown-place", json!({"kind": "seen", "at": "10:00", "item": "cake", "place": "attic"})),
        ("unknown-place", json!({"kind": "reading", "at": "10:00", "place": "attic", "value": "4.0", "unit": "C"})),
        ("unknown-rule", product("tart", json!(["own"]))),
        ("joined-to-itself", with(item("tart"), json!({"from": ["tart"]}))),
        ("already-there", moved("tub", "07:00", "fridge")),
        ("before-beginning", close("cake", "06:00")),
        ("before-beginning", join("cake", "06:59", json!(["tub"]))),
        ("parent-not-begun", with(item("tart"), json!({"at": "06:00", "from": ["tub"]}))),
        ("no-lapse", json!({"kind": "restore", "at": "10:00", "place": "fridge"})),
        ("no-lapse", json!({"kind": "restore", "at": "10:00", "place": "bench"})),
        ("bad-until", with(lapse("fridge", "10:00"), json!({"until": "09:00"}))),
        ("bad-until", with(lapse("fridge", "10:00"), json!({"until": "12:00", "recorded_at": "11:00"}))),
        ("no-control", with(lapse("shelf", "10:00"), json!({"until": "11:00"}))),
        ("bad-member", json!({"kind": "place", "at": "10:00", "place": "attic", "name": "Attic", "control": "warm"})),
        (
            "bad-member",
            json!({"kind": "place", "at": "10:00", "place": "attic", "name": "Attic", "control": "none", "use": "loft"}),
        ),
        ("bad-member", json!({"kind": "site", "at": "10:00", "name": "A", "zone": "Middle/Earth", "units": "C"})),
        ("bad-member", json!({"kind": "site", "at": "10:00", "name": "A", "zone": "UTC", "units": "K"})),
        ("bad-member", with(close("cake", "10:00"), json!({"as": "eaten"}))),
        ("bad-member", join("cake", "10:00", json!([]))),
        ("bad-member", with(moved("cake", "10:00", "bench"), json!({"items": ["tub"]}))),
        ("missing-member", json!({"kind": "item", "at": "10:00", "name": "Tart", "place": "fridge", "rules": RULES})),
        ("missing-member", json!({"kind": "move", "item": "cake", "place": "bench"})),
        ("bad-member", with(product("tart", json!(RULES)), json!({"chill_ms": -1}))),
        (
            "unknown-member",
            with(product("tart", json!(RULES)), json!({"exempt": {"reason": "dry", "evidence": "x", "by": "me"}})),
        ),
    ] {
        let got = before.clone().add(entry.clone()).refused();
        assert_eq!(got, Some((before.seq() + 1, code)), "{entry}");
    }
}

/// An entry is refused if with it any other in the order of truth would be.
#[test]
fn a_late_entry_that_upsets_another() {
    let log = shop();
    for entry in [
        // The later move to the bench would move it to where it is.
        moved("cake", "07:30", "bench"),
        // What happened after it would lie after its close.
        close("cake", "08:30"),
    ] {
        let got = log.clone().add(entry.clone()).refused();
        assert_eq!(got, Some((log.seq() + 1, "upsets-another")), "{entry}");
    }
    // A parent's close before the join of its child.
    let log = shop().join("cake", "10:00", &["tub"]);
    assert_eq!(log.clone().add(close("tub", "09:30")).refused(), Some((log.seq() + 1, "upsets-another")));
    assert_eq!(log.add(close("tub", "10:00")).refused(), None);
    // A late lapse that makes a later one a second.
    let log = shop().lapse("fridge", "10:00");
    assert_eq!(log.clone().add(lapse("fridge", "09:30")).refused(), Some((log.seq() + 1, "upsets-another")));
    // A late close of more than leaves enough for a later one.
    let log = shop()
        .item("rolls", "07:00", "fridge", RULES)
        .with(json!({"count": 6}))
        .close("rolls", "10:00", "sold")
        .with(json!({"count": 4}));
    let late = with(close("rolls", "09:00"), json!({"count": 3}));
    assert_eq!(log.clone().add(late).refused(), Some((log.seq() + 1, "upsets-another")));
    // A late join that makes a descendant one generation too many.
    let log = chain(32).item("g0", "06:00", "fridge", RULES);
    let late = json!({"kind": "join", "at": "07:01", "item": "g1", "from": ["g0"]});
    assert_eq!(log.clone().add(late).refused(), Some((log.seq() + 1, "upsets-another")));
}

/// At one instant the numbers decide.
#[test]
fn at_one_instant_the_numbers_decide() {
    let log = shop().close("cake", "10:00", "sold");
    assert_eq!(log.clone().add(read_at("10:00")).refused(), Some((log.seq() + 1, "after-close")));
    let log = shop().add(read_at("10:00"));
    assert_eq!(log.add(close("cake", "10:00")).refused(), None);
    // There and back in one instant is no move to where it is.
    let log = shop().moved("tub", "10:00", "bench").moved("tub", "10:00", "fridge").moved("tub", "10:00", "bench");
    assert_eq!(log.refused(), None);
}

/// Generations are counted along what went in before, not in circles.
#[test]
fn the_depth_of_a_very_long_line_is_refused_without_following_it_to_its_end() {
    let shop = Ledger::shop();
    let head = shop.seq();
    let mut lines = shop.lines;
    for n in 0..20_000_i64 {
        let at = counterclock::clock::Instant(crate::kit::ledger::instant("07:00").0 + n);
        let mut begin = item(&format!("i{n}"));
        begin["at"] = json!(at.to_string());
        if n > 0 {
            begin["from"] = json!([format!("i{}", n - 1)]);
        }
        lines.push(begin.to_string());
    }
    assert_eq!(crate::kit::ledger::refused(&lines), Some((head + 33, "too-many-generations")));
}

/// Every refusal says what to do next and is answered as malformed or as refused.
#[test]
fn every_code_has_a_sentence_a_next_step_and_a_status() {
    let mut seen = BTreeSet::new();
    for c in refusal::CODES {
        assert!(seen.insert(c.code), "`{}` stands twice", c.code);
        assert!(c.code.bytes().all(|b| b.is_ascii_lowercase() || b == b'-'), "{}", c.code);
        assert!((c.title)().ends_with('.') && (c.next)().ends_with('.'), "{}", c.code);
        assert!([400, 403, 409].contains(&c.status), "{}", c.code);
        assert!(!(c.title)().contains("safe") && !(c.next)().contains("safe"), "{}", c.code);
    }
}
