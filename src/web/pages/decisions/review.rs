//! The day's review: what was written about a day, late and corrected entries first; read, signed, done.

use super::super::acting::write;
use super::super::forms::Fields;
use super::super::handlers::{asked, html, new_key, refused};
use super::super::log::{self, Line};
use super::super::visitor::{Keeper, Scribe, Visitor};
use super::super::{Asked, Notice, Shell, name_of, place_name, problem, root_of};
use crate::board::decisions::{BACK_DAYS, day_of};
use crate::clock::Zone;
use crate::lang;
use crate::ledger::refusal::{BAD_MEMBER, Refusal};
use crate::ledger::{Body, Entry, Id, Record, State};
use crate::web::auth::Reads;
use crate::web::oversight::Written;
use crate::web::service::Fault;
use crate::web::show::Show;
use crate::words;
use askama::Template;
use axum::extract::{Form, Query};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;
use serde_json::json;
use std::collections::BTreeSet;

/// Entries shown of a day at most.
const ROWS: usize = 2_000;
const NO_DAY: Fault = Fault::NotFound("day");

/// The page.
#[derive(Template)]
#[template(path = "decisions/review.html")]
struct Review {
    shell: Shell,
    /// The date, as addresses write it.
    on: String,
    title: String,
    before: String,
    after: Option<String>,
    /// Late or corrected, then all else.
    odd: Vec<Row>,
    all: Vec<Row>,
    more: Option<String>,
    signed: Vec<String>,
    /// Whether there is something to sign.
    to_sign: bool,
    /// What is said beside the button.
    hint: Option<&'static str>,
    older: Option<String>,
    /// The last entry that was shown: what comes after it hasn't been read.
    head: u64,
}

struct Row {
    line: Line,
    /// The item's page and name.
    item: Option<(Id, String)>,
    odd: bool,
}

/// Which day.
#[derive(Deserialize)]
pub struct On {
    on: Option<String>,
    said: Option<String>,
}

/// The numbers of what was written about a day, corrections included.
fn of_day(written: &Written, zone: Zone, day: i64) -> Vec<&Record> {
    let of = |r: &&Record| day_of(r, zone).is_some_and(|d| d == day || zone.day(r.original.at) == day);
    written.entries.values().filter(of).collect()
}

fn newest(r: &Record) -> u64 {
    r.corrections.last().unwrap_or(&r.original).meta.seq
}

fn build(w: &Written, day: i64, asked: &Asked) -> Review {
    let (state, now) = (&w.look.state, w.look.now);
    let (show, today) = (Show::of(state, now), Show::of(state, now).zone.day(now));
    let mut records = of_day(w, show.zone, day);
    let last = records.iter().map(|r| newest(r)).max().unwrap_or(0);
    let others = state.others.values().filter(|r| show.zone.day(r.at()) == day);
    records.extend(others);
    records.sort_by_key(|r| (r.at(), r.original.meta.seq));
    let row = |r: &Record| {
        let e = &r.original;
        let mut line = log::line(state, show, &asked.names, r);
        if line.said.is_empty() {
            line.said = said(state, show, e);
        }
        let item = e.item().map(|id| (id.clone(), name_of(state, id)));
        Row { line, item, odd: e.meta.late_ms(e.at).is_some() || !r.corrections.is_empty() }
    };
    let odd = records.iter().map(|r| row(r)).filter(|r| r.odd).take(ROWS).collect();
    let all = records.iter().map(|r| row(r)).filter(|r| !r.odd).take(ROWS).collect();
    let reviews: Vec<_> = state.others.values().filter_map(|r| r.effective(u64::MAX).ok().flatten()).collect();
    let reviews: Vec<_> = reviews.iter().filter(|e| covers(e, day)).collect();
    let again = reviews.iter().map(|e| e.meta.seq).max().is_some_and(|seq| seq < last);
    let signed =
        |e: &&std::sync::Arc<Entry>| lang::review_signed(&show.clock(e.at), &log::who(asked, e.meta.by.as_ref()));
    let date = |day: i64| Zone::date_text(day);
    Review {
        shell: Shell::of(state, now, asked),
        on: date(day),
        title: lang::review_of(&show.date_of(&date(day))),
        before: date(day - 1),
        after: (day < today).then(|| date(day + 1)),
        odd,
        all,
        more: (records.len() > ROWS).then(|| lang::review_more(&ROWS.to_string())),
        to_sign: last > 0 && (reviews.is_empty() || again),
        signed: reviews.iter().copied().map(|e| signed(&e)).collect(),
        hint: if again { Some(lang::review_since()) } else { (day == today).then(lang::review_running) },
        older: (day < today - BACK_DAYS).then(|| lang::review_older(&BACK_DAYS.to_string())),
        head: state.head,
    }
}

