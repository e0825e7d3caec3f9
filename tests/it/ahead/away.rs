//! Handing over: the clock runs on, the board lets go, an address shows one item and nothing else, and what nobody reports
//! of is closed after a day.
//!
//! Guards against S-58 of SAFETY.md.

use crate::kit::actor::Actor;
use crate::kit::browser::{Browser, Page};
use crate::kit::house::{House, t};
use serde_json::json;

both!(
    handed_over_the_clock_runs_on,
    the_card_says_until_when,
    an_address_shows_one_item_and_nothing_else,
    they_may_say_where_it_stands,
    nobody_reports_and_it_is_closed,
    what_cannot_be_handed_over,
);

async fn shop(house: &House) -> Browser {
    house.set_up().await;
    let place = |id: &str, control: &str| json!({"kind": "place", "at": t("00:00"), "place": id, "name": id, "control": control, "use": "away"});
    house
        .write(json!([
            place("venue", "none"),
            place("venue-fridge", "cold"),
            {"kind": "item", "at": t("08:00"), "item": "cake", "rules": ["sum-2h-4h"], "name": "Cake", "place": "fridge"},
            {"kind": "item", "at": t("08:00"), "item": "other", "rules": ["sum-2h-4h"], "name": "A secret order", "place": "fridge"},
            {"kind": "move", "at": t("11:00"), "item": "cake", "place": "bench"},
            {"kind": "move", "at": t("11:30"), "item": "cake", "place": "fridge"},
        ]))
        .await;
    let browser = Browser::new(house);
    browser.put("counterclock", &house.staff().1);
    browser
}

fn key(n: u8) -> String {
    format!("{n:032x}")
}

async fn hand(browser: &Browser, link: &str, n: u8) -> Page {
    let (key, path) = (key(n), "/s/shop/items/cake/hand-over");
    browser.submit(path, &[("key", &key), ("place", "venue"), ("to", "Order 12"), ("link", link)]).await
}

/// The path of the address that a card shows.
fn address(page: &Page) -> String {
    let to = page.attributes(".card .from a", "href").pop().expect("an address");
    format!("/h/{}", to.rsplit('/').next().expect("a code"))
}

async fn handed_over_the_clock_runs_on(house: House) {
    let browser = shop(&house).await;
    let page = hand(&browser, "", 1).await;
    assert_eq!(page.status(), 200, "{}", page.text("main"));
    assert!(page.attributes(".card .from a", "href").is_empty(), "no address was asked for");
    let s = house.standing("cake").await;
    assert_eq!((s["state"].as_str(), s["place"].as_str()), (Some("out"), Some("venue")));
    let board = browser.open("/s/shop/").await;
    assert_eq!(board.texts("li.row h3"), ["A secret order"], "it has left the board");
    assert_eq!(board.text(".others-say"), "1 with others");
    // In the API's list it stands as ever.
    assert_eq!(house.list("open", 10).await.len(), 2);
    house.set("13:00");
    let page = browser.open("/s/shop/away").await;
    assert_eq!(page.texts("section h2"), ["Cake"]);
    let said = page.text("section");
    // By the shop's clock an hour later than in UTC: half an hour on the bench and one at the venue.
    assert!(said.contains("out 1 h 30 min in all"), "{said}");
    assert!(said.contains("Handed over at 13:00.") && said.contains("Order 12"), "{said}");
    assert!(said.contains("Closed at Tue 5 May, 13:00 if nobody reports."), "{said}");
    // Over there it asks for no decision here: it can't be thrown away by the shop.
    house.set("17:00");
    assert_eq!(house.standing("cake").await["verdict"], "discard");
    let office = Browser::new(&house);
    office.put("counterclock", &house.manager().1);
    let decisions = office.open("/s/shop/decisions").await.text("main");
    for said in ["Over its time", "Out when the shop closed", "Not marked"] {
        assert!(!decisions.contains(said), "{decisions}");
    }
    // Brought back, it is the shop's again.
    house.write(json!({"kind": "move", "item": "cake", "place": "bench"})).await;
    assert_eq!(browser.open("/s/shop/").await.texts("li.row h3").len(), 2);
    house.checks().await;
}

