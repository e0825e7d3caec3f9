//! What a form about an item means: the entries it asks to be written, judged together.

use super::forms::{self, Fields, number};
use super::task::Ctx;
use super::{found, mark, moves, naming, undo};
use crate::lang;
use crate::ledger::Id;
use crate::ledger::refusal::{BAD_MEMBER, Refusal, UNKNOWN_ITEM, UNKNOWN_KIND, UNKNOWN_PLACE};
use serde_json::{Map, Value, json};

/// The entries that a form means.
pub(super) fn entries(what: &str, c: &Ctx) -> Result<Vec<Value>, Refusal> {
    let f = c.fields;
    match what {
        "move" => moved(c),
        "coat" => Ok(vec![timed(c, json!({"kind": "join", "item": c.id, "from": [other(f)?]}))?]),
        "scrapings" => Ok(vec![timed(c, json!({"kind": "join", "item": other(f)?, "from": [c.id]}))?]),
        "mix" => mixed(c),
        "split" => split(c),
        "temperature" => Ok(vec![timed(c, reading(c))?]),
        "end" => Ok(vec![timed(c, ended(c, f.get("as"))?)?]),
        "earlier" => earlier(c),
        "found" => stood_out(c),
        "was-out" => was_out(c),
        "mark" => Ok(vec![mark::of_form(c)?]),
        "seen" => Ok(vec![json!({"kind": "seen", "item": c.id, "place": f.get("place")})]),
        "correct" => Ok(vec![correction(c)?]),
        "undo" => undo::entries(c),
        _ => Err(Refusal::form(&UNKNOWN_KIND, lang::form_unknown())),
    }
    .map(|entries| entries.into_iter().map(without_nothings).collect())
}

/// A member that nobody filled in isn't there.
pub(super) fn without_nothings(mut entry: Value) -> Value {
    if let Value::Object(e) = &mut entry {
        e.retain(|_, v| !v.is_null());
    }
    entry
}

fn other(f: &Fields) -> Result<&str, Refusal> {
    f.get("with").ok_or_else(|| Refusal::form(&UNKNOWN_ITEM, lang::form_pick_one()))
}

fn put(mut entry: Value, name: &str, value: Value) -> Value {
    if let Value::Object(e) = &mut entry {
        e.insert(name.to_owned(), value);
    }
    entry
}

/// With its time where that isn't now, and why it is late.
fn timed(c: &Ctx, entry: Value) -> Result<Value, Refusal> {
    let Some(at) = forms::when(c.fields, c.show, true)? else { return Ok(entry) };
    Ok(put(put(entry, "at", json!(at)), "note", json!(forms::why(c.fields))))
}

fn moved(c: &Ctx) -> Result<Vec<Value>, Refusal> {
    let mut entries = Vec::new();
    if c.fields.get("value").is_some() {
        entries.push(reading(c));
    }
    entries.push(json!({"kind": "move", "item": c.id, "place": place(c.fields)?}));
    Ok(entries)
}

fn place(f: &Fields) -> Result<&str, Refusal> {
    f.get("place").ok_or_else(|| Refusal::form(&UNKNOWN_PLACE, lang::form_pick_place()))
}

fn reading(c: &Ctx) -> Value {
    let value = c.fields.get("value").map(|v| v.replace(',', "."));
    json!({"kind": "reading", "item": c.id, "value": value, "unit": c.show.units})
}

fn ended(c: &Ctx, how: Option<&str>) -> Result<Value, Refusal> {
    let reason = c.fields.get("because");
    Ok(json!({"kind": "close", "item": c.id, "as": how, "count": count(c.fields)?, "reason": reason}))
}

/// How many: chosen by a touch or typed, not both.
pub(super) fn count(f: &Fields) -> Result<Value, Refusal> {
    let mut said: Vec<&str> = f.all("count").collect();
    said.dedup();
    match said[..] {
        [] => Ok(Value::Null),
        [one] => number(Some(one)),
        _ => Err(Refusal::form(&BAD_MEMBER, lang::form_two_counts())),
    }
}

/// A new item with both in it; whichever was used up ends with it.
fn mixed(c: &Ctx) -> Result<Vec<Value>, Refusal> {
    let with = Id::new(other(c.fields)?).unwrap_or_else(|| c.id.clone());
    let theirs = c.state.items.get(&with).and_then(|i| i.begin());
    let (Some((mine_at, mine)), Some((their_at, their))) = (c.item.begin(), theirs) else {
        return Err(Refusal::form(&UNKNOWN_ITEM, lang::form_pick_one()));
    };
    // It is under the rules of both, whatever product it is called by.
    let product = mine.product.as_ref().and_then(|p| c.state.product(p, u64::MAX));
    let covered = |id: &Id| product.is_some_and(|p| p.rules.contains(id));
    let rules = c.state.rules_of(mine, mine_at.meta.seq).into_iter();
    let mut rules: Vec<Id> = rules
        .chain(c.state.rules_of(their, their_at.meta.seq))
        .map(|r| r.rule.clone())
        .filter(|r| !covered(r))
        .collect();
    rules.sort();
    rules.dedup();
    let name = mine.product.as_ref().and_then(|p| naming::of_product(c.state, c.show, p));
    let mut entries = vec![json!({
        "kind": "item", "name": name.unwrap_or_else(|| mine.name.to_string()), "place": c.item.place(),
        "product": mine.product, "rules": (!rules.is_empty()).then_some(rules), "from": [c.id, &with],
    })];
    // The page asked with its boxes ticked; before that nothing is said about them.
    let spent = |id: &Id| !c.fields.has("key") || c.fields.is("spent", id.as_str());
    let gone = [c.id, &with].into_iter().filter(|id| spent(id));
    entries.extend(gone.map(|id| json!({"kind": "close", "item": id, "as": "used"})));
    Ok(entries)
}

