//! Signing in with a token.

use super::{Asked, Shell};
use crate::lang;
use askama::Template;

/// The page.
#[derive(Template)]
#[template(path = "sign_in.html")]
pub struct SignIn {
    shell: Shell,
    refused: bool,
    next: String,
}

/// Builds it; `refused` after a token that nobody has, `next` is where to go on (relative to the root).
pub fn build(asked: &Asked, refused: bool, next: &str) -> SignIn {
    // Only a shop's page is gone on to, so that no address leads elsewhere.
    let next = if next.starts_with("s/") && !next.contains("//") { next } else { "" };
    SignIn { shell: Shell::bare(asked), refused, next: next.to_owned() }
}
