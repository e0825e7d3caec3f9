//! A long random day: requests that are taken and requests that are refused, late ones and corrections among them,
//! restarts in between. Afterwards every item stands as `evaluate` says of the whole ledger, now and at any instant.

use crate::kit::actor::Actor;
use crate::kit::base::Kind;
use crate::kit::chance::Chance;
use crate::kit::house::{House, instant};
use counterclock::clock::Instant;
use counterclock::evaluate::Reader;
use serde_json::{Value, json};
use std::collections::BTreeMap;

both!(a_long_day);

const REQUESTS: usize = 400;
const INSTANTS: usize = 20;
const PLACES: [&str; 7] = ["fridge", "walk-in", "freezer", "case", "bench", "shelf", "van"];

/// A seed may be set to run a day again.
fn seed() -> u64 {
    let seed = std::env::var("COUNTERCLOCK_TEST_SEED").ok().and_then(|s| s.parse().ok()).unwrap_or(20_260_504);
    eprintln!("COUNTERCLOCK_TEST_SEED={seed}");
    seed
}

struct Day {
    chance: Chance,
    now: Instant,
    ids: Vec<String>,
    made: usize,
    head: u64,
}

impl Day {
    /// Mostly now, now and then late, rarely ahead.
    fn at(&mut self) -> String {
        let minute = 60_000;
        let back = match self.chance.below(10) {
            0..=5 => 0,
            6 => self.chance.below(25) as i64 * minute,
            7 => self.chance.below(90) as i64 * minute,
            8 => self.chance.below(400) as i64 * minute,
            _ => -(self.chance.below(100_000) as i64),
        };
        self.now.plus(-back).to_string()
    }

    /// One of the items, mostly a recent one; rarely one that isn't there.
    fn id(&mut self) -> String {
        if self.ids.is_empty() || self.chance.percent(1) {
            return String::from("nobody");
        }
        let n = self.ids.len();
        let from = if self.chance.percent(75) { n.saturating_sub(12) } else { 0 };
        self.ids[from + self.chance.below(n - from)].clone()
    }

