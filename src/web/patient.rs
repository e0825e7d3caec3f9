//! A connection that gives up on somebody who takes nothing off the line: what waits for them is bounded, and so is
//! how long it waits.

use std::future::Future;
use std::io;
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::time::{Sleep, sleep};

/// The connection, and since when it can't be written to.
pub(super) struct Patient<I> {
    stream: I,
    patience: Duration,
    stuck: Option<Pin<Box<Sleep>>>,
}

impl<I> Patient<I> {
    pub(super) fn new(stream: I, patience: Duration) -> Patient<I> {
        Patient { stream, patience, stuck: None }
    }

    /// What came of a write: one that is stuck for too long is over.
    fn judge<T>(&mut self, cx: &mut Context<'_>, write: Poll<io::Result<T>>) -> Poll<io::Result<T>> {
        if write.is_ready() {
            self.stuck = None;
            return write;
        }
        let patience = self.patience;
        let stuck = self.stuck.get_or_insert_with(|| Box::pin(sleep(patience)));
        stuck.as_mut().poll(cx).map(|()| Err(io::ErrorKind::TimedOut.into()))
    }
}

impl<I: AsyncRead + Unpin> AsyncRead for Patient<I> {
    fn poll_read(mut self: Pin<&mut Self>, cx: &mut Context<'_>, buf: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_read(cx, buf)
    }
}

impl<I: AsyncWrite + Unpin> AsyncWrite for Patient<I> {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, buf: &[u8]) -> Poll<io::Result<usize>> {
        let write = Pin::new(&mut self.stream).poll_write(cx, buf);
        self.judge(cx, write)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bufs: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let write = Pin::new(&mut self.stream).poll_write_vectored(cx, bufs);
        self.judge(cx, write)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        let flush = Pin::new(&mut self.stream).poll_flush(cx);
        self.judge(cx, flush)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(cx)
    }
}
