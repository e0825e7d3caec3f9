//! Renderings that many screens share: one for each shop, view and filter, made anew when the ledger has moved on or a
//! second has passed, and never more than four times a second.

use super::service::{Fault, Look, Service};
use crate::board::cold::{Cold, Proposal};
use crate::board::decisions::key;
use crate::board::due::Due;
use crate::board::working::ComeBacks;
use crate::board::{Briefs, Filter};
use crate::clock::{Instant, SECOND_MS};
use crate::lang::Lang;
use crate::ledger::Id;
use crate::people::Names;
use crate::store::due::{self, Decision};
use axum::body::Bytes;
use flate2::Compression;
use flate2::write::GzEncoder;
use std::collections::{HashMap, HashSet};
use std::io::Write;
use std::sync::{Arc, Mutex, OnceLock, RwLock};
use std::time::Duration;
use tokio::sync::Mutex as Turn;
use tokio::time::Instant as Tick;

/// Changes are gathered for so long: four renderings a second at most.
pub const GATHER: Duration = Duration::from_millis(250);
/// How old a rendering gets while nothing happens; a page counts all of them as that old.
pub const OLD_MS: i64 = SECOND_MS;
/// Renderings kept at most.
const KEPT: usize = 500;

/// What kind of a rendering.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum View {
    /// The board's rows; all of them, or the first so many.
    Board {
        /// All of them.
        all: bool,
    },
    /// A board among others.
    Among,
    /// The wall.
    Wall,
}

/// What a rendering depends on besides the ledger and the time. The shop has one unit.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Key {
    /// The shop.
    pub site: String,
    /// The way from the page to the service's root.
    pub root: String,
    /// What kind.
    pub view: View,
    /// Whether there are forms in it.
    pub may_write: bool,
    /// Which items.
    pub filter: Filter,
    /// Its language.
    pub lang: Lang,
}

/// A rendering.
pub struct Fragment {
    /// The entry it is of.
    pub head: u64,
    /// The instant it is of.
    pub now: Instant,
    /// When it no longer holds, should nothing happen.
    until: Instant,
    made: Tick,
    /// As it was rendered; forms have [`BLANK`] where the page's key belongs.
    pub text: String,
    packed: OnceLock<Bytes>,
}

/// Stands in a shared rendering where a page puts its own key.
pub const BLANK: &str = "value=\"{key}\"";

impl Fragment {
    /// For a page with this key.
    pub fn keyed(&self, key: &str) -> String {
        self.text.replace(BLANK, &format!("value=\"{key}\""))
    }

    /// Packed by gzip, once for everybody.
    pub fn packed(&self) -> Bytes {
        let pack = || {
            let mut gzip = GzEncoder::new(Vec::new(), Compression::fast());
            _ = gzip.write_all(self.text.as_bytes());
            gzip.finish().unwrap_or_default().into()
        };
        self.packed.get_or_init(pack).clone()
    }

    fn holds(&self, head: u64, now: Instant) -> bool {
        self.head >= head && self.now <= now && now < self.until && now.since(self.now) < OLD_MS
    }
}

/// What a rendering is made from.
pub struct Seen {
    /// The shop as it stands.
    pub look: Look,
    /// What was decided about items.
    pub decided: Arc<Decided>,
    /// The shop's lead times, in minutes.
    pub leads: Vec<i64>,
    /// Who decided.
    pub names: Names,
    /// How it stands about the cold of places.
    pub cold: Vec<Cold>,
    /// When items are meant to be moved next.
    pub planned: ComeBacks,
}

type Slot = Arc<Turn<Option<Arc<Fragment>>>>;

/// All of them, and what was decided about items.
#[derive(Default)]
pub struct Fragments {
    slots: Mutex<HashMap<Key, Slot>>,
    decided: RwLock<HashMap<String, Arc<Decided>>>,
    briefs: RwLock<HashMap<String, Arc<Briefs>>>,
    made: std::sync::atomic::AtomicU64,
}

/// The decisions about a shop's items, as of an entry.
#[derive(Default)]
pub struct Decided {
    head: u64,
    of: HashMap<Id, Vec<Decision>>,
    /// Proposed lapses that are none, by place and by what names them.
    dismissed: HashSet<(Id, Box<str>)>,
}

impl Decided {
    /// Who acted on what an item called for, since it did; the last of them.
    pub fn on(&self, item: &Id, due: &Due) -> Option<&Decision> {
        self.of.get(item)?.iter().rfind(|d| d.at >= due.at)
    }

