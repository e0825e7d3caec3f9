//! Bearer tokens: random, shown once, kept hashed.

use super::{Actor, Role};
use crate::clock::Instant;
use crate::ledger::Id;
use crate::store::{Conn, StoreError, exec, rows};
use sha2::{Digest, Sha256};

const ADD: &str = "insert into token (site, token, name, role, hash, created_at) values ($1, $2, $3, $4, $5, $6)";
const FIND: &str = "select site, token, name, role from token where hash = $1 and revoked_at is null";
const TIE: &str = "insert into token_place (site, token, place) values ($1, $2, $3) on conflict do nothing";
const TIED: &str = "select place from token_place where site = $1 and token = $2 order by place";
const PROBES: &str = "select t.token, t.name, t.created_at, t.revoked_at, p.place from token t
    left join token_place p on p.site = t.site and p.token = t.token
    where t.site = $1 and t.role = 'probe' order by t.created_at, t.token, p.place";
const REVOKE: &str =
    "update token set revoked_at = $3 where site = $1 and token = $2 and role = 'probe' and revoked_at is null";
// A token's id is written in no other member than `by`.
const LAST: &str =
    "select air_at from entry where site = $1 and air_at >= $2 and line like $3 order by air_at desc limit 1";

/// The site of a token for all shops.
pub const ALL: &str = "*";

/// The hash under which a token is kept. The token is 256 random bits, so a plain hash cannot be guessed back.
pub fn hash(token: &str) -> String {
    hex::encode(Sha256::digest(token))
}

/// `n` random bytes as hex.
pub fn random_hex(n: usize) -> Result<String, StoreError> {
    let mut bytes = vec![0; n];
    getrandom::fill(&mut bytes).map_err(|e| StoreError::Open(format!("no randomness: {e}")))?;
    Ok(hex::encode(bytes))
}

/// Makes a token and returns it; it cannot be shown again. `site` is [`ALL`] for all shops. A probe's is limited to
/// `places`, unless there are none: in a transaction of the caller's, or it could be limited to nothing.
pub async fn add(
    conn: &mut Conn,
    site: &str,
    name: &str,
    role: Role,
    places: &[Id],
    now: Instant,
) -> Result<String, StoreError> {
    let token = format!("cc_{}", random_hex(32)?);
    let id = format!("t-{}", random_hex(6)?);
    exec!(conn, ADD, site, &id, name, role.word(), hash(&token), now.0)?;
    for place in places {
        exec!(conn, TIE, site, &id, place.as_str())?;
    }
    Ok(token)
}

/// Who a token is.
pub async fn find(conn: &mut Conn, token: &str) -> Result<Option<Actor>, StoreError> {
    let found = rows!(conn, (String, String, String, String), FIND, hash(token))?.pop();
    let Some((site, id, name, role)) = found else { return Ok(None) };
    let (Some(by), Some(role)) = (Id::new(&id), Role::named(&role)) else { return Ok(None) };
    let tied = if role == Role::Probe { rows!(conn, (String,), TIED, &site, &id)? } else { Vec::new() };
    let places = tied.iter().filter_map(|(place,)| Id::new(place)).collect();
    let site = (site != ALL).then_some(site);
    Ok(Some(Actor { places, ..Actor::token(by, &name, role, site) }))
}

/// A probe's token as a manager sees it.
#[derive(Clone, PartialEq, Debug)]
pub struct Probe {
    /// Its id, as readings have it in `by`.
    pub token: Id,
    /// Its name.
    pub name: String,
    /// The places that it may write; none for every place of the shop.
    pub places: Vec<Id>,
    /// When it was made.
    pub made_at: Instant,
    /// When it was revoked.
    pub revoked_at: Option<Instant>,
    /// When its last reading was taken, if that was since the instant from which on it was asked.
    pub last_at: Option<Instant>,
}

/// The probes' tokens of that name, as [`probes`] has them, without their last readings.
pub async fn named(conn: &mut Conn, site: &str, name: &str) -> Result<Vec<Probe>, StoreError> {
    let mut all = listed(conn, site).await?;
    all.retain(|p| p.name == name);
    Ok(all)
}

/// Every probe's token that a shop ever had, in the order in which they were made.
pub async fn probes(conn: &mut Conn, site: &str, since: Instant) -> Result<Vec<Probe>, StoreError> {
    let mut probes = listed(conn, site).await?;
    for probe in &mut probes {
        let by = format!("%\"by\":\"{}\"%", probe.token);
        probe.last_at = rows!(conn, (i64,), LAST, site, since.0, by)?.pop().map(|(at,)| Instant(at));
    }
    Ok(probes)
}

async fn listed(conn: &mut Conn, site: &str) -> Result<Vec<Probe>, StoreError> {
    let mut probes: Vec<Probe> = Vec::new();
    for (id, name, made, revoked, place) in
        rows!(conn, (String, String, i64, Option<i64>, Option<String>), PROBES, site)?
    {
        let Some(token) = Id::new(&id) else { continue };
        if probes.last().is_none_or(|p| p.token != token) {
            let (made_at, revoked_at) = (Instant(made), revoked.map(Instant));
            probes.push(Probe { token, name, places: Vec::new(), made_at, revoked_at, last_at: None });
        }
        if let (Some(probe), Some(place)) = (probes.last_mut(), place.and_then(|p| Id::new(&p))) {
            probe.places.push(place);
        }
    }
    Ok(probes)
}

/// Revokes a probe's token; says whether it was there.
pub async fn revoke(conn: &mut Conn, site: &str, token: &Id, now: Instant) -> Result<bool, StoreError> {
    Ok(exec!(conn, REVOKE, site, token.as_str(), now.0)? > 0)
}
