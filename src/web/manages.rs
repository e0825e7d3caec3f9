//! Looking after people and devices: what a manager is handed, and nobody else.

use super::auth::Reads;
use super::error::Problem;
use super::service::{Fault, Service};
use crate::ledger::{ByHow, Id, Parsed};
use crate::people::devices::{self, Listed};
use crate::people::hashing::{self, NotNow};
use crate::people::limits::What;
use crate::people::persons::{self, Member};
use crate::people::secret::{self, Unfit};
use crate::people::{Actor, Role, sessions, tokens, tries};
use crate::store::{Conn, StoreError, due, ledger};
use axum::extract::FromRequestParts;
use axum::http::request::Parts;

/// Somebody who may look after a shop's people and devices.
pub struct Manages {
    reads: Reads,
}

/// Why nothing was changed.
#[derive(Debug)]
pub enum Trouble {
    /// A name, PIN or password isn't fit.
    Unfit(Unfit),
    /// Somebody here has that name already.
    NameTaken,
    /// Somebody signs in by that name already, here or elsewhere.
    SignInTaken,
    /// There is nobody, or no device, of that id here.
    Nobody,
    /// They belong to a shop too that this manager doesn't manage.
    Elsewhere,
    /// Nobody would be left to manage the shop.
    LastManager,
    /// Staff sign in with a PIN, on enrolled devices alone.
    StaffPassword,
    /// The database failed, or too many are waiting.
    Fault(Fault),
}

impl<T: Into<Fault>> From<T> for Trouble {
    fn from(e: T) -> Trouble {
        Trouble::Fault(e.into())
    }
}

