//! Each role against each route there is: let in, turned away, or sent to sign in, from one table. A route that isn't in
//! it fails the test.
//!
//! Guards against S-34, S-54 of SAFETY.md.

use crate::kit::actor::{Actor, Bearer};
use crate::kit::browser::Browser;
use crate::kit::house::{House, SITE, t};
use crate::kit::listen::open_at;
use crate::people::{PASSWORD, add, device, give, office};
use axum::body::Body;
use counterclock::people::Role;
use counterclock::web::api::openapi;
use counterclock::web::pages::ROUTES;
use serde_json::json;
use std::collections::BTreeSet;

both!(every_role_on_every_route, nothing_of_another_shop, nothing_that_is_sent_is_a_fault, a_stream_of_ones_own);

/// Who asks: nobody; staff by PIN; a manager and an inspector by password; a probe's token; a manager of another shop.
const WHO: [&str; 6] = ["nobody", "staff", "manager", "inspector", "probe", "another shop's manager"];

/// A route, and for each of them: `y` is let in (whatever is then said of what was sent), `n` is turned away, `s` is
/// sent to sign in.
const TABLE: &[(&str, &str, &str)] = &[
    ("get", "/", "syyyyy"),
    ("get", "/sign-in", "yyyyyy"),
    ("post", "/sign-in", "yyyyyy"),
    ("post", "/sign-out", "yyyyyy"),
    ("post", "/language", "yyyyyy"),
    ("get", "/set-up", "yyyyyy"),
    ("post", "/set-up", "yyyyyy"),
    ("get", "/enrol", "yyyyyy"),
    ("post", "/enrol", "yyyyyy"),
    ("get", "/inspect", "yyyyyy"),
    ("post", "/inspect", "nnnnnn"),
    ("get", "/s/{site}", "yyyyyy"),
    ("get", "/s/{site}/", "syyynn"),
    ("get", "/boards", "syyyny"),
    ("get", "/boards/stream", "syyyny"),
    ("get", "/s/{site}/fragment", "syyynn"),
    ("get", "/s/{site}/wall", "syyynn"),
    ("get", "/s/{site}/day", "syyynn"),
    ("get", "/s/{site}/record", "syyynn"),
    ("get", "/s/{site}/record.pdf", "syyynn"),
    ("post", "/s/{site}/items/{item}/known", "syynnn"),
    ("get", "/s/{site}/new", "syyynn"),
    ("post", "/s/{site}/new", "syynnn"),
    ("get", "/s/{site}/items/{item}", "syyynn"),
    ("get", "/s/{site}/items/{item}/{what}", "syynnn"),
    ("post", "/s/{site}/items/{item}/{what}", "syynnn"),
    ("get", "/s/{site}/items/{item}/label-check", "syyynn"),
    ("get", "/s/{site}/items/{item}/label", "syyynn"),
    ("get", "/s/{site}/items/{item}/label.pdf", "syyynn"),
    ("get", "/s/{site}/labels", "syyynn"),
    ("get", "/s/{site}/labels.pdf", "syyynn"),
    ("get", "/s/{site}/racks/{rack}/labels.pdf", "syyynn"),
    ("get", "/s/{site}/sheets/{sheet}/tags.pdf", "syyynn"),
    ("get", "/s/{site}/check-record", "syyynn"),
    ("post", "/s/{site}/check-record", "syyynn"),
    ("get", "/s/{site}/inspect", "syyynn"),
    ("get", "/s/{site}/inspect/find", "syyynn"),
    ("get", "/s/{site}/access", "snynnn"),
    ("post", "/s/{site}/access", "snynnn"),
    ("post", "/s/{site}/access/{access}/revoke", "snynnn"),
    ("get", "/s/{site}/decisions", "syyynn"),
    ("post", "/s/{site}/decisions", "snynnn"),
    ("get", "/s/{site}/no-signal", "syynnn"),
    ("get", "/s/{site}/kept", "syynnn"),
    ("get", "/s/{site}/taps", "syynnn"),
    ("post", "/s/{site}/taps", "syynnn"),
    ("get", "/s/{site}/taps/{tap}", "syyynn"),
    ("get", "/worker.js", "yyyyyy"),
    ("get", "/s/{site}/review", "syyynn"),
    ("post", "/s/{site}/review", "snynnn"),
    ("get", "/s/{site}/cold", "syyynn"),
    ("get", "/s/{site}/cold/cut", "syynnn"),
    ("post", "/s/{site}/cold/lapse", "syynnn"),
    ("post", "/s/{site}/cold/restore", "syynnn"),
    ("post", "/s/{site}/cold/dismiss", "snynnn"),
    ("get", "/s/{site}/places/{place}", "syyynn"),
    ("post", "/s/{site}/places/{place}", "snynnn"),
    ("get", "/s/{site}/probes", "snynnn"),
    ("post", "/s/{site}/probes", "snynnn"),
    ("post", "/s/{site}/probes/{probe}/revoke", "snynnn"),
    ("get", "/s/{site}/round", "syynnn"),
    ("get", "/s/{site}/round/{place}", "syynnn"),
    ("post", "/s/{site}/round/{place}", "syynnn"),
    ("get", "/s/{site}/items/{item}/tag", "syyynn"),
    ("post", "/s/{site}/items/{item}/tag", "syynnn"),
    ("get", "/s/{site}/people", "snynnn"),
    ("post", "/s/{site}/people", "snynnn"),
    ("post", "/s/{site}/people/{person}/{what}", "snynnn"),
    ("get", "/s/{site}/shop", "syyynn"),
    ("post", "/s/{site}/shop/{what}", "snynnn"),
    ("get", "/s/{site}/another", "snynnn"),
    ("post", "/s/{site}/another", "snynnn"),
    ("get", "/s/{site}/devices", "snynnn"),
    ("post", "/s/{site}/devices", "snynnn"),
    ("post", "/s/{site}/devices/{device}/{what}", "snynnn"),
    ("get", "/s/{site}/items/{item}/hand-over", "syynnn"),
    ("post", "/s/{site}/items/{item}/hand-over", "syynnn"),
    ("get", "/s/{site}/items/{item}/card", "syyynn"),
    ("get", "/s/{site}/away", "syyynn"),
    ("post", "/s/{site}/away/{link}/revoke", "syynnn"),
    ("get", "/h/{code}", "yyyyyy"),
    ("post", "/h/{code}", "yyyyyy"),
    ("get", "/s/{site}/history", "syyynn"),
    ("get", "/s/{site}/recall", "syyynn"),
    ("get", "/s/{site}/recall.csv", "syyynn"),
    ("get", "/s/{site}/rules", "syyynn"),
    ("get", "/s/{site}/rules/own", "snynnn"),
    ("post", "/s/{site}/rules/{what}", "snynnn"),
    ("get", "/s/{site}/notices", "snynnn"),
    ("post", "/s/{site}/notices", "snynnn"),
    ("post", "/s/{site}/notices/{target}/{what}", "snynnn"),
    ("get", "/s/{site}/publish", "snynnn"),
    ("post", "/s/{site}/publish", "snynnn"),
    ("get", "/s/{site}/ahead", "syyynn"),
    ("get", "/s/{site}/plan", "syynnn"),
    ("post", "/s/{site}/plan", "syynnn"),
    ("get", "/s/{site}/orders/{order}", "syyynn"),
    ("post", "/s/{site}/orders/{order}/{what}", "syynnn"),
    ("post", "/s/{site}/items/{item}/come-back", "syynnn"),
    ("get", "/t/{tag}", "syyyyy"),
    ("get", "/s/{site}/scan", "syyynn"),
    ("get", "/s/{site}/tags", "syyynn"),
    ("post", "/s/{site}/tags", "syynnn"),
    ("get", "/s/{site}/tags/{tag}", "syyynn"),
    ("post", "/s/{site}/tags/{tag}/{what}", "syynnn"),
    ("get", "/s/{site}/sheets/{sheet}", "syyynn"),
    ("get", "/s/{site}/racks", "syyynn"),
    ("post", "/s/{site}/racks", "syynnn"),
    ("get", "/s/{site}/racks/{rack}", "syyynn"),
    ("post", "/s/{site}/racks/{rack}/{what}", "syynnn"),
    ("get", "/s/{site}/procedure", "syyynn"),
    ("get", "/s/{site}/procedure.pdf", "syyynn"),
    ("get", "/s/{site}/procedure/edit", "snynnn"),
    ("post", "/s/{site}/procedure/edit", "snynnn"),
    ("get", "/s/{site}/procedure/draft", "snynnn"),
    ("post", "/s/{site}/procedure/approve", "snynnn"),
    ("get", "/s/{site}/procedure/versions", "syyynn"),
    ("get", "/s/{site}/procedure/compare", "syyynn"),
    ("get", "/s/{site}/procedure/read", "syynnn"),
    ("post", "/s/{site}/procedure/read", "syynnn"),
    ("get", "/s/{site}/procedure/{version}", "syyynn"),
    ("get", "/static/{file}", "yyyyyy"),
    ("get", "/api/openapi.json", "yyyyyy"),
    ("get", "/healthz", "yyyyyy"),
    ("get", "/readyz", "yyyyyy"),
    ("get", "/s/{site}/api/entries", "syyynn"),
    ("post", "/s/{site}/api/entries", "syynyn"),
    ("get", "/s/{site}/api/items", "syyynn"),
    ("get", "/s/{site}/api/items/{item}", "syyynn"),
    ("get", "/s/{site}/api/places", "syyynn"),
    ("post", "/s/{site}/api/plan", "syyynn"),
    ("get", "/s/{site}/api/products", "syyynn"),
    ("get", "/s/{site}/api/record.csv", "syyynn"),
    ("get", "/s/{site}/api/record.jsonl", "syyynn"),
    ("get", "/s/{site}/api/record.pdf", "syyynn"),
    ("get", "/s/{site}/api/rules", "syyynn"),
    ("get", "/s/{site}/api/stream", "syyynn"),
];

