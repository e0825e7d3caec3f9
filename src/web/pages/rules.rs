//! The rules: the book and the shop's own, with their sources, which product uses which, and who approved what; and a rule of
//! the shop's own, tried on the items of the last month before it is taken into use.

use super::acting::write;
use super::forms::Fields;
use super::handlers::{asked, html, new_key, refused};
use super::item::{RuleView, rule_view};
use super::visitor::{Keeper, Scribe, Visitor};
use super::{Notice, Shell, problem, root_of, set_up, tile};
use crate::clock::Zone;
use crate::lang;
use crate::ledger::refusal::{BAD_MEMBER, UNKNOWN_RULE};
use crate::ledger::{Body, Entry, From, Id, Refusal, State, parse};
use crate::people::Names;
use crate::rules::trial::{Tried, tried};
use crate::rules::{Returns, Rule, Verdict, book};
use crate::web::auth::Reads;
use crate::web::error::Problem;
use crate::web::records::{Asks, SLICE};
use crate::web::service::{Fault, Look};
use crate::web::show::Show;
use askama::Template;
use axum::extract::{Form, Path, Query};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::sync::Arc;

/// Clauses that the form has room for.
const ROWS: usize = 4;
/// Days on whose items a rule is tried.
const DAYS: i64 = 30;
/// Items that a rule is tried on, at most: the last that began.
const TRIED: usize = 2_000;
/// Items of which it is said what it would have changed.
const LISTED: usize = 50;
/// What the form offers to measure, and how its limit is typed: minutes, days or degrees.
const MEASURES: [(&str, Typed); 5] = [
    ("total_out", Typed::Minutes),
    ("since_first_out", Typed::Minutes),
    ("longest_spell", Typed::Minutes),
    ("day", Typed::Days),
    ("food_temperature", Typed::Degrees),
];

#[derive(Clone, Copy, PartialEq)]
enum Typed {
    Minutes,
    Days,
    Degrees,
}

/// The page.
#[derive(Template)]
#[template(path = "rules.html")]
struct Page {
    shell: Shell,
    rules: Vec<Used>,
    others: Vec<RuleView>,
}

/// A rule that is in use.
struct Used {
    id: Id,
    view: RuleView,
    products: Vec<String>,
    approved: Vec<String>,
    waits: bool,
}

/// A rule of the shop's own on its way.
#[derive(Template)]
#[template(path = "own_rule.html")]
struct Own {
    shell: Shell,
    f: Fields,
    rows: Vec<Row>,
    products: Vec<(Id, String, bool)>,
    wrong: Option<String>,
    trial: Option<Trial>,
}

struct Row {
    n: usize,
    measures: Vec<(&'static str, &'static str, bool)>,
    limit: String,
    allowed: bool,
    verdicts: Vec<(&'static str, &'static str, bool)>,
}

/// What it would have said of the last month.
struct Trial {
    view: RuleView,
    /// The rule, to be taken into use as it was tried.
    text: String,
    said: String,
    counts: String,
    lines: Vec<(Id, String, String)>,
    more: usize,
}

fn approvals(approved: &[Arc<Entry>], show: Show, names: &Names, id: &Id) -> Vec<String> {
    let of = approved.iter().filter_map(|e| match &e.body {
        Body::Approve { what, reference } if what == id => {
            let who = names.of(e.meta.by.as_ref()?).to_owned();
            let reference = reference.as_deref().unwrap_or_default();
            Some(lang::rules_approved(&show.date(e.at), reference, &Names::isolated(&who)))
        }
        _ => None,
    });
    of.collect()
}

async fn page(reads: &Reads, uri: &Uri, status: StatusCode, notice: Option<Notice>) -> Result<Response, Fault> {
    let look = reads.look(&[]).await?;
    let approved = reads.procedures().await?.approved;
    let (state, show) = (&look.state, Show::of(&look.state, look.now));
    let (root, key) = (root_of(uri.path()), new_key());
    let asked = asked(reads, &root, &key, notice).await;
    let used = |(id, (_, rule)): (&Id, &(u64, Arc<Rule>))| {
        let products = state.products.values().filter_map(|v| v.last()).filter(|(_, p)| p.rules.contains(id));
        let approved = approvals(&approved, show, &asked.names, id);
        Used {
            id: id.clone(),
            view: rule_view(show, rule),
            products: products.map(|(_, p)| p.name.to_string()).collect(),
            waits: approved.is_empty() && !matches!(&*rule.source.basis, "published"),
            approved,
        }
    };
    let others = book::all().iter().filter(|r| !state.rules.contains_key(&r.rule));
    let page = Page {
        shell: Shell::of(state, look.now, &asked),
        rules: state.rules.iter().map(used).collect(),
        others: others.map(|r| rule_view(show, r)).collect(),
    };
    Ok(html(status, &page))
}

