//! The statements about who is told what, and about what is on its way.

use super::{Notice, Sent, Target, Topic, Way, after_quiet, told};
use crate::clock::{Instant, Zone};
use crate::lang::Lang;
use crate::ledger::Id;
use crate::people::tokens::random_hex;
use crate::store::{Conn, StoreError, exec, rows};

const TARGETS: &str =
    "select target, name, way, address, secret, topics, lead_minutes, quiet_from, quiet_to, closing, lang
    from notice_target where site = $1 and ended_at is null order by made_at, target";
const ADD_TARGET: &str = "insert into notice_target (site, target, name, way, address, secret, topics, lead_minutes,
    quiet_from, quiet_to, closing, lang, made_by, made_at)
    values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14)";
const END_TARGET: &str = "update notice_target set ended_at = $3, ended_why = $4, secret = '', address = ''
    where site = $1 and target = $2 and ended_at is null";
const DROP_OF: &str = "update outbox set given_up_at = $3, said = $4 where site = $1 and target = $2
    and sent_at is null and given_up_at is null";
const ADD: &str = "insert into outbox (site, notice, target, about, subject, text, body, made_at, next_at, tries)
    values ($1, $2, $3, $4, $5, $6, $7, $8, $9, 0) on conflict (site, target, about) do nothing";
const DUE: &str = "select distinct site, target from outbox
    where sent_at is null and given_up_at is null and next_at <= $1 limit $2";
// What another server has just taken has another time by then, so nobody takes it twice.
const TAKE: &str = "update outbox set next_at = $4, tries = tries + 1
    where site = $1 and target = $2 and sent_at is null and given_up_at is null and next_at <= $3 and notice in (
        select notice from outbox where site = $1 and target = $2 and sent_at is null and given_up_at is null
        and next_at <= $3 order by made_at, notice limit $5)
    returning notice, subject, text, body, made_at, tries";
const SENT: &str = "update outbox set sent_at = $3, said = null where site = $1 and notice = $2";
const AGAIN: &str = "update outbox set next_at = $3, said = $4 where site = $1 and notice = $2 and sent_at is null";
const GIVEN_UP: &str =
    "update outbox set given_up_at = $3, said = $4 where site = $1 and notice = $2 and sent_at is null";
const LAST: &str = "select target, subject, made_at, next_at, tries, sent_at, given_up_at, said from outbox
    where site = $1 order by made_at desc, notice limit $2";
const OLDEST: &str = "select min(made_at) from outbox where sent_at is null and given_up_at is null";
const TIDY: &str = "delete from outbox where made_at < $1 and (sent_at is not null or given_up_at is not null)";

type TargetRow = (String, String, String, String, String, String, i64, Option<i64>, Option<i64>, Option<i64>, String);

fn target(r: TargetRow) -> Option<Target> {
    Some(Target {
        target: Id::new(&r.0)?,
        name: r.1,
        way: if r.2 == Way::Hook.word() { Way::Hook } else { Way::Mail },
        address: r.3,
        secret: r.4,
        topics: r.5.split(' ').filter_map(Topic::named).collect(),
        lead_minutes: r.6,
        quiet: r.7.zip(r.8),
        closing: r.9,
        lang: Lang::named(&r.10).unwrap_or(Lang::En),
    })
}

/// Those of a shop.
pub async fn targets(conn: &mut Conn, site: &str) -> Result<Vec<Target>, StoreError> {
    Ok(rows!(conn, TargetRow, TARGETS, site)?.into_iter().filter_map(target).collect())
}

/// Adds one.
pub async fn add_target(conn: &mut Conn, site: &str, t: &Target, by: &Id, now: Instant) -> Result<(), StoreError> {
    let topics = t.topics.iter().map(|t| t.word()).collect::<Vec<_>>().join(" ");
    let (from, to) = t.quiet.unzip();
    let (id, name, way, address) = (t.target.as_str(), t.name.as_str(), t.way.word(), t.address.as_str());
    let (secret, lang) = (t.secret.as_str(), t.lang.tag());
    exec!(
        conn,
        ADD_TARGET,
        site,
        id,
        name,
        way,
        address,
        secret,
        &topics,
        t.lead_minutes,
        from,
        to,
        t.closing,
        lang,
        by.as_str(),
        now.0
    )?;
    Ok(())
}

/// Ends one, and what is on its way to it; where it was and what it was signed with is forgotten.
pub async fn end_target(conn: &mut Conn, site: &str, id: &str, why: &str, now: Instant) -> Result<bool, StoreError> {
    exec!(conn, DROP_OF, site, id, now.0, why)?;
    Ok(exec!(conn, END_TARGET, site, id, now.0, why)? == 1)
}

