//! The forms of the pages, sent through the front door as a browser sends them: new, moves, joins, ends, mistakes.

use crate::kit::actor::{Actor, Answer, Bearer};
use crate::kit::house::{House, t};
use axum::body::Body;
use scraper::{Html, Selector};
use serde_json::{Value, json};

both!(
    a_new_item_is_named_by_the_server,
    a_coat_shows_what_it_brings_and_writes_a_join,
    scrapings_go_back_into_the_tub,
    two_tubs_are_mixed_and_used_up,
    a_tray_is_split_and_sold_in_part,
    a_start_reading_goes_with_the_move,
    late_entries_want_a_time_and_a_reason,
    found_counts_from_when_it_was_last_known_to_be_cold,
    two_phones_at_odds_are_told_who_and_when,
    undo_takes_back_one_or_all_since,
    the_round_notes_the_ticked_and_asks_about_the_rest,
    the_round_takes_the_air_along,
    two_touches_of_a_button_are_one,
    what_was_typed_comes_back_and_runs_nowhere,
    what_cannot_be_read_is_answered_with_a_page,
    the_board_shows_the_most_urgent_and_says_how_many_more,
);

const KEY: &str = "00112233445566778899aabbccddeeff";

fn key(n: u32) -> String {
    format!("{n:032x}")
}

fn encoded(fields: &[(&str, &str)]) -> String {
    let percent = |text: &str| -> String {
        let plain = |b: u8| b.is_ascii_alphanumeric() || matches!(b, b'-' | b'.' | b'_');
        text.bytes().map(|b| if plain(b) { char::from(b).to_string() } else { format!("%{b:02X}") }).collect()
    };
    let pairs: Vec<String> = fields.iter().map(|(n, v)| format!("{}={}", percent(n), percent(v))).collect();
    pairs.join("&")
}

async fn send(who: &Bearer, path: &str, fields: &[(&str, &str)]) -> Answer {
    let head = [("content-type", "application/x-www-form-urlencoded")];
    who.send("POST", &format!("/s/shop/{path}"), &head, encoded(fields)).await
}

/// Sends a form that must be taken; where it leads.
#[track_caller]
fn leads(answer: &Answer) -> String {
    assert_eq!(answer.status, 303, "{}", text(answer, "main, .notice"));
    answer.header("location").to_owned()
}

async fn page(who: &Bearer, path: &str) -> Answer {
    let answer = who.send("GET", &format!("/s/shop/{path}"), &[], Body::empty()).await;
    assert_eq!(answer.status, 200, "{path}: {}", answer.text());
    answer
}

fn text(answer: &Answer, css: &str) -> String {
    let html = Html::parse_document(answer.text());
    let found: Vec<String> =
        html.select(&Selector::parse(css).unwrap()).flat_map(|e| e.text().map(str::to_owned)).collect();
    found.join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The values of an attribute of all that is selected.
fn all(answer: &Answer, css: &str, name: &str) -> Vec<String> {
    let html = Html::parse_document(answer.text());
    let wanted = Selector::parse(css).unwrap();
    html.select(&wanted).map(|e| e.value().attr(name).unwrap_or_default().to_owned()).collect()
}

/// A tub that stood out for forty minutes, and a cake in the fridge.
async fn tub_and_cake(house: &House) {
    house.set_up().await;
    house
        .manager()
        .post(&json!([
            {"kind": "product", "at": t("00:00"), "product": "frosting", "name": "Frosting", "rules": ["sum-2h-4h"]},
            {"kind": "item", "at": t("10:00"), "item": "tub", "product": "frosting", "name": "Tub one", "place": "bench"},
            {"kind": "move", "at": t("10:40"), "item": "tub", "place": "fridge"},
            {"kind": "item", "at": t("11:00"), "item": "layer", "product": "cake", "name": "Layer cake", "place": "fridge"},
        ]))
        .await
        .ok();
}

async fn last(house: &House) -> Value {
    house.tail().await.pop().expect("an entry")
}

async fn a_new_item_is_named_by_the_server(house: House) {
    house.set_up().await;
    let staff = house.staff();
    for n in 1..=2 {
        let fields = [("key", key(n)), ("product", "cake".into()), ("place", "bench".into()), ("count", "".into())];
        let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (*n, v.as_str())).collect();
        let to = leads(&send(&staff, "new", &fields).await);
        let begun = last(&house).await;
        assert_eq!(begun["name"], format!("Cake, Mon {n}"));
        assert!(to.contains(begun["item"].as_str().unwrap()), "{to}");
    }
    // Twelve on a tray, by one touch more.
    let tray = [("key", KEY), ("product", "cake"), ("place", "bench"), ("count", "12"), ("count", "")];
    leads(&send(&staff, "new", &tray).await);
    assert_eq!(last(&house).await["count"], 12);
    // Those used last stand first.
    house.write(json!({"kind": "item", "product": "mousse", "name": "Mousse", "place": "bench"})).await;
    let new = page(&staff, "new").await;
    assert_eq!(all(&new, "input[name=product]", "value")[..2], ["mousse", "cake"]);
    house.agrees().await;
}

