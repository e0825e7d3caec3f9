//! `stream`: what happens in a shop, as it happens.

use super::Query;
use crate::store::ledger as sql;
use crate::web::auth::Reads;
use crate::web::error::Problem;
use crate::web::feed::{self, Feed, PAGE, Piece};
use crate::web::service::Fault;
use axum::body::{Body, Bytes};
use axum::http::{HeaderMap, HeaderName, header};
use axum::response::{IntoResponse, Response};
use futures_util::{Stream, StreamExt, stream};
use serde::Deserialize;
use std::convert::Infallible;
use std::future::ready;
use std::sync::Arc;
use tokio::sync::broadcast::error::RecvError;
use tokio::sync::{OwnedSemaphorePermit, broadcast, watch};
use tokio::time::{Interval, MissedTickBehavior, interval};
use utoipa::IntoParams;

/// Where a stream begins.
#[derive(Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Start {
    /// Begin after the entry of this `seq`; with what is written from now on where left out. `Last-Event-ID` comes
    /// first.
    after: Option<u64>,
}

/// Listen to the ledger
///
/// Server-sent events, as the HTML standard has them: each entry that is written, once and in order, its `id:` the
/// `seq`, its `data:` a `LedgerEntry`. Whoever comes again with `Last-Event-ID` goes on where they were. An event named
/// `due` is what time alone brings: `{"item","verdict","minutes","at","limit_at"}`, that at `at` it was so many minutes
/// until the item has that verdict (0: it has it now); `{"item","unmarked":true,"at"}`, that it lacks the mark its rule
/// asks for; `{"place","lapse","at"}`, that a lapse of that place is proposed, its air being too warm for too long
/// (`air-above`) or its probe silent (`air-silent`). One named `planned` says when an item is meant to be moved next:
/// `{"item","at"}`, `at` being `null` where that was taken back. These have no `id:` and are told once. Comments come every few seconds,
/// so that silence means a broken line. A listener that takes nothing off the line for half a minute is cut off; a shop
/// has at most 1,000 of them.
#[utoipa::path(
    get,
    path = "/s/{site}/api/stream",
    operation_id = "stream",
    tag = "Ledger",
    params(Start, ("Last-Event-ID" = Option<String>, Header, description = "The `seq` of the last entry that arrived.")),
    responses((status = 200, description = "Events, until either side ends it.", body = String,
        content_type = "text/event-stream"))
)]
pub async fn stream(reads: Reads, headers: HeaderMap, Query(q): Query<Start>) -> Result<Response, Problem> {
    let last = match headers.get("last-event-id").map(|v| v.to_str().unwrap_or("?").trim()) {
        None | Some("") => None,
        Some(text) => {
            let seq = text.parse::<u64>().ok();
            Some(seq.ok_or_else(|| Problem::of("bad-query", "`Last-Event-ID` is the number of an entry."))?)
        }
    };
    let listener = Listener::open(reads, last.or(q.after)).await?;
    Ok(told(listener.pieces()))
}

/// That something happened in one of several shops, for a page that shows them all: one line to the server, however
/// many they are. It says so once at the beginning too, for what came while the page was on its way.
pub(in crate::web) async fn several(all: Vec<Reads>) -> Result<Response, Fault> {
    let mut shops = Vec::new();
    for reads in all {
        let said = Listener::open(reads, None).await?.pieces().map(|p| match p.starts_with(b":") {
            true => p,
            false => Bytes::from_static(b"data: {}\n\n"),
        });
        // Where one ends, all do: whoever comes again is told of what they may read by then.
        shops.push(said.map(Some).chain(stream::iter([None])).boxed());
    }
    let all = stream::select_all(shops).take_while(|p| ready(p.is_some()));
    Ok(told(all.filter_map(ready)))
}

fn told(pieces: impl Stream<Item = Bytes> + Send + 'static) -> Response {
    let head = [
        (header::CONTENT_TYPE, "text/event-stream"),
        (header::CACHE_CONTROL, "no-store"),
        (HeaderName::from_static("x-accel-buffering"), "no"),
    ];
    (head, Body::from_stream(pieces.map(Ok::<Bytes, Infallible>))).into_response()
}

/// Somebody who listens. What they haven't read yet is a number: nothing piles up for them.
struct Listener {
    reads: Reads,
    hello: Option<Bytes>,
    /// The last entry they were sent.
    at: u64,
    /// Whether the table is to be read before the ring.
    behind: bool,
    ring: broadcast::Receiver<Piece>,
    beat: Interval,
    stopping: watch::Receiver<bool>,
    _feed: Arc<Feed>,
    _place: OwnedSemaphorePermit,
}

impl Listener {
    /// Listens to a shop after an entry, or from now on.
    async fn open(reads: Reads, after: Option<u64>) -> Result<Listener, Fault> {
        let feed = reads.service().feed(&reads.site);
        // First the feed, then the head: what comes between the two is in both.
        let (ring, place) = feed.listen().ok_or(Fault::Busy)?;
        let mut conn = reads.service().db().reader().await?;
        let head = sql::head(&mut conn, &reads.site).await?.map_or(0, |h| h.0);
        drop(conn);
        let after = after.filter(|at| *at <= head);
        let mut beat = interval(reads.service().beat());
        beat.set_missed_tick_behavior(MissedTickBehavior::Delay);
        beat.reset();
        Ok(Listener {
            // Whoever begins now and is cut off before anything came can go on from here.
            hello: Some(Bytes::from(match after {
                Some(_) => String::from("retry: 2000\n\n"),
                None => format!("retry: 2000\nid: {head}\n\n"),
            })),
            at: after.unwrap_or(head),
            behind: after.is_some_and(|at| at < head),
            stopping: reads.service().stopping(),
            reads,
            ring,
            beat,
            _feed: feed,
            _place: place,
        })
    }

    fn pieces(self) -> impl Stream<Item = Bytes> + Send {
        stream::unfold(self, |mut l| async { l.next().await.map(|b| (b, l)) })
    }

    /// The next piece; none at the end.
    async fn next(&mut self) -> Option<Bytes> {
        if let Some(hello) = self.hello.take() {
            return Some(hello);
        }
        loop {
            if *self.stopping.borrow_and_update() {
                return None;
            }
            if self.behind {
                match self.page().await {
                    Ok(Some(page)) => return Some(page),
                    Ok(None) => self.behind = false,
                    // They come again, and say how far they were.
                    Err(_) => return None,
                }
            }
            tokio::select! {
                _ = self.stopping.changed() => return None,
                piece = self.ring.recv() => match piece {
                    Ok(p) if p.seq == 0 => return Some(p.bytes),
                    Ok(p) if p.seq <= self.at => {}
                    Ok(p) if p.seq == self.at + 1 => {
                        self.at = p.seq;
                        return Some(p.bytes);
                    }
                    Ok(_) | Err(RecvError::Lagged(_)) => self.behind = true,
                    Err(RecvError::Closed) => return None,
                },
                _ = self.beat.tick() => {
                    return if self.reads.still().await { Some(Bytes::from_static(b":\n\n")) } else { None };
                }
            }
        }
    }

    /// What the table has after the last that was sent.
    async fn page(&mut self) -> Result<Option<Bytes>, Fault> {
        let mut conn = self.reads.service().db().reader().await?;
        let lines = sql::tail(&mut conn, &self.reads.site, self.at, PAGE).await?;
        let Some((last, _)) = lines.last() else { return Ok(None) };
        self.at = *last;
        Ok(Some(lines.iter().map(|(seq, line)| feed::entry(*seq, line)).collect::<String>().into()))
    }
}
