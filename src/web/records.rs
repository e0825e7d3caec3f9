//! What handlers may ask about the record: which items belong to it, and their accounts a few at a time, all as of one
//! entry of the ledger. No more than a slice is ever in memory.

use super::auth::Reads;
use super::error::Problem;
use super::service::{Fault, Service};
use crate::board::cold::Watched;
use crate::board::decisions::UNREAD_MS;
use crate::clock::{Instant, Zone};
use crate::exposure::Fold;
use crate::lang;
use crate::ledger::{Id, State, Unit, records};
use crate::people::Names;
use crate::record::account::{Account, Named};
use crate::record::cold::{self, Cold, failures, was_there};
use crate::record::corrected::{Corrected, corrected};
use crate::record::said::{Day, Said};
use crate::store::clock::{self, What};
use crate::store::cold::watched;
use crate::store::record::{self as sql, Chosen, Dates, Filter};
use crate::store::{Lines, StoreError, ledger, load, oversight};
use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

/// Items folded at once.
pub const SLICE: usize = 256;
/// Starts and jumps of clocks told at most.
const CLOCKS: u32 = 5_000;
/// Days of the cold's readings looked at once.
const COLD_DAYS: i64 = 7;

/// Which part of the ledger is asked for, as it was written in an address.
#[derive(Clone, Debug, Default)]
pub struct Asks {
    /// The first date.
    pub from: Option<String>,
    /// The last one.
    pub to: Option<String>,
    /// A product's id.
    pub product: Option<String>,
    /// A place's.
    pub place: Option<String>,
    /// An item's.
    pub item: Option<String>,
    /// An item's, for all that was made from it.
    pub made_from: Option<String>,
}

impl Asks {
    /// Every date there is.
    pub fn of_all() -> Asks {
        Asks { from: Some(String::from("1970-01-02")), ..Asks::default() }
    }
}

/// A record that was asked for: the ledger up to one entry, and which items of it.
#[derive(Clone)]
pub struct Opened {
    service: Service,
    /// The shop's id.
    pub site: String,
    /// Its name.
    pub shop: String,
    /// Its calendar.
    pub zone: Zone,
    /// The instant standings are of.
    pub now: Instant,
    /// The last entry's number and hash.
    pub head: (u64, String),
    /// Which dates.
    pub dates: Dates,
    /// Which items.
    pub filter: Filter,
    /// The set-up and every place's lapses.
    pub base: State,
    setup: Arc<Lines>,
    /// What people said besides.
    pub said: Arc<Said>,
    /// What happened to the servers' clocks: when, what, how far.
    pub clocks: Arc<Vec<(Instant, What, i64)>>,
    /// Names by id.
    pub names: Names,
    /// The items, in order.
    pub chosen: Arc<Vec<Chosen>>,
}

/// A few items with all they were made from.
pub struct Slice {
    /// The ledger around them.
    pub state: State,
    lines: Lines,
    setup: Arc<Lines>,
}

fn bad(detail: &str) -> Problem {
    Problem::of("bad-query", detail)
}

fn id(name: &str, text: &Option<String>) -> Result<Option<Id>, Problem> {
    match text.as_deref().map(str::trim).filter(|t| !t.is_empty()) {
        None => Ok(None),
        Some(text) => Id::new(text).map(Some).ok_or_else(|| bad(&lang::record_bad_id(name))),
    }
}

fn date(name: &str, text: &Option<String>) -> Result<Option<i64>, Problem> {
    match text.as_deref().map(str::trim).filter(|t| !t.is_empty()) {
        None => Ok(None),
        Some(text) => Zone::parse_date(text).map(Some).ok_or_else(|| bad(&lang::record_bad_date(name))),
    }
}

impl Reads {
    /// The items of a lot and whatever was made from them.
    pub async fn of_lot(&self, lot: &str) -> Result<BTreeSet<Id>, Problem> {
        let mut conn = self.service().db().reader().await?;
        Ok(sql::of_lot(&mut conn, &self.site, lot).await?)
    }