async fn a_coat_shows_what_it_brings_and_writes_a_join(house: House) {
    tub_and_cake(&house).await;
    let staff = house.staff();
    let choice = page(&staff, "items/layer/coat").await;
    assert!(text(&choice, ".choose").contains("Tub one out 40 min in all"), "{}", text(&choice, ".choose"));
    let confirm = page(&staff, "items/layer/coat?with=tub").await;
    assert_eq!(text(&confirm, ".brings"), "Tub one brings out 40 min in all; 3 h 20 min once out");
    assert_eq!(text(&confirm, ".then"), "Layer cake then: out 40 min in all; 3 h 20 min once out");
    let to = leads(&send(&staff, "items/layer/coat", &[("key", KEY), ("with", "tub")]).await);
    assert!(to.contains("/items/layer?said=coat&item=layer&seqs="), "{to}");
    let join = last(&house).await;
    assert_eq!((&join["kind"], &join["item"], &join["from"]), (&json!("join"), &json!("layer"), &json!(["tub"])));
    assert_eq!(house.standing("layer").await["total_out_ms"], 40 * 60_000);
    // Nobody was picked: the page says so and offers the choice again.
    let none = send(&staff, "items/layer/coat", &[("key", &key(2))]).await;
    assert_eq!(none.status, 409);
    assert!(text(&none, ".notice").contains("Touch the one that is meant."));
    assert!(!all(&none, ".choose a", "href").is_empty());
    house.agrees().await;
}

async fn scrapings_go_back_into_the_tub(house: House) {
    tub_and_cake(&house).await;
    let staff = house.staff();
    house.write(json!({"kind": "join", "at": t("11:05"), "item": "layer", "from": ["tub"]})).await;
    house.write(json!({"kind": "move", "at": t("11:10"), "item": "layer", "place": "bench"})).await;
    let choice = page(&staff, "items/layer/scrapings").await;
    assert!(all(&choice, ".choose a", "href")[0].ends_with("?with=tub"), "what it is made from stands first");
    let confirm = page(&staff, "items/layer/scrapings?with=tub").await;
    assert!(text(&confirm, ".brings").starts_with("Layer cake brings out 1 h 30 min in all"));
    assert!(text(&confirm, ".then").starts_with("Tub one then: out 1 h 30 min in all"));
    leads(&send(&staff, "items/layer/scrapings", &[("key", KEY), ("with", "tub")]).await);
    assert_eq!(house.standing("tub").await["total_out_ms"], 90 * 60_000);
    house.agrees().await;
}

async fn two_tubs_are_mixed_and_used_up(house: House) {
    tub_and_cake(&house).await;
    let staff = house.staff();
    house
        .write(json!({"kind": "item", "at": t("09:00"), "item": "old", "product": "frosting", "name": "Tub two",
            "place": "fridge", "rules": ["keep-7d"]}))
        .await;
    let confirm = page(&staff, "items/tub/mix?with=old").await;
    assert_eq!(all(&confirm, "input[name=spent][checked]", "value"), ["tub", "old"]);
    let head = house.head().await;
    let one_left = [("key", KEY), ("with", "old"), ("spent", "tub")];
    let to = leads(&send(&staff, "items/tub/mix", &one_left).await);
    let written: Vec<Value> = house.tail().await.into_iter().filter(|e| e["seq"].as_u64() > Some(head)).collect();
    let mix = &written.iter().find(|e| e["kind"] == "item").expect("a new one");
    assert_eq!(mix["from"], json!(["tub", "old"]));
    assert_eq!(mix["rules"], json!(["keep-7d"]), "under the rules of both");
    assert!(to.contains(&format!("/items/{}?said=mix", mix["item"].as_str().unwrap())), "{to}");
    assert_eq!(house.standing("tub").await["state"], "closed");
    assert_eq!(house.standing("old").await["state"], "cold");
    // One touch takes back all of it: the new one, and the end of the first.
    let shown = page(&staff, to.split_once("/shop/").unwrap().1).await;
    let (at, seqs) = (all(&shown, ".notice form", "action"), all(&shown, ".notice input[name=entries]", "value"));
    let path = at[0].split_once("/shop/").unwrap().1.to_owned();
    leads(&send(&staff, &path, &[("key", &key(9)), ("entries", &seqs[0])]).await);
    assert_eq!(house.standing("tub").await["state"], "cold");
    house.agrees().await;
}

