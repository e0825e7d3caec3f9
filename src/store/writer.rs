//! The writer: one task a site gathers the requests that wait, decides each against the ledger as it stands,
//! commits once, then answers all. One fsync serves many taps, and the chain stays in order.

use super::ledger::{self as sql, ItemRow, Row};
use super::{Conn, Db, StoreError, load};
use crate::answer;
use crate::clock::{Clock, HOUR_MS, Instant, MINUTE_MS, Zone};
use crate::exposure::Fold;
use crate::ledger::{self, About, Body, Draft, Entry, Id, Meta, Parsed, Refusal, Request, State, chain};
use crate::rules;
use std::collections::{BTreeSet, HashMap, HashSet};
use std::sync::{Arc, RwLock};
use tokio::sync::{mpsc, oneshot};

/// Requests that may wait at a site; one more is told `busy`.
const QUEUE: usize = 1_024;
/// Entries a batch gathers.
const BATCH: usize = 256;
/// How long idempotency keys are kept.
const KEYS_MS: i64 = 7 * 24 * HOUR_MS;
/// What lies further back may concern closed items that are no longer in memory.
const NEAR_MS: i64 = 30 * MINUTE_MS;
/// Closed items stay in memory this long at least.
const KEEP_MS: i64 = HOUR_MS;

/// A request to write.
pub struct Job {
    /// The entries.
    pub entries: Vec<Parsed>,
    /// `by`, `by_how`, `device`.
    pub actor: Meta,
    /// Whether a manager asks.
    pub manager: bool,
    /// The idempotency key and the hash of the request it came with.
    pub key: Option<(String, String)>,
    /// Where the answer goes; nobody may be waiting any more.
    pub reply: oneshot::Sender<Result<Done, Fail>>,
}

/// What a job led to.
#[derive(Clone)]
pub struct Done {
    /// The entries asked for, in order; none where an idempotency key brought an earlier answer back.
    pub entries: Vec<Arc<Entry>>,
    /// The answer as JSON.
    pub answer: String,
    /// The ledger after.
    pub state: State,
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
        let Some(published) = publish(&mut conn, site).await? else { return Ok(None) };
        let (queue, inbox) = mpsc::channel(QUEUE);
        let published = Arc::new(RwLock::new(Arc::new(published)));
        let shop = Shop { site: site.into(), published: published.clone(), queue };
        let writer = Writer { db, site: site.into(), clock, published, stale: false, batches: 0 };
        Ok(Some((shop, tokio::spawn(writer.run(inbox)))))
    }

    /// The ledger as last published.
    pub fn now(&self) -> Arc<Published> {
        self.published.read().unwrap_or_else(|e| e.into_inner()).clone()
    }

    /// Hands a request to the writer; `false` if too many wait.
    pub fn write(&self, job: Job) -> bool {
        self.queue.try_send(Msg::Write(Box::new(job))).is_ok()
    }

    /// Reads what other servers wrote.
    pub async fn refresh(&self) {
        let (tell, told) = oneshot::channel();
        if self.queue.send(Msg::Refresh(tell)).await.is_ok() {
            _ = told.await;
        }
    }
}

async fn publish(conn: &mut Conn, site: &str) -> Result<Option<Published>, StoreError> {
    conn.begin_read().await?;
    let found = sql::head(conn, site).await?;
    let Some((head, hash)) = found else {
        conn.rollback().await?;
        return Ok(None);
    };
    let mut state = load::shop(conn, site).await?;
    state.head = head;
    if state.recorded_at.is_none()
        && let Some((seq, line)) = sql::tail(conn, site, head.saturating_sub(1), 1).await?.pop()
    {
        state.recorded_at = load::entry(site, seq, &line)?.meta.recorded_at;
    }
    conn.commit().await?;
    Ok(Some(Published { state, hash, changed: imbl::HashMap::new(), all_changed: head }))
}

struct Writer {
    db: Db,
    site: Arc<str>,
    clock: Clock,
    published: Arc<RwLock<Arc<Published>>>,
    /// The cache may not be what the database holds.
    stale: bool,
    batches: u64,
}

