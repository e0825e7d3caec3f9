//! Two servers on one PostgreSQL database: one ledger, one chain, and both show all of it.

use crate::kit::actor::Actor;
use crate::kit::browser::Browser;
use crate::kit::house::{House, t};
use crate::people::{PASSWORD, add, fill_at, office};
use counterclock::board::due::{Turn, What};
use counterclock::clock::Instant;
use counterclock::ledger::Id;
use counterclock::store::{Db, StoreError, due};
use serde_json::{Value, json};

postgres!(two_write_in_turn, two_write_at_once, two_write_what_is_due, one_makes_a_shop);

fn item(id: &str, at: &str, from: &[&str]) -> Value {
    let mut entry = json!({"kind": "item", "at": t(at), "item": id, "product": "cake", "name": id, "place": "bench"});
    if !from.is_empty() {
        entry["from"] = json!(from);
    }
    entry
}

async fn two_write_in_turn(house: House) {
    house.set_up().await;
    let twin = house.twin().await;
    let both = async |entry: Value, here: &House, there: &House| {
        let written = here.write(entry).await;
        assert_eq!(there.list("open", 500).await, here.list("open", 500).await);
        assert_eq!(there.list("closed", 500).await, here.list("closed", 500).await);
        written
    };
    let tub = both(item("tub", "08:00", &[]), &house, &twin).await;
    both(item("cake", "09:00", &["tub"]), &twin, &house).await;
    both(json!({"kind": "move", "at": t("09:30"), "item": "tub", "place": "fridge"}), &twin, &house).await;
    both(item("bun", "10:00", &["tub", "cake"]), &house, &twin).await;
    both(json!({"kind": "close", "at": t("11:00"), "item": "cake", "as": "used"}), &twin, &house).await;
    // The set-up, a place's cold and corrections of either's entries, by the other.
    both(json!({"kind": "place", "place": "shed", "name": "Shed", "control": "cold"}), &twin, &house).await;
    both(json!({"kind": "move", "at": t("11:10"), "item": "bun", "place": "shed"}), &house, &twin).await;
    let lapse = both(json!({"kind": "lapse", "at": t("11:20"), "place": "shed"}), &twin, &house).await;
    both(json!({"kind": "restore", "at": t("11:40"), "place": "shed"}), &house, &twin).await;
    let seq = |written: &Value| written["entries"][0]["seq"].clone();
    both(json!({"kind": "correct", "entry": seq(&lapse), "set": {"at": t("11:30")}, "reason": "r"}), &house, &twin)
        .await;
    both(json!({"kind": "correct", "entry": seq(&tub), "set": {"at": t("07:00")}, "reason": "r"}), &twin, &house).await;
    both(json!({"kind": "product", "product": "cake", "name": "Cake", "rules": ["two-hour"]}), &house, &twin).await;
    both(item("pie", "11:50", &["bun"]), &twin, &house).await;
    both(json!({"kind": "decide", "about": "pie", "action": "keep", "reason": "r"}), &house, &twin).await;
    let head = house.head().await;
    both(json!({"kind": "correct", "entry": head, "set": {"reason": "other"}, "reason": "r"}), &twin, &house).await;
    // What one refuses the other would too, and a key is known to both.
    twin.staff().post(&item("pie", "11:51", &[])).await.refused(409, "id-used");
    house.staff().post(&json!({"kind": "restore", "place": "shed"})).await.refused(409, "no-lapse");
    let first = house.staff().post_keyed("k", &item("tart", "11:52", &[])).await.ok();
    assert_eq!(twin.staff().post_keyed("k", &item("tart", "11:52", &[])).await.ok().bytes, first.bytes);
    house.agrees().await;
    twin.agrees().await;
}

