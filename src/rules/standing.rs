//! A standing: what an item's history means at an instant under its rules.

use super::{Clause, Demand, Limit, Returns, Rule, Verdict};
use crate::clock::{Instant, Zone};
use crate::exposure::{Exposure, Fold, Gauge, Stop, Used};
use crate::ledger::{Body, Id, State};
use serde::Serialize;
use utoipa::ToSchema;

/// Where an item's clock stands. `out`: out of temperature control, in a place without it or in a lapse. `cold`: in
/// the cold. `frozen`: frozen. `closed`: ended.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Phase {
    /// Out of temperature control.
    Out,
    /// In the cold.
    Cold,
    /// Frozen.
    Frozen,
    /// Ended.
    Closed,
}

/// What an item's history means at an instant, inherited time included. Every stretch of time is in whole milliseconds
/// (`_ms`), every instant RFC 3339 in UTC. It is guidance: the local health authority decides.
#[derive(Clone, PartialEq, Debug, Serialize, ToSchema)]
pub struct Standing {
    /// The item.
    pub item: Id,
    /// The instant it is said of: of a closed item, that at which it closed.
    pub as_of: Instant,
    /// The place it is in.
    pub place: Id,
    /// Whether its clock runs.
    pub state: Phase,
    /// The worst that a breached clause of all its rules asks for; `discard` too where a parent was at `discard`.
    pub verdict: Verdict,
    /// Time out, all spells added, inherited time included; milliseconds.
    pub total_out_ms: i64,
    /// The present stretch out, milliseconds; 0 when not out.
    pub spell_ms: i64,
    /// How many unbroken stretches out, inherited ones included.
    pub spells: u32,
    /// The first instant out, a parent's too; `null` if it never was.
    #[schema(required)]
    pub first_out_at: Option<Instant>,
    /// Discard by this instant, if it stays where it is: the earliest at which a `discard` clause reaches its limit,
    /// never rounded up. The time a label carries. `null` if none will.
    #[schema(required)]
    pub discard_by: Option<Instant>,
    /// How long it may yet be out, milliseconds; of an item in the cold, if it were taken out now. `null` only if nothing
    /// would ever discard it.
    #[schema(required)]
    pub left_ms: Option<i64>,
    /// While out: back in the cold by this instant. `null` when not out, or when its rule allows no return any more.
    #[schema(required)]
    pub return_by: Option<Instant>,
    /// When the verdict gets worse next, if it stays where it is; `null` if it won't.
    #[schema(required)]
    pub next: Option<Next>,
    /// The last local date within every `day` clause, like `2026-05-08`; `null` while frozen or without such a clause.
    #[schema(value_type = Option<String>, format = Date, required)]
    pub use_by: Option<String>,
    /// The clause whose limit `discard_by` is; `null` with it.
    #[schema(required)]
    pub decides: Option<Decides>,
    /// Every breached clause.
    pub reasons: Vec<Reason>,
    /// What was done otherwise than the rules ask, by time.
    pub deviations: Vec<Deviation>,
    /// The earliest reach of a `discard` clause other than `day`, if it stays where it is: in the cold, a clock that runs
    /// on there. For marks; no part of what is served.
    #[serde(skip)]
    #[schema(ignore)]
    pub clock_by: Option<Instant>,
    /// The same if it were taken out now, however long it has been kept by then; milliseconds.
    #[serde(skip)]
    #[schema(ignore)]
    pub clock_left_ms: Option<i64>,
    /// When the clock of a rule that allows no return began, inherited ones included; of several the first.
    #[serde(skip)]
    #[schema(ignore)]
    pub clock_from: Option<Instant>,
}

impl Standing {
    /// When it came to a verdict it has: the earliest of the clauses that ask for it.
    pub fn reached(&self, verdict: Verdict) -> Instant {
        let mine = self.reasons.iter().filter(|r| r.verdict.verdict() == Some(verdict));
        mine.filter_map(|r| r.reached_at).min().or(self.discard_by).unwrap_or(self.as_of)
    }
}

/// When the verdict gets worse, and to what.
#[derive(Clone, PartialEq, Debug, Serialize, ToSchema)]
pub struct Next {
    /// The instant it gets worse.
    pub at: Instant,
    /// The verdict from then on.
    pub verdict: Verdict,
}

