//! The writer: one task a site gathers the requests that wait, decides each against the ledger as it stands,
//! commits once, then answers all. One fsync serves many taps, and the chain stays in order.

use super::effects::{evict, item_row};
use super::ledger::{self as sql, Row};
use super::{Conn, Db, StoreError, load};
use crate::clock::{Clock, HOUR_MS, Instant, MINUTE_MS, Zone};
use crate::ledger::{Entry, Id, Meta, Parsed, Refusal, State};
use crate::notice::{compose, sql as notices};
use std::collections::{BTreeSet, HashMap};
use std::sync::{Arc, RwLock};
use tokio::sync::{mpsc, oneshot, watch};

/// Requests that may wait at a site; one more is told `busy`.
const QUEUE: usize = 1_024;
/// Entries a batch gathers.
const BATCH: usize = 256;
/// What SQLite says where the disk is full (SQLITE_FULL).
const FULL: &str = "13";
/// How long idempotency keys are kept.
pub const KEYS_MS: i64 = 7 * 24 * HOUR_MS;
/// What lies further back may concern closed items that are no longer in memory.
pub(super) const NEAR_MS: i64 = 30 * MINUTE_MS;
/// Closed items stay in memory this long at least.
pub(super) const KEEP_MS: i64 = HOUR_MS;

/// A request to write.
pub struct Job {
    /// What is asked.
    pub asked: Asked,
    /// Where the answer goes; nobody may be waiting any more.
    pub reply: oneshot::Sender<Result<Done, Fail>>,
}

/// What a request asks to be written, and for whom.
pub struct Asked {
    /// The entries.
    pub entries: Vec<Parsed>,
    /// `by`, `by_how`, `device`.
    pub actor: Meta,
    /// Whether a manager asks.
    pub manager: bool,
    /// Whether a probe asks: nobody looked at what it says.
    pub probe: bool,
    /// The idempotency key and the hash of the request it came with.
    pub key: Option<(String, String)>,
}

/// What a job led to.
#[derive(Clone)]
pub struct Done {
    /// The entries asked for, in order; none where an idempotency key brought an earlier answer back.
    pub entries: Vec<Arc<Entry>>,
    /// The answer as JSON.
    pub answer: String,
    /// The server's now.
    pub now: Instant,
}

/// Why a job led to nothing.
#[derive(Clone, Debug)]
pub enum Fail {
    /// Refused; nothing was written.
    Refused(Refusal),
    /// The key came with another request before.
    KeyReused,
    /// A statement failed; nothing was written.
    NotRecorded,
    /// The answer to COMMIT was lost.
    UnknownOutcome,
}

/// The ledger of a site as last published, for readers.
#[derive(Clone)]
pub struct Published {
    /// The ledger.
    pub state: State,
    /// The hash of its last entry.
    pub hash: String,
    /// For each item, the `seq` of the last entry that may have changed its standing; for all, the least of them.
    pub changed: imbl::HashMap<Id, u64>,
    /// The last entry that may have changed every standing.
    pub all_changed: u64,
}

/// A site's handle.
#[derive(Clone)]
pub struct Shop {
    /// Its id.
    pub site: Arc<str>,
    published: Arc<RwLock<Arc<Published>>>,
    queue: mpsc::Sender<Msg>,
    head: watch::Receiver<u64>,
}

enum Msg {
    Write(Box<Job>),
    Refresh(oneshot::Sender<()>),
}

impl Shop {
    /// Loads a site's ledger and starts its writer. The task ends when the last handle is gone.
    pub async fn start(
        db: Db,
        site: &str,
        clock: Clock,
    ) -> Result<Option<(Shop, tokio::task::JoinHandle<()>)>, StoreError> {
        let mut conn = db.reader().await?;
        let Some(published) = publish(&mut conn, site, clock.now()).await? else { return Ok(None) };
        let (queue, inbox) = mpsc::channel(QUEUE);
        let published = Arc::new(RwLock::new(Arc::new(published)));
        let (told, head) = watch::channel(0);
        let shop = Shop { site: site.into(), published: published.clone(), queue, head };
        let writer = Writer { db, site: site.into(), clock, published, stale: false, batches: 0, told };
        Ok(Some((shop, tokio::spawn(writer.run(inbox)))))
    }

    /// The ledger as last published.
    pub fn now(&self) -> Arc<Published> {
        self.published.read().unwrap_or_else(|e| e.into_inner()).clone()
    }

    /// Wakes whoever waits for something new in the ledger.
    pub fn woken(&self) -> watch::Receiver<u64> {
        self.head.clone()
    }

