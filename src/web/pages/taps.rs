//! What was tapped on a device while there was no signal: taken when it comes, at the time it was tapped. What the ledger
//! refuses is kept beside it, and both stories are shown.

use super::acting::write;
use super::forms::Fields;
use super::handlers::{asked, html, new_key};
use super::task::Ctx;
use super::visitor::Visitor;
use super::{Asked, Shell, acts, log, name_of, problem, root_of};
use crate::board::untaken::Untaken;
use crate::clock::{Instant, SECOND_MS};
use crate::lang;
use crate::ledger::refusal::{Refusal, UNKNOWN_ITEM};
use crate::ledger::{Entry, From, Id, Meta, State, parse};
use crate::people::Role;
use crate::store::untaken;
use crate::web::auth::Writes;
use crate::web::error::Problem;
use crate::web::service::{Fault, Look, Written};
use crate::web::show::Show;
use askama::Template;
use axum::Json;
use axum::body::Bytes;
use axum::extract::Path;
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::{Value, json};

/// The forms of an item that may be tapped without signal: moves, joins, marks, a temperature, an end, and what was seen.
/// `static/worker.js` names the same.
pub const FORMS: [&str; 7] = ["move", "coat", "scrapings", "mark", "temperature", "end", "seen"];
/// Fields of such a form at most, and bytes of one.
const FIELDS_MOST: usize = 64;
const FIELD_MOST: usize = 2_000;
/// By how much a tap's time may lie ahead of the server's clock and still be meant as now: how well a device measures it.
const AHEAD_MS: i64 = 2 * SECOND_MS;
/// Characters of a note at most.
const NOTE_MOST: usize = 500;
/// Entries of the item that the story shows at most: those around the tap.
const LINES: usize = 8;

/// One tap, as a device sends it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Tap {
    /// Who was signed in.
    person: String,
    item: String,
    form: String,
    /// Just as the form would have sent them.
    fields: Vec<(String, String)>,
    /// When, by the server's clock as the device measured it.
    at: String,
    /// What the device's own clock read.
    device_at: String,
    /// By how much that clock was set forward between the tap and now, where it was; milliseconds.
    #[serde(default)]
    set_ms: Option<i64>,
}

/// The same, looked through.
struct Meant {
    id: Id,
    form: String,
    fields: Fields,
    key: (String, String),
    at: Instant,
    device_at: Instant,
    set_ms: Option<i64>,
}

impl Tap {
    fn meant(self, now: Instant) -> Result<Meant, &'static str> {
        let fits = |(name, value): &(String, String)| name.len() <= FIELD_MOST && value.len() <= FIELD_MOST;
        if self.fields.len() > FIELDS_MOST || !self.fields.iter().all(fits) {
            return Err("The form has more fields than one has, or a longer one.");
        }
        if !FORMS.contains(&self.form.as_str()) {
            return Err("A form of that name is not sent later.");
        }
        let fields = Fields(self.fields);
        let id = Id::new(&self.item).ok_or("`item` is no id.")?;
        let key = fields.key(&format!("{}.{id}", self.form)).ok_or("The form has no key.")?;
        let at = Instant::parse(&self.at).ok_or("`at` is no RFC 3339 time.")?;
        let device_at = Instant::parse(&self.device_at).ok_or("`device_at` is no RFC 3339 time.")?;
        let at = if at.since(now) <= AHEAD_MS { at.min(now) } else { at };
        Ok(Meant { id, form: self.form, fields, key, at, device_at, set_ms: self.set_ms })
    }
}

/// Says what time it is and who is signed in: a device asks before it sends what waits.
pub(super) async fn clock(writes: Writes) -> Result<Response, Problem> {
    may(&writes)?;
    let reads = writes.reads();
    Ok(Json(json!({"now_ms": reads.service().now().0, "person": reads.actor.by})).into_response())
}

fn may(writes: &Writes) -> Result<(), Problem> {
    match writes.reads().actor.role {
        Role::Staff | Role::Manager => Ok(()),
        _ => Err(Problem::of("not-allowed", "")),
    }
}

