//! The customer's card as a page to print.

use super::super::forms::{Fields, wall};
use super::super::handlers::{NO_ITEM, asked, html, new_key};
use super::super::label::source;
use super::super::visitor::Visitor;
use super::super::{Shell, name_of, problem, root_of};
use crate::clock::{Instant, Zone};
use crate::exposure::Fold;
use crate::lang;
use crate::ledger::Id;
use crate::record::card::Card;
use crate::web::auth::Reads;
use crate::web::service::Look;
use crate::web::show::Show;
use askama::Template;
use axum::extract::{Path, Query};
use axum::http::{StatusCode, Uri};
use axum::response::Response;

/// The page.
#[derive(Template)]
#[template(path = "away/card.html")]
struct CardPage {
    shell: Shell,
    id: Id,
    name: String,
    serve: String,
    card: Option<Card>,
    made: Option<Made>,
}

/// An address that was just made.
pub(super) struct Made {
    pub address: String,
    pub svg: String,
}

/// When it is to be served: the next time that it is so late.
pub(super) fn serving(text: Option<&str>, show: Show) -> Option<Instant> {
    let today = show.zone.day(show.now);
    let on = |day| wall(&format!("{}T{}", Zone::date_text(day), text?), show, false).ok();
    (today..today + 2).filter_map(on).find(|t| *t >= show.now)
}

/// Shows it.
pub(in super::super) async fn show(
    Visitor(reads): Visitor,
    Path((_, item)): Path<(String, String)>,
    uri: Uri,
    Query(fields): Query<Vec<(String, String)>>,
) -> Response {
    let Some(id) = Id::new(&item) else { return problem::answer(uri.path(), &reads.site, &NO_ITEM) };
    match reads.look(std::slice::from_ref(&id)).await {
        Ok(look) => page(&reads, &look, &id, &uri, (Fields(fields).get("serve"), None)).await,
        Err(fault) => problem::answer(uri.path(), &reads.site, &fault),
    }
}

pub(super) async fn page(
    reads: &Reads,
    look: &Look,
    id: &Id,
    uri: &Uri,
    (serve, made): (Option<&str>, Option<Made>),
) -> Response {
    if !look.state.items.contains_key(id) {
        return problem::answer(uri.path(), &reads.site, &NO_ITEM);
    }
    let (root, key) = (root_of(uri.path()), new_key());
    let asked = asked(reads, &root, &key, None).await;
    let source = source(look);
    let fold = Fold::new(source.state, look.now, source.show.zone);
    let page = CardPage {
        shell: Shell::of(&look.state, look.now, &asked),
        id: id.clone(),
        name: name_of(&look.state, id),
        serve: serve.unwrap_or_default().to_owned(),
        card: Card::of(source, &fold, id, serving(serve, source.show)),
        made,
    };
    html(StatusCode::OK, &page)
}
