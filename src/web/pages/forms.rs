//! What people send from the pages, turned into the entry they mean.

use super::moves;
use crate::clock::{HOUR_MS, Instant, MINUTE_MS, Zone};
use crate::lang;
use crate::ledger::refusal::{BAD_TIME, Refusal, UNKNOWN_KIND};
use crate::ledger::{Id, State};
use crate::web::show::Show;
use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};

/// The fields of a form, in order; a name may come more than once.
pub struct Fields(pub Vec<(String, String)>);

impl Fields {
    /// The first field of that name that isn't empty.
    pub fn get<'a>(&'a self, name: &'a str) -> Option<&'a str> {
        self.all(name).next()
    }

    /// All fields of that name that aren't empty, spaces at their ends cut.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        let named = self.0.iter().filter(move |(n, _)| n == name);
        named.map(|(_, v)| v.trim()).filter(|v| !v.is_empty())
    }

    /// The first field of that name just as it was sent: a password may begin with a space.
    pub fn raw(&self, name: &str) -> &str {
        self.0.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v)
    }

    /// What makes a repeat of this form harmless: the page's key with what the form does, and the hash of what was
    /// sent (of the form, not of the entry: that may count what the first tap added).
    pub fn key(&self, what: &str) -> Option<(String, String)> {
        let key = self.get("key").filter(|k| k.len() == 32 && k.bytes().all(|b| b.is_ascii_hexdigit()))?;
        let sent = json!(self.0).to_string();
        let hash = Sha256::digest(sent.as_bytes()).iter().map(|b| format!("{b:02x}")).collect();
        Some((format!("{key}.{what}"), hash))
    }
}

/// The entry that a form about an item means.
pub fn about_item(what: &str, f: &Fields, item: &Id, state: &State, show: Show) -> Result<Value, Refusal> {
    let mut e = Map::new();
    // Where the clocks go back a wall time comes twice: the one that gives less time is meant.
    let mut earlier = true;
    match what {
        "move" => {
            e.insert("place".into(), json!(f.get("place")));
            let place = f.get("place").and_then(Id::new).and_then(|id| state.places.get(&id));
            earlier = place.is_none_or(|p| !moves::controlled(p, show.now));
        }
        "join" => {
            e.insert("from".into(), json!(f.all("from").collect::<Vec<_>>()));
        }
        "reading" => {
            e.insert("value".into(), json!(f.get("value").map(|v| v.replace(',', "."))));
            e.insert("unit".into(), json!(show.units));
        }
        "close" => {
            e.insert("as".into(), json!(f.get("as")));
            e.insert("count".into(), number(f.get("count"))?);
            e.insert("reason".into(), json!(f.get("reason")));
        }
        "mark" => {
            let marks = state
                .items
                .get(item)
                .map_or(0, |i| i.truth.iter().filter(|e| matches!(e.body, crate::ledger::Body::Mark { .. })).count());
            e.insert("discard_by".into(), json!(f.get("discard_by")));
            e.insert("how".into(), json!(f.get("how").unwrap_or("written")));
            e.insert("copy".into(), json!(marks + 1));
        }
        "correct" => return correction(f, show),
        _ => return Err(Refusal::new(&UNKNOWN_KIND, lang::form_unknown())),
    }
    e.insert("kind".into(), json!(what));
    e.insert("item".into(), json!(item));
    e.insert("note".into(), json!(f.get("note")));
    if let Some(text) = f.get("at") {
        e.insert("at".into(), json!(wall(text, show, earlier)?));
    }
    e.retain(|_, v| !v.is_null());
    Ok(Value::Object(e))
}

