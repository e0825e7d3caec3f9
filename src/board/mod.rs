//! The board room: the manager's view. What is urgent, most urgent first.

pub mod cold;
pub mod decisions;
pub mod due;
pub mod others;
pub mod outage;
pub mod untaken;
pub mod what_if;
pub mod working;

use crate::clock::{Instant, Zone};
use crate::exposure::Fold;
use crate::ledger::{self, Body, Id, State};
use crate::record::marking::{Agreement, Marking};
use crate::rules::{Demand, Phase, Standing, Verdict, standing_and_exposure};
use std::collections::HashMap;
use std::sync::Mutex;

/// Where an item stands in the list: worst verdict first, out before cold, least time left, then its id. On the board
/// what is within its time but carries a later one stands before everything else that is within.
pub type Place = (u8, bool, i64, Id);

/// What the list needs of an item, and how long it holds without an entry.
#[derive(Clone, Copy, Debug)]
struct Brief {
    verdict: Verdict,
    state: Phase,
    /// Time left that doesn't run: in the cold under a rule that adds up.
    rest_ms: Option<i64>,
    /// The instant up to which time left runs.
    until: Option<Instant>,
    /// Whether its mark says a later time than its discard-by time.
    late: bool,
    /// From when on it lacks a mark.
    unmarked_from: Option<Instant>,
    from: Instant,
    steady_until: Instant,
}

/// Briefs worked out before, with the head they were worked out at.
#[derive(Default)]
pub struct Briefs(Mutex<HashMap<Id, (u64, Brief)>>);

/// Which items are wanted.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Wanted {
    /// Everything that isn't closed.
    Open,
    /// The same for the board: late labels before whatever else is within.
    Board,
    /// One state.
    Only(Phase),
}

impl Brief {
    fn of<'a>(fold: &Fold<'a>, id: &'a Id) -> Option<Brief> {
        let (s, e) = standing_and_exposure(fold, id)?;
        let t = e.at;
        let (mut rest_ms, mut until, mut steady_until) = (None, None, Instant::FAR);
        let clauses = e.rules.iter().flat_map(|r| &r.clauses).enumerate();
        for (i, clause) in clauses.filter(|(_, c)| c.demand != Demand::Deviation) {
            let ahead = e.ahead[i].reach();
            if let Some(change) = ahead.filter(|r| *r >= t) {
                steady_until = steady_until.min(change);
            }
            if clause.demand != Demand::Discard || e.out {
                continue;
            }
            let taken_out = e.taken_out[i].reach();
            if taken_out == ahead {
                until = until.into_iter().chain(taken_out).min();
            } else {
                rest_ms = rest_ms.into_iter().chain(taken_out.map(|r| r.since(t))).min();
            }
            if clause.measure.name() == "start_temperature" {
                // It depends on how old the last reading is.
                steady_until = t;
            }
        }
        if e.out {
            until = s.discard_by;
            // Out where no clause that discards counts it: what is left is that of a place where all do.
            rest_ms = if until.is_none() { s.left_ms } else { None };
        }
        let chilling = !e.out && s.spell_ms > 0;
        if chilling || (e.out && until.is_none()) {
            steady_until = t;
        }
        if e.frozen {
            let zone = fold.zone();
            steady_until = steady_until.min(zone.day_starts(zone.day(t) + 1));
        }
        let marking = Marking::of(fold.state(), &s)?;
        Some(Brief {
            verdict: s.verdict,
            state: s.state,
            rest_ms,
            until,
            late: marking.agreement == Agreement::Late,
            unmarked_from: marking.unmarked_from,
            from: t,
            steady_until,
        })
    }

    fn place(&self, id: &Id, t: Instant, wanted: Wanted) -> Place {
        let runs = self.until.map(|u| u.since(t));
        let left = if self.verdict == Verdict::Discard { Some(0) } else { self.rest_ms.into_iter().chain(runs).min() };
        let rank = match (wanted, self.verdict, self.late) {
            (Wanted::Board, Verdict::Within, false) => 4,
            _ => 3 - self.verdict as u8,
        };
        (rank, self.state != Phase::Out, left.map_or(i64::MAX, |ms| ms.max(0)), id.clone())
    }
}

