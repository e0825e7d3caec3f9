//! `record.jsonl` and `record.csv`: a stretch of local dates, both included.

use super::Query;
use crate::clock::Zone;
use crate::ledger::{Body, State};
use crate::record::{self, csv};
use crate::store::load;
use crate::web::auth::Reads;
use crate::web::error::Problem;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use std::collections::HashMap;
use utoipa::IntoParams;

/// Local dates; today where left out.
#[derive(Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Dates {
    /// The first date, in the shop's zone, like `2026-05-02`; today where left out.
    #[param(format = Date)]
    from: Option<String>,
    /// The last date, included; today where left out.
    #[param(format = Date)]
    to: Option<String>,
}

async fn gather(reads: &Reads, q: &Dates) -> Result<(record::Stretch, Zone), Problem> {
    let look = reads.look(&[]).await?;
    let zone = look.state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let today = zone.day(look.now);
    let date = |name: &str, text: &Option<String>| match text {
        None => Ok(today),
        Some(t) => {
            Zone::parse_date(t).ok_or_else(|| Problem::of("bad-query", &format!("`{name}` is a date like 2026-05-02.")))
        }
    };
    let (from, to) = (date("from", &q.from)?, date("to", &q.to)?);
    if from > to {
        return Err(Problem::of("bad-query", "`from` comes after `to`."));
    }
    let mut conn = reads.service().db().reader().await?;
    conn.begin_read().await?;
    let stretch = record::gather(&mut conn, &reads.site, zone, from, to).await?;
    conn.commit().await.map_err(crate::store::StoreError::from)?;
    Ok((stretch, zone))
}

fn file(kind: &'static str, name: &str, body: String) -> Response {
    let disposition = format!("attachment; filename=\"{name}\"");
    ([(header::CONTENT_TYPE, kind.to_owned()), (header::CONTENT_DISPOSITION, disposition)], body).into_response()
}

/// The record as JSON Lines
///
/// Whole ledger entries, one a line: those of the items that were there in the stretch, and all that
/// `counterclock evaluate` needs to work out their standings.
#[utoipa::path(
    get,
    path = "/s/{site}/api/record.jsonl",
    operation_id = "read_record_jsonl",
    tag = "Record",
    params(Dates),
    responses((status = 200, description = "A `LedgerEntry` a line.", body = String,
        content_type = "application/jsonl"))
)]
pub async fn jsonl(reads: Reads, Query(q): Query<Dates>) -> Result<Response, Problem> {
    let (stretch, _) = gather(&reads, &q).await?;
    let mut body = String::new();
    for line in stretch.lines.values() {
        body.push_str(line);
        body.push('\n');
    }
    Ok(file("application/jsonl; charset=utf-8", "record.jsonl", body))
}

/// The record as CSV
///
/// RFC 4180, a line a spell; inherited time on lines of its own that name the parent.
#[utoipa::path(
    get,
    path = "/s/{site}/api/record.csv",
    operation_id = "read_record_csv",
    tag = "Record",
    params(Dates),
    responses((status = 200, description = "A header, then a line a spell.", body = String, content_type = "text/csv"))
)]
pub async fn csv(reads: Reads, Query(q): Query<Dates>) -> Result<Response, Problem> {
    let (stretch, _) = gather(&reads, &q).await?;
    let names = reads.names().await;
    let mut state = State::default();
    load::put(&reads.site, &mut state, &stretch.lines)?;
    let hashes: HashMap<u64, String> = stretch.lines.iter().map(|(seq, line)| (*seq, hash_of(line))).collect();
    let reviews: Vec<csv::Review> = state
        .others
        .values()
        .filter_map(|r| r.effective(u64::MAX).ok().flatten())
        .filter_map(|e| match &e.body {
            Body::Review { from, to } => Some(csv::Review {
                from: from.chars().take(10).collect(),
                to: to.chars().take(10).collect(),
                by: e.meta.by.clone(),
                at: e.at,
            }),
            _ => None,
        })
        .collect();
    let paper = csv::Paper {
        site: &reads.site,
        state: &state,
        now: reads.service().now(),
        hashes: &|seq| hashes.get(&seq).cloned().unwrap_or_default(),
        reviews: &reviews,
        names: &names,
    };
    let mut body = Vec::new();
    csv::write(&paper, &mut stretch.items.iter(), &mut body).map_err(|e| {
        tracing::error!(error = %e, "the record could not be written");
        Problem::of("not-recorded", "The record could not be written.")
    })?;
    Ok(file("text/csv; charset=utf-8", "record.csv", String::from_utf8_lossy(&body).into_owned()))
}

fn hash_of(line: &str) -> String {
    #[derive(Deserialize)]
    struct Hash {
        hash: String,
    }
    serde_json::from_str::<Hash>(line).map(|h| h.hash).unwrap_or_default()
}
