//! The handlers of racks: what stands on one, one move and one probing for all of it.

use super::forms::{Fields, wall};
use super::handlers::{asked, html, new_key, refused};
use super::tag::is_open;
use super::tagging::{Sent, bad, done, or_problem, own, say};
use super::tying::tied;
use super::visitor::{Scribe, Visitor};
use super::{Notice, mark, moves, name_of, place_name, problem, rack, root_of, undo};
use crate::items::{RACKS, Rack, Tag, Tied};
use crate::lang;
use crate::ledger::refusal::Told;
use crate::ledger::{From, Id, Record, Refusal, parse};
use crate::web::auth::{Reads, Writes};
use crate::web::service::{Fault, Look};
use crate::web::show::Show;
use axum::extract::{Form, Path, Query};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use serde_json::{Value, json};
use std::collections::HashMap;

/// All racks.
pub async fn list(Visitor(reads): Visitor, uri: Uri) -> Response {
    let answer = async {
        let racks = reads.racks().await?;
        let items: Vec<Id> = racks.iter().flat_map(|r| r.items.clone()).collect();
        let look = reads.look(&items).await?;
        let (root, key) = (root_of(uri.path()), new_key());
        Ok(html(StatusCode::OK, &rack::list(&look.state, look.now, &racks, &asked(&reads, &root, &key, None).await)))
    };
    or_problem(answer.await, uri.path(), &reads.site)
}

/// Makes a rack. Its id comes from the page's key, so that two taps make one.
pub async fn make(Scribe(writes): Scribe, uri: Uri, Form(fields): Form<Sent>) -> Response {
    let (fields, reads, path) = (Fields(fields), writes.reads(), uri.path());
    let answer = async {
        let Some(name) = fields.get("name").filter(|n| n.chars().count() <= 200) else {
            return Ok(say(reads, path, StatusCode::BAD_REQUEST, lang::rack_no_name(), lang::rack_no_name_next()));
        };
        let key = fields.key("").map_or_else(new_key, |(key, _)| key);
        let id = key.get(..10).and_then(|k| Id::new(&format!("rack-{k}"))).ok_or(Fault::NotFound("rack"))?;
        if !writes.make_rack(id.clone(), name.to_owned()).await? {
            let text = lang::racks_full(&RACKS.to_string());
            return Ok(say(reads, path, StatusCode::CONFLICT, &text, lang::racks_full_next()));
        }
        Ok(to_rack(reads, path, &id, ""))
    };
    or_problem(answer.await, path, &reads.site)
}

fn to_rack(reads: &Reads, path: &str, id: &Id, query: &str) -> Response {
    Redirect::to(&format!("{}s/{}/racks/{id}{query}", root_of(path), reads.site)).into_response()
}

/// A rack.
pub async fn show(
    Visitor(reads): Visitor,
    Path((_, id)): Path<(String, String)>,
    uri: Uri,
    Query(said): Query<Sent>,
) -> Response {
    let (said, path) = (Fields(said), uri.path());
    let answer = async {
        let rack = found(&reads, &id).await?;
        let look = reads.look(&rack.items).await?;
        let count = said.get("n").and_then(|n| n.parse::<i64>().ok()).unwrap_or(0);
        let text = match (said.get("said"), said.get("place").and_then(Id::new)) {
            (Some("move"), Some(place)) => Some(lang::done_rack_moved(count, &place_name(&look.state, &place))),
            (Some("reading"), _) => Some(lang::done_rack_read(count)),
            (Some("mark"), _) => Some(lang::done_rack_marked(count)),
            (Some("put"), _) => Some(lang::done_rack_put(count)),
            (Some("tied"), _) => Some(lang::done_tied().to_owned()),
            (Some("undo"), _) => Some(lang::done_rack_undone().to_owned()),
            _ => None,
        };
        let mut notice = text.and_then(done);
        if let Some(notice) = &mut notice {
            if said.get("how") == Some("printed") {
                lang::done_rack_printed().clone_into(&mut notice.next);
            }
            let seqs = said.get("seqs").unwrap_or("").split(',').filter_map(|n| n.parse().ok());
            notice.undo = undoable(&rack, &look, &seqs.collect::<Vec<_>>());
        }
        page(&reads, &rack, &look, path, (StatusCode::OK, notice), Vec::new()).await
    };
    or_problem(answer.await, path, &reads.site)
}

/// What one touch takes back: entries written just now about what stands on the rack, as they were written.
fn undoable(rack: &Rack, look: &Look, seqs: &[u64]) -> Option<(Id, String)> {
    let records = rack.items.iter().filter_map(|id| look.state.items.get(id)).flat_map(|i| &i.records);
    let fresh = |r: &&Record| r.corrections.is_empty() && undo::at_once(&r.original, look.now);
    let here: HashMap<u64, &Record> = records.filter(fresh).map(|r| (r.original.meta.seq, r)).collect();
    let first = here.get(seqs.first()?)?.original.item()?;
    let all = seqs.len() <= undo::MOST && seqs.iter().all(|n| here.contains_key(n));
    let list: Vec<String> = seqs.iter().map(u64::to_string).collect();
    all.then(|| (first.clone(), list.join(",")))
}

