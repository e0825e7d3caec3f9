//! What people said about a stretch besides writing down what happened: decisions, and the days that were signed. Pure.

use super::account::Stamp;
use super::corrected::{Corrected, corrected};
use crate::clock::Zone;
use crate::ledger::{About, Action, Body, Entry, Id, Record};
use std::collections::HashMap;
use std::sync::Arc;

/// What a person decided about an item, a place or an entry.
#[derive(Clone, PartialEq, Debug)]
pub struct Decided {
    /// The entry.
    pub stamp: Stamp,
    /// What was done.
    pub action: Action,
    /// Why.
    pub reason: Box<str>,
}

/// A stretch of days that somebody looked through.
#[derive(Clone, PartialEq, Debug)]
pub struct Signed {
    /// The entry.
    pub stamp: Stamp,
    /// From this day, counted since 1970.
    pub from: i64,
    /// To this one, included.
    pub to: i64,
}

/// Whether somebody looked through a day.
#[derive(Clone, PartialEq, Debug)]
pub struct Day {
    /// The day, counted since 1970.
    pub day: i64,
    /// Everybody who did, in order.
    pub signed: Vec<Signed>,
}

/// All of it, as it reads now.
#[derive(Clone, Debug, Default)]
pub struct Said {
    decided: HashMap<String, Vec<Decided>>,
    signed: Vec<Signed>,
    /// What of it was corrected.
    pub corrected: Vec<Corrected>,
}

impl Said {
    /// From decisions, approvals and reviews with their corrections.
    pub fn of<'r>(records: impl Iterator<Item = &'r Record>) -> Said {
        let mut said = Said::default();
        for record in records {
            said.corrected.extend(corrected(record));
            if let Some(e) = record.effective(u64::MAX).ok().flatten() {
                said.take(&e);
            }
        }
        said.signed.sort_by_key(|s| s.stamp.seq);
        said
    }

    fn take(&mut self, e: &Arc<Entry>) {
        let stamp = Stamp::of(e);
        match &e.body {
            Body::Decide { about, action, reason } => {
                let decided = Decided { stamp, action: *action, reason: reason.clone() };
                self.decided.entry(key(about)).or_default().push(decided);
            }
            Body::Review { from, to } => {
                // They are dates, or times that begin with one.
                let day = |text: &str| text.get(..10).and_then(Zone::parse_date);
                if let (Some(from), Some(to)) = (day(from), day(to)) {
                    self.signed.push(Signed { stamp, from, to });
                }
            }
            _ => {}
        }
    }

    /// What was decided about an item or place, or about entries of it, in order.
    pub fn about(&self, id: &Id, entries: &[u64]) -> Vec<Decided> {
        if self.decided.is_empty() {
            return Vec::new();
        }
        let keys = entries.iter().map(|seq| key(&About::Seq(*seq))).chain([id.to_string()]);
        let mut found: Vec<Decided> = keys.filter_map(|k| self.decided.get(&k)).flatten().cloned().collect();
        found.sort_by_key(|d| (d.stamp.at, d.stamp.seq));
        found
    }

    /// Who signed a day.
    pub fn signed(&self, day: i64) -> impl Iterator<Item = &Signed> {
        self.signed.iter().filter(move |s| s.from <= day && day <= s.to)
    }

    /// Each day of a stretch, both ends included.
    pub fn days(&self, from: i64, to: i64) -> Vec<Day> {
        (from..=to).map(|day| Day { day, signed: self.signed(day).cloned().collect() }).collect()
    }
}

fn key(about: &About) -> String {
    match about {
        About::Seq(seq) => format!("#{seq}"),
        About::Id(id) => id.to_string(),
    }
}
