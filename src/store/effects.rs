//! What entries change besides the ledger: items' rows, standings in memory, what may be let go.

use super::ledger::{self as sql, ItemRow, Row};
use super::writer::{Batch, KEEP_MS, NEAR_MS, Published, Writer};
use super::{Conn, StoreError, load};
use crate::clock::{Instant, Zone};
use crate::exposure::{AIR_HOLDS_MS, Fold};
use crate::ledger::{self, Body, Draft, Entry, Id, State};
use crate::rules;
use std::collections::{BTreeSet, HashMap, HashSet};
use std::sync::Arc;

impl Writer {
    /// Notes which rows and standings the entries may have changed.
    pub(super) async fn note_changes(
        &self,
        conn: &mut Conn,
        batch: &mut Batch,
        draft: &Draft,
        now: Instant,
    ) -> Result<(), StoreError> {
        let mut state = draft.state.clone();
        let mut since: Option<Instant> = None;
        for e in &draft.written {
            if let Some(child) = e.item() {
                batch.made_from.extend(e.parents().iter().map(|p| (p.clone(), child.clone())));
            }
            if e.air_of().is_some() {
                since = Some(since.map_or(e.at, |s| s.min(e.at)));
            }
        }
        let corrected = draft.written.iter().any(|e| matches!(e.body, Body::Correct { .. }));
        if corrected && !draft.places.is_empty() {
            since = Some(Instant(0));
        }
        for id in &draft.items {
            let Some(item) = state.items.get(id) else { continue };
            let mine: Vec<&Arc<Entry>> = draft.written.iter().filter(|w| w.item() == Some(id)).collect();
            // The row of an item says where it begins and ends, and of a closed one how it stood.
            let begins = mine.iter().any(|e| matches!(e.body, Body::Item(_)));
            if begins || item.end().is_some() || corrected {
                batch.dirty.insert(id.clone());
            }
            batch.changed.insert(id.clone());
            if corrected {
                for e in item.records.iter().flat_map(|r| r.effective(u64::MAX).ok().flatten()) {
                    batch.made_from.extend(e.parents().iter().map(|p| (p.clone(), id.clone())));
                }
            }
            // The latest of its own entries may yet lie before another was made from it.
            let earliest = mine.iter().map(|e| e.at).min();
            if corrected || earliest.is_some_and(|at| went_on(&state, id, at)) {
                let below = below(&state, id);
                let closed = below.iter().filter(|c| state.items.get(*c).is_some_and(|i| i.end().is_some()));
                batch.dirty.extend(closed.cloned());
                batch.changed.extend(below);
            }
        }
        if let Some(since) = since {
            batch.all_changed = true;
            if since < now.plus(-NEAR_MS) {
                let ids = sql::closed_since(conn, &self.site, since).await?;
                let ids: Vec<Id> = ids.iter().filter_map(|s| Id::new(s)).collect();
                load::items(conn, &self.site, &mut state, &ids).await?;
            }
            let closed = state.items.iter().filter(|(_, i)| i.end().is_some_and(|e| e.at >= since));
            batch.dirty.extend(closed.map(|(id, _)| id.clone()));
            // The closed ones brought in are read again when the rows are written.
        }
        Ok(())
    }
}

/// The row of an entry; a correction is found by what it is about.
pub(super) fn row(targets: &HashMap<u64, Arc<Entry>>, e: &Entry, line: String) -> Row {
    let (about, target) = match e.body {
        Body::Correct { entry, .. } => (targets.get(&entry).map_or(e, |t| t), Some(entry as i64)),
        _ => (e, None),
    };
    let text = |id: Option<&Id>| id.map(|i| i.as_str().to_owned());
    let air_at = matches!(e.body, Body::AirReading { .. }).then_some(e.at.0);
    let (item, place) = (text(about.item()), text(about.air_of()));
    Row { seq: e.meta.seq as i64, kind: e.kind(), item, place, target, air_at, line }
}