async fn a_tray_is_split_and_sold_in_part(house: House) {
    house.set_up().await;
    let staff = house.staff();
    house
        .write(json!({"kind": "item", "at": t("11:00"), "item": "tray", "product": "cake", "name": "Tray", "place": "bench", "count": 12}))
        .await;
    let split = page(&staff, "items/tray/split").await;
    assert!(text(&split, ".brings").contains("out 1 h 00 min in all"));
    for (count, said) in [("", "Say how many."), ("12", "Some must be left here"), ("a few", "not a whole number")] {
        let refused = send(&staff, "items/tray/split", &[("key", &key(3)), ("count", count)]).await;
        assert!(text(&refused, ".notice").contains(said), "{}", text(&refused, ".notice"));
    }
    leads(&send(&staff, "items/tray/split", &[("key", KEY), ("count", "4")]).await);
    let tail = house.tail().await;
    let part = tail.iter().rev().find(|e| e["kind"] == "item").unwrap();
    assert_eq!((&part["name"], &part["count"], &part["from"]), (&json!("Tray, part 2"), &json!(4), &json!(["tray"])));
    leads(&send(&staff, "items/tray/end", &[("key", KEY), ("count", "3"), ("as", "sold")]).await);
    let both = [("key", key(4)), ("count", "3".into()), ("count", "4".into()), ("as", "sold".into())];
    let both: Vec<(&str, &str)> = both.iter().map(|(n, v)| (*n, v.as_str())).collect();
    assert_eq!(send(&staff, "items/tray/end", &both).await.status, 400);
    let more = [("key", key(5)), ("count", "9".into()), ("as", "sold".into()), ("because", "party".into())];
    let more: Vec<(&str, &str)> = more.iter().map(|(n, v)| (*n, v.as_str())).collect();
    let refused = send(&staff, "items/tray/end", &more).await;
    assert!(text(&refused, ".notice").contains("There aren't that many left. Tray: 5 left."));
    assert_eq!(all(&refused, "input[name=because]", "value"), ["party"], "what was typed comes back");
    leads(&send(&staff, "items/tray/end", &[("key", &key(6)), ("as", "served")]).await);
    assert_eq!(house.standing("tray").await["state"], "closed");
    house.agrees().await;
}

async fn a_start_reading_goes_with_the_move(house: House) {
    house.set_up().await;
    let staff = house.staff();
    house
        .write(json!({"kind": "item", "at": t("11:00"), "item": "slice", "name": "Slice", "place": "fridge", "rules": ["us-time-4h"]}))
        .await;
    let board = page(&staff, "").await;
    assert!(text(&board, "#i-slice a.main").starts_with("Read it first: Out to bench"));
    let shown = page(&staff, "items/slice").await;
    assert_eq!(all(&shown, ".acts form:first-child input[name=value]", "inputmode"), ["decimal"]);
    leads(&send(&staff, "items/slice/move", &[("key", KEY), ("place", "bench"), ("value", "4,1")]).await);
    house.pass(60_000);
    let s = house.standing("slice").await;
    assert_eq!((&s["state"], &s["deviations"]), (&json!("out"), &json!([])), "read before it left");
    house.write(json!({"kind": "move", "item": "slice", "place": "fridge"})).await;
    let again = page(&staff, "items/slice").await;
    assert!(all(&again, ".acts form:first-child input[name=value]", "name").is_empty(), "asked for only once");
    house.agrees().await;
}

