//! Something goes into something: another coat or a top-up, scrapings back into a tub, two tubs mixed. First the other
//! one is picked, then its minutes and what they lead to are shown, and only then is it confirmed.

use super::forms::Fields;
use super::task::{self, Ctx, Head, Pick};
use super::{Shell, acts, moves, name_of, place_name};
use crate::lang;
use crate::ledger::{Begin, Entry, Id, Item};
use askama::Template;
use std::cmp::Reverse;
use std::sync::Arc;

/// Which of them.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Mode {
    /// The other goes onto or into this one.
    Coat,
    /// What is left of this one goes back into the other.
    Scrapings,
    /// Both go into a new one.
    Mix,
}

/// How many others are offered at first, and at most.
const FIRST: usize = 12;
const MOST: usize = 200;

/// The page.
#[derive(Template)]
#[template(path = "join.html")]
pub(super) struct Join {
    shell: Shell,
    head: Head,
    hint: &'static str,
    others: Vec<Other>,
    more: bool,
    chosen: Option<Chosen>,
    ago: Vec<Pick>,
    whys: Vec<Pick>,
    f: Fields,
}

/// Another item, with the minutes it carries.
struct Other {
    id: Id,
    name: String,
    place: String,
    figures: String,
    verdict: Option<&'static str>,
}

/// What is about to be confirmed.
struct Chosen {
    other: Id,
    /// Whose minutes go along.
    brings: Vec<Other>,
    /// What that leads to.
    then: Option<String>,
    /// Those that may be used up by it.
    spent: Vec<Pick>,
    go: String,
}

/// Builds it.
pub(super) fn build(c: &Ctx, mode: Mode) -> Option<Join> {
    let (what, title, hint) = match mode {
        Mode::Coat => ("coat", lang::coat_title(), lang::coat_hint()),
        Mode::Scrapings => ("scrapings", lang::scrapings_title(), lang::scrapings_hint()),
        Mode::Mix => ("mix", lang::mix_title(), lang::mix_hint()),
    };
    let chosen = c.fields.get("with").and_then(Id::new).and_then(|other| chosen(c, mode, what, &other));
    let (mut others, mut more) = (Vec::new(), false);
    if chosen.is_none() {
        let ids = candidates(c, mode);
        let shown = if c.fields.has("all") { MOST } else { FIRST };
        more = ids.len() > shown && shown < MOST;
        others = ids.into_iter().take(shown).filter_map(|id| other(c, id)).collect();
    }
    Some(Join {
        shell: c.shell(),
        head: c.head(what, title)?,
        hint,
        others,
        more,
        chosen,
        ago: task::ago(c.fields),
        whys: task::whys(c.fields),
        f: c.fields.clone(),
    })
}

fn other(c: &Ctx, id: &Id) -> Option<Other> {
    let s = c.standing(id)?;
    Some(Other {
        id: id.clone(),
        name: name_of(c.state, id),
        place: place_name(c.state, &s.place),
        figures: task::figures(&s, c.show),
        verdict: task::verdict(&s),
    })
}

fn chosen(c: &Ctx, mode: Mode, what: &str, with: &Id) -> Option<Chosen> {
    let theirs = other(c, with)?;
    let (name, draft) = (theirs.name.clone(), acts::entries(what, c).ok().and_then(|e| c.with(&e)));
    let then = draft.and_then(|d| {
        let changed = match mode {
            Mode::Coat => c.id,
            Mode::Scrapings => with,
            Mode::Mix => d.items.iter().find(|id| !c.state.items.contains_key(*id))?,
        };
        let figures = task::figures(&task::standing(&d.state, c.show, changed)?, c.show);
        Some(lang::join_then(&figures, &name_of(&d.state, changed)))
    });
    let go = match mode {
        Mode::Coat => lang::coat_go(&name),
        Mode::Scrapings => lang::scrapings_go(&name),
        Mode::Mix => lang::mix_go().to_owned(),
    };
    let mut spent = Vec::new();
    let brings = match mode {
        Mode::Coat => vec![theirs],
        Mode::Scrapings => vec![other(c, c.id)?],
        Mode::Mix => {
            // Both are gone after it, unless somebody says otherwise.
            spent = [c.id, with]
                .map(|id| Pick {
                    value: id.to_string(),
                    label: lang::mix_spent(&name_of(c.state, id)),
                    chosen: !c.fields.has("key") || c.fields.is("spent", id.as_str()),
                })
                .into();
            vec![other(c, c.id)?, theirs]
        }
    };
    Some(Chosen { other: with.clone(), brings, then, spent, go })
}

/// What may be meant, likeliest first: for scrapings what this was made from, to mix what is of the same product, for
/// a coat what has gone into others before; then what is out, and what was moved last.
fn candidates<'a>(c: &Ctx<'a>, mode: Mode) -> Vec<&'a Id> {
    let parents: Vec<&Id> = c.item.truth.iter().flat_map(|e| e.parents()).collect();
    let product = |item: &Item| item.begin().and_then(|(_, b): (&Arc<Entry>, &Begin)| b.product.clone());
    let mine = product(c.item);
    let open = c.state.items.iter().filter(|(id, i)| *id != c.id && i.begin().is_some() && i.end().is_none());
    let mut found: Vec<_> = open
        .map(|(id, item)| {
            let likely = match mode {
                Mode::Coat => !item.children.is_empty() && product(item) != mine,
                Mode::Scrapings => parents.contains(&id),
                Mode::Mix => product(item) == mine,
            };
            let place = item.place().and_then(|p| c.state.places.get(p));
            let cold = place.is_some_and(|p| moves::controlled(p, c.show.now));
            let last = item.truth.iter().filter(|e| e.parents().is_empty()).map(|e| e.key()).max();
            ((!likely, cold, Reverse(last), id), id)
        })
        .collect();
    found.sort_by(|a, b| a.0.cmp(&b.0));
    found.into_iter().map(|(_, id)| id).collect()
}
