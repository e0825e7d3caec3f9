//! From an empty database to the first move, by forms alone; a refused step loses nothing; an address is good once.

use super::{PASSWORD, fill_at};
use crate::kit::actor::Actor;
use crate::kit::browser::Browser;
use crate::kit::house::House;
use counterclock::ledger::Id;
use counterclock::rules::book;
use counterclock::rules::regions::{REGIONS, counts_all};
use serde_json::{Value, json};

both!(from_nothing_to_the_first_move, an_address_is_good_once, a_shop_without_a_manager);

const HOUR_MS: i64 = 3_600_000;

async fn from_nothing_to_the_first_move(house: House) {
    house.empty().await;
    assert!(house.service().unmanaged().await.expect("an answer"));
    let code = house.service().begin_set_up().expect("a code");
    let me = Browser::new(&house);
    let shop = me.open(&format!("/set-up?code={code}")).await;
    assert_eq!(shop.text("h1"), "Your shop");
    let name = "Törtchen \"& Söhne\" <i>حلويات</i> 🍰";
    let bad = fill_at(&me, "/set-up", &shop, &[("name", name), ("region", "uk")]).await.says(400, "clock isn’t known");
    let bad = fill_at(&me, "/set-up", &bad, &[("zone", "Europe/Nowhere"), ("units", "F")])
        .await
        .says(400, "clock isn’t known");
    assert_eq!(bad.attributes("input[name=name]", "value"), [name]);
    assert_eq!(bad.attributes("input[name=units][checked]", "value"), ["F"]);
    let bad =
        fill_at(&me, "/set-up", &bad, &[("zone", "Europe/London"), ("name", "")]).await.says(400, "has no name yet");
    let rules = fill_at(&me, "/set-up", &bad, &[("name", name)]).await;
    // By where it is: the strictest there is ticked, each with its source.
    assert_eq!(rules.attributes("input[name=rule][checked]", "value"), ["uk-display-4h", "sum-2h-4h"]);
    assert!(rules.texts(".source").iter().all(|s| s.starts_with("Source: ")));
    assert!(rules.text(".offer .source").contains("Schedule 4 paragraph 5"));
    let bad = fill_at(&me, "/set-up", &rules, &[("-rule", "sum-2h-4h")]).await.says(400, "None of these limits all");
    assert_eq!(bad.attributes("input[name=rule][checked]", "value"), ["uk-display-4h"]);
    // Back, elsewhere, and on: what is proposed is what applies there.
    let shop = fill_at(&me, "/set-up", &bad, &[("go", "back")]).await;
    assert_eq!(shop.attributes("input[name=name]", "value"), [name]);
    let rules = fill_at(&me, "/set-up", &shop, &[("region", "us")]).await;
    assert_eq!(rules.attributes("input[name=rule][checked]", "value"), ["us-time-4h", "keep-7d"]);
    let shop = fill_at(&me, "/set-up", &rules, &[("go", "back")]).await;
    let rules = fill_at(&me, "/set-up", &shop, &[("region", "au-nz")]).await;
    let places = fill_at(&me, "/set-up", &rules, &[]).await;
    assert_eq!(places.text("h1"), "Its places");
    let bad =
        fill_at(&me, "/set-up", &places, &[("place", "fridge")]).await.says(400, "At least one place has to be cold");
    assert_eq!(bad.attributes("input[name=place][checked]", "value"), ["fridge"]);
    let mut given = vec![("place", "fridge"), ("place", "bench")];
    given.extend([("place-name", "Cave à crème"), ("place-control", "cold.store")]);
    given.extend([
        ("place-name", "🧊"),
        ("place-control", "frozen.store"),
        ("place-name", "Fridge"),
        ("place-control", "cold.store"),
    ]);
    let products = fill_at(&me, "/set-up", &bad, &given).await;
    let manager = fill_at(
        &me,
        "/set-up",
        &products,
        &[("product", "layer-cake"), ("products", "Éclair\r\n\r\n  Trifle \r\nTrifle")],
    )
    .await;
    assert_eq!(manager.text("h1"), "You");
    let short = [("manager", "Noor"), ("password", "short"), ("again", "short")];
    let bad = fill_at(&me, "/set-up", &manager, &short).await.says(400, "8 characters");
    let bad =
        fill_at(&me, "/set-up", &bad, &[("password", PASSWORD), ("again", "rye")]).await.says(400, "not the same");
    assert_eq!(bad.attributes("input[name=manager]", "value"), ["Noor"]);
    assert!(house.service().is_empty(), "nothing is written before the end");
    fill_at(&me, "/set-up", &bad, &[("password", PASSWORD), ("again", PASSWORD)]).await.goes("./");
    // At the board.
    me.open("/").await.goes("s/shop/");
    let board = me.open("/s/shop/").await;
    assert!(board.status() == 200 && board.text("footer").contains("signed in as Noor"), "{}", board.0.text());
    let begun = me.submit("/s/shop/new", &[("product", "layer-cake"), ("place", "bench")]).await;
    let item = begun.to().rsplit_once("/items/").and_then(|(_, i)| i.split('?').next()).expect("an item").to_owned();
    let moved = me.submit(&format!("/s/shop/items/{item}/move"), &[("place", "fridge")]).await;
    assert_eq!(moved.status(), 303);
    // The ledger says just that.
    let mut aside = house.base().aside().await;
    let lines = aside.ask("select line from entry order by seq").await;
    let all: Vec<Value> = lines.iter().map(|l| serde_json::from_str(l).expect("JSON")).collect();
    let of = |kind: &str, member: &str| -> Vec<String> {
        let of_kind = all.iter().filter(|e| e["kind"] == kind);
        of_kind.map(|e| e[member].as_str().unwrap_or_default().to_owned()).collect()
    };
    assert_eq!(
        (&all[0]["name"], &all[0]["zone"], &all[0]["units"]),
        (&json!(name), &json!("Europe/London"), &json!("F"))
    );
    assert_eq!(of("rule", "rule"), ["sum-2h-4h"]);
    assert_eq!(of("place", "place"), ["fridge", "bench", "cave-cr-me", "place", "fridge-2"]);
    assert_eq!(of("product", "product"), ["layer-cake", "clair", "trifle", "trifle-2"]);
    let moved = all.last().expect("the move");
    assert!(moved["by_how"] == "password" && moved["by"].as_str().is_some_and(|b| b.starts_with("p-")), "{moved}");
    assert!(!house.service().unmanaged().await.expect("an answer"));
    house.checks().await;
    // It stays so.
    house.restart().await;
    assert_eq!(me.open("/s/shop/").await.status(), 200);
    let again = [("name", "noor"), ("password", PASSWORD)];
    Browser::new(&house).submit("/sign-in", &again).await.goes("./");
}

