//! What only people know: the fields a manager fills in, which of them a procedure cannot do without, and what may
//! stand in them.

use crate::clock::Zone;
use crate::lang::{self, Lang};
use crate::ledger::{Id, Product, State};
use crate::rules::Measure;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Most characters in a field.
pub const MOST: usize = 2_000;
/// The field that says when the procedure is to be looked through again.
pub const REVIEW_ON: &str = "review-on";

/// How a field is filled in.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kind {
    /// In a line.
    Line,
    /// In as many as it takes.
    Text,
    /// A date, like `2026-05-02`.
    Date,
}

/// When a procedure cannot do without a field.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Needed {
    /// Always.
    Always,
    /// Where a rule of a product asks for the food's temperature.
    IfRead,
    /// Never.
    Never,
}

/// Something to be filled in.
#[derive(Debug)]
pub struct Field {
    /// Stable.
    pub id: &'static str,
    /// The section it stands in.
    pub section: &'static str,
    /// The question.
    pub ask: fn() -> &'static str,
    /// What belongs in it.
    pub hint: fn() -> &'static str,
    /// How it is filled in.
    pub kind: Kind,
    /// When it is needed.
    pub needed: Needed,
    /// Whether it is asked of each product that is under time control.
    pub each: bool,
}

macro_rules! fields {
    ($($id:literal $section:literal $kind:ident $needed:ident $each:literal $ask:ident $hint:ident;)+) => {
        /// All of them, in order of the sections.
        pub const FIELDS: &[Field] = &[$(Field {
            id: $id, section: $section, ask: lang::$ask, hint: lang::$hint,
            kind: Kind::$kind, needed: Needed::$needed, each: $each,
        }),+];
    };
}

fields! {
    "owner" "shop" Line Never false procedure_owner procedure_owner_hint;
    "address" "shop" Text Always false procedure_address procedure_address_hint;
    "licence" "shop" Line Always false procedure_licence procedure_licence_hint;
    "trade" "shop" Line Never false procedure_trade procedure_trade_hint;
    "in-charge" "shop" Line Always false procedure_in_charge procedure_in_charge_hint;
    "agreement" "rules" Text Never false procedure_agreement procedure_agreement_hint;
    "ingredients" "foods" Text Always true procedure_ingredients procedure_ingredients_hint;
    "making" "foods" Text Always true procedure_making procedure_making_hint;
    "cooling" "foods" Text Always false procedure_cooling procedure_cooling_hint;
    "held" "places" Text Always false procedure_held procedure_held_hint;
    "marking" "marking" Text Always false procedure_marking procedure_marking_hint;
    "watching" "watch" Text IfRead false procedure_watching procedure_watching_hint;
    "thermometers" "watch" Text Always false procedure_thermometers procedure_thermometers_hint;
    "who-discards" "discard" Line Always false procedure_who_discards procedure_who_discards_hint;
    "how-discards" "discard" Text Always false procedure_how_discards procedure_how_discards_hint;
    "where-written" "discard" Text Always false procedure_where_written procedure_where_written_hint;
    "over" "wrong" Text Always false procedure_over procedure_over_hint;
    "failure" "wrong" Text Always false procedure_failure procedure_failure_hint;
    "training" "people" Text Always false procedure_training procedure_training_hint;
    "checking" "people" Text Always false procedure_checking procedure_checking_hint;
    "kept" "record" Text Always false procedure_kept procedure_kept_hint;
    "review-on" "review" Date Always false procedure_review_on procedure_review_on_hint;
    "review-when" "review" Text Never false procedure_review_when procedure_review_when_hint;
}

/// Where the language of the whole text stands among what people wrote.
pub const LANGUAGE: &str = "language";

/// What people wrote, by field; a product's field has its id behind a dot.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Typed(pub BTreeMap<String, String>);

impl Typed {
    /// What stands in a field; nothing where it is empty.
    pub fn get(&self, key: &str) -> Option<&str> {
        self.0.get(key).map(String::as_str).filter(|text| !text.is_empty())
    }

    /// As a draft keeps it.
    pub fn json(&self) -> String {
        serde_json::to_string(&self.0).unwrap_or_default()
    }

    /// From what a draft kept.
    pub fn read(text: &str) -> Typed {
        Typed(serde_json::from_str(text).unwrap_or_default())
    }

