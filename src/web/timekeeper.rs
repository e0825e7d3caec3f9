//! Keeps a shop's `due` table in step with its standings, and says what is due.
//!
//! It can be worked out again at any time: after a start, and wherever the ledger moved on, only what differs is
//! written. The row is taken by one server alone; each server tells its own listeners.

use super::service::Service;
use crate::board::cold::{self, Air, Watched};
use crate::board::due::{Turn, What, ahead};
use crate::clock::{Instant, MINUTE_MS, Zone};
use crate::exposure::Fold;
use crate::ledger::{Id, State};
use crate::notice::{compose, sql as notices};
use crate::record::marking::Marking;
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

/// An item or a place: whether it is a place, and its id.
type Subject = (bool, Id);

/// What a shop's table holds, and what of it is yet to be told.
#[derive(Default)]
pub(super) struct Timekeeper {
    known: Option<BTreeMap<Subject, Vec<Known>>>,
    /// The last entry that was taken into account.
    head: u64,
    worked: Option<(Tick, Instant)>,
    /// How long that took.
    took: Duration,
    leads: Vec<i64>,
}

#[derive(Clone, Copy, PartialEq)]
struct Known {
    turn: Turn,
    told: bool,
}

/// How something stands, as far as time alone brings it: what it has come to, and what is to come.
struct Stands {
    of: Subject,
    verdict: Verdict,
    others: Vec<What>,
    ahead: Vec<Turn>,
}

impl Stands {
    /// Whether it has come to that; a time before a limit says nothing any more once it is over.
    fn holds(&self, what: What) -> bool {
        match what {
            What::Limit(t) => t.minutes == 0 && t.verdict <= self.verdict,
            other => self.others.contains(&other),
        }
    }
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
            self.work(service, &shop.site, published, now, (old, reached)).await?;
        }
        let mut due = Vec::new();
        for ((_, id), all) in self.known.iter().flatten() {
            due.extend(all.iter().filter(|k| !k.told && k.turn.at <= now).map(|k| (id.clone(), k.turn)));
        }
        if !due.is_empty() {
            let mut conn = db.writer().await?;
            conn.begin().await?;
            let taken = due::take(&mut conn, &shop.site, now).await?;
            // What is to be sent of it is written with it: whoever took the row posts it, and once.
            let targets = notices::targets(&mut conn, &shop.site).await?;
            let (state, site) = (&shop.now().state, &shop.site);
            let zone = state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
            for (subject, turn) in &taken {
                let compose = || compose::due(state, site, subject, *turn, now);
                notices::tell(&mut conn, site, &targets, (zone, now), compose).await?;
            }
            conn.commit().await?;
        }
        let known = self.known.iter_mut().flatten().flat_map(|(_, all)| all);
        known.filter(|k| k.turn.at <= now).for_each(|k| k.told = true);
        due.sort_by_key(|(id, turn)| (turn.at, id.clone()));
        Ok(due)
    }

    /// Those of which something is reached by now: what comes after it is to be worked out.
    fn reached(&self, now: Instant) -> Vec<Subject> {
        let reached = |all: &[Known]| all.iter().any(|k| !k.told && k.turn.at <= now);
        self.known.iter().flatten().filter(|(_, all)| reached(all)).map(|(id, _)| id.clone()).collect()
    }

    async fn work(
        &mut self,
        service: &Service,
        site: &str,
        published: Arc<Published>,
        now: Instant,
        (all, reached): (bool, Vec<Subject>),
    ) -> Result<(), StoreError> {
        let (begun, db) = (Tick::now(), &service.0.db);
        let mut conn = db.reader().await?;
        let leads = due::leads(&mut conn, site).await?;
        drop(conn);
        let known = self.known.get_or_insert_default();
        let (head, since) = (published.state.head, self.head);
        let all = all || leads != self.leads || published.all_changed > since;
        // What is written about the air of one place may change every standing, so all of it is worked out anew then.
        let of: HashSet<Subject> = match all {
            true => {
                let items = published.state.items.keys().map(|id| (false, id.clone()));
                let places = published.state.places.keys().map(|id| (true, id.clone()));
                known.keys().cloned().chain(items).chain(places).collect()
            }
            false => {
                let changed = published.changed.iter().filter(|(_, seq)| **seq > since);
                changed.map(|(id, _)| (false, id.clone())).chain(reached).collect()
            }
        };
        let air = match of.iter().any(|(place, _)| *place) {
            true => service.air(site, &published.state, now).await?,
            false => Default::default(),
        };
        let asked = leads.clone();
        let stand = tokio::task::spawn_blocking(move || stand(&published.state, &air, now, of, &asked)).await;
        let (mut gone, mut new, mut next) = (Vec::new(), Vec::new(), Vec::new());
        for s in stand.map_err(|e| StoreError::Open(e.to_string()))? {
            let has = known.get(&s.of).map_or(&[][..], Vec::as_slice);
            // What was reached is told, though it lies behind by now.
            let over = |k: &Known| !k.told && k.turn.at <= now && s.holds(k.turn.what);
            let (kept, lost): (Vec<&Known>, Vec<&Known>) =
                has.iter().partition(|k| s.ahead.contains(&k.turn) || over(k));
            let fresh: Vec<Turn> = s.ahead.iter().filter(|t| kept.iter().all(|k| k.turn != **t)).copied().collect();
            gone.extend(lost.iter().map(|k| (s.of.1.clone(), k.turn)));
            new.extend(fresh.iter().map(|t| (s.of.1.clone(), *t)));
            let fresh = fresh.into_iter().map(|turn| Known { turn, told: false });
            next.push((s.of, kept.into_iter().copied().chain(fresh).collect::<Vec<Known>>()));
        }
        // What only comes at another time is written over.
        let again: HashSet<(Id, What)> = new.iter().map(|(id, t): &due::Row| (id.clone(), t.what)).collect();
        gone.retain(|(id, t): &due::Row| !again.contains(&(id.clone(), t.what)));
        let changes = gone.chunks(ROWS).map(|g| (g, &[][..])).chain(new.chunks(ROWS).map(|n| (&[][..], n)));
        for (gone, new) in changes {
            let mut conn = db.writer().await?;
            conn.begin().await?;
            due::change(&mut conn, site, gone, new).await?;
            conn.commit().await?;
        }
        for (of, list) in next {
            match list.is_empty() {
                true => known.remove(&of),
                false => known.insert(of, list),
            };
        }
        (self.head, self.leads, self.worked) = (head, leads, Some((Tick::now(), now)));
        self.took = begun.elapsed();
        Ok(())
    }
}

