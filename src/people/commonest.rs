//! The commonest passwords, from memory: a few stems and the ways they are dressed up. Pure.

/// Words and keyboard runs that are tried first, in small letters, without what is usually hung on behind.
const STEMS: &str = include_str!("commonest.txt");

/// Whether it is one of the first anybody tries: a common stem with digits or signs about it, capitals and look-alikes
/// (`P@ssw0rd2026!`), digits alone in a row, or one short piece over and over.
pub fn is_common(password: &str) -> bool {
    let small: Vec<char> = password.to_lowercase().chars().collect();
    runs(&small) || repeats(&small) || known(&small)
}

/// The stem, digits and signs about it cut off, stands in the list.
fn known(small: &[char]) -> bool {
    let letter = |c: char| match c {
        '@' | '4' => 'a',
        '0' => 'o',
        '1' | '!' => 'i',
        '3' => 'e',
        '$' | '5' => 's',
        '7' => 't',
        c => c,
    };
    let last = small.iter().rposition(|c| c.is_alphabetic()).map_or(0, |at| at + 1);
    let first = small.iter().position(|c| c.is_alphabetic()).unwrap_or(0);
    let stem: String = small[first..last].iter().copied().map(letter).collect();
    let own = stem.strip_prefix("my").unwrap_or(&stem);
    STEMS.split_whitespace().any(|s| s == stem || s == own)
}

/// Every character is the next of the one before it, or the one before that: `12345678`, `87654321`, `abcdefgh`.
fn runs(small: &[char]) -> bool {
    let step = |by: i64| {
        // After 9 comes 0, as on a keyboard.
        small.windows(2).all(|w| {
            let (a, b) = (i64::from(u32::from(w[0])), i64::from(u32::from(w[1])));
            b - a == by || (by == 1 && w == ['9', '0']) || (by == -1 && w == ['0', '9'])
        })
    };
    step(1) || step(-1)
}

/// One piece of at most four characters over and over: `aaaaaaaa`, `12121212`, `abcdabcd`.
fn repeats(small: &[char]) -> bool {
    (1..=4).any(|n| small.len() > n && small.iter().zip(&small[n..]).all(|(a, b)| a == b))
}