async fn late_entries_want_a_time_and_a_reason(house: House) {
    tub_and_cake(&house).await;
    let staff = house.staff();
    for (fields, said) in [
        (vec![("key", KEY), ("place", "bench"), ("why", "hands")], "Say when it was."),
        (vec![("key", KEY), ("place", "bench"), ("at", "12:40")], "Say why it was not tapped then."),
        (vec![("key", KEY), ("why", "hands"), ("ago", "20")], "Touch the place that is meant."),
        (
            vec![("key", KEY), ("place", "bench"), ("why", "hands"), ("at", "10:30"), ("yesterday", "1")],
            "before the item's beginning",
        ),
    ] {
        let refused = send(&staff, "items/layer/earlier", &fields).await;
        assert!(text(&refused, ".notice").contains(said), "{}", text(&refused, ".notice"));
        for (name, value) in fields.iter().filter(|(n, _)| matches!(*n, "why" | "ago" | "yesterday")) {
            assert_eq!(all(&refused, &format!("input[name={name}][checked]"), "value"), [*value]);
        }
    }
    let fields = [("key", KEY), ("place", "bench"), ("why", "hands"), ("at", "12:40"), ("reason", "oven")];
    leads(&send(&staff, "items/layer/earlier", &fields).await);
    let moved = last(&house).await;
    assert_eq!((&moved["at"], &moved["late_ms"]), (&json!(t("11:40")), &json!(1_200_000)));
    assert_eq!(moved["note"], "hands were full: oven");
    house.pass(3_600_000);
    let shown = page(&staff, "items/layer").await;
    assert!(text(&shown, ".log").contains("entered 20 min late"), "an hour later still");
    // The end of something, too.
    leads(
        &send(&staff, "items/layer/earlier", &[("key", &key(2)), ("as", "sold"), ("ago", "15"), ("why", "forgot")])
            .await,
    );
    assert_eq!(last(&house).await["at"], t("12:45"));
    house.agrees().await;
}

async fn found_counts_from_when_it_was_last_known_to_be_cold(house: House) {
    tub_and_cake(&house).await;
    let staff = house.staff();
    let known = |a: &Answer| text(a, ".then");
    assert_eq!(known(&page(&staff, "items/layer/found").await), "Last known to be cold: in fridge since 12:00.");
    house.write(json!({"kind": "seen", "at": t("11:20"), "item": "layer", "place": "fridge"})).await;
    house.write(json!({"kind": "reading", "at": t("11:25"), "item": "layer", "value": "5.1", "unit": "C"})).await;
    assert_eq!(known(&page(&staff, "items/layer/found").await), "Last known to be cold: seen in fridge at 12:20.");
    house.write(json!({"kind": "reading", "at": t("11:30"), "item": "layer", "value": "41.0", "unit": "F"})).await;
    assert!(known(&page(&staff, "items/layer/found").await).contains("at 12:30"), "41 °F is 5 °C");
    let to = leads(&send(&staff, "items/layer/found", &[("key", KEY), ("place", "bench")]).await);
    let moved = last(&house).await;
    assert_eq!((&moved["at"], &moved["place"]), (&json!(t("11:30")), &json!("bench")));
    assert!(moved["note"].as_str().unwrap().starts_with("Found out of the cold"));
    assert_eq!(house.standing("layer").await["total_out_ms"], 30 * 60_000);
    let shown = page(&staff, to.split_once("/shop/").unwrap().1).await;
    assert!(text(&shown, ".log").contains("counted from when it was last known to be cold"));
    // It is out already: nothing to be found.
    assert!(known(&page(&staff, "items/layer/found").await).contains("not logged in the cold"));
    assert_eq!(send(&staff, "items/layer/found", &[("key", &key(2)), ("place", "van")]).await.status, 400);
    house.agrees().await;
}

