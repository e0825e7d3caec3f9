//! How the cold is watched: what a manager sets about places, and the probes that measure them.

use super::manages::Manages;
use super::service::{Fault, Service};
use crate::board::cold::{Watch, Watched};
use crate::board::decisions::BACK_MS;
use crate::ledger::{Control, Id, Place, State};
use crate::people::Role;
use crate::people::secret::{self, Unfit};
use crate::people::tokens::{self, Probe};
use crate::store::{StoreError, cold as sql};

/// Places that a probe is limited to at most.
pub const PLACES_MOST: usize = 50;

/// Why nothing was set.
#[derive(Debug)]
pub enum Wrong {
    /// There is no such place; where its cold is watched, none that keeps food cold.
    Place,
    /// A limit of time or temperature that nobody may set: see [`Watch::fits`].
    Figure,
    /// A probe measures one place at least, and [`PLACES_MOST`] at most.
    Places,
    /// The name isn't fit.
    Name(Unfit),
    /// Another probe has that name already.
    NameTaken,
    /// There is no such probe, or it was revoked before.
    Probe,
    /// The database failed, or too many are waiting.
    Fault(Fault),
}

impl<T: Into<Fault>> From<T> for Wrong {
    fn from(e: T) -> Wrong {
        Wrong::Fault(e.into())
    }
}

impl Service {
    /// Makes a probe's token for these places alone, or for every place of its shop where there are none.
    pub async fn add_probe(&self, site: &str, name: &str, places: &[Id]) -> Result<String, Fault> {
        let mut conn = self.writing().await?;
        let token = tokens::add(&mut conn, site, name, Role::Probe, places, self.now()).await?;
        conn.commit().await.map_err(StoreError::from)?;
        Ok(token)
    }
}

/// A place that keeps food cold.
fn cold<'a>(state: &'a State, place: &Id) -> Result<&'a Place, Wrong> {
    let place = state.places.get(place).filter(|p| p.control != Control::None);
    place.map(|p| &**p).ok_or(Wrong::Place)
}

impl Manages {
    /// What is set about the places of the shop.
    pub async fn watched(&self) -> Result<Watched, Fault> {
        let mut conn = self.reads().service().db().reader().await?;
        Ok(sql::watched(&mut conn, &self.reads().site).await?)
    }

    /// Says how a cold place is watched; none as the program has it. It must [fit](Watch::fits).
    pub async fn set_watch(&self, place: &Id, watch: Option<Watch>) -> Result<(), Wrong> {
        let look = self.reads().look(&[]).await?;
        cold(&look.state, place)?;
        if watch.is_some_and(|w| !w.fits()) {
            return Err(Wrong::Figure);
        }
        let mut conn = self.reads().service().db().writer().await?;
        Ok(sql::set(&mut conn, &self.reads().site, place, watch.as_ref()).await?)
    }

    /// Every probe's token the shop ever had, each with its last reading of the time that the list of decisions looks at.
    pub async fn probes(&self) -> Result<Vec<Probe>, Fault> {
        let since = self.reads().service().now().plus(-BACK_MS);
        let mut conn = self.reads().service().db().reader().await?;
        Ok(tokens::probes(&mut conn, &self.reads().site, since).await?)
    }

    /// Makes a token for a probe that measures these places, one at least; it cannot be shown again. One of a place without
    /// control is heard, and never found silent.
    pub async fn add_probe(&self, name: &str, places: &[Id]) -> Result<String, Wrong> {
        let name = secret::name(name).map_err(Wrong::Name)?;
        let look = self.reads().look(&[]).await?;
        if !places.iter().all(|p| look.state.places.contains_key(p)) {
            return Err(Wrong::Place);
        }
        if !(1..=PLACES_MOST).contains(&places.len()) {
            return Err(Wrong::Places);
        }
        let known = self.probes().await?;
        let same = |p: &Probe| p.revoked_at.is_none() && secret::sign_in_name(&p.name) == secret::sign_in_name(&name);
        if known.iter().any(same) {
            return Err(Wrong::NameTaken);
        }
        Ok(self.reads().service().add_probe(&self.reads().site, &name, places).await?)
    }

    /// Ends a probe's token: at once here, within seconds on another server of the same database.
    pub async fn revoke_probe(&self, token: &Id) -> Result<(), Wrong> {
        let service = self.reads().service();
        let mut conn = service.db().writer().await?;
        let there = tokens::revoke(&mut conn, &self.reads().site, token, service.now()).await?;
        drop(conn);
        service.forget_who();
        if there { Ok(()) } else { Err(Wrong::Probe) }
    }
}
