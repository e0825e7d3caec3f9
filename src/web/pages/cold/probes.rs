//! The probes that write the air of places: which there are, a token for one more, and its end.

use super::super::forms::Fields;
use super::super::handlers::{asked, html, new_key};
use super::super::tagging::{Sent, base, or_problem};
use super::super::visitor::Keeper;
use super::super::{Choice, Notice, Shell, place_name, problem, root_of, words};
use crate::lang;
use crate::ledger::{Control, Id, State, Unit};
use crate::people::secret::NAME_MOST;
use crate::people::tokens::Probe;
use crate::web::manages::Manages;
use crate::web::probes::{PLACES_MOST, Wrong};
use crate::web::service::Fault;
use crate::web::show::Show;
use askama::Template;
use axum::extract::{Form, Path};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use axum_extra::extract::CookieJar;
use serde::Deserialize;
use serde_json::json;

/// The page.
#[derive(Template)]
#[template(path = "cold/probes.html")]
struct Probes {
    shell: Shell,
    /// A token that was just made, and how a reading is sent with it, a line a place.
    made: Option<(String, Vec<String>)>,
    choices: Vec<Choice>,
    probes: Vec<Row>,
    f: Fields,
}

struct Row {
    id: Id,
    name: String,
    places: String,
    last: String,
    gone: bool,
}

/// Which probe.
#[derive(Deserialize)]
pub struct At {
    probe: String,
}

fn row(state: &State, show: Show, p: &Probe) -> Row {
    let names: Vec<String> = p.places.iter().map(|id| place_name(state, id)).collect();
    let read = p.last_at.map_or_else(|| lang::probe_last_none().to_owned(), |at| lang::probe_last(&show.clock(at)));
    Row {
        id: p.token.clone(),
        name: p.name.clone(),
        places: if names.is_empty() { lang::probe_all_places().to_owned() } else { names.join(", ") },
        last: p.revoked_at.map_or(read, |at| lang::probe_revoked(&show.clock(at))),
        gone: p.revoked_at.is_some(),
    }
}

/// The line that sends a reading of a place, for a shell.
fn curl(base: &str, site: &str, token: &str, place: &Id, units: Unit) -> String {
    let value = if units == Unit::F { "39.9" } else { "4.4" };
    let reading = json!({"kind": "reading", "place": place, "value": value, "unit": units});
    format!(
        "curl -H 'Authorization: Bearer {token}' -H 'Content-Type: application/json' -d '{reading}' {base}s/{site}/api/entries"
    )
}

async fn page(
    manages: &Manages,
    path: &str,
    (status, notice): (StatusCode, Option<Notice>),
    f: &Fields,
    made: Option<(String, Vec<String>)>,
) -> Result<Response, Fault> {
    let reads = manages.reads();
    let look = reads.look(&[]).await?;
    let (state, show) = (&look.state, Show::of(&look.state, look.now));
    let mut probes = manages.probes().await?;
    probes.sort_by_key(|p| p.revoked_at.is_some());
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    let choice = |p: &std::sync::Arc<crate::ledger::Place>| Choice {
        id: p.place.clone(),
        name: p.name.to_string(),
        more: words::control(p.control).to_owned(),
        chosen: f.is("place", p.place.as_str()),
    };
    let mut places: Vec<_> = state.places.values().collect();
    places.sort_by_key(|p| (p.control == Control::None, p.seq));
    let page = Probes {
        shell: Shell::of(state, look.now, &asked),
        made,
        choices: places.into_iter().map(choice).collect(),
        probes: probes.iter().map(|p| row(state, show, p)).collect(),
        f: f.clone(),
    };
    Ok(html(status, &page))
}

/// What is said of what wasn't done.
fn words_of(wrong: &Wrong) -> (StatusCode, String, String) {
    let bad = |text: String, next: &str| (StatusCode::BAD_REQUEST, text, next.to_owned());
    match wrong {
        Wrong::Name(_) => bad(lang::unfit_name(&NAME_MOST.to_string()), lang::unfit_name_next()),
        Wrong::NameTaken => (StatusCode::CONFLICT, lang::probe_taken().to_owned(), lang::probe_taken_next().to_owned()),
        Wrong::Place | Wrong::Places | Wrong::Figure => bad(lang::probe_pick(&PLACES_MOST.to_string()), ""),
        Wrong::Probe => (StatusCode::NOT_FOUND, lang::probe_nobody().to_owned(), lang::probe_nobody_next().to_owned()),
        Wrong::Fault(fault) => problem::words(fault),
    }
}

async fn refused(manages: &Manages, path: &str, f: &Fields, wrong: &Wrong) -> Result<Response, Fault> {
    let (status, text, next) = words_of(wrong);
    let notice = Some(Notice { bad: true, text, next, ..Notice::default() });
    page(manages, path, (status, notice), f, None).await
}

/// Shows them.
pub async fn show(Keeper(manages): Keeper, uri: Uri) -> Response {
    let answer = page(&manages, uri.path(), (StatusCode::OK, None), &Fields::default(), None).await;
    or_problem(answer, uri.path(), &manages.reads().site)
}

/// Makes a token and shows it, this once.
pub async fn add(
    Keeper(manages): Keeper,
    uri: Uri,
    jar: CookieJar,
    headers: HeaderMap,
    Form(fields): Form<Sent>,
) -> Response {
    let (f, reads, path) = (Fields(fields), manages.reads(), uri.path());
    let answer = async {
        let state = reads.look(&[]).await?.state;
        let known = |text: &str| Id::new(text).filter(|id| state.places.contains_key(id));
        let places: Option<Vec<Id>> = f.all("place").map(known).collect();
        let Some(places) = places else { return refused(&manages, path, &f, &Wrong::Place).await };
        match manages.add_probe(f.get("name").unwrap_or_default(), &places).await {
            Ok(token) => {
                let base = base(reads.service(), &jar, &headers);
                let units = state.site.as_ref().map_or(Unit::C, |s| s.units);
                let lines = places.iter().map(|p| curl(&base, &reads.site, &token, p, units)).collect();
                page(&manages, path, (StatusCode::OK, None), &Fields::default(), Some((token, lines))).await
            }
            Err(wrong) => refused(&manages, path, &f, &wrong).await,
        }
    };
    or_problem(answer.await, path, &reads.site)
}

/// Ends one.
pub async fn revoke(Keeper(manages): Keeper, Path(at): Path<At>, uri: Uri) -> Response {
    let (site, path) = (&manages.reads().site, uri.path());
    let gone = || Ok(Redirect::to(&format!("{}s/{site}/probes", root_of(path))).into_response());
    let answer = async {
        let id = Id::new(&at.probe).ok_or(Wrong::Probe);
        let done = match &id {
            Ok(id) => manages.revoke_probe(id).await,
            Err(_) => Err(Wrong::Probe),
        };
        // The second touch finds it ended.
        let known = manages.probes().await?.into_iter().any(|p| id.as_ref().is_ok_and(|id| p.token == *id));
        match done {
            Ok(()) => gone(),
            Err(Wrong::Probe) if known => gone(),
            Err(wrong) => refused(&manages, path, &Fields::default(), &wrong).await,
        }
    };
    or_problem(answer.await, path, site)
}
