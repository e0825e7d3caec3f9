//! The record room: the inspector's paper. What belongs to a stretch of dates, and its renderings.

pub mod csv;
pub mod label;
pub mod marking;
pub mod paper;
pub mod procedure;

use crate::clock::{Instant, Zone};
use crate::ledger::{About, Body, Id, State};
use crate::store::{Conn, Lines, StoreError, load, rows};
use std::collections::BTreeSet;

const ALIVE: &str =
    "select item from item where site = $1 and begun_at < $3 and (closed_at is null or closed_at >= $2)";
const OTHERS: &str =
    "select seq, line from entry where site = $1 and kind in ('decide', 'approve', 'review') order by seq";

/// What belongs to a stretch: whole ledger entries that `evaluate` can read alone.
pub struct Stretch {
    /// The entries, by `seq`.
    pub lines: Lines,
    /// The items that were there in the stretch.
    pub items: BTreeSet<Id>,
    /// From this instant.
    pub from: Instant,
    /// To before this one.
    pub to: Instant,
}

/// Gathers the entries of the items that were there on the local dates `from` to `to`, both included, with the
/// set-up, what they were made from, the places' cold and air, and what was decided about them.
pub async fn gather(conn: &mut Conn, site: &str, zone: Zone, from: i64, to: i64) -> Result<Stretch, StoreError> {
    let (from, to) = (zone.day_starts(from), zone.day_starts(to + 1));
    let alive = rows!(conn, (String,), ALIVE, site, from.0, to.0)?;
    let items: BTreeSet<Id> = alive.iter().filter_map(|r| Id::new(&r.0)).collect();
    let list: Vec<Id> = items.iter().cloned().collect();
    let mut lines = load::with_all(conn, site, &list, from).await?;
    let mut state = State::default();
    load::put(site, &mut state, &lines)?;
    let known = |id: &Id| state.items.contains_key(id) || state.places.contains_key(id);
    for (seq, line) in rows!(conn, (i64, String), OTHERS, site)? {
        let e = load::entry(site, seq as u64, &line)?;
        if !(from..to).contains(&e.at) {
            continue;
        }
        let mut own = Lines::from([(seq as u64, line)]);
        load::corrections(conn, site, seq as u64, &mut own).await?;
        // As it was written or as it reads now, it is about something here.
        let mut here = !matches!(e.body, Body::Decide { .. });
        for (seq, line) in &own {
            here |= match &load::entry(site, *seq, line)?.body {
                Body::Decide { about: About::Id(id), .. } => known(id),
                Body::Decide { about: About::Seq(seq), .. } => lines.contains_key(seq),
                Body::Correct { change, .. } => change.named().iter().any(known),
                _ => true,
            };
        }
        if here {
            lines.append(&mut own);
        }
    }
    load::named(conn, site, &mut lines).await?;
    Ok(Stretch { lines, items, from, to })
}
