//! The manager's side: filling in, looking at the draft, approving it.

use super::paper::Paper;
use super::shown::{Shown, Waits};
use super::versions::tables;
use super::{refused, stamp, told};
use crate::clock::Instant;
use crate::lang::{self, Lang};
use crate::ledger::State;
use crate::people::Names;
use crate::record::procedure::fields::{self, Kind, LANGUAGE, MOST};
use crate::record::procedure::sql::Draft;
use crate::record::procedure::{Document, Fault as Unfit, Typed, compare, faults, hinders};
use crate::web::manages::Manages;
use crate::web::pages::forms::Fields;
use crate::web::pages::handlers::{html, new_key};
use crate::web::pages::visitor::Keeper;
use crate::web::pages::{Asked, Notice, Shell, problem, root_of};
use crate::web::procedures::{Approved, Procedures};
use crate::web::service::{Fault, Look};
use crate::web::show::Show;
use askama::Template;
use axum::extract::{Form, Query};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};

/// The page with all fields.
#[derive(Template)]
#[template(path = "procedure/edit.html")]
struct Edit {
    shell: Shell,
    /// When the draft was saved that the fields show: in milliseconds.
    was: String,
    count: i64,
    hinders: Vec<(String, String)>,
    /// The languages the text may be in: tag, own name, and whether it is.
    tongues: Vec<(&'static str, &'static str, bool)>,
    parts: Vec<Part>,
}

/// A section's fields.
struct Part {
    id: &'static str,
    title: &'static str,
    groups: Vec<(String, Vec<Asks>)>,
}

/// A field to be filled in.
struct Asks {
    key: String,
    ask: &'static str,
    hint: &'static str,
    kind: Kind,
    needed: bool,
    text: String,
    wrong: Option<String>,
    rows: usize,
}

fn wrong(fault: &Unfit) -> String {
    match fault {
        Unfit::Long(_, name, long) => lang::procedure_long(&long.to_string(), &MOST.to_string(), name),
        Unfit::NoDate(_, name) => lang::procedure_no_date(name),
    }
}

fn parts(state: &State, typed: &Typed, faults: &[Unfit]) -> Vec<Part> {
    let mut parts: Vec<Part> = Vec::new();
    for (key, field, about) in fields::asked(state) {
        let title = match field.section {
            "shop" => lang::procedure_shop(),
            "rules" => lang::procedure_rules(),
            "foods" => lang::procedure_foods(),
            "places" => lang::procedure_places(),
            "marking" => lang::procedure_marks(),
            "watch" => lang::procedure_watch(),
            "discard" => lang::procedure_discard(),
            "wrong" => lang::procedure_wrong(),
            "people" => lang::procedure_people(),
            "record" => lang::procedure_record(),
            _ => lang::procedure_review(),
        };
        let text = typed.get(&key).unwrap_or_default().to_owned();
        let wrong = faults.iter().find(|f| f.key() == key).map(wrong);
        let needed = fields::is_needed(state, field);
        // As many as it takes on a phone.
        let rows = text.lines().map(|line| line.chars().count() / 36 + 1).sum::<usize>().clamp(2, 12);
        let asks = Asks { key, ask: (field.ask)(), hint: (field.hint)(), kind: field.kind, needed, text, wrong, rows };
        let at = parts.iter().position(|p| p.id == field.section).unwrap_or_else(|| {
            parts.push(Part { id: field.section, title, groups: Vec::new() });
            parts.len() - 1
        });
        let (groups, name) = (&mut parts[at].groups, about.unwrap_or_default());
        match groups.iter_mut().find(|(of, _)| *of == name) {
            Some((_, fields)) => fields.push(asks),
            None => groups.push((name, vec![asks])),
        }
    }
    parts
}

/// What the fields begin with: the draft, or else what stands in the version in force.
struct Start {
    look: Look,
    all: Procedures,
    draft: Option<Draft>,
    in_force: Option<(u32, Document)>,
    typed: Typed,
}

