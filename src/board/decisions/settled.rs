//! Which occurrences a `decide` settles.

use super::{Occurrence, actions, key, named};
use crate::ledger::{About, Action, Body, Entry, State};
use std::collections::HashMap;
use std::sync::Arc;

/// Every decision in effect, by what it is about.
pub(super) struct Decisions(HashMap<String, Vec<(Arc<Entry>, Action)>>);

fn name(about: &About) -> String {
    match about {
        About::Seq(seq) => format!("#{seq}"),
        About::Id(id) => id.to_string(),
    }
}

/// Whether it still goes on while it is listed: only a decision that names it settles that.
fn goes_on(code: &str) -> bool {
    // What wasn't taken came later than it happened: a decision of in between knew nothing of it.
    let still = [
        "over",
        "no-return",
        "not-taken",
        "unmarked",
        "label-late",
        "out-at-closing",
        "no-reading",
        "air-above",
        "air-silent",
    ];
    still.contains(&code)
}

impl Decisions {
    pub(super) fn of(state: &State) -> Decisions {
        let mut all: HashMap<String, Vec<_>> = HashMap::new();
        for e in state.others.values().filter_map(|r| r.effective(u64::MAX).ok().flatten()) {
            if let Body::Decide { about, action, .. } = &e.body {
                let (name, action) = (name(about), *action);
                all.entry(name).or_default().push((e, action));
            }
        }
        Decisions(all)
    }

    /// Whether one of them settles it.
    pub(super) fn settle(&self, code: &str, o: &Occurrence) -> bool {
        let Some(about) = &o.about else { return false };
        let key = key(code, o.at);
        let may = |action: &Action| actions(code).contains(action);
        let of = |name: String| self.0.get(&name).into_iter().flatten();
        of(name(about)).any(|(e, action)| match e.note.as_deref() {
            Some(note) if named(note).is_some() => note == key && may(action),
            _ => !goes_on(code) && o.at <= e.at && may(action),
        }) || o.entries.iter().flat_map(|seq| of(format!("#{seq}"))).any(|(e, action)| {
            let other = e.note.as_deref().and_then(named).is_some();
            !other && !goes_on(code) && may(action)
        })
    }
}
