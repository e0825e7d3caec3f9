//! Inspectors' links: made by a manager, good for a while, by a code kept hashed; and what was looked at by them.

use super::tokens::{hash, random_hex};
use super::{Access, Actor, Role, codes};
use crate::clock::{Instant, MINUTE_MS};
use crate::ledger::{ByHow, Id};
use crate::store::{Conn, StoreError, exec, rows};

const ADD: &str = "insert into access (site, access, name, code, from_day, to_day, made_by, made_at, until_at)
    values ($1, $2, $3, $4, $5, $6, $7, $8, $9)";
const BY_CODE: &str = "select site, access from access where code = $1 and until_at > $2 and revoked_at is null";
const BEGIN: &str = "insert into access_session (session, site, access, begun_at) values ($1, $2, $3, $4)";
const FIND: &str = "select a.site, a.access, a.name, a.from_day, a.to_day, a.until_at from access_session s
    join access a on a.site = s.site and a.access = s.access
    where s.session = $1 and a.until_at > $2 and a.revoked_at is null";
const END: &str = "delete from access_session where session = $1";
const OF_SITE: &str = "select access, name, from_day, to_day, made_by, made_at, until_at, revoked_at from access
    where site = $1 order by made_at desc, access";
const REVOKE: &str = "update access set revoked_at = $3 where site = $1 and access = $2 and revoked_at is null";
const USE: &str = "insert into access_use (site, access, at, what, times) values ($1, $2, $3, $4, 1)
    on conflict (site, access, at, what) do update set times = access_use.times + 1";
const USED: &str = "select count(*) from access_use where site = $1 and access = $2";
const USES: &str =
    "select at, what, times from access_use where site = $1 and access = $2 order by at desc, what limit $3";

/// What the secret of such a sign-in begins with.
pub const PREFIX: &str = "ci_";
/// Lines kept of one link's use. What comes after is counted together, minute by minute.
const MOST: i64 = 5_000;
/// What that is called.
pub const MORE: &str = "…";

/// A link that is to be made.
pub struct New<'a> {
    /// What the manager calls it.
    pub name: &'a str,
    /// The only local dates it is for.
    pub within: Option<(i64, i64)>,
    /// Until when.
    pub until: Instant,
    /// Who makes it.
    pub by: &'a Id,
}

/// A link as managers see it.
pub struct Listed {
    /// Its id.
    pub access: Id,
    /// What it was called.
    pub name: String,
    /// The only local dates it is for.
    pub within: Option<(i64, i64)>,
    /// Who made it.
    pub by: Option<Id>,
    /// When.
    pub made_at: Instant,
    /// Until when.
    pub until: Instant,
    /// Since when it no longer is.
    pub revoked_at: Option<Instant>,
}

/// Something that was opened by a link, within one minute.
pub struct Use {
    /// The minute.
    pub at: Instant,
    /// The page's address behind the shop's.
    pub what: String,
    /// How often.
    pub times: i64,
}

/// Makes a link; its code, which is shown once. 80 bits: it is not guessed while it is good.
pub async fn add(conn: &mut Conn, site: &str, new: &New<'_>, now: Instant) -> Result<String, StoreError> {
    let (mut a, mut b) = ([0; 8], [0; 8]);
    let fault = |e: getrandom::Error| StoreError::Open(format!("no randomness: {e}"));
    getrandom::fill(&mut a).and_then(|()| getrandom::fill(&mut b)).map_err(fault)?;
    let code = format!("{}{}", codes::from_random(a), codes::from_random(b));
    let id = format!("i-{}", random_hex(6)?);
    let (from, to) = new.within.unzip();
    exec!(conn, ADD, site, &id, new.name, hash(&code), from, to, new.by.as_str(), now.0, new.until.0)?;
    Ok(code)
}

/// Lets a browser in by a link's code: the shop, the link's id, and the secret for the cookie.
pub async fn begin(conn: &mut Conn, code: &str, now: Instant) -> Result<Option<(String, Id, String)>, StoreError> {
    let Some((site, access)) = rows!(conn, (String, String), BY_CODE, hash(code), now.0)?.pop() else {
        return Ok(None);
    };
    let secret = format!("{PREFIX}{}", random_hex(32)?);
    exec!(conn, BEGIN, hash(&secret), &site, &access, now.0)?;
    Ok(Id::new(&access).map(|id| (site, id, secret)))
}

/// Who such a sign-in is, while the link is good.
pub async fn find(conn: &mut Conn, secret: &str, now: Instant) -> Result<Option<Actor>, StoreError> {
    type Row = (String, String, String, Option<i64>, Option<i64>, i64);
    let Some((site, access, name, from, to, until)) = rows!(conn, Row, FIND, hash(secret), now.0)?.pop() else {
        return Ok(None);
    };
    let Some(id) = Id::new(&access) else { return Ok(None) };
    let access = Access { id: id.clone(), until: Instant(until), within: from.zip(to) };
    let name = if name.is_empty() { id.to_string() } else { name };
    let (role, how, site) = (Role::Inspector, ByHow::Token, Some(site));
    Ok(Some(Actor { how, access: Some(access), ..Actor::token(id, &name, role, site) }))
}

/// Ends such a sign-in; the link stays good.
pub async fn end(conn: &mut Conn, secret: &str) -> Result<(), StoreError> {
    exec!(conn, END, hash(secret))?;
    Ok(())
}

/// Every link a shop ever had, the latest first.
pub async fn of_site(conn: &mut Conn, site: &str) -> Result<Vec<Listed>, StoreError> {
    type Row = (String, String, Option<i64>, Option<i64>, String, i64, i64, Option<i64>);
    let listed = |(access, name, from, to, by, made, until, revoked): Row| {
        let (access, within, by) = (Id::new(&access)?, from.zip(to), Id::new(&by));
        let (made_at, until, revoked_at) = (Instant(made), Instant(until), revoked.map(Instant));
        Some(Listed { access, name, within, by, made_at, until, revoked_at })
    };
    Ok(rows!(conn, Row, OF_SITE, site)?.into_iter().filter_map(listed).collect())
}

/// Ends a link, and whoever was let in by it.
pub async fn revoke(conn: &mut Conn, site: &str, access: &Id, now: Instant) -> Result<bool, StoreError> {
    Ok(exec!(conn, REVOKE, site, access.as_str(), now.0)? == 1)
}

/// Notes what is opened, before it is.
pub async fn note(conn: &mut Conn, site: &str, access: &Id, what: &str, now: Instant) -> Result<(), StoreError> {
    let minute = now.0.div_euclid(MINUTE_MS) * MINUTE_MS;
    let used = rows!(conn, (i64,), USED, site, access.as_str())?.pop().map_or(0, |r| r.0);
    let what: String = if used < MOST { what.chars().take(200).collect() } else { MORE.to_owned() };
    exec!(conn, USE, site, access.as_str(), minute, &what)?;
    Ok(())
}

/// What was opened by a link, the latest first.
pub async fn uses(conn: &mut Conn, site: &str, access: &Id, most: u32) -> Result<Vec<Use>, StoreError> {
    let found = rows!(conn, (i64, String, i64), USES, site, access.as_str(), i64::from(most))?;
    Ok(found.into_iter().map(|(at, what, times)| Use { at: Instant(at), what, times }).collect())
}
