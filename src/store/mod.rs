//! The store room: databases. Connecting, migrating, one macro for one SQL text on both.

pub mod archive;
pub mod clock;
pub mod cold;
pub mod come_back;
pub mod copy;
mod deciding;
pub mod due;
mod effects;
pub mod health;
pub mod keep;
pub mod ledger;
pub mod load;
mod migrate;
pub mod oversight;
pub mod plans;
pub mod record;
pub mod untaken;
pub mod writer;

pub use effects::item_row;
pub use load::Lines;

use sqlx::pool::PoolConnection;
use sqlx::postgres::{PgConnectOptions, PgPoolOptions};
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};
use sqlx::{ConnectOptions, Connection, PgPool, Postgres, Sqlite, SqlitePool};
use std::str::FromStr;
use std::time::Duration;

/// A database. SQLite has one connection that writes and a few that read.
#[derive(Clone)]
pub enum Db {
    /// A file.
    Sqlite {
        /// The one that writes.
        writer: SqlitePool,
        /// Those that read.
        readers: SqlitePool,
    },
    /// A server.
    Postgres(PgPool),
}

/// A connection, and whether a transaction is open on it.
pub struct Conn {
    /// The connection itself; gone only while it is being dropped.
    pub inner: Option<AnyConn>,
    open: bool,
}

/// Either kind of connection.
pub enum AnyConn {
    /// SQLite.
    Sqlite(PoolConnection<Sqlite>),
    /// PostgreSQL.
    Postgres(PoolConnection<Postgres>),
}

/// Why a database cannot be used, in a sentence for its operator.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The address makes no sense.
    #[error("the database address must be sqlite://FILE or postgres://…, not `{0}`")]
    Address(String),
    /// It cannot be opened.
    #[error(
        "the database cannot be opened: {0}. Check that it is there, can be written, and isn't locked by another program."
    )]
    Open(String),
    /// It was made by a newer program.
    #[error(
        "the database was made by a newer counterclock (it has migration {0}, this program knows {1}); use that one."
    )]
    Newer(i64, i64),
    /// It was to be filled from another, and that broke off.
    #[error("filling this database was not finished; do the same `move` or `restore` again, or name another.")]
    Unfinished,
    /// A migration that was applied reads differently now.
    #[error("migration {0} was changed after it was applied; this program and the database don't belong together.")]
    Changed(i64),
    /// PostgreSQL is too old.
    #[error("PostgreSQL {0} is too old; counterclock needs 14 or newer.")]
    Old(String),
    /// A statement failed.
    #[error("the database failed: {0}")]
    Sql(#[from] sqlx::Error),
    /// What is stored can't be read.
    #[error("the ledger of `{site}` can't be read at entry {seq}: {why}: {next}", next = health::BROKEN)]
    Unreadable {
        /// Whose.
        site: String,
        /// Where.
        seq: u64,
        /// Why.
        why: String,
    },
}

/// Runs a statement on either database: `exec!(conn, SQL, a, b)`; rows affected.
macro_rules! exec {
    ($conn:expr, $sql:expr $(, $bind:expr)* $(,)?) => {
        match $conn.inner.as_mut() {
            Some($crate::store::AnyConn::Sqlite(c)) => {
                sqlx::query($sql)$(.bind($bind))*.execute(&mut **c).await.map(|r| r.rows_affected())
            }
            Some($crate::store::AnyConn::Postgres(c)) => {
                sqlx::query($sql)$(.bind($bind))*.execute(&mut **c).await.map(|r| r.rows_affected())
            }
            None => Err(sqlx::Error::PoolClosed),
        }
    };
}

/// Asks either database: `rows!(conn, (i64, String), SQL, a, b)`; a vector of tuples.
macro_rules! rows {
    ($conn:expr, $ty:ty, $sql:expr $(, $bind:expr)* $(,)?) => {
        match $conn.inner.as_mut() {
            Some($crate::store::AnyConn::Sqlite(c)) => {
                sqlx::query_as::<_, $ty>($sql)$(.bind($bind))*.fetch_all(&mut **c).await
            }
            Some($crate::store::AnyConn::Postgres(c)) => {
                sqlx::query_as::<_, $ty>($sql)$(.bind($bind))*.fetch_all(&mut **c).await
            }
            None => Err(sqlx::Error::PoolClosed),
        }
    };
}

