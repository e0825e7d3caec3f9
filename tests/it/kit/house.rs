//! A shop's whole service in this process, on a database of its own, by a clock that is set by hand.
//! A time is written `08:50`, `08:50:30.001` or, on another day, `+1 08:50`: counted from Monday 4 May 2026, in UTC.

use super::actor::{Actor, Bearer};
use super::base::{Base, Kind};
use axum::Router;
use counterclock::clock::{Clock, Instant, Zone};
use counterclock::evaluate::{Options, Reader, standings};
use counterclock::people::Role;
use counterclock::store::Db;
use counterclock::web::router;
use counterclock::web::service::{FIRST_SITE, Service};
use serde_json::{Value, json};
use std::collections::{BTreeMap, HashMap};
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Arc, Mutex};

/// Midnight of the invented Monday, in milliseconds since 1970.
const DAY_0: i64 = 1_777_852_800_000;
/// The shop's first entry.
pub const SITE: &str =
    r#"{"kind":"site","at":"2026-05-01T00:00:00Z","name":"Anvil & Rye","zone":"Europe/London","units":"C"}"#;

/// The instant of a short time; anything else must be RFC 3339.
pub fn instant(short: &str) -> Instant {
    let (days, clock) = short.split_once(' ').unwrap_or(("0", short));
    let text = match clock.len() {
        5 => format!("1970-01-01T{clock}:00Z"),
        8 | 12 => format!("1970-01-01T{clock}Z"),
        _ => return Instant::parse(short).unwrap_or_else(|| panic!("`{short}` is not a time")),
    };
    let Instant(ms) = Instant::parse(&text).unwrap_or_else(|| panic!("`{short}` is not a time"));
    Instant(DAY_0 + days.parse::<i64>().expect("a number of days") * 86_400_000 + ms)
}

/// A short time as the API writes it.
pub fn t(short: &str) -> String {
    instant(short).to_string()
}

/// The service at one address; cheap to clone.
#[derive(Clone)]
pub struct House {
    base: Base,
    /// The clock of whatever runs now.
    hand: Arc<Mutex<Arc<AtomicI64>>>,
    running: Arc<Mutex<(Service, Router)>>,
    tokens: Arc<HashMap<&'static str, String>>,
}

impl House {
    /// Opens it with a shop that has its first entry, at Monday noon, and a token for every role.
    pub async fn open(base: Base) -> House {
        let hand = Arc::new(AtomicI64::new(instant("12:00").0));
        let service = start(&base, &hand).await;
        assert!(service.add_site(FIRST_SITE, SITE).await.expect("a first site"));
        let mut tokens = HashMap::new();
        for role in [Role::Staff, Role::Manager, Role::Inspector, Role::Probe] {
            let token = service.add_token(FIRST_SITE, role.word(), role).await.expect("a token");
            tokens.insert(role.word(), token);
        }
        let running = Arc::new(Mutex::new((service.clone(), router(service))));
        let hand = Arc::new(Mutex::new(hand));
        House { base, hand, running, tokens: Arc::new(tokens) }
    }

    /// The same with places of every kind, and products under the rules most tests need.
    pub async fn set_up(&self) {
        let place = |id: &str, control: &str, r#use: &str| json!({"kind": "place", "at": t("00:00"), "place": id, "name": id, "control": control, "use": r#use});
        let entries = json!([
            place("fridge", "cold", "store"),
            place("walk-in", "cold", "store"),
            place("freezer", "frozen", "store"),
            place("case", "cold", "display"),
            place("bench", "none", "work"),
            place("shelf", "none", "display"),
            place("van", "none", "transport"),
            {"kind": "product", "at": t("00:00"), "product": "cake", "name": "Cake", "rules": ["sum-2h-4h", "keep-7d"]},
            {"kind": "product", "at": t("00:00"), "product": "mousse", "name": "Mousse", "rules": ["banded-70f"],
             "chill_ms": 1_200_000},
        ]);
        self.manager().post(&entries).await.ok();
    }

    /// Stops at once, as if the machine had lost its power, and starts again on what is on the disk. Whatever of the
    /// one that stopped is still about has a clock that stands still, so nothing comes due to it any more.
    pub async fn restart(&self) {
        let hand = Arc::new(AtomicI64::new(self.now().0));
        let service = start(&self.base, &hand).await;
        *self.hand.lock().expect("not poisoned") = hand;
        *self.running.lock().expect("not poisoned") = (service.clone(), router(service));
    }

    /// Starts again on a database that has nothing in it: neither shop nor token.
    pub async fn empty(&self) {
        match self.base.kind {
            Kind::Postgres => self.base.aside().await.must("drop schema public cascade; create schema public").await,
            Kind::Sqlite => {
                self.service().db().close().await;
                for entry in std::fs::read_dir(self.base.folder()).expect("the folder").flatten() {
                    std::fs::remove_file(entry.path()).expect("a file of the test's own");
                }
            }
        }
        self.restart().await;
    }

    /// The same shop's service on a database that was filled from its own.
    pub async fn on(&self, base: Base) -> House {
        let hand = Arc::new(AtomicI64::new(self.now().0));
        let service = start(&base, &hand).await;
        let running = Arc::new(Mutex::new((service.clone(), router(service))));
        House { base, hand: Arc::new(Mutex::new(hand)), running, tokens: self.tokens.clone() }
    }

