//! One item's account: what the record says of it, whoever renders it. Folded once, from the ledger as it stands. Pure.

use super::corrected::{Corrected, corrected};
use super::marking::{Mark, marks};
use super::said::{Decided, Said, Signed};
use crate::clock::{HOUR_MS, Instant};
use crate::exposure::{Fold, Spell};
use crate::ledger::{Body, CloseAs, Entry, Id, Item, Place, State, Temperature};
use crate::rules::{Rule, Standing, Verdict, standing};
use std::sync::Arc;

/// Something with its name.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Named {
    /// Its id.
    pub id: Id,
    /// For people; the id where it isn't at hand.
    pub name: String,
}

impl Named {
    /// An item.
    pub fn item(state: &State, id: &Id) -> Named {
        let begin = state.items.get(id).and_then(|i| i.begin());
        Named { id: id.clone(), name: begin.map_or_else(|| id.to_string(), |(_, b)| b.name.to_string()) }
    }

    /// A place.
    pub fn place(state: &State, id: &Id) -> Named {
        let name = state.places.get(id).map_or_else(|| id.to_string(), |p| p.name.to_string());
        Named { id: id.clone(), name }
    }
}

/// That something was written down: when it happened, by whom, how late.
#[derive(Clone, PartialEq, Debug)]
pub struct Stamp {
    /// When it happened, as it reads now.
    pub at: Instant,
    /// Who wrote it.
    pub by: Option<Id>,
    /// Its number.
    pub seq: u64,
    /// How much later than it happened it was written down, where that is over two minutes.
    pub late_ms: Option<i64>,
}

impl Stamp {
    /// Of an entry.
    pub fn of(e: &Entry) -> Stamp {
        Stamp { at: e.at, by: e.meta.by.clone(), seq: e.meta.seq, late_ms: e.meta.late_ms(e.at) }
    }
}

/// One end of a stretch out: when, by which entry, how warm the food was.
#[derive(Clone, PartialEq, Debug)]
pub struct Side {
    /// When.
    pub at: Instant,
    /// The entry that says so; none for an inherited stretch, whose entries are the parent's.
    pub stamp: Option<Stamp>,
    /// Where it came to.
    pub place: Option<Named>,
    /// The last food reading within the hour before.
    pub temperature: Option<Temperature>,
}

/// A stretch out in one place: one of the lines that add up to the total.
#[derive(Clone, PartialEq, Debug)]
pub struct Line {
    /// Its number, from 1.
    pub n: usize,
    /// The parent that brought it.
    pub inherited_from: Option<Named>,
    /// Taken out, and to where.
    pub out: Side,
    /// Put back, or ended; none while it lasts.
    pub back: Option<Side>,
    /// Its length, milliseconds.
    pub ms: i64,
    /// It and all before it, milliseconds.
    pub sum_ms: i64,
}

/// A temperature of the food.
#[derive(Clone, PartialEq, Debug)]
pub struct Reading {
    /// The entry.
    pub stamp: Stamp,
    /// What was read.
    pub value: Temperature,
    /// With which probe.
    pub probe: Option<Id>,
    /// The item that was probed for all of a rack, if that was another.
    pub probed: Option<Named>,
}

/// The end of an item or of some of it.
#[derive(Clone, PartialEq, Debug)]
pub struct Closed {
    /// The entry.
    pub stamp: Stamp,
    /// How.
    pub how: CloseAs,
    /// Of how many; none for all that was left.
    pub count: Option<u32>,
    /// Why.
    pub reason: Option<Box<str>>,
}

