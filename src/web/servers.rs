//! Other servers on the same database: what they wrote, the shops they made, and what somebody may do since then.

use super::feed::LOOK;
use super::service::{Fault, Inner, Service};
use super::soundness::needed;
use crate::ledger::Id;
use crate::people::tokens;
use crate::store::{StoreError, ledger as sql};
use std::sync::{Arc, Weak};
use std::time::Duration;

/// How long it waits after it could not be asked.
const AGAIN: Duration = Duration::from_secs(1);

/// Asks every `LOOK` where all ledgers end: one question, however many shops there are.
async fn look(service: Weak<Inner>) {
    let mut look = tokio::time::interval(LOOK);
    look.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    let mut well = true;
    loop {
        look.tick().await;
        let Some(service) = service.upgrade().map(Service) else { return };
        let looked = service.hear_of_others().await;
        drop(service);
        if let (Err(e), true) = (&looked, well) {
            tracing::warn!(error = %e, "it could not be asked what other servers wrote; trying again");
        }
        well = looked.is_ok();
        if !well {
            tokio::time::sleep(AGAIN).await;
        }
    }
}

impl Service {
    /// Keeps asking what other servers wrote, where there may be any.
    pub(super) fn look_at_others(&self) {
        if self.0.db.shared() {
            needed("look at other servers", "", tokio::spawn(look(Arc::downgrade(&self.0))));
        }
    }

    async fn hear_of_others(&self) -> Result<(), StoreError> {
        let mut conn = self.0.db.reader().await?;
        let heads = sql::heads(&mut conn).await?;
        drop(conn);
        let mut opened = Ok(());
        for (site, head, _) in heads {
            self.feed(&site).hear(head as u64);
            if !self.has(&site) {
                opened = self.open_shop(&site).await.and(opened);
            }
        }
        opened
    }

    /// Whether there is such a shop, also if another server has just made it.
    pub(super) async fn there(&self, site: &str) -> Result<bool, Fault> {
        // What is no id names no shop, and PostgreSQL takes no text with a zero in it.
        if !self.has(site) && self.0.db.shared() && Id::new(site).is_some() {
            self.open_shop(site).await?;
        }
        Ok(self.has(site))
    }

    /// Has a sign-in looked up anew, where another server may have changed what it may do; says whether any may.
    pub(super) fn ask_again(&self, secret: &str) -> bool {
        let shared = self.0.db.shared();
        if shared {
            self.known().remove(&tokens::hash(secret));
        }
        shared
    }
}
