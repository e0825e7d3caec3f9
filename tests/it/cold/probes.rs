//! What probes may write: their own places, again without harm, many at once, and nothing that can't be.
//!
//! Guards against S-08, S-09 of SAFETY.md.

use crate::kit::actor::{Actor, Bearer};
use crate::kit::house::{House, t};
use counterclock::ledger::Id;
use serde_json::{Value, json};
use std::time::Instant;

both!(
    a_probe_writes_its_own_places,
    what_is_sent_again_is_there_already,
    five_hundred_at_once,
    what_cannot_be_is_refused,
);

async fn probe(house: &House, places: &[&str]) -> Bearer {
    let places: Vec<Id> = places.iter().map(|p| Id::new(p).expect("an id")).collect();
    Bearer(house.clone(), house.service().add_probe("shop", "T1", &places).await.expect("a token"))
}

fn air(place: &str, at: &str, value: &str) -> Value {
    json!({"kind": "reading", "place": place, "at": t(at), "value": value, "unit": "C", "probe": "t1"})
}

async fn a_probe_writes_its_own_places(house: House) {
    house.set_up().await;
    let both = probe(&house, &["fridge", "freezer"]).await;
    both.post(&json!([air("fridge", "11:00", "4.0"), air("freezer", "11:00", "-18.0")])).await.ok();
    let head = house.head().await;
    both.post(&air("walk-in", "11:00", "4.0")).await.refused(403, "not-allowed");
    both.post(&air("nowhere", "11:00", "4.0")).await.refused(403, "not-allowed");
    both.post(&json!([air("fridge", "11:05", "4.0"), air("walk-in", "11:05", "4.0")]))
        .await
        .refused(403, "not-allowed");
    both.post(&json!({"kind": "lapse", "place": "fridge"})).await.refused(403, "not-allowed");
    both.get("places").await.refused(403, "not-allowed");
    assert_eq!(house.head().await, head, "nothing was written");
    // One that is limited to none may write the air of all, as before.
    house.role("probe").post(&air("walk-in", "11:00", "4.0")).await.ok();
    house.restart().await;
    both.post(&air("walk-in", "11:10", "4.0")).await.refused(403, "not-allowed");
    both.post(&air("fridge", "11:10", "4.0")).await.ok();
}

async fn what_is_sent_again_is_there_already(house: House) {
    house.set_up().await;
    let probe = probe(&house, &["fridge"]).await;
    let first = probe.post(&air("fridge", "11:00", "4.0")).await.ok().json();
    let head = house.head().await;
    assert_eq!(probe.post(&air("fridge", "11:00", "4.0")).await.ok().json(), first, "the entry as it is kept");
    assert_eq!(house.head().await, head);
    // Among others, and twice in one array.
    let many = json!([air("fridge", "11:01", "4.1"), air("fridge", "11:00", "4.0"), air("fridge", "11:01", "4.1")]);
    let sent = probe.post_keyed("k", &many).await.ok().json();
    let seqs =
        |v: &Value| v["entries"].as_array().expect("entries").iter().map(|e| e["seq"].clone()).collect::<Vec<_>>();
    assert_eq!(seqs(&sent), [json!(head + 1), json!(head), json!(head + 1)]);
    assert_eq!(sent["entries"][1], first["entries"][0]);
    assert_eq!(house.head().await, head + 1);
    assert_eq!(probe.post_keyed("k", &many).await.ok().json(), sent);
    // A key that nothing was written under is one all the same.
    let again = air("fridge", "11:01", "4.1");
    let kept = probe.post_keyed("again", &again).await.ok().json();
    assert_eq!(probe.post_keyed("again", &again).await.ok().json(), kept);
    probe.post_keyed("again", &air("fridge", "11:02", "4.1")).await.refused(422, "key-reused");
    assert_eq!(house.head().await, head + 1);
    // Whatever differs is another reading.
    let mut others = vec![air("fridge", "11:00", "4.1"), air("fridge", "11:00:00.001", "4.0")];
    for (member, value) in [("probe", json!("t2")), ("value", json!("39.2")), ("note", json!("by hand"))] {
        let mut other = air("fridge", "11:00", "4.0");
        other[member] = value;
        if member == "value" {
            // The same temperature, but not what was read.
            other["unit"] = json!("F");
        }
        others.push(other);
    }
    probe.post(&json!(others)).await.ok();
    assert_eq!(house.head().await, head + 6);
    // What was struck out isn't brought back by a probe that sends it again.
    let seq = first["entries"][0]["seq"].clone();
    house.write(json!({"kind": "correct", "entry": seq, "void": true, "reason": "It lay on the bench."})).await;
    assert_eq!(probe.post(&air("fridge", "11:00", "4.0")).await.ok().json(), first);
    house.restart().await;
    assert_eq!(probe.post(&air("fridge", "11:00", "4.0")).await.ok().json(), first);
    assert_eq!(house.head().await, head + 7);
    house.checks().await;
}

