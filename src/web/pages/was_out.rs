//! Logged back in the cold by somebody, yet it was out once more: when did it leave? Writes that move and its return.

use super::forms::Fields;
use super::task::{self, Ctx, Head, Pick};
use super::{Choice, Shell, found, place_name};
use crate::lang;
use askama::Template;

/// The page.
#[derive(Template)]
#[template(path = "was_out.html")]
pub(super) struct WasOut {
    shell: Shell,
    head: Head,
    said: String,
    ago: Vec<Pick>,
    places: Vec<Choice>,
    f: Fields,
}

/// Builds it.
pub(super) fn build(c: &Ctx) -> Option<WasOut> {
    let here = c.standing(c.id)?.place;
    let since = super::moves::since(c.item)?;
    let who = super::log::who(c.asked, since.meta.by.as_ref());
    Some(WasOut {
        shell: c.shell(),
        head: c.head("was-out", lang::was_out_title())?,
        said: lang::was_out_said(&place_name(c.state, &here), &c.show.clock(since.at), &who),
        // Only what lies after that move can be meant.
        ago: task::ago(c.fields)
            .into_iter()
            .filter(|p| p.value.parse::<i64>().is_ok_and(|m| c.show.now.plus(-m * crate::clock::MINUTE_MS) > since.at))
            .collect(),
        places: found::out_places(c, &here),
        f: c.fields.clone(),
    })
}
