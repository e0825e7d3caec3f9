//! Bearer tokens: random, shown once, kept hashed.

use super::{Actor, Role};
use crate::clock::Instant;
use crate::ledger::Id;
use crate::store::{Conn, StoreError, exec, rows};
use sha2::{Digest, Sha256};

const ADD: &str = "insert into token (site, token, name, role, hash, created_at) values ($1, $2, $3, $4, $5, $6)";
const FIND: &str = "select site, token, name, role from token where hash = $1 and revoked_at is null";

/// The site of a token for all shops.
pub const ALL: &str = "*";

/// The hash under which a token is kept. The token is 256 random bits, so a plain hash cannot be guessed back.
pub fn hash(token: &str) -> String {
    Sha256::digest(token).iter().map(|b| format!("{b:02x}")).collect()
}

/// `n` random bytes as hex.
pub fn random_hex(n: usize) -> Result<String, StoreError> {
    let mut bytes = vec![0; n];
    getrandom::fill(&mut bytes).map_err(|e| StoreError::Open(format!("no randomness: {e}")))?;
    Ok(bytes.iter().map(|b| format!("{b:02x}")).collect())
}

/// Makes a token and returns it; it cannot be shown again. `site` is [`ALL`] for all shops.
pub async fn add(conn: &mut Conn, site: &str, name: &str, role: Role, now: Instant) -> Result<String, StoreError> {
    let token = format!("cc_{}", random_hex(32)?);
    let id = format!("t-{}", random_hex(6)?);
    exec!(conn, ADD, site, id, name, role.word(), hash(&token), now.0)?;
    Ok(token)
}

/// Who a token is.
pub async fn find(conn: &mut Conn, token: &str) -> Result<Option<Actor>, StoreError> {
    let found = rows!(conn, (String, String, String, String), FIND, hash(token))?.pop();
    Ok(found.and_then(|(site, id, name, role)| {
        let site = (site != ALL).then_some(site);
        Some(Actor::token(Id::new(&id)?, &name, Role::named(&role)?, site))
    }))
}
