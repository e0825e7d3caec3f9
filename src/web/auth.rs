//! Who asks: extractors that hand a handler just what the role may use.

use super::error::Problem;
use super::proxies;
use super::service::{Fault, Look, Service, Written};
use crate::clock::Zone;
use crate::lang;
use crate::ledger::{Id, Parsed};
use crate::people::devices::Device;
use crate::people::{Access, Actor, Names, Role};
use axum::extract::{ConnectInfo, FromRequestParts, RawPathParams};
use axum::http::request::Parts;
use axum::http::{Extensions, HeaderMap, HeaderValue, Method, header};
use axum_extra::extract::CookieJar;
use std::convert::Infallible;
use std::net::{IpAddr, SocketAddr};

/// The cookie that carries a sign-in over plain http; over TLS it has the `__Host-` prefix.
pub const COOKIE: &str = "counterclock";
/// The same over TLS.
pub const HOST_COOKIE: &str = "__Host-counterclock";

/// The cookie of an enrolled device.
pub const DEVICE_COOKIE: &str = "counterclock-device";
/// The same over TLS.
pub const HOST_DEVICE_COOKIE: &str = "__Host-counterclock-device";

/// Somebody who may read a shop. Has no way to write.
pub struct Reads {
    service: Service,
    /// The shop.
    pub site: String,
    /// Who.
    pub actor: Actor,
    /// Whether other shops are theirs too.
    pub several: bool,
    /// What they showed, to be asked again where an answer goes on for long.
    secret: String,
}

/// Somebody who may write entries in a shop.
pub struct Writes {
    reads: Reads,
}

impl Reads {
    /// The shop as it stands; see [`Service::look`].
    pub async fn look(&self, items: &[Id]) -> Result<Look, Fault> {
        self.service.look(&self.site, items).await
    }

    /// The same with all of today's air.
    pub async fn look_round(&self, items: &[Id]) -> Result<Look, Fault> {
        let mut look = self.look(items).await?;
        let zone = look.state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
        let today = zone.day_starts(zone.day(look.now));
        self.service.air_since(&self.site, &mut look, today).await?;
        Ok(look)
    }

    /// The names of whoever wrote in the shop. Without them the ids do: no page waits for a name.
    pub async fn names(&self) -> Names {
        self.service.names(&self.site).await.unwrap_or_default()
    }

    /// Everything whoever asks may read, shop by shop in order of their ids.
    pub async fn all(parts: &Parts, service: &Service) -> Result<Vec<Reads>, Problem> {
        let (actors, secret) = (who(parts, service).await?, token(parts).unwrap_or_default());
        let mut all = Vec::new();
        for site in service.sites() {
            let here = actors.iter().find(|a| a.site.as_ref().is_none_or(|own| *own == site));
            if let Some(actor) = here.filter(|a| a.role != Role::Probe) {
                let (service, actor, secret) = (service.clone(), actor.clone(), secret.clone());
                all.push(Reads { service, site, actor, several: true, secret });
            }
        }
        if all.is_empty() { Err(Problem::of("not-allowed", "")) } else { Ok(all) }
    }

    /// Whether they still may: a sign-in ends, a token is revoked. Where that can't be asked, they may not.
    pub async fn still(&self) -> bool {
        let actors = self.service.who(&self.secret, false).await.unwrap_or_default();
        actors.iter().any(|a| a.role == self.actor.role && a.site.as_ref().is_none_or(|own| *own == self.site))
    }

    /// For reading beyond what is in memory.
    pub fn service(&self) -> &Service {
        &self.service
    }
}

impl Writes {
    /// Writes entries, all or none; see [`Service::write`].
    pub async fn write(&self, entries: Vec<Parsed>, key: Option<(String, String)>) -> Result<Written, Fault> {
        self.reads.service.write(&self.reads.site, &self.reads.actor, entries, key).await
    }

    /// What the same form was answered before; see [`Service::answered`].
    pub async fn answered(&self, look: &Look, key: &(String, String)) -> Option<Written> {
        self.reads.service.answered(look, &self.reads.site, &self.reads.actor, key).await
    }

    /// Who writes reads too.
    pub fn reads(&self) -> &Reads {
        &self.reads
    }
}

/// The first of two cookies that is there: that of TLS comes first.
fn cookie(jar: &CookieJar, names: [&str; 2]) -> Option<String> {
    names.iter().find_map(|name| jar.get(name)).map(|c| c.value().to_owned())
}

/// What a browser is signed in by.
pub fn sign_in_of(jar: &CookieJar) -> Option<String> {
    cookie(jar, [HOST_COOKIE, COOKIE])
}

/// The enrolled device that a browser is.
pub async fn device_of(jar: &CookieJar, service: &Service) -> Result<Option<Device>, Fault> {
    match cookie(jar, [HOST_DEVICE_COOKIE, DEVICE_COOKIE]) {
        Some(secret) => service.device(&secret).await,
        None => Ok(None),
    }
}