/// Every route of the program, as it says itself.
fn known() -> BTreeSet<(String, String)> {
    let pages = ROUTES.iter().map(|(method, path)| ((*method).to_owned(), (*path).to_owned()));
    let document = openapi::document();
    let paths = document["paths"].as_object().expect("paths");
    let methods = ["get", "post", "put", "patch", "delete"];
    let api = paths.iter().flat_map(|(path, item)| {
        let of = methods.into_iter().filter(|m| item.get(*m).is_some());
        of.map(|m| (m.to_owned(), path.clone())).collect::<Vec<_>>()
    });
    pages.chain(api).collect()
}

#[test]
fn the_table_has_every_route_once() {
    let table: Vec<_> = TABLE.iter().map(|(method, path, _)| ((*method).to_owned(), (*path).to_owned())).collect();
    let set: BTreeSet<_> = table.iter().cloned().collect();
    assert_eq!(set.len(), table.len(), "a route stands twice");
    let known = known();
    assert_eq!(known.difference(&set).collect::<Vec<_>>(), Vec::<&(String, String)>::new(), "not in the table");
    assert_eq!(set.difference(&known).collect::<Vec<_>>(), Vec::<&(String, String)>::new(), "no such route");
    assert!(TABLE.iter().all(|(_, _, row)| row.len() == WHO.len()));
}

