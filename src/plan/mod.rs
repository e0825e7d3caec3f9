//! What would be: the same ledger, exposure and rules over moves and joins that nobody has made yet. Pure: nothing of a
//! plan is kept in the ledger.

pub mod kept;
mod leaving;

use crate::clock::{HOUR_MS, Instant, Zone};
use crate::exposure::Fold;
use crate::ledger::{self, Body, Entry, Id, Meta, Parsed, Refusal, Request, State};
use crate::rules::{Standing, Verdict, standing};
pub use leaving::Leaving;
use std::collections::HashMap;
use std::sync::Arc;

/// Steps a plan has at most: this project's choice.
pub const STEPS_MOST: usize = 100;
/// How far ahead is planned at most: this project's choice, two weeks.
pub const AHEAD_MS: i64 = 14 * 24 * HOUR_MS;
/// How much a clock that a plan was made by may be behind.
const BEHIND_MS: i64 = 2 * crate::clock::MINUTE_MS;
/// Changes of the verdict that are looked for at most; each makes it worse or follows a step, so there are fewer.
const TURNS_MOST: usize = 4 * STEPS_MOST;

/// What is planned.
pub struct Asked {
    /// The item it is about; the one that the steps begin where left out.
    pub item: Option<Id>,
    /// Beginnings, moves and joins, in order of their times.
    pub steps: Vec<Parsed>,
    /// When it is to be served.
    pub serve_at: Instant,
}

/// What is wrong with a plan.
#[derive(Debug)]
pub enum Flaw {
    /// More than [`STEPS_MOST`] steps, each of a rack's items counted, or none and no item.
    Count,
    /// A step is none: only beginnings, moves and joins are planned.
    Kind(usize),
    /// A step has no time, or one that lies in the past, before the step before it, or after serving.
    Time(usize),
    /// Serving lies in the past or too far ahead.
    Serving,
    /// Which item it is about isn't said, or not there.
    Item,
    /// The ledger would refuse a step.
    Refused(Refusal),
}

/// A change of the verdict.
#[derive(Clone, PartialEq, Debug)]
pub struct Turn {
    /// From this instant on.
    pub at: Instant,
    /// It is this.
    pub verdict: Verdict,
}

/// What a plan comes to.
pub struct Plan {
    /// The shop as it would be, the plan carried out.
    pub state: State,
    /// The item it is about.
    pub item: Id,
    /// The steps as entries.
    pub steps: Vec<Arc<Entry>>,
    /// How it would stand when it is served.
    pub standing: Standing,
    /// The verdict now, or at its beginning, and each change of it up to serving.
    pub turns: Vec<Turn>,
    /// When it may leave the cold for the last time before it is served; none where it doesn't.
    pub leaving: Option<Leaving>,
    /// How much later it might be served, left where it is then; none if no limit ever comes there, as where its clock
    /// stands still in the cold.
    pub slack_ms: Option<i64>,
}

/// Works a plan out against the ledger as it stands.
pub fn plan(state: &State, asked: &Asked, now: Instant) -> Result<Plan, Flaw> {
    // A step of many items is as many steps.
    let count: usize = asked.steps.iter().map(|s| s.bodies.len()).sum();
    if asked.steps.len().max(count) > STEPS_MOST || (asked.steps.is_empty() && asked.item.is_none()) {
        return Err(Flaw::Count);
    }
    if asked.serve_at < now || asked.serve_at.since(now) > AHEAD_MS {
        return Err(Flaw::Serving);
    }
    let mut before = now.plus(-BEHIND_MS);
    for (i, step) in asked.steps.iter().enumerate() {
        let plain = |b: &Body| matches!(b, Body::Item(_) | Body::Move { .. } | Body::Join { .. });
        if !step.bodies.iter().all(plain) {
            return Err(Flaw::Kind(i));
        }
        let at = step.at.filter(|at| before <= *at && *at <= asked.serve_at).ok_or(Flaw::Time(i))?;
        before = at;
    }
    let shop = state;
    let (state, steps) = carried_out(shop, &asked.steps, |_, at| at, now)?;
    let first = || steps.iter().find_map(|e| matches!(e.body, Body::Item(_)).then(|| e.item().cloned()).flatten());
    let item = asked.item.clone().or_else(first).filter(|id| state.items.contains_key(id)).ok_or(Flaw::Item)?;
    let zone = state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let standing = stands(&state, &item, asked.serve_at, zone).ok_or(Flaw::Item)?;
    let turns = turns(&state, &item, &steps, (now, asked.serve_at), zone);
    let slack_ms = match standing.verdict {
        Verdict::Discard => Some(0),
        _ => standing.discard_by.map(|by| by.since(asked.serve_at).max(0)),
    };
    let leaving = leaving::leaving(shop, asked, &item, (&state, &steps), now);
    Ok(Plan { state, item, steps, standing, turns, leaving, slack_ms })
}

/// The ledger with the steps taken one by one, each written down as it happens. `when` says at which instant.
fn carried_out(
    state: &State,
    steps: &[Parsed],
    when: impl Fn(usize, Instant) -> Instant,
    now: Instant,
) -> Result<(State, Vec<Arc<Entry>>), Flaw> {
    let (mut state, mut written) = (state.clone(), Vec::new());
    for (i, step) in steps.iter().enumerate() {
        let at = when(i, step.at.unwrap_or(now));
        let entries = vec![Parsed {
            at: Some(at),
            note: step.note.clone(),
            bodies: step.bodies.clone(),
            id_missing: step.id_missing,
            meta: Meta::default(),
            has_seq: false,
        }];
        let (actor, targets) = (Meta::default(), HashMap::new());
        let request = Request { entries, now: at.max(now), actor, manager: false, probe: false, targets };
        let draft = ledger::accept(&state, request).map_err(|r| Flaw::Refused(Refusal { index: Some(i), ..r }))?;
        state = draft.state;
        written.extend(draft.written.into_iter().filter(|e| draft.asked.contains(&e.meta.seq)));
    }
    Ok((state, written))
}

fn stands(state: &State, item: &Id, at: Instant, zone: Zone) -> Option<Standing> {
    let (id, _) = state.items.get_key_value(item)?;
    standing(&Fold::new(state, at, zone), id)
}

/// The verdict's changes: looked for where a clause is reached and where a step is taken, for it changes nowhere else.
fn turns(state: &State, item: &Id, steps: &[Arc<Entry>], (from, to): (Instant, Instant), zone: Zone) -> Vec<Turn> {
    let mut turns: Vec<Turn> = Vec::new();
    let begun = state.items.get(item).and_then(|i| i.begin()).map_or(from, |(e, _)| e.at);
    let mut at = from.max(begun);
    for _ in 0..TURNS_MOST {
        let Some(s) = stands(state, item, at, zone) else { break };
        if turns.last().is_none_or(|t| t.verdict != s.verdict) {
            turns.push(Turn { at, verdict: s.verdict });
        }
        // At a limit that is allowed it gets worse a millisecond after.
        let reached = s.next.map(|n| if n.at > at { n.at } else { at.plus(1) });
        let step = steps.iter().map(|e| e.at).find(|t| *t > at);
        match reached.into_iter().chain(step).min() {
            Some(next) if next <= to => at = next,
            _ => break,
        }
    }
    turns
}
