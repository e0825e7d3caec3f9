//! `record.jsonl`, `record.csv` and `record.pdf`: a stretch of local dates, both included; a slice at a time, so that any
//! length of it takes the same memory.

use super::Query;
use crate::record::csv::{self, Around};
use crate::web::auth::Reads;
use crate::web::error::Problem;
use crate::web::pages::record::paper;
use crate::web::records::{Asks, Opened, SLICE};
use crate::web::service::Fault;
use axum::body::{Body, Bytes};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use futures_util::{StreamExt, stream};
use serde::Deserialize;
use std::io;
use tokio::sync::{Semaphore, SemaphorePermit, mpsc};
use utoipa::IntoParams;

/// Copies on their way, whoever waits for them.
static PLACES: Semaphore = Semaphore::const_new(64);
/// Slices of them made at once. None is held while somebody reads slowly.
static HANDS: Semaphore = Semaphore::const_new(4);
/// Entries of JSON Lines read at once.
const LINES: usize = 512;

/// Which dates, and which items of them.
#[derive(Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Which {
    /// The first date, in the shop's zone, like `2026-05-02`; today where left out, or with `item` or `made_from` the
    /// day that began.
    #[param(format = Date)]
    from: Option<String>,
    /// The last date, included; today where left out.
    #[param(format = Date)]
    to: Option<String>,
    /// Only items of this product.
    product: Option<String>,
    /// Only items that were said to be in this place at any time.
    place: Option<String>,
    /// Only this item.
    item: Option<String>,
    /// Only this item and whatever was made from it, to any depth.
    made_from: Option<String>,
}

impl Which {
    /// A form leaves a date empty, a program leaves it out.
    fn asks(self) -> Result<Asks, Problem> {
        let Which { from, to, product, place, item, made_from } = self;
        if [&from, &to].into_iter().flatten().any(|date| date.is_empty()) {
            return Err(Problem::of("bad-query", "A date is like 2026-05-02, or left out."));
        }
        Ok(Asks { from, to, product, place, item, made_from })
    }
}

/// Which of the record's two tables.
#[derive(Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Of {
    /// `items`: a line a spell. `cold`: the readings of each place's air, its lapses, and stretches without a reading.
    /// `clock`: when servers were started and stopped, and jumps of their clocks, which no entry says.
    #[param(inline)]
    #[serde(default)]
    table: Table,
}

/// A table of the record.
#[derive(Deserialize, Default, utoipa::ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Table {
    /// The items'.
    #[default]
    Items,
    /// The cold's.
    Cold,
    /// The servers' clocks.
    Clock,
}

/// On what.
#[derive(Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct On {
    /// `a4` or `letter`; `a4` where left out.
    size: Option<String>,
}

/// Where a copy's pieces go; whoever asked may have gone.
struct Pipe(mpsc::Sender<Result<Bytes, Fault>>);

async fn hand() -> Result<SemaphorePermit<'static>, Fault> {
    HANDS.acquire().await.map_err(|_| Fault::Busy)
}

impl Pipe {
    async fn send(&self, bytes: Vec<u8>) -> bool {
        bytes.is_empty() || self.0.send(Ok(bytes.into())).await.is_ok()
    }
}

/// An answer made piece by piece. What fails at first is a problem; what fails later breaks the answer off.
async fn streamed<W: Future<Output = Result<(), Fault>> + Send + 'static>(
    kind: &'static str,
    name: &str,
    work: impl FnOnce(Pipe) -> W,
) -> Result<Response, Problem> {
    let place = PLACES.try_acquire().map_err(|_| Fault::Busy)?;
    let (send, mut pieces) = mpsc::channel(2);
    let work = work(Pipe(send.clone()));
    tokio::spawn(async move {
        let _kept = place;
        if let Err(fault) = work.await {
            tracing::warn!(?fault, "a copy of the record broke off");
            _ = send.send(Err(fault)).await;
        }
    });
    let first = match pieces.recv().await {
        Some(Err(fault)) => return Err(fault.into()),
        Some(Ok(bytes)) => Some(bytes),
        None => None,
    };
    let body = stream::unfold((first, pieces), |(first, mut pieces)| async move {
        let piece = match first {
            Some(bytes) => Ok(bytes),
            None => pieces.recv().await?.map_err(|_| io::Error::other("the copy broke off")),
        };
        Some((piece, (None, pieces)))
    });
    // What packs it asks once more after the end.
    let body = body.fuse();
    let disposition = format!("attachment; filename=\"{name}\"");
    let head = [(header::CONTENT_TYPE, kind.to_owned()), (header::CONTENT_DISPOSITION, disposition)];
    Ok((head, Body::from_stream(body)).into_response())
}

