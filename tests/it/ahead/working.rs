//! Hints beside the clock: too soft, firm again, meant to be moved. They change no standing and never lie behind a limit.
//!
//! Guards against S-56 of SAFETY.md.

use crate::kit::browser::{Browser, Page};
use crate::kit::house::{House, t};
use serde_json::{Value, json};

both!(
    windows_stand_beside_the_clock,
    time_out_adds_up_until_firm_again,
    a_move_may_carry_when_to_come_back,
    what_was_to_be_moved_shows,
    no_plan_lies_behind_a_limit,
);

/// A shop whose frosting is soft after an hour out and firm after half an hour in the cold.
async fn shop(house: &House) -> Browser {
    house.set_up().await;
    house
        .write(json!({"kind": "product", "at": t("00:00"), "product": "frosting", "name": "Frosting",
            "rules": ["sum-2h-4h"], "soft_ms": 3_600_000, "firm_ms": 1_800_000}))
        .await;
    let browser = Browser::new(house);
    browser.put("counterclock", &house.staff().1);
    browser
}

async fn begun(house: &House, id: &str, product: &str, at: &str, place: &str) {
    house.write(json!({"kind": "item", "at": t(at), "item": id, "product": product, "name": id, "place": place})).await;
}

async fn moved(house: &House, id: &str, at: &str, place: &str) {
    house.set(at);
    house.write(json!({"kind": "move", "item": id, "place": place})).await;
}

fn hints(page: &Page, id: &str) -> Vec<String> {
    page.texts(&format!("#i-{id} .hint-line"))
}

async fn board(browser: &Browser, id: &str) -> Vec<String> {
    hints(&browser.open("/s/shop/").await, id)
}

async fn windows_stand_beside_the_clock(house: House) {
    let browser = shop(&house).await;
    begun(&house, "tub", "frosting", "12:00", "bench").await;
    begun(&house, "cake", "cake", "12:00", "bench").await;
    let plain = |v: Value| (v["verdict"].clone(), v["discard_by"].clone(), v["next"].clone());
    let before = (plain(house.standing("tub").await), plain(house.standing("cake").await));
    assert_eq!(before.0, before.1, "a hint changes no standing");
    // By the shop's clock it is an hour later than in UTC.
    assert_eq!(board(&browser, "tub").await, ["Soft at 14:00"]);
    assert_eq!(board(&browser, "cake").await, [""; 0], "a product without hints has none");
    house.set("13:00");
    assert_eq!(board(&browser, "tub").await, ["Getting soft: chill"]);
    moved(&house, "tub", "13:10", "fridge").await;
    assert_eq!(board(&browser, "tub").await, ["Firm again at 14:40"]);
    let page = browser.open("/s/shop/items/tub").await;
    assert_eq!(page.texts("main .item > .hint-line"), ["Firm again at 14:40"]);
    house.set("13:40");
    assert_eq!(board(&browser, "tub").await, ["Firm again"]);
    // What began in the cold was never soft.
    begun(&house, "new", "frosting", "13:40", "fridge").await;
    assert_eq!(board(&browser, "new").await, [""; 0]);
    // Over its limit only the limit counts.
    moved(&house, "tub", "13:41", "bench").await;
    house.set("15:00");
    assert_eq!(house.standing("tub").await["verdict"], "use");
    assert_eq!(board(&browser, "tub").await, [""; 0]);
}

async fn time_out_adds_up_until_firm_again(house: House) {
    let browser = shop(&house).await;
    begun(&house, "tub", "frosting", "12:00", "bench").await;
    // 40 minutes out, ten in the cold: 20 are left of the hour.
    moved(&house, "tub", "12:40", "fridge").await;
    moved(&house, "tub", "12:50", "bench").await;
    assert_eq!(board(&browser, "tub").await, ["Soft at 14:10"]);
    // Half an hour in the cold, and the hour begins anew.
    moved(&house, "tub", "13:00", "fridge").await;
    moved(&house, "tub", "13:30", "bench").await;
    assert_eq!(board(&browser, "tub").await, ["Soft at 15:30"]);
    // It is back by 14:40 UTC for its limit, so a later softness isn't said.
    moved(&house, "tub", "13:40", "fridge").await;
    moved(&house, "tub", "14:10", "bench").await;
    let s = house.standing("tub").await;
    assert_eq!(s["return_by"], t("15:10"), "{s}");
    assert_eq!(board(&browser, "tub").await, [""; 0], "soft at 15:10 too, and the limit is first");
}

async fn say(browser: &Browser, id: &str, minutes: &str) -> Page {
    browser.submit(&format!("/s/shop/items/{id}/come-back"), &[("minutes", minutes), ("back", "board")]).await
}

