//! The statements about plans that are kept.

use super::{Conn, StoreError, exec, rows};
use crate::clock::Instant;
use crate::ledger::Id;
use crate::plan::kept::Kept;

const ADD: &str = "insert into plan (site, plan, name, item, steps, serve_at, head, made_by, made_at)
    values ($1, $2, $3, $4, $5, $6, $7, $8, $9)";
const ALL: &str = "select plan, name, item, steps, serve_at, head from plan
    where site = $1 and dropped_at is null and serve_at > $2 order by serve_at, plan limit $3";
const ONE: &str =
    "select plan, name, item, steps, serve_at, head from plan where site = $1 and plan = $2 and dropped_at is null";
const BEGUN: &str = "update plan set item = $3 where site = $1 and plan = $2 and item is null";
const DROP: &str = "update plan set dropped_at = $3 where site = $1 and plan = $2 and dropped_at is null";

type Row = (String, String, Option<String>, String, i64, i64);

fn of(r: Row) -> Option<Kept> {
    Some(Kept {
        plan: Id::new(&r.0)?,
        name: r.1,
        item: r.2.as_deref().and_then(Id::new),
        steps: serde_json::from_str(&r.3).ok()?,
        serve_at: Instant(r.4),
        head: r.5 as u64,
    })
}

/// Keeps one.
pub async fn add(conn: &mut Conn, site: &str, k: &Kept, by: &str, now: Instant) -> Result<(), StoreError> {
    let (item, steps) = (k.item.as_ref().map(Id::as_str), serde_json::Value::from(k.steps.clone()).to_string());
    let (plan, serve_at, head) = (k.plan.as_str(), k.serve_at.0, k.head as i64);
    exec!(conn, ADD, site, plan, k.name.as_str(), item, &steps, serve_at, head, by, now.0)?;
    Ok(())
}

/// Those that are served after an instant, the next first.
pub async fn all(conn: &mut Conn, site: &str, since: Instant, most: usize) -> Result<Vec<Kept>, StoreError> {
    Ok(rows!(conn, Row, ALL, site, since.0, most as i64)?.into_iter().filter_map(of).collect())
}

/// One of them.
pub async fn one(conn: &mut Conn, site: &str, plan: &Id) -> Result<Option<Kept>, StoreError> {
    Ok(rows!(conn, Row, ONE, site, plan.as_str())?.pop().and_then(of))
}

/// Its item was begun for real.
pub async fn begun(conn: &mut Conn, site: &str, plan: &Id, item: &Id) -> Result<(), StoreError> {
    exec!(conn, BEGUN, site, plan.as_str(), item.as_str())?;
    Ok(())
}

/// It is over.
pub async fn drop(conn: &mut Conn, site: &str, plan: &Id, now: Instant) -> Result<(), StoreError> {
    exec!(conn, DROP, site, plan.as_str(), now.0)?;
    Ok(())
}
