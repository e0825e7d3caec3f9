//! What handlers may ask about the written procedure: whoever reads may see what was approved, whoever works here says
//! that they have read it, and only a manager writes and approves it.

use super::auth::{Reads, Writes};
use super::manages::Manages;
use super::service::{Fault, Look, Service, Written};
use crate::clock::Instant;
use crate::ledger::refusal::{BAD_MEMBER, Refusal};
use crate::ledger::{Body, Entry, Id, Meta, Parsed, State};
use crate::people::persons::{self, Member};
use crate::people::{Actor, Role};
use crate::record::procedure::sql::{self, Draft};
use crate::record::procedure::{Document, Person, Shelf, Shop, Typed, approved_as, document, reference, what};
use crate::store::{Conn, StoreError, ledger};
use serde_json::json;
use std::sync::Arc;

/// All that stands about the procedure of a shop.
pub struct Procedures {
    /// Its versions, and which was in force when.
    pub shelf: Shelf,
    /// What managers approved, as it reads now.
    pub approved: Vec<Arc<Entry>>,
    /// Everybody who ever worked here.
    pub members: Vec<Member>,
}

impl Procedures {
    /// The document that the set-up and these words make now.
    pub fn document(&self, state: &State, typed: &Typed) -> Document {
        let works = |m: &&Member| m.disabled_at.is_none() && m.role != Role::Inspector;
        let person = |m: &Member| Person { person: m.person.clone(), role: m.role };
        let mut people: Vec<Person> = self.members.iter().filter(works).map(person).collect();
        people.sort_by(|a, b| (a.role.word(), &a.person).cmp(&(b.role.word(), &b.person)));
        document(&Shop { state, people: &people, approved: &self.approved }, typed)
    }
}

impl Service {
    /// An approval that seals a version's text seals the one that is kept.
    pub(super) async fn check_approvals(&self, site: &str, entries: &[Parsed]) -> Result<(), Fault> {
        let (at, note, meta) = (Instant(0), None, Meta::default());
        let entry = |body: &Body| Entry { at, note: note.clone(), body: body.clone(), meta: meta.clone() };
        let approves = |body: &&Body| matches!(body, Body::Approve { .. });
        let sealed = entries.iter().flat_map(|p| &p.bodies).filter(approves).filter_map(|b| approved_as(&entry(b)));
        let sealed: Vec<_> = sealed.collect();
        if sealed.is_empty() {
            return Ok(());
        }
        let shelf = sql::shelf(&mut self.db().reader().await?, site).await?.0;
        for a in sealed {
            if shelf.version(a.version).is_none_or(|v| v.hash != a.hash) {
                let said = format!("No version {} of the written procedure has a text of that hash.", a.version);
                return Err(Fault::Refused(Refusal::new(&BAD_MEMBER, said)));
            }
        }
        Ok(())
    }

    /// The shop and the version in force there that somebody who just signed in hasn't read.
    pub async fn unread(&self, secret: &str, site: Option<&str>) -> Result<Option<(String, u32)>, Fault> {
        let actors = self.who(secret, false).await?;
        let own = |a: &&Actor| a.site.is_some() && matches!(a.role, Role::Staff | Role::Manager);
        for actor in actors.iter().filter(own).filter(|a| site.is_none() || a.site.as_deref() == site) {
            let site = actor.site.clone().unwrap_or_default();
            if let Some((version, _)) = self.unread_by(&site, &actor.by).await? {
                return Ok(Some((site, version)));
            }
        }
        Ok(None)
    }

    /// The version in force that somebody hasn't read, and the last one they have.
    async fn unread_by(&self, site: &str, person: &Id) -> Result<Option<(u32, Option<u32>)>, Fault> {
        let mut conn = self.db().reader().await?;
        let shelf = sql::shelf(&mut conn, site).await?.0;
        let Some(now) = shelf.at(self.now()) else { return Ok(None) };
        // Whoever approved it has read it.
        if now.by.as_ref() == Some(person) {
            return Ok(None);
        }
        let last = sql::last_read(&mut conn, site, person).await?;
        let read = sql::readers(&mut conn, site, now.version).await?.iter().any(|(id, _)| id == person);
        Ok((!read).then_some((now.version, last)))
    }
}

impl Reads {
    async fn paper(&self) -> Result<Conn, Fault> {
        Ok(self.service().db().reader().await?)
    }

    /// The versions, and which was in force when.
    pub async fn shelf(&self) -> Result<Shelf, Fault> {
        Ok(sql::shelf(&mut self.paper().await?, &self.site).await?.0)
    }

    /// All that stands about the procedure.
    pub async fn procedures(&self) -> Result<Procedures, Fault> {
        let mut conn = self.paper().await?;
        let (shelf, approved) = sql::shelf(&mut conn, &self.site).await?;
        let members = persons::of_site(&mut conn, &self.site).await?;
        Ok(Procedures { shelf, approved, members })
    }

