//! The answer to what was written: the entries as the ledger keeps them, and the standings they lead to.

use crate::clock::{Instant, Zone};
use crate::exposure::Fold;
use crate::ledger::{Body, Entry, Id, State};
use crate::rules::{Standing, standing};
use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

/// The standings of the items that entries are about, by id. `targets` holds what corrections are about.
pub fn standings(
    state: &State,
    entries: &[Arc<Entry>],
    targets: &HashMap<u64, Arc<Entry>>,
    now: Instant,
) -> Vec<Standing> {
    let about = |e: &Arc<Entry>| match e.body {
        Body::Correct { entry, .. } => targets.get(&entry).and_then(|t| t.item()).cloned(),
        _ => e.item().cloned(),
    };
    let items: BTreeSet<Id> = entries.iter().filter_map(about).collect();
    // A phone's clock may run up to two minutes ahead: its own entry is part of the answer all the same.
    let at = entries.iter().map(|e| e.at).fold(now, Instant::max);
    let zone = state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let fold = Fold::new(state, at, zone);
    items.iter().filter_map(|id| state.items.get_key_value(id)).filter_map(|(id, _)| standing(&fold, id)).collect()
}

/// `{"entries":[…],"standings":[…]}` from ledger lines and standings.
pub fn render(lines: &[String], standings: &[Standing]) -> String {
    let standings = serde_json::to_string(standings).unwrap_or_default();
    format!("{{\"entries\":[{}],\"standings\":{standings}}}", lines.join(","))
}
