//! An entry to be read otherwise: another time, place or temperature, or not at all. The original stays readable.

use super::forms::Fields;
use super::task::{Ctx, Head};
use super::{Choice, Shell, log};
use crate::lang;
use crate::ledger::Place;
use askama::Template;

/// The page.
#[derive(Template)]
#[template(path = "correct.html")]
pub(super) struct Correct {
    shell: Shell,
    head: Head,
    entries: Vec<Choice>,
    places: Vec<Choice>,
    unit: &'static str,
    f: Fields,
}

/// Builds it.
pub(super) fn build(c: &Ctx) -> Option<Correct> {
    let chosen = c.fields.raw("entry");
    let mut entries = log::correctable(c.state, c.show, c.item);
    entries.iter_mut().for_each(|e| e.chosen = e.id.as_str() == chosen);
    let place = |p: &std::sync::Arc<Place>| Choice::place(p, c.fields.is("place", p.place.as_str()));
    Some(Correct {
        shell: c.shell(),
        head: c.head("correct", lang::do_correct())?,
        entries,
        places: c.state.places.values().map(place).collect(),
        unit: c.show.unit(),
        f: c.fields.clone(),
    })
}
