//! The board: what is out, what is cold, most urgent first; one tap moves a thing. Its rows are shared by all who look.

use super::live::Live;
use super::rows::{self, For, filter_of, query};
use super::said::Said;
use super::visitor::Visitor;
use super::{Asked, Shell, problem, root_of};
use crate::board::working::ComeBacks;
use crate::board::{Filter, List, Wanted, page_of};
use crate::clock::Instant;
use crate::lang;
use crate::ledger::{Id, State};
use crate::people::{Names, Role};
use crate::record::procedure::{Due, due};
use crate::web::auth::Reads;
use crate::web::fragments::{BLANK, Decided, Fragment, Key, Seen, View};
use crate::web::service::Fault;
use crate::web::show::Show;
use askama::Template;
use axum::extract::{Query, RawQuery};
use axum::http::{HeaderMap, StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use std::sync::Arc;

/// Rows of the board at first, and at most.
const ROWS: usize = 120;
const ALL_ROWS: usize = 2_000;

/// The page.
#[derive(Template)]
#[template(path = "board.html")]
pub struct Board {
    shell: Shell,
    live: String,
    filter: String,
    rows: String,
    due: Option<String>,
    /// How many decisions wait, for a manager.
    decisions: Option<String>,
}

impl Board {
    /// The same with what about the written procedure waits for a manager, and how many decisions do.
    pub fn with(self, due: Option<&Due>, decisions: Option<i64>) -> Board {
        Board { due: due.map(waits), decisions: decisions.map(lang::board_decisions), ..self }
    }
}

fn waits(due: &Due) -> String {
    match due {
        Due::NoneInForce => lang::procedure_board_none().to_owned(),
        Due::Review(date) => lang::procedure_board_review(date),
    }
}

/// What takes something back leads to the board again, as it was filtered.
fn leads_back(shell: Shell, filter: &str) -> Shell {
    Shell { back: vec![("back", String::from("board")), ("filter", filter.to_owned())], ..shell }
}

/// Builds it from the list, for one alone.
pub fn build(state: &State, now: Instant, list: &List, asked: &Asked) -> Board {
    let shell = leads_back(Shell::of(state, now, asked), "");
    let (decided, names, filter) = (Decided::default(), Names::default(), Filter::default());
    let (board, may_write) = (shell.board(), shell.may_write);
    let planned = ComeBacks::new();
    let f = For {
        board,
        may_write,
        among: None,
        filter: &filter,
        decided: &decided,
        names: &names,
        cold: &[],
        planned: &planned,
    };
    let rows = rows::build(state, now, list, &f).render().unwrap_or_default();
    let live = Live::shop(&shell, state.head).fragment(&shell.board(), "board", "").to_string();
    Board {
        live,
        due: None,
        decisions: None,
        filter: String::new(),
        rows: rows.replace(BLANK, &format!("value=\"{}\"", asked.key)),
        shell,
    }
}

/// How much of the board is wanted.
#[derive(Deserialize)]
pub(super) struct Much {
    all: Option<String>,
    view: Option<String>,
}

/// Whether somebody writes from pages.
pub(super) fn may_write(reads: &Reads) -> bool {
    matches!(reads.actor.role, Role::Staff | Role::Manager)
}

/// The shared rendering of a board.
pub(super) async fn shared(reads: &Reads, key: Key, at_once: bool) -> Result<Arc<Fragment>, Fault> {
    let briefs = reads.service().briefs(&key.site);
    let (board, k) = (format!("{}s/{}/", key.root, key.site), key.clone());
    let render = |seen: &Seen| {
        let (look, decided, names) = (&seen.look, &*seen.decided, &seen.names);
        let limit = if k.view == (View::Board { all: true }) { ALL_ROWS } else { ROWS };
        let changed = |id: &Id| look.changed(id);
        let list = page_of(&briefs, &look.state, changed, look.now, (Wanted::Board, &k.filter), None, limit);
        let among = (k.view == View::Among).then_some(k.site.as_str());
        let (may_write, filter, cold) = (k.may_write, &k.filter, &seen.cold[..]);
        let planned = &seen.planned;
        let f = For { board: board.clone(), may_write, among, filter, decided, names, cold, planned };
        let rows = rows::build(&look.state, look.now, &list, &f);
        (rows.render().unwrap_or_default(), rows.until())
    };
    reads.service().fragment(key, at_once, render).await
}

pub(super) async fn show(
    Visitor(reads): Visitor,
    uri: Uri,
    RawQuery(raw): RawQuery,
    Query(said): Query<Said>,
    Query(much): Query<Much>,
) -> Response {
    let (root, key, site) = (root_of(uri.path()), super::handlers::new_key(), reads.site.as_str());
    let named: Vec<Id> = said.item().into_iter().collect();
    let filter = filter_of(raw.as_deref().unwrap_or_default());
    let view = View::Board { all: much.all.is_some() };
    let shown = Key {
        site: site.to_owned(),
        root: root.clone(),
        view,
        may_write: may_write(&reads),
        filter,
        lang: lang::spoken(),
    };
    let (filter, all) = (shown.filter.clone(), much.all.is_some());
    // First the figures, then what the stream goes on from: nothing falls between the two.
    let (look, fragment) = match reads.look(&named).await {
        Ok(look) => match shared(&reads, shown, true).await {
            Ok(fragment) => (look, fragment),
            Err(fault) => return problem::answer(uri.path(), site, &fault),
        },
        Err(fault) => return problem::answer(uri.path(), site, &fault),
    };
    let show = Show::of(&look.state, look.now);
    let notice = said.notice(&look.state, show).map(|n| said.with_mark(n, &look.state, show));
    let asked = super::handlers::asked(&reads, &root, &key, notice).await;
    let shell = Shell::of(&look.state, fragment.now, &asked);
    let filter = match (query(&filter), all) {
        (f, false) => f,
        (f, true) if f.is_empty() => String::from("all=1"),
        (f, true) => format!("all=1&{f}"),
    };
    let live = Live::shop(&shell, look.state.head).fragment(&shell.board(), "board", &filter).to_string();
    // The board is there for what is out: it waits for no paper.
    let due = match reads.actor.role {
        Role::Manager => reads.shelf().await.ok().and_then(|shelf| due(&shelf, look.now, show.zone)),
        _ => None,
    };
    let shell = leads_back(shell, &filter);
    let board = Board { live, filter, rows: fragment.keyed(&key), shell, due: None, decisions: None };
    let waiting = super::decisions::waiting(&reads, look.state.head).await;
    super::handlers::html(StatusCode::OK, &board.with(due.as_ref(), waiting))
}

/// The rows alone, for a page that shows them already.
pub(super) async fn fragment(
    Visitor(reads): Visitor,
    uri: Uri,
    headers: HeaderMap,
    RawQuery(raw): RawQuery,
    Query(much): Query<Much>,
) -> Response {
    let view = match much.view.as_deref() {
        Some("wall") => View::Wall,
        _ => View::Board { all: much.all.is_some() },
    };
    let filter = filter_of(raw.as_deref().unwrap_or_default());
    let (site, root) = (reads.site.clone(), root_of(uri.path()));
    let key = Key { site, root, view, may_write: may_write(&reads), filter, lang: lang::spoken() };
    let found = match view {
        View::Wall => super::wall::shared(&reads, key, false).await,
        _ => shared(&reads, key, false).await,
    };
    let (fragment, look) = match (found, reads.look(&[]).await) {
        (Ok(fragment), Ok(look)) => (fragment, look),
        (Err(fault), _) | (_, Err(fault)) => return problem::answer(uri.path(), &reads.site, &fault),
    };
    let as_of = Show::of(&look.state, look.now).clock(fragment.now);
    let told = [
        (header::CONTENT_TYPE, String::from("text/html; charset=utf-8")),
        (header::CACHE_CONTROL, String::from("no-store")),
        (header::HeaderName::from_static("now-ms"), fragment.now.0.to_string()),
        (header::HeaderName::from_static("as-of"), ascii(&as_of)),
        (header::HeaderName::from_static("seq"), fragment.head.to_string()),
    ];
    let gzip = headers.get(header::ACCEPT_ENCODING).and_then(|v| v.to_str().ok()).is_some_and(|v| v.contains("gzip"));
    match gzip {
        true => (told, [(header::CONTENT_ENCODING, "gzip")], fragment.packed()).into_response(),
        false => (told, fragment.text.clone()).into_response(),
    }
}

/// A text as a header can carry it: the page reads it with `decodeURIComponent`.
fn ascii(text: &str) -> String {
    let plain = |b: u8| b.is_ascii_alphanumeric() || matches!(b, b':' | b'.' | b'-');
    text.bytes().map(|b| if plain(b) { char::from(b).to_string() } else { format!("%{b:02X}") }).collect()
}
