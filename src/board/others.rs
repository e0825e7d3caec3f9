//! With others: what was handed over and whose clock runs on, in a place of use `away`. Pure.

use crate::clock::{HOUR_MS, Instant};
use crate::ledger::{Entry, Id, Item, State};
use crate::rules::Use;
use std::sync::Arc;

/// How long after it was handed over an item of which nobody reported anything is closed.
pub const REPORT_MS: i64 = 24 * HOUR_MS;
/// What its close then gives as the reason.
pub const NOT_REPORTED: &str = "not reported";

/// Whether a place is in others' hands.
fn away(state: &State, place: &Id) -> bool {
    state.places.get(place).is_some_and(|p| p.r#use == Use::Away)
}

/// Whether an item is in others' hands.
pub fn with_others(state: &State, item: &Item) -> bool {
    item.end().is_none() && item.place().is_some_and(|p| away(state, p))
}

/// The entry that handed it over: the first of those that kept it in others' hands since.
pub fn handed_over<'i>(state: &State, item: &'i Item) -> Option<&'i Arc<Entry>> {
    let stays = item.truth.iter().rev().filter_map(|e| Some((e, e.goes_to()?)));
    stays.take_while(|(_, place)| away(state, place)).last().map(|(e, _)| e)
}

/// Items of which nobody reported anything for too long, and when each is closed: not before its last entry.
pub fn unreported(state: &State, now: Instant) -> Vec<(Id, Instant)> {
    let due = |(id, item): (&Id, &Arc<Item>)| {
        let at = handed_over(state, item)?.at.plus(REPORT_MS);
        let at = at.max(item.truth.last()?.at);
        (at <= now).then(|| (id.clone(), at))
    };
    state.items.iter().filter(|(_, i)| with_others(state, i)).filter_map(due).collect()
}
