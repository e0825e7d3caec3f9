//! Signing in, by PIN or name on an enrolled device, by password or by token, and out. What the cookie carries no
//! script can read.

use super::sign_in::{Face, Kind};
use super::{Asked, Notice, Shell, problem, sign_in};
use crate::lang;
use crate::ledger::Id;
use crate::people::devices::Device;
use crate::people::limits::ABSOLUTE_MS;
use crate::people::secret;
use crate::people::{Names, Role};
use crate::web::auth::{COOKIE, DEVICE_COOKIE, HOST_COOKIE, HOST_DEVICE_COOKIE, Peer, device_of, sign_in_of};
use crate::web::language;
use crate::web::people::SignIn;
use crate::web::service::{Fault, Service};
use crate::web::show::Show;
use axum::extract::{Form, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum_extra::extract::CookieJar;
use axum_extra::extract::cookie::{Cookie, SameSite};
use serde::Deserialize;

/// How long a browser remembers that it is enrolled: as long as browsers remember anything.
const DEVICE_DAYS: i64 = 400;

/// What the sign-in page is asked with, or sent.
#[derive(Deserialize, Default)]
pub struct Asks {
    token: Option<String>,
    person: Option<String>,
    pin: Option<String>,
    name: Option<String>,
    password: Option<String>,
    with: Option<String>,
    #[serde(default)]
    next: String,
}

/// The browser that asks.
pub struct Browser {
    jar: CookieJar,
    /// Behind a proxy that speaks TLS the browser says so itself; only then may a cookie ask for it.
    secure: bool,
}

impl Browser {
    /// From its cookies and headers.
    pub fn new(jar: CookieJar, headers: &HeaderMap) -> Browser {
        let secure = headers.get("origin").and_then(|o| o.to_str().ok()).is_some_and(|o| o.starts_with("https://"));
        Browser { jar, secure }
    }

    fn keep(mut self, [host, plain]: [&'static str; 2], secret: &str, age: time::Duration) -> Browser {
        let cookie = Cookie::build((if self.secure { host } else { plain }, secret.to_owned()));
        let cookie = cookie.path("/").http_only(true).secure(self.secure).same_site(SameSite::Lax).max_age(age);
        self.jar = self.jar.add(cookie);
        self
    }

    /// Signed in by that from now on.
    pub fn signed_in(self, secret: &str) -> Browser {
        self.keep([HOST_COOKIE, COOKIE], secret, time::Duration::milliseconds(ABSOLUTE_MS))
    }

    /// Let in by that for so long, milliseconds.
    pub fn let_in(self, secret: &str, for_ms: i64) -> Browser {
        self.keep([HOST_COOKIE, COOKIE], secret, time::Duration::milliseconds(for_ms))
    }

    /// Enrolled by that from now on.
    pub fn enrolled(self, secret: &str) -> Browser {
        self.keep([HOST_DEVICE_COOKIE, DEVICE_COOKIE], secret, time::Duration::days(DEVICE_DAYS))
    }

    /// In the language of whoever has just signed in by that.
    async fn speaks(self, service: &Service, secret: &str) -> Browser {
        Browser { jar: language::signed_in(service, secret, self.jar).await, ..self }
    }

    /// In the language of the link that lets it in.
    pub fn speaks_like(self, tag: &str) -> Browser {
        Browser { jar: language::let_in(self.jar, tag), ..self }
    }

    /// On to an address.
    pub fn goes(self, to: &str) -> Response {
        (self.jar, Redirect::to(to)).into_response()
    }
}

/// The page. The demo's printed address brings its token along and signs in at once.
pub async fn show(
    State(service): State<Service>,
    jar: CookieJar,
    headers: HeaderMap,
    Query(q): Query<Asks>,
) -> Response {
    if q.token.is_some() && service.signs_in_by_address() {
        return by_demo(&service, jar, &headers, &q).await;
    }
    page(&service, &jar, &q, StatusCode::OK, None).await
}

/// Signs in.
pub async fn enter(
    State(service): State<Service>,
    Peer(peer): Peer,
    jar: CookieJar,
    headers: HeaderMap,
    Form(q): Form<Asks>,
) -> Response {
    let browser = Browser::new(jar.clone(), &headers);
    if q.token.is_some() {
        return by_token(&service, browser, &q).await;
    }
    let device = match device_of(&jar, &service).await {
        Ok(device) => device,
        Err(fault) => return problem::answer("/sign-in", "", &fault),
    };
    let person = q.person.as_deref().and_then(Id::new);
    let done = match (&device, &person) {
        (Some(device), Some(person)) => by_pin(&service, device, person, &q).await,
        (None, Some(_)) => {
            let text = lang::sign_in_not_enrolled();
            return page(&service, &jar, &q, StatusCode::FORBIDDEN, Some((text.to_owned(), String::new()))).await;
        }
        (device, None) => {
            let by = (q.name.as_deref().unwrap_or(""), q.password.as_deref().unwrap_or(""));
            service.sign_in_password(by, device.as_ref(), peer).await.map(Some)
        }
    };
    let wrong = |text: &str, next: &str| Some((text.to_owned(), next.to_owned()));
    match done {
        Ok(Some(SignIn::In(secret))) => {
            // Whoever was signed in before isn't any more, wherever else that cookie may be.
            if let Some(before) = sign_in_of(&jar)
                && let Err(fault) = service.end_sign_in(&before).await
            {
                return problem::answer("/sign-in", "", &fault);
            }
            let to = to_read(&service, &secret, device.as_ref(), &q).await;
            let browser = browser.signed_in(&secret).speaks(&service, &secret).await;
            browser.goes(to.as_deref().unwrap_or(on(&q)))
        }
        Ok(Some(SignIn::Wrong)) if person.is_some() => {
            let said = wrong(lang::pin_wrong(), lang::pin_wrong_next());
            page(&service, &jar, &q, StatusCode::UNAUTHORIZED, said).await
        }
        Ok(Some(SignIn::Wrong)) => {
            let said = wrong(lang::password_wrong(), lang::password_wrong_next());
            page(&service, &jar, &q, StatusCode::UNAUTHORIZED, said).await
        }
        Ok(Some(SignIn::Locked(until))) => {
            let show = shop_of(&service, device.as_ref()).await.map(|(show, _)| show);
            let text = lang::sign_in_locked(&show.map_or_else(|| until.to_string(), |s| s.clock(until)));
            let said = wrong(&text, lang::sign_in_locked_next());
            let wait_s = (until.since(service.now()) + 999) / 1_000;
            let answer = page(&service, &jar, &q, StatusCode::TOO_MANY_REQUESTS, said).await;
            ([(header::RETRY_AFTER, wait_s.to_string())], answer).into_response()
        }
        // The PIN is to be given: where it wasn't, that is no mistake.
        Ok(None) if q.pin.is_none() => {
            let person = person.map_or_else(String::new, |p| p.to_string());
            let next = if sign_in::leads_to_a_shop(&q.next) { &q.next } else { "" };
            Redirect::to(&format!("sign-in?person={person}&next={next}")).into_response()
        }
        Ok(None) => {
            let said = wrong(lang::pin_shape(), lang::pin_shape_next());
            page(&service, &jar, &q, StatusCode::BAD_REQUEST, said).await
        }
        Err(fault) => problem::answer("/sign-in", "", &fault),
    }
}

/// By PIN, or by name where that will do; `None` if what was sent can't be a PIN.
async fn by_pin(service: &Service, device: &Device, person: &Id, q: &Asks) -> Result<Option<SignIn>, Fault> {
    let Some(pin) = &q.pin else {
        return Ok(service.sign_in_name(device, person).await?.map(SignIn::In));
    };
    let pin = pin.trim();
    if secret::pin(pin) == Err(secret::Unfit::PinShape) {
        return Ok(None);
    }
    service.sign_in_pin(device, person, pin).await.map(Some)
}

/// Signs out of this browser.
pub async fn leave(State(service): State<Service>, jar: CookieJar) -> Response {
    if let Some(secret) = sign_in_of(&jar)
        && let Err(fault) = service.sign_out(&secret).await
    {
        return problem::answer("/sign-out", "", &fault);
    }
    // A browser lets go of what has that prefix only where it is told so securely.
    let gone = |name: &'static str| Cookie::build((name, "")).path("/").secure(name == HOST_COOKIE).build();
    (language::left(jar).remove(gone(COOKIE)).remove(gone(HOST_COOKIE)), Redirect::to("sign-in")).into_response()
}

/// Where a sign-in goes on to.
fn on(q: &Asks) -> &str {
    if sign_in::leads_to_a_shop(&q.next) { &q.next } else { "./" }
}

/// Whoever hasn't read the written procedure that is in force comes by it on the way. It keeps nobody from signing in.
async fn to_read(service: &Service, secret: &str, device: Option<&Device>, q: &Asks) -> Option<String> {
    let unread = service.unread(secret, device.map(|d| d.site.as_str())).await;
    let (site, _) = unread.unwrap_or_default()?;
    // What would have to be escaped isn't gone back to.
    let plain = |c: u8| c.is_ascii_alphanumeric() || matches!(c, b'.' | b'_' | b'-' | b'/');
    let next = if q.next.bytes().all(plain) { on(q) } else { "" };
    Some(format!("s/{site}/procedure/read?next={next}"))
}

/// How the shop reads times, and its name: the device's, or the first there is.
async fn shop_of(service: &Service, device: Option<&Device>) -> Option<(Show, Shell)> {
    let first = service.sites().into_iter().next();
    let site = device.map(|d| d.site.clone()).or(first)?;
    let look = service.look(&site, &[]).await.ok()?;
    let asked = Asked { root: "./", ..Asked::default() };
    let shell = Shell { as_of: String::new(), ..Shell::of(&look.state, look.now, &asked) };
    Some((Show::of(&look.state, look.now), shell))
}

/// The page: for an enrolled device the names of who works there or one's keys, else name and password.
async fn page(
    service: &Service,
    jar: &CookieJar,
    q: &Asks,
    status: StatusCode,
    refused: Option<(String, String)>,
) -> Response {
    let found = match device_of(jar, service).await {
        Ok(Some(device)) => service.faces(&device).await.map(|faces| Some((device, faces))),
        Ok(None) => Ok(None),
        Err(fault) => Err(fault),
    };
    let found = match found {
        Ok(found) => found,
        Err(fault) => return problem::answer("/sign-in", "", &fault),
    };
    let asked = Asked { root: "./", ..Asked::default() };
    let mut shell = Shell::bare(&asked);
    shell.notice = refused.map(|(text, next)| Notice { bad: true, text, next, ..Notice::default() });
    let kind = match found {
        Some((device, faces)) if q.with.is_none() && q.name.is_none() => {
            let shop = shop_of(service, Some(&device)).await;
            if let Some((_, around)) = &shop {
                shell.shop = around.shop.clone();
            }
            let until = |at| shop.as_ref().map_or_else(String::new, |(show, _)| show.clock(at));
            let face = |f: crate::web::people::Face| Face {
                name: Names::isolated(&f.name),
                by_name: f.by_name_until.map(until),
                person: f.person,
            };
            let mut faces: Vec<Face> = faces.into_iter().map(face).collect();
            let asked_for = q.person.as_deref().and_then(|p| faces.iter().position(|f| f.person.as_str() == p));
            match asked_for {
                Some(at) => Kind::Pin(faces.swap_remove(at)),
                None => Kind::Names { device: Names::isolated(&device.name), faces },
            }
        }
        found => Kind::Password { on_device: found.is_some(), name: q.name.clone().unwrap_or_default() },
    };
    super::handlers::html(status, &sign_in::build(shell, kind, &q.next))
}

/// The demo's browser becomes a device of its shop too, so that its people can take turns on it.
async fn by_demo(service: &Service, jar: CookieJar, headers: &HeaderMap, q: &Asks) -> Response {
    let known = service.who(q.token.as_deref().unwrap_or("").trim(), true).await.unwrap_or_default();
    // Another's token signs in as what it is.
    let manager = known.iter().any(|a| a.role == Role::Manager);
    let Some(site) = service.sites().into_iter().next().filter(|_| manager) else {
        return by_token(service, Browser::new(jar, headers), q).await;
    };
    let device = match device_of(&jar, service).await {
        Ok(device) => device,
        Err(fault) => return problem::answer("/sign-in", "", &fault),
    };
    let mut browser = Browser::new(jar, headers);
    match service.demo_browser(&site, device).await {
        Ok((device, signed_in)) => {
            if let Some(secret) = device {
                browser = browser.enrolled(&secret);
            }
            match signed_in {
                Some(secret) => browser.signed_in(&secret).speaks(service, &secret).await.goes(on(q)),
                None => by_token(service, browser, q).await,
            }
        }
        Err(fault) => problem::answer("/sign-in", "", &fault),
    }
}

async fn by_token(service: &Service, browser: Browser, q: &Asks) -> Response {
    let token = q.token.as_deref().unwrap_or("").trim();
    match service.who(token, true).await {
        Ok(actors) if !actors.is_empty() => browser.signed_in(token).speaks(service, token).await.goes(on(q)),
        Ok(_) => {
            let said = Some((lang::token_wrong().to_owned(), lang::token_wrong_next().to_owned()));
            let q = Asks { with: Some(String::from("password")), next: q.next.clone(), ..Asks::default() };
            page(service, &browser.jar, &q, StatusCode::UNAUTHORIZED, said).await
        }
        Err(fault) => problem::answer("/sign-in", "", &fault),
    }
}
