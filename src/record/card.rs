//! The customer's card: until what time an item may stand out today, whether it may go back, and when to take it out for
//! serving. As if it stays out from now on; rounded down. Pure.

use super::label::Source;
use crate::clock::Instant;
use crate::exposure::{Fold, controlled};
use crate::lang;
use crate::ledger::{Body, Control, Id, Meta, Parsed, Place, State, chain};
use crate::plan::{self, Asked};
use crate::rules::{Phase, Returns, Standing, Use, Verdict, standing};
use crate::show::Show;
use crate::words;
use std::sync::Arc;

/// A card.
#[derive(Clone, PartialEq, Debug)]
pub struct Card {
    /// The item's name.
    pub name: String,
    /// The shop's.
    pub shop: String,
    /// The time and the date it is to be thrown away by, if it stays out from now on.
    pub discard_by: Option<(String, String)>,
    /// Whether that has come.
    pub over: bool,
    /// Whether that is only so once it is taken out.
    pub cold: bool,
    /// How long it may be out, in all from now on.
    pub left: Option<String>,
    /// Whether it may go back into the cold.
    pub back: String,
    /// When to take it out for serving.
    pub take_out: Option<String>,
    /// The last date it may be eaten on.
    pub use_by: Option<String>,
    /// Its rules by name.
    pub rules: Vec<String>,
    /// The instant all this was so.
    pub as_of: String,
    /// Which state of the log it was made from.
    pub log: String,
}

impl Card {
    /// An item's card; `None` if there is no such item, or it has ended.
    pub fn of<'s>(source: Source<'s>, fold: &Fold<'s>, id: &Id, serve_at: Option<Instant>) -> Option<Card> {
        let Source { state, show, head: (seq, hash) } = source;
        let (id, item) = state.items.get_key_value(id)?;
        let (entry, begin) = item.begin()?;
        let s = standing(fold, id).filter(|s| s.state != Phase::Closed)?;
        let rules = state.rules_of(begin, entry.meta.seq);
        let never = rules.iter().any(|r| r.returns == Returns::Never) && s.return_by.is_none();
        let (over, cold) = (s.verdict == Verdict::Discard, s.state != Phase::Out);
        let once_out = s.left_ms.map(|left| s.as_of.plus(left));
        let by = if cold { s.discard_by.into_iter().chain(once_out).min() } else { s.discard_by };
        Some(Card {
            name: begin.name.to_string(),
            shop: state.site.as_ref().map(|s| s.name.to_string()).unwrap_or_default(),
            discard_by: by.map(|t| (show.time(t), show.date(t))),
            over,
            cold,
            left: s.left_ms.filter(|_| !over).map(Show::left),
            back: back(&s, never, show),
            take_out: serve_at.filter(|_| !over).map(|at| take_out(state, id, &s, never, at, show)),
            use_by: s.use_by.as_deref().map(|d| show.date_of(d)),
            rules: rules.iter().map(|r| words::rule_name(r)).collect(),
            as_of: show.dated(s.as_of),
            log: lang::ticket_log(chain::digits(hash), &seq.to_string()),
        })
    }
}

fn back(s: &Standing, never: bool, show: Show) -> String {
    match (s.state, s.verdict, s.return_by) {
        (_, Verdict::Discard, _) => lang::card_over().to_owned(),
        (Phase::Out, Verdict::Use, _) => lang::card_back_no().to_owned(),
        (Phase::Out, _, _) if never => lang::card_back_no().to_owned(),
        (Phase::Out, _, Some(by)) => lang::card_back_until(&show.clock(by)),
        (Phase::Out, _, None) => lang::card_back_any().to_owned(),
        _ => lang::card_stays_cold().to_owned(),
    }
}

/// When to take it out for serving, if it is kept in a fridge from now on.
fn take_out(state: &State, id: &Id, s: &Standing, never: bool, serve_at: Instant, show: Show) -> String {
    let (out, at) = (s.state == Phase::Out, show.clock(serve_at));
    if out && (never || s.verdict >= Verdict::Use) {
        return lang::card_serve_stays(&at);
    }
    let window = leaves(state, id, s, serve_at, show.now);
    match window.map(Instant::up_to_minute).filter(|from| *from < serve_at) {
        Some(from) if from <= show.now.up_to_minute() => lang::card_serve_any(&at),
        Some(from) => lang::card_serve_from(&show.clock(from), &at),
        None => lang::card_serve_never(&at),
    }
}

/// The first instant at which it may leave the fridge to be within its time when it is served.
fn leaves(state: &State, id: &Id, s: &Standing, serve_at: Instant, now: Instant) -> Option<Instant> {
    let pick = |fits: &dyn Fn(&Place) -> bool| {
        let places = state.places.values().filter(|p| fits(p) && p.place != s.place);
        places.min_by_key(|p: &&Arc<Place>| (p.r#use != Use::Away, p.seq)).map(|p| p.place.clone())
    };
    let (cold, out) =
        (pick(&|p| p.control == Control::Cold && controlled(p, now))?, pick(&|p| p.control == Control::None)?);
    let moved = |place: Id, at: Instant| {
        let bodies = vec![Body::Move { item: id.clone(), place }];
        Parsed { at: Some(at), note: None, bodies, id_missing: false, meta: Meta::default(), has_seq: false }
    };
    let mut steps = Vec::new();
    if s.state == Phase::Out {
        steps.push(moved(cold, now));
    }
    steps.push(moved(out, serve_at));
    let asked = Asked { item: Some(id.clone()), steps, serve_at };
    plan::plan(state, &asked, now).ok()?.leaving?.window.map(|w| w.0)
}
