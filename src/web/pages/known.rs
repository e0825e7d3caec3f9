//! Somebody says that they know of what an item calls for: a decision in the ledger, about one threshold.

use super::acting::write;
use super::forms::Fields;
use super::handlers::{At, NO_ITEM, refused};
use super::rows::{filter_of, query};
use super::visitor::Scribe;
use super::{problem, root_of};
use crate::board::decisions::key;
use crate::board::due::Threshold;
use crate::lang;
use crate::ledger::refusal::BAD_MEMBER;
use crate::ledger::{Id, Refusal};
use crate::rules::Verdict;
use crate::web::service::Fault;
use axum::extract::{Form, Path};
use axum::http::Uri;
use axum::response::{IntoResponse, Redirect, Response};
use serde_json::json;

/// Writes it, and leads back to where it was said.
pub(super) async fn say(
    Scribe(writes): Scribe,
    Path(at): Path<At>,
    uri: Uri,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let (f, reads, path) = (Fields(fields), writes.reads(), uri.path());
    let Some(id) = Id::new(&at.item) else { return problem::answer(path, &reads.site, &NO_ITEM) };
    let threshold = f.get("threshold").and_then(Threshold::read);
    let entry = threshold.map(|t| {
        let reason = format!("{t}: {}", lang::known_reason());
        // It names what it is about: nothing else of the item is decided by it.
        let note = key(if t.verdict == Verdict::Use { "no-return" } else { "over" }, reads.service().now());
        vec![json!({"kind": "decide", "about": id, "action": "acknowledge", "reason": reason, "note": note})]
    });
    let entry = entry.ok_or_else(|| Fault::Refused(Refusal::form(&BAD_MEMBER, lang::form_unknown())));
    match write(&writes, entry, f.key(&format!("known.{id}"))).await {
        Ok(_) => {
            let site = format!("{}s/{}/", root_of(path), reads.site);
            let filter = query(&filter_of(f.get("filter").unwrap_or_default()));
            let mark = if filter.is_empty() { "" } else { "?" };
            Redirect::to(&match f.get("back") {
                Some("wall") => format!("{site}wall{mark}{filter}"),
                Some("boards") => format!("{}boards", root_of(path)),
                _ => format!("{site}{mark}{filter}"),
            })
            .into_response()
        }
        Err(fault) => match reads.look(std::slice::from_ref(&id)).await {
            Ok(look) => {
                let (status, notice) = refused(&fault, &look);
                super::handlers::item_page(&look, reads, &id, path, status, Some(notice)).await
            }
            Err(fault) => problem::answer(path, &reads.site, &fault),
        },
    }
}
