//! "Check this record": a copy against itself and against the ledger as it is now, and the number and digits of a label or a
//! paper against the chain.

use super::forms::Fields;
use super::handlers::{asked, html, new_key};
use super::visitor::Visitor;
use super::{Notice, Shell, problem, root_of};
use crate::check;
use crate::lang;
use crate::record::proof::{self, Found, Kind, Row};
use crate::web::auth::Reads;
use crate::web::service::Fault;
use crate::web::upload;
use askama::Template;
use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, Form, FromRequest, Request};
use axum::http::{StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};
use tokio::sync::Semaphore;

/// Bytes of a copy at most: a busy month's entries.
const MOST: usize = 8 << 20;
/// Rows named at most, those first that don't agree.
const ROWS: usize = 500;
/// Copies held against the ledger at once.
static HANDS: Semaphore = Semaphore::const_new(2);

/// The page.
#[derive(Template)]
#[template(path = "check_record.html")]
struct Page {
    shell: Shell,
    result: Option<Shown>,
    head: Option<(bool, String)>,
    seq: String,
    digits: String,
}

/// What came of it.
struct Shown {
    /// What it says of itself, and whether that holds.
    own: Vec<(bool, String)>,
    said: String,
    rows: Vec<(bool, String, String)>,
    more: Option<String>,
}

/// What was sent.
enum Sent {
    Nothing,
    Copy(String),
    Head(String, String),
}

fn words(r: &Row) -> (bool, String, String) {
    let about = match (r.line, &r.found) {
        (Some(n), _) => lang::proof_line(&r.about, &n.to_string()),
        (None, Found::Unreadable) => lang::proof_file_line(r.about.trim_start_matches('#')),
        (None, _) => lang::proof_entries(&r.about, r.entries as i64),
    };
    let odd: Vec<String> = r.odd.iter().take(20).map(u64::to_string).collect();
    let said = match &r.found {
        Found::Unreadable => lang::proof_unreadable().to_owned(),
        Found::Absent => lang::proof_absent(&odd.join(", ")),
        Found::Other => lang::proof_other(&odd.join(", ")),
        Found::Differs(columns) => lang::proof_differs(&columns.join(", ")),
        Found::Agrees => lang::proof_agrees().to_owned(),
    };
    (r.found == Found::Agrees, about, said)
}

fn shown(own: Vec<check::Finding>, mut rows: Vec<Row>) -> Shown {
    let agree = rows.iter().filter(|r| r.found == Found::Agrees).count();
    let said = lang::proof_said(&agree.to_string(), &rows.len().to_string());
    rows.sort_by_key(|r| r.found == Found::Agrees);
    let own = own.into_iter().map(|f| match f.broken {
        None => (true, lang::proof_holds(f.name)),
        Some(why) => (false, lang::proof_broken(f.name, &why)),
    });
    let more = (rows.len() > ROWS).then(|| lang::proof_more(&(rows.len() - ROWS).to_string()));
    Shown { own: own.collect(), said, rows: rows.iter().take(ROWS).map(words).collect(), more }
}

/// Holds a copy against the ledger.
async fn compare(reads: &Reads, text: String) -> Result<Result<Shown, (String, String)>, Fault> {
    let no = |text: &str, next: &str| Ok(Err((text.to_owned(), next.to_owned())));
    let _hand = HANDS.try_acquire().map_err(|_| Fault::Busy)?;
    match proof::kind(&text) {
        None => no(lang::proof_no_record(), lang::proof_no_record_next()),
        Some(Kind::Entries) => {
            let ledger = reads.kept(&proof::numbers(&text)).await?;
            let work = move || shown(check::record(&text), proof::entries(&text, &ledger));
            Ok(Ok(tokio::task::spawn_blocking(lang::carried(work)).await.map_err(|_| Fault::Busy)?))
        }
        Some(Kind::Table) => match proof::table(&text) {
            Err(line) => no(&lang::proof_torn(&line.to_string()), lang::proof_no_record_next()),
            Ok(lines) => Ok(Ok(shown(Vec::new(), reads.rows_now(&lines).await?))),
        },
    }
}