/// Rows that one statement of [`Many`] is about: a list is cut into few of them, whatever its length.
const SIZES: [usize; 7] = [64, 32, 16, 8, 4, 2, 1];

/// A statement about many rows at once, in a few fixed sizes: row by row is several times slower, and every size is a
/// statement to prepare.
struct Many {
    sqlite: [String; SIZES.len()],
    postgres: [String; SIZES.len()],
}

impl Many {
    /// `before`, then `row` as often as there are rows, each `?` a mark of its own, with `between` between them, then `after`.
    fn new(before: &str, row: &str, between: &str, after: &str) -> Many {
        let text = |n: usize, mark: fn(usize) -> String| {
            let mut marks = (1..).map(mark);
            let rows = vec![row; n].join(between);
            let mut parts = rows.split('?');
            let first = parts.next().unwrap_or_default().to_owned();
            let rows = parts.fold(first, |done, part| done + &marks.next().unwrap_or_default() + part);
            format!("{before}{rows}{after}")
        };
        // SQLite looks a numbered parameter up by its name, one after the other: there they are plain marks.
        let sqlite = SIZES.map(|n| text(n, |_| String::from("?")));
        Many { sqlite, postgres: SIZES.map(|n| text(n, |c| format!("${c}"))) }
    }
}

/// Runs a [`Many`] for all of a slice on either database: `many!(conn, MANY, rows, r => r.a, r.b)`.
macro_rules! many {
    ($conn:expr, $many:expr, $rows:expr, $r:pat => $($bind:expr),+ $(,)?) => {{
        // The texts are made from column numbers alone.
        macro_rules! run {
            ($c:expr, $texts:expr) => {{
                let mut rest = $rows;
                for (size, text) in $crate::store::SIZES.iter().zip($texts) {
                    while rest.len() >= *size {
                        let (now, later) = rest.split_at(*size);
                        let mut q = sqlx::query(sqlx::AssertSqlSafe(text.as_str()));
                        for $r in now {
                            q = q$(.bind($bind))+;
                        }
                        q.execute(&mut **$c).await?;
                        rest = later;
                    }
                }
            }};
        }
        match $conn.inner.as_mut() {
            Some($crate::store::AnyConn::Sqlite(c)) => run!(c, &$many.sqlite),
            Some($crate::store::AnyConn::Postgres(c)) => run!(c, &$many.postgres),
            None => return Err(sqlx::Error::PoolClosed.into()),
        }
    }};
}
pub(crate) use {exec, many, rows};

/// How long a lock that another program holds is waited for.
const BUSY: Duration = Duration::from_secs(5);

impl Db {
    /// Opens `sqlite://FILE` or `postgres://…` and brings it up to date.
    pub async fn open(url: &str) -> Result<Db, StoreError> {
        let db = Db::unfinished(url).await?;
        if migrate::moving(&db).await? {
            return Err(StoreError::Unfinished);
        }
        Ok(db)
    }

    /// The same, also where it is being filled from another.
    pub async fn unfinished(url: &str) -> Result<Db, StoreError> {
        // Two that make the same file at once: one finds it locked for a moment, and SQLite doesn't wait for that lock.
        let until = tokio::time::Instant::now() + BUSY;
        loop {
            match Db::once(url).await {
                Err(StoreError::Open(why)) if why.contains("is locked") && tokio::time::Instant::now() < until => {
                    tokio::time::sleep(Duration::from_millis(50)).await;
                }
                done => return done,
            }
        }
    }

    async fn once(url: &str) -> Result<Db, StoreError> {
        let db = Db::connect(url).await?;
        migrate::run(&db).await?;
        Ok(db)
    }

