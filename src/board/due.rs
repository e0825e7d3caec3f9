//! What time alone brings: the instants at which an item's clock reaches a limit, or a shop's lead time before one, at
//! which it lacks its mark, and at which a place's air has been too warm or its probe silent for too long.

use super::cold::Why;
use crate::clock::{Instant, MINUTE_MS};
use crate::rules::{Standing, Verdict};
use std::fmt;

/// Minutes before a limit at which a shop is told, unless it says otherwise: this project's choice.
pub const LEADS: [i64; 2] = [15, 5];
/// Lead times a shop has at most: this project's choice.
pub const LEADS_MOST: usize = 4;
/// The longest lead time in minutes: this project's choice, the longest limit of time out in the rule book being six
/// hours.
pub const LEAD_MOST: i64 = 240;

/// A verdict that comes nearer: so many minutes before it, or at it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Threshold {
    /// The verdict that the item will have.
    pub verdict: Verdict,
    /// Minutes before that; 0 at the limit itself.
    pub minutes: i64,
}

impl Threshold {
    /// Reads `discard-15`.
    pub fn read(text: &str) -> Option<Threshold> {
        let (word, minutes) = text.split_once('-')?;
        let verdicts = [Verdict::Within, Verdict::Return, Verdict::Use, Verdict::Discard];
        let verdict = verdicts.into_iter().find(|v| v.word() == word)?;
        Some(Threshold { verdict, minutes: minutes.parse().ok().filter(|m| (0..=LEAD_MOST).contains(m))? })
    }
}

impl fmt::Display for Threshold {
    /// `discard-15`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{}", self.verdict.word(), self.minutes)
    }
}

/// Everything that time alone brings, to an item or to a place.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum What {
    /// An item's verdict comes nearer.
    Limit(Threshold),
    /// An item lacks the mark that its rule asks for.
    Unmarked,
    /// A lapse of a place is proposed.
    Lapse(Why),
}

impl What {
    /// Reads `discard-15`, `unmarked`, `air-above`.
    pub fn read(text: &str) -> Option<What> {
        let plain = [What::Unmarked, What::Lapse(Why::Above), What::Lapse(Why::Silent)];
        plain.into_iter().find(|w| w.to_string() == text).or_else(|| Threshold::read(text).map(What::Limit))
    }

    /// Whether it is a place's.
    pub fn of_place(self) -> bool {
        matches!(self, What::Lapse(_))
    }
}

impl fmt::Display for What {
    /// See [`What::read`].
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            What::Limit(threshold) => threshold.fmt(f),
            What::Unmarked => f.write_str("unmarked"),
            What::Lapse(why) => f.write_str(why.code()),
        }
    }
}

/// What time will bring, or has just brought, and when.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Turn {
    /// What.
    pub what: What,
    /// When, if nothing changes before.
    pub at: Instant,
}

impl From<Due> for Turn {
    fn from(due: Due) -> Turn {
        Turn { what: What::Limit(due.threshold), at: due.at }
    }
}

/// A verdict that time will bring to an item, or has just brought.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Due {
    /// What.
    pub threshold: Threshold,
    /// When, if nothing changes before.
    pub at: Instant,
}

/// What time alone will bring to an item that stands so: the next worse verdict and its end, each with the shop's lead
/// times before. What a standing holds already is not among it.
pub fn ahead(s: &Standing, leads: &[i64]) -> Vec<Due> {
    let next = s.next.as_ref().map(|n| (n.verdict, n.at));
    let end =
        s.discard_by.filter(|_| s.verdict != Verdict::Discard && next.is_some_and(|(v, _)| v != Verdict::Discard));
    let limits = next.into_iter().chain(end.map(|at| (Verdict::Discard, at)));
    let each = |(verdict, at): (Verdict, Instant)| {
        let one =
            move |minutes: i64| Due { threshold: Threshold { verdict, minutes }, at: at.plus(-minutes * MINUTE_MS) };
        std::iter::once(0).chain(leads.iter().copied()).map(one)
    };
    limits.flat_map(each).collect()
}

/// What a standing calls for at its instant: whatever was reached last, the limit it is over or a lead time before the
/// next.
pub fn calls(s: &Standing, leads: &[i64]) -> Option<Due> {
    let over = (s.verdict != Verdict::Within)
        .then(|| Due { threshold: Threshold { verdict: s.verdict, minutes: 0 }, at: s.reached(s.verdict) });
    over.into_iter().chain(ahead(s, leads)).filter(|d| d.at <= s.as_of).max_by_key(|d| (d.at, d.threshold.verdict))
}
