//! Every board of whoever has charge of several shops, on one page.

use super::handlers::{html, new_key};
use super::live::Live;
use super::visitor::turned_away;
use super::{Asked, Shell, board, problem, root_of};
use crate::board::Filter;
use crate::lang;
use crate::web::api;
use crate::web::auth::Reads;
use crate::web::error::Problem;
use crate::web::fragments::{Key, View};
use crate::web::service::{FIRST_SITE, Service};
use askama::Template;
use axum::extract::{Request, State};
use axum::http::StatusCode;
use axum::response::Response;

/// The page.
#[derive(Template)]
#[template(path = "boards.html")]
struct Boards {
    shell: Shell,
    live: String,
    shops: Vec<Shop>,
}

struct Shop {
    site: String,
    name: String,
    rows: String,
}

/// The page.
pub(super) async fn show(State(service): State<Service>, request: Request) -> Response {
    let (parts, _) = request.into_parts();
    let path = parts.uri.path();
    let all = match Reads::all(&parts, &service).await {
        Ok(all) => all,
        Err(p) => return turned_away(&parts, &p),
    };
    let (root, key) = (root_of(path), new_key());
    let (mut shops, mut shell) = (Vec::new(), None);
    for reads in &all {
        let (site, may_write) = (reads.site.clone(), board::may_write(reads));
        let shown = Key {
            site: site.clone(),
            root: root.clone(),
            view: View::Among,
            may_write,
            filter: Filter::default(),
            lang: lang::spoken(),
        };
        let (look, fragment) = match (reads.look(&[]).await, board::shared(reads, shown, true).await) {
            (Ok(look), Ok(fragment)) => (look, fragment),
            (Err(fault), _) | (_, Err(fault)) => return problem::answer(path, FIRST_SITE, &fault),
        };
        let asked = Asked { site: "", root: &root, viewer: Some(&reads.actor), key: &key, ..Asked::default() };
        let of = Shell::of(&look.state, fragment.now, &asked);
        shops.push(Shop { name: of.shop.clone(), rows: fragment.keyed(&key), site });
        let shell = shell.get_or_insert_with(|| Shell { may_manage: false, ..of });
        // Of figures of several instants, the oldest.
        shell.now_ms = shell.now_ms.min(fragment.now.0);
    }
    let Some(mut shell) = shell else {
        return problem::answer(path, FIRST_SITE, &crate::web::service::Fault::Forbidden);
    };
    shell.shop = lang::boards_title().to_owned();
    let live = Live::at(&shell, format!("{root}boards/stream")).to_string();
    html(StatusCode::OK, &Boards { live, shell, shops })
}

/// What it listens to.
pub(super) async fn stream(State(service): State<Service>, request: Request) -> Result<Response, Problem> {
    let (parts, _) = request.into_parts();
    Ok(api::stream::several(Reads::all(&parts, &service).await?).await?)
}
