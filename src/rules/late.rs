//! Late entries and corrections that moved an item's discard-by time past what its mark says.

use super::standing::discard_by;
use crate::clock::{Instant, Zone};
use crate::exposure::Fold;
use crate::ledger::{Body, Entry, Id, Item, Record, State};
use std::collections::BTreeSet;

/// When such entries were entered, in order of `seq`.
pub(super) fn moved_past_mark(state: &State, zone: Zone, id: &Id) -> Vec<Instant> {
    let Some(item) = state.items.get(id) else { return Vec::new() };
    let marks = item.records.iter().filter(|r| matches!(r.original.body, Body::Mark { .. }));
    let Some(first) = marks.map(|r| r.original.meta.seq).next() else { return Vec::new() };
    let near = Near::of(state, id);
    let mut found = Vec::new();
    for (seq, entered) in near.late_after(state, first) {
        let after = near.known(state, seq);
        let Some(by) = after.items.get(id).and_then(|i| last_mark(i, seq)) else { continue };
        let reach = |known: &State| discard_by(&Fold::new(known, entered, zone), id).unwrap_or(Instant::FAR);
        let moved_to = reach(&after);
        if moved_to > by && moved_to > reach(&near.known(state, seq - 1)) {
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

    /// What is written of these items and places, and of the set-up.
    fn records<'a>(&'a self, state: &'a State) -> impl Iterator<Item = &'a Record> {
        let items = self.items.iter().filter_map(|id| state.items.get(id)).flat_map(|i| &i.records);
        let places = self.places.iter().filter_map(|id| state.places.get(id)).flat_map(|p| p.records.values());
        items.chain(places).chain(state.config.values())
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
        let mut known = State::default();
        let records = self.records(state).filter(|r| r.original.meta.seq <= seq);
        let mut records: Vec<&Record> = records.collect();
        records.sort_by_key(|r| r.original.meta.seq);
        // What was accepted then is accepted again; of what later corrections changed, nothing is read.
        for r in &records {
            _ = known.insert(r.original.clone());
        }
        for r in records {
            if let Some(c) = r.corrections.iter().rev().find(|c| c.meta.seq <= seq) {
                _ = known.correct(&r.original, c.clone());
            }
        }
        known
    }
}