/// What the record says of an item.
#[derive(Clone, Debug)]
pub struct Account {
    /// The item.
    pub item: Named,
    /// Its product.
    pub product: Option<Named>,
    /// Its lot.
    pub lot: Option<Box<str>>,
    /// How many.
    pub count: u32,
    /// What it was made from, filled with or split off, in order.
    pub made_from: Vec<Named>,
    /// The rules it is under.
    pub rules: Vec<Arc<Rule>>,
    /// Its beginning.
    pub begun: Stamp,
    /// Where that was.
    pub begun_in: Named,
    /// How it stands, or stood as it closed.
    pub standing: Standing,
    /// What the strip is drawn from.
    pub spells: Vec<Spell>,
    /// The lines that add up to the total.
    pub lines: Vec<Line>,
    /// Every food reading.
    pub readings: Vec<Reading>,
    /// Every mark in effect.
    pub marks: Vec<Mark>,
    /// How it ended, in parts.
    pub closed: Vec<Closed>,
    /// Entries of it that were written down late, and their kinds.
    pub late: Vec<(&'static str, Stamp)>,
    /// Everything that was corrected.
    pub corrected: Vec<Corrected>,
    /// What was decided about it or about one of its entries.
    pub decided: Vec<Decided>,
    /// Who signed the day it began.
    pub signed: Option<Signed>,
}

impl Account {
    /// Of an item; `None` if it hasn't begun by the fold's instant.
    pub fn of<'s>(fold: &Fold<'s>, said: &Said, id: &Id) -> Option<Account> {
        let state = fold.state();
        let (id, item) = state.items.get_key_value(id)?;
        let (entry, begin) = item.begin()?;
        let s = standing(fold, id)?;
        let spells = fold.spells(id);
        let from = item.truth.iter().flat_map(|e| e.parents());
        let of_kind = |e: &&Arc<Entry>| e.at <= fold.as_of();
        let truth = || item.truth.iter().filter(of_kind);
        let product = begin.product.as_ref().map(|p| {
            let known = state.product(p, entry.meta.seq);
            Named { id: p.clone(), name: known.map_or_else(|| p.to_string(), |k| k.name.to_string()) }
        });
        let entries: Vec<u64> = item.records.iter().map(|r| r.original.meta.seq).collect();
        let day = fold.zone().day(entry.at);
        Some(Account {
            item: Named { id: id.clone(), name: begin.name.to_string() },
            product,
            lot: begin.lot.clone(),
            count: begin.count.unwrap_or(1),
            made_from: from.map(|p| Named::item(state, p)).collect(),
            rules: state.rules_of(begin, entry.meta.seq),
            begun: Stamp::of(entry),
            begun_in: Named::place(state, &begin.place),
            lines: lines(state, item, &spells, s.as_of),
            readings: truth().filter_map(|e| reading(state, id, e)).collect(),
            marks: marks(item).collect(),
            closed: truth().filter_map(|e| closed(e)).collect(),
            late: truth().map(|e| (e.kind(), Stamp::of(e))).filter(|(_, s)| s.late_ms.is_some()).collect(),
            corrected: item.records.iter().flat_map(corrected).collect(),
            decided: said.about(id, &entries),
            signed: said.signed(day).next().cloned(),
            standing: s,
            spells,
        })
    }

    /// Since when it was past its time, and the rule that says so.
    pub fn over(&self) -> Option<(Instant, Option<&Id>)> {
        if self.standing.verdict != Verdict::Discard {
            return None;
        }
        let reasons = self.standing.reasons.iter();
        let first = reasons.filter(|r| r.verdict.verdict() == Some(Verdict::Discard)).min_by_key(|r| r.reached_at);
        let rule = first.map(|r| &r.rule).or(self.standing.decides.as_ref().map(|d| &d.rule));
        Some((self.standing.reached(Verdict::Discard), rule))
    }

    /// The entry that ended all of it.
    pub fn end(&self) -> Option<&Closed> {
        self.closed.last().filter(|_| self.standing.state == crate::rules::Phase::Closed)
    }
}

