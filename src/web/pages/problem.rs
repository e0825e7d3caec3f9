//! The page for what went wrong: a plain sentence and a way on.

use super::{Asked, Shell, name_of, root_of};
use crate::lang::{self, Lang};
use crate::ledger::State;
use crate::ledger::refusal::{Refusal, Told};
use crate::web::service::Fault;
use crate::web::show::Show;
use askama::Template;
use axum::extract::Request;
use axum::http::{StatusCode, header};
use axum::middleware::Next;
use axum::response::Response;

/// The page.
#[derive(Template)]
#[template(path = "problem.html")]
pub struct Problem {
    shell: Shell,
    title: String,
    next: String,
    sign_in: bool,
}

/// Builds it from its two sentences.
pub fn build(asked: &Asked, title: &str, next: &str, sign_in: bool) -> Problem {
    Problem { shell: Shell::bare(asked), title: title.to_owned(), next: next.to_owned(), sign_in }
}

/// Status, sentence and next step of a fault.
pub fn words(fault: &Fault) -> (StatusCode, String, String) {
    let own = |status, title: &str, next: &str| (status, title.to_owned(), next.to_owned());
    match fault {
        Fault::Refused(r) => {
            let (text, next) = refusal(r, None);
            (StatusCode::from_u16(r.code.status).unwrap_or(StatusCode::CONFLICT), text, next.to_owned())
        }
        Fault::NotFound(_) => own(StatusCode::NOT_FOUND, lang::fault_not_found(), lang::fault_not_found_next()),
        Fault::Forbidden => own(StatusCode::FORBIDDEN, lang::fault_forbidden(), lang::fault_forbidden_next()),
        Fault::Busy => own(StatusCode::SERVICE_UNAVAILABLE, lang::fault_busy(), lang::fault_busy_next()),
        Fault::NotRecorded => {
            own(StatusCode::SERVICE_UNAVAILABLE, lang::fault_not_recorded(), lang::fault_not_recorded_next())
        }
        Fault::Broken(at) => {
            let said = lang::fault_broken(at);
            (StatusCode::SERVICE_UNAVAILABLE, said, lang::fault_broken_next().to_owned())
        }
        Fault::UnknownOutcome => {
            own(StatusCode::SERVICE_UNAVAILABLE, lang::fault_unknown(), lang::fault_unknown_next())
        }
        Fault::KeyReused => own(StatusCode::UNPROCESSABLE_ENTITY, lang::fault_key(), lang::fault_key_next()),
    }
}

/// What a refusal says to a person, with names and times where the ledger is at hand, and what to do next.
pub fn refusal(r: &Refusal, within: Option<(&State, Show)>) -> (String, &'static str) {
    let title = (r.code.title)();
    let text = match (&r.told, within.and_then(|(state, show)| about_item(r, state, show))) {
        (Told::Words, _) => return (r.detail.clone(), ""),
        (_, Some(more)) => format!("{title} {more}"),
        // What a form can get wrong without a sentence of its own is how something is written: particulars for programs.
        (Told::Nothing, _) if r.code.status == 400 && lang::spoken() == Lang::En => format!("{title} {}", r.detail),
        _ => title.to_owned(),
    };
    (text, (r.code.next)())
}

/// What it says of an item, by its name.
pub fn about_item(r: &Refusal, state: &State, show: Show) -> Option<String> {
    match &r.told {
        Told::Since(id, at) => {
            let (name, time) = (name_of(state, id), show.clock(*at));
            Some(match r.code.code {
                "already-there" => lang::told_there(&name, &time),
                "before-beginning" | "parent-not-begun" => lang::told_begun(&name, &time),
                _ => lang::told_closed(&name, &time),
            })
        }
        Told::Left(id, n) => Some(lang::told_left(&n.to_string(), &name_of(state, id))),
        Told::Nothing | Told::Words => None,
    }
}

/// The whole answer for a fault at a path.
pub fn answer(path: &str, site: &str, fault: &Fault) -> Response {
    let (status, title, next) = words(fault);
    let root = root_of(path);
    let asked = Asked { root: &root, site, ..Asked::default() };
    super::handlers::html(status, &build(&asked, &title, &next, false))
}

/// The answer to somebody who isn't signed in.
pub fn not_signed_in(path: &str) -> Response {
    let root = root_of(path);
    let asked = Asked { root: &root, ..Asked::default() };
    let page = build(&asked, lang::fault_signed_out(), lang::fault_signed_out_next(), true);
    super::handlers::html(StatusCode::UNAUTHORIZED, &page)
}

/// What the framework says of an address or a form it cannot read is for programs: people get a page instead.
pub async fn unreadable(request: Request, next: Next) -> Response {
    let root = root_of(request.uri().path());
    let response = next.run(request).await;
    let status = response.status();
    let plain = response.headers().get(header::CONTENT_TYPE).is_some_and(|t| t.as_bytes().starts_with(b"text/plain"));
    if !(status.is_client_error() && plain) {
        return response;
    }
    let asked = Asked { root: &root, ..Asked::default() };
    let text = if status == StatusCode::PAYLOAD_TOO_LARGE { lang::fault_large() } else { lang::fault_unreadable() };
    super::handlers::html(status, &build(&asked, text, lang::fault_unreadable_next(), false))
}

/// The page for a problem that the API would answer as a document.
pub fn page(path: &str, p: &crate::web::error::Problem) -> Response {
    let root = root_of(path);
    let asked = Asked { root: &root, ..Asked::default() };
    let status = StatusCode::from_u16(p.status).unwrap_or(StatusCode::SERVICE_UNAVAILABLE);
    super::handlers::html(status, &build(&asked, &p.detail, (p.next)(), false))
}