    /// Whether somebody said that a proposed lapse was none.
    pub fn dismisses(&self, p: &Proposal) -> bool {
        self.dismissed.contains(&(p.place.clone(), key(p.why.code(), p.from).into()))
    }

    /// Whether somebody said of this threshold that they know of it, or did something about a later one.
    pub fn silences(&self, item: &Id, due: &Due) -> bool {
        let named = due.threshold.to_string();
        let all = self.of.get(item).into_iter().flatten().filter(|d| d.at >= due.at);
        all.into_iter().any(|d| {
            d.reason.split(':').next() == Some(named.as_str()) || d.action != crate::ledger::Action::Acknowledge
        })
    }
}

impl Service {
    /// What the site's list has worked out before.
    pub fn briefs(&self, site: &str) -> Arc<Briefs> {
        let all = &self.0.fragments.briefs;
        if let Some(known) = all.read().unwrap_or_else(|e| e.into_inner()).get(site) {
            return known.clone();
        }
        all.write().unwrap_or_else(|e| e.into_inner()).entry(site.to_owned()).or_default().clone()
    }

    /// A rendering that shows at least what is in the ledger now. `at_once`: somebody has just done something and
    /// waits; else changes are gathered.
    pub async fn fragment(
        &self,
        key: Key,
        at_once: bool,
        render: impl Fn(&Seen) -> (String, Instant),
    ) -> Result<Arc<Fragment>, Fault> {
        let look = self.look(&key.site, &[]).await?;
        let (site, wanted) = (key.site.clone(), look.state.head);
        let slot = {
            let mut slots = self.0.fragments.slots.lock().unwrap_or_else(|e| e.into_inner());
            if slots.len() >= KEPT && !slots.contains_key(&key) {
                slots.clear();
            }
            slots.entry(key).or_default().clone()
        };
        let mut held = slot.lock().await;
        if let Some(f) = held.as_ref().filter(|f| f.holds(wanted, self.now())) {
            return Ok(f.clone());
        }
        let waits = held.as_ref().filter(|_| !at_once).map(|f| GATHER.saturating_sub(f.made.elapsed()));
        if let Some(waits) = waits.filter(|w| !w.is_zero()) {
            tokio::time::sleep(waits).await;
        }
        let look = self.look(&site, &[]).await?;
        let decided = self.decided(&site, look.state.head).await?;
        let (leads, names) = (self.leads(&site).await?, self.names(&site).await.unwrap_or_default());
        let (cold, _) = self.cold(&site, &look, &decided).await?;
        let planned = self.come_backs(&site).await?;
        let seen = Seen { look, decided, leads, names, cold, planned };
        let (text, until) = render(&seen);
        let look = seen.look;
        self.0.fragments.made.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
        let made = Tick::now();
        let f = Fragment { head: look.state.head, now: look.now, until, made, text, packed: OnceLock::new() };
        let f = Arc::new(f);
        *held = Some(f.clone());
        Ok(f)
    }

    /// Has a shop's renderings made anew: what isn't in the ledger has changed.
    pub(super) fn forget_fragments(&self, site: &str) {
        self.0.fragments.slots.lock().unwrap_or_else(|e| e.into_inner()).retain(|key, _| key.site != site);
    }

    /// How many renderings were made since the start.
    pub fn fragments_made(&self) -> u64 {
        self.0.fragments.made.load(std::sync::atomic::Ordering::Relaxed)
    }

    /// What was decided about items, as of an entry or later.
    pub async fn decided(&self, site: &str, head: u64) -> Result<Arc<Decided>, Fault> {
        let all = &self.0.fragments.decided;
        let known = all.read().unwrap_or_else(|e| e.into_inner()).get(site).cloned().unwrap_or_default();
        if known.head >= head {
            return Ok(known);
        }
        let mut conn = self.0.db.reader().await?;
        let (known, new) = match due::decisions(&mut conn, site, known.head).await? {
            Some(new) => (known, new),
            None => (Arc::default(), due::decisions(&mut conn, site, 0).await?.unwrap_or_default()),
        };
        let (mut of, mut dismissed) = (known.of.clone(), known.dismissed.clone());
        for mut d in new {
            if let Some(lapse) = d.dismisses.take() {
                dismissed.insert((d.item, lapse));
                continue;
            }
            let list = of.entry(d.item.clone()).or_default();
            // What another wrote meanwhile may have been read already.
            if list.iter().all(|k| k.seq != d.seq) {
                list.push(d);
            }
        }
        let decided = Arc::new(Decided { head, of, dismissed });
        all.write().unwrap_or_else(|e| e.into_inner()).insert(site.to_owned(), decided.clone());
        Ok(decided)
    }
}
