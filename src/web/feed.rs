//! The feed of a shop: every entry that is written and what time alone brings, handed to whoever listens.
//!
//! One task a shop is woken by the shop's own writer, by `servers` where other servers have written, and looks up every `LOOK`
//! besides; the table is read, never what a wake-up may have said.

use super::service::{Fault, Inner, Service};
use super::soundness::needed;
use super::timekeeper::Timekeeper;
use crate::board::due::{Turn, What};
use crate::clock::{Instant, MINUTE_MS};
use crate::ledger::Id;
use crate::store::writer::Shop;
use crate::store::{StoreError, due, ledger as sql};
use axum::body::Bytes;
use serde_json::json;
use std::collections::{HashMap, HashSet};
use std::sync::{Arc, Mutex, OnceLock, RwLock, Weak};
use std::time::Duration;
use tokio::sync::{OwnedSemaphorePermit, Semaphore, broadcast, watch};

/// How often a shop's feed looks up by itself: this project's choice, a quarter of the half second in which a change
/// is to be seen on every screen.
pub(super) const LOOK: Duration = Duration::from_millis(125);
/// Pieces kept for listeners that are a little behind; whoever is further behind reads the table.
const RING: usize = 1_024;
/// Entries read from the table at a time.
pub const PAGE: u32 = 200;
/// Listeners a shop has at most.
pub const LISTENERS: usize = 1_000;
/// How often a stream says that it is there; a page that hears nothing for ten seconds says so.
const BEAT: Duration = Duration::from_secs(4);

/// A piece of a stream, made once for everybody.
#[derive(Clone, Debug)]
pub struct Piece {
    /// The entry's number; 0 for what time alone brings.
    pub seq: u64,
    /// Ready to be sent.
    pub bytes: Bytes,
}

/// A shop's feed.
pub struct Feed {
    ring: broadcast::Sender<Piece>,
    places: Arc<Semaphore>,
    /// How far the ledger reaches in the database, as far as was heard.
    reaches: watch::Sender<u64>,
}

impl Feed {
    fn new() -> Feed {
        let (ring, places) = (broadcast::channel(RING).0, Arc::new(Semaphore::new(LISTENERS)));
        Feed { ring, places, reaches: watch::channel(0).0 }
    }

    /// Hears how far the ledger reaches.
    pub(super) fn hear(&self, head: u64) {
        self.reaches.send_if_modified(|known| {
            let further = head > *known;
            *known = head.max(*known);
            further
        });
    }

    /// A place to listen from; none if there are too many listeners.
    pub fn listen(&self) -> Option<(broadcast::Receiver<Piece>, OwnedSemaphorePermit)> {
        let place = self.places.clone().try_acquire_owned().ok()?;
        Some((self.ring.subscribe(), place))
    }

    /// How many listen.
    pub fn listening(&self) -> usize {
        LISTENERS - self.places.available_permits()
    }

    fn tell(&self, seq: u64, text: String) {
        // Nobody may be listening.
        _ = self.ring.send(Piece { seq, bytes: text.into() });
    }
}

/// An entry as a piece of a stream.
pub fn entry(seq: u64, line: &str) -> String {
    format!("id: {seq}\ndata: {line}\n\n")
}

/// What time alone brings, as a piece of a stream. It has no `id:`, nobody can ask for it again.
fn timed(subject: &Id, turn: &Turn) -> String {
    let at = turn.at;
    let data = match turn.what {
        What::Limit(t) => {
            let limit_at = at.plus(t.minutes * crate::clock::MINUTE_MS);
            json!({"item": subject, "verdict": t.verdict, "minutes": t.minutes, "at": at, "limit_at": limit_at})
        }
        What::Unmarked => json!({"item": subject, "unmarked": true, "at": at}),
        What::Lapse(why) => json!({"place": subject, "lapse": why.code(), "at": at}),
    };
    format!("event: due\ndata: {data}\n\n")
}

/// Every shop's feed, and when they end.
pub struct Feeds {
    feeds: RwLock<HashMap<String, Arc<Feed>>>,
    /// Shops whose feed is followed; `None` until the first is asked for.
    followed: Mutex<Option<HashSet<String>>>,
    beat: OnceLock<Duration>,
    stopping: watch::Sender<bool>,
}

impl Default for Feeds {
    fn default() -> Feeds {
        let (feeds, followed) = (RwLock::default(), Mutex::default());
        Feeds { feeds, followed, beat: OnceLock::new(), stopping: watch::channel(false).0 }
    }
}

impl Service {
    /// A shop's feed.
    pub fn feed(&self, site: &str) -> Arc<Feed> {
        if let Some(known) = self.0.feeds.feeds.read().unwrap_or_else(|e| e.into_inner()).get(site) {
            return known.clone();
        }
        let mut feeds = self.0.feeds.feeds.write().unwrap_or_else(|e| e.into_inner());
        feeds.entry(site.to_owned()).or_insert_with(|| Arc::new(Feed::new())).clone()
    }

