//! Sign-ins: random secrets in a cookie, kept hashed.

use super::devices::Device;
use super::tokens::{hash, random_hex};
use super::{Actor, Role, limits, persons};
use crate::clock::Instant;
use crate::ledger::{ByHow, Id};
use crate::store::{Conn, StoreError, exec, rows};

const ADD: &str = "insert into session (session, person, how, site, device, begun_at, seen_at)
    values ($1, $2, $3, $4, $5, $6, $6)";
const FIND: &str = "select s.person, p.name, s.how, s.begun_at, s.seen_at, d.site, d.device
    from session s join person p on p.person = s.person
    left join device d on d.site = s.site and d.device = s.device and d.revoked_at is null
    where s.session = $1";
const SEEN: &str = "update session set seen_at = $2 where session = $1 and seen_at < $2";
const END: &str = "delete from session where session = $1";
const END_OF: &str = "delete from session where person = $1";
const END_OF_HOW: &str = "delete from session where person = $1 and how in ('pin', 'name')";
const OLD: &str = "delete from session where begun_at < $1";

/// What the secret of a sign-in begins with.
pub const PREFIX: &str = "cs_";

/// A sign-in that was found.
pub struct Found {
    /// Who they are in each of their shops; never empty.
    pub actors: Vec<Actor>,
    /// When it was last used, as far as is written down.
    pub seen_at: Instant,
}

fn how_word(how: ByHow) -> &'static str {
    match how {
        ByHow::Pin => "pin",
        ByHow::Name => "name",
        ByHow::Password => "password",
        ByHow::Token => "token",
    }
}

fn how_named(word: &str) -> Option<ByHow> {
    [ByHow::Pin, ByHow::Name, ByHow::Password, ByHow::Token].into_iter().find(|h| how_word(*h) == word)
}

/// Begins a sign-in and returns the cookie's secret. Those that have run out are swept away.
pub async fn begin(
    conn: &mut Conn,
    person: &str,
    how: ByHow,
    device: Option<&Device>,
    now: Instant,
) -> Result<String, StoreError> {
    let secret = format!("{PREFIX}{}", random_hex(32)?);
    let (site, id) = (device.map(|d| d.site.as_str()), device.map(|d| d.device.as_str()));
    exec!(conn, OLD, now.plus(-limits::ABSOLUTE_MS).0)?;
    exec!(conn, ADD, hash(&secret), person, how_word(how), site, id, now.0)?;
    Ok(secret)
}

/// Who a sign-in is, while it holds: in every shop where they work, or on an enrolled device in its shop alone.
pub async fn find(conn: &mut Conn, secret: &str, now: Instant) -> Result<Option<Found>, StoreError> {
    type Row = (String, String, String, i64, i64, Option<String>, Option<String>);
    let Some((person, name, how, begun, seen, on, device)) = rows!(conn, Row, FIND, hash(secret))?.pop() else {
        return Ok(None);
    };
    let (Some(by), Some(how)) = (Id::new(&person), how_named(&how)) else { return Ok(None) };
    if !limits::holds(how, Instant(begun), Instant(seen), now) {
        return Ok(None);
    }
    let mut actors = Vec::new();
    for (site, role) in persons::shops(conn, &person).await? {
        let here = on.as_deref() == Some(&site);
        if how != ByHow::Password && !here {
            continue;
        }
        let role = acting_as(role, how);
        let device = device.as_deref().filter(|_| here).and_then(Id::new);
        actors.push(Actor { how, device, ..Actor::token(by.clone(), &name, role, Some(site)) });
    }
    Ok((!actors.is_empty()).then_some(Found { actors, seen_at: Instant(seen) }))
}

/// A PIN is short and typed where others look on: with it a manager acts as staff.
fn acting_as(role: Role, how: ByHow) -> Role {
    match (role, how) {
        (Role::Manager, ByHow::Pin | ByHow::Name) => Role::Staff,
        _ => role,
    }
}

/// Notes that a sign-in was used.
pub async fn note_seen(conn: &mut Conn, secret: &str, now: Instant) -> Result<(), StoreError> {
    exec!(conn, SEEN, hash(secret), now.0)?;
    Ok(())
}

/// Ends a sign-in.
pub async fn end(conn: &mut Conn, secret: &str) -> Result<(), StoreError> {
    exec!(conn, END, hash(secret))?;
    Ok(())
}

/// Ends everything somebody is signed in by.
pub async fn end_of(conn: &mut Conn, person: &str) -> Result<(), StoreError> {
    exec!(conn, END_OF, person)?;
    Ok(())
}

/// Ends what somebody is signed in by with a PIN.
pub async fn end_of_pin(conn: &mut Conn, person: &str) -> Result<(), StoreError> {
    exec!(conn, END_OF_HOW, person)?;
    Ok(())
}