/// Whether a form came so late that the device has given up waiting for it, and keeps it to send it again with its time.
pub(super) fn given_up(headers: &HeaderMap, now: Instant) -> bool {
    let until = headers.get("not-after-ms").and_then(|v| v.to_str().ok()).and_then(|v| v.parse::<i64>().ok());
    until.is_some_and(|until| now.0 > until)
}

/// The answer to that: nothing is written by it.
pub(super) fn too_late(path: &str) -> Response {
    let root = root_of(path);
    let asked = Asked { root: &root, ..Asked::default() };
    let page = problem::build(&asked, lang::fault_given_up(), lang::fault_given_up_next(), false);
    ([("given-up", "1")], html(StatusCode::CONFLICT, &page)).into_response()
}

/// Takes one, or keeps it beside the ledger. Sent twice it is taken once.
pub(super) async fn take(writes: Writes, body: Bytes) -> Result<Response, Problem> {
    may(&writes)?;
    let reads = writes.reads();
    let tap: Tap = serde_json::from_slice(&body).map_err(|e| Problem::of("malformed", &e.to_string()))?;
    if tap.person != reads.actor.by.as_str() {
        return Err(Problem::of("another-person", ""));
    }
    let meant = tap.meant(reads.service().now()).map_err(|why| Problem::of("malformed", why))?;
    if let Some(was) = untaken::one(&mut reads.service().db().reader().await?, &reads.site, &meant.key.0).await? {
        return Ok(refused(&was));
    }
    let wanted: Vec<Id> = std::iter::once(meant.id.clone()).chain(meant.fields.get("with").and_then(Id::new)).collect();
    let look = reads.look(&wanted).await?;
    let entries = {
        let asked = asked(reads, "", "", None).await;
        entries(&meant, &look, &asked)
    };
    // What came before its answer was lost is taken already, whatever its form would mean by now.
    if entries.is_err()
        && let Some(written) = writes.answered(&look, &meant.key).await
    {
        return Ok(taken(&written));
    }
    let sent = entries.clone().unwrap_or_default();
    match write(&writes, entries.map_err(Fault::Refused), Some(meant.key.clone())).await {
        Ok(written) => Ok(taken(&written)),
        Err(Fault::Refused(r)) => {
            let u = Untaken {
                tap: meant.key.0,
                person: reads.actor.by.clone(),
                device: reads.actor.device.clone(),
                item: meant.id,
                form: meant.form,
                happened_at: meant.at,
                device_at: meant.device_at,
                received_at: reads.service().now(),
                fields: json!(meant.fields.0).to_string(),
                entries: json!(sent).to_string(),
                code: r.code.code.to_owned(),
                detail: problem::refusal(&r, Some((&look.state, Show::of(&look.state, look.now)))).0,
            };
            untaken::add(&mut reads.service().db().writer().await?, &reads.site, &u).await?;
            reads.service().forget_count(&reads.site);
            Ok(refused(&u))
        }
        Err(fault) => Err(fault.into()),
    }
}

fn taken(written: &Written) -> Response {
    let answer: Value = serde_json::from_str(&written.answer).unwrap_or_default();
    let seqs: Vec<&Value> = answer["entries"].as_array().into_iter().flatten().map(|e| &e["seq"]).collect();
    Json(json!({"taken": seqs})).into_response()
}

fn refused(u: &Untaken) -> Response {
    Json(json!({"untaken": {"tap": u.tap, "code": u.code, "detail": u.detail}})).into_response()
}

/// The entries that it means: as its form would have written them then, each at the time of the tap and with what the
/// device's clock read.
fn entries(m: &Meant, look: &Look, asked: &Asked) -> Result<Vec<Value>, Refusal> {
    let unknown = || Refusal::new(&UNKNOWN_ITEM, format!("There is no item `{}`.", m.id));
    let c = Ctx::of(&look.state, m.at, &m.id, &m.fields, asked).ok_or_else(unknown)?;
    let read = Show::of(&look.state, look.now).stamp(m.device_at);
    let mut note = lang::tap_note(&read);
    if let Some(ms) = m.set_ms {
        let by = Show::used(ms.abs());
        note = if ms < 0 { lang::tap_note_back(&by, &note) } else { lang::tap_note_forward(&by, &note) };
    }
    let mut entries = acts::entries(&m.form, &c)?;
    for e in &mut entries {
        if e.get("at").is_none() {
            e["at"] = json!(m.at);
        }
        let own = e["note"].as_str().map_or_else(String::new, |own| format!(" {own}"));
        e["note"] = json!(format!("{note}{own}").chars().take(NOTE_MOST).collect::<String>());
    }
    Ok(entries)
}

