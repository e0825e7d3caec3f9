//! Decides whether entries may be written: the one way into a ledger, for the service and for `evaluate`.

use super::refusal::*;
use super::state::{unknown_entry, unknown_item, unknown_place};
use super::validate::{self, Flaw};
use super::{About, Begin, Body, Change, Entry, Id, Meta, Parsed, Record, Refusal, State, air};
use crate::clock::{Instant, MINUTE_MS};
use crate::rules::book;
use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

/// What is asked for, and by whom.
pub struct Request {
    /// The entries as parsed, in order.
    pub entries: Vec<Parsed>,
    /// The server's now.
    pub now: Instant,
    /// Who asks: `by`, `by_how`, `device`.
    pub actor: Meta,
    /// Whether a manager asks.
    pub manager: bool,
    /// Whether a probe asks: nobody looked at what it says.
    pub probe: bool,
    /// The entries that corrections and decisions are about, as the loader found them, by `seq`.
    pub targets: HashMap<u64, Arc<Entry>>,
}

/// What would be written.
pub struct Draft {
    /// The ledger with it.
    pub state: State,
    /// All that is to be written, in order of `seq`.
    pub written: Vec<Arc<Entry>>,
    /// The `seq` of those that were asked for, in their order; what was there already is not among `written`, and the rest
    /// of it are rules taken into use.
    pub asked: Vec<u64>,
    /// The items whose standing may differ now, descendants not included.
    pub items: BTreeSet<Id>,
    /// The places whose cold or air differs now.
    pub places: BTreeSet<Id>,
    /// The originals of what was corrected or decided about, by `seq`.
    pub targets: HashMap<u64, Arc<Entry>>,
}

/// How far in the future a device's clock may be.
const AHEAD_MS: i64 = 2 * MINUTE_MS;

/// Decides a request against the ledger as it stands. Refused: nothing of it is written.
pub fn accept(state: &State, request: Request) -> Result<Draft, Refusal> {
    let mut d = Draft {
        state: state.clone(),
        written: Vec::new(),
        asked: Vec::new(),
        items: BTreeSet::new(),
        places: BTreeSet::new(),
        targets: HashMap::new(),
    };
    let whole = request.entries.iter().any(|p| matches!(p.bodies.first(), Some(Body::Correct { .. })));
    // The ledger's own time never runs back, whatever the machine's clock does.
    let recorded_at = state.recorded_at.map_or(request.now, |last| last.max(request.now));
    let Request { entries, now, actor, manager, probe, mut targets } = request;
    for (index, parsed) in entries.into_iter().enumerate() {
        let at = parsed.at.unwrap_or(now);
        for body in parsed.bodies {
            let body = if parsed.id_missing { d.name_item(body) } else { body };
            let entry = Entry {
                at,
                note: parsed.note.clone(),
                body,
                meta: Meta { recorded_at: Some(recorded_at), ..actor.clone() },
            };
            let step = match d.air(&entry, probe) {
                Ok(true) => continue,
                Ok(false) => d.step(entry, now, manager, &mut targets, whole),
                Err(refusal) => Err(refusal),
            };
            step.map_err(|r| Refusal { index: Some(index), ..r })?;
        }
    }
    if whole {
        d.check(&d.items.clone(), &d.places.clone(), d.written.last().map_or(0, |e| e.meta.seq))?;
    }
    d.targets = targets;
    Ok(d)
}

impl Draft {
    /// Gives an item the id that its product and `seq` make.
    fn name_item(&self, body: Body) -> Body {
        let Body::Item(mut b) = body else { return body };
        let mut n = self.state.head + 1;
        while let Some(id) = made_id(&b, n) {
            if !self.state.items.contains_key(&id) {
                b.item = id;
                break;
            }
            n += 1;
        }
        Body::Item(b)
    }

    /// Judges a reading of a place's air by those before it; says whether it is there already.
    fn air(&mut self, entry: &Entry, probe: bool) -> Result<bool, Refusal> {
        let Some(place) = entry.air_of().and_then(|id| self.state.places.get(id)) else { return Ok(false) };
        if let Some(seq) = air::known(place, entry) {
            self.asked.push(seq);
            return Ok(true);
        }
        if probe {
            air::possible(place, entry)?;
        }
        Ok(false)
    }

