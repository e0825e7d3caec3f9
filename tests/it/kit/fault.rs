//! Faults a database can have, made on purpose.

use super::base::{Aside, Kind};
use super::house::House;
use counterclock::store::Db;

/// The next COMMIT is the last thing its connection hears of.
pub async fn lose_commit(house: &House) {
    match house.service().db() {
        Db::Sqlite { writer, .. } => {
            let mut conn = writer.acquire().await.expect("the writer's connection");
            conn.lock_handle().await.expect("its handle").set_commit_hook(|| false);
        }
        Db::Postgres(_) => {
            let text = "create function lose() returns trigger language plpgsql as $$ begin
                    perform pg_terminate_backend(pg_backend_pid()); perform pg_sleep(0.01); return null; end $$;
                create constraint trigger lose after insert on entry deferrable initially deferred
                    for each row execute function lose()";
            house.base().aside().await.must(text).await;
        }
    }
}

/// Commits are answered again.
pub async fn find_commit(house: &House) {
    // On SQLite the connection with the fault was given up with its transaction.
    if house.base().kind == Kind::Postgres {
        house.base().aside().await.must("drop trigger lose on entry; drop function lose()").await;
    }
}

/// Statements on items fail.
pub async fn lose_items(house: &House) {
    house.base().aside().await.must("alter table item rename to item_elsewhere").await;
}

/// They work again.
pub async fn find_items(house: &House) {
    house.base().aside().await.must("alter table item_elsewhere rename to item").await;
}

/// Keeps every other connection from writing until what is returned is asked to `release`.
pub struct Lock(Aside);

/// Takes it.
pub async fn lock(house: &House) -> Lock {
    let mut aside = house.base().aside().await;
    match house.base().kind {
        Kind::Sqlite => aside.must("begin exclusive").await,
        Kind::Postgres => aside.must("begin; update site set head = head").await,
    }
    Lock(aside)
}

impl Lock {
    /// Lets it go.
    pub async fn release(mut self) {
        self.0.must("rollback").await;
    }
}
