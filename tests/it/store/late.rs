//! What comes late: entries, corrections, lapses and restores that lie before what was made from an item, three
//! generations deep, in open items and closed ones, remembered by the process or not.

use crate::kit::actor::Actor;
use crate::kit::house::{House, instant, t};
use serde_json::{Value, json};

both!(
    long_after,
    long_after_by_another_process,
    soon_after,
    soon_after_by_another_process,
    a_correction_that_names_what_was_forgotten,
    readings_and_decisions_that_name_what_was_forgotten,
    the_clock_crosses_a_restart,
    air_of_long_ago
);

/// Five generations in time: `tub` into `cream` into `cake` into `slice`, and `tub` into `bun` beside them.
const CHAIN: [(&str, &str, &[&str]); 5] = [
    ("tub", "06:00", &[]),
    ("cream", "07:00", &["tub"]),
    ("bun", "07:30", &["tub"]),
    ("cake", "08:00", &["cream"]),
    ("slice", "09:00", &["cake"]),
];

/// Which of them are closed by then, and when.
const CLOSED: [&[(&str, &str)]; 3] = [
    &[],
    &[("slice", "09:25"), ("bun", "09:20")],
    &[("tub", "09:15"), ("cream", "09:16"), ("bun", "09:17"), ("cake", "09:18"), ("slice", "09:19")],
];

/// What comes late, and the code it is refused with, if it is. `$` stands for the chain's letter; `seq` counts from
/// the chain's first entry.
fn late(event: usize, letter: &str, first: u64, on: &dyn Fn(&str) -> String) -> Option<(Value, Option<&'static str>)> {
    let id = |name: &str| format!("{letter}{name}");
    let moved =
        |name: &str, at: &str, place: &str| json!({"kind": "move", "at": on(at), "item": id(name), "place": place});
    let set = |n: u64, set: Value| json!({"kind": "correct", "entry": first + n, "set": set, "reason": "r"});
    let void = |n: u64| json!({"kind": "correct", "entry": first + n, "void": true, "reason": "r"});
    Some(match event {
        // Only `tub` is named; everything below it changes.
        0 => (json!([moved("tub", "06:10", "bench"), moved("tub", "06:40", "fridge")]), None),
        1 => (json!({"kind": "reading", "at": on("06:30"), "item": id("tub"), "value": "75.0", "unit": "F"}), None),
        2 => (json!({"kind": "lapse", "at": on("06:10"), "place": "fridge", "until": on("06:31")}), None),
        3 => (
            json!([{"kind": "lapse", "at": on("07:10"), "place": "fridge"}, {"kind": "restore", "at": on("07:20"), "place": "fridge"}]),
            None,
        ),
        4 => (
            json!([{"kind": "item", "at": on("05:00"), "item": id("old"), "product": "mousse", "name": "Old", "place": "bench"},
                {"kind": "join", "at": on("06:45"), "item": id("tub"), "from": [id("old")]}]),
            None,
        ),
        5 => (set(0, json!({"at": on("05:10"), "place": "bench"})), None),
        6 => (set(0, json!({"at": on("05:10"), "place": "shelf"})), None),
        7 => (set(1, json!({"from": null})), None),
        8 => (void(3), Some("upsets-another")),
        9 => (set(3, json!({"at": on("08:30"), "from": [id("cream"), id("bun")]})), None),
        // The last of `tub`'s own entries, and yet before all that was made from it.
        10 => (moved("tub", "06:50", "bench"), None),
        11 => (json!({"kind": "close", "at": on("06:59"), "item": id("tub"), "as": "used"}), Some("upsets-another")),
        12 => (set(0, json!({"at": on("07:15")})), Some("upsets-another")),
        13 => (json!({"kind": "reading", "at": on("06:00"), "place": "bench", "value": "80.0", "unit": "F"}), None),
        14 => (
            json!([moved("cake", "08:10", "bench"), {"kind": "mark", "at": on("08:20"), "item": id("cake"),
            "discard_by": on("12:00"), "how": "printed", "copy": 1}, moved("cake", "08:40", "fridge")]),
            None,
        ),
        15 => (
            json!({"kind": "correct", "entry": 13, "set": {"rules": ["two-hour"], "chill_ms": 60_000}, "reason": "r"}),
            None,
        ),
        16 => (json!({"kind": "close", "at": on("08:59"), "item": id("cake"), "as": "used"}), Some("upsets-another")),
        _ => return None,
    })
}

