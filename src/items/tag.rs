//! A tag: the random code on a washable label. How one is made, written, and read from what a person typed.

use std::fmt;

/// The 32 symbols: digits and letters without I, L, O and U, which hands confuse or words are made of.
pub const SYMBOLS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
/// How many symbols a tag has: 50 random bits, so that nobody finds one by trying.
pub const LENGTH: usize = 10;

/// A tag's code: [`LENGTH`] of [`SYMBOLS`].
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Tag(String);

impl Tag {
    /// The tag that these random bytes make; the last six of their 56 bits are left over.
    pub fn from_random(bytes: [u8; 7]) -> Tag {
        let bits = bytes.iter().fold(0_u64, |bits, b| bits << 8 | u64::from(*b));
        let symbol = |n: usize| char::from(SYMBOLS[(bits >> (51 - 5 * n) & 31) as usize]);
        Tag((0..LENGTH).map(symbol).collect())
    }

    /// The tag that somebody typed or a scanner read: an address that ends in it, small letters, spaces and hyphens,
    /// O for 0, I or L for 1. `None` if that is no tag.
    pub fn read(text: &str) -> Option<Tag> {
        let code = symbols(text)?;
        (code.len() == LENGTH).then_some(Tag(code))
    }

    /// The code as it is kept and as it stands in addresses.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// The symbol that somebody meant: large, and a digit where a letter is taken for it.
pub fn symbol(typed: char) -> char {
    match typed.to_ascii_uppercase() {
        'O' => '0',
        'I' | 'L' => '1',
        c => c,
    }
}

/// What there is of a code so far, for one who types it symbol by symbol; `None` if something in it is no symbol or it
/// is too long.
pub fn symbols(text: &str) -> Option<String> {
    let code = text.rsplit_once("/t/").map_or(text, |(_, code)| code).trim();
    let mut read = String::with_capacity(LENGTH);
    for c in code.chars().filter(|c| !matches!(c, ' ' | '-' | '\u{2011}' | '\u{2013}')) {
        let c = symbol(c);
        if !u8::try_from(c).is_ok_and(|b| SYMBOLS.contains(&b)) || read.len() == LENGTH {
            return None;
        }
        read.push(c);
    }
    Some(read)
}

/// For people: two groups of five.
impl fmt::Display for Tag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (a, b) = self.0.split_at(LENGTH / 2);
        write!(f, "{a}-{b}")
    }
}
