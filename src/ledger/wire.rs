//! Entries from JSON and to JSON: by `kind` into one strict struct each, and back as sorted members.

use super::entry::*;
use super::kind::{Kind, likely};
use super::strict::{Object, Single, given};
use super::{Decimal, Id, Refusal, Unit};
use crate::clock::{HOUR_MS, Instant, Zone};
use crate::lang;
use crate::rules::{ClauseText, Returns, RuleParts, Source, Use};
use serde::{Deserialize, Deserializer};
use serde_json::{Map, Value, json};
use std::borrow::Cow;

/// Who wrote the JSON: a caller may not set the server's own members, a ledger's line may.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum From {
    /// A request.
    Caller,
    /// A ledger or a record.
    Ledger,
}

/// An entry as read, before `items` is spread into one entry each and ids are made.
pub struct Parsed {
    /// The instant; none means the server's now.
    pub at: Option<Instant>,
    /// The note.
    pub note: Option<Box<str>>,
    /// One body an entry it becomes.
    pub bodies: Vec<Body>,
    /// Whether the body's item id is still to be made by the server.
    pub id_missing: bool,
    /// The server's own members, where they were there.
    pub meta: Meta,
    /// Whether `seq` was there.
    pub has_seq: bool,
}

#[derive(Deserialize)]
struct KindOf<'a> {
    #[serde(borrow)]
    kind: Cow<'a, str>,
}

// One strict struct a kind, each with the members all kinds share: `flatten` would lose both the
// strictness and the text of decimals. What may be left out comes after the semicolon.
macro_rules! wires {
    ($($name:ident { $($field:ident : $ty:ty),* $(; $($more:ident : $maybe:ty),+)? })*) => { $(
        one_wire! { $name { $($field: $ty),* } {
            at: Instant, note: Text<500>, seq: u64, by: Id, by_how: ByHow, device: Id, recorded_at: Instant,
            late_ms: i64, prev: serde::de::IgnoredAny, hash: serde::de::IgnoredAny $(, $($more: $maybe),+)?
        } }
    )* };
}

macro_rules! one_wire {
    ($name:ident { $($field:ident : $ty:ty),* } { $($more:ident : $maybe:ty),+ }) => {
        #[derive(Deserialize)]
        #[serde(deny_unknown_fields)]
        struct $name {
            kind: Kind,
            $($field: $ty,)*
            $(#[serde(default, deserialize_with = "given")] $more: Option<$maybe>,)+
        }
        impl $name {
            fn common(&mut self) -> Common {
                Common {
                    kind: self.kind, at: self.at, note: self.note.take().map(|t| t.0), has_seq: self.seq.is_some(),
                    has_chain: self.prev.is_some() || self.hash.is_some() || self.late_ms.is_some(),
                    meta: Meta { seq: self.seq.unwrap_or(0), by: self.by.take(), by_how: self.by_how,
                        device: self.device.take(), recorded_at: self.recorded_at },
                }
            }
        }
    };
}

struct Common {
    kind: Kind,
    at: Option<Instant>,
    note: Option<Box<str>>,
    has_seq: bool,
    has_chain: bool,
    meta: Meta,
}

wires! {
    SiteWire { name: Text<200>, zone: Text<60>, units: Unit }
    PlaceWire { place: Id, name: Text<200>, control: Control; r#use: Use }
    RuleWire { rule: Id, name: Text<200>, returns: Returns, clauses: Vec<Object<ClauseText>>, source: Object<Source> }
    ProductWire { product: Id, name: Text<200>, rules: Vec<Id>;
        chill_ms: Span, soft_ms: Span, firm_ms: Span, exempt: Object<Exempt> }
    ItemWire { name: Text<200>, place: Id;
        item: Id, product: Id, rules: Vec<Id>, from: Vec<Id>, count: Count, lot: Text<200> }
    JoinWire { item: Id, from: Vec<Id> }
    MoveWire { place: Id; item: Id, items: Vec<Id> }
    ReadingWire { value: Decimal, unit: Unit; item: Id, items: Vec<Id>, place: Id, probed: Id, probe: Id }
    LapseWire { place: Id; until: Instant }
    RestoreWire { place: Id }
    MarkWire { item: Id, discard_by: Instant, how: MarkHow, copy: Count }
    SeenWire { place: Id; item: Id, items: Vec<Id> }
    CloseWire { r#as: CloseAs; item: Id, items: Vec<Id>, count: Count, reason: Text<500> }
    DecideWire { about: About, action: Action, reason: Text<500> }
    ApproveWire { what: Id; reference: Text<500> }
    CorrectWire { entry: u64, reason: Text<500>; void: bool, set: Members }
    ReviewWire { from: Text<40>, to: Text<40> }
}

/// A text of 1 to N characters.
struct Text<const N: usize>(Box<str>);

impl<'de, const N: usize> Deserialize<'de> for Text<N> {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let text = Box::<str>::deserialize(d)?;
        if text.is_empty() || text.chars().nth(N).is_some() {
            return Err(serde::de::Error::custom(format_args!("bad-member|{}", lang::bad_text(&N.to_string()))));
        }
        Ok(Text(text))
    }
}

/// A count from 1 to 100,000.
struct Count(u32);

/// The highest count, and the highest number of a copy, that an entry may say.
pub const MOST_COUNT: u32 = 100_000;

impl<'de> Deserialize<'de> for Count {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let n = u32::deserialize(d)?;
        if !(1..=MOST_COUNT).contains(&n) {
            return Err(serde::de::Error::custom(format_args!("bad-member|{}", lang::bad_count())));
        }
        Ok(Count(n))
    }
}

/// A stretch of time of at most a week, in milliseconds.
struct Span(i64);

impl<'de> Deserialize<'de> for Span {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let ms = i64::deserialize(d)?;
        if !(0..=168 * HOUR_MS).contains(&ms) {
            return Err(serde::de::Error::custom("bad-member|a time span is 0 to 604800000 ms, a week"));
        }
        Ok(Span(ms))
    }
}

