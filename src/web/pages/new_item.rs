//! A new item: pick what it is and where it stands; nothing need be typed.

use super::{Asked, Choice, Shell, name_of, place_name};
use crate::clock::Instant;
use crate::lang;
use crate::ledger::{Control, State};
use crate::rules::{Use, book};
use askama::Template;

/// The page.
#[derive(Template)]
#[template(path = "new_item.html")]
pub struct NewItem {
    shell: Shell,
    products: Vec<Choice>,
    rules: Vec<Choice>,
    places: Vec<Choice>,
    from: Vec<Choice>,
}

/// Builds it.
pub fn build(state: &State, now: Instant, asked: &Asked) -> NewItem {
    let mut places: Vec<_> = state.places.values().collect();
    // A bench first: where in doubt, the clock runs.
    places.sort_by_key(|p| (p.control != Control::None, p.r#use != Use::Work, p.seq));
    let places = places.iter().enumerate().map(|(i, p)| Choice {
        id: p.place.clone(),
        name: p.name.to_string(),
        more: super::words::control(p.control).to_owned(),
        chosen: i == 0,
    });
    let products = state.products.iter().filter_map(|(id, versions)| {
        let (_, p) = versions.last()?;
        Some(Choice { id: id.clone(), name: p.name.to_string(), more: String::new(), chosen: false })
    });
    let built_in = book::all().iter().map(|r| (&r.rule, &r.name));
    let own = state.rules.iter().map(|(id, (_, r))| (id, &r.name)).filter(|(id, _)| book::built_in(id).is_none());
    let rules = own.chain(built_in).map(|(id, name)| Choice {
        id: id.clone(),
        name: name.to_string(),
        more: String::new(),
        chosen: false,
    });
    NewItem {
        shell: Shell::of(state, now, asked),
        products: products.collect(),
        rules: rules.collect(),
        places: places.collect(),
        from: open_items(state, now),
    }
}

/// What is open, latest first: a tub that is in use stands at the top.
pub(super) fn open_items(state: &State, now: Instant) -> Vec<Choice> {
    let mut open: Vec<_> = state
        .items
        .iter()
        .filter(|(_, i)| i.end().is_none_or(|e| e.at > now))
        .filter_map(|(id, i)| Some((i.begin()?.0.key(), id, i)))
        .collect();
    open.sort_by_key(|(key, ..)| std::cmp::Reverse(*key));
    open.into_iter()
        .map(|(_, id, item)| Choice {
            id: id.clone(),
            name: name_of(state, id),
            more: item.place().map_or_else(String::new, |p| place_name(state, p)),
            chosen: false,
        })
        .collect()
}
