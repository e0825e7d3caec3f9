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
    let next = if leads_to_a_shop(next) { next } else { "" };
    SignIn { shell: Shell::bare(asked), refused, next: next.to_owned() }
}

/// Only a shop's page is gone on to, so that no address leads elsewhere.
pub fn leads_to_a_shop(next: &str) -> bool {
    next.starts_with("s/") && !next.contains("//") && next.bytes().all(|b| b.is_ascii_graphic() && b != b'\\')
}
