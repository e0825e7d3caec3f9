//! Labels and tags as PDFs: of one item, of several, of a rack, of a sheet of tags.

use super::handlers::{NO_ITEM, asked, html, new_key};
use super::label::{address, blocks, leads, sizes, source};
use super::tag::is_open;
use super::tagging::{Sent, base, or_problem, say};
use super::visitor::Visitor;
use super::{Asked, Choice, Shell, name_of, place_name, printing, root_of};
use crate::exposure::Fold;
use crate::items::Tag;
use crate::lang;
use crate::ledger::Id;
use crate::record::label::{missing, paper};
use crate::record::paper::{Align, Block, Code, Grid, Paper, Size, Text};
use crate::show::Show;
use crate::web::auth::Reads;
use crate::web::service::{Fault, Look, Service};
use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::Response;
use axum_extra::extract::CookieJar;

/// Labels made at once, at most: more than any shop has open.
const MOST: usize = 200;

/// How a request says where the service is reached.
type Reached = (CookieJar, HeaderMap);

/// What to tick.
#[derive(Template)]
#[template(path = "labels.html")]
pub struct Labels {
    shell: Shell,
    items: Vec<Choice>,
    sizes: [(&'static str, &'static str); 3],
}

/// What is open, to choose from.
pub async fn choose(Visitor(reads): Visitor, uri: Uri) -> Response {
    let answer = async {
        let look = reads.look(&[]).await?;
        let (root, key) = (root_of(uri.path()), new_key());
        let asked = asked(&reads, &root, &key, None).await;
        Ok(html(StatusCode::OK, &build(&look, &asked)))
    };
    or_problem(answer.await, uri.path(), &reads.site)
}

fn build(look: &Look, asked: &Asked) -> Labels {
    let state = &look.state;
    let open = state.items.iter().filter(|(id, _)| is_open(state, id, look.now));
    let mut items: Vec<Choice> = open
        .map(|(id, item)| {
            let place = item.place().map(|p| place_name(state, p)).unwrap_or_default();
            Choice { id: id.clone(), name: name_of(state, id), more: place, chosen: false }
        })
        .collect();
    items.sort_by(|a, b| (&a.name, &a.id).cmp(&(&b.name, &b.id)));
    Labels { shell: Shell::of(state, look.now, asked), items, sizes: sizes() }
}

/// The paper that was asked for; the usual one where none was.
fn size_of(sent: &Sent, usual: Size) -> Option<Size> {
    match sent.iter().find(|(name, _)| name == "size") {
        Some((_, text)) => Size::parse(text),
        None => Some(usual),
    }
}

fn bad(reads: &Reads, path: &str, (text, next): (&str, &str)) -> Response {
    say(reads, path, StatusCode::BAD_REQUEST, text, next)
}

/// One item's label. Where it has none, the page that says why.
pub async fn one(
    State(service): State<Service>,
    Visitor(reads): Visitor,
    Path((_, id)): Path<(String, String)>,
    (jar, headers): Reached,
    uri: Uri,
    Query(sent): Query<Sent>,
) -> Response {
    let path = uri.path();
    let answer = async {
        let Some(size) = size_of(&sent, Size::ROLL) else {
            return Ok(bad(&reads, path, (lang::paper_bad_size(), lang::paper_bad_size_next())));
        };
        let id = Id::new(&id).ok_or(NO_ITEM)?;
        let look = reads.look(std::slice::from_ref(&id)).await?;
        let to = address(&reads, &base(&service, &jar, &headers), &id).await?;
        let source = source(&look);
        let made = blocks(source, &Fold::new(source.state, source.show.now, source.show.zone), &id, &to);
        match made.ok_or(NO_ITEM)? {
            Ok(label) => pdf(labels(&look, size, vec![label])).await,
            Err((_, why)) => {
                let show = Show::of(&look.state, look.now);
                Ok(say(&reads, path, StatusCode::CONFLICT, &why.text(show), &why.next(show)))
            }
        }
    };
    or_problem(answer.await, path, &reads.site)
}

/// Labels of the items that are named, side by side.
pub async fn several(
    State(service): State<Service>,
    Visitor(reads): Visitor,
    (jar, headers): Reached,
    uri: Uri,
    Query(sent): Query<Sent>,
) -> Response {
    let named = sent.iter().filter(|(name, _)| name == "items").flat_map(|(_, ids)| ids.split(','));
    let ids: Vec<String> = named.filter(|id| !id.is_empty()).map(str::to_owned).collect();
    let answer = sheet(&reads, &base(&service, &jar, &headers), ids, &sent, uri.path()).await;
    or_problem(answer, uri.path(), &reads.site)
}

