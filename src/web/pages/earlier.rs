//! It happened earlier: a move or an end that nobody tapped when it happened. It stays marked as late.

use super::forms::Fields;
use super::task::{self, Ctx, Head, Pick};
use super::{Choice, Shell, end, moves};
use crate::lang;
use askama::Template;

/// The page.
#[derive(Template)]
#[template(path = "earlier.html")]
pub(super) struct Earlier {
    shell: Shell,
    head: Head,
    ago: Vec<Pick>,
    whys: Vec<Pick>,
    places: Vec<Choice>,
    endings: Vec<Pick>,
    f: Fields,
}

/// Builds it.
pub(super) fn build(c: &Ctx) -> Option<Earlier> {
    let s = c.standing(c.id)?;
    // Where it is now is offered too: it may have been elsewhere before.
    let mut places = moves::places(c.state, c.item, &s.place, s.state == crate::rules::Phase::Out, c.show.now);
    places.extend(c.state.places.get(&s.place).cloned());
    Some(Earlier {
        shell: c.shell(),
        head: c.head("earlier", lang::earlier_title())?,
        ago: task::ago(c.fields),
        whys: task::whys(c.fields),
        places: places.iter().map(|p| Choice::place(p, false)).collect(),
        endings: end::endings(),
        f: c.fields.clone(),
    })
}
