//! The handlers of tags: where one leads, its own page, and sheets of new ones.

use super::forms::Fields;
use super::handlers::{asked, html, new_key};
use super::tying::{item, tied};
use super::visitor::{Scribe, Visitor, turned_away};
use super::{Asked, Notice, problem, root_of, tag, tags};
use crate::items::tag::{LENGTH, symbols};
use crate::items::{SHEET_TAGS, Tag, Tied};
use crate::lang;
use crate::ledger::Id;
use crate::web::auth::{HOST_COOKIE, Reads, who};
use crate::web::service::{Fault, Service};
use crate::web::tags as held;
use axum::extract::{Form, Path, Request, State};
use axum::http::{HeaderMap, StatusCode, Uri, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum_extra::extract::CookieJar;

/// A form's or query's fields as they were sent.
pub(super) type Sent = Vec<(String, String)>;

/// Something to say at the top of a page: what is wrong and what to do.
pub(super) fn bad(text: &str, next: &str) -> Option<Notice> {
    Some(Notice { bad: true, text: text.to_owned(), next: next.to_owned(), ..Notice::default() })
}

/// Something to say at the top of a page: what happened.
pub(super) fn done(text: String) -> Option<Notice> {
    Some(Notice { text, ..Notice::default() })
}

/// An answer, or the page that says why there is none.
pub(super) fn or_problem(answer: Result<Response, Fault>, path: &str, site: &str) -> Response {
    answer.unwrap_or_else(|fault| problem::answer(path, site, &fault))
}

/// A tag nobody has and one of another shop look the same.
fn unknown(path: &str, site: &str) -> Response {
    let root = root_of(path);
    let asked = Asked { root: &root, site, ..Asked::default() };
    let page = problem::build(&asked, lang::tag_unknown(), lang::tag_unknown_next(), false);
    html(StatusCode::NOT_FOUND, &page)
}

/// Part of a code leads nowhere: labels tear.
fn torn(path: &str) -> Response {
    let root = root_of(path);
    let asked = Asked { root: &root, ..Asked::default() };
    let page = problem::build(&asked, &lang::tag_torn(&LENGTH.to_string()), lang::tag_torn_next(), false);
    html(StatusCode::NOT_FOUND, &page)
}

/// Where a tag leads: to its item or rack, or to its own page where that is closed or it is on nothing.
pub async fn open(State(service): State<Service>, Path(code): Path<String>, request: Request) -> Response {
    let (parts, _) = request.into_parts();
    let actors = match who(&parts, &service).await {
        Ok(actors) => actors,
        Err(p) => return turned_away(&parts, &p),
    };
    let path = parts.uri.path();
    let Some(tag) = Tag::read(&code) else {
        let part = symbols(&code).is_some_and(|s| (1..LENGTH).contains(&s.len()));
        return if part { torn(path) } else { unknown(path, "") };
    };
    let to = async {
        let site = held::site_of(&service, &tag).await?;
        let theirs = |site: &String| actors.iter().any(|a| a.site.as_ref().is_none_or(|own| own == site));
        let Some(site) = site.filter(theirs) else {
            return Ok(None);
        };
        let there = match held::on(&service, &site, &tag).await? {
            Some(Tied::Rack(rack)) => format!("racks/{rack}"),
            Some(Tied::Item(item)) => {
                let look = service.look(&site, std::slice::from_ref(&item)).await?;
                match tag::is_open(&look.state, &item, look.now) {
                    true => format!("items/{item}"),
                    false => format!("tags/{}", tag.as_str()),
                }
            }
            None => format!("tags/{}", tag.as_str()),
        };
        Ok(Some(format!("{}s/{site}/{there}", root_of(path))))
    };
    match to.await {
        Ok(Some(to)) => Redirect::to(&to).into_response(),
        Ok(None) => unknown(path, ""),
        Err(fault) => problem::answer(path, "", &fault),
    }
}

/// The sheets there are.
pub async fn sheets(Visitor(reads): Visitor, uri: Uri) -> Response {
    let answer = async {
        let (look, sheets) = (reads.look(&[]).await?, reads.sheets().await?);
        let (root, key) = (root_of(uri.path()), new_key());
        let asked = asked(&reads, &root, &key, None).await;
        Ok(html(StatusCode::OK, &tags::sheets(&look.state, look.now, &sheets, &asked)))
    };
    or_problem(answer.await, uri.path(), &reads.site)
}

/// Makes a sheet. Its id is the page's key, so that two taps make one.
pub async fn make(Scribe(writes): Scribe, uri: Uri, Form(fields): Form<Sent>) -> Response {
    let (fields, reads) = (Fields(fields), writes.reads());
    let count = fields.get("count").map_or(Ok(tags::USUAL), str::parse);
    let answer = async {
        let Some(count) = count.ok().filter(|n| (1..=SHEET_TAGS).contains(n)) else {
            let (look, sheets) = (reads.look(&[]).await?, reads.sheets().await?);
            let (root, key) = (root_of(uri.path()), new_key());
            let notice = bad(&lang::tags_bad_count(&SHEET_TAGS.to_string()), "");
            let page = tags::sheets(&look.state, look.now, &sheets, &asked(reads, &root, &key, notice).await);
            return Ok(html(StatusCode::BAD_REQUEST, &page));
        };
        let sheet = fields.key("").map_or_else(new_key, |(key, _)| key.trim_end_matches('.').to_owned());
        writes.make_sheet(sheet.clone(), count).await?;
        Ok(Redirect::to(&format!("{}s/{}/sheets/{sheet}", root_of(uri.path()), reads.site)).into_response())
    };
    or_problem(answer.await, uri.path(), &reads.site)
}

/// One sheet.
pub async fn sheet(
    State(service): State<Service>,
    Visitor(reads): Visitor,
    Path((_, sheet)): Path<(String, String)>,
    jar: CookieJar,
    headers: HeaderMap,
    uri: Uri,
) -> Response {
    let answer = async {
        let found = reads.sheet(&sheet).await?;
        if found.is_empty() {
            return Err(Fault::NotFound("sheet"));
        }
        let look = reads.look(&[]).await?;
        let (root, key) = (root_of(uri.path()), new_key());
        let base = base(&service, &jar, &headers);
        let page = tags::sheet(&look.state, look.now, (&sheet, &found), &base, &asked(&reads, &root, &key, None).await);
        Ok(html(StatusCode::OK, &page))
    };
    or_problem(answer.await, uri.path(), &reads.site)
}

/// The service's address as phones reach it, with a slash at its end.
pub(super) fn base(service: &Service, jar: &CookieJar, headers: &HeaderMap) -> String {
    service.address().unwrap_or_else(|| as_asked(jar, headers))
}

/// The service's address as this browser reaches it, as far as it says so: a cookie of TLS comes only by TLS.
fn as_asked(jar: &CookieJar, headers: &HeaderMap) -> String {
    let scheme = if jar.get(HOST_COOKIE).is_some() { "https" } else { "http" };
    let host = headers.get(header::HOST).and_then(|h| h.to_str().ok()).unwrap_or("localhost");
    format!("{scheme}://{host}/")
}

/// A tag's own page.
pub async fn show(Visitor(reads): Visitor, Path((_, code)): Path<(String, String)>, uri: Uri) -> Response {
    or_problem(tag_page(&reads, &code, uri.path()).await, uri.path(), &reads.site)
}

async fn tag_page(reads: &Reads, code: &str, path: &str) -> Result<Response, Fault> {
    let Some(tag) = own(reads, code).await? else { return Ok(unknown(path, &reads.site)) };
    let (ties, racks) = (reads.ties(&tag).await?, reads.racks().await?);
    let items = ties.iter().filter_map(|t| item(&t.what)).cloned();
    let look = reads.look(&items.collect::<Vec<_>>()).await?;
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, None).await;
    Ok(html(StatusCode::OK, &tag::build(&look.state, look.now, &tag, (&ties, &racks), &asked)))
}