async fn two_phones_at_odds_are_told_who_and_when(house: House) {
    tub_and_cake(&house).await;
    let (one, other) = (house.staff(), house.manager());
    house.write(json!({"kind": "move", "item": "layer", "place": "bench"})).await;
    house.pass(1_200_000);
    // Both look; the other is quicker.
    let seen = all(&page(&one, "items/layer").await, "input[name=last]", "value")[0].clone();
    let back = [("key", KEY), ("last", seen.as_str()), ("place", "fridge")];
    leads(&send(&other, "items/layer/move", &back).await);
    house.pass(600_000);
    let late = send(&one, "items/layer/move", &back).await;
    assert_eq!(late.status, 409);
    let said = text(&late, ".notice");
    assert!(said.contains("moved Layer cake to fridge at 13:20. Nothing was recorded now."), "{said}");
    assert!(all(&late, ".notice .do", "href")[0].ends_with("/items/layer/was-out"));
    // The same without the page's own memory: the ledger refuses.
    let late = send(&one, "items/layer/move", &[("key", &key(2)), ("place", "fridge")]).await;
    assert!(late.status == 409 && text(&late, ".notice").contains("at 13:20"), "{}", text(&late, ".notice"));
    // It had been out again for five minutes, and is back now: both moves.
    let offer = page(&one, "items/layer/was-out").await;
    assert_eq!(all(&offer, "input[name=ago]", "value"), ["5"], "only what lies after that move can be meant");
    leads(&send(&one, "items/layer/was-out", &[("key", KEY), ("ago", "5"), ("place", "bench")]).await);
    let tail = house.tail().await;
    let [.., out, back] = &tail[..] else { panic!("two entries") };
    assert_eq!((&out["at"], &out["place"]), (&json!(t("12:25")), &json!("bench")));
    assert_eq!((&back["at"], &back["place"]), (&json!(t("12:30")), &json!("fridge")));
    // What somebody else closed isn't moved.
    let seen = all(&page(&one, "items/layer").await, "input[name=last]", "value")[0].clone();
    house.write(json!({"kind": "close", "item": "layer", "as": "sold"})).await;
    let late = send(&one, "items/layer/move", &[("key", &key(3)), ("last", &seen), ("place", "bench")]).await;
    assert!(late.status == 409 && text(&late, ".notice").contains("closed Layer cake as sold"));
    house.agrees().await;
}

async fn undo_takes_back_one_or_all_since(house: House) {
    tub_and_cake(&house).await;
    let staff = house.staff();
    let to = leads(&send(&staff, "items/layer/move", &[("key", KEY), ("place", "bench")]).await);
    let shown = page(&staff, to.split_once("/shop/").unwrap().1).await;
    let out = all(&shown, ".notice input[name=entries]", "value")[0].clone();
    leads(&send(&staff, "items/layer/undo", &[("key", KEY), ("entries", &out)]).await);
    assert_eq!(house.standing("layer").await["state"], "cold");
    // Out, and back: the first can't go without the second.
    leads(&send(&staff, "items/layer/move", &[("key", &key(2)), ("place", "bench")]).await);
    let out = last(&house).await["seq"].to_string();
    house.pass(300_000);
    leads(&send(&staff, "items/layer/move", &[("key", &key(3)), ("place", "fridge")]).await);
    let back = last(&house).await["seq"].to_string();
    let refused = send(&staff, "items/layer/undo", &[("key", &key(4)), ("entries", &out)]).await;
    assert_eq!(refused.status, 409);
    assert_eq!(all(&refused, ".brings li", "data-seq"), [out.clone(), back.clone()]);
    let both = all(&refused, "main input[name=entries]", "value")[0].clone();
    assert_eq!(both, format!("{out},{back}"));
    let head = house.head().await;
    leads(&send(&staff, "items/layer/undo", &[("key", &key(5)), ("entries", &both)]).await);
    assert_eq!(house.head().await, head + 2);
    assert_eq!(house.standing("layer").await["total_out_ms"], 0);
    // After ten minutes a reason is asked for.
    leads(&send(&staff, "items/tub/move", &[("key", &key(6)), ("place", "bench")]).await);
    let out = last(&house).await["seq"].to_string();
    house.pass(601_000);
    let old = send(&staff, "items/tub/undo", &[("key", &key(7)), ("entries", &out)]).await;
    assert!(text(&old, ".notice").contains("more than ten minutes ago"));
    leads(&send(&staff, "items/tub/undo", &[("key", &key(7)), ("entries", &out), ("why", "place")]).await);
    // A beginning takes with it what was made from it.
    leads(&send(&staff, "new", &[("key", &key(8)), ("product", "frosting"), ("place", "bench")]).await);
    let (tub, begun) = (last(&house).await["item"].as_str().unwrap().to_owned(), last(&house).await["seq"].to_string());
    leads(&send(&staff, "new", &[("key", &key(9)), ("product", "cake"), ("place", "bench"), ("from", &tub)]).await);
    let made = last(&house).await["seq"].to_string();
    let asked = page(&staff, &format!("items/{tub}/undo?entries={begun}")).await;
    let both = all(&asked, "main input[name=entries]", "value")[0].clone();
    assert_eq!(both, format!("{begun},{made}"));
    for _ in 0..2 {
        let to = leads(&send(&staff, &format!("items/{tub}/undo"), &[("key", &key(10)), ("entries", &both)]).await);
        assert!(!to.contains("/items/"), "{to}: it has no page any more");
    }
    house.agrees().await;
}

