//! Who looks at a page: the same extractors as the API's, turned away with a page instead of a problem document.

use super::{problem, root_of};
use crate::people::Role;
use crate::web::auth::{Reads, Writes};
use crate::web::error::Problem;
use crate::web::manages::Manages;
use crate::web::service::Service;
use axum::extract::FromRequestParts;
use axum::http::Method;
use axum::http::request::Parts;
use axum::response::{IntoResponse, Redirect, Response};

/// Somebody who may read the shop's pages.
pub struct Visitor(pub Reads);

/// Somebody who may write from them.
pub struct Scribe(pub Writes);

/// Somebody who may look after people and devices.
pub struct Keeper(pub Manages);

impl FromRequestParts<Service> for Keeper {
    type Rejection = Response;

    async fn from_request_parts(parts: &mut Parts, service: &Service) -> Result<Keeper, Response> {
        let found = Manages::from_request_parts(parts, service).await;
        found.map(Keeper).map_err(|p| turned_away(parts, &p))
    }
}

impl FromRequestParts<Service> for Visitor {
    type Rejection = Response;

    async fn from_request_parts(parts: &mut Parts, service: &Service) -> Result<Visitor, Response> {
        let found = Reads::from_request_parts(parts, service).await.and_then(|reads| match reads.actor.role {
            Role::Probe => Err(Problem::of("not-allowed", "A probe only writes the air it measures.")),
            _ => Ok(Visitor(reads)),
        });
        found.map_err(|p| turned_away(parts, &p))
    }
}

impl FromRequestParts<Service> for Scribe {
    type Rejection = Response;

    async fn from_request_parts(parts: &mut Parts, service: &Service) -> Result<Scribe, Response> {
        let found =
            Writes::from_request_parts(parts, service).await.and_then(|writes| match writes.reads().actor.role {
                Role::Probe => Err(Problem::of("not-allowed", "A probe only writes the air it measures.")),
                _ => Ok(Scribe(writes)),
            });
        found.map_err(|p| turned_away(parts, &p))
    }
}

/// To the sign-in, and from there back; a tap that can't be repeated by a link gets a page that says so.
pub(super) fn turned_away(parts: &Parts, p: &Problem) -> Response {
    let path = parts.uri.path();
    let root = root_of(path);
    if p.status != 401 {
        return problem::page(path, p);
    }
    if parts.method == Method::GET {
        // The path is made of ids; anything else in it is not gone back to.
        let plain = |c: u8| c.is_ascii_alphanumeric() || matches!(c, b'.' | b'_' | b'-' | b'/');
        let next = path.strip_prefix('/').filter(|p| p.bytes().all(plain)).unwrap_or_default();
        return Redirect::to(&format!("{root}sign-in?next={next}")).into_response();
    }
    problem::not_signed_in(path)
}
