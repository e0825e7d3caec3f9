//! The wall: a board for a screen that is looked at from three metres.

use super::cold::words::{self, Says};
use super::live::Live;
use super::rows::{filter_of, query, said};
use super::tile::Tile;
use super::visitor::Visitor;
use super::working::{Hint, hints};
use super::{Shell, problem, root_of};
use crate::board::due::calls;
use crate::board::{Filter, Wanted, page_of};
use crate::clock::Instant;
use crate::exposure::Fold;
use crate::lang;
use crate::ledger::{Id, State};
use crate::people::Names;
use crate::web::auth::Reads;
use crate::web::fragments::{Decided, Fragment, Key, Seen, View};
use crate::web::service::Fault;
use crate::web::show::Show;
use askama::Template;
use axum::extract::RawQuery;
use axum::http::{StatusCode, Uri};
use axum::response::Response;
use std::sync::Arc;

/// Rows at most: more can't be read from three metres (this project's choice).
const ROWS: usize = 6;

/// The page.
#[derive(Template)]
#[template(path = "wall.html")]
struct Wall {
    shell: Shell,
    live: String,
    filter: String,
    rows: String,
}

/// What everybody shares of it.
#[derive(Template)]
#[template(path = "wall_rows.html")]
struct Rows {
    board: String,
    may_write: bool,
    filter: String,
    counts: String,
    only: Option<String>,
    /// Places that have failed, or may have.
    cold: Vec<Says>,
    tiles: Vec<(Tile, Call, Vec<Hint>)>,
    more: Option<String>,
}

/// What an item calls for.
#[derive(Default)]
struct Call {
    /// The threshold, where one is reached.
    threshold: Option<String>,
    /// In words: how soon, or that it is over.
    text: String,
    /// Whether it is to be heard.
    loud: bool,
    /// Who knows of it.
    known: Option<String>,
}

/// The shared rendering of a wall.
pub(super) async fn shared(reads: &Reads, key: Key, at_once: bool) -> Result<Arc<Fragment>, Fault> {
    let briefs = reads.service().briefs(&key.site);
    let (board, k) = (format!("{}s/{}/", key.root, key.site), key.clone());
    let render = |seen: &Seen| {
        let (look, decided, names, leads) = (&seen.look, &*seen.decided, &seen.names, &seen.leads[..]);
        let changed = |id: &Id| look.changed(id);
        let list = page_of(&briefs, &look.state, changed, look.now, (Wanted::Board, &k.filter), None, ROWS);
        let fold_zone = Show::of(&look.state, look.now);
        let fold = Fold::new(&look.state, look.now, fold_zone.zone);
        let ids = list.standings.iter().filter_map(|s| look.state.items.get_key_value(&s.item));
        let tiles = ids.filter_map(|(id, _)| {
            let tile = Tile::of(&fold, id, fold_zone, false)?;
            let call = call(&tile, leads, fold_zone, decided, names);
            let hints = hints(&fold, id, &tile, fold_zone, &seen.planned);
            Some((tile, call, hints))
        });
        let [out, cold, frozen] = list.counts.map(|n| n.to_string());
        let tiles: Vec<(Tile, Call, Vec<Hint>)> = tiles.collect();
        let others = list.counts.iter().sum::<usize>() - tiles.len();
        let rows = Rows {
            board: board.clone(),
            may_write: k.may_write,
            filter: query(&k.filter),
            counts: lang::board_counts(&cold, &frozen, &out),
            only: only(&look.state, &k.filter),
            cold: words::says(&look.state, fold_zone, &seen.cold),
            more: (others > 0).then(|| lang::wall_more(&others.to_string())),
            tiles,
        };
        // A lead time begins between entries too.
        let ahead = list.standings.iter().flat_map(|s| crate::board::due::ahead(s, leads)).map(|d| d.at);
        let next = ahead.filter(|at| *at > look.now).min().unwrap_or(Instant::FAR);
        let until = rows.tiles.iter().map(|(t, ..)| super::rows::until(t, look.now)).fold(next, Instant::min);
        let until = until.min(words::until(&seen.cold));
        (rows.render().unwrap_or_default(), until)
    };
    reads.service().fragment(key, at_once, render).await
}

fn only(state: &State, filter: &Filter) -> Option<String> {
    let place = filter.place.as_ref().and_then(|id| state.places.get(id)).map(|p| p.name.to_string());
    let product = filter.product.as_ref().and_then(|id| state.product(id, u64::MAX)).map(|p| p.name.to_string());
    let names: Vec<String> = place.into_iter().chain(product).collect();
    (!names.is_empty()).then(|| lang::filter_only(&names.join(", ")))
}

fn call(tile: &Tile, leads: &[i64], show: Show, decided: &Decided, names: &Names) -> Call {
    let Some(due) = calls(&tile.standing, leads) else { return Call::default() };
    let known = said(&tile.id, &due, show, decided, names);
    let text = match due.threshold.minutes {
        0 => String::new(),
        minutes => {
            lang::wall_soon(&minutes.to_string(), super::tile::verdict_word(due.threshold.verdict).unwrap_or_default())
        }
    };
    let loud = !decided.silences(&tile.id, &due);
    Call { threshold: Some(due.threshold.to_string()), text, loud, known: known.filter(|_| !loud) }
}

/// The page.
pub(super) async fn show(Visitor(reads): Visitor, uri: Uri, RawQuery(raw): RawQuery) -> Response {
    let (root, key, site) = (root_of(uri.path()), super::handlers::new_key(), reads.site.clone());
    let filter = filter_of(raw.as_deref().unwrap_or_default());
    let text = query(&filter);
    let may_write = super::board::may_write(&reads);
    let shown =
        Key { site: site.clone(), root: root.clone(), view: View::Wall, may_write, filter, lang: lang::spoken() };
    let (look, fragment) = match (reads.look(&[]).await, shared(&reads, shown, true).await) {
        (Ok(look), Ok(fragment)) => (look, fragment),
        (Err(fault), _) | (_, Err(fault)) => return problem::answer(uri.path(), &site, &fault),
    };
    let asked = super::handlers::asked(&reads, &root, &key, None).await;
    let shell = Shell::of(&look.state, fragment.now, &asked);
    let live = Live::shop(&shell, look.state.head).fragment(&shell.board(), "wall", &text).to_string();
    super::handlers::html(StatusCode::OK, &Wall { live, filter: text, rows: fragment.keyed(&key), shell })
}
