//! What handlers may ask and say about plans that are kept.

use super::auth::{Reads, Writes};
use super::service::Fault;
use crate::clock::{HOUR_MS, Instant};
use crate::ledger::{Id, refusal};
use crate::people::tokens::random_hex;
use crate::plan::kept::{KEPT_MOST, Kept};
use crate::store::plans;
use serde_json::Value;

/// How long after serving a plan is still listed: this project's choice, a day.
const LISTED_MS: i64 = 24 * HOUR_MS;

/// A plan that is to be kept.
pub struct New<'a> {
    /// The order's name.
    pub name: &'a str,
    /// The item, where it has begun.
    pub item: Option<Id>,
    /// See [`Kept::steps`].
    pub steps: Vec<Value>,
    /// When it is to be served.
    pub serve_at: Instant,
}

impl Reads {
    /// The plans that are kept, the next to be served first.
    pub async fn plans(&self) -> Result<Vec<Kept>, Fault> {
        let mut conn = self.service().db().reader().await?;
        let since = self.service().now().plus(-LISTED_MS);
        Ok(plans::all(&mut conn, &self.site, since, KEPT_MOST).await?)
    }

    /// One of them.
    pub async fn plan(&self, plan: &Id) -> Result<Kept, Fault> {
        let mut conn = self.service().db().reader().await?;
        plans::one(&mut conn, &self.site, plan).await?.ok_or(Fault::NotFound("plan"))
    }
}

impl Writes {
    /// Keeps a plan; its id.
    pub async fn keep_plan(&self, new: New<'_>, head: u64) -> Result<Id, Fault> {
        let (reads, now) = (self.reads(), self.reads().service().now());
        if reads.plans().await?.len() >= KEPT_MOST {
            let said = crate::lang::order_too_many(&KEPT_MOST.to_string());
            return Err(Fault::Refused(crate::ledger::Refusal::form(&refusal::BAD_MEMBER, &said)));
        }
        let plan = Id::new(&format!("pl-{}", random_hex(6)?)).ok_or(Fault::NotFound("plan"))?;
        let (name, item) = (new.name.to_owned(), new.item);
        let kept = Kept { plan: plan.clone(), name, item, steps: new.steps, serve_at: new.serve_at, head };
        let mut conn = reads.service().db().writer().await?;
        plans::add(&mut conn, &reads.site, &kept, reads.actor.by.as_str(), now).await?;
        Ok(plan)
    }

    /// Its item was begun for real.
    pub async fn plan_begun(&self, plan: &Id, item: &Id) -> Result<(), Fault> {
        let mut conn = self.reads().service().db().writer().await?;
        Ok(plans::begun(&mut conn, &self.reads().site, plan, item).await?)
    }

    /// It is over.
    pub async fn drop_plan(&self, plan: &Id) -> Result<(), Fault> {
        let service = self.reads().service();
        let mut conn = service.db().writer().await?;
        Ok(plans::drop(&mut conn, &self.reads().site, plan, service.now()).await?)
    }
}
