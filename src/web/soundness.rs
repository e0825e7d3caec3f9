//! How far the ledgers have been read through, which of them do not verify, and whether the writers take their turn.

use super::service::Service;
use std::collections::HashMap;
use tokio::task::JoinHandle;

/// Watches over a task that a shop cannot do without: if it ends by a fault, so does the program, with a sentence. Whoever runs
/// it starts it again; a board that no longer changes would be worse.
pub(super) fn needed(what: &'static str, site: &str, task: JoinHandle<()>) {
    let site = site.to_owned();
    tokio::spawn(async move {
        if let Err(e) = task.await {
            tracing::error!(site, error = %e, "the {what} ended; so does the program, nothing acknowledged is lost");
            std::process::exit(70);
        }
    });
}

impl Service {
    /// How far each ledger has been verified since the start: entries done, entries in all.
    pub fn verified(&self) -> HashMap<String, (u64, u64)> {
        self.0.verified.read().unwrap_or_else(|e| e.into_inner()).clone()
    }

    /// Notes how far a ledger has been verified.
    pub fn note_verified(&self, site: &str, done: u64, of: u64) {
        self.0.verified.write().unwrap_or_else(|e| e.into_inner()).insert(site.to_owned(), (done, of));
    }

    /// Notes that a ledger does not verify, and where: from now on nothing is written into it.
    pub fn note_broken(&self, site: &str, broken: String) {
        self.0.broken.write().unwrap_or_else(|e| e.into_inner()).insert(site.to_owned(), broken);
    }

    /// The ledgers that don't verify, and where.
    pub fn broken(&self) -> HashMap<String, String> {
        self.0.broken.read().unwrap_or_else(|e| e.into_inner()).clone()
    }

    /// Waits until every shop's writer has taken its turn.
    pub async fn writers_answer(&self) {
        for site in self.sites() {
            if let Ok(shop) = self.shop(&site) {
                shop.refresh().await;
            }
        }
    }
}