    fn step(
        &mut self,
        entry: Entry,
        now: Instant,
        manager: bool,
        targets: &mut HashMap<u64, Arc<Entry>>,
        whole: bool,
    ) -> Result<(), Refusal> {
        in_time(entry.at, now)?;
        if managers_kind(&entry.body) && !manager {
            return Err(Refusal::new(&MANAGERS_ONLY, "That kind of entry is a manager's."));
        }
        self.take_rules_into_use(&entry)?;
        let mut entry = entry;
        entry.meta.seq = self.state.head + 1;
        if let Body::Correct { entry: seq, .. } = entry.body {
            let target = targets.get(&seq).cloned().ok_or_else(|| unknown_entry(seq))?;
            if managers_kind(&target.body) && !manager {
                return Err(Refusal::new(&MANAGERS_ONLY, "Correcting that kind of entry is a manager's."));
            }
            self.correct(entry, &target, now, is_setup(&target.body))?;
        } else {
            names_known(&self.state, &entry, entry.meta.seq)?;
            let entry = Arc::new(entry);
            targets.insert(entry.meta.seq, entry.clone());
            self.state.insert(entry.clone())?;
            self.touch(&entry);
            self.asked.push(entry.meta.seq);
            self.written.push(entry.clone());
            if !whole {
                let items: BTreeSet<Id> = entry.item().cloned().into_iter().collect();
                let places: BTreeSet<Id> = entry.air_of().cloned().into_iter().collect();
                self.check(&items, &places, entry.meta.seq)?;
            }
        }
        Ok(())
    }

    fn touch(&mut self, entry: &Entry) {
        self.items.extend(entry.item().cloned());
        self.places.extend(entry.air_of().cloned());
    }

    /// A built-in rule that an item or product names is written down when it is first used.
    fn take_rules_into_use(&mut self, entry: &Entry) -> Result<(), Refusal> {
        let named: &[Id] = match &entry.body {
            Body::Item(b) => b.rules.as_deref().unwrap_or(&[]),
            Body::Product(p) => &p.rules,
            _ => &[],
        };
        for id in named {
            if self.state.rules.contains_key(id) {
                continue;
            }
            let Some(rule) = book::built_in(id) else { continue };
            let meta = Meta { seq: self.state.head + 1, ..entry.meta.clone() };
            let at = entry.meta.recorded_at.unwrap_or(entry.at);
            let rule = Arc::new(Entry { at, note: None, body: Body::Rule(Box::new((*rule).clone())), meta });
            self.state.insert(rule.clone())?;
            self.written.push(rule);
        }
        Ok(())
    }

    fn correct(&mut self, mut entry: Entry, target: &Arc<Entry>, now: Instant, config: bool) -> Result<(), Refusal> {
        // What is stored of `set` is the canonical form of its members: temperatures as strings, times in UTC.
        if let Body::Correct { change: Change::Set(set), .. } = &mut entry.body {
            let read = super::overlay(target, set)?;
            in_time(read.at, now)?;
            names_known(&self.state, &read, entry.meta.seq)?;
            let posted = read.posted();
            for (name, value) in set.iter_mut() {
                *value = posted.get(name).cloned().unwrap_or_default();
            }
        }
        let entry = Arc::new(entry);
        let before = self.state.record(target.meta.seq, target).and_then(|r| r.effective(u64::MAX).ok().flatten());
        self.state.head = entry.meta.seq;
        self.state.recorded_at = entry.meta.recorded_at;
        self.state.correct(target, entry.clone())?;
        let after = self.state.record(target.meta.seq, target).and_then(|r| r.effective(u64::MAX).ok().flatten());
        for e in [before, after, Some(target.clone())].into_iter().flatten() {
            self.touch(&e);
        }
        if config {
            self.items.extend(self.state.items.keys().cloned());
            self.places.extend(self.state.places.keys().cloned());
        }
        self.asked.push(entry.meta.seq);
        self.written.push(entry);
        Ok(())
    }

    /// Judges what the entries touched, children of touched items included.
    fn check(&self, items: &BTreeSet<Id>, places: &BTreeSet<Id>, newest: u64) -> Result<(), Refusal> {
        let mine: BTreeSet<u64> = self.written.iter().map(|e| e.meta.seq).collect();
        let blame = |f: Flaw| blame(f, &mine, newest);
        for id in items {
            let Some(item) = self.state.items.get(id) else { continue };
            validate::item(&self.state, id, item).map_err(blame)?;
            // What was made from it asks only when it began and ended, and how deep it goes.
            let last = item.truth.last();
            let plain = last.is_some_and(|e| {
                e.meta.seq == newest && e.parents().is_empty() && !matches!(e.body, Body::Close { .. })
            });
            if !plain {
                self.check_descendants(id).map_err(blame)?;
            }
        }
        let begun = self.state.begun();
        for id in places {
            match self.state.places.get(id) {
                Some(p) => validate::place(p, begun).map_err(blame)?,
                None => return Err(unknown_place(id)),
            }
        }
        Ok(())
    }

    fn check_descendants(&self, id: &Id) -> Result<(), Flaw> {
        let (mut todo, mut seen) = (vec![id.clone()], BTreeSet::new());
        while let Some(id) = todo.pop() {
            let Some(item) = self.state.items.get(&id) else { continue };
            for child in &item.children {
                if seen.insert(child.clone())
                    && let Some(c) = self.state.items.get(child)
                {
                    validate::item(&self.state, child, c)?;
                    todo.push(child.clone());
                }
            }
        }
        Ok(())
    }
}

/// The id that an item without one gets, where the ledger has no such item yet; else that of the next number.
pub fn made_id(begin: &Begin, n: u64) -> Option<Id> {
    let stem: String = begin.product.as_ref().map_or("item", Id::as_str).chars().take(28).collect();
    Id::new(&format!("{stem}-{n}"))
}

