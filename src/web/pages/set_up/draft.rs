//! What was said so far in the set-up, and the entries it means. Pure.

use super::super::forms::Fields;
use super::super::problem;
use super::Wrong;
use crate::clock::Zone;
use crate::lang;
use crate::ledger::{self, From};
use crate::people::secret;
use crate::rules::regions::{self, Region, counts_all};
use crate::rules::{Rule, book};
use crate::web::manages::Trouble;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::sync::Arc;

/// The steps, in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Step {
    /// The shop: name, zone, units, where it is.
    Shop,
    /// Its rules.
    Rules,
    /// Its places.
    Places,
    /// What it makes.
    Products,
    /// Who manages it.
    Manager,
}

/// All of them.
pub const STEPS: [Step; 5] = [Step::Shop, Step::Rules, Step::Places, Step::Products, Step::Manager];

impl Step {
    /// As forms say it.
    pub fn word(self) -> &'static str {
        match self {
            Step::Shop => "shop",
            Step::Rules => "rules",
            Step::Places => "places",
            Step::Products => "products",
            Step::Manager => "manager",
        }
    }

    /// The one before; the first has none but itself.
    pub fn before(self) -> Step {
        STEPS.into_iter().rev().find(|s| *s < self).unwrap_or(self)
    }

    /// The fields that the step's own form asks for; those of the others are carried along unseen.
    pub fn fields(self) -> &'static [&'static str] {
        match self {
            Step::Shop => &["name", "zone", "units", "region"],
            Step::Rules => &["rule", "rules-of"],
            Step::Places => &["place", "place-name", "place-control"],
            Step::Products => &["product", "products"],
            Step::Manager => &["manager", "password", "again"],
        }
    }
}

/// A place that is proposed: its id, its name, its control and use, and whether it is ticked.
pub type Proposed = (&'static str, &'static str, &'static str, &'static str, bool);

/// The proposed places.
pub fn places() -> [Proposed; 9] {
    [
        ("fridge", lang::place_fridge(), "cold", "store", true),
        ("walk-in", lang::place_walk_in(), "cold", "store", false),
        ("freezer", lang::place_freezer(), "frozen", "store", true),
        ("bench", lang::place_bench(), "none", "work", true),
        ("mixer", lang::place_mixer(), "none", "work", false),
        ("case", lang::place_case(), "cold", "display", true),
        ("counter", lang::place_counter(), "none", "display", false),
        ("van", lang::place_van(), "none", "transport", false),
        ("customer", lang::place_customer(), "none", "away", false),
    ]
}

/// The proposed products: id and name.
pub fn products() -> [(&'static str, &'static str); 6] {
    [
        ("frosting", lang::product_frosting()),
        ("layer-cake", lang::product_layer_cake()),
        ("cream-cake", lang::product_cream_cake()),
        ("cheesecake", lang::product_cheesecake()),
        ("pastry-cream", lang::product_pastry_cream()),
        ("custard-tart", lang::product_custard_tart()),
    ]
}

/// So many shops may have one name.
const SITE_IDS: usize = 1_000;

/// Places of the shop's own that the form has room for.
pub const OWN_PLACES: usize = 3;

/// What was said so far.
pub struct Draft {
    /// As it was sent.
    pub fields: Fields,
    /// Whether the shop is there already, with a name and a zone.
    pub has_shop: bool,
    /// Whether it is another shop of whoever is signed in, who manages it too.
    pub another: bool,
}

impl Draft {
    /// From what was sent.
    pub fn new(fields: Fields, has_shop: bool) -> Draft {
        Draft { fields, has_shop, another: false }
    }

