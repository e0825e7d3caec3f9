//! What time alone brings, with a clock that is set by hand.
//!
//! Guards against S-37 of SAFETY.md.

use crate::kit::house::{House, t};
use crate::kit::listen::{Listening, listen};
use counterclock::board::due::Threshold;
use serde_json::{Value, json};

both!(
    a_limit_and_the_time_before_it,
    put_back_in_time_it_is_quiet,
    over_a_stop_it_is_told_once,
    a_correction_moves_it,
    the_shop_says_how_long_before,
);
postgres!(two_servers_tell_their_own);

async fn begun(house: &House, id: &str) {
    let entry = json!({"kind": "item", "item": id, "rules": ["sum-2h-4h"], "name": id, "place": "bench"});
    house.write(entry).await;
}

async fn following(house: &House) -> Listening {
    house.service().follow_all();
    listen(&house.staff(), "", None).await
}

/// The table, as `subject threshold at done`.
async fn table(house: &House) -> Vec<String> {
    let mut aside = house.base().aside().await;
    let text = "select subject || ' ' || threshold || case when done_at is null then '' else ' told' end
        from due order by subject, at, threshold";
    aside.ask(text).await
}

/// Waits until the table is like that.
async fn becomes(house: &House, wanted: &[&str]) {
    let begun = std::time::Instant::now();
    loop {
        let found = table(house).await;
        if found == wanted {
            return;
        }
        assert!(begun.elapsed() < crate::kit::listen::WAIT, "{found:?} is not {wanted:?}");
        tokio::time::sleep(std::time::Duration::from_millis(5)).await;
    }
}

async fn a_limit_and_the_time_before_it(house: House) {
    house.set_up().await;
    let mut stream = following(&house).await;
    begun(&house, "tub").await;
    becomes(&house, &["tub use-15", "tub use-5", "tub use-0", "tub discard-15", "tub discard-5", "tub discard-0"])
        .await;
    // Four hours in a second: each at its time, and none before.
    for (at, due) in [
        ("13:44:59", None),
        ("13:45", Some("tub use-15 13:45")),
        ("13:55", Some("tub use-5 13:55")),
        ("13:59:59.999", None),
        ("14:00", Some("tub use-0 14:00")),
        ("15:44:59.999", None),
        ("15:45", Some("tub discard-15 15:45")),
        ("15:55", Some("tub discard-5 15:55")),
        ("16:00", Some("tub discard-0 16:00")),
    ] {
        house.set(at);
        // What would come too early would come before the next that is waited for.
        if let Some(due) = due {
            assert_eq!(stream.due().await, due);
        }
    }
    becomes(&house, &["tub discard-0 told"]).await;
    house.set("23:00");
    house.write(json!({"kind": "close", "item": "tub", "as": "discarded"})).await;
    becomes(&house, &[]).await;
}

async fn put_back_in_time_it_is_quiet(house: House) {
    house.set_up().await;
    let mut stream = following(&house).await;
    begun(&house, "tub").await;
    begun(&house, "other").await;
    house.set("13:45");
    assert_eq!(stream.due().await, "other use-15 13:45");
    assert_eq!(stream.due().await, "tub use-15 13:45");
    house.set("13:50");
    house.write(json!({"kind": "move", "item": "tub", "place": "fridge"})).await;
    // Of the one that is cold nothing more comes.
    house.set("13:55");
    assert_eq!(stream.due().await, "other use-5 13:55");
    house.set("14:00");
    assert_eq!(stream.due().await, "other use-0 14:00");
    becomes(&house, &["other use-0 told", "other discard-15", "other discard-5", "other discard-0"]).await;
    // Out again: ten minutes are left of its two hours, so the fifteen before have begun.
    house.set("15:00");
    house.write(json!({"kind": "move", "item": "tub", "place": "bench"})).await;
    assert_eq!(stream.due().await, "tub use-15 14:55");
    house.set("15:05");
    assert_eq!(stream.due().await, "tub use-5 15:05");
}

async fn over_a_stop_it_is_told_once(house: House) {
    house.set_up().await;
    let mut stream = following(&house).await;
    begun(&house, "tub").await;
    house.set("13:45");
    assert_eq!(stream.due().await, "tub use-15 13:45");
    house.restart().await;
    let mut stream = following(&house).await;
    house.set("13:55");
    assert_eq!(stream.due().await, "tub use-5 13:55");
    drop(stream);
    // What became due while nothing ran is told late rather than never.
    becomes(
        &house,
        &["tub use-15 told", "tub use-5 told", "tub use-0", "tub discard-15", "tub discard-5", "tub discard-0"],
    )
    .await;
    house.restart().await;
    house.set("14:10");
    let mut stream = following(&house).await;
    assert_eq!(stream.due().await, "tub use-0 14:00");
    // A time before a limit that is reached meanwhile says nothing any more.
    house.set("16:00");
    assert_eq!(stream.due().await, "tub discard-0 16:00");
}

async fn a_correction_moves_it(house: House) {
    house.set_up().await;
    let mut stream = following(&house).await;
    begun(&house, "tub").await;
    house.set("13:45");
    assert_eq!(stream.due().await, "tub use-15 13:45");
    // It had come out half an hour later: the fifteen minutes before begin anew.
    let seq = house.head().await;
    house
        .write(
            json!({"kind": "correct", "entry": seq, "set": {"at": t("12:30")}, "reason": "read off the wrong clock"}),
        )
        .await;
    becomes(&house, &["tub use-15", "tub use-5", "tub use-0", "tub discard-15", "tub discard-5", "tub discard-0"])
        .await;
    house.set("14:15");
    assert_eq!(stream.due().await, "tub use-15 14:15");
}

async fn the_shop_says_how_long_before(house: House) {
    house.set_up().await;
    let mut stream = following(&house).await;
    begun(&house, "tub").await;
    house.base().aside().await.must("insert into lead_time (site, minutes) values ('shop', 30)").await;
    // Read again within a minute of the clock's.
    house.set("12:02");
    becomes(&house, &["tub use-30", "tub use-0", "tub discard-30", "tub discard-0"]).await;
    house.set("13:30");
    assert_eq!(stream.due().await, "tub use-30 13:30");
}

async fn two_servers_tell_their_own(house: House) {
    house.set_up().await;
    let twin = house.twin().await;
    let (mut here, mut there) = (following(&house).await, following(&twin).await);
    begun(&house, "tub").await;
    begun(&twin, "other").await;
    let both: Vec<String> = ["other", "tub"]
        .iter()
        .flat_map(|id| {
            ["use-15", "use-5", "use-0", "discard-15", "discard-5", "discard-0"].map(|due| format!("{id} {due}"))
        })
        .collect();
    becomes(&house, &both.iter().map(String::as_str).collect::<Vec<_>>()).await;
    house.set("13:45");
    for stream in [&mut here, &mut there] {
        assert_eq!(stream.due().await, "other use-15 13:45");
        assert_eq!(stream.due().await, "tub use-15 13:45");
    }
}

#[test]
fn a_threshold_is_read_as_it_is_written() {
    for text in ["discard-0", "use-15", "return-240"] {
        assert_eq!(Threshold::read(text).map(|t| t.to_string()).as_deref(), Some(text));
    }
    let not: Vec<Value> =
        vec![json!("discard"), json!("discard-"), json!("discard--1"), json!("discard-241"), json!("gone-5")];
    assert!(not.iter().all(|t| Threshold::read(t.as_str().expect("a text")).is_none()));
}
