//! Where an item may go next, the likeliest place first.

pub(super) use crate::board::working::since;
use crate::clock::Instant;
pub(super) use crate::exposure::controlled;
use crate::ledger::{Control, Id, Item, Place, State};
use crate::rules::Use;
use std::sync::Arc;

/// All other places, those on the wanted side first: the one it was in last, then what the side is for.
pub(super) fn places(state: &State, item: &Item, here: &Id, to_cold: bool, now: Instant) -> Vec<Arc<Place>> {
    let used: Vec<&Id> = item.truth.iter().rev().filter_map(|e| e.goes_to()).collect();
    let mut places: Vec<Arc<Place>> = state.places.values().filter(|p| p.place != *here).cloned().collect();
    places.sort_by_key(|p| {
        let last = used.iter().position(|id| **id == p.place).unwrap_or(usize::MAX);
        let usual = match (to_cold, p.control, p.r#use) {
            (true, Control::Cold, Use::Store) | (false, _, Use::Work) => 0,
            (_, Control::Frozen, _) => 2,
            _ => 1,
        };
        (controlled(p, now) != to_cold, last, usual, p.seq)
    });
    places
}