/// Whether a place's cold or air is written to change after an instant.
fn changes_after(place: &ledger::Place, t: Instant) -> bool {
    let ends_after = |e: &ledger::Entry| matches!(e.body, Body::Lapse { until: Some(until), .. } if until > t);
    place.air.get_max().is_some_and(|((at, _), _)| *at > t)
        || place.lapses.get_max().is_some_and(|((at, _), _)| *at > t)
        || place.lapses.values().any(|e| ends_after(e))
}

/// A page of the list.
pub struct List {
    /// Most urgent first.
    pub standings: Vec<Standing>,
    /// The place of the last one, where there are more after it.
    pub last: Option<Place>,
    /// How many open items there are in all: out, cold, frozen.
    pub counts: [usize; 3],
    /// How many of all open items carry a time that is too late, and how many lack one.
    pub labels: [usize; 2],
}

/// Which of the items, besides their state.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
pub struct Filter {
    /// Those that are in this place.
    pub place: Option<Id>,
    /// Those of this product.
    pub product: Option<Id>,
}

impl Filter {
    /// Whether it keeps an open item of that id.
    pub fn keeps_id(&self, state: &State, id: &Id) -> bool {
        state.items.get(id).is_some_and(|item| self.keeps(item))
    }

    fn keeps(&self, item: &ledger::Item) -> bool {
        let of = || item.begin().and_then(|(_, b)| b.product.as_ref());
        self.place.as_ref().is_none_or(|p| item.place() == Some(p))
            && self.product.as_ref().is_none_or(|p| of() == Some(p))
    }
}

/// A page of open items at an instant, most urgent first, after a place in the list.
pub fn page(
    briefs: &Briefs,
    state: &State,
    changed: impl Fn(&Id) -> u64,
    t: Instant,
    wanted: Wanted,
    after: Option<&Place>,
    limit: usize,
) -> List {
    page_of(briefs, state, changed, t, (wanted, &Filter::default()), after, limit)
}

/// The same of those that a filter keeps.
pub fn page_of(
    briefs: &Briefs,
    state: &State,
    changed: impl Fn(&Id) -> u64,
    t: Instant,
    (wanted, filter): (Wanted, &Filter),
    after: Option<&Place>,
    limit: usize,
) -> List {
    let zone = state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let fold = Fold::new(state, t, zone);
    // An older page's next one is of an instant that things have happened since, and clocks may run ahead.
    let unsettled = state.places.values().any(|p| changes_after(p, t));
    let mut known = briefs.0.lock().unwrap_or_else(|e| e.into_inner());
    let (mut places, mut counts, mut labels) = (Vec::<Place>::new(), [0; 3], [0; 2]);
    for (id, item) in &state.items {
        if item.begin().is_none_or(|(e, _)| e.at > t) || item.end().is_some_and(|e| e.at <= t) || !filter.keeps(item) {
            continue;
        }
        // What is with others has left the shop's board.
        if wanted == Wanted::Board && others::with_others(state, item) {
            continue;
        }
        let fresh = known.get(id).filter(|(at, b)| *at >= changed(id) && b.from <= t && t < b.steady_until);
        let brief = match fresh {
            Some((_, brief)) => *brief,
            None => {
                let Some(brief) = Brief::of(&fold, id) else { continue };
                // What it leaves out, since it happens later, would be missing from it then.
                if !unsettled && item.truth.last().is_none_or(|e| e.at <= t) {
                    known.insert(id.clone(), (state.head, brief));
                }
                brief
            }
        };
        if let Some(count) = counts.get_mut(brief.state as usize) {
            *count += 1;
        }
        labels[0] += usize::from(brief.late);
        labels[1] += usize::from(brief.unmarked_from.is_some_and(|from| from <= t));
        if matches!(wanted, Wanted::Open | Wanted::Board) || wanted == Wanted::Only(brief.state) {
            let place = brief.place(id, t, wanted);
            if after.is_none_or(|a| place > *a) {
                places.push(place);
            }
        }
    }
    if known.len() > 2 * state.items.len() + 1_000 {
        known.retain(|id, _| state.items.contains_key(id));
    }
    drop(known);
    let more = places.len() > limit;
    if more {
        places.select_nth_unstable(limit);
        places.truncate(limit);
    }
    places.sort_unstable();
    let last = if more { places.last().cloned() } else { None };
    let id_in = |id: &Id| state.items.get_key_value(id).map(|(id, _)| id);
    let standings = places.iter().filter_map(|p| crate::rules::standing(&fold, id_in(&p.3)?)).collect();
    List { standings, last, counts, labels }
}
