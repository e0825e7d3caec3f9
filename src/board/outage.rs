//! What a health department publishes for food after a power cut, as a table to read: guidance beside what the shop's
//! own rules say, and no rule of this program's.
//!
//! Washington State Department of Health, for food that was at or below 41 °F when the power went: by how long it was
//! out, and by how warm the food itself is by then. It is published in whole degrees (45 or less, 46 to 50, 51 or more)
//! and whole hours; whatever lies between two of them is taken for the warmer, and the longer.

use crate::clock::HOUR_MS;
use crate::ledger::{Temperature, Unit};

/// How cold the food has to have been when the power went.
pub const FROM: Temperature = fahrenheit(41);

/// Up to which temperature of the food the first two columns go; the third is all above.
pub const UP_TO: [Temperature; 2] = [fahrenheit(45), fahrenheit(50)];

/// At which time out the second and the third row begin, in milliseconds.
pub const FROM_MS: [i64; 2] = [2 * HOUR_MS, 4 * HOUR_MS];

/// Whether it may be sold, row by row.
pub const SELL: [[bool; 3]; 3] = [[true, true, true], [true, true, false], [true, false, false]];

/// The row of so long a time out.
pub fn row(out_ms: i64) -> usize {
    FROM_MS.iter().filter(|from| out_ms >= **from).count()
}

const fn fahrenheit(degrees: i32) -> Temperature {
    Temperature { tenths: degrees * 10, unit: Unit::F }
}
