//! The record's second table: what is known of the cold itself. Each reading of a place's air, each stretch in which its
//! cold failed with the items that stood there, each stretch without a reading. Pure.

use super::account::{Named, Stamp};
use super::corrected::{Corrected, corrected};
use crate::board::cold::Watched;
use crate::board::decisions::UNREAD_MS;
use crate::clock::{Instant, MINUTE_MS};
use crate::ledger::{Body, Control, Entry, Id, Item, Place, Record, State, Temperature, Unit};
use std::collections::HashMap;
use std::sync::Arc;

/// So long after a probe read, another reading of the same air is still one beside it: this project's choice.
pub const BESIDE_MS: i64 = 15 * MINUTE_MS;

/// One line of it.
#[derive(Clone, PartialEq, Debug)]
pub struct Row {
    /// The place.
    pub place: Named,
    /// Whether it keeps food cold.
    pub control: Control,
    /// Since when, or when.
    pub at: Instant,
    /// The entry that says so; none for a stretch without any.
    pub stamp: Option<Stamp>,
    /// What was so.
    pub what: What,
    /// What of it was corrected.
    pub corrected: Vec<Corrected>,
}

/// What was so.
#[derive(Clone, PartialEq, Debug)]
pub enum What {
    /// The air was read.
    Read {
        /// What was read.
        value: Temperature,
        /// With which probe.
        probe: Option<Id>,
        /// The probe's own reading that this one stands beside.
        beside: Option<Beside>,
    },
    /// It was out of temperature control.
    Lapse {
        /// Until then; none while it still is.
        to: Option<Instant>,
        /// The entry that ended it, where another did.
        ended: Option<Stamp>,
        /// The items that stood there at some time of it.
        touched: Vec<Named>,
    },
    /// Its air was above the place's limit, by each reading from the first to the last before a good one.
    Above {
        /// Up to that good reading; none while it goes on.
        to: Option<Instant>,
        /// The warmest of them.
        warmest: Temperature,
        /// What it is to be no warmer than.
        limit: Temperature,
    },
    /// Nobody and nothing read it for longer than [`UNREAD_MS`].
    Unread {
        /// Until then; none where it goes on.
        to: Option<Instant>,
    },
    /// An entry that counts as not written.
    Void,
}

/// A reading of a probe that somebody else read the same air beside, with something else: so a probe is checked.
#[derive(Clone, PartialEq, Debug)]
pub struct Beside {
    /// When the probe read.
    pub at: Instant,
    /// What it read.
    pub value: Temperature,
    /// Which probe.
    pub probe: Id,
    /// Who wrote it.
    by: Option<Id>,
}

impl Beside {
    /// How far the other reading is from the probe's, in its own unit; never rounded to less.
    pub fn apart(&self, other: Temperature) -> Temperature {
        let (apart, tenth) = ((other.exact() - self.value.exact()).abs(), if other.unit == Unit::C { 9 } else { 5 });
        Temperature { tenths: ((apart + tenth - 1) / tenth) as i32, unit: other.unit }
    }
}

impl What {
    /// Its name, for programs.
    pub fn code(&self) -> &'static str {
        match self {
            What::Read { .. } => "reading",
            What::Lapse { .. } => "lapse",
            What::Above { .. } => "above",
            What::Unread { .. } => "unread",
            What::Void => "void",
        }
    }

    /// When it ended, where it lasted.
    pub fn to(&self) -> Option<Instant> {
        match self {
            What::Lapse { to, .. } | What::Above { to, .. } | What::Unread { to } => *to,
            What::Read { .. } | What::Void => None,
        }
    }
}

/// The lines of one stretch after the other, in order of time: it remembers when each place was last read, and since when it
/// is too warm. What began in an earlier stretch is told in the one in which it ends.
#[derive(Clone, Debug, Default)]
pub struct Cold {
    watched: Watched,
    read: HashMap<Id, Instant>,
    above: HashMap<Id, (Instant, Temperature)>,
    probed: HashMap<Id, Beside>,
    begun: bool,
}

