//! A whole database into another, table by table, in the order in which they refer to each other. What the source holds is
//! read at one moment. What broke off goes on where it was: tables that nothing is deleted from have its beginning by then.

use super::{AnyConn, Conn, Db, StoreError, exec, ledger, rows};
use crate::clock::Instant;
use sqlx::{AssertSqlSafe, Row};

/// Rows read and written at a time.
const PAGE: i64 = 500;
/// Rows in one statement.
const TOGETHER: usize = 25;
/// Of the program itself, not of what it keeps.
const ITS_OWN: [&str; 2] = ["migration", "moving"];

const BEGIN: &str = "insert into moving (one, begun_at) values (1, $1) on conflict (one) do nothing";
const END: &str = "delete from moving";
const FIRST: &str = "select site, line from entry where seq = 1 order by site";
const PEOPLE: &str = "select count(*) from person";

/// A table as the migrations made it.
struct Table {
    name: String,
    /// Each column, and whether it holds numbers.
    columns: Vec<(String, bool)>,
    /// Which of them are the key.
    key: Vec<usize>,
    /// Whether nothing is ever deleted from it.
    stays: bool,
}

/// A value: there are texts and numbers.
enum Value {
    Int(Option<i64>),
    Text(Option<String>),
}

/// Why nothing was copied, or not all.
#[derive(Debug, thiserror::Error)]
pub enum CopyError {
    /// There is something in it already.
    #[error("the database that is to be filled isn't empty; name a new one.")]
    NotEmpty,
    /// An earlier copy into it broke off, and came from another ledger.
    #[error("the database holds part of another ledger; name a new one.")]
    OfAnother,
    /// Something was written to the source meanwhile.
    #[error("something was written to the source meanwhile; stop the service that uses it, then do this again.")]
    WrittenMeanwhile,
    /// The rows aren't as many.
    #[error("the table `{0}` has {1} rows in the copy and {2} in the source.")]
    Differs(String, i64, i64),
    /// A database failed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl From<sqlx::Error> for CopyError {
    fn from(e: sqlx::Error) -> CopyError {
        CopyError::Store(e.into())
    }
}

/// Every table, as a fresh database has it.
async fn tables() -> Result<Vec<Table>, StoreError> {
    const NAMES: &str =
        "select name from sqlite_master where type = 'table' and name not like 'sqlite_%' order by rowid";
    const STAY: &str = "select tbl_name from sqlite_master where type = 'trigger' and sql like '%before delete%'";
    const COLUMNS: &str = "select name, type, pk from pragma_table_info($1) order by cid";
    let fresh = Db::unfinished("sqlite://:memory:").await?;
    let mut conn = fresh.writer().await?;
    let stay: Vec<String> = rows!(conn, (String,), STAY)?.into_iter().map(|r| r.0).collect();
    let mut tables = Vec::new();
    for (name,) in rows!(conn, (String,), NAMES)? {
        if ITS_OWN.contains(&name.as_str()) {
            continue;
        }
        let found = rows!(conn, (String, String, i64), COLUMNS, name.as_str())?;
        let mut key: Vec<(i64, usize)> =
            found.iter().enumerate().filter(|(_, c)| c.2 > 0).map(|(i, c)| (c.2, i)).collect();
        key.sort_unstable();
        let key = key.into_iter().map(|(_, i)| i).collect();
        let columns = found.into_iter().map(|(name, kind, _)| (name, kind == "INTEGER")).collect();
        let stays = stay.contains(&name);
        tables.push(Table { name, columns, key, stays });
    }
    drop(conn);
    fresh.close().await;
    Ok(tables)
}

impl Table {
    fn names(&self) -> String {
        self.columns.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>().join(", ")
    }

    /// Its key, in an order that is the same in both databases: that of bytes.
    fn order(&self, postgres: bool) -> String {
        let one = |i: &usize| match &self.columns[*i] {
            (name, false) if postgres => format!("{name} collate \"C\""),
            (name, _) => name.clone(),
        };
        self.key.iter().map(one).collect::<Vec<_>>().join(", ")
    }

