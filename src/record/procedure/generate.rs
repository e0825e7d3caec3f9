//! The document from the live set-up and what people wrote. The same set-up and words make the same text to the byte,
//! whatever the time: so a hash seals it.

use super::fields::{FIELDS, Field, LANGUAGE, Typed, products};
use super::{Document, FORMAT, Facts, Line, Person, Section};
use crate::clock::{Instant, MINUTE_MS, Zone};
use crate::lang::{self, Lang};
use crate::ledger::{Body, Control, Entry, Id, Product, State};
use crate::rules::{Clause, Demand, Measure, Rule, Use, book};
use crate::show::Show;
use crate::words;
use std::sync::Arc;

/// The shop as its procedure shows it.
pub struct Shop<'a> {
    /// Its set-up.
    pub state: &'a State,
    /// Who works there.
    pub people: &'a [Person],
    /// What managers approved, as it reads now, in order.
    pub approved: &'a [Arc<Entry>],
}

/// Makes the document, in the language that was chosen for it: the same whoever looks at it.
pub fn document(shop: &Shop, typed: &Typed) -> Document {
    let language = typed.get(LANGUAGE).and_then(Lang::named).unwrap_or(Lang::En);
    lang::within(language, || in_language(shop, typed))
}

fn in_language(shop: &Shop, typed: &Typed) -> Document {
    let state = shop.state;
    let show = Show::of(state, Instant(0));
    let mut b = Build { typed, sections: Vec::new() };
    let name = state.site.as_ref().map_or_else(String::new, |s| s.name.to_string());
    b.section("shop", lang::procedure_shop());
    b.say("name", "", lang::procedure_name(), vec![name.clone()]);
    b.fields("shop");
    b.section("rules", lang::procedure_rules());
    for (_, rule) in state.rules.values() {
        b.rule(shop, show, rule);
    }
    b.say("defers", "", lang::procedure_defers(), vec![book::defers().to_owned()]);
    b.fields("rules");
    b.section("foods", lang::procedure_foods());
    for (id, product, timed) in products(state) {
        b.product(state, show, id, product, timed);
    }
    b.fields("foods");
    b.section("clock", lang::procedure_clock());
    for (id, sentence, rules) in starts(state) {
        b.say(&id, "", &rules.join("; "), vec![sentence]);
    }
    b.say("clock", "", lang::procedure_handed_on(), vec![lang::procedure_handed_on_how().to_owned()]);
    b.section("places", lang::procedure_places());
    for (id, place) in &state.places {
        let runs = match place.control {
            Control::None => lang::procedure_runs(),
            Control::Cold | Control::Frozen => lang::procedure_stands(),
        };
        let what = lang::procedure_place(words::control(place.control), words::place_use(&place.r#use));
        b.say(&format!("place.{id}"), "", &place.name, vec![what, runs.to_owned()]);
    }
    b.fields("places");
    b.section("marking", lang::procedure_marks());
    b.say("mark", "", lang::procedure_mark(), vec![lang::procedure_mark_how().to_owned()]);
    b.fields("marking");
    b.section("watch", lang::procedure_watch());
    let mut asks = false;
    for (id, (_, rule)) in &state.rules {
        let readings: Vec<String> = rule.clauses.iter().filter_map(|c| reads(show, c)).collect();
        asks |= !readings.is_empty();
        if !readings.is_empty() {
            b.say(&format!("watch.{id}"), "", &words::rule_name(rule), readings);
        }
    }
    if !asks {
        b.say("watch", "", lang::procedure_unwatched(), vec![lang::procedure_unwatched_why().to_owned()]);
    }
    b.fields("watch");
    b.section("discard", lang::procedure_discard());
    b.say("ended", "", lang::procedure_ended(), vec![lang::procedure_ended_how().to_owned()]);
    b.fields("discard");
    b.section("wrong", lang::procedure_wrong());
    b.fields("wrong");
    b.section("people", lang::procedure_people());
    b.people(shop.people);
    b.fields("people");
    b.section("record", lang::procedure_record());
    b.say("recorded", "", lang::procedure_recorded(), vec![lang::procedure_recorded_how().to_owned()]);
    b.fields("record");
    b.section("review", lang::procedure_review());
    b.fields("review");
    let (language, facts) = (lang::spoken().tag().to_owned(), facts(state));
    Document { format: FORMAT, language, shop: name, sections: b.sections, facts, typed: typed.0.clone() }
}

/// A document in the making.
struct Build<'a> {
    typed: &'a Typed,
    sections: Vec<Section>,
}

impl Build<'_> {
    fn section(&mut self, id: &str, title: &str) {
        self.sections.push(Section { id: id.to_owned(), title: title.to_owned(), lines: Vec::new() });
    }

    fn push(&mut self, line: Line) {
        if let Some(section) = self.sections.last_mut() {
            section.lines.push(line);
        }
    }

    fn say(&mut self, id: &str, group: &str, ask: &str, answer: Vec<String>) {
        let (id, group, ask) = (id.to_owned(), group.to_owned(), ask.to_owned());
        self.push(Line { id, group, ask, answer, people: Vec::new() });
    }

    fn field(&mut self, key: &str, group: &str, field: &Field) {
        let lines = self.typed.get(key).into_iter().flat_map(str::lines).map(str::to_owned);
        let answer = lines.filter(|line| !line.is_empty()).collect();
        self.say(key, group, (field.ask)(), answer);
    }

    /// What people wrote that belongs into a section.
    fn fields(&mut self, section: &str) {
        for field in FIELDS.iter().filter(|f| f.section == section && !f.each) {
            self.field(field.id, "", field);
        }
    }

    fn people(&mut self, people: &[Person]) {
        let (id, ask) = (String::from("people"), lang::procedure_who().to_owned());
        self.push(Line { id, group: String::new(), ask, answer: Vec::new(), people: people.to_vec() });
    }

    fn rule(&mut self, shop: &Shop, show: Show, rule: &Rule) {
        let (id, group) = (&rule.rule, &*words::rule_name(rule));
        let mut say = |what: &str, ask: &str, answer: Vec<String>| {
            self.say(&format!("rule.{id}.{what}"), group, ask, answer);
        };
        let mut clauses: Vec<String> = rule.clauses.iter().map(|c| words::clause(show, c)).collect();
        clauses.push(words::returns(rule.returns).to_owned());
        say("words", lang::procedure_words(), clauses);
        say("source", lang::procedure_source(), vec![rule.source.title.to_string()]);
        for (what, ask, text) in [
            ("edition", lang::procedure_edition(), &rule.source.edition),
            ("section", lang::procedure_section(), &rule.source.section),
        ] {
            if let Some(text) = text {
                say(what, ask, vec![text.to_string()]);
            }
        }
        say("basis", lang::procedure_basis(), vec![rule.source.basis.to_string()]);
        let approval = shop.approved.iter().rev().find_map(|e| match &e.body {
            Body::Approve { what, reference } if what == id => Some((e.at, reference.as_deref().unwrap_or_default())),
            _ => None,
        });
        let zone = shop.state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
        let approved = match approval {
            Some((at, "")) => Some(lang::procedure_approved_on(&Zone::date_text(zone.day(at)))),
            Some((at, text)) => Some(lang::procedure_approved_by(&Zone::date_text(zone.day(at)), text)),
            None if &*rule.source.basis == "published" => None,
            None => Some(lang::procedure_not_approved().to_owned()),
        };
        if let Some(text) = approved {
            say("approved", lang::procedure_approved(), vec![text]);
        }
        let under = products(shop.state).filter(|(_, p, _)| p.rules.contains(id)).map(|(_, p, _)| p.name.to_string());
        let under: Vec<String> = under.collect();
        let none = || vec![lang::procedure_no_foods().to_owned()];
        say("foods", lang::procedure_under(), if under.is_empty() { none() } else { vec![under.join(", ")] });
    }

    fn product(&mut self, state: &State, show: Show, id: &Id, product: &Product, timed: bool) {
        let group = &*product.name;
        let key = |what: &str| format!("product.{id}.{what}");
        let rules: Vec<Arc<Rule>> = product.rules.iter().filter_map(|r| state.rule(r, u64::MAX)).collect();
        if let Some(exempt) = &product.exempt {
            let why = vec![exempt.reason.to_string(), exempt.evidence.to_string()];
            self.say(&key("exempt"), group, lang::procedure_exempt(), why);
        }
        if !timed {
            return;
        }
        let names = rules.iter().map(|r| r.name.to_string()).collect();
        self.say(&key("rules"), group, lang::procedure_its_rules(), names);
        let discards = rules.iter().flat_map(|r| &r.clauses).filter(|c| c.demand == Demand::Discard);
        self.say(&key("limit"), group, lang::procedure_limit(), discards.map(|c| words::clause(show, c)).collect());
        if let Some(ms) = product.chill_ms.filter(|ms| *ms > 0) {
            let minutes = (ms + MINUTE_MS - 1) / MINUTE_MS;
            let text = lang::procedure_chill_how(&minutes.to_string());
            self.say(&key("chill"), group, lang::procedure_chill(), vec![text]);
        }
        for field in FIELDS.iter().filter(|f| f.each) {
            self.field(&format!("{}.{id}", field.id), group, field);
        }
    }
}

