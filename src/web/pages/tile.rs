//! An item at a glance: the figures that the board's row and the head of its page have in common.

use super::mark::{self, Label};
use super::{moves, name_of, place_name, temperature};
use crate::clock::Instant;
use crate::exposure::Fold;
use crate::lang;
use crate::ledger::{CloseAs, Id};
use crate::record::marking::Marking;
use crate::rules::{self, Phase, Returns, Standing, Verdict};
use crate::web::show::Show;
use crate::web::strip::{Strip, Window};

/// The one thing to do next, as a form with one button.
pub(super) struct Go {
    /// The form's last path segment.
    pub what: &'static str,
    /// The member that the button sets.
    pub field: &'static str,
    /// And to what.
    pub value: String,
    /// On the button.
    pub label: String,
    /// Whether a rule wants the food read before.
    pub read_first: bool,
}

/// An item at a glance.
pub(super) struct Tile {
    pub id: Id,
    pub name: String,
    pub place: String,
    pub standing: Standing,
    /// The verdict's word, where it isn't `within`.
    pub verdict: Option<&'static str>,
    /// What the large figure says.
    pub lead: String,
    /// The large figure.
    pub big: String,
    /// Its date, where that isn't today.
    pub date: Option<String>,
    /// Whether the large figure is a what-if.
    pub would: bool,
    pub left: String,
    /// Milliseconds left, where they are running down.
    pub running: Option<i64>,
    pub total: String,
    pub strip: String,
    /// The number of its last entry: a touch says by it what it knew.
    pub last: u64,
    pub go: Option<Go>,
    /// Whether it may go back, in words.
    pub may_return: String,
    /// What is wrong with what it carries.
    pub label: Option<Label>,
    /// When it lacks a mark, if it is still to come.
    unmarked_at: Option<Instant>,
}

impl Tile {
    /// `None` if there is no such item yet.
    pub(super) fn of<'a>(fold: &Fold<'a>, id: &'a Id, show: Show, hours: bool) -> Option<Tile> {
        let state = fold.state();
        let item = state.items.get(id)?;
        let (begin_entry, begin) = item.begin()?;
        let s = rules::standing(fold, id)?;
        let never = state.rules_of(begin, begin_entry.meta.seq).iter().any(|r| r.returns == Returns::Never);
        let may_go_back = s.verdict < Verdict::Use && !(never && s.return_by.is_none());
        let strip = Strip {
            spells: &fold.spells(id),
            standing: &s,
            began: begin_entry.at,
            window: Window::day(show.now, show.zone),
            show,
            hours,
        };
        let strip = strip.svg(|id| name_of(state, id));
        let left = item.left().max(1);
        let name = match left {
            1 => begin.name.to_string(),
            n => lang::name_count(&n.to_string(), &begin.name),
        };
        let Headline { lead, big, date, would } = headline(&s, show);
        let marking = Marking::of(state, &s)?;
        Some(Tile {
            id: id.clone(),
            name,
            place: place_name(state, &s.place),
            verdict: verdict_word(s.verdict),
            left: left_text(&s),
            running: s.left_ms.filter(|ms| *ms > 0 && s.state == Phase::Out && s.verdict != Verdict::Discard),
            total: lang::total_out(&Show::used(s.total_out_ms)),
            last: item.records.last().map_or(0, |r| r.original.meta.seq),
            go: go(fold, id, &s, may_go_back, show),
            may_return: may_return(&s, may_go_back, show),
            label: mark::label(show, &marking),
            unmarked_at: marking.unmarked_from.filter(|from| *from > show.now),
            standing: s,
            lead: lead.to_owned(),
            big,
            date,
            would,
            strip,
        })
    }

    /// The class that gives the verdict its pattern.
    pub(super) fn class(&self) -> &'static str {
        if self.would {
            return "v-within would";
        }
        class_of(self.standing.verdict)
    }

    /// When its verdict gets worse or it lacks a mark, for the script to ask again.
    pub(super) fn next_ms(&self) -> Option<i64> {
        let worse = self.standing.next.as_ref().map(|n| n.at);
        worse.into_iter().chain(self.unmarked_at).min().map(|at| at.0)
    }
}

