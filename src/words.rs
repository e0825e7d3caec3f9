//! Rules, clauses and places in plain sentences, for pages, paper and the written procedure alike.

use crate::lang;
use crate::ledger::{Action, CloseAs, Control, MarkHow};
use crate::rules::{AtLimit, Clause, Demand, Limit, LimitTemperature, Measure, Returns, Rule, Use, parse_duration};
use crate::show::Show;

/// A rule's name: of a built-in one in the language in force, of a shop's own as the shop wrote it.
pub fn rule_name(rule: &Rule) -> String {
    match rule.rule.as_str() {
        "house-2h-4h" => lang::book_house_2h_4h().to_owned(),
        "sum-2h-4h" => lang::book_sum_2h_4h().to_owned(),
        "us-time-4h" => lang::book_us_time_4h().to_owned(),
        "us-prep-then-4h" => lang::book_us_prep_then_4h().to_owned(),
        "us-time-6h" => lang::book_us_time_6h().to_owned(),
        "us-cooling" => lang::book_us_cooling().to_owned(),
        "uk-display-4h" => lang::book_uk_display_4h().to_owned(),
        "two-hour" => lang::book_two_hour().to_owned(),
        "banded-70f" => lang::book_banded_70f().to_owned(),
        "keep-7d" => lang::book_keep_7d().to_owned(),
        _ => rule.name.to_string(),
    }
}

/// Whether a place keeps food cold.
pub fn control(c: Control) -> &'static str {
    match c {
        Control::Cold => lang::control_cold(),
        Control::Frozen => lang::control_frozen(),
        Control::None => lang::control_none(),
    }
}

/// Whether food may go back into the cold.
pub fn returns(r: Returns) -> &'static str {
    match r {
        Returns::Any => lang::returns_any(),
        Returns::UntilUse => lang::returns_until_use(),
        Returns::Never => lang::returns_never(),
    }
}

/// What a breach asks for.
pub fn demand(d: Demand) -> &'static str {
    match d {
        Demand::Return => lang::demand_return(),
        Demand::Use => lang::demand_use(),
        Demand::Discard => lang::demand_discard(),
        Demand::Deviation => lang::demand_deviation(),
    }
}

/// What a place is used for.
pub fn place_use(u: &Use) -> &'static str {
    match u {
        Use::Store => lang::use_store(),
        Use::Work => lang::use_work(),
        Use::Display => lang::use_display(),
        Use::Transport => lang::use_transport(),
        Use::Away => lang::use_away(),
    }
}

/// A temperature of a rule, in the shop’s unit too where that comes out even.
pub fn degrees(show: Show, t: Option<&LimitTemperature>) -> String {
    t.and_then(|t| t.read().ok()).map_or_else(String::new, |t| show.limit(t))
}

/// A limit as it is written, in words.
pub fn limit(show: Show, l: &Limit) -> String {
    match l {
        Limit::Count(n) => n.to_string(),
        Limit::Time(text) => Show::left(parse_duration(text).unwrap_or(0)),
        Limit::Temperature(t) => degrees(show, Some(t)),
    }
}

/// What a clause limits: "4 h 00 min out in all".
pub fn measure(show: Show, c: &Clause) -> String {
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
pub fn clause(show: Show, c: &Clause) -> String {
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

/// How an item ended.
pub fn closed(c: CloseAs) -> &'static str {
    match c {
        CloseAs::Served => lang::closed_served(),
        CloseAs::Sold => lang::closed_sold(),
        CloseAs::Used => lang::closed_used(),
        CloseAs::HandedOver => lang::closed_handed_over(),
        CloseAs::Discarded => lang::closed_discarded(),
        CloseAs::Lost => lang::closed_lost(),
    }
}

/// How a mark got onto an item.
pub fn marked(how: MarkHow) -> &'static str {
    match how {
        MarkHow::Written => lang::mark_written(),
        MarkHow::Printed => lang::mark_printed(),
    }
}

/// What was done otherwise than the rules ask, by its code.
pub fn deviated(code: &str) -> &'static str {
    match code {
        "returned-late" => lang::dev_returned_late(),
        "returned-not-allowed" => lang::dev_returned_not_allowed(),
        "start-warm" => lang::dev_start_warm(),
        "start-unread" => lang::dev_start_unread(),
        "not-cooled" => lang::dev_not_cooled(),
        "made-from-over" => lang::dev_made_from_over(),
        "served-late" => lang::dev_served_late(),
        "label-late" => lang::dev_label_late(),
        "entered-late" => lang::dev_entered_late(),
        _ => "",
    }
}

/// What a decision did.
pub fn action(a: Action) -> &'static str {
    match a {
        Action::Acknowledge => lang::decide_acknowledge(),
        Action::Keep => lang::decide_keep(),
        Action::Corrected => lang::decide_corrected(),
        Action::Dismiss => lang::decide_dismiss(),
    }
}
