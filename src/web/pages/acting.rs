//! The handlers of the small pages behind an item's page, and of everything that is sent from an item's forms.

use super::forms::Fields;
use super::handlers::{At, NO_ITEM, asked, item_page, markup, new_key, refused};
use super::said::{self, Outcome};
use super::task::Ctx;
use super::visitor::Scribe;
use super::{
    Notice, acts, correct, earlier, end, found, join, mark, plan, problem, root_of, rows, split, taps, temperature,
    undo, was_out,
};
use crate::ledger::{self, From, Id, refusal};
use crate::web::auth::{Reads, Writes};
use crate::web::service::{Fault, Look, Written};
use askama::Template;
use axum::extract::{Form, Path, Query};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use serde_json::Value;

/// Shows a small page.
pub(super) async fn show(
    Scribe(writes): Scribe,
    Path(at): Path<At>,
    uri: Uri,
    Query(fields): Query<Vec<(String, String)>>,
) -> Response {
    let (fields, reads, path) = (Fields(fields), writes.reads(), uri.path());
    let Some(id) = Id::new(&at.item) else { return problem::answer(path, &reads.site, &NO_ITEM) };
    // Only posted to; a page that answered at such an address and is loaded again is the item's.
    if matches!(at.what.as_str(), "move" | "seen") {
        return Redirect::to(&format!("../{id}")).into_response();
    }
    match reads.look(std::slice::from_ref(&id)).await {
        Ok(look) => {
            let page = small(&look, reads, &id, &at.what, path, (StatusCode::OK, None), &fields).await;
            page.unwrap_or_else(|| problem::answer(path, &reads.site, &NO_ITEM))
        }
        Err(fault) => problem::answer(path, &reads.site, &fault),
    }
}

/// A small page as an answer; `None` if there is none of that name.
async fn small(
    look: &Look,
    reads: &Reads,
    id: &Id,
    what: &str,
    path: &str,
    (status, notice): (StatusCode, Option<Notice>),
    fields: &Fields,
) -> Option<Response> {
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    let c = Ctx::of(&look.state, look.now, id, fields, &asked)?;
    let closed = c.item.end().is_some();
    let text = match what {
        "undo" => undo::build(&c)?.render(),
        "correct" => correct::build(&c)?.render(),
        // Nothing else can happen to what has ended.
        _ if closed => return None,
        "coat" => join::build(&c, join::Mode::Coat)?.render(),
        "scrapings" => join::build(&c, join::Mode::Scrapings)?.render(),
        "mix" => join::build(&c, join::Mode::Mix)?.render(),
        "split" => split::build(&c)?.render(),
        "end" => end::build(&c)?.render(),
        "temperature" => temperature::build(&c)?.render(),
        "earlier" => earlier::build(&c)?.render(),
        "found" => found::build(&c)?.render(),
        "was-out" => was_out::build(&c)?.render(),
        "mark" => mark::build(&c)?.render(),
        "plan" => plan::build(&c)?.render(),
        _ => return None,
    };
    Some(markup(status, text.unwrap_or_default()))
}

