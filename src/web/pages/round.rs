//! The round at the day's first and last: place by place, its thermometer is read, what is there is ticked off in one
//! touch, and the rest asked about one by one.

use super::forms::Fields;
use super::found::{self, LastCold};
use super::task::{self, Ctx, Pick};
use super::{Asked, Choice, Notice, Shell, end, moves, name_of, place_name};
use crate::clock::Instant;
use crate::lang;
use crate::ledger::{Body, Control, Id, Item, Place, State, Temperature};
use crate::web::show::Show;
use askama::Template;
use std::sync::Arc;

/// Which place.
#[derive(Template)]
#[template(path = "round.html")]
pub(super) struct Round {
    shell: Shell,
    places: Vec<Choice>,
}

/// What is logged in one place.
#[derive(Template)]
#[template(path = "round_place.html")]
pub(super) struct RoundPlace {
    shell: Shell,
    place: Id,
    name: String,
    here: Vec<Choice>,
    listed: String,
    air: String,
    unit: &'static str,
    value: String,
}

/// Where one is that wasn't there.
#[derive(Template)]
#[template(path = "round_ask.html")]
pub(super) struct RoundAsk {
    shell: Shell,
    place: Id,
    title: String,
    said: String,
    item: Id,
    rest: String,
    left: String,
    found: Option<String>,
    out: Vec<Choice>,
    cold: Vec<Choice>,
    endings: Vec<Pick>,
}

fn holds(p: &Place) -> bool {
    p.control != Control::None
}

/// The open items that are logged in a place, by name.
pub(super) fn logged<'a>(state: &'a State, place: &Id) -> Vec<(&'a Id, &'a Arc<Item>)> {
    let here = |item: &Item| item.begin().is_some() && item.end().is_none() && item.place() == Some(place);
    let mut found: Vec<_> = state.items.iter().filter(|(_, i)| here(i)).collect();
    found.sort_by_cached_key(|(id, _)| (name_of(state, id), (*id).clone()));
    found
}

fn seen_today(show: Show, item: &Item, place: &Id) -> Option<Instant> {
    let today = show.zone.day(show.now);
    item.truth.iter().rev().find_map(|e| match &e.body {
        Body::Seen { place: p, .. } if p == place && show.zone.day(e.at) == today => Some(e.at),
        _ => None,
    })
}

/// Today's last reading of a place's air.
fn air_today(state: &State, show: Show, place: &Place) -> Option<(Instant, Temperature)> {
    let ((at, seq), _) = place.air.get_max().filter(|((at, _), _)| show.zone.day(*at) == show.zone.day(show.now))?;
    let entry = state.told_of(place, *seq)?.effective(u64::MAX).ok().flatten()?;
    match entry.body {
        Body::AirReading { value, .. } => Some((*at, value)),
        _ => None,
    }
}

fn air(state: &State, show: Show, place: &Place) -> String {
    match air_today(state, show, place) {
        Some((at, value)) => lang::round_air(&show.degrees(value), &show.clock(at)),
        None => lang::round_air_unread().to_owned(),
    }
}

/// Builds the choice of a place.
pub(super) fn choose(state: &State, now: Instant, asked: &Asked) -> Round {
    let show = Show::of(state, now);
    let choice = |p: &Arc<Place>| {
        let here = logged(state, &p.place);
        let seen = here.iter().filter(|(_, i)| seen_today(show, i, &p.place).is_some()).count();
        Choice {
            id: p.place.clone(),
            name: p.name.to_string(),
            more: lang::round_count(&air(state, show, p), &here.len().to_string(), &seen.to_string()),
            chosen: !here.is_empty() && seen == here.len(),
        }
    };
    let places = state.places.values().filter(|p| holds(p)).map(choice).collect();
    Round { shell: Shell::of(state, now, asked), places }
}

/// Builds the list of one place; `None` if there is no such place to go round.
pub(super) fn place(state: &State, now: Instant, id: &Id, f: &Fields, asked: &Asked) -> Option<RoundPlace> {
    let show = Show::of(state, now);
    let place = state.places.get(id).filter(|p| holds(p))?;
    let here = logged(state, id);
    let listed: Vec<&str> = here.iter().map(|(id, _)| id.as_str()).collect();
    let choice = |(id, item): &(&Id, &Arc<Item>)| Choice {
        id: (*id).clone(),
        name: match item.left() {
            1 => name_of(state, id),
            n => lang::name_count(&n.to_string(), &name_of(state, id)),
        },
        more: seen_today(show, item, &place.place).map_or_else(String::new, |t| lang::round_seen(&show.clock(t))),
        chosen: !f.has("key") || f.is("here", id.as_str()),
    };
    Some(RoundPlace {
        shell: Shell::of(state, now, asked),
        place: id.clone(),
        name: place.name.to_string(),
        listed: listed.join(","),
        air: air(state, show, place),
        unit: show.unit(),
        value: f.raw("value").to_owned(),
        here: here.iter().map(choice).collect(),
    })
}

/// Builds the question about the first of those that weren't there; `None` once there is none left.
pub(super) fn ask(state: &State, now: Instant, place: &Id, missing: &[Id], asked: &Asked) -> Option<RoundAsk> {
    let open = |id: &&Id| state.items.get(*id).is_some_and(|i| i.begin().is_some() && i.end().is_none());
    let mut left = missing.iter().filter(open);
    let fields = Fields::default();
    let c = Ctx::of(state, now, left.next()?, &fields, asked)?;
    let rest: Vec<&Id> = left.collect();
    let s = c.standing(c.id)?;
    let since = moves::since(c.item).map_or(now, |e| e.at);
    let others = moves::places(state, c.item, &s.place, true, now);
    let last: Option<LastCold> = found::last_cold(&c);
    Some(RoundAsk {
        shell: c.shell(),
        place: place.clone(),
        title: lang::round_ask(&name_of(state, c.id)),
        said: lang::round_ask_said(&task::figures(&s, c.show), &place_name(state, &s.place), &c.show.clock(since)),
        item: c.id.clone(),
        left: lang::round_left(rest.len() as i64),
        rest: rest.iter().map(|id| id.as_str()).collect::<Vec<_>>().join(","),
        found: last.map(|l| lang::found_known(&l.how)),
        out: found::out_places(&c, &s.place),
        cold: others.iter().filter(|p| holds(p)).map(|p| Choice::place(p, false)).collect(),
        endings: end::endings(),
    })
}

/// What is said after a touch on "these are here".
pub(super) fn done(state: &State, show: Show, place: &Id, seen: usize, read: bool) -> Notice {
    let name = place_name(state, place);
    let air = state.places.get(place).and_then(|p| air_today(state, show, p)).filter(|_| read);
    let air = air.map(|(_, value)| lang::round_air_done(&show.degrees(value), &name));
    let text = match air {
        Some(air) if seen == 0 => air,
        air => [Some(lang::round_done(seen as i64, &name)), air].into_iter().flatten().collect::<Vec<_>>().join(" "),
    };
    Notice { text, ..Notice::default() }
}
