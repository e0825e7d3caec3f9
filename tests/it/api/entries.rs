//! Writing entries and reading them back.

use crate::kit::actor::Actor;
use crate::kit::house::{House, t};
use counterclock::ledger::chain;
use serde_json::{Value, json};

both!(
    an_entry_is_kept_as_it_was_taken,
    arrays_are_all_or_none,
    items_are_spread,
    ids_are_made,
    clocks_may_run_ahead,
    corrections_are_judged_as_a_whole,
    built_in_rules_are_written_down,
    the_tail_is_whole
);

fn item(id: &str, at: &str, place: &str) -> Value {
    json!({"kind": "item", "at": t(at), "item": id, "product": "cake", "name": id, "place": place})
}

fn moved(id: &str, at: &str, place: &str) -> Value {
    json!({"kind": "move", "at": t(at), "item": id, "place": place})
}

async fn an_entry_is_kept_as_it_was_taken(house: House) {
    house.set_up().await;
    let mut begin = item("tub", "11:00", "bench");
    begin["at"] = json!("2026-05-04T12:00:00.0009+01:00");
    begin["note"] = json!("quote \" and back \\ slash, Käse, \u{1f370}");
    let answer = house.staff().post(&begin).await.ok();
    assert_eq!((answer.status.as_u16(), answer.header("content-type")), (201, "application/json"));
    let answer = answer.json();
    let (kept, standing) = (&answer["entries"][0], &answer["standings"][0]);
    assert_eq!(kept["at"], t("11:00"), "cut to the millisecond, in UTC");
    assert_eq!((&kept["recorded_at"], &kept["late_ms"]), (&json!(t("12:00")), &json!(3_600_000)));
    assert_eq!(kept["note"], begin["note"]);
    assert_eq!((&standing["item"], &standing["total_out_ms"]), (&json!("tub"), &json!(3_600_000)));
    assert_eq!(standing, &house.standing("tub").await);
    let tail = house.tail().await;
    assert_eq!(tail.last(), Some(kept));
    // Within two minutes it isn't late, and says nothing of it.
    let answer = house.write(moved("tub", "11:58", "fridge")).await;
    assert_eq!(answer["entries"][0].get("late_ms"), None);
    let answer = house.write(moved("tub", "11:57:59.999", "shelf")).await;
    assert_eq!(answer["entries"][0]["late_ms"], 120_001);
    // `at` left out is the server's now.
    house.pass(1_234);
    let answer = house.write(json!({"kind": "seen", "item": "tub", "place": "bench"})).await;
    assert_eq!(answer["entries"][0]["at"], t("12:00:01.234"));
    house.agrees().await;
}

async fn arrays_are_all_or_none(house: House) {
    house.set_up().await;
    let head = house.head().await;
    // Each entry is judged after those before it.
    let day = json!([item("tub", "08:00", "fridge"), moved("tub", "09:00", "bench"), moved("tub", "09:10", "fridge")]);
    let answer = house.staff().post(&day).await.ok().json();
    let seqs: Vec<u64> =
        answer["entries"].as_array().expect("entries").iter().map(|e| e["seq"].as_u64().unwrap_or(0)).collect();
    // The two rules of the product were written down with it.
    assert_eq!(seqs, [head + 1, head + 2, head + 3]);
    assert_eq!(answer["standings"].as_array().map(Vec::len), Some(1), "one an item");
    let head = house.head().await;
    let bad =
        json!([moved("tub", "10:00", "bench"), item("cake", "10:00", "fridge"), moved("tub", "10:05", "nowhere")]);
    let answer = house.staff().post(&bad).await.refused(409, "unknown-place");
    assert_eq!(answer.json()["entry"], 2, "which one it was, counted from 0");
    let bad = json!([moved("tub", "10:00", "bench"), {"kind": "thaw"}]);
    assert_eq!(house.staff().post(&bad).await.refused(400, "unknown-kind").json()["entry"], 1);
    // In order: a move before its item began is none, though the array would hold together.
    let order = json!([moved("cake", "10:00", "bench"), item("cake", "09:00", "fridge")]);
    house.staff().post(&order).await.refused(409, "unknown-item");
    let alone = json!([moved("tub", "10:00", "bench"), moved("tub", "10:01", "bench")]);
    house.staff().post(&alone).await.refused(409, "already-there");
    assert_eq!(house.head().await, head);
    // Five hundred are taken, and stay together.
    let many: Vec<Value> = (0..500).map(|n| item(&format!("c{n}"), "10:00", "fridge")).collect();
    let answer = house.staff().post(&json!(many)).await.ok().json();
    assert_eq!(answer["entries"].as_array().map(Vec::len), Some(500));
    assert_eq!(house.head().await, head + 500);
    // One item begun and moved in the same request is found again after a restart.
    house.restart().await;
    house.agrees().await;
}

