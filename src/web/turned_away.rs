//! The log of who was turned away: a line for each answer that says "not signed in", "not yours" or "from another's page". The
//! route stands in it, never the address: that may carry a code.

use super::auth::Handed;
use super::service::Service;
use axum::extract::{MatchedPath, Request, State};
use axum::http::StatusCode;
use axum::middleware::Next;
use axum::response::Response;

/// Hands a request on and looks at its answer.
pub(super) async fn noted(State(service): State<Service>, request: Request, next: Next) -> Response {
    let handed = Handed::of(request.extensions(), request.headers());
    let route = request.extensions().get::<MatchedPath>().cloned();
    let method = request.method().clone();
    let answer = next.run(request).await;
    if matches!(answer.status(), StatusCode::UNAUTHORIZED | StatusCode::FORBIDDEN) {
        let (route, status) = (route.as_ref().map_or("", MatchedPath::as_str), answer.status().as_u16());
        tracing::warn!(%method, route, status, from = handed.client(&service).map(tracing::field::display), "turned away");
    }
    answer
}
