//! What handlers may ask of the shop: look at a ledger, write entries. They see neither SQL nor the writer.

use super::feed::Feeds;
use super::first_run::SettingUp;
use super::fragments::Fragments;
use super::proxies::Network;
use super::soundness::needed;
use crate::board::cold::Air;
use crate::clock::{Clock, Instant, SECOND_MS};
use crate::ledger::{Body, Entry, From, Id, Meta, Parsed, Refusal, State, parse, refusal};
use crate::notice::worker::Senders;
use crate::people::{Actor, Role, accesses, limits, sessions, tokens};
use crate::store::writer::{Asked, Done, Fail, Job, KEYS_MS, Published, Shop};
use crate::store::{Db, StoreError, ledger as sql, load};
use std::collections::HashMap;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, OnceLock, RwLock};
use tokio::sync::oneshot;

/// What PostgreSQL calls a text with a character that its encoding doesn't have.
const NO_TEXT: &str = "22021";

/// The site that exists from the first start.
pub const FIRST_SITE: &str = "shop";
/// How long a token found good is not looked up again.
const TRUST_MS: i64 = 5 * SECOND_MS;
/// Tokens remembered at most.
const REMEMBERED: usize = 10_000;

/// The shop as it stands, for pages and answers. `state` holds every open item, and of the closed ones those asked
/// for with all they were made from.
pub struct Look {
    /// The ledger.
    pub state: State,
    /// The server's now.
    pub now: Instant,
    /// What may have changed when.
    pub published: Arc<Published>,
}

impl Look {
    /// The last entry that may have changed an item's standing.
    pub fn changed(&self, id: &Id) -> u64 {
        self.published.changed.get(id).copied().unwrap_or(0).max(self.published.all_changed)
    }
}

/// Why nothing was written or read.
#[derive(Debug)]
pub enum Fault {
    /// The ledger refuses it.
    Refused(Refusal),
    /// The address names nothing.
    NotFound(&'static str),
    /// The role may not do that.
    Forbidden,
    /// Too many are waiting.
    Busy,
    /// A fault of the database: nothing was recorded.
    NotRecorded,
    /// The ledger was changed on the disk, and where: nothing is recorded in it until it is restored.
    Broken(String),
    /// The answer to the commit was lost: it may or may not be recorded. Send again with the same key.
    UnknownOutcome,
    /// An idempotency key came again with another body.
    KeyReused,
}

impl std::convert::From<StoreError> for Fault {
    fn from(e: StoreError) -> Fault {
        // PostgreSQL keeps no text with a zero in it: that is what was sent, not a fault.
        if let StoreError::Sql(sqlx::Error::Database(said)) = &e
            && said.code().is_some_and(|code| code == NO_TEXT)
        {
            return Fault::Refused(Refusal::new(&refusal::BAD_MEMBER, "A text holds a character that none can have."));
        }
        tracing::error!(error = %e, "the database could not be read");
        Fault::NotRecorded
    }
}

/// The shop's service: one for the process, cheap to clone.
#[derive(Clone)]
pub struct Service(pub(super) Arc<Inner>);

pub(super) struct Inner {
    pub(super) db: Db,
    clock: Clock,
    shops: RwLock<HashMap<String, Shop>>,
    known: Mutex<HashMap<String, Known>>,
    pub(super) verified: RwLock<HashMap<String, (u64, u64)>>,
    pub(super) broken: RwLock<HashMap<String, String>>,
    counts: Mutex<HashMap<String, Count>>,
    by_address: AtomicBool,
    address: OnceLock<String>,
    proxies: OnceLock<Vec<Network>>,
    pub(super) senders: OnceLock<Arc<Senders>>,
    pub(super) setting_up: Mutex<Option<SettingUp>>,
    pub(super) making: tokio::sync::Mutex<()>,
    opening: tokio::sync::Mutex<()>,
    pub(super) feeds: Feeds,
    pub(super) fragments: Fragments,
    pub(super) airs: Mutex<HashMap<String, Arc<Air>>>,
}

/// Who a token or sign-in was found to be, until when that isn't asked again, and when its use was last written down.
type Known = (Vec<Actor>, Instant, Option<Instant>);

/// The ledger's head and the minute at which the list of decisions was counted, and how many lines it had.
pub(super) type Count = (u64, i64, usize);

/// Who writes the server's own entries.
const SERVER: &str = "server";

impl Service {
    /// Opens every shop of a database. A writer that ends ends the process, with a sentence.
    pub async fn open(db: Db, clock: Clock) -> Result<Service, StoreError> {
        let sites = sql::sites(&mut db.reader().await?).await?;
        let inner = Inner {
            db,
            clock,
            shops: RwLock::default(),
            known: Mutex::default(),
            verified: RwLock::default(),
            broken: RwLock::default(),
            counts: Mutex::default(),
            by_address: AtomicBool::new(false),
            address: OnceLock::new(),
            proxies: OnceLock::new(),
            senders: OnceLock::new(),
            setting_up: Mutex::default(),
            making: tokio::sync::Mutex::default(),
            opening: tokio::sync::Mutex::default(),
            feeds: Feeds::default(),
            fragments: Fragments::default(),
            airs: Mutex::default(),
        };
        let service = Service(Arc::new(inner));
        for site in sites {
            service.open_shop(&site).await?;
        }
        Ok(service)
    }