async fn items_are_spread(house: House) {
    house.set_up().await;
    let ids: Vec<String> = (0..20).map(|n| format!("cake-{n:02}")).collect();
    let rack: Vec<Value> = ids.iter().map(|id| item(id, "08:00", "fridge")).collect();
    house.write(json!(rack)).await;
    let head = house.head().await;
    let entry = json!({"kind": "move", "at": t("09:00"), "items": ids, "place": "bench", "note": "the rack"});
    let answer = house.staff().post(&entry).await.ok().json();
    let entries = answer["entries"].as_array().expect("entries");
    assert_eq!((entries.len(), answer["standings"].as_array().map(Vec::len)), (20, Some(20)));
    for (n, e) in entries.iter().enumerate() {
        assert_eq!(
            (&e["item"], &e["seq"], &e["note"]),
            (&json!(ids[n]), &json!(head + 1 + n as u64), &json!("the rack"))
        );
        assert!(e.get("items").is_none());
    }
    let read = json!({"kind": "reading", "at": t("09:05"), "items": ids, "probed": ids[3], "value": 7.5, "unit": "C"});
    let answer = house.staff().post(&read).await.ok().json();
    assert_eq!((&answer["entries"][9]["probed"], &answer["entries"][9]["value"]), (&json!(ids[3]), &json!("7.5")));
    house.staff().post(&json!({"kind": "seen", "at": t("09:06"), "items": ids, "place": "shelf"})).await.ok();
    // One of them is elsewhere: none is moved.
    house.write(moved(&ids[7], "09:10", "fridge")).await;
    let head = house.head().await;
    let back = json!({"kind": "move", "at": t("09:15"), "items": ids, "place": "fridge"});
    house.staff().post(&back).await.refused(409, "already-there");
    let twice = json!({"kind": "move", "at": t("09:15"), "items": [ids[0], ids[0]], "place": "fridge"});
    house.staff().post(&twice).await.refused(409, "already-there");
    let rack = json!({"kind": "reading", "at": t("09:16"), "items": ids, "value": 7.5, "unit": "C"});
    house.staff().post(&rack).await.refused(400, "bad-member");
    let many: Vec<String> = (0..501).map(|n| format!("x{n}")).collect();
    house.staff().post(&json!({"kind": "seen", "items": many, "place": "fridge"})).await.refused(400, "bad-member");
    let two = json!({"kind": "seen", "items": ids, "place": "fridge"});
    house.staff().post(&json!(vec![two; 26])).await.refused(400, "too-many");
    assert_eq!(house.head().await, head);
    house.staff().post(&json!({"kind": "close", "at": t("09:20"), "items": ids, "as": "sold"})).await.ok();
    house.agrees().await;
}

async fn ids_are_made(house: House) {
    house.set_up().await;
    let nameless = json!({"kind": "item", "at": t("11:00"), "product": "cake", "name": "Cake", "place": "fridge"});
    let free = json!({"kind": "item", "at": t("11:00"), "rules": ["two-hour"], "name": "Loose", "place": "fridge"});
    let answer = house.write(json!([nameless, nameless, free])).await;
    let ids: Vec<&str> =
        answer["standings"].as_array().expect("standings").iter().map(|s| s["item"].as_str().unwrap_or("")).collect();
    assert_eq!(ids.len(), 3, "three different ones: {ids:?}");
    assert!(ids.iter().all(|id| id.starts_with("cake-") || id.starts_with("item-")), "{ids:?}");
    // A name that the next number would make is passed over.
    let taken = format!("cake-{}", house.head().await + 2);
    house.write(item(&taken, "11:00", "fridge")).await;
    let answer = house.write(nameless.clone()).await;
    assert_ne!(answer["entries"][0]["item"], json!(taken));
    // So is one that closed before anybody who is still there can remember.
    for ahead in [4, 5] {
        let taken = format!("cake-{}", house.head().await + ahead);
        house.write(json!([item(&taken, "09:00", "fridge"), {"kind": "close", "at": t("09:10"), "item": taken, "as": "sold"}])).await;
        house.restart().await;
        house.write(json!([nameless, nameless, nameless])).await;
        house.checks().await;
    }
    house.agrees().await;
}

