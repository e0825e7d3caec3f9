//! The writer's decisions: what a batch brings into memory, and each request judged against the ledger with it.

use super::effects::{row, target_of};
use super::ledger as sql;
use super::writer::{Asked, Batch, Done, Fail, KEYS_MS, NEAR_MS, Writer};
use super::{Conn, StoreError, load};
use crate::answer;
use crate::clock::{HOUR_MS, Instant};
use crate::exposure::AIR_HOLDS_MS;
use crate::ledger::{self, About, Body, Entry, Id, Meta, Parsed, Request, chain};
use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

/// A probe's readings that come later than this are not compared with those before them, milliseconds.
const LATE_MS: i64 = 24 * HOUR_MS;

impl Writer {
    pub(super) async fn decide_all(
        &mut self,
        conn: &mut Conn,
        jobs: Vec<Asked>,
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
            batch.state = load::shop(conn, &site, self.clock.now().plus(-NEAR_MS)).await?;
            batch.state.head = head;
            batch.all_changed = true;
            self.stale = false;
        } else if batch.state.head < head {
            self.catch_up(conn, &mut batch, head).await?;
        }
        let mut done = Vec::with_capacity(jobs.len());
        for asked in jobs {
            done.push(self.decide(conn, &mut batch, asked).await?);
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
        if let Some(since) = load::air_matters(&self.site, &lines)? {
            load::air_back(conn, &self.site, &mut batch.state, since).await?;
        }
        batch.state.head = head;
        batch.all_changed = true;
        Ok(())
    }

    async fn decide(
        &mut self,
        conn: &mut Conn,
        batch: &mut Batch,
        asked: Asked,
    ) -> Result<Result<Done, Fail>, StoreError> {
        let Asked { entries, actor, manager, probe, key } = asked;
        let now = self.clock.now();
        let who = actor.by.as_ref().map_or(String::new(), |b| b.as_str().to_owned());
        if let Some((key, body)) = &key {
            let again = |was: &str, done: Done| if was == body { Ok(done) } else { Err(Fail::KeyReused) };
            if let Some((was, done)) = batch.by_key.get(&(who.clone(), key.clone())) {
                return Ok(again(was, done.clone()));
            }
            if let Some((was, answer)) = sql::answer(conn, &self.site, &who, key, now.plus(-KEYS_MS)).await? {
                let done = Done { entries: Vec::new(), answer, now };
                return Ok(again(&was, done));
            }
        }
        let targets = self.bring(conn, batch, &entries, now).await?;
        if probe {
            self.bring_air(conn, batch, &entries, now).await?;
        }
        let request = Request { entries, now, actor, manager, probe, targets };
        let draft = match ledger::accept(&batch.state, request) {
            Ok(draft) => draft,
            Err(refusal) => return Ok(Err(Fail::Refused(refusal))),
        };
        for e in &draft.written {
            let (line, hash) = chain::seal(&batch.hash, e);
            batch.hash = hash;
            batch.rows.push(row(&draft.targets, e, line));
        }
        let (mut lines, mut mine) = (Vec::new(), Vec::new());
        let (first, written) = (batch.rows.len() - draft.written.len(), &draft.written);
        for seq in &draft.asked {
            if let Ok(i) = written.binary_search_by_key(seq, |e| e.meta.seq) {
                lines.push(batch.rows[first + i].line.clone());
                mine.push(written[i].clone());
                continue;
            }
            // It was there already, or another request of this batch has just written it.
            let here = batch.rows.iter().find(|r| r.seq == *seq as i64).map(|r| r.line.clone());
            let line = match here {
                None => sql::tail(conn, &self.site, seq - 1, 1).await?.pop().map(|(_, line)| line),
                here => here,
            };
            let Some(line) = line else { continue };
            mine.push(Arc::new(load::entry(&self.site, *seq, &line)?));
            lines.push(line);
        }
        self.note_changes(conn, batch, &draft, now).await?;
        batch.state = draft.state;
        let standings = answer::standings(&batch.state, &mine, &draft.targets, now);
        let done = Done { entries: mine, answer: answer::render(&lines, &standings), now };
        if let Some((key, body)) = key {
            batch.answers.push((who.clone(), key.clone(), body.clone(), done.answer.clone()));
            batch.by_key.insert((who, key), (body, done.clone()));
        }
        Ok(Ok(done))
    }

    /// Brings the air of before a probe's readings into memory, as far back as a day.
    async fn bring_air(
        &self,
        conn: &mut Conn,
        batch: &mut Batch,
        entries: &[Parsed],
        now: Instant,
    ) -> Result<(), StoreError> {
        let first = entries.iter().map(|p| p.at.unwrap_or(now)).min().unwrap_or(now);
        let from = first.max(now.plus(-LATE_MS)).plus(-ledger::JUMP_WITHIN_MS);
        load::air_back(conn, &self.site, &mut batch.state, from).await
    }

    /// Brings items into memory whose ids would else be made again: they may have closed long ago.
    async fn bring_made_ids(&self, conn: &mut Conn, batch: &mut Batch, entries: &[Parsed]) -> Result<(), StoreError> {
        // An id is made from the entry's number; rules that are taken into use by then push that on.
        let (mut first, mut last) = (batch.state.head + 1, batch.state.head + 1);
        for parsed in entries {
            for body in &parsed.bodies {
                if let (Body::Item(begin), true) = (body, parsed.id_missing) {
                    let mut n = first;
                    while let Some(id) = ledger::made_id(begin, n) {
                        load::items(conn, &self.site, &mut batch.state, std::slice::from_ref(&id)).await?;
                        if n >= last && !batch.state.items.contains_key(&id) {
                            break;
                        }
                        n += 1;
                    }
                }
                let named: &[Id] = match body {
                    Body::Item(begin) => begin.rules.as_deref().unwrap_or(&[]),
                    Body::Product(product) => &product.rules,
                    _ => &[],
                };
                let new = named.iter().filter(|id| !batch.state.rules.contains_key(*id)).count() as u64;
                (first, last) = (first + 1, last + 1 + new);
            }
        }
        Ok(())
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
        self.bring_made_ids(conn, batch, entries).await?;
        for parsed in entries {
            let late = parsed.at.is_some_and(|at| at < now.plus(-NEAR_MS));
            for body in &parsed.bodies {
                let about = Entry { at: now, note: None, body: body.clone(), meta: Meta::default() };
                let mut named: Vec<Id> = about.item().cloned().into_iter().collect();
                named.extend(about.named());
                let seq = match body {
                    Body::Correct { entry, .. } => Some(*entry),
                    Body::Decide { about: About::Seq(seq), .. } => Some(*seq),
                    _ => None,
                };
                load::items(conn, site, &mut batch.state, &named).await?;
                if matches!(body, Body::Item(_) | Body::Correct { .. }) {
                    let at = about.corrected_at().or(parsed.at).unwrap_or(now);
                    load::air_back(conn, site, &mut batch.state, at.plus(-AIR_HOLDS_MS)).await?;
                }
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
                    if let Body::Correct { change, .. } = body {
                        // It may bring in a parent, or bring one back, that closed long ago.
                        let mut named = target.named();
                        named.extend(change.named());
                        load::items(conn, site, &mut batch.state, &named).await?;
                    }
                    if let (Body::Correct { .. }, Some(item)) = (body, target.item()) {
                        load::descendants(conn, site, &mut batch.state, item).await?;
                    } else if matches!(body, Body::Correct { .. }) && ledger::is_setup(&target.body) {
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
}
