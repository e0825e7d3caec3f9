//! One measure followed along an item's line: what it reads at an instant, when it reached its limit.

use super::Cut;
use super::line::{Line, Piece, above};
use crate::clock::{Instant, Zone};
use crate::ledger::Temperature;
use crate::rules::{AtLimit, Measure};

/// The first instant out, and the food reading of then.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct First {
    /// When.
    pub at: Instant,
    /// The last reading in the hour before; none counts as over.
    pub reading: Option<Temperature>,
}

impl First {
    /// The earlier; of two at one instant the one with the worse reading, none being the worst.
    pub(super) fn earlier(a: Option<First>, b: Option<First>) -> Option<First> {
        let (Some(a), Some(b)) = (a, b) else { return a.or(b) };
        if a.at != b.at {
            return Some(if a.at < b.at { a } else { b });
        }
        let reading = a.reading.zip(b.reading).map(|(a, b)| if a.exact() < b.exact() { b } else { a });
        Some(First { at: a.at, reading })
    }
}

/// What the measures of time and spells keep.
#[derive(Clone, Debug, Default)]
pub struct Out {
    /// Milliseconds, all spells added.
    pub total_ms: i64,
    /// The first instant out.
    pub first: Option<First>,
    /// How many unbroken stretches.
    pub spells: u32,
    /// When the present stretch began, inherited time included.
    pub present: Option<Instant>,
    /// The stretch that ended last: when it ended and when it began.
    pub(super) ended: Option<(Instant, Instant)>,
    /// For the start: a bad one that a join replaced by a better. It stays bad.
    pub(super) bad: Option<First>,
    pub(super) longest_ms: i64,
}

#[derive(Clone, Debug)]
pub(super) enum Tally {
    Out(Out),
    Above {
        total_ms: i64,
    },
    Food {
        first: Option<Instant>,
        over: Vec<(Cut, Temperature)>,
    },
    /// `hot`: a reading to start from once a lower one follows. `slow`: of a clock that ended too late, when it
    /// reached the limit and how long it took; of several the first.
    Cooled {
        running: Option<Instant>,
        hot: Option<Instant>,
        slow: Option<(Instant, i64)>,
    },
    Day {
        n: u32,
        date: i64,
    },
}

/// A measure on its way along a line.
#[derive(Clone, Debug)]
pub struct Gauge {
    pub(super) measure: Measure,
    at_limit: AtLimit,
    pub(super) tally: Tally,
    /// When the limit was reached.
    pub(super) reach: Option<Instant>,
    /// When it was over: at the limit or a millisecond past it, as the clause says.
    pub(super) over: Option<Instant>,
    piece: usize,
    entered: bool,
    upto: Instant,
    reading: usize,
}

/// What a gauge reads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Used {
    /// Milliseconds.
    Ms(i64),
    /// A count.
    Count(u32),
    /// A temperature, if one was taken.
    Degrees(Option<Temperature>),
}

pub(super) struct Along<'f, 'a> {
    pub line: &'f Line<'a>,
    pub zone: Zone,
    pub cut: Cut,
}

impl Gauge {
    pub(super) fn start(measure: Measure, at_limit: AtLimit, along: &Along) -> Gauge {
        let line = along.line;
        let begin = line.entry.at;
        let tally = match measure {
            Measure::OutAbove { .. } => Tally::Above { total_ms: 0 },
            Measure::FoodTemperature { .. } => Tally::Food { first: None, over: Vec::new() },
            Measure::Cooled { from, .. } => {
                let fresh = line.fresh();
                let began_out = line.pieces.first().is_some_and(|p| p.out && !p.chilling);
                Tally::Cooled {
                    running: (from.is_none() && fresh && began_out).then_some(begin),
                    hot: None,
                    slow: None,
                }
            }
            Measure::Day { .. } => Tally::Day { n: 1, date: along.zone.day(begin) },
            _ => Tally::Out(Out::default()),
        };
        Gauge { measure, at_limit, tally, reach: None, over: None, piece: 0, entered: false, upto: begin, reading: 0 }
    }

