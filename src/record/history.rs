//! What some weeks come to: minutes out by place, time used at hand-over, discards by reason. Counts and lists; a median
//! only of enough. Pure.

use super::account::{Account, Named};
use crate::clock::{Instant, MINUTE_MS};
use crate::ledger::{CloseAs, Id};
use std::collections::BTreeMap;

/// Of fewer items than this no median is said, but each is listed: this project's choice.
pub const FEW: usize = 20;
/// The width of a bar of the second chart, milliseconds: this project's choice, half an hour.
pub const STEP_MS: i64 = 30 * MINUTE_MS;

/// Time out in one place.
#[derive(Clone, PartialEq, Debug)]
pub struct There {
    /// The place.
    pub place: Named,
    /// Items' own time out there, added up; milliseconds.
    pub ms: i64,
    /// Of how many items.
    pub items: usize,
}

/// An item that was handed over, sold or served, and the time it had been out in all by then.
#[derive(Clone, PartialEq, Debug)]
pub struct Handed {
    /// The item.
    pub item: Named,
    /// When.
    pub at: Instant,
    /// Time out in all, inherited time included; milliseconds.
    pub used_ms: i64,
}

/// What some weeks come to.
#[derive(Default, Debug)]
pub struct History {
    /// How many items were looked at.
    pub items: usize,
    there: BTreeMap<Id, There>,
    handed: Vec<Handed>,
    discards: BTreeMap<String, usize>,
}

impl History {
    /// Adds an item: what of it happened from `begins` up to before `ends`.
    pub fn add(&mut self, a: &Account, begins: Instant, ends: Instant) {
        let within = |at: Instant| begins <= at && at < ends;
        self.items += 1;
        let mut seen: Vec<&Id> = Vec::new();
        for spell in a.spells.iter().filter(|s| s.inherited_from.is_none()) {
            let (from, to) = (spell.from.max(begins), spell.to.unwrap_or(a.standing.as_of).min(ends));
            if from >= to {
                continue;
            }
            let named = a.lines.iter().filter_map(|l| l.out.place.as_ref()).find(|p| p.id == spell.place);
            let place =
                named.cloned().unwrap_or_else(|| Named { id: spell.place.clone(), name: spell.place.to_string() });
            let there = self.there.entry(spell.place.clone()).or_insert(There { place, ms: 0, items: 0 });
            there.ms += to.since(from);
            if !seen.contains(&&spell.place) {
                seen.push(&spell.place);
                there.items += 1;
            }
        }
        for c in a.closed.iter().filter(|c| within(c.stamp.at)) {
            if c.how == CloseAs::Discarded {
                let reason = c.reason.as_deref().unwrap_or_default().trim().to_owned();
                *self.discards.entry(reason).or_default() += 1;
            }
        }
        // Of the whole of it: what had gone before had used less.
        let last = a.closed.last().filter(|c| within(c.stamp.at) && c.stamp.at == a.standing.as_of);
        if let Some(c) = last.filter(|c| matches!(c.how, CloseAs::Served | CloseAs::Sold | CloseAs::HandedOver)) {
            let used_ms = a.standing.total_out_ms;
            self.handed.push(Handed { item: a.item.clone(), at: c.stamp.at, used_ms });
        }
    }

    /// Time out by place, the longest first.
    pub fn by_place(&self) -> Vec<There> {
        let mut all: Vec<There> = self.there.values().cloned().collect();
        all.sort_by(|a, b| (b.ms, &a.place.id).cmp(&(a.ms, &b.place.id)));
        all
    }

    /// What was handed over, the most time used first.
    pub fn handed(&self) -> Vec<Handed> {
        let mut all = self.handed.clone();
        all.sort_by(|a, b| (b.used_ms, &a.item.id).cmp(&(a.used_ms, &b.item.id)));
        all
    }

    /// How many had used how much: each bar's left end in milliseconds and its count, from none on, without gaps.
    pub fn bars(&self) -> Vec<(i64, usize)> {
        let last = self.handed.iter().map(|h| h.used_ms / STEP_MS).max();
        let count = |n: i64| self.handed.iter().filter(|h| h.used_ms / STEP_MS == n).count();
        last.map_or_else(Vec::new, |last| (0..=last).map(|n| (n * STEP_MS, count(n))).collect())
    }

    /// The time used that `percent` of the items had not gone beyond, of at least [`FEW`]: the smallest that is enough
    /// (the nearest rank, which invents no figure between two).
    pub fn at_most(&self, percent: usize) -> Option<i64> {
        let mut used: Vec<i64> = self.handed.iter().map(|h| h.used_ms).collect();
        used.sort_unstable();
        let rank = (used.len() * percent).div_ceil(100).max(1);
        (used.len() >= FEW).then(|| used[rank - 1])
    }

    /// Discards by their reason, the most frequent first; an empty reason where none was given.
    pub fn discards(&self) -> Vec<(&str, usize)> {
        let mut all: Vec<(&str, usize)> = self.discards.iter().map(|(r, n)| (r.as_str(), *n)).collect();
        all.sort_by(|a, b| (b.1, a.0).cmp(&(a.1, b.0)));
        all
    }
}
