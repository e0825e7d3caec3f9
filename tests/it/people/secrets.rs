//! What a name, a PIN, a password may be, and the arithmetic of guessing.

use counterclock::clock::{HOUR_MS, Instant, MINUTE_MS};
use counterclock::people::codes;
use counterclock::people::limits::{Tried, What};
use counterclock::people::secret::{self, Unfit};

#[test]
fn pins() {
    let check = |pin: &str, expected: Result<(), Unfit>| assert_eq!(secret::pin(pin), expected, "{pin}");
    for pin in ["4711", "0420", "20815", "909031", "1224"] {
        check(pin, Ok(()));
    }
    for pin in ["", "471", "4711471", "47a1", "47 11", "+471", "４７１１", "٤٧١١", "4711\n"] {
        check(pin, Err(Unfit::PinShape));
    }
    for pin in ["0000", "777777", "1234", "6789", "654321", "4321"] {
        check(pin, Err(Unfit::PinPlain));
    }
}

#[test]
fn passwords() {
    let check = |password: &str, expected: Result<(), Unfit>| {
        assert_eq!(secret::password(password, "Nora Blaise"), expected, "{password}");
    };
    // No rules on what has to be in it.
    for password in
        ["rye bread on a tin roof", "xkqpwvzt", "        !", "🧁🍰🎂🥧🍪🧇🥐🍩", "צנצנת דבש קטנה", "8!8$%&/()="]
    {
        check(password, Ok(()));
    }
    check("short", Err(Unfit::PasswordShort));
    check("🧁🍰🎂🥧🍪🧇🥐", Err(Unfit::PasswordShort));
    check(&"long ".repeat(201), Err(Unfit::PasswordLong));
    for password in [
        "password",
        "Password1",
        "Counterclock2026!",
        "P@ssw0rd",
        "PASSWORD2026!",
        "12345678",
        "987654321",
        "1234567890",
        "qwertyui",
        "qwerty123",
        "iloveyou",
        "Sunshine!!",
        "letmein123",
        "aaaaaaaa",
        "12121212",
        "abcdabcd",
        "abcdefgh",
        "changeme1",
        "mypassword",
        "asdfghjkl",
        "00000000",
        "Bakery2026",
        "trustno1",
        "welcome123!",
    ] {
        check(password, Err(Unfit::PasswordCommon));
    }
    check("nora blaise", Err(Unfit::PasswordName));
}

#[test]
fn names() {
    for name in ["A", "Ada \"O'Hara\"", "مريم", "שרה כהן", "李雷", "🧁", "=1+1", "<script>", "Zoë; drop table person"]
    {
        assert_eq!(secret::name(&format!("  {name} ")).as_deref(), Ok(name));
    }
    assert_eq!(secret::name("Ada \t  Öz").as_deref(), Ok("Ada Öz"));
    for name in ["", " ", "\u{3000}", "a\0b", "a\u{202e}b", "a\u{2066}b", "a\u{1b}[2J"] {
        assert_eq!(secret::name(name), Err(Unfit::Name), "{name:?}");
    }
}

#[test]
fn codes_are_read_as_they_were_meant() {
    let code = codes::from_random([0, 31, 32, 255, 10, 20, 1, 200]);
    assert_eq!(codes::shown(&code).len(), 9);
    assert_eq!(codes::meant(&codes::shown(&code).to_lowercase()), code);
    assert_eq!(codes::meant("o0iL-19zz"), "0011 19ZZ".replace(' ', ""));
}

#[test]
fn pauses_double_up_to_an_hour_and_are_forgotten_after_a_day() {
    let begun = Instant(1_777_852_800_000);
    let (mut tried, mut now, mut pauses) = (Tried::default(), begun, Vec::new());
    for _ in 0..14 {
        tried = tried.another(What::Pin, now);
        pauses.push(tried.until.since(now) / MINUTE_MS);
        now = tried.until;
    }
    assert_eq!(pauses, [0, 0, 0, 0, 1, 2, 4, 8, 16, 32, 60, 60, 60, 60]);
    // Guessing all day long: this many are heard.
    let (mut tried, mut now, mut heard) = (Tried::default(), begun, 0);
    while now.since(begun) < 24 * HOUR_MS {
        tried = tried.another(What::Pin, now);
        (heard, now) = (heard + 1, tried.until.max(now.plus(1_000)));
    }
    assert_eq!(heard, 33);
    assert_eq!(tried.another(What::Pin, tried.last_at.plus(24 * HOUR_MS + 1)).failures, 1);
    assert_eq!(tried.locked(tried.until), None);
    assert_eq!(tried.forgiven(What::Pin), Tried::default());
    // One that was right doesn't wash away all that others tried on the same device.
    let device = Tried { failures: 18, ..tried };
    assert_eq!(device.another(What::Device, device.last_at).forgiven(What::Device).failures, 9);
    assert_eq!(device.another(What::Device, device.last_at.plus(HOUR_MS + 1)).failures, 1);
    // Ten people who mistype every other time, all day.
    let (mut device, mut now) = (Tried::default(), begun);
    for n in 0..500 {
        now = now.plus(MINUTE_MS);
        device = device.another(What::Device, now);
        assert_eq!(device.locked(now), None, "{n}");
        if n % 2 == 0 {
            device = device.forgiven(What::Device);
        }
    }
}
