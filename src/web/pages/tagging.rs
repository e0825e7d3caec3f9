//! The handlers of tags: where one leads, what it is tied to, sheets of new ones, and the page that scans.

use super::forms::Fields;
use super::handlers::{html, new_key};
use super::scan::{self, For, Typed};
use super::visitor::{Scribe, Visitor, turned_away};
use super::{Asked, Notice, problem, root_of, tag, tags};
use crate::items::tag::symbols;
use crate::items::{Rack, SHEET_TAGS, Tag, Tied};
use crate::lang;
use crate::ledger::{From, Id, parse};
use crate::web::auth::{HOST_COOKIE, Reads, Writes, who};
use crate::web::service::{Fault, Look, Service};
use crate::web::tags as held;
use axum::extract::{Form, Path, Query, Request, State};
use axum::http::{HeaderMap, HeaderName, StatusCode, Uri, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum_extra::extract::CookieJar;
use serde_json::json;

/// A form's or query's fields as they were sent.
pub(super) type Sent = Vec<(String, String)>;

/// What a page is asked with.
pub(super) fn asked<'a>(reads: &'a Reads, root: &'a str, key: &'a str, notice: Option<Notice>) -> Asked<'a> {
    Asked { site: &reads.site, root, viewer: Some(&reads.actor), key, notice, ..Asked::default() }
}

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

/// Where a tag leads: to its item or rack, or to its own page where that is closed or it is on nothing.
pub async fn open(State(service): State<Service>, Path(code): Path<String>, request: Request) -> Response {
    let (parts, _) = request.into_parts();
    let actors = match who(&parts, &service).await {
        Ok(actors) => actors,
        Err(p) => return turned_away(&parts, &p),
    };
    let path = parts.uri.path();
    let Some(tag) = Tag::read(&code) else { return unknown(path, "") };
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
        let asked = asked(&reads, &root, &key, None);
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
            let page = tags::sheets(&look.state, look.now, &sheets, &asked(reads, &root, &key, notice));
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
        let base = service.address().unwrap_or_else(|| as_asked(&jar, &headers));
        let page = tags::sheet(&look.state, look.now, &found, &base, &asked(&reads, &root, &key, None));
        Ok(html(StatusCode::OK, &page))
    };
    or_problem(answer.await, uri.path(), &reads.site)
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
    let items = ties.iter().filter_map(|(what, ..)| match what {
        Tied::Item(id) => Some(id.clone()),
        Tied::Rack(_) => None,
    });
    let look = reads.look(&items.collect::<Vec<_>>()).await?;
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, None);
    Ok(html(StatusCode::OK, &tag::build(&look.state, look.now, &tag, (&ties, &racks), &asked)))
}

/// The tag of that code, if it is this shop's.
pub(super) async fn own(reads: &Reads, code: &str) -> Result<Option<Tag>, Fault> {
    match Tag::read(code) {
        Some(tag) if reads.has_tag(&tag).await? => Ok(Some(tag)),
        _ => Ok(None),
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
            Some(to) => tie(&writes, &tag, to, &fields, path).await,
            None => {
                let was = reads.on(&tag).await?;
                writes.tie(&tag, was, None).await?;
                Ok(Redirect::to(&format!("{}s/{}/tags/{}", root_of(path), reads.site, tag.as_str())).into_response())
            }
        }
    };
    or_problem(answer.await, path, &reads.site)
}

/// Ties a tag. Where it is on something that is still open, asks first what became of that.
pub(super) async fn tie(writes: &Writes, tag: &Tag, to: Tied, fields: &Fields, path: &str) -> Result<Response, Fault> {
    let reads = writes.reads();
    let (was, racks) = (reads.on(tag).await?, reads.racks().await?);
    let named: Vec<Id> = was.iter().chain([&to]).filter_map(item).cloned().collect();
    let look = reads.look(&named).await?;
    match &to {
        Tied::Item(id) if !look.state.items.contains_key(id) => return Err(Fault::NotFound("item")),
        Tied::Item(id) if !tag::is_open(&look.state, id, look.now) => {
            let text = lang::tag_item_closed(&super::name_of(&look.state, id));
            return Ok(say(reads, path, StatusCode::CONFLICT, &text, lang::tag_item_closed_next()));
        }
        Tied::Rack(id) if racks.iter().all(|r| r.rack != *id) => return Err(Fault::NotFound("rack")),
        _ => {}
    }
    let still = was.as_ref().filter(|was| match was {
        Tied::Item(id) => tag::is_open(&look.state, id, look.now),
        Tied::Rack(_) => true,
    });
    if let Some(was) = still.filter(|was| **was != to) {
        let (Tied::Item(id) | Tied::Rack(id)) = was;
        // The answer is about what was asked about, not about what the tag may be on by now.
        let answered = fields.get("was").and_then(Id::new).is_some_and(|asked| asked == *id);
        match (was, fields.get("before").filter(|_| answered)) {
            (_, Some("stays")) => {}
            (Tied::Item(id), Some(how)) => {
                if let Err(fault) = close(writes, id, how, fields).await {
                    let (status, text, next) = problem::words(&fault);
                    return Ok(question(reads, tag, (was, &to), &look, (status, bad(&text, &next)), path, &racks));
                }
            }
            _ => return Ok(question(reads, tag, (was, &to), &look, (StatusCode::CONFLICT, None), path, &racks)),
        }
    }
    if let Some(other) = writes.tie(tag, was, Some(to.clone())).await? {
        // Another hand was quicker: it is asked about that one.
        let look = reads.look(&item(&other).cloned().into_iter().collect::<Vec<_>>()).await?;
        return Ok(question(reads, tag, (&other, &to), &look, (StatusCode::CONFLICT, None), path, &racks));
    }
    let page = match &to {
        Tied::Item(id) => format!("items/{id}/tag"),
        Tied::Rack(id) => format!("racks/{id}"),
    };
    Ok(Redirect::to(&format!("{}s/{}/{page}?said=tied", root_of(path), reads.site)).into_response())
}