async fn an_address_is_good_once(house: House) {
    house.empty().await;
    let me = Browser::new(&house);
    let over = async |code: &str| {
        let page = me.open(&format!("/set-up?code={code}")).await;
        let sent = me.submit("/set-up", &[("code", code), ("step", "manager")]).await;
        assert_eq!(sent.status() == 410, page.status() == 410);
        page.status() == 410 && page.text("main").contains("it prints a new address")
    };
    assert!(over("").await && over("0000").await, "before there is any");
    let first = house.service().begin_set_up().expect("a code");
    assert!(!over(&first).await && over(&first.to_uppercase()).await && over("").await);
    house.pass(24 * HOUR_MS - 1);
    assert!(!over(&first).await);
    house.pass(1);
    assert!(over(&first).await, "a day later");
    let second = house.service().begin_set_up().expect("a code");
    assert!(over(&first).await && !over(&second).await);
    house.restart().await;
    assert!(over(&second).await, "after a restart, which prints a new one");
    let third = house.service().begin_set_up().expect("a code");
    let whole = [
        ("code", third.as_str()),
        ("step", "manager"),
        ("name", "Shop"),
        ("zone", "Europe/London"),
        ("region", "us"),
        ("place", "fridge"),
        ("place", "bench"),
        ("manager", "Noor"),
        ("password", PASSWORD),
        ("again", PASSWORD),
    ];
    // Two taps on the last button make one shop and one manager.
    let (a, b) = tokio::join!(me.submit("/set-up", &whole), me.submit("/set-up", &whole));
    let statuses = [a.status(), b.status()];
    assert!(statuses.contains(&303) && !statuses.iter().all(|s| *s == 303), "{statuses:?}");
    assert!(over(&third).await, "once it was used");
    assert_eq!(house.base().aside().await.ask("select name from person").await, ["Noor"]);
    house.checks().await;
}

/// What a crash in the middle of the last step would leave: the next address goes on from there.
async fn a_shop_without_a_manager(house: House) {
    house.set_up().await;
    house.base().aside().await.must("delete from token").await;
    assert!(house.service().unmanaged().await.expect("an answer"));
    let code = house.service().begin_set_up().expect("a code");
    let me = Browser::new(&house);
    let shop = me.open(&format!("/set-up?code={code}")).await;
    assert!(shop.texts("input[name=name], select[name=zone]").is_empty(), "the shop is there");
    let rules = fill_at(&me, "/set-up", &shop, &[("region", "elsewhere")]).await;
    let places = fill_at(&me, "/set-up", &rules, &[]).await;
    let products = fill_at(&me, "/set-up", &places, &[]).await;
    let manager = fill_at(&me, "/set-up", &products, &[]).await;
    let said = [("manager", "Noor"), ("password", PASSWORD), ("again", PASSWORD)];
    fill_at(&me, "/set-up", &manager, &said).await.goes("./");
    assert!(me.open("/s/shop/").await.text("footer").contains("Anvil & Rye"));
    assert!(me.get("places").await.ok().text().contains("walk-in"));
    house.checks().await;
}

/// Every built-in rule is to be had somewhere, and what is proposed limits all the time out.
#[test]
fn every_region_proposes_a_rule_that_counts_all() {
    let rule = |id: &&str| book::built_in(&Id::new(id).expect("an id")).unwrap_or_else(|| panic!("no rule {id}"));
    for region in &REGIONS {
        assert!(region.proposed.iter().any(|id| counts_all(&rule(id))), "{}", region.id);
        assert!(region.offered.iter().all(|id| !region.proposed.contains(id) && !rule(id).name.is_empty()));
    }
    let known = |id: &str| REGIONS.iter().any(|r| r.proposed.contains(&id) || r.offered.contains(&id));
    for rule in book::all() {
        assert!(known(rule.rule.as_str()), "{} is nowhere", rule.rule);
    }
    let all: Vec<&str> = book::all().iter().filter(|r| counts_all(r)).map(|r| r.rule.as_str()).collect();
    let counting =
        ["house-2h-4h", "sum-2h-4h", "us-time-4h", "us-prep-then-4h", "us-time-6h", "two-hour", "banded-70f"];
    assert_eq!(all, counting);
}