/// How each of these stands, and what time will bring to it.
fn stand(
    state: &State,
    (air, watched): &(Arc<Air>, Watched),
    now: Instant,
    of: HashSet<Subject>,
    leads: &[i64],
) -> Vec<Stands> {
    let zone = state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let fold = Fold::new(state, now, zone);
    let (places, items): (HashSet<Subject>, HashSet<Subject>) = of.into_iter().partition(|(place, _)| *place);
    let item = |of: Subject| {
        let there = state.items.get_key_value(&of.1).filter(|(_, i)| i.begin().is_some() && i.end().is_none());
        let Some(s) = there.and_then(|(id, _)| rules::standing(&fold, id)) else { return none(of) };
        let unmarked = Marking::of(state, &s).and_then(|m| m.unmarked_from);
        let others = unmarked.filter(|from| *from <= now).map(|_| What::Unmarked);
        let later = unmarked.filter(|from| *from > now).map(|at| Turn { what: What::Unmarked, at });
        let ahead = ahead(&s, leads).into_iter().map(Turn::from).chain(later);
        Stands { of, verdict: s.verdict, others: others.into_iter().collect(), ahead: ahead.collect() }
    };
    let mut cold = cold::look(state, air, watched, now);
    let place = |of: Subject| {
        let Some(i) = cold.iter().position(|c| c.place == of.1) else { return none(of) };
        let c = cold.swap_remove(i);
        let others = c.goes_on().map(|p| What::Lapse(p.why)).into_iter().collect();
        let ahead = c.next.iter().map(|(why, at)| Turn { what: What::Lapse(*why), at: *at }).collect();
        Stands { of, verdict: Verdict::Within, others, ahead }
    };
    let items: Vec<Stands> = items.into_iter().map(item).collect();
    items.into_iter().chain(places.into_iter().map(place)).collect()
}

/// Nothing that is there any more.
fn none(of: Subject) -> Stands {
    Stands { of, verdict: Verdict::Within, others: Vec::new(), ahead: Vec::new() }
}

async fn load(db: &Db, site: &str) -> Result<BTreeMap<Subject, Vec<Known>>, StoreError> {
    let mut conn = db.reader().await?;
    let mut known: BTreeMap<Subject, Vec<Known>> = BTreeMap::new();
    for ((id, turn), told) in due::all(&mut conn, site).await? {
        known.entry((turn.what.of_place(), id)).or_default().push(Known { turn, told });
    }
    Ok(known)
}
