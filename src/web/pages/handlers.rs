//! The pages' handlers: load, call one pure function, store its decision. A form answers with the way to a page.

use super::acting::{act, show, write};
use super::forms::Fields;
use super::said::{Outcome, Said};
use super::visitor::{Scribe, Visitor};
use super::{
    Asked, Notice, access, acts, away, board, boards, check_record, cold, day, decisions, devices, enrol, history,
    inspect, item, known, label, label_check, labels, new_item, notices, people, plan, problem, procedure, publish,
    racking, recall, record, root_of, rounds, rules, scanning, session, set_up, shop, signal, tagging, taps, tying,
    wall, working,
};
use crate::items::Tied;
use crate::ledger::Id;
use crate::web::auth::{Reads, who};
use crate::web::service::{FIRST_SITE, Fault, Look, Service};
use crate::web::show::Show;
use crate::web::{assets, language};
use askama::Template;
use axum::Router;
use axum::extract::{Form, Path, Query, Request, State};
use axum::handler::Handler;
use axum::http::{StatusCode, Uri, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::MethodRouter;
use serde::Deserialize;
use std::pin::Pin;
use std::sync::Arc;

/// One line a route: its address, its methods with who answers them. [`ROUTES`] says the same to whoever asks.
macro_rules! routes {
    ($($path:literal $($method:ident $handler:expr),+;)+) => {
        /// Every page's address and methods, for whoever has to know them all.
        pub const ROUTES: &[(&str, &str)] = &[$($((stringify!($method), $path)),+),+];

        /// Every page and the files they need.
        pub fn routes() -> Router<Service> {
            Router::new()$(.route($path, MethodRouter::new()$(.$method(OneType::of($handler)))+))+
        }
    };
}

type Answer = Pin<Box<dyn Future<Output = Response> + Send>>;

/// Any handler behind one type. What axum puts around a handler is compiled anew for each type of handler, and there are so
/// many pages that this took a seventh of compiling the crate.
#[derive(Clone)]
struct OneType(Arc<dyn Fn(Request, Service) -> Answer + Send + Sync>);

impl OneType {
    fn of<T, H: Handler<T, Service, Future = Answer> + Sync>(handler: H) -> OneType {
        OneType(Arc::new(move |request, service| handler.clone().call(request, service)))
    }
}

impl Handler<(), Service> for OneType {
    type Future = Answer;

    fn call(self, request: Request, service: Service) -> Answer {
        (self.0)(request, service)
    }
}

routes! {
    "/" get home;
    "/sign-in" get session::show, post session::enter;
    "/sign-out" post session::leave;
    "/language" post language::choose;
    "/set-up" get set_up::show, post set_up::step;
    "/enrol" get enrol::show, post enrol::enter;
    "/inspect" get inspect::enter, post inspect::let_in;
    "/s/{site}" get slash;
    "/boards" get boards::show;
    "/boards/stream" get boards::stream;
    "/s/{site}/" get board::show;
    "/s/{site}/fragment" get board::fragment;
    "/s/{site}/wall" get wall::show;
    "/s/{site}/day" get day::show;
    "/s/{site}/record" get record::show;
    "/s/{site}/record.pdf" get record::pdf;
    "/s/{site}/new" get show_new, post begin;
    "/s/{site}/items/{item}" get show_item;
    "/s/{site}/items/{item}/{what}" get show, post act;
    "/s/{site}/items/{item}/label" get label::show;
    "/s/{site}/items/{item}/label.pdf" get labels::one;
    "/s/{site}/labels" get labels::choose;
    "/s/{site}/labels.pdf" get labels::several;
    "/s/{site}/racks/{rack}/labels.pdf" get labels::rack;
    "/s/{site}/sheets/{sheet}/tags.pdf" get labels::tags;
    "/s/{site}/items/{item}/known" post known::say;
    "/s/{site}/items/{item}/come-back" post working::plan;
    "/s/{site}/items/{item}/label-check" get label_check::show;
    "/s/{site}/people" get people::show, post people::add;
    "/s/{site}/people/{person}/{what}" post people::change;
    "/s/{site}/shop" get shop::show;
    "/s/{site}/shop/{what}" post shop::change;
    "/s/{site}/another" get set_up::begin, post set_up::go_on;
    "/s/{site}/devices" get devices::show, post devices::add;
    "/s/{site}/devices/{device}/{what}" post devices::change;
    "/s/{site}/check-record" get check_record::show, post check_record::check;
    "/s/{site}/inspect" get inspect::show;
    "/s/{site}/inspect/find" get inspect::find;
    "/s/{site}/access" get access::show, post access::make;
    "/s/{site}/access/{access}/revoke" post access::revoke;
    "/s/{site}/decisions" get decisions::show, post decisions::decide;
    "/s/{site}/review" get decisions::review::show, post decisions::review::sign;
    "/s/{site}/cold" get cold::show;
    "/s/{site}/cold/cut" get cold::ask;
    "/s/{site}/cold/lapse" post cold::lapse;
    "/s/{site}/cold/restore" post cold::restore;
    "/s/{site}/cold/dismiss" post cold::dismiss;
    "/s/{site}/places/{place}" get cold::place::show, post cold::place::set;
    "/s/{site}/probes" get cold::probes::show, post cold::probes::add;
    "/s/{site}/probes/{probe}/revoke" post cold::probes::revoke;
    "/s/{site}/round" get rounds::choose;
    "/s/{site}/round/{place}" get rounds::show, post rounds::seen;
    "/s/{site}/items/{item}/hand-over" get away::hand::show, post away::hand::over;
    "/s/{site}/items/{item}/card" get away::card::show;
    "/s/{site}/away" get away::show;
    "/s/{site}/away/{link}/revoke" post away::revoke;
    "/h/{code}" get away::venue::show, post away::venue::say;
    "/s/{site}/history" get history::show;
    "/s/{site}/recall" get recall::show;
    "/s/{site}/recall.csv" get recall::file;
    "/s/{site}/publish" get publish::show, post publish::put;
    "/s/{site}/notices" get notices::show, post notices::add;
    "/s/{site}/notices/{target}/{what}" post notices::act;
    "/s/{site}/rules" get rules::show;
    "/s/{site}/rules/own" get rules::own;
    "/s/{site}/rules/{what}" post rules::act;
    "/s/{site}/ahead" get plan::ahead::show;
    "/s/{site}/plan" get plan::order::show_new, post plan::order::keep;
    "/s/{site}/orders/{order}" get plan::order::show;
    "/s/{site}/orders/{order}/{what}" post plan::order::act;
    "/t/{tag}" get tagging::open;
    "/s/{site}/scan" get scanning::scan;
    "/s/{site}/tags" get tagging::sheets, post tagging::make;
    "/s/{site}/tags/{tag}" get tagging::show;
    "/s/{site}/tags/{tag}/{what}" post tagging::change;
    "/s/{site}/sheets/{sheet}" get tagging::sheet;
    "/s/{site}/items/{item}/tag" get tying::show_item, post tying::tie_item;
    "/s/{site}/racks" get racking::list, post racking::make;
    "/s/{site}/racks/{rack}" get racking::show;
    "/s/{site}/racks/{rack}/{what}" post racking::act;
    "/s/{site}/procedure" get procedure::show;
    "/s/{site}/procedure.pdf" get procedure::pdf::show;
    "/s/{site}/procedure/edit" get procedure::edit::show, post procedure::edit::save;
    "/s/{site}/procedure/draft" get procedure::edit::draft;
    "/s/{site}/procedure/approve" post procedure::edit::approve;
    "/s/{site}/procedure/versions" get procedure::versions::list;
    "/s/{site}/procedure/compare" get procedure::versions::compare;
    "/s/{site}/procedure/read" get procedure::read::show, post procedure::read::note;
    "/s/{site}/procedure/{version}" get procedure::version;
    "/s/{site}/no-signal" get signal::show;
    "/s/{site}/kept" get signal::kept;
    "/s/{site}/taps" get taps::clock, post taps::take;
    "/s/{site}/taps/{tap}" get taps::show;
    "/worker.js" get signal::worker;
    "/static/{file}" get assets::serve;
}

/// Which item, and what is done to it.
#[derive(Deserialize)]
pub(super) struct At {
    pub item: String,
    #[serde(default)]
    pub what: String,
}

pub(super) const NO_ITEM: Fault = Fault::NotFound("item");

/// A board's address without its slash leads to the board.
async fn slash(uri: Uri) -> Redirect {
    Redirect::permanent(&format!("{}/", uri.path().rsplit('/').next().unwrap_or_default()))
}

/// A page as an answer; it is about the shop's food and stays out of every cache.
pub fn html(status: StatusCode, page: &impl Template) -> Response {
    markup(status, page.render().unwrap_or_default())
}

pub(super) fn markup(status: StatusCode, text: String) -> Response {
    let head = [(header::CONTENT_TYPE, "text/html; charset=utf-8"), (header::CACHE_CONTROL, "no-store")];
    (status, head, text).into_response()
}

/// Makes a double tap harmless: 32 hex digits. Without randomness a page still works: a repeat is then told by its own words.
pub fn new_key() -> String {
    let mut bytes = [0_u8; 16];
    match getrandom::fill(&mut bytes) {
        Ok(()) => hex::encode(bytes),
        Err(_) => String::new(),
    }
}

/// What a page of the shop is asked with.
pub(super) async fn asked<'a>(reads: &'a Reads, root: &'a str, key: &'a str, notice: Option<Notice>) -> Asked<'a> {
    let names = reads.names().await;
    Asked { site: &reads.site, root, viewer: Some(&reads.actor), key, notice, names, several: reads.several }
}

