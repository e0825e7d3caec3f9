//! The set-up's page: one step at a time, what was said in the others carried along.

use super::super::item::{RuleView, rule_view};
use super::super::{Asked, Shell};
use super::draft::{self, Draft, OWN_PLACES, STEPS, Step};
use crate::clock::{Instant, Zone};
use crate::lang;
use crate::ledger::{Id, Unit};
use crate::rules::book;
use crate::rules::regions::REGIONS;
use crate::web::show::Show;
use askama::Template;

/// The page.
#[derive(Template)]
#[template(path = "set_up.html")]
pub struct SetUp {
    shell: Shell,
    step: Step,
    action: String,
    progress: String,
    has_shop: bool,
    first: bool,
    last: bool,
    carried: Vec<(String, String)>,
    name: String,
    zones: Vec<(&'static str, bool)>,
    fahrenheit: bool,
    regions: Vec<Choice>,
    rules: Vec<Offer>,
    places: Vec<(&'static str, &'static str, &'static str, bool)>,
    own: Vec<(String, Vec<Choice>)>,
    products: Vec<Choice>,
    more_products: String,
    manager: String,
}

/// What to choose from: what the form says, the words for it, whether it is chosen.
type Choice = (&'static str, &'static str, bool);

/// A rule to choose.
struct Offer {
    id: String,
    view: RuleView,
    chosen: bool,
    proposed: bool,
}

fn region_name(id: &str) -> &'static str {
    match id {
        "us" => lang::region_us(),
        "uk" => lang::region_uk(),
        "au-nz" => lang::region_au_nz(),
        _ => lang::region_elsewhere(),
    }
}

fn title(step: Step) -> &'static str {
    match step {
        Step::Shop => lang::set_up_shop(),
        Step::Rules => lang::set_up_rules(),
        Step::Places => lang::set_up_places(),
        Step::Products => lang::set_up_products(),
        Step::Manager => lang::set_up_manager(),
    }
}

/// What a place of one's own can be: control and use, and its words.
pub(in super::super) fn kinds() -> [(&'static str, &'static str); 7] {
    [
        ("cold.store", lang::kind_cold_store()),
        ("frozen.store", lang::kind_frozen_store()),
        ("none.work", lang::kind_none_work()),
        ("cold.display", lang::kind_cold_display()),
        ("none.display", lang::kind_none_display()),
        ("none.transport", lang::kind_none_transport()),
        ("none.away", lang::kind_none_away()),
    ]
}

/// Builds it.
pub fn build(asked: &Asked, d: &Draft, step: Step, action: &str) -> SetUp {
    let f = &d.fields;
    let own = [&["go", "step", "password", "again", "key"][..], step.fields()].concat();
    let mut carried: Vec<(String, String)> = f.0.iter().filter(|(n, _)| !own.contains(&n.as_str())).cloned().collect();
    if !d.seen(step) {
        carried.push((String::from("seen"), step.word().to_owned()));
    }
    let seen = d.seen(step);
    let ticked = |name: &str, id: &str, by_itself: bool| if seen { f.all(name).any(|v| v == id) } else { by_itself };
    let text = |name: &str| f.get(name).unwrap_or_default().to_owned();
    let at = STEPS.iter().position(|s| *s == step).map_or(0, |n| n + 1);
    SetUp {
        shell: Shell::bare(asked),
        step,
        action: action.to_owned(),
        progress: lang::set_up_progress(&d.steps().len().to_string(), &at.to_string()),
        has_shop: d.has_shop,
        first: step.before() == step,
        last: d.after(step).is_none(),
        carried,
        name: text("name"),
        zones: Zone::names().map(|z| (z, f.get("zone") == Some(z))).collect(),
        fahrenheit: f.get("units") == Some("F"),
        regions: REGIONS.iter().map(|r| (r.id, region_name(r.id), f.get("region") == Some(r.id))).collect(),
        rules: offers(d),
        places: draft::places()
            .map(|(id, name, control, _, on)| (id, name, word(control), ticked("place", id, on)))
            .into(),
        own: own_places(d),
        products: draft::products().map(|(id, name)| (id, name, ticked("product", id, false))).into(),
        more_products: text("products"),
        manager: text("manager"),
    }
}

fn word(control: &str) -> &'static str {
    match control {
        "cold" => lang::control_cold(),
        "frozen" => lang::control_frozen(),
        _ => lang::control_none(),
    }
}

fn offers(d: &Draft) -> Vec<Offer> {
    let Some(region) = d.region() else { return Vec::new() };
    let units = if d.fields.get("units") == Some("F") { Unit::F } else { Unit::C };
    let show = Show { zone: Zone::UTC, units, now: Instant(0) };
    let chosen = d.rules();
    let offer = |id: &&str| {
        let rule = book::built_in(&Id::new(id)?)?;
        let (chosen, proposed) = (chosen.iter().any(|r| r.rule == rule.rule), region.proposed.contains(id));
        Some(Offer { id: (*id).to_owned(), view: rule_view(show, &rule), chosen, proposed })
    };
    region.proposed.iter().chain(region.offered).filter_map(offer).collect()
}

fn own_places(d: &Draft) -> Vec<(String, Vec<Choice>)> {
    let named = |name: &str| d.fields.0.iter().filter(|(n, _)| n == name).map(|(_, v)| v.clone()).collect();
    let (names, controls): (Vec<String>, Vec<String>) = (named("place-name"), named("place-control"));
    let row = |n: usize| {
        let chosen = controls.get(n).map_or("", String::as_str);
        let kinds = kinds().map(|(id, words)| (id, words, id == chosen));
        (names.get(n).cloned().unwrap_or_default(), kinds.into())
    };
    (0..OWN_PLACES.max(names.len().min(40))).map(row).collect()
}
