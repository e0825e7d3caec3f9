//! A recall as CSV (RFC 4180): a line an item that was made from what is recalled. Pure.

use super::csv::{ended, guard, local, minutes, word};
use crate::clock::Instant;
use crate::exposure::Fold;
use crate::ledger::{Body, Id};
use crate::rules::standing;
use std::collections::BTreeSet;

/// The header of the table.
pub const COLUMNS: [&str; 15] = [
    "item",
    "name",
    "product",
    "lot",
    "begun_at",
    "made_from",
    "state",
    "place",
    "verdict",
    "discard_by",
    "minutes_in_all",
    "ended",
    "ended_at",
    "count",
    "receiver",
];

/// A line of a recall: an item that was made from what is recalled, how it stands, how it ended and who has it.
pub fn line<'s>(fold: &Fold<'s>, id: &'s Id, receiver: &str) -> Option<Vec<String>> {
    let (state, s) = (fold.state(), standing(fold, id)?);
    let item = state.items.get(id)?;
    let (entry, begin) = item.begin()?;
    let at = |t: Instant| local(fold.zone(), t);
    let parents: BTreeSet<&Id> = item.truth.iter().flat_map(|e| e.parents()).collect();
    let closes = item.truth.iter().filter_map(|e| match &e.body {
        Body::Close { r#as, count, .. } => Some((e.at, *r#as, *count)),
        _ => None,
    });
    let closes: Vec<_> = closes.collect();
    let joined = |texts: Vec<String>| texts.join("; ");
    Some(vec![
        id.to_string(),
        guard(&begin.name),
        begin.product.as_ref().map_or_else(String::new, Id::to_string),
        guard(begin.lot.as_deref().unwrap_or_default()),
        at(entry.at),
        joined(parents.into_iter().map(Id::to_string).collect()),
        word(&s.state),
        s.place.to_string(),
        s.verdict.word().to_owned(),
        s.discard_by.map_or_else(String::new, at),
        minutes(s.total_out_ms),
        joined(closes.iter().map(|c| ended(c.1)).collect()),
        joined(closes.iter().map(|c| at(c.0)).collect()),
        begin.count.unwrap_or(1).to_string(),
        guard(receiver),
    ])
}
