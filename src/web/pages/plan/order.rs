//! A plan that is kept: a checklist of what is still to be done, each step by one touch, and what it comes to from here.

use super::super::acting::write;
use super::super::forms::Fields;
use super::super::handlers::{asked, html, new_key, refused};
use super::super::said::Outcome;
use super::super::visitor::{Scribe, Visitor};
use super::super::{Asked as Around, Notice, Shell, name_of, naming, place_name, problem, root_of};
use super::{Found, flaw, found, read};
use crate::clock::Instant;
use crate::lang;
use crate::ledger::refusal::{BAD_MEMBER, UNKNOWN_ITEM};
use crate::ledger::{Body, Id, Refusal, State};
use crate::plan::kept::{Kept, NAME, Step, TO_BEGIN};
use crate::plan::{self, Asked};
use crate::web::auth::{Reads, Writes};
use crate::web::plans::New;
use crate::web::service::{Fault, Look};
use crate::web::show::Show;
use askama::Template;
use axum::extract::{Form, Path, Query};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;
use serde_json::Value;

/// The page of a new plan, of an item that isn't there yet.
pub(in super::super) async fn show_new(
    Scribe(writes): Scribe,
    uri: Uri,
    Query(fields): Query<Vec<(String, String)>>,
) -> Response {
    let (reads, fields) = (writes.reads(), Fields(fields));
    match reads.look(&[]).await {
        Ok(look) => {
            let (root, key) = (root_of(uri.path()), new_key());
            let asked = asked(reads, &root, &key, None).await;
            html(StatusCode::OK, &super::build_new(&look.state, look.now, &fields, &asked))
        }
        Err(fault) => problem::answer(uri.path(), &reads.site, &fault),
    }
}

/// The page of one that is kept.
#[derive(Template)]
#[template(path = "plan/order.html")]
struct Order {
    shell: Shell,
    plan: Id,
    name: String,
    serve: String,
    item: Option<(Id, String)>,
    steps: Vec<Row>,
    over: Option<String>,
    wrong: Option<String>,
    found: Option<Found>,
}

/// A step, as the list shows it.
struct Row {
    when: String,
    what: String,
    done: Option<String>,
    passed: bool,
    late: bool,
    go: Option<Go>,
}

/// The form that does the next step for real.
struct Go {
    action: String,
    field: &'static str,
    value: String,
}

/// Which one, and what is done to it.
#[derive(Deserialize)]
pub(in super::super) struct At {
    order: String,
    #[serde(default)]
    what: String,
}

fn words(state: &State, body: &Body) -> String {
    match body {
        Body::Move { place, .. } => lang::order_move(&place_name(state, place)),
        Body::Join { from, .. } => {
            lang::order_coat(&from.iter().map(|id| name_of(state, id)).collect::<Vec<_>>().join(", "))
        }
        Body::Item(begin) => {
            let from = begin.from.iter().flatten().map(|id| name_of(state, id)).collect::<Vec<_>>();
            let place = place_name(state, &begin.place);
            if from.is_empty() { lang::order_begin(&place) } else { lang::order_begin_from(&from.join(", "), &place) }
        }
        _ => String::new(),
    }
}

fn go(shell: &Shell, kept: &Kept, step: &Step) -> Option<Go> {
    let item = || Some(shell.item(kept.item.as_ref()?));
    match &step.body {
        Body::Move { place, .. } => {
            Some(Go { action: format!("{}/move", item()?), field: "place", value: place.to_string() })
        }
        Body::Join { from, .. } => {
            Some(Go { action: format!("{}/coat", item()?), field: "with", value: from.first()?.to_string() })
        }
        Body::Item(_) => {
            let action = format!("{}orders/{}/begin", shell.board(), kept.plan);
            Some(Go { action, field: "begin", value: String::from("now") })
        }
        _ => None,
    }
}

fn build(state: &State, now: Instant, kept: &Kept, asked: &Around) -> Order {
    let (show, shell) = (Show::of(state, now), Shell::of(state, now, asked));
    let ended = kept.item.as_ref().and_then(|id| state.items.get(id)).and_then(|i| i.end().cloned());
    let mut next = ended.is_none() && shell.may_write;
    let row = |step: &Step| {
        let open = step.done.is_none() && !step.passed;
        let go = if open && std::mem::take(&mut next) { go(&shell, kept, step) } else { None };
        Row {
            when: show.clock(step.at),
            what: words(state, &step.body),
            done: step.done.map(|at| lang::order_done(&show.clock(at))),
            passed: step.passed,
            late: open && step.at < now && ended.is_none(),
            go,
        }
    };
    let steps = kept.steps(state).iter().map(row).collect();
    let (mut come_to, mut wrong) = (None, None);
    if let Some(rest) = kept.rest(state, now).filter(|rest| rest.serve_at >= now) {
        match plan::plan(state, &rest, now) {
            Ok(plan) => come_to = found(show, &plan, rest.serve_at),
            Err(why) => wrong = Some(flaw(&why, state, show)),
        }
    }
    Order {
        plan: kept.plan.clone(),
        name: kept.name.clone(),
        serve: lang::order_serve(&show.clock(kept.serve_at)),
        item: kept.item.as_ref().map(|id| (id.clone(), name_of(state, id))),
        steps,
        over: ended.map(|e| lang::order_over(&show.clock(e.at))),
        wrong,
        found: come_to,
        shell,
    }
}