/// The members of `set`.
struct Members(Map<String, Value>);

impl<'de> Deserialize<'de> for Members {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        match Single::deserialize(d)?.0 {
            Value::Object(members) => Ok(Members(members)),
            _ => Err(serde::de::Error::custom("bad-member|`set` is an object of members")),
        }
    }
}

fn read<'a, T: Deserialize<'a>>(json: &'a str) -> Result<T, Refusal> {
    serde_json::from_str(json).map_err(|e| Refusal::from_json(&e))
}

fn one_or_many(item: Option<Id>, items: Option<Vec<Id>>) -> Result<Vec<Id>, Refusal> {
    match (item, items) {
        (Some(item), None) => Ok(vec![item]),
        (None, Some(items)) if !items.is_empty() && items.len() <= 500 => Ok(items),
        (None, Some(_)) => Err(Refusal::member("`items` names 1 to 500 items")),
        (Some(_), Some(_)) => Err(Refusal::member("either `item` or `items`, not both")),
        (None, None) => Err(Refusal::missing("item")),
    }
}

/// Reads one entry.
pub fn parse(json: &str, from: From) -> Result<Parsed, Refusal> {
    // A guess saves reading every line twice. It holds if the entry, read whole, says the same kind.
    if let Some(kind) = likely(json)
        && let Ok((parsed, said)) = parse_as(kind, json, from)
        && said == kind
    {
        return Ok(parsed);
    }
    let Object(KindOf { kind }) = read::<Object<KindOf>>(json)?;
    let kind = Kind::named(&kind).ok_or_else(|| Refusal::unknown_kind(&kind))?;
    parse_as(kind, json, from).map(|(parsed, _)| parsed)
}

