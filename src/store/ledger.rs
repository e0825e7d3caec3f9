//! The statements of the ledger: entries, rows worked out from them, answers.

use super::{Conn, Many, StoreError, exec, many, rows};
use crate::clock::Instant;
use crate::ledger::chain;
use std::sync::LazyLock;

/// An entry ready to be stored.
pub struct Row {
    /// Its number.
    pub seq: i64,
    /// Its kind.
    pub kind: &'static str,
    /// The item it is about; a correction has its entry's.
    pub item: Option<String>,
    /// The place whose cold or air it is about; a correction has its entry's.
    pub place: Option<String>,
    /// The entry a correction is about.
    pub target: Option<i64>,
    /// When a place's air was read.
    pub air_at: Option<i64>,
    /// Canonical JSON with `prev` and `hash`.
    pub line: String,
}

/// An item's row.
pub struct ItemRow {
    /// Its id.
    pub item: String,
    /// When it began.
    pub begun_at: i64,
    /// When it closed.
    pub closed_at: Option<i64>,
    /// Of a closed item: its standing, as JSON.
    pub standing: Option<String>,
    /// Its verdict, the worst being 0.
    pub rank: i64,
    /// How long it might yet have been out; the largest number for "nothing would ever discard it".
    pub left_ms: i64,
}

static INSERT: LazyLock<Many> = LazyLock::new(|| {
    let before = "insert into entry (site, seq, kind, item, place, target, air_at, line) values ";
    Many::new(before, "(?, ?, ?, ?, ?, ?, ?, ?)", ", ", "")
});

const LOCK: &str = "update site set head = head where site = $1 returning head, hash";
const HEAD: &str = "select head, hash from site where site = $1";
const SET_HEAD: &str = "update site set head = $2, hash = $3 where site = $1";
const HEADS: &str = "select site, head, hash from site order by site";
const SITES: &str = "select site from site order by site";
const ADD_SITE: &str = "insert into site (site, head, hash) values ($1, 0, $2) on conflict (site) do nothing";
const PUT_ITEM: &str = "insert into item (site, item, begun_at, closed_at, standing, rank, left_ms)
    values ($1, $2, $3, $4, $5, $6, $7)
    on conflict (site, item) do update set begun_at = excluded.begun_at, closed_at = excluded.closed_at,
    standing = excluded.standing, rank = excluded.rank, left_ms = excluded.left_ms";
const PUT_MADE_FROM: &str = "insert into made_from (site, parent, child) values ($1, $2, $3) on conflict do nothing";
const TAIL: &str = "select seq, line from entry where site = $1 and seq > $2 order by seq limit $3";
const CLOSED_SINCE: &str = "select item from item where site = $1 and closed_at >= $2";
const ALIVE: &str = "select item from item where site = $1 and begun_at < $3 and (closed_at is null or closed_at >= $2)
    order by begun_at, item";
const ALL_ITEMS: &str = "select item from item where site = $1";
const ANSWER: &str = "select body, answer from answer where site = $1 and actor = $2 and key = $3 and answered_at > $4";
const PUT_ANSWER: &str = "insert into answer (site, actor, key, body, answer, answered_at) values ($1, $2, $3, $4, $5, $6)
    on conflict (site, actor, key) do update set body = excluded.body, answer = excluded.answer, answered_at = excluded.answered_at";
const DROP_ANSWERS: &str = "delete from answer where answered_at < $1";
const CLOSED_PAGE: &str = "select rank, left_ms, item, standing from item
    where site = $1 and standing is not null and closed_at <= $6 and (rank, left_ms, item) > ($2, $3, $4)
    order by rank, left_ms, item limit $5";

/// Takes the site's row for this transaction and says where its chain ends. `None` if there is no such site.
pub async fn lock(conn: &mut Conn, site: &str) -> Result<Option<(u64, String)>, StoreError> {
    Ok(rows!(conn, (i64, String), LOCK, site)?.pop().map(|(n, h)| (n as u64, h)))
}

/// Where the chain ends.
pub async fn head(conn: &mut Conn, site: &str) -> Result<Option<(u64, String)>, StoreError> {
    Ok(rows!(conn, (i64, String), HEAD, site)?.pop().map(|(n, h)| (n as u64, h)))
}

/// Where each site's chain ends.
pub async fn heads(conn: &mut Conn) -> Result<Vec<(String, i64, String)>, sqlx::Error> {
    rows!(conn, (String, i64, String), HEADS)
}

