//! The first run: from an empty database to a shop with somebody who manages it. Nothing is written before the last
//! step; until then the pages carry what was said.

mod draft;
mod page;

pub use draft::{Draft, STEPS, Step};
pub use page::build;

use super::forms::Fields;
use super::handlers::html;
use super::session::Browser;
use super::{Asked, Notice, people, problem};
use crate::lang;
use crate::ledger::{self, From};
use crate::web::manages::Trouble;
use crate::web::service::{Fault, Service};
use axum::extract::{Form, Query, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use axum_extra::extract::CookieJar;
use serde::Deserialize;

/// The printed address brings the code along.
#[derive(Deserialize)]
pub struct Code {
    #[serde(default)]
    code: String,
}

/// The first step.
pub async fn show(State(service): State<Service>, Query(q): Query<Code>) -> Response {
    if !service.sets_up(&q.code) {
        return too_late();
    }
    let draft = Draft::new(Fields(vec![(String::from("code"), q.code)]), !service.is_empty());
    page(StatusCode::OK, &draft, STEPS[0], None)
}

/// A step was filled in: on to the next, or back with what is wrong; the last one makes it all.
pub async fn step(
    State(service): State<Service>,
    jar: CookieJar,
    headers: HeaderMap,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let draft = Draft::new(Fields(fields), !service.is_empty());
    if !service.sets_up(draft.code()) {
        return too_late();
    }
    let step = draft.step();
    if draft.goes_back() {
        return page(StatusCode::OK, &draft, step.before(), None);
    }
    let wrong = STEPS.into_iter().take_while(|s| *s <= step).find_map(|s| Some((s, draft.check(s).err()?)));
    if let Some((at, trouble)) = wrong {
        let (status, text, next) = words(&trouble);
        return page(status, &draft, at, Some(Notice { bad: true, text, next, ..Notice::default() }));
    }
    match step.after() {
        Some(next) => page(StatusCode::OK, &draft, next, None),
        None => match finish(&service, &draft).await {
            Ok(secret) => Browser::new(jar, &headers).signed_in(&secret).goes("./"),
            Err(trouble) => {
                let (status, text, next) = words(&trouble);
                page(status, &draft, step, Some(Notice { bad: true, text, next, ..Notice::default() }))
            }
        },
    }
}

/// Why a step isn't done.
pub enum Wrong {
    /// A sentence, and what to do next.
    Said(String, &'static str),
    /// A name or a password.
    Person(Trouble),
}

fn words(wrong: &Wrong) -> (StatusCode, String, String) {
    match wrong {
        Wrong::Said(text, next) => (StatusCode::BAD_REQUEST, text.clone(), (*next).to_owned()),
        Wrong::Person(trouble) => people::words(trouble),
    }
}

/// Makes the shop, what belongs to it, and its manager; what the cookie is to carry.
async fn finish(service: &Service, draft: &Draft) -> Result<String, Wrong> {
    let fault = |f: Fault| Wrong::Person(Trouble::Fault(f));
    let parse = |e: &serde_json::Value| ledger::parse(&e.to_string(), From::Caller);
    let entries: Result<Vec<_>, _> = draft.entries().iter().map(parse).collect();
    let entries = entries.map_err(|r| fault(Fault::Refused(r)))?;
    let (name, password) = draft.manager().map_err(Wrong::Person)?;
    service.set_up(&draft.site(), entries, (&name, &password)).await.map_err(fault)
}

fn page(status: StatusCode, draft: &Draft, step: Step, notice: Option<Notice>) -> Response {
    let asked = Asked { root: "./", notice, ..Asked::default() };
    html(status, &build(&asked, draft, step))
}

fn too_late() -> Response {
    let asked = Asked { root: "./", ..Asked::default() };
    let page = problem::build(&asked, lang::set_up_over(), lang::set_up_over_next(), false);
    html(StatusCode::GONE, &page)
}
