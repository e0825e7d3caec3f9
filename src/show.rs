//! Times, spans and temperatures as people read them. Nothing here is rounded so that there seems to be more time.

use crate::clock::{HOUR_MS, Instant, MINUTE_MS, SECOND_MS, Zone};
use crate::lang;
use crate::ledger::{State, Temperature, Unit};
use time::{Month, OffsetDateTime, Weekday};

/// How a shop reads times and temperatures.
#[derive(Clone, Copy)]
pub struct Show {
    /// Its calendar.
    pub zone: Zone,
    /// What its thermometers read.
    pub units: Unit,
    /// The server's now: what "today" is.
    pub now: Instant,
}

impl Show {
    /// As the shop of this ledger reads them.
    pub fn of(state: &State, now: Instant) -> Show {
        let site = state.site.as_deref();
        Show { zone: site.map_or(Zone::UTC, |s| s.zone), units: site.map_or(Unit::C, |s| s.units), now }
    }

    /// `14:30`: wall time, cut to the minute downwards.
    pub fn time(&self, t: Instant) -> String {
        let t = self.zone.local(t);
        format!("{:02}:{:02}", t.hour(), t.minute())
    }

    /// The local date in words, unless it is today's.
    pub fn other_day(&self, t: Instant) -> Option<String> {
        (self.zone.day(t) != self.zone.day(self.now)).then(|| self.date(t))
    }

    /// `Sat 2 May`.
    pub fn date(&self, t: Instant) -> String {
        let t = self.zone.local(t);
        lang::date(&t.day().to_string(), month(t), weekday(t))
    }

    /// `Sat`.
    pub fn weekday(&self, t: Instant) -> &'static str {
        weekday(self.zone.local(t))
    }

    /// `Fri 8 May` for `2026-05-08`.
    pub fn date_of(&self, text: &str) -> String {
        let day = Zone::parse_date(text);
        day.map_or_else(|| text.to_owned(), |d| self.date(self.zone.day_starts(d).plus(12 * HOUR_MS)))
    }

    /// `14:30`, with its date where that isn't today.
    pub fn clock(&self, t: Instant) -> String {
        match self.other_day(t) {
            None => self.time(t),
            Some(date) => lang::date_time(&date, &self.time(t)),
        }
    }

    /// `Sat 2 May, 14:30`: for what is read on another day too.
    pub fn dated(&self, t: Instant) -> String {
        lang::date_time(&self.date(t), &self.time(t))
    }

    /// `2026-05-02 14:30:05 +01:00`: for a record, which is read on another day; cut to the second.
    pub fn stamp(&self, t: Instant) -> String {
        let l = self.zone.local(t);
        let (h, m, _) = l.offset().as_hms();
        let sign = if l.offset().is_negative() { '-' } else { '+' };
        let (day, month) = (l.day(), u8::from(l.month()));
        let (hour, minute, second) = (l.hour(), l.minute(), l.second());
        let zone = format!("{sign}{:02}:{:02}", h.abs(), m.abs());
        format!("{:04}-{month:02}-{day:02} {hour:02}:{minute:02}:{second:02} {zone}", l.year())
    }

    /// Time that is left: cut to the minute downwards.
    pub fn left(ms: i64) -> String {
        span(ms.max(0) / MINUTE_MS)
    }

    /// Time that was used: to the minute upwards.
    pub fn used(ms: i64) -> String {
        span(ceil(ms.max(0), MINUTE_MS))
    }

    /// `0:30:05` for seconds.
    pub fn seconds(s: i64) -> String {
        format!("{}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)
    }

    /// Lengths in whole seconds that add up to their sum, which is rounded up: each line is the difference of two
    /// rounded sums, so none is off by a second and all of them together never show less than was used.
    pub fn lines(lengths_ms: impl Iterator<Item = i64>) -> Vec<i64> {
        let mut sum = 0;
        let step = |ms| {
            let before = ceil(sum, SECOND_MS);
            sum += ms;
            ceil(sum, SECOND_MS) - before
        };
        lengths_ms.map(step).collect()
    }

    /// A temperature as it was read or written, and in the shop's unit where that is another, rounded up.
    pub fn degrees(&self, t: Temperature) -> String {
        let (written, other) = (degrees(t), self.converted(t));
        match other.map(|o| (o, o.exact() == t.exact())) {
            None => written,
            Some((o, true)) => lang::equals(&written, &degrees(o)),
            Some((o, false)) => lang::about(&degrees(o), &written),
        }
    }

    /// A limit, never shown higher than it is: converted only where that comes out even.
    pub fn limit(&self, t: Temperature) -> String {
        match self.converted(t).filter(|o| o.exact() == t.exact()) {
            Some(o) => lang::equals(&degrees(t), &degrees(o)),
            None => degrees(t),
        }
    }

    /// The warmest that the shop's thermometers can show without being above `t`.
    pub fn highest(&self, t: Temperature) -> Temperature {
        let tenths = match (t.unit == self.units, self.units) {
            (true, _) => i64::from(t.tenths),
            (false, Unit::C) => (t.exact() - 1600).div_euclid(9),
            (false, Unit::F) => t.exact().div_euclid(5),
        };
        Temperature { tenths: tenths as i32, unit: self.units }
    }

    /// The same with its unit.
    pub fn up_to(&self, t: Temperature) -> String {
        degrees(self.highest(t))
    }

    /// How far two temperatures are apart: no temperature itself, so it is never converted like one.
    pub fn apart(t: Temperature) -> String {
        degrees(t)
    }

    fn converted(&self, t: Temperature) -> Option<Temperature> {
        let tenths = match self.units {
            Unit::C => ceil(t.exact() - 1600, 9),
            Unit::F => ceil(t.exact(), 5),
        };
        (t.unit != self.units).then_some(Temperature { tenths: tenths as i32, unit: self.units })
    }

    /// The sign of the shop's unit.
    pub fn unit(&self) -> &'static str {
        match self.units {
            Unit::C => lang::unit_c(),
            Unit::F => lang::unit_f(),
        }
    }
}

