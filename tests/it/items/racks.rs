//! Racks: twenty things moved and probed with one touch, and who is left behind is named.
//!
//! Guards against S-24 of SAFETY.md.

use super::{cake, sheet, signed_in};
use crate::kit::browser::Browser;
use crate::kit::house::{House, t};
use serde_json::{Value, json};

both!(
    taken_back_with_one_touch,
    twenty_with_one_touch,
    one_probing_for_all,
    who_is_left_behind_is_named,
    put_on_and_taken_off,
    the_earliest_time_of_all,
    a_racks_own_tag
);

const KEY: &str = "ffeeddccbbaa99887766554433221100";

/// A rack with that many cakes from the fridge; its address.
async fn rack(house: &House, browser: &Browser, count: usize) -> String {
    house.set_up().await;
    house.write(json!((1..=count).map(|n| cake(&n.to_string())).collect::<Vec<_>>())).await;
    let made = browser.submit("/s/shop/racks", &[("name", "Rack 3")]).await;
    assert_eq!(made.status(), 303, "{}", made.0.text());
    let at = format!("/{}", made.to().replace("../", ""));
    let ids: Vec<String> = (1..=count).map(|n| n.to_string()).collect();
    let items: Vec<(&str, &str)> = ids.iter().map(|id| ("item", id.as_str())).collect();
    if count > 0 {
        let put = browser.submit(&format!("{at}/put"), &items).await;
        assert!(put.to().ends_with(&format!("?said=put&n={count}")), "{}", put.0.text());
    }
    at
}

async fn states(house: &House) -> Vec<String> {
    let mut all = house.list("open", 100).await;
    all.sort_by_key(|s| s["item"].as_str().and_then(|i| i.parse::<u32>().ok()));
    all.iter().map(|s| s["place"].as_str().expect("a place").to_owned()).collect()
}

async fn twenty_with_one_touch(house: House) {
    let staff = signed_in(&house, "staff").await;
    let at = rack(&house, &staff, 20).await;
    let page = staff.open(&at).await;
    assert_eq!((page.text("h1"), page.texts("section[aria-labelledby=on] li").len()), (String::from("Rack 3"), 20));
    assert_eq!(page.text(".where"), "20 in fridge");
    let head = house.head().await;
    // The one large action; the second of two taps changes nothing.
    let (key, place) = (page.attributes(".acts input[name=key]", "value"), page.attributes(".acts .main", "value"));
    assert_eq!(place, ["bench"]);
    for _ in 0..2 {
        let done = staff.submit(&format!("{at}/move"), &[("key", &key[0]), ("place", &place[0])]).await;
        let seqs: Vec<String> = (head + 1..=head + 20).map(|n| n.to_string()).collect();
        let said = format!("?said=move&n=20&place=bench&seqs={}", seqs.join(","));
        assert!(done.to().ends_with(&said), "{} {}", done.to(), done.0.text());
    }
    assert_eq!(house.head().await, head + 20);
    assert_eq!(states(&house).await, vec!["bench"; 20]);
    let page = staff.open(&format!("{at}?said=move&n=20&place=bench")).await;
    assert_eq!(page.text("[role=status]"), "20 items moved to bench.");
    // Out since 12:00; two hours later it should be used, four hours later discarded: 16:00 there, 17:00 by the shop.
    assert_eq!(
        (page.text(".until .lead"), page.text(".until .big")),
        (String::from("discard by"), String::from("17:00"))
    );
    house.set("12:45");
    let page = staff.open(&at).await;
    assert_eq!(page.attributes(".acts .main", "value"), ["fridge"]);
    // It was ten minutes ago.
    let done = staff.submit(&format!("{at}/move"), &[("place", "fridge"), ("at", "13:35")]).await;
    assert!(done.to().contains("n=20"), "{}", done.0.text());
    for id in ["1", "20"] {
        assert_eq!(house.standing(id).await["total_out_ms"], 35 * 60_000);
    }
    house.agrees().await;
}

