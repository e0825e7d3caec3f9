//! `healthz` and `readyz`: whether the process lives, whether it can serve, how far the ledgers are verified.

use crate::store::ledger as sql;
use crate::web::error::Problem;
use crate::web::service::Service;
use axum::Json;
use axum::extract::State;
use serde::Serialize;
use utoipa::ToSchema;

/// That the process lives.
#[derive(Serialize, ToSchema)]
pub struct Up {
    /// `up`.
    status: &'static str,
}

/// That the service can serve, and how far the ledgers are verified.
#[derive(Serialize, ToSchema)]
pub struct Ready {
    /// `ready`.
    status: &'static str,
    /// How many shops' ledgers are being verified, or have been, since the start.
    sites: usize,
    /// How many of their entries have been verified since the start.
    verified: u64,
    /// How many entries they have in all.
    of: u64,
    /// How many ledgers do not verify: nothing is recorded in these.
    broken: usize,
}

/// Whether the process lives
#[utoipa::path(
    get,
    path = "/healthz",
    tag = "Service",
    security(()),
    responses((status = 200, description = "It lives.", body = Up))
)]
pub async fn healthz() -> Json<Up> {
    Json(Up { status: "up" })
}

/// Whether the service can serve
///
/// The database answers; and how many entries have been verified since the start.
#[utoipa::path(
    get,
    path = "/readyz",
    tag = "Service",
    security(()),
    responses(
        (status = 200, description = "It can serve.", body = Ready),
        (status = 503, description = "`not-recorded`: the database doesn't answer.", body = super::schema::Problem,
            content_type = "application/problem+json")
    )
)]
pub async fn readyz(State(service): State<Service>) -> Result<Json<Ready>, Problem> {
    let mut conn = service.db().reader().await?;
    sql::sites(&mut conn).await?;
    let progress = service.verified();
    let (done, of) = progress.values().fold((0, 0), |(d, o), (done, of)| (d + done, o + of));
    Ok(Json(Ready { status: "ready", sites: progress.len(), verified: done, of, broken: service.broken().len() }))
}
