//! What an item carries, whether it agrees with the log, and what its next mark may say. Pure.
//!
//! A mark never gives more time than any mark before it: a label that once said 14:00 may still be on the box. The one
//! way to a later time is a correction that strikes the earlier mark out, with its reason.

use crate::clock::{Instant, MINUTE_MS};
use crate::ledger::{Body, Entry, Id, Item, MOST_COUNT, MarkHow, Record, State};
use crate::rules::{Phase, Standing, Verdict};

/// How long food may be out before a missing mark is told; milliseconds. The project's choice: long enough to set it down
/// and write, short beside every limit.
pub const UNMARKED_MS: i64 = 15 * MINUTE_MS;

/// Whether what an item carries agrees with the log.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Agreement {
    /// It carries nothing, and nothing asks that it does.
    NoneNeeded,
    /// Without a mark [`UNMARKED_MS`] or longer into the clock of a rule that asks for one, or that long into its present
    /// stretch out.
    Unmarked,
    /// It was so as it closed.
    NeverMarked,
    /// Its last mark says a later time than its discard-by time now is.
    Late,
    /// Its last mark says no later time than that.
    Agrees,
}

/// A mark as it reads now.
#[derive(Clone, PartialEq, Debug)]
pub struct Mark {
    /// Its entry's number.
    pub seq: u64,
    /// When it was made.
    pub at: Instant,
    /// What it says.
    pub discard_by: Instant,
    /// By hand or printed.
    pub how: MarkHow,
    /// Which copy.
    pub copy: u32,
    /// Who made it.
    pub by: Option<Id>,
}

/// What the next mark would say.
#[derive(Clone, PartialEq, Debug)]
pub struct NextMark {
    /// The earlier of the time computed now and every earlier mark, cut to the minute, as a label shows it.
    pub discard_by: Instant,
    /// Whether it is earlier than the last mark.
    pub new_time: bool,
    /// The earlier mark that says less than is computed now, if one does.
    pub held_by: Option<Mark>,
}

/// Why no mark is to be made.
#[derive(Clone, PartialEq, Debug)]
pub enum NoMark {
    /// The item has ended.
    Closed,
    /// It is at `discard`: it is thrown away, not marked.
    Over,
    /// Nothing would discard it where it is.
    NoLimit,
    /// No clock of it runs where it is: in the cold, with nothing but its days or the time it may yet be out.
    Cold,
    /// The time of an earlier mark has come, and no later one may be given.
    Held(Mark),
}

/// All there is to say of an item's marks at the instant of its standing.
#[derive(Clone, PartialEq, Debug)]
pub struct Marking {
    /// Whether what it carries agrees with the log.
    pub agreement: Agreement,
    /// The last mark, by hand or printed.
    pub last: Option<Mark>,
    /// The next one.
    pub next: Result<NextMark, NoMark>,
    /// The copy that a mark made now is: one more than any before, up to the highest that an entry may say.
    pub copy: u32,
    /// From when on it is unmarked, if it stays as it is; `None` if no mark is asked for.
    pub unmarked_from: Option<Instant>,
}

impl Marking {
    /// Of an item with that standing; `None` if it hasn't begun.
    pub fn of(state: &State, s: &Standing) -> Option<Marking> {
        let item = state.items.get(&s.item)?;
        let (entry, begin) = item.begin()?;
        let last = item.truth.iter().rev().find_map(|e| mark(e));
        let asked = || state.rules_of(begin, entry.meta.seq).iter().any(|r| r.asks_for_mark());
        // The clock of such a rule counts on in the cold, so short trips add up.
        let stretch = (s.spell_ms > 0 || s.state == Phase::Out).then(|| s.as_of.plus(-s.spell_ms));
        let since = s.clock_from.into_iter().chain(stretch).min();
        let from = since.filter(|_| last.is_none() && asked()).map(|t| t.plus(UNMARKED_MS));
        let closed = s.state == Phase::Closed;
        let agreement = match (&last, from) {
            _ if s.deviations.iter().any(|d| d.code == "label-late") => Agreement::Late,
            (Some(_), _) => Agreement::Agrees,
            (None, Some(from)) if from <= s.as_of && closed => Agreement::NeverMarked,
            (None, Some(from)) if from <= s.as_of => Agreement::Unmarked,
            (None, _) => Agreement::NoneNeeded,
        };
        let unmarked_from = from.filter(|_| !closed);
        // Copies struck out count too: their labels may still lie about.
        let copy = (highest(item) + 1).min(MOST_COUNT);
        Some(Marking { agreement, next: next(item, s, last.as_ref()), copy, last, unmarked_from })
    }
}

/// Whether it has a time of day to be marked with: out, or in the cold under a clock that runs on there. What only its
/// days limit while it is in the cold has none: its use-by date says that.
pub fn runs(s: &Standing) -> bool {
    s.state == Phase::Out || s.clock_by.is_some()
}

/// The mark that says least, in effect.
pub fn earliest(item: &Item) -> Option<Mark> {
    marks(item).min_by_key(|m| m.discard_by)
}

/// Every mark in effect, in order of truth.
pub fn marks(item: &Item) -> impl Iterator<Item = Mark> {
    item.truth.iter().filter_map(|e| mark(e))
}

fn mark(e: &Entry) -> Option<Mark> {
    let Body::Mark { discard_by, how, copy, .. } = e.body else { return None };
    Some(Mark { seq: e.meta.seq, at: e.at, discard_by, how, copy, by: e.meta.by.clone() })
}

fn next(item: &Item, s: &Standing, last: Option<&Mark>) -> Result<NextMark, NoMark> {
    let earlier = earliest(item).filter(|m| s.discard_by.is_none_or(|by| m.discard_by < cut(by)));
    let held = || earlier.clone().filter(|m| m.discard_by <= s.as_of);
    match (s.state, s.verdict, s.discard_by) {
        (Phase::Closed, ..) => Err(NoMark::Closed),
        (_, Verdict::Discard, _) => Err(NoMark::Over),
        // In the cold too: its label would say how long it may yet be out.
        _ if let Some(m) = held() => Err(NoMark::Held(m)),
        _ if !runs(s) && s.left_ms.is_some() => Err(NoMark::Cold),
        (.., None) => Err(NoMark::NoLimit),
        (.., Some(computed)) => {
            let held_by = earlier;
            let discard_by = cut(held_by.as_ref().map_or(computed, |m| m.discard_by));
            let new_time = last.is_some_and(|m| discard_by < m.discard_by);
            Ok(NextMark { discard_by, new_time, held_by })
        }
    }
}

/// To the minute, downwards: the mark never rounds up.
pub fn cut(t: Instant) -> Instant {
    Instant(t.0.div_euclid(MINUTE_MS) * MINUTE_MS)
}

/// The highest copy that any mark was ever said to be.
fn highest(item: &Item) -> u32 {
    let corrected = |r: &Record| {
        let versions = r.corrections.iter().filter_map(|c| r.effective(c.meta.seq).ok().flatten());
        versions.filter_map(|e| mark(&e)).map(|m| m.copy).collect::<Vec<_>>()
    };
    let written = item.records.iter().filter_map(|r| mark(&r.original)).map(|m| m.copy);
    written.chain(item.records.iter().flat_map(corrected)).max().unwrap_or(0)
}
