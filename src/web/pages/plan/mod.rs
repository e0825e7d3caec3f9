//! A day ahead: where an item, or one that is yet to be made, will be when, what will go onto it, and when it is served;
//! what that comes to. Nothing of it is recorded; it can be kept under an order's name.

pub(super) mod ahead;
pub(super) mod order;

use super::forms::{Fields, wall};
use super::new_item::open_items;
use super::task::{Ctx, Head};
use super::{Asked as Around, Choice, Shell, name_of, naming, problem, tile};
use crate::clock::{Instant, MINUTE_MS, Zone};
use crate::exposure::Fold;
use crate::lang;
use crate::ledger::{From, Id, Parsed, Refusal, State, parse};
use crate::plan::kept::TO_BEGIN;
use crate::plan::{self, AHEAD_MS, Asked, Flaw, Plan};
use crate::rules::Verdict;
use crate::web::show::Show;
use crate::web::strip::{Strip, Window};
use askama::Template;
use serde_json::{Value, json};

/// Steps that the form has room for.
const ROWS: usize = 6;
/// Items that are offered to go onto it at most.
const COATS: usize = 60;

/// The page.
#[derive(Template)]
#[template(path = "plan/plan.html")]
pub(super) struct PlanPage {
    shell: Shell,
    /// The item it is about; none for one that is yet to be made.
    head: Option<Head>,
    /// Where the form goes.
    action: String,
    /// What a new one is made as and from, and where it begins.
    products: Vec<Choice>,
    tubs: Vec<Choice>,
    starts: Vec<Choice>,
    begins: String,
    rows: Vec<Row>,
    serve: String,
    on: String,
    wrong: Option<String>,
    found: Option<Found>,
    /// What keeping it sends: the steps and when it is served.
    keep: Option<(String, String)>,
}

/// A step to be filled in.
struct Row {
    n: usize,
    at: String,
    later: String,
    places: Vec<Choice>,
    coats: Vec<Choice>,
}

/// What it comes to.
pub(super) struct Found {
    verdict: &'static str,
    class: &'static str,
    lines: Vec<String>,
    turns: Vec<String>,
    strip: String,
}

/// A plan as it was filled in: what is asked, and its steps as entries.
type Filled = (Asked, Vec<Value>);

fn word(v: Verdict) -> &'static str {
    tile::verdict_word(v).unwrap_or(lang::affected_within())
}

/// A wall time that comes next after an instant; where the clocks go back, the one that gives less time.
fn next(text: &str, show: Show, after: Instant, earlier: bool) -> Option<Instant> {
    let today = show.zone.day(after);
    let on = |day| wall(&format!("{}T{text}", Zone::date_text(day)), show, earlier).ok();
    (today..today + 2).filter_map(on).find(|t| *t >= after)
}

/// When a step is: at a wall time, or so many minutes after the one before.
fn when(at: Option<&str>, later: Option<&str>, show: Show, last: Instant) -> Option<Instant> {
    match (at, later) {
        (Some(at), None) => next(at, show, last, true),
        (None, Some(later)) => {
            let most = AHEAD_MS / MINUTE_MS;
            let minutes = later.parse::<i64>().ok().filter(|m| (0..=most).contains(m))?;
            Some(last.plus(minutes * MINUTE_MS))
        }
        _ => None,
    }
}

/// The steps of the form as entries, in order; `None` where they don't fit together.
fn steps(f: &Fields, show: Show, item: &str, mut last: Instant) -> Option<(Vec<Value>, Instant)> {
    let mut steps = Vec::new();
    for n in 1..=ROWS {
        let names = ["at", "later", "to", "with"].map(|name| format!("{name}{n}"));
        let [at, later, to, with] = names.each_ref().map(|name| f.get(name));
        if to.is_none() && with.is_none() && at.is_none() && later.is_none() {
            continue;
        }
        let at = when(at, later, show, last)?;
        last = at;
        to.or(with)?;
        if let Some(with) = with {
            steps.push(json!({"kind": "join", "at": at, "item": item, "from": [with]}));
        }
        if let Some(to) = to {
            steps.push(json!({"kind": "move", "at": at, "item": item, "place": to}));
        }
    }
    Some((steps, last))
}

/// How a new one begins; nothing where that wasn't filled in.
fn beginning(f: &Fields, state: &State, show: Show) -> Option<Option<(Value, Instant)>> {
    let product = f.get("product")?;
    let made = || {
        let id = Id::new(product)?;
        let name = naming::of_product(state, show, &id)?;
        let at = f.get("begins").map_or(Some(show.now), |text| next(text, show, show.now, true))?;
        let from: Vec<&str> = f.all("from").collect();
        let mut begin = json!({"kind": "item", "at": at, "item": TO_BEGIN, "name": name, "product": product,
            "place": f.get("start")?});
        if !from.is_empty() {
            begin["from"] = json!(from);
        }
        Some((begin, at))
    };
    Some(made())
}

