//! Who may do what: every role on every route, from one table.
//!
//! Guards against S-09, S-54 of SAFETY.md.

use crate::kit::actor::{Actor, Anonymous, Bearer, Cookie};
use crate::kit::house::{House, SITE, t};
use axum::body::Body;
use counterclock::ledger::Id;
use counterclock::people::{Role, tokens};
use serde_json::{Value, json};

both!(every_role_on_every_route, tokens_are_looked_up_anew, shops_are_apart);

/// Who asks, then the statuses of: reading (GET and HEAD), posting air, a move, a place.
const TABLE: &[(&str, u16, u16, u16, u16)] = &[
    ("anonymous", 401, 401, 401, 401),
    ("unknown token", 401, 401, 401, 401),
    ("not bearer", 401, 401, 401, 401),
    ("staff", 200, 201, 201, 403),
    ("staff's cookie", 200, 201, 201, 403),
    ("manager", 200, 201, 201, 201),
    ("inspector", 200, 403, 403, 403),
    ("probe", 403, 201, 403, 403),
    ("the fridge's probe", 403, 201, 403, 403),
    ("the case's probe", 403, 403, 403, 403),
    ("another shop's manager", 403, 403, 403, 403),
    ("all shops' staff", 200, 201, 201, 403),
    ("all shops' inspector", 200, 403, 403, 403),
];

const READS: &[&str] = &[
    "entries",
    "items",
    "items?state=closed",
    "items/tub",
    "items/tub?as_of=2026-05-04T12:00:00Z",
    "rules",
    "places",
    "products",
    "record.jsonl",
    "record.csv",
];

async fn every_role_on_every_route(house: House) {
    house.set_up().await;
    let begin =
        json!({"kind": "item", "at": t("08:00"), "item": "tub", "product": "cake", "name": "T", "place": "fridge"});
    house.write(begin).await;
    let service = house.service();
    service.add_site("annex", SITE).await.expect("another shop");
    let token = async |site: &str, role: Role| service.add_token(site, "n", role).await.expect("a token");
    let elsewhere = Bearer(house.clone(), token("annex", Role::Manager).await);
    let measures = async |place: &str| {
        let place = Id::new(place).expect("an id");
        Bearer(house.clone(), service.add_probe("shop", "n", &[place]).await.expect("a token"))
    };
    let (fridges, cases) = (measures("fridge").await, measures("case").await);
    let all_staff = Bearer(house.clone(), token(tokens::ALL, Role::Staff).await);
    let all_inspector = Bearer(house.clone(), token(tokens::ALL, Role::Inspector).await);
    let mut places = ["bench", "fridge"].into_iter().cycle();
    let mut minute = 0;
    for (who, read, air, moved, place) in TABLE {
        minute += 1;
        let at = t(&format!("11:{minute:02}"));
        let next = places.next().expect("a place");
        let posts: [(Value, u16); 3] = [
            (json!({"kind": "reading", "at": at, "place": "fridge", "value": "4.0", "unit": "C"}), *air),
            (json!({"kind": "move", "at": at, "item": "tub", "place": next}), *moved),
            (json!({"kind": "place", "at": at, "place": format!("p{minute}"), "name": "P", "control": "none"}), *place),
        ];
        if *moved != 201 {
            // Nothing moved: the same place is next for whoever may.
            _ = places.next();
        }
        let head = house.head().await;
        macro_rules! row {
            ($actor:expr) => {{
                let actor = $actor;
                for path in READS {
                    let got = actor.get(path).await;
                    assert_eq!(got.status.as_u16(), *read, "{who} GET {path}: {}", got.text());
                    let path = format!("/s/shop/api/{path}");
                    let got = actor.send("HEAD", &path, &[], Body::empty()).await;
                    assert_eq!(got.status.as_u16(), *read, "{who} HEAD {path}");
                    assert!(got.bytes.is_empty());
                }
                for (entry, status) in &posts {
                    let got = actor.post(entry).await;
                    assert_eq!(got.status.as_u16(), *status, "{who} {entry}: {}", got.text());
                }
                for path in ["/healthz", "/readyz"] {
                    assert_eq!(actor.send("GET", path, &[], Body::empty()).await.status.as_u16(), 200, "{who} {path}");
                }
            }};
        }
        match *who {
            "anonymous" => row!(Anonymous(house.clone())),
            "unknown token" => row!(Bearer(house.clone(), format!("cc_{}", "0".repeat(64)))),
            "not bearer" => row!(Bearer(house.clone(), String::from(" \u{e9}"))),
            "staff's cookie" => row!(Cookie(house.clone(), house.staff().1)),
            "the fridge's probe" => row!(fridges.clone()),
            "the case's probe" => row!(cases.clone()),
            "another shop's manager" => row!(elsewhere.clone()),
            "all shops' staff" => row!(all_staff.clone()),
            "all shops' inspector" => row!(all_inspector.clone()),
            role => row!(house.role(role)),
        }
        let written = posts.iter().filter(|(_, status)| *status == 201).count() as u64;
        assert_eq!(house.head().await, head + written, "{who}");
    }
    // An array with one entry that isn't theirs is turned down whole.
    let air = json!({"kind": "reading", "place": "fridge", "value": "4.0", "unit": "C"});
    let seen = json!({"kind": "seen", "item": "tub", "place": "fridge"});
    let head = house.head().await;
    house.role("probe").post(&json!([air, seen])).await.refused(403, "not-allowed");
    // A food reading isn't the air's.
    let food = json!({"kind": "reading", "item": "tub", "value": "4.0", "unit": "C"});
    house.role("probe").post(&food).await.refused(403, "not-allowed");
    assert_eq!(house.head().await, head);
    // What is written says who wrote it.
    let by = house.staff().post(&air).await.ok().json()["entries"][0].clone();
    assert!(by["by"].as_str().is_some_and(|id| id.starts_with("t-")), "{by}");
    assert_eq!(by["by_how"], "token");
    house.agrees().await;
}

