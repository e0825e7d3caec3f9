//! What handlers may ask about what is with others: addresses that show one item, what is recorded by them, and the close
//! of what nobody reported anything of.

use super::auth::Writes;
use super::service::{Fault, Service, Written};
use crate::board::others::{NOT_REPORTED, unreported, with_others};
use crate::ledger::{Body, ByHow, From, Id, Meta, Parsed, Refusal, parse, refusal};
use crate::people::handovers::{self, Link, WRITES_MOST};
use crate::store::StoreError;
use crate::store::writer::{Asked, Shop};
use serde_json::json;

impl Service {
    /// What a code leads to.
    pub async fn handed(&self, code: &str) -> Result<Link, Fault> {
        let mut conn = self.db().reader().await?;
        let found = handovers::find(&mut conn, code, self.now()).await?;
        found.filter(|l| self.has(&l.site)).ok_or(Fault::NotFound("link"))
    }

    /// The addresses of a shop that are good.
    pub async fn links(&self, site: &str) -> Result<Vec<Link>, Fault> {
        let mut conn = self.db().reader().await?;
        Ok(handovers::of_site(&mut conn, site, self.now()).await?)
    }

    /// Records what whoever has an item says of it: that it stands elsewhere in others' hands, or was served.
    pub async fn write_by_link(
        &self,
        link: &Link,
        entry: Parsed,
        key: Option<(String, String)>,
    ) -> Result<Written, Fault> {
        let look = self.look(&link.site, std::slice::from_ref(&link.item)).await?;
        let item = look.state.items.get(&link.item).ok_or(Fault::NotFound("item"))?;
        let written = item.records.iter().filter(|r| r.original.meta.by.as_ref() == Some(&link.link)).count();
        let there = |place: &Id| look.state.places.get(place).is_some_and(|p| p.r#use == crate::rules::Use::Away);
        let theirs = |b: &Body| match b {
            Body::Move { item, place } => *item == link.item && there(place),
            Body::Close { item, .. } => *item == link.item,
            _ => false,
        };
        if !link.writes || !with_others(&look.state, item) || !entry.bodies.iter().all(theirs) {
            return Err(Fault::Forbidden);
        }
        if written >= WRITES_MOST {
            let said = crate::lang::venue_too_many();
            return Err(Fault::Refused(Refusal::form(&refusal::BAD_MEMBER, said)));
        }
        let actor = Meta { by: Some(link.link.clone()), by_how: Some(ByHow::Token), ..Meta::default() };
        self.write_as(&link.site, Asked { entries: vec![entry], actor, manager: false, probe: false, key }).await
    }

    /// Closes what was handed over a day ago and of which nobody reported anything.
    pub(super) async fn close_unreported(&self, shop: &Shop) -> Result<(), StoreError> {
        for (item, at) in unreported(&shop.now().state, self.now()) {
            let entry = json!({"kind": "close", "at": at, "item": item, "as": "handed-over", "reason": NOT_REPORTED});
            let Ok(entry) = parse(&entry.to_string(), From::Caller) else { continue };
            let actor = Meta { by: Id::new("server"), ..Meta::default() };
            let asked = Asked { entries: vec![entry], actor, manager: true, probe: false, key: None };
            // Another server may have been quicker.
            if let Err(fault) = self.write_as(&shop.site, asked).await {
                tracing::debug!(
                    site = &*shop.site,
                    item = item.as_str(),
                    ?fault,
                    "an item nobody reported of stays open"
                );
            }
        }
        Ok(())
    }
}

impl Writes {
    /// Makes an address for whoever has an item.
    pub async fn add_link(&self, code: &str, item: &Id, name: &str, writes: bool) -> Result<(), Fault> {
        let (reads, now) = (self.reads(), self.reads().service().now());
        let mut conn = reads.service().db().writer().await?;
        Ok(handovers::add(&mut conn, &reads.site, code, (item, name, writes), (&reads.actor.by, now)).await?)
    }

    /// Ends one.
    pub async fn revoke_link(&self, link: &Id) -> Result<(), Fault> {
        let service = self.reads().service();
        let mut conn = service.db().writer().await?;
        match handovers::revoke(&mut conn, &self.reads().site, link, service.now()).await? {
            true => Ok(()),
            false => Err(Fault::NotFound("link")),
        }
    }
}
