//! What the list of decisions and the day's review ask of the ledger beyond what is in memory. Each question is bounded.

use super::{Conn, Lines, StoreError, ledger, load, rows};
use crate::clock::Instant;
use crate::ledger::{Entry, Id, Record, records};
use std::collections::BTreeMap;
use std::sync::Arc;

// Not what probes wrote: a day's thousands of readings are no matter of a person's, and the list would see nothing else. A
// line is canonical JSON: who wrote it stands behind the 24 characters of `at`, and a token's id has 14.
const BACK: &str = "select seq, line from entry where site = $1 and seq < $2 and seq >= $3
    and (air_at is null or substr(line, 40, 14) not in (select token from token where role = 'probe'))
    order by seq desc limit $4";
const DEVIANT: &str = "select item from item where site = $1 and closed_at >= $2 and standing is not null
    and standing not like '%\"deviations\":[]%' order by closed_at desc, item limit $3";
// The index's own list of kinds first: SQLite doesn't see that the shorter one is part of it.
const SAID: &str = "select seq, line from entry where site = $1
    and kind in ('site', 'place', 'rule', 'product', 'decide', 'approve', 'review')
    and kind in ('decide', 'approve', 'review')
    union all
    select c.seq, c.line from entry a join entry c on c.site = a.site and c.target = a.seq where a.site = $1
    and a.kind in ('site', 'place', 'rule', 'product', 'decide', 'approve', 'review')
    and a.kind in ('decide', 'approve', 'review') order by 1";

/// Lines read at a time.
const PAGE: usize = 1_000;

/// The first entry that was recorded at `since` or later, up to one more than `head`: the ledger's own time never runs back.
async fn first_since(conn: &mut Conn, site: &str, since: Instant, head: u64) -> Result<u64, StoreError> {
    let (mut low, mut high) = (1, head + 1);
    while low < high {
        let middle = low + (high - low) / 2;
        let Some((seq, line)) = ledger::tail(conn, site, middle - 1, 1).await?.pop() else { break };
        match load::entry(site, seq, &line)?.meta.recorded_at {
            Some(at) if at < since => low = middle + 1,
            _ => high = middle,
        }
    }
    Ok(low)
}

/// What was written since `since` and not after the entry `head`, but by probes, the latest `most` at most, each with its
/// corrections; and whether that is all.
pub async fn written(
    conn: &mut Conn,
    site: &str,
    since: Instant,
    head: u64,
    most: usize,
) -> Result<(BTreeMap<u64, Record>, bool), StoreError> {
    let first = first_since(conn, site, since, head).await?;
    let (mut found, mut before): (Vec<Arc<Entry>>, u64) = (Vec::new(), head + 1);
    let whole = loop {
        let page = rows!(conn, (i64, String), BACK, site, before as i64, first as i64, PAGE as i64)?;
        let Some((last, _)) = page.last() else { break true };
        before = *last as u64;
        for (seq, line) in page {
            found.push(Arc::new(load::entry(site, seq as u64, &line)?));
        }
        if found.len() > most {
            found.truncate(most);
            break false;
        }
    };
    found.reverse();
    Ok((records(found), whole))
}

/// Items closed since `since` that deviate, those closed last first, `most` at most.
pub async fn deviant(conn: &mut Conn, site: &str, since: Instant, most: usize) -> Result<Vec<Id>, StoreError> {
    let found = rows!(conn, (String,), DEVIANT, site, since.0, most as i64)?;
    Ok(found.iter().filter_map(|r| Id::new(&r.0)).collect())
}

/// Every decision, approval and review up to the entry `head`, with its corrections.
pub async fn said(conn: &mut Conn, site: &str, head: u64) -> Result<Lines, StoreError> {
    let found = rows!(conn, (i64, String), SAID, site)?;
    Ok(found.into_iter().map(|(seq, line)| (seq as u64, line)).filter(|(seq, _)| *seq <= head).collect())
}
