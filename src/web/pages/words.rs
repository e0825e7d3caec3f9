//! Clauses, reasons, deviations and kinds in plain sentences.

use super::rule_name;
use crate::exposure::Used;
use crate::lang;
use crate::ledger::{Body, Entry, Id, State};
use crate::rules::{Clause, Deviation, Measure};
use crate::web::show::Show;
pub(super) use crate::words::{clause, closed, control, deviated, marked, measure, returns};
use crate::words::{degrees, demand, limit};

/// Why a breached clause is breached.
pub(super) fn reason(show: Show, rule: &str, c: &Clause, used: &Used) -> String {
    let max = limit(show, &c.text.limit);
    let used = match used {
        Used::Ms(ms) => Show::used(*ms),
        Used::Count(n) => n.to_string(),
        Used::Degrees(Some(t)) => show.degrees(*t),
        Used::Degrees(None) => String::new(),
    };
    let what = match c.measure {
        Measure::TotalOut { .. } => lang::why_total_out(&max, &used),
        Measure::SinceFirstOut { .. } => lang::why_since_first_out(&max, &used),
        Measure::Spells { .. } => lang::why_spells(&max, &used),
        Measure::LongestSpell { .. } => lang::why_longest_spell(&max, &used),
        Measure::OutAbove { .. } => lang::why_out_above(&degrees(show, c.text.above.as_ref()), &max, &used),
        Measure::FoodTemperature { .. } => lang::why_food_temperature(&max, &used),
        Measure::StartTemperature { .. } if used.is_empty() => lang::why_start_unread().to_owned(),
        Measure::StartTemperature { .. } => lang::why_start_temperature(&max, &used),
        Measure::Day { .. } => lang::why_day(&max, &used),
        Measure::Cooled { .. } => lang::why_cooled(&max, &degrees(show, c.text.to.as_ref()), &used),
    };
    lang::why_line(demand(c.demand), rule, &what)
}

/// What was done otherwise than the rules ask.
pub(super) fn deviation(show: Show, state: &State, d: &Deviation) -> String {
    let what = deviated(d.code);
    match &d.rule {
        Some(rule) => lang::dev_line_rule(&show.clock(d.at), &rule_name(state, rule), what),
        None => lang::dev_line(&show.clock(d.at), what),
    }
}

/// Where an entry took it.
pub(super) fn went(state: &State, e: &Entry) -> String {
    match &e.body {
        Body::Move { place, .. } => super::place_name(state, place),
        Body::Close { r#as, .. } => closed(*r#as).to_owned(),
        _ => String::new(),
    }
}

/// Names in a row.
pub(super) fn names(state: &State, ids: &[Id]) -> String {
    let names: Vec<String> = ids.iter().map(|id| super::name_of(state, id)).collect();
    names.join(", ")
}
