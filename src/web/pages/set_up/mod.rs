//! The first run: from an empty database to a shop with somebody who manages it. Nothing is written before the last
//! step; until then the pages carry what was said.

mod another;
mod draft;
mod page;

pub use another::{begin, go_on};
pub(super) use draft::id_of;
pub use draft::{Draft, STEPS, Step};
pub use page::build;
pub(super) use page::kinds;

use super::forms::Fields;
use super::handlers::html;
use super::session::Browser;
use super::{Asked, Notice, people, problem};
use crate::lang;
use crate::ledger::{self, From, Parsed};
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
    match next(&draft) {
        Some((status, step, notice)) => page(status, &draft, step, notice),
        None => match finish(&service, &draft).await {
            Ok(secret) => Browser::new(jar, &headers).signed_in(&secret).goes("./"),
            Err(trouble) => {
                let (status, notice) = bad(&trouble);
                page(status, &draft, draft.step(), Some(notice))
            }
        },
    }
}

/// The step to show next, on or back or again with what is wrong; none once all is said.
fn next(draft: &Draft) -> Option<(StatusCode, Step, Option<Notice>)> {
    let step = draft.step();
    if draft.goes_back() {
        return Some((StatusCode::OK, step.before(), None));
    }
    let said = draft.steps().iter().copied().take_while(|s| *s <= step);
    if let Some((at, trouble)) = said.into_iter().find_map(|s| Some((s, draft.check(s).err()?))) {
        let (status, notice) = bad(&trouble);
        return Some((status, at, Some(notice)));
    }
    draft.after(step).map(|next| (StatusCode::OK, next, None))
}

/// Why a step isn't done.
pub enum Wrong {
    /// A sentence, and what to do next.
    Said(String, &'static str),
    /// A name or a password.
    Person(Trouble),
}

fn bad(wrong: &Wrong) -> (StatusCode, Notice) {
    let (status, text, next) = match wrong {
        Wrong::Said(text, next) => (StatusCode::BAD_REQUEST, text.clone(), (*next).to_owned()),
        Wrong::Person(trouble) => people::words(trouble),
    };
    (status, Notice { bad: true, text, next, ..Notice::default() })
}

/// Makes the shop, what belongs to it, and its manager; what the cookie is to carry.
async fn finish(service: &Service, draft: &Draft) -> Result<String, Wrong> {
    let (name, password) = draft.manager().map_err(Wrong::Person)?;
    service.set_up(&draft.site(), entries(draft, false)?, (&name, &password)).await.map_err(fault)
}

fn fault(f: Fault) -> Wrong {
    Wrong::Person(Trouble::Fault(f))
}

/// What belongs to the shop, as the writer takes it; with its first entry where that isn't written by itself.
fn entries(draft: &Draft, first: bool) -> Result<Vec<Parsed>, Wrong> {
    let parse = |e: serde_json::Value| ledger::parse(&e.to_string(), From::Caller);
    first
        .then(|| draft.site())
        .into_iter()
        .chain(draft.entries())
        .map(parse)
        .collect::<Result<_, _>>()
        .map_err(|r| fault(Fault::Refused(r)))
}

fn page(status: StatusCode, draft: &Draft, step: Step, notice: Option<Notice>) -> Response {
    let asked = Asked { root: "./", notice, ..Asked::default() };
    html(status, &build(&asked, draft, step, "set-up"))
}

fn too_late() -> Response {
    let asked = Asked { root: "./", ..Asked::default() };
    let page = problem::build(&asked, lang::set_up_over(), lang::set_up_over_next(), false);
    html(StatusCode::GONE, &page)
}