async fn the_round_notes_the_ticked_and_asks_about_the_rest(house: House) {
    tub_and_cake(&house).await;
    let staff = house.staff();
    assert!(
        text(&page(&staff, "round").await, ".choose")
            .contains("fridge 2 logged here, 0 seen today, air not read today")
    );
    let list = page(&staff, "round/fridge").await;
    assert_eq!(all(&list, "input[name=here][checked]", "value"), ["layer", "tub"]);
    let fields = [("key", KEY), ("listed", "layer,tub"), ("here", "tub")];
    let to = leads(&send(&staff, "round/fridge", &fields).await);
    let seen = last(&house).await;
    assert_eq!((&seen["kind"], &seen["item"], &seen["place"]), (&json!("seen"), &json!("tub"), &json!("fridge")));
    let ask = page(&staff, to.split_once("/shop/").unwrap().1).await;
    assert_eq!(text(&ask, "h1"), "Where is Layer cake?");
    assert!(text(&ask, ".notice").contains("1 seen in fridge."));
    // It stood on the bench: since it was last known to be cold.
    let fields = [("key", KEY), ("round", "fridge"), ("rest", ""), ("place", "bench")];
    let to = leads(&send(&staff, "items/layer/found", &fields).await);
    assert!(to.contains("/round/fridge?said=found"), "{to}");
    assert_eq!(last(&house).await["at"], t("11:00"));
    let over = page(&staff, to.split_once("/shop/").unwrap().1).await;
    assert!(text(&over, ".choose").contains("All seen. 1 logged here, 1 seen today"), "{}", text(&over, ".choose"));
    // Nothing ticked writes nothing.
    let head = house.head().await;
    leads(&send(&staff, "round/fridge", &[("key", &key(2)), ("listed", "tub")]).await);
    assert_eq!(house.head().await, head);
    house.agrees().await;
}

async fn the_round_takes_the_air_along(house: House) {
    tub_and_cake(&house).await;
    let (staff, head) = (house.staff(), house.head().await);
    let refused =
        send(&staff, "round/fridge", &[("key", KEY), ("listed", "layer,tub"), ("here", "tub"), ("value", "cold")])
            .await;
    assert_eq!((refused.status.as_u16(), house.head().await), (400, head), "neither of the two is written");
    assert_eq!(all(&refused, "input[name=value]", "value"), ["cold"]);
    assert_eq!(all(&refused, "input[name=here][checked]", "value"), ["tub"]);
    let fields = [("key", &*key(2)), ("listed", "layer,tub"), ("here", "tub"), ("here", "layer"), ("value", "4,5")];
    let to = leads(&send(&staff, "round/fridge", &fields).await);
    assert_eq!(house.head().await, head + 3);
    let tail = house.tail().await;
    let air = tail.iter().rev().find(|e| e["kind"] == "reading").unwrap();
    assert_eq!((&air["place"], &air["value"], &air["unit"]), (&json!("fridge"), &json!("4.5"), &json!("C")));
    let over = page(&staff, to.split_once("/shop/").unwrap().1).await;
    assert!(
        text(&over, ".notice").contains("2 seen in fridge. fridge: 4.5 °C recorded."),
        "{}",
        text(&over, ".notice")
    );
    assert!(text(&over, ".choose").contains("air 4.5 °C at "), "{}", text(&over, ".choose"));
    // An empty place has a thermometer too.
    leads(&send(&staff, "round/freezer", &[("key", &key(3)), ("listed", ""), ("value", "-18")]).await);
    assert_eq!(last(&house).await["value"], "-18.0");
    house.agrees().await;
}

