//! Working windows: until when an item can be worked with, from when on again, and when it was meant to be moved next.
//! Hints beside the clock: no verdict hangs on them, and they never lengthen what a rule allows. Pure.

use crate::clock::Instant;
use crate::exposure::Fold;
use crate::ledger::{Entry, Id, Item, State};
use std::collections::HashMap;
use std::sync::Arc;

/// The longest that a move is planned ahead by one touch, in minutes: this project's choice, a day.
pub const AHEAD_MOST: i64 = 24 * 60;

/// How an item is to work with.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Texture {
    /// Out, and too soft from this instant on.
    Soft(Instant),
    /// In the cold after it was out, and firm from this instant on.
    Firm(Instant),
}

/// When an item is meant to be moved next, said when it came where it is. It holds until it is moved again.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ComeBack {
    /// The entry that brought it where it is.
    pub entry: u64,
    /// When it is meant to be moved.
    pub at: Instant,
}

/// A shop's planned moves.
pub type ComeBacks = HashMap<Id, ComeBack>;

/// What its product's hints say; time out adds up until it has been firm again, as time out does for a rule.
pub fn texture<'a>(fold: &Fold<'a>, id: &'a Id) -> Option<Texture> {
    let (entry, begin) = fold.state().items.get(id)?.begin()?;
    let product = fold.state().product(begin.product.as_ref()?, entry.meta.seq)?;
    let stretches = fold.stretches(id);
    let (since, out) = *stretches.last()?;
    if !out {
        return (stretches.len() > 1).then_some(Texture::Firm(since.plus(product.firm_ms?)));
    }
    let mut used = 0;
    for pair in stretches.windows(2) {
        let length = pair[1].0.since(pair[0].0);
        match pair[0].1 {
            true => used += length,
            false if product.firm_ms.is_none_or(|firm| length >= firm) => used = 0,
            false => {}
        }
    }
    Some(Texture::Soft(since.plus(product.soft_ms? - used)))
}

/// The entry that brought it where it is.
pub fn since(item: &Item) -> Option<&Arc<Entry>> {
    item.truth.iter().rev().find(|e| e.goes_to().is_some())
}

/// When it is meant to be moved next, if it hasn't been since that was said.
pub fn planned(state: &State, id: &Id, all: &ComeBacks) -> Option<Instant> {
    let item = state.items.get(id).filter(|i| i.end().is_none())?;
    let plan = all.get(id)?;
    (since(item)?.meta.seq == plan.entry).then_some(plan.at)
}

/// Those that were meant to be moved by now and weren't.
pub fn overdue(state: &State, all: &ComeBacks, now: Instant) -> Vec<Id> {
    let mut late: Vec<(Instant, &Id)> =
        all.keys().filter_map(|id| Some((planned(state, id, all).filter(|at| *at <= now)?, id))).collect();
    late.sort();
    late.into_iter().map(|(_, id)| id.clone()).collect()
}
