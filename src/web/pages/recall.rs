//! A recall: everything that was made from an item or a lot, to any depth, with how it stands, how it ended and who has it;
//! as a page and as CSV.

use super::handlers::{asked, html, new_key};
use super::visitor::Visitor;
use super::{Shell, name_of, place_name, problem, root_of, task, tile, words};
use crate::board::others::handed_over;
use crate::exposure::Fold;
use crate::lang;
use crate::ledger::{Body, Id, Item, State};
use crate::record::{csv, recall};
use crate::rules::{Phase, standing};
use crate::web::auth::Reads;
use crate::web::error::Problem;
use crate::web::records::{Asks, Opened, SLICE};
use crate::web::service::Fault;
use crate::web::show::Show;
use askama::Template;
use axum::extract::Query;
use axum::http::{StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};
use std::collections::BTreeSet;

/// Items on the page at most; the file has all of them.
const ROWS: usize = 500;
/// Characters of a lot's name at most, as entries take them.
const LOT: usize = 200;

/// The page.
#[derive(Template)]
#[template(path = "recall.html")]
struct Page {
    shell: Shell,
    item: String,
    lot: String,
    /// What of them is asked for, as an address has it.
    query: String,
    title: Option<String>,
    rows: Vec<Row>,
    more: usize,
}

/// One item.
struct Row {
    id: Id,
    name: String,
    lot: String,
    from: String,
    stands: String,
    open: bool,
    verdict: Option<&'static str>,
    ended: String,
    receiver: String,
}

/// What is asked for.
struct Wanted {
    item: Option<Id>,
    lot: String,
}

fn wanted(sent: &[(String, String)]) -> Result<Wanted, Problem> {
    let find = |name: &str| sent.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v.trim());
    let (item, lot) = (find("item"), find("lot"));
    let bad = || Problem::of("bad-query", &lang::record_bad_id("item"));
    let item = if item.is_empty() { None } else { Some(Id::new(item).ok_or_else(bad)?) };
    if lot.chars().count() > LOT {
        return Err(Problem::of("bad-query", &lang::bad_text(&LOT.to_string())));
    }
    Ok(Wanted { item, lot: lot.to_owned() })
}

/// The record of everything that is meant; `None` where nothing was asked for.
async fn open(reads: &Reads, w: &Wanted) -> Result<Option<Opened>, Problem> {
    if let Some(item) = &w.item {
        let asks = Asks { made_from: Some(item.to_string()), from: Asks::of_all().from, ..Asks::default() };
        return Ok(Some(reads.record(&asks).await?));
    }
    if w.lot.is_empty() {
        return Ok(None);
    }
    let of: BTreeSet<Id> = reads.of_lot(&w.lot).await?;
    let mut opened = reads.record(&Asks::of_all()).await?;
    opened.keep(|id| of.contains(id));
    Ok(Some(opened))
}