async fn every_role_on_every_route(house: House) {
    house.set_up().await;
    house
        .write(
            json!({"kind": "item", "at": t("08:00"), "item": "tub", "product": "cake", "name": "T", "place": "fridge"}),
        )
        .await;
    house.service().add_site("annex", SITE).await.expect("another shop");
    // Streams end at once, and with them what is waited for here.
    house.service().stop();
    let office = office(&house);
    let ada = add(&office, "Ada", "staff", "4711", "").await;
    add(&office, "Mia", "manager", "", PASSWORD).await;
    add(&office, "Ivo", "inspector", "", "a paper trail at noon").await;
    let stranger = house.service().add_token("annex", "n", Role::Manager).await.expect("a token");
    let browsers = [
        Browser::new(&house),
        device(&house, &office, "bench").await,
        Browser::new(&house),
        Browser::new(&house),
        Browser::new(&house),
        Browser::new(&house),
    ];
    browsers[4].put("counterclock", &house.role("probe").1);
    browsers[5].put("counterclock", &stranger);
    let air = json!({"kind": "reading", "place": "fridge", "value": "4.0", "unit": "C"}).to_string();
    for (method, path, row) in TABLE {
        // Whoever signed out or in otherwise is back.
        give(&browsers[1], &ada, "4711").await.goes("./");
        browsers[2].submit("/sign-in", &[("name", "Mia"), ("password", PASSWORD)]).await.goes("./");
        browsers[3].submit("/sign-in", &[("name", "Ivo"), ("password", "a paper trail at noon")]).await.goes("./");
        let address = path.replace("{site}", "shop").replace("{item}", "tub").replace("{what}", "move");
        let address = address.replace("{file}", "icon.svg").replace(['{', '}'], "");
        for ((who, browser), expected) in WHO.iter().zip(&browsers).zip(row.chars()) {
            // A copy, so that signing out ends nothing for the next.
            let page = match (*method, path.contains("/api/")) {
                ("get", _) => browser.look(&address).await,
                (_, true) => {
                    let json = [("content-type", "application/json")];
                    browser.send("POST", &address, &json, air.clone()).await
                }
                (_, false) => {
                    let form = [("content-type", "application/x-www-form-urlencoded")];
                    browser.send("POST", &address, &form, Body::empty()).await
                }
            };
            let signs_in = page.status.as_u16() == 303 && page.header("location").contains("sign-in?next=")
                || (*path == "/" && page.header("location") == "sign-in");
            let own = ["/sign-in", "/sign-out", "/enrol"].contains(path);
            let found = match page.status.as_u16() {
                405 => '!',
                _ if own => 'y',
                401 => 's',
                403 => 'n',
                _ if signs_in => 's',
                _ => 'y',
            };
            assert_eq!(found, expected, "{who}: {method} {address}: {} {}", page.status, page.text());
        }
    }
    house.agrees().await;
}

