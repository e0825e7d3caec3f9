//! What handlers may ask about who is told what: only a manager says so.

use super::manages::Manages;
use super::service::{Fault, Service};
use crate::clock::Zone;
use crate::ledger::Id;
use crate::notice::sql::{self, Listed};
use crate::notice::worker::Senders;
use crate::notice::{Notice, Target, compose};
use std::sync::Arc;

/// Notices shown at most, the last ones.
const SHOWN: i64 = 50;

impl Service {
    /// Says by what notices are sent. Once said, it stays.
    pub fn set_senders(&self, senders: Arc<Senders>) {
        _ = self.0.senders.set(senders);
    }

    /// By what they are sent, where that was said.
    pub fn senders(&self) -> Option<Arc<Senders>> {
        self.0.senders.get().cloned()
    }
}

impl Manages {
    /// Everybody who is told something.
    pub async fn targets(&self) -> Result<Vec<Target>, Fault> {
        let mut conn = self.reads().service().db().reader().await?;
        Ok(sql::targets(&mut conn, &self.reads().site).await?)
    }

    /// Adds one.
    pub async fn add_target(&self, target: &Target) -> Result<(), Fault> {
        let (reads, now) = (self.reads(), self.reads().service().now());
        let mut conn = reads.service().db().writer().await?;
        Ok(sql::add_target(&mut conn, &reads.site, target, &reads.actor.by, now).await?)
    }

    /// Ends one.
    pub async fn end_target(&self, target: &Id) -> Result<(), Fault> {
        let (reads, now) = (self.reads(), self.reads().service().now());
        let mut conn = reads.service().writing().await?;
        let there = sql::end_target(&mut conn, &reads.site, target.as_str(), "a manager ended it", now).await?;
        conn.commit().await?;
        if there { Ok(()) } else { Err(Fault::NotFound("receiver")) }
    }

    /// Sends one a try.
    pub async fn try_target(&self, target: &Id, key: &str) -> Result<(), Fault> {
        let (reads, targets) = (self.reads(), self.targets().await?);
        let to = targets.into_iter().find(|t| t.target == *target).ok_or(Fault::NotFound("receiver"))?;
        let look = reads.look(&[]).await?;
        let zone = look.state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
        let notice: Notice = crate::lang::within(to.lang, || compose::trial(&look.state, &reads.site, key, look.now));
        let mut conn = reads.service().db().writer().await?;
        // At once, whatever the hour: somebody waits for it.
        let to = Target { quiet: None, ..to };
        Ok(sql::post(&mut conn, &reads.site, &to, &notice, (zone, look.now)).await?)
    }

    /// What was sent last, and what waits.
    pub async fn notices(&self) -> Result<Vec<Listed>, Fault> {
        let mut conn = self.reads().service().db().reader().await?;
        Ok(sql::last(&mut conn, &self.reads().site, SHOWN).await?)
    }
}
