//! The cold of places: since when it is lost, by what the readings of their air say and by what they don't. Pure.
//!
//! A place's time falls into stretches from one good reading to the next. One in which the air was above the place's
//! limit for as long as its grace, or in which a probe that is tied to the place said nothing for too long, is proposed as
//! a lapse: from the good reading before it, the last instant at which the place is known to have been cold, to the good
//! one after it. A person writes it, it never is by itself. What the lapses of the ledger leave of a stretch is proposed
//! still, unless it is shorter than that.

use super::decisions::BACK_MS;
use crate::clock::{Instant, MINUTE_MS};
use crate::exposure::lapses;
use crate::ledger::{Body, Control, Entry, Id, Place, State, Temperature, Unit};
use imbl::OrdMap;
use std::collections::BTreeMap;

/// A cold place's air is to be no warmer, 5.0 °C being 41 °F exactly: FDA Food Code 3-501.16(A)(2), read in states'
/// adoptions. The text is about food; of its air no figure was found.
pub const COLD: Temperature = Temperature { tenths: 50, unit: Unit::C };
/// The same of a frozen place: from memory, warmer than the −18 °C at which frozen food is kept, since doors are opened.
pub const FROZEN: Temperature = Temperature { tenths: -150, unit: Unit::C };
/// The warmest limit that may be set, and the coldest: this project's choice. What may be warmer keeps nothing cold.
pub const LIMIT_MOST: Temperature = Temperature { tenths: 150, unit: Unit::C };
/// See [`LIMIT_MOST`].
pub const LIMIT_LEAST: Temperature = Temperature { tenths: -600, unit: Unit::C };
/// Minutes for which it may be warmer before a lapse is proposed: this project's choice, so that an open door is none.
pub const GRACE_MIN: i64 = 30;
/// The longest such time that may be set: this project's choice.
pub const GRACE_MOST: i64 = 240;
/// Minutes for which a probe that is tied to a place may say nothing before a lapse is proposed: this project's choice.
pub const SILENT_MIN: i64 = 60;
/// The longest such time that may be set, a day, and the shortest: this project's choice.
pub const SILENT_MOST: i64 = 24 * 60;
/// See [`SILENT_MOST`].
pub const SILENT_LEAST: i64 = 5;
/// Readings of a place that are looked through at most, the latest ones.
pub const READINGS_MOST: usize = 50_000;
/// Lapses proposed for a place at most, the latest ones.
pub const PROPOSED_MOST: usize = 100;

/// How a place is watched.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Watch {
    /// Its air is to be no warmer.
    pub limit: Temperature,
    /// Minutes for which it may be before a lapse is proposed.
    pub grace_min: i64,
    /// Minutes for which its probe may say nothing before one is.
    pub silent_min: i64,
}

impl Watch {
    /// How a place is watched whose own figures nobody set.
    pub fn usual(control: Control) -> Watch {
        let limit = if control == Control::Frozen { FROZEN } else { COLD };
        Watch { limit, grace_min: GRACE_MIN, silent_min: SILENT_MIN }
    }

    /// Whether somebody may set it so.
    pub fn fits(&self) -> bool {
        let limits = LIMIT_LEAST.exact()..=LIMIT_MOST.exact();
        limits.contains(&self.limit.exact())
            && (0..=GRACE_MOST).contains(&self.grace_min)
            && (SILENT_LEAST..=SILENT_MOST).contains(&self.silent_min)
    }

    /// Whether a reading is no warmer than the limit.
    pub fn good(&self, value: Temperature) -> bool {
        value.exact() <= self.limit.exact()
    }
}

/// From when until when a probe was tied to a place; one that still is has no end.
pub type Tie = (Instant, Option<Instant>);

/// What is set about the places of a shop.
#[derive(Clone, Default, PartialEq, Debug)]
pub struct Watched {
    /// By place, where its own figures were set.
    pub own: BTreeMap<Id, Watch>,
    /// By place, when a probe was tied to it.
    pub tied: BTreeMap<Id, Vec<Tie>>,
}

