//! An item's entries as sentences; a corrected one is struck through and stays readable, the correction beside it.

use super::{Asked, Choice, name_of, place_name, undo, words};
use crate::lang;
use crate::ledger::{Body, Change, Entry, Id, Item, Record, State};
use crate::people::Names;
use crate::web::show::Show;

/// One entry as written.
pub(super) struct Line {
    pub seq: u64,
    pub when: String,
    pub said: String,
    pub note: Option<String>,
    /// By whom, and how late where it was late.
    pub by: String,
    /// Whether the original no longer counts as it stands.
    pub struck: bool,
    /// Whether one touch takes it back.
    pub at_once: bool,
    pub corrections: Vec<String>,
}

/// All of them, latest first: the one just written is the one most often looked for.
pub(super) fn lines(state: &State, show: Show, names: &Names, item: &Item) -> Vec<Line> {
    item.records.iter().rev().map(|r| line(state, show, names, r)).collect()
}

/// Those by which it was marked, latest first, struck out ones too.
pub(super) fn marks(state: &State, show: Show, names: &Names, item: &Item) -> Vec<Line> {
    let marks = item.records.iter().rev().filter(|r| matches!(r.original.body, Body::Mark { .. }));
    marks.map(|r| line(state, show, names, r)).collect()
}

pub(super) fn line(state: &State, show: Show, names: &Names, record: &Record) -> Line {
    let e = &record.original;
    let corrections = record.corrections.iter().map(|c| correction(state, show, names, record, c)).collect();
    let now = record.effective(u64::MAX).ok().flatten();
    Line {
        seq: e.meta.seq,
        when: show.clock(e.at),
        said: said(state, show, e),
        note: e.note.as_ref().map(|n| n.to_string()),
        by: by(names, e),
        at_once: undo::at_once(e, show.now) && now.is_some(),
        struck: now.is_none_or(|now| *now != **e),
        corrections,
    }
}

/// Who wrote something, by name.
pub(super) fn who(asked: &Asked, by: Option<&Id>) -> String {
    by.map_or_else(|| lang::log_nobody().to_owned(), |id| Names::isolated(asked.names.of(id)))
}

fn by(names: &Names, e: &Entry) -> String {
    let who = e.meta.by.as_ref().map_or_else(String::new, |id| Names::isolated(names.of(id)));
    match e.meta.late_ms(e.at) {
        Some(ms) => lang::log_late(&Show::used(ms), &who),
        None => who,
    }
}

fn correction(state: &State, show: Show, names: &Names, record: &Record, c: &Entry) -> String {
    let when = show.clock(c.meta.recorded_at.unwrap_or(c.at));
    let by = c.meta.by.as_ref().map(|id| Names::isolated(names.of(id)));
    let who = by.as_deref().unwrap_or(lang::log_nobody());
    let Body::Correct { change, reason, .. } = &c.body else { return String::new() };
    match change {
        Change::Void => lang::log_voided(reason, &when, who),
        Change::Set(set) if set.is_empty() => lang::log_restored(reason, &when, who),
        Change::Set(_) => {
            let read = record.effective(c.meta.seq).ok().flatten();
            let now = read.map_or_else(String::new, |e| lang::log_reads(&said(state, show, &e), &show.clock(e.at)));
            lang::log_corrected(&now, reason, &when, who)
        }
    }
}

/// What an entry says, in a sentence.
pub(super) fn said(state: &State, show: Show, e: &Entry) -> String {
    match &e.body {
        Body::Item(b) => match b.from.as_deref() {
            None | Some([]) => lang::said_begun(&place_name(state, &b.place)),
            Some(from) => lang::said_begun_from(&words::names(state, from), &place_name(state, &b.place)),
        },
        Body::Join { from, .. } => lang::said_join(&words::names(state, from)),
        Body::Move { place, .. } => lang::said_move(&place_name(state, place)),
        Body::FoodReading { item, probed, value, .. } => match probed {
            Some(p) if p != item => lang::said_reading_rack(&name_of(state, p), &show.degrees(*value)),
            _ => lang::said_reading(&show.degrees(*value)),
        },
        Body::Mark { discard_by, how, copy, .. } => {
            lang::said_mark(&copy.to_string(), words::marked(*how), &show.clock(*discard_by))
        }
        Body::Seen { place, .. } => lang::said_seen(&place_name(state, place)),
        Body::Close { r#as, count, reason, .. } => {
            let what = match count {
                Some(n) => lang::said_close_some(&n.to_string(), words::closed(*r#as)),
                None => lang::said_close(words::closed(*r#as)),
            };
            match reason {
                Some(why) => lang::said_because(&what, why),
                None => what,
            }
        }
        // No other kind is about an item.
        _ => String::new(),
    }
}

/// The entries that a correction can be about, latest first.
pub(super) fn correctable(state: &State, show: Show, item: &Item) -> Vec<Choice> {
    let choice = |r: &Record| {
        let e = &r.original;
        let id = Id::new(&e.meta.seq.to_string())?;
        Some(Choice { id, name: said(state, show, e), more: show.clock(e.at), chosen: false })
    };
    item.records.iter().rev().filter_map(choice).collect()
}