fn covers(e: &Entry, day: i64) -> bool {
    let date = |text: &str| text.get(..10).and_then(Zone::parse_date);
    match &e.body {
        Body::Review { from, to } => date(from).is_some_and(|d| d <= day) && date(to).is_some_and(|d| d >= day),
        _ => false,
    }
}

/// What an entry that is about no item says.
fn said(state: &State, show: Show, e: &Entry) -> String {
    let at = |id: &Id, what: &str| format!("{}: {what}", place_name(state, id));
    match &e.body {
        Body::AirReading { place, value, .. } => at(place, &lang::said_reading(&show.degrees(*value))),
        Body::Lapse { place, until: None } => at(place, lang::review_lapse()),
        Body::Lapse { place, until: Some(t) } => at(place, &lang::review_lapse_until(&show.clock(*t))),
        Body::Restore { place } => at(place, lang::review_restore()),
        Body::Site { name, .. } | Body::Place { name, .. } => lang::review_setup(name),
        Body::Rule(r) => lang::review_setup(&crate::words::rule_name(r)),
        Body::Product(p) => lang::review_setup(&p.name),
        Body::Decide { action, reason, .. } => lang::review_decided(words::action(*action), reason),
        Body::Approve { what, .. } => lang::review_approved(what.as_str()),
        Body::Review { from, to } => lang::review_reviewed(from, to),
        _ => String::new(),
    }
}

/// The day asked for, yesterday where none is; `None` where that is no day up to today.
fn day(on: Option<&str>, show: Show) -> Option<i64> {
    let today = show.zone.day(show.now);
    on.map_or(Some(today - 1), Zone::parse_date).filter(|day| *day <= today)
}

async fn look(reads: &Reads, on: Option<&str>) -> Result<(Written, i64), Fault> {
    let mut written = reads.written().await?;
    let show = Show::of(&written.look.state, written.look.now);
    let day = day(on, show).ok_or(NO_DAY)?;
    let named: BTreeSet<Id> =
        of_day(&written, show.zone, day).iter().filter_map(|r| r.original.item().cloned()).collect();
    let named: Vec<Id> = named.into_iter().collect();
    reads.name_items(&mut written.look, &named).await?;
    Ok((written, day))
}

async fn page(
    reads: &Reads,
    path: &str,
    (w, day): (&Written, i64),
    (status, notice): (StatusCode, Option<Notice>),
) -> Response {
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    html(status, &build(w, day, &asked))
}

/// Shows a day.
pub async fn show(Visitor(reads): Visitor, uri: Uri, Query(q): Query<On>) -> Response {
    let done = q.said.as_deref() == Some("done");
    let notice = done.then(|| Notice { text: lang::review_done().to_owned(), ..Notice::default() });
    match look(&reads, q.on.as_deref()).await {
        Ok((w, day)) => page(&reads, uri.path(), (&w, day), (StatusCode::OK, notice)).await,
        Err(fault) => problem::answer(uri.path(), &reads.site, &fault),
    }
}

/// Signs a day, unless something was written about it that the page didn't show.
pub async fn sign(
    Keeper(_): Keeper,
    Scribe(writes): Scribe,
    uri: Uri,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let (f, reads, path) = (Fields(fields), writes.reads(), uri.path());
    let (w, day) = match look(reads, Some(f.raw("on"))).await {
        Ok(found) => found,
        Err(fault) => return problem::answer(path, &reads.site, &fault),
    };
    let on = Zone::date_text(day);
    let done = || Redirect::to(&format!("{}s/{}/review?on={on}&said=done", root_of(path), reads.site)).into_response();
    let key = f.key("review");
    if let Some(key) = &key
        && writes.answered(&w.look, key).await.is_some()
    {
        return done();
    }
    let show = Show::of(&w.look.state, w.look.now);
    let read: u64 = f.get("head").and_then(|n| n.parse().ok()).unwrap_or(0);
    let unread = of_day(&w, show.zone, day).iter().any(|r| newest(r) > read);
    let entry = match (unread, day < show.zone.day(show.now) - BACK_DAYS) {
        (true, _) => Err(Refusal::form(&BAD_MEMBER, lang::review_meanwhile())),
        (_, true) => {
            let words = lang::review_older(&BACK_DAYS.to_string());
            Err(Refusal::form(&BAD_MEMBER, &words))
        }
        _ => Ok(vec![json!({"kind": "review", "from": on, "to": on})]),
    };
    match write(&writes, entry.map_err(Fault::Refused), key).await {
        Ok(_) => done(),
        Err(fault) => {
            let (status, notice) = refused(&fault, &w.look);
            page(reads, path, (&w, day), (status, Some(notice))).await
        }
    }
}