    /// Opens a shop, if it is there and isn't open.
    pub(super) async fn open_shop(&self, site: &str) -> Result<(), StoreError> {
        // One after the other: a shop has one writer.
        let _one = self.0.opening.lock().await;
        if !self.has(site)
            && let Some((shop, task)) = Shop::start(self.0.db.clone(), site, self.0.clock.clone()).await?
        {
            needed("writer", site, task);
            self.0.shops.write().unwrap_or_else(|e| e.into_inner()).insert(site.to_owned(), shop);
            self.follow(site);
        }
        Ok(())
    }

    /// Adds a site with its first entry, unless it is there; says whether it was added.
    pub async fn add_site(&self, site: &str, entry: &str) -> Result<bool, Fault> {
        let mut conn = self.0.db.writer().await?;
        let added = sql::add_site(&mut conn, site).await?;
        drop(conn);
        if added {
            self.open_shop(site).await?;
            let first = parse(entry, From::Caller).map_err(Fault::Refused)?;
            let actor = Meta { by: Id::new(SERVER), ..Meta::default() };
            let first = Asked { entries: vec![first], actor, manager: true, probe: false, key: None };
            self.write_as(site, first).await?;
        }
        Ok(added)
    }

    /// Lets an address that carries a token sign in: for the demo alone.
    pub fn sign_in_by_address(&self) {
        self.0.by_address.store(true, Ordering::Relaxed);
    }

    /// Whether such an address signs in.
    pub fn signs_in_by_address(&self) -> bool {
        self.0.by_address.load(Ordering::Relaxed)
    }

    /// Says at which address phones reach the service; it ends in a slash. Once said, it stays.
    pub fn set_address(&self, address: &str) {
        _ = self.0.address.set(format!("{}/", address.trim_end_matches('/')));
    }

    /// That address, where it was said.
    pub fn address(&self) -> Option<String> {
        self.0.address.get().cloned()
    }

    /// Names the proxies that requests come through. Once said, it stays.
    pub fn trust_proxies(&self, proxies: Vec<Network>) {
        _ = self.0.proxies.set(proxies);
    }

    /// Those that were named.
    pub(super) fn proxies(&self) -> &[Network] {
        self.0.proxies.get().map_or(&[], Vec::as_slice)
    }

    /// Whether there is any site yet.
    pub fn is_empty(&self) -> bool {
        self.0.shops.read().unwrap_or_else(|e| e.into_inner()).is_empty()
    }

    pub(super) fn shop(&self, site: &str) -> Result<Shop, Fault> {
        let shops = self.0.shops.read().unwrap_or_else(|e| e.into_inner());
        shops.get(site).cloned().ok_or(Fault::NotFound("site"))
    }

    /// How many decisions a site waited for when they were last counted.
    pub(super) fn counted(&self, site: &str) -> Option<Count> {
        self.0.counts.lock().unwrap_or_else(|e| e.into_inner()).get(site).copied()
    }

