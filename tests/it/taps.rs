//! What was tapped without signal and comes later: taken at its time, once, in the name of whoever tapped; what the ledger
//! refuses is kept beside it and listed until somebody decides.
//!
//! Guards against S-46 of SAFETY.md.

use crate::kit::actor::{Actor, Answer};
use crate::kit::browser::Browser;
use crate::kit::house::{House, instant, t};
use crate::people::{PASSWORD, add, device, give, office};
use serde_json::{Value, json};

both!(
    taken_at_its_time_and_once,
    joins_marks_and_all_that_may_wait,
    the_second_story_is_kept_and_decided,
    what_cannot_be_a_tap_writes_nothing,
    a_form_that_was_given_up_writes_nothing,
    what_a_device_keeps,
);

/// A tap of somebody who isn't signed in.
pub fn somebody_elses() -> String {
    tap("p-nobody", "cake", "move", "12:00", &[("place", "bench")]).to_string()
}

/// A tap as a device sends it, its clock seven minutes fast.
fn tap(person: &str, item: &str, form: &str, at: &str, fields: &[(&str, &str)]) -> Value {
    let at = instant(at);
    let mut all = vec![("key", "00112233445566778899aabbccddeeff")];
    all.extend_from_slice(fields);
    json!({"person": person, "item": item, "form": form, "fields": all, "at": at, "device_at": at.plus(7 * 60_000)})
}

/// The same from another page.
fn other(mut tap: Value, n: u8) -> Value {
    tap["fields"][0][1] = json!(format!("{n:032x}"));
    tap
}

async fn send(browser: &Browser, tap: &Value) -> Answer {
    browser.send("POST", "/s/shop/taps", &[("content-type", "application/json")], tap.to_string()).await
}

/// A shop at noon with a cake and a tub in the cold, Ada on a phone, and the office.
async fn shop(house: &House) -> (Browser, String, Browser) {
    house.set_up().await;
    for id in ["cake", "tub"] {
        let item = json!({"kind": "item", "at": t("08:00"), "item": id, "name": format!("The {id}"), "product": "cake",
            "place": "fridge"});
        house.write(item).await;
    }
    let office = office(house);
    let ada = add(&office, "Ada", "staff", "4711", "").await;
    let phone = device(house, &office, "phone").await;
    give(&phone, &ada, "4711").await.goes("./");
    (phone, ada, office)
}

async fn entries(house: &House, item: &str) -> Vec<Value> {
    let item = house.manager().get(&format!("items/{item}")).await.ok().json();
    item["entries"].as_array().expect("entries").clone()
}

async fn taken_at_its_time_and_once(house: House) {
    let (phone, ada, _) = shop(&house).await;
    let clock = phone.look("/s/shop/taps").await.ok().json();
    assert_eq!(clock, json!({"now_ms": house.now().0, "person": ada}));
    let out = tap(&ada, "cake", "move", "11:00:00.250", &[("place", "bench"), ("last", "1")]);
    let back = tap(&ada, "cake", "move", "11:30", &[("place", "fridge")]);
    let first = send(&phone, &out).await.ok().json();
    let again = send(&phone, &out).await.ok().json();
    assert_eq!(first, again, "sent twice, taken once");
    send(&phone, &other(back, 1)).await.ok();
    let found = entries(&house, "cake").await;
    assert_eq!(found.len(), 3);
    let (e, standing) = (&found[1], house.manager().get("items/cake").await.json());
    assert_eq!(first["taken"], json!([e["seq"]]));
    assert_eq!((&e["at"], &e["by"], &e["place"]), (&json!(t("11:00:00.250")), &json!(ada), &json!("bench")));
    assert!(e["device"].as_str().is_some_and(|d| !d.is_empty()), "{e}");
    // Seven minutes fast, in the shop's summer time.
    assert_eq!(e["note"], "Tapped without signal; the device’s clock read 2026-05-04 12:07:00 +01:00.");
    assert_eq!(standing["standing"]["total_out_ms"], 30 * 60_000 - 250);
    // A clock that was set meanwhile is told of; what lies a moment ahead is now.
    let mut set = other(tap(&ada, "cake", "move", "12:00:01", &[("place", "bench")]), 2);
    set["set_ms"] = json!(-7 * 60_000);
    send(&phone, &set).await.ok();
    let found = entries(&house, "cake").await;
    assert_eq!(found[3]["at"], json!(house.now()));
    assert!(found[3]["note"].as_str().expect("a note").ends_with("That clock was set back by 7 min afterwards."));
    // The same form sent from the page itself before its answer was lost: nothing is written twice.
    let fields = [("key", "ffeeddccbbaa99887766554433221100"), ("place", "bench")];
    phone
        .submit("/s/shop/items/tub/move", &fields)
        .await
        .goes(phone.submit("/s/shop/items/tub/move", &fields).await.to());
    let mut same = tap(&ada, "tub", "move", "11:59", &[("place", "bench")]);
    same["fields"][0][1] = json!("ffeeddccbbaa99887766554433221100");
    let said = send(&phone, &same).await.ok().json();
    let found = entries(&house, "tub").await;
    assert_eq!((found.len(), said["taken"][0].clone()), (2, found[1]["seq"].clone()));
    house.agrees().await;
}