impl Watched {
    /// How a place is watched.
    pub fn of(&self, place: &Place) -> Watch {
        self.own.get(&place.place).copied().unwrap_or_else(|| Watch::usual(place.control))
    }

    fn ties(&self, place: &Id) -> &[Tie] {
        self.tied.get(place).map_or(&[], Vec::as_slice)
    }
}

/// A place's readings, as they read now.
#[derive(Clone, Debug)]
pub struct Series {
    /// In order of truth.
    pub readings: OrdMap<(Instant, u64), Temperature>,
    /// From when on none is missing.
    pub whole_from: Instant,
}

impl Default for Series {
    fn default() -> Series {
        Series { readings: OrdMap::new(), whole_from: Instant::NEVER }
    }
}

impl Series {
    /// All that is at hand of a place's readings, from which none is missing.
    pub fn of(state: &State, place: &Id) -> Series {
        let mut series = Series::default();
        for p in state.places.values() {
            // Of another place's, those that were corrected to be this one's.
            let others = p.odd_air.corrected.iter().filter_map(|seq| p.records.get(seq));
            let own = p.records.values().filter(|_| p.place == *place);
            let read = own.chain(others).filter_map(|r| r.effective(u64::MAX).ok().flatten());
            read.filter(|e| e.air_of() == Some(place)).for_each(|e| series.take(&e));
        }
        series
    }

    /// Takes a reading in, unless it lies further back than is looked at.
    pub fn take(&mut self, e: &Entry) {
        if let Body::AirReading { value, .. } = e.body
            && e.at >= self.whole_from
        {
            self.readings.insert(e.key(), value);
        }
    }

    /// Whether it reaches back to the horizon of the list, and to a good reading before that.
    pub fn reaches(&self, watch: &Watch, horizon: Instant) -> bool {
        self.anchor(watch, horizon).is_some()
    }

    /// Lets go of what is no longer looked at.
    pub fn trim(&mut self, watch: &Watch, horizon: Instant) {
        let anchor = self.anchor(watch, horizon);
        let old = |key: &(Instant, u64), len| anchor.is_some_and(|a| *key < a) || len > READINGS_MOST;
        while let Some(key) = self.readings.get_min().map(|(key, _)| *key).filter(|key| old(key, self.readings.len())) {
            self.readings.remove(&key);
            self.whole_from = self.readings.get_min().map_or(Instant::FAR, |((at, _), _)| *at);
        }
    }

    fn anchor(&self, watch: &Watch, horizon: Instant) -> Option<(Instant, u64)> {
        self.readings.range(..(horizon, 0)).rev().find(|(_, value)| watch.good(**value)).map(|(key, _)| *key)
    }
}

/// The air of a shop's cold places, as of an entry.
#[derive(Clone, Default, Debug)]
pub struct Air {
    /// The entry.
    pub head: u64,
    /// By place.
    pub places: OrdMap<Id, Series>,
}

impl Air {
    /// Takes a reading in that was written, or reads one again that was corrected.
    pub fn take(&mut self, state: &State, e: &Entry) {
        let Body::Correct { entry: seq, .. } = e.body else { return self.put(state, e) };
        // What was corrected of the air is at hand, however long ago it was.
        let Some(record) = state.places.values().find_map(|p| p.records.get(&seq)) else { return };
        let ids: Vec<Id> = self.places.keys().cloned().collect();
        for id in ids {
            let Some(series) = self.places.get_mut(&id) else { continue };
            let old: Vec<(Instant, u64)> = series.readings.keys().filter(|(_, n)| *n == seq).copied().collect();
            old.iter().for_each(|key| _ = series.readings.remove(key));
        }
        record.effective(u64::MAX).ok().flatten().iter().for_each(|e| self.put(state, e));
    }

    fn put(&mut self, state: &State, e: &Entry) {
        let place = e.air_of().and_then(|id| state.places.get(id)).filter(|p| p.control != Control::None);
        if let Some(place) = place {
            self.places.entry(place.place.clone()).or_default().take(e);
        }
    }
}

/// A reading of a place's air.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Reading {
    /// When.
    pub at: Instant,
    /// What.
    pub value: Temperature,
}

