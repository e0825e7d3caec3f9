//! Another shop of a manager's, by the same steps as the first but the last: whoever makes it manages it.

use super::super::forms::Fields;
use super::super::handlers::{asked, html, new_key};
use super::super::visitor::Keeper;
use super::super::{Notice, root_of};
use super::{Draft, STEPS, Step, bad, build, entries, fault, next};
use crate::web::manages::Manages;
use axum::extract::Form;
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};

fn draft(fields: Fields) -> Draft {
    Draft { another: true, ..Draft::new(fields, false) }
}

/// The first step.
pub async fn begin(Keeper(manages): Keeper, uri: Uri) -> Response {
    page(&manages, &uri, StatusCode::OK, (&draft(Fields::default()), STEPS[0]), None).await
}

/// A step was filled in; the last one makes the shop.
pub async fn go_on(Keeper(manages): Keeper, uri: Uri, Form(fields): Form<Vec<(String, String)>>) -> Response {
    let draft = draft(Fields(fields));
    if let Some((status, step, notice)) = next(&draft) {
        return page(&manages, &uri, status, (&draft, step), notice).await;
    }
    let made = match entries(&draft, true) {
        Ok(entries) => manages.add_shop(draft.site_ids(), entries, draft.fields.key("another")).await.map_err(fault),
        Err(wrong) => Err(wrong),
    };
    match made {
        Ok(id) => Redirect::to(&format!("{}s/{id}/", root_of(uri.path()))).into_response(),
        Err(wrong) => {
            let (status, notice) = bad(&wrong);
            page(&manages, &uri, status, (&draft, draft.step()), Some(notice)).await
        }
    }
}

async fn page(
    manages: &Manages,
    uri: &Uri,
    status: StatusCode,
    (draft, step): (&Draft, Step),
    notice: Option<Notice>,
) -> Response {
    let (root, key) = (root_of(uri.path()), new_key());
    let asked = asked(manages.reads(), &root, &key, notice).await;
    let action = format!("s/{}/another", manages.reads().site);
    html(status, &build(&asked, draft, step, &action))
}
