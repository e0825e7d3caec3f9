//! A food temperature; and whether a rule wants one before the item leaves the cold.

use super::Shell;
use super::forms::Fields;
use super::task::{self, Ctx, Head, Pick};
use crate::clock::{HOUR_MS, Instant};
use crate::lang;
use crate::ledger::{Body, Item, Place, State};
use crate::rules::{Measure, Standing};
use askama::Template;

/// How old a start reading may be (FDA Food Code 3-501.19 asks for one when the food leaves the cold; an hour is the
/// measure's own figure).
const FRESH_MS: i64 = HOUR_MS;

/// The page.
#[derive(Template)]
#[template(path = "temperature.html")]
pub(super) struct Temperature {
    shell: Shell,
    head: Head,
    unit: &'static str,
    ago: Vec<Pick>,
    whys: Vec<Pick>,
    f: Fields,
}

/// Builds it.
pub(super) fn build(c: &Ctx) -> Option<Temperature> {
    Some(Temperature {
        shell: c.shell(),
        head: c.head("temperature", lang::temperature_title())?,
        unit: c.show.unit(),
        ago: task::ago(c.fields),
        whys: task::whys(c.fields),
        f: c.fields.clone(),
    })
}

/// Whether a rule of the item begins its clock with a move to that place and wants the food read before.
pub(super) fn wanted(state: &State, item: &Item, s: &Standing, to: &Place, now: Instant) -> bool {
    let Some((entry, begin)) = item.begin() else { return false };
    let fresh = |at: Instant| now.since(at) < FRESH_MS;
    if item.truth.iter().any(|e| matches!(e.body, Body::FoodReading { .. }) && fresh(e.at)) {
        return false;
    }
    let been = |e: &std::sync::Arc<crate::ledger::Entry>| match &e.body {
        Body::Item(b) => state.places.get(&b.place).cloned(),
        Body::Move { place, .. } => state.places.get(place).cloned(),
        _ => None,
    };
    let out: Vec<_> =
        item.truth.iter().filter_map(been).filter(|p| p.control == crate::ledger::Control::None).collect();
    state.rules_of(begin, entry.meta.seq).iter().flat_map(|r| &r.clauses).any(|clause| match clause.measure {
        Measure::StartTemperature { uses, .. } if uses == crate::rules::Uses::ALL => s.first_out_at.is_none(),
        Measure::StartTemperature { uses, .. } => uses.covers(to.r#use) && !out.iter().any(|p| uses.covers(p.r#use)),
        _ => false,
    })
}
