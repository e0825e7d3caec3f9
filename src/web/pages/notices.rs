//! Who is told what: managers add and end receivers, send a try, and see what was delivered and what waits.

use super::forms::Fields;
use super::handlers::{asked, html, new_key};
use super::visitor::Keeper;
use super::{Notice, Shell, problem, root_of};
use crate::clock::Instant;
use crate::lang::{self, Lang};
use crate::ledger::Id;
use crate::notice::hook;
use crate::notice::mail::Mailer;
use crate::notice::sql::Listed;
use crate::notice::{TARGETS_MOST, Target, Topic, Way};
use crate::people::tokens::random_hex;
use crate::web::manages::Manages;
use crate::web::service::Fault;
use crate::web::show::Show;
use askama::Template;
use axum::extract::{Form, Path};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};

/// Characters of a receiver's name at most.
const NAME: usize = 80;
/// The longest lead, in minutes.
const LEAD_MOST: i64 = crate::board::due::LEAD_MOST;

/// The page.
#[derive(Template)]
#[template(path = "notices.html")]
struct Page {
    shell: Shell,
    targets: Vec<Row>,
    sent: Vec<String>,
    topics: Vec<(&'static str, &'static str, bool)>,
    /// Whether mail can be sent at all.
    mail: bool,
    /// A secret that was just made.
    secret: Option<String>,
    f: Fields,
}

struct Row {
    id: Id,
    name: String,
    said: String,
    topics: String,
}

fn topic(t: Topic) -> &'static str {
    match t {
        Topic::Discard => lang::topic_discard(),
        Topic::Limits => lang::topic_limits(),
        Topic::Unmarked => lang::topic_unmarked(),
        Topic::Cold => lang::topic_cold(),
        Topic::Closing => lang::topic_closing(),
    }
}

fn clock(minute: i64) -> String {
    format!("{:02}:{:02}", minute / 60, minute % 60)
}

fn row(t: &Target) -> Row {
    let way = match t.way {
        Way::Mail => lang::notices_by_mail(&t.address),
        Way::Hook => lang::notices_by_hook(&t.address),
    };
    let more = [
        Some(lang::notices_lead_is(&t.lead_minutes.to_string())),
        t.quiet.map(|(from, to)| lang::notices_quiet_is(&clock(from), &clock(to))),
        t.closing.map(|at| lang::notices_closing_is(&clock(at))),
    ];
    let more: Vec<String> = more.into_iter().flatten().collect();
    Row {
        id: t.target.clone(),
        name: t.name.clone(),
        said: format!("{way} {}", more.join(" ")),
        topics: t.topics.iter().map(|t| topic(*t)).collect::<Vec<_>>().join("; "),
    }
}

fn sent(show: Show, l: &Listed, targets: &[Target]) -> String {
    let name = targets.iter().find(|t| t.target.as_str() == l.target);
    let name = name.map_or(l.target.as_str(), |t| t.name.as_str());
    let why = l.said.as_deref().unwrap_or_default();
    let state = match (l.sent_at, l.given_up_at) {
        (Some(at), _) => lang::notices_sent(&show.clock(at)),
        (None, Some(_)) => lang::notices_given_up(why),
        (None, None) if l.tries == 0 => lang::notices_waits(&show.clock(l.next_at)),
        (None, None) => lang::notices_again(&l.tries.to_string(), &show.clock(l.next_at), why),
    };
    lang::notices_line(name, &state, &l.subject, &show.clock(l.made_at))
}

/// The page.
pub(super) async fn show(Keeper(manages): Keeper, uri: Uri) -> Response {
    page(&manages, &uri, (StatusCode::OK, None), None, Fields::default()).await
}

async fn page(
    manages: &Manages,
    uri: &Uri,
    (status, notice): (StatusCode, Option<Notice>),
    secret: Option<String>,
    f: Fields,
) -> Response {
    let reads = manages.reads();
    let built = async {
        let (look, targets, last) = (reads.look(&[]).await?, manages.targets().await?, manages.notices().await?);
        let show = Show::of(&look.state, look.now);
        let (root, key) = (root_of(uri.path()), new_key());
        let asked = asked(reads, &root, &key, notice).await;
        let chosen =
            |t: Topic| if f.has("name") { f.is("topic", t.word()) } else { t == Topic::Discard || t == Topic::Cold };
        let page = Page {
            shell: Shell::of(&look.state, look.now, &asked),
            targets: targets.iter().map(row).collect(),
            sent: last.iter().map(|l| sent(show, l, &targets)).collect(),
            topics: Topic::ALL.map(|t| (t.word(), topic(t), chosen(t))).into(),
            mail: reads.service().senders().is_some_and(|s| s.mail.is_some()),
            secret,
            f,
        };
        Ok::<_, Fault>(html(status, &page))
    };
    built.await.unwrap_or_else(|fault| problem::answer(uri.path(), &reads.site, &fault))
}