fn correction(f: &Fields, show: Show) -> Result<Value, Refusal> {
    let mut e = Map::new();
    e.insert("kind".into(), json!("correct"));
    e.insert("entry".into(), number(f.get("entry"))?);
    e.insert("reason".into(), json!(f.get("reason").unwrap_or_default()));
    if f.get("how") == Some("void") {
        e.insert("void".into(), json!(true));
        return Ok(Value::Object(e));
    }
    let mut set = Map::new();
    if let Some(text) = f.get("at") {
        set.insert("at".into(), json!(wall(text, show, true)?));
    }
    if let Some(place) = f.get("place") {
        set.insert("place".into(), json!(place));
    }
    if let Some(value) = f.get("value") {
        set.insert("value".into(), json!(value.replace(',', ".")));
        set.insert("unit".into(), json!(show.units));
    }
    if set.is_empty() && f.get("how") != Some("restore") {
        return Err(Refusal::member(lang::form_nothing_corrected()));
    }
    e.insert("set".into(), Value::Object(set));
    Ok(Value::Object(e))
}

/// The entry by which a new item begins.
pub fn new_item(f: &Fields, state: &State, show: Show) -> Result<Value, Refusal> {
    let product = f.get("product").and_then(Id::new);
    let of_product = product.as_ref().and_then(|p| state.product(p, u64::MAX)).map(|p| p.name.to_string());
    let from: Vec<&str> = f.all("from").collect();
    let rules: Vec<&str> = f.all("rule").collect();
    let mut e = Map::new();
    e.insert("kind".into(), json!("item"));
    e.insert("name".into(), json!(f.get("name").map(str::to_owned).or(of_product)));
    e.insert("place".into(), json!(f.get("place")));
    e.insert("product".into(), json!(f.get("product")));
    e.insert("rules".into(), json!((!rules.is_empty()).then_some(rules)));
    e.insert("from".into(), json!((!from.is_empty()).then_some(from)));
    e.insert("count".into(), number(f.get("count"))?);
    e.insert("lot".into(), json!(f.get("lot")));
    if let Some(text) = f.get("at") {
        e.insert("at".into(), json!(wall(text, show, true)?));
    }
    e.retain(|_, v| !v.is_null());
    Ok(Value::Object(e))
}

fn number(text: Option<&str>) -> Result<Value, Refusal> {
    match text.map(str::parse::<u64>) {
        None => Ok(Value::Null),
        Some(Ok(n)) => Ok(json!(n)),
        Some(Err(_)) => Err(Refusal::member(lang::form_bad_number())),
    }
}

/// A wall time of the shop: `09:10`, the latest that isn't in the future, or `2026-05-02T09:10`.
pub fn wall(text: &str, show: Show, earlier: bool) -> Result<Instant, Refusal> {
    let bad = || Refusal::new(&BAD_TIME, lang::form_bad_time());
    let (date, time) = text.split_once('T').map_or((None, text), |(d, t)| (Some(d), t));
    let mut parts = time.split(':').map(|p| p.parse::<i64>().ok().filter(|_| p.len() == 2));
    let (Some(Some(h @ 0..24)), Some(Some(m @ 0..60))) = (parts.next(), parts.next()) else { return Err(bad()) };
    let minutes = h * 60 + m;
    let found = match date {
        Some(date) => at_wall(show.zone, Zone::parse_date(date).ok_or_else(bad)?, minutes, earlier),
        None => {
            let today = show.zone.day(show.now);
            let past = |t: &Instant| *t <= show.now.plus(2 * MINUTE_MS);
            let of = |day| at_wall(show.zone, day, minutes, earlier);
            of(today).filter(past).or_else(|| of(today - 1))
        }
    };
    found.ok_or_else(bad)
}

/// `None` where the clocks skip that time.
fn at_wall(zone: Zone, day: i64, minutes: i64, earlier: bool) -> Option<Instant> {
    let naive = (day * 24 * 60 + minutes) * MINUTE_MS;
    let mut fits: Vec<Instant> = [-24, 24]
        .into_iter()
        .map(|h| zone.local(Instant(naive + h * HOUR_MS)).offset().whole_seconds())
        .map(|offset_s| Instant(naive - i64::from(offset_s) * 1000))
        .filter(|t| {
            let local = zone.local(*t);
            zone.day(*t) == day && i64::from(local.hour()) * 60 + i64::from(local.minute()) == minutes
        })
        .collect();
    fits.sort();
    if earlier { fits.first().copied() } else { fits.last().copied() }
}
