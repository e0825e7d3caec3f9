//! A database that fails: nothing is written by halves, nobody is told otherwise, and it works again once mended.
//!
//! Guards against S-68 of SAFETY.md.

use crate::kit::actor::Actor;
use crate::kit::base::Kind;
use crate::kit::browser::Browser;
use crate::kit::chance::Chance;
use crate::kit::fault;
use crate::kit::house::{House, t};
use axum::body::Body;
use axum::http::Request;
use serde_json::{Value, json};
use std::time::{Duration, Instant};
use tower::ServiceExt;

both!(
    a_ledger_that_was_changed,
    a_statement_that_fails,
    an_outcome_nobody_heard,
    a_commit_that_is_refused,
    clients_go_away,
    a_locked_ledger
);
sqlite!(a_full_disk);
postgres!(connections_that_are_cut);

fn item(id: &str, at: &str) -> Value {
    json!({"kind": "item", "at": t(at), "item": id, "product": "cake", "name": id, "place": "bench"})
}

async fn a_statement_that_fails(house: House) {
    house.set_up().await;
    house.write(item("tub", "11:00")).await;
    let (staff, head) = (house.staff(), house.head().await);
    let moved = json!({"kind": "move", "at": t("11:30"), "item": "tub", "place": "fridge"});
    fault::lose_items(&house).await;
    for _ in 0..2 {
        staff.post_keyed("k", &item("cake", "11:10")).await.refused(503, "not-recorded");
    }
    assert_eq!(house.head().await, head);
    fault::find_items(&house).await;
    staff.post_keyed("k", &item("cake", "11:10")).await.ok();
    staff.post(&moved).await.ok();
    assert_eq!(house.head().await, head + 2);
    house.agrees().await;
    // The whole batch fails with it, also what had nothing to do with it.
    let text = match house.base().kind {
        Kind::Sqlite => {
            "create trigger sour before insert on entry when new.line like '%sour%' begin select raise (abort, 'no'); end"
        }
        Kind::Postgres => {
            "create function sour() returns trigger language plpgsql as $$ begin
                if new.line like '%sour%' then raise exception 'no'; end if; return new; end $$;
            create trigger sour before insert on entry for each row execute function sour()"
        }
    };
    let mut aside = house.base().aside().await;
    aside.must(text).await;
    let head = house.head().await;
    staff.post(&json!([item("sweet", "11:40"), item("sour", "11:40")])).await.refused(503, "not-recorded");
    staff.get("items/sweet").await.refused(404, "not-found");
    staff.post(&item("sweet", "11:40")).await.ok();
    assert_eq!(house.head().await, head + 1);
    aside
        .must(if house.base().kind == Kind::Sqlite { "drop trigger sour" } else { "drop trigger sour on entry" })
        .await;
    staff.post(&item("sour", "11:40")).await.ok();
    house.agrees().await;
}

/// Once the ledger is known not to verify nothing more is written, and whoever writes is told; reading goes on.
/// Guards against S-67.
async fn a_ledger_that_was_changed(house: House) {
    house.set_up().await;
    house.write(item("tub", "11:00")).await;
    let (staff, head) = (house.staff(), house.head().await);
    house.service().note_broken("shop", String::from("entry 4: its hash is another"));
    let answer = staff.post_keyed("k", &item("cake", "11:10")).await;
    let detail = answer.refused(503, "not-recorded").json()["detail"].as_str().unwrap_or_default().to_owned();
    assert!(detail.contains("entry 4") && detail.contains("counterclock restore"), "{detail}");
    assert_eq!(house.head().await, head);
    staff.get("items/tub").await.ok();
    let ready = staff.send("GET", "/readyz", &[], Body::empty()).await.ok().json();
    assert_eq!(ready["broken"], 1);
    let browser = Browser::new(&house);
    browser.submit("/sign-in", &[("token", &staff.1)]).await.goes("./");
    let page = browser.submit("/s/shop/items/tub/move", &[("place", "fridge")]).await;
    assert_eq!(page.status(), 503);
    assert!(page.0.text().contains("Write it on paper"), "{}", page.0.text());
    // The same request is taken once it is restored, as a new start finds it.
    house.restart().await;
    house.staff().post_keyed("k", &item("cake", "11:10")).await.ok();
}

/// The answer to COMMIT is lost: whoever sends again with the same key gets it written once.
async fn an_outcome_nobody_heard(house: House) {
    house.set_up().await;
    let staff = house.staff();
    for n in 0..3 {
        let (key, entry) = (format!("k{n}"), item(&format!("cake-{n}"), "11:00"));
        fault::lose_commit(&house).await;
        staff.post_keyed(&key, &entry).await.refused(503, "unknown-outcome");
        fault::find_commit(&house).await;
        let first = staff.post_keyed(&key, &entry).await.ok();
        assert_eq!(staff.post_keyed(&key, &entry).await.ok().bytes, first.bytes);
        house.agrees().await;
    }
}

