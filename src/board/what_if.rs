//! What lapses that nobody has written would mean: the same entries decided, the same fold, and nothing kept. Pure.

use crate::clock::{Instant, Zone};
use crate::exposure::Fold;
use crate::ledger::{self, Body, Id, Meta, Parsed, Refusal, Request, State};
use crate::rules::{Phase, Standing, Verdict, standing};
use std::collections::HashMap;

/// An item that lapses would change.
#[derive(Clone, PartialEq, Debug)]
pub struct Affected {
    /// How it stands.
    pub now: Standing,
    /// How it would stand with them.
    pub then: Standing,
}

/// The lapse entries that say it, one a place.
pub fn lapses(places: &[Id], since: Instant, until: Option<Instant>) -> Vec<Parsed> {
    let one = |place: &Id| Parsed {
        at: Some(since),
        note: None,
        bodies: vec![Body::Lapse { place: place.clone(), until }],
        id_missing: false,
        meta: Meta::default(),
        has_seq: false,
    };
    places.iter().map(one).collect()
}

/// The items at hand that would stand otherwise now, had these places been out of control from `since` to `until` or
/// until now: most urgent first, as they would be. Refused where the ledger would refuse to have it written.
pub fn affected(
    state: &State,
    places: &[Id],
    since: Instant,
    until: Option<Instant>,
    now: Instant,
) -> Result<Vec<Affected>, Refusal> {
    let (actor, targets) = (Meta::default(), HashMap::new());
    let entries = lapses(places, since, until);
    let draft = ledger::accept(state, Request { entries, now, actor, manager: false, probe: false, targets })?;
    let zone = state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let (fold, other) = (Fold::new(state, now, zone), Fold::new(&draft.state, now, zone));
    // What was over before it had ended is no matter of these.
    let concerns = |i: &ledger::Item| i.end().is_none_or(|e| e.at >= since);
    let both = state.items.iter().filter(|(_, i)| concerns(i)).filter_map(|(id, _)| {
        let (there, _) = draft.state.items.get_key_value(id)?;
        Some(Affected { now: standing(&fold, id)?, then: standing(&other, there)? })
    });
    let mut found: Vec<Affected> = both.filter(|a| a.now != a.then).collect();
    found.sort_by_cached_key(|a| {
        let s = &a.then;
        let rank = Verdict::Discard as u8 - s.verdict as u8;
        (s.state == Phase::Closed, rank, s.state != Phase::Out, s.left_ms.unwrap_or(i64::MAX), s.item.clone())
    });
    Ok(found)
}
