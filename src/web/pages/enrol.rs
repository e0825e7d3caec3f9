//! Enrolling a device: its code, once, from the address or typed.

use super::session::Browser;
use super::{Asked, Notice, Shell, problem};
use crate::lang;
use crate::people::codes;
use crate::web::auth::Peer;
use crate::web::people::Enrol as Done;
use crate::web::service::Service;
use askama::Template;
use axum::extract::{Form, Query, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use axum_extra::extract::CookieJar;
use serde::Deserialize;

/// The page.
#[derive(Template)]
#[template(path = "enrol.html")]
pub struct Enrol {
    shell: Shell,
    code: String,
}

/// The code, as it came.
#[derive(Deserialize)]
pub struct Asks {
    #[serde(default)]
    code: String,
}

/// Builds it with the code that was brought along.
pub fn build(asked: &Asked, code: &str) -> Enrol {
    Enrol { shell: Shell::bare(asked), code: codes::shown(&codes::meant(code)) }
}

/// The page. To open the address changes nothing: a program that looks at links would use the code up.
pub async fn show(Query(q): Query<Asks>) -> Response {
    page(StatusCode::OK, &q.code, None)
}

/// Enrols this browser.
pub async fn enter(
    State(service): State<Service>,
    Peer(peer): Peer,
    jar: CookieJar,
    headers: HeaderMap,
    Form(q): Form<Asks>,
) -> Response {
    match service.enrol(&q.code, peer).await {
        Ok(Done::Done(_, secret)) => Browser::new(jar, &headers).enrolled(&secret).goes("sign-in"),
        Ok(Done::Unknown) => {
            page(StatusCode::FORBIDDEN, &q.code, Some((lang::enrol_unknown(), lang::enrol_unknown_next())))
        }
        Ok(Done::Locked(_)) => {
            page(StatusCode::TOO_MANY_REQUESTS, &q.code, Some((lang::enrol_locked(), lang::enrol_locked_next())))
        }
        Err(fault) => problem::answer("/enrol", "", &fault),
    }
}

fn page(status: StatusCode, code: &str, refused: Option<(&str, &str)>) -> Response {
    let notice =
        refused.map(|(text, next)| Notice { bad: true, text: text.into(), next: next.into(), ..Notice::default() });
    let asked = Asked { root: "./", notice, ..Asked::default() };
    super::handlers::html(status, &build(&asked, code))
}
