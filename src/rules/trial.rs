//! A rule tried on items there were, in place of their own: what it would have said of them. Nothing is kept. Pure.

use super::{Rule, Standing, standing};
use crate::clock::{Instant, Zone};
use crate::exposure::Fold;
use crate::ledger::{Begin, Body, Entry, Id, Product, State};
use std::sync::Arc;

/// What it would have said of an item.
#[derive(Clone, PartialEq, Debug)]
pub struct Tried {
    /// How it stands, or stood as it closed, under its own rules.
    pub own: Standing,
    /// The same under the rule that is tried.
    pub tried: Standing,
}

/// Tries it on each of these items at an instant; what they were made from stays under its own rules.
pub fn tried(state: &State, rule: &Arc<Rule>, items: &[Id], now: Instant) -> Vec<Tried> {
    let zone = state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let mut other = state.clone();
    other.rules.insert(rule.rule.clone(), (0, rule.clone()));
    let mut made = 0;
    for id in items {
        let Some(item) = other.items.get_mut(id) else { continue };
        for e in &mut Arc::make_mut(item).truth {
            let Body::Item(b) = &e.body else { continue };
            let known = b.product.as_ref().and_then(|p| state.product(p, e.meta.seq));
            // How long its product takes to chill counts under any rule: the product stays, with the one rule.
            let product = known.and_then(|p| {
                made += 1;
                let named = Id::new(&format!("tried-{made}"))?;
                let p = Product { product: named.clone(), rules: vec![rule.rule.clone()], ..(**p).clone() };
                other.products.insert(named.clone(), vec![(0, Arc::new(p))]);
                Some(named)
            });
            let rules = product.is_none().then(|| vec![rule.rule.clone()]);
            let begin = Begin { product, rules, ..(**b).clone() };
            *e = Arc::new(Entry { body: Body::Item(Box::new(begin)), ..(**e).clone() });
        }
    }
    let (fold, new) = (Fold::new(state, now, zone), Fold::new(&other, now, zone));
    let both = |id: &Id| {
        let (here, there) = (state.items.get_key_value(id)?.0, other.items.get_key_value(id)?.0);
        Some(Tried { own: standing(&fold, here)?, tried: standing(&new, there)? })
    };
    items.iter().filter_map(both).collect()
}
