//! What the disk and SQLite give by themselves, beside which the service's figures stand.

use super::args::quantile;
use sqlx::sqlite::{SqliteConnectOptions, SqliteConnection, SqliteJournalMode, SqliteSynchronous};
use sqlx::{AssertSqlSafe, ConnectOptions, Connection, PgConnection};
use std::io::Write;
use std::path::Path;
use std::time::{Duration, Instant};

/// Rows a transaction holds: as many as there are connections that wait for their answer.
pub struct Floor {
    pub rows_per_s: f64,
    pub commit_ms: f64,
}

/// Inserts ledger-like rows, one multi-row statement a transaction, into a table with the columns and the key of
/// `entry`, and (`whole`) with its indexes and triggers too. Same pragmas as the service's.
pub async fn insert_loop(dir: &Path, rows: usize, seconds: f64, whole: bool) -> sqlx::Result<Floor> {
    let file = dir.join(format!("floor-{whole}.db"));
    for end in ["", "-wal", "-shm"] {
        _ = std::fs::remove_file(format!("{}{end}", file.display()));
    }
    let options = SqliteConnectOptions::new()
        .filename(&file)
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .foreign_keys(true)
        .pragma("recursive_triggers", "ON");
    let mut c: SqliteConnection = options.connect().await?;
    if whole {
        sqlx::raw_sql(include_str!("../../migrations/sqlite/0001_ledger.sql")).execute(&mut c).await?;
        sqlx::query("insert into site (site, head, hash) values ('shop', 0, '')").execute(&mut c).await?;
    } else {
        let table = "create table entry (site text not null, seq integer not null, kind text not null, item text,
            place text, target integer, air_at integer, line text not null, primary key (site, seq)) strict, without rowid";
        sqlx::raw_sql(table).execute(&mut c).await?;
    }
    let values = vec!["(?, ?, ?, ?, ?, ?, ?)"; rows];
    let text = format!("insert into entry (site, seq, kind, item, place, target, line) values {}", values.join(", "));
    let line = format!(r#"{{"at":"2026-05-02T15:20:00.000Z","kind":"move","rest":"{}"}}"#, "x".repeat(300));
    let (mut seq, started, mut commits) = (0_i64, Instant::now(), Vec::new());
    while started.elapsed().as_secs_f64() < seconds {
        sqlx::query("begin immediate").execute(&mut c).await?;
        let mut q = sqlx::query(AssertSqlSafe(text.as_str()));
        for _ in 0..rows {
            seq += 1;
            let item = format!("cake-{}", seq % 2_000);
            q = q.bind("shop").bind(seq).bind("move").bind(item).bind(None::<String>).bind(None::<i64>).bind(&line);
        }
        q.execute(&mut c).await?;
        let at = Instant::now();
        sqlx::query("commit").execute(&mut c).await?;
        commits.push(at.elapsed().as_secs_f64() * 1e3);
    }
    let rows_per_s = seq as f64 / started.elapsed().as_secs_f64();
    c.close().await?;
    commits.sort_by(f64::total_cmp);
    Ok(Floor { rows_per_s, commit_ms: quantile(&commits, 0.5) })
}

/// The same on a PostgreSQL server, without indexes and triggers: `loops` connections at once, each with rows of its own shop.
/// Rows a second of all of them.
pub async fn insert_loops(url: &str, loops: usize, rows: usize, seconds: f64) -> sqlx::Result<f64> {
    let mut c = PgConnection::connect(url).await?;
    let table =
        "drop table if exists floor; create table floor (site text not null, seq bigint not null, kind text not null,
        item text, place text, target bigint, air_at bigint, line text not null, primary key (site, seq))";
    sqlx::raw_sql(table).execute(&mut c).await?;
    let values: Vec<String> = (0..rows).map(|n| format!("($1, ${}, 'move', 'cake', null, null, $2)", n + 3)).collect();
    let text = format!("insert into floor (site, seq, kind, item, place, target, line) values {}", values.join(", "));
    let line = format!(r#"{{"at":"2026-05-02T15:20:00.000Z","kind":"move","rest":"{}"}}"#, "x".repeat(300));
    let one = async |shop: usize| -> sqlx::Result<i64> {
        let mut c = PgConnection::connect(url).await?;
        let (site, mut seq, started) = (format!("shop{shop}"), 0_i64, Instant::now());
        while started.elapsed().as_secs_f64() < seconds {
            let mut q = sqlx::query(AssertSqlSafe(text.as_str())).bind(&site).bind(&line);
            for _ in 0..rows {
                seq += 1;
                q = q.bind(seq);
            }
            q.execute(&mut c).await?;
        }
        c.close().await?;
        Ok(seq)
    };
    let started = Instant::now();
    let made = futures_util::future::join_all((0..loops).map(one)).await;
    let all: i64 = made.into_iter().sum::<sqlx::Result<i64>>()?;
    Ok(all as f64 / started.elapsed().as_secs_f64())
}

/// The median time an append of 4 KiB takes to reach the disk, in milliseconds.
pub fn fdatasync_ms(dir: &Path) -> std::io::Result<f64> {
    let file = dir.join("fdatasync");
    let mut f = std::fs::File::create(&file)?;
    let mut took = Vec::new();
    let patience = Instant::now();
    while took.len() < 400 && patience.elapsed() < Duration::from_secs(5) {
        f.write_all(&[7; 4096])?;
        let at = Instant::now();
        f.sync_data()?;
        took.push(at.elapsed().as_secs_f64() * 1e3);
    }
    std::fs::remove_file(file)?;
    took.sort_by(f64::total_cmp);
    Ok(quantile(&took, 0.5))
}
