//! Nothing changes, deletes or replaces an entry, and `check` names the first one that somebody forced.

use crate::kit::base::Kind;
use crate::kit::house::{House, t};
use counterclock::store::Db;
use serde_json::json;

both!(entries_stay, the_check_names_what_was_forced, the_check_compares_the_rows);
sqlite!(the_services_own_connection_cannot_replace);
postgres!(truncate_is_refused);

async fn busy(house: &House) {
    house.set_up().await;
    let item = |id: &str, from: &[&str]| {
        let mut e =
            json!({"kind": "item", "at": t("08:00"), "item": id, "product": "cake", "name": id, "place": "bench"});
        if !from.is_empty() {
            e["from"] = json!(from);
        }
        e
    };
    house.write(json!([item("tub", &[]), item("cake", &["tub"]), item("bun", &["tub"])])).await;
    house.write(json!({"kind": "move", "at": t("09:00"), "items": ["tub", "cake"], "place": "fridge"})).await;
    house.write(json!({"kind": "close", "at": t("10:00"), "item": "cake", "as": "sold"})).await;
}

/// An `insert … values` that copies entry `from` under number `to`.
fn copy(verb: &str, from: u64, to: u64) -> String {
    format!(
        "{verb} into entry (site, seq, kind, item, place, target, air_at, line)
         select site, {to}, kind, item, place, target, air_at, line from entry where site = 'shop' and seq = {from}"
    )
}

async fn entries_stay(house: House) {
    busy(&house).await;
    let before = house.tail().await;
    let mut aside = house.base().aside().await;
    let mut attempts = vec![
        String::from("update entry set line = '{}' where seq = 3"),
        String::from("update entry set seq = 3000 where seq = 3"),
        String::from("update entry set line = line"),
        String::from("delete from entry where seq = 3"),
        String::from("delete from entry"),
        String::from("delete from site"),
        copy("insert", 2, 3),
        String::from("insert into entry (site, seq, kind, line) values ('nowhere', 1, 'site', '{}')"),
    ];
    if house.base().kind == Kind::Sqlite {
        attempts.extend([
            copy("insert or replace", 2, 3),
            copy("replace", 2, 3),
            String::from("update or replace entry set seq = 3 where seq = 2"),
        ]);
        attempts.push(format!(
            "{} on conflict (site, seq) do update set line = excluded.line",
            copy("insert", 2, 3) + " and true"
        ));
    } else {
        attempts.push(copy("insert", 2, 3) + " on conflict (site, seq) do update set line = excluded.line");
    }
    for text in attempts {
        // A connection of somebody else's: its settings aren't the service's.
        for setting in ["pragma recursive_triggers = off", "pragma recursive_triggers = on"] {
            if house.base().kind == Kind::Sqlite {
                aside.must(setting).await;
                aside.must("pragma foreign_keys = on").await;
            }
            let said = aside.run(&text).await.expect_err(&text);
            let known = ["never", "foreign key", "FOREIGN KEY", "duplicate key"];
            assert!(known.iter().any(|k| said.contains(k)), "{text}: {said}");
        }
    }
    assert_eq!(house.tail().await, before);
    house.agrees().await;
}

async fn the_services_own_connection_cannot_replace(house: House) {
    busy(&house).await;
    let Db::Sqlite { writer, .. } = house.service().db().clone() else { panic!("a file") };
    let mut conn = writer.acquire().await.expect("the writer");
    for text in [copy("insert or replace", 2, 3), String::from("delete from entry where seq = 3")] {
        let said = sqlx::query(sqlx::AssertSqlSafe(text)).execute(&mut *conn).await.expect_err("refused").to_string();
        assert!(said.contains("never"), "{said}");
    }
    let on: i64 = sqlx::query_scalar("pragma recursive_triggers").fetch_one(&mut *conn).await.expect("a setting");
    let full: i64 = sqlx::query_scalar("pragma synchronous").fetch_one(&mut *conn).await.expect("a setting");
    let keys: i64 = sqlx::query_scalar("pragma foreign_keys").fetch_one(&mut *conn).await.expect("a setting");
    assert_eq!((on, full, keys), (1, 2, 1));
}

async fn truncate_is_refused(house: House) {
    busy(&house).await;
    let mut aside = house.base().aside().await;
    for text in ["truncate entry", "truncate entry cascade", "truncate site cascade"] {
        let said = aside.run(text).await.expect_err(text);
        assert!(said.contains("never"), "{text}: {said}");
    }
    house.agrees().await;
}

