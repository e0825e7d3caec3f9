//! The clock room: instants, and the only place in the program that asks what time it is.

mod zone;

pub use zone::Zone;

use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
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
        let t = OffsetDateTime::parse(text, &Rfc3339).ok()?;
        let ms = t.unix_timestamp_nanos().div_euclid(1_000_000) as i64;
        (0..221_845_392_000_000).contains(&ms).then_some(Instant(ms))
    }

    /// This instant `ms` milliseconds later.
    pub fn plus(self, ms: i64) -> Instant {
        Instant(self.0.saturating_add(ms).min(Self::FAR.0))
    }

    /// Milliseconds from `earlier` to this instant.
    pub fn since(self, earlier: Instant) -> i64 {
        self.0 - earlier.0
    }
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
}

impl Clock {
    /// The present instant.
    pub fn now(&self) -> Instant {
        match self {
            Clock::System => {
                let d = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
                Instant(d.map_or(0, |d| d.as_millis() as i64))
            }
            Clock::Fixed(ms) => Instant(ms.load(Ordering::SeqCst)),
        }
    }
}
