//! The cold of the shop: every cold place on one page, what is proposed by their readings, a power cut, and its end.
//! Nothing here is recorded by itself, and nothing is thrown away by being recorded.

mod affected;
mod cut;
mod grid;
mod page;
pub mod place;
pub mod probes;
mod table;
pub(super) mod words;

use super::acting::write;
use super::forms::Fields;
use super::handlers::{asked, html, new_key, refused};
use super::tagging::{Sent, done, or_problem};
use super::visitor::{Keeper, Scribe, Visitor};
use super::{Notice, place_name, root_of};
use crate::board::cold::{Cold, Proposal};
use crate::board::decisions::key;
use crate::board::what_if::Lapse;
use crate::lang;
use crate::ledger::Id;
use crate::ledger::refusal::{BAD_MEMBER, LAPSE_OPEN, NO_LAPSE, Refusal};
use crate::web::auth::{Reads, Writes};
use crate::web::cold::ColdRoom;
use crate::web::service::Fault;
use crate::web::show::Show;
use axum::extract::{Form, Query};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;
use serde_json::{Value, json};

/// Proposals whose items are shown beside them at most; of more, each is asked about by itself.
const BESIDE: usize = 8;

/// What was just done.
#[derive(Deserialize)]
pub struct Said {
    said: Option<String>,
}

async fn page(
    reads: &Reads,
    path: &str,
    room: &ColdRoom,
    f: &Fields,
    (status, notice): (StatusCode, Option<Notice>),
) -> Result<Response, Fault> {
    let (root, key) = (root_of(path), new_key());
    let mut proposed = Vec::new();
    for (n, p) in room.places.iter().flat_map(|c| &c.proposals).enumerate() {
        proposed.push(match n < BESIDE {
            // One that can't be written as it is says why once it is confirmed.
            true => reads.what_if(&[words::lapse(p)]).await.map(Some).or_else(|fault| match fault {
                Fault::Refused(_) => Ok(None),
                fault => Err(fault),
            })?,
            false => None,
        });
    }
    let asked = asked(reads, &root, &key, notice).await;
    Ok(html(status, &page::build(room, &proposed, f, &asked)))
}

/// Shows it.
pub async fn show(Visitor(reads): Visitor, uri: Uri, Query(said): Query<Said>) -> Response {
    let text = match said.said.as_deref() {
        Some("lapse") => Some(lang::cold_done_lapse()),
        Some("restore") => Some(lang::cold_done_restore()),
        Some("dismiss") => Some(lang::cold_done_dismiss()),
        _ => None,
    };
    let notice = text.and_then(|text| done(text.to_owned()));
    let answer = async {
        let room = reads.cold().await?;
        page(&reads, uri.path(), &room, &Fields::default(), (StatusCode::OK, notice)).await
    };
    or_problem(answer.await, uri.path(), &reads.site)
}

/// Shows what a power cut would mean, and writes nothing.
pub async fn ask(Scribe(writes): Scribe, uri: Uri, Query(fields): Query<Sent>) -> Response {
    let (f, reads, path) = (Fields(fields), writes.reads(), uri.path());
    let answer = async {
        let room = reads.cold().await?;
        let show = Show::of(&room.look.state, room.look.now);
        let named: Option<Vec<Lapse>> = f.all("lapse").map(cut::read).collect();
        let lapses = match named.filter(|l| !l.is_empty()) {
            Some(lapses) => Ok(lapses),
            None => cut::lapses(&f, &room.look.state, show, |place| words::good(&room.places, place)),
        };
        let asked_for = match lapses {
            Ok(lapses) => reads.what_if(&lapses).await.map(|found| (lapses, found)),
            Err(r) => Err(Fault::Refused(r)),
        };
        let (lapses, found, status, notice) = match asked_for {
            Ok((lapses, found)) => (lapses, found, StatusCode::OK, None),
            Err(fault) => {
                let (status, notice) = refused(&fault, &room.look);
                (Vec::new(), reads.what_if(&[]).await?, status, Some(notice))
            }
        };
        let (root, key) = (root_of(path), new_key());
        let query = uri.query().unwrap_or_default().replace("&all=1", "");
        let asked = asked(reads, &root, &key, notice).await;
        Ok(html(status, &page::cut(&room, (&lapses, &found), (&query, &f), &asked)))
    };
    or_problem(answer.await, path, &reads.site)
}

