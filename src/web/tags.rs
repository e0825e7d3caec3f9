//! What handlers may ask about tags and racks: whoever reads may look, whoever writes may tie, put and take off.

use super::auth::{Reads, Writes};
use super::service::{Fault, Service};
use crate::clock::Instant;
use crate::items::{Rack, Sheet, Tag, Tie, Tied, sql};
use crate::ledger::Id;
use crate::people::Role;
use crate::store::{Conn, StoreError};
use std::collections::HashMap;

/// The shop of a tag, whoever asks.
pub async fn site_of(service: &Service, tag: &Tag) -> Result<Option<String>, Fault> {
    let mut conn = service.db().reader().await?;
    Ok(sql::site_of(&mut conn, tag).await?)
}

/// What a tag of that shop is on.
pub async fn on(service: &Service, site: &str, tag: &Tag) -> Result<Option<Tied>, Fault> {
    let mut conn = service.db().reader().await?;
    Ok(sql::on(&mut conn, site, tag).await?)
}

impl Reads {
    async fn conn(&self) -> Result<Conn, Fault> {
        Ok(self.service().db().reader().await?)
    }

    /// Whether the shop has that tag.
    pub async fn has_tag(&self, tag: &Tag) -> Result<bool, Fault> {
        Ok(site_of(self.service(), tag).await?.is_some_and(|site| site == self.site))
    }

    /// What a tag is on.
    pub async fn on(&self, tag: &Tag) -> Result<Option<Tied>, Fault> {
        on(self.service(), &self.site, tag).await
    }

    /// What a tag has been on lately, the latest first.
    pub async fn ties(&self, tag: &Tag) -> Result<Vec<Tie>, Fault> {
        Ok(sql::ties(&mut self.conn().await?, &self.site, tag).await?)
    }

    /// The tags on an item or a rack.
    pub async fn tags_on(&self, what: &Tied) -> Result<Vec<Tag>, Fault> {
        Ok(sql::tags_on(&mut self.conn().await?, &self.site, what).await?)
    }

    /// The first tag on each item that has one.
    pub async fn tags_on_items(&self) -> Result<HashMap<Id, Tag>, Fault> {
        Ok(sql::tags_on_items(&mut self.conn().await?, &self.site).await?)
    }

    /// The latest sheets of tags.
    pub async fn sheets(&self) -> Result<Vec<Sheet>, Fault> {
        Ok(sql::sheets(&mut self.conn().await?, &self.site).await?)
    }

    /// The tags of a sheet; none if there is no such sheet.
    pub async fn sheet(&self, sheet: &str) -> Result<Vec<Tag>, Fault> {
        Ok(sql::sheet(&mut self.conn().await?, &self.site, sheet).await?)
    }

    /// Every rack, by name.
    pub async fn racks(&self) -> Result<Vec<Rack>, Fault> {
        Ok(sql::racks(&mut self.conn().await?, &self.site).await?)
    }

    /// One rack.
    pub async fn rack(&self, rack: &Id) -> Result<Rack, Fault> {
        self.racks().await?.into_iter().find(|r| r.rack == *rack).ok_or(Fault::NotFound("rack"))
    }
}

impl Writes {
    /// What is begun is done to its end, whether or not somebody still waits for it.
    async fn change<T, F>(&self, work: impl FnOnce(Conn, String, (Id, Instant)) -> F) -> Result<T, Fault>
    where
        T: Send + 'static,
        F: Future<Output = Result<T, StoreError>> + Send + 'static,
    {
        let reads = self.reads();
        if !matches!(reads.actor.role, Role::Staff | Role::Manager) {
            return Err(Fault::Forbidden);
        }
        let conn = reads.service().db().writer().await?;
        let by = (reads.actor.by.clone(), reads.service().now());
        match tokio::spawn(work(conn, reads.site.clone(), by)).await {
            Ok(done) => Ok(done?),
            Err(_) => Err(Fault::UnknownOutcome),
        }
    }

    /// Makes a sheet of new tags; once, however often it is asked for under that id.
    pub async fn make_sheet(&self, sheet: String, count: usize) -> Result<(), Fault> {
        self.change(move |mut conn, site, (by, now)| async move {
            sql::add_sheet(&mut conn, &site, &sheet, count, (&by, now)).await
        })
        .await
    }

    /// Ties a tag that is on `was`; what it is on by now, where that is something else.
    pub async fn tie(&self, tag: &Tag, was: Option<Tied>, to: Option<Tied>) -> Result<Option<Tied>, Fault> {
        let tag = tag.clone();
        self.change(move |mut conn, site, (by, now)| async move {
            sql::tie(&mut conn, &site, &tag, (was.as_ref(), to.as_ref()), (&by, now)).await
        })
        .await
    }

    /// Makes a rack; `false` if there are too many.
    pub async fn make_rack(&self, rack: Id, name: String) -> Result<bool, Fault> {
        self.change(move |mut conn, site, (by, now)| async move {
            sql::add_rack(&mut conn, &site, (&rack, &name), (&by, now)).await
        })
        .await
    }

    /// Puts items on a rack, each from the one it was on, and takes `off` what is named; how many found no room.
    pub async fn put(&self, rack: Id, items: Vec<Id>, off: Vec<Id>) -> Result<usize, Fault> {
        self.change(move |mut conn, site, (by, now)| async move {
            sql::put(&mut conn, &site, &rack, (&items, &off), (&by, now)).await
        })
        .await
    }

    /// Takes items off the racks they stand on.
    pub async fn take(&self, items: Vec<Id>) -> Result<(), Fault> {
        self.change(move |mut conn, site, (_, now)| async move { sql::take(&mut conn, &site, &items, now).await }).await
    }
}
