//! A failure of the cold as a form says it: which places, since when, until when. Nothing of it is filled in for anybody.

use super::super::forms::{self, Fields};
use super::super::place_name;
use crate::board::what_if::Lapse;
use crate::clock::{Instant, Zone};
use crate::lang;
use crate::ledger::refusal::{
    BAD_MEMBER, BAD_TIME, BAD_UNTIL, IN_FUTURE, LAPSE_OPEN, NO_CONTROL, Refusal, UNKNOWN_PLACE,
};
use crate::ledger::{Control, Id, State};
use crate::web::show::Show;
use serde_json::{Value, json};

/// As a form names it.
pub(super) fn handle(l: &Lapse) -> String {
    let until = l.until.map_or_else(String::new, |until| format!(" {until}"));
    format!("{} {}{until}", l.place, l.from)
}

/// Reads what a form names.
pub(super) fn read(text: &str) -> Option<Lapse> {
    let mut parts = text.split(' ');
    let (place, from) = (Id::new(parts.next()?)?, Instant::parse(parts.next()?)?);
    let until = parts.next().map(Instant::parse);
    match (until, parts.next()) {
        (Some(None), _) | (_, Some(_)) => None,
        (until, None) => Some(Lapse { place, from, until: until.flatten() }),
    }
}

/// The entry that says it.
pub(super) fn entry(l: &Lapse, note: &str) -> Value {
    let mut entry = json!({"kind": "lapse", "place": l.place, "at": l.from, "note": note});
    if let Some(until) = l.until {
        entry["until"] = json!(until);
    }
    entry
}

/// In words.
pub(super) fn says(l: &Lapse, state: &State, show: Show) -> String {
    let (place, from) = (place_name(state, &l.place), show.clock(l.from));
    match l.until {
        None => lang::cold_span_open(&from, &place),
        Some(until) => lang::cold_span(&from, &place, &show.clock(until)),
    }
}

/// A wall time of today or yesterday, of the two an hour apart where the clocks go back the one that gives less time.
fn time(f: &Fields, name: &str, show: Show, earlier: bool) -> Result<Option<Instant>, Refusal> {
    let Some(text) = f.get(name) else { return Ok(None) };
    let yesterday = f.has(if name == "at" { "yesterday" } else { "until-yesterday" });
    let date = Zone::date_text(show.zone.day(show.now) - i64::from(yesterday));
    let at = forms::wall(&format!("{date}T{text}"), show, earlier)?;
    match at > show.now {
        true => Err(Refusal::form(&IN_FUTURE, &lang::cut_future(text))),
        false => Ok(Some(at)),
    }
}

/// The lapses that a form means. `good` is a place's last good reading.
pub(super) fn lapses(
    f: &Fields,
    state: &State,
    show: Show,
    good: impl Fn(&Id) -> Option<Instant>,
) -> Result<Vec<Lapse>, Refusal> {
    let say = |text: &str| Refusal::form(&BAD_MEMBER, text);
    let mut places: Vec<&str> = f.all("place").collect();
    places.sort_unstable();
    places.dedup();
    if places.is_empty() {
        return Err(say(lang::cut_pick()));
    }
    let at = match (time(f, "at", show, true)?, f.has("good")) {
        (None, false) => return Err(Refusal::form(&BAD_TIME, lang::cut_say_since())),
        (Some(_), true) => return Err(say(lang::cut_say_one())),
        (at, _) => at,
    };
    let until = time(f, "until", show, false)?;
    let one = |text: &str| {
        let known = Id::new(text).and_then(|id| state.places.get(&id));
        let place = known.ok_or_else(|| Refusal::form(&UNKNOWN_PLACE, (UNKNOWN_PLACE.title)()))?;
        let name = place.name.as_ref();
        if place.control == Control::None {
            return Err(Refusal::form(&NO_CONTROL, &lang::cut_not_cold(name)));
        }
        if let Some(since) = place.open_lapse() {
            return Err(Refusal::form(&LAPSE_OPEN, &lang::cold_open_already(name, &show.clock(since))));
        }
        let from = at.or_else(|| good(&place.place)).ok_or_else(|| say(&lang::cut_unknown_good(name)))?;
        match until.is_some_and(|until| until <= from) {
            true => Err(Refusal::form(&BAD_UNTIL, lang::cut_backwards())),
            false => Ok(Lapse { place: place.place.clone(), from, until }),
        }
    };
    places.into_iter().map(one).collect()
}
