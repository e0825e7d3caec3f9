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

/// A lapse that is asked about.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Lapse {
    /// The place.
    pub place: Id,
    /// From when on it would have been out of control.
    pub from: Instant,
    /// Until when; none while it would go on.
    pub until: Option<Instant>,
}

/// The entries that say it.
fn entries(lapses: &[Lapse]) -> Vec<Parsed> {
    let one = |l: &Lapse| Parsed {
        at: Some(l.from),
        note: None,
        bodies: vec![Body::Lapse { place: l.place.clone(), until: l.until }],
        id_missing: false,
        meta: Meta::default(),
        has_seq: false,
    };
    lapses.iter().map(one).collect()
}

/// The items at hand that would stand otherwise now with these lapses: most urgent first, as they would be. Refused where
/// the ledger would refuse to have them written.
pub fn affected(state: &State, lapses: &[Lapse], now: Instant) -> Result<Vec<Affected>, Refusal> {
    let (actor, targets) = (Meta::default(), HashMap::new());
    let Some(since) = lapses.iter().map(|l| l.from).min() else { return Ok(Vec::new()) };
    let entries = entries(lapses);
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