    fn select(&self, after: bool, postgres: bool) -> String {
        let marks: Vec<String> = (1..=self.key.len()).map(|n| format!("${n}")).collect();
        let order = self.order(postgres);
        let after = if after { format!("where ({order}) > ({})", marks.join(", ")) } else { String::new() };
        format!("select {} from {} {after} order by {order} limit {PAGE}", self.names(), self.name)
    }

    /// The greatest key of what is there.
    fn last(&self, postgres: bool) -> String {
        let down: Vec<String> = self.order(postgres).split(", ").map(|c| format!("{c} desc")).collect();
        format!("select {} from {} order by {} limit 1", self.names(), self.name, down.join(", "))
    }

    fn insert(&self, rows: usize) -> String {
        let n = self.columns.len();
        let row = |r: usize| (1..=n).map(|c| format!("${}", r * n + c)).collect::<Vec<_>>().join(", ");
        let rows: Vec<String> = (0..rows).map(|r| format!("({})", row(r))).collect();
        // A shop's own row is there as soon as anything of it is; what it says of the ledger's end is said anew.
        let again = match self.name.as_str() {
            "site" => {
                let set = self.columns.iter().enumerate().filter(|(i, _)| !self.key.contains(i));
                let set: Vec<String> = set.map(|(_, (name, _))| format!("{name} = excluded.{name}")).collect();
                format!(" on conflict (site) do update set {}", set.join(", "))
            }
            _ => String::new(),
        };
        format!("insert into {} ({}) values {}{again}", self.name, self.names(), rows.join(", "))
    }
}

fn read<R: Row>(row: &R, table: &Table) -> Result<Vec<Value>, sqlx::Error>
where
    usize: sqlx::ColumnIndex<R>,
    for<'r> Option<i64>: sqlx::Decode<'r, R::Database> + sqlx::Type<R::Database>,
    for<'r> Option<String>: sqlx::Decode<'r, R::Database> + sqlx::Type<R::Database>,
{
    let one = |(i, (_, number)): (usize, &(String, bool))| {
        Ok(if *number { Value::Int(row.try_get(i)?) } else { Value::Text(row.try_get(i)?) })
    };
    table.columns.iter().enumerate().map(one).collect()
}

/// Asks either database with values that are bound; its rows as values.
macro_rules! ask {
    ($conn:expr, $table:expr, $sql:expr, $values:expr) => {
        match $conn.inner.as_mut() {
            Some(AnyConn::Sqlite(c)) => {
                let mut q = sqlx::query(AssertSqlSafe($sql));
                for v in $values {
                    q = match v {
                        Value::Int(v) => q.bind(*v),
                        Value::Text(v) => q.bind(v.clone()),
                    };
                }
                q.fetch_all(&mut **c).await?.iter().map(|r| read(r, $table)).collect::<Result<Vec<_>, _>>()
            }
            Some(AnyConn::Postgres(c)) => {
                let mut q = sqlx::query(AssertSqlSafe($sql));
                for v in $values {
                    q = match v {
                        Value::Int(v) => q.bind(*v),
                        Value::Text(v) => q.bind(v.clone()),
                    };
                }
                q.fetch_all(&mut **c).await?.iter().map(|r| read(r, $table)).collect::<Result<Vec<_>, _>>()
            }
            None => Err(sqlx::Error::PoolClosed),
        }
    };
}

async fn count(conn: &mut Conn, table: &Table) -> Result<i64, sqlx::Error> {
    let sql = format!("select count(*) from {}", table.name);
    let found = match conn.inner.as_mut() {
        Some(AnyConn::Sqlite(c)) => sqlx::query_scalar(AssertSqlSafe(sql)).fetch_one(&mut **c).await?,
        Some(AnyConn::Postgres(c)) => sqlx::query_scalar(AssertSqlSafe(sql)).fetch_one(&mut **c).await?,
        None => return Err(sqlx::Error::PoolClosed),
    };
    Ok(found)
}

