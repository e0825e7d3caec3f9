//! A plan that is kept under an order's name: a checklist of what is still to be done. What was done is read from the
//! ledger, so a move ticks it wherever it was tapped. Pure.

use super::Asked;
use crate::clock::Instant;
use crate::ledger::{Body, Entry, From, Id, Parsed, State, parse};
use crate::rules::Verdict;
use serde_json::Value;
use std::sync::Arc;

/// The id that a planned item has until it is begun for real.
pub const TO_BEGIN: &str = "to-begin";
/// Plans a shop keeps at most that aren't over: this project's choice.
pub const KEPT_MOST: usize = 200;
/// Characters of an order's name at most.
pub const NAME: usize = 80;

/// A plan that is kept.
#[derive(Clone, PartialEq, Debug)]
pub struct Kept {
    /// Its id.
    pub plan: Id,
    /// The order's name.
    pub name: String,
    /// The item; none until it is begun for real.
    pub item: Option<Id>,
    /// Its steps as entries with their times, the item called [`TO_BEGIN`] where the first begins it.
    pub steps: Vec<Value>,
    /// When it is to be served.
    pub serve_at: Instant,
    /// The ledger's head when it was made: what was written before is no step of it.
    pub head: u64,
}

/// A step of the list.
#[derive(Clone, PartialEq, Debug)]
pub struct Step {
    /// The step as an entry.
    pub body: Body,
    /// When it was planned for.
    pub at: Instant,
    /// When it was done.
    pub done: Option<Instant>,
    /// Whether a later one was done already: it was left out.
    pub passed: bool,
}

impl Kept {
    /// Its steps, about the item as it is called by now.
    fn parsed(&self) -> Vec<Parsed> {
        let named = |mut step: Value| {
            if let Some(item) = self.item.as_ref().filter(|_| step["item"] == TO_BEGIN) {
                step["item"] = Value::from(item.as_str());
            }
            parse(&step.to_string(), From::Caller).ok()
        };
        self.steps.iter().cloned().filter_map(named).collect()
    }

    /// The list, what was done ticked off in order.
    pub fn steps(&self, state: &State) -> Vec<Step> {
        let item = self.item.as_ref().and_then(|id| state.items.get(id));
        let mut truth: &[Arc<Entry>] = item.map_or(&[], |i| &i.truth);
        let mut steps = Vec::new();
        for parsed in self.parsed() {
            let Some(at) = parsed.at else { continue };
            for body in parsed.bodies {
                let is = |e: &Arc<Entry>| match (&e.body, &body) {
                    // Begun for real, whatever it was called.
                    (Body::Item(_), Body::Item(_)) => true,
                    (a, b) => e.meta.seq > self.head && a == b,
                };
                let found = truth.iter().position(is);
                let done = found.map(|i| truth[i].at);
                if let Some(i) = found {
                    truth = &truth[i + 1..];
                }
                steps.push(Step { body, at, done, passed: false });
            }
        }
        let last = steps.iter().rposition(|s| s.done.is_some());
        for (i, step) in steps.iter_mut().enumerate() {
            step.passed = step.done.is_none() && last.is_some_and(|last| i < last);
        }
        steps
    }

    /// What is left of it, as if each step were taken on time, or now where its time has gone by; later ones move along
    /// only as far as they must. None if the item is there no more.
    pub fn rest(&self, state: &State, now: Instant) -> Option<Asked> {
        let begun = self.item.as_ref().map(|id| state.items.get(id).filter(|i| i.end().is_none()).map(|_| id.clone()));
        let item = match begun {
            None => None,
            Some(there) => Some(there?),
        };
        let mut last = now;
        let mut steps = Vec::new();
        for step in self.steps(state).into_iter().filter(|s| s.done.is_none() && !s.passed) {
            last = last.max(step.at);
            let bodies = vec![step.body];
            let meta = crate::ledger::Meta::default();
            steps.push(Parsed { at: Some(last), note: None, bodies, id_missing: false, meta, has_seq: false });
        }
        Some(Asked { item, steps, serve_at: self.serve_at.max(last) })
    }
}

/// An item that is over a limit, or will be soon if nobody moves it.
#[derive(Clone, PartialEq, Debug)]
pub struct Coming {
    /// When.
    pub at: Instant,
    /// The item.
    pub item: Id,
    /// What it will be.
    pub verdict: Verdict,
}

/// What comes within a while if nobody moves anything, by time; `standings` as of now.
pub fn coming(standings: &[crate::rules::Standing], now: Instant, within_ms: i64) -> Vec<Coming> {
    let until = now.plus(within_ms);
    let of = |s: &crate::rules::Standing| {
        let item = s.item.clone();
        let turns = crate::board::due::ahead(s, &[]).into_iter();
        turns.map(move |d| Coming { at: d.at, item: item.clone(), verdict: d.threshold.verdict }).collect::<Vec<_>>()
    };
    let mut all: Vec<Coming> = standings.iter().flat_map(of).filter(|c| c.at <= until).collect();
    all.sort_by(|a, b| (a.at, &a.item).cmp(&(b.at, &b.item)));
    all
}
