//! What comes: what runs over a limit within the hour if nobody moves it, and the orders that are planned.

use super::super::handlers::{asked, html, new_key};
use super::super::visitor::Visitor;
use super::super::{Shell, name_of, place_name, problem, root_of};
use super::word;
use crate::board::{Filter, Wanted, page_of};
use crate::clock::{HOUR_MS, Instant};
use crate::lang;
use crate::ledger::{Id, State};
use crate::plan;
use crate::plan::kept::{Kept, coming};
use crate::rules::{Standing, Verdict};
use crate::web::auth::Reads;
use crate::web::service::{Fault, Look};
use crate::web::show::Show;
use askama::Template;
use axum::http::{StatusCode, Uri};
use axum::response::Response;

/// How far ahead is looked: an hour, as a manager asks.
const AHEAD_MS: i64 = HOUR_MS;
/// Items looked at, most urgent first: what is further down has more time left.
const MOST: usize = 2_000;

/// The page.
#[derive(Template)]
#[template(path = "plan/ahead.html")]
struct Ahead {
    shell: Shell,
    until: String,
    over: Vec<Line>,
    coming: Vec<Line>,
    orders: Vec<Order>,
}

struct Line {
    id: Id,
    name: String,
    place: String,
    when: String,
    what: &'static str,
    /// When it is reached, for the script to ask again.
    next_ms: Option<i64>,
}

struct Order {
    plan: Id,
    name: String,
    serve: String,
    next: String,
    /// What it comes to by then, if it goes on as planned.
    verdict: &'static str,
    bad: bool,
}

fn line(state: &State, show: Show, s: &Standing, (at, verdict, next): (Instant, Verdict, bool)) -> Line {
    Line {
        id: s.item.clone(),
        name: name_of(state, &s.item),
        place: place_name(state, &s.place),
        when: show.clock(at),
        what: word(verdict),
        next_ms: next.then_some(at.0),
    }
}

fn order(state: &State, show: Show, kept: &Kept) -> Option<Order> {
    let rest = kept.rest(state, show.now)?;
    let worked = plan::plan(state, &rest, show.now).ok();
    let verdict = worked.as_ref().map(|p| p.standing.verdict);
    let next = worked.as_ref().and_then(|p| p.leaving.as_ref()).and_then(|l| l.window);
    Some(Order {
        plan: kept.plan.clone(),
        name: kept.name.clone(),
        serve: lang::order_serve(&show.clock(kept.serve_at)),
        next: next.map_or_else(String::new, |(_, to)| lang::order_leaves(&show.clock(to))),
        verdict: verdict.map_or(lang::order_not_so(), word),
        bad: verdict.is_none_or(|v| v >= Verdict::Use),
    })
}

fn build(look: &Look, standings: &[Standing], plans: &[Kept], shell: Shell) -> Ahead {
    let (state, now) = (&look.state, look.now);
    let show = Show::of(state, now);
    let of = |id: &Id| standings.iter().find(|s| s.item == *id);
    let over = standings.iter().filter(|s| s.verdict >= Verdict::Use);
    let over = over.map(|s| line(state, show, s, (s.reached(s.verdict), s.verdict, false))).collect();
    let come = coming(standings, now, AHEAD_MS).into_iter();
    let come = come.filter_map(|c| Some(line(state, show, of(&c.item)?, (c.at, c.verdict, true)))).collect();
    let orders = plans.iter().filter_map(|k| order(state, show, k)).collect();
    Ahead { shell, until: lang::ahead_until(&show.clock(now.plus(AHEAD_MS))), over, coming: come, orders }
}

async fn page(reads: &Reads, uri: &Uri) -> Result<Response, Fault> {
    let plans = reads.plans().await?;
    let items: Vec<Id> = plans.iter().filter_map(|k| k.item.clone()).collect();
    let look = reads.look(&items).await?;
    let briefs = reads.service().briefs(&reads.site);
    let (state, now, filter) = (&look.state, look.now, Filter::default());
    let list = page_of(&briefs, state, |id| look.changed(id), now, (Wanted::Open, &filter), None, MOST);
    let (root, key) = (root_of(uri.path()), new_key());
    let asked = asked(reads, &root, &key, None).await;
    let shell = Shell::of(state, now, &asked);
    Ok(html(StatusCode::OK, &build(&look, &list.standings, &plans, shell)))
}

/// Shows it.
pub(in super::super) async fn show(Visitor(reads): Visitor, uri: Uri) -> Response {
    page(&reads, &uri).await.unwrap_or_else(|fault| problem::answer(uri.path(), &reads.site, &fault))
}