async fn two_touches_of_a_button_are_one(house: House) {
    tub_and_cake(&house).await;
    let staff = house.staff();
    house
        .write(json!({"kind": "item", "at": t("11:00"), "item": "tray", "product": "cake", "name": "Tray", "place": "fridge", "count": 3}))
        .await;
    let last_of = |a: &Answer| all(a, "input[name=last]", "value")[0].clone();
    let seen = last_of(&page(&staff, "items/tray").await);
    let touches: Vec<(&str, Vec<(&str, &str)>)> = vec![
        ("items/tray/split", vec![("key", KEY), ("count", "2")]),
        ("items/tray/found", vec![("key", KEY), ("place", "bench")]),
        ("items/layer/move", vec![("key", KEY), ("last", &seen), ("place", "bench")]),
        ("items/tub/mix", vec![("key", KEY), ("with", "layer"), ("spent", "tub"), ("spent", "layer")]),
        ("new", vec![("key", KEY), ("product", "cake"), ("place", "bench")]),
    ];
    for (path, fields) in touches {
        let first = leads(&send(&staff, path, &fields).await);
        let head = house.head().await;
        let second = leads(&send(&staff, path, &fields).await);
        assert_eq!((&second, house.head().await), (&first, head), "{path}");
        // From a page that lay about.
        house.pass(60_000);
        let third = leads(&send(&staff, path, &fields).await);
        assert!(third.contains("said=again") && house.head().await == head, "{path}: {third}");
    }
    house.agrees().await;
}

async fn what_was_typed_comes_back_and_runs_nowhere(house: House) {
    house.set_up().await;
    let staff = house.staff();
    let name = "=cmd()|'<script>alert(1)</script>\"";
    let mut fields = vec![("key", KEY), ("product", "cake"), ("place", "nowhere"), ("name", name), ("count", "7")];
    let refused = send(&staff, "new", &fields).await;
    assert_eq!(refused.status, 409);
    assert_eq!(all(&refused, "input[name=name]", "value"), [name]);
    assert_eq!(all(&refused, "input[name=product][checked]", "value"), ["cake"]);
    assert!(all(&refused, "input[name=count]", "value").contains(&String::from("7")));
    fields[2] = ("place", "bench");
    let to = leads(&send(&staff, "new", &fields).await);
    let shown = page(&staff, to.split_once("/shop/").unwrap().1).await;
    assert!(text(&shown, "h1").contains(name));
    assert!(!shown.text().contains("<script>alert"));
    let csv = staff.get("record.csv?from=2026-05-04&to=2026-05-04").await.ok();
    assert!(csv.text().contains("'=cmd()"), "a spreadsheet reads it as text");
    house.agrees().await;
}

async fn what_cannot_be_read_is_answered_with_a_page(house: House) {
    tub_and_cake(&house).await;
    let (staff, head) = (house.staff(), house.head().await);
    let form = [("content-type", "application/x-www-form-urlencoded")];
    let move_at = "/s/shop/items/layer/move";
    let large = format!("key={KEY}&place={}", "x".repeat(1 << 20));
    for (answer, status) in [
        (staff.send("GET", "/s/shop/?said=move&said=move", &[], Body::empty()).await, 400),
        (staff.send("POST", move_at, &[("content-type", "text/csv")], "key,place").await, 415),
        (staff.send("POST", move_at, &form, large).await, 413),
    ] {
        assert_eq!(answer.status, status, "{}", answer.text());
        assert!(answer.header("content-type").starts_with("text/html"), "{}", answer.header("content-type"));
        assert!(text(&answer, "main").contains("Nothing was recorded."));
    }
    assert_eq!(house.head().await, head);
    house.agrees().await;
}

async fn the_board_shows_the_most_urgent_and_says_how_many_more(house: House) {
    house.set_up().await;
    let items: Vec<Value> = (0..125)
        .map(|n| json!({"kind": "item", "product": "cake", "name": format!("Cake {n}"), "place": "fridge"}))
        .chain([json!({"kind": "item", "product": "cake", "item": "warm", "name": "Warm", "place": "bench"})])
        .collect();
    house.manager().post(&json!(items)).await.ok();
    let board = page(&house.staff(), "").await;
    let rows = all(&board, ".row", "id");
    assert_eq!((rows.len(), rows[0].as_str()), (120, "i-warm"));
    assert!(text(&board, "main").contains("Show the other 6"));
    assert!(text(&board, ".counts").contains("1 out, 125 cold, 0 frozen"));
    assert_eq!(all(&page(&house.staff(), "?all=1").await, ".row", "id").len(), 126);
}
