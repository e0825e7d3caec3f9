//! One place's air: a chart and its table, and how it is watched.

use super::super::forms::Fields;
use super::super::handlers::{asked, html, new_key, refused};
use super::super::live::Live;
use super::super::round::logged;
use super::super::tagging::{Sent, done, or_problem};
use super::super::visitor::{Keeper, Visitor};
use super::super::{Notice, Shell, root_of};
use super::table::{self, Row};
use super::{Said, words};
use crate::board::cold::{Cold, GRACE_MOST, SILENT_LEAST, SILENT_MOST, Watch};
use crate::clock::{HOUR_MS, Instant, MINUTE_MS};
use crate::exposure::{AIR_HOLDS_MS, lapses};
use crate::lang;
use crate::ledger::refusal::{BAD_MEMBER, Refusal};
use crate::ledger::{Body, Id, Place, State, Temperature};
use crate::web::auth::Reads;
use crate::web::chart::{Chart, Stretch};
use crate::web::cold::ColdRoom;
use crate::web::probes::Wrong;
use crate::web::service::Fault;
use crate::web::show::Show;
use askama::Template;
use axum::extract::{Form, Path, Query};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;

/// How far back the two charts look.
const DAY_MS: i64 = 24 * HOUR_MS;
const WEEK_MS: i64 = 7 * DAY_MS;

const NO_PLACE: Fault = Fault::NotFound("place");