    /// Opens the record that is asked for. What names nothing, or says what can't be, is told in a sentence.
    pub async fn record(&self, asks: &Asks) -> Result<Opened, Problem> {
        let site = self.site.as_str();
        let (from, to) = (date("from", &asks.from)?, date("to", &asks.to)?);
        let filter = Filter {
            product: id("product", &asks.product)?,
            place: id("place", &asks.place)?,
            item: id("item", &asks.item)?,
            made_from: id("made_from", &asks.made_from)?,
        };
        let names = self.names().await;
        let mut conn = self.service().db().reader().await?;
        conn.begin_read().await?;
        let head = ledger::head(&mut conn, site).await?.ok_or(Fault::NotFound("site"))?;
        let (base, setup) = sql::base(&mut conn, site, head.0).await?;
        let (now, zone) = (self.service().now(), base.site.as_ref().map_or(Zone::UTC, |s| s.zone));
        let unknown = |what: &str, id: &Id| Problem::of("not-found", &lang::record_unknown_id(id.as_str(), what));
        if let Some(id) = filter.product.as_ref().filter(|id| !base.products.contains_key(*id)) {
            return Err(unknown("product", id));
        }
        if let Some(id) = filter.place.as_ref().filter(|id| !base.places.contains_key(*id)) {
            return Err(unknown("place", id));
        }
        let today = zone.day(now);
        // An item's record is of its whole time where no dates are named.
        let mut first = today;
        for id in filter.item.iter().chain(&filter.made_from) {
            let begun = sql::begun(&mut conn, site, id).await?.ok_or_else(|| unknown("item", id))?;
            first = first.min(zone.day(begun));
        }
        let within = self.actor.access.as_ref().and_then(|a| a.within);
        let usual = within.map_or((first.min(to.unwrap_or(first)), today), |(a, b)| (a, b.min(today).max(a)));
        let (from, to) = (from.unwrap_or(usual.0), to.unwrap_or(usual.1));
        if from > to {
            return Err(bad(lang::record_from_after_to()));
        }
        if let Some((a, b)) = within.filter(|(a, b)| from < *a || *b < to) {
            let said = lang::record_other_dates(&Zone::date_text(a), &Zone::date_text(b));
            return Err(Problem::of("not-allowed", &said));
        }
        let dates = Dates::of(zone, from, to);
        let chosen = sql::items(&mut conn, site, &dates, &filter).await?;
        let lines = oversight::said(&mut conn, site, head.0).await?;
        let clocks = clock::notes(&mut conn, (dates.begins, dates.ends), CLOCKS).await?;
        conn.commit().await.map_err(StoreError::from)?;
        let entries = lines.iter().map(|(seq, line)| load::entry(site, *seq, line).map(Arc::new));
        let entries = records(entries.collect::<Result<Vec<_>, _>>()?);
        Ok(Opened {
            service: self.service().clone(),
            site: site.to_owned(),
            shop: base.site.as_ref().map_or_else(|| site.to_owned(), |s| s.name.to_string()),
            zone,
            now,
            head,
            dates,
            filter,
            said: Arc::new(Said::of(entries.values())),
            base,
            setup: Arc::new(setup),
            clocks: Arc::new(clocks),
            names,
            chosen: Arc::new(chosen),
        })
    }
}

impl Opened {
    /// Leaves out what isn't wanted.
    pub fn keep(&mut self, wanted: impl Fn(&Id) -> bool) {
        self.chosen = Arc::new(self.chosen.iter().filter(|c| wanted(&c.item)).cloned().collect());
    }

    /// Some of its items.
    pub async fn slice(&self, some: &[Chosen]) -> Result<Slice, Fault> {
        let mut conn = self.service.db().reader().await?;
        let (state, lines) = sql::slice(&mut conn, &self.site, &self.base, some, (self.head.0, self.now)).await?;
        Ok(Slice { state, lines, setup: self.setup.clone() })
    }

    /// The items in slices: those that began at one instant stay together, as their numbers tell their order.
    pub fn slices(&self, most: usize) -> Vec<&[Chosen]> {
        let (mut slices, mut rest) = (Vec::new(), self.chosen.as_slice());
        while !rest.is_empty() {
            let mut n = most.min(rest.len());
            while n < rest.len() && n < 16 * most && rest[n].begun_at == rest[n - 1].begun_at {
                n += 1;
            }
            let (now, later) = rest.split_at(n);
            slices.push(now);
            rest = later;
        }
        slices
    }

    /// Their accounts, in order.
    pub fn accounts(&self, slice: &Slice, some: &[Chosen]) -> Vec<Account> {
        let fold = Fold::new(&slice.state, self.now, self.zone);
        let mut found: Vec<Account> = some.iter().filter_map(|c| Account::of(&fold, &self.said, &c.item)).collect();
        found.sort_by_key(|a| (a.begun.at, a.begun.seq));
        found
    }

    /// What its temperatures are shown in.
    pub fn units(&self) -> Unit {
        self.base.site.as_ref().map_or(Unit::C, |s| s.units)
    }

    /// A product's name.
    pub fn product_name(&self, id: &Id) -> String {
        self.base.product(id, u64::MAX).map_or_else(|| id.to_string(), |p| p.name.to_string())
    }

    /// A place's name.
    pub fn place_name(&self, id: &Id) -> String {
        Named::place(&self.base, id).name
    }

    /// Each of its days up to today, and who signed it.
    pub fn days(&self) -> Vec<Day> {
        self.said.days(self.dates.from, self.dates.to.min(self.zone.day(self.now)))
    }