/// Puts a notice on its way to a target, unless it was before.
pub async fn post(
    conn: &mut Conn,
    site: &str,
    to: &Target,
    n: &Notice,
    (zone, now): (Zone, Instant),
) -> Result<(), StoreError> {
    let notice = random_hex(16)?;
    let next = after_quiet(to.quiet, zone, now);
    let (id, key, body) = (to.target.as_str(), n.key.as_str(), n.body.to_string());
    exec!(conn, ADD, site, &notice, id, key, n.subject.as_str(), n.text.as_str(), &body, now.0, next.0)?;
    Ok(())
}

/// The same to each that is told of it, in its language: `compose` is asked within it.
pub async fn tell(
    conn: &mut Conn,
    site: &str,
    targets: &[Target],
    at: (Zone, Instant),
    compose: impl Fn() -> Option<Notice>,
) -> Result<(), StoreError> {
    for to in targets {
        if let Some(n) = crate::lang::within(to.lang, &compose).filter(|n| told(to, n)) {
            post(conn, site, to, &n, at).await?;
        }
    }
    Ok(())
}

/// Whom something is to be sent to now: site and target.
pub async fn due(conn: &mut Conn, now: Instant, most: i64) -> Result<Vec<(String, String)>, StoreError> {
    Ok(rows!(conn, (String, String), DUE, now.0, most)?)
}

/// Takes what is to be sent to one of them now, at most so many, for nobody else to send until `lease`.
pub async fn take(
    conn: &mut Conn,
    (site, to): (&str, &str),
    (now, lease): (Instant, Instant),
    most: i64,
) -> Result<Vec<Sent>, StoreError> {
    type Row = (String, String, String, String, i64, i64);
    let found = rows!(conn, Row, TAKE, site, to, now.0, lease.0, most)?;
    let target = targets(conn, site).await?.into_iter().find(|t| t.target.as_str() == to);
    let Some(target) = target else {
        for (notice, ..) in found {
            given_up(conn, site, &notice, now, "the receiver was ended").await?;
        }
        return Ok(Vec::new());
    };
    let one = |(notice, subject, text, body, made, tries): Row| {
        let (site, target) = (site.to_owned(), target.clone());
        Sent { site, notice, target, subject, text, body, made_at: Instant(made), tries }
    };
    let mut taken: Vec<Sent> = found.into_iter().map(one).collect();
    taken.sort_by(|a, b| (a.made_at, &a.notice).cmp(&(b.made_at, &b.notice)));
    Ok(taken)
}

/// It was delivered.
pub async fn sent(conn: &mut Conn, site: &str, notice: &str, now: Instant) -> Result<(), StoreError> {
    exec!(conn, SENT, site, notice, now.0)?;
    Ok(())
}

/// It wasn't: when it is tried again, and why it failed.
pub async fn again(conn: &mut Conn, site: &str, notice: &str, at: Instant, why: &str) -> Result<(), StoreError> {
    exec!(conn, AGAIN, site, notice, at.0, why)?;
    Ok(())
}

/// It won't be tried again.
pub async fn given_up(conn: &mut Conn, site: &str, notice: &str, now: Instant, why: &str) -> Result<(), StoreError> {
    exec!(conn, GIVEN_UP, site, notice, now.0, why)?;
    Ok(())
}

/// A notice as managers see it.
pub struct Listed {
    /// To whom.
    pub target: String,
    /// Its line.
    pub subject: String,
    /// When it was made.
    pub made_at: Instant,
    /// When it is tried next.
    pub next_at: Instant,
    /// How often it was tried.
    pub tries: i64,
    /// When it was delivered.
    pub sent_at: Option<Instant>,
    /// When it was given up.
    pub given_up_at: Option<Instant>,
    /// What went wrong last.
    pub said: Option<String>,
}

/// The last ones of a shop.
pub async fn last(conn: &mut Conn, site: &str, most: i64) -> Result<Vec<Listed>, StoreError> {
    type Row = (String, String, i64, i64, i64, Option<i64>, Option<i64>, Option<String>);
    let one = |(target, subject, made, next, tries, sent, given_up, said): Row| Listed {
        target,
        subject,
        made_at: Instant(made),
        next_at: Instant(next),
        tries,
        sent_at: sent.map(Instant),
        given_up_at: given_up.map(Instant),
        said,
    };
    Ok(rows!(conn, Row, LAST, site, most)?.into_iter().map(one).collect())
}

/// When the oldest was made that still waits, of all shops.
pub async fn oldest(conn: &mut Conn) -> Result<Option<Instant>, StoreError> {
    Ok(rows!(conn, (Option<i64>,), OLDEST)?.pop().and_then(|r| r.0).map(Instant))
}

/// Forgets what was dealt with before.
pub async fn tidy(conn: &mut Conn, before: Instant) -> Result<(), StoreError> {
    exec!(conn, TIDY, before.0)?;
    Ok(())
}
