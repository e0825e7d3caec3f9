//! All versions, what was in force on a date, and what changed between two.

use super::paper::how;
use super::{in_force, refused, stamp, unknown};
use crate::clock::Zone;
use crate::lang;
use crate::people::Names;
use crate::record::procedure::{Difference, Shelf, compare as between};
use crate::web::auth::Reads;
use crate::web::pages::handlers::{asked, html, new_key};
use crate::web::pages::visitor::Visitor;
use crate::web::pages::{Notice, Shell, problem, root_of};
use crate::web::service::{Fault, Look};
use crate::web::show::Show;
use askama::Template;
use axum::extract::Query;
use axum::http::{StatusCode, Uri};
use axum::response::Response;
use serde::Deserialize;

/// The page of all versions.
#[derive(Template)]
#[template(path = "procedure/versions.html")]
struct Versions {
    shell: Shell,
    rows: Vec<Row>,
    on: String,
    found: Option<Vec<String>>,
    pair: Option<(u32, u32)>,
}

struct Row {
    version: u32,
    made: String,
    said: Vec<String>,
    before: Option<u32>,
}

/// What was in force when?
#[derive(Deserialize)]
pub struct On {
    on: Option<String>,
}

async fn shop(reads: &Reads) -> Result<(Look, Shelf), Fault> {
    Ok((reads.look(&[]).await?, reads.shelf().await?))
}

/// All versions; with a date, what was in force on it.
pub async fn list(Visitor(reads): Visitor, uri: Uri, Query(q): Query<On>) -> Response {
    let (look, shelf) = match shop(&reads).await {
        Ok(found) => found,
        Err(fault) => return problem::answer(uri.path(), &reads.site, &fault),
    };
    let (root, key, show) = (root_of(uri.path()), new_key(), Show::of(&look.state, look.now));
    let on = q.on.unwrap_or_default().trim().to_owned();
    let day = Zone::parse_date(&on);
    let (status, notice) = match on.is_empty() || day.is_some() {
        true => (StatusCode::OK, None),
        false => (StatusCode::BAD_REQUEST, refused(lang::procedure_bad_date(), lang::procedure_bad_date_next())),
    };
    let asked = asked(&reads, &root, &key, notice).await;
    let said = |version: u32| {
        let periods = shelf.periods.iter().filter(|p| p.version == version);
        let mut said: Vec<String> = periods.map(|p| in_force(show, p, &asked.names)).collect();
        if said.is_empty() {
            said.push(lang::procedure_never_approved().to_owned());
        }
        said
    };
    let row = |(i, v): (usize, &crate::record::procedure::Version)| Row {
        version: v.version,
        made: stamp(show, v.made_at),
        said: said(v.version),
        before: i.checked_sub(1).and_then(|i| shelf.versions.get(i)).map(|v| v.version),
    };
    let mut rows: Vec<Row> = shelf.versions.iter().enumerate().map(row).collect();
    rows.reverse();
    let found = day.map(|day| match shelf.on(show.zone, day) {
        none if none.is_empty() => vec![lang::procedure_none_on(&on)],
        some => some.into_iter().map(|p| lang::procedure_on(&on, &in_force(show, p, &asked.names))).collect(),
    });
    let pair = rows.first().and_then(|r| Some((r.before?, r.version)));
    let shell = Shell::of(&look.state, look.now, &asked);
    html(status, &Versions { shell, rows, on, found, pair })
}

/// What changed between two versions.
#[derive(Template)]
#[template(path = "procedure/compare.html")]
struct Compare {
    shell: Shell,
    versions: Vec<u32>,
    a: u32,
    b: u32,
    tables: Vec<Table>,
}

/// A section in which something changed.
pub(super) struct Table {
    pub(super) title: String,
    pub(super) rows: Vec<Changed>,
}

/// An answer that changed.
pub(super) struct Changed {
    pub(super) group: String,
    pub(super) ask: String,
    pub(super) how: &'static str,
    pub(super) was: Vec<String>,
    pub(super) is: Vec<String>,
}

/// Differences as a page shows them.
pub(super) fn tables(differences: Vec<Difference>) -> Vec<Table> {
    let table = |d: Difference| {
        let rows = d.changes.into_iter().map(|c| Changed {
            group: c.group,
            ask: c.ask,
            how: how(c.how),
            was: c.was,
            is: c.is,
        });
        Table { title: d.title, rows: rows.collect() }
    };
    differences.into_iter().map(table).collect()
}

/// Which two.
#[derive(Deserialize)]
pub struct Two {
    a: Option<String>,
    b: Option<String>,
}

/// The page.
pub async fn compare(Visitor(reads): Visitor, uri: Uri, Query(q): Query<Two>) -> Response {
    let (path, site) = (uri.path(), reads.site.as_str());
    let (look, shelf) = match shop(&reads).await {
        Ok(found) => found,
        Err(fault) => return problem::answer(path, site, &fault),
    };
    let versions: Vec<u32> = shelf.versions.iter().map(|v| v.version).collect();
    let of = |text: &Option<String>, left_out: u32| match text.as_deref().map(str::trim) {
        None | Some("") => Ok(left_out),
        Some(text) => text.parse().ok().filter(|n| versions.contains(n)).ok_or_else(|| text.to_owned()),
    };
    let last = versions.len();
    let (first, second) = (last.checked_sub(2).or(last.checked_sub(1)), last.checked_sub(1));
    let (Some(first), Some(second)) = (first, second) else { return none(&reads, &look, path).await };
    let (a, b) = match (of(&q.a, versions[first]), of(&q.b, versions[second])) {
        (Ok(a), Ok(b)) => (a, b),
        (Err(text), _) | (_, Err(text)) => return unknown(path, site, &text),
    };
    let (was, is) = match (reads.version(a).await, reads.version(b).await) {
        (Ok(was), Ok(is)) => (was, is),
        (Err(fault), _) | (_, Err(fault)) => return problem::answer(path, site, &fault),
    };
    let (root, key) = (root_of(path), new_key());
    let asked = asked(&reads, &root, &key, None).await;
    let names: &Names = &asked.names;
    let tables = tables(between(&was, &is, names));
    let shell = Shell::of(&look.state, look.now, &asked);
    html(StatusCode::OK, &Compare { shell, versions, a, b, tables })
}

/// There is nothing to compare yet.
async fn none(reads: &Reads, look: &Look, path: &str) -> Response {
    let (root, key) = (root_of(path), new_key());
    let notice = Some(Notice { text: lang::procedure_none().to_owned(), ..Notice::default() });
    let asked = asked(reads, &root, &key, notice).await;
    let shell = Shell::of(&look.state, look.now, &asked);
    html(StatusCode::OK, &Versions { shell, rows: Vec::new(), on: String::new(), found: None, pair: None })
}
