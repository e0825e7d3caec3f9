//! The manager's page about inspectors' links: made in one touch, shown once as a code to scan, ended, and what each was
//! used for.

use super::forms::Fields;
use super::handlers::{asked, html, new_key};
use super::tagging::{Sent, base};
use super::visitor::Keeper;
use super::{Asked, Notice, Shell, problem, qr, root_of};
use crate::clock::{HOUR_MS, Instant, Zone};
use crate::lang::{self, Lang};
use crate::ledger::Id;
use crate::people::Names;
use crate::people::accesses::{Listed, MORE, Use};
use crate::people::limits::{ACCESS_MOST_MS, ACCESS_MS};
use crate::web::manages::Manages;
use crate::web::service::{Fault, Service};
use crate::web::show::Show;
use askama::Template;
use axum::extract::{Form, Path, State};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use axum_extra::extract::CookieJar;

/// Characters of a link's name at most.
const NAME: usize = 80;

/// The page.
#[derive(Template)]
#[template(path = "access.html")]
struct Page {
    shell: Shell,
    made: Option<Made>,
    hours: String,
    most: String,
    rows: Vec<Row>,
}

/// A link that was just made.
struct Made {
    code: String,
    address: String,
    svg: String,
}

struct Row {
    access: Id,
    name: String,
    state: String,
    of: String,
    over: bool,
    uses: Vec<String>,
}

fn state(show: Show, l: &Listed) -> (bool, String) {
    match (l.revoked_at, l.until > show.now) {
        (Some(at), _) => (true, lang::access_revoked(&show.clock(at))),
        (None, true) => (false, lang::access_until(&show.clock(l.until))),
        (None, false) => (true, lang::access_over(&show.clock(l.until))),
    }
}

fn of(show: Show, l: &Listed, names: &Names) -> String {
    let by = l.by.as_ref().map_or(lang::log_nobody(), |id| names.of(id));
    let made = lang::access_made(&Names::isolated(by), &show.clock(l.made_at));
    match l.within {
        Some((from, to)) => format!("{made} {}", lang::access_within(&Zone::date_text(from), &Zone::date_text(to))),
        None => made,
    }
}

fn used(show: Show, u: &Use) -> String {
    let at = show.stamp(u.at);
    match u.what.as_str() {
        "" => lang::access_used_link(&at),
        MORE => lang::access_used_more(&at, &u.times.to_string()),
        what if u.times > 1 => lang::access_used_often(&at, &u.times.to_string(), what),
        what => lang::access_used(&at, what),
    }
}

/// The page.
pub async fn show(Keeper(manages): Keeper, uri: Uri) -> Response {
    page(&manages, uri.path(), (StatusCode::OK, None), None).await
}

/// For which dates alone, and until when.
type Wanted = (Option<(i64, i64)>, Instant);

/// What is asked for.
fn wanted(f: &Fields, show: Show) -> Result<Wanted, (&'static str, &'static str)> {
    let most = ACCESS_MOST_MS / HOUR_MS;
    let hours = f.get("hours").map_or(Some(ACCESS_MS / HOUR_MS), |text| text.parse().ok());
    let hours =
        hours.filter(|h| (1..=most).contains(h)).ok_or((lang::access_bad_hours(), lang::access_bad_hours_next()))?;
    let date = |name: &str| f.get(name).map(|text| Zone::parse_date(text).ok_or(()));
    let bad = (lang::access_bad_dates(), lang::access_bad_dates_next());
    let within = match (date("from"), date("to")) {
        (None, None) => None,
        (Some(Ok(from)), Some(Ok(to))) if from <= to => Some((from, to)),
        _ => return Err(bad),
    };
    Ok((within, show.now.plus(hours * HOUR_MS)))
}

/// Makes a link.
pub async fn make(
    State(service): State<Service>,
    Keeper(manages): Keeper,
    jar: CookieJar,
    headers: HeaderMap,
    uri: Uri,
    Form(fields): Form<Sent>,
) -> Response {
    let (f, path) = (Fields(fields), uri.path());
    let name: String = f.get("name").unwrap_or_default().chars().take(NAME).collect();
    let done = async {
        let look = manages.reads().look(&[]).await?;
        match wanted(&f, Show::of(&look.state, look.now)) {
            Ok((within, until)) => Ok::<_, Fault>(Ok(manages.add_access(&name, within, until).await?)),
            Err(said) => Ok(Err(said)),
        }
    };
    match done.await {
        Ok(Ok(code)) => {
            let tag = f.get("language").and_then(Lang::named).unwrap_or(lang::spoken()).tag();
            let address = format!("{}inspect?language={tag}&code={code}", base(&service, &jar, &headers));
            let svg = qr::svg(&address, lang::access_code_alt());
            let groups: Vec<&str> = (0..code.len()).step_by(4).filter_map(|i| code.get(i..i + 4)).collect();
            let made = Made { code: groups.join("-"), address, svg };
            page(&manages, path, (StatusCode::OK, None), Some(made)).await
        }
        Ok(Err((text, next))) => {
            let notice = Notice { bad: true, text: text.into(), next: next.into(), ..Notice::default() };
            page(&manages, path, (StatusCode::BAD_REQUEST, Some(notice)), None).await
        }
        Err(fault) => problem::answer(path, &manages.reads().site, &fault),
    }
}

/// Ends a link.
pub async fn revoke(Keeper(manages): Keeper, Path((_, access)): Path<(String, String)>, uri: Uri) -> Response {
    let site = &manages.reads().site;
    let done = match Id::new(&access) {
        Some(id) => manages.revoke_access(&id).await,
        None => Err(Fault::NotFound("link")),
    };
    match done {
        Ok(()) => Redirect::to(&format!("{}s/{site}/access", root_of(uri.path()))).into_response(),
        Err(fault) => problem::answer(uri.path(), site, &fault),
    }
}

async fn page(
    manages: &Manages,
    path: &str,
    (status, notice): (StatusCode, Option<Notice>),
    made: Option<Made>,
) -> Response {
    let reads = manages.reads();
    let built = async {
        let (look, listed) = (reads.look(&[]).await?, manages.accesses().await?);
        let show = Show::of(&look.state, look.now);
        let names = reads.names().await;
        let mut rows = Vec::new();
        for l in &listed {
            let uses = manages.uses(&l.access).await?.iter().map(|u| used(show, u)).collect();
            let ((over, state), of) = (state(show, l), of(show, l, &names));
            let name = if l.name.is_empty() { lang::access_unnamed().to_owned() } else { l.name.clone() };
            rows.push(Row { access: l.access.clone(), name, state, of, over, uses });
        }
        let (root, key) = (root_of(path), new_key());
        let asked: Asked = asked(reads, &root, &key, notice).await;
        let hours = |ms: i64| (ms / HOUR_MS).to_string();
        let shell = Shell::of(&look.state, look.now, &asked);
        Ok::<_, Fault>(html(status, &Page { shell, made, hours: hours(ACCESS_MS), most: hours(ACCESS_MOST_MS), rows }))
    };
    built.await.unwrap_or_else(|fault| problem::answer(path, &reads.site, &fault))
}
