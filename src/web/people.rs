//! What handlers may ask about who acts: signing in and out, and on which device.

use super::service::{Fault, Service};
use crate::clock::Instant;
use crate::lang;
use crate::ledger::{ByHow, Id};
use crate::people::devices::Device;
use crate::people::hashing::NotNow;
use crate::people::limits::{BY_NAME_MS, What};
use crate::people::{Names, Role, accesses, codes, devices, hashing, persons, secret, sessions, tokens, tries};
use crate::store::{Conn, StoreError};
use std::net::IpAddr;

/// How a try to sign in ended.
pub enum SignIn {
    /// They are in; what the cookie is to carry.
    In(String),
    /// It was wrong.
    Wrong,
    /// Nothing is heard until then.
    Locked(Instant),
}

/// How a try to enrol a device ended.
pub enum Enrol {
    /// It is enrolled; what the cookie is to carry.
    Done(Device, String),
    /// No such code, or one that was used or ran out.
    Unknown,
    /// Nothing is heard until then.
    Locked(Instant),
}

/// Somebody who can sign in on a device.
pub struct Face {
    /// Who.
    pub person: Id,
    /// Their name.
    pub name: String,
    /// Until when the name alone will do there.
    pub by_name_until: Option<Instant>,
}

impl std::convert::From<NotNow> for Fault {
    fn from(_: NotNow) -> Fault {
        Fault::Busy
    }
}

impl std::convert::From<sqlx::Error> for Fault {
    fn from(e: sqlx::Error) -> Fault {
        StoreError::from(e).into()
    }
}

/// An address as guesses are counted by it: of IPv6 the network, since a house has all of it.
fn subject(peer: IpAddr) -> String {
    match peer {
        IpAddr::V4(v4) => v4.to_string(),
        IpAddr::V6(v6) => match v6.to_ipv4_mapped() {
            Some(v4) => v4.to_string(),
            None => format!("{:x?}", &v6.segments()[..4]),
        },
    }
}

/// Where a guess comes from: an enrolled device counts by itself, anything else by its address.
pub(super) fn from_where(device: Option<&Device>, peer: Option<IpAddr>) -> Option<(What, String)> {
    match (device, peer) {
        (Some(d), _) => Some((What::Device, format!("{}/{}", d.site, d.device))),
        (None, Some(peer)) => Some((What::Address, subject(peer))),
        (None, None) => None,
    }
}

impl Service {
    pub(super) async fn writing(&self) -> Result<Conn, Fault> {
        let mut conn = self.db().writer().await?;
        conn.begin().await?;
        Ok(conn)
    }

    /// Counts a guess before it is looked at; until when it isn't heard, if it isn't.
    pub(super) async fn count(&self, by: &[(What, String)]) -> Result<Option<Instant>, Fault> {
        let mut conn = self.writing().await?;
        let locked = tries::count(&mut conn, by, self.now()).await?;
        conn.commit().await?;
        Ok(locked)
    }

    /// The enrolled device whose cookie carries that secret.
    pub async fn device(&self, secret: &str) -> Result<Option<Device>, Fault> {
        let mut conn = self.db().reader().await?;
        Ok(devices::find(&mut conn, secret).await?)
    }

    /// Enrols a device by the code that works once.
    pub async fn enrol(&self, typed: &str, peer: Option<IpAddr>) -> Result<Enrol, Fault> {
        let by: Vec<_> = from_where(None, peer).into_iter().collect();
        let from = peer.map(tracing::field::display);
        if let Some(until) = self.count(&by).await? {
            tracing::warn!(from, "codes to enrol a device are not heard for a while: too many were wrong");
            return Ok(Enrol::Locked(until));
        }
        let mut conn = self.writing().await?;
        let found = devices::enrol(&mut conn, &codes::meant(typed), self.now()).await?;
        if found.is_some() {
            tries::forgive(&mut conn, &by, self.now()).await?;
        }
        conn.commit().await?;
        match &found {
            Some((d, _)) => tracing::info!(site = d.site, device = %d.device, from, "a device was enrolled"),
            None => tracing::warn!(from, "a code to enrol a device was wrong"),
        }
        Ok(found.map_or(Enrol::Unknown, |(device, secret)| Enrol::Done(device, secret)))
    }

    /// Who can sign in on a device, by name.
    pub async fn faces(&self, device: &Device) -> Result<Vec<Face>, Fault> {
        let mut conn = self.db().reader().await?;
        let given = devices::pins_given(&mut conn, device, self.now()).await?;
        let members = persons::of_site(&mut conn, &device.site).await?;
        let here = members.into_iter().filter(|m| m.has_pin && m.disabled_at.is_none());
        let face = |m: persons::Member| {
            let at = given.iter().find(|(id, _)| *id == m.person).map(|(_, at)| *at);
            Face { person: m.person, name: m.name, by_name_until: at.map(|at| at.plus(BY_NAME_MS)) }
        };
        Ok(here.map(face).collect())
    }

    /// Signs somebody in by PIN on an enrolled device.
    pub async fn sign_in_pin(&self, device: &Device, person: &Id, pin: &str) -> Result<SignIn, Fault> {
        let mut by = vec![(What::Pin, person.to_string())];
        by.extend(from_where(Some(device), None));
        if let Some(until) = self.count(&by).await? {
            tracing::warn!(site = device.site, device = %device.device, %person, "PINs are not heard for a while: too many were wrong");
            return Ok(SignIn::Locked(until));
        }
        let mut conn = self.db().reader().await?;
        let hash = persons::pin(&mut conn, &device.site, person.as_str()).await?;
        drop(conn);
        if !hashing::is(pin, hash).await? {
            tracing::warn!(site = device.site, device = %device.device, %person, "a PIN was wrong");
            return Ok(SignIn::Wrong);
        }
        let mut conn = self.writing().await?;
        tries::forgive(&mut conn, &by, self.now()).await?;
        devices::note_pin(&mut conn, device, person.as_str(), self.now()).await?;
        let secret = sessions::begin(&mut conn, person.as_str(), ByHow::Pin, Some(device), self.now()).await?;
        conn.commit().await?;
        tracing::info!(site = device.site, device = %device.device, %person, "signed in by PIN");
        Ok(SignIn::In(secret))
    }

