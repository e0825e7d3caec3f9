//! The statements about servers' clocks: starts, stops, jumps.

use super::{Conn, StoreError, exec, rows};
use crate::clock::Instant;

const NOTE: &str = "insert into clock_note (server, at, what, ms) values ($1, $2, $3, $4)
    on conflict (server, at, what) do nothing";
const SEEN: &str = "insert into clock_seen (server, at) values ($1, $2)
    on conflict (server) do update set at = excluded.at";
const LAST: &str = "select at from clock_seen order by at desc limit 1";
const FORGET: &str = "delete from clock_seen where server <> $1 and at < $2";
const NOTES: &str = "select at, what, ms from clock_note where at >= $1 and at < $2 order by at, server, what limit $3";

/// What happened to a clock.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum What {
    /// A server was started.
    Start,
    /// It was stopped.
    Stop,
    /// Its clock jumped.
    Jump,
}

impl What {
    /// As it is stored.
    pub fn word(self) -> &'static str {
        match self {
            What::Start => "start",
            What::Stop => "stop",
            What::Jump => "jump",
        }
    }
}

/// Notes it.
pub async fn note(conn: &mut Conn, server: &str, at: Instant, what: What, ms: i64) -> Result<(), StoreError> {
    exec!(conn, NOTE, server, at.0, what.word(), ms)?;
    exec!(conn, SEEN, server, at.0)?;
    Ok(())
}

/// A server is there still.
pub async fn seen(conn: &mut Conn, server: &str, at: Instant) -> Result<(), StoreError> {
    exec!(conn, SEEN, server, at.0)?;
    Ok(())
}

/// When a server was last seen; what was seen before is let go of.
pub async fn last_seen(conn: &mut Conn, server: &str) -> Result<Option<Instant>, StoreError> {
    let last = last(conn).await?;
    if let Some(Instant(at)) = last {
        exec!(conn, FORGET, server, at)?;
    }
    Ok(last)
}

/// When any server was last seen.
pub async fn last(conn: &mut Conn) -> Result<Option<Instant>, StoreError> {
    Ok(rows!(conn, (i64,), LAST)?.pop().map(|r| Instant(r.0)))
}

/// What happened in `[from, to)`, in order; `most` at most.
pub async fn notes(
    conn: &mut Conn,
    (from, to): (Instant, Instant),
    most: u32,
) -> Result<Vec<(Instant, What, i64)>, StoreError> {
    let named = |word: &str| [What::Start, What::Stop, What::Jump].into_iter().find(|w| w.word() == word);
    let found = rows!(conn, (i64, String, i64), NOTES, from.0, to.0, i64::from(most))?;
    Ok(found.into_iter().filter_map(|(at, what, ms)| Some((Instant(at), named(&what)?, ms))).collect())
}
