//! The worker of the outbox: takes what is to be sent, sends it, marks it; what fails is tried again later. At least once:
//! between sending and marking the program may die, and then it is sent again under the same id.

use super::hook::{Hooks, Undelivered};
use super::mail::Mailer;
use super::{LEASE_MS, Sent, Topic, Way, again, compose, sql};
use crate::clock::{HOUR_MS, Instant, MINUTE_MS, Zone};
use crate::store::StoreError;
use crate::web::service::Service;
use std::collections::HashSet;
use std::sync::Arc;
use std::time::Duration;
use tokio::task::JoinSet;

/// How often it looks.
const LOOK: Duration = Duration::from_millis(500);
/// Receivers that are sent to at once. Each has a lane of its own, so that one that hangs keeps nobody else waiting.
const LANES: usize = 16;
/// What is taken for one of them at a time: all of it is tried well within the lease.
const MOST: i64 = 4;
/// How long what was dealt with is kept to be looked at: this project's choice, thirty days.
const KEPT_MS: i64 = 30 * 24 * HOUR_MS;

/// By what notices are sent.
pub struct Senders {
    /// None where no mail server was named.
    pub mail: Option<Mailer>,
    /// Requests.
    pub hooks: Hooks,
}

/// Works until the service stops.
pub async fn run(service: Service, senders: Arc<Senders>) {
    let mut stopping = service.stopping();
    let (mut well, mut looked) = (true, Instant::NEVER);
    let (mut lanes, mut taken) = (JoinSet::new(), HashSet::new());
    while !*stopping.borrow() {
        let now = service.now();
        let look = async {
            if now.since(looked).abs() >= MINUTE_MS {
                looked = now;
                closings(&service, now).await?;
                sql::tidy(&mut service.db().writer().await?, now.plus(-KEPT_MS)).await?;
            }
            sql::due(&mut service.db().reader().await?, now, 4 * LANES as i64).await
        };
        let due = look.await;
        if let (Err(e), true) = (&due, well) {
            tracing::warn!(error = %e, "notices could not be looked up; trying again");
        }
        well = due.is_ok();
        for to in due.unwrap_or_default() {
            if lanes.len() < LANES && taken.insert(to.clone()) {
                lanes.spawn(lane(service.clone(), senders.clone(), to));
            }
        }
        tokio::select! {
            () = tokio::time::sleep(LOOK) => {}
            _ = stopping.changed() => {}
            Some(done) = lanes.join_next() => match done {
                Ok(to) => _ = taken.remove(&to),
                Err(e) => {
                    // Whose lane it was isn't known any more: all are looked at anew.
                    tracing::error!(error = %e, "a lane of notices ended");
                    taken.clear();
                }
            },
        }
    }
    // What is being sent is still marked, if that takes no time.
    while lanes.join_next().await.is_some() {}
}

type To = (String, String);

/// Sends what is due to one receiver, one after the other.
async fn lane(service: Service, senders: Arc<Senders>, to: To) -> To {
    let work = async {
        let now = service.now();
        let mut conn = service.db().writer().await?;
        let taken = sql::take(&mut conn, (&to.0, &to.1), (now, now.plus(LEASE_MS)), MOST).await?;
        drop(conn);
        for s in taken {
            one(&service, &senders, s).await?;
        }
        Ok::<_, StoreError>(())
    };
    if let Err(e) = work.await {
        tracing::warn!(site = to.0, target = to.1, error = %e, "what was sent could not be marked; it is sent again");
    }
    to
}

async fn one(service: &Service, senders: &Senders, s: Sent) -> Result<(), StoreError> {
    let outcome = match (s.target.way, &senders.mail) {
        (Way::Mail, Some(mail)) => mail.send(&s).await.map_err(Undelivered::Failed),
        (Way::Mail, None) => Err(Undelivered::Failed(String::from("no mail server was named at the start"))),
        (Way::Hook, _) => senders.hooks.send(&s, service.now()).await,
    };
    let now = service.now();
    let mut conn = service.db().writer().await?;
    match outcome {
        Ok(()) => sql::sent(&mut conn, &s.site, &s.notice, now).await,
        Err(Undelivered::Gone) => {
            tracing::info!(
                site = s.site,
                target = s.target.target.as_str(),
                "a webhook says that it is gone; it was ended"
            );
            sql::end_target(&mut conn, &s.site, s.target.target.as_str(), "it answered 410 Gone", now).await.map(|_| ())
        }
        Err(Undelivered::Failed(why)) => match again(s.made_at, s.tries, now) {
            Some(at) => sql::again(&mut conn, &s.site, &s.notice, at, &why).await,
            None => {
                tracing::warn!(site = s.site, notice = s.notice, "a notice was given up");
                sql::given_up(&mut conn, &s.site, &s.notice, now, &why).await
            }
        },
    }
}

/// Puts on its way how the day ended, where it is time for that.
async fn closings(service: &Service, now: Instant) -> Result<(), StoreError> {
    for site in service.sites() {
        let mut conn = service.db().reader().await?;
        let targets = sql::targets(&mut conn, &site).await?;
        drop(conn);
        let due = |at: Option<i64>, zone: Zone| {
            let local = zone.local(now);
            at.is_some_and(|at| i64::from(local.hour()) * 60 + i64::from(local.minute()) >= at)
        };
        if !targets.iter().any(|t| t.topics.contains(&Topic::Closing)) {
            continue;
        }
        let Ok(look) = service.look(&site, &[]).await else { continue };
        let zone = look.state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
        let day = zone.day(now);
        let due: Vec<_> = targets.into_iter().filter(|t| due(t.closing, zone)).collect();
        if due.is_empty() {
            continue;
        }
        let (state, hash) = (&look.state, look.published.hash.as_str());
        let mut conn = service.db().writer().await?;
        conn.begin().await?;
        sql::tell(&mut conn, &site, &due, (zone, now), || Some(compose::closing(state, &site, hash, day, now))).await?;
        conn.commit().await?;
    }
    Ok(())
}
