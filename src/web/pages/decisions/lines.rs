//! One line of the list in words: what it is, what it is about, what mends it, what may be decided.

use super::super::forms::Fields;
use super::super::taps::Stories;
use super::super::{Asked, log, name_of, place_name, rule_name};
use super::handle;
use crate::board::cold::{Proposal, Why};
use crate::board::decisions::{self, Matter, Occurrence};
use crate::clock::{MINUTE_MS, SECOND_MS};
use crate::lang;
use crate::ledger::{Action, Id, State};
use crate::web::show::Show;
use crate::words::action;

/// What lines are made from.
pub(super) struct Ctx<'a> {
    pub state: &'a State,
    pub show: Show,
    pub asked: &'a Asked<'a>,
    /// What a refused form had in it.
    pub fields: &'a Fields,
}

/// One thing a line is about.
pub(super) struct Of {
    pub says: String,
    /// The item's page.
    pub item: Option<(Id, String)>,
    /// Ways to what mends it: the address behind the shop's, and what stands on it.
    pub ways: Vec<(String, &'static str)>,
    /// What a device says and what the log says, where the two differ.
    pub stories: Option<Stories>,
}

/// A line.
pub(super) struct Line {
    pub code: &'static str,
    pub title: &'static str,
    pub since: String,
    pub of: Vec<Of>,
    /// The occurrences, as the form names them.
    pub handles: Vec<String>,
    pub actions: Vec<(&'static str, &'static str, bool)>,
    /// The rule that an approval would be of.
    pub approve: Option<Id>,
    /// Whether a refused form was this one's.
    pub open: bool,
    pub reason: String,
}

/// As a form and the ledger write it.
pub(super) fn word(a: Action) -> &'static str {
    match a {
        Action::Acknowledge => "acknowledge",
        Action::Keep => "keep",
        Action::Corrected => "corrected",
        Action::Dismiss => "dismiss",
    }
}

fn title(code: &str) -> &'static str {
    match code {
        "over" => lang::matter_over(),
        "no-return" => lang::matter_no_return(),
        "not-taken" => lang::matter_not_taken(),
        "seen-elsewhere" => lang::matter_seen(),
        "out-at-closing" => lang::matter_closing(),
        "unmarked" => lang::matter_unmarked(),
        "air-above" => lang::matter_air_above(),
        "air-silent" => lang::matter_air_silent(),
        "clock-jumped" => lang::matter_clock(),
        "burst" => lang::matter_burst(),
        "late" => lang::matter_late(),
        "no-reading" => lang::matter_no_reading(),
        "rule-unapproved" => lang::matter_rule(),
        "no-procedure" => lang::matter_no_procedure(),
        "procedure-review" => lang::matter_procedure(),
        "unsigned" => lang::matter_unsigned(),
        deviation => super::super::words::deviated(deviation),
    }
}

impl Line {
    pub(super) fn of(c: &Ctx, m: &Matter) -> Line {
        let about = |o: &Occurrence| Some(handle(o.about.as_ref()?, o.at));
        let handles: Vec<String> = m.of.iter().filter_map(about).collect();
        let open = c.fields.is("code", m.code) && handles.iter().any(|h| c.fields.is("of", h));
        let chosen = |a: Action| open && c.fields.is("action", word(a));
        let actions = decisions::actions(m.code).iter().map(|a| (word(*a), action(*a), chosen(*a))).collect();
        Line {
            code: m.code,
            title: title(m.code),
            since: match m.code {
                "unsigned" => c.show.date(m.since),
                _ => c.show.clock(m.since),
            },
            of: m.of.iter().map(|o| of(c, m.code, o)).collect(),
            handles,
            actions,
            approve: m.of.first().and_then(|o| o.rule.clone()).filter(|_| m.code == "rule-unapproved"),
            reason: if open { c.fields.raw("reason").to_owned() } else { String::new() },
            open,
        }
    }
}

