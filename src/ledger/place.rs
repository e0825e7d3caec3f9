//! A place, and what happened to its cold and air.

use super::{Body, Control, Entry, Id, Record};
use crate::clock::Instant;
use crate::rules::Use;
use imbl::{OrdMap, OrdSet};
use std::sync::Arc;

/// A place and what happened to its cold and air.
#[derive(Clone, Debug)]
pub struct Place {
    /// Its id.
    pub place: Id,
    /// From which entry on it counts.
    pub seq: u64,
    /// For people.
    pub name: Box<str>,
    /// Whether it keeps food cold.
    pub control: Control,
    /// What it is used for.
    pub r#use: Use,
    /// Lapses, restores and air readings as written.
    pub records: OrdMap<u64, Record>,
    /// The lapses and restores, corrected, in order of truth.
    pub lapses: OrdMap<(Instant, u64), Arc<Entry>>,
    /// The air readings on the exact scale, corrected, in order of truth.
    pub air: OrdMap<(Instant, u64), i64>,
    /// The length of the longest lapse that was ever said to have an end, in milliseconds.
    pub longest_lapse_ms: i64,
    /// Which lapses and restores reach back.
    pub odd_lapses: Odd,
    /// Which air readings reach back.
    pub odd_air: Odd,
}

/// Records that said something about a time that had passed, so that they are found without reading all.
#[derive(Clone, Debug, Default)]
pub struct Odd {
    /// Those written down late, by when they happened.
    pub late: OrdSet<(Instant, u64)>,
    /// Those that have corrections.
    pub corrected: OrdSet<u64>,
}

impl Place {
    /// A place to which nothing happened yet.
    pub(super) fn new(place: Id, seq: u64, name: Box<str>, control: Control, r#use: Use) -> Place {
        Place {
            place,
            seq,
            name,
            control,
            r#use,
            records: OrdMap::new(),
            lapses: OrdMap::new(),
            air: OrdMap::new(),
            longest_lapse_ms: 0,
            odd_lapses: Odd::default(),
            odd_air: Odd::default(),
        }
    }

    fn odd(&mut self, e: &Entry) -> &mut Odd {
        if matches!(e.body, Body::AirReading { .. }) { &mut self.odd_air } else { &mut self.odd_lapses }
    }

    /// Keeps an entry as it was written.
    pub(super) fn write(&mut self, entry: &Arc<Entry>) {
        self.records.insert(entry.meta.seq, Record::new(entry.clone()));
        if entry.meta.late_ms(entry.at).is_some() {
            self.odd(entry).late.insert(entry.key());
        }
    }

    /// Keeps an entry with its corrections.
    pub(super) fn rewrite(&mut self, record: Record) {
        let seq = record.original.meta.seq;
        self.odd(&record.original).corrected.insert(seq);
        self.records.insert(seq, record);
    }

    /// Puts an effective entry where the fold finds it.
    pub fn put(&mut self, entry: &Arc<Entry>) {
        if let Body::AirReading { value, .. } = &entry.body {
            self.air.insert(entry.key(), value.exact());
            return;
        }
        if let Body::Lapse { until: Some(until), .. } = &entry.body {
            self.longest_lapse_ms = self.longest_lapse_ms.max(until.since(entry.at));
        }
        self.lapses.insert(entry.key(), entry.clone());
    }

    /// Takes an effective entry away from there.
    pub fn take(&mut self, entry: &Entry) {
        self.air.remove(&entry.key());
        self.lapses.remove(&entry.key());
    }

    /// Lets go of readings of the air from before an instant; what was corrected stays.
    pub(super) fn forget_air(&mut self, before: Instant) {
        let old: Vec<(Instant, u64)> = self.air.range(..(before, 0)).map(|(key, _)| *key).collect();
        for key in old.into_iter().filter(|(_, seq)| !self.odd_air.corrected.contains(seq)) {
            self.air.remove(&key);
            self.records.remove(&key.1);
            self.odd_air.late.remove(&key);
        }
    }

    /// Since when a lapse is open, by its latest entries.
    pub fn open_lapse(&self) -> Option<Instant> {
        self.lapses.values().fold(None, |open, e| match &e.body {
            Body::Lapse { until: None, .. } => Some(e.at),
            Body::Restore { .. } => None,
            _ => open,
        })
    }
}
