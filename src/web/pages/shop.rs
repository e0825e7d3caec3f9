//! What the shop is set up with: its name, rules, places and products, to read; and for a manager to add to and change.

use super::acting::write;
use super::forms::{self, Fields};
use super::handlers::{asked, html, new_key, refused};
use super::item::{RuleView, rule_view};
use super::visitor::{Keeper, Scribe, Visitor};
use super::{Asked, Notice, Shell, problem, root_of, set_up, words};
use crate::board::due::{LEAD_MOST, LEADS_MOST};
use crate::clock::{Instant, MINUTE_MS};
use crate::lang;
use crate::ledger::refusal::{BAD_MEMBER, UNKNOWN_KIND};
use crate::ledger::{self, Id, Product, Refusal, State, Unit};
use crate::rules::book;
use crate::rules::regions::counts_all;
use crate::web::auth::Reads;
use crate::web::manages::Manages;
use crate::web::service::{Fault, Look};
use crate::web::show::Show;
use askama::Template;
use axum::extract::{Form, Path, Query};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// The page.
#[derive(Template)]
#[template(path = "shop.html")]
pub struct Shop {
    shell: Shell,
    name: String,
    zone: String,
    fahrenheit: bool,
    in_use: Vec<(Id, RuleView)>,
    others: Vec<(Id, RuleView)>,
    places: Vec<(Id, String, String)>,
    products: Vec<Row>,
    kinds: Vec<(&'static str, &'static str)>,
    new: Row,
    /// Minutes before a limit at which the shop is told, as the form has them.
    leads: Vec<String>,
    f: Fields,
}

/// A product, or the one that is being typed.
struct Row {
    id: String,
    name: String,
    /// The rules there are to choose, and which are chosen.
    rules: Vec<(Id, String, bool)>,
    /// What of it counts beside the rules, in words.
    more: Vec<String>,
    /// Whole minutes, as the form has them.
    chill: String,
    soft: String,
    firm: String,
    reason: String,
    evidence: String,
}

/// Which form.
#[derive(Deserialize)]
pub struct What {
    what: String,
}

/// What the address says just happened.
#[derive(Deserialize)]
pub struct Said {
    said: Option<String>,
}

/// Minutes, rounded up: a chill-down time never gets shorter by being shown.
fn minutes(ms: Option<i64>) -> String {
    ms.filter(|ms| *ms > 0).map_or_else(String::new, |ms| (-(-ms).div_euclid(MINUTE_MS)).to_string())
}

fn row(p: &Product, rules: &[(Id, String)]) -> Row {
    let (chill, soft, firm) = (minutes(p.chill_ms), minutes(p.soft_ms), minutes(p.firm_ms));
    let said = |text: &str, words: fn(&str) -> String| (!text.is_empty()).then(|| words(text));
    let exempt = p.exempt.as_ref().map(|e| lang::product_exempt(&e.evidence, &e.reason));
    let more =
        [said(&chill, lang::product_chill), said(&soft, lang::product_soft), said(&firm, lang::product_firm), exempt];
    Row {
        id: p.product.to_string(),
        name: p.name.to_string(),
        rules: rules.iter().map(|(id, name)| (id.clone(), name.clone(), p.rules.contains(id))).collect(),
        more: more.into_iter().flatten().collect(),
        chill,
        soft,
        firm,
        reason: p.exempt.as_ref().map_or_else(String::new, |e| e.reason.to_string()),
        evidence: p.exempt.as_ref().map_or_else(String::new, |e| e.evidence.to_string()),
    }
}

