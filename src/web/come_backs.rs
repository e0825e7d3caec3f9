//! What handlers may ask and say about when items are meant to be moved next.

use super::auth::Writes;
use super::service::{Fault, Service};
use crate::board::working::{ComeBack, ComeBacks};
use crate::clock::HOUR_MS;
use crate::ledger::Id;
use crate::store::come_back;

/// How long after its time a planned move is remembered: this project's choice, a week.
const KEPT_MS: i64 = 7 * 24 * HOUR_MS;

impl Service {
    /// When a shop's items are meant to be moved next.
    pub async fn come_backs(&self, site: &str) -> Result<ComeBacks, Fault> {
        let mut conn = self.0.db.reader().await?;
        Ok(come_back::all(&mut conn, site).await?)
    }
}

impl Writes {
    /// Says when an item is meant to be moved next, or that nothing is meant any more.
    pub async fn set_come_back(&self, item: &Id, plan: Option<ComeBack>) -> Result<(), Fault> {
        let (reads, service) = (self.reads(), self.reads().service());
        let (site, now) = (reads.site.as_str(), service.now());
        let mut conn = service.db().writer().await?;
        match &plan {
            Some(plan) => {
                let by = reads.actor.by.as_str();
                come_back::put(&mut conn, site, item, plan, (by, now, now.plus(-KEPT_MS))).await?;
            }
            None => come_back::drop(&mut conn, site, item).await?,
        }
        drop(conn);
        service.forget_fragments(site);
        service.tell_planned(site, item, plan.map(|p| p.at));
        Ok(())
    }
}
