//! Decisions: one list of what needs a person, from the ledger as it stands and what was written lately. Pure.
//!
//! A line goes when what it says is no longer so by the ledger (the entry that mends it is there), or when a `decide`
//! settles it. None goes by itself; only what lies further back than [`BACK_MS`] is not looked at, and the page says so.
//!
//! A `decide` is about an entry, an item or a place. Which of its matters it settles, its note says: the code and the
//! instant of the occurrence, as [`key`] writes them. So a decision is good for that occurrence alone, and what happens
//! again is listed again. A `decide` with another note or none, as a person may post one, settles what had happened to
//! what it is about by then, but nothing that still goes on.

mod food;
mod settled;
mod shop;
mod written;

use super::cold::{Cold, Proposal};
use super::untaken::Untaken;
use crate::clock::{HOUR_MS, Instant, MINUTE_MS, SECOND_MS, Zone};
use crate::exposure::Fold;
use crate::ledger::{About, Action, Id, Record, State};
use crate::record::procedure::Due;
use std::collections::BTreeMap;

/// How far back the list looks at closed items, late entries, bursts and unsigned days, milliseconds: the project's choice.
pub const BACK_MS: i64 = BACK_DAYS * 24 * HOUR_MS;
/// The same in days.
pub const BACK_DAYS: i64 = 14;
/// Entries looked through for that at most, the latest ones.
pub const ENTRIES_MOST: usize = 20_000;
/// Closed items with deviations looked at for that at most, those closed last.
pub const CLOSED_MOST: usize = 500;
/// Taps that the ledger did not take, looked through at most, those that came last.
pub const UNTAKEN_MOST: usize = 1_000;
/// A burst: so many entries by one person …
pub const BURST: usize = 5;
/// … written down within this, milliseconds …
pub const BURST_MS: i64 = 60 * SECOND_MS;
/// … that say they happened over a longer time than this, milliseconds.
pub const APART_MS: i64 = 15 * MINUTE_MS;
/// The shop is taken to have closed with the last entry of a person's before nothing was written for this long,
/// milliseconds. The project's choice: longer than any quiet hour of a working day, shorter than a night.
pub const QUIET_MS: i64 = 4 * HOUR_MS;
/// A cold place without a reading of its air for longer than this is told, milliseconds. The project's choice: once a day.
pub const UNREAD_MS: i64 = 24 * HOUR_MS;

/// Every code, in the order of the list, and whether all of one day are one line.
pub const CODES: &[(&str, bool)] = &[
    ("over", false),
    ("no-return", false),
    ("not-taken", false),
    ("air-above", false),
    ("air-silent", false),
    ("clock-jumped", false),
    ("served-late", false),
    ("made-from-over", false),
    ("seen-elsewhere", false),
    ("out-at-closing", false),
    ("label-late", false),
    ("unmarked", true),
    ("returned-late", false),
    ("returned-not-allowed", false),
    ("start-warm", false),
    ("not-cooled", false),
    ("start-unread", true),
    ("entered-late", false),
    ("burst", false),
    ("late", true),
    ("no-reading", true),
    ("rule-unapproved", false),
    ("no-procedure", false),
    ("procedure-review", false),
    ("unsigned", false),
];

/// One thing that happened or goes on, and needs a person.
#[derive(Clone, PartialEq, Debug)]
pub struct Occurrence {
    /// What a decision about it names; none where only another entry mends it.
    pub about: Option<About>,
    /// The instant by which it is told from another of the same kind.
    pub at: Instant,
    /// Since when.
    pub since: Instant,
    /// The item it is about.
    pub item: Option<Id>,
    /// Whether that has ended.
    pub closed: bool,
    /// The place: where it was seen, or the one that wasn't read.
    pub place: Option<Id>,
    /// The rule.
    pub rule: Option<Id>,
    /// Who wrote it.
    pub by: Option<Id>,
    /// How late it was written, over how long the entries of a burst lie apart, or how far a clock jumped; milliseconds.
    pub ms: i64,
    /// Entries that say it, by number: a decision about one of them may be meant for it.
    pub entries: Vec<u64>,
    /// The lapse that is proposed.
    pub lapse: Option<Proposal>,
    /// The tap that the ledger did not take.
    pub untaken: Option<Untaken>,
}

