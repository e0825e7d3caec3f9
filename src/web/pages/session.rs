//! Signing in with a token, and out: the token itself travels in a cookie that no script can read.

use super::{Asked, sign_in};
use crate::web::auth::{COOKIE, HOST_COOKIE};
use crate::web::service::Service;
use axum::extract::{Form, Query, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use axum_extra::extract::CookieJar;
use axum_extra::extract::cookie::{Cookie, SameSite};
use serde::Deserialize;

/// How long a sign-in lasts, hours.
const HOURS: i64 = 12;

/// What the sign-in page is asked with, or sent.
#[derive(Deserialize)]
pub struct Asks {
    token: Option<String>,
    #[serde(default)]
    next: String,
}

/// The page. The demo's printed address brings its token along and signs in at once.
pub async fn show(
    State(service): State<Service>,
    jar: CookieJar,
    headers: HeaderMap,
    Query(q): Query<Asks>,
) -> Response {
    match &q.token {
        Some(_) if service.signs_in_by_address() => sign_in_with(&service, jar, &headers, &q).await,
        _ => page(StatusCode::OK, false, &q.next),
    }
}

/// Signs in.
pub async fn enter(
    State(service): State<Service>,
    jar: CookieJar,
    headers: HeaderMap,
    Form(q): Form<Asks>,
) -> Response {
    sign_in_with(&service, jar, &headers, &q).await
}

/// Signs out of this browser.
pub async fn leave(jar: CookieJar) -> Response {
    let gone = |name| Cookie::build((name, "")).path("/").build();
    (jar.remove(gone(COOKIE)).remove(gone(HOST_COOKIE)), Redirect::to("sign-in")).into_response()
}

fn page(status: StatusCode, refused: bool, next: &str) -> Response {
    let asked = Asked { root: "./", ..Asked::default() };
    super::handlers::html(status, &sign_in::build(&asked, refused, next))
}

async fn sign_in_with(service: &Service, jar: CookieJar, headers: &HeaderMap, q: &Asks) -> Response {
    let token = q.token.as_deref().unwrap_or("").trim();
    match service.who(token).await {
        Ok(Some(_)) => {}
        Ok(None) => return page(StatusCode::UNAUTHORIZED, true, &q.next),
        Err(fault) => return super::problem::answer("/sign-in", "", &fault),
    }
    // Behind a proxy that speaks TLS the browser says so itself; only then may the cookie ask for it.
    let secure = headers.get("origin").and_then(|o| o.to_str().ok()).is_some_and(|o| o.starts_with("https://"));
    let cookie = Cookie::build((if secure { HOST_COOKIE } else { COOKIE }, token.to_owned()))
        .path("/")
        .http_only(true)
        .secure(secure)
        .same_site(SameSite::Lax)
        .max_age(time::Duration::hours(HOURS));
    let next = if sign_in::leads_to_a_shop(&q.next) { q.next.as_str() } else { "./" };
    (jar.add(cookie), Redirect::to(next)).into_response()
}
