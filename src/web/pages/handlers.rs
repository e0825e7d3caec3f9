//! The pages' handlers: load, call one pure function, store its decision. A form answers with the way to a page.

use super::forms::{self, Fields};
use super::visitor::{Scribe, Visitor};
use super::{
    Asked, Notice, board, devices, enrol, item, name_of, new_item, people, place_name, problem, racking, root_of,
    session, set_up, tagging,
};
use crate::clock::Instant;
use crate::lang;
use crate::ledger::{self, Body, From, Id, State as Ledger};
use crate::web::assets;
use crate::web::auth::{Reads, Writes, who};
use crate::web::service::{FIRST_SITE, Fault, Look, Service, Written};
use crate::web::show::Show;
use askama::Template;
use axum::Router;
use axum::extract::{Form, Path, Query, Request, State};
use axum::http::{StatusCode, Uri, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::MethodRouter;
use serde::Deserialize;
use serde_json::Value;

/// One line a route: its address, its methods with who answers them. [`ROUTES`] says the same to whoever asks.
macro_rules! routes {
    ($($path:literal $($method:ident $handler:expr),+;)+) => {
        /// Every page's address and methods, for whoever has to know them all.
        pub const ROUTES: &[(&str, &str)] = &[$($((stringify!($method), $path)),+),+];

        /// Every page and the files they need.
        pub fn routes() -> Router<Service> {
            Router::new()$(.route($path, MethodRouter::new()$(.$method($handler))+))+
        }
    };
}

routes! {
    "/" get home;
    "/sign-in" get session::show, post session::enter;
    "/sign-out" post session::leave;
    "/set-up" get set_up::show, post set_up::step;
    "/enrol" get enrol::show, post enrol::enter;
    "/s/{site}" get slash;
    "/s/{site}/" get show_board;
    "/s/{site}/new" get show_new, post begin;
    "/s/{site}/items/{item}" get show_item;
    "/s/{site}/items/{item}/{what}" post act;
    "/s/{site}/people" get people::show, post people::add;
    "/s/{site}/people/{person}/{what}" post people::change;
    "/s/{site}/devices" get devices::show, post devices::add;
    "/s/{site}/devices/{device}/{what}" post devices::change;
    "/t/{tag}" get tagging::open;
    "/s/{site}/scan" get tagging::scan;
    "/s/{site}/tags" get tagging::sheets, post tagging::make;
    "/s/{site}/tags/{tag}" get tagging::show;
    "/s/{site}/tags/{tag}/{what}" post tagging::change;
    "/s/{site}/sheets/{sheet}" get tagging::sheet;
    "/s/{site}/items/{item}/tag" get tagging::show_item, post tagging::tie_item;
    "/s/{site}/racks" get racking::list, post racking::make;
    "/s/{site}/racks/{rack}" get racking::show;
    "/s/{site}/racks/{rack}/{what}" post racking::act;
    "/static/{file}" get assets::serve;
}

/// What the address says just happened: a word, never a text.
#[derive(Deserialize, Default)]
pub struct Said {
    said: Option<String>,
    item: Option<String>,
    seq: Option<u64>,
}

/// Which item, and what is done to it.
#[derive(Deserialize)]
struct At {
    item: String,
    #[serde(default)]
    what: String,
}

const NO_ITEM: Fault = Fault::NotFound("item");

/// A board's address without its slash leads to the board.
async fn slash(uri: Uri) -> Redirect {
    Redirect::permanent(&format!("{}/", uri.path().rsplit('/').next().unwrap_or_default()))
}

/// A page as an answer; it is about the shop's food and stays out of every cache.
pub fn html(status: StatusCode, page: &impl Template) -> Response {
    let head = [(header::CONTENT_TYPE, "text/html; charset=utf-8"), (header::CACHE_CONTROL, "no-store")];
    (status, head, page.render().unwrap_or_default()).into_response()
}

/// Makes a double tap harmless: 32 hex digits. Without randomness a page still works: a repeat is then told by its own words.
pub fn new_key() -> String {
    let mut bytes = [0_u8; 16];
    match getrandom::fill(&mut bytes) {
        Ok(()) => bytes.iter().map(|b| format!("{b:02x}")).collect(),
        Err(_) => String::new(),
    }
}

async fn home(State(service): State<Service>, request: Request) -> Redirect {
    let (parts, _) = request.into_parts();
    match who(&parts, &service).await {
        Ok(actors) => {
            let first = actors.into_iter().find_map(|a| a.site).or_else(|| service.sites().into_iter().next());
            Redirect::to(&format!("s/{}/", first.as_deref().unwrap_or(FIRST_SITE)))
        }
        Err(_) => Redirect::to("sign-in"),
    }
}

async fn show_board(Visitor(reads): Visitor, uri: Uri, Query(said): Query<Said>) -> Response {
    let (root, key, site) = (root_of(uri.path()), new_key(), reads.site.as_str());
    let named: Vec<Id> = said.item.as_deref().and_then(Id::new).into_iter().collect();
    match reads.look(&named).await {
        Ok(look) => {
            let notice = notice(&look.state, Show::of(&look.state, look.now), &said);
            let asked = Asked { site, root: &root, viewer: Some(&reads.actor), key: &key, notice, ..Asked::default() };
            html(StatusCode::OK, &board::build(&look.state, look.now, &asked))
        }
        Err(fault) => problem::answer(uri.path(), site, &fault),
    }
}

async fn show_item(Visitor(reads): Visitor, Path(at): Path<At>, uri: Uri, Query(said): Query<Said>) -> Response {
    let Some(id) = Id::new(&at.item) else { return problem::answer(uri.path(), &reads.site, &NO_ITEM) };
    match reads.look(std::slice::from_ref(&id)).await {
        Ok(look) => {
            let notice = notice(&look.state, Show::of(&look.state, look.now), &said);
            item_page(&look, &reads, &id, uri.path(), StatusCode::OK, notice).await
        }
        Err(fault) => problem::answer(uri.path(), &reads.site, &fault),
    }
}

async fn item_page(
    look: &Look,
    reads: &Reads,
    id: &Id,
    path: &str,
    status: StatusCode,
    notice: Option<Notice>,
) -> Response {
    let (root, key, names) = (root_of(path), new_key(), reads.names().await);
    let asked = Asked { site: &reads.site, root: &root, viewer: Some(&reads.actor), key: &key, notice, names };
    match item::build(&look.state, look.now, id, &asked) {
        Some(page) => html(status, &page),
        None => problem::answer(path, &reads.site, &NO_ITEM),
    }
}

async fn show_new(Visitor(reads): Visitor, uri: Uri) -> Response {
    match reads.look(&[]).await {
        Ok(look) => new_page(&look, &reads, uri.path(), StatusCode::OK, None),
        Err(fault) => problem::answer(uri.path(), &reads.site, &fault),
    }
}

fn new_page(look: &Look, reads: &Reads, path: &str, status: StatusCode, notice: Option<Notice>) -> Response {
    let (root, key) = (root_of(path), new_key());
    let asked =
        Asked { site: &reads.site, root: &root, viewer: Some(&reads.actor), key: &key, notice, ..Asked::default() };
    html(status, &new_item::build(&look.state, look.now, &asked))
}

async fn begin(Scribe(writes): Scribe, uri: Uri, Form(fields): Form<Vec<(String, String)>>) -> Response {
    let (fields, reads) = (Fields(fields), writes.reads());
    let look = match reads.look(&[]).await {
        Ok(look) => look,
        Err(fault) => return problem::answer(uri.path(), &reads.site, &fault),
    };
    let entry = forms::new_item(&fields, &look.state, Show::of(&look.state, look.now)).map_err(Fault::Refused);
    match write(&writes, entry, fields.key("new")).await {
        Ok(written) => {
            let first = First::of(&written);
            let to = format!("{}s/{}/items/{}{}", root_of(uri.path()), reads.site, first.item, first.said("begun"));
            Redirect::to(&to).into_response()
        }
        Err(fault) => {
            let (status, notice) = refused(&fault);
            new_page(&look, reads, uri.path(), status, Some(notice))
        }
    }
}

async fn act(
    Scribe(writes): Scribe,
    Path(at): Path<At>,
    uri: Uri,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let (fields, reads, path) = (Fields(fields), writes.reads(), uri.path());
    let Some(id) = Id::new(&at.item) else { return problem::answer(path, &reads.site, &NO_ITEM) };
    let look = match reads.look(std::slice::from_ref(&id)).await {
        Ok(look) => look,
        Err(fault) => return problem::answer(path, &reads.site, &fault),
    };
    let show = Show::of(&look.state, look.now);
    let entry = forms::about_item(&at.what, &fields, &id, &look.state, show).map_err(Fault::Refused);
    match write(&writes, entry, fields.key(&format!("{}.{id}", at.what))).await {
        Ok(written) => {
            let page = if fields.get("back") == Some("board") { String::new() } else { format!("items/{id}") };
            let first = First { item: id.to_string(), ..First::of(&written) };
            Redirect::to(&format!("{}s/{}/{page}{}", root_of(path), reads.site, first.said(&at.what))).into_response()
        }
        Err(fault) => {
            let (status, notice) = refused(&fault);
            // What stands there now may be why it was refused.
            let look = reads.look(std::slice::from_ref(&id)).await.unwrap_or(look);
            item_page(&look, reads, &id, path, status, Some(notice)).await
        }
    }
}

fn refused(fault: &Fault) -> (StatusCode, Notice) {
    let (status, text, next) = problem::words(fault);
    (status, Notice { bad: true, text, next, undo: None })
}

async fn write(writes: &Writes, entry: Result<Value, Fault>, key: Option<(String, String)>) -> Result<Written, Fault> {
    let parsed = ledger::parse(&entry?.to_string(), From::Caller).map_err(Fault::Refused)?;
    writes.write(vec![parsed], key).await
}

/// The first entry of an answer, whether it was written just now or before.
#[derive(Default)]
struct First {
    item: String,
    seq: u64,
    age_ms: i64,
}

impl First {
    fn of(written: &Written) -> First {
        let answer: Value = serde_json::from_str(&written.answer).unwrap_or_default();
        let entry = &answer["entries"][0];
        let recorded = entry["recorded_at"].as_str().and_then(Instant::parse);
        First {
            item: entry["item"].as_str().unwrap_or_default().to_owned(),
            seq: entry["seq"].as_u64().unwrap_or(0),
            age_ms: recorded.map_or(0, |r| written.now.since(r)),
        }
    }

    /// The query that tells the next page what happened. The second of two quick taps says the same as the first;
    /// one from a page that had lain about says that it changed nothing.
    fn said(&self, what: &str) -> String {
        let what = if self.age_ms > 5_000 { "again" } else { what };
        format!("?said={what}&item={}&seq={}", self.item, self.seq)
    }
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
