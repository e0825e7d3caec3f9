//! Ledgers as JSON Lines, written in a few words, and what `evaluate` makes of them, in process.
//!
//! A time is written `08:50`, `08:50:30.001` or, on another day, `+1 08:50`: counted from Monday 4 May 2026, in UTC.
//! Anything else is taken as it stands.

use counterclock::clock::{Instant, MINUTE_MS, Zone};
use counterclock::evaluate::{BadLine, Options, Reader, standings};
use counterclock::ledger::State;
use serde_json::{Value, json};

/// Local midnight of the invented day, as milliseconds since 1970.
const DAY_0: i64 = 1_777_852_800_000;

/// The instant of a short time.
pub fn instant(short: &str) -> Instant {
    let (days, clock) = match short.split_once(' ') {
        Some((days, clock)) => (days.parse::<i64>().expect("a number of days"), clock),
        None => (0, short),
    };
    let b = clock.as_bytes();
    if b.get(2) != Some(&b':') {
        return Instant::parse(short).unwrap_or_else(|| panic!("`{short}` is not a time"));
    }
    let mut parts = clock.split(':');
    let mut whole = |n: &str| parts.next().unwrap_or(n).to_owned();
    let (hours, minutes, seconds) = (whole("0"), whole("0"), whole("0"));
    let (seconds, ms) = seconds.split_once('.').unwrap_or((&seconds, "0"));
    let n = |s: &str| s.parse::<i64>().unwrap_or_else(|_| panic!("`{short}` is not a time"));
    Instant(DAY_0 + (((days * 24 + n(&hours)) * 60 + n(&minutes)) * 60 + n(seconds)) * 1000 + n(ms))
}

/// A short time written out as the answers have it; anything else as it is.
pub fn t(short: &str) -> String {
    let clock = short.split_once(' ').map_or(short, |(_, clock)| clock);
    if clock.as_bytes().get(2) == Some(&b':') { instant(short).to_string() } else { short.to_owned() }
}

/// Minutes in milliseconds.
pub fn min(n: i64) -> i64 {
    n * MINUTE_MS
}

/// Hours in milliseconds.
pub fn hours(n: i64) -> i64 {
    n * 60 * MINUTE_MS
}

/// A ledger being written.
#[derive(Clone, Default)]
pub struct Ledger {
    /// One JSON object a line.
    pub lines: Vec<String>,
    zone: Option<Zone>,
}

impl Ledger {
    /// Nothing at all.
    pub fn empty() -> Ledger {
        Ledger::default()
    }

    /// These lines.
    pub fn of_lines(lines: Vec<String>) -> Ledger {
        Ledger { lines, zone: None }
    }

    /// A shop with a place of every kind: `fridge`, `freezer`, `bench`, `shelf`, `van`, `venue`, and `case`, a cold
    /// display.
    pub fn shop() -> Ledger {
        Ledger::shop_in("UTC")
    }

