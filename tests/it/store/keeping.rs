//! Copies of a whole database: backed up while in use, restored, moved both ways, taken up where it broke off; every hash and
//! every standing as before.

use crate::kit::actor::Actor;
use crate::kit::base::{Base, Kind};
use crate::kit::house::{House, t};
use counterclock::check;
use counterclock::store::copy::{CopyError, copy};
use counterclock::store::keep::{self, KeepError};
use counterclock::store::{Db, StoreError};
use serde_json::{Value, json};
use std::collections::BTreeMap;

both!(
    backed_up_under_load_and_restored,
    moved_to_the_other_kind_and_back,
    what_broke_off_goes_on,
    what_cannot_be_filled,
    backups_by_schedule,
);

/// A shop with some history, a person and a token.
async fn shop(house: &House, items: usize) {
    house.set_up().await;
    for n in 0..items {
        let (id, place) = (format!("i{n:03}"), if n % 2 == 0 { "bench" } else { "fridge" });
        house
            .write(json!([
                {"kind": "item", "at": t("11:00"), "item": id, "product": "cake", "name": format!("Ñ {n}"), "place": place},
                {"kind": "move", "at": t("11:30"), "item": id, "place": if n % 2 == 0 { "fridge" } else { "van" }},
            ]))
            .await;
    }
}

/// Everything the ledger says, and every standing.
async fn said(house: &House) -> (Vec<Value>, BTreeMap<String, Value>) {
    let tail = house.tail().await;
    let standings = House::evaluate(&tail, house.now(), None);
    (tail, standings)
}

async fn lines(db: &Db) -> Vec<String> {
    let mut conn = db.reader().await.expect("a connection");
    let found = counterclock::store::ledger::tail(&mut conn, "shop", 0, 100_000).await.expect("lines");
    found.into_iter().map(|(_, line)| line).collect()
}

async fn sound(db: &Db) {
    for (site, found) in check::database(db).await.expect("a check") {
        for f in found {
            assert_eq!(f.broken, None, "{site}: {}", f.name);
        }
    }
}

/// An empty database of that kind.
async fn empty(kind: Kind) -> (Base, Db) {
    let base = Base::fresh(kind).await;
    let db = Db::unfinished(&base.url).await.expect("a database");
    (base, db)
}

/// The other kind, where there is one to be had.
fn other(kind: Kind) -> Kind {
    match kind {
        Kind::Sqlite if std::env::var("COUNTERCLOCK_TEST_PG").is_ok_and(|url| !url.is_empty()) => Kind::Postgres,
        _ => Kind::Sqlite,
    }
}

async fn backed_up_under_load_and_restored(house: House) {
    shop(&house, 30).await;
    let folder = tempfolder();
    let file = folder.join("backup.db");
    // While it is copied, others write.
    let (db, now) = (house.service().db().clone(), house.now());
    let writing = async {
        for n in 0..40 {
            let item =
                json!({"kind": "item", "item": format!("w{n}"), "product": "cake", "name": "W", "place": "bench"});
            house.write(item).await;
        }
    };
    let (done, ()) = tokio::join!(keep::backup(&db, &file, now), writing);
    done.expect("a backup");
    assert!(matches!(keep::backup(&db, &file, now).await, Err(KeepError::There(_))), "never written over");
    let (base, to) = empty(house.base().kind).await;
    keep::restore(&file, &to, now, |_, _| {}).await.expect("restored");
    sound(&to).await;
    let (there, here) = (lines(&db).await, lines(&to).await);
    assert!(
        here.len() >= 60 && there.starts_with(&here),
        "{} of {}: a beginning of the ledger",
        here.len(),
        there.len()
    );
    // A second time it isn't empty.
    let again = keep::restore(&file, &to, now, |_, _| {}).await;
    assert!(matches!(again, Err(KeepError::Copy(CopyError::NotEmpty))), "{again:?}");
    to.close().await;
    base.remove().await;
    std::fs::remove_dir_all(folder).expect("the test's own folder");
}

