//! The statements about taps that the ledger did not take.

use super::{Conn, StoreError, exec, rows};
use crate::board::untaken::Untaken;
use crate::clock::Instant;
use crate::ledger::Id;

const ADD: &str = "insert into untaken (site, tap, person, device, item, form, happened_at, device_at, received_at,
    fields, entries, code, detail) values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)";
const ONE: &str = "select tap, person, device, item, form, happened_at, device_at, received_at, fields, entries, code,
    detail from untaken where site = $1 and tap = $2";
const ALL: &str = "select tap, person, device, item, form, happened_at, device_at, received_at, fields, entries, code,
    detail from untaken where site = $1 order by received_at desc, tap limit $2";

type Row = (String, String, Option<String>, String, String, i64, i64, i64, String, String, String, String);

fn of(r: Row) -> Option<Untaken> {
    Some(Untaken {
        tap: r.0,
        person: Id::new(&r.1)?,
        device: r.2.as_deref().and_then(Id::new),
        item: Id::new(&r.3)?,
        form: r.4,
        happened_at: Instant(r.5),
        device_at: Instant(r.6),
        received_at: Instant(r.7),
        fields: r.8,
        entries: r.9,
        code: r.10,
        detail: r.11,
    })
}

/// Keeps one. Whoever was quicker with the same one has kept it.
pub async fn add(conn: &mut Conn, site: &str, u: &Untaken) -> Result<(), StoreError> {
    let device = u.device.as_ref().map(Id::as_str);
    let (tap, person, item) = (u.tap.as_str(), u.person.as_str(), u.item.as_str());
    let (at, device_at, received) = (u.happened_at.0, u.device_at.0, u.received_at.0);
    let (form, fields, entries) = (u.form.as_str(), u.fields.as_str(), u.entries.as_str());
    let (code, detail) = (u.code.as_str(), u.detail.as_str());
    let added =
        exec!(conn, ADD, site, tap, person, device, item, form, at, device_at, received, fields, entries, code, detail);
    match added {
        Err(e) if one(conn, site, tap).await?.is_none() => Err(e.into()),
        _ => Ok(()),
    }
}

/// One of them.
pub async fn one(conn: &mut Conn, site: &str, tap: &str) -> Result<Option<Untaken>, StoreError> {
    Ok(rows!(conn, Row, ONE, site, tap)?.pop().and_then(of))
}

/// Those that came last, at most so many.
pub async fn all(conn: &mut Conn, site: &str, most: usize) -> Result<Vec<Untaken>, StoreError> {
    Ok(rows!(conn, Row, ALL, site, most as i64)?.into_iter().filter_map(of).collect())
}
