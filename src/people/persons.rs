//! People and where they work.

use super::{Names, Role, tokens};
use crate::clock::Instant;
use crate::ledger::Id;
use crate::store::{Conn, StoreError, exec, rows};

const ADD: &str =
    "insert into person (person, name, sign_in, password, pin, created_at) values ($1, $2, $3, $4, $5, $6)";
const JOIN: &str = "insert into member (site, person, role, joined_at) values ($1, $2, $3, $4)";
const OF_SITE: &str = "select p.person, p.name, m.role, cast(case when p.pin is null then 0 else 1 end as bigint),
    cast(case when p.password is null then 0 else 1 end as bigint), m.disabled_at
    from member m join person p on p.person = m.person where m.site = $1 order by p.name, p.person";
const SHOPS: &str = "select m.site, m.role from member m join site s on s.site = m.site
    where m.person = $1 and m.disabled_at is null order by m.site";
const EVER: &str = "select site from member where person = $1 order by site";
const PIN: &str = "select p.pin from member m join person p on p.person = m.person
    where m.site = $1 and m.person = $2 and m.disabled_at is null";
const BY_SIGN_IN: &str = "select person, password from person where sign_in = $1";
const SET_NAME: &str =
    "update person set name = $2, sign_in = case when password is null then null else $3 end where person = $1";
const SET_PIN: &str = "update person set pin = $2 where person = $1";
const SET_PASSWORD: &str = "update person set password = $2, sign_in = $3 where person = $1";
const NO_PASSWORD: &str = "update person set password = null, sign_in = null where person = $1";
const SET_ROLE: &str = "update member set role = $3 where site = $1 and person = $2";
const DISABLE: &str = "update member set disabled_at = $3 where site = $1 and person = $2 and disabled_at is null";
const ENABLE: &str = "update member set disabled_at = null where site = $1 and person = $2";
const ERASE: &str = "update person set name = '', sign_in = null, password = null, pin = null where person = $1";
const LANGUAGE: &str = "select language from person where person = $1";
const SET_LANGUAGE: &str = "update person set language = $2 where person = $1";
const NAMES: &str = "select p.person, p.name from member m join person p on p.person = m.person where m.site = $1
    union all select token, name from token where site in ($1, $2)
    union all select link, name from handover where site = $1 and name <> ''";
const MANAGERS: &str = "select cast(count(*) as bigint) from member where site = $1 and role = 'manager'
    and disabled_at is null and person <> $2";
const ANY_MANAGER: &str = "select person from member where role = 'manager'
    union all select token from token where role = 'manager' limit 1";

/// Somebody of a shop, as managers see them.
pub struct Member {
    /// Their id.
    pub person: Id,
    /// Their name; empty once erased.
    pub name: String,
    /// What they may do there.
    pub role: Role,
    /// Whether they have a PIN.
    pub has_pin: bool,
    /// Whether they have a password.
    pub has_password: bool,
    /// Since when they may not sign in.
    pub disabled_at: Option<Instant>,
}

/// Somebody new.
pub struct New<'a> {
    /// The name, as it is kept.
    pub name: &'a str,
    /// The name as the sign-in compares it; only with a password.
    pub sign_in: Option<String>,
    /// The hash of their password.
    pub password: Option<String>,
    /// The hash of their PIN.
    pub pin: Option<String>,
}

/// An id for somebody new.
pub fn new_id() -> Result<String, StoreError> {
    Ok(format!("p-{}", tokens::random_hex(6)?))
}

/// Adds a person to a shop; the caller has a transaction open.
pub async fn add(
    conn: &mut Conn,
    site: &str,
    id: &str,
    role: Role,
    new: &New<'_>,
    now: Instant,
) -> Result<(), StoreError> {
    exec!(conn, ADD, id, new.name, &new.sign_in, &new.password, &new.pin, now.0)?;
    join(conn, site, id, role, now).await
}

/// Somebody known works in a shop from now on.
pub async fn join(conn: &mut Conn, site: &str, person: &str, role: Role, now: Instant) -> Result<(), StoreError> {
    exec!(conn, JOIN, site, person, role.word(), now.0)?;
    Ok(())
}

/// Everybody who ever worked in a shop, by name.
pub async fn of_site(conn: &mut Conn, site: &str) -> Result<Vec<Member>, StoreError> {
    let found = rows!(conn, (String, String, String, i64, i64, Option<i64>), OF_SITE, site)?;
    let member = |(id, name, role, pin, password, disabled): (String, String, String, i64, i64, Option<i64>)| {
        let (person, role) = (Id::new(&id)?, Role::named(&role)?);
        let (has_pin, has_password) = (pin == 1, password == 1);
        Some(Member { person, name, role, has_pin, has_password, disabled_at: disabled.map(Instant) })
    };
    Ok(found.into_iter().filter_map(member).collect())
}

