//! The few files that never change between builds: style, script, icon. Their address carries their hash.

use axum::extract::{Path, RawQuery};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use sha2::{Digest, Sha256};
use std::sync::LazyLock;

struct Asset {
    name: &'static str,
    kind: &'static str,
    bytes: &'static [u8],
    hash: String,
}

static ASSETS: LazyLock<[Asset; 16]> = LazyLock::new(|| {
    let image = |name, kind, bytes: &'static [u8]| {
        let hash = hex::encode(&Sha256::digest(bytes)[..6]);
        Asset { name, kind, bytes, hash }
    };
    let asset = |name, kind, text: &'static str| image(name, kind, text.as_bytes());
    [
        asset("counterclock.css", "text/css; charset=utf-8", include_str!("../../static/counterclock.css")),
        asset("far.css", "text/css; charset=utf-8", include_str!("../../static/far.css")),
        asset("record.css", "text/css; charset=utf-8", include_str!("../../static/record.css")),
        asset("cold.css", "text/css; charset=utf-8", include_str!("../../static/cold.css")),
        asset("counterclock.js", "text/javascript; charset=utf-8", include_str!("../../static/counterclock.js")),
        asset("still.js", "text/javascript; charset=utf-8", include_str!("../../static/still.js")),
        asset("live.js", "text/javascript; charset=utf-8", include_str!("../../static/live.js")),
        asset("scan.js", "text/javascript; charset=utf-8", include_str!("../../static/scan.js")),
        asset("wall.js", "text/javascript; charset=utf-8", include_str!("../../static/wall.js")),
        asset("signal.js", "text/javascript; charset=utf-8", include_str!("../../static/signal.js")),
        asset("signal.css", "text/css; charset=utf-8", include_str!("../../static/signal.css")),
        asset(
            "counterclock.webmanifest",
            "application/manifest+json",
            include_str!("../../static/counterclock.webmanifest"),
        ),
        image("icon-180.png", "image/png", include_bytes!("../../static/icon-180.png")),
        image("icon-192.png", "image/png", include_bytes!("../../static/icon-192.png")),
        image("icon-512.png", "image/png", include_bytes!("../../static/icon-512.png")),
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
    ([(header::CONTENT_TYPE, asset.kind), (header::CACHE_CONTROL, keep)], asset.bytes).into_response()
}
