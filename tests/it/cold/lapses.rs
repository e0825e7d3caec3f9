//! Lapses that nobody has written, in the list of decisions and as time alone brings them: each appears, and goes by an
//! entry alone.
//!
//! Guards against S-06 of SAFETY.md.

use crate::kit::actor::{Actor, Bearer};
use crate::kit::browser::Browser;
use crate::kit::house::{House, t};
use crate::kit::listen::{Listening, listen};
use counterclock::ledger::Id;
use serde_json::{Value, json};

both!(
    too_warm_until_a_lapse_covers_it,
    too_warm_and_dismissed,
    silent_until_a_lapse_covers_it,
    silent_and_dismissed,
    figures_of_a_place_s_own,
    corrected_readings_are_read_again,
    what_a_probe_catches_up_on_is_nobody_s_lateness,
    time_alone_brings_it,
);

postgres!(what_another_server_wrote);

const PATH: &str = "/s/shop/decisions";

async fn shop(house: &House) -> Browser {
    house.set_up().await;
    let browser = Browser::new(house);
    browser.submit("/sign-in", &[("token", &house.role("manager").1)]).await.goes("./");
    browser
}

async fn read(house: &House, at: &str, place: &str, value: &str) {
    house.set(at);
    house.write(json!({"kind": "reading", "place": place, "value": value, "unit": "C"})).await;
}

/// What the lines of that code say, without the title.
async fn lines(browser: &Browser, code: &str) -> Vec<String> {
    let page = browser.open(PATH).await;
    assert_eq!(page.status(), 200, "{}", page.0.text());
    page.texts(&format!("li.m-{code} .of"))
}

async fn decide(browser: &Browser, code: &str, action: &str) -> String {
    let page = browser.open(PATH).await;
    let of = page.attributes(&format!("li.m-{code} input[name=of]"), "value").pop().expect("a form");
    let sent = [("code", code), ("action", action), ("reason", "Spoken about."), ("of", of.as_str())];
    browser.submit(PATH, &sent).await.goes("../../s/shop/decisions?said=done");
    of
}

async fn last(house: &House) -> Value {
    house.tail().await.pop().expect("an entry")
}

async fn too_warm_until_a_lapse_covers_it(house: House) {
    let manager = shop(&house).await;
    read(&house, "12:00:00.007", "fridge", "4.0").await;
    read(&house, "12:15", "fridge", "9.5").await;
    house.set("12:44:59.999");
    assert_eq!(lines(&manager, "air-above").await, [""; 0]);
    house.set("12:45");
    // The shop's clock is an hour ahead of UTC.
    let [said] = &lines(&manager, "air-above").await[..] else { panic!("one line") };
    assert!(said.contains("fridge: above 5.0 °C since 13:15, up to 9.5 °C. Last known to be cold: 13:00."), "{said}");
    // It is listed, and nothing is written; nor does a decision about something else of the place, or none by name.
    house
        .write(json!({"kind": "decide", "about": "fridge", "action": "dismiss", "reason": "Of something else."}))
        .await;
    house.restart().await;
    assert_eq!(lines(&manager, "air-above").await.len(), 1);
    house.set("13:00");
    house.write(json!({"kind": "lapse", "place": "fridge", "at": t("12:00:00.007")})).await;
    assert_eq!(lines(&manager, "air-above").await, [""; 0]);
    // Cold again, by one touch: what is left is shorter than the grace.
    house.set("13:30");
    house.write(json!({"kind": "restore", "place": "fridge"})).await;
    read(&house, "13:50", "fridge", "4.0").await;
    assert_eq!(lines(&manager, "air-above").await, [""; 0]);
    // The lapse is struck out: it is proposed again, with its end.
    let seq = house.tail().await.iter().find(|e| e["kind"] == "lapse").expect("a lapse")["seq"].clone();
    let restore = house.tail().await.iter().find(|e| e["kind"] == "restore").expect("its end")["seq"].clone();
    let void = |entry: &Value| json!({"kind": "correct", "entry": entry, "void": true, "reason": "The wrong fridge."});
    house.write(json!([void(&restore), void(&seq)])).await;
    let said = lines(&manager, "air-above").await.join(" ");
    assert!(said.contains("Known to be cold 13:00; no lapse is written from then to 14:50."), "{said}");
    let whole = json!({"kind": "lapse", "place": "fridge", "at": t("12:00:00.007"), "until": t("13:50")});
    house.write(whole).await;
    assert_eq!(lines(&manager, "air-above").await, [""; 0]);
    house.agrees().await;
}

