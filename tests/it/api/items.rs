//! Where everything stands: the list in its order, page by page, and one item whole.

use crate::kit::actor::Actor;
use crate::kit::chance::Chance;
use crate::kit::house::{House, t};
use serde_json::{Value, json};
use std::collections::BTreeSet;

both!(
    the_list_is_most_urgent_first,
    pages_hold_while_things_happen,
    an_item_whole,
    as_it_stood,
    tags_change_with_what_they_tag,
    a_tag_ends_with_what_comes_next,
    many_read_at_once
);

fn item(id: &str, at: &str, place: &str) -> Value {
    json!({"kind": "item", "at": t(at), "item": id, "product": "cake", "name": id, "place": place})
}

fn moved(id: &str, at: &str, place: &str) -> Value {
    json!({"kind": "move", "at": t(at), "item": id, "place": place})
}

/// Where a standing belongs in the list.
fn urgency(s: &Value) -> (usize, bool, i64, String) {
    let verdict = ["discard", "use", "return", "within"].iter().position(|v| s["verdict"] == *v).expect("a verdict");
    let left = s["left_ms"].as_i64().unwrap_or(i64::MAX);
    (verdict, s["state"] != "out", left, s["item"].as_str().expect("an id").to_owned())
}

fn ids(list: &[Value]) -> Vec<&str> {
    list.iter().map(|s| s["item"].as_str().expect("an id")).collect()
}

/// Sixty items of every state, verdict and age; ids that a language would sort otherwise than a computer.
async fn fill(house: &House, seed: u64) {
    house.set_up().await;
    let mut chance = Chance::new(seed);
    let places = ["fridge", "bench", "freezer", "shelf", "case"];
    let mut entries = Vec::new();
    for n in 0..60 {
        let id = format!("{}{n}", chance.of(&["a", "B", "c-", "D_", "e."]));
        let rules = *chance.of(&["two-hour", "sum-2h-4h", "house-2h-4h", "us-time-4h", "uk-display-4h", "keep-7d"]);
        let begun = t(&format!("0{}:{:02}", 5 + chance.below(4), chance.below(60)));
        let mut place = *chance.of(&places);
        entries.push(json!({"kind": "item", "at": begun, "item": id, "name": id, "place": place, "rules": [rules]}));
        for hour in ["09", "10"] {
            let next = *chance.of(&places);
            if next != place && chance.percent(60) {
                entries.push(moved(&id, &format!("{hour}:{:02}", chance.below(60)), next));
                place = next;
            }
        }
        if chance.percent(30) {
            let at = t(&format!("11:{:02}", chance.below(60)));
            entries.push(json!({"kind": "close", "at": at, "item": id, "as": "sold"}));
        }
    }
    house.write(json!(entries)).await;
}

async fn the_list_is_most_urgent_first(house: House) {
    fill(&house, 7).await;
    let expected = House::evaluate(&house.tail().await, house.now(), None);
    for state in ["open", "out", "cold", "frozen", "closed"] {
        let wanted = |s: &&Value| s["state"] == state || (state == "open" && s["state"] != "closed");
        let mut all: Vec<Value> = expected.values().filter(wanted).cloned().collect();
        all.sort_by_key(urgency);
        assert!(all.len() > 3, "{state}: the fill has too few");
        for limit in [1, 7, 500] {
            let got = house.list(state, limit).await;
            assert_eq!(ids(&got), ids(&all), "{state}, {limit} a page");
            assert_eq!(got, all, "{state}, {limit} a page");
        }
    }
    let page = house.staff().get("items").await.ok().json();
    assert_eq!(page.as_object().map(|o| o.len()), Some(2), "`items` and `next_cursor`");
    assert_eq!(page["next_cursor"], Value::Null);
    // A page that is just full has no next one.
    let open = house.list("open", 500).await.len();
    let page = house.staff().get(&format!("items?limit={open}")).await.ok().json();
    assert_eq!(page["next_cursor"], Value::Null);
    house.agrees().await;
}

