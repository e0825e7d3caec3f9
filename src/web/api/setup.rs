//! `rules`, `places`, `products`: what the shop is set up with.

use crate::clock::Instant;
use crate::lang::{self, Lang};
use crate::ledger::{self, Control, Exempt, Id};
use crate::rules::{ClauseText, Returns, Rule, Source, Use, book};
use crate::web::auth::Reads;
use crate::web::error::Problem;
use axum::Json;
use serde::Serialize;
use utoipa::ToSchema;

/// The built-in rule book and the shop's own rules.
#[derive(Serialize, ToSchema)]
pub struct Rules {
    /// That all of them defer to the local health authority; to be shown with them.
    note: &'static str,
    /// The rules: the book in its own order, then the shop's own by id.
    rules: Vec<ShownRule>,
}

/// A rule, and whether the shop uses it.
#[derive(Serialize, ToSchema)]
#[schema(as = Rule)]
pub struct ShownRule {
    /// The rule's id, which never changes meaning.
    rule: Id,
    /// The rule's name, for people.
    name: Box<str>,
    /// Whether food may go back into the cold under it.
    returns: Returns,
    /// Its clauses; every one holds by itself.
    clauses: Vec<ClauseText>,
    /// Where the rule comes from.
    source: Source,
    /// Whether it is of the built-in book.
    built_in: bool,
    /// Whether the shop has taken it into use.
    in_use: bool,
}

impl ShownRule {
    fn of(r: &Rule, built_in: bool, in_use: bool) -> ShownRule {
        let clauses = r.clauses.iter().map(|c| (*c.text).clone()).collect();
        let (rule, name, source) = (r.rule.clone(), r.name.clone(), r.source.clone());
        ShownRule { rule, name, returns: r.returns, clauses, source, built_in, in_use }
    }
}

/// The rules
///
/// The built-in book and the shop's own rules, with the line that they defer to the local health authority.
#[utoipa::path(
    get,
    path = "/s/{site}/api/rules",
    operation_id = "list_rules",
    tag = "Set-up",
    responses((status = 200, description = "All rules.", body = Rules))
)]
pub async fn rules(reads: Reads) -> Result<Json<Rules>, Problem> {
    let look = reads.look(&[]).await?;
    let book = book::all().iter().map(|r| ShownRule::of(r, true, look.state.rules.contains_key(&r.rule)));
    let own = look.state.rules.iter().filter(|(id, _)| book::built_in(id).is_none());
    let rules = book.chain(own.map(|(_, (_, r))| ShownRule::of(r, false, true))).collect();
    Ok(Json(Rules { note: lang::within(Lang::En, book::defers), rules }))
}

/// The shop's places.
#[derive(Serialize, ToSchema)]
pub struct Places {
    /// All of them, by id.
    places: Vec<Place>,
}

/// A place food can be.
#[derive(Serialize, ToSchema)]
pub struct Place {
    /// The place's id.
    place: Id,
    /// The place's name, for people.
    name: Box<str>,
    /// Whether the place keeps food cold or frozen; where it does neither, food in it is out.
    control: Control,
    /// What the place is used for.
    r#use: Use,
    /// Since when it has been out of temperature control; `null` if it isn't.
    #[schema(required)]
    in_lapse_since: Option<Instant>,
}

/// The places
///
/// The places food can be, each with whether it is out of temperature control now.
#[utoipa::path(
    get,
    path = "/s/{site}/api/places",
    operation_id = "list_places",
    tag = "Set-up",
    responses((status = 200, description = "All places.", body = Places))
)]
pub async fn places(reads: Reads) -> Result<Json<Places>, Problem> {
    let look = reads.look(&[]).await?;
    let shown = |p: &ledger::Place| Place {
        place: p.place.clone(),
        name: p.name.clone(),
        control: p.control,
        r#use: p.r#use,
        in_lapse_since: p.open_lapse(),
    };
    Ok(Json(Places { places: look.state.places.values().map(|p| shown(p)).collect() }))
}

/// The shop's products.
#[derive(Serialize, ToSchema)]
pub struct Products {
    /// All of them, by id.
    products: Vec<Product>,
}

/// What the shop makes, as it counts for items begun now.
#[derive(Serialize, ToSchema)]
pub struct Product {
    /// The product's id.
    product: Id,
    /// The product's name, for people.
    name: Box<str>,
    /// The rules its items are under; empty only with `exempt`.
    rules: Vec<Id>,
    /// How long its items go on counting as out after coming into the cold, milliseconds.
    chill_ms: i64,
    /// A hint outside every verdict: how long out until too soft to work, milliseconds; `null` if not said.
    #[schema(required)]
    soft_ms: Option<i64>,
    /// A hint outside every verdict: how long cold until firm, milliseconds; `null` if not said.
    #[schema(required)]
    firm_ms: Option<i64>,
    /// Why it needs no time control; `null` if it does.
    #[schema(required)]
    exempt: Option<Exempt>,
}

/// The products
///
/// What the shop makes, as it counts for items begun now.
#[utoipa::path(
    get,
    path = "/s/{site}/api/products",
    operation_id = "list_products",
    tag = "Set-up",
    responses((status = 200, description = "All products.", body = Products))
)]
pub async fn products(reads: Reads) -> Result<Json<Products>, Problem> {
    let look = reads.look(&[]).await?;
    let shown = |p: &ledger::Product| Product {
        product: p.product.clone(),
        name: p.name.clone(),
        rules: p.rules.clone(),
        chill_ms: p.chill_ms.unwrap_or(0),
        soft_ms: p.soft_ms,
        firm_ms: p.firm_ms,
        exempt: p.exempt.clone(),
    };
    let now = look.state.products.values().filter_map(|versions| versions.last());
    Ok(Json(Products { products: now.map(|(_, p)| shown(p)).collect() }))
}
