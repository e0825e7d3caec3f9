//! What an address says just happened, and what is said where somebody else was quicker.

use super::task::{self, Ctx};
use super::{Notice, Offer, log, mark, name_of, place_name, undo, words, working};
use crate::board::working::ComeBacks;
use crate::clock::{Instant, SECOND_MS};
use crate::lang;
use crate::ledger::{Body, Entry, Id, Item, State};
use crate::record::marking::Marking;
use crate::rules::Phase;
use crate::web::service::Written;
use crate::web::show::Show;
use serde::Deserialize;
use serde_json::Value;
use std::sync::Arc;

/// What the address says just happened: a word and numbers, never a text.
#[derive(Deserialize, Default)]
pub(super) struct Said {
    said: Option<String>,
    item: Option<String>,
    seqs: Option<String>,
}

/// How old an answer may be that still says what a tap did: the second of two quick taps says the same as the first.
const QUICK_MS: i64 = 5 * SECOND_MS;

/// What was written, whether just now or when the same form came before.
pub(super) struct Outcome {
    /// The item of the first entry.
    pub item: String,
    seqs: Vec<String>,
    age_ms: i64,
}

impl Outcome {
    pub(super) fn of(written: &Written) -> Outcome {
        let answer: Value = serde_json::from_str(&written.answer).unwrap_or_default();
        let entries = answer["entries"].as_array().cloned().unwrap_or_default();
        let first = entries.first().cloned().unwrap_or_default();
        let recorded = first["recorded_at"].as_str().and_then(Instant::parse);
        Outcome {
            item: first["item"].as_str().unwrap_or_default().to_owned(),
            seqs: entries.iter().filter_map(|e| e["seq"].as_u64()).map(|n| n.to_string()).collect(),
            age_ms: recorded.map_or(0, |r| written.now.since(r)),
        }
    }

    /// The query that tells the next page. A tap on a page that had lain about is told that it changed nothing.
    pub(super) fn query(&self, what: &str, item: &str) -> String {
        let what = if self.age_ms > QUICK_MS { "again" } else { what };
        format!("said={what}&item={item}&seqs={}", self.seqs.join(","))
    }
}

impl Said {
    /// The item it is about, which may have closed.
    pub(super) fn item(&self) -> Option<Id> {
        self.item.as_deref().and_then(Id::new)
    }

    /// The sentence for what happened, from what the ledger says of it.
    pub(super) fn notice(&self, state: &State, show: Show) -> Option<Notice> {
        let (id, what) = (self.item()?, self.said.as_deref()?);
        let item = state.items.get(&id)?;
        let last = item.records.last().map(|r| r.original.clone())?;
        let (name, when) = (name_of(state, &id), show.clock(last.at));
        let text = match (what, &last.body) {
            ("move" | "earlier" | "found" | "was-out", Body::Move { place, .. }) => {
                lang::done_moved(&name, &place_name(state, place), &when)
            }
            ("end" | "earlier", Body::Close { .. }) => lang::done_closed(&name, &when),
            ("new", _) => lang::done_begun(&name, &when),
            ("mix", _) => lang::done_mixed(&name),
            ("split", _) => lang::done_split(&name),
            ("scrapings", _) => lang::done_scrapings(&name),
            ("coat", _) => lang::done_joined(&name),
            ("temperature", _) => lang::done_read(&name),
            ("mark", Body::Mark { discard_by, .. }) => lang::done_marked(&name, &show.clock(*discard_by)),
            ("seen", Body::Seen { place, .. }) => lang::done_seen(&name, &place_name(state, place)),
            ("correct", _) => lang::done_corrected(&name),
            ("undo", _) => lang::done_undone(&name),
            ("again", _) => lang::done_again(&name, &when),
            _ => return None,
        };
        let undo = if matches!(what, "correct" | "undo" | "again") { None } else { self.undo(state, &id, item, show) };
        Some(Notice { text, undo, ..Notice::default() })
    }

    /// On the board what has just gone out can be marked at once; on its own page it can anyway.
    pub(super) fn with_mark(&self, notice: Notice, state: &State, show: Show) -> Notice {
        let went = matches!(self.said.as_deref(), Some("move" | "earlier" | "found" | "was-out"));
        let standing = self.item().filter(|_| went).and_then(|id| task::standing(state, show, &id));
        let out = standing.filter(|s| s.state == Phase::Out);
        let offer = out.and_then(|s| mark::offer(show, &s, &Marking::of(state, &s)?));
        let plan =
            self.item().filter(|_| went).and_then(|id| working::offer(state, show, &id, &ComeBacks::new(), true));
        Notice { mark: offer.map(|o| mark::Offer { to_board: true, ..o }), plan, ..notice }
    }

    /// What one touch takes back: only what stands as it was written, and was written just now.
    fn undo(&self, state: &State, id: &Id, item: &Arc<Item>, show: Show) -> Option<(Id, String)> {
        let (seqs, _) = undo::last_act(state, id, item, show.now)?;
        let asked = self.seqs.as_deref()?;
        let mine = asked.split(',').all(|n| n.parse().is_ok_and(|n| seqs.contains(&n)));
        mine.then(|| (id.clone(), asked.to_owned()))
    }
}

/// What is said instead of moving, where the page that was touched didn't know of the latest move or end; `None` where
/// it did.
pub(super) fn meanwhile(c: &Ctx) -> Option<Notice> {
    let seen: u64 = c.fields.get("last")?.parse().ok()?;
    let newer = c.item.truth.iter().filter(|e| e.meta.seq > seen && moves(e)).max_by_key(|e| e.meta.seq)?;
    Some(told(c, newer))
}

/// What is said where it is there already.
pub(super) fn already(c: &Ctx) -> Option<Notice> {
    let last = c.item.truth.iter().rev().find(|e| moves(e) || matches!(e.body, Body::Item(_)))?;
    Some(told(c, last))
}

fn moves(e: &Entry) -> bool {
    matches!(e.body, Body::Move { .. } | Body::Close { .. })
}

/// Who did what when; and if it is logged in the cold now, the way to say that it had been out.
fn told(c: &Ctx, e: &Entry) -> Notice {
    let (name, who, when) = (name_of(c.state, c.id), log::who(c.asked, e.meta.by.as_ref()), c.show.clock(e.at));
    let mut offers = Vec::new();
    let text = match &e.body {
        Body::Close { r#as, .. } => lang::meanwhile_closed(words::closed(*r#as), &name, &when, &who),
        Body::Move { place, .. } => {
            if c.state.places.get(place).is_some_and(|p| super::moves::controlled(p, c.show.now)) {
                offers.push(Offer { what: "was-out", label: lang::was_out_title() });
            }
            lang::meanwhile_moved(&name, &place_name(c.state, place), &when, &who)
        }
        _ => lang::meanwhile_begun(&name, &when, &who),
    };
    offers.push(Offer { what: "earlier", label: lang::earlier_title() });
    let next = lang::meanwhile_next().to_owned();
    Notice { bad: true, text, next, undo: None, about: Some(c.id.clone()), offers, mark: None, plan: None }
}