async fn found(reads: &Reads, id: &str) -> Result<Rack, Fault> {
    reads.rack(&Id::new(id).ok_or(Fault::NotFound("rack"))?).await
}

async fn page(
    reads: &Reads,
    rack: &Rack,
    look: &Look,
    path: &str,
    (status, notice): (StatusCode, Option<Notice>),
    refused: Vec<String>,
) -> Result<Response, Fault> {
    let tags = reads.tags_on(&Tied::Rack(rack.rack.clone())).await?;
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    Ok(html(status, &rack::build(&look.state, look.now, rack, (tags, refused), &asked)))
}

/// What is done to a rack or with all that stands on it.
pub async fn act(
    Scribe(writes): Scribe,
    Path((_, id, what)): Path<(String, String, String)>,
    uri: Uri,
    Form(fields): Form<Sent>,
) -> Response {
    let (fields, reads, path) = (Fields(fields), writes.reads(), uri.path());
    let answer = async {
        let rack = found(reads, &id).await?;
        let look = reads.look(&rack.items).await?;
        match what.as_str() {
            "move" | "reading" | "mark" => match together(&writes, &rack, &look, &what, &fields, path).await {
                // What was sent can't be meant: it is said where it was sent from.
                Err(fault @ Fault::Refused(_)) => {
                    let (status, notice) = refused(&fault, &look);
                    page(reads, &rack, &look, path, (status, Some(notice)), Vec::new()).await
                }
                answer => answer,
            },
            "put" => put(&writes, &rack, &look, &fields, path).await,
            "take" => {
                let items: Vec<Id> = fields.all("item").filter_map(Id::new).collect();
                let on = items.into_iter().filter(|id| rack.items.contains(id)).collect();
                writes.take(on).await?;
                Ok(to_rack(reads, path, &rack.rack, ""))
            }
            "tag" => match own(reads, fields.get("code").unwrap_or("")).await? {
                Some(tag) => tied(&writes, &tag, Tied::Rack(rack.rack.clone()), &fields, path).await,
                None => {
                    let said = (StatusCode::NOT_FOUND, bad(lang::tag_unknown(), lang::tag_unknown_next()));
                    page(reads, &rack, &look, path, said, Vec::new()).await
                }
            },
            _ => Err(Fault::NotFound("form")),
        }
    };
    or_problem(answer.await, path, &reads.site)
}

/// Puts things on: those that were ticked, and the one whose tag was typed or scanned.
async fn put(writes: &Writes, rack: &Rack, look: &Look, fields: &Fields, path: &str) -> Result<Response, Fault> {
    let reads = writes.reads();
    let mut items: Vec<Id> = fields.all("item").filter_map(Id::new).collect();
    let mut wrong = None;
    if let Some(code) = fields.get("code") {
        match own(reads, code).await? {
            None => wrong = Some((StatusCode::NOT_FOUND, lang::tag_unknown(), lang::tag_unknown_next())),
            Some(tag) => match reads.on(&tag).await? {
                Some(Tied::Item(item)) => items.push(item),
                _ => wrong = Some((StatusCode::CONFLICT, lang::tag_on_no_item(), lang::tag_on_no_item_next())),
            },
        }
    }
    let all = reads.look(&items).await?;
    if wrong.is_none() && (items.is_empty() || items.iter().any(|id| !is_open(&all.state, id, all.now))) {
        wrong = Some((StatusCode::CONFLICT, lang::rack_put_nothing(), lang::rack_put_nothing_next()));
    }
    if let Some((status, text, next)) = wrong {
        return page(reads, rack, look, path, (status, bad(text, next)), Vec::new()).await;
    }
    // What closed meanwhile makes room.
    let gone = rack.items.iter().filter(|id| !is_open(&look.state, id, look.now)).cloned().collect();
    let count = items.len();
    let left = writes.put(rack.rack.clone(), items, gone).await?;
    if left > 0 {
        let said = (StatusCode::CONFLICT, bad(&lang::rack_full(left as i64), lang::rack_full_next()));
        let rack = reads.rack(&rack.rack).await?;
        return page(reads, &rack, &reads.look(&rack.items).await?, path, said, Vec::new()).await;
    }
    if let (Some("scan"), Some(tag)) = (fields.get("back"), fields.get("code").and_then(Tag::read)) {
        let camera = fields.get("camera").map_or("", |_| "&camera=on");
        let (root, site, id) = (root_of(path), &reads.site, &rack.rack);
        let to = format!("{root}s/{site}/scan?rack={id}&said=put&last={}{camera}", tag.as_str());
        return Ok(Redirect::to(&to).into_response());
    }
    Ok(to_rack(reads, path, &rack.rack, &format!("?said=put&n={count}")))
}

