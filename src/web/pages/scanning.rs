//! The handler of the page that scans, or takes a code key by key.

use super::forms::Fields;
use super::handlers::{asked, html, new_key};
use super::scan::{self, For, Typed};
use super::tagging::{Sent, bad, done, or_problem, own};
use super::visitor::Visitor;
use super::{Notice, root_of};
use crate::items::tag::{LENGTH, symbols};
use crate::items::{Rack, Tag, Tied};
use crate::lang;
use crate::ledger::Id;
use crate::web::auth::Reads;
use crate::web::service::Fault;
use axum::extract::Query;
use axum::http::{HeaderName, StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};

/// The page that scans, or takes the code key by key. A whole code leads where its tag does.
pub async fn scan(Visitor(reads): Visitor, uri: Uri, Query(asks): Query<Sent>) -> Response {
    let (asks, path) = (Fields(asks), uri.path());
    let what = match (asks.get("item").and_then(Id::new), asks.get("rack").and_then(Id::new)) {
        (Some(item), _) => For::Item(item),
        (_, Some(rack)) => For::Rack(rack),
        _ => For::Finding,
    };
    let typed = asks.get("code").unwrap_or("");
    let code = scan::pressed(typed, asks.get("press").unwrap_or(""));
    if let (For::Finding, Some(tag)) = (&what, Tag::read(&code)) {
        return Redirect::to(&format!("{}t/{}", root_of(path), tag.as_str())).into_response();
    }
    let answer = async {
        let named: Vec<Id> = if let For::Item(id) = &what { vec![id.clone()] } else { Vec::new() };
        let (look, racks) = (reads.look(&named).await?, reads.racks().await?);
        // Typed in one go, and no code: that is said.
        let wrong = asks.get("press").is_none() && !typed.is_empty() && Tag::read(&code).is_none();
        let last = symbols(asks.get("last").unwrap_or("")).unwrap_or_default();
        let notice = match (&what, asks.get("said")) {
            _ if wrong && (1..LENGTH).contains(&code.len()) => {
                bad(&lang::tag_torn(&LENGTH.to_string()), lang::tag_torn_next())
            }
            _ if wrong => bad(lang::code_wrong(), lang::code_wrong_next()),
            (For::Rack(rack), Some("put")) => put_just_now(&reads, &racks, rack, &last).await?,
            _ => None,
        };
        let status = if wrong { StatusCode::BAD_REQUEST } else { StatusCode::OK };
        let (root, key) = (root_of(path), new_key());
        let typed = Typed { code: &code, last: &last, camera: asks.get("camera").is_some() };
        let page =
            scan::build(&look.state, look.now, (&what, &racks), &typed, &asked(&reads, &root, &key, notice).await);
        // Only here may the camera be asked for.
        let may = (HeaderName::from_static("permissions-policy"), CAMERA);
        Ok(([may], html(status, &page)).into_response())
    };
    or_problem(answer.await, path, &reads.site)
}

/// What was put on a rack by its tag, and how much stands there now.
async fn put_just_now(reads: &Reads, racks: &[Rack], rack: &Id, code: &str) -> Result<Option<Notice>, Fault> {
    let Some(tag) = own(reads, code).await? else { return Ok(None) };
    let (Some(Tied::Item(item)), Some(rack)) = (reads.on(&tag).await?, racks.iter().find(|r| r.rack == *rack)) else {
        return Ok(None);
    };
    let look = reads.look(std::slice::from_ref(&item)).await?;
    let count = rack.items.len().to_string();
    Ok(done(lang::done_put_by_tag(&count, &super::name_of(&look.state, &item))))
}

const CAMERA: &str = "camera=(self), geolocation=(), microphone=(), payment=(), usb=()";