    /// Notes that.
    pub(super) fn note_count(&self, site: &str, count: Count) {
        self.0.counts.lock().unwrap_or_else(|e| e.into_inner()).insert(site.to_owned(), count);
    }

    /// Has them counted anew: what isn't in the ledger has come.
    pub(super) fn forget_count(&self, site: &str) {
        self.0.counts.lock().unwrap_or_else(|e| e.into_inner()).remove(site);
    }

    /// Whether there is such a site.
    pub fn has(&self, site: &str) -> bool {
        self.0.shops.read().unwrap_or_else(|e| e.into_inner()).contains_key(site)
    }

    /// Every site's id.
    pub fn sites(&self) -> Vec<String> {
        let mut sites: Vec<String> = self.0.shops.read().unwrap_or_else(|e| e.into_inner()).keys().cloned().collect();
        sites.sort();
        sites
    }

    /// The database, for the pages that stream from it.
    pub fn db(&self) -> &Db {
        &self.0.db
    }

    /// The server's now.
    pub fn now(&self) -> Instant {
        self.0.clock.now()
    }

    /// The shop as it stands; `items` are wanted too if they are closed (an unknown one is simply not there).
    pub async fn look(&self, site: &str, items: &[Id]) -> Result<Look, Fault> {
        let shop = self.shop(site)?;
        if self.0.db.shared() {
            let mut conn = self.0.db.reader().await?;
            let head = sql::head(&mut conn, site).await?.ok_or(Fault::NotFound("site"))?;
            drop(conn);
            if shop.now().state.head < head.0 {
                shop.refresh().await;
            }
        }
        let published = shop.now();
        let mut state = published.state.clone();
        if items.iter().any(|i| !state.items.contains_key(i)) {
            let mut conn = self.0.db.reader().await?;
            load::items(&mut conn, site, &mut state, items).await?;
        }
        Ok(Look { state, now: self.now(), published })
    }

    /// Brings the air from an instant on into what was looked up.
    pub async fn air_since(&self, site: &str, look: &mut Look, from: Instant) -> Result<(), Fault> {
        let mut conn = self.0.db.reader().await?;
        Ok(load::air_back(&mut conn, site, &mut look.state, from).await?)
    }

    /// Writes entries, all or none; `key` makes a repeat harmless: it comes with the hash of what was asked.
    pub async fn write(
        &self,
        site: &str,
        actor: &Actor,
        entries: Vec<Parsed>,
        key: Option<(String, String)>,
    ) -> Result<Done, Fault> {
        let its_own = |b: &Body| matches!(b, Body::AirReading { place, .. } if actor.measures(place));
        match actor.role {
            Role::Staff | Role::Manager => {}
            Role::Probe if entries.iter().flat_map(|p| &p.bodies).all(its_own) => {}
            Role::Probe | Role::Inspector => return Err(Fault::Forbidden),
        }
        self.check_approvals(site, &entries).await?;
        let (by, by_how, device) = (Some(actor.by.clone()), Some(actor.how), actor.device.clone());
        let meta = Meta { by, by_how, device, ..Meta::default() };
        let (manager, probe) = (actor.role == Role::Manager, actor.role == Role::Probe);
        self.write_as(site, Asked { entries, actor: meta, manager, probe, key }).await
    }

    /// What the same form was answered when it came before, if it did: with the same key and the same words.
    pub async fn answered(&self, look: &Look, site: &str, actor: &Actor, key: &(String, String)) -> Option<Done> {
        let mut conn = self.0.db.reader().await.ok()?;
        let since = look.now.plus(-KEYS_MS);
        let (was, answer) = sql::answer(&mut conn, site, actor.by.as_str(), &key.0, since).await.ok()??;
        (was == key.1).then(|| Done { entries: Vec::new(), answer, now: self.now() })
    }

