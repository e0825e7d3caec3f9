//! The manager's page about people: who works here, their PINs and passwords, who no longer does.

use super::forms::Fields;
use super::handlers::{html, new_key};
use super::visitor::Keeper;
use super::{Asked, Notice, Shell, problem, root_of};
use crate::lang;
use crate::ledger::Id;
use crate::people::persons::Member;
use crate::people::secret::{NAME_MOST, PASSWORD_LEAST, PIN_DIGITS, Unfit};
use crate::people::{Names, Role};
use crate::web::manages::{Change, Manages, Trouble};
use crate::web::show::Show;
use askama::Template;
use axum::extract::{Form, Path, Query};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;

/// The page.
#[derive(Template)]
#[template(path = "people.html")]
pub struct People {
    shell: Shell,
    people: Vec<Row>,
    elsewhere: Vec<Row>,
    name: String,
    role: Role,
}

/// Somebody, as the page shows them.
struct Row {
    person: Id,
    name: String,
    role: Role,
    /// How they sign in, or since when they don't.
    how: String,
    gone: bool,
    erased: bool,
}

const ROLES: [Role; 3] = [Role::Staff, Role::Manager, Role::Inspector];

/// Which person, and what is changed.
#[derive(Deserialize)]
pub struct At {
    person: String,
    what: String,
}

/// What the address says just happened.
#[derive(Deserialize, Default)]
pub struct Said {
    said: Option<String>,
    person: Option<String>,
}

fn role_word(role: &Role) -> &'static str {
    match role {
        Role::Staff => lang::role_staff(),
        Role::Manager => lang::role_manager(),
        Role::Inspector => lang::role_inspector(),
        Role::Probe => lang::role_probe(),
    }
}

fn row(show: Show, m: &Member) -> Row {
    let how = match (m.disabled_at, m.has_pin, m.has_password) {
        (Some(at), ..) => lang::person_gone(&show.clock(at)),
        (None, true, true) => lang::person_both().to_owned(),
        (None, true, false) => lang::person_pin().to_owned(),
        (None, false, true) => lang::person_password().to_owned(),
        (None, false, false) => lang::person_neither().to_owned(),
    };
    let erased = m.name.is_empty();
    let name = if erased { m.person.to_string() } else { m.name.clone() };
    Row { person: m.person.clone(), name, role: m.role, how, gone: m.disabled_at.is_some(), erased }
}

/// Builds it; `typed` is what a refused form had in it.
pub fn build(
    shell: Shell,
    show: Show,
    members: &[Member],
    elsewhere: &[Member],
    typed: Option<(String, Role)>,
) -> People {
    let mut people: Vec<Row> = members.iter().map(|m| row(show, m)).collect();
    people.sort_by_key(|r| (r.erased, r.gone));
    let (name, role) = typed.unwrap_or((String::new(), Role::Staff));
    People { shell, people, elsewhere: elsewhere.iter().map(|m| row(show, m)).collect(), name, role }
}

/// The page.
pub async fn show(Keeper(manages): Keeper, uri: Uri, Query(said): Query<Said>) -> Response {
    let members = manages.members().await.unwrap_or_default();
    let who = members.iter().find(|m| Some(m.person.as_str()) == said.person.as_deref());
    let name = who.map_or_else(String::new, |m| match m.name.is_empty() {
        true => m.person.to_string(),
        false => Names::isolated(&m.name),
    });
    let text = match said.said.as_deref() {
        Some("also") => Some(lang::person_done_also(&name)),
        Some("added") => Some(lang::person_done_added(&name)),
        Some("name") => Some(lang::person_done_name(&name)),
        Some("pin") => Some(lang::person_done_pin(&name)),
        Some("password") => Some(lang::person_done_password(&name)),
        Some("role") => Some(lang::person_done_role(&name)),
        Some("disable") => Some(lang::person_done_disable(&name)),
        Some("enable") => Some(lang::person_done_enable(&name)),
        Some("erase") => Some(lang::person_done_erase(&name)),
        _ => None,
    };
    let notice = text.filter(|_| who.is_some()).map(|text| Notice { text, ..Notice::default() });
    page(&manages, uri.path(), StatusCode::OK, notice, None).await
}

/// Adds somebody.
pub async fn add(Keeper(manages): Keeper, uri: Uri, Form(fields): Form<Vec<(String, String)>>) -> Response {
    let f = Fields(fields);
    let role = f.get("role").and_then(Role::named).filter(|r| ROLES.contains(r)).unwrap_or(Role::Staff);
    let name = f.get("name").unwrap_or_default();
    let (pin, password) = (f.get("pin").unwrap_or_default(), f.raw("password"));
    match manages.add(name, role, pin, password).await {
        Ok(id) => on(&manages, &uri, "added", &id),
        Err(trouble) => refused(&manages, &uri, trouble, Some((name.to_owned(), role))).await,
    }
}

