//! Which entry may follow which: an item's and a place's entries judged in the order of truth.

use super::refusal::*;
use super::state::{unknown_item, unknown_place, unknown_rule};
use super::{Body, Control, Entry, Id, Item, Place, Refusal, State};
use crate::clock::{HOUR_MS, Instant};
use std::collections::HashMap;

/// Most entries on an item.
pub const ITEM_ENTRIES: usize = 2_000;
/// Most parents of an item.
pub const PARENTS: usize = 64;
/// Most generations, the first being 1.
pub const GENERATIONS: u32 = 32;

/// How long before the ledger begins a place's cold and air may be spoken of, milliseconds: a shop's first day may be
/// written down after it was set up.
pub const BEFORE_MS: i64 = 24 * HOUR_MS;

/// An entry that may not stand where it stands.
pub struct Flaw {
    /// The entry's number.
    pub seq: u64,
    /// Why.
    pub refusal: Refusal,
}

type Check = Result<(), Flaw>;

fn flaw(e: &Entry, refusal: Refusal) -> Check {
    Err(Flaw { seq: e.meta.seq, refusal })
}

/// Judges all of an item's entries.
pub fn item(state: &State, id: &Id, item: &Item) -> Check {
    if item.records.len() > ITEM_ENTRIES {
        let last = &item.records[item.records.len() - 1].original;
        return flaw(last, Refusal::new(&ITEM_FULL, format!("`{id}` has {ITEM_ENTRIES} entries.")));
    }
    let Some((begin_entry, begin)) = item.begin() else {
        // The beginning was voided: nothing else may stand.
        return item.truth.first().map_or(Ok(()), |e| flaw(e, unknown_item(id)));
    };
    let (begin_key, begin_seq) = (begin_entry.key(), begin_entry.meta.seq);
    let mut here: Option<(&Id, Instant)> = None;
    let mut left = begin.count.unwrap_or(1);
    let mut closed: Option<Instant> = None;
    let mut parents: Vec<&Id> = Vec::new();
    for e in &item.truth {
        let seq = e.meta.seq;
        if seq < begin_seq {
            return flaw(e, unknown_item(id));
        }
        if e.key() < begin_key {
            let since = format!("`{id}` began at {}.", begin_entry.at);
            return flaw(e, Refusal::new(&BEFORE_BEGINNING, since).since(id, begin_entry.at));
        }
        if let Some(at) = closed {
            return flaw(e, Refusal::new(&AFTER_CLOSE, format!("`{id}` was closed at {at}.")).since(id, at));
        }
        match &e.body {
            Body::Item(b) => {
                known_place(state, e, &b.place)?;
                known_rules(state, e)?;
                here = Some((&b.place, e.at));
            }
            Body::Move { place, .. } => {
                known_place(state, e, place)?;
                if let Some((_, since)) = here.filter(|(at, _)| *at == place) {
                    let said = format!("`{id}` has been in `{place}` since {since}.");
                    return flaw(e, Refusal::new(&ALREADY_THERE, said).since(id, since));
                }
                here = Some((place, e.at));
            }
            Body::Seen { place, .. } => known_place(state, e, place)?,
            Body::Close { count, .. } => {
                let n = count.unwrap_or(left);
                if n > left {
                    let said = Refusal::new(&MORE_THAN_LEFT, format!("`{id}` has {left} left."));
                    return flaw(e, Refusal { told: Told::Left(id.clone(), left), ..said });
                }
                left -= n;
                closed = (left == 0).then_some(e.at);
            }
            _ => {}
        }
        for parent in e.parents() {
            joinable(state, e, (id, item), parent)?;
            if !parents.contains(&parent) {
                parents.push(parent);
            }
        }
        if parents.len() > PARENTS {
            return flaw(e, Refusal::new(&TOO_MANY_PARENTS, format!("`{id}` is made from {PARENTS} others already.")));
        }
    }
    if parents.is_empty() {
        return Ok(());
    }
    let mut known = HashMap::new();
    for e in item.truth.iter().filter(|e| !e.parents().is_empty()) {
        if generation(state, id, (e.at, e.meta.seq + 1), 1, &mut known) > GENERATIONS {
            let said = format!("`{id}` would be of generation {}.", GENERATIONS + 1);
            return flaw(e, Refusal::new(&TOO_MANY_GENERATIONS, said));
        }
    }
    Ok(())
}

fn known_place(state: &State, e: &Entry, place: &Id) -> Check {
    match state.places.get(place) {
        Some(p) if p.seq < e.meta.seq => Ok(()),
        _ => flaw(e, unknown_place(place)),
    }
}

