//! A request's body is to be here whole within a time: whoever sends a byte now and then holds no place for long.

use axum::body::{Body, Bytes, HttpBody};
use axum::extract::Request;
use axum::middleware::Next;
use axum::response::Response;
use std::future::Future;
use std::io;
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::time::{Sleep, sleep};

/// How long that is. The longest body, 1 MiB, takes so long at 0.7 Mbit/s.
const WHOLE: Duration = Duration::from_secs(12);

/// A body, and until when it is waited for: from the first time that something of it was.
struct Whole {
    body: Body,
    late: Option<Pin<Box<Sleep>>>,
}

impl HttpBody for Whole {
    type Data = Bytes;
    type Error = axum::BoxError;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
    ) -> Poll<Option<Result<http_body::Frame<Bytes>, axum::BoxError>>> {
        if let Poll::Ready(frame) = Pin::new(&mut self.body).poll_frame(cx) {
            return Poll::Ready(frame.map(|f| f.map_err(Into::into)));
        }
        let late = self.late.get_or_insert_with(|| Box::pin(sleep(WHOLE)));
        late.as_mut().poll(cx).map(|()| Some(Err(io::Error::from(io::ErrorKind::TimedOut).into())))
    }

    fn is_end_stream(&self) -> bool {
        self.body.is_end_stream()
    }

    fn size_hint(&self) -> http_body::SizeHint {
        self.body.size_hint()
    }
}

/// Hands a request on with such a body.
pub(super) async fn in_time(request: Request, next: Next) -> Response {
    let request = request.map(|body| match body.is_end_stream() {
        true => body,
        false => Body::new(Whole { body, late: None }),
    });
    next.run(request).await
}
