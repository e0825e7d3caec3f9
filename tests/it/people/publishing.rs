//! A rule or a product of one shop put into others: by entries in each one's own ledger, and into nobody else's.

use crate::kit::actor::Actor;
use crate::kit::browser::Browser;
use crate::kit::house::{House, SITE, t};
use counterclock::people::{Role, tokens};
use serde_json::{Value, json};

both!(into_the_managers_other_shops, into_nobody_elses, what_is_there_stays);

/// A manager of every shop, and two more shops.
async fn chain(house: &House) -> Browser {
    house.set_up().await;
    house
        .write(json!([
            {"kind": "rule", "at": t("00:00"), "rule": "ours", "name": "Ours", "returns": "any",
             "clauses": [{"measure": "total_out", "limit": "PT90M", "verdict": "discard"}],
             "source": {"title": "Our sheet", "basis": "common practice"}},
            {"kind": "product", "at": t("00:00"), "product": "tier", "name": "Tier", "rules": ["ours", "keep-7d"], "soft_ms": 60_000},
        ]))
        .await;
    for site in ["annex", "corner"] {
        house.service().add_site(site, SITE).await.expect("another shop");
    }
    let token = house.service().add_token(tokens::ALL, "chain", Role::Manager).await.expect("a token");
    let browser = Browser::new(house);
    browser.put("counterclock", &token);
    browser
}

async fn tail(browser: &Browser, site: &str) -> Vec<Value> {
    let found = browser.look(&format!("/s/{site}/api/entries?limit=100")).await.ok().json();
    found["entries"].as_array().expect("entries").clone()
}

async fn into_the_managers_other_shops(house: House) {
    let browser = chain(&house).await;
    let page = browser.open("/s/shop/publish?product=tier").await;
    assert_eq!(page.attributes("input[name=to]", "value"), ["annex", "corner"]);
    let head = house.head().await;
    let key = "a".repeat(32);
    for _ in 0..2 {
        let fields = [("key", &*key), ("product", "tier"), ("to", "annex")];
        assert_eq!(browser.submit("/s/shop/publish", &fields).await.status(), 200);
    }
    let written = tail(&browser, "annex").await;
    let kinds: Vec<&str> = written.iter().map(|e| e["kind"].as_str().expect("a kind")).collect();
    assert_eq!(kinds, ["site", "rule", "rule", "product"], "its rules first, and once: {written:?}");
    assert_eq!(written[3]["soft_ms"], 60_000);
    assert_eq!(tail(&browser, "corner").await.len(), 1, "not where it wasn't wanted");
    assert_eq!(house.head().await, head, "nothing in the shop it comes from");
    // There it is used like any other, and now it is there already.
    let page = browser.open("/s/shop/publish?product=tier").await;
    assert!(page.text("main").contains("has the same already"));
}

async fn into_nobody_elses(house: House) {
    chain(&house).await;
    // Who manages one shop alone finds no other, and none takes it from them.
    let one = Browser::new(&house);
    one.put("counterclock", &house.manager().1);
    assert!(one.open("/s/shop/publish?rule=ours").await.text("main").contains("You manage no other shop"));
    let fields = [("key", &*"b".repeat(32)), ("rule", "ours"), ("to", "annex")];
    assert_eq!(one.submit("/s/shop/publish", &fields).await.status(), 404);
    let staff = Browser::new(&house);
    staff.put("counterclock", &house.staff().1);
    assert_eq!(staff.submit("/s/shop/publish", &fields).await.status(), 403);
    let token = house.service().add_token("annex", "n", Role::Manager).await.expect("a token");
    let annex = Browser::new(&house);
    annex.put("counterclock", &token);
    assert_eq!(tail(&annex, "annex").await.len(), 1);
    for odd in ["", "?rule=nothing", "?product=nothing", "?rule=%2F"] {
        assert_eq!(one.open(&format!("/s/shop/publish{odd}")).await.status(), 404, "{odd}");
    }
}

async fn what_is_there_stays(house: House) {
    let browser = chain(&house).await;
    let other = json!({"kind": "rule", "at": t("00:00"), "rule": "ours", "name": "Theirs", "returns": "any",
        "clauses": [{"measure": "total_out", "limit": "PT60M", "verdict": "discard"}],
        "source": {"title": "Their sheet", "basis": "common practice"}});
    let json = [("content-type", "application/json")];
    browser.send("POST", "/s/annex/api/entries", &json, other.to_string()).await.ok();
    let page = browser.open("/s/shop/publish?rule=ours").await;
    assert!(page.text("main").contains("has another one of that id"), "{}", page.text("main"));
    let before = tail(&browser, "annex").await;
    let fields = [("key", &*"c".repeat(32)), ("rule", "ours"), ("to", "annex"), ("to", "corner")];
    assert_eq!(browser.submit("/s/shop/publish", &fields).await.status(), 200);
    assert_eq!(tail(&browser, "annex").await, before, "a rule's text never changes");
    assert_eq!(tail(&browser, "corner").await.len(), 2);
}
