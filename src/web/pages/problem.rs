//! The page for what went wrong: a plain sentence and a way on.

use super::{Asked, Shell, root_of};
use crate::lang;
use crate::web::service::Fault;
use askama::Template;
use axum::http::StatusCode;
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
            let status = StatusCode::from_u16(r.code.status).unwrap_or(StatusCode::CONFLICT);
            (status, format!("{} {}", r.code.title, r.detail), r.code.next.to_owned())
        }
        Fault::NotFound(_) => own(StatusCode::NOT_FOUND, lang::fault_not_found(), lang::fault_not_found_next()),
        Fault::Forbidden => own(StatusCode::FORBIDDEN, lang::fault_forbidden(), lang::fault_forbidden_next()),
        Fault::Busy => own(StatusCode::SERVICE_UNAVAILABLE, lang::fault_busy(), lang::fault_busy_next()),
        Fault::NotRecorded => {
            own(StatusCode::SERVICE_UNAVAILABLE, lang::fault_not_recorded(), lang::fault_not_recorded_next())
        }
        Fault::UnknownOutcome => {
            own(StatusCode::SERVICE_UNAVAILABLE, lang::fault_unknown(), lang::fault_unknown_next())
        }
        Fault::KeyReused => own(StatusCode::UNPROCESSABLE_ENTITY, lang::fault_key(), lang::fault_key_next()),
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

/// The page for a problem that the API would answer as a document.
pub fn page(path: &str, p: &crate::web::error::Problem) -> Response {
    let root = root_of(path);
    let asked = Asked { root: &root, ..Asked::default() };
    let status = StatusCode::from_u16(p.status).unwrap_or(StatusCode::SERVICE_UNAVAILABLE);
    super::handlers::html(status, &build(&asked, &p.detail, p.next, false))
}
