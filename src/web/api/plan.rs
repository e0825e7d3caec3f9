//! `plan`: what moves and joins that nobody has made yet would come to. It writes nothing.

use super::{Payload, schema};
use crate::clock::{Instant, Zone};
use crate::exposure::{Fold, Spell};
use crate::ledger::{From, Id, Parsed, Refusal, parse};
use crate::people::Role;
use crate::plan::{self, AHEAD_MS, Asked, Flaw, STEPS_MOST};
use crate::rules::{Standing, Verdict};
use crate::web::auth::Reads;
use crate::web::error::Problem;
use axum::Json;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use utoipa::ToSchema;

/// What is planned.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Sent<'a> {
    item: Option<Id>,
    serve_at: Instant,
    #[serde(borrow, default)]
    steps: Vec<&'a RawValue>,
}

/// What is planned.
#[derive(ToSchema)]
#[schema(as = PlanAsked)]
pub struct AskedSchema {
    /// The item it is about; where left out, the one that a step begins.
    #[schema(required = false, nullable = false)]
    pub item: Option<Id>,
    /// When it is to be served.
    pub serve_at: Instant,
    /// Beginnings, moves and joins as they would be posted, each with its time, in order of these; at most 100, each item of
    /// `items` counted. They may be of other items too, as of the tub that it will be filled from.
    #[schema(required = false)]
    pub steps: Vec<schema::Entry>,
}

/// A change of the verdict.
#[derive(Serialize, ToSchema)]
pub struct Turn {
    /// From this instant on.
    at: Instant,
    /// It is this.
    verdict: Verdict,
}

/// When it may leave the cold for the last time before it is served, the steps after that keeping their distance from it.
#[derive(Serialize, ToSchema)]
pub struct Leaving {
    /// As planned.
    at: Instant,
    /// Not before this instant: it would be at `discard` when served, or the step before isn't done. `null` if it is at
    /// `discard` then, as planned and as late as it can leave.
    #[schema(required)]
    earliest: Option<Instant>,
    /// Not after this one: the steps after it would not be over by then, or it would be at `discard`. `null` with
    /// `earliest`.
    #[schema(required)]
    latest: Option<Instant>,
}

/// What a plan comes to. Nothing of it is written.
#[derive(Serialize, ToSchema)]
pub struct Plan {
    /// How the item would stand when it is served.
    standing: Standing,
    /// The verdict now, or at its beginning, and each change of it up to serving.
    turns: Vec<Turn>,
    /// When it may leave the cold; `null` if no step takes it out of there.
    #[schema(required)]
    leaving: Option<Leaving>,
    /// How much later than planned it might be served, left where it is then; milliseconds. `null` if no limit ever comes
    /// there, as where its clock stands still in the cold.
    #[schema(required)]
    slack_ms: Option<i64>,
    /// Its time out as stays that add up to the standing's `total_out_ms`, by time.
    spells: Vec<Spell>,
}

fn flawed(detail: &str, entry: Option<usize>) -> Problem {
    Problem { entry, ..Problem::of("bad-plan", detail) }
}

impl std::convert::From<Flaw> for Problem {
    fn from(flaw: Flaw) -> Problem {
        match flaw {
            Flaw::Count => {
                flawed(&format!("A plan has an item or a step that begins one, and at most {STEPS_MOST} steps."), None)
            }
            Flaw::Kind(i) => flawed("Only beginnings, moves and joins are planned.", Some(i)),
            Flaw::Time(i) => {
                flawed("A step has a time: not in the past, not before the step before it, not after serving.", Some(i))
            }
            Flaw::Serving => {
                flawed(&format!("Serving lies in the future, at most {} days ahead.", AHEAD_MS / 86_400_000), None)
            }
            Flaw::Item => flawed("The plan's item is neither there nor begun by a step.", None),
            Flaw::Refused(refusal) => refusal.into(),
        }
    }
}

fn read(body: &[u8]) -> Result<Asked, Problem> {
    let text = std::str::from_utf8(body).map_err(|_| flawed("It is not UTF-8 text.", None))?;
    let sent: Sent = serde_json::from_str(text).map_err(|e| flawed(&format!("It cannot be read: {e}."), None))?;
    let step =
        |(i, raw): (usize, &&RawValue)| parse(raw.get(), From::Caller).map_err(|r| Refusal { index: Some(i), ..r });
    let first: Vec<&RawValue> = sent.steps.into_iter().take(STEPS_MOST + 1).collect();
    let steps: Vec<Parsed> = first.iter().enumerate().map(step).collect::<Result<_, _>>()?;
    Ok(Asked { item: sent.item, steps, serve_at: sent.serve_at })
}

/// Every item that a plan names: they are looked up, closed or not.
pub fn named(asked: &Asked) -> Vec<Id> {
    let bodies = asked.steps.iter().flat_map(|p| &p.bodies);
    let of_steps = bodies.flat_map(|b| b.item().into_iter().chain(b.parents()));
    of_steps.chain(&asked.item).cloned().collect()
}

/// Work a plan out
///
/// What moves and joins that are yet to be made would come to: how the item would stand when it is served, when its verdict
/// would change until then, when it may leave the cold, and how much later it might be served. By the rules and the entries
/// there are; nothing is written.
#[utoipa::path(
    post,
    path = "/s/{site}/api/plan",
    operation_id = "work_out_plan",
    tag = "Items",
    request_body(content = AskedSchema, description = "What is planned; at most 1 MiB."),
    responses((status = 200, description = "What it comes to.", body = Plan))
)]
pub async fn post(reads: Reads, Payload(body): Payload) -> Result<Json<Plan>, Problem> {
    if reads.actor.role == Role::Probe {
        return Err(Problem::of("not-allowed", ""));
    }
    let asked = read(&body)?;
    let look = reads.look(&named(&asked)).await?;
    // Where it keeps nobody else waiting.
    let work = move || (plan::plan(&look.state, &asked, look.now), asked);
    let (plan, asked) = tokio::task::spawn_blocking(work).await.map_err(|_| Problem::of("busy", ""))?;
    let plan = plan?;
    let zone = plan.state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let fold = Fold::new(&plan.state, asked.serve_at, zone);
    let spells = plan.state.items.get_key_value(&plan.item).map_or_else(Vec::new, |(id, _)| fold.spells(id));
    let window = plan.leaving.as_ref().and_then(|l| l.window);
    Ok(Json(Plan {
        standing: plan.standing,
        turns: plan.turns.iter().map(|t| Turn { at: t.at, verdict: t.verdict }).collect(),
        leaving: plan.leaving.as_ref().map(|l| Leaving {
            at: l.at,
            earliest: window.map(|w| w.0),
            latest: window.map(|w| w.1),
        }),
        slack_ms: plan.slack_ms,
        spells,
    }))
}