pub(super) fn target_of(line: &str) -> Option<u64> {
    match load::entry("", 0, line).ok()?.body {
        Body::Correct { entry, .. } => Some(entry),
        _ => None,
    }
}

/// Whether anything was made from an item at that instant or later.
fn went_on(state: &State, id: &Id, at: Instant) -> bool {
    let children = state.items.get(id).map_or(&[][..], |i| &i.children);
    let joins = |c: &Arc<ledger::Item>| c.truth.iter().any(|e| e.at >= at && e.parents().contains(id));
    children.iter().any(|c| state.items.get(c).is_some_and(joins))
}

/// Everything made from an item, to any depth, as far as it is in memory.
fn below(state: &State, id: &Id) -> BTreeSet<Id> {
    let (mut todo, mut seen) = (vec![id.clone()], BTreeSet::new());
    while let Some(id) = todo.pop() {
        for child in state.items.get(&id).map_or(&[][..], |i| &i.children) {
            if seen.insert(child.clone()) {
                todo.push(child.clone());
            }
        }
    }
    seen
}

/// The row of an item as the ledger has it.
pub fn item_row(state: &State, id: &Id) -> Option<ItemRow> {
    let item = state.items.get(id)?;
    let text = id.as_str().to_owned();
    let void = ItemRow { item: text, begun_at: 0, closed_at: Some(0), standing: None, rank: 3, left_ms: i64::MAX };
    // Its beginning is void: it is neither open nor has it a standing.
    let Some((begin, _)) = item.begin() else { return Some(void) };
    let open = ItemRow { begun_at: begin.at.0, closed_at: None, ..void };
    let Some(end) = item.end() else { return Some(open) };
    let zone = state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    // It stands as at its end; asked later, it also says what was entered late after that.
    let fold = Fold::new(state, Instant::FAR, zone);
    let standing = rules::standing(&fold, id)?;
    Some(ItemRow {
        closed_at: Some(end.at.0),
        rank: rules::Verdict::Discard as i64 - standing.verdict as i64,
        left_ms: standing.left_ms.unwrap_or(i64::MAX),
        standing: serde_json::to_string(&standing).ok(),
        ..open
    })
}

/// Lets go of items that closed a while ago, unless something open was made from them.
pub(super) fn evict(published: &mut Published, now: Instant) {
    let state = &mut published.state;
    let mut keep: HashSet<Id> = HashSet::new();
    // A correction may have moved its end: what counts is the later of when it closed and when that was written.
    let closed = |e: &Entry| e.meta.recorded_at.map_or(e.at, |r| r.max(e.at));
    let recent = |i: &ledger::Item| i.end().is_none_or(|e| closed(e) > now.plus(-KEEP_MS)) && i.begin().is_some();
    let mut todo: Vec<Id> = state.items.iter().filter(|(_, i)| recent(i)).map(|(id, _)| id.clone()).collect();
    while let Some(id) = todo.pop() {
        if keep.insert(id.clone())
            && let Some(item) = state.items.get(&id)
        {
            item.truth.iter().for_each(|e| todo.extend_from_slice(e.parents()));
        }
    }
    if keep.len() < state.items.len() {
        state.items.retain(|id, _| keep.contains(id));
        published.changed.retain(|id, _| keep.contains(id));
    }
    state.others.clear();
    // The air of before the oldest of them began matters to nobody.
    let said = |e: &Arc<Entry>| e.corrected_at().unwrap_or(e.at).min(e.at);
    let begins = state.items.values().filter_map(|i| i.records.first());
    let oldest = begins.flat_map(|r| r.corrections.iter().chain([&r.original]).map(said)).min();
    let matters = oldest.unwrap_or(now).min(now).plus(-AIR_HOLDS_MS);
    if matters.since(state.air_since) > KEEP_MS {
        state.forget_air(matters);
    }
}
