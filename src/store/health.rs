//! What a database says of itself: the settings on which durability hangs, and its clock.

use super::{Conn, Db, StoreError, rows};
use crate::clock::Instant;
use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};

/// What to do with a ledger that was changed on the disk.
pub const BROKEN: &str = "nothing more is recorded in it. Stop the service, put the database aside as it is, and fill a new \
    one from the last backup with `counterclock restore`";

/// File systems of other machines, by the numbers that Linux gives them (statfs(2)): SQLite's locks don't hold there.
const NETWORK: [(i64, &str); 6] = [
    (0x6969, "NFS"),
    (0xff53_4d42, "CIFS"),
    (0xfe53_4d42, "SMB2"),
    (0x517b, "SMB"),
    (0x0102_1997, "9p"),
    (0x5346_414f, "AFS"),
];

/// The file of an address that is one's.
pub fn file(url: &str) -> Option<&Path> {
    url.strip_prefix("sqlite://").map(Path::new)
}

/// The folder it stands in.
pub fn folder(file: &Path) -> &Path {
    file.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// The file system of another machine that a file stands on, if it does.
pub fn network(url: &str) -> Option<&'static str> {
    #[cfg(target_os = "linux")]
    {
        let fs = rustix::fs::statfs(folder(file(url)?)).ok()?;
        #[expect(clippy::allow_attributes, reason = "its type differs from machine to machine")]
        #[allow(clippy::unnecessary_cast)]
        let kind = fs.f_type as i64 & 0xffff_ffff;
        NETWORK.iter().find(|(number, _)| *number == kind).map(|(_, name)| *name)
    }
    #[cfg(not(target_os = "linux"))]
    {
        _ = (url, NETWORK);
        None
    }
}

/// Keeps every other program from serving the same file until what is returned is dropped, or the program ends however it
/// does. Several servers on one PostgreSQL are meant to be.
pub fn alone(url: &str) -> Result<Option<File>, String> {
    let Some(file) = file(url) else { return Ok(None) };
    let beside = PathBuf::from(format!("{}.serving", file.display()));
    let cannot =
        |e: std::io::Error| format!("{}: {e}. The service makes this file beside its database.", beside.display());
    let lock = File::create(&beside).map_err(cannot)?;
    match lock.try_lock() {
        Ok(()) => Ok(Some(lock)),
        Err(TryLockError::WouldBlock) => Err(format!(
            "{} is being served by another counterclock already: stop that one first, or give this one a file of its own. \
             Several servers share one PostgreSQL, never a file.",
            file.display()
        )),
        Err(TryLockError::Error(e)) => Err(cannot(e)),
    }
}

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
