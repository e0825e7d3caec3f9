//! What needs a person about the food itself: over, may not go back, unmarked, and each deviation.

use super::{BACK_MS, Found, Occurrence};
use crate::board::others::{NOT_REPORTED, with_others};
use crate::clock::Instant;
use crate::exposure::Fold;
use crate::ledger::{About, Body, Id, Item};
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
        // What is with others can't be thrown away or marked here; how it stands is on their page.
        if s.state != Phase::Closed && !with_others(fold.state(), item) {
            goes_on(fold, &s, &mut found);
        }
        for d in s.deviations.iter().filter(|d| d.code != "served-late" || !unreported(item)) {
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

/// Whether it was closed because nobody reported anything: when it was served isn't known.
fn unreported(item: &Item) -> bool {
    let said = |e: &std::sync::Arc<crate::ledger::Entry>| {
        let by_server = e.meta.by.as_ref().is_some_and(|by| by.as_str() == "server");
        by_server && matches!(&e.body, Body::Close { reason: Some(r), .. } if **r == *NOT_REPORTED)
    };
    item.end().is_some_and(said)
}

/// The entries by which it was done.
fn said_by(item: &Item, d: &Deviation) -> Vec<u64> {
    let said = item.truth.iter().filter(|e| e.at == d.at || e.meta.recorded_at == Some(d.at));
    said.map(|e| e.meta.seq).collect()
}
