//! What two loggers wrote by themselves: the walk-in through its failure, and the display case, which is a little too
//! warm just now.

use super::diary::{Diary, When};
use serde_json::json;

/// The loggers: what their readings call them, their names, and the place each measures.
pub const LOGGERS: [(&str, &str, &str); 2] =
    [("logger-1", "Logger in the walk-in", "walk-in"), ("logger-2", "Logger in the case", "case")];

/// Minutes from one reading to the next.
const EVERY: i64 = 15;
/// The walk-in every five minutes, from the breaker to the first good reading: tenths of a degree.
const FAILED: (When, [i64; 12]) = ((2, 4, 15), [44, 57, 68, 78, 87, 94, 99, 103, 86, 70, 58, 47]);
/// The case every six minutes up to now, its door not quite shut.
const WARM: (When, [i64; 9]) = ((2, 13, 9), [46, 52, 55, 57, 56, 58, 57, 59, 58]);

/// Their readings.
pub fn readings(d: &mut Diary) {
    // In and out of the cold, some tenths up and down.
    let steady = |n: i64| 31 + n * 7 % 5;
    for n in 0..=81 {
        let minutes = 17 * 60 + 40 + n * EVERY;
        let (day, minutes) = (1 + minutes / (24 * 60), minutes % (24 * 60));
        let failed = day == 2 && (4 * 60 + 10..5 * 60 + 15).contains(&minutes);
        if !failed {
            read(d, 0, (day, minutes / 60, minutes % 60), steady(n));
        }
    }
    for (n, tenths) in (0..).zip(FAILED.1) {
        read(d, 0, later(FAILED.0, n * 5), tenths);
    }
    for n in 0..10 {
        read(d, 1, later((2, 11, 54), n * 8), 44 + n * 3 % 4);
    }
    for (n, tenths) in (0..).zip(WARM.1) {
        read(d, 1, later(WARM.0, n * 6), tenths);
    }
}

fn later((day, hour, minute): When, minutes: i64) -> When {
    let minute = hour * 60 + minute + minutes;
    (day, minute / 60, minute % 60)
}

fn read(d: &mut Diary, which: usize, when: When, tenths: i64) {
    let (probe, _, place) = LOGGERS[which];
    let value = format!("{}.{}", tenths / 10, tenths % 10);
    d.put(when, json!({"kind": "reading", "place": place, "value": value, "unit": "C", "probe": probe}));
}
