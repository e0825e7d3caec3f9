//! The pages' handlers: load, call one pure function, store its decision. A form answers with the way to a page.

use super::forms::{self, Fields};
use super::{Asked, Notice, board, item, name_of, new_item, place_name, problem, root_of, sign_in};
use crate::lang;
use crate::ledger::{self, Body, From, Id, State as Ledger};
use crate::web::assets;
use crate::web::auth::Viewer;
use crate::web::service::{Fault, Look, Service, Written};
use crate::web::show::Show;
use askama::Template;
use axum::Router;
use axum::extract::{Form, FromRequestParts, Path, Query, State};
use axum::http::{StatusCode, Uri, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use serde::Deserialize;
use serde_json::Value;

/// Every page and the files they need.
pub fn routes() -> Router<Service> {
    Router::new()
        .route("/", get(home))
        .route("/sign-in", get(show_sign_in))
        .route("/s/{site}", get(|uri: Uri| async move { Redirect::permanent(&tail(uri.path())) }))
        .route("/s/{site}/", get(show_board))
        .route("/s/{site}/new", get(show_new).post(begin))
        .route("/s/{site}/items/{item}", get(show_item))
        .route("/s/{site}/items/{item}/{what}", axum::routing::post(act))
        .route("/static/{file}", get(assets::serve))
}

type NobodyYet = <Viewer as FromRequestParts<Service>>::Rejection;

/// What the address says just happened: a word, never a text.
#[derive(Deserialize, Default)]
pub struct Said {
    said: Option<String>,
    item: Option<String>,
    seq: Option<u64>,
}

#[derive(Deserialize)]
struct SignInAsked {
    refused: Option<String>,
    #[serde(default)]
    next: String,
}

fn tail(path: &str) -> String {
    format!("{}/", path.rsplit('/').next().unwrap_or_default())
}

/// A page as an answer; it is about the shop's food and stays out of every cache.
pub fn html(status: StatusCode, page: &impl Template) -> Response {
    let head = [(header::CONTENT_TYPE, "text/html; charset=utf-8"), (header::CACHE_CONTROL, "no-store")];
    (status, head, page.render().unwrap_or_default()).into_response()
}

/// 32 hex digits. Without randomness a page still works: a repeat is then told by its own words.
fn new_key() -> String {
    let mut bytes = [0_u8; 16];
    match getrandom::fill(&mut bytes) {
        Ok(()) => bytes.iter().map(|b| format!("{b:02x}")).collect(),
        Err(_) => String::new(),
    }
}

async fn home(viewer: Result<Viewer, NobodyYet>) -> Redirect {
    match viewer {
        Ok(Viewer(actor)) => Redirect::to(&format!("s/{}/", actor.site.as_deref().unwrap_or("shop"))),
        Err(_) => Redirect::to("sign-in"),
    }
}

async fn show_sign_in(Query(q): Query<SignInAsked>) -> Response {
    let asked = Asked { root: "./", ..Asked::default() };
    html(StatusCode::OK, &sign_in::build(&asked, q.refused.is_some(), &q.next))
}

async fn look(service: &Service, viewer: &Viewer, site: &str, items: &[Id]) -> Result<Look, Fault> {
    if viewer.0.site.as_deref().is_some_and(|own| own != site) {
        return Err(Fault::NotFound("site"));
    }
    service.look(site, items).await
}

async fn show_board(
    State(service): State<Service>,
    viewer: Viewer,
    Path(site): Path<String>,
    uri: Uri,
    Query(said): Query<Said>,
) -> Response {
    let (root, key) = (root_of(uri.path()), new_key());
    let named: Vec<Id> = said.item.as_deref().and_then(Id::new).into_iter().collect();
    match look(&service, &viewer, &site, &named).await {
        Ok(look) => {
            let notice = notice(&look.state, Show::of(&look.state, look.now), &said);
            let asked = Asked { site: &site, root: &root, viewer: Some(&viewer.0), key: &key, notice };
            html(StatusCode::OK, &board::build(&look.state, look.now, &asked))
        }
        Err(fault) => problem::answer(uri.path(), &site, &fault),
    }
}

async fn show_item(
    State(service): State<Service>,
    viewer: Viewer,
    Path((site, item)): Path<(String, String)>,
    uri: Uri,
    Query(said): Query<Said>,
) -> Response {
    let Some(id) = Id::new(&item) else { return problem::answer(uri.path(), &site, &Fault::NotFound("item")) };
    match look(&service, &viewer, &site, std::slice::from_ref(&id)).await {
        Ok(look) => {
            let notice = notice(&look.state, Show::of(&look.state, look.now), &said);
            item_page(&look, &viewer, &site, &id, uri.path(), StatusCode::OK, notice)
        }
        Err(fault) => problem::answer(uri.path(), &site, &fault),
    }
}

fn item_page(
    look: &Look,
    viewer: &Viewer,
    site: &str,
    id: &Id,
    path: &str,
    status: StatusCode,
    notice: Option<Notice>,
) -> Response {
    let (root, key) = (root_of(path), new_key());
    let asked = Asked { site, root: &root, viewer: Some(&viewer.0), key: &key, notice };
    match item::build(&look.state, look.now, id, &asked) {
        Some(page) => html(status, &page),
        None => problem::answer(path, site, &Fault::NotFound("item")),
    }
}

async fn show_new(State(service): State<Service>, viewer: Viewer, Path(site): Path<String>, uri: Uri) -> Response {
    match look(&service, &viewer, &site, &[]).await {
        Ok(look) => new_page(&look, &viewer, &site, uri.path(), StatusCode::OK, None),
        Err(fault) => problem::answer(uri.path(), &site, &fault),
    }
}

fn new_page(look: &Look, viewer: &Viewer, site: &str, path: &str, status: StatusCode, n: Option<Notice>) -> Response {
    let (root, key) = (root_of(path), new_key());
    let asked = Asked { site, root: &root, viewer: Some(&viewer.0), key: &key, notice: n };
    html(status, &new_item::build(&look.state, look.now, &asked))
}

async fn begin(
    State(service): State<Service>,
    viewer: Viewer,
    Path(site): Path<String>,
    uri: Uri,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let fields = Fields(fields);
    let look = match look(&service, &viewer, &site, &[]).await {
        Ok(look) => look,
        Err(fault) => return problem::answer(uri.path(), &site, &fault),
    };
    let entry = forms::new_item(&fields, &look.state, Show::of(&look.state, look.now)).map_err(Fault::Refused);
    match write(&service, &viewer, &site, entry, fields.key("new")).await {
        Ok(written) => {
            let id = written.entries.first().and_then(|e| e.item()).map_or("", Id::as_str);
            let to = format!("{}s/{site}/items/{id}{}", root_of(uri.path()), said("begun", &written, id));
            Redirect::to(&to).into_response()
        }
        Err(fault) => {
            let (status, text, next) = problem::words(&fault);
            let notice = Notice { bad: true, text, next, undo: None };
            new_page(&look, &viewer, &site, uri.path(), status, Some(notice))
        }
    }
}

async fn act(
    State(service): State<Service>,
    viewer: Viewer,
    Path((site, item, what)): Path<(String, String, String)>,
    uri: Uri,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let fields = Fields(fields);
    let path = uri.path();
    let Some(id) = Id::new(&item) else { return problem::answer(path, &site, &Fault::NotFound("item")) };
    let look_again = || look(&service, &viewer, &site, std::slice::from_ref(&id));
    let look = match look_again().await {
        Ok(look) => look,
        Err(fault) => return problem::answer(path, &site, &fault),
    };
    let show = Show::of(&look.state, look.now);
    let entry = forms::about_item(&what, &fields, &id, &look.state, show).map_err(Fault::Refused);
    match write(&service, &viewer, &site, entry, fields.key(&format!("{what}.{id}"))).await {
        Ok(written) => {
            let page = if fields.get("back") == Some("board") { String::new() } else { format!("items/{id}") };
            let to = format!("{}s/{site}/{page}{}", root_of(path), said(&what, &written, id.as_str()));
            Redirect::to(&to).into_response()
        }
        Err(fault) => {
            let (status, text, next) = problem::words(&fault);
            let notice = Notice { bad: true, text, next, undo: None };
            // Refused, so the ledger stands as it was looked at.
            item_page(&look, &viewer, &site, &id, path, status, Some(notice))
        }
    }
}

async fn write(
    service: &Service,
    viewer: &Viewer,
    site: &str,
    entry: Result<Value, Fault>,
    key: Option<String>,
) -> Result<Written, Fault> {
    let parsed = ledger::parse(&entry?.to_string(), From::Caller).map_err(Fault::Refused)?;
    service.write(site, &viewer.0, vec![parsed], key).await
}

/// The query that tells the next page what happened. An answer that is older than the request is a repeat's.
fn said(what: &str, written: &Written, item: &str) -> String {
    let first = written.entries.first();
    let age_ms = first.and_then(|e| e.meta.recorded_at).map_or(0, |r| written.now.since(r));
    let what = if age_ms > 5_000 { "again" } else { what };
    format!("?said={what}&item={item}&seq={}", first.map_or(0, |e| e.meta.seq))
}

/// The sentence for what happened, from what the ledger says of it.
fn notice(state: &Ledger, show: Show, said: &Said) -> Option<Notice> {
    let id = said.item.as_deref().and_then(Id::new)?;
    let item = state.items.get(&id)?;
    let last = item.records.last().map(|r| r.original.clone())?;
    let (name, when) = (name_of(state, &id), show.clock(last.at));
    let text = match (said.said.as_deref()?, &last.body) {
        ("move", Body::Move { place, .. }) => lang::done_moved(&name, &place_name(state, place), &when),
        ("begun", _) => lang::done_begun(&name, &when),
        ("join", _) => lang::done_joined(&name),
        ("reading", _) => lang::done_read(&name),
        ("close", _) => lang::done_closed(&name, &when),
        ("correct", _) => lang::done_corrected(&name),
        ("mark", _) => lang::done_marked(&name),
        ("again", _) => lang::done_again(&name, &when),
        _ => return None,
    };
    // Only the very last entry is taken back with one tap, and a beginning or a correction isn't.
    let undo = said.seq.filter(|seq| *seq == last.meta.seq && !matches!(last.body, Body::Item(_)));
    let undo = undo.filter(|_| item.records.last().is_some_and(|r| r.corrections.is_empty()));
    Some(Notice { bad: false, text, next: String::new(), undo: undo.map(|seq| (id, seq)) })
}