    /// The same in another zone.
    pub fn shop_in(zone: &str) -> Ledger {
        let at = "2026-05-01T00:00:00Z";
        let mut ledger =
            Ledger::empty().add(json!({"kind": "site", "at": at, "name": "Anvil & Rye", "zone": zone, "units": "C"}));
        for (place, control, r#use) in [
            ("fridge", "cold", "store"),
            ("freezer", "frozen", "store"),
            ("case", "cold", "display"),
            ("bench", "none", "work"),
            ("shelf", "none", "display"),
            ("van", "none", "transport"),
            ("venue", "none", "away"),
        ] {
            ledger = ledger.add(
                json!({"kind": "place", "at": at, "place": place, "name": place, "control": control, "use": r#use}),
            );
        }
        ledger
    }

    /// Any entry. Its short times are written out.
    pub fn add(mut self, mut entry: Value) -> Ledger {
        for name in ["at", "until", "discard_by", "recorded_at"] {
            if let Some(short) = entry.get(name).and_then(Value::as_str) {
                entry[name] = json!(t(short));
            }
        }
        self.lines.push(entry.to_string());
        self
    }

    /// A line as it stands.
    pub fn line(mut self, text: &str) -> Ledger {
        self.lines.push(text.to_owned());
        self
    }

    /// Adds members to the line before.
    pub fn with(mut self, members: Value) -> Ledger {
        let last = self.lines.pop().expect("a line before");
        let mut entry: Value = serde_json::from_str(&last).expect("an entry before");
        for (name, value) in members.as_object().expect("members") {
            entry[name] = value.clone();
        }
        self.add(entry)
    }

    /// The number of the line written last, which is its `seq`.
    pub fn seq(&self) -> usize {
        self.lines.len()
    }

    /// A rule of the shop's own.
    pub fn rule(self, rule: &str, returns: &str, clauses: Value) -> Ledger {
        self.add(json!({"kind": "rule", "at": "00:00", "rule": rule, "name": rule, "returns": returns,
            "clauses": clauses, "source": {"title": "invented for a test", "basis": "from memory"}}))
    }

    /// A product under these rules that takes this long to chill.
    pub fn product(self, product: &str, rules: &[&str], chill_ms: i64) -> Ledger {
        self.add(json!({"kind": "product", "at": "00:00", "product": product, "name": product, "rules": rules,
            "chill_ms": chill_ms}))
    }

    /// An item begins.
    pub fn item(self, item: &str, at: &str, place: &str, rules: &[&str]) -> Ledger {
        self.add(json!({"kind": "item", "at": at, "item": item, "name": item, "place": place, "rules": rules}))
    }

    /// An item begins, made from others.
    pub fn made(self, item: &str, at: &str, place: &str, rules: &[&str], from: &[&str]) -> Ledger {
        self.item(item, at, place, rules).with(json!({"from": from}))
    }

    /// An item of a product begins.
    pub fn of(self, product: &str, item: &str, at: &str, place: &str) -> Ledger {
        self.add(json!({"kind": "item", "at": at, "item": item, "name": item, "place": place, "product": product}))
    }

    /// Others go into it.
    pub fn join(self, item: &str, at: &str, from: &[&str]) -> Ledger {
        self.add(json!({"kind": "join", "at": at, "item": item, "from": from}))
    }

    /// It moves.
    pub fn moved(self, item: &str, at: &str, place: &str) -> Ledger {
        self.add(json!({"kind": "move", "at": at, "item": item, "place": place}))
    }

    /// A food reading, like `5.0 C`.
    pub fn food(self, item: &str, at: &str, degrees: &str) -> Ledger {
        let (value, unit) = degrees.split_once(' ').expect("degrees and unit");
        self.add(json!({"kind": "reading", "at": at, "item": item, "value": value, "unit": unit}))
    }

    /// An air reading, like `92.0 F`.
    pub fn air(self, place: &str, at: &str, degrees: &str) -> Ledger {
        let (value, unit) = degrees.split_once(' ').expect("degrees and unit");
        self.add(json!({"kind": "reading", "at": at, "place": place, "value": value, "unit": unit}))
    }

    /// A place loses its cold.
    pub fn lapse(self, place: &str, at: &str) -> Ledger {
        self.add(json!({"kind": "lapse", "at": at, "place": place}))
    }

    /// A place had lost its cold from then until then.
    pub fn lapsed(self, place: &str, at: &str, until: &str) -> Ledger {
        self.add(json!({"kind": "lapse", "at": at, "place": place, "until": until}))
    }

    /// It has its cold again.
    pub fn restore(self, place: &str, at: &str) -> Ledger {
        self.add(json!({"kind": "restore", "at": at, "place": place}))
    }

    /// The item now carries this time.
    pub fn mark(self, item: &str, at: &str, discard_by: &str, copy: u32) -> Ledger {
        self.add(
            json!({"kind": "mark", "at": at, "item": item, "discard_by": discard_by, "how": "written", "copy": copy}),
        )
    }

    /// The item ends.
    pub fn close(self, item: &str, at: &str, how: &str) -> Ledger {
        self.add(json!({"kind": "close", "at": at, "item": item, "as": how}))
    }

    /// An earlier entry is to be read otherwise.
    pub fn set(self, entry: usize, at: &str, set: Value) -> Ledger {
        let mut set = set;
        for name in ["at", "until", "discard_by"] {
            if let Some(short) = set.get(name).and_then(Value::as_str) {
                set[name] = json!(t(short));
            }
        }
        self.add(json!({"kind": "correct", "at": at, "entry": entry, "set": set, "reason": "misread"}))
    }

    /// An earlier entry counts as not written.
    pub fn void(self, entry: usize, at: &str) -> Ledger {
        self.add(json!({"kind": "correct", "at": at, "entry": entry, "void": true, "reason": "never happened"}))
    }

    /// Another zone than the site's.
    pub fn zone(mut self, name: &str) -> Ledger {
        self.zone = Some(Zone::named(name).expect("a zone"));
        self
    }

    /// All standings at an instant.
    pub fn standings(&self, as_of: &str) -> Vec<Value> {
        let options = Options { as_of: Some(instant(as_of)), known_at: None, zone: self.zone };
        evaluate(&self.lines, options).unwrap_or_else(|bad| panic!("line {}: {}", bad.line, bad.refusal))
    }

    /// One item's standing at an instant.
    pub fn at(&self, item: &str, as_of: &str) -> Value {
        let all = self.standings(as_of);
        all.iter().find(|s| s["item"] == item).unwrap_or_else(|| panic!("no standing of `{item}`")).clone()
    }

    /// What is refused: the line and the code.
    pub fn refused(&self) -> Option<(usize, &'static str)> {
        refused(&self.lines)
    }
}

/// Reads lines the way `evaluate` does.
pub fn read(lines: &[String]) -> Result<(State, Vec<std::sync::Arc<counterclock::ledger::Entry>>), BadLine> {
    read_known(lines, None)
}

fn read_known(
    lines: &[String],
    known_at: Option<Instant>,
) -> Result<(State, Vec<std::sync::Arc<counterclock::ledger::Entry>>), BadLine> {
    let mut reader = Reader::default();
    for line in lines {
        reader.line(line)?;
    }
    reader.finish(known_at)
}

/// The standings that `evaluate` prints, as they are printed.
pub fn evaluate(lines: &[String], options: Options) -> Result<Vec<Value>, BadLine> {
    let (state, entries) = read_known(lines, options.known_at)?;
    let mut out = Vec::new();
    standings(&state, &entries, options, |s| {
        let line = serde_json::to_string(&s).expect("a standing is JSON");
        out.push(serde_json::from_str(&line).expect("a standing is JSON"));
    });
    Ok(out)
}

/// The line that is refused and the code, if one is.
pub fn refused(lines: &[String]) -> Option<(usize, &'static str)> {
    read(lines).err().map(|bad| (bad.line, bad.refusal.code.code))
}

/// Asserts the named members of a standing. Short times are written out; `deviations` and `reasons` may be given in
/// words, as [`deviations`] and [`reasons`] write them.
#[track_caller]
pub fn has(standing: &Value, expected: Value) {
    for (name, want) in expected.as_object().expect("members") {
        let words = |v: Vec<String>| Value::from(v);
        let in_words = want.as_array().is_some_and(|a| a.iter().all(Value::is_string));
        let (got, want) = match name.as_str() {
            "deviations" if in_words => (words(deviations(standing)), want.clone()),
            "reasons" if in_words => (words(reasons(standing)), want.clone()),
            "first_out_at" | "discard_by" | "return_by" | "as_of" => {
                let want = want.as_str().map_or(Value::Null, |s| json!(t(s)));
                (standing[name].clone(), want)
            }
            "decides" if want.is_string() => {
                let d = &standing["decides"];
                (json!(format!("{} {}", text(&d["rule"]), text(&d["measure"]))), want.clone())
            }
            "next" if want.is_string() => {
                let n = &standing["next"];
                (json!(format!("{} {}", short(text(&n["at"])), text(&n["verdict"]))), want.clone())
            }
            _ => {
                (standing.get(name).unwrap_or_else(|| panic!("no member `{name}` in {standing}")).clone(), want.clone())
            }
        };
        assert_eq!(got, want, "`{name}` of {standing}");
    }
}

fn text(v: &Value) -> &str {
    v.as_str().unwrap_or("null")
}

/// A time as tests write it.
pub fn short(time: &str) -> String {
    let Some(at) = Instant::parse(time) else { return time.to_owned() };
    let (days, ms) = ((at.0 - DAY_0).div_euclid(86_400_000), (at.0 - DAY_0).rem_euclid(86_400_000));
    let mut said = if days == 0 { String::new() } else { format!("{days:+} ") };
    said += &format!("{:02}:{:02}", ms / 3_600_000, ms / 60_000 % 60);
    if ms % 60_000 > 0 {
        said += &format!(":{:02}", ms / 1000 % 60);
    }
    if ms % 1000 > 0 {
        said += &format!(".{:03}", ms % 1000);
    }
    said
}

/// `11:15 returned-late sum-2h-4h`, one a deviation.
pub fn deviations(standing: &Value) -> Vec<String> {
    let list = standing["deviations"].as_array().expect("deviations");
    let one = |d: &Value| {
        let rule = d.get("rule").map_or(String::new(), |r| format!(" {}", text(r)));
        format!("{} {}{rule}", short(text(&d["at"])), text(&d["code"]))
    };
    list.iter().map(one).collect()
}

/// `sum-2h-4h total_out use 11:05`, one a reason: rule, measure, verdict, reached.
pub fn reasons(standing: &Value) -> Vec<String> {
    let list = standing["reasons"].as_array().expect("reasons");
    let one = |r: &Value| {
        let at = r["reached_at"].as_str().map_or(String::from("null"), short);
        format!("{} {} {} {at}", text(&r["rule"]), text(&r["measure"]), text(&r["verdict"]))
    };
    list.iter().map(one).collect()
}

/// A ledger that is written to the way the service writes: one request after the other.
#[derive(Default)]
pub struct Shop {
    pub state: State,
    entries: std::collections::HashMap<u64, std::sync::Arc<counterclock::ledger::Entry>>,
}

impl Shop {
    /// One that has taken these lines, each in a request of its own, as a manager's.
    pub fn with(ledger: &Ledger) -> Shop {
        let mut shop = Shop::default();
        for line in &ledger.lines {
            shop.post(std::slice::from_ref(line), "+30 00:00").unwrap_or_else(|r| panic!("{line}: {r}"));
        }
        shop
    }

    /// One request of several entries, by a manager. The code if it is refused.
    pub fn post(&mut self, lines: &[String], now: &str) -> Result<Vec<u64>, &'static str> {
        self.post_as(lines, now, true)
    }

    /// The same by somebody.
    pub fn post_as(&mut self, lines: &[String], now: &str, manager: bool) -> Result<Vec<u64>, &'static str> {
        use counterclock::ledger::{From, Meta, Request, accept, parse};
        let entries = lines.iter().map(|l| parse(l, From::Caller)).collect::<Result<_, _>>();
        let request = Request {
            entries: entries.map_err(|r| r.code.code)?,
            now: instant(now),
            actor: Meta::default(),
            manager,
            probe: false,
            targets: self.entries.clone(),
        };
        let draft = accept(&self.state, request).map_err(|r| r.code.code)?;
        self.state = draft.state;
        self.entries.extend(draft.written.iter().map(|e| (e.meta.seq, e.clone())));
        Ok(draft.asked)
    }

    /// An item's standing.
    pub fn at(&self, item: &str, as_of: &str) -> Value {
        let id = counterclock::ledger::Id::new(item).expect("an id");
        let fold = counterclock::exposure::Fold::new(&self.state, instant(as_of), Zone::UTC);
        let standing = counterclock::rules::standing(&fold, &id).unwrap_or_else(|| panic!("no standing of `{item}`"));
        serde_json::to_value(standing).expect("a standing is JSON")
    }

    /// All entries as the ledger keeps them, in order.
    pub fn kept(&self) -> Vec<String> {
        let mut entries: Vec<_> = self.entries.values().collect();
        entries.sort_by_key(|e| e.meta.seq);
        entries.iter().map(|e| Value::Object(e.members()).to_string()).collect()
    }
}
