//! One item, for whoever has it, without signing in: how it stands, and where allowed the touch that says where it is now.
//! Nothing else of the shop is shown.

use super::super::forms::Fields;
use super::super::handlers::{html, new_key};
use super::super::{Asked, Choice, Notice, Shell, label, problem, root_of};
use super::card::serving;
use crate::clock::Instant;
use crate::exposure::Fold;
use crate::lang;
use crate::ledger::refusal::BAD_MEMBER;
use crate::ledger::{From, Id, Refusal, parse};
use crate::people::codes;
use crate::people::handovers::Link;
use crate::record::card::Card;
use crate::rules::Use;
use crate::web::service::{Fault, Look, Service};
use crate::web::show::Show;
use askama::Template;
use axum::extract::{Form, Path, Query, State};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use serde_json::json;

/// The page.
#[derive(Template)]
#[template(path = "away/venue.html")]
struct Venue {
    shell: Shell,
    code: String,
    card: Option<Card>,
    serve: String,
    /// Where they may say that it is, and whether they may say anything.
    places: Vec<Choice>,
    writes: bool,
    until: String,
    /// When it stops being so by itself.
    next: Option<Instant>,
}

async fn page(
    service: &Service,
    code: &str,
    uri: &Uri,
    serve: Option<&str>,
    (status, notice): (StatusCode, Option<Notice>),
) -> Result<Response, Fault> {
    let link = service.handed(code).await?;
    let look = service.look(&link.site, std::slice::from_ref(&link.item)).await?;
    Ok(html(status, &build(&look, &link, code, uri, serve, notice)))
}

fn build(look: &Look, link: &Link, code: &str, uri: &Uri, serve: Option<&str>, notice: Option<Notice>) -> Venue {
    let (root, key) = (root_of(uri.path()), new_key());
    let asked = Asked { root: &root, key: &key, notice, ..Asked::default() };
    let (source, show) = (label::source(look), Show::of(&look.state, look.now));
    let fold = Fold::new(source.state, look.now, show.zone);
    let card = Card::of(source, &fold, &link.item, serving(serve, show));
    let item = look.state.items.get(&link.item);
    let here = item.and_then(|i| i.place());
    let away = look.state.places.values().filter(|p| p.r#use == Use::Away && Some(&p.place) != here);
    let places = away.map(|p| Choice::place(p, false)).collect();
    let writes = link.writes && item.is_some_and(|i| crate::board::others::with_others(&look.state, i));
    let standing = super::super::task::standing(&look.state, show, &link.item);
    Venue {
        // Of no shop: what leads to the shop's own pages isn't there.
        shell: Shell { now_ms: look.now.0, as_of: show.clock(look.now), ..Shell::bare(&asked) },
        code: code.to_owned(),
        card,
        serve: serve.unwrap_or_default().to_owned(),
        places,
        writes,
        until: lang::venue_until(&show.clock(link.until)),
        next: standing.and_then(|s| s.next).map(|n| n.at),
    }
}

/// Shows it.
pub(in super::super) async fn show(
    State(service): State<Service>,
    Path(code): Path<String>,
    uri: Uri,
    Query(fields): Query<Vec<(String, String)>>,
) -> Response {
    let (f, code) = (Fields(fields), codes::meant(&code));
    let notice = f.get("said").map(|_| Notice { text: lang::venue_done().to_owned(), ..Notice::default() });
    let page = page(&service, &code, &uri, f.get("serve"), (StatusCode::OK, notice)).await;
    page.unwrap_or_else(|fault| astray(&uri, &fault))
}

/// Records where it stands now, or that it was served.
pub(in super::super) async fn say(
    State(service): State<Service>,
    Path(code): Path<String>,
    uri: Uri,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let (f, code) = (Fields(fields), codes::meant(&code));
    let done = async {
        let link = service.handed(&code).await?;
        let entry = match (f.get("place").and_then(Id::new), f.get("as")) {
            (Some(place), _) => json!({"kind": "move", "item": link.item, "place": place}),
            (None, Some("served")) => json!({"kind": "close", "item": link.item, "as": "served"}),
            _ => return Err(Fault::Refused(Refusal::form(&BAD_MEMBER, lang::form_unknown()))),
        };
        let entry = parse(&entry.to_string(), From::Caller).map_err(Fault::Refused)?;
        service.write_by_link(&link, entry, f.key(&format!("venue.{}", link.link))).await
    };
    match done.await {
        Ok(_) => Redirect::to(&format!("{code}?said=done")).into_response(),
        Err(fault) => {
            let (status, text, next) = problem::words(&fault);
            let notice = Notice { bad: true, text, next, ..Notice::default() };
            let page = page(&service, &code, &uri, None, (status, Some(notice))).await;
            page.unwrap_or_else(|fault| astray(&uri, &fault))
        }
    }
}

/// A code that leads nowhere, or no longer.
fn astray(uri: &Uri, fault: &Fault) -> Response {
    let root = root_of(uri.path());
    let (status, ..) = problem::words(fault);
    let notice = Notice {
        bad: true,
        text: lang::venue_gone().to_owned(),
        next: lang::venue_gone_next().to_owned(),
        ..Notice::default()
    };
    let asked = Asked { root: &root, notice: Some(notice), ..Asked::default() };
    html(
        status,
        &Venue {
            shell: Shell::bare(&asked),
            code: String::new(),
            card: None,
            serve: String::new(),
            places: Vec::new(),
            writes: false,
            until: String::new(),
            next: None,
        },
    )
}
