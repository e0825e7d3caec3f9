//! The written procedure's pages: what is in force, the versions and what was in force on a date, what changed between
//! two, the manager's draft, and what somebody who signs in has not read yet.

pub mod edit;
mod paper;
pub mod pdf;
pub mod read;
mod shown;
pub mod versions;

use super::handlers::{asked, html, new_key};
use super::visitor::Visitor;
use super::{Notice, problem, root_of};
use crate::clock::{Instant, Zone};
use crate::lang;
use crate::people::Role;
use crate::record::procedure::{Period, Typed, since};
use crate::web::service::Fault;
use crate::web::show::Show;
use axum::extract::{Path, Query};
use axum::http::{StatusCode, Uri};
use axum::response::Response;
use paper::Paper;
use serde::Deserialize;
use shown::{Reader, Shown};

/// What just happened, as the address says.
#[derive(Deserialize)]
pub struct Said {
    said: Option<String>,
}

/// A date and a time: a procedure is kept for years.
fn stamp(show: Show, t: Instant) -> String {
    format!("{} {}", Zone::date_text(show.zone.day(t)), show.time(t))
}

fn told(text: String) -> Option<Notice> {
    Some(Notice { text, ..Notice::default() })
}

fn refused(text: &str, next: &str) -> Option<Notice> {
    Some(Notice { bad: true, text: text.to_owned(), next: next.to_owned(), ..Notice::default() })
}

/// The version in force now.
pub async fn show(Visitor(reads): Visitor, uri: Uri, Query(said): Query<Said>) -> Response {
    let (path, site) = (uri.path(), reads.site.as_str());
    let (look, all) = match (reads.look(&[]).await, reads.procedures().await) {
        (Ok(look), Ok(all)) => (look, all),
        (Err(fault), _) | (_, Err(fault)) => return problem::answer(path, site, &fault),
    };
    let show = Show::of(&look.state, look.now);
    let (root, key) = (root_of(path), new_key());
    let notice = match said.said.as_deref() {
        Some("approved") => told(lang::procedure_done_approved().to_owned()),
        _ => None,
    };
    let asked = asked(&reads, &root, &key, notice).await;
    let Some(period) = all.shelf.at(look.now) else {
        return html(StatusCode::OK, &Shown::none(&look, &asked));
    };
    let (document, readers) = match (reads.version(period.version).await, reads.readers(period.version).await) {
        (Ok(document), Ok(readers)) => (document, readers),
        (Err(fault), _) | (_, Err(fault)) => return problem::answer(path, site, &fault),
    };
    let mut page = Shown::of(&look, &asked, lang::procedure_title().to_owned(), Paper::of(&document, &asked.names));
    page.said.push(in_force(show, period, &asked.names));
    let review = document.review_on().unwrap_or_default();
    match Zone::parse_date(review).is_some_and(|day| day > show.zone.day(look.now)) {
        true => page.said.push(lang::procedure_next_review(review)),
        false => page.warns.push(lang::procedure_review_due(review)),
    }
    let now = all.document(&look.state, &Typed::default());
    page.changed = since(&document.facts, &now.facts).iter().map(paper::changed).collect();
    page.version = Some(period.version);
    if matches!(reads.actor.role, Role::Manager | Role::Inspector) {
        page.readers = Some(Reader::all(&all.members, &readers, show));
    }
    html(StatusCode::OK, &page)
}

fn in_force(show: Show, p: &Period, names: &crate::people::Names) -> String {
    let by = p.by.as_ref().map_or_else(String::new, |id| crate::people::Names::isolated(names.of(id)));
    let (version, from) = (p.version.to_string(), stamp(show, p.from));
    match p.until {
        None => lang::procedure_in_force(&by, &from, &version),
        Some(until) => lang::procedure_was_in_force(&by, &from, &stamp(show, until), &version),
    }
}

/// Which version.
#[derive(Deserialize)]
pub struct At {
    version: String,
}

/// One version, as it was written down.
pub async fn version(Visitor(reads): Visitor, Path(at): Path<At>, uri: Uri) -> Response {
    let (path, site) = (uri.path(), reads.site.as_str());
    let Some(number) = at.version.parse::<u32>().ok() else { return unknown(path, site, &at.version) };
    let found = (reads.look(&[]).await, reads.shelf().await, reads.version(number).await, reads.readers(number).await);
    let (look, shelf, document, readers) = match found {
        (Ok(look), Ok(shelf), Ok(document), Ok(readers)) => (look, shelf, document, readers),
        (_, _, Err(Fault::NotFound(_)), _) => return unknown(path, site, &at.version),
        (Err(fault), ..) | (_, Err(fault), ..) | (_, _, Err(fault), _) | (.., Err(fault)) => {
            return problem::answer(path, site, &fault);
        }
    };
    let (root, key, show) = (root_of(path), new_key(), Show::of(&look.state, look.now));
    let asked = asked(&reads, &root, &key, None).await;
    let title = lang::procedure_version(&number.to_string());
    let mut page = Shown::of(&look, &asked, title, Paper::of(&document, &asked.names));
    let periods = shelf.periods.iter().filter(|p| p.version == number);
    page.said.extend(periods.map(|p| in_force(show, p, &asked.names)));
    if !shelf.is_approved(number) {
        page.warns.push(lang::procedure_never_approved().to_owned());
    }
    page.version = Some(number);
    if matches!(reads.actor.role, Role::Manager | Role::Inspector) {
        let members = reads.procedures().await.map(|p| p.members).unwrap_or_default();
        page.readers = Some(Reader::all(&members, &readers, show));
    }
    html(StatusCode::OK, &page)
}

/// There is no such version.
fn unknown(path: &str, site: &str, version: &str) -> Response {
    let root = root_of(path);
    let asked = super::Asked { root: &root, site, ..super::Asked::default() };
    let version: String = version.chars().take(40).collect();
    let page = problem::build(&asked, &lang::procedure_unknown(&version), lang::procedure_unknown_next(), false);
    html(StatusCode::NOT_FOUND, &page)
}
