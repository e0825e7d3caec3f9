//! What needs a person about how things were written down: late, in bursts, seen where the log has them elsewhere, and
//! what was left out when the shop closed.

use super::{APART_MS, BURST, BURST_MS, Facts, Found, Occurrence, QUIET_MS};
use crate::clock::Instant;
use crate::exposure::controlled;
use crate::ledger::{About, Body, Entry, Id, Item, State};
use crate::rules::Use;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Of what was written lately, as it reads now.
pub(super) fn matters(state: &State, now: Instant, facts: &Facts) -> Found {
    let read = facts.written.values().filter_map(|r| r.effective(u64::MAX).ok().flatten());
    let entries: Vec<Arc<Entry>> = read.collect();
    let mut found = Found::new();
    for e in &entries {
        let about_food = e.item().is_some() || e.air_of().is_some();
        if let Some(ms) = e.meta.late_ms(e.at).filter(|_| about_food) {
            // The line is of the day on which it was written.
            let at = e.meta.recorded_at.unwrap_or(e.at);
            found.push(("late", Occurrence { ms, ..of(state, e, at) }));
        }
    }
    bursts(state, &entries, &mut found);
    seen(state, &entries, &mut found);
    closing(state, &entries, now, &mut found);
    untaken(state, facts, &mut found);
    found
}

fn of(state: &State, e: &Entry, at: Instant) -> Occurrence {
    let closed = e.item().and_then(|id| state.items.get(id)).is_none_or(|i| i.end().is_some());
    Occurrence {
        about: Some(About::Seq(e.meta.seq)),
        item: e.item().cloned(),
        closed,
        place: e.air_of().cloned(),
        by: e.meta.by.clone(),
        entries: vec![e.meta.seq],
        ..Occurrence::at(at)
    }
}

/// What the ledger refused when it came, whenever that was: only a decision that names it settles it.
fn untaken(state: &State, facts: &Facts, found: &mut Found) {
    for u in &facts.untaken {
        // A decision can't be about an item that there never was: then it is about the shop.
        let about = match u.code.as_str() {
            "unknown-item" => state.config.keys().next().map(|seq| About::Seq(*seq)),
            _ => Some(About::Id(u.item.clone())),
        };
        let (item, by, untaken) = (Some(u.item.clone()), Some(u.person.clone()), Some(u.clone()));
        found.push(("not-taken", Occurrence { about, item, by, untaken, ..Occurrence::at(u.happened_at) }));
    }
}

/// Five or more by one person, written within a minute, that say they happened over more than a quarter of an hour.
/// Those that overlap are one.
fn bursts(state: &State, entries: &[Arc<Entry>], found: &mut Found) {
    let mut by_person: BTreeMap<&Id, Vec<&Arc<Entry>>> = BTreeMap::new();
    for e in entries.iter().filter(|e| e.item().is_some() || e.air_of().is_some()) {
        if let Some(by) = &e.meta.by {
            by_person.entry(by).or_default().push(e);
        }
    }
    let written = |e: &Entry| e.meta.recorded_at.unwrap_or(e.at);
    for list in by_person.values() {
        let (mut done, mut last): (usize, Option<Occurrence>) = (0, None);
        for i in 0..list.len() {
            let end = list.partition_point(|e| written(e).since(written(list[i])) <= BURST_MS);
            let near = &list[i..end];
            let (first, latest) = (near.iter().map(|e| e.at).min(), near.iter().map(|e| e.at).max());
            let (Some(first), Some(latest)) = (first, latest) else { continue };
            if near.len() < BURST || latest.since(first) <= APART_MS {
                continue;
            }
            match last.as_mut().filter(|_| i < done) {
                Some(burst) => burst.ms = burst.ms.max(latest.since(first)),
                None => {
                    found.extend(last.take().map(|o| ("burst", o)));
                    let ms = latest.since(first);
                    last = Some(Occurrence { ms, entries: Vec::new(), ..of(state, list[i], written(list[i])) });
                }
            }
            if let Some(burst) = &mut last {
                let more = list[i.max(done)..end.max(done)].iter().map(|e| e.meta.seq);
                burst.entries.extend(more);
            }
            done = done.max(end);
        }
        found.extend(last.map(|o| ("burst", o)));
    }
}

/// Where it is by the entries up to one, or by those after it up to its next move.
fn place_at(item: &Item, key: (Instant, u64)) -> Option<&Id> {
    item.truth.iter().take_while(|e| e.key() < key).filter_map(|e| e.goes_to()).last()
}

/// Seen where the log doesn't have it. Mended by a move or a correction after which the log has it there at that
/// instant, by its next move leading there, or by its end.
fn seen(state: &State, entries: &[Arc<Entry>], found: &mut Found) {
    for e in entries {
        let Body::Seen { item: id, place } = &e.body else { continue };
        let Some(item) = state.items.get(id).filter(|i| i.end().is_none()) else { continue };
        let next = item.truth.iter().filter(|m| m.key() > e.key()).find_map(|m| m.goes_to());
        if place_at(item, e.key()).is_none_or(|logged| logged == place) || next == Some(place) {
            continue;
        }
        found.push(("seen-elsewhere", Occurrence { place: Some(place.clone()), ..of(state, e, e.at) }));
    }
}

/// When the shop closed: the last entries of people's before nothing was written for long.
fn closings(entries: &[Arc<Entry>], now: Instant) -> Vec<Instant> {
    let people = entries.iter().filter(|e| !matches!(e.body, Body::AirReading { .. }) && e.meta.by_how.is_some());
    let times: Vec<Instant> = people.filter_map(|e| e.meta.recorded_at).chain([now]).collect();
    times.windows(2).filter(|w| w[1].since(w[0]) >= QUIET_MS).map(|w| w[0]).collect()
}

/// What is open still and was out when the shop closed. Mended by its end, or by an entry after which it was in the
/// cold by then.
fn closing(state: &State, entries: &[Arc<Entry>], now: Instant, found: &mut Found) {
    let closings = closings(entries, now);
    // What needs no time control may stand out as long as it likes.
    let ruled = |i: &Item| i.begin().is_some_and(|(e, b)| !state.rules_of(b, e.meta.seq).is_empty());
    for (id, item) in state.items.iter().filter(|(_, i)| i.end().is_none() && ruled(i)) {
        for at in &closings {
            let Some(place) = place_at(item, (*at, u64::MAX)) else { continue };
            // With others it stands out as others will.
            if state.places.get(place).is_none_or(|p| controlled(p, *at) || p.r#use == Use::Away) {
                continue;
            }
            let (about, place) = (Some(About::Id(id.clone())), Some(place.clone()));
            found.push(("out-at-closing", Occurrence { about, place, item: Some(id.clone()), ..Occurrence::at(*at) }));
        }
    }
}