/// Every site's id.
pub async fn sites(conn: &mut Conn) -> Result<Vec<String>, StoreError> {
    Ok(rows!(conn, (String,), SITES)?.into_iter().map(|r| r.0).collect())
}

/// Adds a site with an empty ledger, unless it is there; says whether it was added.
pub async fn add_site(conn: &mut Conn, site: &str) -> Result<bool, StoreError> {
    Ok(exec!(conn, ADD_SITE, site, chain::START)? == 1)
}

/// Writes entries and the site's new head.
pub async fn append(conn: &mut Conn, site: &str, entries: &[Row], hash: &str) -> Result<(), sqlx::Error> {
    let Some(last) = entries.last() else { return Ok(()) };
    many!(conn, INSERT, entries, r => site, r.seq, r.kind, &r.item, &r.place, r.target, r.air_at, &r.line);
    exec!(conn, SET_HEAD, site, last.seq, hash)?;
    Ok(())
}

/// Writes an item's row.
pub async fn put_item(conn: &mut Conn, site: &str, r: &ItemRow) -> Result<(), sqlx::Error> {
    exec!(conn, PUT_ITEM, site, &r.item, r.begun_at, r.closed_at, &r.standing, r.rank, r.left_ms).map(|_| ())
}

/// Notes that one was made from another.
pub async fn put_made_from(conn: &mut Conn, site: &str, parent: &str, child: &str) -> Result<(), sqlx::Error> {
    exec!(conn, PUT_MADE_FROM, site, parent, child).map(|_| ())
}

/// Ledger lines after `seq`, at most `limit`.
pub async fn tail(conn: &mut Conn, site: &str, seq: u64, limit: u32) -> Result<Vec<(u64, String)>, StoreError> {
    let found = rows!(conn, (i64, String), TAIL, site, seq as i64, i64::from(limit))?;
    Ok(found.into_iter().map(|(seq, line)| (seq as u64, line)).collect())
}

/// Items that closed at or after `at`.
pub async fn closed_since(conn: &mut Conn, site: &str, at: Instant) -> Result<Vec<String>, StoreError> {
    Ok(rows!(conn, (String,), CLOSED_SINCE, site, at.0)?.into_iter().map(|r| r.0).collect())
}

/// Items that had begun before `to` and weren't closed by `from`.
pub async fn alive(conn: &mut Conn, site: &str, from: Instant, to: Instant) -> Result<Vec<String>, StoreError> {
    Ok(rows!(conn, (String,), ALIVE, site, from.0, to.0)?.into_iter().map(|r| r.0).collect())
}

/// Every item there ever was.
pub async fn all_items(conn: &mut Conn, site: &str) -> Result<Vec<String>, StoreError> {
    Ok(rows!(conn, (String,), ALL_ITEMS, site)?.into_iter().map(|r| r.0).collect())
}

/// The request's hash and the answer given to an idempotency key since `since`.
pub async fn answer(
    conn: &mut Conn,
    site: &str,
    actor: &str,
    key: &str,
    since: Instant,
) -> Result<Option<(String, String)>, StoreError> {
    Ok(rows!(conn, (String, String), ANSWER, site, actor, key, since.0)?.pop())
}

/// Keeps an answer.
pub async fn put_answer(
    conn: &mut Conn,
    site: &str,
    (actor, key, body): (&str, &str, &str),
    answer: &str,
    now: Instant,
) -> Result<(), sqlx::Error> {
    exec!(conn, PUT_ANSWER, site, actor, key, body, answer, now.0).map(|_| ())
}

/// Forgets answers older than `before`.
pub async fn drop_answers(conn: &mut Conn, before: Instant) -> Result<u64, sqlx::Error> {
    exec!(conn, DROP_ANSWERS, before.0)
}

/// A closed item's place in the list, and its last standing as JSON.
pub type Closed = (i64, i64, String, String);

/// Last standings of the items closed by an instant, most urgent first, after a place in the list.
pub async fn closed_page(
    conn: &mut Conn,
    site: &str,
    by: Instant,
    (rank, left_ms, item): (i64, i64, &str),
    limit: u32,
) -> Result<Vec<Closed>, StoreError> {
    Ok(rows!(conn, Closed, CLOSED_PAGE, site, rank, left_ms, item, i64::from(limit), by.0)?)
}