/// What is changed about somebody.
pub enum Change<'a> {
    /// Another name.
    Name(&'a str),
    /// Another PIN.
    Pin(&'a str),
    /// Another password.
    Password(&'a str),
    /// Another role; a manager or an inspector who has no password yet gets this one.
    Role(Role, &'a str),
    /// They work here no longer.
    Disable,
    /// They work here again.
    Enable,
    /// Their name is erased for good, and their secrets with it.
    Erase,
}

impl FromRequestParts<Service> for Manages {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, service: &Service) -> Result<Manages, Problem> {
        let reads = Reads::from_request_parts(parts, service).await?;
        if reads.actor.role != Role::Manager {
            return Err(Problem::of("not-allowed", "Only a manager looks after people and devices."));
        }
        Ok(Manages { reads })
    }
}

impl Manages {
    /// Who manages reads too.
    pub fn reads(&self) -> &Reads {
        &self.reads
    }

    fn service(&self) -> &Service {
        self.reads.service()
    }

    /// Makes another shop with what belongs to it, managed by whoever makes it; its id, the first of those proposed that
    /// is free. The same form sent again finds the shop it made, and one that broke off goes on where it did.
    pub async fn add_shop(
        &self,
        ids: impl Iterator<Item = String> + Send + 'static,
        entries: Vec<Parsed>,
        key: Option<(String, String)>,
    ) -> Result<String, Fault> {
        let (service, actor) = (self.service().clone(), self.reads.actor.clone());
        // A token of one shop could never act in the other.
        if actor.how == ByHow::Token && actor.site.is_some() {
            return Err(Fault::Forbidden);
        }
        // In a task of its own: whoever goes in the middle of it leaves no half a shop.
        let made = tokio::spawn(async move {
            let _one = service.making().lock().await;
            let mine = persons::shops(&mut service.db().reader().await?, actor.by.as_str()).await?;
            let mut begun = None;
            for (site, _) in mine.into_iter().filter(|(_, role)| *role == Role::Manager) {
                let look = service.look(&site, &[]).await?;
                if let Some(key) = &key
                    && service.answered(&look, &site, &actor, key).await.is_some()
                {
                    return Ok(site);
                }
                begun = begun.or((look.state.head == 0).then_some(site));
            }
            let id = match begun {
                Some(id) => id,
                None => service.begin_site(ids, &actor).await?,
            };
            service.write(&id, &actor, entries, key).await?;
            Ok(id)
        });
        made.await.map_err(|_| Fault::UnknownOutcome)?
    }

    /// The other shops that this manager manages too, in order of their ids.
    pub async fn others(&self) -> Result<Vec<String>, Fault> {
        let (service, actor) = (self.service(), &self.reads.actor);
        let all = match (actor.how, &actor.site) {
            (ByHow::Token, None) => service.sites(),
            (ByHow::Token, Some(_)) => Vec::new(),
            _ => {
                let mut conn = service.db().reader().await?;
                let mine = persons::shops(&mut conn, actor.by.as_str()).await?;
                mine.into_iter().filter(|(_, role)| *role == Role::Manager).map(|(site, _)| site).collect()
            }
        };
        let mut others: Vec<String> = all.into_iter().filter(|s| *s != self.reads.site && service.has(s)).collect();
        others.sort();
        Ok(others)
    }

    /// Writes entries into another shop of the manager's; see [`Manages::others`].
    pub async fn publish(&self, site: &str, entries: Vec<Parsed>, key: Option<(String, String)>) -> Result<(), Fault> {
        if !self.others().await?.iter().any(|o| o == site) {
            return Err(Fault::Forbidden);
        }
        let actor = Actor { site: Some(site.to_owned()), ..self.reads.actor.clone() };
        self.service().write(site, &actor, entries, key).await.map(|_| ())
    }

    /// Everybody in the manager's other shops who doesn't work here yet.
    pub async fn elsewhere(&self) -> Result<Vec<Member>, Fault> {
        let mut conn = self.service().db().reader().await?;
        let mut found: Vec<Member> = Vec::new();
        let here = persons::of_site(&mut conn, &self.reads.site).await?;
        for (site, role) in persons::shops(&mut conn, self.reads.actor.by.as_str()).await? {
            if site == self.reads.site || role != Role::Manager {
                continue;
            }
            let members = persons::of_site(&mut conn, &site).await?.into_iter();
            let new = members.filter(|m| m.disabled_at.is_none() && here.iter().all(|h| h.person != m.person));
            for m in new {
                if found.iter().all(|f| f.person != m.person) {
                    found.push(m);
                }
            }
        }
        Ok(found)
    }

    /// Somebody of another shop of the manager's works here too from now on, as what they are there.
    pub async fn also_here(&self, person: &Id) -> Result<(), Trouble> {
        let there = self.elsewhere().await?.into_iter().find(|m| m.person == *person).ok_or(Trouble::Nobody)?;
        let mut conn = self.service().writing().await?;
        let members = persons::of_site(&mut conn, &self.reads.site).await?;
        check_name(&mut conn, &members, person.as_str(), &there.name, None).await?;
        persons::join(&mut conn, &self.reads.site, person.as_str(), there.role, self.service().now()).await?;
        conn.commit().await?;
        self.service().forget_who();
        Ok(())
    }

    /// Everybody who ever worked here.
    pub async fn members(&self) -> Result<Vec<Member>, Fault> {
        let mut conn = self.service().db().reader().await?;
        Ok(persons::of_site(&mut conn, &self.reads.site).await?)
    }

    /// Adds somebody: staff with a PIN, managers and inspectors with a password. Returns their id.
    pub async fn add(&self, name: &str, role: Role, pin: &str, password: &str) -> Result<String, Trouble> {
        let name = secret::name(name).map_err(Trouble::Unfit)?;
        let staff = role == Role::Staff;
        let (pin, password) = match staff {
            true => (Some(pin_hash(pin).await?), None),
            false => (None, Some(password_hash(password, &name).await?)),
        };
        let sign_in = (!staff).then(|| secret::sign_in_name(&name));
        let mut conn = self.service().writing().await?;
        let members = persons::of_site(&mut conn, &self.reads.site).await?;
        check_name(&mut conn, &members, "", &name, sign_in.as_deref()).await?;
        let new = persons::New { name: &name, sign_in, password, pin };
        let id = persons::new_id()?;
        persons::add(&mut conn, &self.reads.site, &id, role, &new, self.service().now()).await?;
        conn.commit().await?;
        Ok(id)
    }

    /// Changes something about somebody who works here.
    pub async fn change(&self, person: &Id, change: Change<'_>) -> Result<(), Trouble> {
        let (site, now, id) = (self.reads.site.as_str(), self.service().now(), person.as_str());
        let members = self.members().await?;
        let member = members.iter().find(|m| m.person == *person).ok_or(Trouble::Nobody)?;
        if member.name.is_empty() {
            return Err(Trouble::Nobody);
        }
        // Hashing takes a while: before anything is locked.
        let hash = match &change {
            Change::Pin(pin) => Some(pin_hash(pin).await?),
            Change::Password(_) if member.role == Role::Staff => return Err(Trouble::StaffPassword),
            Change::Password(password) => Some(password_hash(password, &member.name).await?),
            Change::Role(role, password) if *role != Role::Staff && !member.has_password => {
                Some(password_hash(password, &member.name).await?)
            }
            _ => None,
        };
        let sign_in = secret::sign_in_name(&member.name);
        let mut conn = self.service().writing().await?;
        // One after the other: two managers that each end the other would leave none.
        ledger::lock(&mut conn, site).await?;
        let manages_no_more = match &change {
            Change::Role(role, _) => *role != Role::Manager,
            Change::Disable | Change::Erase => true,
            _ => false,
        };
        let counts = member.role == Role::Manager && member.disabled_at.is_none();
        if counts && manages_no_more && persons::other_managers(&mut conn, site, id).await? == 0 {
            return Err(Trouble::LastManager);
        }
        let elsewhere = persons::shops(&mut conn, id).await?.into_iter().filter(|(s, _)| s != site);
        let elsewhere: Vec<(String, Role)> = elsewhere.collect();
        match &change {
            Change::Disable => persons::disable(&mut conn, site, id, now).await?,
            Change::Enable => persons::enable(&mut conn, site, id).await?,
            // All else is about the person, wherever they work.
            _ => self.check_elsewhere(&mut conn, id).await?,
        }
        if matches!(change, Change::Erase) {
            // Whoever is erased is gone from every shop.
            for (other, _) in elsewhere.iter().filter(|(_, role)| *role == Role::Manager) {
                ledger::lock(&mut conn, other).await?;
                if persons::other_managers(&mut conn, other, id).await? == 0 {
                    return Err(Trouble::LastManager);
                }
            }
        }
        match (&change, hash.as_deref()) {
            (Change::Name(name), _) => {
                let name = secret::name(name).map_err(Trouble::Unfit)?;
                let sign_in = secret::sign_in_name(&name);
                let by = member.has_password.then_some(sign_in.as_str());
                check_name(&mut conn, &members, id, &name, by).await?;
                persons::set_name(&mut conn, id, &name, &sign_in).await?;
            }
            (Change::Pin(_), Some(hash)) => {
                persons::set_pin(&mut conn, id, hash).await?;
                tries::forget(&mut conn, What::Pin, id).await?;
                sessions::end_of_pin(&mut conn, id).await?;
                devices::forget_pins(&mut conn, id).await?;
            }
            (Change::Password(_), Some(hash)) => self.set_password(&mut conn, id, hash, &sign_in).await?,
            (Change::Role(role, _), hash) => {
                if let Some(hash) = hash {
                    check_name(&mut conn, &members, id, &member.name, Some(&sign_in)).await?;
                    self.set_password(&mut conn, id, hash, &sign_in).await?;
                }
                // Where they still need it they keep it.
                if *role == Role::Staff && elsewhere.iter().all(|(_, role)| *role == Role::Staff) {
                    persons::no_password(&mut conn, id).await?;
                }
                persons::set_role(&mut conn, site, id, *role).await?;
            }
            (Change::Erase, _) => {
                persons::disable(&mut conn, site, id, now).await?;
                persons::erase(&mut conn, id).await?;
            }
            _ => {}
        }
        if !matches!(change, Change::Name(_) | Change::Enable | Change::Pin(_)) {
            sessions::end_of(&mut conn, id).await?;
            devices::forget_pins(&mut conn, id).await?;
        }
        conn.commit().await?;
        self.service().forget_who();
        Ok(())
    }

    async fn set_password(&self, conn: &mut Conn, id: &str, hash: &str, sign_in: &str) -> Result<(), StoreError> {
        persons::set_password(conn, id, hash, sign_in).await?;
        tries::forget(conn, What::Password, &tokens::hash(sign_in)).await
    }

    /// A manager of one shop can't take over somebody of another by giving them a new password.
    async fn check_elsewhere(&self, conn: &mut Conn, person: &str) -> Result<(), Trouble> {
        let actor = &self.reads.actor;
        let managed = persons::shops(conn, actor.by.as_str()).await?;
        let mine = |site: &String| *site == self.reads.site || managed.contains(&(site.clone(), Role::Manager));
        match actor.site.is_none() || persons::ever(conn, person).await?.iter().all(mine) {
            true => Ok(()),
            false => Err(Trouble::Elsewhere),
        }
    }

    /// Says how many minutes before a limit the shop is told.
    pub async fn set_leads(&self, minutes: &[i64]) -> Result<(), Fault> {
        let mut conn = self.service().db().writer().await?;
        Ok(due::set_leads(&mut conn, &self.reads.site, minutes).await?)
    }

    /// Every device the shop ever had.
    pub async fn devices(&self) -> Result<Vec<Listed>, Fault> {
        let mut conn = self.service().db().reader().await?;
        Ok(devices::of_site(&mut conn, &self.reads.site).await?)
    }

    /// Names a device that is to be enrolled; the code that does it once.
    pub async fn add_device(&self, name: &str) -> Result<String, Trouble> {
        let name = secret::name(name).map_err(Trouble::Unfit)?;
        let mut conn = self.service().writing().await?;
        let known = devices::of_site(&mut conn, &self.reads.site).await?;
        if known.iter().any(|d| d.revoked_at.is_none() && same(&d.name, &name)) {
            return Err(Trouble::NameTaken);
        }
        let code = devices::add(&mut conn, &self.reads.site, &name, self.service().now()).await?.1;
        conn.commit().await?;
        Ok(code)
    }

    /// Another code for a device.
    pub async fn another_code(&self, device: &Id) -> Result<String, Trouble> {
        let mut conn = self.service().db().writer().await?;
        let code = devices::another_code(&mut conn, &self.reads.site, device.as_str(), self.service().now()).await?;
        code.ok_or(Trouble::Nobody)
    }

    /// Ends a device.
    pub async fn revoke(&self, device: &Id) -> Result<(), Trouble> {
        let mut conn = self.service().writing().await?;
        devices::revoke(&mut conn, &self.reads.site, device.as_str(), self.service().now()).await?;
        conn.commit().await?;
        self.service().forget_who();
        Ok(())
    }
}

fn same(a: &str, b: &str) -> bool {
    secret::sign_in_name(a) == secret::sign_in_name(b)
}

async fn pin_hash(pin: &str) -> Result<String, Trouble> {
    secret::pin(pin).map_err(Trouble::Unfit)?;
    hashing::hash(pin).await.map_err(|NotNow| Trouble::Fault(Fault::Busy))
}

async fn password_hash(password: &str, name: &str) -> Result<String, Trouble> {
    secret::password(password, name).map_err(Trouble::Unfit)?;
    hashing::hash(password).await.map_err(|NotNow| Trouble::Fault(Fault::Busy))
}

/// Two of one name couldn't be told apart on a device, nor at the sign-in by password.
async fn check_name(
    conn: &mut Conn,
    members: &[Member],
    person: &str,
    name: &str,
    sign_in: Option<&str>,
) -> Result<(), Trouble> {
    let here = members.iter().filter(|m| m.person.as_str() != person && m.disabled_at.is_none());
    if here.into_iter().any(|m| same(&m.name, name)) {
        return Err(Trouble::NameTaken);
    }
    let Some(sign_in) = sign_in else { return Ok(()) };
    match persons::by_sign_in(conn, sign_in).await? {
        Some((other, _)) if other != person => Err(Trouble::SignInTaken),
        _ => Ok(()),
    }
}
