//! An item's line through time: where it was, in pieces out of or under control, chill-down time included.

use super::Cut;
use crate::clock::{HOUR_MS, Instant};
use crate::ledger::{Begin, Body, Control, Entry, Id, Place, State, Temperature};
use crate::rules::{Unread, Uses};
use std::rc::Rc;
use std::sync::Arc;

/// How long an air reading holds at most.
pub const AIR_HOLDS_MS: i64 = 4 * HOUR_MS;

/// The places a piece of time counts for: one, or after a beginning from several parents, several.
#[derive(Clone)]
pub(super) enum Where<'a> {
    One(&'a Place),
    Many(Rc<[&'a Place]>),
    /// A place that every clause covers, whose air is above nothing: for "how long may it yet be out".
    Anywhere,
}

impl<'a> Where<'a> {
    pub(super) fn places(&self) -> &[&'a Place] {
        match self {
            Where::One(p) => std::slice::from_ref(p),
            Where::Many(list) => list,
            Where::Anywhere => &[],
        }
    }

    pub(super) fn counts(&self, uses: Uses) -> bool {
        matches!(self, Where::Anywhere) || self.places().iter().any(|p| uses.covers(p.r#use))
    }
}

/// A piece of an item's time, `[from, to)`.
#[derive(Clone)]
pub(super) struct Piece<'a> {
    pub from: Instant,
    pub to: Instant,
    /// Counts as out.
    pub out: bool,
    /// Counts as out only until it is chilled; it is in the cold already.
    pub chilling: bool,
    pub frozen: bool,
    /// Whose use and air count.
    pub at: Where<'a>,
    /// Where it really is.
    pub place: &'a Place,
}

/// Something made part of the item.
#[derive(Clone)]
pub(super) struct Join<'a> {
    pub key: (Instant, u64),
    pub from: &'a [Id],
}

/// Everything about one item that its measures read, up to the cut.
pub(super) struct Line<'a> {
    pub entry: &'a Arc<Entry>,
    pub begin: &'a Begin,
    pub pieces: Vec<Piece<'a>>,
    pub joins: Vec<Join<'a>>,
    /// Food readings in order of truth.
    pub readings: Vec<(Cut, Temperature)>,
}

impl<'a> Line<'a> {
    /// The last reading in the hour up to `t`.
    pub(super) fn start_reading(&self, t: Instant) -> Option<Temperature> {
        let upto = self.readings.partition_point(|(key, _)| key.0 <= t);
        let (key, value) = self.readings[..upto].last()?;
        (t.since(key.0) <= HOUR_MS).then_some(*value)
    }

    /// Its time from `t` on as if it were taken out then into a place that everything counts.
    pub(super) fn out_from(&self, t: Instant) -> Option<Piece<'a>> {
        let now = self.piece(t)?.clone();
        Some(Piece { out: true, chilling: false, frozen: false, at: Where::Anywhere, from: t, to: Instant::FAR, ..now })
    }

    /// The whole line with that at its end.
    pub(super) fn taken_out(&self, t: Instant) -> Option<Line<'a>> {
        let before = self.pieces.iter().filter(|p| p.from < t);
        let mut pieces: Vec<Piece> = before.map(|p| Piece { to: p.to.min(t), ..p.clone() }).collect();
        pieces.push(self.out_from(t)?);
        Some(Line { pieces, joins: self.joins.clone(), readings: self.readings.clone(), ..*self })
    }

    /// Whether it was made from nothing that has a history.
    pub(super) fn fresh(&self) -> bool {
        self.begin.from.as_ref().is_none_or(|f| f.is_empty())
    }

    /// The piece that instant lies in.
    pub(super) fn piece(&self, t: Instant) -> Option<&Piece<'a>> {
        self.pieces.get(self.pieces.partition_point(|p| p.to <= t))
    }
}

/// Whether a place keeps food cold at an instant.
pub fn controlled(place: &Place, t: Instant) -> bool {
    let lapsed = || lapses(place, (t, u64::MAX), t, t.plus(1)).iter().any(|(from, to)| *from <= t && t < *to);
    place.control != Control::None && !lapsed()
}

/// The stretches in which a place was out of control, as known at the cut, of those that reach into `[from, to)`;
/// one still open at the cut never ends.
pub fn lapses(place: &Place, cut: Cut, from: Instant, to: Instant) -> Vec<(Instant, Instant)> {
    if place.lapses.is_empty() {
        return Vec::new();
    }
    // What began earlier had ended by `from`, if it was said to end. Or else the last word before tells.
    let first = (from.plus(-place.longest_lapse_ms), 0);
    let before = place.lapses.range(..first).rev().find_map(|(key, e)| match &e.body {
        Body::Lapse { until: Some(_), .. } => None,
        Body::Lapse { until: None, .. } => Some(Some(key.0)),
        _ => Some(None),
    });
    let mut open = before.flatten();
    let mut out: Vec<(Instant, Instant)> = Vec::new();
    for (key, e) in place.lapses.range(first..).take_while(|(key, _)| **key <= cut && key.0 < to) {
        match &e.body {
            Body::Lapse { until: Some(until), .. } => {
                out.push((key.0, if *until <= cut.0 { *until } else { Instant::FAR }));
            }
            Body::Lapse { until: None, .. } => open = Some(key.0),
            _ => out.extend(open.take().map(|from| (from, key.0))),
        }
    }
    out.extend(open.map(|from| (from, Instant::FAR)));
    out.retain(|(from, to)| from < to);
    merge(out)
}