    fn entry(&mut self) -> Value {
        let (at, place) = (self.at(), *self.chance.of(&PLACES));
        match self.chance.below(100) {
            0..=17 => {
                self.made += 1;
                let id = format!("{}{}", self.chance.of(&["cake-", "Tub-", "b."]), self.made);
                let mut e = json!({"kind": "item", "at": at, "item": id, "name": id, "place": place});
                match self.chance.below(3) {
                    0 => e["product"] = json!("cake"),
                    1 => e["product"] = json!("mousse"),
                    _ => {
                        let rules = ["us-prep-then-4h", "us-cooling", "uk-display-4h", "house-2h-4h", "us-time-6h"];
                        e["rules"] = json!([self.chance.of(&rules), self.chance.of(&["two-hour", "sum-2h-4h"])]);
                    }
                }
                if self.chance.percent(50) && !self.ids.is_empty() {
                    e["from"] = json!([self.id()]);
                }
                if self.chance.percent(20) {
                    e["count"] = json!(3);
                }
                e
            }
            18..=47 => json!({"kind": "move", "at": at, "item": self.id(), "place": place}),
            48..=52 => json!({"kind": "join", "at": at, "item": self.id(), "from": [self.id()]}),
            53..=58 => {
                let value = format!("{}.{}", 2 + self.chance.below(26), self.chance.below(10));
                json!({"kind": "reading", "at": at, "item": self.id(), "value": value, "unit": "C"})
            }
            59..=63 => {
                let value = format!("{}.5", self.chance.below(30));
                json!({"kind": "reading", "at": at, "place": place, "value": value, "unit": "C"})
            }
            64..=65 => json!({"kind": "lapse", "at": at, "place": self.chance.of(&["fridge", "walk-in", "case"])}),
            66 => {
                let begun = self.now.plus(-(30 + self.chance.below(200) as i64) * 60_000);
                let until = begun.plus(self.chance.below(30) as i64 * 60_000 + 1).to_string();
                json!({"kind": "lapse", "at": begun.to_string(), "place": place, "until": until})
            }
            67..=69 => json!({"kind": "restore", "at": at, "place": self.chance.of(&["fridge", "walk-in", "case"])}),
            70..=73 => {
                let by = self.now.plus(self.chance.below(300) as i64 * 60_000).to_string();
                json!({"kind": "mark", "at": at, "item": self.id(), "discard_by": by, "how": "written", "copy": 1})
            }
            74..=76 => json!({"kind": "seen", "at": at, "item": self.id(), "place": place}),
            77..=84 => {
                let r#as = *self.chance.of(&["sold", "used", "discarded", "served", "lost"]);
                let mut e = json!({"kind": "close", "at": at, "item": self.id(), "as": r#as});
                if self.chance.percent(25) {
                    e["count"] = json!(1);
                }
                e
            }
            85..=86 => json!({"kind": "decide", "at": at, "about": self.id(), "action": "keep", "reason": "r"}),
            87 => json!({"kind": "product", "at": at, "product": "cake", "name": "Cake",
                "rules": [self.chance.of(&["two-hour", "sum-2h-4h", "banded-70f"])], "chill_ms": self.chance.below(3) * 600_000}),
            _ => self.correction(),
        }
    }

    fn correction(&mut self) -> Value {
        let n = if self.chance.percent(70) { 40.min(self.head as usize) } else { self.head as usize };
        let seq = self.head - self.chance.below(n.max(1)) as u64;
        if self.chance.percent(35) {
            return json!({"kind": "correct", "entry": seq, "void": true, "reason": "r"});
        }
        let set = match self.chance.below(5) {
            0 => json!({}),
            1 => json!({"place": self.chance.of(&PLACES)}),
            2 => json!({"from": [self.id()]}),
            3 => json!({"note": "n", "at": self.at()}),
            _ => json!({"at": self.at()}),
        };
        json!({"kind": "correct", "entry": seq, "set": set, "reason": "r"})
    }
}

/// Whether the whole ledger with this entry at its end can be read.
async fn fits(house: &House, entry: &Value) -> bool {
    let mut reader = Reader::default();
    for line in house.tail().await {
        reader.line(&line.to_string()).unwrap_or_else(|e| panic!("{}: {}", e.line, e.refusal));
    }
    let mut last = entry.clone();
    last["seq"] = json!(house.head().await + 1);
    last["recorded_at"] = json!(house.now());
    if last.get("at").is_none() {
        last["at"] = json!(house.now());
    }
    reader.line(&last.to_string()).is_ok() && reader.finish(None).is_ok()
}

async fn a_long_day(house: House) {
    house.set_up().await;
    let mut day =
        Day { chance: Chance::new(seed()), now: house.now(), ids: Vec::new(), made: 0, head: house.head().await };
    let mut outcomes: BTreeMap<String, usize> = BTreeMap::new();
    for n in 0..REQUESTS {
        let entries = if day.chance.percent(15) {
            let count = 1 + day.chance.below(4);
            json!((0..count).map(|_| day.entry()).collect::<Vec<_>>())
        } else {
            day.entry()
        };
        let answer = house.manager().post(&entries).await;
        if answer.status == 201 {
            let written = answer.json();
            let last = written["entries"].as_array().and_then(|list| list.last()).expect("entries");
            let begun = written["entries"].as_array().into_iter().flatten().filter(|e| e["kind"] == "item");
            day.ids.extend(begun.map(|e| e["item"].as_str().expect("an id").to_owned()));
            day.head = last["seq"].as_u64().expect("a seq");
            // What was just answered is what the ledger says now.
            if n % 20 == 0 {
                let expected = House::evaluate(&house.tail().await, house.now(), None);
                for s in written["standings"].as_array().expect("standings") {
                    // An entry of a clock that runs ahead is answered as of then.
                    if s["as_of"].as_str() <= Some(house.now().to_string().as_str()) {
                        assert_eq!(expected.get(s["item"].as_str().expect("an id")), Some(s), "request {n}: {entries}");
                    }
                }
            }
        }
        if answer.status == 409 && !entries.is_array() && n % 3 == 0 && house.base().kind == Kind::Sqlite {
            assert!(!fits(&house, &entries).await, "request {n}: {entries}: refused, but it fits: {}", answer.text());
        }
        *outcomes.entry(if answer.status == 201 { "taken".into() } else { answer.code() }).or_default() += 1;
        if day.chance.percent(4) {
            let broken = house.broken().await;
            assert!(broken.is_empty(), "request {n}: {entries}: {broken:?}");
        }
        // Later on it runs for long enough to let go of what closed hours ago.
        if n < REQUESTS / 6 && day.chance.percent(10) {
            house.restart().await;
        }
        house.pass(day.chance.below(300_000) as i64);
        day.now = house.now();
    }
    eprintln!("{outcomes:?}");
    assert!(outcomes["taken"] > REQUESTS / 3 && outcomes.len() > 8, "the day has everything in it: {outcomes:?}");
    house.pass(120_000);
    house.agrees().await;
    let (tail, first) = (house.tail().await, instant("10:00"));
    let length = house.now().since(first);
    for _ in 0..INSTANTS {
        let at = first.plus(day.chance.below(length as usize) as i64);
        let expected = House::evaluate(&tail, at, None);
        // A server answers each question over a socket: there a sample has to do.
        let every = if house.base().kind == Kind::Sqlite { 1 } else { 5 };
        for item in day.ids.iter().skip(day.chance.below(every)).step_by(every) {
            let got = house.staff().get(&format!("items/{item}?as_of={at}")).await;
            match expected.get(item) {
                Some(standing) => assert_eq!(got.ok().json()["standing"], *standing, "{item} at {at}"),
                None => _ = got.refused(404, "not-found"),
            }
        }
    }
    house.restart().await;
    house.agrees().await;
}
