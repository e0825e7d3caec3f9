//! What handlers may ask about decisions and the day's review: whoever reads a shop may look at both.

use super::auth::Reads;
use super::service::{Fault, Look};
use crate::board::cold;
use crate::board::decisions::{BACK_MS, CLOSED_MOST, ENTRIES_MOST, Facts, Matter, UNREAD_MS, UNTAKEN_MOST, list};
use crate::clock::{HOUR_MS, Instant, JUMP_MS, MINUTE_MS, Zone};
use crate::ledger::{Id, Record};
use crate::record::procedure::{due, sql};
use crate::store::clock::{self, What};
use crate::store::{load, oversight, untaken};
use std::collections::{BTreeMap, BTreeSet};

/// Starts, stops and jumps of clocks looked through at most.
const JUMPS_MOST: u32 = 1_000;

/// The list, and the shop as it stood for it.
pub struct Oversight {
    /// The shop, with the closed items that the list names.
    pub look: Look,
    /// What needs a person.
    pub matters: Vec<Matter>,
    /// Whether all that was written in [`BACK_MS`] was looked at.
    pub whole: bool,
}

/// A day as it was written down.
pub struct Written {
    /// The shop, with the closed items that the day names.
    pub look: Look,
    /// The day's entries, by number, each with its corrections.
    pub entries: BTreeMap<u64, Record>,
    /// Whether all of [`BACK_MS`] was looked at.
    pub whole: bool,
}

impl Reads {
    /// Everything that needs a person now.
    pub async fn decisions(&self) -> Result<Oversight, Fault> {
        let mut look = self.look(&[]).await?;
        let (site, now, head) = (&self.site, look.now, look.state.head);
        let since = now.plus(-BACK_MS);
        let (air, watched) = self.service().air(site, &look.state, now).await?;
        let cold = cold::look(&look.state, &air, &watched, now);
        let mut conn = self.service().db().reader().await?;
        let (written, whole) = oversight::written(&mut conn, site, since, head, ENTRIES_MOST).await?;
        let closed = oversight::deviant(&mut conn, site, since, CLOSED_MOST).await?;
        let said = oversight::said(&mut conn, site, head).await?;
        load::items(&mut conn, site, &mut look.state, &closed).await?;
        load::air_back(&mut conn, site, &mut look.state, now.plus(-UNREAD_MS - HOUR_MS)).await?;
        load::put(site, &mut look.state, &said)?;
        let zone = look.state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
        let shelf = sql::shelf(&mut conn, site).await?.0;
        let untaken = untaken::all(&mut conn, site, UNTAKEN_MOST).await?;
        let whole = whole && untaken.len() < UNTAKEN_MOST;
        // A clock that was ahead has noted what is still to come.
        let notes = clock::notes(&mut conn, (since, Instant::FAR), JUMPS_MOST).await?;
        let whole = whole && notes.len() < JUMPS_MOST as usize;
        let jumped = |(_, what, ms): &(Instant, What, i64)| match what {
            What::Jump => true,
            // Started with a clock that was behind what any had said.
            What::Start => *ms <= -JUMP_MS,
            What::Stop => false,
        };
        let jumps = notes.into_iter().filter(jumped).map(|(at, _, ms)| (at, ms)).collect();
        let facts = Facts { written, procedure: due(&shelf, now, zone), cold, untaken, jumps };
        let matters = list(&look.state, now, &facts);
        // Their names are shown; those of items closed without a deviation aren't at hand yet.
        let named: BTreeSet<Id> = matters.iter().flat_map(|m| &m.of).filter_map(|o| o.item.clone()).collect();
        let named: Vec<Id> = named.into_iter().take(CLOSED_MOST).collect();
        load::items(&mut conn, site, &mut look.state, &named).await?;
        let whole = whole && closed.len() < CLOSED_MOST;
        Ok(Oversight { look, matters, whole })
    }

    /// How many lines the list has: worked out anew once an entry or a minute has come.
    pub async fn decisions_count(&self, head: u64) -> Result<usize, Fault> {
        let minute = self.service().now().0.div_euclid(MINUTE_MS);
        if let Some((.., count)) = self.service().counted(&self.site).filter(|(h, m, _)| (*h, *m) == (head, minute)) {
            return Ok(count);
        }
        let found = self.decisions().await?;
        self.service().note_count(&self.site, (found.look.state.head, minute, found.matters.len()));
        Ok(found.matters.len())
    }

    /// What was written lately, and what was said about it.
    pub async fn written(&self) -> Result<Written, Fault> {
        let mut look = self.look(&[]).await?;
        let (site, head, since): (_, _, Instant) = (&self.site, look.state.head, look.now.plus(-BACK_MS));
        let mut conn = self.service().db().reader().await?;
        let (entries, whole) = oversight::written(&mut conn, site, since, head, ENTRIES_MOST).await?;
        let said = oversight::said(&mut conn, site, head).await?;
        load::put(site, &mut look.state, &said)?;
        Ok(Written { look, entries, whole })
    }

    /// Brings items into what was looked at, so that they can be named.
    pub async fn name_items(&self, look: &mut Look, items: &[Id]) -> Result<(), Fault> {
        let mut conn = self.service().db().reader().await?;
        Ok(load::items(&mut conn, &self.site, &mut look.state, items).await?)
    }
}
