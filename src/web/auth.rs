//! Who asks: extractors that hand a handler just what the role may use.

use super::error::Problem;
use super::service::{Fault, Look, Service, Written};
use crate::ledger::{Id, Parsed};
use crate::people::{Actor, Role};
use axum::extract::{FromRequestParts, RawPathParams};
use axum::http::header;
use axum::http::request::Parts;
use axum_extra::extract::CookieJar;

/// The cookie that carries a sign-in over plain http; over TLS it has the `__Host-` prefix.
pub const COOKIE: &str = "counterclock";
/// The same over TLS.
pub const HOST_COOKIE: &str = "__Host-counterclock";

/// Somebody who may read a shop. Has no way to write.
pub struct Reads {
    service: Service,
    /// The shop.
    pub site: String,
    /// Who.
    pub actor: Actor,
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

    /// Who writes reads too.
    pub fn reads(&self) -> &Reads {
        &self.reads
    }
}

fn token(parts: &Parts) -> Option<String> {
    if let Some(value) = parts.headers.get(header::AUTHORIZATION) {
        let (scheme, token) = value.to_str().ok()?.split_once(' ')?;
        return scheme.eq_ignore_ascii_case("bearer").then(|| token.trim().to_owned());
    }
    let jar = CookieJar::from_headers(&parts.headers);
    [HOST_COOKIE, COOKIE].iter().find_map(|name| jar.get(name)).map(|c| c.value().to_owned())
}

/// Who asks, whatever they ask for.
pub async fn who(parts: &Parts, service: &Service) -> Result<Actor, Problem> {
    let token = token(parts).ok_or_else(|| Problem::of("not-signed-in", ""))?;
    service.who(&token).await?.ok_or_else(|| Problem::of("not-signed-in", "The token is unknown or was revoked."))
}

impl FromRequestParts<Service> for Reads {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, service: &Service) -> Result<Reads, Problem> {
        let actor = who(parts, service).await?;
        let params = RawPathParams::from_request_parts(parts, service).await;
        let params = params.map_err(|_| Problem::of("not-found", ""))?;
        let site = params.iter().find(|(name, _)| *name == "site").map(|(_, v)| v.to_owned()).unwrap_or_default();
        // A foreign shop and one that isn't there look the same to whoever is tied to another.
        if actor.site.as_ref().is_some_and(|own| *own != site) {
            return Err(Problem::of("not-allowed", ""));
        }
        if actor.role == Role::Probe && parts.method != axum::http::Method::POST {
            return Err(Problem::of("not-allowed", "A probe only writes the air it measures."));
        }
        if !service.has(&site) {
            return Err(Problem::of("not-found", "There is no such shop."));
        }
        Ok(Reads { service: service.clone(), site, actor })
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
