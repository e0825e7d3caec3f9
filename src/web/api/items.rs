//! `items`: where everything stands, most urgent first, and one item whole.

use super::{Query, instant, json, limit, schema};
use crate::board::{self, Place, Wanted};
use crate::clock::{Instant, Zone};
use crate::evaluate::{self, Options, Reader};
use crate::exposure::{Fold, Spell};
use crate::ledger::Id;
use crate::rules::{Phase, Standing, standing};
use crate::store::load::Back;
use crate::store::{ledger as sql, load};
use crate::web::auth::Reads;
use crate::web::error::Problem;
use axum::extract::Path;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use utoipa::IntoParams;

/// Which items, and how many.
#[derive(Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct List {
    /// `open` (all that aren't closed), `out`, `cold`, `frozen` or `closed`; `open` where left out.
    #[param(pattern = "^(open|out|cold|frozen|closed)$")]
    state: Option<String>,
    /// At most so many items; 100 where left out.
    #[param(minimum = 1, maximum = 500)]
    limit: Option<usize>,
    /// The `next_cursor` of the page before.
    cursor: Option<String>,
}

/// Most items a page has.
const PAGE: usize = 500;

/// A place in the list, and the instant the list is of.
fn read_cursor(text: &str) -> Option<(Instant, Place)> {
    let parts: Vec<&str> = text.split('~').collect();
    let [at, rank, cold, left, id] = parts[..] else { return None };
    let place = (rank.parse().ok()?, cold == "1", left.parse().ok()?, Id::new(id)?);
    Some((Instant(at.parse().ok()?), place))
}

fn cursor(at: Instant, place: &Place) -> String {
    format!("{}~{}~{}~{}~{}", at.0, place.0, u8::from(place.1), place.2, place.3)
}

/// Items, most urgent first
///
/// Where items stand: worst verdict first, out before cold, least time left, then by id.
#[utoipa::path(
    get,
    path = "/s/{site}/api/items",
    operation_id = "list_items",
    tag = "Items",
    params(List),
    responses((status = 200, description = "A page of standings.", body = schema::Items, links(
        ("item" = (operation_id = "read_item",
            parameters(("site" = "$request.path.site"), ("item" = "$response.body#/items/0/item"))))
    )))
)]
pub async fn list(reads: Reads, Query(q): Query<List>) -> Result<Response, Problem> {
    let limit = limit(q.limit, 100, PAGE)?;
    let wanted = match q.state.as_deref() {
        None | Some("open") => Wanted::Open,
        Some("out") => Wanted::Only(Phase::Out),
        Some("cold") => Wanted::Only(Phase::Cold),
        Some("frozen") => Wanted::Only(Phase::Frozen),
        Some("closed") => Wanted::Only(Phase::Closed),
        Some(_) => return Err(Problem::of("bad-query", "`state` is open, out, cold, frozen or closed.")),
    };
    let at = q.cursor.as_deref().map(|c| read_cursor(c).ok_or_else(|| Problem::of("bad-query", "That is no cursor.")));
    let at = at.transpose()?;
    if wanted == Wanted::Only(Phase::Closed) {
        return closed(&reads, at, limit).await;
    }
    let look = reads.look(&[]).await?;
    let t = at.as_ref().map_or(look.now, |(t, _)| *t);
    let briefs = reads.service().briefs(&reads.site);
    let after = at.as_ref().map(|(_, place)| place);
    let board::List { standings, last, .. } =
        board::page(&briefs, &look.state, |id| look.changed(id), t, wanted, after, limit);
    let items = serde_json::to_string(&standings).unwrap_or_default();
    let next = serde_json::to_string(&last.map(|p| cursor(t, &p))).unwrap_or_default();
    Ok(json(format!("{{\"items\":{items},\"next_cursor\":{next}}}")))
}

async fn closed(reads: &Reads, at: Option<(Instant, Place)>, limit: usize) -> Result<Response, Problem> {
    let now = reads.service().now();
    let (t, after) =
        at.map_or((now, (-1, -1, String::new())), |(t, p)| (t, (i64::from(p.0), p.2, p.3.as_str().to_owned())));
    let mut conn = reads.service().db().reader().await?;
    let after = (after.0, after.1, after.2.as_str());
    let found = sql::closed_page(&mut conn, &reads.site, t, after, limit as u32 + 1).await?;
    let last = (found.len() > limit).then(|| &found[limit - 1]);
    let next = last.and_then(|(rank, left, item, _)| Some(cursor(t, &(*rank as u8, true, *left, Id::new(item)?))));
    let next = serde_json::to_string(&next).unwrap_or_default();
    let items: Vec<&str> = found.iter().take(limit).map(|r| r.3.as_str()).collect();
    Ok(json(format!("{{\"items\":[{}],\"next_cursor\":{next}}}", items.join(","))))
}

/// At which instant, by what was recorded when.
#[derive(Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct When {
    /// How it stood at that instant, by all that is now known: RFC 3339 with an offset; now where left out.
    #[param(format = DateTime)]
    as_of: Option<String>,
    /// By what was recorded up to that instant: RFC 3339 with an offset; all where left out.
    #[param(format = DateTime)]
    known_at: Option<String>,
}

