//! A fresh database of either kind for each test, gone after it, however the test ends.

use super::house::House;
use sqlx::{Connection, Executor};
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::path::PathBuf;

/// Runs an `async fn(House)` on both databases: `both!(name)` makes the tests `name::on_sqlite` and
/// `name::on_postgres`.
macro_rules! both {
    ($($name:ident),+ $(,)?) => { $(
        mod $name {
            #[test]
            fn on_sqlite() {
                crate::kit::base::run(crate::kit::base::Kind::Sqlite, super::$name);
            }
            #[test]
            fn on_postgres() {
                crate::kit::base::run(crate::kit::base::Kind::Postgres, super::$name);
            }
        }
    )+ };
}

/// The same on SQLite alone, for what only a file can suffer.
macro_rules! sqlite {
    ($($name:ident),+ $(,)?) => { $(
        mod $name {
            #[test]
            fn on_sqlite() {
                crate::kit::base::run(crate::kit::base::Kind::Sqlite, super::$name);
            }
        }
    )+ };
}

/// The same on PostgreSQL alone, for what only a server can do.
macro_rules! postgres {
    ($($name:ident),+ $(,)?) => { $(
        mod $name {
            #[test]
            fn on_postgres() {
                crate::kit::base::run(crate::kit::base::Kind::Postgres, super::$name);
            }
        }
    )+ };
}

/// Which database.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kind {
    /// A file.
    Sqlite,
    /// The server that `COUNTERCLOCK_TEST_PG` names.
    Postgres,
}

/// A database of a test's own.
#[derive(Clone, Debug)]
pub struct Base {
    /// Its kind.
    pub kind: Kind,
    /// Its address, as `--db` takes it.
    pub url: String,
    name: String,
    folder: PathBuf,
}

/// The server's address. A side that is left out unsaid would look like one that passed.
fn server() -> Option<String> {
    match (std::env::var("COUNTERCLOCK_TEST_PG"), std::env::var("COUNTERCLOCK_TEST_SQLITE_ONLY").as_deref()) {
        (Ok(url), _) if !url.is_empty() => Some(url),
        (_, Ok("1")) => None,
        _ => panic!(
            "set COUNTERCLOCK_TEST_PG to the URL of a PostgreSQL server (tests/postgres.sh starts one), \
             or COUNTERCLOCK_TEST_SQLITE_ONLY=1 to leave that side out"
        ),
    }
}

/// The server's URL with another database's name.
fn with_name(url: &str, name: &str) -> String {
    let (front, query) = url.split_once('?').map_or((url, String::new()), |(f, q)| (f, format!("?{q}")));
    let slash = front.rfind('/').filter(|at| *at > front.find("://").map_or(0, |n| n + 2));
    format!("{}/{name}{query}", slash.map_or(front, |at| &front[..at]))
}

impl Base {
    async fn make(kind: Kind) -> Option<Base> {
        let mut random = [0_u8; 8];
        getrandom::fill(&mut random).expect("randomness");
        let name = format!("cc_test_{:016x}", u64::from_be_bytes(random));
        let folder = std::env::temp_dir().join(&name);
        let url = match kind {
            Kind::Sqlite => format!("sqlite://{}", folder.join("shop.db").display()),
            Kind::Postgres => {
                let url = server()?;
                // Template0 has nobody connected to it, so tests needn't wait for each other. Its files copied as they are,
                // and not through the log, take a third of the time.
                on_server(&url, format!("create database {name} template template0 strategy file_copy")).await;
                with_name(&url, &name)
            }
        };
        std::fs::create_dir_all(&folder).expect("a folder for the test");
        Some(Base { kind, url, name, folder })
    }

    /// One more, for a test that needs two; whoever makes it removes it.
    pub async fn fresh(kind: Kind) -> Base {
        Base::make(kind).await.expect("a database of that kind")
    }

    /// Removes it.
    pub async fn remove(&self) {
        if self.kind == Kind::Postgres {
            let url = server().expect("the server that was there before");
            on_server(&url, format!("drop database if exists {} with (force)", self.name)).await;
        }
        _ = std::fs::remove_dir_all(&self.folder);
    }

    /// A folder for the test's files.
    pub fn folder(&self) -> &PathBuf {
        &self.folder
    }

    /// A connection beside the service, for doing what the service never would.
    pub async fn aside(&self) -> Aside {
        match self.kind {
            Kind::Sqlite => {
                let file = self.url.strip_prefix("sqlite://").expect("a file's address");
                let options = sqlx::sqlite::SqliteConnectOptions::new().filename(file);
                let options = options.busy_timeout(std::time::Duration::from_secs(8));
                Aside::Sqlite(sqlx::SqliteConnection::connect_with(&options).await.expect("a second connection"))
            }
            Kind::Postgres => {
                Aside::Postgres(sqlx::PgConnection::connect(&self.url).await.expect("a second connection"))
            }
        }
    }
}

async fn on_server(url: &str, text: String) {
    let mut conn = sqlx::PgConnection::connect(url).await.expect("the PostgreSQL server answers");
    conn.execute(sqlx::AssertSqlSafe(text)).await.expect("the server makes and drops databases");
    _ = conn.close().await;
}

/// A connection beside the service.
pub enum Aside {
    /// To the same file.
    Sqlite(sqlx::SqliteConnection),
    /// To the same server.
    Postgres(sqlx::PgConnection),
}

impl Aside {
    /// Runs statements; the database's own complaint if one fails.
    pub async fn run(&mut self, text: &str) -> Result<(), String> {
        let text = sqlx::AssertSqlSafe(text.to_owned());
        match self {
            Aside::Sqlite(c) => sqlx::raw_sql(text).execute(c).await.map(|_| ()).map_err(|e| e.to_string()),
            Aside::Postgres(c) => sqlx::raw_sql(text).execute(c).await.map(|_| ()).map_err(|e| e.to_string()),
        }
    }

    /// The same; it must work.
    pub async fn must(&mut self, text: &str) {
        self.run(text).await.unwrap_or_else(|e| panic!("{text}: {e}"));
    }

    /// The first column of what is found, as text.
    pub async fn ask(&mut self, text: &str) -> Vec<String> {
        let text = sqlx::AssertSqlSafe(text.to_owned());
        match self {
            Aside::Sqlite(c) => sqlx::query_scalar(text).fetch_all(c).await.expect("an answer"),
            Aside::Postgres(c) => sqlx::query_scalar(text).fetch_all(c).await.expect("an answer"),
        }
    }
}

/// Runs a test on a database of its own. A fault inside it doesn't keep the database from being removed.
pub fn run<F: Future<Output = ()>>(kind: Kind, test: fn(House) -> F) {
    let threads = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().expect("threads");
    let Some(base) = threads.block_on(Base::make(kind)) else {
        eprintln!("left out: COUNTERCLOCK_TEST_SQLITE_ONLY is set");
        return;
    };
    let begun = std::time::Instant::now();
    let outcome = catch_unwind(AssertUnwindSafe(|| {
        threads.block_on(async {
            let house = House::open(base.clone()).await;
            test(house).await;
        });
    }));
    eprintln!("{kind:?}: {:.1} s", begun.elapsed().as_secs_f32());
    threads.block_on(base.remove());
    if let Err(fault) = outcome {
        resume_unwind(fault);
    }
}
