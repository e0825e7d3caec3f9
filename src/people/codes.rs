//! Short codes that are read off one screen and typed into another. Pure.

/// Digits and letters that aren't taken for one another (as in Crockford's base 32).
const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// Eight letters, 40 bits: too many to guess within the hour and the tries they are good for.
pub fn from_random(bytes: [u8; 8]) -> String {
    bytes.iter().map(|b| char::from(LETTERS[usize::from(b % 32)])).collect()
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
    let plain = |c: char| match c.to_ascii_uppercase() {
        'O' => '0',
        'I' | 'L' => '1',
        c => c,
    };
    typed.chars().filter(|c| c.is_ascii_alphanumeric()).map(plain).take(16).collect()
}
