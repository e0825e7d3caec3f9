//! An inspector's link: two touches from the board, one to be let in; read-only, for a while, for some dates if wanted, each
//! use noted.
//!
//! Guards against S-34 of SAFETY.md.

use super::{PASSWORD, add, office};
use crate::kit::actor::Actor;
use crate::kit::browser::{Browser, Page};
use crate::kit::house::{House, t};
use serde_json::json;

both!(from_the_board_to_todays_log, for_some_dates_alone, a_link_ends, what_a_link_cannot_be);

/// Makes a link; its address from the root.
async fn link(office: &Browser, fields: &[(&str, &str)]) -> String {
    let page = office.submit("/s/shop/access", fields).await;
    assert_eq!(page.status(), 200, "{}", page.0.text());
    let address = page.text(".links a");
    let code = page.text("#the-code");
    assert!(address.ends_with(&code.replace('-', "")), "{address} {code}");
    address.split_once("shop.test").expect("the shop's address").1.to_owned()
}

/// Opens it on a phone of its own and touches the one button.
async fn let_in(house: &House, link: &str) -> Browser {
    let phone = Browser::new(house);
    let page = phone.open(link).await;
    let fields = page.form();
    let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
    phone.submit("/inspect", &fields).await.goes("s/shop/inspect");
    phone
}

fn uses(page: &Page) -> Vec<String> {
    page.texts("main section details ul li")
}

async fn from_the_board_to_todays_log(house: House) {
    house.set_up().await;
    let begun = json!([
        {"kind": "item", "at": t("07:00"), "item": "tub", "product": "cake", "name": "Tub", "place": "bench"},
        {"kind": "item", "at": t("11:00"), "item": "cake", "product": "cake", "name": "Cake", "place": "bench"},
    ]);
    house.write(begun).await;
    let office = office(&house);
    // Two touches: the link at the foot of the board, the button.
    let board = office.open("/s/shop/").await;
    assert!(board.attributes("footer .links a", "href").iter().any(|a| a.ends_with("s/shop/access")));
    let phone = let_in(&house, &link(&office, &[]).await).await;
    // The five ways, each at most two touches from here.
    let first = phone.open("/s/shop/inspect").await;
    assert_eq!(first.status(), 200);
    let ways = first.attributes("main a", "href");
    for way in [
        "procedure",
        "record?from=2026-05-04&to=2026-05-04",
        "record.pdf",
        "api/record.csv",
        "api/record.jsonl",
        "items/tub",
    ] {
        assert!(ways.iter().any(|a| a.ends_with(way)), "{way}: {ways:?}");
    }
    assert_eq!(first.texts("main section li").len(), 1, "the tub is past its time, the cake isn't");
    assert!(first.text("main section li").starts_with("Tub"));
    assert_eq!(phone.open("/s/shop/inspect/find?label=cake").await.to(), "../../../s/shop/items/cake");
    phone.open("/s/shop/inspect/find?label=nothing").await.says(404, "Nothing here has that label");
    assert_eq!(phone.open("/s/shop/inspect/find").await.status(), 404);
    let log = phone.open("/s/shop/record?from=2026-05-04&to=2026-05-04").await;
    assert_eq!(log.texts("section.account h3 small"), ["tub", "cake"]);
    assert_eq!(phone.open("/").await.to(), "s/shop/inspect");
    // It reads everything and writes nothing.
    for page in [
        "/s/shop/",
        "/s/shop/items/cake",
        "/s/shop/decisions",
        "/s/shop/procedure",
        "/s/shop/record.pdf",
        "/s/shop/api/items",
    ] {
        let status = phone.open(page).await.status();
        assert!(status == 200, "{page}: {status}");
    }
    let move_it = [("place", "fridge"), ("key", "00112233445566778899aabbccddeeff")];
    assert_eq!(phone.submit("/s/shop/items/cake/move", &move_it).await.status(), 403);
    assert_eq!(phone.open("/s/shop/access").await.status(), 403);
    let air = json!({"kind": "restore", "place": "fridge"}).to_string();
    let json = [("content-type", "application/json")];
    assert_eq!(phone.send("POST", "/s/shop/api/entries", &json, air).await.status.as_u16(), 403);
    // All of it was noted, refused or not.
    let noted = uses(&office.open("/s/shop/access").await);
    for what in [
        "the link itself",
        "inspect/find, 3 times",
        "record",
        "record.pdf",
        "api/items",
        "items/cake/move",
        "api/entries",
    ] {
        assert!(noted.iter().any(|u| u.ends_with(&format!(": {what}"))), "{what}: {noted:?}");
    }
    // What a page asks for by itself is not.
    let before = noted.len();
    phone.by_itself().open("/s/shop/fragment").await;
    assert_eq!(uses(&office.open("/s/shop/access").await).len(), before);
    house.agrees().await;
}

