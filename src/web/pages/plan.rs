//! An item's day ahead: where it will be when, and when it is served; what that comes to. Nothing of it is recorded.

use super::forms::wall;
use super::task::{Ctx, Head};
use super::{Choice, Shell, name_of, problem, tile};
use crate::clock::{Instant, Zone};
use crate::exposure::Fold;
use crate::lang;
use crate::ledger::{Body, Id, Meta, Parsed};
use crate::plan::{self, Asked, Flaw, Plan};
use crate::rules::Verdict;
use crate::show::Show;
use crate::web::strip::{Strip, Window};
use askama::Template;

/// Moves that the form has room for.
const ROWS: usize = 4;

/// The page.
#[derive(Template)]
#[template(path = "plan.html")]
pub(super) struct PlanPage {
    shell: Shell,
    head: Head,
    rows: Vec<Row>,
    serve: String,
    on: String,
    wrong: Option<String>,
    found: Option<Found>,
}

/// A move to be filled in.
struct Row {
    n: usize,
    at: String,
    places: Vec<Choice>,
}

/// What it comes to.
struct Found {
    verdict: &'static str,
    class: &'static str,
    lines: Vec<String>,
    turns: Vec<String>,
    strip: String,
}

fn word(v: Verdict) -> &'static str {
    tile::verdict_word(v).unwrap_or(lang::affected_within())
}

/// A wall time that comes next after an instant; where the clocks go back, the one that gives less time.
fn next(text: &str, show: Show, after: Instant, earlier: bool) -> Option<Instant> {
    let today = show.zone.day(after);
    let on = |day| wall(&format!("{}T{text}", Zone::date_text(day)), show, earlier).ok();
    (today..today + 2).filter_map(on).find(|t| *t >= after)
}

fn moved(item: &Id, place: &Id, at: Instant) -> Parsed {
    let body = Body::Move { item: item.clone(), place: place.clone() };
    Parsed { at: Some(at), note: None, bodies: vec![body], id_missing: false, meta: Meta::default(), has_seq: false }
}

/// The plan as it was filled in; nothing where it wasn't.
fn asked(c: &Ctx) -> Option<Result<Asked, String>> {
    let bad = || Some(Err(lang::plan_bad_times().to_owned()));
    let serve = c.fields.get("serve")?;
    let (mut steps, mut last) = (Vec::new(), c.show.now);
    for n in 1..=ROWS {
        let names = [format!("at{n}"), format!("to{n}")];
        let (at, place) = match (c.fields.get(&names[0]), c.fields.get(&names[1])) {
            (None, None) => continue,
            (Some(at), Some(to)) => (next(at, c.show, last, true), Id::new(to)),
            _ => return bad(),
        };
        let (Some(at), Some(place)) = (at, place) else { return bad() };
        last = at;
        steps.push(moved(c.id, &place, at));
    }
    let served = match c.fields.get("on") {
        Some(date) => wall(&format!("{date}T{serve}"), c.show, false).ok(),
        None => next(serve, c.show, last, false),
    };
    match served {
        Some(serve_at) => Some(Ok(Asked { item: Some(c.id.clone()), steps, serve_at })),
        None => bad(),
    }
}

fn flaw(c: &Ctx, flaw: &Flaw) -> String {
    match flaw {
        Flaw::Refused(r) => problem::refusal(r, Some((c.state, c.show))).0,
        _ => lang::plan_bad_times().to_owned(),
    }
}

fn found(c: &Ctx, plan: &Plan, serve_at: Instant) -> Option<Found> {
    let (show, s) = (c.show, &plan.standing);
    let fold = Fold::new(&plan.state, serve_at, show.zone);
    let (id, item) = plan.state.items.get_key_value(&plan.item)?;
    let (spells, began) = (fold.spells(id), item.begin()?.0.at);
    let there = Show { now: serve_at, ..show };
    let window = Window::day(serve_at, show.zone);
    let strip = Strip { spells: &spells, standing: s, began, window, show: there, hours: true };
    let mut lines = vec![lang::plan_served(&Show::used(s.total_out_ms), &show.clock(serve_at))];
    if let Some(leaving) = &plan.leaving {
        lines.push(match leaving.window {
            // Nothing here is rounded so that there seems to be more time; what lies within one minute is none.
            Some((from, to)) if up(from) <= to => lang::plan_leaving(&show.clock(up(from)), &show.clock(to)),
            _ => lang::plan_leaving_never().to_owned(),
        });
    }
    lines.push(match (s.verdict, plan.slack_ms) {
        (Verdict::Discard, _) => lang::plan_over().to_owned(),
        (_, Some(ms)) => lang::plan_slack(&Show::left(ms)),
        (_, None) => lang::plan_no_limit().to_owned(),
    });
    Some(Found {
        verdict: word(s.verdict),
        class: tile::class_of(s.verdict),
        lines,
        turns: plan.turns.iter().map(|t| lang::plan_turn(&show.clock(t.at), word(t.verdict))).collect(),
        strip: strip.svg(|id| name_of(&plan.state, id)),
    })
}

/// The next whole minute.
fn up(t: Instant) -> Instant {
    let minute = crate::clock::MINUTE_MS;
    Instant(-(-t.0).div_euclid(minute) * minute)
}

/// Builds it.
pub(super) fn build(c: &Ctx) -> Option<PlanPage> {
    let row = |n: usize| {
        let to = c.fields.raw(&format!("to{n}"));
        let places = c.state.places.values().map(|p| Choice::place(p, p.place.as_str() == to)).collect();
        Row { n, at: c.fields.raw(&format!("at{n}")).to_owned(), places }
    };
    let (mut wrong, mut come_to) = (None, None);
    match asked(c) {
        None => {}
        Some(Err(said)) => wrong = Some(said),
        Some(Ok(asked)) => match plan::plan(c.state, &asked, c.show.now) {
            Ok(plan) => come_to = found(c, &plan, asked.serve_at),
            Err(why) => wrong = Some(flaw(c, &why)),
        },
    }
    Some(PlanPage {
        shell: c.shell(),
        head: c.head("plan", lang::plan_title())?,
        rows: (1..=ROWS).map(row).collect(),
        serve: c.fields.raw("serve").to_owned(),
        on: c.fields.raw("on").to_owned(),
        wrong,
        found: come_to,
    })
}
