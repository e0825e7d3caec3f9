//! Notices: written with what they are about, once for each receiver, held in quiet hours, and refused where they can't go.
//!
//! Guards against S-35, S-61 of SAFETY.md.

use crate::kit::browser::{Browser, Page};
use crate::kit::house::{House, instant, t};
use counterclock::clock::Zone;
use counterclock::notice::hook::Hooks;
use counterclock::notice::worker::Senders;
use counterclock::notice::{GIVEN_UP_MS, after_quiet, again};
use serde_json::json;
use std::sync::Arc;

both!(
    what_time_brings_is_posted_once,
    a_failed_fridge_is_posted_with_its_entry,
    receivers_are_added_and_ended,
    what_cannot_be_a_receiver,
);

/// A manager of a shop whose notices may go to one host of a private network.
async fn office(house: &House) -> Browser {
    house.set_up().await;
    let hooks = Hooks::new(vec![String::from("hooks.inside")]).expect("a client");
    house.service().set_senders(Arc::new(Senders { mail: None, hooks }));
    let browser = Browser::new(house);
    browser.put("counterclock", &house.manager().1);
    browser
}

async fn add(browser: &Browser, name: &str, more: &[(&str, &str)]) -> Page {
    let mut fields = vec![("name", name), ("way", "webhook"), ("address", "https://hooks.example/in")];
    fields.extend_from_slice(more);
    browser.submit("/s/shop/notices", &fields).await
}

/// What was posted: the last lines of the page.
async fn posted(browser: &Browser) -> Vec<String> {
    browser.open("/s/shop/notices").await.texts("section:last-of-type li")
}

async fn what_time_brings_is_posted_once(house: House) {
    let browser = office(&house).await;
    assert_eq!(add(&browser, "Kitchen", &[("topic", "discard"), ("lead", "15")]).await.status(), 200);
    assert_eq!(add(&browser, "Owner", &[("topic", "discard"), ("lead", "0")]).await.status(), 200);
    let quiet = [("topic", "discard"), ("lead", "15"), ("quiet_from", "16:00"), ("quiet_to", "06:30")];
    assert_eq!(add(&browser, "Night", &quiet).await.status(), 200);
    house
        .write(json!({"kind": "item", "at": t("12:00"), "item": "tub", "rules": ["sum-2h-4h"], "name": "Tub", "place": "bench"}))
        .await;
    house.service().follow_all();
    // Two servers on one ledger: what is due is posted by one of them.
    let twin = house.twin().await;
    twin.service().follow_all();
    house.set("15:46");
    while posted(&browser).await.len() < 2 {
        tokio::task::yield_now().await;
    }
    house.set("16:00:01");
    while !posted(&browser).await.iter().any(|l| l.contains("to Owner")) {
        tokio::task::yield_now().await;
    }
    let lines = posted(&browser).await;
    let of = |name: &str| lines.iter().filter(|l| l.contains(&format!("to {name}"))).cloned().collect::<Vec<_>>();
    // Four hours added up (Food Standards Australia New Zealand): 16:00 UTC is 17:00 by the shop's clock.
    let soon = "Tub: Discard at Mon 4 May, 17:00";
    assert_eq!(of("Kitchen").iter().filter(|l| l.contains(soon)).count(), 1, "{lines:?}");
    assert!(of("Owner").iter().all(|l| !l.contains(soon)), "told at the limit alone: {lines:?}");
    assert!(of("Night").iter().all(|l| l.contains("waits until Tue 5 May, 06:30")), "{lines:?}");
    house.checks().await;
}

async fn a_failed_fridge_is_posted_with_its_entry(house: House) {
    let browser = office(&house).await;
    add(&browser, "Kitchen", &[("topic", "cold")]).await;
    add(&browser, "Owner", &[("topic", "discard")]).await;
    house
        .write(json!([
            {"kind": "item", "at": t("11:00"), "item": "tub", "rules": ["sum-2h-4h"], "name": "Tub", "place": "fridge"},
            {"kind": "lapse", "at": t("11:30"), "place": "fridge"},
        ]))
        .await;
    let lines = posted(&browser).await;
    assert_eq!(lines.len(), 1, "{lines:?}");
    assert!(lines[0].contains("to Kitchen: fridge: out of temperature control since Mon 4 May, 12:30"), "{lines:?}");
}