/// Pages begun at an instant go on at that instant; what happens meanwhile is seen by those who ask anew.
async fn pages_hold_while_things_happen(house: House) {
    fill(&house, 11).await;
    let whole = house.list("open", 500).await;
    let (mut got, mut cursor, mut minute) = (Vec::<Value>::new(), String::new(), 0);
    loop {
        let page = house.staff().get(&format!("items?limit=9{cursor}")).await.ok().json();
        got.extend_from_slice(page["items"].as_array().expect("items"));
        let Some(next) = page["next_cursor"].as_str() else { break };
        cursor = format!("&cursor={next}");
        // Time passes, and one that was shown and one that wasn't are moved.
        house.pass(7 * 60_000);
        minute += 7;
        let at = t(&format!("12:{minute:02}"));
        for s in [&whole[minute / 7], &whole[whole.len() - minute / 7]] {
            let place = if s["place"] == "van" { "bench" } else { "van" };
            house.write(json!({"kind": "move", "at": at, "item": s["item"], "place": place})).await;
        }
        house
            .write(json!({"kind": "item", "at": at, "item": format!("new{minute}"), "rules": ["two-hour"],
            "name": "N", "place": "bench"}))
            .await;
    }
    assert_eq!(ids(&got), ids(&whole), "nothing twice, nothing missing");
    assert_eq!(got, whole);
    let all: BTreeSet<&str> = ids(&whole).into_iter().collect();
    assert_eq!(all.len(), whole.len());
    // What the old pages worked out isn't taken for how things stand now.
    house.agrees().await;
    let expected = House::evaluate(&house.tail().await, house.now(), None);
    let mut out: Vec<Value> = expected.values().filter(|s| s["state"] == "out").cloned().collect();
    out.sort_by_key(urgency);
    assert_eq!(ids(&house.list("out", 10).await), ids(&out));
}

async fn an_item_whole(house: House) {
    house.set_up().await;
    house.write(json!([
        item("tub", "08:00", "bench"),
        moved("tub", "08:30", "fridge"),
        {"kind": "item", "at": t("09:00"), "item": "cake", "product": "cake", "name": "Cake", "place": "bench", "from": ["tub"]},
        {"kind": "item", "at": t("09:05"), "item": "Bun", "product": "cake", "name": "Bun", "place": "fridge"},
        {"kind": "join", "at": t("09:10"), "item": "Bun", "from": ["tub"]},
        moved("cake", "09:20", "fridge"),
        moved("cake", "11:50", "shelf"),
    ])).await;
    let one = house.staff().get("items/cake").await.ok().json();
    let keys: Vec<&String> = one.as_object().expect("an object").keys().collect();
    assert_eq!(keys, ["entries", "spells", "standing", "went_into"]);
    assert_eq!(
        one["spells"],
        json!([
            {"from": t("08:00"), "to": t("08:30"), "place": "bench", "inherited_from": "tub"},
            {"from": t("09:00"), "to": t("09:20"), "place": "bench"},
            {"from": t("11:50"), "to": null, "place": "shelf"},
        ])
    );
    assert_eq!(one["standing"]["total_out_ms"], 60 * 60_000);
    let kinds: Vec<&Value> = one["entries"].as_array().expect("entries").iter().map(|e| &e["kind"]).collect();
    assert_eq!(kinds, ["item", "move", "move"]);
    assert_eq!(one["went_into"], json!([]));
    let tub = house.staff().get("items/tub").await.ok().json();
    assert_eq!(tub["went_into"], json!(["Bun", "cake"]));
    // A join that was taken back leads nowhere; its correction is among the entries.
    let bun = house.staff().get("items/Bun").await.ok().json();
    let join = bun["entries"][1]["seq"].as_u64().expect("a seq");
    house.write(json!({"kind": "correct", "entry": join, "void": true, "reason": "other tub"})).await;
    let bun = house.staff().get("items/Bun").await.ok().json();
    assert_eq!(bun["entries"].as_array().map(Vec::len), Some(3));
    let tub = house.staff().get("items/tub").await.ok().json();
    assert_eq!(tub["went_into"], json!(["cake"]));
    // Closed, and not in memory any more: the same.
    house.write(json!({"kind": "close", "at": t("11:55"), "item": "cake", "as": "served"})).await;
    let before = house.staff().get("items/cake").await.ok().json();
    assert_eq!((&before["standing"]["state"], &before["standing"]["as_of"]), (&json!("closed"), &json!(t("11:55"))));
    house.restart().await;
    assert_eq!(house.staff().get("items/cake").await.ok().json(), before);
    house.agrees().await;
}

