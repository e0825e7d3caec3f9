//! The page of all cold places: what is proposed, how each place stands, and the form for a power cut.

use super::super::forms::Fields;
use super::super::live::Live;
use super::super::round::logged;
use super::super::{Asked, Choice, Shell, place_name};
use super::affected::{self, Rows};
use super::{cut, grid, words};
use crate::board::cold::{Cold, Proposal};
use crate::board::what_if::Lapse;
use crate::lang;
use crate::ledger::Id;
use crate::rules::book;
use crate::web::cold::{CLOSED_MOST, ColdRoom, WhatIf};
use crate::web::show::Show;
use askama::Template;

/// The page.
#[derive(Template)]
#[template(path = "cold/cold.html")]
pub(super) struct ColdPage {
    shell: Shell,
    live: String,
    proposals: Vec<Proposed>,
    /// Places in an open lapse.
    open: Vec<Id>,
    places: Vec<Line>,
    choices: Vec<Choice>,
    f: Fields,
}

struct Proposed {
    place: Id,
    name: String,
    said: String,
    why: String,
    span: String,
    /// What it would mean in all, where that was asked; else where it is shown.
    sums: Option<String>,
    to: String,
    rows: Rows,
    handle: String,
    go: String,
    next_ms: Option<i64>,
    dismissing: bool,
}

struct Line {
    id: Id,
    name: String,
    state: String,
    class: &'static str,
    last: String,
    holds: String,
    open: bool,
    next_ms: Option<i64>,
}

fn show_of(room: &ColdRoom) -> Show {
    Show::of(&room.look.state, room.look.now)
}

/// What the form for a power cut has to choose from: every place that isn't in a lapse already.
fn choices(room: &ColdRoom, f: &Fields) -> Vec<Choice> {
    let show = show_of(room);
    let choice = |c: &Cold| Choice {
        id: c.place.clone(),
        name: place_name(&room.look.state, &c.place),
        more: c.last_good.map_or_else(
            || lang::cut_no_good().to_owned(),
            |r| lang::cut_last_good(&show.degrees(r.value), &show.clock(r.at)),
        ),
        chosen: !f.has("at") || f.is("place", c.place.as_str()),
    };
    room.places.iter().filter(|c| c.lapsed_since.is_none()).map(choice).collect()
}

/// Builds it. Each proposal comes with what it would mean, where that was asked.
pub(super) fn build(room: &ColdRoom, proposed: &[Option<WhatIf>], f: &Fields, asked: &Asked) -> ColdPage {
    let (state, show) = (&room.look.state, show_of(room));
    let shell = Shell::of(state, room.look.now, asked);
    let of_all = room.places.iter().flat_map(|c| c.proposals.iter().map(move |p| (c, p)));
    let line = |c: &Cold| {
        let (said, class) = words::state(show, c);
        Line {
            id: c.place.clone(),
            name: place_name(state, &c.place),
            state: said,
            class,
            last: words::read(show, c.last),
            holds: lang::cold_holds(logged(state, &c.place).len() as i64),
            open: c.lapsed_since.is_some(),
            next_ms: words::next_ms(c),
        }
    };
    ColdPage {
        live: Live::shop(&shell, state.head).of_places().to_string(),
        proposals: of_all.zip(proposed).map(|((c, p), items)| one(room, (c, p), items.as_ref(), f)).collect(),
        open: room.places.iter().filter(|c| c.lapsed_since.is_some()).map(|c| c.place.clone()).collect(),
        places: words::worst_first(&room.places).into_iter().map(line).collect(),
        choices: choices(room, f),
        f: f.clone(),
        shell,
    }
}

fn one(room: &ColdRoom, (c, p): (&Cold, &Proposal), what_if: Option<&WhatIf>, f: &Fields) -> Proposed {
    let (state, show, lapse) = (&room.look.state, show_of(room), words::lapse(p));
    let handle = cut::handle(&lapse);
    let to = format!("cold/cut?lapse={}", handle.replace(' ', "+"));
    let (affected, _) = affected::parts(what_if.map_or(&[][..], |w| &w.affected));
    Proposed {
        place: p.place.clone(),
        name: place_name(state, &p.place),
        said: words::said(show, p),
        why: words::why(show, c, p),
        span: cut::says(&lapse, state, show),
        sums: what_if.map(|w| affected::sums(&w.affected)),
        rows: affected::rows(what_if.map_or(state, |w| &w.look.state), show, affected, affected::FEW, &to),
        go: match p.until {
            None => lang::cold_confirm_open(&show.clock(p.from)),
            Some(until) => lang::cold_confirm(&show.clock(p.from), &show.clock(until)),
        },
        next_ms: words::next_ms(c),
        dismissing: f.has("reason") && f.is("lapse", &handle),
        to,
        handle,
    }
}

/// What a power cut would mean.
#[derive(Template)]
#[template(path = "cold/cut.html")]
pub(super) struct CutPage {
    shell: Shell,
    query: String,
    spans: Vec<String>,
    sums: String,
    /// Said where not everything that has ended was looked at.
    part: Option<String>,
    rows: Rows,
    ended: Rows,
    grid: grid::Grid,
    handles: Vec<String>,
    go: String,
    choices: Vec<Choice>,
    f: Fields,
}

/// Builds it; without lapses it asks again.
pub(super) fn cut(
    room: &ColdRoom,
    (lapses, what_if): (&[Lapse], &WhatIf),
    (query, f): (&str, &Fields),
    asked: &Asked,
) -> CutPage {
    let (state, show, now) = (&what_if.look.state, show_of(room), room.look.now);
    // The longest of them: no food there was without cold for longer.
    let out_ms = lapses.iter().map(|l| l.until.unwrap_or(now).since(l.from)).max();
    let most = if f.has("all") { usize::MAX } else { affected::FEW };
    let (open, ended) = affected::parts(&what_if.affected);
    let to = format!("cold/cut?{query}&all=1");
    CutPage {
        shell: Shell::of(state, now, asked),
        query: query.to_owned(),
        spans: lapses.iter().map(|l| cut::says(l, state, show)).collect(),
        sums: affected::sums(&what_if.affected),
        part: (!what_if.whole).then(|| lang::affected_cut(&CLOSED_MOST.to_string())),
        rows: affected::rows(state, show, open, most, &to),
        ended: affected::rows(state, show, ended, most, &to),
        grid: grid::of(show, out_ms),
        handles: lapses.iter().map(cut::handle).collect(),
        go: lang::cut_go(lapses.len() as i64),
        choices: choices(room, f),
        f: f.clone(),
    }
}