/// Why a lapse is proposed.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Why {
    /// The air was above the place's limit for longer than its grace.
    Above,
    /// The place's probe said nothing for too long.
    Silent,
}

impl Why {
    /// As the list of decisions and the stream call it.
    pub fn code(self) -> &'static str {
        match self {
            Why::Above => "air-above",
            Why::Silent => "air-silent",
        }
    }
}

/// A lapse that nobody has written.
#[derive(Clone, PartialEq, Debug)]
pub struct Proposal {
    /// The place.
    pub place: Id,
    /// Why.
    pub why: Why,
    /// What the place's air is to be no warmer than.
    pub limit: Temperature,
    /// From when on: that of the last good reading, or the end of the lapse that was written up to there.
    pub from: Instant,
    /// The first good reading after; none while it goes on.
    pub until: Option<Instant>,
    /// Since when the air was above the limit, or nothing was heard.
    pub since: Instant,
    /// The warmest reading in it.
    pub warmest: Option<Reading>,
}

/// How it stands about the cold of a place.
#[derive(Clone, PartialEq, Debug)]
pub struct Cold {
    /// The place.
    pub place: Id,
    /// How it is watched.
    pub watch: Watch,
    /// Whether a probe is tied to it.
    pub probed: bool,
    /// The last reading.
    pub last: Option<Reading>,
    /// The last one that was no warmer than the limit.
    pub last_good: Option<Reading>,
    /// Since when every reading has been warmer, if the last one is.
    pub above_since: Option<Instant>,
    /// Since when its probe has said nothing, if that is too long by now.
    pub silent_since: Option<Instant>,
    /// Since when a lapse has been open.
    pub lapsed_since: Option<Instant>,
    /// The lapses nobody has written, the earliest first.
    pub proposals: Vec<Proposal>,
    /// When a lapse will be proposed, if nothing is read before; one that is proposed already is not among them.
    pub next: Vec<(Why, Instant)>,
}

impl Cold {
    /// The lapse that goes on and that nobody has written.
    pub fn goes_on(&self) -> Option<&Proposal> {
        self.proposals.iter().find(|p| p.until.is_none())
    }
}

/// Every cold or frozen place of a shop at an instant, in order of their ids.
pub fn look(state: &State, air: &Air, watched: &Watched, now: Instant) -> Vec<Cold> {
    let places = state.places.values().filter(|p| p.control != Control::None);
    places.map(|p| of(state, p, air, watched, now)).collect()
}

/// From one good reading to the next.
struct Stretch {
    from: Instant,
    until: Option<Instant>,
    above: Option<Instant>,
    silent: Option<Instant>,
    warmest: Option<Reading>,
}

fn of(state: &State, place: &Place, air: &Air, watched: &Watched, now: Instant) -> Cold {
    let (watch, ties, none) = (watched.of(place), watched.ties(&place.place), Series::default());
    let series = air.places.get(&place.place).unwrap_or(&none);
    let (grace_ms, silent_ms) = (watch.grace_min * MINUTE_MS, watch.silent_min * MINUTE_MS);
    let written = state.config.get(&place.seq).map(|r| r.original.meta.recorded_at.unwrap_or(r.original.at));
    let begun = written.unwrap_or(Instant::NEVER).max(series.whole_from);
    let written = lapses(place, (now, u64::MAX), Instant::NEVER, now.plus(1));

    let mut proposals = Vec::new();
    for s in stretches(series, &watch, ties, begun, now) {
        if s.until.is_some_and(|until| until < now.plus(-BACK_MS)) {
            continue;
        }
        let (why, since, least_ms) = match (s.above, s.silent) {
            (Some(since), _) => (Why::Above, since, grace_ms),
            (None, Some(since)) => (Why::Silent, since, silent_ms),
            (None, None) => continue,
        };
        for (from, until) in left(&s, &written, now) {
            if until.unwrap_or(now).since(from) >= least_ms.max(1) {
                let (place, limit, since) = (place.place.clone(), watch.limit, since.max(from));
                proposals.push(Proposal { place, why, limit, from, until, since, warmest: s.warmest });
            }
        }
    }
    proposals.drain(..proposals.len().saturating_sub(PROPOSED_MOST));

    let back = || series.readings.range(..=(now, u64::MAX)).rev().map(|((at, _), v)| Reading { at: *at, value: *v });
    let last = back().next();
    let above_since = back().take_while(|r| !watch.good(r.value)).last().map(|r| r.at);
    let tied = ties.iter().filter(|(_, end)| end.is_none()).map(|(from, _)| *from).min();
    let heard = tied.map(|from| last.map_or(from, |r| r.at.max(from)));
    let (began, mended) = written.last().copied().unwrap_or((now, Instant::NEVER));
    let lapsed_since = (mended == Instant::FAR).then_some(began);
    let next = [(Why::Above, above_since, grace_ms), (Why::Silent, heard, silent_ms)];
    let next = next.into_iter().filter_map(|(why, since, ms)| Some((why, since?.max(mended).plus(ms))));
    Cold {
        place: place.place.clone(),
        watch,
        probed: tied.is_some(),
        last,
        last_good: back().find(|r| watch.good(r.value)),
        above_since,
        silent_since: heard.filter(|at| now.since(*at) >= silent_ms),
        lapsed_since,
        proposals,
        next: next.filter(|(_, at)| lapsed_since.is_none() && *at > now).collect(),
    }
}

