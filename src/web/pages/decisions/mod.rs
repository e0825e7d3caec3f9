//! Decisions: what needs a person, each with what mends it and with a form for what was decided.

mod lines;
pub mod review;

use super::acting::write;
use super::forms::Fields;
use super::handlers::{asked, html, new_key, refused};
use super::visitor::{Keeper, Scribe, Visitor};
use super::{Asked, Notice, Shell, problem, root_of};
use crate::board::decisions::{BACK_DAYS, CLOSED_MOST, ENTRIES_MOST, Matter, key};
use crate::lang;
use crate::ledger::About;
use crate::ledger::refusal::{BAD_MEMBER, Refusal};
use crate::web::auth::Reads;
use crate::web::oversight::Oversight;
use crate::web::service::Fault;
use crate::web::show::Show;
use askama::Template;
use axum::extract::{Form, Query};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use lines::Line;
use serde::Deserialize;
use serde_json::{Value, json};

/// Decisions written at once at most: as many entries as a request holds.
const AT_ONCE: usize = 500;

/// The page.
#[derive(Template)]
#[template(path = "decisions/decisions.html")]
struct Decisions {
    shell: Shell,
    /// What is over, then all else.
    parts: [Vec<Line>; 2],
    bound: String,
    cut: Option<String>,
}

/// What was just done.
#[derive(Deserialize)]
pub struct Said {
    said: Option<String>,
}

/// How a decision about an occurrence is named in a form: what it is about and when.
fn handle(about: &About, at: crate::clock::Instant) -> String {
    match about {
        About::Seq(seq) => format!("{seq} {at}"),
        About::Id(id) => format!("{id} {at}"),
    }
}

fn build(found: &Oversight, f: &Fields, asked: &Asked) -> Decisions {
    let (state, now) = (&found.look.state, found.look.now);
    let c = lines::Ctx { state, show: Show::of(state, now), asked, fields: f };
    let mut parts = [Vec::new(), Vec::new()];
    for m in &found.matters {
        parts[usize::from(m.code != "over")].push(Line::of(&c, m));
    }
    let cut = || lang::decisions_cut(&CLOSED_MOST.to_string(), &ENTRIES_MOST.to_string());
    Decisions {
        shell: Shell::of(state, now, asked),
        parts,
        bound: lang::decisions_bound(&BACK_DAYS.to_string()),
        cut: (!found.whole).then(cut),
    }
}

async fn page(
    reads: &Reads,
    path: &str,
    found: &Oversight,
    f: &Fields,
    (status, notice): (StatusCode, Option<Notice>),
) -> Response {
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    html(status, &build(found, f, &asked))
}

/// Shows the list.
pub async fn show(Visitor(reads): Visitor, uri: Uri, Query(said): Query<Said>) -> Response {
    let done = said.said.as_deref() == Some("done");
    let notice = done.then(|| Notice { text: lang::decisions_done().to_owned(), ..Notice::default() });
    match reads.decisions().await {
        Ok(found) => page(&reads, uri.path(), &found, &Fields::default(), (StatusCode::OK, notice)).await,
        Err(fault) => problem::answer(uri.path(), &reads.site, &fault),
    }
}

/// Writes what a form of the list means.
pub async fn decide(
    Keeper(_): Keeper,
    Scribe(writes): Scribe,
    uri: Uri,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let (f, reads, path) = (Fields(fields), writes.reads(), uri.path());
    let found = match reads.decisions().await {
        Ok(found) => found,
        Err(fault) => return problem::answer(path, &reads.site, &fault),
    };
    let done = || Redirect::to(&format!("{}s/{}/decisions?said=done", root_of(path), reads.site)).into_response();
    let (entries, key) = (entries(&found.matters, &f).map_err(Fault::Refused), f.key("decide"));
    // The second touch of a button gets the answer of the first.
    if let (Some(key), true) = (&key, entries.is_err())
        && writes.answered(&found.look, key).await.is_some()
    {
        return done();
    }
    match write(&writes, entries, key).await {
        Ok(_) => done(),
        Err(fault) => {
            let (status, notice) = refused(&fault, &found.look);
            page(reads, path, &found, &f, (status, Some(notice))).await
        }
    }
}

/// The entries that a form means: a decision for each occurrence it names that still waits, or an approval.
fn entries(matters: &[Matter], f: &Fields) -> Result<Vec<Value>, Refusal> {
    if let Some(rule) = f.get("approve") {
        let reference =
            f.get("reference").ok_or_else(|| Refusal::form(&BAD_MEMBER, lang::decisions_say_reference()))?;
        return Ok(vec![json!({"kind": "approve", "what": rule, "reference": reference})]);
    }
    let reason = f.get("reason").ok_or_else(|| Refusal::form(&BAD_MEMBER, lang::decisions_say_why()))?;
    let code = f.get("code").unwrap_or_default();
    let may = crate::board::decisions::actions(code).iter().find(|a| f.is("action", lines::word(**a)));
    let action = may.ok_or_else(|| Refusal::form(&BAD_MEMBER, lang::decisions_say_what()))?;
    let waiting = matters.iter().filter(|m| m.code == code).flat_map(|m| &m.of);
    let meant =
        waiting.filter_map(|o| Some((o, o.about.as_ref()?))).filter(|(o, about)| f.is("of", &handle(about, o.at)));
    let entry = |(o, about): (&crate::board::decisions::Occurrence, &About)| json!({"kind": "decide", "about": about, "action": action, "reason": reason, "note": key(code, o.at)});
    let entries: Vec<Value> = meant.take(AT_ONCE).map(entry).collect();
    match entries.is_empty() {
        true => Err(Refusal::form(&BAD_MEMBER, lang::decisions_gone())),
        false => Ok(entries),
    }
}

/// How many wait, for a manager's board; nothing where that can't be said: the board waits for no list.
pub(super) async fn waiting(reads: &Reads, head: u64) -> Option<i64> {
    let manages = reads.actor.role == crate::people::Role::Manager;
    if !manages {
        return None;
    }
    reads.decisions_count(head).await.ok().map(|n| n as i64)
}
