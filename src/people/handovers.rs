//! Addresses that show one item to whoever has it: made with the handing over, revocable, by a code kept hashed.

use super::codes;
use super::tokens::hash;
use crate::clock::{HOUR_MS, Instant};
use crate::ledger::Id;
use crate::store::{Conn, StoreError, exec, rows};
use sha2::{Digest, Sha256};
use std::sync::LazyLock;

const ADD: &str = "insert into handover (site, link, item, code, name, writes, made_by, made_at, until_at)
    values ($1, $2, $3, $4, $5, $6, $7, $8, $9) on conflict (site, link) do nothing";
const FIND: &str = "select site, link, item, name, writes, until_at from handover
    where code = $1 and until_at > $2 and revoked_at is null";
const OF_SITE: &str = "select link, item, name, writes, until_at from handover
    where site = $1 and until_at > $2 and revoked_at is null order by made_at, link";
const REVOKE: &str = "update handover set revoked_at = $3 where site = $1 and link = $2 and revoked_at is null";

/// How long such an address is good: this project's choice, a day longer than an item of which nothing is reported is open.
pub const LINK_MS: i64 = 48 * HOUR_MS;
/// Entries one address may write: this project's choice, far more than an evening has.
pub const WRITES_MOST: usize = 50;
/// Characters of the name of whoever has it at most.
pub const NAME: usize = 80;

/// An address that is good.
#[derive(Clone, PartialEq, Debug)]
pub struct Link {
    /// The shop.
    pub site: String,
    /// What stands for whoever uses it.
    pub link: Id,
    /// The one item.
    pub item: Id,
    /// Who has it, as the shop calls them.
    pub name: String,
    /// Whether they may record where it stands.
    pub writes: bool,
    /// Until when.
    pub until: Instant,
}

/// Of this process alone, and written nowhere: the page's key is kept with the answer that it brought.
static SECRET: LazyLock<Option<[u8; 32]>> = LazyLock::new(|| {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes).ok().map(|()| bytes)
});

/// The code of an address: from the page's own key and a secret of this process, so that the same form sent again makes the
/// same one, and nobody makes it from what is stored. 80 bits.
pub fn code_of(key: &str, item: &Id) -> Result<String, StoreError> {
    let secret = SECRET.ok_or_else(|| StoreError::Open(String::from("no randomness")))?;
    let mut digest = Sha256::new();
    digest.update(secret);
    digest.update(format!("handed over\n{key}\n{item}"));
    let digest = digest.finalize();
    let eight = |from: usize| {
        let mut bytes = [0; 8];
        bytes.copy_from_slice(&digest[from..from + 8]);
        codes::from_random(bytes)
    };
    Ok(format!("{}{}", eight(0), eight(8)))
}

/// Makes one.
pub async fn add(
    conn: &mut Conn,
    site: &str,
    code: &str,
    new: (&Id, &str, bool),
    (by, now): (&Id, Instant),
) -> Result<(), StoreError> {
    let (item, name, writes) = new;
    let code = hash(code);
    let link = format!("h-{}", code.get(..12).unwrap_or_default());
    let until = now.plus(LINK_MS);
    exec!(conn, ADD, site, &link, item.as_str(), &code, name, i64::from(writes), by.as_str(), now.0, until.0)?;
    Ok(())
}

/// What such a code leads to, while it is good.
pub async fn find(conn: &mut Conn, code: &str, now: Instant) -> Result<Option<Link>, StoreError> {
    type Row = (String, String, String, String, i64, i64);
    let found = rows!(conn, Row, FIND, hash(code), now.0)?.pop();
    Ok(found.and_then(|(site, link, item, name, writes, until)| {
        let (link, item) = (Id::new(&link)?, Id::new(&item)?);
        Some(Link { site, link, item, name, writes: writes == 1, until: Instant(until) })
    }))
}

/// Those of a shop that are good.
pub async fn of_site(conn: &mut Conn, site: &str, now: Instant) -> Result<Vec<Link>, StoreError> {
    type Row = (String, String, String, i64, i64);
    let one = |(link, item, name, writes, until): Row| {
        let (link, item, site) = (Id::new(&link)?, Id::new(&item)?, site.to_owned());
        Some(Link { site, link, item, name, writes: writes == 1, until: Instant(until) })
    };
    Ok(rows!(conn, Row, OF_SITE, site, now.0)?.into_iter().filter_map(one).collect())
}

/// Ends one; whether it was there.
pub async fn revoke(conn: &mut Conn, site: &str, link: &Id, now: Instant) -> Result<bool, StoreError> {
    Ok(exec!(conn, REVOKE, site, link.as_str(), now.0)? == 1)
}
