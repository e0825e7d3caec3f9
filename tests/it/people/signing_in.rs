//! Signing in by PIN, by name and by password; how long it lasts; what the entries say of it.
//!
//! Guards against S-55 of SAFETY.md.

use super::{PASSWORD, add, code, device, give, office};
use crate::kit::actor::Actor;
use crate::kit::browser::Browser;
use crate::kit::house::House;
use axum::body::Body;
use serde_json::json;

both!(
    by_pin_and_by_name,
    by_password,
    a_sign_in_runs_out,
    whoever_leaves_is_out_at_once,
    a_device_is_enrolled_once_and_revoked,
    names_are_joined_on_reading,
    over_tls,
    the_demos_address_is_its_managers,
);

const HOUR_MS: i64 = 3_600_000;

async fn begin(house: &House) {
    house.set_up().await;
    house.write(json!({"kind": "item", "item": "tub", "product": "cake", "name": "Tub", "place": "fridge"})).await;
}

/// Moves the tub by the page's own form; the entry that came of it.
async fn moves(browser: &Browser, house: &House, place: &str) -> serde_json::Value {
    let page = browser.submit("/s/shop/items/tub/move", &[("place", place)]).await;
    assert_eq!(page.status(), 303, "{}", page.0.text());
    house.tail().await.pop().expect("an entry")
}

async fn by_pin_and_by_name(house: House) {
    begin(&house).await;
    let office = office(&house);
    let ada = add(&office, "Ada Öz", "staff", "4711", "").await;
    let ben = add(&office, "Ben", "staff", "20815", "").await;
    let bench = device(&house, &office, "bench phone").await;
    // The names, large; none of them will do by itself yet.
    let who = bench.open("/sign-in?next=s/shop/items/tub").await;
    assert_eq!(who.texts(".faces button bdi").len(), 2);
    assert_eq!(who.texts(".faces small"), ["with PIN", "with PIN"]);
    bench
        .submit("/sign-in", &[("person", &ada), ("next", "s/shop/items/tub")])
        .await
        .goes(&format!("sign-in?person={ada}&next=s/shop/items/tub"));
    let keys = bench.open(&format!("/sign-in?person={ada}")).await;
    assert_eq!(keys.attributes("input[name=pin]", "inputmode"), ["numeric"]);
    assert!(keys.text("h1").contains("Ada"));
    bench
        .submit("/sign-in", &[("person", &ada), ("pin", "4711"), ("next", "s/shop/items/tub")])
        .await
        .goes("s/shop/items/tub");
    let entry = moves(&bench, &house, "bench").await;
    assert_eq!((&entry["by"], &entry["by_how"]), (&json!(ada), &json!("pin")));
    let phone = entry["device"].as_str().expect("a device").to_owned();
    assert!(phone.starts_with("d-"));
    // Ben gives his, then Ada is back by her name alone. What she was signed in by is over, wherever it may be.
    let hers = Browser::new(&house);
    hers.put("counterclock", &bench.cookie("counterclock").expect("a sign-in"));
    assert_eq!(hers.open("/s/shop/").await.status(), 200);
    give(&bench, &ben, "20815").await.goes("./");
    assert_eq!(hers.open("/s/shop/").await.status(), 303);
    assert_eq!(moves(&bench, &house, "fridge").await["by"], json!(ben));
    bench.submit("/sign-in", &[("person", &ada)]).await.goes("./");
    let entry = moves(&bench, &house, "bench").await;
    assert_eq!((&entry["by"], &entry["by_how"], &entry["device"]), (&json!(ada), &json!("name"), &json!(phone)));
    // It isn't hers for ever: four hours after the PIN, and by name doesn't make it longer.
    house.pass(4 * HOUR_MS);
    bench.submit("/sign-in", &[("person", &ada)]).await.goes(&format!("sign-in?person={ada}&next="));
    // On another device her name alone never did.
    let tablet = device(&house, &office, "tablet").await;
    give(&tablet, &ben, "20815").await.goes("./");
    tablet.submit("/sign-in", &[("person", &ada)]).await.goes(&format!("sign-in?person={ada}&next="));
    // After a restart everything is as it was.
    house.restart().await;
    tablet.submit("/sign-in", &[("person", &ben)]).await.goes("./");
    assert_eq!(moves(&tablet, &house, "fridge").await["by_how"], "name");
    // Who signs out gives the PIN next time.
    tablet.submit("/sign-out", &[]).await.goes("sign-in");
    assert_eq!(tablet.open("/s/shop/").await.status(), 303);
    tablet.submit("/sign-in", &[("person", &ben)]).await.goes(&format!("sign-in?person={ben}&next="));
    // A PIN does nothing where no device is enrolled, and letters are not even tried.
    give(&Browser::new(&house), &ben, "20815").await.says(403, "isn’t enrolled");
    give(&tablet, &ben, "2081x").await.says(400, "4 to 6 digits");
    give(&tablet, &ben, "").await.says(400, "4 to 6 digits");
    give(&tablet, &ben, "٢٠٨١٥").await.says(400, "4 to 6 digits");
    give(&tablet, &ben, "20816").await.says(401, "not the PIN");
    give(&tablet, "p-nobody", "20815").await.says(401, "not the PIN");
    house.agrees().await;
}

