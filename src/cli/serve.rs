//! `serve`: the service, from its arguments to its last answer.

use super::{fault, said};
use crate::clock::{Clock, HOUR_MS, MINUTE_MS, Zone};
use crate::config::Config;
use crate::fill;
use crate::notice::worker;
use crate::people::Role;
use crate::store::{Db, health, keep};
use crate::web;
use crate::web::service::{FIRST_SITE, Service};
use sd_notify::NotifyState;
use std::io::Write;
use std::net::{SocketAddr, TcpListener};
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Duration;
use tokio::net::TcpSocket;

/// How long between two readings of every ledger's whole chain.
const VERIFY_EVERY: Duration = Duration::from_millis(24 * HOUR_MS as u64);

/// Connections that wait to be accepted: many at once don't keep a phone waiting for a second try.
const WAITING: u32 = 1_024;

/// Listens, or says which flag takes another address.
fn listening(at: SocketAddr, flag: &str) -> Result<(TcpListener, SocketAddr), String> {
    let socket = || -> std::io::Result<TcpListener> {
        let socket = if at.is_ipv4() { TcpSocket::new_v4() } else { TcpSocket::new_v6() }?;
        socket.set_reuseaddr(true)?;
        socket.bind(at)?;
        socket.listen(WAITING)?.into_std()
    };
    let listener = socket().map_err(|e| format!("{at} cannot be listened on: {e}. Choose another with --{flag}."))?;
    let at = listener.local_addr().map_err(said)?;
    Ok((listener, at))
}

/// Serves something beside the service for as long as the program runs.
fn beside(what: &'static str, serving: impl Future<Output = std::io::Result<()>> + Send + 'static) {
    tokio::spawn(async move {
        if let Err(e) = serving.await {
            tracing::error!(error = %e, "{what} is no longer served");
        }
    });
}

/// Runs the service until it is told to stop.
pub(super) async fn run(config: Config) -> Result<ExitCode, String> {
    let clock = Clock::of_env();
    web::server::want_descriptors();
    let (listener, address) = listening(config.listen, "listen")?;
    let tls = match &config.tls {
        Some((cert, key)) => {
            let (config, soon) = crate::tls::config(cert, key, clock.now())?;
            soon.iter().for_each(|line| tracing::warn!("{line}"));
            Some(config)
        }
        None => None,
    };
    let scheme = if tls.is_some() { "https" } else { "http" };
    if let Some((at, file)) = &config.trust {
        let offered = web::trust::Authority::read(file, config.address.clone())?;
        let (listener, at) = listening(*at, "trust-listen")?;
        println!("phones are told to trust at http://{at}/trust\nits SHA-256: {}", offered.fingerprint());
        beside("/trust", web::trust::serve(offered, listener));
    }
    // Held until the end: only one program may keep a file's ledgers in memory.
    let _alone = health::alone(&config.db)?;
    if let Some(kind) = health::network(&config.db) {
        tracing::warn!("the database is on {kind}, where SQLite's locks don't hold; move it to a disk of this machine");
    }
    let db = Db::open(&config.db).await.map_err(said)?;
    if config.demo {
        fill::fill(&db, config.site_zone.unwrap_or(Zone::UTC)).await?;
    }
    let service = match config.site_zone {
        Some(zone) => super::open(db.clone(), Some(zone), clock).await?,
        None => Service::open(db.clone(), clock).await.map_err(said)?,
    };
    if let Some(address) = &config.address {
        service.set_address(address);
    }
    service.set_senders(config.senders.clone());
    service.trust_proxies(config.trusted_proxies);
    let mut out = std::io::stdout();
    _ = writeln!(out, "listening on {scheme}://{address}");
    if config.demo {
        service.sign_in_by_address();
        let token = service.add_token(FIRST_SITE, "demo", Role::Manager).await.map_err(fault)?;
        _ = writeln!(out, "sign in at {scheme}://{address}/sign-in?token={token}");
    } else if config.site_zone.is_none() && service.unmanaged().await.map_err(fault)? {
        let code = service.begin_set_up().map_err(fault)?;
        let base = config.address.unwrap_or_else(|| format!("{scheme}://{address}"));
        _ = writeln!(out, "set up at {}/set-up?code={code} (once, within a day)", base.trim_end_matches('/'));
    }
    _ = out.flush();
    tokio::spawn(verify_in_background(service.clone()));
    if let Some((broker, topics)) = config.mqtt {
        tokio::spawn(web::mqtt::listen(service.clone(), broker, topics));
    }
    if let Some(at) = config.metrics {
        let (listener, at) = listening(at, "metrics-listen")?;
        let folder = config.backups.as_ref().map(|(folder, ..)| folder.clone());
        let shown = web::metrics::Shown::install(service.clone(), folder)?;
        println!("figures at http://{at}/metrics");
        beside("/metrics", web::metrics::serve(shown, listener));
    }
    if let Some((folder, every_ms, keep)) = config.backups {
        tokio::spawn(back_up(db.clone(), service.clone(), folder, (every_ms, keep)));
    }
    let worker = tokio::spawn(worker::run(service.clone(), config.senders));
    let clock = web::clocks::Server::start(service.clone()).await.map_err(fault)?;
    let (stop, stopped) = tokio::sync::oneshot::channel();
    let watched = tokio::spawn(clock.watch(stopped));
    tokio::spawn(tell_the_manager(service.clone()));
    web::server::serve(service, listener, tls).await.map_err(said)?;
    _ = stop.send(());
    _ = watched.await;
    // What is being sent is marked before the database is closed; a receiver that hangs is not waited for.
    _ = tokio::time::timeout(Duration::from_secs(3), worker).await;
    db.close().await;
    Ok(ExitCode::SUCCESS)
}

