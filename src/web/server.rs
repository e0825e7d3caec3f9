//! The server loop: timeouts, a connection cap, a graceful stop.

use super::router;
use super::service::Service;
use axum::extract::connect_info::IntoMakeServiceWithConnectInfo;
use axum_server::accept::Accept;
use axum_server::{Handle, Server};
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
const HEADERS: Duration = Duration::from_secs(10);
/// How long requests under way may take at a stop.
const GRACE: Duration = Duration::from_secs(10);

/// Serves until the process is told to stop.
pub async fn serve(service: Service, listener: TcpListener) -> io::Result<()> {
    let handle = Handle::<SocketAddr>::new();
    tokio::spawn(stop_on_signal(handle.clone()));
    let app: IntoMakeServiceWithConnectInfo<_, SocketAddr> = router(service).into_make_service_with_connect_info();
    let cap = Capped(Arc::new(Semaphore::new(CONNECTIONS)));
    let mut server: Server<SocketAddr, Capped> =
        axum_server::from_tcp(listener)?.acceptor(cap).handle(handle).first_request_timeout(HEADERS).http1_only();
    server.http_builder().http1().header_read_timeout(HEADERS);
    server.serve(app).await
}

async fn stop_on_signal(handle: Handle<SocketAddr>) {
    use tokio::signal::unix::{SignalKind, signal};
    let Ok(mut terminate) = signal(SignalKind::terminate()) else { return };
    tokio::select! {
        _ = terminate.recv() => {}
        _ = tokio::signal::ctrl_c() => {}
    }
    tracing::info!("stopping: no new requests are taken, those under way are finished");
    handle.graceful_shutdown(Some(GRACE));
}

/// Lets a connection in while there is a place.
#[derive(Clone)]
struct Capped(Arc<Semaphore>);

impl<I: Send + 'static, S: Send + 'static> Accept<I, S> for Capped {
    type Stream = I;
    type Service = Placed<S>;
    type Future = Pin<Box<dyn Future<Output = io::Result<(I, Placed<S>)>> + Send>>;

    fn accept(&self, stream: I, service: S) -> Self::Future {
        let places = self.0.clone();
        Box::pin(async move {
            let place = places.acquire_owned().await.map_err(io::Error::other)?;
            Ok((stream, Placed { service, _place: Arc::new(place) }))
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