fn item(what: &Tied) -> Option<&Id> {
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

fn question(
    reads: &Reads,
    tag: &Tag,
    (was, to): (&Tied, &Tied),
    look: &Look,
    (status, notice): (StatusCode, Option<Notice>),
    path: &str,
    racks: &[Rack],
) -> Response {
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, notice);
    html(status, &tag::was_on(&look.state, look.now, tag, (was, to, racks), &asked))
}

/// A page that only says something.
pub(super) fn say(reads: &Reads, path: &str, status: StatusCode, text: &str, next: &str) -> Response {
    let root = root_of(path);
    let asked = Asked { root: &root, site: &reads.site, ..Asked::default() };
    html(status, &problem::build(&asked, text, next, false))
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
    let asked = asked(reads, &root, &key, notice);
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
                tie(&writes, &tag, Tied::Item(to), &fields, path).await
            }
            None => {
                let notice = bad(lang::tag_unknown(), lang::tag_unknown_next());
                item_page(reads, &id, path, StatusCode::NOT_FOUND, notice).await
            }
        }
    };
    or_problem(answer.await, path, &reads.site)
}

/// The page that scans, or takes the code key by key. A whole code leads where its tag does.
pub async fn scan(Visitor(reads): Visitor, uri: Uri, Query(asks): Query<Sent>) -> Response {
    let (asks, path) = (Fields(asks), uri.path());
    let what = match (asks.get("item").and_then(Id::new), asks.get("rack").and_then(Id::new)) {
        (Some(item), _) => For::Item(item),
        (_, Some(rack)) => For::Rack(rack),
        _ => For::Finding,
    };
    let typed = asks.get("code").unwrap_or("");
    let code = scan::pressed(typed, asks.get("press").unwrap_or(""));
    if let (For::Finding, Some(tag)) = (&what, Tag::read(&code)) {
        return Redirect::to(&format!("{}t/{}", root_of(path), tag.as_str())).into_response();
    }
    let answer = async {
        let named: Vec<Id> = if let For::Item(id) = &what { vec![id.clone()] } else { Vec::new() };
        let (look, racks) = (reads.look(&named).await?, reads.racks().await?);
        // Typed in one go, and no code: that is said.
        let wrong = asks.get("press").is_none() && !typed.is_empty() && Tag::read(&code).is_none();
        let last = symbols(asks.get("last").unwrap_or("")).unwrap_or_default();
        let notice = match (&what, asks.get("said")) {
            _ if wrong => bad(lang::code_wrong(), lang::code_wrong_next()),
            (For::Rack(rack), Some("put")) => put_just_now(&reads, &racks, rack, &last).await?,
            _ => None,
        };
        let status = if wrong { StatusCode::BAD_REQUEST } else { StatusCode::OK };
        let (root, key) = (root_of(path), new_key());
        let typed = Typed { code: &code, last: &last, camera: asks.get("camera").is_some() };
        let page = scan::build(&look.state, look.now, (&what, &racks), &typed, &asked(&reads, &root, &key, notice));
        // Only here may the camera be asked for.
        let may = (HeaderName::from_static("permissions-policy"), CAMERA);
        Ok(([may], html(status, &page)).into_response())
    };
    or_problem(answer.await, path, &reads.site)
}

/// What was put on a rack by its tag, and how much stands there now.
async fn put_just_now(reads: &Reads, racks: &[Rack], rack: &Id, code: &str) -> Result<Option<Notice>, Fault> {
    let Some(tag) = own(reads, code).await? else { return Ok(None) };
    let (Some(Tied::Item(item)), Some(rack)) = (reads.on(&tag).await?, racks.iter().find(|r| r.rack == *rack)) else {
        return Ok(None);
    };
    let look = reads.look(std::slice::from_ref(&item)).await?;
    let count = rack.items.len().to_string();
    Ok(done(lang::done_put_by_tag(&count, &super::name_of(&look.state, &item))))
}

const CAMERA: &str = "camera=(self), geolocation=(), microphone=(), payment=(), usb=()";
