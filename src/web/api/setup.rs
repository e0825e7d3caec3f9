//! `rules`, `places`, `products`: what the shop is set up with.

use crate::rules::{Rule, book};
use crate::web::auth::Reads;
use crate::web::error::Problem;
use axum::Json;
use serde::Serialize;
use serde_json::{Value, json};

/// A rule as the API shows it.
#[derive(Serialize)]
struct Shown<'a> {
    #[serde(flatten)]
    rule: &'a Rule,
    built_in: bool,
    in_use: bool,
}

/// The built-in book and the shop's own rules, with the line that they defer to the local health authority.
pub async fn rules(reads: Reads) -> Result<Json<Value>, Problem> {
    let look = reads.look(&[]).await?;
    let mut shown: Vec<Value> = Vec::new();
    for rule in book::all() {
        let in_use = look.state.rules.contains_key(&rule.rule);
        shown.push(json!(Shown { rule, built_in: true, in_use }));
    }
    for (_, (_, rule)) in look.state.rules.iter().filter(|(id, _)| book::built_in(id).is_none()) {
        shown.push(json!(Shown { rule, built_in: false, in_use: true }));
    }
    Ok(Json(json!({ "note": book::DEFERS, "rules": shown })))
}

/// The places food can be, each with whether it is in a lapse now.
pub async fn places(reads: Reads) -> Result<Json<Value>, Problem> {
    let look = reads.look(&[]).await?;
    let place = |p: &crate::ledger::Place| json!({"place": p.place, "name": p.name, "control": p.control, "use": p.r#use, "in_lapse_since": p.open_lapse()});
    let places: Vec<Value> = look.state.places.values().map(|p| place(p)).collect();
    Ok(Json(json!({ "places": places })))
}

/// What the shop makes, as it counts for items begun now.
pub async fn products(reads: Reads) -> Result<Json<Value>, Problem> {
    let look = reads.look(&[]).await?;
    let products: Vec<Value> = look
        .state
        .products
        .values()
        .filter_map(|versions| versions.last())
        .map(|(_, p)| {
            json!({"product": p.product, "name": p.name, "rules": p.rules, "chill_ms": p.chill_ms.unwrap_or(0),
                "soft_ms": p.soft_ms, "firm_ms": p.firm_ms, "exempt": p.exempt})
        })
        .collect();
    Ok(Json(json!({ "products": products })))
}