async fn two_write_at_once(house: House) {
    house.set_up().await;
    let twin = house.twin().await;
    let head = house.head().await;
    let tasks: Vec<_> = (0..8)
        .map(|n| {
            let here = if n % 2 == 0 { house.clone() } else { twin.clone() };
            tokio::spawn(async move {
                let mut taken = 0;
                for i in 0..12 {
                    // Each of them makes its own, and all of them move the same one about.
                    let own = here.staff().post(&item(&format!("i{n}-{i}"), "11:00", &[])).await.ok();
                    assert_eq!(own.json()["standings"].as_array().map(Vec::len), Some(1));
                    let place = ["fridge", "bench", "shelf"][(n + i) % 3];
                    let moved = json!({"kind": "move", "at": t("11:30"), "item": "i0-0", "place": place});
                    let answer = here.staff().post(&moved).await;
                    assert!([201, 409].contains(&answer.status.as_u16()), "{}", answer.text());
                    taken += u64::from(answer.status == 201);
                }
                taken
            })
        })
        .collect();
    let mut moves = 0;
    for task in tasks {
        moves += task.await.expect("no panic");
    }
    // The first to name the product's rules has them written down, once.
    let tail = house.tail().await;
    let rules = tail[head as usize..].iter().filter(|e| e["kind"] == "rule").count() as u64;
    assert_eq!((tail.len() as u64, house.head().await), (head + 96 + moves + rules, tail.len() as u64));
    assert_eq!(rules, 0, "the product took them into use");
    assert_eq!(twin.tail().await, tail);
    house.agrees().await;
    twin.agrees().await;
}

/// Both find the same, in whatever order: neither waits for rows of the other which waits for its own.
async fn two_write_what_is_due(house: House) {
    house.set_up().await;
    let row = |n: i64, at: i64| {
        let id = Id::new(&format!("cake-{n}")).expect("an id");
        (id, Turn { what: What::Unmarked, at: Instant(at) })
    };
    let one = async |backwards: bool| -> Result<(), StoreError> {
        let db = Db::open(&house.base().url).await?;
        let mut was = Vec::new();
        for at in 1..=30 {
            let mut now: Vec<due::Row> = (0..100).map(|n| row(n, at)).collect();
            if backwards {
                now.reverse();
            }
            let mut conn = db.writer().await?;
            conn.begin().await?;
            // Now and then all of it goes, and comes again.
            let gone = if at % 3 == 0 { &was[..] } else { &[] };
            due::change(&mut conn, "shop", gone, &now).await?;
            conn.commit().await?;
            was = now;
        }
        Ok(())
    };
    let (forwards, backwards) = tokio::join!(one(false), one(true));
    assert!(forwards.is_ok() && backwards.is_ok(), "{forwards:?} {backwards:?}");
    let db = Db::open(&house.base().url).await.expect("it opens");
    let there = due::all(&mut db.reader().await.expect("a connection"), "shop").await.expect("rows");
    let mut wanted: Vec<due::Row> = (0..100).map(|n| row(n, 30)).collect();
    wanted.sort_by(|a, b| a.0.cmp(&b.0));
    let mut there: Vec<due::Row> = there.into_iter().map(|(row, _)| row).collect();
    there.sort_by(|a, b| a.0.cmp(&b.0));
    assert_eq!(there, wanted);
}

/// What is made on one is there on the other: at once for whoever asks, soon for who only listens.
async fn one_makes_a_shop(house: House) {
    house.set_up().await;
    let twin = house.twin().await;
    add(&office(&house), "Mia", "manager", "", PASSWORD).await;
    let here = Browser::new(&house);
    here.submit("/sign-in", &[("name", "Mia"), ("password", PASSWORD)]).await.goes("./");
    let there = here.led_to(&twin);
    assert_eq!(there.open("/s/quay-street/").await.status(), 403, "the other one remembers who she is from now on");
    let (at, shop) =
        ("/s/shop/another", [("name", "Quay Street"), ("zone", "Europe/London"), ("region", "uk"), ("units", "C")]);
    let page = fill_at(&here, at, &here.open(at).await, &shop).await;
    let page = fill_at(&here, at, &page, &[]).await;
    let page = fill_at(&here, at, &page, &[("place", "fridge"), ("place", "bench")]).await;
    fill_at(&here, at, &page, &[("product", "frosting")]).await.goes("../../s/quay-street/");
    let page = there.open("/s/quay-street/").await;
    assert!(page.text("footer").contains("Quay Street"), "{} {}", page.status(), page.0.text());
    assert_eq!(there.open("/s/nowhere/").await.status(), 403);
    twin.service().follow_all();
    let site = json!({"kind": "site", "name": "Mill Lane", "zone": "Europe/London", "units": "C"});
    assert!(house.service().add_site("mill-lane", &site.to_string()).await.expect("a shop"));
    while !twin.service().has("mill-lane") {
        tokio::task::yield_now().await;
    }
}