async fn as_it_stood(house: House) {
    house.set_up().await;
    house.write(json!([item("tub", "08:00", "bench"), moved("tub", "08:30", "fridge")])).await;
    house.set("12:30");
    house
        .write(
            json!({"kind": "item", "at": t("12:20"), "item": "cake", "product": "cake", "name": "C", "place": "bench",
        "from": ["tub"]}),
        )
        .await;
    house.set("13:00");
    // Found out late: it had stood for another hour before it went into the cake.
    house.write(json!([moved("tub", "09:00", "bench"), moved("tub", "10:00", "fridge")])).await;
    house.set("13:30");
    let begin = house.staff().get("items/tub").await.ok().json()["entries"][0]["seq"].as_u64().expect("a seq");
    house.write(json!({"kind": "correct", "entry": begin, "set": {"at": t("08:10")}, "reason": "clock"})).await;
    house.write(json!({"kind": "close", "at": t("13:30"), "item": "cake", "as": "sold"})).await;
    house.set("14:00");
    let tail = house.tail().await;
    for item in ["tub", "cake"] {
        for known in
            [None, Some("12:00"), Some("12:29:59.999"), Some("12:30"), Some("13:00"), Some("13:30"), Some("14:00")]
        {
            for as_of in
                [None, Some("08:05"), Some("08:20"), Some("09:30"), Some("12:25"), Some("13:29"), Some("13:45")]
            {
                if as_of.is_none() && known.is_none() {
                    continue;
                }
                let instants =
                    (as_of.map_or(house.now(), crate::kit::house::instant), known.map(crate::kit::house::instant));
                let expected = House::evaluate(&tail, instants.0, instants.1).remove(item);
                let mut path = format!("items/{item}?");
                for (name, at) in [("as_of", as_of), ("known_at", known)] {
                    path += &at.map_or(String::new(), |at| format!("{name}={}&", t(at)));
                }
                let got = house.staff().get(path.trim_end_matches('&')).await;
                match expected {
                    Some(standing) => assert_eq!(got.ok().json()["standing"], standing, "{path}"),
                    None => _ = got.refused(404, "not-found"),
                }
            }
        }
    }
    // The entries beside it, and what it went into, are those of that instant and of what was known.
    for (when, kinds, into) in [
        (format!("known_at={}", t("12:29:59.999")), vec!["item", "move"], json!([])),
        (format!("known_at={}", t("12:30")), vec!["item", "move"], json!(["cake"])),
        (format!("known_at={}", t("13:00")), vec!["item", "move", "move", "move"], json!(["cake"])),
        (format!("as_of={}", t("09:30")), vec!["item", "move", "move", "correct"], json!([])),
        (format!("as_of={}&known_at={}", t("09:30"), t("12:30")), vec!["item", "move"], json!([])),
    ] {
        let tub = house.staff().get(&format!("items/tub?{when}")).await.ok().json();
        let got: Vec<&str> =
            tub["entries"].as_array().expect("entries").iter().filter_map(|e| e["kind"].as_str()).collect();
        assert_eq!((got, &tub["went_into"]), (kinds, &into), "{when}");
    }
    house.agrees().await;
}

