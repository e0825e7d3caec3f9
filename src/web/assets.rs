//! The few files that never change between builds: style, script, icon. Their address carries their hash.

use axum::extract::{Path, RawQuery};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use sha2::{Digest, Sha256};
use std::sync::LazyLock;

struct Asset {
    name: &'static str,
    kind: &'static str,
    text: &'static str,
    hash: String,
}

static ASSETS: LazyLock<[Asset; 9]> = LazyLock::new(|| {
    let asset = |name, kind, text: &'static str| {
        let hash = Sha256::digest(text.as_bytes()).iter().take(6).map(|b| format!("{b:02x}")).collect();
        Asset { name, kind, text, hash }
    };
    [
        asset("counterclock.css", "text/css; charset=utf-8", include_str!("../../static/counterclock.css")),
        asset("far.css", "text/css; charset=utf-8", include_str!("../../static/far.css")),
        asset("record.css", "text/css; charset=utf-8", include_str!("../../static/record.css")),
        asset("cold.css", "text/css; charset=utf-8", include_str!("../../static/cold.css")),
        asset("counterclock.js", "text/javascript; charset=utf-8", include_str!("../../static/counterclock.js")),
        asset("live.js", "text/javascript; charset=utf-8", include_str!("../../static/live.js")),
        asset("scan.js", "text/javascript; charset=utf-8", include_str!("../../static/scan.js")),
        asset("wall.js", "text/javascript; charset=utf-8", include_str!("../../static/wall.js")),
        asset("icon.svg", "image/svg+xml", include_str!("../../static/icon.svg")),
    ]
});

/// `static/counterclock.css?v=…`, relative to the service's root.
pub fn address(name: &str) -> String {
    match ASSETS.iter().find(|a| a.name == name) {
        Some(a) => format!("static/{}?v={}", a.name, a.hash),
        None => format!("static/{name}"),
    }
}

/// Answers one of them; for good if it was asked for by its hash.
pub async fn serve(Path(name): Path<String>, RawQuery(query): RawQuery) -> Response {
    let Some(asset) = ASSETS.iter().find(|a| a.name == name) else {
        return StatusCode::NOT_FOUND.into_response();
    };
    let exact = query.as_deref().and_then(|q| q.strip_prefix("v=")) == Some(&asset.hash);
    let keep = if exact { "public, max-age=31536000, immutable" } else { "no-cache" };
    ([(header::CONTENT_TYPE, asset.kind), (header::CACHE_CONTROL, keep)], asset.text).into_response()
}