/// One entry an item: all that the ledger takes are written at once, and whoever is left behind is named.
async fn together(
    writes: &Writes,
    rack: &Rack,
    look: &Look,
    what: &str,
    fields: &Fields,
    path: &str,
) -> Result<Response, Fault> {
    let (reads, show) = (writes.reads(), Show::of(&look.state, look.now));
    let place = fields.get("place").and_then(Id::new);
    let to = place.as_ref().and_then(|id| look.state.places.get(id));
    // Where the clocks go back a wall time comes twice: the one that gives less time is meant.
    let earlier = to.is_none_or(|p| !moves::controlled(p, look.now));
    let at = fields.get("at").map(|text| wall(text, show, earlier)).transpose().map_err(Fault::Refused)?;
    let probed = fields.get("probed").and_then(Id::new).filter(|id| rack.items.contains(id));
    let entry = |item: &Id| -> Result<Value, Refusal> {
        let mut e = match what {
            "mark" => mark::on_rack(&look.state, show, item, fields)?,
            "move" => json!({"kind": what, "item": item, "place": fields.get("place")}),
            _ => {
                let probed = probed.as_ref().ok_or_else(|| Refusal::missing("probed"))?;
                let value = fields.get("value").map(|v| v.replace(',', "."));
                json!({"kind": what, "item": item, "probed": probed, "value": value, "unit": show.units})
            }
        };
        if let Some(at) = at {
            e["at"] = json!(at);
        }
        Ok(e)
    };
    let mut items: Vec<Id> = rack.items.iter().filter(|id| is_open(&look.state, id, look.now)).cloned().collect();
    let key = fields.key(&format!("rack.{what}.{}", rack.rack));
    let mut left: Vec<(Id, Option<Refusal>)> = Vec::new();
    let mut seqs: Vec<u64> = Vec::new();
    if what == "mark" {
        // Whether one may be marked is known before anything is written.
        items.retain(|id| entry(id).map_err(|r| left.push((id.clone(), Some(r)))).is_ok());
    }
    while !items.is_empty() {
        let parsed = items.iter().map(|id| parse(&entry(id)?.to_string(), From::Caller)).collect::<Result<_, _>>();
        match writes.write(parsed.map_err(Fault::Refused)?, key.clone()).await {
            Ok(done) => {
                // A second tap gets the first one's answer: what that left behind is left behind still.
                let told: Value = serde_json::from_str(&done.answer).unwrap_or_default();
                let told: Vec<&Value> = told["entries"].as_array().into_iter().flatten().collect();
                let behind = items.iter().filter(|id| told.iter().all(|e| e["item"] != id.as_str()));
                left.extend(behind.map(|id| (id.clone(), None)));
                seqs.extend(told.iter().filter_map(|e| e["seq"].as_u64()));
                break;
            }
            Err(Fault::Refused(r)) => match r.index {
                Some(n) if n < items.len() && probed.as_ref() != Some(&items[n]) => {
                    left.push((items.remove(n), Some(r)));
                }
                _ => return Err(Fault::Refused(r)),
            },
            Err(fault) => return Err(fault),
        }
    }
    if left.is_empty() {
        let (place, n) = (place.map_or_else(String::new, |p| format!("&place={p}")), seqs.len());
        let list: Vec<String> = seqs.iter().take(undo::MOST + 1).map(u64::to_string).collect();
        let how = if what == "mark" && fields.is("how", "printed") { "&how=printed" } else { "" };
        return Ok(to_rack(
            reads,
            path,
            &rack.rack,
            &format!("?said={what}&n={n}{place}{how}&seqs={}", list.join(",")),
        ));
    }
    let look = reads.look(&rack.items).await?;
    let show = Show::of(&look.state, look.now);
    let line = |(id, why): &(Id, Option<Refusal>)| {
        let name = name_of(&look.state, id);
        match why {
            None => lang::rack_refused(&name, lang::rack_before()),
            Some(r) => {
                let own = problem::about_item(r, &look.state, show);
                let said = if r.told == Told::Words { &r.detail } else { (r.code.title)() };
                own.unwrap_or_else(|| lang::rack_refused(&name, said))
            }
        }
    };
    let lines = left.iter().map(line).collect();
    let text = match (what, &place) {
        ("move", Some(place)) => lang::done_rack_moved(seqs.len() as i64, &place_name(&look.state, place)),
        ("mark", _) => lang::done_rack_marked(seqs.len() as i64),
        _ => lang::done_rack_read(seqs.len() as i64),
    };
    let status = if seqs.is_empty() { StatusCode::CONFLICT } else { StatusCode::OK };
    let notice = Notice { text, undo: undoable(rack, &look, &seqs), ..Notice::default() };
    page(reads, rack, &look, path, (status, Some(notice)), lines).await
}
