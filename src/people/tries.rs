//! Wrong guesses, in the database so that a restart forgives nothing.

use super::limits::{FORGET_MS, Tried, What};
use crate::clock::Instant;
use crate::store::{Conn, StoreError, exec, rows};

const FIND: &str = "select failures, last_at, until_at from tried where what = $1 and who = $2";
// The row is there before it is read, so that on PostgreSQL two at once wait for each other.
const TOUCH: &str = "insert into tried (what, who, failures, last_at, until_at) values ($1, $2, 0, $3, 0)
    on conflict (what, who) do update set failures = tried.failures";
const PUT: &str = "update tried set failures = $3, last_at = $4, until_at = $5 where what = $1 and who = $2";
const OLD: &str = "delete from tried where last_at < $1 and until_at < $1";
const FORGIVE: &str = "delete from tried where what = $1 and who = $2";

async fn find(conn: &mut Conn, what: What, who: &str) -> Result<Tried, StoreError> {
    let found = rows!(conn, (i64, i64, i64), FIND, what.word(), who)?.pop();
    Ok(found.map_or_else(Tried::default, |(failures, last, until)| Tried {
        failures,
        last_at: Instant(last),
        until: Instant(until),
    }))
}

async fn put(conn: &mut Conn, what: What, who: &str, t: Tried) -> Result<(), StoreError> {
    exec!(conn, PUT, what.word(), who, t.failures, t.last_at.0, t.until.0)?;
    Ok(())
}

/// Counts a guess by all it is counted by, before it is looked at. Where one of them is locked nothing is counted:
/// then until when, the latest. The caller has a transaction open.
pub async fn count(conn: &mut Conn, by: &[(What, String)], now: Instant) -> Result<Option<Instant>, StoreError> {
    let mut counted = Vec::new();
    let mut locked = None;
    for (what, who) in by {
        exec!(conn, TOUCH, what.word(), who, now.0)?;
        let tried = find(conn, *what, who).await?;
        locked = locked.max(tried.locked(now));
        counted.push((*what, who, tried.another(*what, now)));
    }
    if locked.is_none() {
        for (what, who, tried) in counted {
            put(conn, what, who, tried).await?;
        }
    }
    Ok(locked)
}

/// The guess was right after all. Those long past are swept away. The caller has a transaction open.
pub async fn forgive(conn: &mut Conn, by: &[(What, String)], now: Instant) -> Result<(), StoreError> {
    exec!(conn, OLD, now.plus(-FORGET_MS).0)?;
    for (what, who) in by {
        match find(conn, *what, who).await?.forgiven(*what) {
            Tried { failures: 0, .. } => _ = exec!(conn, FORGIVE, what.word(), who)?,
            left => put(conn, *what, who, left).await?,
        }
    }
    Ok(())
}

/// There is another secret: what was guessed at the old one counts no longer.
pub async fn forget(conn: &mut Conn, what: What, who: &str) -> Result<(), StoreError> {
    exec!(conn, FORGIVE, what.word(), who)?;
    Ok(())
}