/// The large figure of an item: what it says, the figure, its date, and whether it is a what-if.
struct Headline {
    lead: &'static str,
    big: String,
    date: Option<String>,
    would: bool,
}

fn headline(s: &Standing, show: Show) -> Headline {
    let at = |lead, t, would| Headline { lead, big: show.time(t), date: show.other_day(t), would };
    let once_out = s.left_ms.filter(|_| matches!(s.state, Phase::Cold | Phase::Frozen)).map(|left| s.as_of.plus(left));
    match (s.discard_by, once_out) {
        (Some(by), _) if s.verdict == Verdict::Discard => at(lang::lead_was(), by, false),
        // In the cold the midnight of its last day says little; what counts is how long it could stand now. Every
        // moment in the cold moves this later, so a page that is old errs on the short side.
        (by, Some(would)) if by.is_none_or(|by| would < by) => {
            let date = s.use_by.as_deref().map(|day| lang::use_by(&show.date_of(day)));
            Headline { date: date.or_else(|| show.other_day(would)), ..at(lang::lead_would(), would, true) }
        }
        (Some(by), _) => at(lang::lead_discard_by(), by, false),
        (None, _) => {
            Headline { lead: lang::lead_no_limit(), big: lang::big_no_limit().to_owned(), date: None, would: true }
        }
    }
}

fn left_text(s: &Standing) -> String {
    match (s.state, s.left_ms) {
        (Phase::Closed, _) | (_, None) => String::new(),
        _ if s.verdict == Verdict::Discard => lang::left_none().to_owned(),
        (Phase::Out, Some(ms)) => lang::left_out(&Show::left(ms)),
        (_, Some(ms)) => lang::left_once_out(&Show::left(ms)),
    }
}

fn may_return(s: &Standing, may_go_back: bool, show: Show) -> String {
    match (s.state, s.verdict, s.return_by) {
        (Phase::Out, Verdict::Discard, _) => lang::back_no_discard().to_owned(),
        (Phase::Out, Verdict::Use, _) => lang::back_no_use().to_owned(),
        (Phase::Out, Verdict::Return, _) => lang::back_now().to_owned(),
        (Phase::Out, _, _) if !may_go_back => lang::back_never().to_owned(),
        (Phase::Out, _, Some(by)) => lang::back_until(&show.clock(by)),
        (Phase::Out, _, None) => lang::back_any().to_owned(),
        _ => String::new(),
    }
}

/// Out or back; at `discard` into the bin. Where it may not go back, nothing on the row tempts to do so.
fn go<'a>(fold: &Fold<'a>, id: &'a Id, s: &Standing, may_go_back: bool, show: Show) -> Option<Go> {
    let state = fold.state();
    let out = s.state == Phase::Out;
    if s.state == Phase::Closed || (out && !may_go_back && s.verdict < Verdict::Discard) {
        return None;
    }
    if s.verdict == Verdict::Discard {
        let value = word(CloseAs::Discarded);
        let label = lang::go_discard().to_owned();
        return Some(Go { what: "end", field: "as", value, label, read_first: false });
    }
    let places = moves::places(state, state.items.get(id)?, &s.place, out, show.now);
    let place = places.first().filter(|p| moves::controlled(p, show.now) == out)?;
    let label = if out { lang::go_back(&place.name) } else { lang::go_out(&place.name) };
    let read_first = !out && temperature::wanted(state, state.items.get(id)?, s, place, show.now);
    Some(Go { what: "move", field: "place", value: place.place.to_string(), label, read_first })
}

/// How a verdict is shown.
pub(super) fn class_of(v: Verdict) -> &'static str {
    match v {
        Verdict::Within => "v-within",
        Verdict::Return => "v-return",
        Verdict::Use => "v-use",
        Verdict::Discard => "v-discard",
    }
}

pub(super) fn verdict_word(v: Verdict) -> Option<&'static str> {
    match v {
        Verdict::Within => None,
        Verdict::Return => Some(lang::verdict_return()),
        Verdict::Use => Some(lang::verdict_use()),
        Verdict::Discard => Some(lang::verdict_discard()),
    }
}

pub(super) fn word(value: CloseAs) -> String {
    serde_json::to_value(value).ok().and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default()
}
