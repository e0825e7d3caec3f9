//! Devices that a manager enrolled: named, by a code that works once, revocable.

use super::tokens::{hash, random_hex};
use super::{codes, limits};
use crate::clock::Instant;
use crate::ledger::Id;
use crate::store::{Conn, StoreError, exec, rows};

const ADD: &str =
    "insert into device (site, device, name, code, code_until, created_at) values ($1, $2, $3, $4, $5, $6)";
const NEW_CODE: &str =
    "update device set code = $3, code_until = $4 where site = $1 and device = $2 and revoked_at is null";
const ENROL: &str = "update device set code = null, code_until = null, secret = $3, enrolled_at = $2
    where code = $1 and code_until > $2 and revoked_at is null returning site, device, name";
const FIND: &str = "select site, device, name from device where secret = $1 and revoked_at is null";
const OF_SITE: &str =
    "select device, name, code_until, enrolled_at, revoked_at from device where site = $1 order by created_at, device";
const REVOKE: &str = "update device set revoked_at = $3, secret = null, code = null, code_until = null
    where site = $1 and device = $2 and revoked_at is null";
const GIVE: &str = "insert into pin_given (site, device, person, given_at) values ($1, $2, $3, $4)
    on conflict (site, device, person) do update set given_at = excluded.given_at";
const GIVEN: &str = "select person, given_at from pin_given where site = $1 and device = $2 and given_at > $3";
const FORGET: &str = "delete from pin_given where site = $1 and device = $2 and person = $3";
const FORGET_PERSON: &str = "delete from pin_given where person = $1";
const FORGET_DEVICE: &str = "delete from pin_given where site = $1 and device = $2";

/// A device that is enrolled.
#[derive(Clone, Debug, PartialEq)]
pub struct Device {
    /// Its shop.
    pub site: String,
    /// Its id.
    pub device: Id,
    /// Its name.
    pub name: String,
}

/// A device as managers see it.
pub struct Listed {
    /// Its id.
    pub device: Id,
    /// Its name.
    pub name: String,
    /// Until when its code works.
    pub code_until: Option<Instant>,
    /// Since when it is enrolled.
    pub enrolled_at: Option<Instant>,
    /// Since when it no longer is.
    pub revoked_at: Option<Instant>,
}

fn new_code() -> Result<String, StoreError> {
    let mut bytes = [0; 8];
    getrandom::fill(&mut bytes).map_err(|e| StoreError::Open(format!("no randomness: {e}")))?;
    Ok(codes::from_random(bytes))
}

fn device((site, id, name): (String, String, String)) -> Option<Device> {
    Some(Device { site, device: Id::new(&id)?, name })
}

/// Names a device that is to be enrolled; its id and the code that does it once.
pub async fn add(conn: &mut Conn, site: &str, name: &str, now: Instant) -> Result<(String, String), StoreError> {
    let (id, code) = (format!("d-{}", random_hex(6)?), new_code()?);
    exec!(conn, ADD, site, &id, name, hash(&code), now.plus(limits::CODE_MS).0, now.0)?;
    Ok((id, code))
}

/// Another code for a device: what it has enrolled stays so until the code is used. `None` if it was revoked.
pub async fn another_code(conn: &mut Conn, site: &str, id: &str, now: Instant) -> Result<Option<String>, StoreError> {
    let code = new_code()?;
    let done = exec!(conn, NEW_CODE, site, id, hash(&code), now.plus(limits::CODE_MS).0)?;
    Ok((done == 1).then_some(code))
}

/// Uses a code up; the device and the secret for its cookie.
pub async fn enrol(conn: &mut Conn, code: &str, now: Instant) -> Result<Option<(Device, String)>, StoreError> {
    let secret = format!("cd_{}", random_hex(32)?);
    let found = rows!(conn, (String, String, String), ENROL, hash(code), now.0, hash(&secret))?.pop();
    Ok(found.and_then(device).map(|d| (d, secret)))
}

/// The device whose cookie carries that secret.
pub async fn find(conn: &mut Conn, secret: &str) -> Result<Option<Device>, StoreError> {
    Ok(rows!(conn, (String, String, String), FIND, hash(secret))?.pop().and_then(device))
}

/// Every device a shop ever had.
pub async fn of_site(conn: &mut Conn, site: &str) -> Result<Vec<Listed>, StoreError> {
    type Row = (String, String, Option<i64>, Option<i64>, Option<i64>);
    let listed = |(id, name, code, enrolled, revoked): Row| {
        let at = |ms: Option<i64>| ms.map(Instant);
        let device = Id::new(&id)?;
        Some(Listed { device, name, code_until: at(code), enrolled_at: at(enrolled), revoked_at: at(revoked) })
    };
    Ok(rows!(conn, Row, OF_SITE, site)?.into_iter().filter_map(listed).collect())
}

/// Ends a device, and whatever was signed in on it by PIN.
pub async fn revoke(conn: &mut Conn, site: &str, id: &str, now: Instant) -> Result<(), StoreError> {
    exec!(conn, REVOKE, site, id, now.0)?;
    exec!(conn, FORGET_DEVICE, site, id)?;
    Ok(())
}

/// Notes that somebody gave the PIN there.
pub async fn note_pin(conn: &mut Conn, device: &Device, person: &str, now: Instant) -> Result<(), StoreError> {
    exec!(conn, GIVE, &device.site, device.device.as_str(), person, now.0)?;
    Ok(())
}

/// Who gave the PIN there lately enough to be switched to by name alone, and when.
pub async fn pins_given(conn: &mut Conn, device: &Device, now: Instant) -> Result<Vec<(Id, Instant)>, StoreError> {
    let since = now.plus(-limits::BY_NAME_MS).0;
    let found = rows!(conn, (String, i64), GIVEN, &device.site, device.device.as_str(), since)?;
    Ok(found.into_iter().filter_map(|(id, at)| Some((Id::new(&id)?, Instant(at)))).collect())
}

/// Somebody is to give the PIN again there.
pub async fn forget_pin(conn: &mut Conn, site: &str, device: &str, person: &str) -> Result<(), StoreError> {
    exec!(conn, FORGET, site, device, person)?;
    Ok(())
}

/// Somebody is to give the PIN again everywhere.
pub async fn forget_pins(conn: &mut Conn, person: &str) -> Result<(), StoreError> {
    exec!(conn, FORGET_PERSON, person)?;
    Ok(())
}