async fn one_probing_for_all(house: House) {
    let staff = signed_in(&house, "staff").await;
    let at = rack(&house, &staff, 20).await;
    let head = house.head().await;
    let read = format!("{at}/reading");
    for _ in 0..2 {
        let done = staff.submit(&read, &[("key", KEY), ("value", "4,5"), ("probed", "7")]).await;
        assert!(done.to().contains("?said=reading&n=20&seqs="), "{}", done.0.text());
    }
    let all = house.tail().await;
    let readings: Vec<&Value> = all.iter().filter(|e| e["kind"] == "reading").collect();
    assert_eq!((readings.len() as u64, house.head().await), (20, head + 20));
    assert!(readings.iter().all(|e| e["probed"] == "7" && e["value"] == "4.5" && e["unit"] == "C"));
    // Probed at nothing, at what isn't there, or no temperature: nothing is written.
    for (fields, status) in [
        (vec![("value", "4.5")], 400),
        (vec![("value", "4.5"), ("probed", "nobody")], 400),
        (vec![("value", "warm"), ("probed", "7")], 400),
        (vec![("probed", "7")], 400),
        (vec![("value", "4.5"), ("probed", "7"), ("at", "noon")], 400),
        (vec![("value", "4.5"), ("probed", "7"), ("at", "07:00")], 409),
    ] {
        assert_eq!(staff.submit(&read, &fields).await.status(), status, "{fields:?}");
    }
    assert_eq!(house.head().await, head + 20);
    house.agrees().await;
}

async fn who_is_left_behind_is_named(house: House) {
    let staff = signed_in(&house, "staff").await;
    let at = rack(&house, &staff, 20).await;
    let moved = |id: &str, place: &str| json!({"kind": "move", "at": t("11:00"), "item": id, "place": place});
    house
        .write(json!([moved("5", "bench"), moved("9", "bench"), moved("10", "van"),
            {"kind": "close", "at": t("11:30"), "item": "20", "as": "sold"}]))
        .await;
    let head = house.head().await;
    let page = staff.submit(&format!("{at}/move"), &[("key", KEY), ("place", "bench")]).await;
    assert_eq!(page.status(), 200, "{}", page.0.text());
    assert_eq!(page.text("[role=status] p"), "17 items moved to bench.");
    let refused = page.texts(".refused li");
    assert_eq!(refused.len(), 2, "{refused:?}");
    assert!(refused[0].starts_with("Cake 5 has been there since ") && !refused[0].contains('Z'), "{refused:?}");
    assert!(refused[1].starts_with("Cake 9 has been there since "), "{refused:?}");
    assert_eq!((house.head().await, page.texts("section[aria-labelledby=on] li").len()), (head + 17, 19));
    // The second tap says of them that they were left.
    let page = staff.submit(&format!("{at}/move"), &[("key", KEY), ("place", "bench")]).await;
    assert_eq!((page.texts(".refused li").len(), house.head().await), (2, head + 17));
    // All refused: nothing written, each named; and no place there is.
    let page = staff.submit(&format!("{at}/move"), &[("place", "bench")]).await;
    assert_eq!((page.status(), page.texts(".refused li").len()), (409, 19));
    let page = staff.submit(&format!("{at}/move"), &[("place", "nowhere")]).await;
    assert_eq!((page.status(), page.texts(".refused li").len()), (409, 19));
    assert_eq!(staff.submit(&format!("{at}/move"), &[]).await.status(), 400);
    assert_eq!(house.head().await, head + 17);
    // Those past their first limit may not go back; the page says so before the touch.
    house.set("13:30");
    assert!(staff.open(&at).await.text(".warn").contains("Cake 5, Cake 9"));
    house.agrees().await;
}

