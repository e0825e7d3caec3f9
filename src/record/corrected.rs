//! What a correction changed: the old reading beside the new one, member by member. Pure.

use crate::clock::Instant;
use crate::ledger::{Body, Change, Entry, Id, Record};
use serde_json::{Map, Value};
use std::collections::BTreeSet;
use std::sync::Arc;

/// A correction of one entry, as it changed what was read before.
#[derive(Clone, PartialEq, Debug)]
pub struct Corrected {
    /// The corrected entry's number.
    pub entry: u64,
    /// Its kind.
    pub kind: &'static str,
    /// When it was first said to have happened.
    pub at: Instant,
    /// The correction's own number.
    pub seq: u64,
    /// Who made it.
    pub by: Option<Id>,
    /// When it was written.
    pub when: Instant,
    /// Why.
    pub reason: Box<str>,
    /// What it did.
    pub did: Did,
    /// Whether it is in effect: the latest of its entry's.
    pub stands: bool,
}

/// What a correction did.
#[derive(Clone, PartialEq, Debug)]
pub enum Did {
    /// The entry counts as not written.
    Void,
    /// These members read otherwise.
    Changed(Vec<Changed>),
}

/// A member that reads otherwise.
#[derive(Clone, PartialEq, Debug)]
pub struct Changed {
    /// Its name in the ledger.
    pub member: String,
    /// What it was; none where it wasn't there.
    pub was: Option<Is>,
    /// What it is.
    pub now: Option<Is>,
}

/// What a member is.
#[derive(Clone, PartialEq, Debug)]
pub enum Is {
    /// A time.
    Time(Instant),
    /// Anything else, in letters.
    Text(String),
}

/// Every correction of an entry, in order.
pub fn corrected(record: &Record) -> impl Iterator<Item = Corrected> {
    let (original, last) = (&record.original, record.corrections.last().map(|c| c.meta.seq));
    record.corrections.iter().filter_map(move |c| {
        let Body::Correct { change, reason, .. } = &c.body else { return None };
        let read = |seq: u64| record.effective(seq).ok().flatten();
        let did = match change {
            Change::Void => Did::Void,
            Change::Set(_) => Did::Changed(changed(read(c.meta.seq - 1).as_ref(), read(c.meta.seq).as_ref())),
        };
        Some(Corrected {
            entry: original.meta.seq,
            kind: original.kind(),
            at: original.at,
            seq: c.meta.seq,
            by: c.meta.by.clone(),
            when: c.meta.recorded_at.unwrap_or(c.at),
            reason: reason.clone(),
            did,
            stands: last == Some(c.meta.seq),
        })
    })
}

fn changed(before: Option<&Arc<Entry>>, after: Option<&Arc<Entry>>) -> Vec<Changed> {
    let members = |e: Option<&Arc<Entry>>| e.map_or_else(Map::new, |e| e.posted());
    let (before, after) = (members(before), members(after));
    let names: BTreeSet<&String> = before.keys().chain(after.keys()).collect();
    let differ = names.into_iter().filter(|n| before.get(*n) != after.get(*n) && *n != "kind");
    differ.map(|n| Changed { member: n.clone(), was: is(before.get(n)), now: is(after.get(n)) }).collect()
}

fn is(value: Option<&Value>) -> Option<Is> {
    Some(match value? {
        Value::String(text) => Instant::parse(text).map_or_else(|| Is::Text(text.clone()), Is::Time),
        Value::Array(list) => {
            let texts: Vec<String> =
                list.iter().map(|v| v.as_str().map_or_else(|| v.to_string(), str::to_owned)).collect();
            Is::Text(texts.join(" "))
        }
        other => Is::Text(other.to_string()),
    })
}
