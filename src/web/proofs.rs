//! What handlers may ask to check a copy of the record: the ledger's lines by number, a table's lines as they would be
//! written now, whether an earlier head is still in the chain.

use super::auth::Reads;
use super::records::{Asks, SLICE};
use super::service::Fault;
use crate::check;
use crate::ledger::Id;
use crate::record::csv::Around;
use crate::record::proof::{Line, Row, line};
use crate::store::record as sql;
use std::collections::{BTreeMap, HashMap, HashSet};

impl Reads {
    /// The ledger's lines of these numbers.
    pub async fn kept(&self, numbers: &[u64]) -> Result<BTreeMap<u64, String>, Fault> {
        let mut conn = self.service().db().reader().await?;
        let mut found = BTreeMap::new();
        for some in numbers.chunks(512) {
            found.extend(sql::numbered(&mut conn, &self.site, some).await?);
        }
        Ok(found)
    }

    /// Lines of a table against the same lines as they would be written now.
    pub async fn rows_now(&self, lines: &[Line]) -> Result<Vec<Row>, Fault> {
        let mut numbers: Vec<u64> = lines.iter().map(|l| l.entry.0).collect();
        numbers.sort_unstable();
        numbers.dedup();
        let kept = self.kept(&numbers).await?;
        let named: HashSet<&Id> = lines.iter().filter_map(|l| l.item.as_ref()).collect();
        // Who may see some dates alone learns of those.
        let some = self.actor.access.as_ref().is_some_and(|a| a.within.is_some());
        let asks = if some { Asks::default() } else { Asks::of_all() };
        let mut opened = self.record(&asks).await.map_err(|_| Fault::NotRecorded)?;
        opened.keep(|id| named.contains(id));
        let mut now: HashMap<(String, String), Vec<String>> = HashMap::new();
        for some in opened.slices(SLICE) {
            let slice = opened.slice(some).await?;
            let hash = |seq| slice.hash(seq);
            let around =
                Around { site: &opened.site, zone: opened.zone, now: opened.now, names: &opened.names, hash: &hash };
            for row in opened.accounts(&slice, some).iter().flat_map(|a| around.item(a)) {
                now.insert((row[1].clone(), row[around.line_column()].clone()), row);
            }
        }
        let rows = lines.iter().map(|l| {
            let item = l.item.as_ref().map_or_else(String::new, Id::to_string);
            let hash = kept.get(&l.entry.0).map(|text| super::records::hash_of(text));
            line(l, hash.as_deref(), now.get(&(item, l.line.to_string())).map(Vec::as_slice))
        });
        Ok(rows.collect())
    }

    /// What is wrong with the number and digits that a label or a paper carries, if anything.
    pub async fn head_holds(&self, seq: u64, digits: &str) -> Result<Option<String>, Fault> {
        let mut conn = self.service().db().reader().await?;
        Ok(check::head(&mut conn, &self.site, seq, digits).await?)
    }
}