/// The stretches in which the cold was lost, for all that is known.
fn stretches(series: &Series, watch: &Watch, ties: &[Tie], begun: Instant, now: Instant) -> Vec<Stretch> {
    let (grace_ms, silent_ms) = (watch.grace_min * MINUTE_MS, watch.silent_min * MINUTE_MS);
    let new = |from| Stretch { from, until: None, above: None, silent: None, warmest: None };
    let (mut found, mut one, mut last) = (Vec::new(), new(begun), Instant::NEVER);
    let read = series.readings.range(..=(now, u64::MAX)).map(|((at, _), v)| Some(Reading { at: *at, value: *v }));
    for reading in read.chain([None]) {
        let at = reading.map_or(now, |r| r.at);
        if one.silent.is_none() {
            one.silent = quiet(ties, last, at, silent_ms);
        }
        last = at;
        match reading.filter(|r| !watch.good(r.value)) {
            Some(r) => {
                one.from = one.from.min(at);
                one.above.get_or_insert(at);
                let warmer = one.warmest.is_none_or(|w| w.value.exact() < r.value.exact());
                one.warmest = if warmer { Some(r) } else { one.warmest };
            }
            None => {
                one.until = reading.map(|r| r.at);
                one.above = one.above.filter(|since| at.since(*since) >= grace_ms);
                // Before a probe was tied to it nobody listened.
                let tied = one.silent.filter(|since| ties.iter().any(|(from, _)| from == since));
                if let (None, Some(tied)) = (one.above, tied) {
                    one.from = one.from.max(tied);
                }
                if one.above.is_some() || one.silent.is_some() {
                    found.push(one);
                }
                one = new(at);
            }
        }
    }
    found
}

/// Since when a probe that was tied to the place said nothing between two instants, if that was too long.
fn quiet(ties: &[Tie], from: Instant, to: Instant, silent_ms: i64) -> Option<Instant> {
    let within = ties.iter().map(|(tied, end)| (from.max(*tied), to.min(end.unwrap_or(to))));
    within.filter(|(from, to)| to.since(*from) >= silent_ms).map(|(from, _)| from).min()
}

/// What lapses leave of a stretch. What goes on has no end.
fn left(s: &Stretch, lapses: &[(Instant, Instant)], now: Instant) -> Vec<(Instant, Option<Instant>)> {
    let (mut left, mut from) = (Vec::new(), s.from);
    for (begins, ends) in lapses.iter().filter(|(b, e)| *e > s.from && *b <= s.until.unwrap_or(now)) {
        if *begins > from {
            left.push((from, Some(*begins)));
        }
        from = from.max(*ends);
    }
    if s.until.is_none_or(|until| from < until) && from <= now {
        left.push((from, s.until));
    }
    left
}
