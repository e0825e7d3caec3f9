//! What the record asks of the ledger: which items belong to it, then a few of them at a time with all they were made from,
//! as they stood at one entry. Whatever was written since is left out, so no transaction stays open while somebody reads.

use super::{AnyConn, Conn, Lines, StoreError, load, oversight, rows};
use crate::clock::{Instant, Zone};
use crate::ledger::{About, Body, Entry, Id, State, records};
use crate::rules::Measure;
use std::collections::{BTreeSet, HashSet};
use std::sync::{Arc, LazyLock};

/// Items and entries asked for at once.
const MANY: usize = 64;

fn listed(before: &str) -> String {
    let marks: Vec<String> = (2..MANY + 2).map(|n| format!("${n}")).collect();
    format!("{before} in ({})", marks.join(", "))
}

static LINES: LazyLock<String> = LazyLock::new(|| listed("select seq, line from entry where site = $1 and item"));
static PARENTS: LazyLock<String> = LazyLock::new(|| listed("select parent from made_from where site = $1 and child"));
static NUMBERED: LazyLock<String> = LazyLock::new(|| listed("select seq, line from entry where site = $1 and seq"));
const RANGE: &str = "select seq, line from entry where site = $1 and seq >= $2 and seq <= $3 order by seq";
const AIR: &str = "select seq from entry where site = $1 and air_at >= $2 and air_at < $3 and seq <= $4";
// What a person typed has its quotes escaped, so a member with its value stands in a line as itself alone. `replace`, since
// `like` is blind to capitals in one of the two databases.
const ITEMS: &str = "select i.item, i.begun_at, i.closed_at from item i
    where i.site = $1 and i.begun_at < $3 and (i.closed_at is null or i.closed_at >= $2)
    and ($4 = '' or exists (select 1 from entry e where e.site = i.site and e.item = i.item
        and e.kind in ('item', 'correct') and replace(e.line, $4, '') <> e.line))
    and ($5 = '' or exists (select 1 from entry e where e.site = i.site and e.item = i.item
        and e.kind in ('item', 'move', 'correct') and replace(e.line, $5, '') <> e.line))
    order by i.begun_at, i.item";
const OF_LOT: &str = "select distinct item from entry where site = $1 and kind in ('item', 'correct')
    and item is not null and replace(line, $2, '') <> line";
const BEGUN: &str = "select begun_at from item where site = $1 and item = $2";
const MADE_FROM: &str = "with recursive made (item) as (
    select child from made_from where site = $1 and parent = $2
    union select m.child from made join made_from m on m.site = $1 and m.parent = made.item)
    select item from made";

macro_rules! listed {
    ($conn:expr, $ty:ty, $sql:expr, $site:expr, $list:expr) => {{
        let (sql, list) = (LazyLock::force(&$sql).as_str(), $list);
        // A list that is too short says its last again.
        let padded = list.iter().chain(std::iter::repeat(&list[list.len() - 1])).take(MANY);
        match $conn.inner.as_mut() {
            Some(AnyConn::Sqlite(c)) => {
                let q = padded.fold(sqlx::query_as::<_, $ty>(sql).bind($site), |q, one| q.bind(one));
                q.fetch_all(&mut **c).await
            }
            Some(AnyConn::Postgres(c)) => {
                let q = padded.fold(sqlx::query_as::<_, $ty>(sql).bind($site), |q, one| q.bind(one));
                q.fetch_all(&mut **c).await
            }
            None => Err(sqlx::Error::PoolClosed),
        }
    }};
}

/// A stretch of local dates, both ends included.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Dates {
    /// The first, counted since 1970.
    pub from: i64,
    /// The last.
    pub to: i64,
    /// When the first begins.
    pub begins: Instant,
    /// When the last is over.
    pub ends: Instant,
}

impl Dates {
    /// By a shop's calendar.
    pub fn of(zone: Zone, from: i64, to: i64) -> Dates {
        Dates { from, to, begins: zone.day_starts(from), ends: zone.day_starts(to + 1) }
    }
}

/// An item of a record.
#[derive(Clone, PartialEq, Debug)]
pub struct Chosen {
    /// Its id.
    pub item: Id,
    /// When it began.
    pub begun_at: Instant,
    /// When it ended.
    pub closed_at: Option<Instant>,
}

/// Which items a record is about, besides its dates.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Filter {
    /// Of this product, as it was written or as it reads now.
    pub product: Option<Id>,
    /// That were ever said to be in this place.
    pub place: Option<Id>,
    /// This one.
    pub item: Option<Id>,
    /// This one, and whatever was ever said to be made from it, to any depth.
    pub made_from: Option<Id>,
}