async fn start(manages: &Manages) -> Result<Start, Fault> {
    let reads = manages.reads();
    let (look, all, draft) = (reads.look(&[]).await?, reads.procedures().await?, manages.draft().await?);
    let in_force = match all.shelf.at(look.now) {
        Some(p) => Some((p.version, reads.version(p.version).await?)),
        None => None,
    };
    let before = || in_force.as_ref().map_or_else(Typed::default, |(_, d)| Typed(d.typed.clone()));
    let typed = draft.as_ref().map_or_else(before, |d| Typed::read(&d.text));
    Ok(Start { look, all, draft, in_force, typed })
}

fn asked<'a>(manages: &'a Manages, root: &'a str, key: &'a str, notice: Option<Notice>, names: Names) -> Asked<'a> {
    let reads = manages.reads();
    Asked { site: &reads.site, root, viewer: Some(&reads.actor), key, notice, names, several: reads.several }
}

/// Fills in.
pub async fn show(Keeper(manages): Keeper, uri: Uri, Query(said): Query<super::Said>) -> Response {
    let s = match start(&manages).await {
        Ok(s) => s,
        Err(fault) => return problem::answer(uri.path(), &manages.reads().site, &fault),
    };
    let at = s.draft.as_ref().map(|d| d.saved_at);
    let notice = match (said.said.as_deref(), at) {
        (Some("saved"), Some(at)) => told(lang::procedure_done_saved(&stamp(Show::of(&s.look.state, s.look.now), at))),
        _ => None,
    };
    form(&manages, uri.path(), &s.look, &s.typed, (StatusCode::OK, notice, at)).await
}

async fn form(
    manages: &Manages,
    path: &str,
    look: &Look,
    typed: &Typed,
    (status, notice, at): (StatusCode, Option<Notice>, Option<Instant>),
) -> Response {
    let (root, key) = (root_of(path), new_key());
    let asked = asked(manages, &root, &key, notice, Names::default());
    let faults = faults(&look.state, typed);
    let tongue = typed.get(LANGUAGE).and_then(Lang::named).unwrap_or(lang::spoken());
    let today = Show::of(&look.state, look.now).zone.day(look.now);
    let mut hinders = hinders(&look.state, typed, today);
    hinders.retain(|(key, _)| faults.iter().all(|f| f.key() != key));
    let page = Edit {
        shell: Shell::of(&look.state, look.now, &asked),
        was: at.map_or_else(String::new, |at| at.0.to_string()),
        count: hinders.len() as i64,
        hinders,
        tongues: lang::ALL.into_iter().map(|(l, name)| (l.tag(), name, l == tongue)).collect(),
        parts: parts(&look.state, typed, &faults),
    };
    html(status, &page)
}

/// Saves the draft, and goes on to it if that was asked for.
pub async fn save(Keeper(manages): Keeper, uri: Uri, Form(sent): Form<Vec<(String, String)>>) -> Response {
    let (f, reads, path) = (Fields(sent), manages.reads(), uri.path());
    let look = match reads.look(&[]).await {
        Ok(look) => look,
        Err(fault) => return problem::answer(path, &reads.site, &fault),
    };
    let typed = Typed::sent(&look.state, |key| f.raw(key));
    let was = f.get("was").and_then(|at| at.parse().ok()).map(Instant);
    let faults = faults(&look.state, &typed);
    if !faults.is_empty() {
        let said: Vec<String> = faults.iter().map(wrong).collect();
        let notice = refused(&said.join(" "), lang::procedure_unsaved_next());
        return form(&manages, path, &look, &typed, (StatusCode::BAD_REQUEST, notice, was)).await;
    }
    match manages.save_draft(&typed, was).await {
        Ok(None) => {
            let to = if f.is("then", "look") { "procedure/draft" } else { "procedure/edit?said=saved" };
            Redirect::to(&format!("{}s/{}/{to}", root_of(path), reads.site)).into_response()
        }
        // What was typed stays on the page; saved once more, it takes the other's place.
        Ok(Some(other)) => {
            let at = stamp(Show::of(&look.state, look.now), other.saved_at);
            let notice = refused(&lang::procedure_saved_by_other(&at), lang::procedure_saved_by_other_next());
            form(&manages, path, &look, &typed, (StatusCode::CONFLICT, notice, Some(other.saved_at))).await
        }
        Err(fault) => {
            let (status, text, next) = problem::words(&fault);
            form(&manages, path, &look, &typed, (status, refused(&text, &next), was)).await
        }
    }
}

