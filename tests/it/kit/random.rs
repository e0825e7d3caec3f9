//! Random ledgers that shrink: every op that cannot follow what came before is passed over, so any list of ops makes a
//! ledger that is accepted, and a shorter list a simpler one.

use super::ledger::{Ledger, instant, min};
use counterclock::clock::{Instant, Zone};
use counterclock::exposure::Fold;
use counterclock::ledger::{Id, State};
use counterclock::rules::{Standing, standing};
use proptest::prelude::*;
use serde_json::{Value, json};

/// What a rule's discards or uses hang on, for properties that by the measures' own definitions don't hold of some.
pub const SPELLS: u8 = 1;
/// The reading at the first instant out.
pub const START: u8 = 2;
/// Cooling from the beginning.
pub const COOLING: u8 = 4;
/// Cooling from a hot reading.
pub const COOLING_FROM: u8 = 8;
/// The air.
pub const AIR: u8 = 16;

/// The rules that items are under, and what they hang on.
const POOL: &[(&str, u8)] = &[
    ("house-2h-4h", 0),
    ("sum-2h-4h", 0),
    ("us-time-4h", 0),
    ("us-prep-then-4h", 0),
    ("us-time-6h", 0),
    ("us-cooling", COOLING_FROM),
    ("uk-display-4h", SPELLS),
    ("two-hour", AIR),
    ("banded-70f", AIR),
    ("keep-7d", 0),
    ("c-total", 0),
    ("c-longest", 0),
    ("c-spells", SPELLS),
    ("c-air", AIR),
    ("c-air-read", AIR),
    ("c-food", 0),
    ("c-start", START),
    ("c-cool", COOLING),
    ("c-cool-from", COOLING_FROM),
    ("c-day", 0),
    ("c-never", 0),
];

/// Every clause that counts some uses counts displays.
fn with_rules(shop: Ledger) -> Ledger {
    let c = |value: &str| json!({"value": value, "unit": "C"});
    shop.rule("c-total", "until-use", json!([
            {"measure": "total_out", "limit": "PT3H", "at_limit": "allowed", "uses": ["work", "display"], "verdict": "discard"},
            {"measure": "total_out", "limit": "PT1H", "uses": ["display", "away"], "verdict": "use"}]))
        .rule("c-longest", "any", json!([
            {"measure": "longest_spell", "limit": "PT90M", "verdict": "use"},
            {"measure": "longest_spell", "limit": "PT3H", "at_limit": "allowed", "verdict": "discard"}]))
        .rule("c-spells", "any", json!([
            {"measure": "spells", "limit": 2, "verdict": "use"},
            {"measure": "spells", "limit": 2, "uses": ["display", "transport"], "verdict": "discard"}]))
        .rule("c-air", "any", json!([
            {"measure": "out_above", "above": c("25.0"), "limit": "PT1H", "uses": ["display", "work"], "verdict": "discard"}]))
        .rule("c-air-read", "any", json!([
            {"measure": "out_above", "above": c("20.0"), "limit": "PT2H", "at_limit": "allowed", "unread": "not-above",
             "verdict": "discard"}]))
        .rule("c-food", "any", json!([{"measure": "food_temperature", "limit": c("15.0"), "verdict": "discard"}]))
        .rule("c-start", "never", json!([
            {"measure": "start_temperature", "limit": c("5.0"), "at_limit": "allowed", "verdict": "discard"}]))
        .rule("c-cool", "any", json!([{"measure": "cooled", "to": c("5.0"), "limit": "PT4H", "verdict": "discard"}]))
        .rule("c-cool-from", "any", json!([
            {"measure": "cooled", "from": c("60.0"), "to": c("5.0"), "limit": "PT3H", "at_limit": "allowed",
             "verdict": "discard"}]))
        .rule("c-day", "any", json!([
            {"measure": "day", "limit": 2, "verdict": "use"}, {"measure": "day", "limit": 3, "verdict": "discard"}]))
        .rule("c-never", "never", json!([
            {"measure": "since_first_out", "limit": "PT5H", "verdict": "use"},
            {"measure": "total_out", "limit": "PT2H", "verdict": "return"}]))
        // One more out for each place out, with the same air: for cutting a stay in two.
        .add(json!({"kind": "place", "at": "00:00", "place": "bench-2", "name": "b", "control": "none", "use": "work"}))
        .add(json!({"kind": "place", "at": "00:00", "place": "shelf-2", "name": "s", "control": "none", "use": "display"}))
        .add(json!({"kind": "place", "at": "00:00", "place": "van-2", "name": "v", "control": "none", "use": "transport"}))
}