/// The clause that decides `discard_by`.
#[derive(Clone, PartialEq, Debug, Serialize, ToSchema)]
pub struct Decides {
    /// The clause's rule.
    pub rule: Id,
    /// What the clause measures.
    pub measure: &'static str,
}

/// A breached clause: what was measured, against which limit. Times carry `used_ms` and `limit_ms`, the rest `used`
/// and `limit`.
#[derive(Clone, PartialEq, Debug, Serialize, ToSchema)]
pub struct Reason {
    /// The clause's rule.
    pub rule: Id,
    /// What the clause measures.
    pub measure: &'static str,
    /// What the breach asks for.
    pub verdict: Demand,
    /// The instant at which the measure reached the limit.
    #[schema(required)]
    pub reached_at: Option<Instant>,
    /// What the measure reads, where it is a time; milliseconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub used_ms: Option<i64>,
    /// What the measure reads, where it is a count (a number) or a temperature (a decimal as text, as it was read);
    /// `null` where no temperature was taken.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub used: Option<serde_json::Value>,
    /// The limit, where it is a time; milliseconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub limit_ms: Option<i64>,
    /// The limit, where it is a count or a temperature.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub limit: Option<Limit>,
}

/// Something done otherwise than the rules ask.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, ToSchema)]
pub struct Deviation {
    /// The instant it was done.
    pub at: Instant,
    /// What was done; stable, for programs.
    pub code: &'static str,
    /// The rule it was done under, where it is one rule's.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub rule: Option<Id>,
}

/// Every code a deviation has, and what it says.
pub const DEVIATIONS: &[(&str, &str)] = &[
    ("returned-late", "put back although a `use` or `discard` clause was breached"),
    ("returned-not-allowed", "put back under a rule that allows no return once its clock has begun"),
    ("start-warm", "too warm when its clock began"),
    ("start-unread", "no temperature taken in the hour before its clock began"),
    ("not-cooled", "took too long to cool"),
    ("made-from-over", "made from, or joined with, something at `discard`"),
    ("served-late", "served, sold, used or handed over at `discard`"),
    ("label-late", "carries a later time than its discard-by time now is"),
    ("entered-late", "a late entry or a correction moved its discard-by time past what it carries"),
];

/// The standing of an item at the fold's instant (or at the instant it closed); `None` if it hasn't begun.
pub fn standing<'a>(fold: &Fold<'a>, id: &'a Id) -> Option<Standing> {
    standing_and_exposure(fold, id).map(|(s, _)| s)
}

/// The standing, and the exposure it was judged from.
pub fn standing_and_exposure<'a>(fold: &Fold<'a>, id: &'a Id) -> Option<(Standing, Exposure)> {
    let e = fold.exposure(id)?;
    let mut s = judge(id, &e);
    marks(fold.state(), fold.zone(), fold.as_of(), id, &e, &mut s);
    s.deviations.sort();
    s.deviations.dedup();
    Some((s, e))
}

fn clauses(e: &Exposure) -> impl Iterator<Item = (usize, &Rule, &Clause)> {
    e.rules.iter().flat_map(|r| r.clauses.iter().map(move |c| (&**r, c))).enumerate().map(|(i, (r, c))| (i, r, c))
}

