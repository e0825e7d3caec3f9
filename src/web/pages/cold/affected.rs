//! Items that a failure of the cold is about: how each stands now, and how it would with it. Most urgent first.

use super::super::{name_of, place_name, tile};
use crate::board::what_if::Affected;
use crate::lang;
use crate::ledger::{Id, State};
use crate::rules::{Phase, Standing, Verdict};
use crate::web::show::Show;

/// Items shown at first.
pub(super) const FEW: usize = 200;

/// The table.
pub(super) struct Rows {
    pub lines: Vec<Row>,
    /// The way to the whole of it: the address behind the shop's, and what stands on it.
    pub more: Option<(String, String)>,
}

/// An item.
pub(super) struct Row {
    pub id: Id,
    pub name: String,
    pub place: String,
    pub class: &'static str,
    /// Now, and with it.
    pub sides: [Side; 2],
}

/// How it stands, one way or the other.
pub(super) struct Side {
    pub verdict: Option<&'static str>,
    pub lines: Vec<String>,
}

fn side(s: &Standing, show: Show) -> Side {
    let verdict = tile::verdict_word(s.verdict);
    if s.state == Phase::Closed {
        return Side { verdict, lines: vec![lang::day_closed(&show.clock(s.as_of))] };
    }
    let over = s.verdict == Verdict::Discard;
    let left = match (over, s.left_ms, s.state) {
        (true, ..) => lang::affected_left_none().to_owned(),
        (_, None, _) => lang::affected_no_limit().to_owned(),
        (_, Some(ms), Phase::Out) => lang::affected_left(&Show::left(ms)),
        (_, Some(ms), _) => lang::affected_left_cold(&Show::left(ms)),
    };
    // In the cold a sum has no time by which to discard; only a clock that runs on there has.
    let by = s.clock_by.filter(|_| s.state == Phase::Out || over || s.clock_from.is_some());
    let lines = by.map(|by| lang::affected_by(&show.clock(by))).into_iter().chain([left]).collect();
    Side { verdict, lines }
}

fn class(v: Verdict) -> &'static str {
    match v {
        Verdict::Within => "v-within",
        Verdict::Return => "v-return",
        Verdict::Use => "v-use",
        Verdict::Discard => "v-discard",
    }
}

/// Those that are open, and those that have ended, which come last.
pub(super) fn parts(all: &[Affected]) -> (&[Affected], &[Affected]) {
    all.split_at(all.partition_point(|a| a.then.state != Phase::Closed))
}

/// The first `most` of them; `to` is where all of them are shown.
pub(super) fn rows(state: &State, show: Show, all: &[Affected], most: usize, to: &str) -> Rows {
    let row = |Affected { now, then }: &Affected| {
        let left = state.items.get(&now.item).map_or(1, |i| i.left().max(1));
        let name = name_of(state, &now.item);
        Row {
            id: now.item.clone(),
            name: if left == 1 { name } else { lang::name_count(&left.to_string(), &name) },
            place: place_name(state, &now.place),
            class: class(then.verdict),
            sides: [side(now, show), side(then, show)],
        }
    };
    let more = (all.len() > most).then(|| (to.to_owned(), lang::affected_more(&all.len().to_string())));
    Rows { lines: all.iter().take(most).map(row).collect(), more }
}

/// How many of a kind there are, in words.
type Words = fn(&str) -> String;

/// How many there are, and what would be to be done with how many of them.
pub(super) fn sums(all: &[Affected]) -> String {
    if all.is_empty() {
        return lang::affected_none().to_owned();
    }
    let words: [(Verdict, Words); 4] = [
        (Verdict::Discard, lang::affected_discard),
        (Verdict::Use, lang::affected_use),
        (Verdict::Return, lang::affected_return),
        (Verdict::Within, lang::affected_within_count),
    ];
    let (open, ended) = parts(all);
    let count = |v: Verdict| open.iter().filter(|a| a.then.verdict == v).count();
    let ended = (ended.len(), lang::affected_ended as Words);
    let parts = words.iter().map(|(v, words)| (count(*v), *words)).chain([ended]).filter(|(n, _)| *n > 0);
    let parts: Vec<String> = parts.map(|(n, words)| words(&n.to_string())).collect();
    lang::affected_sum_line(&parts.join(", "), &lang::affected_sums(all.len() as i64))
}
