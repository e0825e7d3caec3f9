//! A tag's code: made of fifty random bits, read however it was typed.

use counterclock::items::Tag;
use counterclock::items::tag::symbols;

#[track_caller]
fn check(typed: &str, expected: Option<&str>) {
    assert_eq!(Tag::read(typed).as_ref().map(Tag::as_str), expected, "{typed:?}");
}

#[test]
fn read_however_it_was_typed() {
    let code = Some("0123456789");
    for typed in
        ["0123456789", "01234-56789", " 01234 56789 ", "O1234-56789", "oi234-56789", "0L234 5678 9", "01234‑56789"]
    {
        check(typed, code);
    }
    check("abcdefghjk", Some("ABCDEFGHJK"));
    check("https://clock.example/holding/t/mnpqrstvwx", Some("MNPQRSTVWX"));
    check("HTTP://CLOCK.EXAMPLE/t/MNPQR-STVWX", Some("MNPQRSTVWX"));
    check("zzzzz-zzzzz", Some("ZZZZZZZZZZ"));
    for wrong in
        ["", "012345678", "01234567890", "U123456789", "012345678!", "012345678é", "0123 45678", "/t/", "x/0123456789"]
    {
        check(wrong, None);
    }
}

#[test]
fn every_code_is_read_as_it_was_made() {
    assert_eq!(Tag::from_random([0; 7]).as_str(), "0000000000");
    assert_eq!(Tag::from_random([255; 7]).as_str(), "ZZZZZZZZZZ");
    // The first bit of the first symbol, the last of the last, and the six that are left over.
    assert_eq!(Tag::from_random([0x80, 0, 0, 0, 0, 0, 0]).as_str(), "G000000000");
    assert_eq!(Tag::from_random([0, 0, 0, 0, 0, 0, 0x40]).as_str(), "0000000001");
    assert_eq!(Tag::from_random([0, 0, 0, 0, 0, 0, 0x3f]).as_str(), "0000000000");
    for n in 0..=255_u8 {
        let made = Tag::from_random([n, n.wrapping_mul(7), !n, n ^ 0x5a, n.rotate_left(3), n.wrapping_add(91), n]);
        for typed in [made.as_str().to_owned(), made.to_string(), made.to_string().to_lowercase()] {
            assert_eq!(Tag::read(&typed), Some(made.clone()));
        }
    }
}

#[test]
fn a_code_may_be_typed_symbol_by_symbol() {
    assert_eq!(symbols("ab-1o").as_deref(), Some("AB10"));
    assert_eq!(symbols("").as_deref(), Some(""));
    assert_eq!(symbols("ab?"), None);
    assert_eq!(symbols("0123456789a"), None);
}
