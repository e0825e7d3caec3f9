//! The manager's page about devices: enrolled by a code that is shown once, named, revocable.

use super::forms::Fields;
use super::handlers::{html, new_key};
use super::visitor::Keeper;
use super::{Asked, Notice, Shell, people, problem, root_of};
use crate::clock::Instant;
use crate::lang;
use crate::ledger::Id;
use crate::people::codes;
use crate::people::devices::Listed;
use crate::web::manages::{Manages, Trouble};
use crate::web::show::Show;
use askama::Template;
use axum::extract::{Form, Path};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;

/// The page.
#[derive(Template)]
#[template(path = "devices.html")]
pub struct Devices {
    shell: Shell,
    devices: Vec<Row>,
    name: String,
    code: Option<String>,
}

struct Row {
    device: Id,
    name: String,
    state: String,
    gone: bool,
}

/// Which device, and what is done to it.
#[derive(Deserialize)]
pub struct At {
    device: String,
    what: String,
}

fn row(show: Show, now: Instant, d: &Listed) -> Row {
    let state = match (d.revoked_at, d.enrolled_at, d.code_until.filter(|t| *t > now)) {
        (Some(at), ..) => lang::device_revoked(&show.clock(at)),
        (None, Some(at), _) => lang::device_enrolled(&show.clock(at)),
        (None, None, Some(until)) => lang::device_waiting(&show.clock(until)),
        (None, None, None) => lang::device_late().to_owned(),
    };
    Row { device: d.device.clone(), name: d.name.clone(), state, gone: d.revoked_at.is_some() }
}

/// Builds it; `code` is shown this once, `name` is what a refused form had in it.
pub fn build(shell: Shell, show: Show, devices: &[Listed], name: &str, code: Option<&str>) -> Devices {
    let mut rows: Vec<Row> = devices.iter().map(|d| row(show, show.now, d)).collect();
    rows.sort_by_key(|r| r.gone);
    Devices { shell, devices: rows, name: name.to_owned(), code: code.map(codes::shown) }
}

/// The page.
pub async fn show(Keeper(manages): Keeper, uri: Uri) -> Response {
    page(&manages, uri.path(), StatusCode::OK, None, "", None).await
}

/// Names a device and shows its code.
pub async fn add(Keeper(manages): Keeper, uri: Uri, Form(fields): Form<Vec<(String, String)>>) -> Response {
    let f = Fields(fields);
    let name = f.get("name").unwrap_or_default();
    match manages.add_device(name).await {
        Ok(code) => page(&manages, uri.path(), StatusCode::OK, None, "", Some(&code)).await,
        Err(trouble) => refused(&manages, uri.path(), name, &trouble).await,
    }
}

/// Shows another code, or ends a device.
pub async fn change(Keeper(manages): Keeper, Path(at): Path<At>, uri: Uri) -> Response {
    let id = Id::new(&at.device);
    let done = match (id, at.what.as_str()) {
        (Some(id), "code") => manages.another_code(&id).await.map(Some),
        (Some(id), "revoke") => manages.revoke(&id).await.map(|()| None),
        _ => Err(Trouble::Nobody),
    };
    match done {
        Ok(Some(code)) => page(&manages, uri.path(), StatusCode::OK, None, "", Some(&code)).await,
        Ok(None) => Redirect::to(&format!("{}s/{}/devices", root_of(uri.path()), manages.reads().site)).into_response(),
        Err(trouble) => refused(&manages, uri.path(), "", &trouble).await,
    }
}

async fn refused(manages: &Manages, path: &str, name: &str, trouble: &Trouble) -> Response {
    let (status, text, next) = people::words(trouble);
    page(manages, path, status, Some(Notice { bad: true, text, next, ..Notice::default() }), name, None).await
}

async fn page(
    manages: &Manages,
    path: &str,
    status: StatusCode,
    notice: Option<Notice>,
    name: &str,
    code: Option<&str>,
) -> Response {
    let reads = manages.reads();
    let (devices, look) = match (manages.devices().await, reads.look(&[]).await) {
        (Ok(devices), Ok(look)) => (devices, look),
        (Err(fault), _) | (_, Err(fault)) => return problem::answer(path, &reads.site, &fault),
    };
    let (root, key) = (root_of(path), new_key());
    let asked =
        Asked { site: &reads.site, root: &root, viewer: Some(&reads.actor), key: &key, notice, ..Asked::default() };
    let show = Show::of(&look.state, look.now);
    html(status, &build(Shell::of(&look.state, look.now, &asked), show, &devices, name, code))
}
