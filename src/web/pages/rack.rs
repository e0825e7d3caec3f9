//! A rack: what stands on it, and one move for all of it.

use super::live::Live;
use super::mark::{self, Label, Offer};
use super::tag::is_open;
use super::tile::verdict_word;
use super::{Asked, Choice, Shell, moves, name_of, new_item, place_name};
use crate::clock::Instant;
use crate::exposure::Fold;
use crate::items::{Rack, Tag};
use crate::lang;
use crate::ledger::{Control, Id, State};
use crate::record::marking::Marking;
use crate::rules::{self, Phase, Returns, Standing, Verdict};
use crate::web::show::Show;
use askama::Template;
use std::cmp::Reverse;

/// All racks.
#[derive(Template)]
#[template(path = "racks.html")]
pub struct Racks {
    shell: Shell,
    racks: Vec<(Id, String)>,
}

/// Builds the list.
pub fn list(state: &State, now: Instant, racks: &[Rack], asked: &Asked) -> Racks {
    let line = |r: &Rack| {
        let open = r.items.iter().filter(|id| is_open(state, id, now)).count();
        (r.rack.clone(), lang::rack_line(open as i64, &r.name))
    };
    Racks { shell: Shell::of(state, now, asked), racks: racks.iter().map(line).collect() }
}

/// Something that stands on a rack.
struct Row {
    id: Id,
    name: String,
    place: String,
    verdict: Option<&'static str>,
    until: String,
    /// When its verdict gets worse, for the script to ask again.
    next_ms: Option<i64>,
    /// What is wrong with what it carries.
    label: Option<Label>,
    /// The time it may be marked with.
    offer: Option<Offer>,
}

