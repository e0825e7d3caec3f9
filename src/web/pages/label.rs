//! An item's label as a page to print, or why it has none and the way to one.

use super::handlers::{NO_ITEM, asked, html, new_key};
use super::said::Said;
use super::tagging::{Sent, base, or_problem};
use super::visitor::Visitor;
use super::{Asked, Shell, mark, name_of, qr, root_of, task};
use crate::exposure::Fold;
use crate::items::{Tag, Tied};
use crate::lang;
use crate::ledger::Id;
use crate::record::label::{Label, NoLabel, Source, Time};
use crate::record::marking::Marking;
use crate::record::paper;
use crate::rules::standing;
use crate::show::Show;
use crate::web::auth::Reads;
use crate::web::service::{Fault, Look, Service};
use crate::web::strip::{Strip, Window};
use askama::Template;
use axum::extract::{Path, Query, State as Of};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::Response;
use axum_extra::extract::CookieJar;

/// What can be printed on, by its name in addresses.
pub(super) fn sizes() -> [(&'static str, &'static str); 3] {
    [("57mm", lang::paper_57mm()), ("a4", lang::paper_a4()), ("letter", lang::paper_letter())]
}

/// The page.
#[derive(Template)]
#[template(path = "label.html")]
pub struct LabelPage {
    shell: Shell,
    id: Id,
    name: String,
    size: &'static str,
    sizes: [(&'static str, &'static str); 3],
    drawn: Result<Drawn, (String, String)>,
    /// What the button to print shows, and its words.
    print: Option<(String, String)>,
}

/// A label with its pictures.
struct Drawn {
    label: Label,
    svg: String,
    code: String,
}

/// The page of an item, for whoever may read.
pub async fn show(
    Of(service): Of<Service>,
    Visitor(reads): Visitor,
    Path((_, id)): Path<(String, String)>,
    (jar, headers): (CookieJar, HeaderMap),
    uri: Uri,
    Query(sent): Query<Sent>,
) -> Response {
    let path = uri.path();
    let answer = async {
        let id = Id::new(&id).ok_or(NO_ITEM)?;
        let look = reads.look(std::slice::from_ref(&id)).await?;
        let to = address(&reads, &base(&service, &jar, &headers), &id).await?;
        let wanted = sent.iter().find(|(name, _)| name == "size").map(|(_, size)| size.as_str());
        let size = sizes().into_iter().map(|(name, _)| name).find(|name| Some(*name) == wanted).unwrap_or("57mm");
        let (root, key) = (root_of(path), new_key());
        let notice = Query::<Said>::try_from_uri(&uri)
            .ok()
            .and_then(|Query(said)| said.notice(&look.state, Show::of(&look.state, look.now)));
        let asked = asked(&reads, &root, &key, notice).await;
        let page = build(&look, &id, &to, size, &asked).ok_or(NO_ITEM)?;
        Ok(html(StatusCode::OK, &page))
    };
    or_problem(answer.await, path, &reads.site)
}

/// Where an item's code leads: by its tag, which may be read by any phone, else to its page.
pub(super) async fn address(reads: &Reads, base: &str, id: &Id) -> Result<String, Fault> {
    let tags = reads.tags_on(&Tied::Item(id.clone())).await?;
    Ok(leads(base, &reads.site, id, tags.first()))
}

/// The same with the tag that is on it.
pub(super) fn leads(base: &str, site: &str, id: &Id, tag: Option<&Tag>) -> String {
    match tag {
        Some(tag) => format!("{base}t/{}", tag.as_str()),
        None => format!("{base}s/{site}/items/{id}"),
    }
}

/// What labels are made from at that look.
pub(super) fn source(look: &Look) -> Source<'_> {
    let head = (look.published.state.head, look.published.hash.as_str());
    Source { state: &look.state, show: Show::of(&look.state, look.now), head }
}

fn build(look: &Look, id: &Id, address: &str, size: &'static str, asked: &Asked) -> Option<LabelPage> {
    let source = source(look);
    let (state, show) = (source.state, source.show);
    let fold = Fold::new(state, show.now, show.zone);
    let label = Label::of(source, &fold, id)?;
    let marking = Marking::of(state, &task::standing(state, show, id)?)?;
    let offer = mark::offer(show, &task::standing(state, show, id)?, &marking);
    let print = match &label {
        Ok(label) if label.copy.is_some() => offer.map(|o| (o.shown, lang::ticket_again().to_owned())),
        Err(why) if why.may_print() => offer.map(|o| (o.shown, lang::ticket_go(&o.time))),
        _ => None,
    };
    let drawn = label.map(|label| {
        let svg = strip(source, &fold, &label, |s| s.svg(|id| name_of(state, id)));
        Drawn { svg: svg.unwrap_or_default(), code: qr::svg(address, &lang::ticket_code(address)), label }
    });
    let said = |why: NoLabel| (why.text(show), why.next(show));
    Some(LabelPage {
        shell: Shell::of(state, look.now, asked),
        id: id.clone(),
        name: name_of(state, id),
        size,
        sizes: sizes(),
        drawn: drawn.map_err(said),
        print,
    })
}

/// The strip of a label: its limit is the label's.
fn strip<'s, T>(source: Source<'s>, fold: &Fold<'s>, label: &Label, draw: impl Fn(&Strip) -> T) -> Option<T> {
    let Source { state, show, .. } = source;
    let (id, item) = state.items.get_key_value(&label.item)?;
    let mut s = standing(fold, id)?;
    s.discard_by = label.discard_by.or(s.discard_by);
    Some(draw(&Strip {
        spells: &fold.spells(id),
        standing: &s,
        began: item.begin()?.0.at,
        window: Window::day(show.now, show.zone),
        show,
        hours: true,
    }))
}

/// An item's label for paper, or what stands in its place; `None` if there is no such item.
pub(super) fn blocks<'s>(
    source: Source<'s>,
    fold: &Fold<'s>,
    id: &Id,
    address: &str,
) -> Option<Result<Vec<paper::Block>, (String, NoLabel)>> {
    Some(match Label::of(source, fold, id)? {
        Ok(label) => {
            let drawn = strip(source, fold, &label, |s| s.paper(|id| name_of(source.state, id)));
            Ok(label.blocks(address, drawn.unwrap_or_default()))
        }
        Err(why) => Err((name_of(source.state, id), why)),
    })
}