/// With the language's decimal sign (CLDR: a comma in `es`).
pub fn decimal(value: &str) -> String {
    value.replace('.', lang::decimal_sign())
}

fn degrees(t: Temperature) -> String {
    match t.unit {
        Unit::C => lang::celsius(&decimal(&t.value())),
        Unit::F => lang::fahrenheit(&decimal(&t.value())),
    }
}

fn ceil(n: i64, by: i64) -> i64 {
    -(-n).div_euclid(by)
}

fn span(minutes: i64) -> String {
    let (h, m) = (minutes / 60, minutes % 60);
    match h {
        0 => lang::minutes(&m.to_string()),
        1..48 => lang::hours_minutes(&h.to_string(), &format!("{m:02}")),
        _ => lang::days_hours(&(h / 24).to_string(), &(h % 24).to_string()),
    }
}

fn weekday(t: OffsetDateTime) -> &'static str {
    match t.weekday() {
        Weekday::Monday => lang::monday(),
        Weekday::Tuesday => lang::tuesday(),
        Weekday::Wednesday => lang::wednesday(),
        Weekday::Thursday => lang::thursday(),
        Weekday::Friday => lang::friday(),
        Weekday::Saturday => lang::saturday(),
        Weekday::Sunday => lang::sunday(),
    }
}

fn month(t: OffsetDateTime) -> &'static str {
    match t.month() {
        Month::January => lang::january(),
        Month::February => lang::february(),
        Month::March => lang::march(),
        Month::April => lang::april(),
        Month::May => lang::may(),
        Month::June => lang::june(),
        Month::July => lang::july(),
        Month::August => lang::august(),
        Month::September => lang::september(),
        Month::October => lang::october(),
        Month::November => lang::november(),
        Month::December => lang::december(),
    }
}