type Waiting = (oneshot::Sender<Result<Done, Fail>>, Result<Done, Fail>);

/// What a batch has gathered to write.
struct Batch {
    state: State,
    hash: String,
    rows: Vec<Row>,
    made_from: BTreeSet<(Id, Id)>,
    /// Items whose row is to be written anew.
    dirty: BTreeSet<Id>,
    /// Items whose standing may have changed.
    changed: BTreeSet<Id>,
    all_changed: bool,
    answers: Vec<(String, String, String, String)>,
    by_key: HashMap<(String, String), (String, Done)>,
}

impl Writer {
    async fn run(mut self, mut inbox: mpsc::Receiver<Msg>) {
        while let Some(first) = inbox.recv().await {
            let (mut jobs, mut refreshed, mut entries) = (Vec::new(), Vec::new(), 0);
            let mut next = Some(first);
            while let Some(msg) = next {
                match msg {
                    Msg::Write(job) => {
                        entries += job.entries.iter().map(|p| p.bodies.len()).sum::<usize>();
                        jobs.push(*job);
                    }
                    Msg::Refresh(tell) => refreshed.push(tell),
                }
                next = if entries < BATCH { inbox.try_recv().ok() } else { None };
            }
            let mut replies: Vec<oneshot::Sender<_>> = Vec::new();
            let mut asked = Vec::new();
            for job in jobs {
                let Job { entries, actor, manager, key, reply } = job;
                replies.push(reply);
                asked.push((entries, actor, manager, key));
            }
            let count = replies.len();
            let outcome = self.batch(asked, count).await;
            let waiting: Vec<Waiting> = match outcome {
                Ok(done) => replies.into_iter().zip(done).collect(),
                Err(fail) => {
                    self.stale = true;
                    replies.into_iter().map(|r| (r, Err(fail.clone()))).collect()
                }
            };
            for (reply, result) in waiting {
                // Whoever asked may have gone; what was written stays written.
                _ = reply.send(result);
            }
            refreshed.into_iter().for_each(|tell| _ = tell.send(()));
        }
    }

    async fn batch(
        &mut self,
        jobs: Vec<(Vec<Parsed>, Meta, bool, Option<(String, String)>)>,
        count: usize,
    ) -> Result<Vec<Result<Done, Fail>>, Fail> {
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
        debug_assert_eq!(done.len(), count);
        if !batch.rows.is_empty() {
            if let Err(e) = self.store(&mut conn, &mut batch).await {
                _ = conn.rollback().await;
                return Err(failed("a statement failed")(e.into()));
            }
            if let Err(e) = conn.commit().await {
                // A database that answers with an error says that it didn't commit; no answer says nothing.
                let told = matches!(e, sqlx::Error::Database(_)) && conn.rollback().await.is_ok();
                tracing::error!(error = %e, told, "the commit failed");
                return Err(if told { Fail::NotRecorded } else { Fail::UnknownOutcome });
            }
        } else if conn.rollback().await.is_err() {
            return Err(Fail::NotRecorded);
        }
        drop(conn);
        self.publish(batch);
        Ok(done)
    }

    async fn decide_all(
        &mut self,
        conn: &mut Conn,
        jobs: Vec<(Vec<Parsed>, Meta, bool, Option<(String, String)>)>,
    ) -> Result<(Batch, Vec<Result<Done, Fail>>), StoreError> {
        let site = self.site.clone();
        let (head, hash) =
            sql::lock(conn, &site).await?.ok_or_else(|| StoreError::Open(String::from("the site is gone")))?;
        let known = self.published.read().unwrap_or_else(|e| e.into_inner()).clone();
        let mut batch = Batch {
            state: known.state.clone(),
            hash,
            rows: Vec::new(),
            made_from: BTreeSet::new(),
            dirty: BTreeSet::new(),
            changed: BTreeSet::new(),
            all_changed: false,
            answers: Vec::new(),
            by_key: HashMap::new(),
        };
        if self.stale || batch.state.head > head || (batch.state.head == head && known.hash != batch.hash) {
            batch.state = load::shop(conn, &site).await?;
            batch.state.head = head;
            batch.all_changed = true;
            self.stale = false;
        } else if batch.state.head < head {
            self.catch_up(conn, &mut batch, head).await?;
        }
        let mut done = Vec::with_capacity(jobs.len());
        for (entries, actor, manager, key) in jobs {
            done.push(self.decide(conn, &mut batch, entries, actor, manager, key).await?);
        }
        Ok((batch, done))
    }