fn reading(state: &State, id: &Id, e: &Entry) -> Option<Reading> {
    let Body::FoodReading { probed, value, probe, .. } = &e.body else { return None };
    let probed = probed.as_ref().filter(|p| *p != id).map(|p| Named::item(state, p));
    Some(Reading { stamp: Stamp::of(e), value: *value, probe: probe.clone(), probed })
}

fn closed(e: &Entry) -> Option<Closed> {
    let Body::Close { r#as, count, reason, .. } = &e.body else { return None };
    Some(Closed { stamp: Stamp::of(e), how: *r#as, count: *count, reason: reason.clone() })
}

fn lines(state: &State, item: &Item, spells: &[Spell], now: Instant) -> Vec<Line> {
    let mut sum_ms = 0;
    let line = |(i, spell): (usize, &Spell)| {
        let own = spell.inherited_from.is_none();
        let ms = spell.length_ms(now);
        sum_ms += ms;
        let place = state.places.get(&spell.place);
        let out = Side {
            at: spell.from,
            stamp: own.then(|| began(item, place, spell.from)).flatten(),
            place: Some(Named::place(state, &spell.place)),
            temperature: own.then(|| food(item, (Instant::NEVER, spell.from))).flatten(),
        };
        let back = spell.to.map(|to| {
            let (stamp, place) = own.then(|| ended(item, place, (spell.from, to))).flatten().unzip();
            Side {
                at: to,
                stamp,
                place: place.flatten().map(|id| Named::place(state, &id)),
                temperature: own.then(|| food(item, (spell.from, to))).flatten(),
            }
        });
        Line {
            n: i + 1,
            inherited_from: spell.inherited_from.as_ref().map(|p| Named::item(state, p)),
            out,
            back,
            ms,
            sum_ms,
        }
    };
    spells.iter().enumerate().map(line).collect()
}

/// What began a stretch out: the item's own entry at that instant, or the cold of its place failing.
fn began(item: &Item, place: Option<&Arc<Place>>, at: Instant) -> Option<Stamp> {
    let own = item.truth.iter().rev().find(|e| e.at == at && e.goes_to().is_some());
    own.or_else(|| place?.lapses.range((at, 0)..=(at, u64::MAX)).map(|(_, e)| e).next_back()).map(|e| Stamp::of(e))
}

/// What ended it, and where the item was then: its own entry, or the place's cold coming back. Where it counts as out for
/// a while longer, the entry lies before the end.
fn ended(item: &Item, place: Option<&Arc<Place>>, (from, to): (Instant, Instant)) -> Option<(Stamp, Option<Id>)> {
    let ends = |e: &&Arc<Entry>| e.goes_to().is_some() || matches!(e.body, Body::Close { .. });
    let own = item.truth.iter().rev().find(|e| from < e.at && e.at <= to && ends(e));
    let lapses = place.into_iter().flat_map(|p| p.lapses.range(..=(to, u64::MAX)).rev().map(move |(_, e)| (p, e)));
    let cold = lapses.take(2).find(|(_, e)| match &e.body {
        Body::Restore { .. } => e.at > from,
        Body::Lapse { until, .. } => until.is_some_and(|u| from < u && u <= to),
        _ => false,
    });
    match (own, cold) {
        (Some(e), Some((p, c))) if c.at > e.at => Some((Stamp::of(c), Some(p.place.clone()))),
        (Some(e), _) => Some((Stamp::of(e), e.goes_to().cloned())),
        (None, Some((p, c))) => Some((Stamp::of(c), Some(p.place.clone()))),
        (None, None) => None,
    }
}

/// The last food reading within the hour up to the end of a stretch, and in it.
fn food(item: &Item, (after, upto): (Instant, Instant)) -> Option<Temperature> {
    let near = |e: &&Arc<Entry>| after < e.at && e.at <= upto && upto.since(e.at) <= HOUR_MS;
    item.truth.iter().rev().filter(near).find_map(|e| match &e.body {
        Body::FoodReading { value, .. } => Some(*value),
        _ => None,
    })
}
