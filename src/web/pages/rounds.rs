//! The round's handlers.

use super::acting::write;
use super::forms::Fields;
use super::handlers::{asked, html, new_key, refused};
use super::said::Said;
use super::visitor::Scribe;
use super::{Notice, problem, root_of, round};
use crate::ledger::Id;
use crate::web::auth::Reads;
use crate::web::service::{Fault, Look};
use crate::web::show::Show;
use axum::extract::{Form, Path, Query};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;
use serde_json::json;

/// Which place.
#[derive(Deserialize)]
pub(super) struct Where {
    place: String,
}

/// Those still to be asked about.
#[derive(Deserialize)]
pub(super) struct Ask {
    ask: Option<String>,
    seen: Option<usize>,
    read: Option<bool>,
}

const NO_PLACE: Fault = Fault::NotFound("place");

/// Ids from a list with commas; whatever is none is left out.
pub(super) fn ids(text: &str) -> String {
    let ids: Vec<String> = list(text).iter().map(Id::to_string).collect();
    ids.join(",")
}

fn list(text: &str) -> Vec<Id> {
    text.split(',').filter_map(Id::new).collect()
}

/// Shows the places.
pub(super) async fn choose(Scribe(writes): Scribe, uri: Uri, Query(said): Query<Said>) -> Response {
    let (reads, path) = (writes.reads(), uri.path());
    let named: Vec<Id> = said.item().into_iter().collect();
    match reads.look_round(&named).await {
        Ok(look) => {
            let notice = said.notice(&look.state, Show::of(&look.state, look.now));
            let (root, key) = (root_of(path), new_key());
            let asked = asked(reads, &root, &key, notice).await;
            html(StatusCode::OK, &round::choose(&look.state, look.now, &asked))
        }
        Err(fault) => problem::answer(path, &reads.site, &fault),
    }
}

/// Shows what is logged in a place, or asks about what wasn't there.
pub(super) async fn show(
    Scribe(writes): Scribe,
    Path(at): Path<Where>,
    uri: Uri,
    Query(said): Query<Said>,
    Query(ask): Query<Ask>,
) -> Response {
    let (reads, path) = (writes.reads(), uri.path());
    let Some(place) = Id::new(&at.place) else { return problem::answer(path, &reads.site, &NO_PLACE) };
    let missing = list(ask.ask.as_deref().unwrap_or_default());
    let named: Vec<Id> = missing.iter().cloned().chain(said.item()).collect();
    match reads.look_round(&named).await {
        Ok(look) => {
            let show = Show::of(&look.state, look.now);
            let seen = ask.seen.map(|n| round::done(&look.state, show, &place, n, ask.read.is_some()));
            let notice = said.notice(&look.state, show).or(seen);
            if ask.ask.is_some() {
                question(&look, reads, &place, path, &missing, notice).await
            } else {
                page(&look, reads, &place, path, &Fields::default(), (StatusCode::OK, notice)).await
            }
        }
        Err(fault) => problem::answer(path, &reads.site, &fault),
    }
}

async fn question(
    look: &Look,
    reads: &Reads,
    place: &Id,
    path: &str,
    missing: &[Id],
    notice: Option<Notice>,
) -> Response {
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    match round::ask(&look.state, look.now, place, missing, &asked) {
        Some(page) => html(StatusCode::OK, &page),
        // Nobody is left to ask about: on to the next place.
        None => html(StatusCode::OK, &round::choose(&look.state, look.now, &asked)),
    }
}

async fn page(
    look: &Look,
    reads: &Reads,
    place: &Id,
    path: &str,
    fields: &Fields,
    (status, notice): (StatusCode, Option<Notice>),
) -> Response {
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    match round::place(&look.state, look.now, place, fields, &asked) {
        Some(page) => html(status, &page),
        None => problem::answer(path, &reads.site, &NO_PLACE),
    }
}

/// Notes what was seen, and goes on to what wasn't.
pub(super) async fn seen(
    Scribe(writes): Scribe,
    Path(at): Path<Where>,
    uri: Uri,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let (fields, reads, path) = (Fields(fields), writes.reads(), uri.path());
    let Some(place) = Id::new(&at.place) else { return problem::answer(path, &reads.site, &NO_PLACE) };
    let here: Vec<&str> = fields.all("here").collect();
    let missing: Vec<String> =
        list(fields.raw("listed")).iter().map(Id::to_string).filter(|id| !here.contains(&id.as_str())).collect();
    let count = here.len();
    let value = fields.get("value").map(|v| v.replace(',', "."));
    let read = if value.is_some() { "&read=true" } else { "" };
    let mut entries = Vec::new();
    if let Some(value) = value {
        match reads.look(&[]).await {
            Ok(look) => {
                let unit = Show::of(&look.state, look.now).units;
                entries.push(json!({"kind": "reading", "place": place, "value": value, "unit": unit}));
            }
            Err(fault) => return problem::answer(path, &reads.site, &fault),
        }
    }
    if count > 0 {
        entries.push(json!({"kind": "seen", "items": here, "place": place}));
    }
    if !entries.is_empty()
        && let Err(fault) = write(&writes, Ok(entries), fields.key(&format!("round.{place}"))).await
    {
        return match reads.look_round(&[]).await {
            Ok(look) => {
                let (status, notice) = refused(&fault, &look);
                page(&look, reads, &place, path, &fields, (status, Some(notice))).await
            }
            Err(fault) => problem::answer(path, &reads.site, &fault),
        };
    }
    let to = format!("{}s/{}/round/{place}?seen={count}{read}&ask={}", root_of(path), reads.site, missing.join(","));
    Redirect::to(&to).into_response()
}
