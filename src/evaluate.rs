//! `evaluate`: entries in as JSON Lines, one standing a line out; the same pure code as the service.
//!
//! Guards against S-33 of SAFETY.md.

use crate::clock::{Instant, Zone};
use crate::exposure::Fold;
use crate::ledger::{self, Body, Change, Entry, From, Id, Misfit, Parsed, Record, Refusal, State, refusal};
use crate::parallel::in_order;
use crate::rules::{self, Standing};
use std::collections::HashMap;
use std::io::Read as _;
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

/// A line as far as it can be read without the others: none if it is empty, or else what it says and whether it names
/// `items`.
pub struct Line(Option<Result<(Parsed, bool), Refusal>>);

impl Line {
    /// Reads one line.
    pub fn read(text: &str) -> Line {
        let full = !text.trim().is_empty();
        Line(full.then(|| Ok((ledger::parse(text, From::Ledger)?, text_has_items(text)))))
    }
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

/// Bytes read at once, up to the end of a line.
const BLOCK: u64 = 1 << 18;

/// Why an input could not be read as a ledger.
pub enum BadInput {
    /// A line of it.
    Line(BadLine),
    /// The input itself.
    Io(std::io::Error),
}

impl Reader {
    /// Reads a whole input, its lines on as many threads as there are cores.
    pub fn all(mut input: impl std::io::BufRead) -> Result<Reader, BadInput> {
        let mut reader = Reader::default();
        let mut bad = Ok(());
        let blocks = std::iter::from_fn(|| {
            let mut block = Vec::with_capacity(BLOCK as usize + 1_024);
            let read =
                input.by_ref().take(BLOCK).read_to_end(&mut block).and_then(|_| input.read_until(b'\n', &mut block));
            match read {
                Ok(_) if block.is_empty() => None,
                Ok(_) => Some(Ok(block)),
                Err(e) => Some(Err(e)),
            }
        });
        let read = || {
            |block: std::io::Result<Vec<u8>>| match block {
                Ok(block) => block.split_inclusive(|b| *b == b'\n').map(|l| Ok(Line::read(utf8(l)?))).collect(),
                Err(e) => vec![Err(e)],
            }
        };
        in_order(blocks, read, |lines: Vec<std::io::Result<Line>>| {
            bad =
                lines.into_iter().try_for_each(|line| reader.take(line.map_err(BadInput::Io)?).map_err(BadInput::Line));
            bad.is_ok()
        });
        bad.map(|()| reader)
    }

    /// Takes one line; an empty one is passed over.
    pub fn line(&mut self, text: &str) -> Result<(), BadLine> {
        self.take(Line::read(text))
    }

    /// Takes one line that was read already.
    pub fn take(&mut self, line: Line) -> Result<(), BadLine> {
        self.line += 1;
        if self.entries.is_empty() {
            self.sorted = true;
        }
        let Line(Some(read)) = line else {
            self.empty.push(self.entries.len());
            return Ok(());
        };
        let entry = read
            .and_then(|(parsed, many)| self.entry(parsed, many))
            .map_err(|refusal| BadLine { line: self.line, refusal })?;
        self.sorted &= self.entries.last().is_none_or(|last| last.meta.seq < entry.meta.seq);
        self.entries.push(Arc::new(entry));
        Ok(())
    }

    fn entry(&mut self, parsed: Parsed, many: bool) -> Result<Entry, Refusal> {
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
        match (bodies.next(), bodies.next(), many) {
            (Some(body), None, false) => Ok(Entry { at, note: parsed.note, body, meta }),
            _ => Err(Refusal::member("a ledger holds one entry an item: `items` isn't accepted here")),
        }
    }

    /// Judges what was read.
    pub fn finish(mut self, known_at: Option<Instant>) -> Result<(State, Vec<Arc<Entry>>), BadLine> {
        // Without numbers the line is the number; with them it is looked up for the message.
        let numbered = self.numbered == Some(true);
        let order: Vec<u64> = self.entries.iter().filter(|_| numbered).map(|e| e.meta.seq).collect();
        let empty = self.empty;
        let line = |i: usize| i + 1 + empty.partition_point(|before| *before <= i);
        let bad = |seq: u64, refusal| {
            let line = order.iter().rposition(|n| *n == seq).map_or(seq as usize, line);
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

fn utf8(line: &[u8]) -> std::io::Result<&str> {
    let unreadable = |_| std::io::Error::new(std::io::ErrorKind::InvalidData, "stream did not contain valid UTF-8");
    std::str::from_utf8(line).map_err(unreadable)
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

/// Items whose standings are worked out one after the other, with what they were made from, on one thread.
const MANY: usize = 500;

/// The standings of every item begun by the instant, in order of their beginning.
pub fn standings<'a>(state: &'a State, entries: &[Arc<Entry>], options: Options, mut each: impl FnMut(Standing)) {
    let Some(as_of) = options.as_of.or_else(|| latest_at(entries)) else { return };
    let zone = options.zone.or_else(|| state.site.as_ref().map(|s| s.zone)).unwrap_or(Zone::UTC);
    let mut items: Vec<((Instant, u64), &'a Id)> = state
        .items
        .iter()
        .filter_map(|(id, i)| i.begin().map(|(e, _)| (e.key(), id)))
        .filter(|(key, _)| key.0 <= as_of)
        .collect();
    items.sort_unstable();
    let worker = || {
        |some: &[((Instant, u64), &'a Id)]| {
            // A fold keeps what it works out: one for all items would grow with them.
            let fold = Fold::new(state, as_of, zone);
            some.iter().filter_map(|(_, id)| rules::standing(&fold, id)).collect::<Vec<_>>()
        }
    };
    if items.len() <= MANY {
        worker()(&items).into_iter().for_each(each);
        return;
    }
    in_order(items.chunks(MANY), worker, |found| {
        found.into_iter().for_each(&mut each);
        true
    });
}
