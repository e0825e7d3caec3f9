//! `doctor`: what an operator should know of the machine and the database, each with what to do.

use super::{said, there};
use crate::clock::{Clock, HOUR_MS, Instant, MINUTE_MS};
use crate::notice::sql as notices;
use crate::show::Show;
use crate::store::{Db, clock as notes, health, keep, ledger as sql};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Bytes below which a disk is called full: this project's choice.
const FREE_LEAST: u64 = 1 << 30;
/// How old the last backup may be: this project's choice, a day and a half.
const BACKUP_OLD_MS: i64 = 36 * HOUR_MS;
/// How long a notice may wait.
const NOTICE_OLD_MS: i64 = HOUR_MS;
/// How far two clocks may differ.
const CLOCKS_APART_MS: i64 = 2_000;
/// What is looked at besides the database.
pub(super) struct Also {
    /// Where backups go.
    pub backups: Option<PathBuf>,
    /// The certificate and its key.
    pub tls: Option<(PathBuf, PathBuf)>,
}

/// What was found: a line each, and whether somebody has to do something.
#[derive(Default)]
struct Report {
    lines: Vec<(bool, String)>,
}

impl Report {
    fn say(&mut self, fine: bool, good: impl Into<String>, bad: impl Into<String>) {
        self.lines.push((fine, if fine { good.into() } else { bad.into() }));
    }
}

/// Looks at everything; fails if anything is to be done.
pub(super) async fn run(url: String, also: Also) -> Result<ExitCode, String> {
    there(&url)?;
    let now = Clock::of_env().now();
    let mut report = Report::default();
    match Db::open(&url).await {
        Err(e) => report.say(false, "", format!("database: {e}")),
        Ok(db) => {
            report.say(true, "database: it opens, and is of this version", "");
            look(&db, now, &mut report).await.map_err(said)?;
            db.close().await;
        }
    }
    if let Some(file) = health::file(&url) {
        files(file, &mut report);
        let bad = |kind| {
            format!(
                "file system: {} is on {kind}; SQLite's locks don't hold there. Move it to a disk of this machine",
                file.display()
            )
        };
        let kind = health::network(&url);
        report.say(kind.is_none(), "file system: of this machine", kind.map_or_else(String::new, bad));
    }
    backups(also.backups.as_deref(), now, &mut report);
    if let Some((cert, key)) = also.tls {
        match crate::tls::config(&cert, &key, now) {
            Ok((_, None)) => report.say(true, "certificate: good for more than a month", ""),
            Ok((_, Some(soon))) => report.say(false, "", format!("certificate: {soon}")),
            Err(e) => report.say(false, "", format!("certificate: {e}")),
        }
    }
    for (fine, line) in &report.lines {
        println!("{} {line}", if *fine { "ok  " } else { "LOOK" });
    }
    Ok(if report.lines.iter().all(|(fine, _)| *fine) { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

async fn look(db: &Db, now: Instant, report: &mut Report) -> Result<(), crate::store::StoreError> {
    let mut conn = db.reader().await?;
    for (name, value, wanted) in health::settings(&mut conn, db).await? {
        let bad = format!("{name} is `{value}`: set it to `{wanted}`, or a power cut may lose what was acknowledged");
        report.say(value == wanted, format!("{name}: {value}"), bad);
    }
    // The server's clock is the clock of the record.
    if let Some(theirs) = health::clock(&mut conn, db).await? {
        let apart = now.since(theirs).abs();
        let bad = format!(
            "clock: this machine and the database's are {} apart; keep both on NTP",
            Show::seconds(apart / 1000)
        );
        report.say(apart <= CLOCKS_APART_MS, "clock: the same as the database's", bad);
    }
    let seen = notes::last(&mut conn).await?;
    let back = seen.is_some_and(|last| last.since(now) > CLOCKS_APART_MS);
    let bad =
        "clock: it is behind what a server of this database last saw; set it right (NTP) before anything is recorded";
    report.say(!back, format!("clock: {now}; whether it is right only a look at another clock tells"), bad);
    for site in sql::sites(&mut conn).await? {
        let (head, _) = sql::head(&mut conn, &site).await?.unwrap_or_default();
        let broken = crate::check::chain_of(&mut conn, &site, |_, _, _| {}).await?;
        let bad = format!("ledger of `{site}`: {}: {}", broken.clone().unwrap_or_default(), health::BROKEN);
        report.say(broken.is_none(), format!("ledger of `{site}`: {head} entries, every hash as it must be"), bad);
    }
    let oldest = notices::oldest(&mut conn).await?.map_or(0, |made| now.since(made));
    let bad = format!("notices: one has waited for {}; the page “Notices” says why", Show::used(oldest));
    report.say(oldest <= NOTICE_OLD_MS, "notices: none waits for long", bad);
    Ok(())
}

/// What SQLite's file stands on.
fn files(file: &Path, report: &mut Report) {
    let folder = health::folder(file);
    let shown = folder.display();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let open = std::fs::metadata(file).is_ok_and(|m| m.permissions().mode() & 0o007 != 0);
        let bad = format!("file: anybody on this machine may read {0}: chmod o= {0}", file.display());
        report.say(!open, "file: only its owner and group may read it", bad);
    }
    // SQLite needs to make files beside it.
    let probe = folder.join(format!(".counterclock-doctor-{}", std::process::id()));
    let made = std::fs::write(&probe, b"").is_ok();
    _ = std::fs::remove_file(&probe);
    let bad = format!("folder: nothing can be made in {shown}; SQLite needs to. Give it to the account of the service");
    report.say(made, format!("folder: {shown} can be written to"), bad);
    match rustix::fs::statvfs(folder) {
        Ok(fs) => {
            let free = fs.f_bavail.saturating_mul(fs.f_frsize);
            let megabytes = free >> 20;
            let bad =
                format!("disk: {megabytes} MB are left at {shown}; make room, or nothing more can be recorded soon");
            report.say(free >= FREE_LEAST, format!("disk: {megabytes} MB are left"), bad);
        }
        Err(e) => report.say(false, "", format!("disk: {shown} cannot be asked: {e}")),
    }
}

fn backups(folder: Option<&Path>, now: Instant, report: &mut Report) {
    let Some(folder) = folder else {
        let bad = "backups: none is watched; start the service with --backup-dir on another disk, and name it here";
        return report.say(false, "", bad);
    };
    let last = keep::kept(folder).ok().and_then(|all| all.last().cloned());
    match last.as_deref().and_then(|file| Some((file.display().to_string(), keep::made_at(file)?))) {
        None => report.say(false, "", format!("backups: there is none in {}", folder.display())),
        Some((file, made)) => {
            let age = now.since(made).max(0);
            let hours = age / HOUR_MS;
            let bad = format!("backups: the last, {file}, is {hours} h old; look at the service's log");
            let minutes = age / MINUTE_MS % 60;
            report.say(age <= BACKUP_OLD_MS, format!("backups: the last, {file}, is {hours} h {minutes} min old"), bad);
        }
    }
}