pub const COLD: &[&str] = &["fridge", "case", "freezer"];
pub const OUT: &[&str] = &["bench", "shelf", "van"];
const GAPS: &[i64] = &[1, 600_000, 1_200_000, 1_800_000, 3_600_000, 5_400_000, 599_999, 14_400_000, 43_200_000];
const FOOD: &[i32] = &[30, 50, 51, -180, 100, 149, 150, 200, 600, 599, 800];
const AIRS: &[i32] = &[40, 200, 201, 250, 251, 330];

/// One thing that happens, at an instant.
#[derive(Clone, Debug)]
pub struct Event {
    pub at: i64,
    pub what: What,
}

#[derive(Clone, Debug)]
pub enum What {
    Begin { item: usize, place: &'static str, rules: Vec<&'static str>, from: Vec<usize>, chills: bool },
    Move { item: usize, place: String },
    Join { item: usize, from: usize },
    Food { item: usize, tenths: i32 },
    Air { place: String, tenths: i32 },
    Lapse { place: &'static str, until: Option<i64> },
    Restore { place: &'static str },
    Close { item: usize },
}

/// A ledger's events in the order of truth, at instants of their own.
#[derive(Clone, Debug)]
pub struct Story {
    pub events: Vec<Event>,
    pub items: usize,
}

type Op = (u8, u8, u8, u8, usize);

/// Stories whose items are under no rule that hangs on any of `without`.
pub fn stories(without: u8) -> impl Strategy<Value = Story> {
    let rules = POOL.iter().filter(|(_, on)| on & without == 0).map(|(id, _)| *id).collect();
    stories_under(rules)
}

/// Stories whose items are under some of these rules.
pub fn stories_under(rules: Vec<&'static str>) -> impl Strategy<Value = Story> {
    let op = (0..20u8, any::<u8>(), any::<u8>(), any::<u8>(), 0..GAPS.len());
    prop::collection::vec(op, 2..26).prop_map(move |ops| tell(&ops, &rules))
}

fn pick<T: Copy>(list: &[T], n: u8) -> T {
    list[usize::from(n) % list.len()]
}

fn place(n: u8) -> &'static str {
    if n.is_multiple_of(2) { pick(OUT, n / 2) } else { pick(COLD, n / 2) }
}

fn tell(ops: &[Op], allowed: &[&'static str]) -> Story {
    struct Known {
        place: &'static str,
        closed: bool,
    }
    let (mut items, mut events): (Vec<Known>, Vec<Event>) = (Vec::new(), Vec::new());
    let mut open = [false; 3];
    let mut now = instant("06:00").0;
    for &(kind, who, whither, n, gap) in ops {
        now += GAPS[gap];
        let item = usize::from(who) % items.len().max(1);
        let alive = items.get(item).is_some_and(|i| !i.closed);
        let what = match kind {
            _ if items.is_empty() || (kind < 4 && items.len() < 5) => {
                let mut rules = vec![pick(allowed, n)];
                rules.extend((n % 3 > 0).then(|| pick(allowed, n.wrapping_mul(7).wrapping_add(who))));
                rules.dedup();
                let from = items.iter().enumerate().filter(|(i, k)| !k.closed && (who >> i) & 1 == 1 && who % 3 > 0);
                let from = from.map(|(i, _)| i).collect();
                items.push(Known { place: place(whither), closed: false });
                What::Begin { item: items.len() - 1, place: place(whither), rules, from, chills: n % 4 == 0 }
            }
            0..=9 if alive && items[item].place != place(whither) => {
                items[item].place = place(whither);
                What::Move { item, place: place(whither).to_owned() }
            }
            10 | 11 if alive => {
                let from = usize::from(n) % items.len();
                if from == item || items[from].closed {
                    continue;
                }
                What::Join { item, from }
            }
            12..=14 if alive => What::Food { item, tenths: pick(FOOD, n) },
            15 => What::Air { place: place(whither).to_owned(), tenths: pick(AIRS, n) },
            16 | 17 => {
                let i = usize::from(whither) % COLD.len();
                open[i] = !open[i];
                if open[i] { What::Lapse { place: COLD[i], until: None } } else { What::Restore { place: COLD[i] } }
            }
            18 => What::Lapse { place: pick(COLD, whither), until: Some(now + min(10) * i64::from(1 + n % 20)) },
            19 if alive && n % 4 == 0 => {
                items[item].closed = true;
                What::Close { item }
            }
            _ => continue,
        };
        events.push(Event { at: now, what });
    }
    Story { events, items: items.len() }
}

/// An item's id.
pub fn id(item: usize) -> String {
    format!("i{item}")
}

impl Event {
    /// The entries it is written as: of air, one for the place beside, too.
    pub fn lines(&self) -> Vec<Value> {
        let at = Instant(self.at).to_string();
        let degrees = |tenths: i32| {
            json!(format!("{}{}.{}", if tenths < 0 { "-" } else { "" }, tenths.abs() / 10, tenths.abs() % 10))
        };
        vec![match &self.what {
            What::Begin { item, place, rules, from, chills } => {
                let mut v =
                    json!({"kind": "item", "at": at, "item": id(*item), "name": "n", "place": place, "rules": rules});
                if !from.is_empty() {
                    v["from"] = json!(from.iter().map(|i| id(*i)).collect::<Vec<_>>());
                }
                if *chills {
                    v["product"] = json!("slow");
                }
                v
            }
            What::Move { item, place } => json!({"kind": "move", "at": at, "item": id(*item), "place": place}),
            What::Join { item, from } => json!({"kind": "join", "at": at, "item": id(*item), "from": [id(*from)]}),
            What::Food { item, tenths } => {
                json!({"kind": "reading", "at": at, "item": id(*item), "value": degrees(*tenths), "unit": "C"})
            }
            What::Air { place, tenths } => {
                let air = |place: &str| json!({"kind": "reading", "at": at, "place": place, "value": degrees(*tenths), "unit": "C"});
                return if OUT.contains(&place.as_str()) {
                    vec![air(place), air(&format!("{place}-2"))]
                } else {
                    vec![air(place)]
                };
            }
            What::Lapse { place, until } => {
                let mut v = json!({"kind": "lapse", "at": at, "place": place});
                if let Some(until) = until {
                    v["until"] = json!(Instant(*until).to_string());
                }
                v
            }
            What::Restore { place } => json!({"kind": "restore", "at": at, "place": place}),
            What::Close { item } => json!({"kind": "close", "at": at, "item": id(*item), "as": "sold"}),
        }]
    }
}

impl Story {
    /// The ledger, written in the order of truth.
    pub fn ledger(&self) -> Ledger {
        self.events.iter().flat_map(Event::lines).fold(set_up(), Ledger::add)
    }

    /// What happened up to an instant.
    pub fn until(&self, t: i64) -> Story {
        let events = self.events.iter().filter(|e| e.at <= t).cloned().collect();
        Story { events, items: self.items }
    }

    /// With one more event, where the order of truth has it.
    pub fn and(&self, event: Event) -> Story {
        let mut events = self.events.clone();
        events.insert(events.partition_point(|e| e.at <= event.at), event);
        Story { events, items: self.items }
    }

    /// Some instants worth asking about: of events, a millisecond beside, and later.
    pub fn instants(&self, most: usize) -> Vec<i64> {
        let last = self.events.last().map_or(0, |e| e.at);
        let mut all: Vec<i64> = self.events.iter().flat_map(|e| [e.at, e.at + 1, e.at + min(59)]).collect();
        all.extend([60, 120, 180, 240, 1440, 2880].map(|m| last + min(m)));
        all.sort_unstable();
        all.dedup();
        let step = all.len().div_ceil(most).max(1);
        all.into_iter().step_by(step).collect()
    }

    /// When an item begins.
    pub fn begins(&self, item: usize) -> i64 {
        let mut begins = self.events.iter().filter(|e| matches!(e.what, What::Begin { item: i, .. } if i == item));
        begins.next().map_or(i64::MAX, |e| e.at)
    }

    pub fn read(&self) -> Known {
        Known::of(&self.ledger())
            .unwrap_or_else(|| panic!("refused: {:?} of {}", self.ledger().refused(), self.ledger().lines.join("\n")))
    }
}

/// The shop with all its rules and a product that takes half an hour to chill.
pub fn set_up() -> Ledger {
    with_rules(Ledger::shop()).product("slow", &["keep-7d"], min(30))
}

/// A ledger that was accepted.
pub struct Known {
    pub state: State,
}

impl Known {
    pub fn of(ledger: &Ledger) -> Option<Known> {
        super::ledger::read(&ledger.lines).ok().map(|(state, _)| Known { state })
    }

    /// The standing of each item that has begun by then, by its number.
    pub fn standings(&self, t: i64) -> Vec<Option<Standing>> {
        let fold = Fold::new(&self.state, Instant(t), Zone::UTC);
        (0..5).map(|i| self.one(&fold, i)).collect()
    }

    /// The standing of one.
    pub fn at(&self, item: usize, t: i64) -> Option<Standing> {
        self.one(&Fold::new(&self.state, Instant(t), Zone::UTC), item)
    }

    fn one<'a>(&'a self, fold: &Fold<'a>, item: usize) -> Option<Standing> {
        let (id, _) = self.state.items.get_key_value(&Id::new(&id(item))?)?;
        standing(fold, id)
    }
}
