//! The ledger as it stands, corrections applied: what the fold and the checks read. Cheap to clone, so a
//! request is decided on a copy that is kept or thrown away whole.

use super::refusal::*;
use super::{Begin, Body, Change, Entry, Id, Place, Product, Record, Refusal, Unit};
use crate::clock::{Instant, Zone};
use crate::rules::{Rule, book};
use imbl::{HashMap, OrdMap};
use std::sync::Arc;

/// The shop.
#[derive(Clone, Debug)]
pub struct Site {
    /// For people.
    pub name: Box<str>,
    /// Its calendar.
    pub zone: Zone,
    /// What temperatures are shown in.
    pub units: Unit,
}

/// An item's entries and what was made from it.
#[derive(Clone, Debug, Default)]
pub struct Item {
    /// As written, in order of `seq`.
    pub records: Vec<Record>,
    /// Corrected, in order of truth.
    pub truth: Vec<Arc<Entry>>,
    /// Items that were ever said to be made from this one.
    pub children: Vec<Id>,
}

impl Item {
    /// Its beginning, unless that is void.
    pub fn begin(&self) -> Option<(&Arc<Entry>, &Begin)> {
        self.truth.iter().find_map(|e| match &e.body {
            Body::Item(b) => Some((e, &**b)),
            _ => None,
        })
    }

    /// The entry that ended it.
    pub fn end(&self) -> Option<&Arc<Entry>> {
        let mut left = self.begin()?.1.count.unwrap_or(1);
        self.truth.iter().find(|e| match &e.body {
            Body::Close { count, .. } => {
                left = left.saturating_sub(count.unwrap_or(left));
                left == 0
            }
            _ => false,
        })
    }

    /// How many of it are left.
    pub fn left(&self) -> u32 {
        let total = self.begin().map_or(0, |(_, b)| b.count.unwrap_or(1));
        self.truth.iter().fold(total, |left, e| match &e.body {
            Body::Close { count, .. } => left.saturating_sub(count.unwrap_or(left)),
            _ => left,
        })
    }

    /// Where it is by its latest entry.
    pub fn place(&self) -> Option<&Id> {
        self.truth.iter().rev().find_map(|e| e.goes_to())
    }
}

/// The ledger as it stands.
#[derive(Clone, Debug, Default)]
pub struct State {
    /// The last entry's number.
    pub head: u64,
    /// The latest `recorded_at`.
    pub recorded_at: Option<Instant>,
    /// The shop.
    pub site: Option<Arc<Site>>,
    /// Site, place, rule and product entries as written; their order is that of `seq`.
    pub config: OrdMap<u64, Record>,
    /// By id.
    pub places: OrdMap<Id, Arc<Place>>,
    /// Rules taken into use, and the entry that did.
    pub rules: OrdMap<Id, (u64, Arc<Rule>)>,
    /// Each product's versions in order of `seq`.
    pub products: OrdMap<Id, Vec<(u64, Arc<Product>)>>,
    /// By id.
    pub items: HashMap<Id, Arc<Item>>,
    /// Readings of the air before this may not be at hand.
    pub air_since: Instant,
    /// Corrected entries that the fold doesn't read (decisions, approvals, reviews), if loaded.
    pub others: OrdMap<u64, Record>,
}

impl State {
    /// When the shop's ledger begins, by what was first written of how it is set up. None where no shop is named.
    pub fn begun(&self) -> Option<Instant> {
        self.site.as_ref().and_then(|_| self.config.values().map(|r| r.original.at).min())
    }

    /// The rule of that id as it was known at `seq`: taken into use, or built in.
    pub fn rule(&self, id: &Id, seq: u64) -> Option<Arc<Rule>> {
        match self.rules.get(id) {
            Some((since, rule)) if *since < seq => Some(rule.clone()),
            _ => book::built_in(id),
        }
    }

    /// The product of that id as it was at `seq`.
    pub fn product(&self, id: &Id, seq: u64) -> Option<&Arc<Product>> {
        self.products.get(id)?.iter().rev().find(|(since, _)| *since < seq).map(|(_, p)| p)
    }

    /// The rules an item is under: its product's, then its own, none twice.
    pub fn rules_of(&self, begin: &Begin, seq: u64) -> Vec<Arc<Rule>> {
        let product = begin.product.as_ref().and_then(|p| self.product(p, seq));
        let ids = product.map(|p| p.rules.as_slice()).unwrap_or(&[]).iter().chain(begin.rules.iter().flatten());
        let mut rules: Vec<Arc<Rule>> = Vec::new();
        for id in ids {
            if let Some(rule) = self.rule(id, seq).filter(|r| rules.iter().all(|have| have.rule != r.rule)) {
                rules.push(rule);
            }
        }
        rules
    }

    /// The record of that number, where it is at hand.
    pub fn record(&self, seq: u64, original: &Entry) -> Option<&Record> {
        match (original.item(), original.air_of()) {
            (Some(item), _) => {
                let records = &self.items.get(item)?.records;
                records.binary_search_by_key(&seq, |r| r.original.meta.seq).ok().map(|i| &records[i])
            }
            (None, Some(place)) => self.places.get(place)?.records.get(&seq),
            _ => self.config.get(&seq).or_else(|| self.others.get(&seq)),
        }
    }