/// Tells the system's service manager, if one started this, that the service answers, and from then on that it is alive: that
/// every shop's writer still takes its turn. One that hangs is then ended and started again from outside.
async fn tell_the_manager(service: Service) {
    let told = |state| {
        if let Err(e) = sd_notify::notify(&[state]) {
            tracing::warn!(error = %e, "the service manager could not be told");
        }
    };
    told(NotifyState::Ready);
    let mut stopping = service.stopping();
    let Some(within) = sd_notify::watchdog_enabled() else {
        // There is only the end to be told.
        _ = stopping.changed().await;
        return told(NotifyState::Stopping);
    };
    loop {
        tokio::select! {
            _ = stopping.changed() => return told(NotifyState::Stopping),
            () = tokio::time::sleep(within / 3) => {
                service.writers_answer().await;
                told(NotifyState::Watchdog);
            }
        }
    }
}

/// Reads every ledger's chain while the service runs, and again every day. Into one that is broken nothing more is written.
async fn verify_in_background(service: Service) {
    let mut stopping = service.stopping();
    loop {
        for site in service.sites() {
            let told = |done, _: &str, of| {
                if done == of || done % 1_000 == 0 {
                    service.note_verified(&site, done, of);
                }
            };
            let read = async { crate::check::chain_of(&mut service.db().reader().await?, &site, told).await };
            match read.await {
                Ok(None) => {}
                Ok(Some(broken)) => {
                    tracing::error!(site, "{broken}: {}", health::BROKEN);
                    service.note_broken(&site, broken);
                }
                Err(e) => tracing::error!(site, error = %e, "a ledger could not be verified"),
            }
        }
        tokio::select! {
            () = tokio::time::sleep(VERIFY_EVERY) => {}
            _ = stopping.changed() => return,
        }
    }
}

/// Makes a backup whenever the last one is old enough; one that fails is tried again, and said.
async fn back_up(db: Db, service: Service, folder: PathBuf, (every_ms, keep): (i64, usize)) {
    let mut stopping = service.stopping();
    loop {
        let now = service.now();
        let last = keep::kept(&folder).ok().and_then(|all| keep::made_at(all.last()?));
        let wait = match last.map(|made| every_ms - now.since(made)) {
            // A clock that was set may leave one that is of the future: it is no reason to wait for ever.
            Some(left) if left > 0 && left <= every_ms => left,
            _ => match keep::scheduled(&db, &folder, keep, now).await {
                Ok(file) => {
                    tracing::info!(file = %file.display(), "a backup was made");
                    every_ms
                }
                Err(e) => {
                    tracing::error!(error = %e, "no backup could be made; trying again in a quarter of an hour");
                    HOUR_MS / 4
                }
            },
        };
        // Looked at every minute, so that a clock that is set changes when the next one is due.
        let wait = Duration::from_millis(u64::try_from(wait.min(MINUTE_MS)).unwrap_or(1_000));
        tokio::select! {
            () = tokio::time::sleep(wait) => {}
            _ = stopping.changed() => return,
        }
    }
}
