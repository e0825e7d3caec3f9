//! What an archived month needs besides its own entries.

use super::{Conn, StoreError, load, record, rows};
use crate::clock::Instant;
use crate::ledger::{About, Body, Id};
use std::collections::BTreeSet;

const STRETCH: &str = "select seq, line from entry where site = $1 and seq >= $2 and seq <= $3 order by seq";
/// Entries of a stretch read at once.
const MANY: u64 = 1_000;

/// The numbers of a stretch's entries and of the earlier ones without which they mean nothing: the set-up, the items they
/// name with all these were made from, the air of their time, what they correct or decide about. Only numbers are kept. It
/// looks at nothing later than the stretch, so it is the same whenever it is asked.
pub async fn numbers(conn: &mut Conn, site: &str, (first, last): (u64, u64)) -> Result<Vec<u64>, StoreError> {
    let mut numbers: BTreeSet<u64> = (first..=last).collect();
    let (mut items, mut told, mut todo) = (BTreeSet::<Id>::new(), (Instant::FAR, Instant(0)), Vec::new());
    let mut from = first;
    while from <= last {
        let to = last.min(from + MANY - 1);
        for (seq, line) in rows!(conn, (i64, String), STRETCH, site, from as i64, to as i64)? {
            let e = load::entry(site, seq as u64, &line)?;
            told = (told.0.min(e.at), told.1.max(e.at));
            note(&e.body, e.item().into_iter().cloned().chain(e.named()), &mut items, &mut todo);
        }
        from = to + 1;
    }
    // A correction is about an earlier entry, a decision perhaps about a correction.
    while let Some(seq) = todo.pop() {
        if !numbers.insert(seq) {
            continue;
        }
        for (seq, line) in record::numbered(conn, site, &[seq]).await? {
            let e = load::entry(site, seq, &line)?;
            note(&e.body, e.item().into_iter().cloned().chain(e.named()), &mut items, &mut todo);
        }
    }
    let chosen = items.into_iter().map(|item| record::Chosen { item, begun_at: told.0, closed_at: None });
    let chosen: Vec<record::Chosen> = chosen.collect();
    let dates = record::Dates { from: 0, to: 0, begins: told.0, ends: told.1.plus(1) };
    numbers.extend(record::numbers(conn, site, &chosen, &dates, (last, told.1)).await?);
    Ok(numbers.into_iter().filter(|seq| *seq <= last).collect())
}

fn note(body: &Body, named: impl Iterator<Item = Id>, items: &mut BTreeSet<Id>, todo: &mut Vec<u64>) {
    items.extend(named);
    match body {
        Body::Correct { entry, change, .. } => {
            items.extend(change.named());
            todo.push(*entry);
        }
        Body::Decide { about: About::Seq(seq), .. } => todo.push(*seq),
        _ => {}
    }
}
