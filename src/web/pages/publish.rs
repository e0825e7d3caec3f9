//! A rule or a product of one shop, put into others of the same manager's: by an entry in each one's own ledger.

use super::forms::Fields;
use super::handlers::{asked, html, new_key};
use super::visitor::Keeper;
use super::{Notice, Shell, problem, root_of};
use crate::lang;
use crate::ledger::{From, Id, Product, State, parse};
use crate::rules::Rule;
use crate::web::manages::Manages;
use crate::web::service::{Fault, Look};
use askama::Template;
use axum::extract::{Form, Query};
use axum::http::{StatusCode, Uri};
use axum::response::Response;
use serde_json::{Value, json};

/// The page.
#[derive(Template)]
#[template(path = "publish.html")]
struct Page {
    shell: Shell,
    name: String,
    /// What it is, as forms send it: its kind and its id.
    kind: &'static str,
    id: Id,
    shops: Vec<Row>,
}

struct Row {
    site: String,
    name: String,
    said: &'static str,
    may: bool,
}

/// What is to be put there.
enum Thing<'s> {
    Rule(&'s Rule),
    Product(&'s Product),
}

/// How another shop stands to it.
enum There {
    /// It has the same already.
    Same,
    /// It has another thing of that id, which never changes its meaning.
    Other,
    /// These entries are missing, in order.
    Lacks(Vec<Value>),
}

fn thing<'s>(state: &'s State, f: &Fields) -> Option<(Thing<'s>, &'static str, Id)> {
    if let Some(id) = f.get("rule").and_then(Id::new) {
        return state.rules.get(&id).map(|(_, rule)| (Thing::Rule(rule), "rule", id));
    }
    let id = f.get("product").and_then(Id::new)?;
    let (_, product) = state.products.get(&id)?.last()?;
    Some((Thing::Product(product), "product", id))
}

fn rule_entry(rule: &Rule) -> Value {
    let mut text = json!(rule);
    text["kind"] = json!("rule");
    text
}

fn product_entry(p: &Product) -> Value {
    let mut text = json!({"kind": "product", "product": p.product, "name": p.name, "rules": p.rules});
    for (member, ms) in [("chill_ms", p.chill_ms), ("soft_ms", p.soft_ms), ("firm_ms", p.firm_ms)] {
        if let Some(ms) = ms {
            text[member] = json!(ms);
        }
    }
    if let Some(e) = &p.exempt {
        text["exempt"] = json!({"reason": e.reason, "evidence": e.evidence});
    }
    text
}

/// What a shop lacks of it.
fn there(from: &State, to: &State, thing: &Thing) -> There {
    let mut entries = Vec::new();
    let rules: Vec<&Rule> = match thing {
        Thing::Rule(rule) => vec![rule],
        Thing::Product(p) => p.rules.iter().filter_map(|id| from.rules.get(id)).map(|(_, r)| &**r).collect(),
    };
    for rule in rules {
        match to.rules.get(&rule.rule) {
            Some((_, known)) if **known == *rule => {}
            Some(_) => return There::Other,
            None => entries.push(rule_entry(rule)),
        }
    }
    if let Thing::Product(p) = thing {
        let known = to.products.get(&p.product).and_then(|v| v.last());
        if known.is_none_or(|(_, k)| **k != **p) {
            entries.push(product_entry(p));
        }
    }
    if entries.is_empty() { There::Same } else { There::Lacks(entries) }
}

async fn row(manages: &Manages, look: &Look, thing: &Thing<'_>, site: String) -> Result<(Row, There), Fault> {
    let other = manages.reads().service().look(&site, &[]).await?;
    let name = other.state.site.as_ref().map_or_else(|| site.clone(), |s| s.name.to_string());
    let there = there(&look.state, &other.state, thing);
    let (said, may) = match &there {
        There::Same => (lang::publish_same(), false),
        There::Other => (lang::publish_other(), false),
        There::Lacks(_) => (lang::publish_lacks(), true),
    };
    Ok((Row { site, name, said, may }, there))
}

/// Shows which shops have it.
pub(super) async fn show(Keeper(manages): Keeper, uri: Uri, Query(sent): Query<Vec<(String, String)>>) -> Response {
    page(&manages, &uri, &Fields(sent), (StatusCode::OK, None)).await
}

async fn page(manages: &Manages, uri: &Uri, f: &Fields, (status, notice): (StatusCode, Option<Notice>)) -> Response {
    let reads = manages.reads();
    let built = async {
        let look = reads.look(&[]).await?;
        let (thing, kind, id) = thing(&look.state, f).ok_or(Fault::NotFound("rule or product"))?;
        let mut shops = Vec::new();
        for site in manages.others().await? {
            shops.push(row(manages, &look, &thing, site).await?.0);
        }
        let (root, key) = (root_of(uri.path()), new_key());
        let asked = asked(reads, &root, &key, notice).await;
        let name = match thing {
            Thing::Rule(rule) => crate::words::rule_name(rule),
            Thing::Product(p) => p.name.to_string(),
        };
        Ok::<_, Fault>(html(status, &Page { shell: Shell::of(&look.state, look.now, &asked), name, kind, id, shops }))
    };
    built.await.unwrap_or_else(|fault| problem::answer(uri.path(), &reads.site, &fault))
}

/// Puts it into those that were touched; each shop's entries are all written or none.
pub(super) async fn put(Keeper(manages): Keeper, uri: Uri, Form(fields): Form<Vec<(String, String)>>) -> Response {
    let (f, reads) = (Fields(fields), manages.reads());
    let done = async {
        let look = reads.look(&[]).await?;
        let (thing, ..) = thing(&look.state, &f).ok_or(Fault::NotFound("rule or product"))?;
        let (others, mut names) = (manages.others().await?, Vec::new());
        for site in f.all("to") {
            // Somebody else's shop looks like none.
            let site = others.iter().find(|o| *o == site).ok_or(Fault::NotFound("site"))?;
            let (row, there) = row(&manages, &look, &thing, site.clone()).await?;
            let There::Lacks(entries) = there else { continue };
            let parsed = entries.iter().map(|e| parse(&e.to_string(), From::Caller)).collect::<Result<Vec<_>, _>>();
            let key = f.key(&format!("publish.{site}"));
            manages.publish(site, parsed.map_err(Fault::Refused)?, key).await?;
            names.push(row.name);
        }
        Ok::<_, Fault>(names)
    };
    match done.await {
        Ok(names) => {
            let text = match names.is_empty() {
                true => lang::publish_nothing().to_owned(),
                false => lang::publish_done(&names.join(", ")),
            };
            page(&manages, &uri, &f, (StatusCode::OK, Some(Notice { text, ..Notice::default() }))).await
        }
        Err(fault) => problem::answer(uri.path(), &reads.site, &fault),
    }
}
