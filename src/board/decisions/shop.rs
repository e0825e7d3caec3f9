//! What needs a person about the shop: rules in use without an approval, cold places that nobody read, days that nobody
//! signed, and the written procedure.

use super::{BACK_DAYS, Facts, Found, Occurrence, UNREAD_MS};
use crate::clock::{Instant, Zone};
use crate::ledger::{About, Body, Control, Entry, Id, Record, State};
use crate::record::procedure::Due;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Of the shop as it is set up.
pub(super) fn matters(state: &State, now: Instant, zone: Zone, facts: &Facts) -> Found {
    let others: Vec<_> = state.others.values().filter_map(|r| r.effective(u64::MAX).ok().flatten()).collect();
    let mut found = Found::new();
    rules(state, &others, &mut found);
    readings(state, now, zone, &mut found);
    lapses(facts, &mut found);
    days(&others, now, zone, facts, &mut found);
    // A server's clock is no shop's: what is decided about it is about the ledger, so about its first entry.
    let clock = |(at, ms): &(Instant, i64)| Occurrence { about: Some(About::Seq(1)), ms: *ms, ..Occurrence::at(*at) };
    found.extend(facts.jumps.iter().map(|jump| ("clock-jumped", clock(jump))));
    match &facts.procedure {
        Some(Due::NoneInForce) => {
            let begun = state.config.values().next().map_or(now, Record::at);
            found.push(("no-procedure", Occurrence::at(begun)));
        }
        Some(Due::Review(date)) => {
            let day = Zone::parse_date(date).map_or(now, |d| zone.day_starts(d));
            found.push(("procedure-review", Occurrence::at(day)));
        }
        None => {}
    }
    found
}

/// A rule works without it; but whoever relies on what isn't published says on what grounds.
fn rules(state: &State, others: &[Arc<Entry>], found: &mut Found) {
    let approved: BTreeSet<&Id> = others
        .iter()
        .filter_map(|e| match &e.body {
            Body::Approve { what, reference: Some(_) } => Some(what),
            _ => None,
        })
        .collect();
    for (id, (seq, rule)) in &state.rules {
        if &*rule.source.basis == "published" || approved.contains(id) {
            continue;
        }
        let at = state.config.get(seq).map_or(Instant::NEVER, Record::at);
        let about = Some(About::Seq(*seq));
        found.push(("rule-unapproved", Occurrence { about, rule: Some(id.clone()), ..Occurrence::at(at) }));
    }
}

/// A line a day, so that what was decided yesterday is asked again today.
fn readings(state: &State, now: Instant, zone: Zone, found: &mut Found) {
    let today = zone.day_starts(zone.day(now));
    for (id, p) in state.places.iter().filter(|(_, p)| p.control != Control::None) {
        let begun = state.config.get(&p.seq).and_then(|r| r.original.meta.recorded_at);
        let read = p.air.get_max().map(|((at, _), _)| *at);
        let since = read.into_iter().chain(begun).max().unwrap_or(state.air_since);
        if now.since(since) > UNREAD_MS {
            let about = Some(About::Id(id.clone()));
            found.push(("no-reading", Occurrence { about, place: Some(id.clone()), since, ..Occurrence::at(today) }));
        }
    }
}

/// Lapses that nobody has written; one that was written leaves nothing to propose.
fn lapses(facts: &Facts, found: &mut Found) {
    for p in facts.cold.iter().flat_map(|c| &c.proposals) {
        let (about, place, lapse) = (Some(About::Id(p.place.clone())), Some(p.place.clone()), Some(p.clone()));
        found.push((p.why.code(), Occurrence { about, place, lapse, ..Occurrence::at(p.from) }));
    }
}

/// The local day that an entry belongs to in the day's review: that on which it happened, as it reads now.
pub fn day_of(record: &Record, zone: Zone) -> Option<i64> {
    let oversight = matches!(record.original.body, Body::Decide { .. } | Body::Approve { .. } | Body::Review { .. });
    (!oversight).then(|| zone.day(record.at()))
}

/// Days with entries written since they were last signed. What is written later about a signed day opens it again.
fn days(others: &[Arc<Entry>], now: Instant, zone: Zone, facts: &Facts, found: &mut Found) {
    let today = zone.day(now);
    let mut last: BTreeMap<i64, u64> = BTreeMap::new();
    for (seq, r) in &facts.written {
        let newest = r.corrections.last().map_or(*seq, |c| c.meta.seq);
        // By what is read now and by what was first written: a correction may move it into another day.
        let days = day_of(r, zone).into_iter().flat_map(|day| [day, zone.day(r.original.at)]);
        for day in days.filter(|day| *day < today && *day >= today - BACK_DAYS) {
            let known = last.entry(day).or_default();
            *known = newest.max(*known);
        }
    }
    let day = |text: &str| text.get(..10).and_then(Zone::parse_date);
    let signed = |day_asked: i64, newest: u64| {
        others.iter().filter(|e| e.meta.seq > newest).any(|e| match &e.body {
            Body::Review { from, to } => {
                day(from).is_some_and(|d| d <= day_asked) && day(to).is_some_and(|d| d >= day_asked)
            }
            _ => false,
        })
    };
    for (day, newest) in last {
        if !signed(day, newest) {
            found.push(("unsigned", Occurrence::at(zone.day_starts(day))));
        }
    }
}