/// Shows them.
pub(super) async fn show(Visitor(reads): Visitor, uri: Uri, Query(sent): Query<Vec<(String, String)>>) -> Response {
    let done = Fields(sent).has("said").then(|| Notice { text: lang::shop_done().to_owned(), ..Notice::default() });
    let page = page(&reads, &uri, StatusCode::OK, done).await;
    page.unwrap_or_else(|fault| problem::answer(uri.path(), &reads.site, &fault))
}

/// Approves a rule, or takes one of the shop's own into use.
pub(super) async fn act(
    Keeper(_): Keeper,
    Scribe(writes): Scribe,
    Path((_, what)): Path<(String, String)>,
    uri: Uri,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let (f, reads) = (Fields(fields), writes.reads());
    let known = match (reads.look(&[]).await, f.get("rule").and_then(Id::new)) {
        (Ok(look), Some(id)) => look.state.rules.contains_key(&id),
        _ => false,
    };
    let entry = match what.as_str() {
        "approve" if !known => Err(Fault::Refused(Refusal::form(&UNKNOWN_RULE, lang::shop_no_rule()))),
        "approve" => Ok(json!({"kind": "approve", "what": f.get("rule"), "reference": f.get("reference")})),
        "take" => serde_json::from_str::<Value>(f.get("text").unwrap_or_default())
            .ok()
            .filter(|v| v["kind"] == "rule")
            .ok_or_else(|| Fault::Refused(Refusal::form(&BAD_MEMBER, lang::rules_bad()))),
        _ => Err(Fault::NotFound("page")),
    };
    let entry = entry.map(|e| vec![super::acts::without_nothings(e)]);
    match write(&writes, entry, f.key(&format!("rules.{what}"))).await {
        Ok(_) => Redirect::to(&format!("{}s/{}/rules?said=done", root_of(uri.path()), reads.site)).into_response(),
        Err(fault) => {
            let look = match reads.look(&[]).await {
                Ok(look) => look,
                Err(fault) => return problem::answer(uri.path(), &reads.site, &fault),
            };
            let (status, notice) = refused(&fault, &look);
            let page = page(reads, &uri, status, Some(notice)).await;
            page.unwrap_or_else(|fault| problem::answer(uri.path(), &reads.site, &fault))
        }
    }
}

/// The limit of a clause as rules have it.
fn limit(typed: Typed, text: &str, show: Show) -> Option<Value> {
    Some(match typed {
        Typed::Minutes => json!(format!("PT{}M", text.parse::<u32>().ok().filter(|m| (1..=600_000).contains(m))?)),
        Typed::Days => json!(text.parse::<u32>().ok()?),
        Typed::Degrees => {
            let text = text.replace(',', ".");
            let value = if text.contains('.') { text } else { format!("{text}.0") };
            json!({"value": value, "unit": show.units})
        }
    })
}

/// The rule that was typed, as an entry; nothing where nothing was.
fn typed(f: &Fields, state: &State, show: Show) -> Option<Result<(Value, Arc<Rule>), String>> {
    let name = f.get("name")?;
    let mut clauses = Vec::new();
    for n in 1..=ROWS {
        let names = ["measure", "limit", "verdict", "allowed"].map(|w| format!("{w}{n}"));
        let Some(text) = f.get(&names[1]) else { continue };
        let measure = MEASURES.iter().find(|(m, _)| f.is(&names[0], m));
        let Some((measure, limit)) = measure.and_then(|(m, t)| Some((m, limit(*t, text, show)?))) else {
            return Some(Err(lang::rules_bad_limit(&n.to_string())));
        };
        let mut clause = json!({"measure": measure, "limit": limit, "verdict": f.get(&names[2])});
        if f.has(&names[3]) {
            clause["at_limit"] = json!("allowed");
        }
        clauses.push(clause);
    }
    let mut taken: BTreeSet<String> =
        state.rules.keys().chain(book::all().iter().map(|r| &r.rule)).map(Id::to_string).collect();
    let text = json!({"kind": "rule", "rule": set_up::id_of(name, "rule", &mut taken), "name": name,
        "returns": f.get("returns"), "clauses": clauses, "source": super::acts::without_nothings(json!({
            "title": f.get("title"), "edition": f.get("edition"), "section": f.get("section"),
            "basis": f.get("basis")}))});
    let text = super::acts::without_nothings(text);
    Some(match parse(&text.to_string(), From::Caller) {
        Ok(parsed) => match parsed.bodies.into_iter().next() {
            Some(Body::Rule(rule)) => Ok((text, Arc::from(rule))),
            _ => Err(lang::rules_bad().to_owned()),
        },
        Err(refusal) => Err(lang::rules_refused(&refusal.detail)),
    })
}

