//! The server's own clock under watch: when it starts and stops, and when it jumps, is noted beside the ledgers.

use super::service::{Fault, Service};
use crate::clock::{Clock, Watch};
use crate::people::tokens::random_hex;
use crate::store::clock::{self, What};
use std::time::Duration;

/// Between two looks. What happened within one and was mended in it isn't seen.
const LOOK: Duration = Duration::from_secs(10);

/// A server, as its notes name it.
pub struct Server {
    service: Service,
    name: String,
    watch: Watch,
}

impl Server {
    /// Notes that it starts.
    pub async fn start(service: Service) -> Result<Server, Fault> {
        let (name, now) = (random_hex(6)?, service.now());
        let watch = Watch::begin(now, Clock::steady_ms());
        let mut conn = service.writing().await?;
        let last = clock::last_seen(&mut conn, &name).await?;
        clock::note(&mut conn, &name, now, What::Start, last.map_or(0, |last| now.since(last))).await?;
        conn.commit().await?;
        Ok(Server { service, name, watch })
    }

    /// Looks once: notes a jump, or that it is there still.
    pub async fn look(&mut self) -> Result<Option<i64>, Fault> {
        let now = self.service.now();
        let jumped = self.watch.look(now, Clock::steady_ms());
        let mut conn = self.service.writing().await?;
        match jumped {
            Some(ms) => clock::note(&mut conn, &self.name, now, What::Jump, ms).await?,
            None => clock::seen(&mut conn, &self.name, now).await?,
        }
        conn.commit().await?;
        Ok(jumped)
    }

    /// Looks until it is told to stop, and notes that.
    pub async fn watch(mut self, mut stop: tokio::sync::oneshot::Receiver<()>) {
        loop {
            tokio::select! {
                () = tokio::time::sleep(LOOK) => match self.look().await {
                    Ok(None) => {}
                    Ok(Some(ms)) => tracing::warn!(ms, "the clock of this machine jumped"),
                    Err(fault) => tracing::warn!(?fault, "the clock could not be noted"),
                },
                _ = &mut stop => break,
            }
        }
        let stopped = async {
            let mut conn = self.service.writing().await?;
            clock::note(&mut conn, &self.name, self.service.now(), What::Stop, 0).await?;
            Ok::<_, Fault>(conn.commit().await?)
        };
        if let Err(fault) = stopped.await {
            tracing::warn!(?fault, "the stop could not be noted");
        }
    }
}
