//! What a device keeps for when there is no signal: a page of its own, the last standings for it, and the worker that
//! keeps them and whatever is tapped meanwhile.

use super::handlers::{asked, html};
use super::mark;
use super::tile::Tile;
use super::visitor::Scribe;
use super::{Shell, moves, problem, root_of};
use crate::board::{Filter, Wanted, page_of};
use crate::exposure::Fold;
use crate::lang::{self, ALL, within};
use crate::ledger::Id;
use crate::record::marking::Marking;
use crate::rules::Phase;
use crate::web::show::Show;
use askama::Template;
use axum::Json;
use axum::http::{StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};
use serde_json::{Value, json};

/// Items that a device keeps, the most urgent.
const KEPT: usize = 300;

/// The page. It is filled in on the device.
#[derive(Template)]
#[template(path = "no_signal.html")]
struct NoSignal {
    shell: Shell,
    unit: &'static str,
}

/// Shows it; a device keeps it so that it can be shown without asking.
pub(super) async fn show(Scribe(writes): Scribe, uri: Uri) -> Response {
    let reads = writes.reads();
    match reads.look(&[]).await {
        Ok(look) => {
            let root = root_of(uri.path());
            let asked = asked(reads, &root, "", None).await;
            let shell = Shell { as_of: String::new(), ..Shell::of(&look.state, look.now, &asked) };
            html(StatusCode::OK, &NoSignal { shell, unit: Show::of(&look.state, look.now).unit() })
        }
        Err(fault) => problem::answer(uri.path(), &reads.site, &fault),
    }
}

/// The standings for it, most urgent first, as they are shown on the board.
pub(super) async fn kept(Scribe(writes): Scribe, uri: Uri) -> Response {
    let reads = writes.reads();
    let look = match reads.look(&[]).await {
        Ok(look) => look,
        Err(fault) => return problem::answer(uri.path(), &reads.site, &fault),
    };
    let (state, now) = (&look.state, look.now);
    let briefs = reads.service().briefs(&reads.site);
    let filter = Filter::default();
    let list = page_of(&briefs, state, |id| look.changed(id), now, (Wanted::Board, &filter), None, KEPT);
    let show = Show::of(state, now);
    let fold = Fold::new(state, now, show.zone);
    let ids = list.standings.iter().filter_map(|s| state.items.get_key_value(&s.item));
    let items: Vec<Value> = ids.filter_map(|(id, _)| item(&fold, id, show)).collect();
    let cold = |p: &crate::ledger::Place| moves::controlled(p, now);
    let places = state.places.values().map(|p| json!({"id": p.place, "name": p.name, "cold": cold(p)}));
    Json(json!({
        "person": reads.actor.by,
        "name": reads.actor.name,
        "language": lang::spoken().tag(),
        "now_ms": now.0,
        "as_of": show.clock(now),
        "places": places.collect::<Vec<Value>>(),
        "items": items,
        "more": list.counts.iter().sum::<usize>() - items.len(),
    }))
    .into_response()
}

/// An item as its row says it.
fn item<'a>(fold: &Fold<'a>, id: &'a Id, show: Show) -> Option<Value> {
    let t = Tile::of(fold, id, show, false)?;
    let marking = Marking::of(fold.state(), &t.standing)?;
    let mark = mark::offer(show, &t.standing, &marking).map(|o| json!({"time": o.time, "shown": o.shown}));
    let go = t.go.as_ref().map(
        |g| json!({"form": g.what, "field": g.field, "value": g.value, "label": g.label, "read_first": g.read_first}),
    );
    Some(json!({
        "id": id, "name": t.name, "place": t.standing.place, "total": t.total, "out": t.standing.state == Phase::Out,
        "class": t.class(), "verdict": t.verdict, "lead": t.lead, "big": t.big, "date": t.date, "left": t.left,
        "running": t.running.is_some(), "by_ms": t.standing.discard_by.map(|at| at.0), "go": go, "mark": mark,
    }))
}

/// The worker, with its few words in front of it, in every language: it may have kept no page to take them from.
pub(super) async fn worker() -> Response {
    let words = || {
        json!({"title": lang::product_name(), "nothing": lang::worker_nothing(), "full": lang::worker_full(),
            "back": lang::worker_back()})
    };
    let said: Vec<(String, Value)> = ALL.iter().map(|(l, _)| (l.tag().to_owned(), within(*l, words))).collect();
    let said: serde_json::Map<String, Value> = said.into_iter().collect();
    let text = format!("const SAID = {};\n{}", json!(said), include_str!("../../../static/worker.js"));
    ([(header::CONTENT_TYPE, "text/javascript; charset=utf-8")], text).into_response()
}
