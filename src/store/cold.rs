//! The statements of the cold of places: how each is watched, where probes are tied, and the air as far back as needed.

use super::{Conn, Lines, StoreError, exec, load, rows};
use crate::board::cold::{Air, READINGS_MOST, Series, Watch, Watched};
use crate::clock::Instant;
use crate::ledger::{Control, Id, Place, State, Temperature, Unit};

const WATCHES: &str =
    "select place, limit_tenths, limit_unit, grace_minutes, silent_minutes from watch where site = $1";
const SET: &str = "insert into watch (site, place, limit_tenths, limit_unit, grace_minutes, silent_minutes)
    values ($1, $2, $3, $4, $5, $6) on conflict (site, place) do update set limit_tenths = excluded.limit_tenths,
    limit_unit = excluded.limit_unit, grace_minutes = excluded.grace_minutes, silent_minutes = excluded.silent_minutes";
const UNSET: &str = "delete from watch where site = $1 and place = $2";
const TIED: &str = "select p.place, t.created_at, t.revoked_at from token_place p
    join token t on t.site = p.site and t.token = p.token where p.site = $1 order by p.place, t.created_at, t.token";
const AIR_BACK: &str = "select seq, air_at, line from entry where site = $1 and place = $2 and air_at is not null
    and (air_at, seq) < ($3, $4) order by air_at desc, seq desc limit $5";
// Neither index is any good here: what was written since is a short piece of the ledger's end.
const AIR_SINCE: &str = "select seq, line from entry where site = $1 and seq > $2 and seq <= $3
    and coalesce(air_at, target) is not null order by seq limit $4";

/// Readings read at a time.
const PAGE: usize = 1_000;

/// What is set about a shop's places.
pub async fn watched(conn: &mut Conn, site: &str) -> Result<Watched, StoreError> {
    let mut watched = Watched::default();
    for (place, tenths, unit, grace_min, silent_min) in rows!(conn, (String, i64, String, i64, i64), WATCHES, site)? {
        let unit = if unit == "F" { Unit::F } else { Unit::C };
        let limit = Temperature { tenths: tenths as i32, unit };
        watched.own.extend(Id::new(&place).map(|place| (place, Watch { limit, grace_min, silent_min })));
    }
    for (place, from, to) in rows!(conn, (String, i64, Option<i64>), TIED, site)? {
        let Some(place) = Id::new(&place) else { continue };
        watched.tied.entry(place).or_default().push((Instant(from), to.map(Instant)));
    }
    Ok(watched)
}

/// Sets how a place is watched; none is as the program has it.
pub async fn set(conn: &mut Conn, site: &str, place: &Id, watch: Option<&Watch>) -> Result<(), StoreError> {
    let Some(Watch { limit, grace_min, silent_min }) = watch else {
        exec!(conn, UNSET, site, place.as_str())?;
        return Ok(());
    };
    let unit = if limit.unit == Unit::F { "F" } else { "C" };
    exec!(conn, SET, site, place.as_str(), i64::from(limit.tenths), unit, grace_min, silent_min)?;
    Ok(())
}

/// Readings of the air that were written after one entry and up to another, and corrections of anything.
pub async fn air_since(
    conn: &mut Conn,
    site: &str,
    after: u64,
    upto: u64,
    most: usize,
) -> Result<Vec<(u64, String)>, StoreError> {
    let found = rows!(conn, (i64, String), AIR_SINCE, site, after as i64, upto as i64, most as i64)?;
    Ok(found.into_iter().map(|(seq, line)| (seq as u64, line)).collect())
}

/// The air of a shop's cold places: of each back to `horizon`, and to the last good reading before that.
pub async fn air(
    conn: &mut Conn,
    site: &str,
    state: &State,
    watched: &Watched,
    horizon: Instant,
) -> Result<Air, StoreError> {
    let mut air = Air { head: state.head, ..Air::default() };
    for place in state.places.values().filter(|p| p.control != Control::None) {
        air.places.insert(place.place.clone(), series(conn, site, state, (place, watched), horizon).await?);
    }
    Ok(air)
}

async fn series(
    conn: &mut Conn,
    site: &str,
    state: &State,
    (place, watched): (&Place, &Watched),
    horizon: Instant,
) -> Result<Series, StoreError> {
    let (id, watch) = (&place.place, watched.of(place));
    // On a copy, which has what was corrected.
    let (mut state, mut before, mut read) = (state.clone(), (Instant::FAR.0, i64::MAX), 0);
    loop {
        let found = rows!(conn, (i64, i64, String), AIR_BACK, site, id.as_str(), before.0, before.1, PAGE as i64)?;
        let all = found.len() < PAGE;
        read += found.len();
        before = found.last().map_or(before, |(seq, at, _)| (*at, *seq));
        let lines: Lines = found.into_iter().map(|(seq, _, line)| (seq as u64, line)).collect();
        load::put(site, &mut state, &lines)?;
        let series = Series::of(&state, id);
        if all {
            return Ok(series);
        }
        // What was corrected is at hand however long ago it was.
        let mut series = Series { whole_from: Instant(before.0), ..series };
        let early: Vec<(Instant, u64)> = series.readings.range(..(series.whole_from, 0)).map(|(k, _)| *k).collect();
        early.iter().for_each(|key| _ = series.readings.remove(key));
        if read >= READINGS_MOST || series.reaches(&watch, horizon) {
            return Ok(series);
        }
    }
}