fn minute(f: &Fields, name: &str) -> Result<Option<i64>, ()> {
    let Some(text) = f.get(name) else { return Ok(None) };
    let read = |(h, m): (&str, &str)| Some(h.parse::<i64>().ok()? * 60 + m.parse::<i64>().ok()?);
    text.split_once(':').and_then(read).filter(|m| (0..24 * 60).contains(m)).map(Some).ok_or(())
}

/// What was filled in, or what is wrong with it.
fn target(f: &Fields, manages: &Manages) -> Result<Target, String> {
    let senders = manages.reads().service().senders();
    let name = f.get("name").filter(|n| n.chars().count() <= NAME).ok_or_else(|| lang::bad_text(&NAME.to_string()))?;
    let address = f.get("address").unwrap_or_default().to_owned();
    let way = if f.is("way", "webhook") { Way::Hook } else { Way::Mail };
    match (way, &senders) {
        (_, None) => return Err(lang::notices_off().to_owned()),
        (Way::Mail, Some(s)) if s.mail.is_none() => return Err(lang::notices_no_mail().to_owned()),
        (Way::Mail, _) if !Mailer::is_address(&address) => return Err(lang::notices_bad_mail().to_owned()),
        (Way::Hook, Some(s)) => {
            if let Some(why) = s.hooks.wrong(&address) {
                return Err(lang::notices_bad_hook(why));
            }
        }
        _ => {}
    }
    let topics: Vec<Topic> = f.all("topic").filter_map(Topic::named).collect();
    if topics.is_empty() {
        return Err(lang::notices_no_topic().to_owned());
    }
    let lead = f.get("lead").map_or(Some(0), |m| m.parse::<i64>().ok().filter(|m| (0..=LEAD_MOST).contains(m)));
    let lead_minutes = lead.ok_or_else(|| lang::notices_bad_lead(&LEAD_MOST.to_string()))?;
    let bad = |()| lang::notices_bad_time().to_owned();
    let (from, to) = (minute(f, "quiet_from").map_err(bad)?, minute(f, "quiet_to").map_err(bad)?);
    let closing = minute(f, "closing").map_err(bad)?;
    if from.is_some() != to.is_some() || (topics.contains(&Topic::Closing) && closing.is_none()) {
        return Err(lang::notices_bad_time().to_owned());
    }
    let random = || random_hex(6).map_err(|e| e.to_string());
    Ok(Target {
        target: Id::new(&format!("nt-{}", random()?)).ok_or_else(|| lang::form_unknown().to_owned())?,
        name: name.to_owned(),
        way,
        address,
        secret: if way == Way::Hook { hook::secret().map_err(|e| e.to_string())? } else { String::new() },
        topics,
        lead_minutes,
        quiet: from.zip(to),
        closing,
        lang: f.get("language").and_then(Lang::named).unwrap_or(lang::spoken()),
    })
}

/// Adds a receiver.
pub(super) async fn add(Keeper(manages): Keeper, uri: Uri, Form(fields): Form<Vec<(String, String)>>) -> Response {
    let f = Fields(fields);
    let full = match manages.targets().await {
        Ok(all) => all.len() >= TARGETS_MOST,
        Err(fault) => return problem::answer(uri.path(), &manages.reads().site, &fault),
    };
    let made = match full {
        true => Err(lang::notices_too_many(&TARGETS_MOST.to_string())),
        false => target(&f, &manages),
    };
    match made {
        Ok(target) => match manages.add_target(&target).await {
            Ok(()) if target.way == Way::Hook => {
                page(&manages, &uri, (StatusCode::OK, None), Some(target.secret), Fields::default()).await
            }
            Ok(()) => Redirect::to("notices").into_response(),
            Err(fault) => problem::answer(uri.path(), &manages.reads().site, &fault),
        },
        Err(text) => {
            let notice = Notice { bad: true, text, ..Notice::default() };
            page(&manages, &uri, (StatusCode::BAD_REQUEST, Some(notice)), None, f).await
        }
    }
}

/// Ends a receiver, or sends it a try.
pub(super) async fn act(
    Keeper(manages): Keeper,
    Path((_, target, what)): Path<(String, String, String)>,
    uri: Uri,
    Form(fields): Form<Vec<(String, String)>>,
) -> Response {
    let (f, now) = (Fields(fields), manages.reads().service().now());
    let done = match (Id::new(&target), what.as_str()) {
        (Some(id), "end") => manages.end_target(&id).await,
        (Some(id), "try") => manages.try_target(&id, &trial_key(&f, now)).await,
        _ => Err(Fault::NotFound("receiver")),
    };
    match done {
        Ok(()) => Redirect::to("../../notices").into_response(),
        Err(fault) => problem::answer(uri.path(), &manages.reads().site, &fault),
    }
}

/// The second touch of a button sends no second try.
fn trial_key(f: &Fields, now: Instant) -> String {
    f.get("key").map_or_else(|| now.to_string(), |key| key.chars().take(40).collect())
}
