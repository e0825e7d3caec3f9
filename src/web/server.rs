//! The server loop: timeouts, a connection cap, a graceful stop.

use super::patient::Patient;
use super::router;
use super::service::Service;
use axum::Router;
use axum::extract::connect_info::IntoMakeServiceWithConnectInfo;
use axum_server::accept::Accept;
use axum_server::tls_rustls::{RustlsAcceptor, RustlsConfig};
use axum_server::{Handle, Server};
use rustls::ServerConfig;
use std::future::Future;
use std::io;
use std::net::{SocketAddr, TcpListener};
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::sync::{OwnedSemaphorePermit, Semaphore};

/// Connections at once; one more waits for a place.
const CONNECTIONS: usize = 4_000;
/// Descriptors left for all else: the database's files, streams of its own, exports, notices.
const ELSE: usize = 160;
/// The same beside the service.
const BESIDE: usize = 32;
const HEADERS: Duration = Duration::from_secs(10);
/// How long requests under way may take at a stop.
const GRACE: Duration = Duration::from_secs(10);

/// How long somebody may take nothing of an answer off the line before they are cut off.
const PATIENCE: Duration = Duration::from_secs(30);

/// How long somebody may take to agree on the keys.
const HANDSHAKE: Duration = Duration::from_secs(10);

/// Takes as many descriptors as the system lets this process have.
pub fn want_descriptors() {
    use rustix::process::{Resource, Rlimit, getrlimit, setrlimit};
    let limit = getrlimit(Resource::Nofile);
    if limit.current != limit.maximum
        && let Err(e) = setrlimit(Resource::Nofile, Rlimit { current: limit.maximum, ..limit })
    {
        tracing::warn!(error = %e, "no more descriptors could be had");
    }
}

/// How many connections there are descriptors for.
fn places() -> usize {
    let limit = rustix::process::getrlimit(rustix::process::Resource::Nofile).current;
    let most = limit.map_or(CONNECTIONS, |n| usize::try_from(n).unwrap_or(CONNECTIONS));
    CONNECTIONS.min(most.saturating_sub(ELSE).max(1))
}

/// Serves until the process is told to stop; over TLS where there is a certificate.
pub async fn serve(service: Service, listener: TcpListener, tls: Option<Arc<ServerConfig>>) -> io::Result<()> {
    serve_until(service, listener, tls, told_to_stop(), PATIENCE).await
}

/// Serves until `stop`; whoever takes nothing off the line for as long as `patience` is cut off.
pub async fn serve_until(
    service: Service,
    listener: TcpListener,
    tls: Option<Arc<ServerConfig>>,
    stop: impl Future<Output = ()> + Send + 'static,
    patience: Duration,
) -> io::Result<()> {
    let handle = Handle::<SocketAddr>::new();
    let (stopping, streams) = (handle.clone(), service.clone());
    tokio::spawn(async move {
        stop.await;
        tracing::info!("stopping: no new requests are taken, those under way are finished");
        streams.stop();
        stopping.graceful_shutdown(Some(GRACE));
    });
    service.follow_all();
    let app: IntoMakeServiceWithConnectInfo<_, SocketAddr> = router(service).into_make_service_with_connect_info();
    let cap = Capped { places: Arc::new(Semaphore::new(places())), patience };
    let plain: Server<SocketAddr> =
        axum_server::from_tcp(listener)?.handle(handle).first_request_timeout(HEADERS).http1_only();
    match tls {
        None => {
            let mut server = plain.acceptor(cap);
            server.http_builder().http1().header_read_timeout(HEADERS);
            server.serve(app).await
        }
        Some(config) => {
            // A place and the cut-off come first: a handshake that takes for ever holds a place no longer than this.
            let tls = RustlsAcceptor::new(RustlsConfig::from_config(config)).handshake_timeout(HANDSHAKE).acceptor(cap);
            let mut server = plain.acceptor(tls);
            server.http_builder().http1().header_read_timeout(HEADERS);
            server.serve(app).await
        }
    }
}

/// Serves the little beside the service that is open to anybody on the network, with few places: no guest takes those of the
/// service. It ends with the program; whoever is cut off then comes again.
pub(super) async fn serve_beside(app: Router, listener: TcpListener) -> io::Result<()> {
    let cap = Capped { places: Arc::new(Semaphore::new(BESIDE)), patience: PATIENCE };
    let mut server: Server<SocketAddr, Capped> =
        axum_server::from_tcp(listener)?.acceptor(cap).first_request_timeout(HEADERS).http1_only();
    server.http_builder().http1().header_read_timeout(HEADERS);
    server.serve(app.into_make_service()).await
}

async fn told_to_stop() {
    use tokio::signal::unix::{SignalKind, signal};
    match signal(SignalKind::terminate()) {
        Ok(mut terminate) => tokio::select! {
            _ = terminate.recv() => {}
            _ = tokio::signal::ctrl_c() => {}
        },
        Err(_) => _ = tokio::signal::ctrl_c().await,
    }
}

/// Lets a connection in while there is a place.
#[derive(Clone)]
struct Capped {
    places: Arc<Semaphore>,
    patience: Duration,
}

impl<I: Send + 'static, S: Send + 'static> Accept<I, S> for Capped {
    type Stream = Patient<I>;
    type Service = Placed<S>;
    type Future = Pin<Box<dyn Future<Output = io::Result<(Patient<I>, Placed<S>)>> + Send>>;

    fn accept(&self, stream: I, service: S) -> Self::Future {
        let (places, patience) = (self.places.clone(), self.patience);
        Box::pin(async move {
            let place = places.acquire_owned().await.map_err(io::Error::other)?;
            Ok((Patient::new(stream, patience), Placed { service, _place: Arc::new(place) }))
        })
    }
}

/// A connection's service, holding its place until the connection is gone.
#[derive(Clone)]
struct Placed<S> {
    service: S,
    _place: Arc<OwnedSemaphorePermit>,
}

impl<S: tower::Service<R>, R> tower::Service<R> for Placed<S> {
    type Response = S::Response;
    type Error = S::Error;
    type Future = S::Future;

    fn poll_ready(&mut self, cx: &mut Context<'_>) -> Poll<Result<(), S::Error>> {
        self.service.poll_ready(cx)
    }

    fn call(&mut self, request: R) -> S::Future {
        self.service.call(request)
    }
}
