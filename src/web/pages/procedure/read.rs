//! What somebody who signs in has not read yet. It bars no way: whoever has cream on the bench records that first and
//! is asked again at the next sign-in.

use super::paper::Paper;
use super::versions::{Table, tables};
use crate::lang;
use crate::record::procedure::compare;
use crate::web::auth::Reads;
use crate::web::pages::forms::Fields;
use crate::web::pages::handlers::{asked, html, new_key};
use crate::web::pages::sign_in::leads_to_a_shop;
use crate::web::pages::visitor::Scribe;
use crate::web::pages::{Shell, problem, root_of};
use crate::web::service::Fault;
use askama::Template;
use axum::extract::{Form, Query};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;

/// The page.
#[derive(Template)]
#[template(path = "procedure/read.html")]
struct Read {
    shell: Shell,
    version: u32,
    /// The version that was read before.
    last: Option<u32>,
    changes: Vec<Table>,
    paper: Paper,
    next: String,
}

/// Where to go on.
#[derive(Deserialize)]
pub struct Next {
    #[serde(default)]
    next: String,
}

/// The way on, from the root.
fn on<'a>(next: &'a str, site: &str) -> std::borrow::Cow<'a, str> {
    if leads_to_a_shop(next) { next.into() } else { format!("s/{site}/").into() }
}

/// Shows what is new.
pub async fn show(Scribe(writes): Scribe, uri: Uri, Query(q): Query<Next>) -> Response {
    let (reads, path) = (writes.reads(), uri.path());
    match page(reads, path, &q.next).await {
        Ok(Some(page)) => page,
        Ok(None) => Redirect::to(&format!("{}{}", root_of(path), on(&q.next, &reads.site))).into_response(),
        Err(fault) => problem::answer(path, &reads.site, &fault),
    }
}

async fn page(reads: &Reads, path: &str, next: &str) -> Result<Option<Response>, Fault> {
    let Some((version, last)) = reads.unread().await? else { return Ok(None) };
    let (look, document) = (reads.look(&[]).await?, reads.version(version).await?);
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, None).await;
    let changes = match last {
        Some(last) => tables(compare(&reads.version(last).await?, &document, &asked.names)),
        None => Vec::new(),
    };
    let next = on(next, &reads.site).into_owned();
    let paper = Paper::of(&document, &asked.names);
    let shell = Shell::of(&look.state, look.now, &asked);
    Ok(Some(html(StatusCode::OK, &Read { shell, version, last, changes, paper, next })))
}

/// Notes that they have read it.
pub async fn note(Scribe(writes): Scribe, uri: Uri, Form(sent): Form<Vec<(String, String)>>) -> Response {
    let (f, reads, path) = (Fields(sent), writes.reads(), uri.path());
    let said = f.get("version").unwrap_or_default();
    let Ok(version) = said.parse() else { return super::unknown(path, &reads.site, said) };
    match writes.note_read(version).await {
        Ok(()) => {
            let next = f.get("next").unwrap_or_default();
            Redirect::to(&format!("{}{}", root_of(path), on(next, &reads.site))).into_response()
        }
        Err(Fault::NotFound(_)) => super::unknown(path, &reads.site, said),
        Err(fault) => problem::answer(path, &reads.site, &fault),
    }
}
