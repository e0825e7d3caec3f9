//! Clauses, reasons, deviations and kinds in plain sentences.

use super::rule_name;
use crate::exposure::Used;
use crate::lang;
use crate::ledger::{CloseAs, Control, Id, MarkHow, State};
use crate::rules::{
    AtLimit, Clause, Demand, Deviation, Limit, LimitTemperature, Measure, Returns, Use, parse_duration,
};
use crate::web::show::Show;

pub(super) fn control(c: Control) -> &'static str {
    match c {
        Control::Cold => lang::control_cold(),
        Control::Frozen => lang::control_frozen(),
        Control::None => lang::control_none(),
    }
}

pub(super) fn closed(c: CloseAs) -> &'static str {
    match c {
        CloseAs::Served => lang::closed_served(),
        CloseAs::Sold => lang::closed_sold(),
        CloseAs::Used => lang::closed_used(),
        CloseAs::HandedOver => lang::closed_handed_over(),
        CloseAs::Discarded => lang::closed_discarded(),
        CloseAs::Lost => lang::closed_lost(),
    }
}

pub(super) fn marked(how: MarkHow) -> &'static str {
    match how {
        MarkHow::Written => lang::mark_written(),
        MarkHow::Printed => lang::mark_printed(),
    }
}

pub(super) fn returns(r: Returns) -> &'static str {
    match r {
        Returns::Any => lang::returns_any(),
        Returns::UntilUse => lang::returns_until_use(),
        Returns::Never => lang::returns_never(),
    }
}

fn demand(d: Demand) -> &'static str {
    match d {
        Demand::Return => lang::demand_return(),
        Demand::Use => lang::demand_use(),
        Demand::Discard => lang::demand_discard(),
        Demand::Deviation => lang::demand_deviation(),
    }
}

fn place_use(u: &Use) -> &'static str {
    match u {
        Use::Store => lang::use_store(),
        Use::Work => lang::use_work(),
        Use::Display => lang::use_display(),
        Use::Transport => lang::use_transport(),
        Use::Away => lang::use_away(),
    }
}

fn degrees(show: Show, t: Option<&LimitTemperature>) -> String {
    t.and_then(|t| t.read().ok()).map_or_else(String::new, |t| show.limit(t))
}

/// A limit as it is written, in words.
fn limit(show: Show, l: &Limit) -> String {
    match l {
        Limit::Count(n) => n.to_string(),
        Limit::Time(text) => Show::left(parse_duration(text).unwrap_or(0)),
        Limit::Temperature(t) => degrees(show, Some(t)),
    }
}

/// What a clause limits: "4 h 00 min out in all".
pub(super) fn measure(show: Show, c: &Clause) -> String {
    let max = limit(show, &c.text.limit);
    match c.measure {
        Measure::TotalOut { .. } => lang::clause_total_out(&max),
        Measure::SinceFirstOut { .. } => lang::clause_since_first_out(&max),
        Measure::Spells { .. } => lang::clause_spells(&max),
        Measure::LongestSpell { .. } => lang::clause_longest_spell(&max),
        Measure::OutAbove { .. } => lang::clause_out_above(&degrees(show, c.text.above.as_ref()), &max),
        Measure::FoodTemperature { .. } => lang::clause_food_temperature(&max),
        Measure::StartTemperature { .. } => lang::clause_start_temperature(&max),
        Measure::Day { .. } => lang::clause_day(&max),
        Measure::Cooled { .. } => lang::clause_cooled(&max, &degrees(show, c.text.to.as_ref())),
    }
}

/// A whole clause: what it asks for, from when, and what it counts.
pub(super) fn clause(show: Show, c: &Clause) -> String {
    let timed = matches!(c.text.limit, Limit::Time(_)) && !matches!(c.measure, Measure::Cooled { .. });
    let what = match (timed, c.at_limit) {
        (false, _) => measure(show, c),
        (true, AtLimit::Breach) => lang::clause_at(&measure(show, c)),
        (true, AtLimit::Allowed) => lang::clause_past(&measure(show, c)),
    };
    match &c.text.uses {
        None => lang::clause_line(demand(c.demand), &what),
        Some(uses) => {
            let uses: Vec<&str> = uses.iter().map(place_use).collect();
            lang::clause_line_uses(demand(c.demand), &uses.join(", "), &what)
        }
    }
}

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
    let what = match d.code {
        "returned-late" => lang::dev_returned_late(),
        "returned-not-allowed" => lang::dev_returned_not_allowed(),
        "start-warm" => lang::dev_start_warm(),
        "start-unread" => lang::dev_start_unread(),
        "not-cooled" => lang::dev_not_cooled(),
        "made-from-over" => lang::dev_made_from_over(),
        "served-late" => lang::dev_served_late(),
        "label-late" => lang::dev_label_late(),
        "entered-late" => lang::dev_entered_late(),
        other => other,
    };
    match &d.rule {
        Some(rule) => lang::dev_line_rule(&show.clock(d.at), &rule_name(state, rule), what),
        None => lang::dev_line(&show.clock(d.at), what),
    }
}

/// Names in a row.
pub(super) fn names(state: &State, ids: &[Id]) -> String {
    let names: Vec<String> = ids.iter().map(|id| super::name_of(state, id)).collect();
    names.join(", ")
}