async fn home(State(service): State<Service>, request: Request) -> Redirect {
    let (parts, _) = request.into_parts();
    match who(&parts, &service).await {
        Ok(actors) => {
            if let Some(site) = actors.iter().filter(|a| a.access.is_some()).find_map(|a| a.site.as_deref()) {
                return Redirect::to(&format!("s/{site}/inspect"));
            }
            let first = actors.into_iter().find_map(|a| a.site).or_else(|| service.sites().into_iter().next());
            Redirect::to(&format!("s/{}/", first.as_deref().unwrap_or(FIRST_SITE)))
        }
        Err(_) => Redirect::to("sign-in"),
    }
}

async fn show_item(Visitor(reads): Visitor, Path(at): Path<At>, uri: Uri, Query(said): Query<Said>) -> Response {
    let Some(id) = Id::new(&at.item) else { return problem::answer(uri.path(), &reads.site, &NO_ITEM) };
    match reads.look(std::slice::from_ref(&id)).await {
        Ok(look) => {
            let notice = said.notice(&look.state, Show::of(&look.state, look.now));
            item_page(&look, &reads, &id, uri.path(), StatusCode::OK, notice).await
        }
        Err(fault) => problem::answer(uri.path(), &reads.site, &fault),
    }
}

pub(super) async fn item_page(
    look: &Look,
    reads: &Reads,
    id: &Id,
    path: &str,
    status: StatusCode,
    notice: Option<Notice>,
) -> Response {
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    // No page waits for a hint.
    let planned = reads.service().come_backs(&reads.site).await.unwrap_or_default();
    match item::build(&look.state, look.now, id, &planned, &asked) {
        Some(page) => html(status, &page),
        None => problem::answer(path, &reads.site, &NO_ITEM),
    }
}

