//! One tag: what it is on, what it was on, and what it may be tied to next.

use super::task::Pick;
use super::{Asked, Choice, Shell, end, name_of, new_item};
use crate::clock::Instant;
use crate::items::{Rack, Tag, Tie, Tied};
use crate::lang;
use crate::ledger::{Id, State};
use crate::people::Names;
use crate::web::show::Show;
use askama::Template;

/// Where a tag leads, in words and by link.
pub(super) struct On {
    pub(super) address: String,
    /// Whether that is an item.
    pub(super) item: bool,
    pub(super) name: String,
}

/// The page of a tag.
#[derive(Template)]
#[template(path = "tag.html")]
pub struct TagPage {
    shell: Shell,
    tag: Tag,
    on: Option<On>,
    /// Whether that is closed.
    closed: bool,
    past: Vec<String>,
    items: Vec<Choice>,
    racks: Vec<Choice>,
}

/// Whether an item is there and not closed.
pub(super) fn is_open(state: &State, id: &Id, now: Instant) -> bool {
    state.items.get(id).is_some_and(|i| i.begin().is_some() && i.end().is_none_or(|e| e.at > now))
}

/// The name of what a tag is on.
pub(super) fn name(state: &State, racks: &[Rack], what: &Tied) -> String {
    match what {
        Tied::Item(id) => name_of(state, id),
        Tied::Rack(id) => racks.iter().find(|r| r.rack == *id).map_or_else(|| id.to_string(), |r| r.name.clone()),
    }
}

pub(super) fn rack_choices(racks: &[Rack]) -> Vec<Choice> {
    racks
        .iter()
        .map(|r| Choice { id: r.rack.clone(), name: r.name.clone(), more: String::new(), chosen: false })
        .collect()
}

/// Builds it; the latest of `ties` is what it is on, if that has no end.
pub fn build(state: &State, now: Instant, tag: &Tag, (ties, racks): (&[Tie], &[Rack]), asked: &Asked) -> TagPage {
    let (shell, show) = (Shell::of(state, now, asked), Show::of(state, now));
    let is = ties.first().filter(|t| t.until.is_none()).map(|t| &t.what);
    let address = |what: &Tied| match what {
        Tied::Item(id) => shell.item(id),
        Tied::Rack(id) => format!("{}racks/{id}", shell.board()),
    };
    let past = |t: &Tie| {
        let (name, from) = (name(state, racks, &t.what), show.clock(t.from));
        let by = Names::isolated(asked.names.of(&t.by));
        match t.until {
            Some(until) => lang::tag_was_on(&by, &from, &name, &show.clock(until)),
            None => lang::tag_is_on(&by, &from, &name),
        }
    };
    TagPage {
        tag: tag.clone(),
        on: is.map(|what| On {
            address: address(what),
            item: matches!(what, Tied::Item(_)),
            name: name(state, racks, what),
        }),
        closed: matches!(is, Some(Tied::Item(id)) if !is_open(state, id, now)),
        past: ties.iter().map(past).collect(),
        items: new_item::open_items(state, now).into_iter().filter(|c| is != Some(&Tied::Item(c.id.clone()))).collect(),
        racks: rack_choices(racks).into_iter().filter(|c| is != Some(&Tied::Rack(c.id.clone()))).collect(),
        shell,
    }
}

/// What became of the thing a tag was on, before it goes on another.
#[derive(Template)]
#[template(path = "was_on.html")]
pub struct WasOn {
    shell: Shell,
    tag: Tag,
    /// What it is on: its id and name.
    was: (Id, String),
    /// Ways in which that may have ended; none for a rack.
    endings: Vec<Pick>,
    /// The form's field and value that say what it goes on, and its name.
    to: (&'static str, Id, String),
}

/// Builds the question.
pub fn was_on(
    state: &State,
    now: Instant,
    tag: &Tag,
    (was, to, racks): (&Tied, &Tied, &[Rack]),
    asked: &Asked,
) -> WasOn {
    let endings = match was {
        Tied::Item(_) => end::endings(),
        Tied::Rack(_) => Vec::new(),
    };
    let (field, id) = match to {
        Tied::Item(id) => ("item", id.clone()),
        Tied::Rack(id) => ("rack", id.clone()),
    };
    let (Tied::Item(was_id) | Tied::Rack(was_id)) = was;
    WasOn {
        shell: Shell::of(state, now, asked),
        tag: tag.clone(),
        was: (was_id.clone(), name(state, racks, was)),
        endings,
        to: (field, id, name(state, racks, to)),
    }
}

/// The tags of an item, and its rack.
#[derive(Template)]
#[template(path = "item_tag.html")]
pub struct ItemTags {
    shell: Shell,
    id: Id,
    name: String,
    open: bool,
    tags: Vec<Tag>,
    on: Option<On>,
    racks: Vec<Choice>,
}

/// Builds it.
pub fn of_item(state: &State, now: Instant, id: &Id, (tags, racks): (Vec<Tag>, &[Rack]), asked: &Asked) -> ItemTags {
    let shell = Shell::of(state, now, asked);
    let on = racks.iter().find(|r| r.items.contains(id));
    let others: Vec<Rack> = racks.iter().filter(|r| !r.items.contains(id)).cloned().collect();
    ItemTags {
        id: id.clone(),
        name: name_of(state, id),
        open: is_open(state, id, now),
        tags,
        on: on.map(|r| On { address: format!("{}racks/{}", shell.board(), r.rack), item: false, name: r.name.clone() }),
        racks: rack_choices(&others),
        shell,
    }
}
