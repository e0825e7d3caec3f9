//! An inspector's way in: the page a link leads to, and the first page with the five things that are asked for at the
//! counter.

use super::handlers::{asked, html, new_key};
use super::session::Browser;
use super::tagging::Sent;
use super::visitor::Visitor;
use super::{Asked, Notice, Shell, name_of, place_name, problem, root_of};
use crate::board::{self, Wanted};
use crate::clock::Zone;
use crate::items::Tag;
use crate::lang;
use crate::ledger::{Id, chain};
use crate::people::codes;
use crate::rules::Verdict;
use crate::web::accesses::LetIn;
use crate::web::auth::{Peer, Reads, sign_in_of};
use crate::web::service::{Fault, Service};
use crate::web::show::Show;
use askama::Template;
use axum::extract::{Form, Query, State};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use axum_extra::extract::CookieJar;
use serde::Deserialize;

/// Items past their time named on the page at most.
const OVER: usize = 100;

/// The page that a link leads to.
#[derive(Template)]
#[template(path = "inspect_enter.html")]
struct Enter {
    shell: Shell,
    code: String,
}

/// The first page.
#[derive(Template)]
#[template(path = "inspect.html")]
struct Inspect {
    shell: Shell,
    /// Until when the link is good.
    until: Option<String>,
    /// The only dates it is for.
    within: Option<(String, String)>,
    today: String,
    /// What is past its time: its page, its name, where it is and since when.
    over: Option<Vec<(Id, String, String)>>,
    /// Where the ledger ends.
    ledger: String,
    label: String,
}

/// The code, as it came.
#[derive(Deserialize)]
pub struct Code {
    #[serde(default)]
    code: String,
    /// That of the link.
    #[serde(default)]
    language: String,
}

fn enter_page(status: StatusCode, code: &str, refused: Option<(&str, &str)>) -> Response {
    let notice =
        refused.map(|(text, next)| Notice { bad: true, text: text.into(), next: next.into(), ..Notice::default() });
    let asked = Asked { root: "./", notice, ..Asked::default() };
    html(status, &Enter { shell: Shell::bare(&asked), code: codes::meant(code) })
}

/// The page that a link leads to. To open the address lets nobody in: a program that looks at links would be noted as a use.
pub async fn enter(Query(q): Query<Code>) -> Response {
    enter_page(StatusCode::OK, &q.code, None)
}

/// Lets this browser in.
pub async fn let_in(
    State(service): State<Service>,
    Peer(peer): Peer,
    jar: CookieJar,
    headers: HeaderMap,
    Form(q): Form<Code>,
) -> Response {
    match service.let_in(&q.code, peer).await {
        Ok(LetIn::Done(site, secret, for_ms)) => {
            // Whoever was signed in before isn't any more.
            if let Some(before) = sign_in_of(&jar)
                && let Err(fault) = service.end_sign_in(&before).await
            {
                return problem::answer("/inspect", "", &fault);
            }
            Browser::new(jar, &headers)
                .let_in(&secret, for_ms)
                .speaks_like(&q.language)
                .goes(&format!("s/{site}/inspect"))
        }
        Ok(LetIn::Unknown) => {
            let said = (lang::inspect_unknown(), lang::inspect_unknown_next());
            enter_page(StatusCode::FORBIDDEN, &q.code, Some(said))
        }
        Ok(LetIn::Locked) => {
            let said = (lang::enrol_locked(), lang::enrol_locked_next());
            enter_page(StatusCode::TOO_MANY_REQUESTS, &q.code, Some(said))
        }
        Err(fault) => problem::answer("/inspect", "", &fault),
    }
}

async fn page(
    reads: &Reads,
    path: &str,
    label: &str,
    (status, notice): (StatusCode, Option<Notice>),
) -> Result<Response, Fault> {
    let (look, head) = (reads.look(&[]).await?, reads.ledger_head().await?);
    let show = Show::of(&look.state, look.now);
    let access = reads.actor.access.as_ref();
    let within = access.and_then(|a| a.within);
    // What is there now isn't theirs to see where the link is for other dates alone.
    let over = within.is_none().then(|| {
        let briefs = reads.service().briefs(&reads.site);
        let list = board::page(&briefs, &look.state, |id| look.changed(id), look.now, Wanted::Open, None, OVER);
        let over = list.standings.into_iter().filter(|s| s.verdict == Verdict::Discard);
        let line = |s: crate::rules::Standing| {
            let (place, since) = (place_name(&look.state, &s.place), show.clock(s.reached(Verdict::Discard)));
            (s.item.clone(), name_of(&look.state, &s.item), lang::inspect_over_one(&place, &since))
        };
        over.map(line).collect()
    });
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    let page = Inspect {
        shell: Shell::of(&look.state, look.now, &asked),
        until: access.map(|a| show.clock(a.until)),
        within: within.map(|(a, b)| (Zone::date_text(a), Zone::date_text(b))),
        today: Zone::date_text(show.zone.day(look.now)),
        over,
        ledger: lang::record_ledger(chain::digits(&head.1), &head.0.to_string()),
        label: label.to_owned(),
    };
    Ok(html(status, &page))
}

/// The first page.
pub async fn show(Visitor(reads): Visitor, uri: Uri) -> Response {
    let made = page(&reads, uri.path(), "", (StatusCode::OK, None)).await;
    made.unwrap_or_else(|fault| problem::answer(uri.path(), &reads.site, &fault))
}

/// Finds a thing by what its label or tag says: to its page, or back with a sentence.
pub async fn find(Visitor(reads): Visitor, uri: Uri, Query(sent): Query<Sent>) -> Response {
    let path = uri.path();
    let typed = sent.iter().find(|(n, _)| n == "label").map_or("", |(_, v)| v.trim());
    let found = async {
        if let Some(tag) = Tag::read(typed)
            && crate::web::tags::site_of(reads.service(), &tag).await?.as_deref() == Some(reads.site.as_str())
        {
            return Ok(Some(format!("{}t/{}", root_of(path), tag.as_str())));
        }
        let Some(id) = Id::new(typed) else { return Ok(None) };
        let look = reads.look(std::slice::from_ref(&id)).await?;
        Ok(look.state.items.contains_key(&id).then(|| format!("{}s/{}/items/{id}", root_of(path), reads.site)))
    };
    let answer = match found.await {
        Ok(Some(to)) => return Redirect::to(&to).into_response(),
        Ok(None) => {
            let (text, next) = (lang::inspect_no_label().to_owned(), lang::inspect_no_label_next().to_owned());
            let notice = Notice { bad: true, text, next, ..Notice::default() };
            page(&reads, path, typed, (StatusCode::NOT_FOUND, Some(notice))).await
        }
        Err(fault) => Err(fault),
    };
    answer.unwrap_or_else(|fault| problem::answer(path, &reads.site, &fault))
}