/// Guards against S-59.
async fn the_card_says_until_when(house: House) {
    let browser = shop(&house).await;
    house.set("12:00:30");
    let page = hand(&browser, "", 1).await;
    // Half an hour is used of the two (Food Standards Australia New Zealand) and of the four: by hand, rounded down.
    assert_eq!(page.text(".card .time"), "16:30");
    assert_eq!(page.text(".card .hand"), "3 h 30 min out, in all from now");
    assert_eq!(page.text(".card .back-too"), "It may go into a fridge until 14:30, and no longer after that.");
    assert!(page.text(".card .rule").contains("By the rule: "), "{}", page.text(".card .rule"));
    let head = house.head().await;
    assert!(page.texts(".card .rule").iter().any(|r| r.contains(&format!("Log {head}, "))));
    // Into a fridge at once, three hours and a half are left: for eight o'clock it may leave at half past four, and
    // not a moment before; over at the limit itself, so it is a minute later.
    let page = browser.open("/s/shop/items/cake/card?serve=20:00").await;
    assert_eq!(page.text(".card .take-out"), "For 20:00: into a fridge now, and out of it at 16:31 at the earliest.");
    let page = browser.open("/s/shop/items/cake/card?serve=15:00").await;
    assert_eq!(page.text(".card .take-out"), "For 15:00: it may be out from now on.");
    // After two hours it may not go back, so no fridge helps.
    house.set("13:45");
    let page = browser.open("/s/shop/items/cake/card?serve=20:00").await;
    assert_eq!(page.text(".card .back-too"), "Not into a fridge again: it is eaten by then, or thrown away.");
    assert!(page.text(".card .take-out").contains("may not go into a fridge any more"));
    house.set("16:00");
    let page = browser.open("/s/shop/items/cake/card?serve=20:00").await;
    assert_eq!(page.text(".card .back-too"), "Its time is over: throw it away.");
    for odd in ["serve=25:00", "serve=x", "serve="] {
        assert_eq!(browser.open(&format!("/s/shop/items/cake/card?{odd}")).await.status(), 200, "{odd}");
    }
    assert_eq!(browser.open("/s/shop/items/nothing/card").await.status(), 404);
}

/// Guards against S-60.
async fn an_address_shows_one_item_and_nothing_else(house: House) {
    let browser = shop(&house).await;
    let page = hand(&browser, "reads", 1).await;
    let link = address(&page);
    // The second touch of the same button makes the same address, and moves nothing twice.
    assert_eq!(address(&hand(&browser, "reads", 1).await), link);
    let guest = Browser::new(&house);
    let head = house.head().await;
    let page = guest.open(&link).await;
    assert_eq!((page.status(), page.text(".card h2")), (200, String::from("Cake")));
    let whole = page.0.text();
    for secret in ["A secret order", "bench", "/s/shop", "Order 12"] {
        assert!(!whole.contains(secret), "{secret}");
    }
    assert!(page.texts("button").iter().all(|b| !b.contains("served")), "it only shows");
    assert_eq!(guest.submit(&link, &[("place", "venue-fridge")]).await.status(), 403);
    assert_eq!(guest.open("/s/shop/items/cake").await.status(), 303, "nothing else is opened by it");
    assert_eq!(house.head().await, head);
    // Ended, run out, or never there: the same page says so.
    let away = browser.open("/s/shop/away").await;
    let form = away.attributes("form[action$=revoke]", "action").pop().expect("a form");
    browser
        .submit(&format!("/s/shop/{}", form.split("s/shop/").last().expect("a path")), &[])
        .await
        .goes("../../../../s/shop/away");
    for gone in [link.as_str(), "/h/ABCDEFGHJKMNPQRS", "/h/x"] {
        let page = guest.open(gone).await;
        assert_eq!(page.status(), 404, "{gone}");
        assert!(!page.0.text().contains("Cake"));
    }
    let link = address(&hand_again(&house, &browser, 2).await);
    assert_eq!(guest.open(&link).await.status(), 200);
    house.set("+2 12:00:01");
    assert_eq!(guest.open(&link).await.status(), 404, "it is good for two days");
}

async fn hand_again(house: &House, browser: &Browser, n: u8) -> Page {
    house.write(json!({"kind": "move", "item": "cake", "place": "fridge"})).await;
    hand(browser, "writes", n).await
}

