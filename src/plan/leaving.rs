//! When an item may leave the cold for the last time before it is served. Pure.

use super::{Asked, carried_out, stands};
use crate::clock::{Instant, Zone};
use crate::exposure::controlled;
use crate::ledger::{Entry, Id, Parsed, State};
use crate::rules::Verdict;
use std::sync::Arc;

/// The last time it leaves the cold; the steps after that keep their distance from it.
#[derive(Clone, PartialEq, Debug)]
pub struct Leaving {
    /// As planned.
    pub at: Instant,
    /// From when until when it may leave, the first and the last instant: outside of them it would be at `discard` when
    /// served, or the step before isn't done, or the steps after it aren't over by then. None if it is at `discard` then,
    /// as planned and as late as it can leave.
    pub window: Option<(Instant, Instant)>,
}

/// Finds it by halving the time in which its ends may lie. What time out alone counts is milder the later it leaves; what
/// the air's known hours or another item's clock count may be worse: so both ends are looked for, from where it is in time.
pub(super) fn leaving(
    state: &State,
    asked: &Asked,
    item: &Id,
    (with, steps): (&State, &[Arc<Entry>]),
    now: Instant,
) -> Option<Leaving> {
    let at = last_out(with, item, steps)?;
    let about = |p: &Parsed| {
        p.at == Some(at) && p.bodies.iter().any(|b| steps.iter().any(|e| e.body == *b && e.item() == Some(item)))
    };
    let k = asked.steps.iter().position(about)?;
    let times: Vec<Instant> = asked.steps.iter().filter_map(|p| p.at).collect();
    let begun = with.items.get(item)?.begin()?.0.at;
    let least = times[..k].last().copied().unwrap_or(now).max(now).max(begun).min(at);
    let most = at.plus(asked.serve_at.since(*times.last()?));
    let zone = state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let in_time = |leaves: Instant| {
        let shift = leaves.since(at);
        let when = |i: usize, t: Instant| if i >= k { t.plus(shift) } else { t };
        let there = carried_out(state, &asked.steps, when, now).ok();
        there
            .and_then(|(state, _)| stands(&state, item, asked.serve_at, zone))
            .is_some_and(|s| s.verdict != Verdict::Discard)
    };
    // The first instant between two at which it is as at the second; at the first it isn't.
    let turning = |mut other: Instant, mut so: Instant| {
        while (so.0 - other.0).abs() > 1 {
            let middle = Instant(other.0 + (so.0 - other.0) / 2);
            if in_time(middle) { so = middle } else { other = middle }
        }
        so
    };
    let fine = if in_time(at) { Some(at) } else { Some(most).filter(|_| in_time(most)) };
    let window = fine.map(|fine| {
        let from = if in_time(least) { least } else { turning(least, fine) };
        let to = if in_time(most) { most } else { turning(most, fine) };
        (from, to)
    });
    Some(Leaving { at, window })
}

/// When a step takes it from a place that keeps it cold to one that doesn't, the last one.
fn last_out(state: &State, item: &Id, steps: &[Arc<Entry>]) -> Option<Instant> {
    let truth = &state.items.get(item)?.truth;
    let stays: Vec<&Arc<Entry>> = truth.iter().filter(|e| e.goes_to().is_some()).collect();
    let cold = |e: &Entry| e.goes_to().and_then(|p| state.places.get(p)).map(|p| controlled(p, e.at));
    let out = |pair: &[&Arc<Entry>]| {
        let planned = steps.iter().any(|s| s.meta.seq == pair[1].meta.seq);
        (planned && cold(pair[0]) == Some(true) && cold(pair[1]) == Some(false)).then_some(pair[1].at)
    };
    stays.windows(2).filter_map(out).next_back()
}