async fn joins_marks_and_all_that_may_wait(house: House) {
    let (phone, ada, _) = shop(&house).await;
    let at = |n: u8, form: &str, time: &str, fields: &[(&str, &str)]| other(tap(&ada, "cake", form, time, fields), n);
    for tap in [
        at(1, "move", "10:00", &[("place", "bench"), ("value", "4,5")]),
        at(2, "coat", "10:05", &[("with", "tub")]),
        at(3, "mark", "10:10", &[("time", "15:00")]),
        at(4, "temperature", "10:20", &[("value", "9.5")]),
        at(5, "seen", "10:25", &[("place", "bench")]),
        at(6, "scrapings", "10:30", &[("with", "tub")]),
        at(7, "end", "10:40", &[("as", "sold")]),
    ] {
        let said = send(&phone, &tap).await.ok().json();
        assert!(said["taken"].is_array(), "{tap}: {said}");
    }
    let found = entries(&house, "cake").await;
    let kinds: Vec<&str> = found.iter().filter_map(|e| e["kind"].as_str()).collect();
    assert_eq!(kinds, ["item", "reading", "move", "join", "mark", "reading", "seen", "close"]);
    // 15:00 by the shop's clock, an hour ahead of UTC, and as of the tap.
    assert_eq!((&found[4]["discard_by"], &found[4]["how"]), (&json!(t("14:00")), &json!("written")));
    assert!(found.iter().skip(1).all(|e| e["note"].as_str().is_some_and(|n| n.contains("clock read"))), "{found:?}");
    house.agrees().await;
}

/// Guards against S-47.
async fn the_second_story_is_kept_and_decided(house: House) {
    let (phone, ada, office) = shop(&house).await;
    let manager = Browser::new(&house);
    add(&office, "Mia", "manager", "", PASSWORD).await;
    manager.submit("/sign-in", &[("name", "Mia"), ("password", PASSWORD)]).await.goes("./");
    let waiting = |page: &crate::kit::browser::Page| page.texts(".m-not-taken h3").len();
    assert_eq!(waiting(&manager.open("/s/shop/decisions").await), 0);
    let counted = manager.open("/s/shop/").await.text("a.waiting");
    // Ben has moved it at 11:20 already; Ada's tap of 11:00 would make his a move to where it is.
    house.write(json!({"kind": "move", "at": t("11:20"), "item": "cake", "place": "bench"})).await;
    let head = house.head().await;
    let late = tap(&ada, "cake", "move", "11:00", &[("place", "bench")]);
    let said = send(&phone, &late).await.ok().json();
    let id = said["untaken"]["tap"].as_str().expect("its id").to_owned();
    assert_eq!(said["untaken"]["code"], "upsets-another");
    assert_eq!(send(&phone, &late).await.ok().json(), said, "sent again it is the same");
    assert_eq!(house.head().await, head, "nothing was written");
    house.restart().await;
    let manager = Browser::new(&house);
    manager.submit("/sign-in", &[("name", "Mia"), ("password", PASSWORD)]).await.goes("./");
    assert_ne!(manager.open("/s/shop/").await.text("a.waiting"), counted, "the manager's board counts it");
    // The person sees both, and so does Decisions.
    for page in [phone.open(&format!("/s/shop/taps/{id}")).await, manager.open("/s/shop/decisions").await] {
        let stories = page.texts(".stories section");
        assert_eq!(stories.len(), 2, "{}", page.0.text());
        assert!(
            stories[0].contains("Ada") && stories[0].contains("12:00") && stories[0].contains("12:07:00"),
            "{stories:?}"
        );
        assert!(stories[0].contains("bench") && stories[0].contains("Not taken: "), "{stories:?}");
        assert!(stories[1].contains("12:20") && stories[1].contains("bench"), "{stories:?}");
    }
    assert_eq!(phone.open("/s/shop/taps/nothing").await.status(), 404);
    // A decision about the item that doesn't name it settles nothing; time doesn't either.
    let about = |note: Option<&str>| json!({"kind": "decide", "about": "cake", "action": "dismiss", "reason": "Because.", "note": note.unwrap_or("Of something else.")});
    house.write(about(None)).await;
    house.set("+20 12:00");
    let manager = Browser::new(&house);
    manager.submit("/sign-in", &[("name", "Mia"), ("password", PASSWORD)]).await.goes("./");
    let page = manager.open("/s/shop/decisions").await;
    assert_eq!(waiting(&page), 1);
    let handle = page.attributes(".m-not-taken input[name=of]", "value").remove(0);
    let fields = [
        ("key", "00000000000000000000000000000001"),
        ("code", "not-taken"),
        ("of", handle.as_str()),
        ("action", "corrected"),
        ("reason", "Ada had it first: Ben's entry now says eleven."),
    ];
    manager.submit("/s/shop/decisions", &fields).await.goes("../../s/shop/decisions?said=done");
    assert_eq!(waiting(&manager.open("/s/shop/decisions").await), 0);
    assert_eq!(
        manager.open(&format!("/s/shop/taps/{id}")).await.texts(".stories section").len(),
        2,
        "it stays readable"
    );
}

