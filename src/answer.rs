//! The answer to what was written: the entries as the ledger keeps them, and the standings they lead to.

use crate::clock::{Instant, Zone};
use crate::exposure::Fold;
use crate::ledger::{Entry, Id, State};
use crate::rules::{Standing, standing};
use std::collections::BTreeSet;
use std::sync::Arc;

/// The standings of the items that entries are about, by id; one more read than written is never shown.
pub fn standings(state: &State, entries: &[Arc<Entry>], now: Instant) -> Vec<Standing> {
    let mut items: BTreeSet<&Id> = entries.iter().filter_map(|e| e.item()).collect();
    for seq in entries.iter().filter_map(|e| match e.body {
        crate::ledger::Body::Correct { entry, .. } => Some(entry),
        _ => None,
    }) {
        let about = |id: &&Id| state.items[*id].records.binary_search_by_key(&seq, |r| r.original.meta.seq).is_ok();
        items.extend(state.items.keys().filter(about));
    }
    // A phone's clock may run up to two minutes ahead: its own entry is part of the answer all the same.
    let at = entries.iter().map(|e| e.at).fold(now, Instant::max);
    let zone = state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let fold = Fold::new(state, at, zone);
    items.into_iter().filter_map(|id| standing(&fold, id)).collect()
}

/// `{"entries":[…],"standings":[…]}` from ledger lines and standings.
pub fn render(lines: &[String], standings: &[Standing]) -> String {
    let standings = serde_json::to_string(standings).unwrap_or_default();
    format!("{{\"entries\":[{}],\"standings\":{standings}}}", lines.join(","))
}
