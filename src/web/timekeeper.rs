//! Keeps a shop's `due` table in step with its standings, and says what is due.
//!
//! It can be worked out again at any time: after a start, and wherever the ledger moved on, only what differs is
//! written. The row is taken by one server alone; each server tells its own listeners.

use super::service::Service;
use crate::board::due::{Due, ahead};
use crate::clock::{Instant, MINUTE_MS, Zone};
use crate::exposure::Fold;
use crate::ledger::{Id, State};
use crate::rules::{self, Verdict};
use crate::store::writer::{Published, Shop};
use crate::store::{Db, StoreError, due};
use std::collections::{BTreeMap, HashSet};
use std::sync::Arc;
use std::time::Duration;
use tokio::time::Instant as Tick;

/// How long changes are gathered before what is due is worked out anew.
const GATHER: Duration = Duration::from_millis(250);
/// Working it out takes at most one part in so many of the time: where thousands of moves a second go on, it comes later.
const SHARE: u32 = 10;
/// Rows written at a time, so that nobody's tap waits for them.
const ROWS: usize = 100;
/// After so long all of it is worked out anew, entries or not: a reading of the air that no longer holds is none.
const ANEW_MS: i64 = MINUTE_MS;

/// What a shop's table holds, and what of it is yet to be told.
#[derive(Default)]
pub(super) struct Timekeeper {
    known: Option<BTreeMap<Id, Vec<Known>>>,
    /// The last entry that was taken into account.
    head: u64,
    worked: Option<(Tick, Instant)>,
    /// How long that took.
    took: Duration,
    leads: Vec<i64>,
}

#[derive(Clone, Copy, PartialEq)]
struct Known {
    due: Due,
    told: bool,
}

impl Timekeeper {
    /// Takes into account what has happened; what is due now, and wasn't told by this server.
    pub(super) async fn turn(&mut self, service: &Service, shop: &Shop) -> Result<Vec<due::Row>, StoreError> {
        let (db, now) = (&service.0.db, service.now());
        if self.known.is_none() {
            self.known = Some(load(db, &shop.site).await?);
        }
        let published = shop.now();
        let old = self.worked.is_none_or(|(_, at)| now.since(at).abs() >= ANEW_MS);
        let gathered = self.worked.is_none_or(|(tick, _)| tick.elapsed() >= GATHER.max(self.took * SHARE));
        let reached = self.reached(now);
        // Something may have been put back in time: nothing is told of a ledger that has moved on.
        if old || !reached.is_empty() || (gathered && published.state.head > self.head) {
            self.work(db, &shop.site, published, now, (old, reached)).await?;
        }
        let mut due = Vec::new();
        for (item, all) in self.known.iter().flatten() {
            due.extend(all.iter().filter(|k| !k.told && k.due.at <= now).map(|k| (item.clone(), k.due)));
        }
        if !due.is_empty() {
            let mut conn = db.writer().await?;
            conn.begin().await?;
            due::take(&mut conn, &shop.site, now).await?;
            conn.commit().await?;
        }
        let known = self.known.iter_mut().flatten().flat_map(|(_, all)| all);
        known.filter(|k| k.due.at <= now).for_each(|k| k.told = true);
        due.sort_by_key(|(item, d)| (d.at, item.clone()));
        Ok(due)
    }

    /// Items of which something is reached by now: what comes after it is to be worked out.
    fn reached(&self, now: Instant) -> Vec<Id> {
        let reached = |all: &[Known]| all.iter().any(|k| !k.told && k.due.at <= now);
        self.known.iter().flatten().filter(|(_, all)| reached(all)).map(|(id, _)| id.clone()).collect()
    }

    async fn work(
        &mut self,
        db: &Db,
        site: &str,
        published: Arc<Published>,
        now: Instant,
        (all, reached): (bool, Vec<Id>),
    ) -> Result<(), StoreError> {
        let begun = Tick::now();
        let mut conn = db.reader().await?;
        let leads = due::leads(&mut conn, site).await?;
        drop(conn);
        let known = self.known.get_or_insert_default();
        let (head, since) = (published.state.head, self.head);
        let all = all || leads != self.leads || published.all_changed > since;
        let ids: HashSet<Id> = match all {
            true => known.keys().chain(published.state.items.keys()).cloned().collect(),
            false => {
                let changed = published.changed.iter().filter(|(_, seq)| **seq > since);
                changed.map(|(id, _)| id.clone()).chain(reached).collect()
            }
        };
        let asked = leads.clone();
        let stand = tokio::task::spawn_blocking(move || stand(&published.state, now, ids, &asked)).await;
        let (mut gone, mut new, mut next) = (Vec::new(), Vec::new(), Vec::new());
        for (id, verdict, wants) in stand.map_err(|e| StoreError::Open(e.to_string()))? {
            let has = known.get(&id).map_or(&[][..], Vec::as_slice);
            // A limit that was reached is told, though it lies behind by now.
            let over = |k: &&Known| {
                !k.told && k.due.at <= now && k.due.threshold.minutes == 0 && k.due.threshold.verdict <= verdict
            };
            let (kept, lost): (Vec<&Known>, Vec<&Known>) = has.iter().partition(|k| wants.contains(&k.due) || over(k));
            let fresh: Vec<Due> = wants.into_iter().filter(|d| kept.iter().all(|k| k.due != *d)).collect();
            gone.extend(lost.iter().map(|k| (id.clone(), k.due)));
            new.extend(fresh.iter().map(|d| (id.clone(), *d)));
            let fresh = fresh.into_iter().map(|due| Known { due, told: false });
            next.push((id, kept.into_iter().copied().chain(fresh).collect::<Vec<Known>>()));
        }
        let changes = gone.chunks(ROWS).map(|g| (g, &[][..])).chain(new.chunks(ROWS).map(|n| (&[][..], n)));
        for (gone, new) in changes {
            let mut conn = db.writer().await?;
            conn.begin().await?;
            due::change(&mut conn, site, gone, new).await?;
            conn.commit().await?;
        }
        for (id, list) in next {
            match list.is_empty() {
                true => known.remove(&id),
                false => known.insert(id, list),
            };
        }
        (self.head, self.leads, self.worked) = (head, leads, Some((Tick::now(), now)));
        self.took = begun.elapsed();
        Ok(())
    }
}

/// How each of these items stands, and what time will bring to it.
fn stand(state: &State, now: Instant, ids: HashSet<Id>, leads: &[i64]) -> Vec<(Id, Verdict, Vec<Due>)> {
    let zone = state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let fold = Fold::new(state, now, zone);
    let of = |id: Id| {
        let there = state.items.get_key_value(&id).filter(|(_, i)| i.begin().is_some() && i.end().is_none());
        let standing = there.and_then(|(id, _)| rules::standing(&fold, id));
        let (verdict, due) = standing.map_or((Verdict::Within, Vec::new()), |s| (s.verdict, ahead(&s, leads)));
        (id, verdict, due)
    };
    ids.into_iter().map(of).collect()
}

async fn load(db: &Db, site: &str) -> Result<BTreeMap<Id, Vec<Known>>, StoreError> {
    let mut conn = db.reader().await?;
    let mut known: BTreeMap<Id, Vec<Known>> = BTreeMap::new();
    for ((item, due), told) in due::all(&mut conn, site).await? {
        known.entry(item).or_default().push(Known { due, told });
    }
    Ok(known)
}