async fn by_password(house: House) {
    begin(&house).await;
    let office = office(&house);
    let mia = add(&office, "Mia “the boss” مريم 🧁", "manager", "", PASSWORD).await;
    let eve = add(&office, "Eve", "inspector", "", "a paper trail at noon").await;
    let laptop = Browser::new(&house);
    let sign_in = async |name: &str, password: &str| {
        laptop.submit("/sign-in", &[("name", name), ("password", password), ("next", "s/shop/")]).await
    };
    assert_eq!(laptop.open("/sign-in").await.texts("input[name=password]").len(), 1);
    let page = sign_in("mia", PASSWORD).await.says(401, "don’t go together");
    // What was typed is still there; the password isn't.
    assert_eq!(page.attributes("input[name=name]", "value"), ["mia"]);
    assert!(page.attributes("input[name=password]", "value").is_empty());
    sign_in("Mia “the boss” مريم 🧁", "rye bread on a tin roof ").await.says(401, "don’t go together");
    sign_in("", "").await.says(401, "don’t go together");
    sign_in("Mia", &"long ".repeat(1_000)).await.says(401, "don’t go together");
    sign_in("  mia  “The Boss” مريم 🧁 ", PASSWORD).await.goes("s/shop/");
    let entry = moves(&laptop, &house, "bench").await;
    assert_eq!((&entry["by"], &entry["by_how"], entry.get("device")), (&json!(mia), &json!("password"), None));
    assert!(laptop.open("/s/shop/").await.text("footer").contains("Mia “the boss” مريم 🧁"));
    assert_eq!(laptop.open("/s/shop/people").await.status(), 200);
    // An inspector reads and writes nothing.
    sign_in("Eve", "a paper trail at noon").await.goes("s/shop/");
    assert_eq!(laptop.open("/s/shop/items/tub").await.status(), 200);
    assert_eq!(laptop.submit("/s/shop/items/tub/move", &[("place", "fridge")]).await.status(), 403);
    assert_eq!(laptop.open("/s/shop/people").await.status(), 403);
    // A manager who gives a PIN at the bench acts as staff there.
    let pin = [("pin", "909031")];
    assert_eq!(office.submit(&format!("/s/shop/people/{mia}/pin"), &pin).await.status(), 303);
    let bench = device(&house, &office, "bench").await;
    give(&bench, &mia, "909031").await.goes("./");
    assert_eq!(bench.open("/s/shop/people").await.status(), 403);
    moves(&bench, &house, "fridge").await;
    // On an enrolled device the password says so, and which device it was.
    bench.submit("/sign-in", &[("name", "Eve"), ("password", "a paper trail at noon")]).await.goes("./");
    bench.submit("/sign-in", &[("name", "mia “the boss” مريم 🧁"), ("password", PASSWORD)]).await.goes("./");
    let entry = moves(&bench, &house, "bench").await;
    assert!(entry["by_how"] == "password" && entry["device"].is_string(), "{entry}");
    assert!(!eve.is_empty());
}