/// Copies everything from one into the other, which is empty or holds what an earlier copy of the same left. `told` hears of
/// each table and how many rows it has. `still`: nothing may have been written to the source meanwhile.
pub async fn copy(
    from: &Db,
    to: &Db,
    (now, still): (Instant, bool),
    mut told: impl FnMut(&str, i64),
) -> Result<(), CopyError> {
    let tables = tables().await?;
    let (mut source, mut target) = (from.reader().await?, to.writer().await?);
    source.begin_read().await?;
    begin(&mut source, &mut target, now).await?;
    for table in tables.iter().rev().filter(|t| !t.stays && t.name != "site") {
        run(&mut target, format!("delete from {}", table.name)).await?;
    }
    for table in &tables {
        let rows = one(&mut source, &mut target, table, (from.shared(), to.shared())).await?;
        told(&table.name, rows);
    }
    for table in &tables {
        let (there, here) = (count(&mut source, table).await?, count(&mut target, table).await?);
        if there != here {
            return Err(CopyError::Differs(table.name.clone(), here, there));
        }
    }
    let was = ledger::heads(&mut source).await?;
    source.commit().await?;
    if still && ledger::heads(&mut source).await? != was {
        return Err(CopyError::WrittenMeanwhile);
    }
    exec!(target, END)?;
    Ok(())
}

/// Marks the target as not yet whole, unless it is somebody's.
async fn begin(source: &mut Conn, target: &mut Conn, now: Instant) -> Result<(), CopyError> {
    let unfinished = exec!(target, BEGIN, now.0)? == 0;
    let theirs = rows!(target, (String, String), FIRST)?;
    if unfinished {
        let ours = rows!(source, (String, String), FIRST)?;
        return if theirs.iter().all(|t| ours.contains(t)) { Ok(()) } else { Err(CopyError::OfAnother) };
    }
    let people = rows!(target, (i64,), PEOPLE)?.first().is_some_and(|r| r.0 > 0);
    if people || !ledger::heads(target).await?.is_empty() {
        exec!(target, END)?;
        return Err(CopyError::NotEmpty);
    }
    Ok(())
}

async fn run(conn: &mut Conn, sql: String) -> Result<(), sqlx::Error> {
    match conn.inner.as_mut() {
        Some(AnyConn::Sqlite(c)) => _ = sqlx::query(AssertSqlSafe(sql)).execute(&mut **c).await?,
        Some(AnyConn::Postgres(c)) => _ = sqlx::query(AssertSqlSafe(sql)).execute(&mut **c).await?,
        None => return Err(sqlx::Error::PoolClosed),
    }
    Ok(())
}

/// One table; how many rows were written.
async fn one(
    source: &mut Conn,
    target: &mut Conn,
    table: &Table,
    (from_pg, to_pg): (bool, bool),
) -> Result<i64, CopyError> {
    let none: Vec<Value> = Vec::new();
    let mut last = match table.stays {
        true => ask!(target, table, table.last(to_pg), &none)?.pop(),
        false => None,
    };
    let mut written = 0;
    loop {
        let key = |row: Vec<Value>| {
            let mut row: Vec<Option<Value>> = row.into_iter().map(Some).collect();
            table.key.iter().filter_map(|i| row[*i].take()).collect::<Vec<Value>>()
        };
        let after = last.take().map(key);
        let sql = table.select(after.is_some(), from_pg);
        let page = ask!(source, table, sql, after.as_ref().unwrap_or(&none))?;
        if page.is_empty() {
            return Ok(written);
        }
        target.begin().await?;
        for some in page.chunks(TOGETHER) {
            let values: Vec<&Value> = some.iter().flatten().collect();
            ask!(target, table, table.insert(some.len()), values)?;
        }
        target.commit().await?;
        written += page.len() as i64;
        last = page.into_iter().next_back();
    }
}
