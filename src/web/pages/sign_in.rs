//! Signing in: names and keys on an enrolled device, name and password or a token elsewhere.

use super::Shell;
use crate::lang;
use crate::ledger::Id;
use crate::people::secret::PIN_DIGITS;
use askama::Template;

/// The page.
#[derive(Template)]
#[template(path = "sign_in.html")]
pub struct SignIn {
    shell: Shell,
    kind: Kind,
    next: String,
}

/// Somebody to choose from.
pub struct Face {
    /// Who.
    pub person: Id,
    /// Their name.
    pub name: String,
    /// Until when the name alone will do.
    pub by_name: Option<String>,
}

/// How one signs in here.
pub enum Kind {
    /// Who is it, on an enrolled device.
    Names {
        /// The device's name.
        device: String,
        /// Who works there.
        faces: Vec<Face>,
    },
    /// The PIN of one of them.
    Pin(Face),
    /// Name and password, or a token.
    Password {
        /// Whether the names are to be had too.
        on_device: bool,
        /// What was typed before.
        name: String,
    },
}

/// Builds it; `next` is where to go on (relative to the root).
pub fn build(shell: Shell, kind: Kind, next: &str) -> SignIn {
    let next = if leads_to_a_shop(next) { next } else { "" };
    SignIn { shell, kind, next: next.to_owned() }
}

/// Only a shop's page or a tag is gone on to, so that no address leads elsewhere.
pub fn leads_to_a_shop(next: &str) -> bool {
    (next.starts_with("s/") || next.starts_with("t/"))
        && !next.contains("//")
        && next.bytes().all(|b| b.is_ascii_graphic() && b != b'\\')
}

const KEYS: [&str; 10] = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "0"];