/// Reads what was sent: a file of a form, or its fields.
async fn sent(mut request: Request) -> Result<Sent, Response> {
    DefaultBodyLimit::max(MOST).apply(&mut request);
    let kind = request.headers().get(header::CONTENT_TYPE).and_then(|v| v.to_str().ok()).unwrap_or("").to_owned();
    if kind.starts_with("multipart/") {
        let body = Bytes::from_request(request, &()).await.map_err(IntoResponse::into_response)?;
        let part = upload::part(&kind, &body, "record").filter(|part| !part.is_empty());
        return Ok(part.map_or(Sent::Nothing, |part| Sent::Copy(String::from_utf8_lossy(part).into_owned())));
    }
    let form = Form::<Vec<(String, String)>>::from_request(request, &()).await.map_err(IntoResponse::into_response)?;
    let fields = Fields(form.0);
    Ok(match (fields.get("seq"), fields.get("digits")) {
        (Some(seq), Some(digits)) => Sent::Head(seq.to_owned(), digits.to_owned()),
        _ => Sent::Nothing,
    })
}

/// The page.
pub async fn show(Visitor(reads): Visitor, uri: Uri) -> Response {
    page(&reads, uri.path(), (StatusCode::OK, None), None, None).await
}

/// Checks what was sent.
pub async fn check(Visitor(reads): Visitor, uri: Uri, request: Request) -> Response {
    let path = uri.path();
    let sent = match sent(request).await {
        Ok(sent) => sent,
        Err(answer) => return answer,
    };
    let bad = |text: &str, next: &str| {
        let notice = Notice { bad: true, text: text.to_owned(), next: next.to_owned(), ..Notice::default() };
        (StatusCode::BAD_REQUEST, Some(notice))
    };
    match sent {
        Sent::Nothing => page(&reads, path, bad(lang::proof_nothing(), lang::proof_nothing_next()), None, None).await,
        Sent::Copy(text) => match compare(&reads, text).await {
            Ok(Ok(shown)) => page(&reads, path, (StatusCode::OK, None), Some(shown), None).await,
            Ok(Err((text, next))) => page(&reads, path, bad(&text, &next), None, None).await,
            Err(fault) => problem::answer(path, &reads.site, &fault),
        },
        Sent::Head(seq, digits) => {
            let read = seq.parse::<u64>().ok().zip(check::digits(&digits));
            let Some((n, hex)) = read else {
                return page(&reads, path, bad(lang::proof_bad_head(), lang::proof_bad_head_next()), None, None).await;
            };
            match reads.head_holds(n, &hex).await {
                Ok(broken) => {
                    let said = match broken {
                        None => (true, lang::proof_head_holds(&hex, &seq)),
                        Some(why) => (false, lang::proof_head_broken(&why)),
                    };
                    let head = Some((said, seq, digits));
                    page(&reads, path, (StatusCode::OK, None), None, head).await
                }
                Err(fault) => problem::answer(path, &reads.site, &fault),
            }
        }
    }
}

async fn page(
    reads: &Reads,
    path: &str,
    (status, notice): (StatusCode, Option<Notice>),
    result: Option<Shown>,
    head: Option<((bool, String), String, String)>,
) -> Response {
    match reads.look(&[]).await {
        Ok(look) => {
            let (root, key) = (root_of(path), new_key());
            let asked = asked(reads, &root, &key, notice).await;
            let shell = Shell::of(&look.state, look.now, &asked);
            let (head, seq, digits) = head.map_or_else(Default::default, |(h, s, d)| (Some(h), s, d));
            html(status, &Page { shell, result, head, seq, digits })
        }
        Err(fault) => problem::answer(path, &reads.site, &fault),
    }
}
