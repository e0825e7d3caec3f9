//! The clock room: instants, and the only place in the program that asks what time it is.

mod watch;
mod zone;

pub use watch::{JUMP_MS, Watch};
pub use zone::Zone;

use std::fmt;
use std::path::PathBuf;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Arc, LazyLock};
use time::OffsetDateTime;
use time::format_description::well_known::Rfc3339;

/// One second in milliseconds.
pub const SECOND_MS: i64 = 1_000;
/// One minute in milliseconds.
pub const MINUTE_MS: i64 = 60 * SECOND_MS;
/// One hour in milliseconds.
pub const HOUR_MS: i64 = 60 * MINUTE_MS;

/// A point in time: milliseconds since 1970-01-01T00:00:00Z. Elapsed time is plain subtraction.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Instant(pub i64);

impl Instant {
    /// Later than anything an entry can say; ends what has no end yet.
    pub const FAR: Instant = Instant(i64::MAX / 4);
    /// Earlier than anything an entry can say.
    pub const NEVER: Instant = Instant(i64::MIN / 4);

    /// Reads RFC 3339 with an offset; what is finer than a millisecond is cut, never rounded up.
    /// `None` if it isn't one, or lies outside the years 1970 to 8999.
    pub fn parse(text: &str) -> Option<Instant> {
        let ms = match utc_ms(text.as_bytes()) {
            Some(ms) => ms,
            None => OffsetDateTime::parse(text, &Rfc3339).ok()?.unix_timestamp_nanos().div_euclid(1_000_000) as i64,
        };
        (0..221_845_392_000_000).contains(&ms).then_some(Instant(ms))
    }

    /// This instant `ms` milliseconds later.
    pub fn plus(self, ms: i64) -> Instant {
        Instant(self.0.saturating_add(ms).min(Self::FAR.0))
    }

    /// The next whole minute, or this instant if it is one: for times before which something may not be.
    pub fn up_to_minute(self) -> Instant {
        Instant(-(-self.0).div_euclid(MINUTE_MS) * MINUTE_MS)
    }

    /// Milliseconds from `earlier` to this instant.
    pub fn since(self, earlier: Instant) -> i64 {
        self.0 - earlier.0
    }
}

/// Reads `2026-05-02T15:20:00Z` and `2026-05-02T15:20:00.000Z`, the forms a ledger keeps, several times faster than
/// the general reader. `None` for every other form and every doubtful value: those are the general reader's.
pub fn utc_ms(b: &[u8]) -> Option<i64> {
    let (whole, part) = b.split_at_checked(19)?;
    let shape = |i: usize, c: u8| whole[i] == c;
    if !(shape(4, b'-') && shape(7, b'-') && shape(10, b'T') && shape(13, b':') && shape(16, b':')) {
        return None;
    }
    let number =
        |digits: &[u8]| digits.iter().try_fold(0_i64, |n, d| d.is_ascii_digit().then(|| n * 10 + i64::from(d - b'0')));
    let (year, month, day) = (number(&whole[..4])?, number(&whole[5..7])?, number(&whole[8..10])?);
    let (hour, minute, second) = (number(&whole[11..13])?, number(&whole[14..16])?, number(&whole[17..19])?);
    let ms = match part {
        [b'Z'] => 0,
        [b'.', a, b, c, b'Z'] => number(&[*a, *b, *c])?,
        _ => return None,
    };
    // A leap day and a leap second are for the general reader to judge.
    const LENGTHS: [i64; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    let length = *LENGTHS.get(usize::try_from(month - 1).ok()?)?;
    if !((1..=length).contains(&day) && hour < 24 && minute < 60 && second < 60 && year >= 1970) {
        return None;
    }
    // Days since 1970, the year beginning in March so that a leap day is its last.
    let (y, m) = if month > 2 { (year, month - 3) } else { (year - 1, month + 9) };
    let days = y * 365 + y / 4 - y / 100 + y / 400 + (153 * m + 2) / 5 + day - 1 - 719_468;
    Some(((days * 24 + hour) * 60 + minute) * MINUTE_MS + second * SECOND_MS + ms)
}

impl fmt::Display for Instant {
    /// RFC 3339 in UTC with exactly three decimals: `2026-05-02T15:20:00.000Z`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Ok(t) = OffsetDateTime::from_unix_timestamp(self.0.div_euclid(1000)) else {
            return write!(f, "{}ms", self.0);
        };
        let (d, c) = (t.date(), t.time());
        write!(
            f,
            "{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.{:03}Z",
            d.year(),
            u8::from(d.month()),
            d.day(),
            c.hour(),
            c.minute(),
            c.second(),
            self.0.rem_euclid(1000)
        )
    }
}

impl fmt::Debug for Instant {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl serde::Serialize for Instant {
    fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

impl<'de> serde::Deserialize<'de> for Instant {
    fn deserialize<D: serde::Deserializer<'de>>(d: D) -> Result<Instant, D::Error> {
        struct V;
        impl serde::de::Visitor<'_> for V {
            type Value = Instant;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a time as RFC 3339 with offset, like \"2026-05-02T15:20:00+02:00\"")
            }
            fn visit_str<E: serde::de::Error>(self, s: &str) -> Result<Instant, E> {
                Instant::parse(s).ok_or_else(|| {
                    E::custom(format_args!("bad-time|`{}` is not a time", s.chars().take(40).collect::<String>()))
                })
            }
        }
        d.deserialize_str(V)
    }
}

/// Where the program gets its time from. The test clock stands still until it is set.
#[derive(Clone, Default)]
pub enum Clock {
    /// The machine's own clock.
    #[default]
    System,
    /// A clock that tests set by hand (milliseconds).
    Fixed(Arc<AtomicI64>),
    /// The machine's, ahead by what a file says (milliseconds): for tests of the whole program.
    Ahead(Arc<PathBuf>),
}

impl Clock {
    /// The machine's own, unless a test names a file that puts it ahead.
    pub fn of_env() -> Clock {
        match std::env::var_os("COUNTERCLOCK_TEST_CLOCK") {
            Some(file) => Clock::Ahead(Arc::new(file.into())),
            None => Clock::System,
        }
    }

    /// The present instant.
    pub fn now(&self) -> Instant {
        match self {
            Clock::Ahead(file) => {
                let ahead = std::fs::read_to_string(&**file).ok().and_then(|text| text.trim().parse().ok());
                Clock::System.now().plus(ahead.unwrap_or(0))
            }
            Clock::System => {
                let d = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
                Instant(d.map_or(0, |d| d.as_millis() as i64))
            }
            Clock::Fixed(ms) => Instant(ms.load(Ordering::SeqCst)),
        }
    }

    /// Milliseconds that only run on, however the clock is set: told apart from it, they show that it jumped.
    pub fn steady_ms() -> i64 {
        static BEGUN: LazyLock<std::time::Instant> = LazyLock::new(std::time::Instant::now);
        BEGUN.elapsed().as_millis() as i64
    }
}
