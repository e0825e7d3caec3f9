//! How it ended: used up, sold, served, thrown away; the whole of it or some.

use super::forms::Fields;
use super::task::{self, Ctx, Head, Pick};
use super::{Shell, tile, words};
use crate::lang;
use crate::ledger::CloseAs;
use askama::Template;

/// The page.
#[derive(Template)]
#[template(path = "end.html")]
pub(super) struct End {
    shell: Shell,
    head: Head,
    left: u32,
    counts: Vec<Pick>,
    typed: String,
    endings: Vec<Pick>,
    ago: Vec<Pick>,
    whys: Vec<Pick>,
    f: Fields,
}

const ENDINGS: [CloseAs; 6] =
    [CloseAs::Sold, CloseAs::Served, CloseAs::Used, CloseAs::HandedOver, CloseAs::Discarded, CloseAs::Lost];

/// Every way to end.
pub(super) fn endings() -> Vec<Pick> {
    let pick = |c: &CloseAs| Pick { value: tile::word(*c), label: words::closed(*c).to_owned(), chosen: false };
    ENDINGS.iter().map(pick).collect()
}

/// Builds it.
pub(super) fn build(c: &Ctx) -> Option<End> {
    let left = c.item.left();
    let counts = task::counts(c.fields, &task::USUAL, left.saturating_sub(1));
    Some(End {
        shell: c.shell(),
        head: c.head("end", lang::end_title())?,
        left,
        typed: task::typed_count(c.fields, &counts),
        counts,
        endings: endings(),
        ago: task::ago(c.fields),
        whys: task::whys(c.fields),
        f: c.fields.clone(),
    })
}