/// Looks at the draft as it would be approved.
pub async fn draft(Keeper(manages): Keeper, uri: Uri) -> Response {
    match start(&manages).await {
        Ok(s) => draft_page(&manages, uri.path(), s, (StatusCode::OK, None)).await,
        Err(fault) => problem::answer(uri.path(), &manages.reads().site, &fault),
    }
}

async fn draft_page(
    manages: &Manages,
    path: &str,
    s: Start,
    (status, notice): (StatusCode, Option<Notice>),
) -> Response {
    let (root, key, reads) = (root_of(path), new_key(), manages.reads());
    let asked = asked(manages, &root, &key, notice, reads.names().await);
    let show = Show::of(&s.look.state, s.look.now);
    let document = s.all.document(&s.look.state, &s.typed);
    let mut page = Shown::of(&s.look, &asked, lang::procedure_draft().to_owned(), Paper::of(&document, &asked.names));
    match &s.draft {
        Some(d) => page.said.push(lang::procedure_saved_at(&stamp(show, d.saved_at))),
        None => page.warns.push(lang::procedure_no_draft().to_owned()),
    }
    let mut hinders = hinders(&s.look.state, &s.typed, show.zone.day(s.look.now));
    if s.draft.is_none() {
        hinders.insert(0, (String::from("start"), lang::procedure_save_first().to_owned()));
    }
    let changes = s.in_force.as_ref().map(|(_, was)| tables(compare(was, &document, &asked.names)));
    page.draft = Some(Waits {
        seen: document.sealed().1,
        hinders,
        name: Names::isolated(&reads.actor.name),
        changes: changes.unwrap_or_default(),
        replaces: s.in_force.map(|(version, _)| version),
    });
    html(status, &page)
}

/// Approves the draft that was looked at.
pub async fn approve(Keeper(manages): Keeper, uri: Uri, Form(sent): Form<Vec<(String, String)>>) -> Response {
    let (f, reads, path) = (Fields(sent), manages.reads(), uri.path());
    let s = match start(&manages).await {
        Ok(s) => s,
        Err(fault) => return problem::answer(path, &reads.site, &fault),
    };
    let done = || Redirect::to(&format!("{}s/{}/procedure?said=approved", root_of(path), reads.site)).into_response();
    let key = f.key("approve");
    if let Some(key) = &key
        && manages.answered(&s.look, key).await.is_some()
    {
        return done();
    }
    let today = Show::of(&s.look.state, s.look.now).zone.day(s.look.now);
    let hinders = hinders(&s.look.state, &s.typed, today);
    let Some(draft) = s.draft.clone().filter(|_| hinders.is_empty()) else {
        let mut said: Vec<String> = hinders.into_iter().map(|(_, text)| text).collect();
        if s.draft.is_none() {
            said.insert(0, lang::procedure_save_first().to_owned());
        }
        let notice = refused(&lang::procedure_not_yet(&said.join(" ")), lang::procedure_not_yet_next());
        return draft_page(&manages, path, s, (StatusCode::CONFLICT, notice)).await;
    };
    let document = s.all.document(&s.look.state, &s.typed);
    let seen = f.get("seen").unwrap_or_default();
    let (text, next) = match manages.approve(&document, (seen, &draft), &s.all.shelf, key).await {
        Ok(Approved::Done(_)) => return done(),
        Ok(Approved::Changed) => {
            (lang::procedure_changed_since().to_owned(), lang::procedure_changed_since_next().to_owned())
        }
        Ok(Approved::Same(version)) => {
            (lang::procedure_says_same(&version.to_string()), lang::procedure_says_same_next().to_owned())
        }
        Err(fault) => {
            let (status, text, next) = problem::words(&fault);
            return draft_page(&manages, path, s, (status, refused(&text, &next))).await;
        }
    };
    draft_page(&manages, path, s, (StatusCode::CONFLICT, refused(&text, &next))).await
}
