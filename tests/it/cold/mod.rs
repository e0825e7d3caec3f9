//! The cold of places: what is proposed, what probes may write, what a failure would mean.

mod lapses;
mod probes;
mod stretches;
mod watching;
mod what_if;

use crate::kit::house::House;
use axum::Router;
use axum::body::Body;
use axum::extract::FromRequestParts;
use axum::http::Request;
use axum::routing::get;
use counterclock::web::service::Service;
use std::sync::{Arc, Mutex};
use tower::ServiceExt;

/// What a handler is handed for whoever has that token; none where it is turned away.
async fn handed<E: FromRequestParts<Service> + Send + Sync + 'static>(house: &House, token: &str) -> Option<E> {
    let slot: Arc<Mutex<Option<E>>> = Arc::default();
    let kept = slot.clone();
    let keep = move |e: E| {
        *kept.lock().expect("not poisoned") = Some(e);
        async {}
    };
    let app = Router::new().route("/s/{site}/ask", get(keep)).with_state(house.service());
    let request = Request::builder().uri("/s/shop/ask").header("authorization", format!("Bearer {token}"));
    app.oneshot(request.body(Body::empty()).expect("a request")).await.expect("the router always answers");
    slot.lock().expect("not poisoned").take()
}
