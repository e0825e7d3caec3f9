//! Every route on one page.

use super::api::{entries, health, items, openapi, plan, record, setup, stream};
use super::error::Problem;
use super::pages;
use super::service::Service;
use axum::Router;
use axum::extract::{DefaultBodyLimit, Request};
use axum::http::{HeaderName, HeaderValue, header};
use axum::response::{IntoResponse, Response};
use tower::ServiceBuilder;
use tower_http::compression::CompressionLayer;
use tower_http::csrf::{CsrfLayer, ProtectionError};
use tower_http::set_header::SetResponseHeaderLayer;
use utoipa::OpenApi;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// Most bytes a request's body has.
const BODY: usize = 1 << 20;

/// Nothing from elsewhere, nothing inline, in no frame.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; \
    manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// No page uses the phone's devices; the one that scans says so itself.
const DEVICES: &str = "camera=(), geolocation=(), microphone=(), payment=(), usb=()";

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

/// The API's routes; each says in front of its handler what its address is and what it takes and answers.
pub fn api() -> OpenApiRouter<Service> {
    OpenApiRouter::with_openapi(openapi::Start::openapi())
        .routes(routes!(entries::tail, entries::post))
        .routes(routes!(stream::stream))
        .routes(routes!(items::list))
        .routes(routes!(items::one))
        .routes(routes!(plan::post))
        .routes(routes!(setup::rules))
        .routes(routes!(setup::places))
        .routes(routes!(setup::products))
        .routes(routes!(record::jsonl))
        .routes(routes!(record::csv))
        .routes(routes!(record::pdf))
        .routes(routes!(openapi::openapi))
        .routes(routes!(health::healthz))
        .routes(routes!(health::readyz))
}

/// The whole service.
pub fn router(service: Service) -> Router {
    let fixed = |name, value| SetResponseHeaderLayer::if_not_present(name, HeaderValue::from_static(value));
    // As one layer: each by itself would put every request into one more box.
    let around = ServiceBuilder::new()
        .layer(axum::middleware::from_fn_with_state(service.clone(), super::turned_away::noted))
        .layer(axum::middleware::from_fn(super::language::around))
        .layer(fixed(header::CACHE_CONTROL, "no-store"))
        // Stricter, and browsers would send forms with `Origin: null`, which is nobody's own page.
        .layer(fixed(header::REFERRER_POLICY, "same-origin"))
        .layer(fixed(header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .layer(fixed(HeaderName::from_static("permissions-policy"), DEVICES))
        .layer(fixed(header::CONTENT_SECURITY_POLICY, POLICY))
        .layer(CompressionLayer::new())
        .layer(CsrfLayer::new().with_rejection_response(|_: ProtectionError| {
            axum::response::IntoResponse::into_response(Problem::of("cross-site", ""))
        }))
        .layer(axum::middleware::from_fn(super::whole::in_time))
        .layer(DefaultBodyLimit::max(BODY));
    Router::new()
        .merge(Router::from(api()))
        .merge(super::pages::routes().layer(axum::middleware::from_fn(pages::problem::unreadable)))
        .fallback(|request: Request| astray(request, "not-found"))
        .method_not_allowed_fallback(|request: Request| astray(request, "wrong-method"))
        .layer(around)
        .with_state(service)
}
