//! What handlers may ask about the cold of places: how it stands, and what a lapse would mean.

use super::auth::Reads;
use super::fragments::Decided;
use super::service::{Fault, Look, Service};
use crate::board::cold::{self, Air, Cold, Watched};
use crate::board::decisions::BACK_MS;
use crate::board::what_if::{self, Affected, Lapse};
use crate::clock::Instant;
use crate::ledger::{Id, State};
use crate::store::{Conn, StoreError, cold as sql, ledger, load};
use std::sync::Arc;

/// Readings by which the air is brought up to date; where there are more it is read anew.
const TAIL: usize = 20_000;
/// Items that closed since a lapse began and are looked at at most.
pub const CLOSED_MOST: usize = 2_000;

/// How it stands about the cold.
pub struct ColdRoom {
    /// The shop.
    pub look: Look,
    /// Every cold or frozen place, in order of their ids.
    pub places: Vec<Cold>,
    /// Their air, as far back as it is looked at.
    pub air: Arc<Air>,
}

/// What lapses would mean.
pub struct WhatIf {
    /// The shop as it stands, with the closed items among them.
    pub look: Look,
    /// What they would change, most urgent first, what has ended last.
    pub affected: Vec<Affected>,
    /// Whether everything that closed since was looked at.
    pub whole: bool,
}

impl Service {
    /// The air of a shop's cold places, and what is set about them. It is kept in memory, and read on from where it was.
    pub(super) async fn air(&self, site: &str, state: &State, now: Instant) -> Result<(Arc<Air>, Watched), StoreError> {
        let horizon = now.plus(-BACK_MS);
        let mut conn = self.0.db.reader().await?;
        let watched = sql::watched(&mut conn, site).await?;
        let known = self.airs().get(site).cloned();
        if let Some(known) = known.as_ref().filter(|k| k.head >= state.head) {
            return Ok((known.clone(), watched));
        }
        let mut air = match known {
            Some(known) => go_on(&mut conn, site, &known, state).await?,
            None => None,
        };
        if air.is_none() {
            air = Some(sql::air(&mut conn, site, state, &watched, horizon).await?);
        }
        let mut air = air.unwrap_or_default();
        let ids: Vec<Id> = air.places.keys().cloned().collect();
        for id in ids {
            if let (Some(series), Some(place)) = (air.places.get_mut(&id), state.places.get(&id)) {
                series.trim(&watched.of(place), horizon);
            }
        }
        let air = Arc::new(air);
        self.airs().insert(site.to_owned(), air.clone());
        Ok((air, watched))
    }

    /// How it stands about the cold of a shop's places, but for what was decided to be none; and their air.
    pub(super) async fn cold(
        &self,
        site: &str,
        look: &Look,
        decided: &Decided,
    ) -> Result<(Vec<Cold>, Arc<Air>), Fault> {
        let (air, watched) = self.air(site, &look.state, look.now).await?;
        let mut places = cold::look(&look.state, &air, &watched, look.now);
        places.iter_mut().for_each(|c| c.proposals.retain(|p| !decided.dismisses(p)));
        Ok((places, air))
    }

    fn airs(&self) -> std::sync::MutexGuard<'_, std::collections::HashMap<String, Arc<Air>>> {
        self.0.airs.lock().unwrap_or_else(|e| e.into_inner())
    }
}

/// The air with what was written since; none where that is too much.
async fn go_on(conn: &mut Conn, site: &str, known: &Air, state: &State) -> Result<Option<Air>, StoreError> {
    let mut air = Air { head: state.head, places: known.places.clone() };
    let lines = sql::air_since(conn, site, known.head, state.head, TAIL).await?;
    if lines.len() >= TAIL {
        return Ok(None);
    }
    for (seq, line) in lines {
        air.take(state, &load::entry(site, seq, &line)?);
    }
    Ok(Some(air))
}

impl Reads {
    /// How it stands about the cold of every place. What somebody said was none is proposed no more.
    pub async fn cold(&self) -> Result<ColdRoom, Fault> {
        let look = self.look(&[]).await?;
        let decided = self.service().decided(&self.site, look.state.head).await?;
        let (places, air) = self.service().cold(&self.site, &look, &decided).await?;
        Ok(ColdRoom { look, places, air })
    }

    /// What these lapses would mean. Nothing is written; refused where the ledger would refuse the entries.
    pub async fn what_if(&self, lapses: &[Lapse]) -> Result<WhatIf, Fault> {
        let mut look = self.look(&[]).await?;
        let since = lapses.iter().map(|l| l.from).min().unwrap_or(look.now);
        let mut conn = self.service().db().reader().await?;
        let closed = ledger::closed_since(&mut conn, &self.site, since).await?;
        let whole = closed.len() <= CLOSED_MOST;
        let closed: Vec<Id> = closed.iter().take(CLOSED_MOST).filter_map(|id| Id::new(id)).collect();
        load::items(&mut conn, &self.site, &mut look.state, &closed).await?;
        drop(conn);
        let (state, now, mut lapses) = (look.state.clone(), look.now, lapses.to_vec());
        lapses.sort();
        lapses.dedup();
        // Thousands of items take a while: nobody else waits for them.
        let found = tokio::task::spawn_blocking(move || what_if::affected(&state, &lapses, now)).await;
        let affected = found.map_err(|_| Fault::NotRecorded)?.map_err(Fault::Refused)?;
        Ok(WhatIf { look, affected, whole })
    }
}