async fn they_may_say_where_it_stands(house: House) {
    let browser = shop(&house).await;
    let link = address(&hand(&browser, "writes", 1).await);
    let guest = Browser::new(&house);
    house.set("12:20");
    let page = guest.open(&link).await;
    assert_eq!(page.attributes("button[name=place]", "value"), ["venue-fridge"], "only places in others' hands");
    let send = async |fields: &[(&str, &str)], n: u8| {
        let key = key(n);
        let mut all = vec![("key", key.as_str())];
        all.extend_from_slice(fields);
        guest.submit(&link, &all).await
    };
    for _ in 0..2 {
        assert_eq!(send(&[("place", "venue-fridge")], 3).await.status(), 303);
    }
    let item = house.manager().get("items/cake").await.ok().json();
    let last = item["entries"].as_array().expect("entries").last().expect("one").clone();
    assert_eq!((last["place"].as_str(), last["by_how"].as_str()), (Some("venue-fridge"), Some("token")));
    assert!(last["by"].as_str().is_some_and(|by| by.starts_with("h-")), "{last}");
    assert_eq!(item["standing"]["total_out_ms"], 50 * 60_000);
    // Not the shop's places, nor other people's.
    let head = house.head().await;
    for place in ["fridge", "bench", "nowhere"] {
        assert_eq!(send(&[("place", place)], 4).await.status(), 403, "{place}");
    }
    for odd in [vec![], vec![("as", "sold")], vec![("as", "")]] {
        assert_eq!(send(&odd, 4).await.status(), 400, "nothing is closed by a touch of nothing: {odd:?}");
    }
    assert_eq!(house.head().await, head);
    assert_eq!(send(&[("as", "served")], 5).await.status(), 303);
    assert_eq!(house.standing("cake").await["state"], "closed");
    assert!(guest.open(&link).await.text("main").contains("It has ended."));
    assert_eq!(send(&[("place", "venue")], 6).await.status(), 403);
    // Who it was reads as the shop calls them.
    let staff = browser.open("/s/shop/items/cake").await;
    assert!(staff.text(".log").contains("Order 12"), "{}", staff.text(".log"));
    house.checks().await;
}

async fn nobody_reports_and_it_is_closed(house: House) {
    let browser = shop(&house).await;
    house.service().follow_all();
    hand(&browser, "", 1).await;
    house.set("13:00");
    house.write(json!({"kind": "move", "item": "cake", "place": "venue-fridge"})).await;
    house.set("+1 12:01:01");
    let closed = async || house.standing("cake").await["state"] == "closed";
    while !closed().await {
        tokio::task::yield_now().await;
    }
    let item = house.manager().get("items/cake").await.ok().json();
    let last = item["entries"].as_array().expect("entries").last().expect("one").clone();
    assert_eq!(
        (last["as"].as_str(), last["reason"].as_str(), last["by"].as_str(), last["at"].as_str()),
        (Some("handed-over"), Some("not reported"), Some("server"), Some(&*t("+1 12:00")))
    );
    house.checks().await;
}

async fn what_cannot_be_handed_over(house: House) {
    let browser = shop(&house).await;
    let head = house.head().await;
    let long = "x".repeat(81);
    for (what, fields) in [
        ("no place", vec![("to", "x")]),
        ("a place of the shop's", vec![("place", "bench")]),
        ("no such place", vec![("place", "nowhere")]),
        ("a long name", vec![("place", "venue"), ("to", &*long)]),
    ] {
        let page = browser.submit("/s/shop/items/cake/hand-over", &fields).await;
        assert!((400..500).contains(&page.status()), "{what}: {}", page.status());
    }
    assert_eq!(browser.submit("/s/shop/items/nothing/hand-over", &[("place", "venue")]).await.status(), 404);
    assert_eq!(house.head().await, head);
    house.write(json!({"kind": "close", "item": "cake", "as": "sold"})).await;
    assert_eq!(browser.open("/s/shop/items/cake/hand-over").await.status(), 404);
    assert_eq!(browser.submit("/s/shop/away/h-nothing/revoke", &[]).await.status(), 404);
}