async fn show_new(Visitor(reads): Visitor, uri: Uri, Query(fields): Query<Vec<(String, String)>>) -> Response {
    match reads.look(&[]).await {
        Ok(look) => new_page(&look, &reads, uri.path(), (StatusCode::OK, None), &Fields(fields)).await,
        Err(fault) => problem::answer(uri.path(), &reads.site, &fault),
    }
}

async fn new_page(
    look: &Look,
    reads: &Reads,
    path: &str,
    (status, notice): (StatusCode, Option<Notice>),
    fields: &Fields,
) -> Response {
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    html(status, &new_item::build(&look.state, look.now, fields, &asked))
}

async fn begin(Scribe(writes): Scribe, uri: Uri, Form(fields): Form<Vec<(String, String)>>) -> Response {
    let (fields, reads, path) = (Fields(fields), writes.reads(), uri.path());
    let (look, tag) = match (reads.look(&[]).await, tagging::named(reads, &fields).await) {
        (Ok(look), Ok(tag)) => (look, tag),
        (Err(fault), _) | (_, Err(fault)) => return problem::answer(path, &reads.site, &fault),
    };
    let entry = acts::new_item(&fields, &look.state, Show::of(&look.state, look.now));
    match write(&writes, entry.map(|e| vec![e]).map_err(Fault::Refused), fields.key("new")).await {
        Ok(written) => {
            let first = Outcome::of(&written);
            if let (Some(tag), Some(id)) = (tag, Id::new(&first.item)) {
                let tied = tying::tie(&writes, &tag, &Tied::Item(id), &fields, path).await;
                match tied {
                    Ok(None) => {}
                    Ok(Some(asks)) => return asks,
                    Err(fault) => return problem::answer(path, &reads.site, &fault),
                }
            }
            let query = first.query("new", &first.item);
            let to = format!("{}s/{}/items/{}?{query}", root_of(path), reads.site, first.item);
            Redirect::to(&to).into_response()
        }
        Err(fault) => {
            let (status, notice) = refused(&fault, &look);
            new_page(&look, reads, path, (status, Some(notice)), &fields).await
        }
    }
}

/// What is said on a page of the shop that a form was refused on.
pub(super) fn refused(fault: &Fault, look: &Look) -> (StatusCode, Notice) {
    let (status, mut text, mut next) = problem::words(fault);
    if let Fault::Refused(r) = fault {
        let said = problem::refusal(r, Some((&look.state, Show::of(&look.state, look.now))));
        (text, next) = (said.0, said.1.to_owned());
    }
    (status, Notice { bad: true, text, next, ..Notice::default() })
}