async fn put_on_and_taken_off(house: House) {
    let staff = signed_in(&house, "staff").await;
    let at = rack(&house, &staff, 3).await;
    let codes = sheet(&staff, 2).await;
    house
        .write(json!([cake("four"), cake("gone"), {"kind": "close", "at": t("09:00"), "item": "gone", "as": "lost"}]))
        .await;
    let head = house.head().await;
    let on = async |at: &str| staff.open(at).await.attributes("section[aria-labelledby=on] button", "value");
    // By its tag.
    staff.submit("/s/shop/items/four/tag", &[("code", &codes[0])]).await;
    assert!(staff.submit(&format!("{at}/put"), &[("code", &codes[0])]).await.to().ends_with("?said=put&n=1"));
    assert_eq!(on(&at).await.len(), 4);
    let again = staff.submit(&format!("{at}/put"), &[("code", &codes[0]), ("back", "scan"), ("camera", "on")]).await;
    let (id, to) = (at.rsplit('/').next().expect("an id"), again.to().replace("../", "/").replace("//", "/"));
    assert!(to.ends_with(&format!("/s/shop/scan?rack={id}&said=put&last={}&camera=on", codes[0])), "{to}");
    let page = staff.open(&format!("/s/shop/scan?rack={id}&said=put&last={}&camera=on", codes[0])).await;
    assert_eq!(page.text("[role=status]"), "Cake four is on the rack, 4 in all.");
    staff.submit(&format!("{at}/put"), &[("code", &codes[1])]).await.says(409, "on no item");
    staff.submit(&format!("{at}/put"), &[("code", "0123456789")]).await.says(404, "Nobody here has that tag");
    for fields in [vec![], vec![("item", "gone")], vec![("item", "nobody")], vec![("item", "1"), ("item", "gone")]] {
        staff.submit(&format!("{at}/put"), &fields).await.says(409, "Nothing was put on");
    }
    // A thing stands on one rack.
    let other = staff.submit("/s/shop/racks", &[("name", "Trolley")]).await;
    let other = format!("/{}", other.to().replace("../", ""));
    staff.submit(&format!("{other}/put"), &[("item", "1"), ("item", "four")]).await;
    assert_eq!(on(&other).await, ["1", "four"]);
    assert_eq!(on(&at).await, ["2", "3"]);
    assert_eq!(staff.open("/s/shop/racks").await.texts(".stands a"), ["Rack 3: 2 items", "Trolley: 2 items"]);
    assert_eq!(staff.open("/s/shop/items/1/tag").await.text(".on a"), "Trolley");
    // Taken off from the one it is on, not from the other.
    staff.submit(&format!("{at}/take"), &[("item", "1")]).await;
    assert_eq!(on(&other).await, ["1", "four"]);
    staff.submit(&format!("{other}/take"), &[("item", "1")]).await;
    house.restart().await;
    assert_eq!(on(&other).await, ["four"]);
    // What closes is on no rack any more.
    house.write(json!({"kind": "close", "item": "four", "as": "sold"})).await;
    assert!(staff.open(&other).await.text("article").contains("Nothing stands on it"));
    assert_eq!(house.head().await, head + 1, "none of this is in the ledger");
    for path in ["/s/shop/racks/nobody", "/s/shop/racks/a%20b"] {
        assert_eq!(staff.open(path).await.status(), 404, "{path}");
    }
    for (path, fields, status) in [
        (String::from("/s/shop/racks/nobody/move"), vec![("place", "bench")], 404),
        (format!("{at}/burn"), vec![], 404),
        (String::from("/s/shop/racks"), vec![("name", " ")], 400),
    ] {
        assert_eq!(staff.submit(&path, &fields).await.status(), status, "{path}");
    }
    let long = "n".repeat(201);
    assert_eq!(staff.submit("/s/shop/racks", &[("name", &long)]).await.status(), 400);
    house.agrees().await;
}