    /// Its steps.
    pub fn steps(&self) -> &'static [Step] {
        if self.another { &STEPS[..STEPS.len() - 1] } else { &STEPS }
    }

    /// The step after; none after the last.
    pub fn after(&self, step: Step) -> Option<Step> {
        self.steps().iter().copied().find(|s| *s > step)
    }

    /// Ids for the shop that read like its name, the plainest first.
    pub fn site_ids(&self) -> impl Iterator<Item = String> + Send + 'static {
        let (name, mut used) = (self.fields.get("name").unwrap_or_default().to_owned(), BTreeSet::new());
        std::iter::repeat_with(move || id_of(&name, "shop", &mut used)).take(SITE_IDS)
    }

    /// The code of the printed address.
    pub fn code(&self) -> &str {
        self.fields.get("code").unwrap_or_default()
    }

    /// The step that was filled in.
    pub fn step(&self) -> Step {
        let said = self.fields.get("step");
        STEPS.into_iter().find(|s| Some(s.word()) == said).unwrap_or(STEPS[0])
    }

    /// Whether the step before is asked for.
    pub fn goes_back(&self) -> bool {
        self.fields.get("go") == Some("back")
    }

    /// Where the shop is, for its rules.
    pub fn region(&self) -> Option<&'static Region> {
        self.fields.get("region").and_then(regions::region)
    }

    /// The rules that are chosen: the proposed ones until some are, and again once the shop is said to be elsewhere.
    pub fn rules(&self) -> Vec<Arc<Rule>> {
        let Some(region) = self.region() else { return Vec::new() };
        let chosen = self.fields.get("rules-of") == Some(region.id);
        let all = region.proposed.iter().chain(region.offered);
        let wanted = all.filter(|id| match chosen {
            true => self.fields.all("rule").any(|r| r == **id),
            false => region.proposed.contains(id),
        });
        wanted.filter_map(|id| book::built_in(&ledger::Id::new(id)?)).collect()
    }

    /// Whether the step was seen already, so that what isn't ticked was unticked.
    pub fn seen(&self, step: Step) -> bool {
        self.fields.all("seen").any(|s| s == step.word())
    }

    /// Whether the step is done, or what is wrong with it.
    pub fn check(&self, step: Step) -> Result<(), Wrong> {
        let said = |text: &str, next| Err(Wrong::Said(text.to_owned(), next));
        match step {
            Step::Shop => {
                if !self.has_shop {
                    if self.fields.get("name").is_none() {
                        return said(lang::set_up_no_name(), lang::set_up_no_name_next());
                    }
                    let zone = self.fields.get("zone").and_then(Zone::named);
                    if zone.is_none() {
                        return said(lang::set_up_no_zone(), lang::set_up_no_zone_next());
                    }
                    taken(&self.site())?;
                }
                match self.region() {
                    Some(_) => Ok(()),
                    None => said(lang::set_up_no_region(), lang::set_up_no_region_next()),
                }
            }
            Step::Rules => match self.rules().iter().any(|r| counts_all(r)) {
                true => Ok(()),
                false => said(lang::set_up_no_rule(), lang::set_up_no_rule_next()),
            },
            Step::Places => {
                let places = self.places();
                places.iter().try_for_each(taken)?;
                let some = |cold: bool| places.iter().any(|p| (p["control"] != "none") == cold);
                match some(true) && some(false) {
                    true => Ok(()),
                    false => said(lang::set_up_no_place(), lang::set_up_no_place_next()),
                }
            }
            Step::Products => self.products().iter().try_for_each(taken),
            Step::Manager => {
                self.manager().map_err(Wrong::Person)?;
                match self.fields.raw("password") == self.fields.raw("again") {
                    true => Ok(()),
                    false => said(lang::set_up_not_again(), lang::set_up_not_again_next()),
                }
            }
        }
    }

    /// The manager's name, as it is kept, and the password.
    pub fn manager(&self) -> Result<(String, String), Trouble> {
        let name = secret::name(self.fields.get("manager").unwrap_or_default()).map_err(Trouble::Unfit)?;
        let password = self.fields.raw("password");
        secret::password(password, &name).map_err(Trouble::Unfit)?;
        Ok((name, password.to_owned()))
    }

    /// The ledger's first entry.
    pub fn site(&self) -> Value {
        let f = &self.fields;
        json!({"kind": "site", "name": f.get("name").unwrap_or_default(), "zone": f.get("zone").unwrap_or_default(),
            "units": f.get("units").unwrap_or("C")})
    }

    fn places(&self) -> Vec<Value> {
        let mut used = BTreeSet::new();
        let ticked = places().into_iter().filter(|p| self.fields.all("place").any(|id| id == p.0));
        let mut found: Vec<Value> = ticked
            .map(|(id, name, control, r#use, _)| {
                used.insert(id.to_owned());
                json!({"kind": "place", "place": id, "name": name, "control": control, "use": r#use})
            })
            .collect();
        let named =
            |name: &str| self.fields.0.iter().filter(|(n, _)| n == name).map(|(_, v)| v.trim().to_owned()).collect();
        let (names, controls): (Vec<String>, Vec<String>) = (named("place-name"), named("place-control"));
        for (name, control) in names.iter().zip(&controls).filter(|(name, _)| !name.is_empty()) {
            let (control, r#use) = control.split_once('.').unwrap_or((control, ""));
            let id = id_of(name, "place", &mut used);
            let mut place = json!({"kind": "place", "place": id, "name": name, "control": control});
            if !r#use.is_empty() {
                place["use"] = json!(r#use);
            }
            found.push(place);
        }
        found
    }

    fn products(&self) -> Vec<Value> {
        let rules: Vec<String> = self.rules().iter().map(|r| r.rule.to_string()).collect();
        let mut used = BTreeSet::new();
        let ticked = products().into_iter().filter(|p| self.fields.all("product").any(|id| id == p.0));
        let mut named: Vec<(String, String)> = ticked.map(|(id, name)| (id.to_owned(), name.to_owned())).collect();
        used.extend(named.iter().map(|(id, _)| id.clone()));
        for name in self.fields.get("products").unwrap_or_default().lines().map(str::trim).filter(|l| !l.is_empty()) {
            named.push((id_of(name, "product", &mut used), name.to_owned()));
        }
        named.iter().map(|(id, name)| json!({"kind": "product", "product": id, "name": name, "rules": rules})).collect()
    }

    /// All entries but the first: the rules taken into use, the places, the products.
    pub fn entries(&self) -> Vec<Value> {
        let rule = |r: &Arc<Rule>| {
            let mut text = json!(**r);
            text["kind"] = json!("rule");
            text
        };
        let mut all: Vec<Value> = self.rules().iter().map(rule).collect();
        all.extend(self.places());
        all.extend(self.products());
        all
    }
}

/// An entry that can't be read is refused here already, in the words of its refusal.
fn taken(entry: &Value) -> Result<(), Wrong> {
    match ledger::parse(&entry.to_string(), From::Caller) {
        Ok(_) => Ok(()),
        Err(r) => {
            let (text, next) = problem::refusal(&r, None);
            Err(Wrong::Said(text, next))
        }
    }
}

/// An id that reads like the name, as far as ids may.
pub(in super::super) fn id_of(name: &str, kind: &str, used: &mut BTreeSet<String>) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { ' ' };
    let words: String = name.chars().map(plain).collect();
    let stem = words.split_whitespace().collect::<Vec<_>>().join("-");
    let stem = if stem.is_empty() { kind } else { &stem[..stem.len().min(30)] };
    let numbered = (2..).map(|n| format!("{stem}-{n}"));
    let id = std::iter::once(stem.to_owned()).chain(numbered).find(|id| !used.contains(id)).unwrap_or_default();
    used.insert(id.clone());
    id
}
