//! `backup`, `restore`, `move`: copies of a whole database, each checked before it is called done.

use super::{checks, said, there};
use crate::clock::Clock;
use crate::store::copy::{CopyError, copy};
use crate::store::keep;
use crate::store::{Db, StoreError};
use std::path::PathBuf;
use std::process::ExitCode;

/// Copies a database into a file while it is in use.
pub(super) async fn backup(url: String, file: PathBuf) -> Result<ExitCode, String> {
    there(&url)?;
    let db = Db::open(&url).await.map_err(said)?;
    keep::backup(&db, &file, Clock::System.now()).await.map_err(said)?;
    db.close().await;
    println!("{}: written. Keep it on another machine; `restore` fills an empty database from it.", file.display());
    Ok(ExitCode::SUCCESS)
}

fn told(table: &str, rows: i64) {
    if rows > 0 {
        println!("{table}: {rows} rows");
    }
}

/// Fills an empty database from such a file, and checks it.
pub(super) async fn restore(file: PathBuf, url: String) -> Result<ExitCode, String> {
    let db = Db::unfinished(&url).await.map_err(said)?;
    keep::restore(&file, &db, Clock::System.now(), told).await.map_err(said)?;
    checked(db).await
}

/// Moves everything from one database into another, and checks it. The first stays as it was.
pub(super) async fn moved(from: String, to: String) -> Result<ExitCode, String> {
    if from == to {
        return Err(String::from("--from and --to are the same database."));
    }
    there(&from)?;
    let source = Db::open(&from).await.map_err(|e| format!("--from: {e}"))?;
    let target = Db::unfinished(&to).await.map_err(|e| format!("--to: {e}"))?;
    match copy(&source, &target, (Clock::System.now(), true), told).await {
        Ok(()) => {}
        Err(CopyError::Store(StoreError::Sql(e))) => {
            return Err(format!("the move broke off: {e}. Do the same again; it goes on where it was."));
        }
        Err(e) => return Err(e.to_string()),
    }
    source.close().await;
    let code = checked(target).await?;
    println!(
        "The first database is as it was. Start the service with --db on the new one, and keep the old one until then."
    );
    Ok(code)
}

async fn checked(db: Db) -> Result<ExitCode, String> {
    let mut sound = true;
    for (site, found) in crate::check::database(&db).await.map_err(said)? {
        sound &= checks::report(&site, &found) == ExitCode::SUCCESS;
    }
    db.close().await;
    Ok(if sound { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}
