//! A new item: what it is, where it stands, done. Three touches; nothing need be typed.

use super::forms::Fields;
use super::task::{self, Pick};
use super::{Asked, Choice, Shell, name_of, place_name};
use crate::clock::Instant;
use crate::items::Tag;
use crate::lang;
use crate::ledger::{Control, Id, State};
use crate::rules::{Use, book};
use crate::web::show::Show;
use crate::words::rule_name;
use askama::Template;
use std::cmp::Reverse;
use std::collections::BTreeMap;

/// The page.
#[derive(Template)]
#[template(path = "new_item.html")]
pub struct NewItem {
    shell: Shell,
    products: Vec<Choice>,
    further: Vec<Choice>,
    rules: Vec<Choice>,
    places: Vec<Choice>,
    from: Vec<Choice>,
    counts: Vec<Pick>,
    typed: String,
    ago: Vec<Pick>,
    whys: Vec<Pick>,
    /// The tag it will carry.
    tag: Option<Tag>,
    f: Fields,
}

/// Products shown at once: those used last.
const LAST: usize = 6;
/// How many stand on a tray.
const TRAYS: [u32; 6] = [1, 6, 8, 12, 20, 24];

/// Builds it; `f` is what was chosen and typed before.
pub fn build(state: &State, now: Instant, f: &Fields, asked: &Asked) -> NewItem {
    let show = Show::of(state, now);
    let mut places: Vec<_> = state.places.values().collect();
    // A bench first: where in doubt, the clock runs.
    places.sort_by_key(|p| (p.control != Control::None, p.r#use != Use::Work, p.seq));
    let chosen = f.get("place").or_else(|| places.first().map(|p| p.place.as_str()));
    let places = places.iter().map(|p| Choice::place(p, chosen == Some(p.place.as_str())));
    let built_in = book::all().iter().map(|r| (&r.rule, rule_name(r)));
    let own = state.rules.iter().map(|(id, (_, r))| (id, rule_name(r))).filter(|(id, _)| book::built_in(id).is_none());
    let rules = own.chain(built_in).map(|(id, name)| Choice {
        id: id.clone(),
        name,
        more: String::new(),
        chosen: f.is("rule", id.as_str()),
    });
    let mut products = products(state, f);
    let further = products.split_off(products.len().min(LAST));
    let counts = task::counts(f, &TRAYS, u32::MAX);
    NewItem {
        shell: Shell::of(state, now, asked),
        products,
        further,
        rules: rules.collect(),
        places: places.collect(),
        from: from(state, show, f),
        typed: task::typed_count(f, &counts),
        counts,
        ago: task::ago(f),
        whys: task::whys(f),
        tag: f.get("tag").and_then(Tag::read),
        f: f.clone(),
    }
}

/// Those last begun first, then in the order of their ids.
fn products(state: &State, f: &Fields) -> Vec<Choice> {
    let mut last: BTreeMap<&Id, u64> = BTreeMap::new();
    for (entry, begin) in state.items.values().filter_map(|i| i.begin()) {
        if let Some(product) = &begin.product {
            let seq = last.entry(product).or_default();
            *seq = entry.meta.seq.max(*seq);
        }
    }
    let mut products: Vec<_> = state.products.iter().filter_map(|(id, v)| Some((id, &v.last()?.1))).collect();
    products.sort_by_key(|(id, _)| Reverse(last.get(id).copied().unwrap_or(0)));
    let choice = |(id, p): (&Id, &std::sync::Arc<crate::ledger::Product>)| Choice {
        id: id.clone(),
        name: p.name.to_string(),
        more: String::new(),
        chosen: f.is("product", id.as_str()),
    };
    products.into_iter().map(choice).collect()
}

/// Most open items offered as what it is made from.
const FROM: usize = 60;

/// What it may be made from, with the minutes it brings.
fn from(state: &State, show: Show, f: &Fields) -> Vec<Choice> {
    let mut open = open_items(state, show.now);
    open.truncate(FROM);
    for choice in &mut open {
        choice.chosen = f.is("from", choice.id.as_str());
        if let Some(s) = task::standing(state, show, &choice.id) {
            choice.more = task::figures(&s, show);
        }
    }
    open
}

/// What is open, last begun first: a tub that is in use stands at the top.
pub(super) fn open_items(state: &State, now: Instant) -> Vec<Choice> {
    let open = state.items.iter().filter(|(_, i)| i.end().is_none_or(|e| e.at > now));
    let mut open: Vec<_> = open.filter_map(|(id, i)| Some((i.begin()?.0.key(), id, i))).collect();
    open.sort_by_key(|(key, ..)| Reverse(*key));
    open.into_iter()
        .map(|(_, id, item)| Choice {
            id: id.clone(),
            name: name_of(state, id),
            more: item.place().map_or_else(String::new, |p| place_name(state, p)),
            chosen: false,
        })
        .collect()
}
