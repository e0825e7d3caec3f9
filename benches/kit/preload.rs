//! A database with a ledger of any length, written through the store's own statements and sealed by its own chain.

use super::story;
use counterclock::ledger::{Body, Entry, State};
use counterclock::store::ledger::{self as sql, Row};
use counterclock::store::{Db, StoreError, item_row};
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A SQLite file with that many entries, made once and kept; the caller works on a copy.
pub async fn sqlite(dir: &Path, entries: usize) -> Result<PathBuf, StoreError> {
    let file = dir.join(format!("ledger-{entries}.db"));
    if !file.exists() {
        let making = dir.join("making.db");
        for end in ["", "-wal", "-shm"] {
            _ = std::fs::remove_file(format!("{}{end}", making.display()));
        }
        let db = Db::open(&format!("sqlite://{}", making.display())).await?;
        fill(&db, entries).await?;
        // The last connection to close moves the log into the file.
        db.close().await;
        std::fs::rename(&making, &file).map_err(sqlx::Error::from)?;
    }
    Ok(file)
}

/// Fills the site `shop` of an empty database.
pub async fn fill(db: &Db, entries: usize) -> Result<(), StoreError> {
    let mut conn = db.writer().await?;
    sql::add_site(&mut conn, "shop").await?;
    let mut state = State::default();
    let mut all: HashMap<u64, Arc<Entry>> = HashMap::new();
    let mut rows = Vec::new();
    conn.begin().await?;
    for (i, (entry, line, hash)) in story::ledger(entries, 1).enumerate() {
        let entry = Arc::new(entry);
        let about = match entry.body {
            Body::Correct { entry: target, .. } => all[&target].clone(),
            _ => entry.clone(),
        };
        let target = matches!(entry.body, Body::Correct { .. }).then_some(about.meta.seq as i64);
        if let Some(child) = entry.item() {
            for parent in entry.parents() {
                sql::put_made_from(&mut conn, "shop", parent.as_str(), child.as_str()).await?;
            }
        }
        let air_at = matches!(entry.body, Body::AirReading { .. }).then_some(entry.at.0);
        let text = |id: Option<&counterclock::ledger::Id>| id.map(|i| i.as_str().to_owned());
        let (item, place) = (text(about.item()), text(about.air_of()));
        rows.push(Row { seq: entry.meta.seq as i64, kind: entry.kind(), item, place, target, air_at, line });
        if target.is_some() {
            state.correct(&about, entry.clone()).expect("a correction that fits");
        } else {
            state.insert(entry.clone()).expect("an entry that fits");
        }
        all.insert(entry.meta.seq, entry);
        if rows.len() == 6_400 || i + 1 == entries {
            sql::append(&mut conn, "shop", &rows, &hash).await?;
            rows.clear();
            conn.commit().await?;
            conn.begin().await?;
        }
    }
    for id in state.items.keys() {
        if let Some(row) = item_row(&state, id) {
            sql::put_item(&mut conn, "shop", &row).await?;
        }
    }
    conn.commit().await?;
    Ok(())
}

/// Copies a made database to where it may be written.
pub fn copy(from: &Path, to: &Path) -> std::io::Result<String> {
    for end in ["-wal", "-shm"] {
        _ = std::fs::remove_file(format!("{}{end}", to.display()));
    }
    std::fs::copy(from, to)?;
    std::fs::File::open(to)?.sync_all()?;
    Ok(format!("sqlite://{}", to.display()))
}
