//! A day at a glance: every item's strip over one axis of time, to be looked at or printed.

use super::handlers::{asked, html, new_key};
use super::visitor::Visitor;
use super::{Asked, Shell, name_of, place_name, problem, root_of};
use crate::clock::{Instant, Zone};
use crate::exposure::Fold;
use crate::lang;
use crate::ledger::{Id, State};
use crate::rules::{self, Phase};
use crate::web::error::Problem;
use crate::web::service::Fault;
use crate::web::show::Show;
use crate::web::strip::{Strip, Window};
use askama::Template;
use axum::extract::Query;
use axum::http::{StatusCode, Uri};
use axum::response::Response;
use serde::Deserialize;

/// Items a day shows at most.
pub const MOST: usize = 1_000;

/// The page.
#[derive(Template)]
#[template(path = "day.html")]
pub struct Day {
    shell: Shell,
    date: String,
    on: String,
    before: String,
    after: Option<String>,
    axis: String,
    rows: Vec<Row>,
    /// Said where not all of them are shown.
    cut: Option<String>,
}

struct Row {
    id: Id,
    name: String,
    /// Where it was at the end of the day, and how that stood.
    place: String,
    strip: String,
    told: String,
}

/// Builds it from the items of a date: as it stood at its end, or stands now.
pub fn build(state: &State, now: Instant, (day, all): (i64, usize), items: &[Id], asked: &Asked) -> Day {
    let show = Show::of(state, now);
    let (from, to) = (show.zone.day_starts(day), show.zone.day_starts(day + 1));
    // A millisecond before the next day: that one's entries are not this one's.
    let at = now.min(to.plus(-1));
    let there = Show { now: at, ..show };
    let fold = Fold::new(state, at, show.zone);
    let window = Window { from, to };
    let row = |id: &Id| {
        let (id, item) = state.items.get_key_value(id)?;
        let began = item.begin().filter(|(e, _)| e.at <= at)?.0.at;
        let standing = rules::standing(&fold, id)?;
        let spells = fold.spells(id);
        let strip = Strip { spells: &spells, standing: &standing, began, window, show: there, hours: false };
        let place = match standing.state {
            Phase::Closed => lang::day_closed(&there.clock(standing.as_of)),
            _ => place_name(state, &standing.place),
        };
        let (svg, told) = (strip.svg(|id| name_of(state, id)), strip.text(|id| name_of(state, id)));
        Some((began, Row { id: id.clone(), name: name_of(state, id), place, strip: svg, told }))
    };
    let mut rows: Vec<(Instant, Row)> = items.iter().filter_map(row).collect();
    rows.sort_by(|a, b| (a.0, &a.1.id).cmp(&(b.0, &b.1.id)));
    Day {
        shell: Shell::of(state, now, asked),
        date: show.date(from),
        on: Zone::date_text(day),
        before: Zone::date_text(day - 1),
        after: (to <= now).then(|| Zone::date_text(day + 1)),
        axis: window.axis(show),
        cut: (all > rows.len().max(MOST)).then(|| lang::day_cut(&MOST.to_string())),
        rows: rows.into_iter().map(|(_, r)| r).collect(),
    }
}

/// Which day.
#[derive(Deserialize)]
pub(super) struct On {
    on: Option<String>,
}

/// The page; today's where none is named.
pub(super) async fn show(Visitor(reads): Visitor, uri: Uri, Query(on): Query<On>) -> Response {
    let path = uri.path();
    let found = async {
        let look = reads.look(&[]).await?;
        let zone = look.state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
        let today = zone.day(look.now);
        let day = match on.on.as_deref() {
            None | Some("") => Some(today),
            Some(text) => Zone::parse_date(text).filter(|d| *d <= today),
        };
        let Some(day) = day else { return Ok(None) };
        let mut conn = reads.service().db().reader().await?;
        let (from, to) = (zone.day_starts(day), zone.day_starts(day + 1));
        let found = crate::store::ledger::alive(&mut conn, &reads.site, from, to).await?;
        drop(conn);
        let items: Vec<Id> = found.iter().take(MOST).filter_map(|id| Id::new(id)).collect();
        let mut look = reads.look(&items).await?;
        reads.service().air_since(&reads.site, &mut look, from).await?;
        Ok::<_, Fault>(Some((look, day, found.len(), items)))
    };
    match found.await {
        Ok(Some((look, day, all, items))) => {
            let (root, key) = (root_of(path), new_key());
            let asked = asked(&reads, &root, &key, None).await;
            html(StatusCode::OK, &build(&look.state, look.now, (day, all), &items, &asked))
        }
        Ok(None) => problem::page(path, &Problem::of("bad-query", lang::day_none())),
        Err(fault) => problem::answer(path, &reads.site, &fault),
    }
}