async fn page(
    reads: &Reads,
    uri: &Uri,
    look: &Look,
    kept: &Kept,
    (status, notice): (StatusCode, Option<Notice>),
) -> Response {
    let (root, key) = (root_of(uri.path()), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    html(status, &build(&look.state, look.now, kept, &asked))
}

async fn found_plan(reads: &Reads, at: &At) -> Result<(Kept, Look), Fault> {
    let kept = reads.plan(&Id::new(&at.order).ok_or(Fault::NotFound("plan"))?).await?;
    let items: Vec<Id> = kept.item.iter().cloned().collect();
    let look = reads.look(&items).await?;
    Ok((kept, look))
}

/// Shows it.
pub(in super::super) async fn show(Visitor(reads): Visitor, Path(at): Path<At>, uri: Uri) -> Response {
    match found_plan(&reads, &at).await {
        Ok((kept, look)) => page(&reads, &uri, &look, &kept, (StatusCode::OK, None)).await,
        Err(fault) => problem::answer(uri.path(), &reads.site, &fault),
    }
}

/// Keeps a plan that was worked out.
pub(in super::super) async fn keep(
    Scribe(writes): Scribe,
    uri: Uri,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let (f, reads) = (Fields(fields), writes.reads());
    match kept(&writes, &f).await {
        Ok(plan) => Redirect::to(&format!("{}s/{}/orders/{plan}", root_of(uri.path()), reads.site)).into_response(),
        Err(fault) => problem::answer(uri.path(), &reads.site, &fault),
    }
}

async fn kept(writes: &Writes, f: &Fields) -> Result<Id, Fault> {
    let bad = |said: &str| Fault::Refused(Refusal::form(&BAD_MEMBER, said));
    let name = f.get("name").filter(|n| n.chars().count() <= NAME);
    let name = name.ok_or_else(|| bad(&lang::order_bad_name(&NAME.to_string())))?;
    let item = f.get("item").map(|id| Id::new(id).ok_or_else(|| bad(lang::plan_bad_times()))).transpose()?;
    let sent = f.get("steps").and_then(|text| serde_json::from_str::<Vec<Value>>(text).ok());
    let (Some(entries), Some(serve_at)) = (sent, f.get("serve_at").and_then(Instant::parse)) else {
        return Err(bad(lang::plan_bad_times()));
    };
    let steps = read(&entries).map_err(Fault::Refused)?;
    let look = writes.reads().look(&item.iter().cloned().collect::<Vec<_>>()).await?;
    let asked = Asked { item: item.clone(), steps, serve_at };
    // Only what can be carried out is kept.
    let show = Show::of(&look.state, look.now);
    plan::plan(&look.state, &asked, look.now).map_err(|why| bad(&flaw(&why, &look.state, show)))?;
    let entries = entries.into_iter().map(super::super::acts::without_nothings).collect();
    writes.keep_plan(New { name, item, steps: entries, serve_at }, look.state.head).await
}

/// Begins its item for real, or says that it is over.
pub(in super::super) async fn act(
    Scribe(writes): Scribe,
    Path(at): Path<At>,
    uri: Uri,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let (f, reads) = (Fields(fields), writes.reads());
    let here = format!("{}s/{}/", root_of(uri.path()), reads.site);
    let (kept, look) = match found_plan(reads, &at).await {
        Ok(found) => found,
        Err(fault) => return problem::answer(uri.path(), &reads.site, &fault),
    };
    let done = match at.what.as_str() {
        "begin" => begin(&writes, &kept, &look, &f).await.map(|()| format!("{here}orders/{}", kept.plan)),
        "over" => writes.drop_plan(&kept.plan).await.map(|()| format!("{here}ahead")),
        _ => Err(Fault::NotFound("plan")),
    };
    match done {
        Ok(to) => Redirect::to(&to).into_response(),
        Err(fault) => {
            let (status, notice) = refused(&fault, &look);
            page(reads, &uri, &look, &kept, (status, Some(notice))).await
        }
    }
}

async fn begin(writes: &Writes, kept: &Kept, look: &Look, f: &Fields) -> Result<(), Fault> {
    if kept.item.is_some() {
        return Ok(());
    }
    let unknown = || Fault::Refused(Refusal::form(&UNKNOWN_ITEM, lang::form_pick_one()));
    let mut entry = kept.steps.first().filter(|s| s["item"] == TO_BEGIN).cloned().ok_or_else(unknown)?;
    let show = Show::of(&look.state, look.now);
    if let Some(e) = entry.as_object_mut() {
        e.retain(|member, _| member != "item" && member != "at");
        // Named by the day on which it is begun, and by the order it is for.
        let product = e.get("product").and_then(Value::as_str).and_then(Id::new);
        let name = product.and_then(|p| naming::of_product(&look.state, show, &p));
        if let Some(name) = name {
            e.insert(String::from("name"), Value::from(lang::order_item(&name, &kept.name)));
        }
    }
    let written = write(writes, Ok(vec![entry]), f.key(&format!("begin.{}", kept.plan))).await?;
    let item = Id::new(&Outcome::of(&written).item).ok_or_else(unknown)?;
    writes.plan_begun(&kept.plan, &item).await
}
