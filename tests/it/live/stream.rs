//! The stream of a shop: every entry once and in order, from where the listener was.
//!
//! Guards against S-36 of SAFETY.md.

use crate::kit::actor::{Actor, Anonymous};
use crate::kit::house::{House, t};
use crate::kit::listen::{listen, open};
use crate::people::{PASSWORD, add, office};
use counterclock::web::feed::LISTENERS;
use serde_json::{Value, json};
use std::time::Duration;

both!(
    every_entry_once_and_in_order,
    it_goes_on_over_a_stop,
    who_is_far_behind_reads_the_table,
    an_ended_sign_in_hears_no_more,
    too_many_are_told_so,
    what_cannot_be_is_refused,
);
postgres!(what_another_server_wrote);

fn item(n: usize) -> Value {
    json!({"kind": "item", "at": t("11:00"), "item": format!("i{n}"), "product": "cake", "name": "x", "place": "bench"})
}

async fn every_entry_once_and_in_order(house: House) {
    house.service().follow_all();
    house.set_up().await;
    let head = house.head().await;
    let mut new = listen(&house.role("inspector"), "", None).await;
    let mut old = listen(&house.staff(), "?after=0", None).await;
    for (name, value) in
        [("content-type", "text/event-stream"), ("cache-control", "no-store"), ("x-accel-buffering", "no")]
    {
        assert_eq!(new.headers[name], value);
    }
    assert!(!new.headers.contains_key("content-encoding"), "what is packed would wait for more");
    for n in 0..20 {
        house.write(item(n)).await;
    }
    // Whoever begins now is told at once where that is, and can go on from there.
    let all: Vec<u64> = (1..=head + 20).collect();
    assert_eq!(new.entries(20).await, all[head as usize..]);
    assert_eq!(old.entries(all.len()).await, all);
    // Each is what the ledger keeps, word for word.
    let tail = house.tail().await;
    let mut again = listen(&house.manager(), "?after=0", None).await;
    for entry in tail {
        assert_eq!(again.next().await.data, entry);
    }
}

async fn it_goes_on_over_a_stop(house: House) {
    house.service().follow_all();
    house.set_up().await;
    let head = house.head().await;
    let (mut seen, mut last) = (Vec::new(), String::new());
    for round in 0..4 {
        let mut stream = listen(&house.staff(), "", Some(last.as_str()).filter(|l| !l.is_empty())).await;
        if last.is_empty() {
            assert!(stream.more().await.expect("a greeting").is_empty());
            assert_eq!(stream.reader.last, head.to_string(), "nothing came yet, and still it is known how far it is");
        }
        for n in 0..5 {
            house.write(item(10 * round + n)).await;
        }
        seen.extend(stream.entries(if round % 2 == 0 { 3 } else { 7 }).await);
        last = stream.last.clone();
        drop(stream);
        // Written while nobody listens; the server stops and starts again.
        for n in 5..7 {
            house.write(item(10 * round + n)).await;
        }
        house.restart().await;
        house.service().follow_all();
    }
    let mut stream = listen(&house.staff(), "?after=1", Some(&last)).await;
    seen.extend(stream.entries(28 - seen.len()).await);
    assert_eq!(seen, (head + 1..=head + 28).collect::<Vec<u64>>());
}

async fn who_is_far_behind_reads_the_table(house: House) {
    house.service().follow_all();
    house.set_up().await;
    let head = house.head().await;
    let mut slow = listen(&house.staff(), "", None).await;
    // More than the feed keeps for those who are a little behind.
    for batch in 0..3 {
        let many: Vec<Value> = (0..500).map(|n| item(batch * 500 + n)).collect();
        house.manager().post(&json!(many)).await.ok();
    }
    assert_eq!(slow.entries(1_500).await, (head + 1..=head + 1_500).collect::<Vec<u64>>());
}

async fn an_ended_sign_in_hears_no_more(house: House) {
    house.service().set_beat(Duration::from_millis(20));
    let office = office(&house);
    add(&office, "Mia", "manager", "", PASSWORD).await;
    let laptop = crate::kit::browser::Browser::new(&house);
    laptop.submit("/sign-in", &[("name", "Mia"), ("password", PASSWORD)]).await.goes("./");
    let mut stream = listen(&laptop, "", None).await;
    while stream.reader.comments < 3 {
        stream.more().await.expect("it says that it is there");
    }
    laptop.submit("/sign-out", &[]).await;
    house.service().forget_who();
    stream.ends().await;
}

async fn too_many_are_told_so(house: House) {
    let staff = house.staff();
    let mut open_ones = Vec::new();
    for _ in 0..LISTENERS {
        open_ones.push(listen(&staff, "", None).await);
    }
    let answer = staff.get("stream").await.refused(503, "busy");
    assert!(!answer.header("retry-after").is_empty());
    assert_eq!(house.service().feed("shop").listening(), LISTENERS);
    open_ones.pop();
    listen(&staff, "", None).await;
    drop(open_ones);
    assert_eq!(house.service().feed("shop").listening(), 0);
}

async fn what_cannot_be_is_refused(house: House) {
    house.service().follow_all();
    for bad in ["-1", "x", "1.5", "99999999999999999999"] {
        house.staff().send("GET", "/s/shop/api/stream", &[("last-event-id", bad)], "").await.refused(400, "bad-query");
    }
    house.staff().get("stream?after=x").await.refused(400, "bad-query");
    house.role("probe").get("stream").await.refused(403, "not-allowed");
    Anonymous(house.clone()).get("stream").await.refused(401, "not-signed-in");
    assert_eq!(open(&house.staff(), "", Some("7")).await.map(|_| ()), Ok(()));
    // A number that the ledger hasn't reached, as after a backup was put back: on from now, not silence until then.
    let mut ahead = listen(&house.staff(), "", Some("1000")).await;
    let head = house.head().await;
    house.set_up().await;
    assert_eq!(ahead.entries(1).await, [head + 1]);
}

async fn what_another_server_wrote(house: House) {
    house.service().follow_all();
    house.set_up().await;
    let twin = house.twin().await;
    twin.service().follow_all();
    let head = house.head().await;
    let mut here = listen(&house.staff(), "", None).await;
    let mut there = listen(&twin.staff(), "", None).await;
    for n in 0..10 {
        if n % 2 == 0 { &house } else { &twin }.write(item(n)).await;
    }
    let all: Vec<u64> = (head + 1..=head + 10).collect();
    assert_eq!(here.entries(10).await, all);
    assert_eq!(there.entries(10).await, all);
}
