//! Late entries and corrections that moved an item's discard-by time past what its mark says.

use super::Measure;
use super::standing::discard_by;
use crate::clock::{Instant, Zone};
use crate::exposure::{AIR_HOLDS_MS, Fold};
use crate::ledger::{Body, Change, Entry, Id, Item, Place, Record, State};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// When such entries were entered, up to the instant asked about, in order of `seq`. What was entered after the item had
/// closed is among them.
pub(super) fn moved_past_mark(state: &State, zone: Zone, asked: Instant, id: &Id) -> Vec<Instant> {
    let Some(item) = state.items.get(id) else { return Vec::new() };
    let marks = item.records.iter().filter(|r| matches!(r.original.body, Body::Mark { .. }));
    let Some(first) = marks.map(|r| r.original.meta.seq).next() else { return Vec::new() };
    let near = Near::of(state, id);
    let corrected = near.corrected(state);
    let mut found = Vec::new();
    let late = near.late_after(state, &corrected, item, first);
    for (seq, entered) in late.into_iter().filter(|(_, entered)| *entered <= asked) {
        let after = near.known(state, &corrected, seq, entered);
        let Some(by) = after.items.get(id).and_then(|i| last_mark(i, seq)) else { continue };
        let reach = |known: &State| discard_by(&Fold::new(known, entered, zone), id).unwrap_or(Instant::FAR);
        let moved_to = reach(&after);
        if moved_to > by && moved_to > reach(&near.known(state, &corrected, seq - 1, entered)) {
            found.push(entered);
        }
    }
    found
}

/// What the last mark written before `seq` says.
fn last_mark(item: &Item, seq: u64) -> Option<Instant> {
    item.truth.iter().rev().filter(|e| e.meta.seq < seq).find_map(|e| match e.body {
        Body::Mark { discard_by, .. } => Some(discard_by),
        _ => None,
    })
}

/// An entry as it was written and as it was read after each correction.
fn versions(record: &Record) -> impl Iterator<Item = Arc<Entry>> {
    let later = record.corrections.iter().filter_map(|c| record.effective(c.meta.seq).ok().flatten());
    std::iter::once(record.original.clone()).chain(later)
}

/// The instants an entry was ever said to have happened at.
fn times(record: &Record) -> impl Iterator<Item = Instant> {
    let corrected = record.corrections.iter().filter_map(|c| match &c.body {
        Body::Correct { change: Change::Set(set), .. } => set.get("at")?.as_str().and_then(Instant::parse),
        _ => None,
    });
    std::iter::once(record.original.at).chain(corrected)
}

/// Records that have corrections, by `seq`.
type Corrected<'a> = BTreeMap<u64, &'a Record>;

/// The items an item was made from, itself included, and the places they were ever in.
struct Near {
    items: BTreeSet<Id>,
    places: BTreeSet<Id>,
    /// The earliest that any of them began.
    first: Instant,
    /// Whether a rule of theirs asks for the air.
    air: bool,
}

impl Near {
    fn of(state: &State, id: &Id) -> Near {
        // A corrected set-up may have asked for the air at some time.
        let air = state.config.values().any(|r| !r.corrections.is_empty());
        let mut near = Near { items: BTreeSet::new(), places: BTreeSet::new(), first: Instant::FAR, air };
        let mut todo = vec![id.clone()];
        while let Some(id) = todo.pop() {
            let Some(item) = state.items.get(&id) else { continue };
            if !near.items.insert(id) {
                continue;
            }
            for e in item.records.iter().flat_map(versions) {
                near.first = near.first.min(e.at);
                todo.extend_from_slice(e.parents());
                match &e.body {
                    Body::Item(b) => {
                        near.add_place(&b.place);
                        let rules = state.rules_of(b, e.meta.seq);
                        let mut clauses = rules.iter().flat_map(|r| &r.clauses);
                        near.air |= clauses.any(|c| matches!(c.measure, Measure::OutAbove { .. }));
                    }
                    Body::Move { place, .. } => near.add_place(place),
                    _ => {}
                }
            }
        }
        near
    }

    fn add_place(&mut self, id: &Id) {
        if !self.places.contains(id) {
            self.places.insert(id.clone());
        }
    }

