//! With others: what was handed over, who has it, how it stands, and the addresses by which they see it.

pub(super) mod card;
pub(super) mod hand;
pub(super) mod venue;

use super::handlers::{asked, html, new_key};
use super::visitor::{Scribe, Visitor};
use super::{Shell, name_of, place_name, problem, root_of, task};
use crate::board::others::{REPORT_MS, handed_over, with_others};
use crate::clock::Instant;
use crate::lang;
use crate::ledger::{Id, Item, State};
use crate::people::handovers::Link;
use crate::web::auth::Reads;
use crate::web::service::Fault;
use crate::web::show::Show;
use askama::Template;
use axum::extract::Path;
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use std::sync::Arc;

/// The page.
#[derive(Template)]
#[template(path = "away/away.html")]
struct Away {
    shell: Shell,
    rows: Vec<Row>,
    /// How many of them were left out.
    more: usize,
}

/// Rows shown at most, those that were handed over first.
const MOST: usize = 200;

struct Row {
    id: Id,
    name: String,
    place: String,
    figures: String,
    verdict: Option<&'static str>,
    to: Option<String>,
    since: String,
    closes: String,
    links: Vec<(Id, String)>,
}

fn row(state: &State, show: Show, (id, item): (&Id, &Arc<Item>), links: &[Link]) -> Option<(Instant, Row)> {
    let s = task::standing(state, show, id)?;
    let handed = handed_over(state, item)?;
    let said = |l: &Link| match l.writes {
        true => lang::away_link_writes(&show.clock(l.until)),
        false => lang::away_link(&show.clock(l.until)),
    };
    Some((
        handed.at,
        Row {
            id: id.clone(),
            name: name_of(state, id),
            place: place_name(state, &s.place),
            figures: task::figures(&s, show),
            verdict: task::verdict(&s),
            to: handed.note.as_ref().map(|n| n.to_string()),
            since: lang::away_since(&show.clock(handed.at)),
            closes: lang::away_closes(&show.clock(handed.at.plus(REPORT_MS))),
            links: links.iter().filter(|l| l.item == *id).map(|l| (l.link.clone(), said(l))).collect(),
        },
    ))
}

async fn page(reads: &Reads, uri: &Uri) -> Result<Response, Fault> {
    let (look, links) = (reads.look(&[]).await?, reads.service().links(&reads.site).await?);
    let (state, show) = (&look.state, Show::of(&look.state, look.now));
    let others = state.items.iter().filter(|(_, item)| with_others(state, item));
    let mut rows: Vec<_> = others.filter_map(|pair| row(state, show, pair, &links)).collect();
    rows.sort_by(|a, b| (a.0, &a.1.id).cmp(&(b.0, &b.1.id)));
    let more = rows.len().saturating_sub(MOST);
    rows.truncate(MOST);
    let (root, key) = (root_of(uri.path()), new_key());
    let asked = asked(reads, &root, &key, None).await;
    let shell = Shell::of(state, look.now, &asked);
    Ok(html(StatusCode::OK, &Away { shell, rows: rows.into_iter().map(|(_, row)| row).collect(), more }))
}

/// Shows it.
pub(super) async fn show(Visitor(reads): Visitor, uri: Uri) -> Response {
    page(&reads, &uri).await.unwrap_or_else(|fault| problem::answer(uri.path(), &reads.site, &fault))
}

/// Ends an address.
pub(super) async fn revoke(Scribe(writes): Scribe, Path((_, link)): Path<(String, String)>, uri: Uri) -> Response {
    let done = match Id::new(&link) {
        Some(link) => writes.revoke_link(&link).await,
        None => Err(Fault::NotFound("link")),
    };
    let site = &writes.reads().site;
    match done {
        Ok(()) => Redirect::to(&format!("{}s/{site}/away", root_of(uri.path()))).into_response(),
        Err(fault) => problem::answer(uri.path(), site, &fault),
    }
}
