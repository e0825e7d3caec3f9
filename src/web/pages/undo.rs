//! Undo: one touch for what was just written, but a reason for a mark; what later entries rest on is taken back with all of them, listed first.
//! Nothing is deleted: each is struck out by a correction and stays readable.

use super::forms::Fields;
use super::task::{self, Ctx, Head, Pick};
use super::{Shell, log, name_of};
use crate::clock::{Instant, MINUTE_MS};
use crate::lang;
use crate::ledger::refusal::{BAD_MEMBER, Refusal, UNKNOWN_ENTRY};
use crate::ledger::{Body, Entry, Id, Item, State};
use askama::Template;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::sync::Arc;

/// How long one touch is enough; after that a reason is asked for.
const AT_ONCE_MS: i64 = 10 * MINUTE_MS;
/// Most entries taken back together.
pub(super) const MOST: usize = 100;

/// The page.
#[derive(Template)]
#[template(path = "undo.html")]
pub(super) struct Undo {
    shell: Shell,
    head: Head,
    lines: Vec<(u64, String)>,
    seqs: String,
    /// Whether later entries have to go with it.
    more: bool,
    /// Why one touch is not enough.
    ask: Option<&'static str>,
    go: String,
    whys: Vec<Pick>,
    f: Fields,
}

/// Builds it.
pub(super) fn build(c: &Ctx) -> Option<Undo> {
    let asked = asked(c);
    let first = asked.iter().find_map(|seq| find(c.item, *seq)).map(|e| e.meta.seq)?;
    let alone = corrections(c, &asked, "?").is_some_and(|e| c.with(&e).is_some());
    let entries = if alone { with_seqs(c, &asked) } else { since(c.state, c.id, first) };
    let lines: Vec<(u64, String)> = entries.iter().map(|(id, e)| (e.meta.seq, line(c, id, e))).collect();
    let seqs: Vec<String> = entries.iter().map(|(_, e)| e.meta.seq.to_string()).collect();
    let n = lines.len() as i64;
    Some(Undo {
        shell: c.shell(),
        head: c.head("undo", lang::undo_title())?,
        lines,
        more: !alone,
        ask: asks(&entries, c.show.now),
        seqs: seqs.join(","),
        go: lang::undo_go(n),
        whys: task::undo_whys(c.fields, marked(&entries)),
        f: c.fields.clone(),
    })
}

fn line(c: &Ctx, id: &Id, e: &Arc<Entry>) -> String {
    let who = log::who(c.asked, e.meta.by.as_ref());
    let said = log::said(c.state, c.show, e);
    lang::undo_line(&name_of(c.state, id), &said, &c.show.clock(e.at), &who)
}

/// Whether a form takes an item back to its very beginning, or has done so.
pub(super) fn to_the_beginning(state: &State, id: &Id, f: &Fields) -> bool {
    let begun = state.items.get(id).and_then(|i| i.begin()).map(|(e, _)| e.meta.seq);
    begun.is_none_or(|seq| numbers(f).contains(&seq))
}

fn asked(c: &Ctx) -> Vec<u64> {
    numbers(c.fields)
}

/// The entries a form asks to take back.
fn numbers(f: &Fields) -> Vec<u64> {
    let lists = f.all("entries").flat_map(|list| list.split(','));
    let mut seqs: Vec<u64> = lists.filter_map(|n| n.trim().parse().ok()).take(MOST).collect();
    seqs.sort_unstable();
    seqs.dedup();
    seqs
}

/// The corrections that a form means.
pub(super) fn entries(c: &Ctx) -> Result<Vec<Value>, Refusal> {
    let unknown = || Refusal::form(&UNKNOWN_ENTRY, lang::undo_nothing());
    let asked = asked(c);
    let reason = super::forms::why(c.fields);
    if let Some(ask) = asks(&with_seqs(c, &asked), c.show.now).filter(|_| reason.is_none()) {
        return Err(Refusal::form(&BAD_MEMBER, ask));
    }
    corrections(c, &asked, reason.as_deref().unwrap_or(lang::undo_reason())).ok_or_else(unknown)
}