/// A stretch in which the cold of a place failed.
#[derive(Clone, PartialEq, Debug)]
pub struct Failed<'s> {
    /// The entry that says so.
    pub lapse: &'s Arc<Entry>,
    /// Until then.
    pub to: Option<Instant>,
    /// The entry that ended it.
    pub ended: Option<&'s Arc<Entry>>,
}

/// Every stretch in which a place's cold failed, in order.
pub fn failures(place: &Place) -> Vec<Failed<'_>> {
    let mut found: Vec<Failed> = Vec::new();
    for e in place.lapses.values() {
        match &e.body {
            Body::Lapse { until, .. } => found.push(Failed { lapse: e, to: *until, ended: None }),
            Body::Restore { .. } => {
                if let Some(open) = found.iter_mut().rev().find(|f| f.to.is_none()) {
                    (open.to, open.ended) = (Some(e.at), Some(e));
                }
            }
            _ => {}
        }
    }
    found
}

/// Whether an item was in a place at some time of `[from, to)`.
pub fn was_there(item: &Item, place: &Id, from: Instant, to: Instant) -> bool {
    let Some((begun, _)) = item.begin() else { return false };
    let end = item.end().map_or(Instant::FAR, |e| e.at);
    let since = item.truth.iter().filter(|e| e.key() >= begun.key());
    let stays: Vec<(Instant, &Id)> = since.filter_map(|e| Some((e.at, e.goes_to()?))).collect();
    let until = |i: usize| stays.get(i + 1).map_or(end, |s| s.0);
    let mut there = (0..stays.len()).filter(|i| stays[*i].1 == place);
    there.any(|i| stays[i].0 < to && until(i) > from && stays[i].0 < until(i))
}

impl Failed<'_> {
    /// Whether a stretch tells it: it began there, or before the record's first date and lasted into that.
    pub fn told_in(&self, (from, to): (Instant, Instant), first: bool) -> bool {
        let lasted = first && self.to.is_none_or(|end| end > from);
        self.lapse.at < to && (from <= self.lapse.at || lasted)
    }
}

impl Cold {
    /// Starts with how each place stood before the first stretch, as far as that is at hand.
    pub fn before(watched: Watched, state: &State, from: Instant) -> Cold {
        let mut cold = Cold { watched, ..Cold::default() };
        for place in state.places.values() {
            for (key, _) in place.air.range(..(from, 0)) {
                if let Some(e) = state.told_of(place, key.1).and_then(now)
                    && let Body::AirReading { value, probe, .. } = &e.body
                {
                    cold.read(place, key.0, *value);
                    cold.beside(place, &e, *value, probe.as_ref());
                }
            }
        }
        cold
    }

    /// A reading comes: the stretches that it ends.
    fn read(&mut self, place: &Place, at: Instant, value: Temperature) -> Vec<(Instant, What)> {
        let mut ended: Vec<(Instant, What)> = self.gap(place, Some(at)).into_iter().collect();
        self.read.insert(place.place.clone(), at);
        let watch = self.watched.of(place);
        if place.control == Control::None {
            return ended;
        }
        if watch.good(value) {
            let was = self.above.remove(&place.place);
            ended
                .extend(was.map(|(since, warmest)| (since, What::Above { to: Some(at), warmest, limit: watch.limit })));
        } else {
            let (_, warmest) = self.above.entry(place.place.clone()).or_insert((at, value));
            if value.exact() > warmest.exact() {
                *warmest = value;
            }
        }
        ended
    }

    /// What a reading stands beside; a probe's own is kept for the next.
    fn beside(&mut self, place: &Place, e: &Entry, value: Temperature, probe: Option<&Id>) -> Option<Beside> {
        let last = self.probed.get(&place.place);
        let other = |b: &&Beside| e.at.since(b.at) <= BESIDE_MS && probe != Some(&b.probe) && e.meta.by != b.by;
        let beside = last.filter(other).cloned();
        if let Some(probe) = probe.filter(|_| beside.is_none()) {
            let own = Beside { at: e.at, value, probe: probe.clone(), by: e.meta.by.clone() };
            self.probed.insert(place.place.clone(), own);
        }
        beside
    }

