//! The rows of a board: rendered once for everybody who looks at the same shop through the same filter.

use super::cold::words::{self, Says};
use super::tile::Tile;
use super::working::{Hint, hints};
use crate::board::cold::Cold;
use crate::board::due::{Due, calls};
use crate::board::others::with_others;
use crate::board::working::{self, ComeBacks};
use crate::board::{Filter, List};
use crate::clock::{Instant, Zone};
use crate::exposure::Fold;
use crate::lang;
use crate::ledger::{Id, State};
use crate::people::Names;
use crate::rules::{Phase, Verdict};
use crate::web::fragments::Decided;
use crate::web::show::Show;
use askama::Template;
use std::collections::BTreeSet;

/// The rows and what stands around them.
#[derive(Template)]
#[template(path = "rows.html")]
pub struct Rows {
    board: String,
    may_write: bool,
    /// Before every id in it, where several boards are on one page.
    pre: String,
    /// Whether it is a page's whole content.
    files: bool,
    filter: String,
    /// Places that have failed, or may have.
    cold: Vec<Says>,
    only: Option<(String, &'static str)>,
    groups: Vec<Group>,
    counts: String,
    /// How many labels are wrong or missing.
    labels: Option<String>,
    /// How much is with others.
    others: Option<String>,
    more: Option<String>,
    places: Vec<(String, String, bool)>,
    products: Vec<(String, String, bool)>,
    today: String,
    week_ago: String,
    /// When it stops being true by itself.
    until: Instant,
}

impl Rows {
    /// When it stops being true by itself.
    pub fn until(&self) -> Instant {
        self.until
    }
}

/// When what is said of an item stops being true by itself.
pub(super) fn until(tile: &Tile, now: Instant) -> Instant {
    let ends = tile.next_ms().map(Instant).into_iter().chain(tile.standing.discard_by);
    ends.filter(|at| *at > now).min().unwrap_or(Instant::FAR)
}

struct Group {
    id: &'static str,
    title: &'static str,
    tiles: Vec<(Tile, Known, Vec<Hint>)>,
}

/// Whether somebody has acted on what is over.
enum Known {
    /// Nothing is.
    Nothing,
    /// Nobody has; the threshold it is about.
    Nobody(String),
    /// Somebody has.
    By(String),
}

/// What rows are built for.
pub struct For<'a> {
    /// The board's address from the page.
    pub board: String,
    /// Whether they carry forms.
    pub may_write: bool,
    /// The shop's id where other boards are on the page too.
    pub among: Option<&'a str>,
    /// Which items.
    pub filter: &'a Filter,
    /// What was decided about items.
    pub decided: &'a Decided,
    /// Who decided.
    pub names: &'a Names,
    /// How it stands about the cold of places.
    pub cold: &'a [Cold],
    /// When items are meant to be moved next.
    pub planned: &'a ComeBacks,
}

/// A filter as an address has it: `place=bench&product=carrot-cake`; nothing for none.
pub fn query(filter: &Filter) -> String {
    let part = |name: &str, id: &Option<Id>| id.as_ref().map(|id| format!("{name}={id}"));
    let parts = [part("place", &filter.place), part("product", &filter.product)];
    parts.into_iter().flatten().collect::<Vec<_>>().join("&")
}

/// What an address or a form says of a filter; what names nothing keeps everything.
pub fn filter_of(text: &str) -> Filter {
    let mut filter = Filter::default();
    for (name, value) in text.split('&').filter_map(|part| part.split_once('=')) {
        match name {
            "place" => filter.place = Id::new(value),
            "product" => filter.product = Id::new(value),
            _ => {}
        }
    }
    filter
}