/// The record as JSON Lines
///
/// Whole ledger entries, one a line: those of the items that were there in the stretch, and all that
/// `counterclock evaluate` needs to work out their standings.
#[utoipa::path(
    get,
    path = "/s/{site}/api/record.jsonl",
    operation_id = "read_record_jsonl",
    tag = "Record",
    params(Which),
    responses((status = 200, description = "A `LedgerEntry` a line.", body = String,
        content_type = "application/jsonl"))
)]
pub async fn jsonl(reads: Reads, Query(q): Query<Which>) -> Result<Response, Problem> {
    let opened = reads.record(&q.asks()?).await?;
    streamed("application/jsonl; charset=utf-8", "record.jsonl", |pipe| async move {
        let first = hand().await?;
        let numbers = opened.numbers().await?;
        drop(first);
        for some in numbers.chunks(LINES) {
            let hand = hand().await?;
            let mut text = opened.lines(some).await?.join("\n");
            text.push('\n');
            drop(hand);
            if !pipe.send(text.into_bytes()).await {
                break;
            }
        }
        Ok(())
    })
    .await
}

/// The record as CSV
///
/// RFC 4180, a line a spell; inherited time on lines of its own that name the parent. With `table=cold` the readings
/// and lapses of the places.
#[utoipa::path(
    get,
    path = "/s/{site}/api/record.csv",
    operation_id = "read_record_csv",
    tag = "Record",
    params(Which, Of),
    responses((status = 200, description = "A header, then a line a spell.", body = String, content_type = "text/csv"))
)]
pub async fn csv(reads: Reads, Query(q): Query<Which>, Query(of): Query<Of>) -> Result<Response, Problem> {
    let opened = reads.record(&q.asks()?).await?;
    let kind = "text/csv; charset=utf-8";
    match of.table {
        Table::Items => streamed(kind, "record.csv", |pipe| items(opened, pipe)).await,
        Table::Cold => streamed(kind, "record-cold.csv", |pipe| cold(opened, pipe)).await,
        Table::Clock => streamed(kind, "record-clock.csv", |pipe| clock(opened, pipe)).await,
    }
}

fn written(rows: Vec<Vec<String>>) -> Result<Vec<u8>, Fault> {
    csv::written(rows).map_err(|e| {
        tracing::error!(error = %e, "the record could not be written");
        Fault::NotRecorded
    })
}

fn header(columns: &[&str]) -> Result<Vec<u8>, Fault> {
    written(vec![columns.iter().map(|c| (*c).to_owned()).collect()])
}

fn around<'a>(opened: &'a Opened, hash: &'a (dyn Fn(u64) -> String + Sync)) -> Around<'a> {
    Around { site: &opened.site, zone: opened.zone, now: opened.now, names: &opened.names, hash }
}

async fn items(opened: Opened, pipe: Pipe) -> Result<(), Fault> {
    if !pipe.send(header(&csv::COLUMNS)?).await {
        return Ok(());
    }
    for some in opened.slices(SLICE) {
        let hand = hand().await?;
        let slice = opened.slice(some).await?;
        let (of, some) = (opened.clone(), some.to_vec());
        let rows = move || {
            let hash = |seq| slice.hash(seq);
            let around = around(&of, &hash);
            written(of.accounts(&slice, &some).iter().flat_map(|a| around.item(a)).collect())
        };
        // Where it keeps nobody else waiting.
        let bytes = tokio::task::spawn_blocking(rows).await.map_err(|_| Fault::NotRecorded)??;
        drop(hand);
        if !pipe.send(bytes).await {
            break;
        }
    }
    Ok(())
}

async fn cold(opened: Opened, pipe: Pipe) -> Result<(), Fault> {
    if !pipe.send(header(&csv::COLD)?).await {
        return Ok(());
    }
    let mut walk = opened.cold();
    loop {
        let hand = hand().await?;
        let Some((rows, slice)) = walk.next().await? else { break };
        let hash = |seq| slice.hash(seq);
        let bytes = written(rows.iter().map(|r| around(&opened, &hash).cold(r)).collect())?;
        drop(hand);
        if !pipe.send(bytes).await {
            break;
        }
    }
    Ok(())
}

async fn clock(opened: Opened, pipe: Pipe) -> Result<(), Fault> {
    let none = |_| String::new();
    let around = around(&opened, &none);
    let rows = opened.clocks.iter().map(|(at, what, ms)| around.clock(*at, what.word(), *ms));
    let rows = std::iter::once(csv::CLOCK.map(str::to_owned).to_vec()).chain(rows);
    pipe.send(written(rows.collect())?).await;
    Ok(())
}

/// The record as PDF
///
/// A4 or Letter, as many pages as it takes; up to some thousand items. What is longer is refused with a sentence.
#[utoipa::path(
    get,
    path = "/s/{site}/api/record.pdf",
    operation_id = "read_record_pdf",
    tag = "Record",
    params(Which, On),
    responses((status = 200, description = "A tagged PDF.", body = Vec<u8>, content_type = "application/pdf"))
)]
pub async fn pdf(reads: Reads, Query(q): Query<Which>, Query(on): Query<On>) -> Result<Response, Problem> {
    paper::pdf(&reads, &q.asks()?, on.size.as_deref()).await
}