/// Sorted, and overlapping or touching stretches made one.
fn merge(mut list: Vec<(Instant, Instant)>) -> Vec<(Instant, Instant)> {
    list.sort_unstable();
    let mut merged: Vec<(Instant, Instant)> = Vec::with_capacity(list.len());
    for (from, to) in list {
        match merged.last_mut() {
            Some(last) if from <= last.1 => last.1 = last.1.max(to),
            _ => merged.push((from, to)),
        }
    }
    merged
}

/// The stretches of `[from, to)` in which the air of any of the places was above `above`.
pub(super) fn above(
    places: &[&Place],
    from: Instant,
    to: Instant,
    above: i64,
    unread: Unread,
    cut: Cut,
) -> Vec<(Instant, Instant)> {
    let mut out = Vec::new();
    let unknown = unread == Unread::Above;
    for place in places {
        // What holds at `from`, then each reading within.
        let before = place.air.range(..=(from, u64::MAX).min(cut)).next_back();
        let last = (to, 0).min((cut.0, cut.1.saturating_add(1)));
        let within = (last > (from, u64::MAX)).then(|| place.air.range((from, u64::MAX)..last));
        let mut readings =
            before.into_iter().chain(within.into_iter().flatten()).map(|(key, v)| (key.0, *v)).peekable();
        let mut push = |a: Instant, b: Instant, hot: bool| {
            let (a, b) = (a.max(from), b.min(to));
            if hot && a < b {
                out.push((a, b));
            }
        };
        push(from, readings.peek().map_or(to, |(at, _)| *at), unknown);
        while let Some((at, value)) = readings.next() {
            let next = readings.peek().map_or(Instant::FAR, |(at, _)| *at);
            let holds = at.plus(AIR_HOLDS_MS).min(next);
            push(at, holds, value > above);
            push(holds, next, unknown);
            if next >= to {
                break;
            }
        }
    }
    merge(out)
}

/// Draws an item's line. `from_out` tells where an item's parents were, of those that were out when it began.
pub(super) fn draw<'a>(
    state: &'a State,
    id: &Id,
    cut: Cut,
    from_out: impl FnOnce(&Join<'a>) -> Vec<&'a Place>,
) -> Option<Line<'a>> {
    let item = state.items.get(id)?;
    let (entry, begin) = item.begin()?;
    if entry.key() > cut {
        return None;
    }
    let truth = || item.truth.iter().take_while(|e| e.key() <= cut);
    let mut line = Line { entry, begin, pieces: Vec::new(), joins: Vec::new(), readings: Vec::new() };
    let mut stays: Vec<(Instant, &'a Place)> = Vec::new();
    for e in truth() {
        if let Body::FoodReading { value, .. } = &e.body {
            line.readings.push((e.key(), *value));
        }
        if !e.parents().is_empty() {
            line.joins.push(Join { key: e.key(), from: e.parents() });
        }
        let Some(place) = e.goes_to().and_then(|p| state.places.get(p)) else { continue };
        // Moved twice at one instant: it is where the later entry says.
        if stays.last().is_some_and(|(from, _)| *from == e.at) {
            stays.pop();
        }
        if stays.last().is_none_or(|(_, before)| before.place != place.place) {
            stays.push((e.at, place));
        }
    }
    let chill_ms = begin.product.as_ref().and_then(|p| state.product(p, entry.meta.seq)).and_then(|p| p.chill_ms);
    let mut chill = Chill { ms: chill_ms.unwrap_or(0), was: None, until: Instant::NEVER };
    if chill.ms > 0
        && let Some(first) = line.joins.first().filter(|j| j.key == entry.key())
    {
        let places = from_out(first);
        chill.was = match places.as_slice() {
            [] => None,
            [one] => Some(Where::One(one)),
            _ => Some(Where::Many(places.into())),
        };
    }
    for (i, (from, place)) in stays.iter().enumerate() {
        let to = stays.get(i + 1).map_or(Instant::FAR, |(next, _)| *next);
        let mut at = *from;
        if place.control == Control::None {
            chill.push(&mut line, at, to, true, place);
            continue;
        }
        for (a, b) in lapses(place, cut, *from, to) {
            let (a, b) = (a.clamp(*from, to), b.clamp(*from, to));
            if a < b {
                chill.push(&mut line, at, a, false, place);
                chill.push(&mut line, a, b, true, place);
                at = b;
            }
        }
        chill.push(&mut line, at, to, false, place);
    }
    Some(line)
}

/// Time that still counts as out after coming under control.
struct Chill<'a> {
    ms: i64,
    /// Where it was when it was last out, while that may still count.
    was: Option<Where<'a>>,
    /// Until when it does.
    until: Instant,
}

impl<'a> Chill<'a> {
    fn push(&mut self, line: &mut Line<'a>, from: Instant, to: Instant, out: bool, place: &'a Place) {
        if from >= to {
            return;
        }
        let real = Where::One(place);
        let frozen = place.control == Control::Frozen && !out;
        let mut piece = |from, to, out, chilling, at| {
            line.pieces.push(Piece { from, to, out, chilling, frozen: frozen && !chilling, at, place });
        };
        if out {
            piece(from, to, true, false, real.clone());
            (self.was, self.until) = (Some(real), Instant::NEVER);
            return;
        }
        let mut from = from;
        if self.ms > 0
            && let Some(was) = &self.was
        {
            if self.until == Instant::NEVER {
                let chilled = |r: &&(Cut, Temperature)| r.0.0 >= from && r.1.exact() <= Temperature::CHILLED.exact();
                let read = line.readings.iter().find(chilled).map_or(Instant::FAR, |r| r.0.0);
                self.until = from.plus(self.ms).min(read);
            }
            if from < self.until {
                let end = self.until.min(to);
                piece(from, end, true, true, was.clone());
                from = end;
            }
            if self.until <= to {
                self.was = None;
            }
        }
        if from < to {
            piece(from, to, false, false, real);
        }
    }
}
