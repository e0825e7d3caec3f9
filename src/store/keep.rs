//! Copies of a whole database: a backup is one SQLite file, whatever it is of; it comes under its name only once it is whole.

use super::copy::{CopyError, copy};
use super::{Db, StoreError, exec};
use crate::clock::{Instant, Zone};
use crate::people::tokens::random_hex;
use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::{fs, io};

/// Why there is no backup.
#[derive(Debug, thiserror::Error)]
pub enum KeepError {
    /// There is a file of that name.
    #[error("{0} is there already; a backup is never written over.")]
    There(PathBuf),
    /// There is none.
    #[error("{0} is not there.")]
    Missing(PathBuf),
    /// A file or folder failed.
    #[error("{0}: {1}")]
    File(PathBuf, io::Error),
    /// A database failed.
    #[error(transparent)]
    Copy(#[from] CopyError),
}

impl From<StoreError> for KeepError {
    fn from(e: StoreError) -> KeepError {
        KeepError::Copy(e.into())
    }
}

impl From<sqlx::Error> for KeepError {
    fn from(e: sqlx::Error) -> KeepError {
        KeepError::Copy(StoreError::from(e).into())
    }
}

fn with(path: &Path, end: &str) -> PathBuf {
    let mut name: OsString = path.as_os_str().to_owned();
    name.push(end);
    PathBuf::from(name)
}

fn url(path: &Path) -> String {
    format!("sqlite://{}", path.display())
}

/// What SQLite keeps beside a file.
fn tidy(path: &Path) {
    for end in ["", "-wal", "-shm", "-journal"] {
        _ = fs::remove_file(with(path, end));
    }
}

/// On the disk, with its name.
fn settle(part: &Path, file: &Path) -> io::Result<()> {
    #[cfg(unix)]
    fs::set_permissions(part, std::os::unix::fs::PermissionsExt::from_mode(0o600))?;
    fs::File::open(part)?.sync_all()?;
    // Never over another: a link fails where there is one.
    fs::hard_link(part, file).or_else(|e| if file.exists() { Err(e) } else { fs::rename(part, file) })?;
    _ = fs::remove_file(part);
    let folder = file.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    fs::File::open(folder)?.sync_all()
}

/// Copies a database into a file while it is in use.
pub async fn backup(db: &Db, file: &Path, now: Instant) -> Result<(), KeepError> {
    if file.exists() {
        return Err(KeepError::There(file.to_owned()));
    }
    let part = with(file, ".part");
    tidy(&part);
    let done = match db {
        Db::Sqlite { .. } => {
            let mut conn = db.reader().await?;
            exec!(conn, "vacuum into $1", part.display().to_string()).map(|_| ()).map_err(KeepError::from)
        }
        Db::Postgres(_) => {
            let to = Db::open(&url(&part)).await?;
            let done = copy(db, &to, (now, false), |_, _| {}).await;
            to.close().await;
            done.map_err(KeepError::from)
        }
    };
    let done = done.and_then(|()| settle(&part, file).map_err(|e| KeepError::File(file.to_owned(), e)));
    tidy(&part);
    done
}

/// Fills an empty database from such a file.
pub async fn restore(file: &Path, to: &Db, now: Instant, told: impl FnMut(&str, i64)) -> Result<(), KeepError> {
    if !file.is_file() {
        return Err(KeepError::Missing(file.to_owned()));
    }
    // Read from a copy: one of an earlier version is brought up to date as it is opened, and a backup stays as it is.
    // In a folder of its own that nobody else opens: what a backup holds is not for everybody on the machine.
    let folder = std::env::temp_dir().join(format!("counterclock-restore-{}", random_hex(16)?));
    let mut made = fs::DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut made, 0o700);
    made.create(&folder).map_err(|e| KeepError::File(folder.clone(), e))?;
    let copied = folder.join("copy.db");
    let done = async {
        fs::copy(file, &copied).map_err(|e| KeepError::File(file.to_owned(), e))?;
        let from = Db::open(&url(&copied)).await?;
        let done = copy(&from, to, (now, false), told).await;
        from.close().await;
        done.map_err(KeepError::from)
    };
    let done = done.await;
    _ = fs::remove_dir_all(&folder);
    done
}

/// What a scheduled backup is called.
fn named(now: Instant) -> String {
    let text = now.to_string();
    let digits: String = text.chars().take(19).filter(|c| c.is_ascii_digit()).collect();
    format!("counterclock-{digits}.db")
}

/// The scheduled backups in a folder, the oldest first.
pub fn kept(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let ours = |p: &PathBuf| {
        let name = p.file_name().and_then(|n| n.to_str()).unwrap_or_default();
        let digits = name.strip_prefix("counterclock-").and_then(|n| n.strip_suffix(".db"));
        digits.is_some_and(|d| d.len() == 14 && d.bytes().all(|b| b.is_ascii_digit()))
    };
    let mut found: Vec<PathBuf> = fs::read_dir(folder)?.flatten().map(|e| e.path()).filter(ours).collect();
    found.sort();
    Ok(found)
}

/// When such a file was made, by its name.
pub fn made_at(file: &Path) -> Option<Instant> {
    let name = file.file_name()?.to_str()?;
    let d = name.strip_prefix("counterclock-")?.strip_suffix(".db")?;
    let (date, time) = d.split_at_checked(8)?;
    let day = Zone::parse_date(&format!("{}-{}-{}", date.get(..4)?, date.get(4..6)?, date.get(6..8)?))?;
    let part = |range: std::ops::Range<usize>| time.get(range)?.parse::<i64>().ok();
    let seconds = part(0..2)? * 3600 + part(2..4)? * 60 + part(4..6)?;
    Some(Zone::UTC.day_starts(day).plus(seconds * 1000))
}

/// Makes one more and forgets the oldest beyond so many.
pub async fn scheduled(db: &Db, folder: &Path, keep: usize, now: Instant) -> Result<PathBuf, KeepError> {
    let failed = |e: io::Error| KeepError::File(folder.to_owned(), e);
    fs::create_dir_all(folder).map_err(failed)?;
    let file = folder.join(named(now));
    backup(db, &file, now).await?;
    let all = kept(folder).map_err(failed)?;
    for old in all.iter().take(all.len().saturating_sub(keep)) {
        fs::remove_file(old).map_err(|e| KeepError::File(old.clone(), e))?;
    }
    Ok(file)
}
