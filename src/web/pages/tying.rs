//! Tying a tag to something, and asking first what became of what it was on.

use super::forms::Fields;
use super::handlers::{asked, html, new_key};
use super::tagging::{Sent, bad, done, or_problem, own, say};
use super::visitor::{Scribe, Visitor};
use super::{Notice, problem, root_of, tag};
use crate::items::{Rack, Tag, Tied};
use crate::lang;
use crate::ledger::{From, Id, parse};
use crate::web::auth::{Reads, Writes};
use crate::web::service::{Fault, Look};
use axum::extract::{Form, Path, Query};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use serde_json::json;

/// Ties a tag and leads to what it is on now, or asks.
pub(super) async fn tied(writes: &Writes, tag: &Tag, to: Tied, fields: &Fields, path: &str) -> Result<Response, Fault> {
    if let Some(asks) = tie(writes, tag, &to, fields, path).await? {
        return Ok(asks);
    }
    let page = match &to {
        Tied::Item(id) => format!("items/{id}/tag"),
        Tied::Rack(id) => format!("racks/{id}"),
    };
    Ok(Redirect::to(&format!("{}s/{}/{page}?said=tied", root_of(path), writes.reads().site)).into_response())
}

/// Ties a tag. Where it is on something that is still open, asks first what became of that: the page that asks.
pub(super) async fn tie(
    writes: &Writes,
    tag: &Tag,
    to: &Tied,
    fields: &Fields,
    path: &str,
) -> Result<Option<Response>, Fault> {
    let reads = writes.reads();
    let (was, racks) = (reads.on(tag).await?, reads.racks().await?);
    let named: Vec<Id> = was.iter().chain([to]).filter_map(item).cloned().collect();
    let look = reads.look(&named).await?;
    match to {
        Tied::Item(id) if !look.state.items.contains_key(id) => return Err(Fault::NotFound("item")),
        Tied::Item(id) if !tag::is_open(&look.state, id, look.now) => {
            let text = lang::tag_item_closed(&super::name_of(&look.state, id));
            return Ok(Some(say(reads, path, StatusCode::CONFLICT, &text, lang::tag_item_closed_next())));
        }
        Tied::Rack(id) if racks.iter().all(|r| r.rack != *id) => return Err(Fault::NotFound("rack")),
        _ => {}
    }
    let still = was.as_ref().filter(|was| match was {
        Tied::Item(id) => tag::is_open(&look.state, id, look.now),
        Tied::Rack(_) => true,
    });
    if let Some(was) = still.filter(|was| *was != to) {
        let (Tied::Item(id) | Tied::Rack(id)) = was;
        // The answer is about what was asked about, not about what the tag may be on by now.
        let answered = fields.get("was").and_then(Id::new).is_some_and(|asked| asked == *id);
        let open = match (was, fields.get("before").filter(|_| answered)) {
            (_, Some("stays")) => None,
            (Tied::Item(id), Some(how)) => close(writes, id, how, fields).await.err().map(|fault| {
                let (status, text, next) = problem::words(&fault);
                (status, bad(&text, &next))
            }),
            _ => Some((StatusCode::CONFLICT, None)),
        };
        if let Some(said) = open {
            return Ok(Some(question(reads, tag, (was, to), &look, said, path, &racks).await));
        }
    }
    if let Some(other) = writes.tie(tag, was, Some(to.clone())).await? {
        // Another hand was quicker: it is asked about that one.
        let look = reads.look(&item(&other).cloned().into_iter().collect::<Vec<_>>()).await?;
        return Ok(Some(question(reads, tag, (&other, to), &look, (StatusCode::CONFLICT, None), path, &racks).await));
    }
    Ok(None)
}

/// The item it is, if it is one.
pub(super) fn item(what: &Tied) -> Option<&Id> {
    match what {
        Tied::Item(id) => Some(id),
        Tied::Rack(_) => None,
    }
}

async fn close(writes: &Writes, id: &Id, how: &str, fields: &Fields) -> Result<(), Fault> {
    let entry = json!({"kind": "close", "item": id, "as": how});
    let parsed = parse(&entry.to_string(), From::Caller).map_err(Fault::Refused)?;
    writes.write(vec![parsed], fields.key(&format!("tag.{id}"))).await.map(|_| ())
}

async fn question(
    reads: &Reads,
    tag: &Tag,
    (was, to): (&Tied, &Tied),
    look: &Look,
    (status, notice): (StatusCode, Option<Notice>),
    path: &str,
    racks: &[Rack],
) -> Response {
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    html(status, &tag::was_on(&look.state, look.now, tag, (was, to, racks), &asked))
}

/// The tags of an item.
pub async fn show_item(
    Visitor(reads): Visitor,
    Path((_, id)): Path<(String, String)>,
    uri: Uri,
    Query(said): Query<Sent>,
) -> Response {
    let tied = said.iter().any(|(name, what)| name == "said" && what == "tied");
    let notice = if tied { done(lang::done_tied().to_owned()) } else { None };
    let answer = item_page(&reads, &id, uri.path(), StatusCode::OK, notice).await;
    or_problem(answer, uri.path(), &reads.site)
}

async fn item_page(
    reads: &Reads,
    id: &str,
    path: &str,
    status: StatusCode,
    notice: Option<Notice>,
) -> Result<Response, Fault> {
    let id = Id::new(id).ok_or(Fault::NotFound("item"))?;
    let look = reads.look(std::slice::from_ref(&id)).await?;
    if !look.state.items.contains_key(&id) {
        return Err(Fault::NotFound("item"));
    }
    let (tags, racks) = (reads.tags_on(&Tied::Item(id.clone())).await?, reads.racks().await?);
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    Ok(html(status, &tag::of_item(&look.state, look.now, &id, (tags, &racks), &asked)))
}

/// Ties the tag whose code was typed to an item.
pub async fn tie_item(
    Scribe(writes): Scribe,
    Path((_, id)): Path<(String, String)>,
    uri: Uri,
    Form(fields): Form<Sent>,
) -> Response {
    let (fields, reads, path) = (Fields(fields), writes.reads(), uri.path());
    let answer = async {
        match own(reads, fields.get("code").unwrap_or("")).await? {
            Some(tag) => {
                let to = Id::new(&id).ok_or(Fault::NotFound("item"))?;
                tied(&writes, &tag, Tied::Item(to), &fields, path).await
            }
            None => {
                let notice = bad(lang::tag_unknown(), lang::tag_unknown_next());
                item_page(reads, &id, path, StatusCode::NOT_FOUND, notice).await
            }
        }
    };
    or_problem(answer.await, path, &reads.site)
}