fn judge(id: &Id, e: &Exposure) -> Standing {
    let t = e.at;
    let plain = e.plain.out().cloned().unwrap_or_default();
    let breached: Vec<bool> = e.now.iter().map(|g| g.breached(t)).collect();
    let counts = |c: &Clause| c.demand != Demand::Return || e.out;
    let worst =
        clauses(e).filter(|(i, _, c)| breached[*i] && counts(c)).filter_map(|(_, _, c)| c.demand.verdict()).max();
    let verdict = if e.doom.is_some() { Verdict::Discard } else { worst.unwrap_or(Verdict::Within) };

    // The earliest reach of the discard clauses as it stays, and of a parent's that was over.
    let mut discard: Option<(Instant, Decides)> = None;
    for (i, rule, c) in clauses(e).filter(|(_, _, c)| c.demand == Demand::Discard) {
        if let Some(reach) = e.ahead[i].reach().filter(|r| discard.as_ref().is_none_or(|(d, _)| r < d)) {
            discard = Some((reach, Decides { rule: rule.rule.clone(), measure: c.measure.name() }));
        }
    }
    if let Some(doom) = e.doom.as_ref().filter(|d| discard.as_ref().is_none_or(|(r, _)| d.reach < *r)) {
        discard = Some((doom.reach, Decides { rule: doom.rule.clone(), measure: doom.measure }));
    }
    let discard_by = discard.as_ref().map(|(t, _)| *t);

    let taken_out = || {
        let reaches =
            clauses(e).filter(|(_, _, c)| c.demand == Demand::Discard).filter_map(|(i, _, _)| e.taken_out[i].reach());
        reaches.min()
    };
    let ends = if e.out { discard_by.or_else(taken_out) } else { taken_out() };
    let left_ms = if verdict == Verdict::Discard { Some(0) } else { ends.map(|by| by.since(t).max(0)) };

    let clocks = |gauges: &[Gauge]| {
        let limits = clauses(e).filter(|(_, _, c)| c.demand == Demand::Discard && c.measure.name() != "day");
        limits.filter_map(|(i, _, _)| gauges[i].reach()).min()
    };
    let mut first_clause = 0;
    let begun = e.rules.iter().filter_map(|r| {
        let at = first_clause;
        first_clause += r.clauses.len();
        (r.returns == Returns::Never).then(|| begun(r, &e.now[at..], plain.first.map(|f| f.at))).flatten()
    });
    let clock_from = begun.min();
    let return_by = (e.out && clock_from.is_none() && !e.closed)
        .then(|| {
            let asks =
                clauses(e).filter(|(_, _, c)| c.demand != Demand::Deviation).filter_map(|(i, _, _)| e.ahead[i].reach());
            asks.chain(e.doom.as_ref().map(|d| d.reach)).min()
        })
        .flatten();
    let next = clauses(e)
        .filter(|(i, _, c)| !breached[*i] && counts(c) && !e.closed)
        .filter_map(|(i, _, c)| Some((e.ahead[i].reach()?, c.demand.verdict()?)))
        .filter(|(at, v)| *v > verdict && *at >= t)
        .min_by_key(|(at, v)| (*at, std::cmp::Reverse(*v)))
        .map(|(at, verdict)| Next { at, verdict });

    let reasons = clauses(e).filter(|(i, _, _)| breached[*i]).map(|(i, r, c)| reason(e, i, r, c)).collect();
    Standing {
        item: id.clone(),
        as_of: t,
        place: e.place.clone(),
        state: match (e.closed, e.out, e.frozen) {
            (true, _, _) => Phase::Closed,
            (_, true, _) => Phase::Out,
            (_, _, true) => Phase::Frozen,
            _ => Phase::Cold,
        },
        verdict,
        total_out_ms: plain.total_ms,
        spell_ms: plain.present.map_or(0, |p| t.since(p)),
        spells: plain.spells,
        first_out_at: plain.first.map(|f| f.at),
        discard_by,
        left_ms,
        return_by,
        next,
        use_by: e.last_day.filter(|_| !e.frozen && !e.closed).map(Zone::date_text),
        decides: discard.map(|(_, d)| d),
        reasons,
        deviations: deviations(e, &breached),
        clock_by: clocks(&e.ahead),
        clock_left_ms: clocks(&e.taken_out).map(|by| by.since(t).max(0)),
        clock_from,
    }
}

/// When the clock of a rule that allows no return began.
fn begun(rule: &Rule, gauges: &[Gauge], first_out: Option<Instant>) -> Option<Instant> {
    let mut clocks = rule.clauses.iter().zip(gauges).filter(|(c, _)| c.measure.name() == "since_first_out").peekable();
    if clocks.peek().is_none() {
        return first_out;
    }
    clocks.filter_map(|(_, g)| g.out()?.first).map(|f| f.at).min()
}

