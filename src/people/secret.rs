//! What a name, a PIN and a password may be. Pure.

use super::commonest;

/// Most characters of a name.
pub const NAME_MOST: usize = 80;
/// Fewest and most digits of a PIN.
pub const PIN_DIGITS: std::ops::RangeInclusive<usize> = 4..=6;
/// Fewest characters of a password (NIST SP 800-63B; its rules on composition are: none).
pub const PASSWORD_LEAST: usize = 8;
/// Fewest that are advised.
pub const PASSWORD_ADVISED: usize = 15;
/// Most bytes: a hash takes any length, but not for ever.
pub const PASSWORD_MOST_BYTES: usize = 1_000;

/// Why a name, PIN or password isn't taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unfit {
    /// No name, or one that is too long or holds what can't be seen.
    Name,
    /// Not 4 to 6 digits.
    PinShape,
    /// One digit over and over, or digits in a row.
    PinPlain,
    /// Under eight characters.
    PasswordShort,
    /// Over a thousand bytes.
    PasswordLong,
    /// Among the first that anybody tries.
    PasswordCommon,
    /// The person's own name.
    PasswordName,
}

/// A name as it is kept: spaces at its ends cut, one between words. Any script, quotes and signs; nothing invisible
/// that would turn or break a line.
pub fn name(text: &str) -> Result<String, Unfit> {
    let name = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let turns = |c: char| matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let plain = !name.chars().any(|c| c.is_control() || turns(c));
    if plain && (1..=NAME_MOST).contains(&name.chars().count()) { Ok(name) } else { Err(Unfit::Name) }
}

/// A name as the sign-in compares it.
pub fn sign_in_name(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

/// Whether it can be somebody's PIN.
pub fn pin(text: &str) -> Result<(), Unfit> {
    let digits: Option<Vec<u32>> = text.chars().map(|c| c.to_digit(10)).collect();
    let digits = digits.filter(|d| PIN_DIGITS.contains(&d.len())).ok_or(Unfit::PinShape)?;
    let step = |by: i64| digits.windows(2).all(|w| i64::from(w[1]) - i64::from(w[0]) == by);
    if step(0) || step(1) || step(-1) { Err(Unfit::PinPlain) } else { Ok(()) }
}

/// Whether it can be the password of somebody of that name.
pub fn password(text: &str, name: &str) -> Result<(), Unfit> {
    if text.chars().count() < PASSWORD_LEAST {
        return Err(Unfit::PasswordShort);
    }
    if text.len() > PASSWORD_MOST_BYTES {
        return Err(Unfit::PasswordLong);
    }
    if sign_in_name(text) == sign_in_name(name) {
        return Err(Unfit::PasswordName);
    }
    if commonest::is_common(text) { Err(Unfit::PasswordCommon) } else { Ok(()) }
}