/// The page of a rack.
#[derive(Template)]
#[template(path = "rack.html")]
pub struct RackPage {
    shell: Shell,
    live: String,
    sizes: [(&'static str, &'static str); 3],
    rack: Id,
    name: String,
    where_: String,
    /// What says when the first of it must go, and that time.
    first: Option<(&'static str, String)>,
    /// The one move for all: where to, and its label.
    go: Option<(Id, String)>,
    /// Who had better not go along, and why.
    warn: Option<String>,
    others: Vec<Choice>,
    rows: Vec<Row>,
    count: String,
    refused: Vec<String>,
    tags: Vec<Tag>,
    add: Vec<Choice>,
    unit: &'static str,
}

impl RackPage {
    /// Whether anything on it may be marked.
    fn may_mark(&self) -> bool {
        self.rows.iter().any(|r| r.offer.is_some())
    }
}

/// Builds it. `refused` are sentences about what a move just made left behind.
pub fn build(
    state: &State,
    now: Instant,
    rack: &Rack,
    (tags, refused): (Vec<Tag>, Vec<String>),
    asked: &Asked,
) -> RackPage {
    let show = Show::of(state, now);
    let fold = Fold::new(state, now, show.zone);
    let ids = rack.items.iter().filter(|id| is_open(state, id, now));
    let ids = ids.filter_map(|id| state.items.get_key_value(id).map(|(id, _)| id));
    let mut here: Vec<Standing> = ids.filter_map(|id| rules::standing(&fold, id)).collect();
    here.sort_by_key(|s| (Reverse(s.verdict), s.state != Phase::Out, s.left_ms.unwrap_or(i64::MAX), s.item.clone()));
    let (to_cold, places) = where_to(state, &here, now);
    let go = places.first().filter(|p| moves::controlled(p, now) == to_cold).map(|p| {
        let label = if to_cold { lang::go_back(&p.name) } else { lang::go_out(&p.name) };
        (p.place.clone(), label)
    });
    let rest = places.iter().skip(usize::from(go.is_some()));
    let row = |(s, m): (&Standing, Marking)| Row {
        id: s.item.clone(),
        name: name_of(state, &s.item),
        place: place_name(state, &s.place),
        verdict: verdict_word(s.verdict),
        until: until(s, show),
        next_ms: s
            .next
            .as_ref()
            .map(|n| n.at)
            .into_iter()
            .chain(m.unmarked_from.filter(|at| *at > now))
            .min()
            .map(|t| t.0),
        label: mark::label(show, &m),
        offer: mark::offer(show, s, &m),
    };
    let shell = Shell { back: vec![("rack", rack.rack.to_string())], ..Shell::of(state, now, asked) };
    RackPage {
        live: Live::shop(&shell, state.head).of(state, rack.items.iter().cloned()).to_string(),
        shell,
        sizes: super::label::sizes(),
        rack: rack.rack.clone(),
        name: rack.name.clone(),
        where_: stands(state, &here),
        first: first(&here, show),
        warn: warning(state, &here, to_cold),
        others: rest.map(|p| choice(p, now)).collect(),
        go,
        count: lang::rack_on(here.len() as i64),
        rows: here.iter().filter_map(|s| Some((s, Marking::of(state, s)?))).map(row).collect(),
        refused,
        tags,
        add: new_item::open_items(state, now).into_iter().filter(|c| !rack.items.contains(&c.id)).collect(),
        unit: show.unit(),
    }
}

fn choice(p: &crate::ledger::Place, now: Instant) -> Choice {
    let more = if moves::controlled(p, now) { p.control } else { Control::None };
    Choice { more: super::words::control(more).to_owned(), ..Choice::place(p, false) }
}

/// Back if most of it is out, else out; and the places, the likeliest first.
fn where_to(state: &State, here: &[Standing], now: Instant) -> (bool, Vec<std::sync::Arc<crate::ledger::Place>>) {
    let out = here.iter().filter(|s| s.state == Phase::Out).count();
    let to_cold = 2 * out >= here.len();
    let leader = here.iter().find(|s| (s.state == Phase::Out) == to_cold).or(here.first());
    let places = leader.and_then(|s| {
        let item = state.items.get(&s.item)?;
        Some(moves::places(state, item, &s.place, to_cold, now))
    });
    (to_cold, places.unwrap_or_default())
}

/// `12 in Walk-in, 6 in Bench`.
fn stands(state: &State, here: &[Standing]) -> String {
    let mut counts: Vec<(&Id, i64)> = Vec::new();
    for s in here {
        match counts.iter_mut().find(|(place, _)| **place == s.place) {
            Some((_, n)) => *n += 1,
            None => counts.push((&s.place, 1)),
        }
    }
    counts.sort_by_key(|(_, n)| Reverse(*n));
    let one = |(place, n): &(&Id, i64)| lang::rack_in(&n.to_string(), &place_name(state, place));
    counts.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// When it must go: if it is out, or else what would hold if it were taken out now.
fn limit(s: &Standing) -> Option<(&'static str, Instant)> {
    match s.state {
        Phase::Out => s.discard_by.map(|by| (lang::lead_discard_by(), by)),
        _ => s.left_ms.map(|left| (lang::lead_would(), s.as_of.plus(left))),
    }
}

/// The earliest of all: what is most urgent by its verdict may have longer than another.
fn first(here: &[Standing], show: Show) -> Option<(&'static str, String)> {
    if here.iter().any(|s| s.verdict == Verdict::Discard) {
        return None;
    }
    here.iter().filter_map(limit).min_by_key(|(_, at)| *at).map(|(lead, at)| (lead, show.clock(at)))
}

fn until(s: &Standing, show: Show) -> String {
    match limit(s) {
        _ if s.verdict == Verdict::Discard => lang::left_none().to_owned(),
        Some((lead, at)) => lang::rack_until(lead, &show.clock(at)),
        None => lang::lead_no_limit().to_owned(),
    }
}

/// Who may not go back, before all of it does.
fn warning(state: &State, here: &[Standing], to_cold: bool) -> Option<String> {
    let never = |s: &Standing| {
        let item = state.items.get(&s.item).and_then(|i| i.begin());
        item.is_some_and(|(e, b)| state.rules_of(b, e.meta.seq).iter().any(|r| r.returns == Returns::Never))
    };
    let stays =
        |s: &&Standing| s.state == Phase::Out && (s.verdict >= Verdict::Use || (never(s) && s.return_by.is_none()));
    let names: Vec<String> = here.iter().filter(stays).map(|s| name_of(state, &s.item)).collect();
    (to_cold && !names.is_empty()).then(|| lang::rack_not_back(&names.join(", ")))
}