async fn too_warm_and_dismissed(house: House) {
    let manager = shop(&house).await;
    read(&house, "12:00", "case", "4.0").await;
    read(&house, "12:10", "case", "6.0").await;
    read(&house, "13:00", "case", "4.0").await;
    assert_eq!(lines(&manager, "air-above").await.len(), 1);
    let page = manager.open(PATH).await;
    assert_eq!(page.attributes("li.m-air-above input[type=radio]", "value"), ["dismiss"]);
    let of = decide(&manager, "air-above", "dismiss").await;
    assert_eq!(of, format!("case {}", t("12:00")));
    let written = last(&house).await;
    assert_eq!((&written["about"], &written["note"]), (&json!("case"), &json!(format!("air-above {}", t("12:00")))));
    assert_eq!(lines(&manager, "air-above").await, [""; 0]);
    // What happens again is listed again; days later the first is still decided.
    read(&house, "13:10", "case", "6.0").await;
    read(&house, "13:40", "case", "4.0").await;
    assert_eq!(lines(&manager, "air-above").await.len(), 1);
    house.set("13 13:00");
    house.restart().await;
    assert_eq!(lines(&manager, "air-above").await.len(), 1);
}

async fn corrected_readings_are_read_again(house: House) {
    let manager = shop(&house).await;
    read(&house, "12:00", "fridge", "4.0").await;
    read(&house, "12:15", "fridge", "9.5").await;
    let seq = house.head().await;
    house.set("12:50");
    assert_eq!(lines(&manager, "air-above").await.len(), 1);
    let correct = async |change: Value| {
        let mut entry = json!({"kind": "correct", "entry": seq, "reason": "Misread."});
        entry.as_object_mut().expect("an object").extend(change.as_object().expect("members").clone());
        house.write(entry).await;
        lines(&manager, "air-above").await.join(" ")
    };
    assert_eq!(correct(json!({"set": {"value": "4.5"}})).await, "");
    let said = correct(json!({"set": {"value": "8.0", "at": t("12:20")}})).await;
    assert!(said.contains("since 13:20, up to 8.0 °C"), "{said}");
    assert_eq!(correct(json!({"set": {"place": "bench"}})).await, "", "it was read elsewhere");
    let said = correct(json!({"set": {"place": "case"}})).await;
    assert!(said.contains("case: above 5.0 °C since 13:15"), "{said}");
    house.restart().await;
    assert_eq!(lines(&manager, "air-above").await.join(" "), said);
    assert!(correct(json!({"set": {}})).await.contains("since 13:15, up to 9.5 °C"));
    assert_eq!(correct(json!({"void": true})).await, "");
    house.restart().await;
    assert_eq!(lines(&manager, "air-above").await, [""; 0]);
}

async fn what_another_server_wrote(house: House) {
    let manager = shop(&house).await;
    let twin = house.twin().await;
    read(&house, "12:00", "fridge", "4.0").await;
    assert_eq!(lines(&manager, "air-above").await, [""; 0]);
    read(&twin, "12:15", "fridge", "9.5").await;
    let seq = twin.head().await;
    house.set("12:50");
    assert_eq!(lines(&manager, "air-above").await.len(), 1);
    twin.write(json!({"kind": "correct", "entry": seq, "void": true, "reason": "Misread."})).await;
    assert_eq!(lines(&manager, "air-above").await, [""; 0]);
}

/// A probe that measures the walk-in, made at noon.
async fn probe(house: &House) -> Bearer {
    let place = Id::new("walk-in").expect("an id");
    Bearer(house.clone(), house.service().add_probe("shop", "T1", &[place]).await.expect("a token"))
}

async fn what_a_probe_catches_up_on_is_nobody_s_lateness(house: House) {
    let manager = shop(&house).await;
    let probe = probe(&house).await;
    house.set("18:00");
    let air = |n: i32| json!({"kind": "reading", "place": "walk-in", "value": "4.0", "unit": "C", "at": t(&format!("12:{:02}", n * 5))});
    probe.post(&json!((0..12).map(air).collect::<Vec<_>>())).await.ok();
    for code in ["late", "burst"] {
        assert_eq!(lines(&manager, code).await, [""; 0], "{code}");
    }
    // What a person reads late is late; and only that is a matter of the day's.
    house
        .staff()
        .post(&json!({"kind": "reading", "place": "case", "value": "4.0", "unit": "C", "at": t("15:00")}))
        .await
        .ok();
    let said = lines(&manager, "late").await.join(" ");
    assert!(said.contains("case: entered 3 h 00 min late, 19:00, by staff"), "{said}");
    let day = manager.open("/s/shop/review?on=2026-05-04").await.text("main");
    assert!(day.contains("case: "), "{day}");
    assert!(!day.contains("walk-in: "), "{day}");
}