    /// From what was sent: the shop's fields alone, line ends and spaces made even.
    pub fn sent<'a>(state: &State, sent: impl Fn(&str) -> &'a str) -> Typed {
        let even = |text: &str| {
            let lines: Vec<&str> = text.lines().map(str::trim_end).collect();
            lines.join("\n").trim().to_owned()
        };
        let fields = asked(state).into_iter().map(|(key, ..)| (key.clone(), even(sent(&key))));
        let language = Lang::named(sent(LANGUAGE)).map(|l| (LANGUAGE.to_owned(), l.tag().to_owned()));
        Typed(fields.filter(|(_, text)| !text.is_empty()).chain(language).collect())
    }
}

/// The products as they are now, by name, and whether time is their control.
pub fn products(state: &State) -> impl Iterator<Item = (&Id, &Arc<Product>, bool)> {
    let now = state.products.iter().filter_map(|(id, versions)| versions.last().map(|(_, p)| (id, p)));
    let mut now: Vec<(&Id, &Arc<Product>)> = now.collect();
    now.sort_by(|(a, x), (b, y)| (&x.name, a).cmp(&(&y.name, b)));
    now.into_iter().map(|(id, p)| (id, p, !p.rules.is_empty()))
}

/// Whether a rule of a product asks for the food's temperature.
fn is_read(state: &State) -> bool {
    let rules = products(state).flat_map(|(_, p, _)| p.rules.iter()).filter_map(|id| state.rule(id, u64::MAX));
    rules.flat_map(|r| r.clauses.clone()).any(|c| {
        let read = matches!(c.measure, Measure::FoodTemperature { .. } | Measure::StartTemperature { .. });
        read || matches!(c.measure, Measure::Cooled { .. })
    })
}

/// Every field the shop is asked for: its key, the field, and the product's name where it is about one.
pub fn asked(state: &State) -> Vec<(String, &'static Field, Option<String>)> {
    let each = |f: &'static Field| {
        let mut found = Vec::new();
        if f.each {
            for (id, product, _) in products(state).filter(|(.., timed)| *timed) {
                found.push((format!("{}.{id}", f.id), f, Some(product.name.to_string())));
            }
        } else {
            found.push((f.id.to_owned(), f, None));
        }
        found
    };
    FIELDS.iter().flat_map(each).collect()
}

/// Whether the shop's procedure cannot do without that field.
pub fn is_needed(state: &State, field: &Field) -> bool {
    match field.needed {
        Needed::Always => true,
        Needed::IfRead => is_read(state),
        Needed::Never => false,
    }
}

/// A field that is needed and empty.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Missing {
    /// Its key.
    pub key: String,
    /// Its name, with the product's where it is about one.
    pub name: String,
}

/// What is still to be filled in.
pub fn missing(state: &State, typed: &Typed) -> Vec<Missing> {
    let needed = asked(state).into_iter().filter(|(key, f, _)| is_needed(state, f) && typed.get(key).is_none());
    needed.map(|(key, f, about)| Missing { key, name: named(f, about.as_deref()) }).collect()
}

/// A field's name, with the product's where it is about one.
fn named(field: &Field, about: Option<&str>) -> String {
    about.map_or_else(|| (field.ask)().to_owned(), |about| lang::procedure_of(about, (field.ask)()))
}

/// What a field cannot have in it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Fault {
    /// More than [`MOST`] characters: the field's key and name, and how many there are.
    Long(String, String, usize),
    /// Not a date.
    NoDate(String, String),
}

impl Fault {
    /// The field's key.
    pub fn key(&self) -> &str {
        match self {
            Fault::Long(key, ..) | Fault::NoDate(key, _) => key,
        }
    }
}

/// What cannot be kept, not even as a draft.
pub fn faults(state: &State, typed: &Typed) -> Vec<Fault> {
    let fault = |(key, field, about): (String, &'static Field, Option<String>)| {
        let (text, name) = (typed.get(&key)?, named(field, about.as_deref()));
        let long = text.chars().count();
        if long > MOST {
            return Some(Fault::Long(key, name, long));
        }
        (field.kind == Kind::Date && Zone::parse_date(text).is_none()).then_some(Fault::NoDate(key, name))
    };
    asked(state).into_iter().filter_map(fault).collect()
}

/// What keeps a procedure from being approved on a local date: a field's key and a sentence each.
pub fn hinders(state: &State, typed: &Typed, today: i64) -> Vec<(String, String)> {
    let empty = missing(state, typed).into_iter().map(|m| (m.key, lang::procedure_missing(&m.name)));
    let past = typed.get(REVIEW_ON).filter(|text| Zone::parse_date(text).is_none_or(|day| day <= today));
    let past = past.map(|text| (REVIEW_ON.to_owned(), lang::procedure_review_not_ahead(text)));
    empty.chain(past).collect()
}