fn parse_as(kind: Kind, json: &str, from: From) -> Result<(Parsed, Kind), Refusal> {
    let mut id_missing = false;
    macro_rules! wire {
        ($ty:ident, |$w:ident| $bodies:expr) => {{
            let Object(mut $w) = read::<Object<$ty>>(json)?;
            let common = $w.common();
            (common, $bodies)
        }};
    }
    let (common, bodies) = match kind {
        Kind::Site => wire!(SiteWire, |w| {
            if Zone::named(&w.zone.0).is_none() {
                return Err(Refusal::member(&format!("there is no time zone `{}`", w.zone.0)));
            }
            vec![Body::Site { name: w.name.0, zone: w.zone.0, units: w.units }]
        }),
        Kind::Place => wire!(PlaceWire, |w| {
            let default = if w.control == Control::None { Use::Work } else { Use::Store };
            let r#use = w.r#use.unwrap_or(default);
            vec![Body::Place { place: w.place, name: w.name.0, control: w.control, r#use }]
        }),
        Kind::Rule => wire!(RuleWire, |w| {
            let clauses = w.clauses.into_iter().map(|c| c.0).collect();
            let parts = RuleParts { rule: w.rule, name: w.name.0, returns: w.returns, clauses, source: w.source.0 };
            vec![Body::Rule(Box::new(parts.build().map_err(|why| Refusal::member(&why))?))]
        }),
        Kind::Product => wire!(ProductWire, |w| vec![Body::Product(Box::new(Product {
            product: w.product,
            name: w.name.0,
            rules: w.rules,
            chill_ms: w.chill_ms.map(|s| s.0),
            soft_ms: w.soft_ms.map(|s| s.0),
            firm_ms: w.firm_ms.map(|s| s.0),
            exempt: w.exempt.map(|e| e.0),
        }))]),
        Kind::Item => wire!(ItemWire, |w| {
            id_missing = w.item.is_none();
            let Some(item) = w.item.or_else(|| Id::new("unnamed")) else { return Err(Refusal::missing("item")) };
            vec![Body::Item(Box::new(Begin {
                item,
                name: w.name.0,
                place: w.place,
                product: w.product,
                rules: w.rules,
                from: w.from,
                count: w.count.map(|c| c.0),
                lot: w.lot.map(|t| t.0),
            }))]
        }),
        Kind::Join => wire!(JoinWire, |w| {
            if w.from.is_empty() {
                return Err(Refusal::member("`from` names at least one item"));
            }
            vec![Body::Join { item: w.item, from: w.from }]
        }),
        Kind::Move => wire!(MoveWire, |w| one_or_many(w.item, w.items)?
            .into_iter()
            .map(|item| Body::Move { item, place: w.place.clone() })
            .collect()),
        Kind::Reading => wire!(ReadingWire, |w| {
            let value = temperature(w.value, w.unit).map_err(|why| Refusal::coded(&why))?;
            if let Some(place) = w.place {
                if w.item.is_some() || w.items.is_some() || w.probed.is_some() {
                    return Err(Refusal::member(
                        "a reading is of an item, of `items` or of a place's air, one of them",
                    ));
                }
                vec![Body::AirReading { place, value, probe: w.probe }]
            } else {
                let rack = w.items.is_some();
                let items = one_or_many(w.item, w.items)?;
                if rack && !w.probed.as_ref().is_some_and(|p| items.contains(p)) {
                    return Err(Refusal::member("a rack's reading says in `probed` which of its `items` was probed"));
                }
                let reading =
                    |item| Body::FoodReading { item, probed: w.probed.clone(), value, probe: w.probe.clone() };
                items.into_iter().map(reading).collect()
            }
        }),
        Kind::Lapse => wire!(LapseWire, |w| vec![Body::Lapse { place: w.place, until: w.until }]),
        Kind::Restore => wire!(RestoreWire, |w| vec![Body::Restore { place: w.place }]),
        Kind::Mark => wire!(MarkWire, |w| {
            vec![Body::Mark { item: w.item, discard_by: w.discard_by, how: w.how, copy: w.copy.0 }]
        }),
        Kind::Seen => wire!(SeenWire, |w| one_or_many(w.item, w.items)?
            .into_iter()
            .map(|item| Body::Seen { item, place: w.place.clone() })
            .collect()),
        Kind::Close => wire!(CloseWire, |w| {
            let (count, reason) = (w.count.map(|c| c.0), w.reason.map(|t| t.0));
            let close = |item| Body::Close { item, r#as: w.r#as, count, reason: reason.clone() };
            one_or_many(w.item, w.items)?.into_iter().map(close).collect()
        }),
        Kind::Decide => {
            wire!(DecideWire, |w| vec![Body::Decide { about: w.about, action: w.action, reason: w.reason.0 }])
        }
        Kind::Approve => {
            wire!(ApproveWire, |w| { vec![Body::Approve { what: w.what, reference: w.reference.map(|t| t.0) }] })
        }
        Kind::Correct => wire!(CorrectWire, |w| {
            let change = match (w.void, w.set) {
                (Some(true), None) => Change::Void,
                (None, Some(set)) => Change::Set(set.0),
                _ => return Err(Refusal::member("a correction has `void`: true or `set`, one of them")),
            };
            vec![Body::Correct { entry: w.entry, change, reason: w.reason.0 }]
        }),
        Kind::Review => wire!(ReviewWire, |w| {
            let fits = |t: &str| Zone::parse_date(t).is_some() || Instant::parse(t).is_some();
            if !fits(&w.from.0) || !fits(&w.to.0) {
                return Err(Refusal::member("`from` and `to` of a review are dates like 2026-05-02, or times"));
            }
            vec![Body::Review { from: w.from.0, to: w.to.0 }]
        }),
    };
    let own = common.has_seq
        || common.has_chain
        || common.meta.by.is_some()
        || common.meta.by_how.is_some()
        || common.meta.device.is_some()
        || common.meta.recorded_at.is_some();
    if from == From::Caller && own {
        return Err(Refusal::unknown_member(
            "`seq`, `by`, `by_how`, `device`, `recorded_at`, `late_ms`, `prev` and `hash` are the server's to write",
        ));
    }
    let Common { kind, at, note, has_seq, meta, .. } = common;
    Ok((Parsed { at, note, bodies, id_missing, meta, has_seq }, kind))
}

impl Entry {
    /// The entry as sorted members, without the chain's: numbers are integers, temperatures strings.
    pub fn members(&self) -> Map<String, Value> {
        let mut m = self.posted();
        let meta = &self.meta;
        put(&mut m, "seq", (meta.seq > 0).then(|| json!(meta.seq)));
        put(&mut m, "by", meta.by.as_ref().map(|v| json!(v)));
        put(&mut m, "by_how", meta.by_how.map(|v| json!(v)));
        put(&mut m, "device", meta.device.as_ref().map(|v| json!(v)));
        put(&mut m, "recorded_at", meta.recorded_at.map(|v| json!(v)));
        put(&mut m, "late_ms", meta.late_ms(self.at).map(|v| json!(v)));
        m
    }

    /// The members a caller may write.
    pub fn posted(&self) -> Map<String, Value> {
        let value = match &self.body {
            Body::Site { name, zone, units } => json!({"kind": "site", "name": name, "zone": zone, "units": units}),
            Body::Place { place, name, control, r#use } => {
                json!({"kind": "place", "place": place, "name": name, "control": control, "use": r#use})
            }
            Body::Rule(r) => {
                let mut v = json!(r);
                v["kind"] = json!("rule");
                v
            }
            Body::Product(p) => json!({"kind": "product", "product": p.product, "name": p.name, "rules": p.rules,
                "chill_ms": p.chill_ms, "soft_ms": p.soft_ms, "firm_ms": p.firm_ms, "exempt": p.exempt}),
            Body::Item(b) => json!({"kind": "item", "item": b.item, "name": b.name, "place": b.place,
                "product": b.product, "rules": b.rules, "from": b.from, "count": b.count, "lot": b.lot}),
            Body::Join { item, from } => json!({"kind": "join", "item": item, "from": from}),
            Body::Move { item, place } => json!({"kind": "move", "item": item, "place": place}),
            Body::FoodReading { item, probed, value, probe } => json!({"kind": "reading", "item": item,
                "probed": probed, "value": value.value(), "unit": value.unit, "probe": probe}),
            Body::AirReading { place, value, probe } => json!({"kind": "reading", "place": place,
                "value": value.value(), "unit": value.unit, "probe": probe}),
            Body::Lapse { place, until } => json!({"kind": "lapse", "place": place, "until": until}),
            Body::Restore { place } => json!({"kind": "restore", "place": place}),
            Body::Mark { item, discard_by, how, copy } => {
                json!({"kind": "mark", "item": item, "discard_by": discard_by, "how": how, "copy": copy})
            }
            Body::Seen { item, place } => json!({"kind": "seen", "item": item, "place": place}),
            Body::Close { item, r#as, count, reason } => {
                json!({"kind": "close", "item": item, "as": r#as, "count": count, "reason": reason})
            }
            Body::Decide { about, action, reason } => {
                json!({"kind": "decide", "about": about, "action": action, "reason": reason})
            }
            Body::Approve { what, reference } => json!({"kind": "approve", "what": what, "reference": reference}),
            Body::Correct { entry, change: Change::Void, reason } => {
                json!({"kind": "correct", "entry": entry, "void": true, "reason": reason})
            }
            Body::Correct { entry, change: Change::Set(set), reason } => {
                json!({"kind": "correct", "entry": entry, "set": set, "reason": reason})
            }
            Body::Review { from, to } => json!({"kind": "review", "from": from, "to": to}),
        };
        let Value::Object(mut m) = value else { return Map::new() };
        // Absent members are absent, except inside `set`, where `null` says "remove".
        m.retain(|_, v| !v.is_null());
        m.insert(String::from("at"), json!(self.at));
        put(&mut m, "note", self.note.as_ref().map(|v| json!(v)));
        m
    }
}

fn put(m: &mut Map<String, Value>, name: &str, value: Option<Value>) {
    if let Some(value) = value {
        m.insert(name.to_owned(), value);
    }
}