    /// The limit past which it is over: the limit itself, or a millisecond more where the limit is allowed.
    pub(super) fn bound(&self, limit_ms: i64) -> i64 {
        limit_ms + i64::from(self.at_limit == AtLimit::Allowed)
    }

    fn too_warm(&self, exact: i64, limit: i64) -> bool {
        exact > limit || (exact == limit && self.at_limit == AtLimit::Breach)
    }

    /// Follows the line up to and including `t`.
    pub(super) fn advance(&mut self, along: &Along, t: Instant) {
        while let Some((key, value)) = along.line.readings.get(self.reading).filter(|r| r.0.0 <= t) {
            self.read(*key, *value);
            self.reading += 1;
        }
        while let Some(piece) = along.line.pieces.get(self.piece).filter(|p| p.from <= t) {
            if !self.entered {
                self.enter(piece, along);
                self.entered = true;
            }
            let end = piece.to.min(t);
            self.accrue(piece, self.upto.max(piece.from), end, along);
            self.upto = end;
            if piece.to > t {
                break;
            }
            self.piece += 1;
            self.entered = false;
        }
    }

    /// Follows a last piece of its line that begins at `t`, up to which it has been followed.
    pub(super) fn go_on(&mut self, along: &Along, piece: &Piece, t: Instant) {
        self.enter(piece, along);
        self.accrue(piece, t, Instant::FAR, along);
    }

    fn enter(&mut self, piece: &Piece, along: &Along) {
        match (&mut self.tally, self.measure) {
            (
                Tally::Out(o),
                Measure::TotalOut { uses, .. }
                | Measure::SinceFirstOut { uses, .. }
                | Measure::Spells { uses, .. }
                | Measure::LongestSpell { uses, .. }
                | Measure::StartTemperature { uses, .. },
            ) => {
                if !(piece.out && piece.at.counts(uses)) {
                    if let Some(start) = o.present.take() {
                        o.longest_ms = o.longest_ms.max(piece.from.since(start));
                        o.ended = Some((piece.from, start));
                    }
                } else if o.present.is_none() {
                    if let Some((_, start)) = o.ended.filter(|(at, _)| *at == piece.from) {
                        o.present = Some(start);
                        return;
                    }
                    o.present = Some(piece.from);
                    o.spells += 1;
                    o.first
                        .get_or_insert_with(|| First { at: piece.from, reading: along.line.start_reading(piece.from) });
                    if let Measure::Spells { limit, .. } = self.measure
                        && o.spells > limit
                    {
                        self.reach.get_or_insert(piece.from);
                        self.over.get_or_insert(piece.from);
                    }
                }
            }
            (Tally::Food { first, .. }, _) if piece.out => _ = first.get_or_insert(piece.from),
            _ => {}
        }
    }

