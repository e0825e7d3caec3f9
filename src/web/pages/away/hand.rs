//! Handing over: to whom and to which place; an address for them, if they are to have one. What comes of it is the card.

use super::super::acting::write;
use super::super::forms::Fields;
use super::super::handlers::{NO_ITEM, asked, html, new_key, refused};
use super::super::tagging::base;
use super::super::task::{Ctx, Head};
use super::super::visitor::Scribe;
use super::super::{Choice, Notice, Shell, problem, qr, root_of};
use super::card::{self, Made};
use crate::lang;
use crate::ledger::refusal::{BAD_MEMBER, UNKNOWN_PLACE};
use crate::ledger::{Id, Refusal};
use crate::people::handovers::{NAME, code_of};
use crate::rules::Use;
use crate::web::auth::Writes;
use crate::web::service::{Fault, Look, Service};
use askama::Template;
use axum::extract::{Form, Path, State};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::Response;
use axum_extra::extract::CookieJar;
use serde_json::json;

/// The page.
#[derive(Template)]
#[template(path = "away/hand.html")]
struct Hand {
    shell: Shell,
    head: Head,
    places: Vec<Choice>,
    to: String,
}

async fn page(
    writes: &Writes,
    look: &Look,
    id: &Id,
    uri: &Uri,
    f: &Fields,
    (status, notice): (StatusCode, Option<Notice>),
) -> Response {
    let (reads, root, key) = (writes.reads(), root_of(uri.path()), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    let built = Ctx::of(&look.state, look.now, id, f, &asked).filter(|c| c.item.end().is_none()).and_then(|c| {
        let away = c.state.places.values().filter(|p| p.r#use == Use::Away && c.item.place() != Some(&p.place));
        let places = away.map(|p| Choice::place(p, f.is("place", p.place.as_str()))).collect();
        let to = f.raw("to").to_owned();
        Some(Hand { shell: c.shell(), head: c.head("hand-over", lang::hand_title())?, places, to })
    });
    match built {
        Some(page) => html(status, &page),
        None => problem::answer(uri.path(), &reads.site, &NO_ITEM),
    }
}

/// Shows it.
pub(in super::super) async fn show(
    Scribe(writes): Scribe,
    Path((_, item)): Path<(String, String)>,
    uri: Uri,
) -> Response {
    let Some(id) = Id::new(&item) else { return problem::answer(uri.path(), &writes.reads().site, &NO_ITEM) };
    match writes.reads().look(std::slice::from_ref(&id)).await {
        Ok(look) => page(&writes, &look, &id, &uri, &Fields::default(), (StatusCode::OK, None)).await,
        Err(fault) => problem::answer(uri.path(), &writes.reads().site, &fault),
    }
}

/// Hands it over; the answer is its card, with the address on it this once.
pub(in super::super) async fn over(
    State(service): State<Service>,
    Scribe(writes): Scribe,
    Path((_, item)): Path<(String, String)>,
    (jar, headers): (CookieJar, HeaderMap),
    uri: Uri,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let (f, reads) = (Fields(fields), writes.reads());
    let Some(id) = Id::new(&item) else { return problem::answer(uri.path(), &reads.site, &NO_ITEM) };
    match hand_over(&writes, &id, &f).await {
        Ok(code) => {
            let look = match reads.look(std::slice::from_ref(&id)).await {
                Ok(look) => look,
                Err(fault) => return problem::answer(uri.path(), &reads.site, &fault),
            };
            let made = code.map(|code| {
                let address = format!("{}h/{code}", base(&service, &jar, &headers));
                let svg = qr::svg(&address, lang::card_code());
                Made { address, svg }
            });
            card::page(reads, &look, &id, &uri, (None, made)).await
        }
        Err(fault) => match reads.look(std::slice::from_ref(&id)).await {
            Ok(look) => {
                let (status, notice) = refused(&fault, &look);
                page(&writes, &look, &id, &uri, &f, (status, Some(notice))).await
            }
            Err(fault) => problem::answer(uri.path(), &reads.site, &fault),
        },
    }
}

async fn hand_over(writes: &Writes, id: &Id, f: &Fields) -> Result<Option<String>, Fault> {
    let place = f.get("place").ok_or_else(|| Fault::Refused(Refusal::form(&UNKNOWN_PLACE, lang::form_pick_place())))?;
    let look = writes.reads().look(&[]).await?;
    let away = |p: &str| {
        let place = Id::new(p).and_then(|p| look.state.places.get(&p));
        place.is_some_and(|p| p.r#use == Use::Away)
    };
    if !away(place) {
        return Err(Fault::Refused(Refusal::form(&BAD_MEMBER, lang::hand_not_away())));
    }
    let to = f.get("to").unwrap_or_default();
    if to.chars().count() > NAME {
        return Err(Fault::Refused(Refusal::form(&BAD_MEMBER, &lang::bad_text(&NAME.to_string()))));
    }
    let mut entry = json!({"kind": "move", "item": id, "place": place});
    if !to.is_empty() {
        entry["note"] = json!(to);
    }
    let key = f.key(&format!("hand-over.{id}"));
    // From a page without a key each touch would make another.
    let from = f.get("key").filter(|_| key.is_some()).map_or_else(new_key, str::to_owned);
    let code = f.get("link").map(|_| code_of(&from, id)).transpose()?;
    write(writes, Ok(vec![entry]), key).await?;
    if let Some(code) = &code {
        writes.add_link(code, id, to, f.is("link", "writes")).await?;
    }
    Ok(code)
}
