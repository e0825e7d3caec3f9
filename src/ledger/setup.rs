//! The shop's set-up: sites, places, rules and products count from their `seq` on.

use super::refusal::*;
use super::state::{Site, unknown_place, unknown_rule};
use super::{Body, Entry, Place, Refusal, State};
use crate::clock::Zone;
use crate::rules::book;
use std::sync::Arc;

impl State {
    pub(super) fn reconfigure(&mut self) -> Result<(), Refusal> {
        let (old, records) = (std::mem::take(&mut self.places), self.config.clone());
        self.site = None;
        self.rules.clear();
        self.products.clear();
        for record in records.values() {
            if let Some(entry) = record.effective(u64::MAX)? {
                self.configure(&entry)?;
            }
        }
        for (id, was) in old {
            let Some(place) = self.places.get_mut(&id) else {
                if was.records.is_empty() {
                    continue;
                }
                return Err(unknown_place(&id));
            };
            let new = Arc::make_mut(place);
            let (place, name) = (new.place.clone(), new.name.clone());
            *new = Place { place, name, seq: new.seq, control: new.control, r#use: new.r#use, ..(*was).clone() };
        }
        Ok(())
    }

    /// Takes a site, place, rule or product into the shop's set-up, from its `seq` on.
    pub(super) fn configure(&mut self, entry: &Entry) -> Result<(), Refusal> {
        let seq = entry.meta.seq;
        match &entry.body {
            Body::Site { name, zone, units } => {
                let zone = Zone::named(zone).ok_or_else(|| Refusal::member("there is no such time zone"))?;
                if let Some(site) = &self.site
                    && site.zone.name() != zone.name()
                {
                    return Err(Refusal::new(&SITE_FIXED, format!("The site's zone stays {}.", site.zone.name())));
                }
                self.site = Some(Arc::new(Site { name: name.clone(), zone, units: *units }));
            }
            Body::Place { place, name, control, r#use } => match self.places.get_mut(place) {
                Some(known) if known.control != *control || known.r#use != *r#use => {
                    let detail =
                        format!("`{place}` has control `{}`, use `{}`.", word(known.control), word(known.r#use));
                    return Err(Refusal::new(&PLACE_FIXED, detail));
                }
                Some(known) => Arc::make_mut(known).name = name.clone(),
                None => {
                    let new = Place::new(place.clone(), seq, name.clone(), *control, *r#use);
                    self.places.insert(place.clone(), Arc::new(new));
                }
            },
            Body::Rule(rule) => {
                let id = &rule.rule;
                if let Some((_, known)) = self.rules.get(id) {
                    let same = **known == **rule;
                    let (code, said) =
                        if same { (&ID_USED, "is in use already") } else { (&RULE_FIXED, "has another text") };
                    return Err(Refusal::new(code, format!("The rule `{id}` {said}.")));
                }
                if let Some(built_in) = book::built_in(id)
                    && (built_in.clauses != rule.clauses || built_in.returns != rule.returns)
                {
                    return Err(Refusal::new(&BUILT_IN, format!("`{id}` is built in, with other clauses.")));
                }
                self.rules.insert(id.clone(), (seq, Arc::new((**rule).clone())));
            }
            Body::Product(product) => {
                if let Some(id) = product.rules.iter().find(|id| self.rule(id, seq).is_none()) {
                    return Err(unknown_rule(id));
                }
                if product.rules.is_empty() && product.exempt.is_none() {
                    return Err(Refusal::new(&EXEMPT_UNCLEAR, format!("`{}` names no rule.", product.product)));
                }
                let product = Arc::new((**product).clone());
                self.products.entry(product.product.clone()).or_default().push((seq, product));
            }
            _ => {}
        }
        Ok(())
    }
}

fn word<T: serde::Serialize>(value: T) -> String {
    serde_json::to_value(value).ok().and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default()
}