fn reason(e: &Exposure, i: usize, rule: &Rule, c: &Clause) -> Reason {
    let (used_ms, used) = match e.now[i].used(e.at) {
        Used::Ms(ms) => (Some(ms), None),
        Used::Count(n) => (None, Some(n.into())),
        Used::Degrees(d) => (None, Some(d.map_or(serde_json::Value::Null, |d| d.value().into()))),
    };
    let (limit_ms, limit) = match &c.text.limit {
        Limit::Time(text) => (super::parse_duration(text), None),
        other => (None, Some(other.clone())),
    };
    Reason {
        rule: rule.rule.clone(),
        measure: c.measure.name(),
        verdict: c.demand,
        reached_at: e.now[i].reach(),
        used_ms,
        used,
        limit_ms,
        limit,
    }
}

fn deviations(e: &Exposure, breached: &[bool]) -> Vec<Deviation> {
    let mut out = Vec::new();
    let mut list = |at, code, rule: Option<&Rule>| {
        out.push(Deviation { at, code, rule: rule.map(|r| r.rule.clone()) });
    };
    for stop in &e.stops {
        let over =
            |c: &Clause, i: usize, least: Verdict| stop.breached[i] && c.demand.verdict().is_some_and(|v| v >= least);
        match stop.stop {
            Stop::Join { over: true } => list(stop.at, "made-from-over", None),
            Stop::Join { over: false } => {}
            Stop::Close(how) => {
                let discard = stop.doomed || clauses(e).any(|(i, _, c)| over(c, i, Verdict::Discard));
                if how.eaten() && discard {
                    list(stop.at, "served-late", None);
                }
            }
            Stop::Return => {
                let mut at = 0;
                for rule in &e.rules {
                    let mine = at..at + rule.clauses.len();
                    at = mine.end;
                    match rule.returns {
                        Returns::Any => {}
                        Returns::UntilUse => {
                            if rule.clauses.iter().zip(mine).any(|(c, i)| over(c, i, Verdict::Use)) {
                                list(stop.at, "returned-late", Some(rule));
                            }
                        }
                        Returns::Never => {
                            let clocks = || {
                                rule.clauses
                                    .iter()
                                    .zip(mine.clone())
                                    .filter(|(c, _)| c.measure.name() == "since_first_out")
                            };
                            let any = stop.begun.last().copied().unwrap_or(false);
                            if if clocks().next().is_none() { any } else { clocks().any(|(_, i)| stop.begun[i]) } {
                                list(stop.at, "returned-not-allowed", Some(rule));
                            }
                        }
                    }
                }
            }
        }
    }
    for (i, rule, c) in clauses(e).filter(|(i, _, c)| breached[*i] && c.demand == Demand::Deviation) {
        let Some(at) = e.now[i].reach() else { continue };
        match (c.measure.name(), e.now[i].used(e.at)) {
            ("start_temperature", Used::Degrees(None)) => list(at, "start-unread", Some(rule)),
            ("start_temperature", _) => list(at, "start-warm", Some(rule)),
            ("cooled", _) => list(at, "not-cooled", Some(rule)),
            _ => {}
        }
    }
    out
}

/// Deviations about what the item carries: a mark later than the time computed now, and late entries that
/// moved that time past a mark.
fn marks(state: &State, zone: Zone, asked: Instant, id: &Id, e: &Exposure, s: &mut Standing) {
    let Some(item) = state.items.get(id) else { return };
    let carried = item.truth.iter().rev().filter(|m| m.at <= e.at).find_map(|m| match m.body {
        Body::Mark { discard_by, .. } => Some((m.at, discard_by)),
        _ => None,
    });
    if let Some((at, by)) = carried
        && s.discard_by.is_some_and(|d| by > d)
    {
        s.deviations.push(Deviation { at, code: "label-late", rule: None });
    }
    let entered = super::late::moved_past_mark(state, zone, asked, id);
    s.deviations.extend(entered.into_iter().map(|at| Deviation { at, code: "entered-late", rule: None }));
}

/// The discard-by time alone, for judging what a late entry changed.
pub(super) fn discard_by<'a>(fold: &Fold<'a>, id: &'a Id) -> Option<Instant> {
    fold.exposure(id).and_then(|e| judge(id, &e).discard_by)
}