fn corrections(c: &Ctx, seqs: &[u64], reason: &str) -> Option<Vec<Value>> {
    let void = |seq: &u64| json!({"kind": "correct", "entry": seq, "void": true, "reason": reason});
    let known = !seqs.is_empty() && seqs.iter().any(|s| find(c.item, *s).is_some());
    known.then(|| seqs.iter().map(void).collect())
}

/// Whether one of them is a mark: its label may still be on the box.
fn marked(entries: &[(Id, Arc<Entry>)]) -> bool {
    entries.iter().any(|(_, e)| matches!(e.body, Body::Mark { .. }))
}

/// What is asked before they are taken back: a reason, for what is long ago and for a mark, since a later time can be given
/// once it is struck out.
fn asks(entries: &[(Id, Arc<Entry>)], now: Instant) -> Option<&'static str> {
    let old = entries.iter().any(|(_, e)| is_old(e, now));
    if marked(entries) { Some(lang::undo_marked()) } else { old.then(lang::undo_old) }
}

fn is_old(e: &Entry, now: Instant) -> bool {
    e.meta.recorded_at.is_some_and(|r| now.since(r) > AT_ONCE_MS)
}

/// Whether one touch still takes that entry back.
pub(super) fn at_once(e: &Entry, now: Instant) -> bool {
    !is_old(e, now)
}

fn find(item: &Item, seq: u64) -> Option<&Arc<Entry>> {
    item.records.iter().map(|r| &r.original).find(|e| e.meta.seq == seq)
}

/// Those of the numbered entries that are this item's or of what it is made from or went into.
fn with_seqs(c: &Ctx, seqs: &[u64]) -> Vec<(Id, Arc<Entry>)> {
    let near = near(c.state, c.id, c.item);
    let of = |seq: &u64| near.iter().find_map(|(id, i)| find(i, *seq).map(|e| ((*id).clone(), e.clone())));
    seqs.iter().filter_map(of).collect()
}

fn near<'a>(state: &'a State, id: &'a Id, item: &'a Item) -> Vec<(&'a Id, &'a Item)> {
    let parents = item.truth.iter().flat_map(|e| e.parents());
    let of = |id: &'a Id| state.items.get(id).map(|i| (id, &**i));
    let mut near = vec![(id, item)];
    near.extend(parents.chain(&item.children).filter_map(of));
    near
}

/// An entry of an item and all that was recorded of it since; with a beginning, also what was made from it.
fn since(state: &State, id: &Id, seq: u64) -> Vec<(Id, Arc<Entry>)> {
    let (mut found, mut todo) = (BTreeMap::new(), vec![(id.clone(), seq)]);
    while let Some((id, seq)) = todo.pop() {
        let Some(item) = state.items.get(&id) else { continue };
        for e in item.truth.iter().filter(|e| e.meta.seq >= seq) {
            if found.insert(e.meta.seq, (id.clone(), e.clone())).is_some() || !matches!(e.body, Body::Item(_)) {
                continue;
            }
            for child in item.children.iter().filter_map(|c| Some((c, state.items.get(c)?))) {
                let joins = child.1.truth.iter().filter(|e| e.parents().contains(&id));
                todo.extend(joins.map(|e| (child.0.clone(), e.meta.seq)));
            }
        }
    }
    found.into_values().take(MOST).collect()
}

/// The entries of an item's latest act, where one touch takes it back: whatever the same person wrote at the same
/// instant on it, on what it is made from and on what went into it.
pub(super) fn last_act(state: &State, id: &Id, item: &Item, now: Instant) -> Option<(Vec<u64>, Arc<Entry>)> {
    let last = item.records.iter().rev().find(|r| r.effective(u64::MAX).ok().flatten().is_some())?;
    let e = &last.original;
    if !at_once(e, now) || !last.corrections.is_empty() {
        return None;
    }
    let same = |o: &Entry| o.meta.recorded_at == e.meta.recorded_at && o.meta.by == e.meta.by;
    let all = near(state, id, item).into_iter().flat_map(|(_, i)| &i.records);
    let mut seqs: Vec<u64> =
        all.filter(|r| same(&r.original) && r.corrections.is_empty()).map(|r| r.original.meta.seq).collect();
    seqs.sort_unstable();
    seqs.dedup();
    Some((seqs, e.clone()))
}