/// Writes what a form about an item means, and leads on; refused, its page comes back with all that was in it.
pub(super) async fn act(
    Scribe(writes): Scribe,
    Path(at): Path<At>,
    uri: Uri,
    headers: HeaderMap,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let (fields, reads, path) = (Fields(fields), writes.reads(), uri.path());
    let Some(id) = Id::new(&at.item) else { return problem::answer(path, &reads.site, &NO_ITEM) };
    if taps::given_up(&headers, reads.service().now()) {
        return taps::too_late(path);
    }
    let wanted: Vec<Id> = std::iter::once(id.clone()).chain(fields.get("with").and_then(Id::new)).collect();
    let look = match reads.look(&wanted).await {
        Ok(look) => look,
        Err(fault) => return problem::answer(path, &reads.site, &fault),
    };
    let (entries, told) = {
        let asked = asked(reads, "", "", None).await;
        match Ctx::of(&look.state, look.now, &id, &fields, &asked) {
            Some(c) => (acts::entries(&at.what, &c).map_err(Fault::Refused), said::meanwhile(&c)),
            None => (Err(NO_ITEM), None),
        }
    };
    let key = fields.key(&format!("{}.{id}", at.what));
    let gone = at.what == "undo" && undo::to_the_beginning(&look.state, &id, &fields);
    let onward = |written: &Written| Redirect::to(&onward(written, reads, &id, &at.what, path, &fields, gone));
    // The second touch of a button is no surprise to anybody: it gets the answer of the first.
    if let (Some(key), true) = (&key, told.is_some() || entries.is_err())
        && let Some(written) = writes.answered(&look, key).await
    {
        return onward(&written).into_response();
    }
    if let Some(notice) = told {
        return item_page(&look, reads, &id, path, StatusCode::CONFLICT, Some(notice)).await;
    }
    match write(&writes, entries, key).await {
        Ok(written) => onward(&written).into_response(),
        Err(fault) => {
            // What stands there now may be why it was refused.
            let look = reads.look(&wanted).await.unwrap_or(look);
            let (status, notice) = refused(&fault, &look);
            let asked = asked(reads, "", "", None).await;
            let there = matches!(&fault, Fault::Refused(r) if r.code == &refusal::ALREADY_THERE && at.what == "move");
            let told = Ctx::of(&look.state, look.now, &id, &fields, &asked).filter(|_| there);
            let notice = told.and_then(|c| said::already(&c)).unwrap_or(notice);
            match small(&look, reads, &id, &at.what, path, (status, Some(notice.clone())), &fields).await {
                Some(page) => page,
                None => item_page(&look, reads, &id, path, status, Some(notice)).await,
            }
        }
    }
}

/// Where to go after it: to the board or the round it was sent from, else to the item it is about now.
fn onward(written: &Written, reads: &Reads, id: &Id, what: &str, path: &str, fields: &Fields, gone: bool) -> String {
    let outcome = Outcome::of(written);
    let new = matches!(what, "mix" | "split") && Id::new(&outcome.item).is_some();
    let about = if new { outcome.item.as_str() } else { id.as_str() };
    let query = outcome.query(what, about);
    let site = format!("{}s/{}/", root_of(path), reads.site);
    // What had been done to a whole rack was taken back there.
    if let Some(rack) = fields.get("rack").and_then(Id::new) {
        return format!("{site}racks/{rack}?said={what}");
    }
    if let Some(order) = fields.get("order").and_then(Id::new) {
        return format!("{site}orders/{order}");
    }
    // What is to be printed is shown.
    if what == "mark" && fields.is("how", "printed") {
        return format!("{site}items/{id}/label?{query}");
    }
    match (fields.get("back"), fields.get("round").and_then(Id::new)) {
        (_, Some(place)) => format!("{site}round/{place}?{query}&ask={}", super::rounds::ids(fields.raw("rest"))),
        (Some("board"), _) => {
            let filter = rows::query(&rows::filter_of(fields.get("filter").unwrap_or_default()));
            format!("{site}?{query}{}{filter}", if filter.is_empty() { "" } else { "&" })
        }
        // What was undone to its very beginning has no page any more.
        _ if gone => format!("{site}?{query}"),
        _ => format!("{site}items/{about}?{query}"),
    }
}

/// Writes entries, all or none.
pub(super) async fn write(
    writes: &Writes,
    entries: Result<Vec<Value>, Fault>,
    key: Option<(String, String)>,
) -> Result<Written, Fault> {
    let parsed = entries?.iter().map(|e| ledger::parse(&e.to_string(), From::Caller)).collect::<Result<Vec<_>, _>>();
    writes.write(parsed.map_err(Fault::Refused)?, key).await
}