/// One item whole
///
/// Where it stands, its stays out, what it went into, and the entries about it.
#[utoipa::path(
    get,
    path = "/s/{site}/api/items/{item}",
    operation_id = "read_item",
    tag = "Items",
    params(
        ("item" = Id, Path, description = "The item's id."),
        When,
        ("If-None-Match" = Option<String>, Header,
            description = "The `ETag` of an answer had before; heeded where neither `as_of` nor `known_at` is asked for.")
    ),
    responses(
        (status = 200, description = "The item.", body = schema::Whole, headers(
            ("ETag" = String, description = "Changes with everything but what merely runs with the clock.")
        )),
        (status = 304, description = "Nothing changed but what runs with the clock; no instant in `next.at` has passed.")
    )
)]
pub async fn one(
    reads: Reads,
    Path((_, item)): Path<(String, String)>,
    Query(when): Query<When>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    let absent = || Problem::of("not-found", "There is no such item.");
    let id = Id::new(&item).ok_or_else(absent)?;
    let as_of = instant("as_of", when.as_of.as_deref())?;
    let known_at = instant("known_at", when.known_at.as_deref())?;
    let (standing, spells) = if as_of.is_some() || known_at.is_some() {
        // As it stood: read from the ledger anew, by the same code as `evaluate`.
        let mut conn = reads.service().db().reader().await?;
        let mut near = load::with_all(&mut conn, &reads.site, std::slice::from_ref(&id), Instant::FAR).await?;
        load::named(&mut conn, &reads.site, &mut near).await?;
        let as_of = as_of.unwrap_or_else(|| reads.service().now());
        stood(&near, &id, Options { as_of: Some(as_of), known_at, zone: None }).ok_or_else(absent)?
    } else {
        let look = reads.look(std::slice::from_ref(&id)).await?;
        let zone = look.state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
        let (id, item) = look.state.items.get_key_value(&id).ok_or_else(absent)?;
        // A phone's clock may run a little ahead: an item is there from its beginning.
        let now = item.begin().map_or(look.now, |(e, _)| look.now.max(e.at));
        let fold = Fold::new(&look.state, now, zone);
        (standing(&fold, id).ok_or_else(absent)?, fold.spells(id))
    };
    // Only now: whoever held a connection while waiting for a second could wait for ever.
    let mut conn = reads.service().db().reader().await?;
    let back = Back { as_of: as_of.unwrap_or(Instant::FAR), known_at: known_at.unwrap_or(Instant::FAR) };
    let lines = load::item_lines(&mut conn, &reads.site, &id, back).await?;
    let into = load::went_into(&mut conn, &reads.site, &id, back).await?;
    let body = format!(
        "{{\"standing\":{},\"spells\":{},\"went_into\":{},\"entries\":[{}]}}",
        text(&standing),
        text(&spells),
        text(&into),
        lines.values().map(String::as_str).collect::<Vec<_>>().join(",")
    );
    let tag = etag(&standing, &spells, &into, lines.keys().next_back());
    let known = headers.get(header::IF_NONE_MATCH).and_then(|v| v.to_str().ok());
    if as_of.is_none() && known_at.is_none() && known.is_some_and(|k| k.split(',').any(|t| t.trim() == tag)) {
        return Ok((StatusCode::NOT_MODIFIED, [(header::ETAG, tag)]).into_response());
    }
    Ok(([(header::ETAG, tag), (header::CONTENT_TYPE, String::from("application/json"))], body).into_response())
}

/// A tag of everything that doesn't run with the clock. `next.at` is part of it, so it differs once that has passed.
fn etag(s: &Standing, spells: &[Spell], into: &BTreeSet<Id>, last: Option<&u64>) -> String {
    let mut still = s.clone();
    (still.as_of, still.total_out_ms, still.spell_ms, still.left_ms) = (Instant(0), 0, 0, None);
    for reason in &mut still.reasons {
        reason.used_ms = None;
    }
    let text = serde_json::to_string(&(still, spells, into, last)).unwrap_or_default();
    let hash: String = hex::encode(&Sha256::digest(text)[..12]);
    format!("W/\"{hash}\"")
}

fn stood(lines: &load::Lines, id: &Id, options: Options) -> Option<(Standing, Vec<Spell>)> {
    let mut reader = Reader::default();
    for line in lines.values() {
        reader.line(line).ok()?;
    }
    let (state, entries) = reader.finish(options.known_at).ok()?;
    let mut found = None;
    evaluate::standings(&state, &entries, options, |s| {
        if s.item == *id {
            found = Some(s);
        }
    });
    let zone = state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let fold = Fold::new(&state, options.as_of?, zone);
    let (id, _) = state.items.get_key_value(id)?;
    Some((found?, fold.spells(id)))
}

fn text<T: serde::Serialize>(value: &T) -> String {
    serde_json::to_string(value).unwrap_or_default()
}