fn of(c: &Ctx, code: &str, o: &Occurrence) -> Of {
    let place = o.place.as_ref().map(|id| place_name(c.state, id)).unwrap_or_default();
    let (when, who) = (c.show.clock(o.at), log::who(c.asked, o.by.as_ref()));
    let says = match code {
        "seen-elsewhere" => lang::matter_seen_in(&place, &when, &who),
        "out-at-closing" => lang::matter_closing_in(&place, &when),
        "late" if o.item.is_none() => lang::matter_late_place(&place, &Show::used(o.ms), &when, &who),
        "late" => lang::matter_late_by(&Show::used(o.ms), &when, &who),
        "burst" => lang::matter_burst_by(&o.entries.len().to_string(), &Show::used(o.ms), &when, &who),
        "clock-jumped" if o.ms < 0 => lang::matter_clock_back(&jump(-o.ms), &when),
        "clock-jumped" => lang::matter_clock_on(&jump(o.ms), &when),
        "no-reading" => lang::matter_no_reading_in(&place, &c.show.clock(o.since)),
        "air-above" | "air-silent" => o.lapse.as_ref().map(|p| lapse(c.show, &place, p)).unwrap_or_default(),
        "rule-unapproved" => {
            let rule = o.rule.as_ref().and_then(|id| c.state.rules.get(id));
            let basis = rule.map_or_else(String::new, |(_, r)| r.source.basis.to_string());
            let name = o.rule.as_ref().map(|id| rule_name(c.state, id)).unwrap_or_default();
            lang::matter_rule_basis(&basis, &name)
        }
        "unsigned" | "no-procedure" | "procedure-review" | "not-taken" => String::new(),
        _ => match &o.rule {
            Some(rule) => lang::matter_in_rule(&place, &rule_name(c.state, rule), &when),
            None => lang::matter_in(&place, &when),
        },
    };
    let item = o.item.as_ref().filter(|_| code != "burst").map(|id| (id.clone(), name_of(c.state, id)));
    let stories = o.untaken.as_ref().map(|u| Stories::of(c.state, c.show, c.asked, u));
    Of { says, item, ways: ways(c, code, o), stories }
}

/// How far a clock jumped.
fn jump(ms: i64) -> String {
    if ms < MINUTE_MS { Show::seconds(ms / SECOND_MS) } else { Show::used(ms) }
}

/// What a place's air says, or that it says nothing.
fn lapse(show: Show, place: &str, p: &Proposal) -> String {
    let (from, since, limit) = (show.clock(p.from), show.clock(p.since), show.limit(p.limit));
    match (p.warmest.filter(|_| p.why == Why::Above), p.until.map(|t| show.clock(t))) {
        (Some(r), None) => lang::matter_air_on(&from, &limit, place, &since, &show.degrees(r.value)),
        (Some(r), Some(until)) => lang::matter_air_over(&from, &limit, place, &since, &until, &show.degrees(r.value)),
        (None, None) => lang::matter_silent_on(&from, place, &since),
        (None, Some(until)) => lang::matter_silent_over(&from, place, &since, &until),
    }
}

/// What mends it.
fn ways(c: &Ctx, code: &str, o: &Occurrence) -> Vec<(String, &'static str)> {
    let on = || crate::clock::Zone::date_text(c.show.zone.day(o.at));
    match code {
        "unsigned" => return vec![(format!("review?on={}", on()), lang::review_go())],
        "no-procedure" | "procedure-review" => {
            return vec![(String::from("procedure"), lang::procedure_board_go())];
        }
        "air-above" | "air-silent" => return vec![(String::from("cold"), lang::way_cold())],
        "no-reading" => {
            return o.place.iter().map(|p| (format!("round/{p}"), lang::way_read())).collect();
        }
        // The stories have theirs.
        "not-taken" => return Vec::new(),
        "rule-unapproved" => return vec![(String::from("shop#rules"), lang::way_rule())],
        "clock-jumped" => return vec![(format!("review?on={}", on()), lang::way_day())],
        "burst" | "late" => {
            let mut ways = vec![(format!("review?on={}", on()), lang::way_day())];
            ways.extend(o.item.iter().filter(|_| code == "late").map(|i| correct(i)));
            return ways;
        }
        _ => {}
    }
    let Some(item) = &o.item else { return Vec::new() };
    let to = |what: &str, label| (format!("items/{item}/{what}"), label);
    match (code, o.closed) {
        ("over", _) => vec![to("end", lang::way_discard())],
        ("no-return", _) => vec![to("end", lang::way_end())],
        ("label-late" | "unmarked", false) => vec![to("mark", lang::mark_anew())],
        ("seen-elsewhere" | "out-at-closing", _) => {
            vec![to("earlier", lang::earlier_title()), to("end", lang::way_end()), correct(item)]
        }
        _ => vec![correct(item)],
    }
}

fn correct(item: &Id) -> (String, &'static str) {
    (format!("items/{item}/correct"), lang::way_correct())
}