async fn five_hundred_at_once(house: House) {
    house.set_up().await;
    house.set("1 12:00");
    let probe = probe(&house, &["fridge"]).await;
    // What it kept while it had no line, a reading every two minutes.
    let kept: Vec<Value> = (0..500)
        .map(|n| {
            let (h, m) = (n * 2 / 60, n * 2 % 60);
            air("fridge", &format!("{} {:02}:{m:02}", h / 24, h % 24), ["3.8", "4.0", "4.1"][n % 3])
        })
        .collect();
    let head = house.head().await;
    let begun = Instant::now();
    let first = probe.post(&json!(kept)).await.ok().json();
    println!("500 readings: {:?}", begun.elapsed());
    assert_eq!(house.head().await, head + 500);
    let begun = Instant::now();
    let again = probe.post(&json!(kept)).await.ok().json();
    println!("the same again: {:?}", begun.elapsed());
    assert_eq!((again == first, house.head().await), (true, head + 500));
    let mut more = kept;
    more.push(air("fridge", "16:50", "4.0"));
    probe.post(&json!(more)).await.refused(400, "too-many");
    house.agrees().await;
}

async fn what_cannot_be_is_refused(house: House) {
    house.set_up().await;
    house.write(json!({"kind": "item", "item": "tub", "name": "Tub", "product": "cake", "place": "fridge"})).await;
    house.set("13:00");
    let probe = probe(&house, &["fridge", "freezer"]).await;
    probe.post(&air("fridge", "12:30", "4.0")).await.ok();
    let (head, before) = (house.head().await, house.standing("tub").await);
    for value in ["-999", "-999.0", "NaN", "inf", "1e3", "300.1", "-90.1", "4,0", "", "85.00"] {
        probe.post(&air("fridge", "12:40", value)).await.refused(400, "bad-temperature");
    }
    let text = air("fridge", "12:40", "4.0").to_string();
    for raw in ["NaN", "Infinity", "-"] {
        probe.post_text(&text.replace("\"4.0\"", raw), &[]).await.refused(400, "malformed-json");
    }
    for at in ["1970-01-01T00:00:00Z", "1970-01-02T03:04:05.006Z", "2026-04-29T23:59:59.999Z"] {
        for kind in ["reading", "lapse"] {
            let mut entry = json!({"kind": kind, "place": "fridge", "at": at});
            if kind == "reading" {
                (entry["value"], entry["unit"]) = (json!("4.0"), json!("C"));
            }
            let said = house.manager().post(&json!([air("freezer", "12:50", "-18.0"), entry])).await;
            let said = said.refused(409, "before-ledger").json();
            let wanted = "The shop's ledger begins at 2026-05-01T00:00:00.000Z, and that lies more than a day before.";
            assert_eq!(said["detail"], wanted);
            assert_eq!(said["entry"], 1);
        }
    }
    // Nor by a correction.
    let moved =
        json!({"kind": "correct", "entry": head, "set": {"at": "1970-01-01T00:00:00Z"}, "reason": "Its clock."});
    house.manager().post(&moved).await.refused(409, "upsets-another");
    let jumps = [("13:00", "64.0"), ("13:00", "-56.0"), ("13:30", "64.1")];
    house.set("13:30");
    for (at, value) in jumps {
        let said = probe.post(&air("fridge", at, value)).await.refused(409, "air-jump").json()["detail"].clone();
        let at = t(at);
        let wanted = format!("`fridge` was read at 4.0 C at {}, and is to be {value} C at {at}.", t("12:30"));
        assert_eq!(said, wanted);
    }
    // By what comes before it in the same array, in another unit, and after a restart too.
    house.restart().await;
    let up = json!([air("fridge", "13:10", "30.0"), air("fridge", "13:11", "90.0")]);
    assert_eq!(probe.post(&up).await.refused(409, "air-jump").json()["entry"], 1);
    let mut fahrenheit = air("fridge", "13:11", "147.2");
    fahrenheit["unit"] = json!("F");
    probe.post(&fahrenheit).await.refused(409, "air-jump");
    assert_eq!(house.head().await, head, "nothing was written");
    assert_eq!(house.standing("tub").await["discard_by"], before["discard_by"]);
    // The rest goes on: just below it, more than an hour later, of another place; and a person may say that it is so.
    probe.post(&json!([air("fridge", "13:12", "63.9"), air("freezer", "13:12", "-18.0")])).await.ok();
    house.set("14:30");
    probe.post(&air("fridge", "14:12:00.001", "3.0")).await.ok();
    house.staff().post(&air("fridge", "14:13", "70.0")).await.ok();
    house.checks().await;
}
