//! Late entries and corrections that moved an item's discard-by time past what its mark says.

use super::standing::discard_by;
use crate::clock::{Instant, Zone};
use crate::exposure::Fold;
use crate::ledger::{Body, Entry, Id, Item, Place, Record, State};
use std::collections::BTreeSet;
use std::sync::Arc;

/// When such entries were entered, in order of `seq`.
pub(super) fn moved_past_mark(state: &State, zone: Zone, id: &Id) -> Vec<Instant> {
    let Some(item) = state.items.get(id) else { return Vec::new() };
    let marks: Vec<&Record> = item.records.iter().filter(|r| matches!(r.original.body, Body::Mark { .. })).collect();
    let Some(first) = marks.first().map(|r| r.original.meta.seq) else { return Vec::new() };
    let near = Near::of(state, id);
    let mut found = Vec::new();
    for (seq, entered) in near.late_after(state, first) {
        let Some(by) = marks.iter().rev().find(|r| r.original.meta.seq < seq).and_then(|r| mark(r, seq)) else {
            continue;
        };
        let at = |upto| {
            let known = near.known(state, upto);
            discard_by(&Fold::new(&known, entered, zone), id).unwrap_or(Instant::FAR)
        };
        let after = at(seq);
        if after > by && after > at(seq - 1) {
            found.push(entered);
        }
    }
    found
}

fn mark(record: &Record, seq: u64) -> Option<Instant> {
    match record.effective(seq).ok()??.body {
        Body::Mark { discard_by, .. } => Some(discard_by),
        _ => None,
    }
}

/// The items an item was made from, itself included, and the places they were ever in.
struct Near {
    items: BTreeSet<Id>,
    places: BTreeSet<Id>,
}

impl Near {
    fn of(state: &State, id: &Id) -> Near {
        let mut near = Near { items: BTreeSet::new(), places: BTreeSet::new() };
        let mut todo = vec![id.clone()];
        while let Some(id) = todo.pop() {
            let Some(item) = state.items.get(&id) else { continue };
            if !near.items.insert(id) {
                continue;
            }
            for e in item.records.iter().map(|r| &r.original).chain(&item.truth) {
                todo.extend_from_slice(e.parents());
                match &e.body {
                    Body::Item(b) => _ = near.places.insert(b.place.clone()),
                    Body::Move { place, .. } => _ = near.places.insert(place.clone()),
                    _ => {}
                }
            }
        }
        near
    }

    fn records<'a>(&'a self, state: &'a State) -> impl Iterator<Item = &'a Record> {
        let items = self.items.iter().filter_map(|id| state.items.get(id)).flat_map(|i| &i.records);
        let places = self.places.iter().filter_map(|id| state.places.get(id)).flat_map(|p| p.records.values());
        items.chain(places)
    }

    /// The late entries and corrections after `seq`, each with when it was entered.
    fn late_after(&self, state: &State, seq: u64) -> Vec<(u64, Instant)> {
        let mut late = Vec::new();
        let mut take = |e: &Entry, always: bool| {
            if e.meta.seq > seq && (always || e.meta.late_ms(e.at).is_some()) {
                late.push((e.meta.seq, e.meta.recorded_at.unwrap_or(e.at)));
            }
        };
        for record in self.records(state) {
            take(&record.original, false);
            record.corrections.iter().for_each(|c| take(c, true));
        }
        late.sort_unstable();
        late
    }

    /// The ledger around the item as it was known at `seq`.
    fn known(&self, state: &State, seq: u64) -> State {
        let mut known = State { items: Default::default(), places: Default::default(), ..state.clone() };
        for (id, p) in self.places.iter().filter_map(|id| Some((id, state.places.get(id)?))) {
            let mut place = Place { lapses: Default::default(), air: Default::default(), ..(**p).clone() };
            for e in p.records.values().filter_map(|r| r.effective(seq).ok().flatten()) {
                match &e.body {
                    Body::AirReading { value, .. } => _ = place.air.insert(e.key(), value.exact()),
                    _ => _ = place.lapses.insert(e.key(), e),
                }
            }
            known.places.insert(id.clone(), Arc::new(place));
        }
        for (id, i) in self.items.iter().filter_map(|id| Some((id, state.items.get(id)?))) {
            let mut truth: Vec<_> = i.records.iter().filter_map(|r| r.effective(seq).ok().flatten()).collect();
            truth.sort_by_key(|e| e.key());
            known.items.insert(id.clone(), Arc::new(Item { truth, ..Item::default() }));
        }
        known
    }
}