    /// Hands a request to the writer; `false` if too many wait.
    pub fn write(&self, job: Job) -> bool {
        self.queue.try_send(Msg::Write(Box::new(job))).is_ok()
    }

    /// How many requests wait.
    pub fn waiting(&self) -> usize {
        QUEUE.saturating_sub(self.queue.capacity())
    }

    /// Reads what other servers wrote.
    pub async fn refresh(&self) {
        let (tell, told) = oneshot::channel();
        if self.queue.send(Msg::Refresh(tell)).await.is_ok() {
            _ = told.await;
        }
    }
}

async fn publish(conn: &mut Conn, site: &str, now: Instant) -> Result<Option<Published>, StoreError> {
    conn.begin_read().await?;
    let found = sql::head(conn, site).await?;
    let Some((head, hash)) = found else {
        conn.rollback().await?;
        return Ok(None);
    };
    let mut state = load::shop(conn, site, now.plus(-NEAR_MS)).await?;
    state.head = head;
    if state.recorded_at.is_none()
        && let Some((seq, line)) = sql::tail(conn, site, head.saturating_sub(1), 1).await?.pop()
    {
        state.recorded_at = load::entry(site, seq, &line)?.meta.recorded_at;
    }
    conn.commit().await?;
    Ok(Some(Published { state, hash, changed: imbl::HashMap::new(), all_changed: head }))
}

pub(super) struct Writer {
    db: Db,
    pub site: Arc<str>,
    pub clock: Clock,
    pub published: Arc<RwLock<Arc<Published>>>,
    /// The cache may not be what the database holds.
    pub stale: bool,
    batches: u64,
    told: watch::Sender<u64>,
}

/// For the test of what a writer that panics leads to: it does at a note that `COUNTERCLOCK_TEST_PANIC` says.
#[cfg(debug_assertions)]
fn panic_if_asked(asked: &[Asked]) {
    let word = std::env::var("COUNTERCLOCK_TEST_PANIC").unwrap_or_default();
    let mut notes = asked.iter().flat_map(|a| &a.entries).filter_map(|e| e.note.as_deref());
    assert!(word.is_empty() || notes.all(|note| note != word), "asked to panic");
}

type Waiting = (oneshot::Sender<Result<Done, Fail>>, Result<Done, Fail>);

/// What a batch has gathered to write.
pub(super) struct Batch {
    pub state: State,
    pub hash: String,
    pub rows: Vec<Row>,
    pub made_from: BTreeSet<(Id, Id)>,
    /// Items whose row is to be written anew.
    pub dirty: BTreeSet<Id>,
    /// Items whose standing may have changed.
    pub changed: BTreeSet<Id>,
    pub all_changed: bool,
    pub answers: Vec<(String, String, String, String)>,
    pub by_key: HashMap<(String, String), (String, Done)>,
}

impl Writer {
    async fn run(mut self, mut inbox: mpsc::Receiver<Msg>) {
        while let Some(first) = inbox.recv().await {
            let (mut replies, mut asked, mut refreshed, mut entries) = (Vec::new(), Vec::new(), Vec::new(), 0);
            let mut next = Some(first);
            while let Some(msg) = next {
                match msg {
                    Msg::Write(job) => {
                        entries += job.asked.entries.iter().map(|p| p.bodies.len()).sum::<usize>();
                        replies.push(job.reply);
                        asked.push(job.asked);
                    }
                    Msg::Refresh(tell) => refreshed.push(tell),
                }
                next = if entries < BATCH { inbox.try_recv().ok() } else { None };
            }
            metrics::histogram!("counterclock_batch_requests").record(asked.len() as f64);
            #[cfg(debug_assertions)]
            panic_if_asked(&asked);
            let outcome = self.batch(asked).await;
            let waiting: Vec<Waiting> = match outcome {
                Ok(done) => replies.into_iter().zip(done).collect(),
                Err(fail) => {
                    self.stale = true;
                    replies.into_iter().map(|r| (r, Err(fail.clone()))).collect()
                }
            };
            for (reply, result) in waiting {
                if let Err(Fail::Refused(r)) = &result {
                    metrics::counter!("counterclock_refusals_total", "code" => r.code.code).increment(1);
                }
                // Whoever asked may have gone; what was written stays written.
                _ = reply.send(result);
            }
            refreshed.into_iter().for_each(|tell| _ = tell.send(()));
        }
    }