    /// The lines that begin in `[from, to)`. `touched` says which items stood in a place in a stretch.
    pub fn rows(
        &mut self,
        state: &State,
        only: Option<&Id>,
        (from, to): (Instant, Instant),
        touched: &dyn Fn(&Id, Instant, Instant) -> Vec<Named>,
    ) -> Vec<Row> {
        let mut rows: Vec<Row> = Vec::new();
        let first = !std::mem::replace(&mut self.begun, true);
        for place in state.places.values().filter(|p| only.is_none_or(|id| *id == p.place)) {
            let row = |at, stamp, what, corrected| {
                let place_is = Named { id: place.place.clone(), name: place.name.to_string() };
                Row { place: place_is, control: place.control, at, stamp, what, corrected }
            };
            let record = |seq: u64| state.told_of(place, seq);
            let changes = |seq| record(seq).map(|r| corrected(r).collect()).unwrap_or_default();
            for (key, _) in place.air.range((from, 0)..(to, 0)) {
                let Some(e) = record(key.1).and_then(now) else { continue };
                let Body::AirReading { value, probe, .. } = &e.body else { continue };
                let ended = self.read(place, e.at, *value).into_iter();
                rows.extend(ended.map(|(since, what)| row(since, None, what, Vec::new())));
                let beside = self.beside(place, &e, *value, probe.as_ref());
                let what = What::Read { value: *value, probe: probe.clone(), beside };
                rows.push(row(e.at, Some(Stamp::of(&e)), what, changes(key.1)));
            }
            for failed in failures(place).iter().filter(|f| f.told_in((from, to), first)) {
                let e = failed.lapse;
                let until = failed.to.unwrap_or(Instant::FAR);
                let (ended, touched) = (failed.ended.map(|e| Stamp::of(e)), touched(&place.place, e.at, until));
                let mut was = changes(e.meta.seq);
                was.extend(failed.ended.map(|e| changes(e.meta.seq)).unwrap_or_default());
                rows.push(row(e.at, Some(Stamp::of(e)), What::Lapse { to: failed.to, ended, touched }, was));
            }
            let odd = place.odd_air.corrected.iter().chain(place.odd_lapses.corrected.iter());
            for r in odd.filter_map(|seq| record(*seq)).filter(|r| now(r).is_none()) {
                if from <= r.original.at && r.original.at < to {
                    let changes = corrected(r).collect();
                    rows.push(row(r.original.at, Some(Stamp::of(&r.original)), What::Void, changes));
                }
            }
        }
        sort(&mut rows);
        rows
    }

    /// What goes on at the end: too warm, or without a reading.
    pub fn end(&self, state: &State, only: Option<&Id>, end: Instant) -> Vec<Row> {
        let mut rows: Vec<Row> = Vec::new();
        for p in state.places.values().filter(|p| only.is_none_or(|id| *id == p.place)) {
            let gap = self.gap(p, None).filter(|(since, _)| end.since(*since) > UNREAD_MS);
            let limit = self.watched.of(p).limit;
            let above = self.above.get(&p.place);
            let above = above.map(|(since, warmest)| (*since, What::Above { to: None, warmest: *warmest, limit }));
            rows.extend(gap.into_iter().chain(above).map(|(at, what)| {
                let place = Named { id: p.place.clone(), name: p.name.to_string() };
                Row { place, control: p.control, at, stamp: None, what, corrected: Vec::new() }
            }));
        }
        sort(&mut rows);
        rows
    }

    /// A stretch without a reading, up to one or going on. A place that was never read has none: it began at no time.
    fn gap(&self, place: &Place, to: Option<Instant>) -> Option<(Instant, What)> {
        let since = *self.read.get(&place.place).filter(|_| place.control != Control::None)?;
        let long = to.is_none_or(|to| to.since(since) > UNREAD_MS);
        long.then_some((since, What::Unread { to }))
    }
}

fn now(r: &Record) -> Option<Arc<Entry>> {
    r.effective(u64::MAX).ok().flatten()
}

fn sort(rows: &mut [Row]) {
    rows.sort_by(|a, b| {
        let key = |r: &Row| (r.at, r.stamp.as_ref().map(|s| s.seq), r.place.id.clone());
        key(a).cmp(&key(b))
    });
}
