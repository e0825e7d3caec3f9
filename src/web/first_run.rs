//! The first run: an address that works once, and what it makes; and where another shop begins.

use super::service::{FIRST_SITE, Fault, Service};
use crate::clock::Instant;
use crate::ledger::{Body, ByHow, Id, Meta, Parsed};
use crate::people::limits::SET_UP_MS;
use crate::people::{Actor, Role, hashing, persons, secret, sessions, tokens};
use crate::store::ledger as sql;
use crate::store::writer::Asked;
use serde_json::Value;

/// The address that is good once: the hash of its code, and until when.
pub(super) type SettingUp = (String, Instant);

impl Service {
    fn setting_up(&self) -> std::sync::MutexGuard<'_, Option<SettingUp>> {
        self.0.setting_up.lock().unwrap_or_else(|e| e.into_inner())
    }

    /// Whether nobody could ever sign in as a manager.
    pub async fn unmanaged(&self) -> Result<bool, Fault> {
        let mut conn = self.db().reader().await?;
        Ok(!persons::any_manager(&mut conn).await?)
    }

    /// A code for the set-up's address, good once, for a day, and until the program ends.
    pub fn begin_set_up(&self) -> Result<String, Fault> {
        let code = tokens::random_hex(16)?;
        *self.setting_up() = Some((tokens::hash(&code), self.now().plus(SET_UP_MS)));
        Ok(code)
    }

    /// Whether that code is still good.
    pub fn sets_up(&self, code: &str) -> bool {
        let now = self.now();
        self.setting_up().as_ref().is_some_and(|(hash, until)| *hash == tokens::hash(code) && now < *until)
    }

    /// Makes the first shop, unless it is there, what belongs to it, and last its manager, whose sign-in is returned:
    /// until there is one the next start prints an address again, whatever else was written.
    pub async fn set_up(
        &self,
        site: &Value,
        entries: Vec<Parsed>,
        (name, password): (&str, &str),
    ) -> Result<String, Fault> {
        // Whoever comes second, with the same address, finds it used.
        let good = self.setting_up().take().ok_or(Fault::Busy)?;
        // In a task of its own: whoever goes in the middle of it leaves neither half a shop nor a used address.
        let (me, site, name, password) = (self.clone(), site.clone(), name.to_owned(), password.to_owned());
        let made = tokio::spawn(async move {
            let done = me.make(&site, entries, (&name, &password)).await;
            if done.is_err() {
                *me.setting_up() = Some(good);
            }
            done
        });
        made.await.map_err(|_| Fault::UnknownOutcome)?
    }

    /// Adds an empty site under the first free of these ids; whoever signs in with a password manages it from then on.
    pub async fn begin_site(&self, ids: impl Iterator<Item = String>, actor: &Actor) -> Result<String, Fault> {
        let mut conn = self.writing().await?;
        for id in ids {
            if sql::add_site(&mut conn, &id).await? {
                if actor.how == ByHow::Password {
                    persons::join(&mut conn, &id, actor.by.as_str(), Role::Manager, self.now()).await?;
                }
                conn.commit().await?;
                self.forget_who();
                self.open_shop(&id).await?;
                return Ok(id);
            }
        }
        Err(Fault::NotRecorded)
    }

    /// Held while another shop is made: two touches of one button make one.
    pub(super) fn making(&self) -> &tokio::sync::Mutex<()> {
        &self.0.making
    }

    async fn make(&self, site: &Value, entries: Vec<Parsed>, (name, password): (&str, &str)) -> Result<String, Fault> {
        let password = hashing::hash(password).await?;
        let id = persons::new_id()?;
        if self.is_empty() {
            self.add_site(FIRST_SITE, &site.to_string()).await?;
        }
        // A shop that is there already may have taken some of the rules into use.
        let state = self.look(FIRST_SITE, &[]).await?.state;
        let in_use = |b: &Body| matches!(b, Body::Rule(r) if state.rules.contains_key(&r.rule));
        let entries = entries.into_iter().filter(|p| !p.bodies.iter().any(in_use)).collect();
        let meta = Meta { by: Id::new(&id), by_how: Some(ByHow::Password), ..Meta::default() };
        let asked = Asked { entries, actor: meta, manager: true, probe: false, key: None };
        self.write_as(FIRST_SITE, asked).await?;
        let new = persons::New { name, sign_in: Some(secret::sign_in_name(name)), password: Some(password), pin: None };
        let mut conn = self.writing().await?;
        persons::add(&mut conn, FIRST_SITE, &id, Role::Manager, &new, self.now()).await?;
        let secret = sessions::begin(&mut conn, &id, ByHow::Password, None, self.now()).await?;
        conn.commit().await?;
        Ok(secret)
    }
}
