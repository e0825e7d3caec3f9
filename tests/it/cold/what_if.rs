//! What a failure of the cold would mean before anybody says that it was one, and how long it takes with a full place.
//!
//! Guards against S-07 of SAFETY.md.

use super::handed;
use crate::kit::actor::Actor;
use crate::kit::house::{House, instant, t};
use counterclock::board::what_if::Lapse;
use counterclock::ledger::Id;
use counterclock::web::auth::Reads;
use counterclock::web::cold::WhatIf;
use counterclock::web::service::Fault;
use serde_json::{Value, json};
use std::time::Instant;

both!(it_is_what_the_entries_make_of_it, what_the_ledger_would_refuse, a_lapse_of_a_place_with_5_000_items);

async fn asked(house: &House, places: &[&str], since: &str, until: Option<&str>) -> Result<WhatIf, Fault> {
    let reads: Reads = handed(house, &house.role("inspector").1).await.expect("somebody who reads");
    let (from, until) = (instant(since), until.map(instant));
    let lapse = |p: &&str| Lapse { place: Id::new(p).expect("an id"), from, until };
    let lapses: Vec<Lapse> = places.iter().map(lapse).collect();
    let head = house.head().await;
    let found = reads.what_if(&lapses).await;
    assert_eq!(house.head().await, head, "nothing is written");
    found
}

fn item(id: &str, at: &str, place: &str, from: &[&str]) -> Value {
    let mut entry = json!({"kind": "item", "at": t(at), "item": id, "name": id, "place": place, "product": "cake"});
    if !from.is_empty() {
        entry["from"] = json!(from);
    }
    entry
}

async fn it_is_what_the_entries_make_of_it(house: House) {
    house.set("00:30");
    house.set_up().await;
    let entries = json!([
        item("tub", "01:00", "fridge", &[]),
        item("cream", "01:00", "walk-in", &[]),
        item("pie", "01:00", "case", &[]),
        item("bun", "01:00", "fridge", &[]),
        item("roll", "01:00", "fridge", &[]),
        item("ice", "01:00", "freezer", &[]),
    ]);
    house.set("01:00");
    house.write(entries).await;
    let close = |at: &str, item: &str| json!({"kind": "close", "at": t(at), "item": item, "as": "sold"});
    house.set("08:00");
    house.write(json!([close("03:00", "roll"), close("07:00", "bun"), item("cake", "08:00", "case", &["tub"])])).await;
    // What closed long ago is in memory no longer.
    house.set("11:30");
    house.restart().await;
    let found = asked(&house, &["fridge", "walk-in", "fridge"], "04:00", Some("06:30")).await.expect("it may be asked");
    let ids: Vec<String> = found.affected.iter().map(|a| a.then.item.to_string()).collect();
    // What was made of it too, and what was sold of it last; not what had gone before, nor what stood elsewhere.
    assert_eq!(ids, ["cake", "cream", "tub", "bun"]);
    assert!(found.whole);
    let short = |n: usize| {
        let a = &found.affected[n];
        (
            a.now.verdict.to_string(),
            a.now.total_out_ms / 60_000,
            a.then.verdict.to_string(),
            a.then.total_out_ms / 60_000,
        )
    };
    assert_eq!(short(0), (String::from("within"), 0, String::from("use"), 150));
    assert_eq!(short(3), (String::from("within"), 0, String::from("use"), 150));
    // Once it is written, each stands as was said.
    let before = house.list("open", 100).await;
    house
        .write(json!([
            {"kind": "lapse", "place": "fridge", "at": t("04:00"), "until": t("06:30")},
            {"kind": "lapse", "place": "walk-in", "at": t("04:00"), "until": t("06:30")},
        ]))
        .await;
    for a in &found.affected {
        assert_eq!(house.standing(a.then.item.as_str()).await, serde_json::to_value(&a.then).expect("JSON"));
    }
    for s in before {
        let id = s["item"].as_str().expect("an id");
        assert_eq!(ids.iter().any(|i| i == id), house.standing(id).await != s, "{id}");
    }
    house.agrees().await;
}

async fn what_the_ledger_would_refuse(house: House) {
    house.set_up().await;
    house.write(json!({"kind": "lapse", "place": "case", "at": t("11:00")})).await;
    for (places, since, until, code) in [
        (&["fridge", "case"][..], "11:30", None, "lapse-open"),
        (&["bench"], "11:30", None, "no-control"),
        (&["nowhere"], "11:30", None, "unknown-place"),
        (&["fridge"], "12:03", None, "in-the-future"),
        (&["fridge"], "11:30", Some("12:03"), "bad-until"),
        (&["fridge"], "1970-01-01T00:00:00Z", None, "before-ledger"),
    ] {
        match asked(&house, places, since, until).await {
            Err(Fault::Refused(r)) => assert_eq!(r.code.code, code),
            _ => panic!("{code}"),
        }
    }
    assert!(asked(&house, &[], "11:30", None).await.expect("nothing would be so").affected.is_empty());
}

async fn a_lapse_of_a_place_with_5_000_items(house: House) {
    house.set_up().await;
    for batch in 0..10 {
        let many: Vec<Value> =
            (0..500).map(|n| item(&format!("i{}", batch * 500 + n), "08:00", "fridge", &[])).collect();
        house.manager().post(&json!(many)).await.ok();
    }
    house.write(item("other", "08:00", "walk-in", &[])).await;
    let begun = Instant::now();
    let found = asked(&house, &["fridge"], "09:00", None).await.expect("it may be asked");
    println!("5,000 items: asked what if: {:?}", begun.elapsed());
    assert_eq!(found.affected.len(), 5_000);
    let begun = Instant::now();
    house.write(json!({"kind": "lapse", "place": "fridge", "at": t("09:00")})).await;
    println!("5,000 items: the lapse written: {:?}", begun.elapsed());
    // One write, whatever stands there; it took some hundredths of a second.
    assert!(begun.elapsed().as_secs() < 5, "{:?}", begun.elapsed());
    let begun = Instant::now();
    let first = house.manager().get("items?limit=500").await.ok().json();
    println!("5,000 items: the first 500 of the list: {:?}", begun.elapsed());
    // Three hours out, each and every one, and as was said.
    let begun = Instant::now();
    let out = house.list("out", 500).await;
    println!("5,000 items: all of the list: {:?}", begun.elapsed());
    assert_eq!(out.len(), 5_000);
    assert_eq!(first["items"].as_array().expect("items")[..], out[..500]);
    for (s, a) in out.iter().zip(&found.affected) {
        assert_eq!((&s["total_out_ms"], &s["verdict"]), (&json!(3 * 3_600_000), &json!("use")));
        assert_eq!(*s, serde_json::to_value(&a.then).expect("JSON"));
    }
    assert_eq!(house.standing("other").await["state"], "cold");
    house.set("12:30");
    let begun = Instant::now();
    house.write(json!({"kind": "restore", "place": "fridge"})).await;
    println!("5,000 items: its end written: {:?}", begun.elapsed());
    assert_eq!(house.list("cold", 500).await.len(), 5_001);
}
