//! `evaluate`: entries in as JSON Lines, one standing a line out; the same pure code as the service.

use crate::clock::{Instant, Zone};
use crate::exposure::Fold;
use crate::ledger::{self, Body, Change, Entry, From, Id, Misfit, Record, Refusal, State, refusal};
use crate::rules::{self, Standing};
use std::collections::HashMap;
use std::sync::Arc;

/// Which instant, by what was known when, in which zone.
#[derive(Clone, Copy, Default)]
pub struct Options {
    /// The instant the standings are of; the greatest `at` after corrections if none.
    pub as_of: Option<Instant>,
    /// Drops what was recorded later.
    pub known_at: Option<Instant>,
    /// Overrides the `site` entry's zone.
    pub zone: Option<Zone>,
}

/// A line that is no entry, or one that the ledger refuses.
#[derive(Debug)]
pub struct BadLine {
    /// Counted from 1.
    pub line: usize,
    /// Why.
    pub refusal: Refusal,
}

/// Collects a ledger line by line; nothing but its entries is kept in memory.
#[derive(Default)]
pub struct Reader {
    entries: Vec<Arc<Entry>>,
    /// For each empty line, how many entries came before it.
    empty: Vec<usize>,
    line: usize,
    numbered: Option<bool>,
    sorted: bool,
}

impl Reader {
    /// Takes one line; an empty one is passed over.
    pub fn line(&mut self, text: &str) -> Result<(), BadLine> {
        self.line += 1;
        if self.entries.is_empty() {
            self.sorted = true;
        }
        if text.trim().is_empty() {
            self.empty.push(self.entries.len());
            return Ok(());
        }
        let entry = self.read(text).map_err(|refusal| BadLine { line: self.line, refusal })?;
        self.sorted &= self.entries.last().is_none_or(|last| last.meta.seq < entry.meta.seq);
        self.entries.push(Arc::new(entry));
        Ok(())
    }

    fn read(&mut self, text: &str) -> Result<Entry, Refusal> {
        let parsed = ledger::parse(text, From::Ledger)?;
        let numbered = *self.numbered.get_or_insert(parsed.has_seq);
        if numbered != parsed.has_seq {
            return Err(Refusal::member("`seq` stands on all lines or on none"));
        }
        if parsed.id_missing {
            return Err(Refusal::missing("item"));
        }
        let Some(at) = parsed.at else { return Err(Refusal::missing("at")) };
        let mut meta = parsed.meta;
        match (numbered, meta.seq) {
            (true, 0) => return Err(Refusal::member("`seq` counts from 1")),
            (true, _) => {}
            (false, _) => meta.seq = self.line as u64,
        }
        let mut bodies = parsed.bodies.into_iter();
        match (bodies.next(), bodies.next(), text_has_items(text)) {
            (Some(body), None, false) => Ok(Entry { at, note: parsed.note, body, meta }),
            _ => Err(Refusal::member("a ledger holds one entry an item: `items` isn't accepted here")),
        }
    }

    /// Judges what was read.
    pub fn finish(mut self, known_at: Option<Instant>) -> Result<(State, Vec<Arc<Entry>>), BadLine> {
        // Without numbers the line is the number; with them the line is looked up again for the message.
        let line = |i: usize| i + 1 + self.empty.partition_point(|before| *before <= i);
        let line_of: Option<HashMap<u64, usize>> = (self.numbered == Some(true))
            .then(|| self.entries.iter().enumerate().map(|(i, e)| (e.meta.seq, line(i))).collect());
        let bad = |seq: u64, refusal| {
            let line = line_of.as_ref().and_then(|m| m.get(&seq).copied()).unwrap_or(seq as usize);
            BadLine { line, refusal }
        };
        if !self.sorted {
            self.entries.sort_by_key(|e| e.meta.seq);
            if let Some(pair) = self.entries.windows(2).find(|p| p[0].meta.seq == p[1].meta.seq) {
                let refusal = Refusal::new(&refusal::ID_USED, format!("`seq` {} stands twice.", pair[0].meta.seq));
                return Err(bad(pair[0].meta.seq, refusal));
            }
        }
        if let Some(known_at) = known_at {
            self.entries.retain(|e| e.meta.recorded_at.is_none_or(|r| r <= known_at));
        }
        let state = ledger::read_all(&self.entries).map_err(|Misfit { seq, refusal }| bad(seq, refusal))?;
        Ok((state, self.entries))
    }
}

/// `items` with a single item reads like `item`, but a ledger never holds it.
fn text_has_items(text: &str) -> bool {
    // The name may be spelled with escapes.
    (text.contains("\"items\"") || text.contains("\\u")) && {
        #[derive(serde::Deserialize)]
        struct Has {
            items: Option<serde::de::IgnoredAny>,
        }
        serde_json::from_str::<Has>(text).is_ok_and(|h| h.items.is_some())
    }
}

/// The greatest `at` after corrections.
pub fn latest_at(entries: &[Arc<Entry>]) -> Option<Instant> {
    let mut corrected: HashMap<u64, &Arc<Entry>> = HashMap::new();
    for e in entries {
        if let Body::Correct { entry, .. } = e.body {
            corrected.insert(entry, e);
        }
    }
    let at = |e: &Arc<Entry>| match corrected.get(&e.meta.seq).map(|c| (*c, &c.body)) {
        None => Some(e.at),
        Some((_, Body::Correct { change: Change::Void, .. })) => None,
        Some((c, _)) => {
            let record = Record { original: e.clone(), corrections: vec![c.clone()] };
            record.effective(u64::MAX).ok().flatten().map(|e| e.at)
        }
    };
    entries.iter().filter_map(at).max()
}

/// The standings of every item begun by the instant, in order of their beginning.
pub fn standings(state: &State, entries: &[Arc<Entry>], options: Options, mut each: impl FnMut(Standing)) {
    let Some(as_of) = options.as_of.or_else(|| latest_at(entries)) else { return };
    let zone = options.zone.or_else(|| state.site.as_ref().map(|s| s.zone)).unwrap_or(Zone::UTC);
    let fold = Fold::new(state, as_of, zone);
    let mut items: Vec<(_, &Id)> = state
        .items
        .iter()
        .filter_map(|(id, i)| i.begin().map(|(e, _)| (e.key(), id)))
        .filter(|(key, _)| key.0 <= as_of)
        .collect();
    items.sort_unstable();
    for (_, id) in items {
        if let Some(s) = rules::standing(&fold, id) {
            each(s);
        }
    }
}
