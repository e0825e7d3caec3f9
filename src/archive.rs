//! `archive`: a shop's closed months as files that stand by themselves. Nothing leaves the ledger: a file is a copy, and
//! outside the database it shows what a chain made anew would hide.
//!
//! A month is what was recorded in it, by the shop's calendar: one unbroken stretch of the chain. Before it in its file
//! stand the earlier entries that it needs, so that `verify` and `evaluate` read each file alone, and one after the other.

use crate::check::chain_of;
use crate::clock::{Instant, Zone};
use crate::ledger::{State, chain};
use crate::store::{Conn, Db, StoreError, archive as sql, load, record};
use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Entries read and written at once.
const MANY: usize = 512;

/// What came of a month.
pub enum Kept {
    /// Its file is new.
    Written(PathBuf),
    /// It was there, byte for byte.
    There(PathBuf),
}

/// Why nothing more was archived.
#[derive(Debug, thiserror::Error)]
pub enum Stopped {
    /// The database could not be read.
    #[error("{0}")]
    Store(StoreError),
    /// A file could not be read or written.
    #[error("{path}: {1}. Give --out a folder that can be written to.", path = .0.display())]
    File(PathBuf, io::Error),
    /// The ledger is broken.
    #[error("the ledger of `{0}` is not whole: {1}. Nothing more of it was archived; run `counterclock check`.")]
    Broken(String, String),
    /// A file says otherwise.
    #[error("{} is not what the ledger says of that month. Keep both, and hold them against each other with \
             `counterclock check --archive`; nothing was overwritten.", .0.display())]
    Differs(PathBuf),
}

impl From<StoreError> for Stopped {
    fn from(e: StoreError) -> Stopped {
        Stopped::Store(e)
    }
}

/// A month's stretch of a ledger: its first and last entry.
type Months = BTreeMap<String, (u64, u64)>;

fn month(zone: Zone, t: Instant) -> String {
    let t = zone.local(t);
    format!("{:04}-{:02}", t.year(), u8::from(t.month()))
}

/// The closed months of a shop: those before the one of `now`.
async fn months(conn: &mut Conn, site: &str, now: Instant) -> Result<Months, Stopped> {
    #[derive(serde::Deserialize)]
    struct Recorded {
        recorded_at: String,
    }
    let mut state = State::default();
    load::put(site, &mut state, &load::setup(conn, site).await?)?;
    let zone = state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let mut months = Months::new();
    let each = |seq: u64, line: &str, _| {
        let read = serde_json::from_str::<Recorded>(line).ok().and_then(|r| Instant::parse(&r.recorded_at));
        if let Some(at) = read {
            months.entry(month(zone, at)).or_insert((seq, seq)).1 = seq;
        }
    };
    if let Some(broken) = chain_of(conn, site, each).await? {
        return Err(Stopped::Broken(site.to_owned(), broken));
    }
    months.retain(|m, _| *m < month(zone, now));
    Ok(months)
}

fn lines_of(lines: load::Lines) -> String {
    lines.into_values().fold(String::new(), |text, line| text + &line + "\n")
}

/// Writes every closed month of a shop that isn't there yet, each whole or not at all.
pub async fn write(db: &Db, site: &str, out: &Path, now: Instant) -> Result<Vec<Kept>, Stopped> {
    let folder = out.join(site);
    let failed = |path: &Path| {
        let path = path.to_owned();
        move |e| Stopped::File(path, e)
    };
    let mut conn = db.reader().await?;
    let mut done = Vec::new();
    for (month, stretch) in months(&mut conn, site, now).await? {
        fs::create_dir_all(&folder).map_err(failed(&folder))?;
        let path = folder.join(format!("{month}.jsonl"));
        let half = folder.join(format!("{month}.jsonl.part"));
        let numbers = sql::numbers(&mut conn, site, stretch).await?;
        let mut file = fs::File::create(&half).map_err(failed(&half))?;
        for some in numbers.chunks(MANY) {
            let text = lines_of(record::numbered(&mut conn, site, some).await?);
            file.write_all(text.as_bytes()).map_err(failed(&half))?;
        }
        file.sync_all().map_err(failed(&half))?;
        if !path.exists() {
            fs::rename(&half, &path).map_err(failed(&path))?;
            fs::File::open(&folder).and_then(|f| f.sync_all()).map_err(failed(&folder))?;
            done.push(Kept::Written(path));
            continue;
        }
        let same = fs::read(&path).map_err(failed(&path))? == fs::read(&half).map_err(failed(&half))?;
        fs::remove_file(&half).map_err(failed(&half))?;
        if !same {
            return Err(Stopped::Differs(path));
        }
        done.push(Kept::There(path));
    }
    Ok(done)
}

/// Holds a shop's archived months against its ledger: what is wrong, if anything. Every line is in the ledger as it stands
/// there, and from the first entry to the last archived one none is missing.
pub async fn held(conn: &mut Conn, site: &str, out: &Path) -> Result<Option<String>, Stopped> {
    let folder = out.join(site);
    let files = fs::read_dir(&folder).map_err(|e| Stopped::File(folder.clone(), e))?.flatten().map(|f| f.path());
    let mut files: Vec<PathBuf> = files.filter(|p| p.extension().is_some_and(|e| e == "jsonl")).collect();
    files.sort();
    let mut seen: Vec<u64> = Vec::new();
    for path in &files {
        let text = fs::read_to_string(path).map_err(|e| Stopped::File(path.clone(), e))?;
        let mut lines: Vec<(u64, &str)> = Vec::new();
        for (n, line) in text.split_terminator('\n').enumerate() {
            match chain::check(None, line).ok().and_then(|_| chain::seq(line)) {
                Some(seq) => lines.push((seq, line)),
                None => {
                    return Ok(Some(format!(
                        "{}, line {}: its `hash` is not that of its contents",
                        path.display(),
                        n + 1
                    )));
                }
            }
        }
        for some in lines.chunks(MANY) {
            let numbers: Vec<u64> = some.iter().map(|(seq, _)| *seq).collect();
            let ledger = record::numbered(conn, site, &numbers).await?;
            let other = some.iter().find(|(seq, line)| ledger.get(seq).is_none_or(|l| l != line));
            if let Some((seq, _)) = other {
                return Ok(Some(format!("{}: entry {seq} is not so in the ledger", path.display())));
            }
        }
        seen.extend(lines.iter().map(|(seq, _)| *seq));
    }
    seen.sort_unstable();
    seen.dedup();
    let gap = (1..).zip(&seen).find(|(n, seq)| n != *seq);
    Ok(match (seen.is_empty(), gap) {
        (true, _) => Some(format!("{} holds no archived month", folder.display())),
        (_, Some((n, _))) => Some(format!("entry {n} is in no file of {}", folder.display())),
        _ => None,
    })
}