/// The shops somebody may act in, and as what.
pub async fn shops(conn: &mut Conn, person: &str) -> Result<Vec<(String, Role)>, StoreError> {
    let found = rows!(conn, (String, String), SHOPS, person)?;
    Ok(found.into_iter().filter_map(|(site, role)| Some((site, Role::named(&role)?))).collect())
}

/// Every shop somebody ever worked in.
pub async fn ever(conn: &mut Conn, person: &str) -> Result<Vec<String>, StoreError> {
    Ok(rows!(conn, (String,), EVER, person)?.into_iter().map(|r| r.0).collect())
}

/// The hash of somebody's PIN, if they work there and have one.
pub async fn pin(conn: &mut Conn, site: &str, person: &str) -> Result<Option<String>, StoreError> {
    Ok(rows!(conn, (Option<String>,), PIN, site, person)?.pop().and_then(|r| r.0))
}

/// Who signs in by that name, and the hash of their password.
pub async fn by_sign_in(conn: &mut Conn, name: &str) -> Result<Option<(String, Option<String>)>, StoreError> {
    Ok(rows!(conn, (String, Option<String>), BY_SIGN_IN, name)?.pop())
}

/// Changes a name.
pub async fn set_name(conn: &mut Conn, person: &str, name: &str, sign_in: &str) -> Result<(), StoreError> {
    exec!(conn, SET_NAME, person, name, sign_in)?;
    Ok(())
}

/// Changes a PIN.
pub async fn set_pin(conn: &mut Conn, person: &str, hash: &str) -> Result<(), StoreError> {
    exec!(conn, SET_PIN, person, hash)?;
    Ok(())
}

/// Changes a password.
pub async fn set_password(conn: &mut Conn, person: &str, hash: &str, sign_in: &str) -> Result<(), StoreError> {
    exec!(conn, SET_PASSWORD, person, hash, sign_in)?;
    Ok(())
}

/// Takes a password away.
pub async fn no_password(conn: &mut Conn, person: &str) -> Result<(), StoreError> {
    exec!(conn, NO_PASSWORD, person)?;
    Ok(())
}

/// Changes what somebody may do in a shop.
pub async fn set_role(conn: &mut Conn, site: &str, person: &str, role: Role) -> Result<(), StoreError> {
    exec!(conn, SET_ROLE, site, person, role.word())?;
    Ok(())
}

/// Somebody works there no longer.
pub async fn disable(conn: &mut Conn, site: &str, person: &str, now: Instant) -> Result<(), StoreError> {
    exec!(conn, DISABLE, site, person, now.0)?;
    Ok(())
}

/// Somebody works there again.
pub async fn enable(conn: &mut Conn, site: &str, person: &str) -> Result<(), StoreError> {
    exec!(conn, ENABLE, site, person)?;
    Ok(())
}

/// Erases a name for good, and the secrets with it. The id stays, since entries carry it.
pub async fn erase(conn: &mut Conn, person: &str) -> Result<(), StoreError> {
    exec!(conn, ERASE, person)?;
    Ok(())
}

/// The language somebody chose.
pub async fn language(conn: &mut Conn, person: &str) -> Result<Option<String>, StoreError> {
    Ok(rows!(conn, (Option<String>,), LANGUAGE, person)?.pop().and_then(|r| r.0))
}

/// Keeps the language somebody chose; says whether they are a person.
pub async fn set_language(conn: &mut Conn, person: &str, tag: &str) -> Result<bool, StoreError> {
    Ok(exec!(conn, SET_LANGUAGE, person, tag)? == 1)
}

/// The names of whoever may have written in a shop.
pub async fn names(conn: &mut Conn, site: &str) -> Result<Names, StoreError> {
    let found = rows!(conn, (String, String), NAMES, site, tokens::ALL)?;
    Ok(Names::new(found.into_iter().filter_map(|(id, name)| Some((Id::new(&id)?, name)))))
}

/// How many managers a shop has besides one.
pub async fn other_managers(conn: &mut Conn, site: &str, person: &str) -> Result<i64, StoreError> {
    Ok(rows!(conn, (i64,), MANAGERS, site, person)?.pop().map_or(0, |r| r.0))
}

/// Whether anybody could ever sign in as a manager.
pub async fn any_manager(conn: &mut Conn) -> Result<bool, StoreError> {
    Ok(!rows!(conn, (String,), ANY_MANAGER)?.is_empty())
}