/// Each event on a day of its own, with a chain of each kind.
async fn run(house: House, clock: &str, restart: bool) {
    house.set_up().await;
    for event in 0.. {
        let day = event + 1;
        let on = |at: &str| t(&format!("+{day} {at}"));
        if late(event, "a", 0, &on).is_none() {
            break;
        }
        house.set(&format!("+{day} 09:26"));
        let mut firsts = Vec::new();
        for (letter, closed) in ["a", "b", "c"].iter().zip(CLOSED) {
            let letter = format!("{letter}{day}-");
            let mut entries: Vec<Value> = CHAIN
                .iter()
                .map(|(name, at, from)| {
                    let from: Vec<String> = from.iter().map(|f| format!("{letter}{f}")).collect();
                    let product = if *name == "bun" { "mousse" } else { "cake" };
                    let mut e = json!({"kind": "item", "at": on(at), "item": format!("{letter}{name}"), "name": name,
                        "product": product, "place": "fridge"});
                    if !from.is_empty() {
                        e["from"] = json!(from);
                    }
                    e
                })
                .collect();
            // Out and back at the end, so that what is inherited meets what is its own.
            for (at, place) in [("09:05", "bench"), ("09:12", "fridge")] {
                entries.push(json!({"kind": "move", "at": on(at), "item": format!("{letter}slice"), "place": place}));
            }
            for (name, at) in closed {
                entries.push(json!({"kind": "close", "at": on(at), "item": format!("{letter}{name}"), "as": "used"}));
            }
            let written = house.write(json!(entries)).await;
            firsts.push((letter, written["entries"][0]["seq"].as_u64().expect("a seq")));
        }
        house.set(&format!("+{day} {clock}"));
        if restart {
            house.restart().await;
        }
        for (n, (letter, first)) in firsts.iter().enumerate() {
            let (entries, refusal) = late(event, letter, *first, &on).expect("it is there");
            let answer = house.manager().post(&entries).await;
            // A place's cold and the set-up are everybody's: the second time it may well be refused.
            let shared = n > 0 && [2, 3, 15].contains(&event);
            match refusal {
                Some(code) => {
                    assert_eq!(answer.code(), code, "event {event}, chain {n}: {}", answer.text());
                    assert_eq!(answer.json()["status"], 409);
                }
                None => assert!(shared || answer.status == 201, "event {event}, chain {n}: {}", answer.text()),
            }
            let broken = house.broken().await;
            assert!(broken.is_empty(), "after event {event}, chain {n}: {broken:?}");
        }
    }
    house.agrees().await;
}

async fn long_after(house: House) {
    run(house, "14:00", false).await;
}

async fn long_after_by_another_process(house: House) {
    run(house, "14:00", true).await;
}

async fn soon_after(house: House) {
    run(house, "09:27", false).await;
}

/// The closed ones closed minutes ago, by a process that is gone.
async fn soon_after_by_another_process(house: House) {
    run(house, "09:27", true).await;
    // Within half an hour nothing counts as late: it is remembered, or it must be.
}

/// A correction may bring in a parent that closed long ago, or bring back one that an earlier correction took out.
async fn a_correction_that_names_what_was_forgotten(house: House) {
    house.set_up().await;
    let item = |id: &str, at: &str, from: &[&str]| {
        let mut e = json!({"kind": "item", "at": t(at), "item": id, "product": "cake", "name": id, "place": "bench"});
        if !from.is_empty() {
            e["from"] = json!(from);
        }
        e
    };
    let close = |id: &str, at: &str| json!({"kind": "close", "at": t(at), "item": id, "as": "used"});
    house
        .write(json!([
            item("one", "05:00", &[]),
            item("two", "05:30", &["one"]),
            item("three", "06:00", &[]),
            item("cake", "07:00", &["three"]),
            close("one", "07:10"),
            close("two", "07:10"),
            close("three", "07:10")
        ]))
        .await;
    let cake = house.staff().get("items/cake").await.ok().json()["entries"][0]["seq"].clone();
    let set = |set: Value| json!({"kind": "correct", "entry": cake, "set": set, "reason": "r"});
    for next in
        [json!({"from": ["two"]}), json!({"from": null}), json!({}), json!({"from": ["one", "three"]}), json!({})]
    {
        house.restart().await;
        house.write(set(next.clone())).await;
        let broken = house.broken().await;
        assert!(broken.is_empty(), "{next}: {broken:?}");
    }
    let decide = json!({"kind": "decide", "about": "two", "action": "keep", "reason": "r"});
    house.restart().await;
    let seq = house.write(decide).await["entries"][0]["seq"].clone();
    house.restart().await;
    house.write(json!({"kind": "correct", "entry": seq, "set": {"about": "one"}, "reason": "r"})).await;
    house.restart().await;
    house.staff().post(&json!({"kind": "correct", "entry": seq, "void": true, "reason": "r"})).await.ok();
    house.agrees().await;
}