/// Changes something about somebody.
pub async fn change(
    Keeper(manages): Keeper,
    Path(at): Path<At>,
    uri: Uri,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let f = Fields(fields);
    let role = f.get("role").and_then(Role::named).filter(|r| ROLES.contains(r)).unwrap_or(Role::Staff);
    if let ("also", Some(person)) = (at.what.as_str(), Id::new(&at.person)) {
        return match manages.also_here(&person).await {
            Ok(()) => on(&manages, &uri, "also", person.as_str()),
            Err(trouble) => refused(&manages, &uri, trouble, None).await,
        };
    }
    let (Some(person), Some(change)) = (
        Id::new(&at.person),
        match at.what.as_str() {
            "name" => Some(Change::Name(f.get("name").unwrap_or_default())),
            "pin" => Some(Change::Pin(f.get("pin").unwrap_or_default())),
            "password" => Some(Change::Password(f.raw("password"))),
            "role" => Some(Change::Role(role, f.raw("password"))),
            "disable" => Some(Change::Disable),
            "enable" => Some(Change::Enable),
            "erase" if f.get("sure").is_some() => Some(Change::Erase),
            _ => None,
        },
    ) else {
        return refused(&manages, &uri, Trouble::Nobody, None).await;
    };
    match manages.change(&person, change).await {
        Ok(()) => on(&manages, &uri, &at.what, person.as_str()),
        Err(trouble) => refused(&manages, &uri, trouble, None).await,
    }
}

fn on(manages: &Manages, uri: &Uri, said: &str, person: &str) -> Response {
    let site = &manages.reads().site;
    Redirect::to(&format!("{}s/{site}/people?said={said}&person={person}", root_of(uri.path()))).into_response()
}

/// Status, sentence and next step of what was refused.
pub fn words(trouble: &Trouble) -> (StatusCode, String, String) {
    let bad = |text: &str, next: &str| (StatusCode::BAD_REQUEST, text.to_owned(), next.to_owned());
    let not = |text: &str, next: &str| (StatusCode::CONFLICT, text.to_owned(), next.to_owned());
    let least = PASSWORD_LEAST.to_string();
    match trouble {
        Trouble::Unfit(Unfit::Name) => bad(&lang::unfit_name(&NAME_MOST.to_string()), lang::unfit_name_next()),
        Trouble::Unfit(Unfit::PinShape) => bad(lang::unfit_pin_shape(), lang::unfit_pin_next()),
        Trouble::Unfit(Unfit::PinPlain) => bad(lang::unfit_pin_plain(), lang::unfit_pin_next()),
        Trouble::Unfit(Unfit::PasswordShort) => bad(&lang::unfit_password_short(&least), lang::unfit_password_next()),
        Trouble::Unfit(Unfit::PasswordLong) => bad(lang::unfit_password_long(), lang::unfit_password_next()),
        Trouble::Unfit(Unfit::PasswordCommon) => bad(lang::unfit_password_common(), lang::unfit_password_next()),
        Trouble::Unfit(Unfit::PasswordName) => bad(lang::unfit_password_name(), lang::unfit_password_next()),
        Trouble::NameTaken => not(lang::trouble_name(), lang::trouble_name_next()),
        Trouble::SignInTaken => not(lang::trouble_sign_in(), lang::trouble_name_next()),
        Trouble::Nobody => {
            (StatusCode::NOT_FOUND, lang::trouble_nobody().to_owned(), lang::trouble_nobody_next().to_owned())
        }
        Trouble::Elsewhere => not(lang::trouble_elsewhere(), lang::trouble_elsewhere_next()),
        Trouble::LastManager => not(lang::trouble_last(), lang::trouble_last_next()),
        Trouble::StaffPassword => not(lang::trouble_staff(), lang::trouble_staff_next()),
        Trouble::Fault(fault) => problem::words(fault),
    }
}

async fn refused(manages: &Manages, uri: &Uri, trouble: Trouble, typed: Option<(String, Role)>) -> Response {
    let (status, text, next) = words(&trouble);
    page(manages, uri.path(), status, Some(Notice { bad: true, text, next, ..Notice::default() }), typed).await
}

async fn page(
    manages: &Manages,
    path: &str,
    status: StatusCode,
    notice: Option<Notice>,
    typed: Option<(String, Role)>,
) -> Response {
    let reads = manages.reads();
    let (members, elsewhere, look) = match (manages.members().await, manages.elsewhere().await, reads.look(&[]).await) {
        (Ok(members), Ok(elsewhere), Ok(look)) => (members, elsewhere, look),
        (Err(fault), ..) | (_, Err(fault), _) | (.., Err(fault)) => {
            return problem::answer(path, &reads.site, &fault);
        }
    };
    let (root, key) = (root_of(path), new_key());
    let asked =
        Asked { site: &reads.site, root: &root, viewer: Some(&reads.actor), key: &key, notice, ..Asked::default() };
    let show = Show::of(&look.state, look.now);
    html(status, &build(Shell::of(&look.state, look.now, &asked), show, &members, &elsewhere, typed))
}
