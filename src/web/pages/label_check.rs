//! A label against the log: what was printed, written and computed side by side, and how the time is made up.

use super::handlers::{NO_ITEM, asked, html, new_key};
use super::tagging::or_problem;
use super::visitor::Visitor;
use super::{Asked, Shell, item, log, name_of, place_name, root_of, words};
use crate::clock::{HOUR_MS, Instant};
use crate::exposure::{Fold, Spell};
use crate::lang;
use crate::ledger::{Body, Entry, Id, Item, MarkHow, State};
use crate::people::Names;
use crate::record::marking::{Agreement, Mark, Marking, cut, marks};
use crate::rules::{Phase, Standing, standing};
use crate::web::show::Show;
use askama::Template;
use axum::extract::Path;
use axum::http::{StatusCode, Uri};
use axum::response::Response;
use std::sync::Arc;

/// How far before it left a reading of the food still tells how warm it was then: as the rules' own measure has it.
const BEFORE_MS: i64 = HOUR_MS;

/// The page.
#[derive(Template)]
#[template(path = "label_check.html")]
pub struct LabelCheck {
    shell: Shell,
    id: Id,
    name: String,
    place: String,
    /// Whether what it carries agrees, in words, and its class.
    verdict: (&'static str, String),
    /// Printed, written, computed.
    columns: [Column; 3],
    spells: Vec<Line>,
    total: String,
    decides: Option<String>,
    use_by: Option<String>,
    made_from: Vec<(Id, String)>,
    went_into: Vec<(Id, String)>,
    marks: Vec<log::Line>,
}

/// One of the three times.
struct Column {
    title: &'static str,
    says: String,
    /// How it compares with the log.
    agrees: String,
    /// When, by whom, which copy.
    more: String,
}

/// A stretch out.
struct Line {
    what: String,
    /// The parent it came with.
    from: Option<(Id, String)>,
    /// Who took it out, how warm it was, who put it back.
    more: Vec<String>,
    length: String,
}

/// The page of an item, for whoever may read.
pub async fn show(Visitor(reads): Visitor, Path((_, id)): Path<(String, String)>, uri: Uri) -> Response {
    let path = uri.path();
    let answer = async {
        let id = Id::new(&id).ok_or(NO_ITEM)?;
        let look = reads.look(std::slice::from_ref(&id)).await?;
        let (root, key) = (root_of(path), new_key());
        let asked = asked(&reads, &root, &key, None).await;
        let page = build(&look.state, look.now, &id, &asked).ok_or(NO_ITEM)?;
        Ok(html(StatusCode::OK, &page))
    };
    or_problem(answer.await, path, &reads.site)
}

/// Builds it; `None` if there is no such item.
pub fn build(state: &State, now: Instant, id: &Id, asked: &Asked) -> Option<LabelCheck> {
    let show = Show::of(state, now);
    let fold = Fold::new(state, now, show.zone);
    let (id, item) = state.items.get_key_value(id)?;
    let (entry, begin) = item.begin()?;
    let s = standing(&fold, id)?;
    let m = Marking::of(state, &s)?;
    let last = |how: MarkHow| marks(item).filter(|m| m.how == how).last();
    let stretches = fold.spells(id);
    let lengths = Show::lines(stretches.iter().map(|spell| spell.length_ms(s.as_of)));
    let lines = stretches.iter().zip(&lengths).map(|(spell, seconds)| line(state, show, id, spell, *seconds, asked));
    Some(LabelCheck {
        shell: Shell::of(state, now, asked),
        id: id.clone(),
        name: name_of(state, id),
        place: place_name(state, &s.place),
        verdict: verdict(show, &s, &m),
        columns: [
            marked(show, &s, &m, lang::check_printed(), last(MarkHow::Printed), asked),
            marked(show, &s, &m, lang::check_written(), last(MarkHow::Written), asked),
            computed(show, &s),
        ],
        spells: lines.collect(),
        total: Show::seconds(lengths.iter().sum()),
        decides: item::decides(show, state, &state.rules_of(begin, entry.meta.seq), &s),
        use_by: s.use_by.as_deref().map(|d| show.date_of(d)),
        made_from: item::made_from(state, item),
        went_into: item::went_into(state, id, item),
        marks: log::marks(state, show, &asked.names, item),
    })
}

fn verdict(show: Show, s: &Standing, m: &Marking) -> (&'static str, String) {
    let by = s.discard_by.map(|by| show.clock(by)).unwrap_or_default();
    match (m.agreement, &m.last) {
        (Agreement::Late, Some(last)) => ("late", lang::check_late(&by, &show.clock(last.discard_by))),
        (Agreement::Unmarked, _) => ("unmarked", lang::check_unmarked().to_owned()),
        (Agreement::NeverMarked, _) => ("unmarked", lang::check_never_marked().to_owned()),
        (Agreement::NoneNeeded, _) | (_, None) => ("", lang::check_none().to_owned()),
        (_, Some(last)) => ("agrees", lang::check_agrees(&show.clock(last.discard_by))),
    }
}

/// What a mark says beside what is computed; one that another has taken the place of counts only if it is still on.
fn marked(show: Show, s: &Standing, m: &Marking, title: &'static str, mark: Option<Mark>, asked: &Asked) -> Column {
    let Some(mark) = mark else {
        let says = lang::check_nothing().to_owned();
        return Column { title, says, agrees: String::new(), more: String::new() };
    };
    let agrees = match s.discard_by {
        None => lang::check_no_limit().to_owned(),
        Some(by) if mark.discard_by > by => lang::check_later(&Show::used(mark.discard_by.since(by))),
        Some(by) if cut(mark.discard_by) == cut(by) => lang::check_same().to_owned(),
        Some(_) => lang::check_earlier().to_owned(),
    };
    let replaced = m.last.as_ref().is_some_and(|last| last.seq != mark.seq);
    let agrees = if replaced { lang::check_replaced(&agrees) } else { agrees };
    let who = log::who(asked, mark.by.as_ref());
    let more = lang::check_mark(&show.clock(mark.at), &mark.copy.to_string(), &who);
    Column { title, says: show.clock(mark.discard_by), agrees, more }
}

fn computed(show: Show, s: &Standing) -> Column {
    let says = s.discard_by.map_or_else(|| lang::check_no_time().to_owned(), |by| show.clock(by));
    let as_of = show.clock(s.as_of);
    let more = if s.state == Phase::Closed { lang::check_closed(&as_of) } else { lang::as_of(&as_of) };
    Column { title: lang::check_computed(), says, agrees: String::new(), more }
}

/// A stretch with who did what and what was measured. What came with a parent was done to that, or to what that was made
/// from.
fn line(state: &State, show: Show, id: &Id, spell: &Spell, seconds: i64, asked: &Asked) -> Line {
    let (from, place) = (show.clock(spell.from), place_name(state, &spell.place));
    let what = match spell.to {
        Some(to) => lang::sum_spell(&from, &place, &show.clock(to)),
        None => lang::sum_open(&from, &place),
    };
    let whose = spell.inherited_from.as_ref().unwrap_or(id);
    let began = began(state, whose, spell);
    let mut more = Vec::new();
    let by = |e: &Entry| Names::isolated(e.meta.by.as_ref().map_or(lang::log_nobody(), |id| asked.names.of(id)));
    match &began {
        Some((_, e)) if matches!(e.body, Body::Item(_)) => more.push(lang::check_began(&by(e))),
        Some((_, e)) => more.push(lang::check_out(&by(e))),
        // It was out before; what went in then brought other lines for that.
        None if joined(state, whose, spell.from) => more.push(lang::check_joined().to_owned()),
        None => more.extend(lapsed(state, spell).map(|e| lang::check_lapse(&by(&e)))),
    }
    let owner = began.as_ref().map_or(whose, |(id, _)| id).clone();
    if let Some(item) = state.items.get(&owner) {
        if began.is_some() {
            more.push(temperature(show, item, spell.from));
        }
        more.extend(ended(item, spell).map(|e| lang::check_back(&words::went(state, &e), &by(&e))));
    }
    let from = spell.inherited_from.as_ref().map(|id| (id.clone(), lang::check_came(&name_of(state, id))));
    Line { what, from, more, length: Show::seconds(seconds) }
}

/// The entry by which a stretch began, and whose it was: the item's or, of what it was made from, the one that was there.
fn began(state: &State, id: &Id, spell: &Spell) -> Option<(Id, Arc<Entry>)> {
    let (mut todo, mut seen) = (vec![id.clone()], std::collections::BTreeSet::new());
    while let Some(id) = todo.pop() {
        let Some(item) = state.items.get(&id).filter(|_| seen.insert(id.clone())) else { continue };
        let there = |e: &&Arc<Entry>| match &e.body {
            Body::Item(b) => b.place == spell.place,
            Body::Move { place, .. } => *place == spell.place,
            _ => false,
        };
        if let Some(e) = item.truth.iter().filter(|e| e.at == spell.from).find(there) {
            return Some((id, e.clone()));
        }
        todo.extend(item.truth.iter().flat_map(|e| e.parents().iter().cloned()));
    }
    None
}

fn joined(state: &State, id: &Id, at: Instant) -> bool {
    let joins = |e: &Arc<Entry>| e.at == at && matches!(e.body, Body::Join { .. });
    state.items.get(id).is_some_and(|i| i.truth.iter().any(joins))
}

/// The failure of its place by which it began, where it stood in the cold.
fn lapsed(state: &State, spell: &Spell) -> Option<Arc<Entry>> {
    let lapses = &state.places.get(&spell.place)?.lapses;
    let at = lapses.range((spell.from, 0)..=(spell.from, u64::MAX));
    at.map(|(_, e)| e).find(|e| matches!(e.body, Body::Lapse { .. })).cloned()
}

/// The entry that ended it, where one did.
fn ended(item: &Item, spell: &Spell) -> Option<Arc<Entry>> {
    let to = spell.to?;
    let ends = |e: &&Arc<Entry>| matches!(e.body, Body::Move { .. } | Body::Close { .. });
    item.truth.iter().filter(|e| e.at > spell.from && e.at <= to).find(ends).cloned()
}

/// How warm it was as it left, if somebody read it in the hour before.
fn temperature(show: Show, item: &Item, left: Instant) -> String {
    let near = item.truth.iter().rev().filter(|e| e.at <= left && left.since(e.at) <= BEFORE_MS);
    let read = near.filter_map(|e| match &e.body {
        Body::FoodReading { value, .. } => Some(lang::check_read(&show.degrees(*value), &show.clock(e.at))),
        _ => None,
    });
    read.into_iter().next().unwrap_or_else(|| lang::check_not_taken().to_owned())
}
