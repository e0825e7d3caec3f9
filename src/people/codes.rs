//! Short codes that are read off one screen and typed into another. Pure.

use crate::items::tag::{SYMBOLS, symbol};

/// Eight letters, 40 bits: too many to guess within the hour and the tries they are good for.
pub fn from_random(bytes: [u8; 8]) -> String {
    bytes.iter().map(|b| char::from(SYMBOLS[usize::from(b % 32)])).collect()
}

/// As it is shown: `4T7K-9QWM`.
pub fn shown(code: &str) -> String {
    match code.split_at_checked(4) {
        Some((a, b)) => format!("{a}-{b}"),
        None => code.to_owned(),
    }
}

/// As it was meant, whatever was typed: small letters, a hyphen, O for 0.
pub fn meant(typed: &str) -> String {
    typed.chars().filter(|c| c.is_ascii_alphanumeric()).map(symbol).take(16).collect()
}