async fn a_sign_in_runs_out(house: House) {
    begin(&house).await;
    let office = office(&house);
    let ada = add(&office, "Ada", "staff", "4711", "").await;
    add(&office, "Mia", "manager", "", PASSWORD).await;
    let (bench, laptop) = (device(&house, &office, "bench").await, Browser::new(&house));
    give(&bench, &ada, "4711").await.goes("./");
    let password = [("name", "Mia"), ("password", PASSWORD)];
    laptop.submit("/sign-in", &password).await.goes("./");
    let there = async |b: &Browser| b.open("/s/shop/").await.status() == 200;
    // A page that asks by itself keeps nobody signed in.
    for _ in 0..7 {
        house.pass(HOUR_MS / 8);
        assert!(there(&laptop.by_itself()).await);
        // As our own script says it where the browser doesn't.
        let asked = laptop.send("GET", "/s/shop/", &[("by-itself", "1")], Body::empty()).await;
        assert_eq!(asked.status.as_u16(), 200);
    }
    house.pass(HOUR_MS / 8);
    assert!(!there(&laptop).await, "an hour without anybody doing anything");
    assert!(there(&bench).await, "the bench's phone lies about longer");
    house.pass(4 * HOUR_MS);
    assert!(!there(&bench).await);
    // Whoever goes on is signed in for a shift, and no longer.
    laptop.submit("/sign-in", &password).await.goes("./");
    for n in 0..24 {
        assert_eq!(there(&laptop).await, n < 24, "{n}");
        house.pass(HOUR_MS / 2);
    }
    assert!(!there(&laptop).await, "twelve hours");
    // A cookie that was made up is nobody's, and leads to the sign-in and back.
    laptop.put("counterclock", &format!("cs_{}", "0".repeat(64)));
    laptop.open("/s/shop/items/tub").await.goes("../../../sign-in?next=s/shop/items/tub");
    let secret = laptop.cookie("counterclock").expect("it");
    let kept = house.base().aside().await.ask("select session from session").await;
    assert!(kept.iter().all(|k| k.len() == 64 && *k != secret), "only hashes are kept");
}

async fn whoever_leaves_is_out_at_once(house: House) {
    begin(&house).await;
    let office = office(&house);
    let ada = add(&office, "Ada", "staff", "4711", "").await;
    let mia = add(&office, "Mia", "manager", "", PASSWORD).await;
    add(&office, "Mo", "manager", "", "cold butter, warm hands").await;
    let (bench, laptop) = (device(&house, &office, "bench").await, Browser::new(&house));
    give(&bench, &ada, "4711").await.goes("./");
    laptop.submit("/sign-in", &[("name", "Mia"), ("password", PASSWORD)]).await.goes("./");
    for (person, browser) in [(&ada, &bench), (&mia, &laptop)] {
        assert_eq!(browser.open("/s/shop/").await.status(), 200);
        assert_eq!(office.submit(&format!("/s/shop/people/{person}/disable"), &[]).await.status(), 303);
        assert_eq!(browser.open("/s/shop/").await.status(), 303);
    }
    assert!(bench.open("/sign-in").await.texts(".faces button").is_empty());
    give(&bench, &ada, "4711").await.says(401, "not the PIN");
    bench.submit("/sign-in", &[("person", &ada)]).await.goes(&format!("sign-in?person={ada}&next="));
    laptop.submit("/sign-in", &[("name", "Mia"), ("password", PASSWORD)]).await.says(401, "don’t go together");
    // And in again.
    assert_eq!(office.submit(&format!("/s/shop/people/{ada}/enable"), &[]).await.status(), 303);
    give(&bench, &ada, "4711").await.goes("./");
    // Another PIN ends what the old one began.
    office.submit(&format!("/s/shop/people/{ada}/pin"), &[("pin", "8053")]).await;
    assert_eq!(bench.open("/s/shop/").await.status(), 303);
    give(&bench, &ada, "4711").await.says(401, "not the PIN");
    give(&bench, &ada, "8053").await.goes("./");
}

