//! Brings a database up to date; refuses one that is newer than the program.

use super::{AnyConn, Conn, Db, StoreError, exec, rows};
use sha2::{Digest, Sha256};

/// A migration's number, SQLite's text, PostgreSQL's text.
macro_rules! migration {
    ($number:literal, $name:literal) => {
        (
            $number,
            include_str!(concat!("../../migrations/sqlite/", $name, ".sql")),
            include_str!(concat!("../../migrations/postgres/", $name, ".sql")),
        )
    };
}

/// In order of their numbers. An applied file is never edited.
const MIGRATIONS: &[(i64, &str, &str)] = &[
    migration!(1, "0001_ledger"),
    migration!(2, "0002_people"),
    migration!(3, "0003_tags"),
    migration!(4, "0004_procedure"),
    migration!(5, "0005_due"),
    migration!(6, "0006_cold"),
    migration!(7, "0007_access"),
    migration!(8, "0008_clock"),
    migration!(9, "0009_language"),
    migration!(10, "0010_untaken"),
    migration!(11, "0011_come_back"),
    migration!(12, "0012_plan"),
    migration!(13, "0013_handover"),
    migration!(14, "0014_notice"),
    migration!(15, "0015_moving"),
];

/// Whether the database is being filled from another.
pub(super) async fn moving(db: &Db) -> Result<bool, StoreError> {
    let mut conn = db.reader().await?;
    Ok(!rows!(conn, (i64,), "select one from moving")?.is_empty())
}

/// The table that says which migrations there were.
async fn make_table(conn: &mut Conn, postgres: bool) -> Result<u64, sqlx::Error> {
    if postgres {
        // On a machine with much to do all migrations take longer than any other lock is waited for.
        exec!(conn, "set local lock_timeout = '60s'")?;
    }
    exec!(conn, "create table if not exists migration (number bigint primary key, hash text not null)")
}

pub(super) async fn run(db: &Db) -> Result<(), StoreError> {
    let mut conn = db.writer().await?;
    let opened = |e: sqlx::Error| StoreError::Open(e.to_string());
    // Two servers that start at once: one migrates, the other waits for the table's lock or SQLite's.
    conn.begin().await.map_err(|e| StoreError::Open(e.to_string()))?;
    let postgres = matches!(conn.inner, Some(AnyConn::Postgres(_)));
    if make_table(&mut conn, postgres).await.is_err() {
        // PostgreSQL's `if not exists` fails where another has been making the table meanwhile; then it is there.
        conn.rollback().await.map_err(opened)?;
        conn.begin().await.map_err(|e| StoreError::Open(e.to_string()))?;
        make_table(&mut conn, postgres).await.map_err(opened)?;
    }
    if postgres {
        exec!(conn, "lock table migration in exclusive mode")?;
    }
    let applied = rows!(conn, (i64, String), "select number, hash from migration order by number")?;
    let known = MIGRATIONS.last().map_or(0, |m| m.0);
    if let Some((newest, _)) = applied.last().filter(|(n, _)| *n > known) {
        return Err(StoreError::Newer(*newest, known));
    }
    for (number, sqlite, postgres_text) in MIGRATIONS {
        let text = if postgres { postgres_text } else { sqlite };
        let hash: String = hex::encode(Sha256::digest(text));
        match applied.iter().find(|(n, _)| n == number) {
            Some((_, was)) if *was != hash => return Err(StoreError::Changed(*number)),
            Some(_) => continue,
            None => {}
        }
        match conn.inner.as_mut() {
            Some(AnyConn::Sqlite(c)) => _ = sqlx::raw_sql(*text).execute(&mut **c).await?,
            Some(AnyConn::Postgres(c)) => _ = sqlx::raw_sql(*text).execute(&mut **c).await?,
            None => {}
        }
        exec!(conn, "insert into migration (number, hash) values ($1, $2)", number, hash)?;
    }
    conn.commit().await?;
    Ok(())
}
