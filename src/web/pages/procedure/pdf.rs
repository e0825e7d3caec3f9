//! The written procedure as a PDF: the version in force, or the one that is named.

use super::paper::changed;
use super::shown::Reader;
use super::{in_force, unknown};
use crate::clock::Zone;
use crate::lang::{self, Lang};
use crate::ledger::chain;
use crate::people::Role;
use crate::record::paper::Size;
use crate::record::procedure::print::{Print, Readers, print};
use crate::record::procedure::{Document, Typed, since};
use crate::web::auth::Reads;
use crate::web::pages::handlers::html;
use crate::web::pages::visitor::Visitor;
use crate::web::pages::{Asked, printing, problem, root_of};
use crate::web::procedures::Procedures;
use crate::web::service::{Fault, Look};
use crate::web::show::Show;
use axum::extract::Query;
use axum::http::{StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;

/// On what, and which version.
#[derive(Deserialize)]
pub struct Wanted {
    #[serde(default)]
    size: Option<String>,
    #[serde(default)]
    version: Option<String>,
}

/// The PDF.
pub async fn show(Visitor(reads): Visitor, uri: Uri, Query(q): Query<Wanted>) -> Response {
    let (path, site) = (uri.path(), reads.site.as_str());
    let size = q.size.as_deref().filter(|text| !text.is_empty()).map_or(Some(Size::A4), Size::parse);
    let Some(size) = size.filter(|size| !matches!(size, Size::Roll { .. })) else {
        let said = (lang::procedure_bad_size(), lang::procedure_bad_size_next());
        return sentence(path, site, StatusCode::BAD_REQUEST, said);
    };
    let number = q.version.as_deref().map(str::trim).filter(|text| !text.is_empty());
    match made(&reads, number, size).await {
        Ok(Some((version, bytes))) => {
            let name = format!("inline; filename=\"written-procedure-{version}.pdf\"");
            ([(header::CONTENT_DISPOSITION, name)], printing::answer(bytes)).into_response()
        }
        Ok(None) => {
            let said = (lang::procedure_none(), lang::procedure_unknown_next());
            sentence(path, site, StatusCode::NOT_FOUND, said)
        }
        Err(Fault::NotFound("version")) => unknown(path, site, number.unwrap_or_default()),
        Err(fault) => problem::answer(path, site, &fault),
    }
}

fn sentence(path: &str, site: &str, status: StatusCode, (text, next): (&str, &str)) -> Response {
    let root = root_of(path);
    let asked = Asked { root: &root, site, ..Asked::default() };
    html(status, &problem::build(&asked, text, next, false))
}

/// The version's number and bytes; nothing if none is in force.
async fn made(reads: &Reads, number: Option<&str>, size: Size) -> Result<Option<(u32, Vec<u8>)>, Fault> {
    let (look, all) = (reads.look(&[]).await?, reads.procedures().await?);
    let version = match number {
        Some(text) => text.parse().map_err(|_| Fault::NotFound("version"))?,
        None => match all.shelf.at(look.now) {
            Some(p) => p.version,
            None => return Ok(None),
        },
    };
    let document = reads.version(version).await?;
    // What stands around it on paper is in its own language.
    let language = Lang::named(&document.language).unwrap_or(Lang::En);
    let bytes = lang::during(language, paper(reads, (&look, &all), (version, document), size)).await?;
    Ok(Some((version, bytes)))
}

async fn paper(
    reads: &Reads,
    (look, all): (&Look, &Procedures),
    (version, document): (u32, Document),
    size: Size,
) -> Result<Vec<u8>, Fault> {
    let show = Show::of(&look.state, look.now);
    let readers = reads.readers(version).await?;
    let (names, (seq, hash)) = (reads.names().await, reads.ledger_head().await?);
    let periods = all.shelf.periods.iter().filter(|p| p.version == version);
    let mut said: Vec<String> = periods.map(|p| in_force(show, p, &names)).collect();
    if said.is_empty() {
        said.push(lang::procedure_never_approved().to_owned());
    }
    let review = document.review_on().unwrap_or_default();
    match Zone::parse_date(review).is_some_and(|day| day > show.zone.day(look.now)) {
        true => said.push(lang::procedure_next_review(review)),
        false => said.push(lang::procedure_review_due(review)),
    }
    // Whoever reads it on paper has to know too that it is behind.
    if all.shelf.at(look.now).is_some_and(|p| p.version == version) {
        let now = all.document(&look.state, &Typed::default());
        let changed: Vec<String> = since(&document.facts, &now.facts).iter().map(changed).collect();
        if !changed.is_empty() {
            said.push(lang::procedure_since().to_owned());
            said.extend(changed);
        }
    }
    let readers = matches!(reads.actor.role, Role::Manager | Role::Inspector).then(|| {
        let heads = [lang::procedure_reader().to_owned(), lang::procedure_read_at().to_owned()];
        let rows = Reader::all(&all.members, &readers, show).into_iter().map(Reader::words).collect();
        Readers { title: lang::procedure_readers().to_owned(), heads, rows }
    });
    let title = lang::procedure_paper_title(&version.to_string());
    let ledger = lang::procedure_paper_ledger(chain::digits(&hash), &seq.to_string());
    let printed = Print { title, ledger, said, readers, now: look.now, size };
    printing::set(move || Ok(print(&document, &names, printed))).await
}
