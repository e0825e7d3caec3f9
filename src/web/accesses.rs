//! What handlers may ask about inspectors' links: a manager makes and ends them, a browser is let in by one, and each page
//! opened is written down before it is shown.

use super::manages::Manages;
use super::people::from_where;
use super::service::{Fault, Service};
use crate::clock::Instant;
use crate::ledger::Id;
use crate::people::accesses::{self, Listed, New, Use};
use crate::people::{codes, tries};
use std::net::IpAddr;

/// Uses of one link shown at most.
const USES: u32 = 500;

/// How a try to be let in ended.
pub enum LetIn {
    /// The shop, what the cookie is to carry, and for how long, milliseconds.
    Done(String, String, i64),
    /// No such link, or one that is over.
    Unknown,
    /// Nothing is heard until later.
    Locked,
}

impl Manages {
    /// Every link there ever was.
    pub async fn accesses(&self) -> Result<Vec<Listed>, Fault> {
        let mut conn = self.reads().service().db().reader().await?;
        Ok(accesses::of_site(&mut conn, &self.reads().site).await?)
    }

    /// Makes a link; its code is shown this once.
    pub async fn add_access(&self, name: &str, within: Option<(i64, i64)>, until: Instant) -> Result<String, Fault> {
        let (reads, now) = (self.reads(), self.reads().service().now());
        let mut conn = reads.service().db().writer().await?;
        let new = New { name, within, until, by: &reads.actor.by };
        Ok(accesses::add(&mut conn, &reads.site, &new, now).await?)
    }

    /// Ends a link.
    pub async fn revoke_access(&self, access: &Id) -> Result<(), Fault> {
        let service = self.reads().service();
        let mut conn = service.db().writer().await?;
        let there = accesses::revoke(&mut conn, &self.reads().site, access, service.now()).await?;
        service.forget_who();
        if there { Ok(()) } else { Err(Fault::NotFound("link")) }
    }

    /// What was opened by a link, the latest first.
    pub async fn uses(&self, access: &Id) -> Result<Vec<Use>, Fault> {
        let mut conn = self.reads().service().db().reader().await?;
        Ok(accesses::uses(&mut conn, &self.reads().site, access, USES).await?)
    }
}

impl Service {
    /// Lets a browser in by a link's code.
    pub async fn let_in(&self, typed: &str, peer: Option<IpAddr>) -> Result<LetIn, Fault> {
        let by: Vec<_> = from_where(None, peer).into_iter().collect();
        if self.count(&by).await?.is_some() {
            return Ok(LetIn::Locked);
        }
        let now = self.now();
        let mut conn = self.writing().await?;
        let found = accesses::begin(&mut conn, &codes::meant(typed), now).await?;
        if let Some((site, access, _)) = &found {
            tries::forgive(&mut conn, &by, now).await?;
            accesses::note(&mut conn, site, access, "", now).await?;
        }
        conn.commit().await?;
        let from = peer.map(tracing::field::display);
        let Some((site, access, secret)) = found else {
            tracing::warn!(from, "the code of a link for inspection was wrong or has run out");
            return Ok(LetIn::Unknown);
        };
        tracing::info!(site, %access, from, "let in by a link for inspection");
        let until = self.who(&secret, false).await?.into_iter().find_map(|a| a.access).map(|a| a.until);
        Ok(LetIn::Done(site, secret, until.unwrap_or(now).since(now)))
    }

    /// Notes what is opened by a link.
    pub(super) async fn note_access(&self, site: &str, access: &Id, what: &str) -> Result<(), Fault> {
        let mut conn = self.writing().await?;
        accesses::note(&mut conn, site, access, what, self.now()).await?;
        Ok(conn.commit().await?)
    }
}