    fn accrue(&mut self, piece: &Piece, from: Instant, to: Instant, along: &Along) {
        match self.measure {
            Measure::TotalOut { limit_ms, .. } => {
                let bound = self.bound(limit_ms);
                let Tally::Out(o) = &mut self.tally else { return };
                if o.present.is_some() && from < to {
                    add(&mut o.total_ms, &mut self.reach, &mut self.over, limit_ms, bound, from, to);
                }
            }
            Measure::LongestSpell { limit_ms, .. } => {
                let bound = self.bound(limit_ms);
                let Tally::Out(Out { present: Some(start), .. }) = self.tally else { return };
                if to.since(start) >= limit_ms {
                    self.reach.get_or_insert(start.plus(limit_ms).max(from));
                }
                if to.since(start) >= bound {
                    self.over.get_or_insert(start.plus(bound).max(from));
                }
            }
            Measure::OutAbove { limit_ms, uses, above: degrees, unread } if piece.out && piece.at.counts(uses) => {
                let bound = self.bound(limit_ms);
                let Tally::Above { total_ms } = &mut self.tally else { return };
                for (a, b) in above(piece.at.places(), from, to, degrees, unread, along.cut) {
                    add(total_ms, &mut self.reach, &mut self.over, limit_ms, bound, a, b);
                }
            }
            Measure::Day { limit } if !piece.frozen => {
                let Tally::Day { n, date } = &mut self.tally else { return };
                // The piece's instants are [from, to), but an instant asked for lies in it.
                let far = to == Instant::FAR;
                let last = if far {
                    i64::MAX / 2
                } else {
                    along.zone.day(if to == piece.to { Instant(to.0 - 1) } else { to })
                };
                let first = along.zone.day(from).max(*date + 1);
                if last < first {
                    return;
                }
                let more = last - first + 1;
                let spare = i64::from(limit) - i64::from(*n);
                if more > spare && self.over.is_none() {
                    // Thawed later on that day it is over from then; the limit was the midnight before.
                    let midnight = along.zone.day_starts(first + spare.max(0));
                    (self.reach, self.over) = (Some(midnight), Some(midnight.max(from)));
                }
                if !far {
                    *n += more as u32;
                    *date = last;
                }
            }
            _ => {}
        }
    }

    fn read(&mut self, key: Cut, value: Temperature) {
        let (at, exact) = (key.0, value.exact());
        match self.measure {
            Measure::FoodTemperature { limit } if self.too_warm(exact, limit) => {
                if let Tally::Food { over, .. } = &mut self.tally {
                    over.push((key, value));
                }
            }
            Measure::Cooled { limit_ms, to, from } => {
                let bound = self.bound(limit_ms);
                let Tally::Cooled { running, hot, slow } = &mut self.tally else { return };
                match from {
                    Some(from) if exact >= from => *hot = Some(at),
                    Some(_) => *running = earlier(*running, hot.take()),
                    _ => {}
                }
                if let Some(start) = running.filter(|start| exact <= to && at > *start) {
                    if at.since(start) >= bound {
                        *slow = slower(*slow, Some((start.plus(limit_ms), at.since(start))));
                    }
                    (*running, *hot) = (None, None);
                }
            }
            _ => {}
        }
    }

    /// When the limit was reached, or will be as far as this gauge has been followed.
    pub fn reach(&self) -> Option<Instant> {
        match (&self.tally, self.measure) {
            (Tally::Out(o), Measure::SinceFirstOut { limit_ms, .. }) => o.first.map(|f| f.at.plus(limit_ms)),
            (Tally::Out(_), Measure::StartTemperature { .. }) => self.bad_start().map(|f| f.at),
            (Tally::Food { .. }, _) => self.too_hot().map(|(at, _)| at),
            (Tally::Cooled { running, slow, .. }, Measure::Cooled { limit_ms, .. }) => {
                earlier(slow.map(|(reach, _)| reach), running.map(|s| s.plus(limit_ms)))
            }
            _ => self.reach,
        }
    }

    /// The first of the starts that were over the limit or not read.
    pub(super) fn bad_start(&self) -> Option<First> {
        let (Tally::Out(o), Measure::StartTemperature { limit, .. }) = (&self.tally, self.measure) else { return None };
        let now = o.first.filter(|f| f.reading.is_none_or(|r| self.too_warm(r.exact(), limit)));
        First::earlier(o.bad, now)
    }

    /// The first reading over the limit since it was first out.
    fn too_hot(&self) -> Option<(Instant, Temperature)> {
        let Tally::Food { first: Some(first), over } = &self.tally else { return None };
        over.iter().find(|(key, _)| key.0 >= *first).map(|(key, value)| (key.0, *value))
    }

