//! `healthz` and `readyz`: whether the process lives, whether it can serve, how far the ledgers are verified.

use crate::store::ledger as sql;
use crate::web::error::Problem;
use crate::web::service::Service;
use axum::Json;
use axum::extract::State;
use serde_json::{Value, json};

/// The process lives.
pub async fn healthz() -> Json<Value> {
    Json(json!({ "status": "up" }))
}

/// The database answers; and how many entries of each ledger have been verified since the start.
pub async fn readyz(State(service): State<Service>) -> Result<Json<Value>, Problem> {
    let mut conn = service.db().reader().await?;
    sql::sites(&mut conn).await?;
    let progress = service.verified();
    let (done, of) = progress.values().fold((0, 0), |(d, o), (done, of)| (d + done, o + of));
    Ok(Json(json!({ "status": "ready", "sites": progress.len(), "verified": done, "of": of })))
}