/// What was closed long ago is no longer in memory; it is known all the same, and comes along into the record.
async fn readings_and_decisions_that_name_what_was_forgotten(house: House) {
    house.set_up().await;
    let item = |id: &str, at: &str| json!({"kind": "item", "at": t(at), "item": id, "product": "cake", "name": id, "place": "fridge"});
    let close = |id: &str| json!({"kind": "close", "at": t("08:00"), "item": id, "as": "sold"});
    house.write(json!([item("old", "06:00"), item("older", "06:00"), close("old"), close("older")])).await;
    house.set("+20 12:00");
    house.write(item("cake", "+20 11:00")).await;
    let read = |probed: &str| json!({"kind": "reading", "at": t("+20 11:30"), "item": "cake", "probed": probed, "value": "4.0", "unit": "C"});
    let decide = |about: &str| json!({"kind": "decide", "about": about, "action": "keep", "reason": "r"});
    let correct = |entry: &Value, set: Value| json!({"kind": "correct", "entry": entry, "set": set, "reason": "r"});
    house.restart().await;
    house.staff().post(&read("nobody")).await.refused(409, "unknown-item");
    let reading = house.write(read("old")).await["entries"][0]["seq"].clone();
    house.restart().await;
    let decision = house.write(decide("cake")).await["entries"][0]["seq"].clone();
    for (entry, name) in [(&reading, "probed"), (&decision, "about")] {
        house.restart().await;
        house.staff().post(&correct(entry, json!({name: "nobody"}))).await.refused(409, "unknown-item");
        house.write(correct(entry, json!({name: "older"}))).await;
        house.restart().await;
        // What it named first is forgotten again, and named again.
        house.write(correct(entry, json!({"note": "as first written"}))).await;
        house.restart().await;
        house.write(correct(entry, json!({name: "older"}))).await;
    }
    house.staff().post(&correct(&decision, json!({"about": 9_999}))).await.refused(409, "unknown-entry");
    house.restart().await;
    // The stretch begins after those were gone; what is in it can be read by itself.
    let text = house.manager().get("record.jsonl").await.ok().text().to_owned();
    let lines: Vec<Value> = text.lines().map(|l| serde_json::from_str(l).expect("JSON")).collect();
    assert!(lines.iter().any(|l| l["kind"] == "decide"), "{text}");
    assert!(lines.iter().any(|l| l["item"] == "older"), "{text}");
    let standings = House::evaluate(&lines, house.now(), None);
    assert_eq!(house.standing("cake").await, standings["cake"]);
    let path = format!("items/cake?as_of={}", t("+20 11:45"));
    let then = house.manager().get(&path).await.ok().json()["standing"].clone();
    assert_eq!(then, House::evaluate(&house.tail().await, instant("+20 11:45"), None)["cake"]);
    house.agrees().await;
}

/// A device's clock ran ahead: what it wrote lies in the future when the process starts anew.
async fn the_clock_crosses_a_restart(house: House) {
    house.set_up().await;
    house
        .write(json!([
            {"kind": "item", "at": t("11:00"), "item": "cake", "product": "cake", "name": "C", "place": "bench"},
            {"kind": "close", "at": t("12:01:30"), "item": "cake", "as": "sold"},
            {"kind": "item", "at": t("12:01"), "item": "bun", "product": "cake", "name": "B", "place": "bench"},
            {"kind": "lapse", "at": t("12:01"), "place": "fridge"},
        ]))
        .await;
    for restart in [false, true] {
        if restart {
            house.restart().await;
        }
        house.set("12:00");
        let expected = House::evaluate(&house.tail().await, instant("12:00"), None);
        assert_eq!(house.standing("cake").await, expected["cake"], "restarted: {restart}");
        let open = house.list("open", 10).await;
        assert_eq!(open, vec![expected["cake"].clone()], "restarted: {restart}");
        assert_eq!(house.list("closed", 10).await, Vec::<Value>::new(), "restarted: {restart}");
    }
    house.set("12:02");
    house.agrees().await;
}

/// Readings of the air from before everything open aren't in memory; what needs them finds them all the same.
async fn air_of_long_ago(house: House) {
    house.set_up().await;
    let read =
        |at: &str, value: &str| json!({"kind": "reading", "at": at, "place": "bench", "value": value, "unit": "F"});
    let item = |id: &str, at: &str| json!({"kind": "item", "at": at, "item": id, "name": id, "place": "bench", "rules": ["banded-70f"]});
    house.set("09:00");
    for (at, value) in [("06:00", "68.0"), ("07:00", "75.0"), ("08:00", "68.0")] {
        house.write(read(&t(at), value)).await;
    }
    house
        .write(json!([item("old", &t("06:30")), {"kind": "close", "at": t("08:30"), "item": "old", "as": "sold"}]))
        .await;
    let first = house.head().await - 4;
    house.pass(3 * 24 * 3_600_000);
    house.restart().await;
    house.agrees().await;
    let here = |state: &str| json!({"kind": "reading", "place": "bench", "value": state, "unit": "F"});
    house.write(here("70.5")).await;
    house.write(item("new", &house.now().to_string())).await;
    house.pass(3_600_000);
    house.agrees().await;
    // Each of these needs what was read three days ago: a correction of it, a beginning entered late, an end put right.
    house.write(json!({"kind": "correct", "entry": first + 1, "set": {"value": "69.0"}, "reason": "misread"})).await;
    house.agrees().await;
    house.restart().await;
    house.write(item("late", &t("07:30"))).await;
    house.agrees().await;
    house.restart().await;
    house.write(json!({"kind": "correct", "entry": first, "set": {"at": t("06:10")}, "reason": "earlier"})).await;
    house.write(read(&t("07:10"), "77.0")).await;
    house.agrees().await;
}
