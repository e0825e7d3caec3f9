//! An entry as written and as it is read: the latest correction of it alone, applied to the original.

use super::refusal::*;
use super::{Body, Change, Entry, Refusal, wire};
use crate::clock::Instant;
use serde_json::Value;
use std::collections::BTreeMap;
use std::sync::Arc;

/// An entry as written, and what has been corrected in it since, in order of `seq`.
#[derive(Clone, Debug)]
pub struct Record {
    /// As it was written.
    pub original: Arc<Entry>,
    /// `correct` entries about it.
    pub corrections: Vec<Arc<Entry>>,
}

impl Record {
    pub(super) fn new(original: Arc<Entry>) -> Record {
        Record { original, corrections: Vec::new() }
    }

    /// When it happened, by the latest that is said of it; a void one, by what was first said.
    pub fn at(&self) -> Instant {
        self.effective(u64::MAX).ok().flatten().unwrap_or_else(|| self.original.clone()).at
    }

    /// The entry as readers read it by what was known up to `seq`: the latest correction alone, applied to the
    /// original. `None` if it isn't written yet or is void.
    pub fn effective(&self, seq: u64) -> Result<Option<Arc<Entry>>, Refusal> {
        if self.original.meta.seq > seq {
            return Ok(None);
        }
        match self.corrections.iter().rev().find(|c| c.meta.seq <= seq).map(|c| &c.body) {
            Some(Body::Correct { change: Change::Void, .. }) => Ok(None),
            Some(Body::Correct { change: Change::Set(set), .. }) => overlay(&self.original, set).map(Some),
            _ => Ok(Some(self.original.clone())),
        }
    }
}

/// Entries in order of `seq`, each with its corrections; a correction of what isn't among them is left out.
pub fn records(entries: impl IntoIterator<Item = Arc<Entry>>) -> BTreeMap<u64, Record> {
    let mut records: BTreeMap<u64, Record> = BTreeMap::new();
    for e in entries {
        if let Body::Correct { entry, .. } = e.body {
            records.entry(entry).and_modify(|r| r.corrections.push(e));
        } else {
            records.insert(e.meta.seq, Record::new(e));
        }
    }
    records
}

/// The original with these members read otherwise.
pub fn overlay(original: &Arc<Entry>, set: &serde_json::Map<String, Value>) -> Result<Arc<Entry>, Refusal> {
    if set.is_empty() {
        return Ok(original.clone());
    }
    const FIXED: &[&str] =
        &["kind", "item", "items", "by", "by_how", "device", "seq", "recorded_at", "late_ms", "prev", "hash"];
    let is_rule = matches!(original.body, Body::Rule(_));
    if let Some(name) =
        set.keys().find(|k| FIXED.contains(&k.as_str()) || (is_rule && !matches!(k.as_str(), "at" | "note")))
    {
        return Err(Refusal::new(
            &NOT_CORRECTABLE,
            format!("`{name}` cannot be corrected in entry {}.", original.meta.seq),
        ));
    }
    let mut members = original.posted();
    for (name, value) in set {
        if value.is_null() {
            members.remove(name)
        } else {
            members.insert(name.clone(), value.clone())
        };
    }
    let parsed = wire::parse(&Value::Object(members).to_string(), wire::From::Caller)?;
    let (Some(at), Some(body)) = (parsed.at, parsed.bodies.into_iter().next()) else {
        return Err(Refusal::missing("at"));
    };
    let same = std::mem::discriminant(&body) == std::mem::discriminant(&original.body);
    if !same {
        return Err(Refusal::new(&NOT_CORRECTABLE, "A reading of an item cannot become one of a place."));
    }
    Ok(Arc::new(Entry { at, note: parsed.note, body, meta: original.meta.clone() }))
}