/// The database says no to COMMIT itself: then it is known that nothing was recorded.
async fn a_commit_that_is_refused(house: House) {
    house.set_up().await;
    let mut aside = house.base().aside().await;
    let (text, mend) = match house.base().kind {
        Kind::Sqlite => (
            "create table debt (site text references site (site) deferrable initially deferred);
             create trigger owe after insert on entry begin insert into debt values ('nowhere'); end",
            "drop trigger owe; drop table debt",
        ),
        Kind::Postgres => (
            "create function owe() returns trigger language plpgsql as $$ begin raise exception 'no'; end $$;
             create constraint trigger owe after insert on entry deferrable initially deferred
                for each row execute function owe()",
            "drop trigger owe on entry; drop function owe()",
        ),
    };
    aside.must(text).await;
    let head = house.head().await;
    house.staff().post(&item("cake", "11:00")).await.refused(503, "not-recorded");
    assert_eq!(house.head().await, head);
    aside.must(mend).await;
    house.staff().post(&item("cake", "11:00")).await.ok();
    house.agrees().await;
}

/// Whoever goes away before the answer leaves all of the request behind, or nothing.
async fn clients_go_away(house: House) {
    house.set_up().await;
    let token = format!("Bearer {}", house.staff().1);
    let mut chance = Chance::new(5);
    for n in 0..60 {
        let rack =
            json!([item(&format!("a{n}"), "11:00"), item(&format!("b{n}"), "11:00"), item(&format!("c{n}"), "11:00")]);
        let request = Request::post("/s/shop/api/entries").header("content-type", "application/json");
        let request =
            request.header("authorization", &token).body(axum::body::Body::from(rack.to_string())).expect("a request");
        let router = house.router();
        let task = tokio::spawn(async move { router.oneshot(request).await });
        tokio::time::sleep(Duration::from_micros(chance.below(3_000) as u64)).await;
        task.abort();
        _ = task.await;
    }
    // The writer has finished with all before this one.
    house.write(item("last", "11:30")).await;
    let mut found = [0; 60];
    for entry in house.tail().await.iter().filter(|e| e["kind"] == "item" && e["item"] != "last") {
        found[entry["item"].as_str().expect("an id")[1..].parse::<usize>().expect("a number")] += 1;
    }
    assert!(found.iter().all(|n| [0, 3].contains(n)), "{found:?}");
    house.agrees().await;
}

async fn a_locked_ledger(house: House) {
    house.set_up().await;
    house.write(item("tub", "11:00")).await;
    let (head, lock) = (house.head().await, fault::lock(&house).await);
    let begun = Instant::now();
    let staff = house.staff();
    let writer = staff.clone();
    let post = tokio::spawn(async move { writer.post(&item("cake", "11:10")).await });
    // Reading goes on meanwhile.
    staff.get("items").await.ok();
    staff.get("items/tub").await.ok();
    post.await.expect("an answer").refused(503, "not-recorded");
    let took = begun.elapsed();
    assert!((4..9).contains(&took.as_secs()), "it waited {took:?}");
    lock.release().await;
    assert_eq!(house.head().await, head);
    staff.post(&item("cake", "11:10")).await.ok();
    house.agrees().await;
}

async fn a_full_disk(house: House) {
    house.set_up().await;
    let counterclock::store::Db::Sqlite { writer, .. } = house.service().db().clone() else { panic!("a file") };
    let pages = async |most: i64| {
        let mut conn = writer.acquire().await.expect("the writer");
        let text = format!("pragma max_page_count = {most}");
        _ = sqlx::query(sqlx::AssertSqlSafe(text)).execute(&mut *conn).await.expect("a setting");
    };
    pages(1).await;
    let mut written = 0;
    let long = |n: usize| json!({"kind": "seen", "at": t("11:30"), "item": "tub", "place": "bench", "note": format!("{n}{}", "x".repeat(490))});
    house.staff().post(&item("tub", "11:00")).await.ok();
    let full = loop {
        let answer = house.staff().post(&json!((0..20).map(long).collect::<Vec<_>>())).await;
        if answer.status != 201 {
            break answer;
        }
        written += 1;
        assert!(written < 20, "it is never full");
    };
    let head = house.head().await;
    full.refused(503, "not-recorded");
    house.staff().get("items/tub").await.ok();
    house.checks().await;
    pages(1_000_000).await;
    house.staff().post(&long(0)).await.ok();
    assert_eq!(house.head().await, head + 1);
    house.agrees().await;
}

/// The server's operator ends every connection; the next request finds new ones.
async fn connections_that_are_cut(house: House) {
    house.set_up().await;
    house.write(item("tub", "11:00")).await;
    let mut aside = house.base().aside().await;
    for n in 0..3 {
        let text = "select pg_terminate_backend(pid)::text from pg_stat_activity
            where datname = current_database() and pid <> pg_backend_pid()";
        assert!(!aside.ask(text).await.is_empty());
        let (key, entry) = (format!("k{n}"), item(&format!("cake-{n}"), "11:10"));
        let mut tries = 0;
        while house.staff().post_keyed(&key, &entry).await.status != 201 {
            tries += 1;
            assert!(tries < 30, "it never comes back");
        }
    }
    house.agrees().await;
}