/// Everything of one shop is asked for at another's addresses, by whoever manages that: by each route with the first one's ids,
/// by its tags, cursors and idempotency keys, and by the stream. Nothing of it is shown, and nothing of it changes.
async fn nothing_of_another_shop(house: House) {
    house.set_up().await;
    let (office, service) = (office(&house), house.service());
    service.add_site("annex", SITE).await.expect("another shop");
    let other = Browser::new(&house);
    let token = service.add_token("annex", "n", Role::Manager).await.expect("a token");
    other.put("counterclock", &token);
    // What the first shop has, all of it with a word in it that the second never wrote.
    let place = json!({"kind": "place", "place": "hush-place", "name": "Hushplace", "control": "cold"});
    let begin = json!({"kind": "item", "at": t("08:00"), "item": "hush-tub", "product": "cake", "name": "Hushcake", "place": "hush-place"});
    house.manager().post(&json!([place, begin])).await.ok();
    for n in 0..3 {
        house.write(json!({"kind": "item", "at": t("08:00"), "item": format!("hush-{n}"), "product": "cake", "name": "Hushcake", "place": "fridge"})).await;
    }
    let person = add(&office, "Hushperson", "staff", "4711", "").await;
    device(&house, &office, "hush-device").await;
    let sheet =
        office.submit("/s/shop/tags", &[("count", "4")]).await.to().rsplit('/').next().unwrap_or_default().to_owned();
    let codes = office.open(&format!("/s/shop/sheets/{sheet}")).await.texts(".sheet .code");
    let tag = codes[0].replace('-', "");
    office.submit("/s/shop/items/hush-tub/tag", &[("code", &tag)]).await;
    office.submit("/s/shop/racks", &[("rack", "hush-rack"), ("name", "Hushrack"), ("code", &codes[1])]).await;
    office.submit("/s/shop/probes", &[("name", "Hushprobe"), ("place", "hush-place")]).await;
    office.submit("/s/shop/access", &[("name", "Hushlink")]).await;
    let counted = async || {
        let mut counts = Vec::new();
        for table in [
            "device",
            "tag",
            "tie",
            "rack",
            "on_rack",
            "access",
            "handover",
            "plan",
            "come_back",
            "notice_target",
            "member",
            "untaken",
        ] {
            let text = format!("select cast(count(*) as text) from {table} where site = 'shop'");
            counts.push(house.base().aside().await.ask(&text).await);
        }
        counts
    };
    let (head, before) = (house.head().await, counted().await);
    let ids = [
        ("{item}", "hush-tub"),
        ("{place}", "hush-place"),
        ("{person}", &*person),
        ("{sheet}", &*sheet),
        ("{tag}", &*tag),
        ("{rack}", "hush-rack"),
        ("{device}", "hush-device"),
        ("{what}", "move"),
        ("{file}", "icon.svg"),
    ];
    let fill = |path: &str| {
        ids.iter().fold(path.replace("{site}", "annex"), |p, (name, id)| p.replace(name, id)).replace(['{', '}'], "")
    };
    let form = [("content-type", "application/x-www-form-urlencoded")];
    // Streams end at once, and with them what is waited for here.
    house.service().stop();
    let own = ["/sign-in", "/sign-out", "/enrol", "/set-up", "/language"];
    for (method, path, _) in TABLE.iter().filter(|(_, path, _)| !own.contains(path)) {
        let address = fill(path);
        let answer = match (*method, path.contains("/api/")) {
            ("get", _) => other.look(&address).await,
            (_, true) => {
                let seen =
                    json!({"kind": "move", "item": "hush-tub", "place": "hush-place", "at": t("09:00")}).to_string();
                other.send("POST", &address, &[("content-type", "application/json")], seen).await
            }
            (_, false) => {
                let fields = format!(
                    "item=hush-tub&items=hush-tub&place=hush-place&tag={tag}&code={tag}&person={person}&pin=4712&of=hush-tub&link=hush-tub&into=shop&name=x"
                );
                other.send("POST", &address, &form, fields).await
            }
        };
        let text = String::from_utf8_lossy(&answer.bytes);
        assert!(!text.contains("Hush"), "{method} {address} shows what is another shop's: {text}");
        assert!(answer.status.as_u16() < 500, "{method} {address}: {}", answer.status);
    }
    assert_eq!((house.head().await, counted().await), (head, before));
    // Its cursor leads on in one's own list alone; its idempotency key is another key.
    let page = house.manager().get("items?limit=1").await.ok().json();
    let cursor = page["next_cursor"].as_str().expect("more").to_owned();
    let answer = other.look(&format!("/s/annex/api/items?cursor={cursor}")).await;
    assert_eq!((answer.status.as_u16(), answer.json()["items"].as_array().map(Vec::len)), (200, Some(0)));
    house
        .manager()
        .post_keyed("hush-key", &json!({"kind": "seen", "item": "hush-tub", "place": "hush-place"}))
        .await
        .ok();
    let keyed = [("content-type", "application/json"), ("idempotency-key", "hush-key")];
    let entry = json!({"kind": "place", "place": "own", "name": "Own", "control": "none"}).to_string();
    let answer = other.send("POST", "/s/annex/api/entries", &keyed, entry).await.ok().json();
    assert_eq!(answer["entries"][0]["name"], "Own");
    house.agrees().await;
}