/// The entries of the lapses that a form names; of a proposed one, while it is still proposed.
fn lapses(room: &ColdRoom, f: &Fields) -> Result<Vec<Value>, Refusal> {
    let named: Option<Vec<Lapse>> = f.all("lapse").map(cut::read).collect();
    let named = named.filter(|l| !l.is_empty()).ok_or_else(|| Refusal::form(&BAD_MEMBER, lang::cut_pick()))?;
    let show = Show::of(&room.look.state, room.look.now);
    let one = |lapse: &Lapse| {
        if f.has("proposed") {
            let (c, p) = proposal(room, lapse)?;
            return Ok(cut::entry(lapse, &words::note(show, c, p)));
        }
        // A place that isn't there is for the ledger to refuse.
        let open = room.look.state.places.get(&lapse.place).and_then(|p| p.open_lapse());
        match open {
            Some(since) => {
                let name = place_name(&room.look.state, &lapse.place);
                Err(Refusal::form(&LAPSE_OPEN, &lang::cold_open_already(&name, &show.clock(since))))
            }
            None => Ok(cut::entry(lapse, lang::cold_note_cut())),
        }
    };
    named.iter().map(one).collect()
}

fn proposal<'n>(room: &'n ColdRoom, lapse: &Lapse) -> Result<(&'n Cold, &'n Proposal), Refusal> {
    let mut all = room.places.iter().flat_map(|c| c.proposals.iter().map(move |p| (c, p)));
    all.find(|(_, p)| words::lapse(p) == *lapse).ok_or_else(|| Refusal::form(&BAD_MEMBER, lang::cold_gone()))
}

/// Writes lapses: those of a power cut, or a proposed one.
pub async fn lapse(Scribe(writes): Scribe, uri: Uri, Form(fields): Form<Sent>) -> Response {
    act(&writes, &uri, Fields(fields), "lapse", lapses).await
}

/// Ends the open lapses of the places that a form names.
pub async fn restore(Scribe(writes): Scribe, uri: Uri, Form(fields): Form<Sent>) -> Response {
    act(&writes, &uri, Fields(fields), "restore", restores).await
}

fn restores(room: &ColdRoom, f: &Fields) -> Result<Vec<Value>, Refusal> {
    let places = &room.look.state.places;
    let named = f.all("place").filter_map(Id::new);
    let open: Vec<Id> = named.filter(|id| places.get(id).is_some_and(|p| p.open_lapse().is_some())).collect();
    match open.is_empty() {
        true => Err(Refusal::form(&NO_LAPSE, lang::cold_nothing_open())),
        false => Ok(open.iter().map(|place| json!({"kind": "restore", "place": place})).collect()),
    }
}

/// Says why a proposed lapse is none.
pub async fn dismiss(Keeper(_): Keeper, Scribe(writes): Scribe, uri: Uri, Form(fields): Form<Sent>) -> Response {
    act(&writes, &uri, Fields(fields), "dismiss", dismissal).await
}

fn dismissal(room: &ColdRoom, f: &Fields) -> Result<Vec<Value>, Refusal> {
    let gone = || Refusal::form(&BAD_MEMBER, lang::cold_gone());
    let lapse = f.get("lapse").and_then(cut::read).ok_or_else(gone)?;
    let (_, p) = proposal(room, &lapse)?;
    let reason = f.get("reason").ok_or_else(|| Refusal::form(&BAD_MEMBER, lang::decisions_say_why()))?;
    let note = key(p.why.code(), p.from);
    Ok(vec![json!({"kind": "decide", "about": p.place, "action": "dismiss", "reason": reason, "note": note})])
}

type Meant = fn(&ColdRoom, &Fields) -> Result<Vec<Value>, Refusal>;

/// Writes what a form means, and leads back to the page.
async fn act(writes: &Writes, uri: &Uri, f: Fields, what: &str, meant: Meant) -> Response {
    let (reads, path) = (writes.reads(), uri.path());
    let answer = async {
        let room = reads.cold().await?;
        let (entries, key) = (meant(&room, &f).map_err(Fault::Refused), f.key(&format!("cold.{what}")));
        let done = || Redirect::to(&format!("{}s/{}/cold?said={what}", root_of(path), reads.site)).into_response();
        // The second touch of a button gets the answer of the first.
        if let (Some(key), true) = (&key, entries.is_err())
            && writes.answered(&room.look, key).await.is_some()
        {
            return Ok(done());
        }
        match write(writes, entries, key).await {
            Ok(_) => Ok(done()),
            Err(fault) => {
                let (status, notice) = refused(&fault, &room.look);
                page(reads, path, &room, &f, (status, Some(notice))).await
            }
        }
    };
    or_problem(answer.await, path, &reads.site)
}
