//! Whether a clock jumped: wall time against time that only runs on. Pure arithmetic.

use super::Instant;

/// What a clock may be off by between two looks before it is a jump, milliseconds. This project's choice: keeping a machine
/// on NTP slews by far less.
pub const JUMP_MS: i64 = 2_000;

/// A clock under watch.
#[derive(Clone, Copy, Debug)]
pub struct Watch {
    wall: Instant,
    steady_ms: i64,
}

impl Watch {
    /// From a first look: the time it shows, and how long the process has run by then.
    pub fn begin(wall: Instant, steady_ms: i64) -> Watch {
        Watch { wall, steady_ms }
    }

    /// Another look: how far it jumped since the last, forward or back, if it did.
    pub fn look(&mut self, wall: Instant, steady_ms: i64) -> Option<i64> {
        let off = wall.since(self.wall) - (steady_ms - self.steady_ms);
        *self = Watch { wall, steady_ms };
        (off.abs() >= JUMP_MS).then_some(off)
    }
}