/// Its stream says its own entries alone.
async fn a_stream_of_ones_own(house: House) {
    house.service().follow_all();
    house.set_up().await;
    house.service().add_site("annex", SITE).await.expect("another shop");
    let token = house.service().add_token("annex", "n", Role::Manager).await.expect("a token");
    let annex = Bearer(house.clone(), token);
    assert_eq!(open_at(&annex, "/s/shop/api/stream", None).await.err().map(|s| s.as_u16()), Some(403));
    let mut stream = open_at(&annex, "/s/annex/api/stream", Some("1")).await.expect("a stream");
    house
        .write(json!({"kind": "item", "item": "hush", "product": "cake", "name": "Hushcake", "place": "fridge"}))
        .await;
    let entry = json!({"kind": "place", "place": "own", "name": "Own", "control": "none"}).to_string();
    annex.send("POST", "/s/annex/api/entries", &[("content-type", "application/json")], entry).await.ok();
    let event = stream.next().await;
    assert_eq!((&event.data["name"], &*event.id), (&json!("Own"), "2"));
}

/// What no database keeps in a text, in every field there is and on every route: refused or read past, never a fault.
async fn nothing_that_is_sent_is_a_fault(house: House) {
    house.set_up().await;
    let begin =
        json!({"kind": "item", "at": t("08:00"), "item": "tub", "product": "cake", "name": "T", "place": "fridge"});
    house.write(begin).await;
    house.service().stop();
    let office = office(&house);
    let fields = [
        "name",
        "text",
        "rack",
        "code",
        "place",
        "item",
        "items",
        "lot",
        "product",
        "address",
        "secret",
        "title",
        "reason",
        "note",
        "from",
        "to",
        "on",
        "who",
        "whom",
        "person",
        "pin",
        "password",
        "count",
        "value",
        "at",
        "time",
        "order",
        "device",
        "tag",
        "link",
        "of",
        "what",
        "reference",
        "approve",
        "action",
        "role",
        "way",
        "topic",
        "lead",
        "rule",
        "rules",
        "zone",
        "region",
        "units",
        "question",
        "language",
        "next",
        "token",
        "taps",
        "key",
        "size",
    ];
    let form = [("content-type", "application/x-www-form-urlencoded")];
    // One field at a time stands among others that are plain, and all of them at once.
    let all = |odd: &str| -> String {
        let value = |f: &&str| format!("{f}={}", if odd.is_empty() || *f == odd { "a%00b" } else { "tub" });
        fields.iter().map(value).collect::<Vec<_>>().join("&")
    };
    for (method, path, _) in TABLE.iter().filter(|(_, path, _)| !path.contains("/api/") && *path != "/sign-out") {
        let address = path
            .replace("{site}", "shop")
            .replace("{item}", "tub")
            .replace("{place}", "fridge")
            .replace("{what}", "move");
        let address = address.replace("{file}", "icon.svg").replace('{', "%00").replace('}', "");
        for odd in ["", "name", "code", "place", "reason", "address", "person", "tag", "at"] {
            let answer = match *method {
                "get" => office.look(&format!("{address}?{}", all(odd))).await,
                _ => office.send("POST", &address, &form, all(odd)).await,
            };
            let status = answer.status.as_u16();
            assert!(status < 500, "{method} {address} with {odd}: {status} {}", String::from_utf8_lossy(&answer.bytes));
        }
    }
    house.agrees().await;
}
