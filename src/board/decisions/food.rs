//! What needs a person about the food itself: over, may not go back, unmarked, and each deviation.

use super::{BACK_MS, Found, Occurrence};
use crate::clock::Instant;
use crate::exposure::Fold;
use crate::ledger::{About, Id, Item};
use crate::record::marking::{Agreement, Marking};
use crate::rules::{Deviation, Phase, Standing, Verdict, standing};

/// Of every item at hand that is open or closed lately.
pub(super) fn matters(fold: &Fold, now: Instant) -> Found {
    let mut found = Found::new();
    for (id, item) in &fold.state().items {
        let Some(s) = standing(fold, id) else { continue };
        if s.state == Phase::Closed && s.as_of < now.plus(-BACK_MS) {
            continue;
        }
        if s.state != Phase::Closed {
            goes_on(fold, &s, &mut found);
        }
        for d in &s.deviations {
            let rule = d.rule.clone();
            let entries = said_by(item, d);
            found.push((d.code, Occurrence { rule, entries, ..of(id, &s, d.at) }));
        }
    }
    found
}

fn of(id: &Id, s: &Standing, at: Instant) -> Occurrence {
    let (item, place) = (Some(id.clone()), Some(s.place.clone()));
    let closed = s.state == Phase::Closed;
    Occurrence { about: Some(About::Id(id.clone())), item, place, closed, ..Occurrence::at(at) }
}

fn goes_on(fold: &Fold, s: &Standing, found: &mut Found) {
    match s.verdict {
        Verdict::Discard => found.push(("over", of(&s.item, s, s.reached(s.verdict)))),
        Verdict::Use => found.push(("no-return", of(&s.item, s, s.reached(s.verdict)))),
        Verdict::Within | Verdict::Return => {}
    }
    let marking = Marking::of(fold.state(), s).filter(|m| m.agreement == Agreement::Unmarked);
    if let Some(from) = marking.and_then(|m| m.unmarked_from) {
        found.push(("unmarked", of(&s.item, s, from)));
    }
}

/// The entries by which it was done.
fn said_by(item: &Item, d: &Deviation) -> Vec<u64> {
    let said = item.truth.iter().filter(|e| e.at == d.at || e.meta.recorded_at == Some(d.at));
    said.map(|e| e.meta.seq).collect()
}