    async fn connect(url: &str) -> Result<Db, StoreError> {
        let opened = |e: sqlx::Error| StoreError::Open(e.to_string());
        if url.starts_with("postgres://") || url.starts_with("postgresql://") {
            let options = PgConnectOptions::from_str(url).map_err(opened)?.application_name("counterclock");
            let options = options.options([("lock_timeout", format!("{}ms", BUSY.as_millis()))]);
            // By itself first: the pool would try again and again before it says why it can't.
            let mut first = options.connect().await.map_err(opened)?;
            let version: String = sqlx::query_scalar("show server_version_num").fetch_one(&mut first).await?;
            first.close().await?;
            let pool = PgPoolOptions::new().max_connections(12).acquire_timeout(Duration::from_secs(10));
            let pool = pool.connect_with(options).await.map_err(opened)?;
            if version.parse::<u32>().is_ok_and(|v| v < 140_000) {
                return Err(StoreError::Old(version));
            }
            return Ok(Db::Postgres(pool));
        }
        let Some(file) = url.strip_prefix("sqlite://").filter(|f| !f.is_empty()) else {
            let shown: String = url.split("://").next().unwrap_or("").chars().take(20).collect();
            return Err(StoreError::Address(shown));
        };
        // Set by us: a power cut after an answer must not lose it, hence FULL.
        let options = SqliteConnectOptions::new()
            .filename(file)
            .create_if_missing(true)
            .journal_mode(SqliteJournalMode::Wal)
            .synchronous(synchronous())
            .foreign_keys(true)
            .busy_timeout(BUSY)
            .pragma("recursive_triggers", "ON");
        let pool = |n| SqlitePoolOptions::new().max_connections(n).acquire_timeout(Duration::from_secs(10));
        // What a statement may have to undo stays in memory: a large batch's would go into a file of its own in /var/tmp,
        // made and removed each time. The readers sort by file: a whole ledger must not need memory.
        let in_memory = options.clone().pragma("temp_store", "MEMORY");
        let writer = pool(1).connect_with(in_memory).await.map_err(opened)?;
        let readers = pool(4).connect_lazy_with(options);
        Ok(Db::Sqlite { writer, readers })
    }

    /// A connection to write with.
    pub async fn writer(&self) -> Result<Conn, StoreError> {
        let inner = match self {
            Db::Sqlite { writer, .. } => AnyConn::Sqlite(writer.acquire().await?),
            Db::Postgres(pool) => AnyConn::Postgres(pool.acquire().await?),
        };
        Ok(Conn { inner: Some(inner), open: false })
    }

    /// A connection to read with.
    pub async fn reader(&self) -> Result<Conn, StoreError> {
        let inner = match self {
            Db::Sqlite { readers, .. } => AnyConn::Sqlite(readers.acquire().await?),
            Db::Postgres(pool) => AnyConn::Postgres(pool.acquire().await?),
        };
        Ok(Conn { inner: Some(inner), open: false })
    }

    /// Whether other servers may write to the same ledger.
    pub fn shared(&self) -> bool {
        matches!(self, Db::Postgres(_))
    }

    /// Closes every connection.
    pub async fn close(&self) {
        match self {
            Db::Sqlite { writer, readers } => {
                readers.close().await;
                writer.close().await;
            }
            Db::Postgres(pool) => pool.close().await,
        }
    }
}

/// FULL, unless a test asks to see its durability check fail.
fn synchronous() -> SqliteSynchronous {
    match std::env::var("COUNTERCLOCK_TEST_SYNCHRONOUS").as_deref() {
        Ok("OFF") => SqliteSynchronous::Off,
        _ => SqliteSynchronous::Full,
    }
}

impl Conn {
    /// Begins a transaction that will write: SQLite takes its lock at once, since a reader that turns writer fails.
    pub async fn begin(&mut self) -> Result<(), StoreError> {
        match &self.inner {
            Some(AnyConn::Sqlite(_)) => exec!(self, "begin immediate")?,
            _ => exec!(self, "begin")?,
        };
        self.open = true;
        Ok(())
    }

    /// Begins a transaction in which every read sees the same moment.
    pub async fn begin_read(&mut self) -> Result<(), StoreError> {
        match &self.inner {
            Some(AnyConn::Sqlite(_)) => exec!(self, "begin")?,
            _ => exec!(self, "begin isolation level repeatable read read only")?,
        };
        self.open = true;
        Ok(())
    }

    /// Makes it last.
    pub async fn commit(&mut self) -> Result<(), sqlx::Error> {
        exec!(self, "commit")?;
        self.open = false;
        Ok(())
    }

    /// Undoes it.
    pub async fn rollback(&mut self) -> Result<(), sqlx::Error> {
        exec!(self, "rollback")?;
        self.open = false;
        Ok(())
    }
}

impl Drop for Conn {
    fn drop(&mut self) {
        // A connection left inside a transaction must not be used by another: it is closed instead.
        if self.open {
            match self.inner.take() {
                Some(AnyConn::Sqlite(c)) => drop(c.detach()),
                Some(AnyConn::Postgres(c)) => drop(c.detach()),
                None => {}
            }
        }
    }
}