    fn items<'a>(&'a self, state: &'a State) -> impl Iterator<Item = (&'a Id, &'a Arc<Item>)> {
        self.items.iter().filter_map(|id| Some((id, state.items.get(id)?)))
    }

    fn places<'a>(&'a self, state: &'a State) -> impl Iterator<Item = (&'a Id, &'a Arc<Place>)> {
        self.places.iter().filter_map(|id| Some((id, state.places.get(id)?)))
    }

    /// From when on the air matters to them: an older reading no longer holds when the first of them begins.
    fn air_from(&self) -> Instant {
        self.first.plus(-AIR_HOLDS_MS)
    }

    /// The corrected records of lapses and air that may matter: of whatever place they were written, a correction may have
    /// moved them into one of these, or out of it.
    fn corrected<'a>(&self, state: &'a State) -> Corrected<'a> {
        let from = self.air_from();
        let here = |e: &Entry| e.air_of().is_some_and(|place| self.places.contains(place));
        let of_place = |place: &'a Arc<Place>| {
            let find = |n: &u64| place.records.get(n);
            let air = self.air.then(|| place.odd_air.corrected.iter().filter_map(find));
            let air = air.into_iter().flatten().filter(|r| times(r).any(|at| at >= from));
            place.odd_lapses.corrected.iter().filter_map(find).chain(air).collect::<Vec<_>>()
        };
        let all = state.places.values().flat_map(of_place);
        all.filter(|r| versions(r).any(|e| here(&e))).map(|r| (r.original.meta.seq, r)).collect()
    }

    /// The late entries and corrections after `seq` that may concern the item, each with when it was entered.
    fn late_after(&self, state: &State, corrected: &Corrected, item: &Item, seq: u64) -> Vec<(u64, Instant)> {
        let mut late = Vec::new();
        let mut take = |e: &Entry, always: bool| {
            if e.meta.seq > seq && (always || e.meta.late_ms(e.at).is_some()) {
                late.push((e.meta.seq, e.meta.recorded_at.unwrap_or(e.at)));
            }
        };
        // A set-up counts for what is written after it, so only its corrections reach back.
        let config = state.config.values().filter(|r| !r.corrections.is_empty());
        for record in self.items(state).flat_map(|(_, i)| &i.records).chain(config) {
            take(&record.original, false);
            record.corrections.iter().for_each(|c| take(c, true));
        }
        // Once it is closed, what is written about a place's time after that is nothing to it.
        let (last, end) = closed(item).unwrap_or((u64::MAX, Instant::FAR));
        let nothing = |n: u64, at: Instant| n > last && at > end;
        for record in corrected.values() {
            if !times(record).all(|at| nothing(record.original.meta.seq, at)) {
                take(&record.original, false);
                record.corrections.iter().for_each(|c| take(c, true));
            }
        }
        for (_, place) in self.places(state) {
            let known = |n: &u64| place.records.get(n).map(|r| &r.original);
            let lapses = place.odd_lapses.late.iter().filter(|(at, n)| !nothing(*n, *at));
            lapses.filter_map(|(_, n)| known(n)).for_each(|e| take(e, false));
            if self.air {
                let lived = place.records.range(seq + 1..).take_while(|(n, _)| **n <= last);
                lived.for_each(|(_, r)| take(&r.original, false));
                let from = self.air_from();
                let after = place.odd_air.late.range((from, 0)..).take_while(|(at, _)| *at <= end && last < u64::MAX);
                after.filter(|(_, n)| *n > last).filter_map(|(_, n)| known(n)).for_each(|e| take(e, false));
            }
        }
        late.sort_unstable();
        late.dedup();
        late
    }

    /// The ledger around the item as it was known at `seq`, for looking at it at `t`.
    fn known(&self, state: &State, corrected: &Corrected, seq: u64, t: Instant) -> State {
        let set_up = set_up(state, seq);
        let mut known = State { items: Default::default(), places: Default::default(), ..set_up.clone() };
        for (id, now) in self.places(state) {
            let Some(then) = set_up.places.get(id) else { continue };
            let mut place = Place { lapses: now.lapses.clone(), air: now.air.clone(), ..(**then).clone() };
            place.longest_lapse_ms = now.longest_lapse_ms;
            self.unwrite(now, &mut place, corrected, seq, t);
            let said = |record: &Record, seq| record.effective(seq).ok().flatten().filter(|e| e.air_of() == Some(id));
            for record in corrected.values() {
                if let Some(e) = said(record, u64::MAX) {
                    place.take(&e);
                }
                if let Some(e) = said(record, seq) {
                    place.put(&e);
                }
            }
            known.places.insert(id.clone(), Arc::new(place));
        }
        for (id, i) in self.items(state) {
            let mut truth: Vec<_> = i.records.iter().filter_map(|r| r.effective(seq).ok().flatten()).collect();
            truth.sort_by_key(|e| e.key());
            known.items.insert(id.clone(), Arc::new(Item { truth, ..Item::default() }));
        }
        known
    }

    /// Takes away what was written after `seq` of the time that matters up to `t`: the fold reads nothing beyond.
    fn unwrite(&self, now: &Place, place: &mut Place, corrected: &Corrected, seq: u64, t: Instant) {
        if self.air && self.air_from() <= t {
            let within = now.air.range((self.air_from(), 0)..=(t, u64::MAX));
            for (key, _) in within.filter(|((_, n), _)| *n > seq) {
                place.air.remove(key);
            }
        }
        let from = (self.first.plus(-now.longest_lapse_ms), 0);
        if from <= (t, u64::MAX) {
            for (key, _) in now.lapses.range(from..=(t, u64::MAX)).filter(|((_, n), _)| *n > seq) {
                place.lapses.remove(key);
            }
        }
        // Whether a lapse was open then, the last word before tells.
        for (key, e) in now.lapses.range(..from).rev() {
            if key.1 > seq {
                place.lapses.remove(key);
            } else if !matches!(e.body, Body::Lapse { until: Some(_), .. }) && !corrected.contains_key(&key.1) {
                break;
            }
        }
    }
}

/// From which `seq` on it has been known when the item closed, and when it did; none if it is open, or if a
/// correction may have moved that.
fn closed(item: &Item) -> Option<(u64, Instant)> {
    let end = item.end()?;
    let plain = item.records.iter().all(|r| r.corrections.is_empty());
    let closes = item.truth.iter().filter(|e| matches!(e.body, Body::Close { .. }));
    closes.map(|e| e.meta.seq).max().filter(|_| plain).map(|last| (last, end.at))
}

/// The set-up as it was known at `seq`. What was added to it since concerns nothing written before.
fn set_up(state: &State, seq: u64) -> State {
    let since = |r: &Record| r.corrections.iter().any(|c| c.meta.seq > seq);
    if !state.config.values().any(since) {
        return state.clone();
    }
    let mut known = State::default();
    let records = || state.config.values().filter(|r| r.original.meta.seq <= seq);
    // What was accepted then is accepted again; of what later corrections changed, nothing is read.
    for r in records() {
        _ = known.insert(r.original.clone());
    }
    for r in records() {
        if let Some(c) = r.corrections.iter().rev().find(|c| c.meta.seq <= seq) {
            _ = known.correct(&r.original, c.clone());
        }
    }
    known
}
