//! The statements about when items are meant to be moved next.

use super::{Conn, StoreError, exec, rows};
use crate::board::working::{ComeBack, ComeBacks};
use crate::clock::Instant;
use crate::ledger::Id;

const ALL: &str = "select item, entry, at from come_back where site = $1";
const PUT: &str = "insert into come_back (site, item, entry, at, by, said_at) values ($1, $2, $3, $4, $5, $6)
    on conflict (site, item) do update set entry = excluded.entry, at = excluded.at, by = excluded.by,
    said_at = excluded.said_at";
const DROP: &str = "delete from come_back where site = $1 and item = $2";
const DROP_OLD: &str = "delete from come_back where site = $1 and at < $2";

/// All of a shop.
pub async fn all(conn: &mut Conn, site: &str) -> Result<ComeBacks, StoreError> {
    let found = rows!(conn, (String, i64, i64), ALL, site)?;
    let one = |(item, entry, at): (String, i64, i64)| {
        Some((Id::new(&item)?, ComeBack { entry: entry as u64, at: Instant(at) }))
    };
    Ok(found.into_iter().filter_map(one).collect())
}

/// Says when an item is meant to be moved; those that lie before `old` are forgotten.
pub async fn put(
    conn: &mut Conn,
    site: &str,
    item: &Id,
    plan: &ComeBack,
    (by, now, old): (&str, Instant, Instant),
) -> Result<(), StoreError> {
    exec!(conn, DROP_OLD, site, old.0)?;
    exec!(conn, PUT, site, item.as_str(), plan.entry as i64, plan.at.0, by, now.0)?;
    Ok(())
}

/// Forgets it.
pub async fn drop(conn: &mut Conn, site: &str, item: &Id) -> Result<(), StoreError> {
    exec!(conn, DROP, site, item.as_str())?;
    Ok(())
}