impl Occurrence {
    fn at(at: Instant) -> Occurrence {
        Occurrence {
            about: None,
            at,
            since: at,
            item: None,
            closed: false,
            place: None,
            rule: None,
            by: None,
            ms: 0,
            entries: Vec::new(),
            lapse: None,
            untaken: None,
        }
    }
}

/// A line of the list.
#[derive(Clone, PartialEq, Debug)]
pub struct Matter {
    /// Stable, for programs.
    pub code: &'static str,
    /// Since when: the earliest of its occurrences.
    pub since: Instant,
    /// What it is about; several where all of one day are one line.
    pub of: Vec<Occurrence>,
}

/// What is handed in besides the ledger as it stands.
#[derive(Default)]
pub struct Facts {
    /// What was written since [`BACK_MS`] ago, each with its corrections; at most [`ENTRIES_MOST`].
    pub written: BTreeMap<u64, Record>,
    /// What about the written procedure waits for a manager.
    pub procedure: Option<Due>,
    /// How it stands about the cold of the places.
    pub cold: Vec<Cold>,
    /// Taps that the ledger did not take, however long ago: at most [`UNTAKEN_MOST`].
    pub untaken: Vec<Untaken>,
    /// Jumps of servers' clocks since [`BACK_MS`] ago: what a clock said then, and how far it had jumped, milliseconds.
    pub jumps: Vec<(Instant, i64)>,
}

/// What the note of a decision about an occurrence says.
pub fn key(code: &str, at: Instant) -> String {
    format!("{code} {at}")
}

/// The code of the occurrence that such a note names, if it names one.
pub fn named(note: &str) -> Option<&'static str> {
    let (code, at) = note.split_once(' ')?;
    Instant::parse(at)?;
    CODES.iter().map(|(known, _)| *known).find(|known| *known == code)
}

/// What a decision about a matter of that code may do. What is still over isn't dealt with by being acknowledged.
pub fn actions(code: &str) -> &'static [Action] {
    match code {
        "over" | "no-return" => &[Action::Keep, Action::Corrected],
        // A lapse, or why there was none: knowing of it cools nothing.
        "air-above" | "air-silent" => &[Action::Dismiss],
        // Only another entry mends these.
        "unsigned" | "no-procedure" | "procedure-review" => &[],
        _ => &[Action::Acknowledge, Action::Keep, Action::Corrected, Action::Dismiss],
    }
}

type Found = Vec<(&'static str, Occurrence)>;

/// Everything that needs a person at an instant: what is over first, then in the order of [`CODES`], the oldest first.
/// `state` holds the open items, those closed lately that deviate, and the decisions, approvals and reviews.
pub fn list(state: &State, now: Instant, facts: &Facts) -> Vec<Matter> {
    let zone = state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let fold = Fold::new(state, now, zone);
    let mut found = food::matters(&fold, now);
    found.extend(written::matters(state, now, facts));
    found.extend(shop::matters(state, now, zone, facts));
    let settled = settled::Decisions::of(state);
    found.retain(|(code, o)| !settled.settle(code, o));
    // Items come in no order of their own; a page has the same one each time.
    found.sort_by(|(_, a), (_, b)| (&a.item, &a.place, &a.entries).cmp(&(&b.item, &b.place, &b.entries)));
    let mut lines: BTreeMap<(usize, Instant, usize), Matter> = BTreeMap::new();
    for (n, (code, o)) in found.into_iter().enumerate() {
        let Some(order) = CODES.iter().position(|(c, _)| *c == code) else { continue };
        let line = match CODES[order].1 {
            true => (order, zone.day_starts(zone.day(o.at)), 0),
            false => (order, o.since, n),
        };
        let matter = lines.entry(line).or_insert_with(|| Matter { code, since: o.since, of: Vec::new() });
        matter.since = matter.since.min(o.since);
        matter.of.push(o);
    }
    let mut matters: Vec<Matter> = lines.into_values().collect();
    matters.iter_mut().for_each(|m| m.of.sort_by_key(|o| (o.at, o.item.clone(), o.entries.first().copied())));
    matters
}

pub use shop::day_of;