async fn tags_change_with_what_they_tag(house: House) {
    house.set_up().await;
    house
        .write(json!([item("tub", "11:00", "fridge"), item("cake", "11:00", "fridge"),
        {"kind": "join", "at": t("11:01"), "item": "cake", "from": ["tub"]}]))
        .await;
    let staff = house.staff();
    let ask = async |tag: &str| {
        staff.send("GET", "/s/shop/api/items/cake", &[("if-none-match", tag)], axum::body::Body::empty()).await
    };
    let first = ask("\"other\"").await.ok();
    let tag = first.header("etag").to_owned();
    assert!(tag.starts_with("W/\""), "what runs with the clock isn't in it: {tag}");
    for sent in [tag.clone(), format!("\"x\", {tag}")] {
        let again = ask(&sent).await;
        assert_eq!((again.status.as_u16(), again.bytes.len(), again.header("etag")), (304, 0, tag.as_str()));
    }
    house.pass(60_000);
    assert_eq!(ask(&tag).await.status.as_u16(), 304, "a minute in the cold changes nothing");
    // Everything that changes it: its own entries, a parent's late one, a correction, a lapse.
    let mut tags = BTreeSet::from([tag]);
    for entry in [
        json!({"kind": "seen", "at": t("11:30"), "item": "cake", "place": "fridge"}),
        json!({"kind": "reading", "at": t("11:31"), "item": "cake", "value": "4.0", "unit": "C"}),
        moved("cake", "11:32", "bench"),
        json!({"kind": "lapse", "at": t("11:20"), "place": "fridge", "until": t("11:25")}),
        json!([moved("tub", "11:00:10", "bench"), moved("tub", "11:00:50", "fridge")]),
        json!({"kind": "close", "at": t("11:50"), "item": "cake", "as": "sold"}),
    ] {
        house.write(entry.clone()).await;
        for old in &tags {
            assert_eq!(ask(old).await.status.as_u16(), 200, "an old tag after {entry}");
        }
        let now = ask("W/\"x\"").await.ok();
        assert!(tags.insert(now.header("etag").to_owned()), "{entry} changes the tag");
    }
    // What it went into is part of it.
    let tub = |tag: String| {
        let staff = staff.clone();
        async move {
            staff.send("GET", "/s/shop/api/items/tub", &[("if-none-match", &tag)], axum::body::Body::empty()).await
        }
    };
    let tag = tub(String::from("x")).await.ok().header("etag").to_owned();
    house
        .write(
            json!({"kind": "item", "at": t("11:55"), "item": "bun", "product": "cake", "name": "B", "place": "bench",
        "from": ["tub"]}),
        )
        .await;
    assert_eq!(tub(tag).await.status.as_u16(), 200);
}

/// Never "not modified" past the instant at which the verdict becomes worse.
async fn a_tag_ends_with_what_comes_next(house: House) {
    house.set_up().await;
    house.write(json!([item("cake", "12:00", "bench"), item("cold", "12:00", "fridge")])).await;
    let staff = house.staff();
    let ask = async |item: &str, tag: &str| {
        let path = format!("/s/shop/api/items/{item}");
        staff.send("GET", &path, &[("if-none-match", tag)], axum::body::Body::empty()).await
    };
    let mut seen = Vec::new();
    loop {
        let whole = ask("cake", "x").await.ok();
        let tag = whole.header("etag").to_owned();
        let standing = whole.json()["standing"].clone();
        seen.push(standing["verdict"].as_str().expect("a verdict").to_owned());
        let Some(next) = standing["next"]["at"].as_str() else { break };
        let ahead = crate::kit::house::instant(next).since(house.now());
        if ahead > 0 {
            house.pass(ahead - 1);
            assert_eq!(ask("cake", &tag).await.status.as_u16(), 304, "up to {next}");
            house.pass(1);
        } else {
            house.pass(1);
        }
        assert_eq!(ask("cake", &tag).await.status.as_u16(), 200, "at {next} {}", seen.len());
    }
    seen.dedup();
    assert_eq!(seen, ["within", "use", "discard"]);
    // A day begins: the last day it may be kept is nearer, but the tag only changes with what it shows.
    for day in 1..9 {
        let tag = ask("cold", "x").await.ok().header("etag").to_owned();
        let before = house.standing("cold").await;
        house.set(&format!("+{day} 23:30"));
        let (after, status) = (house.standing("cold").await, ask("cold", &tag).await.status.as_u16());
        let same = ["verdict", "discard_by", "use_by", "next", "reasons"].iter().all(|m| before[m] == after[m]);
        assert!(same || status == 200, "{before} {after}");
    }
}

/// More readers than connections: nobody waits for a second one with the first in hand.
async fn many_read_at_once(house: House) {
    house.set_up().await;
    house
        .write(json!([item("tub", "08:00", "bench"), {"kind": "close", "at": t("08:30"), "item": "tub", "as": "sold"}]))
        .await;
    house.restart().await;
    let begun = std::time::Instant::now();
    let paths = ["items/tub", "items/tub?as_of=2026-05-04T08:10:00Z", "items", "record.csv", "entries"];
    let tasks: Vec<_> = (0..60)
        .map(|n| {
            let staff = house.staff();
            tokio::spawn(async move { staff.get(paths[n % 8 % 5]).await.ok() })
        })
        .collect();
    for task in tasks {
        task.await.expect("an answer");
    }
    assert!(begun.elapsed().as_secs() < 9, "somebody waited for a connection that never came: {:?}", begun.elapsed());
}