/// A revoked token is good for a few seconds more, on the service's clock, and then no longer.
async fn tokens_are_looked_up_anew(house: House) {
    house.set_up().await;
    house.staff().get("items").await.ok();
    let hash = tokens::hash(&house.staff().1);
    house.base().aside().await.must(&format!("update token set revoked_at = 1 where hash = '{hash}'")).await;
    house.pass(5_000);
    house.staff().get("items").await.refused(401, "not-signed-in");
    house.staff().post(&json!({"kind": "restore", "place": "fridge"})).await.refused(401, "not-signed-in");
    house.manager().get("items").await.ok();
}

/// Two shops of one database: equal ids, nothing shared.
async fn shops_are_apart(house: House) {
    house.set_up().await;
    let service = house.service();
    service.add_site("annex", SITE).await.expect("another shop");
    assert!(!service.add_site("annex", SITE).await.expect("it is there already"));
    let all = Bearer(house.clone(), service.add_token(tokens::ALL, "n", Role::Manager).await.expect("a token"));
    let json_type = [("content-type", "application/json")];
    let there = async |entry: Value| all.send("POST", "/s/annex/api/entries", &json_type, entry.to_string()).await;
    let item =
        json!({"kind": "item", "at": t("11:00"), "item": "tub", "rules": ["two-hour"], "name": "T", "place": "fridge"});
    house.write(item.clone()).await;
    there(item.clone()).await.refused(409, "unknown-place");
    there(json!({"kind": "place", "place": "fridge", "name": "F", "control": "none"})).await.ok();
    // The same key in another shop is another key.
    let key = [json_type[0], ("idempotency-key", "k")];
    house.manager().post_keyed("k", &json!({"kind": "seen", "item": "tub", "place": "fridge"})).await.ok();
    all.send("POST", "/s/annex/api/entries", &key, item.to_string()).await.ok();
    let items = all.send("GET", "/s/annex/api/items", &[], Body::empty()).await.ok().json();
    assert_eq!(items["items"][0]["state"], "out");
    assert_eq!(house.standing("tub").await["state"], "cold");
    for path in ["/s/nowhere/api/items", "/s/*/api/items", "/s/SHOP/api/items", "/s/%00/api/items"] {
        all.send("GET", path, &[], Body::empty()).await.refused(404, "not-found");
    }
    house.manager().send("GET", "/s/nowhere/api/items", &[], Body::empty()).await.refused(403, "not-allowed");
    house.restart().await;
    house.agrees().await;
}
