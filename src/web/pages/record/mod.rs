//! The record's page: the items of some dates with the lines that add up, the cold's table, the days; some at a time. Its
//! links lead to the same as a file.

pub mod paper;

use super::handlers::{asked, html, new_key};
use super::visitor::Visitor;
use super::{Asked, Shell, problem, root_of};
use crate::clock::Zone;
use crate::lang;
use crate::ledger::Id;
use crate::record::account::{Account, Named};
use crate::record::cover::Cover;
use crate::record::told::{self, Struck, Telling, Told};
use crate::store::clock::What;
use crate::store::record::{Dates, Filter};
use crate::web::auth::Reads;
use crate::web::error::Problem;
use crate::web::records::{Asks, Opened};
use crate::web::show::Show;
use crate::web::strip::{Strip, Window};
use askama::Template;
use axum::extract::Query;
use axum::http::{StatusCode, Uri};
use axum::response::Response;

/// Items on one page.
const ITEMS: usize = 25;
/// Lines of the cold's table on one page.
const COLD: usize = 200;
/// Days on one page.
const DAYS: usize = 400;
/// A strip shows this many days at most, the last ones.
const STRIP_DAYS: i64 = 4;

/// The page.
#[derive(Template)]
#[template(path = "record/record.html")]
pub struct Record {
    shell: Shell,
    title: String,
    lines: Vec<String>,
    asks: Form,
    parts: Vec<(&'static str, &'static str, bool)>,
    /// The address's filter, to go on with: `from=…&to=…`.
    query: String,
    body: Part,
    pages: Option<Pages>,
    heads: [&'static str; 7],
    cold_heads: [&'static str; 5],
    unknown: [&'static str; 7],
}

/// What the form has in it.
struct Form {
    from: String,
    to: String,
    item: String,
    made_from: String,
    products: Vec<(Id, String, bool)>,
    places: Vec<(Id, String, bool)>,
}

/// Which part is shown.
enum Part {
    Items(Vec<(Told, String)>),
    Cold(Vec<[String; 5]>),
    Days { days: Vec<(String, String)>, clocks: Vec<(String, String)>, setup: Vec<Struck> },
}

/// Where in a part.
struct Pages {
    said: String,
    before: Option<usize>,
    after: Option<usize>,
}

fn pages(page: usize, most: usize, all: usize) -> (usize, Option<Pages>) {
    let of = all.div_ceil(most).max(1);
    let page = page.clamp(1, of);
    let shown = Pages {
        said: lang::record_page(&page.to_string(), &of.to_string()),
        before: (page > 1).then(|| page - 1),
        after: (page < of).then(|| page + 1),
    };
    (page, (of > 1).then_some(shown))
}

/// How a record is told.
fn telling<'a>(opened: &'a Opened, show: Show, hash: &'a (dyn Fn(u64) -> String + Sync)) -> Telling<'a> {
    Telling { show, names: &opened.names, hash }
}

/// An item's strip: its days within the record's, the last ones where there are many.
fn strip(a: &Account, show: Show, dates: Dates) -> Strip<'_> {
    let last = show.zone.day(a.standing.as_of).min(dates.to);
    let first = show.zone.day(a.begun.at).max(dates.from).max(last - STRIP_DAYS + 1).min(last);
    let window = Window { from: show.zone.day_starts(first), to: show.zone.day_starts(last + 1) };
    Strip { spells: &a.spells, standing: &a.standing, began: a.begun.at, window, show, hours: true }
}

/// What happened to the servers' clocks: when, and what.
fn clocks(opened: &Opened, show: Show) -> Vec<(String, String)> {
    let said = |what: What, ms: i64| match (what, ms) {
        (What::Start, 0) => lang::record_clock_first().to_owned(),
        (What::Start, ms) if ms < 0 => lang::record_clock_start_back(&Show::used(-ms)),
        (What::Start, ms) => lang::record_clock_start(&Show::used(ms)),
        (What::Stop, _) => lang::record_clock_stop().to_owned(),
        (What::Jump, ms) if ms < 0 => lang::record_clock_back(&Show::seconds(-ms / 1000)),
        (What::Jump, ms) => lang::record_clock_on(&Show::seconds(ms / 1000)),
    };
    opened.clocks.iter().map(|(at, what, ms)| (show.stamp(*at), said(*what, *ms))).collect()
}

/// The head of a record.
fn cover(opened: &Opened) -> Cover {
    let name = |what: &str, name: String| lang::record_only_one(&name, what);
    let f = &opened.filter;
    let only = [
        f.product.as_ref().map(|id| name(lang::record_product(), opened.product_name(id))),
        f.place.as_ref().map(|id| name(lang::record_place(), opened.place_name(id))),
        f.item.as_ref().map(|id| name(lang::record_item(), id.to_string())),
        f.made_from.as_ref().map(|id| name(lang::record_all_made_from(), id.to_string())),
    ];
    Cover {
        shop: opened.shop.clone(),
        dates: (Zone::date_text(opened.dates.from), Zone::date_text(opened.dates.to)),
        only: only.into_iter().flatten().collect(),
        items: opened.chosen.len(),
        head: opened.head.clone(),
        made_at: opened.now,
    }
}

fn query(opened: &Opened) -> String {
    let Filter { product, place, item, made_from } = &opened.filter;
    let (from, to) = (Zone::date_text(opened.dates.from), Zone::date_text(opened.dates.to));
    let mut query = format!("from={from}&to={to}");
    for (name, id) in [("product", product), ("place", place), ("item", item), ("made_from", made_from)] {
        if let Some(id) = id {
            query.push_str(&format!("&{name}={id}"));
        }
    }
    query
}

fn form(opened: &Opened) -> Form {
    let text = |id: &Option<Id>| id.as_ref().map_or_else(String::new, Id::to_string);
    let f = &opened.filter;
    let product = |id: &Id| (id.clone(), opened.product_name(id), f.product.as_ref() == Some(id));
    let place = |id: &Id| (id.clone(), opened.place_name(id), f.place.as_ref() == Some(id));
    Form {
        from: Zone::date_text(opened.dates.from),
        to: Zone::date_text(opened.dates.to),
        item: text(&f.item),
        made_from: text(&f.made_from),
        products: opened.base.products.keys().map(product).collect(),
        places: opened.base.places.keys().map(place).collect(),
    }
}

async fn build(opened: &Opened, (part, page): (&str, usize), asked: &Asked<'_>) -> Result<Record, Problem> {
    let show = Show { zone: opened.zone, units: opened.units(), now: opened.now };
    let (body, pages) = match part {
        "cold" => {
            let none = |_| String::new();
            let telling = telling(opened, show, &none);
            let (mut rows, mut walk) = (Vec::new(), opened.cold());
            let (mut n, from) = (0, (page.max(1) - 1) * COLD);
            while let Some((some, _)) = walk.next().await? {
                for row in some {
                    if (from..from + COLD).contains(&n) {
                        rows.push(telling.cold(&row));
                    }
                    n += 1;
                }
            }
            (Part::Cold(rows), pages(page, COLD, n).1)
        }
        "days" => {
            let none = |_| String::new();
            let telling = telling(opened, show, &none);
            let all = opened.days();
            let (page, pages) = pages(page, DAYS, all.len());
            let days = all.iter().skip((page - 1) * DAYS).take(DAYS).map(|d| telling.day(d)).collect();
            let setup = opened.setup_corrected().iter().map(|c| telling.struck(c)).collect();
            (Part::Days { days, clocks: clocks(opened, show), setup }, pages)
        }
        _ => {
            let (page, pages) = pages(page, ITEMS, opened.chosen.len());
            let some: Vec<_> = opened.chosen.iter().skip((page - 1) * ITEMS).take(ITEMS).cloned().collect();
            let slice = opened.slice(&some).await?;
            let hash = |seq| slice.hash(seq);
            let telling = telling(opened, show, &hash);
            let one = |a: &Account| {
                (telling.told(a), strip(a, show, opened.dates).svg(|id| Named::item(&slice.state, id).name))
            };
            (Part::Items(opened.accounts(&slice, &some).iter().map(one).collect()), pages)
        }
    };
    let cover = cover(opened);
    let parts =
        [("items", lang::record_part_items()), ("cold", lang::record_part_cold()), ("days", lang::record_part_days())];
    let now = match &body {
        Part::Items(_) => "items",
        Part::Cold(_) => "cold",
        Part::Days { .. } => "days",
    };
    Ok(Record {
        shell: Shell::of(&opened.base, opened.now, asked),
        title: cover.title(),
        lines: cover.lines(show),
        asks: form(opened),
        parts: parts.map(|(code, words)| (code, words, code == now)).into(),
        query: query(opened),
        body,
        pages,
        heads: told::heads(),
        cold_heads: told::cold_heads(),
        unknown: told::unknown(),
    })
}

/// An address's parameters by name; the first of each.
pub(super) fn asks(sent: &[(String, String)]) -> (Asks, String, usize) {
    let find = |name: &str| sent.iter().find(|(n, _)| n == name).map(|(_, v)| v.clone());
    let asks = Asks {
        from: find("from"),
        to: find("to"),
        product: find("product"),
        place: find("place"),
        item: find("item"),
        made_from: find("made_from"),
    };
    (asks, find("part").unwrap_or_default(), find("page").and_then(|n| n.parse().ok()).unwrap_or(1))
}

async fn made(reads: &Reads, sent: &[(String, String)], path: &str) -> Result<Record, Problem> {
    let (asks, part, page) = asks(sent);
    let opened = reads.record(&asks).await?;
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, None).await;
    build(&opened, (&part, page), &asked).await
}

/// The same as a PDF; where there is none, a page that says why.
pub(super) async fn pdf(Visitor(reads): Visitor, uri: Uri, Query(sent): Query<Vec<(String, String)>>) -> Response {
    let size = sent.iter().find(|(n, _)| n == "size").map(|(_, v)| v.as_str());
    match paper::pdf(&reads, &asks(&sent).0, size).await {
        Ok(answer) => answer,
        Err(p) => problem::page(uri.path(), &p),
    }
}

/// The page.
pub(super) async fn show(Visitor(reads): Visitor, uri: Uri, Query(sent): Query<Vec<(String, String)>>) -> Response {
    match made(&reads, &sent, uri.path()).await {
        Ok(page) => html(StatusCode::OK, &page),
        Err(p) => problem::page(uri.path(), &p),
    }
}
