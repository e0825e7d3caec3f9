//! What handlers may ask of the shop: look at a ledger, write entries. They see neither SQL nor the writer.

use crate::clock::Instant;
use crate::ledger::{Entry, Id, Parsed, Refusal, State};
use crate::people::Actor;
use std::sync::Arc;

/// The shop as it stands, for pages and answers. `state` holds every open item, and of the closed ones those asked
/// for with all they were made from.
pub struct Look {
    /// The ledger.
    pub state: State,
    /// The server's now.
    pub now: Instant,
}

/// What was written.
pub struct Written {
    /// The entries asked for, in order.
    pub entries: Vec<Arc<Entry>>,
    /// Their ledger lines, canonical JSON with `prev` and `hash`.
    pub lines: Vec<String>,
    /// The ledger after.
    pub state: State,
    /// The instant standings are of.
    pub now: Instant,
}

/// Why nothing was written or read.
#[derive(Debug)]
pub enum Fault {
    /// The ledger refuses it.
    Refused(Refusal),
    /// The address names nothing.
    NotFound(&'static str),
    /// Too many are waiting.
    Busy,
    /// A fault of the database: nothing was recorded.
    NotRecorded,
    /// The answer to the commit was lost: it may or may not be recorded. Send again with the same key.
    UnknownOutcome,
    /// An idempotency key came again with another body.
    KeyReused,
}

/// The shop's service: one for the process, cheap to clone.
#[derive(Clone)]
pub struct Service {}

impl Service {
    /// The shop as it stands; `items` are wanted too if they are closed (an unknown one is simply not there).
    pub async fn look(&self, _site: &str, _items: &[Id]) -> Result<Look, Fault> {
        Err(Fault::Busy)
    }

    /// Writes entries, all or none; `key` makes a repeat harmless.
    pub async fn write(
        &self,
        _site: &str,
        _actor: &Actor,
        _entries: Vec<Parsed>,
        _key: Option<String>,
    ) -> Result<Written, Fault> {
        Err(Fault::Busy)
    }
}