async fn trial(reads: &Reads, f: &Fields, look: &Look, text: Value, rule: &Arc<Rule>) -> Result<Trial, Problem> {
    let show = Show::of(&look.state, look.now);
    let today = show.zone.day(look.now);
    let (from, product) = (Zone::date_text(today - DAYS + 1), f.get("product").map(str::to_owned));
    let mut opened = reads.record(&Asks { from: Some(from), product, ..Asks::default() }).await?;
    let all = opened.chosen.len();
    if all > TRIED {
        let last: BTreeSet<Id> = opened.chosen.iter().rev().take(TRIED).map(|c| c.item.clone()).collect();
        opened.keep(|id| last.contains(id));
    }
    let mut found: Vec<(Tried, String)> = Vec::new();
    for some in opened.slices(SLICE) {
        let slice = opened.slice(some).await?;
        // What needs no time control is under no rule, and comes under none by this.
        let ruled = |id: &&Id| {
            let begin = slice.state.items.get(*id).and_then(|i| i.begin());
            begin.is_some_and(|(e, b)| !slice.state.rules_of(b, e.meta.seq).is_empty())
        };
        let ids: Vec<Id> = some.iter().map(|c| &c.item).filter(ruled).cloned().collect();
        let (state, rule, now) = (slice.state.clone(), rule.clone(), opened.now);
        // Where it keeps nobody else waiting.
        let work = move || tried(&state, &rule, &ids, now);
        let done = tokio::task::spawn_blocking(work).await.map_err(|_| Problem::of("busy", ""))?;
        found.extend(done.into_iter().map(|t| {
            let name = super::name_of(&slice.state, &t.own.item);
            (t, name)
        }));
    }
    let over =
        |pick: &dyn Fn(&Tried) -> Verdict, v: Verdict| found.iter().filter(|(t, _)| pick(t) == v).count().to_string();
    let word = |v: Verdict| tile::verdict_word(v).unwrap_or(lang::affected_within());
    let count = |v: Verdict| lang::rules_count(&over(&|t| t.own.verdict, v), &over(&|t| t.tried.verdict, v), word(v));
    let counts = [Verdict::Discard, Verdict::Use, Verdict::Within].map(count).join(" ");
    let mut differ: Vec<&(Tried, String)> = found.iter().filter(|(t, _)| t.own.verdict != t.tried.verdict).collect();
    differ.sort_by_key(|(t, _)| (std::cmp::Reverse(t.tried.verdict), t.own.item.clone()));
    let line = |(t, name): &&(Tried, String)| {
        let out = Show::used(t.own.total_out_ms);
        (t.own.item.clone(), name.clone(), lang::rules_differs(word(t.own.verdict), &out, word(t.tried.verdict)))
    };
    Ok(Trial {
        view: rule_view(show, rule),
        text: text.to_string(),
        said: lang::rules_tried(&all.to_string(), &found.len().to_string()),
        counts,
        lines: differ.iter().take(LISTED).map(line).collect(),
        more: differ.len().saturating_sub(LISTED),
    })
}

async fn own_page(reads: &Reads, uri: &Uri, f: Fields) -> Result<Own, Problem> {
    let look = reads.look(&[]).await?;
    let (state, show) = (&look.state, Show::of(&look.state, look.now));
    let (mut wrong, mut found) = (None, None);
    match typed(&f, state, show) {
        None => {}
        Some(Err(said)) => wrong = Some(said),
        Some(Ok((text, rule))) => found = Some(trial(reads, &f, &look, text, &rule).await?),
    }
    let words = [
        lang::rules_total_out(),
        lang::rules_since_first_out(),
        lang::rules_longest_spell(),
        lang::rules_day(),
        lang::rules_food_temperature(),
    ];
    let row = |n: usize| {
        let (measure, verdict) = (format!("measure{n}"), format!("verdict{n}"));
        let verdicts =
            [("discard", lang::verdict_discard()), ("use", lang::verdict_use()), ("return", lang::verdict_return())];
        Row {
            n,
            measures: MEASURES.iter().zip(words).map(|((m, _), w)| (*m, w, f.is(&measure, m))).collect(),
            limit: f.raw(&format!("limit{n}")).to_owned(),
            allowed: f.has(&format!("allowed{n}")),
            verdicts: verdicts.map(|(v, w)| (v, w, f.is(&verdict, v))).into(),
        }
    };
    let product = |(id, v): (&Id, &Vec<(u64, Arc<crate::ledger::Product>)>)| {
        Some((id.clone(), v.last()?.1.name.to_string(), f.is("product", id.as_str())))
    };
    let (root, key) = (root_of(uri.path()), new_key());
    let asked = asked(reads, &root, &key, None).await;
    Ok(Own {
        shell: Shell::of(state, look.now, &asked),
        rows: (1..=ROWS).map(row).collect(),
        products: state.products.iter().filter_map(product).collect(),
        wrong,
        trial: found,
        f,
    })
}

/// The page on which one is made and tried.
pub(super) async fn own(Keeper(manages): Keeper, uri: Uri, Query(sent): Query<Vec<(String, String)>>) -> Response {
    match own_page(manages.reads(), &uri, Fields(sent)).await {
        Ok(page) => html(StatusCode::OK, &page),
        Err(p) => problem::page(uri.path(), &p),
    }
}