    /// A second server on the same database.
    pub async fn twin(&self) -> House {
        let service = start(&self.base, &self.hand()).await;
        House { running: Arc::new(Mutex::new((service.clone(), router(service)))), ..self.clone() }
    }

    /// The service itself, for what the outside may not do.
    pub fn service(&self) -> Service {
        self.running.lock().expect("not poisoned").0.clone()
    }

    /// Its front door.
    pub fn router(&self) -> Router {
        self.running.lock().expect("not poisoned").1.clone()
    }

    fn hand(&self) -> Arc<AtomicI64> {
        self.hand.lock().expect("not poisoned").clone()
    }

    /// Its database.
    pub fn base(&self) -> &Base {
        &self.base
    }

    /// Sets the clock.
    pub fn set(&self, short: &str) {
        self.hand().store(instant(short).0, Ordering::SeqCst);
    }

    /// Lets time pass.
    pub fn pass(&self, ms: i64) {
        self.hand().fetch_add(ms, Ordering::SeqCst);
    }

    /// The time it is.
    pub fn now(&self) -> Instant {
        Instant(self.hand().load(Ordering::SeqCst))
    }

    /// A program with a role's token.
    pub fn role(&self, word: &str) -> Bearer {
        Bearer(self.clone(), self.tokens[word].clone())
    }

    /// Writes everything.
    pub fn manager(&self) -> Bearer {
        self.role("manager")
    }

    /// Writes what happens at the bench.
    pub fn staff(&self) -> Bearer {
        self.role("staff")
    }

    /// Writes an entry that must be taken, as a manager; the answer as JSON.
    pub async fn write(&self, entry: Value) -> Value {
        self.manager().post(&entry).await.ok().json()
    }

    /// The number of the last entry.
    pub async fn head(&self) -> u64 {
        self.manager().get("entries?limit=1").await.ok().json()["head"].as_u64().expect("a head")
    }

    /// The whole ledger, through the front door.
    pub async fn tail(&self) -> Vec<Value> {
        let mut all: Vec<Value> = Vec::new();
        loop {
            let page = self.manager().get(&format!("entries?after={}&limit=1000", all.len())).await.ok().json();
            let entries = page["entries"].as_array().expect("entries");
            if entries.is_empty() {
                return all;
            }
            all.extend_from_slice(entries);
        }
    }

    /// Every standing that `evaluate` makes of these entries, by item.
    pub fn evaluate(entries: &[Value], as_of: Instant, known_at: Option<Instant>) -> BTreeMap<String, Value> {
        let mut reader = Reader::default();
        for entry in entries {
            reader.line(&entry.to_string()).unwrap_or_else(|e| panic!("{}: {}", e.line, e.refusal));
        }
        let options = Options { as_of: Some(as_of), known_at, zone: None::<Zone> };
        let (state, entries) = reader.finish(known_at).unwrap_or_else(|e| panic!("{}: {}", e.line, e.refusal));
        let mut found = BTreeMap::new();
        standings(&state, &entries, options, |s| {
            let value = serde_json::to_value(&s).expect("a standing is JSON");
            found.insert(s.item.to_string(), value);
        });
        found
    }

    /// Every page of a list: `open`, `closed` and so on.
    pub async fn list(&self, state: &str, limit: usize) -> Vec<Value> {
        let (mut all, mut cursor) = (Vec::new(), String::new());
        loop {
            let page = self.manager().get(&format!("items?state={state}&limit={limit}{cursor}")).await.ok().json();
            all.extend_from_slice(page["items"].as_array().expect("items"));
            let Some(next) = page["next_cursor"].as_str() else { return all };
            cursor = format!("&cursor={next}");
        }
    }

    /// The standing of an item now.
    pub async fn standing(&self, item: &str) -> Value {
        self.manager().get(&format!("items/{item}")).await.ok().json()["standing"].clone()
    }

    /// The lists of open and closed items show what `evaluate` makes of the whole ledger, and `check` finds nothing.
    pub async fn agrees(&self) {
        let expected = House::evaluate(&self.tail().await, self.now(), None);
        let mut shown = BTreeMap::new();
        for state in ["open", "closed"] {
            for s in self.list(state, 500).await {
                let item = s["item"].as_str().expect("an id").to_owned();
                assert_eq!(expected.get(&item), Some(&s), "{item} in the list of {state} items");
                assert!(shown.insert(item, s).is_none(), "twice: it is open and closed");
            }
        }
        assert_eq!(shown.len(), expected.len(), "{:?}", expected.keys().filter(|k| !shown.contains_key(*k)));
        for (item, s) in &expected {
            assert_eq!(self.standing(item).await, *s, "{item} by itself");
        }
        self.checks().await;
    }

    /// What `check` says of the database: each broken invariant.
    pub async fn broken(&self) -> Vec<String> {
        let service = self.service();
        let found = counterclock::check::database(service.db()).await.expect("the check reads everything");
        let all = found.into_iter().flat_map(|(_, list)| list);
        all.filter_map(|f| f.broken.map(|b| format!("{}: {b}", f.name))).collect()
    }

    /// `check` finds nothing.
    pub async fn checks(&self) {
        assert_eq!(self.broken().await, Vec::<String>::new());
    }
}

async fn start(base: &Base, hand: &Arc<AtomicI64>) -> Service {
    let db = Db::open(&base.url).await.expect("the database opens");
    Service::open(db, Clock::Fixed(hand.clone())).await.expect("the service opens")
}
