//! An entry as written and as it is read: the latest correction of it alone, applied to the original.

use super::refusal::*;
use super::{Body, Change, Entry, Refusal, wire};
use serde_json::Value;
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
