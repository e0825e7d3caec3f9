//! Part of it goes its own way: a new item with the same minutes, made from this one.

use super::forms::Fields;
use super::task::{self, Ctx, Head, Pick};
use super::{Choice, Shell, moves};
use crate::lang;
use crate::ledger::Place;
use askama::Template;

/// The page.
#[derive(Template)]
#[template(path = "split.html")]
pub(super) struct Split {
    shell: Shell,
    head: Head,
    left: u32,
    counts: Vec<Pick>,
    typed: String,
    places: Vec<Choice>,
    f: Fields,
}

/// Builds it.
pub(super) fn build(c: &Ctx) -> Option<Split> {
    let s = c.standing(c.id)?;
    let left = c.item.left();
    let here = c.state.places.get(&s.place).cloned();
    let others = moves::places(c.state, c.item, &s.place, s.state != crate::rules::Phase::Out, c.show.now);
    let typed = c.fields.get("place");
    let choice = |p: &std::sync::Arc<Place>| Choice::place(p, typed.unwrap_or(s.place.as_str()) == p.place.as_str());
    let counts = task::counts(c.fields, &task::USUAL, left.saturating_sub(1));
    Some(Split {
        shell: c.shell(),
        head: c.head("split", lang::split_title())?,
        left,
        typed: task::typed_count(c.fields, &counts),
        counts,
        places: here.iter().chain(&others).map(choice).collect(),
        f: c.fields.clone(),
    })
}
