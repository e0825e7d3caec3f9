//! The statements of the written procedure: the draft, the versions, who has read them.

use super::{Shelf, Version, hash};
use crate::clock::Instant;
use crate::ledger::{self, Entry, Id};
use crate::store::{Conn, StoreError, exec, ledger as site_row, load, rows};
use std::sync::Arc;

const DRAFT: &str = "select text, saved_at, saved_by from procedure_draft where site = $1";
const SAVE: &str = "insert into procedure_draft (site, text, saved_at, saved_by) values ($1, $2, $3, $4)
    on conflict (site) do update set text = excluded.text, saved_at = excluded.saved_at, saved_by = excluded.saved_by";
const DROP_DRAFT: &str = "delete from procedure_draft where site = $1 and saved_at = $2";
const VERSIONS: &str =
    "select version, hash, review_on, made_at from procedure_version where site = $1 order by version";
const TEXT: &str = "select text from procedure_version where site = $1 and version = $2";
const TEXTS: &str = "select version, hash, text from procedure_version where site = $1 order by version";
const ADD: &str = "insert into procedure_version (site, version, text, hash, review_on, made_at, made_by)
    values ($1, $2, $3, $4, $5, $6, $7)";
// The index's own list of kinds first: SQLite doesn't see that one of them is part of it.
const APPROVED: &str = "select seq, line from entry where site = $1
    and kind in ('site', 'place', 'rule', 'product', 'decide', 'approve', 'review') and kind = 'approve'
    union all
    select c.seq, c.line from entry a join entry c on c.site = a.site and c.target = a.seq where a.site = $1
    and a.kind in ('site', 'place', 'rule', 'product', 'decide', 'approve', 'review') and a.kind = 'approve'
    order by 1";
const READ: &str = "insert into procedure_read (site, version, person, read_at) values ($1, $2, $3, $4)
    on conflict (site, version, person) do nothing";
const READERS: &str =
    "select person, read_at from procedure_read where site = $1 and version = $2 order by read_at, person";
const LAST_READ: &str =
    "select version from procedure_read where site = $1 and person = $2 order by version desc limit 1";

/// What a manager has written and not yet approved.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Draft {
    /// What was typed, as [`super::Typed`] keeps it.
    pub text: String,
    /// When it was saved.
    pub saved_at: Instant,
    /// By whom.
    pub saved_by: String,
}

/// The draft, if there is one.
pub async fn draft(conn: &mut Conn, site: &str) -> Result<Option<Draft>, StoreError> {
    let found = rows!(conn, (String, i64, String), DRAFT, site)?.pop();
    Ok(found.map(|(text, at, saved_by)| Draft { text, saved_at: Instant(at), saved_by }))
}

/// Saves the draft, unless it was saved since `was`: then nothing is written and what stands there is returned.
pub async fn save(
    conn: &mut Conn,
    site: &str,
    text: &str,
    was: Option<Instant>,
    (by, now): (&Id, Instant),
) -> Result<Option<Draft>, StoreError> {
    conn.begin().await?;
    site_row::lock(conn, site).await?;
    let there = draft(conn, site).await?;
    if let Some(there) = there.as_ref().filter(|d| Some(d.saved_at) != was && d.text != text) {
        conn.rollback().await?;
        return Ok(Some(there.clone()));
    }
    // Each saving has its own time, so that the next can tell them apart.
    let at = there.map_or(now, |d| now.max(d.saved_at.plus(1)));
    exec!(conn, SAVE, site, text, at.0, by.as_str())?;
    conn.commit().await?;
    Ok(None)
}

/// Drops the draft that was saved then: it has become a version.
pub async fn drop_draft(conn: &mut Conn, site: &str, saved_at: Instant) -> Result<(), StoreError> {
    exec!(conn, DROP_DRAFT, site, saved_at.0)?;
    Ok(())
}

/// Keeps a version and says its number. The same text again, while it waits for its approval, is the same version.
pub async fn add(
    conn: &mut Conn,
    site: &str,
    (text, review_on): (&str, &str),
    (by, now): (&Id, Instant),
) -> Result<u32, StoreError> {
    conn.begin().await?;
    site_row::lock(conn, site).await?;
    let shelf = shelf(conn, site).await?.0;
    let hash = hash(text);
    let last = shelf.versions.last().filter(|v| v.hash == hash && !shelf.is_approved(v.version));
    let version = match last {
        Some(waits) => waits.version,
        None => {
            let version = shelf.versions.last().map_or(1, |v| v.version + 1);
            exec!(conn, ADD, site, i64::from(version), text, &hash, review_on, now.0, by.as_str())?;
            version
        }
    };
    conn.commit().await?;
    Ok(version)
}

/// All versions with what puts them in force, and every approval as it reads now.
pub async fn shelf(conn: &mut Conn, site: &str) -> Result<(Shelf, Vec<Arc<Entry>>), StoreError> {
    let version = |(version, hash, review_on, at): (i64, String, String, i64)| Version {
        version: version as u32,
        hash,
        review_on,
        made_at: Instant(at),
    };
    let versions = rows!(conn, (i64, String, String, i64), VERSIONS, site)?.into_iter().map(version).collect();
    let approved = approved(conn, site).await?;
    Ok((Shelf::new(versions, &approved), approved))
}

/// Every approval as it reads now, in order.
pub async fn approved(conn: &mut Conn, site: &str) -> Result<Vec<Arc<Entry>>, StoreError> {
    let mut entries = Vec::new();
    for (seq, line) in rows!(conn, (i64, String), APPROVED, site)? {
        entries.push(Arc::new(load::entry(site, seq as u64, &line)?));
    }
    let records = ledger::records(entries);
    Ok(records.values().filter_map(|r| r.effective(u64::MAX).ok().flatten()).collect())
}

/// A version's text.
pub async fn text(conn: &mut Conn, site: &str, version: u32) -> Result<Option<String>, StoreError> {
    Ok(rows!(conn, (String,), TEXT, site, i64::from(version))?.pop().map(|r| r.0))
}

/// Every version's number, hash and text.
pub async fn texts(conn: &mut Conn, site: &str) -> Result<Vec<(u32, String, String)>, StoreError> {
    let found = rows!(conn, (i64, String, String), TEXTS, site)?;
    Ok(found.into_iter().map(|(version, hash, text)| (version as u32, hash, text)).collect())
}

/// Somebody has read a version.
pub async fn note_read(
    conn: &mut Conn,
    site: &str,
    version: u32,
    (person, now): (&Id, Instant),
) -> Result<(), StoreError> {
    exec!(conn, READ, site, i64::from(version), person.as_str(), now.0)?;
    Ok(())
}

/// Who has read a version, and when.
pub async fn readers(conn: &mut Conn, site: &str, version: u32) -> Result<Vec<(Id, Instant)>, StoreError> {
    let found = rows!(conn, (String, i64), READERS, site, i64::from(version))?;
    Ok(found.into_iter().filter_map(|(person, at)| Some((Id::new(&person)?, Instant(at)))).collect())
}

/// The latest version that somebody has read.
pub async fn last_read(conn: &mut Conn, site: &str, person: &Id) -> Result<Option<u32>, StoreError> {
    Ok(rows!(conn, (i64,), LAST_READ, site, person.as_str())?.pop().map(|r| r.0 as u32))
}