async fn a_device_is_enrolled_once_and_revoked(house: House) {
    begin(&house).await;
    let office = office(&house);
    let ada = add(&office, "Ada", "staff", "4711", "").await;
    let shown = code(&office, "bench phone").await;
    assert!(shown.len() == 9 && shown.as_bytes()[4] == b'-', "{shown}");
    let bench = Browser::new(&house);
    // To look at the address uses nothing up.
    let page = bench.open(&format!("/enrol?code={shown}")).await;
    assert_eq!(page.attributes("input[name=code]", "value")[0], shown);
    let sloppy = shown.to_lowercase().replace('-', " ").replace('0', "o").replace('1', "l");
    bench.submit("/enrol", &[("code", &sloppy)]).await.goes("sign-in");
    Browser::new(&house).submit("/enrol", &[("code", &shown)]).await.says(403, "was used");
    for wrong in ["", "0000-0000", "\u{202e}", "' or 1=1 --"] {
        Browser::new(&house).submit("/enrol", &[("code", wrong)]).await.says(403, "no such code");
    }
    give(&bench, &ada, "4711").await.goes("./");
    // A code runs out after an hour; another can be had.
    let late = code(&office, "tablet").await;
    house.pass(HOUR_MS);
    Browser::new(&house).submit("/enrol", &[("code", &late)]).await.says(403, "run out");
    let devices = house.base().aside().await.ask("select device from device order by name").await;
    let page = office.submit(&format!("/s/shop/devices/{}/code", devices[1]), &[]).await;
    let tablet = Browser::new(&house);
    tablet.submit("/enrol", &[("code", &page.text("#the-code"))]).await.goes("sign-in");
    give(&tablet, &ada, "4711").await.goes("./");
    // Revoked, it is a browser like any other.
    office.submit(&format!("/s/shop/devices/{}/revoke", devices[0]), &[]).await.goes("../../../../s/shop/devices");
    assert_eq!(bench.open("/s/shop/").await.status(), 303);
    assert_eq!(bench.open("/sign-in").await.texts(".faces button").len(), 0);
    give(&bench, &ada, "4711").await.says(403, "isn’t enrolled");
    assert_eq!(tablet.open("/s/shop/").await.status(), 200);
    let listed = office.open("/s/shop/devices").await.texts("summary");
    assert!(listed[0].starts_with("tablet enrolled") && listed[1].starts_with("bench phone revoked"), "{listed:?}");
    office.submit(&format!("/s/shop/devices/{}/code", devices[0]), &[]).await.says(404, "nobody and nothing");
    // The name is free again.
    code(&office, "bench phone").await;
    office.submit("/s/shop/devices", &[("name", "Tablet")]).await.says(409, "has that name already");
}