/// What the device says and what the log says.
pub(super) struct Stories {
    /// Who tapped, and when.
    pub(super) who: String,
    /// What would have been written, a sentence each.
    pub(super) tapped: Vec<String>,
    /// What its clock read.
    pub(super) read: String,
    /// Why it was not taken.
    pub(super) why: String,
    /// What the log says around that time.
    pub(super) log: Vec<log::Line>,
    /// Entered as something that was forgotten, with its time filled in, where the item is open.
    pub(super) earlier: Option<String>,
    pub(super) item: Id,
    pub(super) name: String,
}

impl Stories {
    pub(super) fn of(state: &State, show: Show, asked: &Asked, u: &Untaken) -> Stories {
        let entries: Vec<Value> = serde_json::from_str(&u.entries).unwrap_or_default();
        let parsed = entries.iter().filter_map(|e| parse(&e.to_string(), From::Caller).ok());
        let bodies: Vec<_> = parsed.flat_map(|p| p.bodies).collect();
        let said = |body| {
            let e = Entry { at: u.happened_at, note: None, body, meta: Meta::default() };
            log::said(state, show, &e)
        };
        let mut tapped: Vec<String> = bodies.into_iter().map(said).collect();
        if tapped.is_empty() {
            tapped.push(lang::tap_unclear(&u.form));
        }
        let day = show.zone.day(show.now) - show.zone.day(u.happened_at);
        let at = show.zone.local(u.happened_at);
        let time = format!("{:02}:{:02}", at.hour(), at.minute());
        let earlier = match day {
            0 => format!("?at={time}"),
            1 => format!("?at={time}&yesterday=1"),
            _ => String::new(),
        };
        let open = state.items.get(&u.item).is_some_and(|i| i.begin().is_some() && i.end().is_none());
        let around = |lines: Vec<log::Line>, records: &[Instant]| {
            // Latest first: those after the tap, and as many as fit of those before it.
            let after = records.iter().filter(|at| **at > u.happened_at).count();
            let from = after.saturating_sub(LINES / 2);
            lines.into_iter().skip(from).take(LINES).collect()
        };
        let log = state.items.get(&u.item).map_or_else(Vec::new, |item| {
            let mut times: Vec<Instant> = item.records.iter().map(|r| r.original.at).collect();
            times.reverse();
            around(log::lines(state, show, &asked.names, item), &times)
        });
        Stories {
            who: lang::tap_by(&show.clock(u.happened_at), &log::who(asked, Some(&u.person))),
            tapped,
            read: lang::tap_read(&show.stamp(u.device_at)),
            why: u.detail.clone(),
            log,
            earlier: open.then(|| format!("items/{}/earlier{earlier}", u.item)),
            item: u.item.clone(),
            name: name_of(state, &u.item),
        }
    }
}

/// The page of one.
#[derive(Template)]
#[template(path = "tap.html")]
struct TapPage {
    shell: Shell,
    tap: String,
    t: Stories,
}

/// Shows both stories.
pub(super) async fn show(Visitor(reads): Visitor, Path((_, tap)): Path<(String, String)>, uri: Uri) -> Response {
    let found = async {
        let u = untaken::one(&mut reads.service().db().reader().await?, &reads.site, &tap).await?;
        let u = u.ok_or(Fault::NotFound("tap"))?;
        let look = reads.look(std::slice::from_ref(&u.item)).await?;
        Ok::<_, Fault>((u, look))
    };
    match found.await {
        Ok((u, look)) => {
            let (root, key) = (root_of(uri.path()), new_key());
            let asked = asked(&reads, &root, &key, None).await;
            let show = Show::of(&look.state, look.now);
            let t = Stories::of(&look.state, show, &asked, &u);
            html(StatusCode::OK, &TapPage { shell: Shell::of(&look.state, look.now, &asked), tap: u.tap, t })
        }
        Err(fault) => problem::answer(uri.path(), &reads.site, &fault),
    }
}
