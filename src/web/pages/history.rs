//! History: three charts, each with its table, its range and how many it is of.

use super::handlers::{asked, html, new_key};
use super::visitor::Visitor;
use super::{Shell, problem, root_of};
use crate::clock::Zone;
use crate::lang;
use crate::ledger::Id;
use crate::record::history::{FEW, History, STEP_MS};
use crate::web::auth::Reads;
use crate::web::error::Problem;
use crate::web::records::{Asks, SLICE};
use crate::web::show::Show;
use askama::Template;
use axum::extract::Query;
use axum::http::{StatusCode, Uri};
use axum::response::Response;

/// Days that are shown where none are named, today included.
const DAYS: i64 = 30;
/// Items that are looked at, at most: this project's choice. Of more the page asks for fewer days.
const MOST: usize = 5_000;
/// Single items listed at most.
const LISTED: usize = FEW;

/// The page.
#[derive(Template)]
#[template(path = "history.html")]
struct Page {
    shell: Shell,
    from: String,
    to: String,
    range: String,
    too_many: Option<String>,
    by_place: Vec<Bar>,
    used: Vec<Bar>,
    /// Half and nine in ten of them, where there are enough.
    medians: Option<String>,
    handed: Vec<(Id, String, String)>,
    discards: Vec<Bar>,
    ns: [String; 3],
}

/// A row of a table, with its bar in per cent of the longest.
struct Bar {
    name: String,
    figure: String,
    of: Option<String>,
    per_cent: i64,
}

fn bars(rows: Vec<(String, String, Option<String>, i64)>) -> Vec<Bar> {
    let longest = rows.iter().map(|r| r.3).max().unwrap_or(0).max(1);
    let bar = |(name, figure, of, n): (String, String, Option<String>, i64)| Bar {
        name,
        figure,
        of,
        per_cent: n * 100 / longest,
    };
    rows.into_iter().map(bar).collect()
}

async fn build(reads: &Reads, sent: &[(String, String)], path: &str) -> Result<Page, Problem> {
    let find = |name: &str| sent.iter().find(|(n, v)| n == name && !v.is_empty()).map(|(_, v)| v.clone());
    let look = reads.look(&[]).await?;
    let zone = look.state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let today = zone.day(look.now);
    let to = find("to").unwrap_or_else(|| Zone::date_text(today));
    let last = Zone::parse_date(&to).unwrap_or(today);
    let from = find("from").unwrap_or_else(|| Zone::date_text(last - DAYS + 1));
    let opened = reads.record(&Asks { from: Some(from), to: Some(to), ..Asks::default() }).await?;
    let mut history = History::default();
    let too_many = (opened.chosen.len() > MOST)
        .then(|| lang::history_too_many(&MOST.to_string(), &opened.chosen.len().to_string()));
    if too_many.is_none() {
        for some in opened.slices(SLICE) {
            let slice = opened.slice(some).await?;
            for account in opened.accounts(&slice, some) {
                history.add(&account, opened.dates.begins, opened.dates.ends);
            }
        }
    }
    let show = Show { zone: opened.zone, units: opened.units(), now: opened.now };
    let there = history.by_place().into_iter();
    let there = there.map(|t| (t.place.name, Show::used(t.ms), Some(lang::history_items(t.items as i64)), t.ms));
    let handed = history.handed();
    let span = |ms: i64| lang::history_span(&Show::used(ms), &Show::used(ms + STEP_MS));
    let used = history.bars().into_iter().map(|(ms, n)| (span(ms), n.to_string(), None, n as i64));
    let discards = history.discards().into_iter().map(|(reason, n)| {
        let name = if reason.is_empty() { lang::history_no_reason().to_owned() } else { reason.to_owned() };
        (name, n.to_string(), None, n as i64)
    });
    let discards: Vec<_> = discards.collect();
    let medians = history.at_most(50).zip(history.at_most(90));
    let n = |n: usize| lang::history_n(&n.to_string());
    let ns = [n(history.items), n(handed.len()), n(discards.iter().map(|d| d.3 as usize).sum())];
    let few = handed.len() < FEW;
    let (from, to) = (Zone::date_text(opened.dates.from), Zone::date_text(opened.dates.to));
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, None).await;
    Ok(Page {
        shell: Shell::of(&opened.base, opened.now, &asked),
        range: lang::history_range(&show.date_of(&from), &show.date_of(&to)),
        from,
        to,
        too_many,
        by_place: bars(there.collect()),
        used: if few { Vec::new() } else { bars(used.collect()) },
        medians: medians.map(|(half, nine)| lang::history_medians(&Show::used(half), &Show::used(nine))),
        handed: handed
            .into_iter()
            .filter(|_| few)
            .take(LISTED)
            .map(|h| (h.item.id, h.item.name, lang::history_used(&Show::used(h.used_ms), &show.clock(h.at))))
            .collect(),
        discards: bars(discards),
        ns,
    })
}

/// Shows it.
pub(super) async fn show(Visitor(reads): Visitor, uri: Uri, Query(sent): Query<Vec<(String, String)>>) -> Response {
    match build(&reads, &sent, uri.path()).await {
        Ok(page) => html(StatusCode::OK, &page),
        Err(p) => problem::page(uri.path(), &p),
    }
}