/// Somebody with the file in hand takes the triggers off and changes it.
async fn the_check_names_what_was_forced(house: House) {
    busy(&house).await;
    house.checks().await;
    let head = house.head().await;
    let mut aside = house.base().aside().await;
    let triggers = match house.base().kind {
        Kind::Sqlite => "drop trigger entry_stays; drop trigger entry_remains; drop trigger entry_once",
        Kind::Postgres => "drop trigger entry_stays on entry; drop trigger entry_remains on entry",
    };
    aside.must(triggers).await;
    aside.must("create table kept as select * from entry").await;
    let set = |seq: u64, from: &str, to: &str| {
        format!("update entry set line = replace(line, '{from}', '{to}') where seq = {seq}")
    };
    let hash = "update entry set line = replace(line, '\"prev\":\"', '\"prev\":\"0') where seq = 5";
    for (forced, named) in [
        (set(head, "10:00:00", "10:00:01"), format!("entry {head}: its `hash`")),
        (set(3, "walk-in", "walk-on"), String::from("entry 3: its `hash`")),
        (String::from(hash), String::from("entry 5: its `prev`")),
        (String::from("update entry set line = '{}' where seq = 6"), String::from("entry 6: it has no")),
        (String::from("update entry set line = 'x' where seq = 6"), String::from("entry 6: it is not")),
        (String::from("delete from entry where seq = 7"), String::from("entry 7 is missing")),
        (String::from("delete from entry where seq = 1"), String::from("entry 1 is missing")),
        (format!("delete from entry where seq = {head}"), format!("the ledger ends at entry {}", head - 1)),
        // The last one is gone, and one stands beyond it.
        (
            format!("{}; delete from entry where seq = {head}", copy("insert", head, head + 1)),
            format!("the ledger ends at entry {}", head + 1),
        ),
        // Two change places.
        (
            String::from(
                "update entry set seq = 1000 where seq = 3; update entry set seq = 3 where seq = 4;
                 update entry set seq = 4 where seq = 1000",
            ),
            String::from("entry 3: its `prev`"),
        ),
        (
            format!("{}; {}", copy("insert", head, head + 1), set(head + 1, "\"kind\"", "\"kind\"")),
            format!("the ledger ends at entry {}", head + 1),
        ),
        (
            String::from("update site set hash = prev from (select '0' as prev) as p"),
            format!("the ledger ends at entry {head}"),
        ),
        (format!("update site set head = {}", head + 1), format!("the ledger ends at entry {head}")),
    ] {
        let kept = aside.ask("select hash from site where site = 'shop'").await.remove(0);
        aside.must(&forced).await;
        let broken = house.broken().await;
        assert!(broken.first().is_some_and(|b| b.starts_with(&format!("chain: {named}"))), "{forced}: {broken:?}");
        aside.must("delete from entry; insert into entry select * from kept").await;
        aside.must(&format!("update site set head = {head}, hash = '{kept}'")).await;
    }
    house.checks().await;
}

/// What is worked out from the ledger is compared with it, row by row.
async fn the_check_compares_the_rows(house: House) {
    busy(&house).await;
    let mut aside = house.base().aside().await;
    aside.must("create table kept as select * from item").await;
    aside.must("create table links as select * from made_from").await;
    for (forced, named) in [
        ("delete from item where item = 'tub'", "items' rows: item tub has no row"),
        ("update item set begun_at = begun_at + 1 where item = 'bun'", "items' rows: item bun"),
        ("update item set closed_at = null, standing = null where item = 'cake'", "items' rows: item cake"),
        ("update item set standing = replace(standing, 'within', 'use') where item = 'cake'", "items' rows: item cake"),
        ("update item set rank = 0 where item = 'cake'", "items' rows: item cake"),
        ("update item set left_ms = 0 where item = 'cake'", "items' rows: item cake"),
        (
            "insert into item select site, 'ghost', begun_at, closed_at, standing, rank, left_ms from item where item = 'tub'",
            "items' rows: item ghost has a row",
        ),
        ("delete from made_from where child = 'cake'", "made from: cake was made from tub"),
    ] {
        aside.must(forced).await;
        let broken = house.broken().await;
        assert!(broken.iter().any(|b| b.starts_with(named)), "{forced}: {broken:?}");
        aside.must("delete from item; insert into item select * from kept").await;
        aside.must("delete from made_from; insert into made_from select * from links").await;
    }
    house.agrees().await;
}