/// Labels of all that stands on a rack.
pub async fn rack(
    State(service): State<Service>,
    Visitor(reads): Visitor,
    Path((_, rack)): Path<(String, String)>,
    (jar, headers): Reached,
    uri: Uri,
    Query(sent): Query<Sent>,
) -> Response {
    let answer = async {
        let rack = reads.rack(&Id::new(&rack).ok_or(Fault::NotFound("rack"))?).await?;
        let look = reads.look(&rack.items).await?;
        let open = rack.items.iter().filter(|id| is_open(&look.state, id, look.now));
        let ids = open.map(Id::to_string).collect();
        sheet(&reads, &base(&service, &jar, &headers), ids, &sent, uri.path()).await
    };
    or_problem(answer.await, uri.path(), &reads.site)
}

async fn sheet(reads: &Reads, base: &str, ids: Vec<String>, sent: &Sent, path: &str) -> Result<Response, Fault> {
    let Some(size) = size_of(sent, Size::A4) else {
        return Ok(bad(reads, path, (lang::paper_bad_size(), lang::paper_bad_size_next())));
    };
    if ids.is_empty() {
        return Ok(bad(reads, path, (lang::labels_nothing(), lang::labels_nothing_next())));
    }
    if ids.len() > MOST {
        let text = lang::labels_too_many(&MOST.to_string());
        return Ok(bad(reads, path, (&text, lang::labels_too_many_next())));
    }
    let ids = ids.iter().map(|id| Id::new(id).ok_or(NO_ITEM)).collect::<Result<Vec<_>, _>>()?;
    let look = reads.look(&ids).await?;
    let (tags, base, site) = (reads.tags_on_items().await?, base.to_owned(), reads.site.clone());
    let make = move || {
        let source = source(&look);
        let fold = Fold::new(source.state, source.show.now, source.show.zone);
        let one = |id: &Id| {
            let to = leads(&base, &site, id, tags.get(id));
            let made = blocks(source, &fold, id, &to).ok_or(NO_ITEM)?;
            Ok(made.unwrap_or_else(|(name, why)| missing(&name, &why, source.show)))
        };
        let all = ids.iter().map(one).collect::<Result<Vec<_>, Fault>>()?;
        Ok(labels(&look, size, all))
    };
    Ok(printing::answer(printing::set(make).await?))
}

async fn pdf(paper: Paper) -> Result<Response, Fault> {
    Ok(printing::answer(printing::set(|| Ok(paper)).await?))
}

fn labels(look: &Look, size: Size, all: Vec<Vec<Block>>) -> Paper {
    paper(lang::labels_title().to_owned(), shop(look), look.now, size, all)
}

fn shop(look: &Look) -> String {
    look.state.site.as_ref().map(|s| s.name.to_string()).unwrap_or_default()
}

/// The tags of a sheet.
pub async fn tags(
    State(service): State<Service>,
    Visitor(reads): Visitor,
    Path((_, sheet)): Path<(String, String)>,
    (jar, headers): Reached,
    uri: Uri,
    Query(sent): Query<Sent>,
) -> Response {
    let path = uri.path();
    let answer = async {
        let Some(size) = size_of(&sent, Size::A4) else {
            return Ok(bad(&reads, path, (lang::paper_bad_size(), lang::paper_bad_size_next())));
        };
        let found = reads.sheet(&sheet).await?;
        if found.is_empty() {
            return Err(Fault::NotFound("sheet"));
        }
        let look = reads.look(&[]).await?;
        let to = base(&service, &jar, &headers);
        let all: Vec<Vec<Block>> = found.iter().map(|tag| of_tag(tag, &to)).collect();
        let made = match size {
            Size::Roll { .. } => paper(lang::sheet_title().to_owned(), shop(&look), look.now, size, all),
            Size::A4 | Size::Letter => {
                let grid = Grid { columns: 4, wide_mm: 42.0, high_mm: 38.0, cells: all };
                let blocks = vec![Block::Grid(grid)];
                let title = lang::sheet_title().to_owned();
                Paper { title, author: shop(&look), made_at: look.now, size, foot: false, blocks }
            }
        };
        pdf(made).await
    };
    or_problem(answer.await, path, &reads.site)
}

/// A tag's code, and the same in letters.
fn of_tag(tag: &Tag, base: &str) -> Vec<Block> {
    let code = Code { address: format!("{base}t/{}", tag.as_str()), alt: tag.to_string(), square_mm: 0.625 };
    vec![Block::Code(code), Block::Text(Text::bold(tag.to_string()).pt(11.0).align(Align::Middle))]
}