async fn clocks_may_run_ahead(house: House) {
    house.set_up().await;
    house.write(item("tub", "11:00", "fridge")).await;
    let answer = house.write(moved("tub", "12:02", "bench")).await;
    assert_eq!(answer["standings"][0]["state"], "out", "the answer has its own entry in it");
    house.staff().post(&moved("tub", "12:02:00.001", "fridge")).await.refused(409, "in-the-future");
    house.write(item("early", "12:01", "bench")).await;
    // Until then it is where it was.
    assert_eq!(house.standing("tub").await["state"], "cold");
    house.agrees().await;
    house.set("12:02");
    assert_eq!(house.standing("tub").await["state"], "out");
    let out: Vec<Value> = house.list("out", 10).await.iter().map(|s| s["item"].clone()).collect();
    assert!(out.contains(&json!("tub")) && out.contains(&json!("early")), "{out:?}");
    house.agrees().await;
    // The ledger's own time never runs back, whatever the machine's clock does.
    house.write(json!({"kind": "seen", "item": "tub", "place": "bench"})).await;
    house.set("11:30");
    let answer = house.write(json!({"kind": "seen", "item": "tub", "place": "fridge", "at": t("11:20")})).await;
    assert_eq!(answer["entries"][0]["recorded_at"], t("12:02"));
    house.set("12:03");
    house.agrees().await;
}

async fn corrections_are_judged_as_a_whole(house: House) {
    house.set_up().await;
    let day = json!([
        item("tub", "08:00", "fridge"),
        moved("tub", "09:00", "bench"),
        moved("tub", "09:30", "fridge"),
        moved("tub", "10:00", "bench")
    ]);
    let answer = house.write(day).await;
    let seqs: Vec<u64> =
        answer["entries"].as_array().expect("entries").iter().map(|e| e["seq"].as_u64().unwrap_or(0)).collect();
    let void = |seq: u64| json!({"kind": "correct", "entry": seq, "void": true, "reason": "undo"});
    let head = house.head().await;
    // Alone it would leave two moves to one place behind.
    house.staff().post(&void(seqs[1])).await.refused(409, "upsets-another");
    house.staff().post(&json!([void(seqs[2])])).await.refused(409, "upsets-another");
    assert_eq!(house.head().await, head);
    // Undo all since nine, in the order of the clock or against it.
    house.staff().post(&json!([void(seqs[1]), void(seqs[2]), void(seqs[3])])).await.ok();
    assert_eq!(house.standing("tub").await["total_out_ms"], 0);
    house.agrees().await;
    let set = |seq: u64, set: Value| json!({"kind": "correct", "entry": seq, "set": set, "reason": "right"});
    house.staff().post(&json!([set(seqs[3], json!({})), set(seqs[1], json!({})), set(seqs[2], json!({}))])).await.ok();
    house.agrees().await;
    // Two times that only fit together; stored as they were read.
    let both = json!([
        set(seqs[1], json!({"at": "2026-05-04T10:15:00+01:00"})),
        set(seqs[2], json!({"at": t("09:45"), "note": "late"}))
    ]);
    let answer = house.staff().post(&both).await.ok().json();
    assert_eq!(answer["entries"][0]["set"]["at"], t("09:15"));
    assert_eq!(house.standing("tub").await["total_out_ms"], 150 * 60_000);
    // A correction of a correction is none, and one of the future neither.
    let correction = answer["entries"][0]["seq"].as_u64().expect("a seq");
    house.staff().post(&void(correction)).await.refused(409, "not-correctable");
    house.staff().post(&set(seqs[3], json!({"at": t("12:03")}))).await.refused(409, "in-the-future");
    house.staff().post(&set(seqs[1], json!({"place": "nowhere"}))).await.refused(409, "upsets-another");
    house.staff().post(&set(1, json!({"name": "Other"}))).await.refused(403, "managers-only");
    house.agrees().await;
    // Everything of an item undone: it never was.
    let all: Vec<Value> = seqs.iter().map(|s| void(*s)).collect();
    house.staff().post(&json!(all)).await.ok();
    house.staff().get("items/tub").await.refused(404, "not-found");
    house.staff().post(&item("tub", "11:00", "fridge")).await.refused(409, "id-used");
    house.agrees().await;
    house.restart().await;
    house.agrees().await;
}