/// Whether it sets up the shop: every item may depend on it.
pub fn is_setup(body: &Body) -> bool {
    matches!(body, Body::Site { .. } | Body::Place { .. } | Body::Rule(_) | Body::Product(_))
}

/// Whether what a reading or a decision names had been written down by the entry that says so, number `seq`. What became
/// of it since, and when it began, is no matter: an id never changes meaning.
fn names_known(state: &State, e: &Entry, seq: u64) -> Result<(), Refusal> {
    let item = |id: &Id| state.items.get(id).and_then(|i| i.records.first()).is_some_and(|r| r.original.meta.seq < seq);
    let place = |id: &Id| {
        let named = |r: &Record| matches!(&r.original.body, Body::Place { place, .. } if place == id);
        state.config.values().take_while(|r| r.original.meta.seq < seq).any(named)
    };
    match &e.body {
        Body::FoodReading { probed: Some(id), .. } if !item(id) => Err(unknown_item(id)),
        Body::Decide { about: About::Id(id), .. } if !item(id) && !place(id) => {
            Err(Refusal::new(&UNKNOWN_ITEM, format!("There is no item or place `{id}`.")))
        }
        Body::Decide { about: About::Seq(about), .. } if *about == 0 || *about >= seq => Err(unknown_entry(*about)),
        _ => Ok(()),
    }
}

fn managers_kind(body: &Body) -> bool {
    is_setup(body) || matches!(body, Body::Approve { .. } | Body::Review { .. })
}

fn in_time(at: Instant, now: Instant) -> Result<(), Refusal> {
    if at > now.plus(AHEAD_MS) {
        return Err(Refusal::new(&IN_FUTURE, format!("{at} is in the future; it is {now} here.")));
    }
    Ok(())
}

/// A flaw in what was sent is its own refusal; a flaw elsewhere means that it upsets another entry.
fn blame(f: Flaw, mine: &BTreeSet<u64>, newest: u64) -> Refusal {
    if f.seq == newest || mine.contains(&f.seq) {
        return f.refusal;
    }
    let said = format!("With it, entry {} would be refused ({}): {}", f.seq, f.refusal.code.code, f.refusal.detail);
    Refusal::new(&UPSETS_ANOTHER, said)
}

/// Reads a whole ledger, in order of `seq`, and judges it in the order of truth.
/// The error carries the number of the entry that is at fault.
pub fn read_all(entries: &[Arc<Entry>]) -> Result<State, Misfit> {
    match read_prefix(entries) {
        Ok(state) => Ok(state),
        Err(first) => {
            // Name the entry that would have been refused when it came: the last of the shortest bad beginning.
            let (mut good, mut bad) = (0, entries.len());
            let mut found = first;
            while bad - good > 1 {
                let mid = good + (bad - good) / 2;
                match read_prefix(&entries[..mid]) {
                    Ok(_) => good = mid,
                    Err(flaw) => (bad, found) = (mid, flaw),
                }
            }
            let at_fault = entries[bad - 1].meta.seq;
            let refusal = if found.seq == at_fault { found.refusal } else { blame(found, &BTreeSet::new(), at_fault) };
            Err(Misfit { seq: at_fault, refusal })
        }
    }
}

/// The entry at fault and why.
#[derive(Debug)]
pub struct Misfit {
    /// Its number.
    pub seq: u64,
    /// Why it is refused.
    pub refusal: Refusal,
}

fn read_prefix(entries: &[Arc<Entry>]) -> Result<State, Flaw> {
    let mut state = State::default();
    let mut corrections = Vec::new();
    for e in entries {
        let refused = |refusal| Flaw { seq: e.meta.seq, refusal };
        if let Body::Correct { entry, .. } = e.body {
            let at = entries.partition_point(|t| t.meta.seq < entry);
            let target = entries[..].get(at).filter(|t| t.meta.seq == entry && entry < e.meta.seq);
            corrections.push((e, target.ok_or_else(|| refused(unknown_entry(entry)))?));
            state.head = state.head.max(e.meta.seq);
            continue;
        }
        state.insert(e.clone()).map_err(refused)?;
    }
    for (e, target) in corrections {
        state.correct(target, e.clone()).map_err(|refusal| Flaw { seq: e.meta.seq, refusal })?;
    }
    let records = state.items.values().flat_map(|i| &i.records).chain(state.others.values());
    for record in records.filter(|r| matches!(r.original.body, Body::FoodReading { .. } | Body::Decide { .. })) {
        let seq = record.corrections.last().unwrap_or(&record.original).meta.seq;
        let refused = |refusal| Flaw { seq, refusal };
        if let Some(e) = record.effective(u64::MAX).map_err(refused)? {
            names_known(&state, &e, seq).map_err(refused)?;
        }
    }
    for (id, item) in &state.items {
        validate::item(&state, id, item)?;
    }
    let begun = state.begun();
    for p in state.places.values() {
        validate::place(p, begun)?;
    }
    Ok(state)
}