    /// Reads what another server wrote to the same ledger.
    async fn catch_up(&self, conn: &mut Conn, batch: &mut Batch, head: u64) -> Result<(), StoreError> {
        let mut after = batch.state.head;
        let mut lines = load::Lines::new();
        let mut touched = Vec::new();
        while after < head {
            let more = sql::tail(conn, &self.site, after, 1_000).await?;
            let Some((last, _)) = more.last() else { break };
            after = *last;
            lines.extend(more);
        }
        for (seq, line) in &lines {
            let e = load::entry(&self.site, *seq, line)?;
            touched.extend(e.item().cloned());
            touched.extend_from_slice(e.parents());
            if let Body::Correct { entry, .. } = e.body {
                touched.extend(
                    load::target(conn, &self.site, &mut batch.state, entry).await?.and_then(|t| t.item().cloned()),
                );
            }
        }
        load::items(conn, &self.site, &mut batch.state, &touched).await?;
        // Corrections need their originals among the lines.
        let targets: Vec<u64> = lines.values().filter_map(|l| target_of(l)).collect();
        for seq in targets {
            lines.extend(sql::tail(conn, &self.site, seq - 1, 1).await?);
        }
        load::put(&self.site, &mut batch.state, &lines)?;
        batch.state.head = head;
        batch.all_changed = true;
        Ok(())
    }

    async fn decide(
        &mut self,
        conn: &mut Conn,
        batch: &mut Batch,
        entries: Vec<Parsed>,
        actor: Meta,
        manager: bool,
        key: Option<(String, String)>,
    ) -> Result<Result<Done, Fail>, StoreError> {
        let now = self.clock.now();
        let who = actor.by.as_ref().map_or(String::new(), |b| b.as_str().to_owned());
        if let Some((key, body)) = &key {
            let again = |was: &str, done: Done| if was == body { Ok(done) } else { Err(Fail::KeyReused) };
            if let Some((was, done)) = batch.by_key.get(&(who.clone(), key.clone())) {
                return Ok(again(was, done.clone()));
            }
            if let Some((was, answer)) = sql::answer(conn, &self.site, &who, key, now.plus(-KEYS_MS)).await? {
                let done = Done { entries: Vec::new(), answer, state: batch.state.clone(), now };
                return Ok(again(&was, done));
            }
        }
        let targets = self.bring(conn, batch, &entries, now).await?;
        let request = Request { entries, now, actor, manager, targets };
        let draft = match ledger::accept(&batch.state, request) {
            Ok(draft) => draft,
            Err(refusal) => return Ok(Err(Fail::Refused(refusal))),
        };
        let asked: HashSet<u64> = draft.asked.iter().copied().collect();
        let mut lines = Vec::new();
        let mut mine = Vec::new();
        for e in &draft.written {
            let (line, hash) = chain::seal(&batch.hash, e);
            batch.hash = hash;
            if asked.contains(&e.meta.seq) {
                lines.push(line.clone());
                mine.push(e.clone());
            }
            batch.rows.push(row(&draft.targets, e, line));
        }
        self.note_changes(conn, batch, &draft, now).await?;
        batch.state = draft.state;
        let standings = answer::standings(&batch.state, &mine, &draft.targets, now);
        let done = Done { entries: mine, answer: answer::render(&lines, &standings), state: batch.state.clone(), now };
        if let Some((key, body)) = key {
            batch.answers.push((who.clone(), key.clone(), body.clone(), done.answer.clone()));
            batch.by_key.insert((who, key), (body, done.clone()));
        }
        Ok(Ok(done))
    }