    /// Whether it is over at `t`, up to which it has been followed.
    pub fn breached(&self, t: Instant) -> bool {
        match (&self.tally, self.measure) {
            (Tally::Out(o), Measure::SinceFirstOut { limit_ms, .. }) => {
                o.first.is_some_and(|f| t.since(f.at) >= self.bound(limit_ms))
            }
            (Tally::Out(_), Measure::StartTemperature { .. }) | (Tally::Food { .. }, _) => self.reach().is_some(),
            (Tally::Cooled { running, slow, .. }, Measure::Cooled { limit_ms, .. }) => {
                slow.is_some() || running.is_some_and(|s| t.since(s) >= self.bound(limit_ms))
            }
            _ => self.over.is_some_and(|o| o <= t),
        }
    }

    /// What it reads at `t`, up to which it has been followed.
    pub fn used(&self, t: Instant) -> Used {
        match (&self.tally, self.measure) {
            (Tally::Out(o), Measure::SinceFirstOut { .. }) => Used::Ms(o.first.map_or(0, |f| t.since(f.at))),
            (Tally::Out(o), Measure::Spells { .. }) => Used::Count(o.spells),
            (Tally::Out(o), Measure::LongestSpell { .. }) => Used::Ms(o.longest_at(t)),
            (Tally::Out(o), Measure::StartTemperature { .. }) => {
                Used::Degrees(self.bad_start().or(o.first).and_then(|f| f.reading))
            }
            (Tally::Out(o), _) => Used::Ms(o.total_ms),
            (Tally::Above { total_ms }, _) => Used::Ms(*total_ms),
            (Tally::Food { .. }, _) => Used::Degrees(self.too_hot().map(|(_, v)| v)),
            (Tally::Cooled { running, slow, .. }, Measure::Cooled { limit_ms, .. }) => {
                let now = running.map(|s| (s.plus(limit_ms), t.since(s)));
                Used::Ms(slower(*slow, now).map_or(0, |(_, ms)| ms))
            }
            (Tally::Cooled { .. }, _) => Used::Ms(0),
            (Tally::Day { n, .. }, _) => Used::Count(*n),
        }
    }

    /// What the measures of time and spells keep, if it is one of them.
    pub fn out(&self) -> Option<&Out> {
        match &self.tally {
            Tally::Out(o) => Some(o),
            _ => None,
        }
    }

    /// The last local date (days since 1970) on which a `day` clause isn't breached, if it isn't frozen again.
    pub(super) fn last_day(&self, zone: Zone) -> Option<i64> {
        let (Tally::Day { n, date }, Measure::Day { limit }) = (&self.tally, self.measure) else { return None };
        Some(match self.over {
            Some(over) => zone.day(over) - 1,
            None => date + i64::from(limit) - i64::from(*n),
        })
    }
}

impl Out {
    pub(super) fn longest_at(&self, t: Instant) -> i64 {
        self.longest_ms.max(self.present.map_or(0, |s| t.since(s)))
    }
}

/// Adds `[from, to)` and notes where the sum reaches its limit and its bound.
fn add(
    sum: &mut i64,
    reach: &mut Option<Instant>,
    over: &mut Option<Instant>,
    limit: i64,
    bound: i64,
    from: Instant,
    to: Instant,
) {
    let (before, after) = (*sum, *sum + to.since(from));
    if after >= limit {
        reach.get_or_insert(from.plus((limit - before).max(0)));
    }
    if after >= bound {
        over.get_or_insert(from.plus((bound - before).max(0)));
    }
    *sum = after;
}

pub(super) fn earlier(a: Option<Instant>, b: Option<Instant>) -> Option<Instant> {
    match (a, b) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => a.or(b),
    }
}

/// The one that reached its limit first, and of two that did together the longer.
pub(super) fn slower(a: Option<(Instant, i64)>, b: Option<(Instant, i64)>) -> Option<(Instant, i64)> {
    a.into_iter().chain(b).min_by_key(|(reach, ms)| (*reach, -ms))
}
