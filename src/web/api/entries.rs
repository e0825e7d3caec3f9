//! `entries`: the one way in, and the ledger's tail.

use super::{Payload, Query, json, limit, schema};
use crate::ledger::{From, Refusal, parse, refusal};
use crate::store::ledger as sql;
use crate::web::auth::{Reads, Writes};
use crate::web::error::Problem;
use crate::web::service::Service;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::value::RawValue;
use sha2::{Digest, Sha256};
use utoipa::IntoParams;

/// Most entries the tail gives at once.
const TAIL: usize = 1_000;

/// Write entries
///
/// Writes one entry or an array of up to 500, all or none. Entries of an array are judged in order; where one of them
/// is a correction, as a whole.
///
/// A reading of a place's air that is there already (the same place, instant, value, unit, probe and note) is not written
/// again: the answer has the entry that is there. So a probe may send what it got no answer to once more.
#[utoipa::path(
    post,
    path = "/s/{site}/api/entries",
    operation_id = "write_entries",
    tag = "Ledger",
    params((
        "Idempotency-Key" = Option<String>, Header, min_length = 1, max_length = 200,
        description = "Makes sending again harmless: 1 to 200 printable ASCII characters, kept 7 days for the shop and \
            the sender. The same key with the same body gets the first answer again."
    )),
    request_body(content = schema::Posted, description = "One entry or an array of entries; at most 1 MiB."),
    responses((status = 201, description = "Written, and on disk.", body = schema::Written, links(
        ("item" = (operation_id = "read_item",
            parameters(("site" = "$request.path.site"), ("item" = "$response.body#/standings/0/item")))),
        ("since" = (operation_id = "read_entries",
            parameters(("site" = "$request.path.site"), ("after" = "$response.body#/entries/0/seq"))))
    )))
)]
pub async fn post(writes: Writes, headers: HeaderMap, Payload(body): Payload) -> Result<Response, Problem> {
    let said = headers.get(header::CONTENT_TYPE).and_then(|v| v.to_str().ok()).unwrap_or("");
    let essence = said.split(';').next().unwrap_or("").trim();
    if !essence.eq_ignore_ascii_case("application/json") {
        return Err(Problem::of("not-json", ""));
    }
    let key = match headers.get("idempotency-key") {
        None => None,
        Some(v) => {
            let text = v.to_str().ok().filter(|t| (1..=200).contains(&t.len()));
            let text =
                text.ok_or_else(|| Problem::of("malformed", "An idempotency key has 1 to 200 plain characters."))?;
            let hash: String = hex::encode(Sha256::digest(&body));
            Some((text.to_owned(), hash))
        }
    };
    let done = writes.write(entries(&body)?, key).await?;
    Ok((StatusCode::CREATED, [(header::CONTENT_TYPE, "application/json")], done.answer).into_response())
}

fn entries(body: &[u8]) -> Result<Vec<crate::ledger::Parsed>, Problem> {
    let text =
        std::str::from_utf8(body).map_err(|_| Refusal::new(&refusal::MALFORMED_JSON, "It is not UTF-8 text."))?;
    let list: Vec<&RawValue> = if text.trim_start().starts_with('[') {
        serde_json::from_str(text).map_err(|e| Refusal::from_json(&e))?
    } else {
        vec![serde_json::from_str(text).map_err(|e| Refusal::from_json(&e))?]
    };
    Service::refuse_many(list.len())?;
    let mut parsed = Vec::with_capacity(list.len());
    for (i, raw) in list.iter().enumerate() {
        parsed.push(parse(raw.get(), From::Caller).map_err(|r| Refusal { index: Some(i), ..r })?);
    }
    Service::refuse_many(parsed.iter().map(|p| p.bodies.len()).sum())?;
    Ok(parsed)
}

/// Where the tail begins and how much of it.
#[derive(Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Tail {
    /// Entries whose `seq` is greater than this; all where left out.
    after: Option<u64>,
    /// At most so many entries; 200 where left out.
    #[param(minimum = 1, maximum = 1000)]
    limit: Option<usize>,
}

/// The ledger's tail
///
/// The ledger's entries after a `seq`, in order.
#[utoipa::path(
    get,
    path = "/s/{site}/api/entries",
    operation_id = "read_entries",
    tag = "Ledger",
    params(Tail),
    responses((status = 200, description = "Entries as the ledger keeps them.", body = schema::Tail))
)]
pub async fn tail(reads: Reads, Query(q): Query<Tail>) -> Result<Response, Problem> {
    let mut conn = reads.service().db().reader().await?;
    let limit = limit(q.limit, 200, TAIL)? as u32;
    let after = q.after.unwrap_or(0);
    if i64::try_from(after).is_err() {
        return Err(Problem::of("bad-query", "`after` is no number that an entry can have."));
    }
    let found = sql::tail(&mut conn, &reads.site, after, limit).await?;
    let head = sql::head(&mut conn, &reads.site).await?.map_or(0, |h| h.0);
    let lines: Vec<String> = found.into_iter().map(|(_, line)| line).collect();
    Ok(json(format!("{{\"entries\":[{}],\"head\":{head}}}", lines.join(","))))
}