async fn silent_until_a_lapse_covers_it(house: House) {
    let manager = shop(&house).await;
    probe(&house).await;
    read(&house, "12:20", "walk-in", "4.0").await;
    house.set("13:19:59.999");
    assert_eq!(lines(&manager, "air-silent").await, [""; 0]);
    house.set("13:20");
    let said = lines(&manager, "air-silent").await.join(" ");
    assert!(said.contains("walk-in: its probe has said nothing since 13:20. Last known to be cold: 13:20."), "{said}");
    read(&house, "14:00", "walk-in", "4.0").await;
    let said = lines(&manager, "air-silent").await.join(" ");
    assert!(said.contains("Known to be cold 13:20; no lapse is written from then to 15:00."), "{said}");
    let lapse = json!({"kind": "lapse", "place": "walk-in", "at": t("12:20"), "until": t("14:00")});
    house.write(lapse).await;
    assert_eq!(lines(&manager, "air-silent").await, [""; 0]);
}

async fn silent_and_dismissed(house: House) {
    let manager = shop(&house).await;
    probe(&house).await;
    // It never said anything; nor does it once it is revoked.
    house.set("13:00");
    assert_eq!(lines(&manager, "air-silent").await.len(), 1);
    house.base().aside().await.must("update token set revoked_at = created_at + 3600000 where name = 'T1'").await;
    house.set("18:00");
    assert_eq!(lines(&manager, "air-silent").await.len(), 1);
    decide(&manager, "air-silent", "dismiss").await;
    assert_eq!(lines(&manager, "air-silent").await, [""; 0]);
    // Where none is tied, only the day's line asks for a reading.
    house.set("1 12:30");
    assert_eq!(lines(&manager, "air-silent").await, [""; 0]);
    assert_eq!(lines(&manager, "no-reading").await.len(), 1);
}

async fn figures_of_a_place_s_own(house: House) {
    let manager = shop(&house).await;
    read(&house, "12:00", "freezer", "-18.0").await;
    read(&house, "12:10", "freezer", "-15.0").await;
    read(&house, "12:50", "freezer", "-14.9").await;
    house.set("13:19");
    assert_eq!(lines(&manager, "air-above").await, [""; 0]);
    let own = "insert into watch (site, place, limit_tenths, limit_unit, grace_minutes, silent_minutes)
        values ('shop', 'freezer', -4, 'F', 10, 60)";
    house.base().aside().await.must(own).await;
    // −15.0 °C is 5.0 °F: above −0.4 °F, which is −18.0 °C exactly.
    let said = lines(&manager, "air-above").await.join(" ");
    assert!(said.contains("freezer: above -0.4 °F (-18.0 °C) since 13:10, up to -14.9 °C."), "{said}");
}

async fn time_alone_brings_it(house: House) {
    house.set_up().await;
    probe(&house).await;
    house.service().follow_all();
    let mut stream: Listening = listen(&house.staff(), "", None).await;
    let item =
        |id: &str, rule: &str| json!({"kind": "item", "item": id, "rules": [rule], "name": id, "place": "bench"});
    house.write(json!([item("cake", "us-time-4h"), item("tub", "keep-7d")])).await;
    read(&house, "12:01", "fridge", "4.0").await;
    read(&house, "12:05", "fridge", "7.0").await;
    let table = async || {
        let text = "select subject || ' ' || threshold || case when done_at is null then '' else ' told' end from due where threshold not like '%-%-%' and threshold not like 'discard%'
            and threshold not like 'use%' order by at, subject";
        house.base().aside().await.ask(text).await
    };
    let becomes = async |wanted: &[&str]| {
        let begun = std::time::Instant::now();
        while table().await != wanted {
            assert!(begun.elapsed() < crate::kit::listen::WAIT, "{:?} is not {wanted:?}", table().await);
            tokio::time::sleep(std::time::Duration::from_millis(5)).await;
        }
    };
    becomes(&["cake unmarked", "fridge air-above", "walk-in air-silent"]).await;
    for (at, due) in [
        ("12:14:59.999", None),
        ("12:15", Some("cake unmarked 12:15")),
        ("12:34:59.999", None),
        ("12:35", Some("fridge air-above 12:35")),
        ("13:00", Some("walk-in air-silent 13:00")),
    ] {
        house.set(at);
        // What would come too early would come before the next that is waited for.
        if let Some(due) = due {
            assert_eq!(stream.due().await, due);
        }
    }
    becomes(&["walk-in air-silent told"]).await;
    // Read as cold enough, marked, heard: nothing comes any more.
    house.set("13:10");
    house.write(item("pie", "us-time-4h")).await;
    house.write(json!({"kind": "mark", "item": "pie", "discard_by": t("17:00"), "how": "written", "copy": 1})).await;
    read(&house, "13:10", "fridge", "4.0").await;
    read(&house, "13:10:01", "walk-in", "4.0").await;
    becomes(&["walk-in air-silent"]).await;
    read(&house, "13:20", "walk-in", "4.5").await;
    house.set("13:40");
    house.write(item("pot", "us-time-4h")).await;
    becomes(&["pot unmarked", "walk-in air-silent"]).await;
    house.set("13:55");
    assert_eq!(stream.due().await, "pot unmarked 13:55");
    house.set("14:20");
    assert_eq!(stream.due().await, "walk-in air-silent 14:20");
}