/// Builds it; `f` is what a refused form had in it.
pub fn build(state: &State, now: Instant, f: &Fields, asked: &Asked) -> Shop {
    let show = Show::of(state, now);
    let known: Vec<(Id, String)> = state.rules.iter().map(|(id, (_, r))| (id.clone(), r.name.to_string())).collect();
    let place = |p: &ledger::Place| {
        (
            p.place.clone(),
            p.name.to_string(),
            lang::place_kind(words::control(p.control), crate::words::place_use(&p.r#use)),
        )
    };
    let text = |name: &str| f.get(name).unwrap_or_default().to_owned();
    let typed = f.get("id").is_none();
    Shop {
        shell: Shell::of(state, now, asked),
        name: state.site.as_ref().map_or_else(String::new, |s| s.name.to_string()),
        zone: show.zone.name().to_owned(),
        fahrenheit: show.units == Unit::F,
        in_use: state.rules.iter().map(|(id, (_, r))| (id.clone(), rule_view(show, r))).collect(),
        others: book::all()
            .iter()
            .filter(|r| !state.rules.contains_key(&r.rule))
            .map(|r| (r.rule.clone(), rule_view(show, r)))
            .collect(),
        places: state.places.values().map(|p| place(p)).collect(),
        products: state.products.values().filter_map(|v| v.last()).map(|(_, p)| row(p, &known)).collect(),
        kinds: set_up::kinds().into(),
        new: Row {
            id: String::new(),
            name: if typed { text("name") } else { String::new() },
            rules: known.into_iter().map(|(id, name)| (id.clone(), name, typed && f.is("rule", id.as_str()))).collect(),
            more: Vec::new(),
            chill: text("chill"),
            soft: text("soft"),
            firm: text("firm"),
            reason: text("reason"),
            evidence: text("evidence"),
        },
        leads: Vec::new(),
        f: f.clone(),
    }
}

/// The page.
pub async fn show(Visitor(reads): Visitor, uri: Uri, Query(said): Query<Said>) -> Response {
    let notice = said.said.map(|_| Notice { text: lang::shop_done().to_owned(), ..Notice::default() });
    match reads.look(&[]).await {
        Ok(look) => page(&reads, &uri, &look, &Fields::default(), (StatusCode::OK, notice)).await,
        Err(fault) => problem::answer(uri.path(), &reads.site, &fault),
    }
}

async fn page(
    reads: &Reads,
    uri: &Uri,
    look: &Look,
    f: &Fields,
    (status, notice): (StatusCode, Option<Notice>),
) -> Response {
    let (root, key) = (root_of(uri.path()), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    let typed: Vec<String> = f.all("minutes").map(str::to_owned).collect();
    let leads = match typed.is_empty() {
        true => reads.service().leads(&reads.site).await.unwrap_or_default().iter().map(i64::to_string).collect(),
        false => typed,
    };
    html(status, &Shop { leads, ..build(&look.state, look.now, f, &asked) })
}

/// Writes what a form means.
pub async fn change(
    Keeper(manages): Keeper,
    Scribe(writes): Scribe,
    Path(at): Path<What>,
    uri: Uri,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let (f, reads) = (Fields(fields), writes.reads());
    let look = match reads.look(&[]).await {
        Ok(look) => look,
        Err(fault) => return problem::answer(uri.path(), &reads.site, &fault),
    };
    if at.what == "leads" {
        return set_leads(&manages, &uri, &look, &f).await;
    }
    let entry = entry(&look.state, &at.what, &f).map(|e| vec![e]).map_err(Fault::Refused);
    match write(&writes, entry, f.key(&format!("shop.{}", at.what))).await {
        Ok(_) => Redirect::to(&format!("{}s/{}/shop?said=done", root_of(uri.path()), reads.site)).into_response(),
        Err(fault) => {
            let (status, notice) = refused(&fault, &look);
            page(reads, &uri, &look, &f, (status, Some(notice))).await
        }
    }
}

/// How long before a limit the shop is told: not an entry, since no verdict hangs on it.
async fn set_leads(manages: &Manages, uri: &Uri, look: &Look, f: &Fields) -> Response {
    let said: Vec<Option<i64>> = f.all("minutes").map(|m| m.parse().ok()).collect();
    let minutes: Option<Vec<i64>> = said.into_iter().collect();
    let fit = |m: &Vec<i64>| (1..=LEADS_MOST).contains(&m.len()) && m.iter().all(|m| (1..=LEAD_MOST).contains(m));
    let done = match minutes.filter(fit) {
        Some(minutes) => manages.set_leads(&minutes).await,
        None => {
            let said = lang::shop_leads_bad(&LEAD_MOST.to_string(), &LEADS_MOST.to_string());
            Err(Fault::Refused(Refusal::form(&BAD_MEMBER, &said)))
        }
    };
    match done {
        Ok(()) => {
            Redirect::to(&format!("{}s/{}/shop?said=done", root_of(uri.path()), manages.reads().site)).into_response()
        }
        Err(fault) => {
            let (status, notice) = refused(&fault, look);
            page(manages.reads(), uri, look, f, (status, Some(notice))).await
        }
    }
}

/// The entry that a form means. An id is made from the name where the thing is new.
fn entry(state: &State, what: &str, f: &Fields) -> Result<Value, Refusal> {
    let name = f.get("name").unwrap_or_default();
    let id = |kind: &str, taken: BTreeSet<String>| match f.get("id") {
        Some(id) => id.to_owned(),
        None => set_up::id_of(name, kind, &mut taken.clone()),
    };
    match what {
        "site" => {
            let zone = state.site.as_ref().map_or("UTC", |s| s.zone.name());
            Ok(json!({"kind": "site", "name": name, "zone": zone, "units": f.get("units").unwrap_or("C")}))
        }
        "rule" => {
            let rule = f.get("rule").and_then(Id::new).and_then(|id| book::built_in(&id));
            let mut text = json!(*rule.ok_or_else(|| Refusal::form(&BAD_MEMBER, lang::shop_no_rule()))?);
            text["kind"] = json!("rule");
            Ok(text)
        }
        "place" => {
            let id = id("place", state.places.keys().map(Id::to_string).collect());
            let known = Id::new(&id).and_then(|id| state.places.get(&id).cloned());
            let mut place = json!({"kind": "place", "place": id, "name": name});
            if let Some(known) = known {
                (place["control"], place["use"]) = (json!(known.control), json!(known.r#use));
            } else {
                let kind = f.get("kind").and_then(|k| k.split_once('.'));
                let (control, used) = kind.ok_or_else(|| Refusal::form(&BAD_MEMBER, lang::shop_no_kind()))?;
                (place["control"], place["use"]) = (json!(control), json!(used));
            }
            Ok(place)
        }
        "product" => {
            let id = id("product", state.products.keys().map(Id::to_string).collect());
            let rules: Vec<&str> = f.all("rule").collect();
            let mut product = json!({"kind": "product", "product": id, "name": name, "rules": rules});
            for (field, member) in [("chill", "chill_ms"), ("soft", "soft_ms"), ("firm", "firm_ms")] {
                let n = forms::number(f.get(field))?;
                if let Some(n) = n.as_i64() {
                    product[member] = json!(n.saturating_mul(MINUTE_MS));
                }
            }
            // A rule that counts one use, or days alone, would leave the bench uncounted.
            let known: Option<Vec<_>> = f.all("rule").map(|r| state.rules.get(&Id::new(r)?)).collect();
            if known.is_some_and(|rules| !rules.is_empty() && !rules.iter().any(|(_, r)| counts_all(r))) {
                return Err(Refusal::form(
                    &BAD_MEMBER,
                    &[lang::set_up_no_rule(), lang::set_up_no_rule_next()].join(" "),
                ));
            }
            if let (Some(reason), Some(evidence)) = (f.get("reason"), f.get("evidence")) {
                product["exempt"] = json!({"reason": reason, "evidence": evidence});
            }
            Ok(product)
        }
        _ => Err(Refusal::form(&UNKNOWN_KIND, lang::form_unknown())),
    }
}