/// The page.
#[derive(Template)]
#[template(path = "cold/place.html")]
struct PlacePage {
    shell: Shell,
    live: String,
    id: Id,
    name: String,
    kind: String,
    state: Option<(String, &'static str)>,
    last: String,
    next_ms: Option<i64>,
    holds: String,
    days: bool,
    chart: String,
    rows: Vec<Row>,
    watch: Option<Watched>,
    unit: &'static str,
}

/// How it is watched, in words and as its form has it.
struct Watched {
    words: String,
    limit: String,
    grace: String,
    silent: String,
}

/// Which place.
#[derive(Deserialize)]
pub struct At {
    place: String,
}

/// How far back.
#[derive(Deserialize)]
pub struct Over {
    over: Option<String>,
}

/// The readings of a stretch, and the one before where it holds into it.
fn readings(
    all: impl DoubleEndedIterator<Item = (Instant, Temperature)>,
    from: Instant,
    holds_ms: i64,
) -> Vec<(Instant, Temperature)> {
    let mut found = Vec::new();
    for (at, t) in all.rev().take_while(|(at, _)| at.plus(holds_ms) > from) {
        found.push((at, t));
        if at < from {
            break;
        }
    }
    found.reverse();
    found
}

/// What a place without cold was read at: of those the ledger alone knows.
fn by_ledger<'a>(state: &'a State, place: &'a Place) -> impl DoubleEndedIterator<Item = (Instant, Temperature)> + 'a {
    place.air.keys().filter_map(|(at, seq)| {
        let entry = state.told_of(place, *seq)?.effective(u64::MAX).ok().flatten()?;
        match entry.body {
            Body::AirReading { value, .. } => Some((*at, value)),
            _ => None,
        }
    })
}

fn watched(show: Show, w: &Watch, f: &Fields) -> Watched {
    let typed = |name: &str, known: String| f.get(name).map_or(known, str::to_owned);
    // In the shop's own unit the form has what was set; in another, what can be set without being any warmer.
    let limit = crate::show::decimal(&show.highest(w.limit).value());
    Watched {
        words: lang::watch_words(&words::minutes(w.grace_min), &show.limit(w.limit), &words::minutes(w.silent_min)),
        limit: typed("limit", limit),
        grace: typed("grace", w.grace_min.to_string()),
        silent: typed("silent", w.silent_min.to_string()),
    }
}

fn chart(room: &ColdRoom, place: &Place, cold: Option<&Cold>, days: bool) -> (String, Vec<Row>) {
    let (show, now) = (Show::of(&room.look.state, room.look.now), room.look.now);
    let from = now.plus(if days { -WEEK_MS } else { -DAY_MS });
    let silent_ms = cold.filter(|c| c.probed).map(|c| c.watch.silent_min * MINUTE_MS);
    let holds_ms = silent_ms.unwrap_or(AIR_HOLDS_MS).min(AIR_HOLDS_MS);
    let known = room.air.places.get(&place.place).filter(|_| cold.is_some());
    let readings = match known {
        Some(series) => {
            let until = series.readings.range(..=(now, u64::MAX));
            readings(until.map(|((at, _), t)| (*at, *t)), from, holds_ms)
        }
        None => readings(by_ledger(&room.look.state, place).filter(|(at, _)| *at <= now), from, holds_ms),
    };
    // As of now, what goes on has no end.
    let lapsed = lapses(place, (now, u64::MAX), from, now.plus(1)).into_iter();
    let lapsed: Vec<Stretch> = lapsed.map(|(from, to)| (from, (to <= now).then_some(to))).collect();
    let chart = Chart {
        show,
        from,
        to: now,
        readings: &readings,
        limit: cold.map(|c| c.watch.limit),
        lapses: &lapsed,
        holds_ms,
        days,
    };
    (chart.svg(), table::rows(&chart))
}

async fn page(
    reads: &Reads,
    path: &str,
    at: &At,
    (days, f): (bool, &Fields),
    (status, notice): (StatusCode, Option<Notice>),
) -> Result<Response, Fault> {
    let mut room = reads.cold().await?;
    let id = Id::new(&at.place).filter(|id| room.look.state.places.contains_key(id)).ok_or(NO_PLACE)?;
    let since = room.look.now.plus(-WEEK_MS - AIR_HOLDS_MS);
    reads.service().air_since(&reads.site, &mut room.look, since).await?;
    let (state, show) = (&room.look.state, Show::of(&room.look.state, room.look.now));
    let place = state.places.get(&id).ok_or(NO_PLACE)?;
    let cold = room.places.iter().find(|c| c.place == id);
    let (root, key) = (root_of(path), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    let shell = Shell::of(state, room.look.now, &asked);
    let (chart, rows) = chart(&room, place, cold, days);
    let kind = lang::place_kind(super::super::words::control(place.control), crate::words::place_use(&place.r#use));
    let page = PlacePage {
        live: Live::shop(&shell, state.head).of_places().to_string(),
        name: place.name.to_string(),
        kind,
        state: cold.map(|c| words::state(show, c)),
        last: cold.map_or_else(String::new, |c| words::read(show, c.last)),
        next_ms: cold.and_then(words::next_ms),
        holds: lang::cold_holds(logged(state, &id).len() as i64),
        days,
        chart,
        rows,
        watch: cold.map(|c| watched(show, &c.watch, f)),
        unit: show.unit(),
        id,
        shell,
    };
    Ok(html(status, &page))
}

/// Shows it.
pub async fn show(
    Visitor(reads): Visitor,
    Path(at): Path<At>,
    uri: Uri,
    Query(over): Query<Over>,
    Query(said): Query<Said>,
) -> Response {
    let days = over.over.as_deref() == Some("week");
    let notice = said.said.and_then(|_| done(lang::watch_done().to_owned()));
    let answer = page(&reads, uri.path(), &at, (days, &Fields::default()), (StatusCode::OK, notice)).await;
    or_problem(answer, uri.path(), &reads.site)
}

/// Sets how it is watched: no entry, since no standing hangs on it.
pub async fn set(Keeper(manages): Keeper, Path(at): Path<At>, uri: Uri, Form(fields): Form<Sent>) -> Response {
    let (f, reads, path) = (Fields(fields), manages.reads(), uri.path());
    let answer = async {
        let look = reads.look(&[]).await?;
        let show = Show::of(&look.state, look.now);
        let id = Id::new(&at.place).filter(|id| look.state.places.contains_key(id)).ok_or(NO_PLACE)?;
        let done = match read(&f, show) {
            Some(watch) => manages.set_watch(&id, Some(watch)).await,
            None => Err(Wrong::Figure),
        };
        let to = || Redirect::to(&format!("{}s/{}/places/{id}?said=done", root_of(path), reads.site));
        match done {
            Ok(()) => Ok(to().into_response()),
            Err(wrong) => {
                let fault = fault(wrong);
                let (status, notice) = refused(&fault, &look);
                page(reads, path, &at, (false, &f), (status, Some(notice))).await
            }
        }
    };
    or_problem(answer.await, path, &reads.site)
}

/// What is said of what wasn't set.
fn fault(wrong: Wrong) -> Fault {
    match wrong {
        Wrong::Fault(fault) => fault,
        Wrong::Figure => {
            let (grace, least, most) = (GRACE_MOST.to_string(), SILENT_LEAST.to_string(), SILENT_MOST.to_string());
            Fault::Refused(Refusal::form(&BAD_MEMBER, &lang::watch_bad(&grace, &least, &most)))
        }
        _ => NO_PLACE,
    }
}

/// What the form says.
fn read(f: &Fields, show: Show) -> Option<Watch> {
    let limit = f.get("limit")?.replace(',', ".");
    let limit = Temperature::parse(&limit, show.units).ok()?;
    let minutes = |name: &str| f.get(name)?.parse::<i64>().ok();
    Some(Watch { limit, grace_min: minutes("grace")?, silent_min: minutes("silent")? })
}