    /// The number and the hash of the ledger's last entry.
    pub async fn ledger_head(&self) -> Result<(u64, String), Fault> {
        ledger::head(&mut self.paper().await?, &self.site).await?.ok_or(Fault::NotFound("site"))
    }

    /// A version as it was written down.
    pub async fn version(&self, version: u32) -> Result<Document, Fault> {
        let text = sql::text(&mut self.paper().await?, &self.site, version).await?;
        text.as_deref().and_then(Document::read).ok_or(Fault::NotFound("version"))
    }

    /// Who has read a version, and when.
    pub async fn readers(&self, version: u32) -> Result<Vec<(Id, Instant)>, Fault> {
        Ok(sql::readers(&mut self.paper().await?, &self.site, version).await?)
    }

    /// The version in force that whoever asks hasn't read, and the last one they have.
    pub async fn unread(&self) -> Result<Option<(u32, Option<u32>)>, Fault> {
        self.service().unread_by(&self.site, &self.actor.by).await
    }
}

impl Writes {
    /// Whoever asks has read a version that is or was in force.
    pub async fn note_read(&self, version: u32) -> Result<(), Fault> {
        let reads = self.reads();
        if !reads.shelf().await?.is_approved(version) {
            return Err(Fault::NotFound("version"));
        }
        let (service, site, by) = (reads.service().clone(), reads.site.clone(), reads.actor.by.clone());
        whole(async move {
            let mut conn = service.db().writer().await?;
            sql::note_read(&mut conn, &site, version, (&by, service.now())).await
        })
        .await
    }
}

/// How an approval ended.
pub enum Approved {
    /// This version is in force now.
    Done(u32),
    /// The set-up or the draft has changed since it was looked at.
    Changed,
    /// The version in force says the same.
    Same(u32),
}

impl Manages {
    /// What a manager has written and not yet approved.
    pub async fn draft(&self) -> Result<Option<Draft>, Fault> {
        Ok(sql::draft(&mut self.reads().paper().await?, &self.reads().site).await?)
    }

    /// Saves the draft, unless somebody saved another since `was`: that one, then.
    pub async fn save_draft(&self, typed: &Typed, was: Option<Instant>) -> Result<Option<Draft>, Fault> {
        let reads = self.reads();
        let (service, site, by) = (reads.service().clone(), reads.site.clone(), reads.actor.by.clone());
        let text = typed.json();
        whole(async move {
            let mut conn = service.db().writer().await?;
            sql::save(&mut conn, &site, &text, was, (&by, service.now())).await
        })
        .await
    }

    /// What the same form was answered before.
    pub async fn answered(&self, look: &Look, key: &(String, String)) -> Option<Written> {
        let reads = self.reads();
        reads.service().answered(look, &reads.site, &reads.actor, key).await
    }

    /// Keeps what the draft and the set-up make as a version and puts it in force, if its text is still that of `seen`.
    pub async fn approve(
        &self,
        document: &Document,
        (seen, draft): (&str, &Draft),
        shelf: &Shelf,
        key: Option<(String, String)>,
    ) -> Result<Approved, Fault> {
        let reads = self.reads();
        let (text, hash) = document.sealed();
        if hash != seen {
            return Ok(Approved::Changed);
        }
        let (service, site, actor) = (reads.service().clone(), reads.site.clone(), reads.actor.clone());
        let now = shelf.at(service.now()).and_then(|p| shelf.version(p.version));
        if let Some(same) = now.filter(|v| v.hash == hash) {
            return Ok(Approved::Same(same.version));
        }
        let review_on = document.review_on().unwrap_or_default().to_owned();
        let saved_at = draft.saved_at;
        let begun = tokio::spawn(async move {
            let by = (&actor.by, service.now());
            let mut conn = service.db().writer().await?;
            let version = sql::add(&mut conn, &site, (&text, &review_on), by).await?;
            drop(conn);
            // Only now the ledger: a version without its approval is in force nowhere, an approval without its version
            // would be a broken promise.
            let entry = json!({"kind": "approve", "what": what(version), "reference": reference(&hash)}).to_string();
            let entry = crate::ledger::parse(&entry, crate::ledger::From::Caller).map_err(Fault::Refused)?;
            service.write(&site, &actor, vec![entry], key).await?;
            sql::note_read(&mut service.db().writer().await?, &site, version, (&actor.by, service.now())).await?;
            sql::drop_draft(&mut service.db().writer().await?, &site, saved_at).await?;
            Ok(Approved::Done(version))
        });
        begun.await.unwrap_or(Err(Fault::UnknownOutcome))
    }
}

/// What is begun is done to its end, whether or not somebody still waits for it.
async fn whole<T: Send + 'static>(
    work: impl Future<Output = Result<T, StoreError>> + Send + 'static,
) -> Result<T, Fault> {
    match tokio::spawn(work).await {
        Ok(done) => Ok(done?),
        Err(_) => Err(Fault::UnknownOutcome),
    }
}