fn known_rules(state: &State, e: &Entry) -> Check {
    let Body::Item(begin) = &e.body else { return Ok(()) };
    let seq = e.meta.seq;
    let mut exempt = false;
    if let Some(id) = &begin.product {
        let Some(product) = state.product(id, seq) else {
            return flaw(e, Refusal::new(&UNKNOWN_PRODUCT, format!("There is no product `{id}`.")));
        };
        exempt = product.exempt.is_some();
    }
    if let Some(id) = begin.rules.iter().flatten().find(|id| state.rule(id, seq).is_none()) {
        return flaw(e, unknown_rule(id));
    }
    if !exempt && state.rules_of(begin, seq).is_empty() {
        return flaw(e, Refusal::new(&NO_RULE, format!("`{}` names no rule and no product that has one.", begin.item)));
    }
    Ok(())
}

fn joinable(state: &State, e: &Entry, (child, item): (&Id, &Item), parent: &Id) -> Check {
    if parent == child {
        return flaw(e, Refusal::new(&JOINED_TO_ITSELF, format!("`{child}` is named in its own `from`.")));
    }
    let Some(p) = state.items.get(parent) else { return flaw(e, unknown_item(parent)) };
    match p.begin() {
        Some((b, _)) if b.meta.seq > e.meta.seq && b.meta.seq > worded_at(item, e) => {
            return flaw(e, unknown_item(parent));
        }
        Some((b, _)) if b.key() < e.key() => {}
        Some((b, _)) => {
            return flaw(
                e,
                Refusal::new(&PARENT_NOT_BEGUN, format!("`{parent}` began at {}.", b.at)).since(parent, b.at),
            );
        }
        None => return flaw(e, unknown_item(parent)),
    }
    match p.end() {
        Some(end) if end.key() < e.key() => {
            flaw(e, Refusal::new(&PARENT_CLOSED, format!("`{parent}` was closed at {}.", end.at)).since(parent, end.at))
        }
        _ => Ok(()),
    }
}

/// The number of the entry that an item's entry has its words from: its own, or that of its latest correction. A
/// correction may name what was only entered after the original.
fn worded_at(item: &Item, e: &Entry) -> u64 {
    let record = item.records.iter().find(|r| r.original.meta.seq == e.meta.seq);
    record.and_then(|r| r.corrections.last()).map_or(e.meta.seq, |c| c.meta.seq)
}

/// The generation of an item just before `key` in the order of truth: 1 for what was made from nothing. `depth` is how
/// far down it is asked; below the deepest allowed it no longer looks, since that is deep enough to refuse.
fn generation(
    state: &State,
    id: &Id,
    key: (Instant, u64),
    depth: u32,
    known: &mut HashMap<(Id, Instant, u64), u32>,
) -> u32 {
    if depth > GENERATIONS {
        return 1;
    }
    if let Some(n) = known.get(&(id.clone(), key.0, key.1)) {
        return *n;
    }
    let mut n = 1;
    if let Some(item) = state.items.get(id) {
        for e in item.truth.iter().filter(|e| e.key() < key) {
            for parent in e.parents().iter().filter(|p| *p != id) {
                n = n.max(1 + generation(state, parent, e.key(), depth + 1, known));
            }
            // Deep enough to refuse: no need to look further.
            if n > GENERATIONS {
                break;
            }
        }
    }
    known.insert((id.clone(), key.0, key.1), n);
    n
}

/// Judges a place's lapses and restores, and that they and its air lie in the time of the ledger, which begins at `begun`.
pub fn place(place: &Place, begun: Option<Instant>) -> Check {
    let early = |at: Instant| begun.filter(|begun| at < begun.plus(-BEFORE_MS));
    let too_early = |begun| {
        let said = format!("The shop's ledger begins at {begun}, and that lies more than a day before.");
        Refusal::new(&BEFORE_LEDGER, said)
    };
    if let Some(((at, seq), _)) = place.air.get_min()
        && let Some(begun) = early(*at)
    {
        return Err(Flaw { seq: *seq, refusal: too_early(begun) });
    }
    let mut open: Option<Instant> = None;
    for e in place.lapses.values() {
        if e.meta.seq < place.seq {
            return flaw(e, unknown_place(&place.place));
        }
        if let Some(begun) = early(e.at) {
            return flaw(e, too_early(begun));
        }
        match &e.body {
            Body::Lapse { until, .. } => {
                if place.control == Control::None {
                    return flaw(e, Refusal::new(&NO_CONTROL, format!("`{}` has control `none`.", place.place)));
                }
                // Its end may be put right later than it was first written.
                let corrected = place.records.get(&e.meta.seq).and_then(|r| r.corrections.last());
                let written = corrected.map_or(e, |c| c).meta.recorded_at;
                if until.is_some_and(|u| u <= e.at || written.is_some_and(|r| u > r)) {
                    return flaw(e, Refusal::new(&BAD_UNTIL, "`until` lies before the lapse or in the future."));
                }
                if until.is_none() {
                    if let Some(at) = open {
                        return flaw(e, Refusal::new(&LAPSE_OPEN, format!("A lapse is open since {at}.")));
                    }
                    open = Some(e.at);
                }
            }
            _ if open.is_none() => {
                return flaw(e, Refusal::new(&NO_LAPSE, format!("`{}` has no open lapse then.", place.place)));
            }
            _ => open = None,
        }
    }
    Ok(())
}