/// Where a clause counts, in a sentence, unless it counts everywhere.
fn counted_in(c: &Clause) -> Option<String> {
    let uses: Vec<&str> = c.text.uses.as_ref()?.iter().map(words::place_use).collect();
    Some(lang::procedure_counted_in(&uses.join(", ")))
}

/// What starts the rules' clocks, and what stops them: a line's id, a sentence, and the rules that it is so under.
fn starts(state: &State) -> Vec<(String, String, Vec<String>)> {
    let mut found: Vec<(String, String, Vec<String>)> = Vec::new();
    for (_, rule) in state.rules.values() {
        for c in &rule.clauses {
            let text = match c.measure {
                Measure::TotalOut { .. } => lang::procedure_starts_total(),
                Measure::SinceFirstOut { .. } => lang::procedure_starts_since(),
                Measure::Spells { .. } | Measure::LongestSpell { .. } => lang::procedure_starts_spell(),
                Measure::OutAbove { .. } => lang::procedure_starts_above(),
                Measure::Day { .. } => lang::procedure_starts_day(),
                Measure::Cooled { from: Some(_), .. } => lang::procedure_starts_cooled_from(),
                Measure::Cooled { from: None, .. } => lang::procedure_starts_cooled(),
                Measure::FoodTemperature { .. } | Measure::StartTemperature { .. } => continue,
            };
            let uses = c.text.uses.iter().flatten().map(word).collect::<Vec<_>>().join("+");
            let from = if matches!(c.measure, Measure::Cooled { from: Some(_), .. }) { "from" } else { "" };
            let id = format!("clock.{}.{from}{uses}", c.measure.name());
            let text = counted_in(c).map_or_else(|| text.to_owned(), |uses| format!("{text} {uses}"));
            let at = found.iter().position(|(_, said, _)| *said == text).unwrap_or_else(|| {
                found.push((id, text, Vec::new()));
                found.len() - 1
            });
            let name = words::rule_name(rule);
            if !found[at].2.contains(&name) {
                found[at].2.push(name);
            }
        }
    }
    found
}

