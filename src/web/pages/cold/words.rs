//! How it stands about the cold of a place, in words.

use super::super::place_name;
use crate::board::cold::{Cold, Proposal, Reading, Why};
use crate::board::what_if::Lapse;
use crate::clock::{Instant, MINUTE_MS};
use crate::exposure::AIR_HOLDS_MS;
use crate::lang;
use crate::ledger::{Id, State};
use crate::web::show::Show;

/// Lines at the head of a board at most: this project's choice, the rows are there too.
const LINES: usize = 3;

/// What it says, and the class that gives it its weight.
pub(in super::super) fn state(show: Show, c: &Cold) -> (String, &'static str) {
    match (c.lapsed_since, c.above_since, c.silent_since) {
        (Some(at), ..) => (lang::cold_failed(&show.clock(at)), "failed"),
        (_, Some(at), _) => (lang::cold_above(&show.clock(at)), "warns"),
        (_, _, Some(at)) => (lang::cold_silent(&show.clock(at)), "warns"),
        _ => match c.last {
            None => (lang::cold_unread().to_owned(), "well"),
            // It says nothing of now.
            Some(r) if show.now.since(r.at) > AIR_HOLDS_MS => (lang::cold_in_control_then().to_owned(), "well"),
            Some(_) => (lang::cold_in_control().to_owned(), "well"),
        },
    }
}

/// Those that have failed, those that may have, then the others.
pub(in super::super) fn worst_first(colds: &[Cold]) -> Vec<&Cold> {
    let mut all: Vec<&Cold> = colds.iter().collect();
    let rank = |c: &&Cold| match (c.lapsed_since, c.above_since, c.silent_since) {
        (Some(_), ..) => 0,
        (_, None, None) => 2,
        _ => 1,
    };
    all.sort_by_key(rank);
    all
}

/// A place that has failed or may have, in a line at the head of a board.
pub(in super::super) struct Says {
    /// The place's id; of what stands for several, none.
    pub id: String,
    /// `Walk-in: above its limit since 04:10`.
    pub text: String,
    pub next_ms: Option<i64>,
}

/// The worst of them, and how many more there are.
pub(in super::super) fn says(ledger: &State, show: Show, colds: &[Cold]) -> Vec<Says> {
    let says = |c: &Cold| {
        let (said, class) = state(show, c);
        let said = match (class, c.proposals.last()) {
            ("well", None) => return None,
            ("well", Some(p)) => lang::cold_waits(&span(show, p)),
            _ => said,
        };
        let text = lang::cold_line(&place_name(ledger, &c.place), &said);
        Some(Says { id: format!("-{}", c.place), text, next_ms: next_ms(c) })
    };
    let mut all: Vec<Says> = worst_first(colds).into_iter().filter_map(says).collect();
    if all.len() > LINES {
        let more = all.split_off(LINES - 1);
        let (text, next_ms) = (lang::cold_more(&more.len().to_string()), more.iter().filter_map(|s| s.next_ms).min());
        all.push(Says { id: String::new(), text, next_ms });
    }
    all
}

/// When what is said of the cold stops being true by itself.
pub(in super::super) fn until(colds: &[Cold]) -> Instant {
    colds.iter().flat_map(|c| &c.next).map(|(_, at)| *at).min().unwrap_or(Instant::FAR)
}

fn span(show: Show, p: &Proposal) -> String {
    lang::air_from_to(&show.clock(p.from), &show.clock(p.until.unwrap_or(show.now)))
}

/// A reading and when it was.
pub(super) fn read(show: Show, r: Option<Reading>) -> String {
    r.map_or_else(|| lang::cold_last_none().to_owned(), |r| lang::cold_last(&show.degrees(r.value), &show.clock(r.at)))
}

/// When what is said of a place changes without a reading, for the script to ask again.
pub(in super::super) fn next_ms(c: &Cold) -> Option<i64> {
    c.next.iter().map(|(_, at)| at.0).min()
}

/// The lapse that a proposal is of.
pub(super) fn lapse(p: &Proposal) -> Lapse {
    Lapse { place: p.place.clone(), from: p.from, until: p.until }
}

/// What the readings say.
pub(super) fn said(show: Show, p: &Proposal) -> String {
    match p.why {
        Why::Above => lang::cold_above(&show.clock(p.since)),
        Why::Silent => lang::cold_silent(&show.clock(p.since)),
    }
}

/// Why it is proposed.
pub(super) fn why(show: Show, c: &Cold, p: &Proposal) -> String {
    let reason = match p.why {
        Why::Above => lang::cold_why_above(&minutes(c.watch.grace_min), &show.limit(c.watch.limit)),
        Why::Silent => lang::cold_why_silent(&minutes(c.watch.silent_min)),
    };
    let warmest = p.warmest.map(|r| lang::cold_why_warmest(&show.degrees(r.value), &show.clock(r.at)));
    let good = c.last_good.filter(|r| r.at == p.from);
    let good = good.map(|r| lang::cold_why_good(&show.degrees(r.value), &show.clock(r.at)));
    [Some(reason), warmest, good].into_iter().flatten().collect::<Vec<_>>().join(" ")
}

/// What its entry says of it.
pub(super) fn note(show: Show, c: &Cold, p: &Proposal) -> String {
    let since = show.clock(p.since);
    match p.why {
        Why::Above => lang::cold_note_above(&show.limit(c.watch.limit), &since),
        Why::Silent => lang::cold_note_silent(&since),
    }
}

/// Whole minutes in words.
pub(super) fn minutes(n: i64) -> String {
    Show::used(n * MINUTE_MS)
}

/// A place's last good reading.
pub(super) fn good(colds: &[Cold], place: &Id) -> Option<Instant> {
    colds.iter().find(|c| c.place == *place)?.last_good.map(|r| r.at)
}