/// The tag of that code, if it is this shop's.
pub(super) async fn own(reads: &Reads, code: &str) -> Result<Option<Tag>, Fault> {
    match Tag::read(code) {
        Some(tag) if reads.has_tag(&tag).await? => Ok(Some(tag)),
        _ => Ok(None),
    }
}

/// The tag that a form for something new brings along. One that nobody here has is no reason not to begin: the food
/// stands there already, and a tag can be tied later.
pub(super) async fn named(reads: &Reads, fields: &Fields) -> Result<Option<Tag>, Fault> {
    match fields.get("tag") {
        Some(code) => own(reads, code).await,
        None => Ok(None),
    }
}

/// Ties a tag from its own page, or takes it off.
pub async fn change(
    Scribe(writes): Scribe,
    Path((_, code, what)): Path<(String, String, String)>,
    uri: Uri,
    Form(fields): Form<Sent>,
) -> Response {
    let (fields, reads, path) = (Fields(fields), writes.reads(), uri.path());
    let answer = async {
        let Some(tag) = own(reads, &code).await? else { return Ok(unknown(path, &reads.site)) };
        let to = match (fields.get("item").and_then(Id::new), fields.get("rack").and_then(Id::new)) {
            _ if what == "off" => None,
            (Some(item), None) if what == "tie" => Some(Tied::Item(item)),
            (None, Some(rack)) if what == "tie" => Some(Tied::Rack(rack)),
            _ => return Err(Fault::NotFound("form")),
        };
        match to {
            Some(to) => tied(&writes, &tag, to, &fields, path).await,
            None => {
                let was = reads.on(&tag).await?;
                writes.tie(&tag, was, None).await?;
                Ok(Redirect::to(&format!("{}s/{}/tags/{}", root_of(path), reads.site, tag.as_str())).into_response())
            }
        }
    };
    or_problem(answer.await, path, &reads.site)
}

/// A page that only says something.
pub(super) fn say(reads: &Reads, path: &str, status: StatusCode, text: &str, next: &str) -> Response {
    let root = root_of(path);
    let asked = Asked { root: &root, site: &reads.site, ..Asked::default() };
    html(status, &problem::build(&asked, text, next, false))
}