/// What a clause asks to be read, and when.
fn reads(show: Show, c: &Clause) -> Option<String> {
    let max = words::limit(show, &c.text.limit);
    match c.measure {
        Measure::StartTemperature { .. } => Some(lang::procedure_reads_start(&max)),
        Measure::FoodTemperature { .. } => Some(lang::procedure_reads_food(&max)),
        Measure::OutAbove { .. } => Some(lang::procedure_reads_air(&words::degrees(show, c.text.above.as_ref()))),
        Measure::Cooled { .. } => Some(lang::procedure_reads_cooled(&max, &words::degrees(show, c.text.to.as_ref()))),
        _ => None,
    }
}

/// What of the set-up a document rests on.
fn facts(state: &State) -> Facts {
    let mut facts = Facts::new();
    let mut add = |kind: &str, id: &str, name: &str, text: String| {
        facts.entry(kind.to_owned()).or_default().insert(id.to_owned(), (name.to_owned(), text));
    };
    if let Some(site) = &state.site {
        add("shop", "site", &site.name, word(&site.units));
    }
    for (id, (_, rule)) in &state.rules {
        // A rule's text never changes under its id.
        add("rule", id.as_str(), &rule.name, String::new());
    }
    for (id, p, _) in products(state) {
        // How long it stays workable is a hint outside every verdict.
        let text = serde_json::json!([p.rules, p.chill_ms.unwrap_or(0), p.exempt]).to_string();
        add("product", id.as_str(), &p.name, text);
    }
    for (id, place) in &state.places {
        add("place", id.as_str(), &place.name, format!("{} {}", word(&place.control), word::<Use>(&place.r#use)));
    }
    facts
}

fn word<T: serde::Serialize>(value: &T) -> String {
    serde_json::to_value(value).ok().and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default()
}
