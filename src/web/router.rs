//! Every route on one page.

use super::api::{entries, health, items, record, setup};
use super::error::Problem;
use super::pages;
use super::service::Service;
use axum::Router;
use axum::extract::{DefaultBodyLimit, Request};
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use std::time::Duration;
use tower_http::compression::CompressionLayer;
use tower_http::csrf::{CsrfLayer, ProtectionError};
use tower_http::set_header::SetResponseHeaderLayer;
use tower_http::timeout::RequestBodyTimeoutLayer;

/// Most bytes a request's body has.
const BODY: usize = 1 << 20;
/// How long a body may take from one piece to the next.
const BODY_TIMEOUT: Duration = Duration::from_secs(20);

/// Nothing from elsewhere, nothing inline, in no frame.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; \
    manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// The answer to an address that names nothing: a page for who reads pages, a problem for programs.
async fn astray(request: Request, code: &'static str) -> Response {
    let accept = request.headers().get(header::ACCEPT).and_then(|v| v.to_str().ok()).unwrap_or("");
    let path = request.uri().path();
    let problem = Problem::of(code, "");
    if accept.contains("text/html") && !path.contains("/api/") {
        pages::problem::page(path, &problem)
    } else {
        problem.into_response()
    }
}

/// The whole service.
pub fn router(service: Service) -> Router {
    let api = Router::new()
        .route("/s/{site}/api/entries", get(entries::tail).post(entries::post))
        .route("/s/{site}/api/items", get(items::list))
        .route("/s/{site}/api/items/{item}", get(items::one))
        .route("/s/{site}/api/rules", get(setup::rules))
        .route("/s/{site}/api/places", get(setup::places))
        .route("/s/{site}/api/products", get(setup::products))
        .route("/s/{site}/api/record.jsonl", get(record::jsonl))
        .route("/s/{site}/api/record.csv", get(record::csv))
        .route("/healthz", get(health::healthz))
        .route("/readyz", get(health::readyz));
    let fixed = |name, value| SetResponseHeaderLayer::if_not_present(name, HeaderValue::from_static(value));
    Router::new()
        .merge(api)
        .merge(super::pages::routes())
        .fallback(|request: Request| astray(request, "not-found"))
        .method_not_allowed_fallback(|request: Request| astray(request, "wrong-method"))
        .layer(DefaultBodyLimit::max(BODY))
        .layer(RequestBodyTimeoutLayer::new(BODY_TIMEOUT))
        .layer(CsrfLayer::new().with_rejection_response(|_: ProtectionError| {
            axum::response::IntoResponse::into_response(Problem::of("cross-site", ""))
        }))
        .layer(CompressionLayer::new())
        .layer(fixed(header::CONTENT_SECURITY_POLICY, POLICY))
        .layer(fixed(header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .layer(fixed(header::REFERRER_POLICY, "no-referrer"))
        .layer(fixed(header::CACHE_CONTROL, "no-store"))
        .with_state(service)
}