async fn receivers_are_added_and_ended(house: House) {
    let browser = office(&house).await;
    let page = add(&browser, "Kitchen", &[("topic", "cold"), ("topic", "closing"), ("closing", "18:30")]).await;
    // Without a mail server there is one way, and it is chosen.
    assert_eq!(page.attributes("input[name=way][disabled]", "value"), ["mail"]);
    assert_eq!(page.attributes("input[name=way][checked]", "value"), ["webhook"]);
    let secret = page.text("#the-secret");
    assert!(secret.starts_with("whsec_"), "{secret}");
    assert!(!browser.open("/s/shop/notices").await.0.text().contains(&secret), "it is shown once");
    let page = browser.open("/s/shop/notices").await;
    assert_eq!(page.texts("section.offer h3"), ["Kitchen"]);
    let action = |page: &Page, what: &str| {
        let all = page.attributes("section.offer form", "action");
        let one = all.into_iter().find(|a| a.ends_with(what)).expect("a form");
        format!("/s/shop/{}", one.split("s/shop/").last().expect("a path"))
    };
    let (attempt, end) = (action(&page, "try"), action(&page, "end"));
    let key = "f".repeat(32);
    for _ in 0..2 {
        assert_eq!(browser.submit(&attempt, &[("key", &key)]).await.status(), 303);
    }
    assert_eq!(posted(&browser).await.len(), 1, "the second touch sends no second try");
    assert_eq!(browser.submit(&end, &[]).await.status(), 303);
    assert_eq!(browser.submit(&end, &[]).await.status(), 404);
    let page = browser.open("/s/shop/notices").await;
    assert!(page.texts("section.offer").is_empty());
    assert!(posted(&browser).await[0].contains("given up: a manager ended it"), "{:?}", posted(&browser).await);
    let staff = Browser::new(&house);
    staff.put("counterclock", &house.staff().1);
    assert_eq!(staff.open("/s/shop/notices").await.status(), 403);
}

/// Guards against S-62.
async fn what_cannot_be_a_receiver(house: House) {
    let browser = office(&house).await;
    let long = "x".repeat(81);
    for (what, name, more) in [
        ("no topic", "a", vec![]),
        ("a long name", &*long, vec![("topic", "cold")]),
        ("mail without a server", "a", vec![("way", "mail"), ("topic", "cold")]),
        ("plain http", "a", vec![("topic", "cold"), ("address", "http://hooks.example/")]),
        ("a private network", "a", vec![("topic", "cold"), ("address", "https://192.168.0.7/")]),
        ("this machine", "a", vec![("topic", "cold"), ("address", "https://[::1]/")]),
        ("no address", "a", vec![("topic", "cold"), ("address", "nonsense")]),
        ("what a database does not keep", "a", vec![("topic", "cold"), ("address", "\0https://hooks.example/")]),
        ("half a quiet night", "a", vec![("topic", "cold"), ("quiet_from", "22:00")]),
        ("an hour that isn't", "a", vec![("topic", "cold"), ("quiet_from", "25:00"), ("quiet_to", "06:00")]),
        ("a day without an end", "a", vec![("topic", "closing")]),
        ("a lead that isn't", "a", vec![("topic", "cold"), ("lead", "-1")]),
    ] {
        let mut fields = vec![("name", name)];
        fields.extend(more);
        for (field, usual) in [("way", "webhook"), ("address", "https://hooks.example/")] {
            if !fields.iter().any(|(n, _)| *n == field) {
                fields.push((field, usual));
            }
        }
        let page = browser.submit("/s/shop/notices", &fields).await;
        assert_eq!((page.status(), page.texts("div.notice.bad").len()), (400, 1), "{what}");
    }
    let inside = [("topic", "cold"), ("address", "http://hooks.inside:9000/")];
    let fields: Vec<_> = [("name", "a"), ("way", "webhook")].into_iter().chain(inside).collect();
    assert_eq!(browser.submit("/s/shop/notices", &fields).await.status(), 200, "allowed by name");
    assert!(posted(&browser).await.is_empty());
}

#[test]
fn quiet_hours_end_by_the_wall() {
    let zone = Zone::named("Europe/London").expect("a zone");
    let quiet = Some((22 * 60, 6 * 60 + 30));
    for (now, sent) in [
        ("20:59:59.999", "20:59:59.999"),
        ("21:00", "+1 05:30"),
        ("23:59:59.999", "+1 05:30"),
        ("+1 05:29:59.999", "+1 05:30"),
        ("+1 05:30", "+1 05:30"),
        // The clocks go back in October, 26 Oct 2025 … 25 Oct 2026: the wall says half past six an hour later.
        ("2026-10-24T22:00:00Z", "2026-10-25T06:30:00Z"),
        ("2026-03-28T23:00:00Z", "2026-03-29T05:30:00Z"),
    ] {
        assert_eq!(after_quiet(quiet, zone, instant(now)), instant(sent), "{now}");
    }
    assert_eq!(after_quiet(Some((60, 60)), zone, instant("00:30")), instant("00:30"), "no hours at all");
    assert_eq!(after_quiet(None, zone, instant("00:30")), instant("00:30"));
}

#[test]
fn a_failure_is_tried_again_ever_later_and_not_for_ever() {
    let made = instant("12:00");
    let (mut now, mut waits, mut tries) = (made, Vec::new(), 0);
    while let Some(at) = {
        tries += 1;
        again(made, tries, now)
    } {
        waits.push(at.since(now) / 1000);
        now = at;
    }
    assert_eq!(waits[..8], [30, 60, 120, 240, 480, 960, 1800, 1800]);
    assert!(now.since(made) <= GIVEN_UP_MS && now.since(made) > GIVEN_UP_MS - 1_800_000, "{waits:?}");
}