/// Builds them from the list, most urgent first: only what is shown is worked out.
pub fn build(state: &State, now: Instant, list: &List, f: &For) -> Rows {
    let show = Show::of(state, now);
    let fold = Fold::new(state, now, show.zone);
    let ids = list.standings.iter().filter_map(|s| state.items.get_key_value(&s.item));
    let listed: Vec<&Id> = list.standings.iter().map(|s| &s.item).collect();
    // What was to be moved by now is shown, however late in the list it stands.
    let late = working::overdue(state, f.planned, now);
    let late: BTreeSet<&Id> = late.iter().filter(|id| f.filter.keeps_id(state, id)).collect();
    let beyond = late.iter().filter(|id| !listed.contains(id)).filter_map(|id| state.items.get_key_value(*id));
    let tiles: Vec<Tile> = ids.chain(beyond).filter_map(|(id, _)| Tile::of(&fold, id, show, false)).collect();
    let [out, cold, frozen] = list.counts.map(|n| n.to_string());
    let shown = tiles.len();
    let until = tiles.iter().map(|t| until(t, now)).min().unwrap_or(Instant::FAR);
    let until = until.min(words::until(f.cold));
    let [wrong, unmarked] = list.labels.map(|n| n as i64);
    let labels = [(wrong > 0).then(|| lang::board_late(wrong)), (unmarked > 0).then(|| lang::board_unmarked(unmarked))];
    let labels: Vec<String> = labels.into_iter().flatten().collect();
    let mut groups = [
        Group { id: "act", title: lang::group_act(), tiles: Vec::new() },
        Group { id: "known", title: lang::group_known(), tiles: Vec::new() },
        Group { id: "labels", title: lang::group_labels(), tiles: Vec::new() },
        Group { id: "planned", title: lang::group_planned(), tiles: Vec::new() },
        Group { id: "out", title: lang::group_out(), tiles: Vec::new() },
        Group { id: "cold", title: lang::group_cold(), tiles: Vec::new() },
        Group { id: "frozen", title: lang::group_frozen(), tiles: Vec::new() },
    ];
    for tile in tiles {
        let mislabelled = tile.label.as_ref().is_some_and(|l| l.class == "late");
        let known = known(&tile, show, f);
        let at = match (tile.standing.verdict, tile.standing.state, &known) {
            (Verdict::Within, _, _) if mislabelled => 2,
            (Verdict::Within, _, _) if late.contains(&tile.id) => 3,
            (Verdict::Within, Phase::Out, _) => 4,
            (Verdict::Within, Phase::Cold, _) => 5,
            (Verdict::Within, _, _) => 6,
            (_, _, Known::By(_)) => 1,
            _ => 0,
        };
        let Some((id, _)) = state.items.get_key_value(&tile.id) else { continue };
        let hints = hints(&fold, id, &tile, show, f.planned);
        groups[at].tiles.push((tile, known, hints));
    }
    let others = state.items.values().filter(|item| with_others(state, item)).count() as i64;
    let today = show.zone.day(now);
    let name = |id: &Option<Id>, of: &dyn Fn(&Id) -> Option<String>| {
        id.as_ref().map(|id| of(id).unwrap_or_else(|| id.to_string()))
    };
    let product = |id: &Id| state.product(id, u64::MAX).map(|p| p.name.to_string());
    let place = |id: &Id| state.places.get(id).map(|p| p.name.to_string());
    let only: Vec<String> =
        [name(&f.filter.place, &place), name(&f.filter.product, &product)].into_iter().flatten().collect();
    let by_place = state.places.keys().map(|id| Filter { place: Some(id.clone()), product: f.filter.product.clone() });
    let by_product =
        state.products.keys().map(|id| Filter { place: f.filter.place.clone(), product: Some(id.clone()) });
    let choice = |to: Filter, name: Option<String>| (query(&to), name.unwrap_or_default(), to == *f.filter);
    Rows {
        board: f.board.clone(),
        may_write: f.may_write,
        pre: f.among.map_or_else(String::new, |site| format!("{site}-")),
        files: f.among.is_none(),
        filter: query(f.filter),
        cold: words::says(state, show, f.cold),
        only: (!only.is_empty()).then(|| (lang::filter_only(&only.join(", ")), lang::filter_all())),
        groups: groups.into_iter().filter(|g| !g.tiles.is_empty()).collect(),
        counts: lang::board_counts(&cold, &frozen, &out),
        labels: (!labels.is_empty()).then(|| labels.join(", ")),
        others: (others > 0).then(|| lang::board_others(others)),
        more: list.last.as_ref().map(|_| lang::board_more(&(list.counts.iter().sum::<usize>() - shown).to_string())),
        places: by_place
            .map(|to| {
                let name = to.place.as_ref().and_then(place);
                choice(to, name)
            })
            .collect(),
        products: by_product
            .map(|to| {
                let name = to.product.as_ref().and_then(product);
                choice(to, name)
            })
            .collect(),
        today: Zone::date_text(today),
        week_ago: Zone::date_text(today - 6),
        until,
    }
}

fn known(tile: &Tile, show: Show, f: &For) -> Known {
    // What is to be put back is dealt with by doing so.
    if tile.standing.verdict < Verdict::Use {
        return Known::Nothing;
    }
    match calls(&tile.standing, &[]) {
        Some(due) => match said(&tile.id, &due, show, f.decided, f.names) {
            Some(text) => Known::By(text),
            None => Known::Nobody(due.threshold.to_string()),
        },
        None => Known::Nothing,
    }
}

/// Who acted on it, when, and what they said.
pub(super) fn said(item: &Id, due: &Due, show: Show, decided: &Decided, names: &Names) -> Option<String> {
    let d = decided.on(item, due)?;
    let who = d.by.as_ref().map_or_else(String::new, |by| Names::isolated(names.of(by)));
    let reason = d.reason.split_once(": ").filter(|(t, _)| crate::board::due::Threshold::read(t).is_some());
    Some(lang::known_by(reason.map_or(&d.reason, |(_, rest)| rest), &show.clock(d.at), &who))
}