    /// Writes an entry down without asking whether it may follow. The caller checks after.
    pub fn insert(&mut self, entry: Arc<Entry>) -> Result<(), Refusal> {
        self.head = self.head.max(entry.meta.seq);
        self.recorded_at = self.recorded_at.max(entry.meta.recorded_at);
        match &entry.body {
            Body::Site { .. } | Body::Place { .. } | Body::Rule(_) | Body::Product(_) => {
                self.config.insert(entry.meta.seq, Record::new(entry.clone()));
                self.configure(&entry)
            }
            Body::Correct { .. } => Ok(()),
            Body::Decide { .. } | Body::Approve { .. } | Body::Review { .. } => {
                self.others.insert(entry.meta.seq, Record::new(entry));
                Ok(())
            }
            Body::AirReading { place, .. } | Body::Lapse { place, .. } | Body::Restore { place } => {
                let Some(place) = self.places.get_mut(place) else {
                    return Err(unknown_place(place));
                };
                Arc::make_mut(place).write(&entry);
                self.put(&entry)
            }
            Body::Item(begin) => {
                if self.items.contains_key(&begin.item) {
                    return Err(Refusal::new(&ID_USED, format!("There is an item `{}` already.", begin.item)));
                }
                let item = Item { records: vec![Record::new(entry.clone())], ..Item::default() };
                self.items.insert(begin.item.clone(), Arc::new(item));
                self.put(&entry)
            }
            _ => {
                let id = entry.item().ok_or_else(|| Refusal::missing("item"))?;
                let Some(item) = self.items.get_mut(id) else { return Err(unknown_item(id)) };
                Arc::make_mut(item).records.push(Record::new(entry.clone()));
                self.put(&entry)
            }
        }
    }

    /// Applies a correction to the entry it is about. The caller checks after.
    pub fn correct(&mut self, target: &Entry, correction: Arc<Entry>) -> Result<(), Refusal> {
        let seq = target.meta.seq;
        if let Body::Correct { .. } = target.body {
            return Err(Refusal::new(&NOT_CORRECTABLE, "A correction cannot be corrected; correct its entry again."));
        }
        let void = matches!(correction.body, Body::Correct { change: Change::Void, .. });
        if void && matches!(target.body, Body::Rule(_) | Body::Site { .. }) {
            return Err(Refusal::new(&NOT_CORRECTABLE, "A rule's text and the site stay."));
        }
        let record = self.record(seq, target).ok_or_else(|| unknown_entry(seq))?;
        let before = record.effective(u64::MAX)?;
        let mut record = record.clone();
        record.corrections.push(correction);
        record.corrections.sort_by_key(|c| c.meta.seq);
        let after = record.effective(u64::MAX)?;
        if let (Some(item), _) = (target.item(), ()) {
            if let Some(item) = self.items.get_mut(item) {
                let records = &mut Arc::make_mut(item).records;
                if let Ok(i) = records.binary_search_by_key(&seq, |r| r.original.meta.seq) {
                    records[i] = record;
                }
            }
        } else if let Some(place) = target.air_of() {
            if let Some(place) = self.places.get_mut(place) {
                Arc::make_mut(place).rewrite(record);
            }
        } else if let Some(slot) = self.config.get_mut(&seq) {
            *slot = record;
            return self.reconfigure();
        } else {
            self.others.insert(seq, record);
            return Ok(());
        }
        if let Some(before) = before {
            self.take(&before);
        }
        after.map_or(Ok(()), |after| self.put(&after))
    }

    /// The record of a lapse, a restore or a reading that a place has now: it stays with the place it was written for, and a
    /// correction may have moved it here.
    pub fn told_of<'a>(&'a self, place: &'a Place, seq: u64) -> Option<&'a Record> {
        place.records.get(&seq).or_else(move || self.places.values().find_map(|p| p.records.get(&seq)))
    }

    /// Lets go of readings of the air from before an instant.
    pub fn forget_air(&mut self, before: Instant) {
        let ids: Vec<Id> = self.places.keys().cloned().collect();
        for id in ids {
            if let Some(place) = self.places.get_mut(&id) {
                Arc::make_mut(place).forget_air(before);
            }
        }
        self.air_since = self.air_since.max(before);
    }

    /// Puts an effective entry where the fold finds it.
    fn put(&mut self, entry: &Arc<Entry>) -> Result<(), Refusal> {
        if let Some(id) = entry.air_of() {
            let Some(place) = self.places.get_mut(id) else { return Err(unknown_place(id)) };
            Arc::make_mut(place).put(entry);
            return Ok(());
        }
        let Some(id) = entry.item() else { return Ok(()) };
        for parent in entry.parents() {
            if let Some(p) = self.items.get_mut(parent)
                && p.children.last() != Some(id)
                && !p.children.contains(id)
            {
                Arc::make_mut(p).children.push(id.clone());
            }
        }
        if let Some(item) = self.items.get_mut(id) {
            let truth = &mut Arc::make_mut(item).truth;
            let at = truth.partition_point(|e| e.key() < entry.key());
            truth.insert(at, entry.clone());
        }
        Ok(())
    }

    fn take(&mut self, entry: &Arc<Entry>) {
        if let Some(place) = entry.air_of().and_then(|id| self.places.get_mut(id)) {
            Arc::make_mut(place).take(entry);
        }
        if let Some(item) = entry.item().and_then(|id| self.items.get_mut(id)) {
            Arc::make_mut(item).truth.retain(|e| e.meta.seq != entry.meta.seq);
        }
    }
}

/// No such item.
pub(super) fn unknown_item(id: &Id) -> Refusal {
    Refusal::new(&UNKNOWN_ITEM, format!("There is no item `{id}`."))
}

/// No such place.
pub(super) fn unknown_place(id: &Id) -> Refusal {
    Refusal::new(&UNKNOWN_PLACE, format!("There is no place `{id}`."))
}

/// No such rule.
pub(super) fn unknown_rule(id: &Id) -> Refusal {
    Refusal::new(&UNKNOWN_RULE, format!("There is no rule `{id}`."))
}

/// No such entry.
pub(super) fn unknown_entry(seq: u64) -> Refusal {
    Refusal::new(&UNKNOWN_ENTRY, format!("There is no entry {seq}."))
}