async fn a_move_may_carry_when_to_come_back(house: House) {
    let browser = shop(&house).await;
    begun(&house, "cake", "cake", "12:00", "fridge").await;
    let moved = browser
        .submit("/s/shop/items/cake/move", &[("place", "bench"), ("back", "board"), ("key", &"a".repeat(32))])
        .await;
    let to = moved.to().trim_start_matches("../").to_owned();
    let page = browser.open(&format!("/s/{}", to.trim_start_matches("s/"))).await;
    // Offered at once, in the notice about the move.
    assert_eq!(page.texts(".notice .come-back legend"), ["Back in the cold in …"], "{to}");
    assert!(page.attributes(".notice .come-back button", "value").contains(&String::from("20")));
    let head = house.head().await;
    say(&browser, "cake", "20").await.goes("../../../../s/shop/");
    assert_eq!(house.head().await, head, "a hint is no entry");
    assert_eq!(board(&browser, "cake").await, ["Meant to go back at 13:20 in 20 min"]);
    house.set("12:05");
    assert_eq!(board(&browser, "cake").await, ["Meant to go back at 13:20 in 15 min"]);
    // Said anew, and taken back.
    say(&browser, "cake", "45").await.goes("../../../../s/shop/");
    assert_eq!(board(&browser, "cake").await, ["Meant to go back at 13:50 in 45 min"]);
    say(&browser, "cake", "none").await.goes("../../../../s/shop/");
    assert_eq!(board(&browser, "cake").await, [""; 0]);
    // It belongs to the move: moved on, it is over; and so it is where the move is taken back.
    say(&browser, "cake", "10").await.goes("../../../../s/shop/");
    house.write(json!({"kind": "move", "item": "cake", "place": "fridge"})).await;
    assert_eq!(board(&browser, "cake").await, [""; 0]);
    say(&browser, "cake", "30").await.goes("../../../../s/shop/");
    assert_eq!(board(&browser, "cake").await, ["Meant to come out at 13:35 in 30 min"]);
    let last = house.head().await;
    house.write(json!({"kind": "correct", "entry": last, "void": true, "reason": "wrong one"})).await;
    assert_eq!(board(&browser, "cake").await, [""; 0]);
    // Bad input says what is wrong and changes nothing.
    for odd in ["", "0", "-5", "1441", "ten", "99999999999999999999"] {
        assert_eq!(say(&browser, "cake", odd).await.status(), 400, "{odd}");
    }
    assert_eq!(say(&browser, "nothing", "10").await.status(), 404);
    house.write(json!({"kind": "close", "item": "cake", "as": "sold"})).await;
    assert_eq!(say(&browser, "cake", "10").await.status(), 409);
    house.checks().await;
}

async fn what_was_to_be_moved_shows(house: House) {
    let browser = shop(&house).await;
    for id in ["bench-1", "chill-1"] {
        begun(&house, id, "cake", "12:00", if id == "bench-1" { "bench" } else { "fridge" }).await;
    }
    for n in 0..80 {
        begun(&house, &format!("b{n:02}"), "cake", "12:00", "fridge").await;
    }
    say(&browser, "bench-1", "20").await;
    say(&browser, "chill-1", "15").await;
    house.set("12:20");
    let page = browser.open("/s/shop/").await;
    assert_eq!(page.texts("#s-planned li h3"), ["bench-1", "chill-1"], "both show, however long the board is");
    assert_eq!(hints(&page, "bench-1"), ["Was to go back at 13:20"]);
    assert_eq!(hints(&page, "chill-1"), ["Was to come out at 13:15: chilled long enough"]);
    // The wall says so too.
    let wall = browser.open("/s/shop/wall").await;
    assert!(wall.texts(".hint-line").contains(&String::from("Was to go back at 13:20")));
}

async fn no_plan_lies_behind_a_limit(house: House) {
    let browser = shop(&house).await;
    begun(&house, "cake", "cake", "12:00", "bench").await;
    let refused = say(&browser, "cake", "121").await;
    assert_eq!(refused.status(), 400);
    assert!(refused.text(".notice.bad").contains("it is to be back by 15:00"), "{}", refused.text(".notice.bad"));
    say(&browser, "cake", "120").await.goes("../../../../s/shop/");
    // What may not go back isn't asked when.
    house
        .write(json!({"kind": "item", "at": t("12:00"), "item": "case", "rules": ["us-time-4h"], "name": "case", "place": "bench"}))
        .await;
    assert_eq!(browser.open("/s/shop/items/case").await.texts(".come-back").len(), 0);
}
