//! How an item is to work with, in a line or two beside its clock; and the touch that says when it is meant to be moved.

use super::forms::Fields;
use super::handlers::{At, NO_ITEM, item_page, refused};
use super::rows::{filter_of, query};
use super::tile::Tile;
use super::visitor::Scribe;
use super::{problem, root_of};
use crate::board::working::{AHEAD_MOST, ComeBack, ComeBacks, Texture, planned, since, texture};
use crate::clock::{Instant, MINUTE_MS};
use crate::exposure::Fold;
use crate::lang;
use crate::ledger::refusal::{AFTER_CLOSE, BAD_MEMBER};
use crate::ledger::{Id, Refusal, State};
use crate::rules::{Phase, Verdict, standing};
use crate::web::auth::Writes;
use crate::web::service::{Fault, Look};
use crate::web::show::Show;
use axum::extract::{Form, Path};
use axum::http::Uri;
use axum::response::{IntoResponse, Redirect, Response};

/// Minutes that are offered by a touch.
const USUAL: [i64; 7] = [10, 15, 20, 30, 45, 60, 90];

/// A line about how it is to work with.
pub(super) struct Hint {
    /// In words; the time in it stands still.
    pub text: String,
    /// Whether its time has come.
    pub come: bool,
    /// When it comes, if it hasn't.
    pub at: Option<Instant>,
    /// Milliseconds until then, where they are counted down.
    pub runs: Option<i64>,
    /// The same in words.
    pub left: String,
}

/// What is offered where an item has just been moved, and on its page.
#[derive(Clone)]
pub struct Offer {
    /// The item.
    pub id: Id,
    /// What is asked.
    pub legend: &'static str,
    /// The minutes to touch, with their words.
    pub minutes: Vec<(String, String)>,
    /// Whether the way leads back to the board.
    pub to_board: bool,
    /// Whether something is planned already.
    pub planned: bool,
}

/// The lines of an item. Where its clock asks for more than to go back there are none: then only that counts.
pub(super) fn hints<'a>(fold: &Fold<'a>, id: &'a Id, tile: &Tile, show: Show, all: &ComeBacks) -> Vec<Hint> {
    let s = &tile.standing;
    if s.state == Phase::Closed || s.verdict >= Verdict::Use {
        return Vec::new();
    }
    let (now, out) = (show.now, s.state == Phase::Out);
    let mut hints = Vec::new();
    if let Some(at) = planned(fold.state(), id, all) {
        let (come, time) = (at <= now, show.clock(at));
        let text = match (come, out) {
            (false, true) => lang::planned_back(&time),
            (false, false) => lang::planned_out(&time),
            (true, true) => lang::planned_back_was(&time),
            (true, false) => lang::planned_out_was(&time),
        };
        let ms = at.since(now);
        let left = if come { String::new() } else { lang::left_in(&Show::left(ms)) };
        hints.push(Hint { text, come, at: (!come).then_some(at), runs: (!come).then_some(ms), left });
    }
    // A hint that lies behind the limit would only mislead.
    let limit = s.return_by.into_iter().chain(s.discard_by).min();
    let line = |text: String, at: Instant| Hint {
        text,
        come: at <= now,
        at: (at > now).then_some(at),
        runs: None,
        left: String::new(),
    };
    match texture(fold, id) {
        Some(Texture::Soft(at)) if s.verdict == Verdict::Within && limit.is_none_or(|by| at < by) => {
            let text = match (at <= now, s.return_by) {
                (false, _) => lang::soft_at(&show.clock(at)),
                (true, Some(_)) => lang::soft_chill().to_owned(),
                (true, None) => lang::soft_now().to_owned(),
            };
            hints.push(line(text, at));
        }
        Some(Texture::Firm(at)) => {
            let text =
                if at <= now { lang::firm_now().to_owned() } else { lang::firm_at(&show.clock(at.up_to_minute())) };
            hints.push(line(text, at));
        }
        _ => {}
    }
    hints
}