    pub(super) async fn write_as(&self, site: &str, asked: Asked) -> Result<Done, Fault> {
        let shop = self.shop(site)?;
        if let Some(broken) = self.0.broken.read().unwrap_or_else(|e| e.into_inner()).get(site) {
            return Err(Fault::Broken(broken.clone()));
        }
        let (reply, answer) = oneshot::channel();
        // The writer is a task of its own: what it was handed it finishes, whoever stops waiting.
        if !shop.write(Job { asked, reply }) {
            return Err(Fault::Busy);
        }
        match answer.await {
            Ok(Ok(done)) => Ok(done),
            Ok(Err(Fail::Refused(r))) => Err(Fault::Refused(r)),
            Ok(Err(Fail::KeyReused)) => Err(Fault::KeyReused),
            Ok(Err(Fail::NotRecorded)) => Err(Fault::NotRecorded),
            Ok(Err(Fail::UnknownOutcome)) | Err(_) => Err(Fault::UnknownOutcome),
        }
    }

    /// Who a token or a sign-in is, shop by shop; nobody if it holds no longer. `awake` where a person did something,
    /// which is what keeps a sign-in from running out.
    pub async fn who(&self, secret: &str, awake: bool) -> Result<Vec<Actor>, Fault> {
        let (now, hash) = (self.now(), tokens::hash(secret));
        let known = self.known().get(&hash).filter(|(_, until, _)| now < *until).cloned();
        let unwritten = |seen: Option<Instant>| awake && seen.is_some_and(|at| now.since(at) >= limits::SEEN_MS);
        let (actors, until, mut seen) = match known {
            Some((actors, _, seen)) if !unwritten(seen) => return Ok(actors),
            Some(known) => known,
            None => {
                let mut conn = self.0.db.reader().await?;
                let (actors, seen) = if secret.starts_with(accesses::PREFIX) {
                    (accesses::find(&mut conn, secret, now).await?.into_iter().collect(), None)
                } else if secret.starts_with(sessions::PREFIX) {
                    let found = sessions::find(&mut conn, secret, now).await?;
                    found.map_or((Vec::new(), None), |f| (f.actors, Some(f.seen_at)))
                } else {
                    (tokens::find(&mut conn, secret).await?.into_iter().collect(), None)
                };
                let ends = actors.iter().filter_map(|a: &Actor| a.access.as_ref()).map(|a| a.until).min();
                (actors, now.plus(TRUST_MS).min(ends.unwrap_or(Instant::FAR)), seen)
            }
        };
        if actors.is_empty() {
            return Ok(actors);
        }
        if unwritten(seen) {
            // Nobody is kept from reading by what is noted on the side.
            match self.note_seen(secret, now).await {
                Ok(()) => seen = Some(now),
                Err(e) => tracing::warn!(error = %e, "the use of a sign-in could not be noted"),
            }
        }
        let mut known = self.known();
        if known.len() >= REMEMBERED {
            known.clear();
        }
        known.insert(hash, (actors.clone(), until, seen));
        Ok(actors)
    }

    async fn note_seen(&self, secret: &str, now: Instant) -> Result<(), StoreError> {
        let mut conn = self.0.db.writer().await?;
        sessions::note_seen(&mut conn, secret, now).await
    }

    pub(super) fn known(&self) -> std::sync::MutexGuard<'_, HashMap<String, Known>> {
        self.0.known.lock().unwrap_or_else(|e| e.into_inner())
    }

    /// Everybody is looked up anew: somebody's sign-in has ended, or what they may do has changed.
    pub fn forget_who(&self) {
        self.known().clear();
    }

    /// Makes a token.
    pub async fn add_token(&self, site: &str, name: &str, role: Role) -> Result<String, Fault> {
        let mut conn = self.0.db.writer().await?;
        Ok(tokens::add(&mut conn, site, name, role, &[], self.now()).await?)
    }

    /// Refuses what the shop's own address could never have sent.
    pub fn refuse_many(count: usize) -> Result<(), Fault> {
        if (1..=500).contains(&count) {
            return Ok(());
        }
        Err(Fault::Refused(Refusal::new(&refusal::TOO_MANY, format!("There are {count} entries in it."))))
    }
}

/// What was written, as handlers see it.
pub type Written = Done;

/// An entry, as handlers see it.
pub type Kept = Arc<Entry>;