async fn for_some_dates_alone(house: House) {
    house.set_up().await;
    house.write(json!({"kind": "item", "at": t("08:00"), "item": "cake", "product": "cake", "name": "Cake", "place": "bench"})).await;
    house.set("+1 12:00");
    house.write(json!({"kind": "item", "at": t("+1 08:00"), "item": "later", "product": "cake", "name": "Later", "place": "bench"})).await;
    let office = office(&house);
    let phone = let_in(
        &house,
        &link(&office, &[("from", "2026-05-03"), ("to", "2026-05-04"), ("name", "For the fourth")]).await,
    )
    .await;
    let first = phone.open("/s/shop/inspect").await;
    assert!(
        first.text("main").contains("2026-05-03 to 2026-05-04 alone")
            && !first.text("main").contains("Past its time now")
    );
    let page = phone.open("/s/shop/record").await;
    assert_eq!(page.texts("section.account h3 small"), ["cake"]);
    for ok in [
        "/s/shop/record?from=2026-05-04&to=2026-05-04",
        "/s/shop/record.pdf",
        "/s/shop/api/record.csv",
        "/s/shop/api/record.jsonl",
        "/s/shop/procedure",
    ] {
        assert_eq!(phone.open(ok).await.status(), 200, "{ok}");
    }
    for no in [
        "/s/shop/record?from=2026-05-04&to=2026-05-05",
        "/s/shop/api/record.csv?to=2026-05-05",
        "/s/shop/",
        "/s/shop/items/cake",
        "/s/shop/day",
        "/s/shop/api/entries",
        "/s/shop/api/stream",
        "/s/shop/inspect/find?label=cake",
        "/s/shop/labels",
        "/s/shop/recordings",
    ] {
        let status = phone.open(no).await.status();
        assert!(
            status == 403 || (no.ends_with("recordings") && status == 404) || (no.contains("find") && status == 404),
            "{no}: {status}"
        );
    }
    assert_eq!(phone.open("/s/shop/record?item=later").await.text(".empty"), "No item was there.");
    let page = office.open("/s/shop/access").await;
    assert!(
        page.text("main section details").contains("For the fourth")
            && page.text("main section details").contains("Only for 2026-05-03 to 2026-05-04.")
    );
}

async fn a_link_ends(house: House) {
    house.set_up().await;
    let office = office(&house);
    let day = link(&office, &[]).await;
    let (one, other) = (let_in(&house, &day).await, let_in(&house, &day).await);
    house.pass(24 * 3_600_000 - 1_000);
    assert_eq!(one.open("/s/shop/inspect").await.status(), 200, "up to its last second");
    house.pass(1_000);
    for phone in [&one, &other] {
        assert_eq!(phone.open("/s/shop/inspect").await.status(), 303, "to the sign-in");
        assert_eq!(phone.look("/s/shop/api/items").await.status.as_u16(), 401);
    }
    let code = day.rsplit_once('=').expect("a code").1.to_owned();
    let fresh = Browser::new(&house);
    fresh.submit("/inspect", &[("code", &code)]).await.says(403, "There is no such link, or it is over");
    // Ended by the manager it is over at once, for everybody it let in; leaving ends one browser's alone.
    let second = link(&office, &[("hours", "2")]).await;
    let (one, other) = (let_in(&house, &second).await, let_in(&house, &second).await);
    one.submit("/sign-out", &[]).await;
    assert_eq!(one.open("/s/shop/inspect").await.status(), 303);
    assert_eq!(other.open("/s/shop/inspect").await.status(), 200);
    let page = office.open("/s/shop/access").await;
    let end = page.attributes("form[action$='/revoke']", "action");
    assert_eq!(end.len(), 1, "only one is good still");
    let end = end[0].trim_start_matches("../").to_owned();
    office.submit(&format!("/{end}"), &[]).await.goes("../../../../s/shop/access");
    assert_eq!(other.open("/s/shop/inspect").await.status(), 303);
    // And it stays over through a restart.
    house.restart().await;
    assert_eq!(other.open("/s/shop/inspect").await.status(), 303);
}

async fn what_a_link_cannot_be(house: House) {
    house.set_up().await;
    let office = office(&house);
    for (fields, part) in [
        ([("hours", "0"), ("name", "")], "no number of hours"),
        ([("hours", "1000000"), ("name", "")], "no number of hours"),
        ([("hours", "soon"), ("name", "")], "no number of hours"),
        ([("from", "2026-05-04"), ("to", "")], "no two dates"),
        ([("from", "2026-05-04"), ("to", "2026-05-03")], "no two dates"),
        ([("from", "the fourth"), ("to", "2026-05-04")], "no two dates"),
    ] {
        office.submit("/s/shop/access", &fields).await.says(400, part);
    }
    assert_eq!(office.submit("/s/shop/access/i-nobody/revoke", &[]).await.status(), 404);
    assert!(office.open("/s/shop/access").await.text("main section").contains("None yet"));
    // Neither staff nor inspectors make one.
    add(&office, "Ivo", "inspector", "", PASSWORD).await;
    let ivo = Browser::new(&house);
    ivo.submit("/sign-in", &[("name", "Ivo"), ("password", PASSWORD)]).await.goes("./");
    assert_eq!(ivo.submit("/s/shop/access", &[]).await.status(), 403);
    // An address that is only looked at lets nobody in.
    let link = link(&office, &[]).await;
    let looker = Browser::new(&house);
    looker.open(&link).await;
    assert_eq!(looker.open("/s/shop/inspect").await.status(), 303);
    // Guesses are counted.
    let guesser = Browser::new(&house).at([192, 0, 2, 99]);
    let mut last = 0;
    for n in 0..60 {
        last = guesser.submit("/inspect", &[("code", &format!("AAAA{n}"))]).await.status();
    }
    assert_eq!(last, 429);
}