/// Part of it, or so many of it, goes its own way with the same minutes.
fn split(c: &Ctx) -> Result<Vec<Value>, Refusal> {
    let Some((_, begin)) = c.item.begin() else { return Err(Refusal::form(&UNKNOWN_ITEM, lang::form_pick_one())) };
    let n = count(c.fields)?;
    let many = c.item.left() > 1;
    if many && n.is_null() {
        return Err(Refusal::form(&BAD_MEMBER, lang::form_how_many()));
    }
    if n.as_u64().is_some_and(|n| n >= u64::from(c.item.left())) && many {
        return Err(Refusal::form(&BAD_MEMBER, lang::form_leave_some()));
    }
    let place = c.fields.get("place").map(str::to_owned).or_else(|| c.item.place().map(Id::to_string));
    let mut entries = vec![json!({
        "kind": "item", "name": naming::of_part(c.state, &begin.name), "place": place, "product": begin.product,
        "rules": begin.rules, "from": [c.id], "count": if many { n.clone() } else { Value::Null },
        "lot": begin.lot,
    })];
    if many {
        entries.push(json!({"kind": "close", "item": c.id, "as": "used", "count": n}));
    }
    Ok(entries)
}

/// A move or an end that wasn't tapped when it happened.
fn earlier(c: &Ctx) -> Result<Vec<Value>, Refusal> {
    let f = c.fields;
    let to = f.get("place").and_then(Id::new).and_then(|id| c.state.places.get(&id));
    // Where the clocks go back a wall time comes twice: the one that gives less time is meant.
    let out = to.is_none_or(|p| !moves::controlled(p, c.show.now));
    let at = forms::when(f, c.show, out)?.ok_or_else(|| Refusal::form(&BAD_MEMBER, lang::form_say_when()))?;
    let why = forms::why(f).ok_or_else(|| Refusal::form(&BAD_MEMBER, lang::form_say_why()))?;
    let entry = match f.get("as") {
        Some(how) => ended(c, Some(how))?,
        None => json!({"kind": "move", "item": c.id, "place": place(f)?}),
    };
    Ok(vec![put(put(entry, "at", json!(at)), "note", json!(why))])
}

/// Found out of the cold that it is logged in: out since it was last known to be cold.
fn stood_out(c: &Ctx) -> Result<Vec<Value>, Refusal> {
    let last = found::last_cold(c).ok_or_else(|| Refusal::form(&BAD_MEMBER, lang::found_not_cold()))?;
    let note = lang::found_note(&last.how);
    Ok(vec![json!({"kind": "move", "item": c.id, "place": place(c.fields)?, "at": last.at, "note": note})])
}

/// It was out since it came where it is, and is back now: both moves.
fn was_out(c: &Ctx) -> Result<Vec<Value>, Refusal> {
    let left = forms::when(c.fields, c.show, true)?.ok_or_else(|| Refusal::form(&BAD_MEMBER, lang::form_say_when()))?;
    let note = lang::was_out_note();
    Ok(vec![
        json!({"kind": "move", "item": c.id, "place": place(c.fields)?, "at": left, "note": note}),
        json!({"kind": "move", "item": c.id, "place": c.item.place()}),
    ])
}

fn correction(c: &Ctx) -> Result<Value, Refusal> {
    let f = c.fields;
    let mut e =
        json!({"kind": "correct", "entry": number(f.get("entry"))?, "reason": f.get("reason").unwrap_or_default()});
    if f.get("how") == Some("void") {
        e["void"] = json!(true);
        return Ok(e);
    }
    let mut set = Map::new();
    if let Some(text) = f.get("at") {
        set.insert("at".into(), json!(forms::wall(text, c.show, true)?));
    }
    if let Some(place) = f.get("place") {
        set.insert("place".into(), json!(place));
    }
    if let Some(value) = f.get("value") {
        set.insert("value".into(), json!(value.replace(',', ".")));
        set.insert("unit".into(), json!(c.show.units));
    }
    if set.is_empty() && f.get("how") != Some("restore") {
        return Err(Refusal::form(&BAD_MEMBER, lang::form_nothing_corrected()));
    }
    e["set"] = Value::Object(set);
    Ok(e)
}

/// The entry by which a new item begins.
pub(super) fn new_item(
    f: &Fields,
    state: &crate::ledger::State,
    show: crate::web::show::Show,
) -> Result<Value, Refusal> {
    let product = f.get("product").and_then(Id::new);
    let made = product.as_ref().and_then(|p| naming::of_product(state, show, p));
    let from: Vec<&str> = f.all("from").collect();
    let rules: Vec<&str> = f.all("rule").collect();
    let at = forms::when(f, show, true)?;
    Ok(without_nothings(json!({
        "kind": "item",
        "name": f.get("name").map(str::to_owned).or(made),
        "place": f.get("place"),
        "product": f.get("product"),
        "rules": (!rules.is_empty()).then_some(rules),
        "from": (!from.is_empty()).then_some(from),
        "count": count(f)?,
        "lot": f.get("lot"),
        "at": at,
        "note": at.and_then(|_| forms::why(f)),
    })))
}