    /// What was corrected in the set-up, and in what people decided, approved and signed.
    pub fn setup_corrected(&self) -> Vec<Corrected> {
        let setup = self.base.config.values().flat_map(corrected);
        setup.chain(self.said.corrected.iter().cloned()).collect()
    }

    /// The numbers of all entries that belong to it.
    pub async fn numbers(&self) -> Result<Vec<u64>, Fault> {
        let mut conn = self.service.db().reader().await?;
        let as_of = (self.head.0, self.now);
        Ok(sql::numbers(&mut conn, &self.site, &self.chosen, &self.dates, as_of).await?)
    }

    /// The lines of some entries.
    pub async fn lines(&self, numbers: &[u64]) -> Result<Vec<String>, Fault> {
        let mut conn = self.service.db().reader().await?;
        Ok(sql::numbered(&mut conn, &self.site, numbers).await?.into_values().collect())
    }

    /// The second table, some days at a time.
    pub fn cold(&self) -> ColdWalk {
        ColdWalk { opened: self.clone(), day: self.dates.from, cold: None }
    }

    /// The items that stood in a place while its cold failed, by place and the failure's beginning.
    async fn touched(
        &self,
        state: &State,
        stretch: (Instant, Instant),
        first: bool,
    ) -> Result<HashMap<(Id, Instant), Vec<Named>>, Fault> {
        let mut found = HashMap::new();
        for place in state.places.values() {
            for failed in failures(place).iter().filter(|f| f.told_in(stretch, first)) {
                let (a, b) = (failed.lapse.at, failed.to.unwrap_or(self.now));
                let lasted = Dates { begins: a, ends: b, ..self.dates };
                let there = Filter { place: Some(place.place.clone()), ..Filter::default() };
                let mut conn = self.service.db().reader().await?;
                let all = sql::items(&mut conn, &self.site, &lasted, &there).await?;
                drop(conn);
                let mut named = Vec::new();
                for some in all.chunks(SLICE) {
                    let slice = self.slice(some).await?;
                    let items = some.iter().filter(|c| {
                        let item = slice.state.items.get(&c.item);
                        item.is_some_and(|i| was_there(i, &place.place, a, b))
                    });
                    named.extend(items.map(|c| Named::item(&slice.state, &c.item)));
                }
                found.insert((place.place.clone(), a), named);
            }
        }
        Ok(found)
    }
}

/// The second table on its way: some days' lines after the other.
pub struct ColdWalk {
    opened: Opened,
    day: i64,
    cold: Option<Cold>,
}

impl ColdWalk {
    /// The next lines, in order of time; `None` after the last.
    pub async fn next(&mut self) -> Result<Option<(Vec<cold::Row>, Slice)>, Fault> {
        let o = &self.opened;
        let end = o.dates.ends.min(o.now.plus(1));
        let from = o.zone.day_starts(self.day);
        if self.day > o.dates.to || from >= end {
            return Ok(None);
        }
        self.day += COLD_DAYS;
        let to = o.zone.day_starts(self.day).min(end);
        // To know how long a place hadn't been read before.
        let back = if self.cold.is_none() { from.plus(-2 * UNREAD_MS) } else { from };
        let (mut state, mut lines) = (o.base.clone(), Lines::new());
        let mut conn = o.service.db().reader().await?;
        load::air(&mut conn, &o.site, back, to, &mut lines).await?;
        let watched = if self.cold.is_none() { watched(&mut conn, &o.site).await? } else { Watched::default() };
        drop(conn);
        lines.retain(|seq, _| *seq <= o.head.0);
        load::put(&o.site, &mut state, &lines)?;
        let touched = o.touched(&state, (from, to), self.cold.is_none()).await?;
        let find = |place: &Id, a: Instant, _: Instant| touched.get(&(place.clone(), a)).cloned().unwrap_or_default();
        let only = o.filter.place.as_ref();
        let cold = self.cold.get_or_insert_with(|| Cold::before(watched, &state, from));
        let mut rows = cold.rows(&state, only, (from, to), &find);
        if to >= end {
            rows.extend(cold.end(&state, only, end));
        }
        let setup = o.setup.clone();
        Ok(Some((rows, Slice { state, lines, setup })))
    }
}

impl Slice {
    /// The hash of an entry.
    pub fn hash(&self, seq: u64) -> String {
        self.lines.get(&seq).or_else(|| self.setup.get(&seq)).map(|line| hash_of(line)).unwrap_or_default()
    }
}

pub(super) fn hash_of(line: &str) -> String {
    #[derive(serde::Deserialize)]
    struct Hash {
        hash: String,
    }
    serde_json::from_str::<Hash>(line).map(|h| h.hash).unwrap_or_default()
}
