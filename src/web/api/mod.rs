//! The JSON API, one file a resource.

pub mod entries;
pub mod health;
pub mod items;
pub mod openapi;
pub mod plan;
pub mod record;
pub mod schema;
pub mod setup;
pub mod stream;

use super::error::Problem;
use axum::body::Bytes;
use axum::extract::{FromRequest, FromRequestParts, Request};
use axum::http::request::Parts;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::de::DeserializeOwned;

/// Query parameters, refused with a problem where they don't fit.
pub struct Query<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned + Send> FromRequestParts<S> for Query<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Query<T>, Problem> {
        match axum::extract::Query::<T>::from_request_parts(parts, state).await {
            Ok(q) => Ok(Query(q.0)),
            Err(e) => {
                let said = e.body_text();
                let said = said.rsplit_once("query string: ").map_or(said.as_str(), |(_, particulars)| particulars);
                Err(Problem::of("bad-query", &format!("The parameters cannot be read: {said}.")))
            }
        }
    }
}

/// A whole body; one that is too large or breaks off is refused with a problem.
pub struct Payload(pub Bytes);

impl<S: Send + Sync> FromRequest<S> for Payload {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &S) -> Result<Payload, Problem> {
        match Bytes::from_request(request, state).await {
            Ok(body) => Ok(Payload(body)),
            Err(e) if e.status() == StatusCode::PAYLOAD_TOO_LARGE => Err(Problem::of("too-large", "")),
            Err(_) => Err(Problem::of("malformed", "The request's body broke off.")),
        }
    }
}

/// JSON that is a text already.
pub fn json(body: String) -> Response {
    ([(header::CONTENT_TYPE, "application/json")], body).into_response()
}

/// How many are asked for: `usual` where that is left out, from 1 to `most`.
fn limit(asked: Option<usize>, usual: usize, most: usize) -> Result<usize, Problem> {
    let n = asked.unwrap_or(usual);
    if (1..=most).contains(&n) {
        return Ok(n);
    }
    Err(Problem::of("bad-query", &format!("`limit` is a number from 1 to {most}.")))
}

/// An instant from a query parameter.
fn instant(name: &str, text: Option<&str>) -> Result<Option<crate::clock::Instant>, Problem> {
    let Some(text) = text else { return Ok(None) };
    // A plus sign that wasn't escaped arrives as a space.
    let parsed = crate::clock::Instant::parse(&text.replace(' ', "+"));
    parsed.map(Some).ok_or_else(|| Problem::of("bad-query", &format!("`{name}` is RFC 3339 with an offset.")))
}