    /// Follows every shop from now on, those yet to be made too. Only a server does: two programs that both told what
    /// is due would each tell a part of it.
    pub fn follow_all(&self) {
        self.0.feeds.followed.lock().unwrap_or_else(|e| e.into_inner()).get_or_insert_default();
        self.look_at_others();
        self.sites().iter().for_each(|site| self.follow(site));
    }

    pub(super) fn follow(&self, site: &str) {
        let mut followed = self.0.feeds.followed.lock().unwrap_or_else(|e| e.into_inner());
        let new = followed.as_mut().is_some_and(|f| f.insert(site.to_owned()));
        let Some(shop) = self.shop(site).ok().filter(|_| new) else { return };
        needed("feed", site, tokio::spawn(run(Arc::downgrade(&self.0), shop, self.feed(site))));
    }

    /// Tells this server's listeners when an item is meant to be moved next. Like what time brings it has no number.
    pub(super) fn tell_planned(&self, site: &str, item: &Id, at: Option<Instant>) {
        let data = json!({"item": item, "at": at});
        self.feed(site).tell(0, format!("event: planned\ndata: {data}\n\n"));
    }

    /// How often streams say that they are there. Once said, it stays.
    pub fn set_beat(&self, beat: Duration) {
        _ = self.0.feeds.beat.set(beat);
    }

    /// See [`Service::set_beat`].
    pub fn beat(&self) -> Duration {
        self.0.feeds.beat.get().copied().unwrap_or(BEAT)
    }

    /// Ends every stream: a stop waits for nobody who only listens.
    pub fn stop(&self) {
        self.0.feeds.stopping.send_replace(true);
    }

    /// Becomes true when the service stops.
    pub fn stopping(&self) -> watch::Receiver<bool> {
        self.0.feeds.stopping.subscribe()
    }

    /// A shop's lead times, in minutes before a limit, the longest first.
    pub async fn leads(&self, site: &str) -> Result<Vec<i64>, Fault> {
        let mut conn = self.0.db.reader().await?;
        Ok(due::leads(&mut conn, site).await?)
    }
}

/// Follows a shop's ledger and its clock until the service is gone.
async fn run(service: Weak<Inner>, shop: Shop, feed: Arc<Feed>) {
    let (mut woken, mut reaches) = (shop.woken(), feed.reaches.subscribe());
    let mut look = tokio::time::interval(LOOK);
    look.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    let keeper = Timekeeper::default();
    let mut follower = Follower { shop, feed, told: None, keeper, looked: None, well: true };
    loop {
        tokio::select! {
            _ = woken.changed() => {}
            _ = reaches.changed() => {}
            _ = look.tick() => {}
        }
        let Some(service) = service.upgrade().map(Service) else { return };
        let turn = follower.turn(&service).await;
        if let (Err(e), true) = (&turn, follower.well) {
            tracing::warn!(site = &*follower.shop.site, error = %e, "the ledger could not be followed; trying again");
        }
        follower.well = turn.is_ok();
    }
}

struct Follower {
    shop: Shop,
    feed: Arc<Feed>,
    /// The last entry told of; none before the first look.
    told: Option<u64>,
    keeper: Timekeeper,
    /// When it was looked for what nobody reported anything of.
    looked: Option<Instant>,
    well: bool,
}

impl Follower {
    async fn turn(&mut self, service: &Service) -> Result<(), StoreError> {
        let site = self.shop.site.clone();
        let mut head = self.shop.now().state.head;
        let reaches = *self.feed.reaches.borrow();
        if reaches > head {
            self.shop.refresh().await;
            head = reaches;
        }
        let mut at = *self.told.get_or_insert(head);
        // Nobody listens: whoever comes reads the table.
        if self.feed.ring.receiver_count() == 0 {
            at = at.max(head);
        }
        while at < head {
            let mut conn = service.0.db.reader().await?;
            let lines = sql::tail(&mut conn, &site, at, PAGE).await?;
            drop(conn);
            for (seq, line) in &lines {
                self.feed.tell(*seq, entry(*seq, line));
                at = *seq;
                self.told = Some(at);
            }
            if lines.is_empty() {
                break;
            }
        }
        self.told = Some(at);
        for (subject, turn) in self.keeper.turn(service, &self.shop).await? {
            self.feed.tell(0, timed(&subject, &turn));
        }
        let now = service.now();
        if self.looked.is_none_or(|at| now.since(at).abs() >= MINUTE_MS) {
            self.looked = Some(now);
            service.close_unreported(&self.shop).await?;
        }
        Ok(())
    }
}
