//! The statements of what time alone brings, and of what was decided about items.

use super::{Conn, Many, StoreError, exec, ledger as sql, load, many, rows};
use crate::board::cold::Why;
use crate::board::decisions::named;
use crate::board::due::{LEADS, Turn, What};
use crate::clock::Instant;
use crate::ledger::{About, Action, Body, Entry, Id, records};
use std::sync::{Arc, LazyLock};

const ALL: &str = "select subject, threshold, at, done_at from due where site = $1";
const DONE: &str = "update due set done_at = $2 where site = $1 and at <= $2 and done_at is null
    returning subject, threshold, at";
const LEAD_TIMES: &str = "select minutes from lead_time where site = $1 order by minutes desc";
const NO_LEADS: &str = "delete from lead_time where site = $1";
const ADD_LEAD: &str = "insert into lead_time (site, minutes) values ($1, $2) on conflict do nothing";
const DECIDED: &str = "select seq, line from entry where site = $1 and kind = 'decide' and seq > $2 order by seq";
const MENDED: &str = "select c.seq, c.line from entry d join entry c on c.site = d.site and c.target = d.seq
    where d.site = $1 and d.kind = 'decide' order by c.seq";
const CORRECTED: &str = "select count(*) from entry where site = $1 and seq > $2 and target is not null";

static PUT: LazyLock<Many> = LazyLock::new(|| {
    let after = " on conflict (site, subject, threshold) do update set at = excluded.at, done_at = null where due.at <> excluded.at";
    Many::new("insert into due (site, subject, threshold, at) values ", "(?, ?, ?, ?)", ", ", after)
});
static DROP: LazyLock<Many> = LazyLock::new(|| {
    let row = "(site = ? and subject = ? and threshold = ? and at = ?)";
    Many::new("delete from due where ", row, " or ", "")
});

/// Something due of an item or of a place.
pub type Row = (Id, Turn);

fn row(subject: &str, threshold: &str, at: i64) -> Option<Row> {
    Some((Id::new(subject)?, Turn { what: What::read(threshold)?, at: Instant(at) }))
}

/// All that is due in a shop, and whether it was told.
pub async fn all(conn: &mut Conn, site: &str) -> Result<Vec<(Row, bool)>, StoreError> {
    let found = rows!(conn, (String, String, i64, Option<i64>), ALL, site)?;
    Ok(found.into_iter().filter_map(|(s, t, at, done)| Some((row(&s, &t, at)?, done.is_some()))).collect())
}

/// Writes what is due anew: `gone` as it was known, then `new`. What is there with the same instant stays as it is.
/// Several servers follow a ledger and find the same; the shop's row is taken first, so that none waits for rows of
/// another which waits for its own.
pub async fn change(conn: &mut Conn, site: &str, gone: &[Row], new: &[Row]) -> Result<(), StoreError> {
    let said = |rows: &[Row]| -> Vec<(Id, String, i64)> {
        rows.iter().map(|(subject, turn)| (subject.clone(), turn.what.to_string(), turn.at.0)).collect()
    };
    sql::lock(conn, site).await?;
    many!(conn, DROP, &said(gone)[..], (subject, what, at) => site, subject.as_str(), what, at);
    many!(conn, PUT, &said(new)[..], (subject, what, at) => site, subject.as_str(), what, at);
    Ok(())
}

/// Takes what is due by now and wasn't told: each row is given to one server alone, and whatever else is written in the
/// same transaction is written with it or not at all. The shop's row comes first here too, see [`change`].
pub async fn take(conn: &mut Conn, site: &str, now: Instant) -> Result<Vec<Row>, StoreError> {
    sql::lock(conn, site).await?;
    let found = rows!(conn, (String, String, i64), DONE, site, now.0)?;
    Ok(found.iter().filter_map(|(s, t, at)| row(s, t, *at)).collect())
}

/// A shop's lead times in minutes, the longest first.
pub async fn leads(conn: &mut Conn, site: &str) -> Result<Vec<i64>, StoreError> {
    let found: Vec<i64> = rows!(conn, (i64,), LEAD_TIMES, site)?.into_iter().map(|r| r.0).collect();
    Ok(if found.is_empty() { LEADS.to_vec() } else { found })
}

/// Sets them.
pub async fn set_leads(conn: &mut Conn, site: &str, minutes: &[i64]) -> Result<(), StoreError> {
    conn.begin().await?;
    exec!(conn, NO_LEADS, site)?;
    for m in minutes {
        exec!(conn, ADD_LEAD, site, *m)?;
    }
    Ok(conn.commit().await?)
}

/// What somebody did about an item that was shown to need it.
#[derive(Clone, Debug, PartialEq)]
pub struct Decision {
    /// The entry's number.
    pub seq: u64,
    /// The item.
    pub item: Id,
    /// When.
    pub at: Instant,
    /// Who.
    pub by: Option<Id>,
    /// What.
    pub action: Action,
    /// Why.
    pub reason: Box<str>,
    /// The proposed lapse that it says is none, as the note names it: then it is about a place.
    pub dismisses: Option<Box<str>>,
}

fn decision(e: &Entry) -> Option<Decision> {
    let Body::Decide { about: About::Id(item), action, reason } = &e.body else { return None };
    let lapses = [Why::Above, Why::Silent].map(Why::code);
    let dismisses = match e.note.as_deref().and_then(named) {
        None | Some("over" | "no-return") => None,
        Some(code) if lapses.contains(&code) && *action == Action::Dismiss => e.note.clone(),
        // One that names another matter of the item says nothing of its limits.
        Some(_) => return None,
    };
    let (item, reason) = (item.clone(), reason.clone());
    Some(Decision { seq: e.meta.seq, item, at: e.at, by: e.meta.by.clone(), action: *action, reason, dismisses })
}

/// What was decided about items after an entry, as it reads now. `None`: something was corrected since, all of it is to
/// be read again.
pub async fn decisions(conn: &mut Conn, site: &str, after: u64) -> Result<Option<Vec<Decision>>, StoreError> {
    let mended = match after {
        0 => rows!(conn, (i64, String), MENDED, site)?,
        _ if rows!(conn, (i64,), CORRECTED, site, after as i64)?.first().is_some_and(|r| r.0 > 0) => return Ok(None),
        _ => Vec::new(),
    };
    let found = rows!(conn, (i64, String), DECIDED, site, after as i64)?;
    let mut entries: Vec<Arc<Entry>> = Vec::with_capacity(found.len() + mended.len());
    for (seq, line) in found.into_iter().chain(mended) {
        entries.push(Arc::new(load::entry(site, seq as u64, &line)?));
    }
    let read = records(entries);
    Ok(Some(read.values().filter_map(|r| decision(&*r.effective(u64::MAX).ok()??)).collect()))
}