    /// Switches to somebody who gave the PIN there within hours; `None` if it has to be given again.
    pub async fn sign_in_name(&self, device: &Device, person: &Id) -> Result<Option<String>, Fault> {
        let now = self.now();
        let mut conn = self.writing().await?;
        let given = devices::pins_given(&mut conn, device, now).await?.iter().any(|(id, _)| id == person);
        if !given || persons::pin(&mut conn, &device.site, person.as_str()).await?.is_none() {
            conn.rollback().await?;
            return Ok(None);
        }
        let secret = sessions::begin(&mut conn, person.as_str(), ByHow::Name, Some(device), now).await?;
        conn.commit().await?;
        tracing::info!(site = device.site, device = %device.device, %person, "signed in by name alone");
        Ok(Some(secret))
    }

    /// Signs somebody in by name and password, on any device.
    pub async fn sign_in_password(
        &self,
        (name, password): (&str, &str),
        device: Option<&Device>,
        peer: Option<IpAddr>,
    ) -> Result<SignIn, Fault> {
        let name = secret::sign_in_name(name);
        // By the name, not the person: so nobody learns from a lock whether there is one.
        let mut by = vec![(What::Password, tokens::hash(&name))];
        by.extend(from_where(device, peer));
        let from = peer.map(tracing::field::display);
        if let Some(until) = self.count(&by).await? {
            tracing::warn!(from, "passwords are not heard for a while: too many were wrong");
            return Ok(SignIn::Locked(until));
        }
        let mut conn = self.db().reader().await?;
        let found = persons::by_sign_in(&mut conn, &name).await?;
        drop(conn);
        let (person, hash) = found.map_or((String::new(), None), |(person, hash)| (person, hash));
        // More than any password is long is not even hashed.
        if password.len() > secret::PASSWORD_MOST_BYTES || !hashing::is(password, hash).await? {
            // Not what was typed as a name: some type the password there.
            tracing::warn!(person, from, "a password was wrong");
            return Ok(SignIn::Wrong);
        }
        let mut conn = self.writing().await?;
        tries::forgive(&mut conn, &by, self.now()).await?;
        let secret = match persons::shops(&mut conn, &person).await?.is_empty() {
            true => None,
            false => Some(sessions::begin(&mut conn, &person, ByHow::Password, device, self.now()).await?),
        };
        conn.commit().await?;
        match &secret {
            Some(_) => tracing::info!(person, from, "signed in by password"),
            None => tracing::warn!(person, from, "a password was right, of somebody who has no shop any more"),
        }
        Ok(secret.map_or(SignIn::Wrong, SignIn::In))
    }

    /// Ends a sign-in; on a device the PIN is to be given again.
    pub async fn sign_out(&self, secret: &str) -> Result<(), Fault> {
        let actors = self.who(secret, false).await?;
        let mut conn = self.writing().await?;
        if let Some(a) = actors.first() {
            tracing::info!(by = %a.by, "signed out");
        }
        for a in actors {
            if let (Some(site), Some(device)) = (&a.site, &a.device) {
                devices::forget_pin(&mut conn, site, device.as_str(), a.by.as_str()).await?;
            }
        }
        sessions::end(&mut conn, secret).await?;
        accesses::end(&mut conn, secret).await?;
        conn.commit().await?;
        self.forget_who();
        Ok(())
    }

    /// Ends a sign-in because another takes its place; a token is nobody's sign-in alone and stays.
    pub async fn end_sign_in(&self, secret: &str) -> Result<(), Fault> {
        if secret.starts_with(sessions::PREFIX) {
            let mut conn = self.db().writer().await?;
            sessions::end(&mut conn, secret).await?;
            self.forget_who();
        }
        Ok(())
    }

    /// The names of whoever may have written in a shop.
    pub async fn names(&self, site: &str) -> Result<Names, Fault> {
        let mut conn = self.db().reader().await?;
        Ok(persons::names(&mut conn, site).await?)
    }

    /// For the demo alone: enrols a browser at once, unless it is, as a device on which everybody has just given the
    /// PIN, and signs its manager in there. What the two cookies are to carry.
    pub async fn demo_browser(
        &self,
        site: &str,
        device: Option<Device>,
    ) -> Result<(Option<String>, Option<String>), Fault> {
        let now = self.now();
        let mut conn = self.writing().await?;
        let (device, kept) = match device {
            Some(device) => (Some(device), None),
            None => {
                let code = devices::add(&mut conn, site, lang::demo_device(), now).await?.1;
                devices::enrol(&mut conn, &code, now).await?.unzip()
            }
        };
        let mut signed_in = None;
        for member in persons::of_site(&mut conn, site).await?.iter().filter(|m| m.has_pin) {
            let (Some(device), person) = (&device, member.person.as_str()) else { break };
            devices::note_pin(&mut conn, device, person, now).await?;
            if member.role == Role::Manager {
                signed_in = Some(sessions::begin(&mut conn, person, ByHow::Token, Some(device), now).await?);
            }
        }
        conn.commit().await?;
        Ok((kept, signed_in))
    }
}