/// The items that were there on these dates, in order of their beginning.
pub async fn items(conn: &mut Conn, site: &str, dates: &Dates, filter: &Filter) -> Result<Vec<Chosen>, StoreError> {
    let part = |name: &str, id: &Option<Id>| id.as_ref().map_or(String::new(), |id| format!("\"{name}\":\"{id}\""));
    let (product, place) = (part("product", &filter.product), part("place", &filter.place));
    let found = rows!(conn, (String, i64, Option<i64>), ITEMS, site, dates.begins.0, dates.ends.0, &product, &place)?;
    let chosen = |(item, begun, closed): (String, i64, Option<i64>)| {
        Some(Chosen { item: Id::new(&item)?, begun_at: Instant(begun), closed_at: closed.map(Instant) })
    };
    let mut found: Vec<Chosen> = found.into_iter().filter_map(chosen).collect();
    if let Some(id) = &filter.item {
        found.retain(|c| c.item == *id);
    }
    if let Some(id) = &filter.made_from {
        let made: HashSet<String> =
            rows!(conn, (String,), MADE_FROM, site, id.as_str())?.into_iter().map(|r| r.0).collect();
        found.retain(|c| c.item == *id || made.contains(c.item.as_str()));
    }
    Ok(found)
}

/// The items of a lot, as it was written or as it reads now, and whatever was ever said to be made from them.
pub async fn of_lot(conn: &mut Conn, site: &str, lot: &str) -> Result<BTreeSet<Id>, StoreError> {
    // As it stands in a line.
    let part = format!("\"lot\":{}", serde_json::Value::from(lot));
    let mut todo: Vec<String> = rows!(conn, (String,), OF_LOT, site, &part)?.into_iter().map(|r| r.0).collect();
    let mut found = BTreeSet::new();
    while let Some(item) = todo.pop() {
        if let Some(id) = Id::new(&item)
            && found.insert(id)
        {
            let made = rows!(conn, (String,), MADE_FROM, site, item.as_str())?;
            found.extend(made.iter().filter_map(|r| Id::new(&r.0)));
        }
    }
    Ok(found)
}

/// When an item began; `None` if there is none of that id.
pub async fn begun(conn: &mut Conn, site: &str, item: &Id) -> Result<Option<Instant>, StoreError> {
    Ok(rows!(conn, (i64,), BEGUN, site, item.as_str())?.pop().map(|r| Instant(r.0)))
}

/// What a record is made from besides its items: the set-up, and every place's lapses; with the lines it was read from.
pub async fn base(conn: &mut Conn, site: &str, head: u64) -> Result<(State, Lines), StoreError> {
    let mut lines = load::setup(conn, site).await?;
    lines.retain(|seq, _| *seq <= head);
    let mut state = State::default();
    load::put(site, &mut state, &lines)?;
    Ok((state, lines))
}

/// A few items, with all they were made from and the air of their time, put into a copy of the base; their lines come along.
pub async fn slice(
    conn: &mut Conn,
    site: &str,
    base: &State,
    chosen: &[Chosen],
    (head, now): (u64, Instant),
) -> Result<(State, Lines), StoreError> {
    let (mut state, mut lines) = (base.clone(), Lines::new());
    let ids: Vec<String> = chosen.iter().map(|c| c.item.to_string()).collect();
    family(conn, site, ids, head, |seq, line| _ = lines.insert(seq, line)).await?;
    load::put(site, &mut state, &lines)?;
    if asks_for_air(&state)
        && let Some(since) = load::air_matters(site, &lines)?
    {
        let until = chosen.iter().map(|c| c.closed_at.unwrap_or(now)).max().unwrap_or(now);
        let mut air = Lines::new();
        load::air(conn, site, since, until.plus(1), &mut air).await?;
        air.retain(|seq, _| *seq <= head);
        load::put(site, &mut state, &air)?;
    }
    Ok((state, lines))
}

/// Whether a rule of an item here looks at the air of its place; what was corrected may have named such a rule before.
fn asks_for_air(state: &State) -> bool {
    let odd = |i: &crate::ledger::Item| i.records.first().is_some_and(|r| !r.corrections.is_empty());
    state.config.values().any(|r| !r.corrections.is_empty())
        || state.items.values().any(|i| {
            let rules = i.begin().map(|(e, b)| state.rules_of(b, e.meta.seq)).unwrap_or_default();
            odd(i) || rules.iter().flat_map(|r| &r.clauses).any(|c| matches!(c.measure, Measure::OutAbove { .. }))
        })
}

/// The lines of items and of all they were made from.
async fn family(
    conn: &mut Conn,
    site: &str,
    mut todo: Vec<String>,
    head: u64,
    mut each: impl FnMut(u64, String),
) -> Result<(), StoreError> {
    let mut seen: HashSet<String> = todo.iter().cloned().collect();
    while !todo.is_empty() {
        let mut parents = Vec::new();
        for some in todo.chunks(MANY) {
            for (seq, line) in listed!(conn, (i64, String), LINES, site, some)? {
                if seq as u64 <= head {
                    each(seq as u64, line);
                }
            }
            parents.extend(listed!(conn, (String,), PARENTS, site, some)?.into_iter().map(|r| r.0));
        }
        todo = parents.into_iter().filter(|p| seen.insert(p.clone())).collect();
    }
    Ok(())
}

