//! Readings of a place's air as they are written: the same one sent again, and one that no air can have made.

use super::refusal::AIR_JUMP;
use super::{Body, Entry, Place, Refusal, Temperature};
use crate::clock::{HOUR_MS, Instant};

/// A probe's reading this far from the place's last one is its fault, not the air's: 60 °C, on the exact scale. This
/// project's choice: far more than an open door or a defrosting makes.
pub const JUMP: i64 = 60 * 10 * 9;
/// Within this of it, milliseconds.
pub const JUMP_WITHIN_MS: i64 = HOUR_MS;

/// The number of the reading that is this one already, as it was first written: a probe that got no answer sends it
/// again. Whatever was corrected in it stays corrected.
pub(super) fn known(place: &Place, e: &Entry) -> Option<u64> {
    let Body::AirReading { .. } = e.body else { return None };
    let then = place.air.range((e.at, 0)..=(e.at, u64::MAX)).map(|((_, seq), _)| *seq);
    let mut there = then.chain(place.odd_air.corrected.iter().copied());
    there.find(|seq| {
        let original = place.records.get(seq).map(|r| &r.original);
        original.is_some_and(|o| o.at == e.at && o.body == e.body && o.note == e.note)
    })
}

/// Refuses what lies too far from the place's reading before it.
pub(super) fn possible(place: &Place, e: &Entry) -> Result<(), Refusal> {
    let Body::AirReading { value, .. } = e.body else { return Ok(()) };
    let Some((at, before)) = before(place, e.at) else { return Ok(()) };
    if (value.exact() - before.exact()).abs() < JUMP || e.at.since(at) > JUMP_WITHIN_MS {
        return Ok(());
    }
    let said = format!(
        "`{}` was read at {before} {:?} at {at}, and is to be {value} {:?} at {}.",
        place.place, before.unit, value.unit, e.at
    );
    Err(Refusal::new(&AIR_JUMP, said))
}

/// The last reading up to an instant, of those that were written as this place's.
fn before(place: &Place, t: Instant) -> Option<(Instant, Temperature)> {
    let value = |(at, seq): (Instant, u64)| match place.records.get(&seq)?.effective(u64::MAX).ok()??.body {
        Body::AirReading { value, .. } => Some((at, value)),
        _ => None,
    };
    place.air.range(..=(t, u64::MAX)).rev().find_map(|(key, _)| value(*key))
}
