//! `/metrics`, on a listener of its own: what an operator watches, in the text form of Prometheus. No name, no item and nobody
//! stands in it.

use super::server::serve_beside;
use super::service::{Fault, Service};
use crate::board::{Filter, Wanted, page_of};
use crate::notice::sql;
use crate::rules::Verdict;
use crate::store::keep;
use axum::Router;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use metrics::{Unit, describe_counter, describe_gauge, describe_histogram, gauge};
use metrics_exporter_prometheus::{Matcher, PrometheusBuilder, PrometheusHandle};
use std::net::TcpListener;
use std::path::PathBuf;
use std::sync::Arc;

/// Seconds that a commit takes: the edges of what is counted together.
const COMMIT: [f64; 10] = [0.000_5, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.5, 2.0];
/// Requests in a batch.
const BATCH: [f64; 8] = [1.0, 2.0, 4.0, 8.0, 16.0, 64.0, 128.0, 256.0];
/// Items counted as over a limit at most.
const OVER_MOST: usize = 2_000;

/// What is shown.
pub struct Shown {
    service: Service,
    backups: Option<PathBuf>,
    handle: PrometheusHandle,
}

impl Shown {
    /// Counts from now on. Once a process.
    pub fn install(service: Service, backups: Option<PathBuf>) -> Result<Shown, String> {
        let edges = |name: &str| Matcher::Full(name.to_owned());
        let handle = PrometheusBuilder::new()
            .set_buckets_for_metric(edges("counterclock_commit_seconds"), &COMMIT)
            .and_then(|b| b.set_buckets_for_metric(edges("counterclock_batch_requests"), &BATCH))
            .and_then(PrometheusBuilder::install_recorder)
            .map_err(|e| e.to_string())?;
        describe_counter!("counterclock_entries_total", "Entries written, by kind.");
        describe_counter!("counterclock_refusals_total", "Requests the ledger refused, by code.");
        describe_histogram!("counterclock_commit_seconds", Unit::Seconds, "How long a commit took.");
        describe_histogram!("counterclock_batch_requests", "Requests written together.");
        describe_gauge!("counterclock_queue_requests", "Requests that wait to be written.");
        describe_gauge!("counterclock_stream_clients", "Listeners of a shop's stream on this server.");
        describe_gauge!("counterclock_items_open", "Items that have not ended.");
        describe_gauge!("counterclock_items_over_limit", "Open items to be used now or discarded, 2,000 at most.");
        describe_gauge!("counterclock_chain_entries", "Entries of a ledger when it was read through.");
        describe_gauge!("counterclock_chain_verified_entries", "Of these, how many were read and hold.");
        describe_gauge!("counterclock_chain_broken", "Ledgers that do not verify; nothing is recorded in these.");
        describe_gauge!("counterclock_outbox_oldest_seconds", Unit::Seconds, "Age of the oldest notice that waits.");
        describe_gauge!("counterclock_backup_age_seconds", Unit::Seconds, "Age of the last scheduled backup.");
        Ok(Shown { service, backups, handle })
    }

    /// Brings up to date what is not counted as it happens.
    async fn look(&self) -> Result<(), Fault> {
        let now = self.service.now();
        for site in self.service.sites() {
            let look = self.service.look(&site, &[]).await?;
            let briefs = self.service.briefs(&site);
            let filter = Filter::default();
            let changed = |id: &_| look.changed(id);
            let list = page_of(&briefs, &look.state, changed, now, (Wanted::Open, &filter), None, OVER_MOST);
            // Worst first: what is over stands at the beginning.
            let over = list.standings.iter().take_while(|s| s.verdict >= Verdict::Use).count();
            let open: usize = list.counts.iter().sum();
            gauge!("counterclock_items_open", "site" => site.clone()).set(open as f64);
            gauge!("counterclock_items_over_limit", "site" => site.clone()).set(over as f64);
            let waiting = self.service.shop(&site)?.waiting();
            gauge!("counterclock_queue_requests", "site" => site.clone()).set(waiting as f64);
            let listening = self.service.feed(&site).listening();
            gauge!("counterclock_stream_clients", "site" => site.clone()).set(listening as f64);
        }
        for (site, (done, of)) in self.service.verified() {
            gauge!("counterclock_chain_verified_entries", "site" => site.clone()).set(done as f64);
            gauge!("counterclock_chain_entries", "site" => site).set(of as f64);
        }
        gauge!("counterclock_chain_broken").set(self.service.broken().len() as f64);
        let oldest = sql::oldest(&mut self.service.db().reader().await?).await?;
        gauge!("counterclock_outbox_oldest_seconds").set(oldest.map_or(0.0, |at| now.since(at) as f64 / 1000.0));
        let last = self.backups.as_ref().and_then(|folder| keep::kept(folder).ok()?.pop());
        if let Some(made) = last.and_then(|file| keep::made_at(&file)) {
            gauge!("counterclock_backup_age_seconds").set(now.since(made) as f64 / 1000.0);
        }
        Ok(())
    }

    async fn answer(&self) -> Response {
        if let Err(fault) = self.look().await {
            tracing::warn!(?fault, "figures could not be brought up to date");
            return StatusCode::SERVICE_UNAVAILABLE.into_response();
        }
        self.handle.run_upkeep();
        let kind =
            [(header::CONTENT_TYPE, "text/plain; version=0.0.4; charset=utf-8"), (header::CACHE_CONTROL, "no-store")];
        (kind, self.handle.render()).into_response()
    }
}

/// Serves it until the program ends.
pub async fn serve(shown: Shown, listener: TcpListener) -> std::io::Result<()> {
    let shown = Arc::new(shown);
    let answer = move || async move { shown.answer().await };
    serve_beside(Router::new().route("/metrics", get(answer)), listener).await
}
