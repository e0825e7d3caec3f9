//! What the small pages behind an item's page have in common: who asks about which item, and the lines at their top.

use super::forms::{self, Fields};
use super::{Asked, Shell, name_of, place_name, tile};
use crate::clock::Instant;
use crate::exposure::Fold;
use crate::lang;
use crate::ledger::{self, Body, From, Id, Item, State};
use crate::rules::{self, Phase, Standing, Verdict};
use crate::web::show::Show;
use serde_json::Value;

/// What a small page is built from.
pub(super) struct Ctx<'a> {
    pub state: &'a State,
    pub id: &'a Id,
    pub item: &'a Item,
    pub show: Show,
    /// What was chosen or typed so far.
    pub fields: &'a Fields,
    pub asked: &'a Asked<'a>,
}

/// The top of such a page.
pub(super) struct Head {
    pub id: Id,
    /// The last part of its address.
    pub what: &'static str,
    pub title: &'static str,
    pub name: String,
    pub place: String,
    pub figures: String,
}

impl<'a> Ctx<'a> {
    /// `None` if there is no such item, or no more.
    pub(super) fn of(
        state: &'a State,
        now: Instant,
        id: &Id,
        fields: &'a Fields,
        asked: &'a Asked<'a>,
    ) -> Option<Ctx<'a>> {
        let (id, item) = state.items.get_key_value(id)?;
        item.begin()?;
        Some(Ctx { state, id, item, show: Show::of(state, now), fields, asked })
    }

    pub(super) fn standing(&self, id: &Id) -> Option<Standing> {
        standing(self.state, self.show, id)
    }

    pub(super) fn shell(&self) -> Shell {
        Shell::of(self.state, self.show.now, self.asked)
    }

    pub(super) fn head(&self, what: &'static str, title: &'static str) -> Option<Head> {
        let s = self.standing(self.id)?;
        Some(Head {
            id: self.id.clone(),
            what,
            title,
            name: name_of(self.state, self.id),
            place: place_name(self.state, &s.place),
            figures: figures(&s, self.show),
        })
    }

    /// The ledger as it would be with these entries; `None` if it would refuse them.
    pub(super) fn with(&self, entries: &[Value]) -> Option<ledger::Draft> {
        let parsed = entries.iter().map(|e| ledger::parse(&e.to_string(), From::Caller));
        let entries = parsed.collect::<Result<Vec<_>, _>>().ok()?;
        let wanted: Vec<u64> = entries.iter().flat_map(|p| &p.bodies).filter_map(corrects).collect();
        let near = self.state.items.values().filter(|_| !wanted.is_empty()).flat_map(|i| &i.records);
        let targets = near.map(|r| &r.original).filter(|e| wanted.contains(&e.meta.seq));
        let targets = targets.map(|e| (e.meta.seq, e.clone())).collect();
        let actor = ledger::Meta::default();
        ledger::accept(
            self.state,
            ledger::Request { entries, now: self.show.now, actor, manager: false, probe: false, targets },
        )
        .ok()
    }
}

fn corrects(body: &Body) -> Option<u64> {
    match body {
        Body::Correct { entry, .. } => Some(*entry),
        _ => None,
    }
}

pub(super) fn standing(state: &State, show: Show, id: &Id) -> Option<Standing> {
    let (id, _) = state.items.get_key_value(id)?;
    rules::standing(&Fold::new(state, show.now, show.zone), id)
}

/// `out 1 h 20 min in all; discard by 11:00`.
pub(super) fn figures(s: &Standing, show: Show) -> String {
    let total = lang::total_out(&Show::used(s.total_out_ms));
    let rest = match (s.verdict, s.state, s.discard_by, s.left_ms) {
        (_, Phase::Closed, ..) => return total,
        (Verdict::Discard, ..) => lang::left_none().to_owned(),
        (_, Phase::Out, Some(by), _) => lang::figure_by(&show.clock(by)),
        (.., Some(ms)) => lang::left_once_out(&Show::left(ms)),
        (.., None) => lang::lead_no_limit().to_owned(),
    };
    lang::figures(&rest, &total)
}

/// The word for its verdict, where that isn't `within`.
pub(super) fn verdict(s: &Standing) -> Option<&'static str> {
    tile::verdict_word(s.verdict)
}

/// One value that is chosen by a touch.
pub(super) struct Pick {
    pub value: String,
    pub label: String,
    pub chosen: bool,
}

/// So many minutes ago, by one touch.
pub(super) fn ago(f: &Fields) -> Vec<Pick> {
    let pick = |m: &i64| {
        let value = m.to_string();
        Pick { label: lang::when_ago(&value), chosen: f.is("ago", &value), value }
    };
    forms::AGO.iter().map(pick).collect()
}

/// Why it is entered late, by one touch.
pub(super) fn whys(f: &Fields) -> Vec<Pick> {
    picks(f, &forms::late_words())
}

/// Why it is taken back, by one touch.
pub(super) fn undo_whys(f: &Fields, marked: bool) -> Vec<Pick> {
    let marks = forms::unmark_words();
    let mut all = if marked { picks(f, &marks) } else { Vec::new() };
    all.extend(picks(f, &forms::undo_words()));
    all
}

fn picks(f: &Fields, words: &[(&str, &str)]) -> Vec<Pick> {
    let pick = |(value, label): &(&str, &str)| Pick {
        value: (*value).to_owned(),
        label: (*label).to_owned(),
        chosen: f.is("why", value),
    };
    words.iter().map(pick).collect()
}

/// How many usually go at once, into the other part or away.
pub(super) const USUAL: [u32; 10] = [1, 2, 3, 4, 5, 6, 8, 10, 12, 20];

/// How many, by one touch: the usual numbers up to `most`.
pub(super) fn counts(f: &Fields, usual: &[u32], most: u32) -> Vec<Pick> {
    let pick = |n: &u32| {
        let value = n.to_string();
        Pick { label: value.clone(), chosen: f.is("count", &value), value }
    };
    usual.iter().filter(|n| **n <= most).map(pick).collect()
}

/// A number that was typed because none of those to touch was meant.
pub(super) fn typed_count(f: &Fields, picks: &[Pick]) -> String {
    let typed = f.all("count").find(|n| picks.iter().all(|p| p.value != **n));
    typed.unwrap_or_default().to_owned()
}