/// The plan as it was filled in; nothing where it wasn't.
fn filled(f: &Fields, state: &State, show: Show, item: Option<&Id>) -> Option<Result<Filled, String>> {
    let bad = || Some(Err(lang::plan_bad_times().to_owned()));
    let serve = f.get("serve")?;
    let (mut entries, mut last) = (Vec::new(), show.now);
    if item.is_none() {
        match beginning(f, state, show) {
            None => return Some(Err(lang::plan_no_product().to_owned())),
            Some(None) => return bad(),
            Some(Some((begin, at))) => {
                entries.push(begin);
                last = at;
            }
        }
    }
    let Some((more, last)) = steps(f, show, item.map_or(TO_BEGIN, Id::as_str), last) else { return bad() };
    entries.extend(more);
    let served = match f.get("on") {
        Some(date) => wall(&format!("{date}T{serve}"), show, false).ok(),
        None => next(serve, show, last, false),
    };
    let Some(serve_at) = served else { return bad() };
    match read(&entries) {
        Ok(steps) => Some(Ok((Asked { item: item.cloned(), steps, serve_at }, entries))),
        Err(_) => bad(),
    }
}

/// Entries as steps of a plan.
fn read(entries: &[Value]) -> Result<Vec<Parsed>, Refusal> {
    entries.iter().map(|e| parse(&e.to_string(), From::Caller)).collect()
}

fn flaw(flaw: &Flaw, state: &State, show: Show) -> String {
    match flaw {
        Flaw::Refused(r) => problem::refusal(r, Some((state, show))).0,
        _ => lang::plan_bad_times().to_owned(),
    }
}

/// What a plan comes to, in words and as its strip.
fn found(show: Show, plan: &Plan, serve_at: Instant) -> Option<Found> {
    let s = &plan.standing;
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
            Some((from, to)) if from.up_to_minute() <= to => {
                lang::plan_leaving(&show.clock(from.up_to_minute()), &show.clock(to))
            }
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

/// Builds it for an item.
pub(super) fn build(c: &Ctx) -> Option<PlanPage> {
    let (shell, head) = (c.shell(), c.head("plan", lang::plan_title())?);
    let action = format!("{}/plan", shell.item(c.id));
    Some(PlanPage { head: Some(head), action, ..page(shell, c.state, c.show, c.fields, Some(c.id)) })
}

/// Builds it for one that is yet to be made.
pub(super) fn build_new(state: &State, now: Instant, f: &Fields, asked: &Around) -> PlanPage {
    let show = Show::of(state, now);
    let shell = Shell::of(state, now, asked);
    let action = format!("{}plan", shell.board());
    let product = |(id, all): (&Id, &Vec<(u64, std::sync::Arc<crate::ledger::Product>)>)| {
        let (_, p) = all.last()?;
        let chosen = f.is("product", id.as_str());
        Some(Choice { id: id.clone(), name: p.name.to_string(), more: String::new(), chosen })
    };
    let mut tubs = open_items(state, now);
    tubs.truncate(COATS);
    tubs.iter_mut().for_each(|t| t.chosen = f.is("from", t.id.as_str()));
    let start = |p: &std::sync::Arc<crate::ledger::Place>| Choice::place(p, f.is("start", p.place.as_str()));
    PlanPage {
        action,
        products: state.products.iter().filter_map(product).collect(),
        tubs,
        starts: state.places.values().map(start).collect(),
        begins: f.raw("begins").to_owned(),
        ..page(shell, state, show, f, None)
    }
}

fn page(shell: Shell, state: &State, show: Show, f: &Fields, item: Option<&Id>) -> PlanPage {
    let mut open = open_items(state, show.now);
    open.retain(|c| Some(&c.id) != item);
    open.truncate(COATS);
    let row = |n: usize| {
        let (to, with) = (f.raw(&format!("to{n}")), f.raw(&format!("with{n}")));
        let (at, later) = (f.raw(&format!("at{n}")).to_owned(), f.raw(&format!("later{n}")).to_owned());
        let places = state.places.values().map(|p| Choice::place(p, p.place.as_str() == to)).collect();
        let coat = |c: &Choice| Choice {
            id: c.id.clone(),
            name: c.name.clone(),
            more: c.more.clone(),
            chosen: c.id.as_str() == with,
        };
        Row { n, at, later, places, coats: open.iter().map(coat).collect() }
    };
    let (mut wrong, mut come_to, mut keep) = (None, None, None);
    match filled(f, state, show, item) {
        None => {}
        Some(Err(said)) => wrong = Some(said),
        Some(Ok((asked, entries))) => match plan::plan(state, &asked, show.now) {
            Ok(plan) => {
                come_to = found(show, &plan, asked.serve_at);
                keep = Some((Value::from(entries).to_string(), asked.serve_at.to_string()));
            }
            Err(why) => wrong = Some(flaw(&why, state, show)),
        },
    }
    PlanPage {
        keep: keep.filter(|_| shell.may_write),
        shell,
        head: None,
        action: String::new(),
        products: Vec::new(),
        tubs: Vec::new(),
        starts: Vec::new(),
        begins: String::new(),
        rows: (1..=ROWS).map(row).collect(),
        serve: f.raw("serve").to_owned(),
        on: f.raw("on").to_owned(),
        wrong,
        found: come_to,
    }
}