    /// Brings into memory all that deciding these entries may ask about.
    async fn bring(
        &self,
        conn: &mut Conn,
        batch: &mut Batch,
        entries: &[Parsed],
        now: Instant,
    ) -> Result<HashMap<u64, Arc<Entry>>, StoreError> {
        let site = &self.site;
        let mut targets = HashMap::new();
        for parsed in entries {
            let late = parsed.at.is_some_and(|at| at < now.plus(-NEAR_MS));
            for body in &parsed.bodies {
                let about = Entry { at: now, note: None, body: body.clone(), meta: Meta::default() };
                let mut named: Vec<Id> = about.item().cloned().into_iter().collect();
                named.extend_from_slice(about.parents());
                let seq = match body {
                    Body::Correct { entry, .. } => Some(*entry),
                    Body::Decide { about: About::Seq(seq), .. } => Some(*seq),
                    Body::Decide { about: About::Id(id), .. } => {
                        named.push(id.clone());
                        None
                    }
                    _ => None,
                };
                load::items(conn, site, &mut batch.state, &named).await?;
                if let Some(item) = about.item().filter(|_| late) {
                    load::descendants(conn, site, &mut batch.state, item).await?;
                }
                let Some(seq) = seq else { continue };
                let mut found = load::target(conn, site, &mut batch.state, seq).await?;
                if let Some(row) = batch.rows.iter().find(|r| r.seq == seq as i64) {
                    // Written by this very batch.
                    found = Some(Arc::new(load::entry(site, seq, &row.line)?));
                }
                if let Some(target) = found {
                    if let (Body::Correct { .. }, Some(item)) = (body, target.item()) {
                        load::descendants(conn, site, &mut batch.state, item).await?;
                    } else if matches!(body, Body::Correct { .. }) && target.air_of().is_none() && is_setup(&target) {
                        // The set-up concerns every item there ever was.
                        let all = sql::all_items(conn, site).await?;
                        let all: Vec<Id> = all.iter().filter_map(|s| Id::new(s)).collect();
                        load::items(conn, site, &mut batch.state, &all).await?;
                    }
                    targets.insert(seq, target);
                }
            }
        }
        Ok(targets)
    }