    async fn batch(&mut self, jobs: Vec<Asked>) -> Result<Vec<Result<Done, Fail>>, Fail> {
        let failed = |what: &'static str| {
            move |e: StoreError| {
                tracing::error!(error = %e, "{what}; nothing of this batch was recorded");
                Fail::NotRecorded
            }
        };
        let mut conn = self.db.writer().await.map_err(failed("no connection to write with"))?;
        conn.begin().await.map_err(failed("no transaction could begin"))?;
        let result = self.decide_all(&mut conn, jobs).await;
        let (mut batch, done) = match result {
            Ok(ok) => ok,
            Err(e) => {
                _ = conn.rollback().await;
                return Err(failed("the ledger could not be read")(e));
            }
        };
        // A repeated reading writes nothing, but its key is kept.
        if !batch.rows.is_empty() || !batch.answers.is_empty() {
            if let Err(e) = self.store(&mut conn, &mut batch).await {
                _ = conn.rollback().await;
                return Err(failed("a statement failed")(e.into()));
            }
            let begun = tokio::time::Instant::now();
            let committed = conn.commit().await;
            metrics::histogram!("counterclock_commit_seconds").record(begun.elapsed().as_secs_f64());
            if let Err(e) = committed {
                // A database that answers with an error says that it didn't commit; no answer says nothing.
                let full = e.as_database_error().and_then(|d| d.code()).is_some_and(|code| code == FULL);
                let undone = conn.rollback().await.is_ok();
                // SQLite itself has undone what a full disk didn't take.
                let told = full || matches!(e, sqlx::Error::Database(_)) && undone;
                tracing::error!(error = %e, told, "the commit failed");
                return Err(if told { Fail::NotRecorded } else { Fail::UnknownOutcome });
            }
        } else if conn.rollback().await.is_err() {
            return Err(Fail::NotRecorded);
        }
        drop(conn);
        for row in &batch.rows {
            metrics::counter!("counterclock_entries_total", "kind" => row.kind).increment(1);
        }
        self.publish(batch);
        Ok(done)
    }

    async fn store(&self, conn: &mut Conn, batch: &mut Batch) -> Result<(), sqlx::Error> {
        let site = &self.site;
        sql::append(conn, site, &batch.rows, &batch.hash).await?;
        for (parent, child) in &batch.made_from {
            sql::put_made_from(conn, site, parent.as_str(), child.as_str()).await?;
        }
        let dirty: Vec<Id> = batch.dirty.iter().cloned().collect();
        let mut state = batch.state.clone();
        load::items(conn, site, &mut state, &dirty).await.map_err(|e| match e {
            StoreError::Sql(e) => e,
            other => sqlx::Error::Protocol(other.to_string()),
        })?;
        for id in &dirty {
            if let Some(row) = item_row(&state, id) {
                sql::put_item(conn, site, &row).await?;
            }
        }
        let now = self.clock.now();
        self.tell(conn, batch, now).await?;
        for (actor, key, body, answer) in &batch.answers {
            sql::put_answer(conn, site, (actor, key, body), answer, now).await?;
        }
        if self.batches.is_multiple_of(4_096) {
            sql::drop_answers(conn, now.plus(-KEYS_MS)).await?;
        }
        Ok(())
    }

    /// Whoever is told of a failed fridge is told with the entry, in the same transaction.
    async fn tell(&self, conn: &mut Conn, batch: &Batch, now: Instant) -> Result<(), sqlx::Error> {
        let failed = |e: StoreError| match e {
            StoreError::Sql(e) => e,
            other => sqlx::Error::Protocol(other.to_string()),
        };
        let lapses: Vec<&Row> = batch.rows.iter().filter(|r| r.kind == "lapse").collect();
        if lapses.is_empty() {
            return Ok(());
        }
        let targets = notices::targets(conn, &self.site).await.map_err(failed)?;
        let zone = batch.state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
        for row in lapses {
            let entry = load::entry(&self.site, row.seq as u64, &row.line).map_err(failed)?;
            let compose = || compose::lapse(&batch.state, &self.site, &entry, now);
            notices::tell(conn, &self.site, &targets, (zone, now), compose).await.map_err(failed)?;
        }
        Ok(())
    }

    fn publish(&mut self, batch: Batch) {
        self.batches += 1;
        let mut slot = self.published.write().unwrap_or_else(|e| e.into_inner());
        let old = &**slot;
        let mut new = Published {
            state: batch.state,
            hash: batch.hash,
            changed: old.changed.clone(),
            all_changed: old.all_changed,
        };
        let head = new.state.head;
        for id in batch.changed {
            new.changed.insert(id, head);
        }
        if batch.all_changed {
            new.all_changed = head;
            new.changed.clear();
        }
        if self.batches.is_multiple_of(256) {
            evict(&mut new, self.clock.now());
        }
        *slot = Arc::new(new);
        drop(slot);
        self.told.send_replace(head);
    }
}
