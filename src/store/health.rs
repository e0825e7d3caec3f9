//! What a database says of itself: the settings on which durability hangs, and its clock.

use super::{Conn, Db, StoreError, rows};
use crate::clock::Instant;

/// Settings on which nothing acknowledged being lost hangs: name, value, and what it must be.
pub async fn settings(conn: &mut Conn, db: &Db) -> Result<Vec<(&'static str, String, &'static str)>, StoreError> {
    const WAL: &str = "select journal_mode from pragma_journal_mode";
    const SYNCHRONOUS: &str = "select cast(synchronous as text) from pragma_synchronous";
    const SETTING: &str = "select current_setting($1)";
    let mut found = Vec::new();
    match db {
        Db::Sqlite { .. } => {
            for (name, sql, wanted) in [("journal_mode", WAL, "wal"), ("synchronous", SYNCHRONOUS, "2")] {
                let value = rows!(conn, (String,), sql)?.pop().map(|r| r.0).unwrap_or_default();
                found.push((name, value, wanted));
            }
        }
        Db::Postgres(_) => {
            for name in ["fsync", "synchronous_commit", "full_page_writes"] {
                let value = rows!(conn, (String,), SETTING, name)?.pop().map(|r| r.0).unwrap_or_default();
                found.push((name, value, "on"));
            }
        }
    }
    Ok(found)
}

/// The clock of the machine that the database is on, where that may be another.
pub async fn clock(conn: &mut Conn, db: &Db) -> Result<Option<Instant>, StoreError> {
    const NOW: &str = "select cast(extract(epoch from clock_timestamp()) * 1000 as bigint)";
    if !db.shared() {
        return Ok(None);
    }
    Ok(rows!(conn, (i64,), NOW)?.pop().map(|r| Instant(r.0)))
}