    /// Notes which rows and standings the entries may have changed.
    async fn note_changes(
        &self,
        conn: &mut Conn,
        batch: &mut Batch,
        draft: &Draft,
        now: Instant,
    ) -> Result<(), StoreError> {
        let mut state = draft.state.clone();
        let mut since: Option<Instant> = None;
        for e in &draft.written {
            if let Some(child) = e.item() {
                batch.made_from.extend(e.parents().iter().map(|p| (p.clone(), child.clone())));
            }
            if e.air_of().is_some() {
                since = Some(since.map_or(e.at, |s| s.min(e.at)));
            }
        }
        let corrected = draft.written.iter().any(|e| matches!(e.body, Body::Correct { .. }));
        if corrected && !draft.places.is_empty() {
            since = Some(Instant(0));
        }
        for id in &draft.items {
            let Some(item) = state.items.get(id) else { continue };
            let newest = item.truth.last().is_some_and(|e| draft.written.iter().any(|w| Arc::ptr_eq(w, e)));
            let begins_or_ends = item.truth.len() == 1 || item.end().is_some();
            if begins_or_ends || corrected {
                batch.dirty.insert(id.clone());
            }
            batch.changed.insert(id.clone());
            if corrected {
                for e in item.records.iter().flat_map(|r| r.effective(u64::MAX).ok().flatten()) {
                    batch.made_from.extend(e.parents().iter().map(|p| (p.clone(), id.clone())));
                }
            }
            if !newest || corrected {
                let below = below(&state, id);
                batch
                    .dirty
                    .extend(below.iter().filter(|c| state.items.get(*c).is_some_and(|i| i.end().is_some())).cloned());
                batch.changed.extend(below);
            } else {
                batch.changed.extend(item.children.iter().cloned());
            }
        }
        if let Some(since) = since {
            batch.all_changed = true;
            if since < now.plus(-NEAR_MS) {
                let ids = sql::closed_since(conn, &self.site, since).await?;
                let ids: Vec<Id> = ids.iter().filter_map(|s| Id::new(s)).collect();
                load::items(conn, &self.site, &mut state, &ids).await?;
            }
            let closed = state.items.iter().filter(|(_, i)| i.end().is_some_and(|e| e.at >= since));
            batch.dirty.extend(closed.map(|(id, _)| id.clone()));
            // The closed ones brought in are read again when the rows are written.
        }
        Ok(())
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
        for (actor, key, body, answer) in &batch.answers {
            sql::put_answer(conn, site, (actor, key, body), answer, now).await?;
        }
        if self.batches.is_multiple_of(4_096) {
            sql::drop_answers(conn, now.plus(-KEYS_MS)).await?;
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
    }
}

/// The row of an entry; a correction is found by what it is about.
fn row(targets: &HashMap<u64, Arc<Entry>>, e: &Entry, line: String) -> Row {
    let (about, target) = match e.body {
        Body::Correct { entry, .. } => (targets.get(&entry).map_or(e, |t| t), Some(entry as i64)),
        _ => (e, None),
    };
    let text = |id: Option<&Id>| id.map(|i| i.as_str().to_owned());
    Row { seq: e.meta.seq as i64, kind: e.kind(), item: text(about.item()), place: text(about.air_of()), target, line }
}

fn is_setup(e: &Entry) -> bool {
    matches!(e.body, Body::Site { .. } | Body::Place { .. } | Body::Product(_) | Body::Rule(_))
}

fn target_of(line: &str) -> Option<u64> {
    match load::entry("", 0, line).ok()?.body {
        Body::Correct { entry, .. } => Some(entry),
        _ => None,
    }
}

/// Everything made from an item, to any depth, as far as it is in memory.
fn below(state: &State, id: &Id) -> BTreeSet<Id> {
    let (mut todo, mut seen) = (vec![id.clone()], BTreeSet::new());
    while let Some(id) = todo.pop() {
        for child in state.items.get(&id).map_or(&[][..], |i| &i.children) {
            if seen.insert(child.clone()) {
                todo.push(child.clone());
            }
        }
    }
    seen
}

/// The row of an item as the ledger has it.
pub fn item_row(state: &State, id: &Id) -> Option<ItemRow> {
    let item = state.items.get(id)?;
    let text = id.as_str().to_owned();
    let void = ItemRow { item: text, begun_at: 0, closed_at: Some(0), standing: None, rank: 3, left_ms: i64::MAX };
    // Its beginning is void: it is neither open nor has it a standing.
    let Some((begin, _)) = item.begin() else { return Some(void) };
    let open = ItemRow { begun_at: begin.at.0, closed_at: None, ..void };
    let Some(end) = item.end() else { return Some(open) };
    let zone = state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let fold = Fold::new(state, end.at, zone);
    let standing = rules::standing(&fold, id)?;
    Some(ItemRow {
        closed_at: Some(end.at.0),
        rank: rules::Verdict::Discard as i64 - standing.verdict as i64,
        left_ms: standing.left_ms.unwrap_or(i64::MAX),
        standing: serde_json::to_string(&standing).ok(),
        ..open
    })
}

/// Lets go of items that closed a while ago, unless something open was made from them.
fn evict(published: &mut Published, now: Instant) {
    let state = &mut published.state;
    let mut keep: HashSet<Id> = HashSet::new();
    let recent = |i: &ledger::Item| {
        i.end().is_none_or(|e| e.meta.recorded_at.unwrap_or(e.at) > now.plus(-KEEP_MS)) && i.begin().is_some()
    };
    let mut todo: Vec<Id> = state.items.iter().filter(|(_, i)| recent(i)).map(|(id, _)| id.clone()).collect();
    while let Some(id) = todo.pop() {
        if keep.insert(id.clone())
            && let Some(item) = state.items.get(&id)
        {
            item.truth.iter().for_each(|e| todo.extend_from_slice(e.parents()));
        }
    }
    if keep.len() < state.items.len() {
        state.items.retain(|id, _| keep.contains(id));
        published.changed.retain(|id, _| keep.contains(id));
    }
    state.others.clear();
}
