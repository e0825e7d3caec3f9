//! `/trust`, over plain http and alone there: a shop's own authority, with how a phone is told to trust it.

use crate::lang::{self, ALL};
use crate::tls::fingerprint;
use crate::web::language;
use crate::web::server::serve_beside;
use askama::Template;
use axum::Router;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject;
use std::net::TcpListener;
use std::path::Path;
use std::sync::Arc;

/// The page.
#[derive(Template)]
#[template(path = "trust.html")]
struct Trust {
    fingerprint: String,
    address: Option<String>,
    languages: Vec<(&'static str, &'static str)>,
}

/// The authority, as it is offered.
pub struct Authority {
    der: Vec<u8>,
    /// Where the service itself is.
    address: Option<String>,
}

impl Authority {
    /// From its file.
    pub fn read(file: &Path, address: Option<String>) -> Result<Authority, String> {
        let der =
            CertificateDer::from_pem_file(file).map_err(|e| format!("{} cannot be read: {e}.", file.display()))?;
        Ok(Authority { der: der.to_vec(), address })
    }

    /// Its SHA-256, as phones show it.
    pub fn fingerprint(&self) -> String {
        fingerprint(&self.der)
    }
}

fn page(of: &Authority) -> Response {
    let languages = ALL.map(|(lang, name)| (lang.tag(), name)).to_vec();
    let page = Trust { fingerprint: of.fingerprint(), address: of.address.clone(), languages };
    let head = [(header::CONTENT_TYPE, "text/html; charset=utf-8"), (header::CACHE_CONTROL, "no-store")];
    (head, page.render().unwrap_or_default()).into_response()
}

/// What is answered there.
pub fn router(of: Arc<Authority>) -> Router {
    let (shown, sent, address) = (of.clone(), of.clone(), of.address.clone());
    let file = move || {
        let kind = [(header::CONTENT_TYPE, "application/x-x509-ca-cert")];
        let named = [(header::CONTENT_DISPOSITION, "attachment; filename=\"authority.crt\"")];
        (kind, named, sent.der.clone()).into_response()
    };
    let nothing = move || {
        let text = lang::trust_nothing(address.as_deref().unwrap_or("https"));
        (StatusCode::NOT_FOUND, [(header::CONTENT_TYPE, "text/plain; charset=utf-8")], text).into_response()
    };
    Router::new()
        .route("/trust", get(move || async move { page(&shown) }))
        .route("/trust/authority.crt", get(move || async move { file() }))
        .fallback(move || async move { nothing() })
        .layer(axum::middleware::from_fn(language::around))
}

/// Serves it until the program ends.
pub async fn serve(of: Authority, listener: TcpListener) -> std::io::Result<()> {
    serve_beside(router(Arc::new(of)), listener).await
}