/// Guards against S-48.
async fn what_cannot_be_a_tap_writes_nothing(house: House) {
    let (phone, ada, _) = shop(&house).await;
    let head = house.head().await;
    let good = tap(&ada, "cake", "move", "11:00", &[("place", "bench")]);
    let with = |name: &str, value: Value| {
        let mut bad = good.clone();
        bad[name] = value;
        bad
    };
    for bad in [
        with("item", json!("no id at all")),
        with("form", json!("undo")),
        with("form", json!("split")),
        with("fields", json!([["place", "bench"]])),
        with("fields", json!(vec![["place", "bench"]; 65])),
        with("fields", json!([["key", "x".repeat(2_001)]])),
        with("at", json!("eleven")),
        with("device_at", json!("11:00")),
        with("more", json!(1)),
        json!([good]),
        json!("move"),
    ] {
        send(&phone, &bad).await.refused(400, "malformed");
    }
    send(&phone, &with("person", json!("p-ben"))).await.refused(409, "another-person");
    // A time in the future, an item or a place that there isn't: kept beside the ledger, as it was meant.
    for (n, bad) in [
        with("at", json!(t("12:05"))),
        with("item", json!("nothing")),
        with("fields", json!([["key", "00112233445566778899aabbccddee00"], ["place", "moon"]])),
        other(tap(&ada, "cake", "move", "11:01", &[]), 1),
    ]
    .into_iter()
    .enumerate()
    {
        let said = send(&phone, &bad).await.ok().json();
        assert!(said["untaken"]["tap"].is_string(), "{n}: {said}");
    }
    assert_eq!(house.head().await, head, "nothing was written");
    let office = office(&house);
    let page = office.open("/s/shop/decisions").await;
    assert_eq!(page.texts(".m-not-taken h3").len(), 4);
    // Even what is about no item can be decided.
    let handles = page.attributes(".m-not-taken input[name=of]", "value");
    for (n, handle) in handles.iter().enumerate() {
        let key = format!("{n:032}");
        let fields = [
            ("key", key.as_str()),
            ("code", "not-taken"),
            ("of", handle),
            ("action", "dismiss"),
            ("reason", "A slip."),
        ];
        let page = office.submit("/s/shop/decisions", &fields).await;
        assert_eq!(page.status(), 303, "{handle}: {}", page.text("[role=alert]"));
        page.goes("../../s/shop/decisions?said=done");
    }
    assert_eq!(office.open("/s/shop/decisions").await.texts(".m-not-taken h3").len(), 0);
}

async fn a_form_that_was_given_up_writes_nothing(house: House) {
    let (phone, ..) = shop(&house).await;
    let (head, now) = (house.head().await, house.now().0);
    let fields = [("key", "00112233445566778899aabbccddeeff"), ("place", "bench")];
    let late = (now - 1).to_string();
    let page = phone.submit_with("/s/shop/items/cake/move", &fields, &[("not-after-ms", &late)]).await;
    assert_eq!((page.status(), page.0.header("given-up")), (409, "1"), "{}", page.0.text());
    assert_eq!(house.head().await, head, "nothing was written");
    let page = phone.submit_with("/s/shop/items/cake/move", &fields, &[("not-after-ms", &now.to_string())]).await;
    assert_eq!(page.status(), 303, "{}", page.0.text());
}

async fn what_a_device_keeps(house: House) {
    let (phone, ada, _) = shop(&house).await;
    let kept = phone.look("/s/shop/kept").await.ok().json();
    assert_eq!((&kept["person"], &kept["now_ms"]), (&json!(ada), &json!(house.now().0)));
    let item = |id: &str| kept["items"].as_array().expect("items").iter().find(|i| i["id"] == id).expect("it").clone();
    let row = phone.open("/s/shop/").await;
    assert_eq!(json!(row.text("#i-cake .big")), item("cake")["big"], "the same figures as on the board");
    assert_eq!(item("cake")["go"]["form"], "move");
    let page = phone.open("/s/shop/no-signal").await;
    assert_eq!(page.attributes("body", "data-person"), [ada]);
    // The worker says its few words in both languages, and its forms are those that are taken.
    let worker = phone.look("/worker.js").await.ok();
    assert!(worker.text().starts_with("const SAID = {\"en\":"), "{}", &worker.text()[..80]);
    assert!(worker.text().contains("Nothing was recorded") && worker.text().contains("No se anotó nada"));
    assert!(worker.text().contains("(move|coat|scrapings|mark|temperature|end|seen)"));
}