/// Guards against S-66.
async fn names_are_joined_on_reading(house: House) {
    begin(&house).await;
    let office = office(&house);
    let name = "=Zoë \"Z\" O'Neil שרה";
    let zoe = add(&office, name, "staff", "4711", "").await;
    let bench = device(&house, &office, "bench").await;
    give(&bench, &zoe, "4711").await.goes("./");
    moves(&bench, &house, "bench").await;
    let log = async || bench.open("/s/shop/items/tub").await.text("ol.log li:first-child small");
    assert!(log().await.contains(name), "{}", log().await);
    let csv = async || {
        let rows = house.manager().get("record.csv").await.ok();
        let mut reader = csv::Reader::from_reader(rows.bytes.as_slice());
        let at = reader.headers().expect("a header").iter().position(|c| c == "out_by").expect("the column");
        let row = reader.records().next().expect("a row").expect("a row");
        row[at].to_owned()
    };
    assert_eq!(csv().await, format!("'{name}"), "no spreadsheet runs a name");
    let lines = house.manager().get("record.jsonl").await.ok().text().to_owned();
    assert!(lines.contains(&zoe) && !lines.contains("Zoë"), "the ledger has the id alone");
    // Without the tick nothing is erased.
    office.submit(&format!("/s/shop/people/{zoe}/erase"), &[]).await.says(404, "Look at the list");
    assert_eq!(office.submit(&format!("/s/shop/people/{zoe}/erase"), &[("sure", "yes")]).await.status(), 303);
    assert_eq!(bench.open("/s/shop/").await.status(), 303, "and is out");
    assert_eq!(csv().await, zoe);
    let page = office.open("/s/shop/items/tub").await;
    assert!(page.text("ol.log li:first-child small").contains(&zoe) && !page.0.text().contains("Zoë"));
    assert!(!office.open("/s/shop/people").await.0.text().contains("Zoë"));
    let left = house.base().aside().await.ask("select name from person where pin is not null or name <> ''").await;
    assert!(left.is_empty(), "{left:?}");
    office.submit(&format!("/s/shop/people/{zoe}/pin"), &[("pin", "4711")]).await.says(404, "nobody");
    assert_eq!(house.manager().get("record.jsonl").await.ok().text(), lines, "the ledger is as it was");
    house.checks().await;
}

/// Behind a proxy that speaks TLS the cookies can't be set or read by any other host.
async fn over_tls(house: House) {
    begin(&house).await;
    let office = office(&house);
    let ada = add(&office, "Ada", "staff", "4711", "").await;
    let shown = code(&office, "bench").await;
    let (bench, tls) = (Browser::new(&house), [("origin", "https://shop.test")]);
    bench.submit_with("/enrol", &[("code", &shown)], &tls).await.goes("sign-in");
    bench.submit_with("/sign-in", &[("person", &ada), ("pin", "4711")], &tls).await.goes("./");
    assert!(bench.cookie("__Host-counterclock").is_some() && bench.cookie("__Host-counterclock-device").is_some());
    assert!(bench.cookie("counterclock").is_none());
    assert_eq!(bench.open("/s/shop/").await.status(), 200);
    bench.submit_with("/sign-out", &[], &tls).await.goes("sign-in");
    assert!(bench.cookie("__Host-counterclock").is_none());
    let answer = bench.send("POST", "/sign-in", &[("origin", "https://elsewhere.test")], Body::empty()).await;
    assert_eq!(answer.status.as_u16(), 403);
}

/// An address that carries a token signs in as what that token is; only the manager's makes the browser a device.
async fn the_demos_address_is_its_managers(house: House) {
    house.set_up().await;
    house.service().sign_in_by_address();
    let office = office(&house);
    let mia = add(&office, "Mia", "manager", "", PASSWORD).await;
    office.submit(&format!("/s/shop/people/{mia}/pin"), &[("pin", "8053")]).await;
    for (role, status, devices) in [("staff", 403, 0), ("inspector", 403, 0), ("manager", 200, 1)] {
        let browser = Browser::new(&house);
        let page = browser.open(&format!("/sign-in?token={}", house.role(role).1)).await;
        assert_eq!(page.status(), 303, "{role}");
        assert_eq!(browser.look("/s/shop/people").await.status.as_u16(), status, "{role}");
        let device = browser.cookie("counterclock-device").into_iter().count();
        assert_eq!(device, devices, "{role}");
    }
}