async fn moved_to_the_other_kind_and_back(house: House) {
    shop(&house, 20).await;
    let (before, standings) = said(&house).await;
    let (from, now) = (house.service().db().clone(), house.now());
    let (base, to) = empty(other(house.base().kind)).await;
    let mut rows = BTreeMap::new();
    copy(&from, &to, (now, true), |table, n| _ = rows.insert(table.to_owned(), n)).await.expect("moved");
    assert!(rows["entry"] as usize >= before.len() && rows["token"] == 4, "{rows:?}");
    sound(&to).await;
    // And back, into a third.
    let (last, back) = empty(house.base().kind).await;
    copy(&to, &back, (now, true), |_, _| {}).await.expect("moved back");
    sound(&back).await;
    assert_eq!(lines(&back).await, lines(&from).await, "every byte of every entry");
    to.close().await;
    back.close().await;
    // It serves, and who had a token has it still.
    let there = house.on(last).await;
    assert_eq!(said(&there).await, (before, standings));
    there.staff().get("items?state=open").await.ok();
    there.base().remove().await;
    base.remove().await;
}

async fn what_broke_off_goes_on(house: House) {
    shop(&house, 300).await;
    let (from, now) = (house.service().db().clone(), house.now());
    let (base, to) = empty(other(house.base().kind)).await;
    // Whoever moves goes in the middle of it.
    let moving = copy(&from, &to, (now, true), |table, _| assert_ne!(table, "entry", "it goes on after the entries"));
    let broken = std::panic::AssertUnwindSafe(moving);
    assert!(futures_util::FutureExt::catch_unwind(broken).await.is_err());
    let refused = Db::open(&base.url).await;
    assert!(matches!(refused, Err(StoreError::Unfinished)), "nothing is served from half of it");
    // More was written in the meantime.
    house.write(json!({"kind": "item", "item": "late", "product": "cake", "name": "L", "place": "bench"})).await;
    copy(&from, &to, (now, true), |_, _| {}).await.expect("the rest");
    sound(&to).await;
    assert_eq!(lines(&to).await, lines(&from).await);
    to.close().await;
    Db::open(&base.url).await.expect("whole").close().await;
    base.remove().await;
}

async fn what_cannot_be_filled(house: House) {
    shop(&house, 2).await;
    let (db, now) = (house.service().db().clone(), house.now());
    let missing = keep::restore(std::path::Path::new("/nowhere/at/all"), &db, now, |_, _| {}).await;
    assert!(matches!(missing, Err(KeepError::Missing(_))), "{missing:?}");
    let (base, other) = empty(Kind::Sqlite).await;
    let into_itself = copy(&other, &db, (now, true), |_, _| {}).await;
    assert!(matches!(into_itself, Err(CopyError::NotEmpty)), "{into_itself:?}");
    sound(&db).await;
    house.checks().await;
    let folder = tempfolder();
    let nonsense = folder.join("nonsense.db");
    std::fs::write(&nonsense, b"this is no database, only some bytes that stand in a file").expect("a file");
    assert!(keep::restore(&nonsense, &other, now, |_, _| {}).await.is_err());
    let nowhere = keep::backup(&db, &folder.join("no/such/folder/b.db"), now).await;
    assert!(nowhere.is_err());
    other.close().await;
    base.remove().await;
    std::fs::remove_dir_all(folder).expect("the test's own folder");
}

async fn backups_by_schedule(house: House) {
    shop(&house, 1).await;
    let (db, folder) = (house.service().db().clone(), tempfolder());
    std::fs::write(folder.join("counterclock-notes.db"), b"somebody's own").expect("a file");
    for hour in ["12:00", "13:00", "14:00"] {
        house.set(hour);
        let file = keep::scheduled(&db, &folder, 2, house.now()).await.expect("a backup");
        assert_eq!(keep::made_at(&file), Some(house.now()));
    }
    let kept: Vec<String> = keep::kept(&folder)
        .expect("the folder")
        .iter()
        .map(|p| p.file_name().expect("a name").to_string_lossy().into_owned())
        .collect();
    assert_eq!(kept, ["counterclock-20260504130000.db", "counterclock-20260504140000.db"]);
    assert!(folder.join("counterclock-notes.db").exists(), "nothing else is deleted");
    std::fs::remove_dir_all(folder).expect("the test's own folder");
}

/// A folder of the test's own.
fn tempfolder() -> std::path::PathBuf {
    let name = counterclock::people::tokens::random_hex(8).expect("randomness");
    let folder = std::env::temp_dir().join(format!("counterclock-keeping-{name}"));
    std::fs::create_dir(&folder).expect("a folder");
    folder
}
