//! Local dates and wall time, for showing and for the calendar days of `day`; no limit is computed here.

use super::Instant;
use std::cell::RefCell;
use time::{Date, OffsetDateTime, UtcOffset};
use tz::TimeZoneRef;

/// How many hours' offsets a thread keeps.
const OFFSETS: usize = 256;

/// A zone's name, an hour since 1970, and the zone's offset in it, seconds.
type Hour = (&'static str, i64, i64);

thread_local! {
    /// By hour since 1970: the zone's name, the hour, seconds ahead of UTC all through it.
    static KNOWN: RefCell<[Option<Hour>; OFFSETS]> = const { RefCell::new([None; OFFSETS]) };
}

/// An IANA time zone.
#[derive(Clone, Copy)]
pub struct Zone {
    name: &'static str,
    rules: TimeZoneRef<'static>,
}

impl Zone {
    /// Coordinated universal time.
    pub const UTC: Zone = Zone { name: "UTC", rules: TimeZoneRef::utc() };

    /// The zone of that IANA name, as the built-in copy of the time zone database has it.
    pub fn named(name: &str) -> Option<Zone> {
        let rules = tzdb::tz_by_name(name)?;
        let name = tzdb::TZ_NAMES.iter().find(|n| n.eq_ignore_ascii_case(name))?;
        Some(Zone { name, rules })
    }

    /// Every name there is, of a place: without those that are only shifts from UTC, or kept for old programs.
    pub fn names() -> impl Iterator<Item = &'static str> {
        const REGIONS: [&str; 10] = [
            "Africa",
            "America",
            "Antarctica",
            "Arctic",
            "Asia",
            "Atlantic",
            "Australia",
            "Europe",
            "Indian",
            "Pacific",
        ];
        let of_place = |n: &&&str| n.split_once('/').is_some_and(|(region, _)| REGIONS.contains(&region));
        tzdb::TZ_NAMES.iter().filter(of_place).copied()
    }

    /// Its IANA name.
    pub fn name(&self) -> &'static str {
        self.name
    }

    fn offset_s(&self, unix_s: i64) -> i64 {
        // Looking an offset up takes longer than all else about a date, and most questions are about neighbouring hours.
        let hour = unix_s.div_euclid(3_600);
        let slot = (hour as usize) % OFFSETS;
        let known = KNOWN.with_borrow(|k| k[slot]);
        if let Some((zone, at, offset)) = known
            && at == hour
            && std::ptr::eq(zone, self.name)
        {
            return offset;
        }
        let find = |s: i64| self.rules.find_local_time_type(s).map_or(0, |t| i64::from(t.ut_offset()));
        // No clocks were ever changed twice within an hour.
        let (first, last) = (find(hour * 3_600), find(hour * 3_600 + 3_599));
        if first != last {
            return find(unix_s);
        }
        KNOWN.with_borrow_mut(|k| k[slot] = Some((self.name, hour, first)));
        first
    }

    /// The local date of an instant, as a count of days since 1970-01-01.
    pub fn day(&self, t: Instant) -> i64 {
        let s = t.0.div_euclid(1000);
        (s + self.offset_s(s)).div_euclid(86_400)
    }

    /// The first instant of a local date: midnight, or what comes first where the clocks skip it.
    pub fn day_starts(&self, day: i64) -> Instant {
        let (mut before, mut at) = (day * 86_400 - 100_000, day * 86_400 + 100_000);
        let offset = self.offset_s(before);
        if offset == self.offset_s(at) {
            // No clocks were ever changed and changed back within two days.
            return Instant((day * 86_400 - offset) * 1000);
        }
        while at - before > 1 {
            let mid = before + (at - before) / 2;
            if self.day(Instant(mid * 1000)) >= day { at = mid } else { before = mid }
        }
        Instant(at * 1000)
    }

    /// Wall time with its offset, for showing.
    pub fn local(&self, t: Instant) -> OffsetDateTime {
        let s = t.0.div_euclid(1000);
        let offset = UtcOffset::from_whole_seconds(self.offset_s(s) as i32).unwrap_or(UtcOffset::UTC);
        OffsetDateTime::from_unix_timestamp_nanos(i128::from(t.0) * 1_000_000)
            .unwrap_or(OffsetDateTime::UNIX_EPOCH)
            .to_offset(offset)
    }

    /// `2026-05-02` for a count of days.
    pub fn date_text(day: i64) -> String {
        match Date::from_julian_day((day + 2_440_588) as i32) {
            Ok(d) => format!("{:04}-{:02}-{:02}", d.year(), u8::from(d.month()), d.day()),
            Err(_) => String::from("9999-12-31"),
        }
    }

    /// The count of days for `2026-05-02`; `None` if it isn't a date.
    pub fn parse_date(text: &str) -> Option<i64> {
        let b = text.as_bytes();
        if b.len() != 10 || b[4] != b'-' || b[7] != b'-' {
            return None;
        }
        let n = |r: std::ops::Range<usize>| {
            text.get(r).filter(|s| s.bytes().all(|c| c.is_ascii_digit())).and_then(|s| s.parse::<u16>().ok())
        };
        let month = time::Month::try_from(n(5..7)? as u8).ok()?;
        let d = Date::from_calendar_date(i32::from(n(0..4)?), month, n(8..10)? as u8).ok()?;
        Some(i64::from(d.to_julian_day()) - 2_440_588)
    }
}

impl std::fmt::Debug for Zone {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name)
    }
}