async fn a_racks_own_tag(house: House) {
    let staff = signed_in(&house, "staff").await;
    let at = rack(&house, &staff, 2).await;
    let codes = sheet(&staff, 2).await;
    let id = at.rsplit('/').next().expect("an id").to_owned();
    assert_eq!(staff.submit(&format!("{at}/tag"), &[("code", &codes[0])]).await.status(), 303);
    staff.open(&format!("/t/{}", codes[0])).await.goes(&format!("../s/shop/racks/{id}"));
    assert_eq!(staff.open(&at).await.texts("section[aria-labelledby=tags] .stands a").len(), 1);
    staff.submit(&format!("{at}/tag"), &[("code", "nonsense")]).await.says(404, "Nobody here has that tag");
    // Before it goes from the rack to an item it is asked; a rack does not end.
    let asked = staff.submit("/s/shop/items/1/tag", &[("code", &codes[0])]).await;
    assert_eq!((asked.status(), asked.text("h1")), (409, String::from("What became of Rack 3?")));
    assert_eq!(asked.attributes("button[name=before]", "value"), ["stays"]);
    let tie = format!("/s/shop/tags/{}/tie", codes[0]);
    let sold = staff.submit(&tie, &[("item", "1"), ("was", &id), ("before", "sold")]).await;
    assert_eq!(sold.status(), 409);
    assert_eq!(staff.submit(&tie, &[("item", "1"), ("was", &id), ("before", "stays")]).await.status(), 303);
    staff.open(&format!("/t/{}", codes[0])).await.goes("../s/shop/items/1");
    house.agrees().await;
}

async fn taken_back_with_one_touch(house: House) {
    let staff = signed_in(&house, "staff").await;
    let at = rack(&house, &staff, 20).await;
    let moved = staff.submit(&format!("{at}/move"), &[("place", "bench")]).await;
    let page = staff.open(&format!("/{}", moved.to().replace("../", ""))).await;
    let form = |page: &crate::kit::browser::Page| {
        let action = page.attributes(".notice form", "action").first().map(|a| format!("/{}", a.replace("../", "")));
        let values = ["key", "entries", "rack"].map(|n| page.attributes(&format!(".notice [name={n}]"), "value"));
        (action, values.map(|v| v.concat()))
    };
    let (action, [key, entries, rack]) = form(&page);
    let action = action.expect("it can be taken back");
    let fields = [("key", key.as_str()), ("entries", entries.as_str()), ("rack", rack.as_str())];
    let undone = staff.submit(&action, &fields).await;
    assert!(undone.to().ends_with(&format!("{at}?said=undo")), "{} {}", undone.to(), undone.0.text());
    assert_eq!(states(&house).await, vec!["fridge"; 20]);
    assert!(staff.open(&format!("{at}?said=undo")).await.text("[role=status]").contains("Taken back"));
    // Not what was taken back already, nor what is another's or long ago.
    let said = |seqs: &str| format!("{at}?said=move&n=1&place=bench&seqs={seqs}");
    for seqs in [entries.as_str(), "1", "", "x", "9999999"] {
        assert_eq!(form(&staff.open(&said(seqs)).await).0, None, "{seqs}");
    }
    let moved = staff.submit(&format!("{at}/move"), &[("place", "van")]).await;
    let there = format!("/{}", moved.to().replace("../", ""));
    assert!(form(&staff.open(&there).await).0.is_some());
    house.pass(11 * 60_000);
    assert_eq!(form(&staff.open(&there).await).0, None);
    house.agrees().await;
}

/// What is most urgent by its verdict may have longer than another: the rack's time is the earliest.
async fn the_earliest_time_of_all(house: House) {
    let staff = signed_in(&house, "staff").await;
    let at = rack(&house, &staff, 1).await;
    let out = |id: &str, rule: &str, at: &str| json!({"kind": "item", "at": t(at), "item": id, "name": id, "place": "bench", "rules": [rule]});
    house.write(json!([out("old", "sum-2h-4h", "09:50"), out("young", "two-hour", "10:30")])).await;
    let (old, young) = (house.standing("old").await, house.standing("young").await);
    assert_eq!((&old["verdict"], &old["discard_by"]), (&json!("use"), &json!(t("13:50"))));
    assert_eq!(young["discard_by"], json!(t("12:30")));
    staff.submit(&format!("{at}/put"), &[("item", "old"), ("item", "young")]).await;
    // 12:30 there is 13:30 by the shop's clock.
    assert_eq!(staff.open(&at).await.text(".until .big"), "13:30");
}