async fn built_in_rules_are_written_down(house: House) {
    house.set_up().await;
    let head = house.head().await;
    let begin =
        json!({"kind": "item", "at": t("11:00"), "item": "a", "rules": ["two-hour"], "name": "A", "place": "fridge"});
    let answer = house.staff().post(&begin).await.ok().json();
    assert_eq!(answer["entries"].as_array().map(Vec::len), Some(1), "only what was asked for is answered");
    assert_eq!(answer["entries"][0]["seq"], head + 2);
    let rule = &house.tail().await[head as usize];
    assert_eq!((&rule["kind"], &rule["rule"]), (&json!("rule"), &json!("two-hour")));
    // Refused, it isn't in use either.
    let bad = json!({"kind": "item", "at": t("11:00"), "item": "b", "rules": ["us-time-4h"], "name": "B", "place": "nowhere"});
    house.staff().post(&bad).await.refused(409, "unknown-place");
    let rules = house.staff().get("rules").await.ok().json();
    let in_use =
        |id: &str| rules["rules"].as_array().into_iter().flatten().any(|r| r["rule"] == id && r["in_use"] == true);
    assert!(in_use("two-hour") && !in_use("us-time-4h"));
    assert!(rules["note"].as_str().is_some_and(|n| n.contains("health authority")), "{}", rules["note"]);
    assert!(
        rules["rules"].as_array().is_some_and(|r| r.len() == 10 && r.iter().all(|r| r["source"]["title"].is_string()))
    );
    let own = json!({"kind": "rule", "rule": "own", "name": "Own", "returns": "any", "source": {"title": "x", "basis": "from memory"},
        "clauses": [{"measure": "total_out", "limit": "PT1H", "verdict": "discard"}]});
    house.write(own).await;
    let rules = house.staff().get("rules").await.ok().json();
    let own = rules["rules"].as_array().expect("rules").iter().find(|r| r["rule"] == "own").expect("it").clone();
    assert_eq!((&own["built_in"], &own["in_use"]), (&json!(false), &json!(true)));
    let places = house.staff().get("places").await.ok().json();
    assert_eq!(places["places"].as_array().map(Vec::len), Some(7));
    house.write(json!({"kind": "lapse", "at": t("11:30"), "place": "fridge"})).await;
    let places = house.staff().get("places").await.ok().json();
    let fridge =
        places["places"].as_array().expect("places").iter().find(|p| p["place"] == "fridge").expect("it").clone();
    assert_eq!(
        fridge,
        json!({"place": "fridge", "name": "fridge", "control": "cold", "use": "store", "in_lapse_since": t("11:30")})
    );
    house.write(json!({"kind": "product", "product": "cake", "name": "Layer cake", "rules": ["own"]})).await;
    let products = house.staff().get("products").await.ok().json();
    let cake = &products["products"].as_array().expect("products")[0];
    assert_eq!((&cake["name"], &cake["rules"]), (&json!("Layer cake"), &json!(["own"])));
    house.agrees().await;
}

async fn the_tail_is_whole(house: House) {
    house.set_up().await;
    house
        .write(json!([item("a", "08:00", "fridge"), item("b", "08:00", "fridge"), moved("a", "09:00", "bench")]))
        .await;
    let tail = house.tail().await;
    assert_eq!(tail.len() as u64, house.head().await);
    // The chain, link by link.
    let mut prev = chain::START.to_owned();
    for (n, entry) in tail.iter().enumerate() {
        assert_eq!(entry["seq"], n as u64 + 1);
        prev = chain::check(Some(&prev), &entry.to_string()).expect("an unbroken chain");
    }
    let staff = house.staff();
    for (path, first, count) in
        [("entries?after=3&limit=2", 4, 2), ("entries?after=0&limit=1", 1, 1), ("entries?limit=1", 1, 1)]
    {
        let page = staff.get(path).await.ok().json();
        let entries = page["entries"].as_array().expect("entries").clone();
        assert_eq!((entries.len(), &entries[0]["seq"]), (count, &json!(first)), "{path}");
        assert_eq!(page["head"], tail.len() as u64);
    }
    let page = staff.get(&format!("entries?after={}", tail.len())).await.ok().json();
    assert_eq!(page, json!({"entries": [], "head": tail.len()}));
}