fn token(parts: &Parts) -> Option<String> {
    if let Some(value) = parts.headers.get(header::AUTHORIZATION) {
        let (scheme, token) = value.to_str().ok()?.split_once(' ')?;
        return scheme.eq_ignore_ascii_case("bearer").then(|| token.trim().to_owned());
    }
    sign_in_of(&CookieJar::from_headers(&parts.headers))
}

/// What a link that is limited to some dates leads to, behind the shop's address: all else shows other days too.
const OF_DATES: [&str; 6] = ["inspect", "record", "record.pdf", "check-record", "procedure", "procedure.pdf"];
/// And whatever begins with one of these.
const UNDER_DATES: [&str; 2] = ["api/record.", "procedure/"];

/// Whoever was let in by a link opens what the link is for, and that is written down before it is shown.
async fn by_access(parts: &Parts, service: &Service, (site, access): (&str, &Access)) -> Result<(), Problem> {
    let path = parts.uri.path();
    let what = path.strip_prefix(&format!("/s/{site}/")).unwrap_or(path);
    let of_dates = OF_DATES.contains(&what) || UNDER_DATES.iter().any(|under| what.starts_with(under));
    if access.within.is_some() && !of_dates {
        return Err(Problem::of("not-allowed", lang::access_other_dates()));
    }
    if !by_itself(parts) {
        service.note_access(site, &access.id, what).await?;
    }
    Ok(())
}

/// What a page asks for by itself, as the board does every minute. Over plain http only our own script says so.
fn by_itself(parts: &Parts) -> bool {
    let says = |name: &str, value: &str| parts.headers.get(name).is_some_and(|v| v == value);
    says("sec-fetch-dest", "empty") || says("by-itself", "1")
}

/// Who asks, whatever they ask for: one for each of their shops.
pub async fn who(parts: &Parts, service: &Service) -> Result<Vec<Actor>, Problem> {
    let token = token(parts).ok_or_else(|| Problem::of("not-signed-in", ""))?;
    // What a page asks for by itself keeps nobody signed in.
    let actors = service.who(&token, !by_itself(parts) || parts.method != Method::GET).await?;
    match actors.is_empty() {
        true => Err(Problem::of("not-signed-in", "The token is unknown or was revoked, or the sign-in has run out.")),
        false => Ok(actors),
    }
}

/// The address a request came from, where the server knows it.
pub struct Peer(pub Option<IpAddr>);

/// Who handed a request over, and what they say of where it came from.
pub(super) struct Handed(Option<IpAddr>, Vec<HeaderValue>);

impl Handed {
    pub(super) fn of(extensions: &Extensions, headers: &HeaderMap) -> Handed {
        let peer = extensions.get::<ConnectInfo<SocketAddr>>().map(|c| c.0.ip());
        Handed(peer, headers.get_all("x-forwarded-for").iter().cloned().collect())
    }

    /// Where it came from, as far as that can be believed.
    pub(super) fn client(&self, service: &Service) -> Option<IpAddr> {
        let said = self.1.iter().filter_map(|v| v.to_str().ok()).collect::<Vec<_>>().join(",");
        self.0.map(|peer| proxies::client(peer, &said, service.proxies()))
    }
}

impl FromRequestParts<Service> for Peer {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, service: &Service) -> Result<Peer, Infallible> {
        Ok(Peer(Handed::of(&parts.extensions, &parts.headers).client(service)))
    }
}

impl FromRequestParts<Service> for Reads {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, service: &Service) -> Result<Reads, Problem> {
        let mut actors = who(parts, service).await?;
        let params = RawPathParams::from_request_parts(parts, service).await;
        let params = params.map_err(|_| Problem::of("not-found", ""))?;
        let site = params.iter().find(|(name, _)| *name == "site").map(|(_, v)| v.to_owned()).unwrap_or_default();
        let of_it = |a: &Actor| a.site.as_ref().is_none_or(|own| *own == site);
        if !actors.iter().any(of_it) && service.ask_again(&token(parts).unwrap_or_default()) {
            actors = who(parts, service).await?;
        }
        // A foreign shop and one that isn't there look the same to whoever is tied to another.
        let mut theirs = actors.iter().map(|a| if a.site.is_some() { 1 } else { service.sites().len() });
        let several = theirs.next().is_some_and(|n| n > 1) || theirs.next().is_some();
        let actor = actors.into_iter().find(of_it).ok_or_else(|| Problem::of("not-allowed", ""))?;
        if actor.role == Role::Probe && parts.method != Method::POST {
            return Err(Problem::of("not-allowed", "A probe only writes the air it measures."));
        }
        if !service.there(&site).await? {
            return Err(Problem::of("not-found", "There is no such shop."));
        }
        if let Some(access) = &actor.access {
            by_access(parts, service, (&site, access)).await?;
        }
        Ok(Reads { service: service.clone(), site, actor, several, secret: token(parts).unwrap_or_default() })
    }
}

impl FromRequestParts<Service> for Writes {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, service: &Service) -> Result<Writes, Problem> {
        let reads = Reads::from_request_parts(parts, service).await?;
        if reads.actor.role == Role::Inspector {
            return Err(Problem::of("not-allowed", "An inspector reads everything and writes nothing."));
        }
        Ok(Writes { reads })
    }
}