/// What is offered for an item that is open and under no more than a hint.
pub(super) fn offer(state: &State, show: Show, id: &Id, all: &ComeBacks, to_board: bool) -> Option<Offer> {
    let s = super::task::standing(state, show, id)?;
    if s.state == Phase::Closed || s.verdict >= Verdict::Use {
        return None;
    }
    let out = s.state == Phase::Out;
    if out && s.return_by.is_none() {
        return None;
    }
    let fits = |m: &&i64| latest(&s).is_none_or(|by| show.now.plus(**m * MINUTE_MS) <= by);
    let minutes: Vec<(String, String)> =
        USUAL.iter().filter(fits).map(|m| (m.to_string(), Show::left(m * MINUTE_MS))).collect();
    let legend = if out { lang::plan_back_in() } else { lang::plan_out_in() };
    Some(Offer { id: id.clone(), legend, minutes, to_board, planned: planned(state, id, all).is_some() })
}

/// Until when a stay that is planned may last: no plan lies behind a limit.
fn latest(s: &crate::rules::Standing) -> Option<Instant> {
    (s.state == Phase::Out).then(|| s.return_by.into_iter().chain(s.discard_by).min()).flatten()
}

/// Says it, and leads back to where it was said.
pub(super) async fn plan(
    Scribe(writes): Scribe,
    Path(at): Path<At>,
    uri: Uri,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let (f, reads, path) = (Fields(fields), writes.reads(), uri.path());
    let Some(id) = Id::new(&at.item) else { return problem::answer(path, &reads.site, &NO_ITEM) };
    let look = match reads.look(std::slice::from_ref(&id)).await {
        Ok(look) if look.state.items.contains_key(&id) => look,
        Ok(_) => return problem::answer(path, &reads.site, &NO_ITEM),
        Err(fault) => return problem::answer(path, &reads.site, &fault),
    };
    match set(&writes, &look, &id, &f).await {
        Ok(()) => {
            let site = format!("{}s/{}/", root_of(path), reads.site);
            let filter = query(&filter_of(f.get("filter").unwrap_or_default()));
            let mark = if filter.is_empty() { "" } else { "?" };
            let to = match f.get("back") {
                Some("board") => format!("{site}{mark}{filter}"),
                _ => format!("{site}items/{id}"),
            };
            Redirect::to(&to).into_response()
        }
        Err(fault) => {
            let (status, notice) = refused(&fault, &look);
            item_page(&look, reads, &id, path, status, Some(notice)).await
        }
    }
}

async fn set(writes: &Writes, look: &Look, id: &Id, f: &Fields) -> Result<(), Fault> {
    let bad = |said: &str| Fault::Refused(Refusal::form(&BAD_MEMBER, said));
    let minutes = match f.all("minutes").next() {
        Some("none") => return writes.set_come_back(id, None).await,
        Some(m) => m.parse::<i64>().ok().filter(|m| (1..=AHEAD_MOST).contains(m)),
        None => None,
    };
    let minutes = minutes.ok_or_else(|| bad(&lang::plan_minutes_bad(&AHEAD_MOST.to_string())))?;
    let show = Show::of(&look.state, look.now);
    let (key, item) = look.state.items.get_key_value(id).ok_or(NO_ITEM)?;
    let s = standing(&Fold::new(&look.state, look.now, show.zone), key).filter(|s| s.state != Phase::Closed);
    let closed = || Fault::Refused(Refusal::new(&AFTER_CLOSE, String::from("It is closed.")));
    let (s, brought) = s.zip(since(item)).ok_or_else(closed)?;
    let at = look.now.plus(minutes * MINUTE_MS);
    if let Some(by) = latest(&s).filter(|by| at > *by) {
        return Err(bad(&lang::plan_behind(&show.clock(by))));
    }
    writes.set_come_back(id, Some(ComeBack { entry: brought.meta.seq, at })).await
}