fn ended(show: Show, item: &Item) -> String {
    let said = item.truth.iter().filter_map(|e| match &e.body {
        Body::Close { r#as, count, .. } => {
            let words = words::closed(*r#as);
            let words = count.map_or_else(|| words.to_owned(), |n| lang::name_count(&n.to_string(), words));
            Some(lang::recall_ended(&words, &show.clock(e.at)))
        }
        _ => None,
    });
    said.collect::<Vec<_>>().join("; ")
}

/// To whom it was handed over, as was written then; of one that has ended, the last time.
fn receiver(state: &State, item: &Item) -> String {
    let noted = |e: &crate::ledger::Entry| e.note.as_ref().map(|n| n.to_string());
    let open = handed_over(state, item).and_then(|e| noted(e));
    let away = |e: &&std::sync::Arc<crate::ledger::Entry>| {
        let place = e.goes_to().and_then(|p| state.places.get(p));
        place.is_some_and(|p| p.r#use == crate::rules::Use::Away)
    };
    open.or_else(|| item.truth.iter().rev().filter(away).find_map(|e| noted(e))).unwrap_or_default()
}

fn row<'s>(fold: &Fold<'s>, show: Show, id: &'s Id, item: &Item) -> Option<Row> {
    let (state, s) = (fold.state(), standing(fold, id)?);
    let (_, begin) = item.begin()?;
    let parents: BTreeSet<&Id> = item.truth.iter().flat_map(|e| e.parents()).collect();
    let open = s.state != Phase::Closed;
    Some(Row {
        id: id.clone(),
        name: begin.name.to_string(),
        lot: begin.lot.as_deref().unwrap_or_default().to_owned(),
        from: parents.into_iter().map(|p| name_of(state, p)).collect::<Vec<_>>().join(", "),
        stands: match open {
            true => format!("{} · {}", place_name(state, &s.place), task::figures(&s, show)),
            false => lang::total_out(&Show::used(s.total_out_ms)),
        },
        open,
        verdict: tile::verdict_word(s.verdict),
        ended: ended(show, item),
        receiver: receiver(state, item),
    })
}

/// Each of them, some at a time.
async fn each<T: Send>(
    opened: &Opened,
    mut one: impl FnMut(&Fold, Show, &Id, &Item) -> Option<T> + Send,
    most: usize,
) -> Result<Vec<T>, Fault> {
    let show = Show { zone: opened.zone, units: opened.units(), now: opened.now };
    let mut all = Vec::new();
    for some in opened.slices(SLICE) {
        if all.len() >= most {
            break;
        }
        let slice = opened.slice(some).await?;
        let fold = Fold::new(&slice.state, opened.now, opened.zone);
        for c in some {
            let Some((id, item)) = slice.state.items.get_key_value(&c.item) else { continue };
            all.extend(one(&fold, show, id, item));
        }
    }
    all.truncate(most);
    Ok(all)
}

async fn build(reads: &Reads, sent: &[(String, String)], path: &str) -> Result<Page, Problem> {
    let w = wanted(sent)?;
    let opened = open(reads, &w).await?;
    let look = reads.look(&[]).await?;
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, None).await;
    let mut rows = Vec::new();
    let mut all = 0;
    if let Some(opened) = &opened {
        all = opened.chosen.len();
        rows = each(
            opened,
            |fold, show, id, item| {
                let (id, _) = fold.state().items.get_key_value(id)?;
                row(fold, show, id, item)
            },
            ROWS,
        )
        .await?;
    }
    // What is still about comes first: it can be stopped.
    rows.sort_by_key(|r| !r.open);
    let query = match &w.item {
        Some(item) => format!("item={item}"),
        None => format!("lot={}", encoded(&w.lot)),
    };
    let open = rows.iter().filter(|r| r.open).count();
    Ok(Page {
        shell: Shell::of(&look.state, look.now, &asked),
        item: w.item.as_ref().map_or_else(String::new, Id::to_string),
        lot: w.lot,
        query,
        title: opened.map(|_| lang::recall_found(&all.to_string(), &open.to_string())),
        more: all - rows.len().min(all),
        rows,
    })
}

/// As an address has it.
fn encoded(text: &str) -> String {
    let plain = |b: u8| b.is_ascii_alphanumeric() || matches!(b, b'.' | b'_' | b'-');
    text.bytes().map(|b| if plain(b) { char::from(b).to_string() } else { format!("%{b:02X}") }).collect()
}

/// Shows it.
pub(super) async fn show(Visitor(reads): Visitor, uri: Uri, Query(sent): Query<Vec<(String, String)>>) -> Response {
    match build(&reads, &sent, uri.path()).await {
        Ok(page) => html(StatusCode::OK, &page),
        Err(p) => problem::page(uri.path(), &p),
    }
}

/// The same as a file.
pub(super) async fn file(Visitor(reads): Visitor, uri: Uri, Query(sent): Query<Vec<(String, String)>>) -> Response {
    match written(&reads, &sent).await {
        Ok(bytes) => {
            let head = [
                (header::CONTENT_TYPE, "text/csv; charset=utf-8"),
                (header::CONTENT_DISPOSITION, "attachment; filename=\"recall.csv\""),
            ];
            (head, bytes).into_response()
        }
        Err(p) => problem::page(uri.path(), &p),
    }
}

async fn written(reads: &Reads, sent: &[(String, String)]) -> Result<Vec<u8>, Problem> {
    let none = || Problem::of("bad-query", lang::recall_what());
    let opened = open(reads, &wanted(sent)?).await?.ok_or_else(none)?;
    let line = |fold: &Fold, _: Show, id: &Id, item: &Item| {
        let (id, _) = fold.state().items.get_key_value(id)?;
        recall::line(fold, id, &receiver(fold.state(), item))
    };
    let mut rows = vec![recall::COLUMNS.map(str::to_owned).to_vec()];
    rows.extend(each(&opened, line, usize::MAX).await?);
    csv::written(rows).map_err(|_| Problem::of("not-recorded", ""))
}
