//! Which language a page speaks: the one in its address (a paper's, chosen when it is made), else the one that whoever uses
//! this browser chose, else the one that the browser asks for. Programs with a token read English.

use super::auth::sign_in_of;
use super::service::{Fault, Service};
use crate::lang::{self, Lang};
use crate::people::persons;
use axum::extract::{Form, Request, State};
use axum::http::{HeaderMap, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use axum_extra::extract::CookieJar;
use axum_extra::extract::cookie::{Cookie, SameSite};
use serde::Deserialize;

/// The cookie that carries it. What a person chose has [`OWN`] behind it, and goes with them.
const COOKIE: &str = "counterclock-language";
const OWN: &str = ".own";
/// How long a browser remembers it: as long as browsers remember anything.
const DAYS: i64 = 400;

/// Says everything of a request in its language.
pub async fn around(request: Request, next: Next) -> Response {
    let lang = of(request.uri().query(), request.headers());
    lang::during(lang, next.run(request)).await
}

fn of(query: Option<&str>, headers: &HeaderMap) -> Lang {
    if headers.contains_key(header::AUTHORIZATION) {
        return Lang::En;
    }
    let asked = || query?.split('&').find_map(|p| Lang::named(p.strip_prefix("language=")?));
    let chosen = || chosen(&CookieJar::from_headers(headers)).map(|(lang, _)| lang);
    let liked = || Lang::liked(headers.get(header::ACCEPT_LANGUAGE)?.to_str().ok()?);
    asked().or_else(chosen).or_else(liked).unwrap_or(Lang::En)
}

/// What this browser's cookie says, and whether it is a person's own.
fn chosen(jar: &CookieJar) -> Option<(Lang, bool)> {
    let value = jar.get(COOKIE)?.value();
    let tag = value.strip_suffix(OWN);
    Some((Lang::named(tag.unwrap_or(value))?, tag.is_some()))
}

/// The browser with a language in it.
fn keep(jar: CookieJar, lang: Lang, own: bool) -> CookieJar {
    let value = format!("{}{}", lang.tag(), if own { OWN } else { "" });
    let cookie = Cookie::build((COOKIE, value)).path("/").http_only(true).same_site(SameSite::Lax);
    jar.add(cookie.max_age(time::Duration::days(DAYS)))
}

/// The browser of somebody who has just signed in: in their language, and no longer in that of whoever was before.
pub async fn signed_in(service: &Service, secret: &str, jar: CookieJar) -> CookieJar {
    match (service.language_of(secret).await, chosen(&jar)) {
        (Ok(Some(lang)), _) => keep(jar, lang, true),
        (_, Some((_, true))) => left(jar),
        _ => jar,
    }
}

/// The browser of somebody who was let in by a link that is in a language.
pub fn let_in(jar: CookieJar, tag: &str) -> CookieJar {
    match Lang::named(tag) {
        Some(lang) => keep(jar, lang, true),
        None => jar,
    }
}

/// The browser without the language of whoever leaves it.
pub fn left(jar: CookieJar) -> CookieJar {
    match chosen(&jar) {
        Some((_, true)) => jar.remove(Cookie::build((COOKIE, "")).path("/").build()),
        _ => jar,
    }
}

/// A language that was chosen.
#[derive(Deserialize)]
pub struct Choice {
    language: String,
}

/// Chooses it, and goes back to the page.
pub async fn choose(
    State(service): State<Service>,
    headers: HeaderMap,
    jar: CookieJar,
    Form(choice): Form<Choice>,
) -> Response {
    // Only a way on this server is gone back.
    let from = headers.get(header::REFERER).and_then(|r| r.to_str().ok());
    let back = from.and_then(|r| r.split_once("://")).and_then(|(_, rest)| rest.find('/').map(|at| &rest[at..]));
    let back = back.filter(|b| !b.starts_with("//") && !b.contains('\\')).unwrap_or("./");
    let Some(lang) = Lang::named(&choice.language) else { return Redirect::to(back).into_response() };
    let own = match sign_in_of(&jar) {
        Some(secret) => service.set_language(&secret, lang).await.unwrap_or(false),
        None => false,
    };
    (keep(jar, lang, own), Redirect::to(back)).into_response()
}

impl Service {
    /// The language that whoever is signed in by this chose, if they did.
    async fn language_of(&self, secret: &str) -> Result<Option<Lang>, Fault> {
        let Some(actor) = self.who(secret, false).await?.into_iter().next() else { return Ok(None) };
        let tag = persons::language(&mut self.db().reader().await?, actor.by.as_str()).await?;
        Ok(tag.and_then(|t| Lang::named(&t)))
    }

    /// Remembers it with the person who is signed in; `false` if that is no person but a token or a link.
    async fn set_language(&self, secret: &str, lang: Lang) -> Result<bool, Fault> {
        let Some(actor) = self.who(secret, false).await?.into_iter().next() else { return Ok(false) };
        Ok(persons::set_language(&mut self.db().writer().await?, actor.by.as_str(), lang.tag()).await?)
    }
}