/// The numbers of all entries that belong to a record: with them alone `evaluate` works its standings out. Only numbers are
/// kept, however many there are.
pub async fn numbers(
    conn: &mut Conn,
    site: &str,
    chosen: &[Chosen],
    dates: &Dates,
    (head, now): (u64, Instant),
) -> Result<Vec<u64>, StoreError> {
    let setup = load::setup(conn, site).await?;
    let mut numbers: Vec<u64> = setup.into_keys().collect();
    let (mut items, mut since, mut named) = (HashSet::new(), dates.begins, BTreeSet::new());
    for some in chosen.chunks(4 * MANY) {
        let ids: Vec<String> = some.iter().map(|c| c.item.to_string()).collect();
        let mut lines = Lines::new();
        family(conn, site, ids, head, |seq, line| _ = lines.insert(seq, line)).await?;
        since = since.min(load::air_matters(site, &lines)?.unwrap_or(since));
        for (seq, line) in &lines {
            numbers.push(*seq);
            if line.contains("\"probed\":\"") || line.contains("\"kind\":\"item\"") {
                let e = load::entry(site, *seq, line)?;
                items.extend(e.item().cloned());
                named.extend(e.named());
            }
        }
    }
    let until = chosen.iter().map(|c| c.closed_at.unwrap_or(now).plus(1)).max().unwrap_or(dates.ends).max(dates.ends);
    numbers.extend(rows!(conn, (i64,), AIR, site, since.0, until.0, head as i64)?.into_iter().map(|r| r.0 as u64));
    numbers.sort_unstable();
    numbers.dedup();
    let said = relevant(conn, site, (&items, &numbers), dates, head, &mut named).await?;
    numbers.extend(said);
    // Whatever a reading or a decision names comes along too, or it would be unknown.
    let mut todo: Vec<String> = named.iter().filter(|id| !items.contains(*id)).map(Id::to_string).collect();
    while !todo.is_empty() {
        let (mut found, mut more) = (Vec::new(), BTreeSet::new());
        family(conn, site, todo, head, |seq, line| found.push((seq, line))).await?;
        for (seq, line) in found {
            let e = load::entry(site, seq, &line)?;
            items.extend(e.item().cloned());
            more.extend(e.named());
            numbers.push(seq);
        }
        todo = more.into_iter().filter(|id| !items.contains(id)).map(|id| id.to_string()).collect();
    }
    numbers.sort_unstable();
    numbers.dedup();
    Ok(numbers)
}

/// What people said about the stretch: decisions about its items, entries and places, the signing of its days, and what had
/// been approved by its end; each with its corrections.
async fn relevant(
    conn: &mut Conn,
    site: &str,
    (items, numbers): (&HashSet<Id>, &[u64]),
    dates: &Dates,
    head: u64,
    named: &mut BTreeSet<Id>,
) -> Result<Vec<u64>, StoreError> {
    let lines = oversight::said(conn, site, head).await?;
    let entries = lines.iter().map(|(seq, line)| load::entry(site, *seq, line).map(Arc::new));
    let entries: Vec<Arc<Entry>> = entries.collect::<Result<_, _>>()?;
    let within = |e: &Entry| dates.begins <= e.at && e.at < dates.ends;
    let day = |text: &str| text.get(..10).and_then(Zone::parse_date);
    let here = |e: &Entry| match &e.body {
        Body::Decide { about: About::Id(id), .. } => items.contains(id) || within(e),
        Body::Decide { about: About::Seq(n), .. } => numbers.binary_search(n).is_ok(),
        // A day is signed on a later one.
        Body::Review { from, to } => day(from).is_none_or(|d| d <= dates.to) && day(to).is_none_or(|d| d >= dates.from),
        _ => e.at < dates.ends,
    };
    let mut kept: Vec<u64> = Vec::new();
    for (seq, record) in records(entries) {
        // As it was written or as it reads now, it is about something here.
        let now = record.effective(u64::MAX).ok().flatten();
        if here(&record.original) || now.as_ref().is_some_and(|e| here(e)) {
            kept.push(seq);
            named.extend(record.original.named());
            for c in &record.corrections {
                kept.push(c.meta.seq);
                if let Body::Correct { change, .. } = &c.body {
                    named.extend(change.named());
                }
            }
        }
    }
    Ok(kept)
}

/// Some entries' lines, by number.
pub async fn numbered(conn: &mut Conn, site: &str, numbers: &[u64]) -> Result<Lines, StoreError> {
    let (Some(first), Some(last)) = (numbers.first(), numbers.last()) else { return Ok(Lines::new()) };
    let mut found: Lines = Lines::new();
    // A file may name any number at all.
    let wanted: Vec<i64> = numbers.iter().filter_map(|n| i64::try_from(*n).ok()).collect();
    if last - first < 4 * numbers.len() as u64 && wanted.len() == numbers.len() {
        let all = rows!(conn, (i64, String), RANGE, site, *first as i64, *last as i64)?;
        found.extend(all.into_iter().map(|(seq, line)| (seq as u64, line)));
        let wanted: HashSet<u64> = numbers.iter().copied().collect();
        found.retain(|seq, _| wanted.contains(seq));
        return Ok(found);
    }
    for some in wanted.chunks(MANY) {
        let all = listed!(conn, (i64, String), NUMBERED, site, some)?;
        found.extend(all.into_iter().map(|(seq, line)| (seq as u64, line)));
    }
    Ok(found)
}
