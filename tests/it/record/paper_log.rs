//! The demo's record against a paper log of the same days, entered by hand from the story and the rules.

use crate::kit::actor::Actor;
use crate::kit::house::House;
use counterclock::clock::{Instant, MINUTE_MS, Zone};
use counterclock::demo;
use std::collections::BTreeMap;

both!(the_record_says_what_the_paper_says);

const PAPER: &str = include_str!("paper_log.txt");

/// The demo's taps are up to 50 seconds before the minute that its story names.
const TAP_MS: i64 = 50_000;

/// Day and wall time as the paper has them; day 2 is the one that is read at 14:00.
fn at(text: &str, now: Instant) -> Instant {
    let (day, clock) = text.split_once(' ').unwrap_or_else(|| panic!("{text:?} is no day and time"));
    let (hour, minute) = clock.split_once(':').expect("a time");
    let n = |text: &str| text.parse::<i64>().expect("a number");
    now.plus(((n(day) - 2) * 24 * 60 + (n(hour) - 14) * 60 + n(minute)) * MINUTE_MS)
}

#[track_caller]
fn near(what: &str, shown: &str, paper: Instant) {
    let shown = Instant::parse(shown).unwrap_or_else(|| panic!("{what}: {shown:?} is no time"));
    let off = paper.since(shown);
    assert!((0..=TAP_MS).contains(&off), "{what}: {shown} on the record, {paper} on paper");
}

/// Minutes on the record against whole minutes on paper: each end was tapped within the minute before.
#[track_caller]
fn minutes(what: &str, ms: &str, paper: &str, ends: i64) {
    let (ms, paper): (i64, i64) = (ms.parse().expect("a number"), paper.parse().expect("a number"));
    assert!((ms - paper * MINUTE_MS).abs() <= ends * TAP_MS, "{what}: {ms} ms on the record, {paper} min on paper");
}

async fn the_record_says_what_the_paper_says(house: House) {
    let now = Instant::parse("2026-05-05T13:00:00Z").expect("a time");
    for (recorded_at, entry) in &demo::entries(now, Zone::named("Europe/London").expect("a zone"))[1..] {
        house.set(&recorded_at.to_string());
        house.manager().post(entry).await.ok();
    }
    house.set(&now.to_string());
    let table = house.role("inspector").get("record.csv?from=2026-05-03&to=2026-05-05").await.ok();
    let mut reader = csv::Reader::from_reader(table.bytes.as_slice());
    let rows: Vec<BTreeMap<String, String>> = reader.deserialize().map(|row| row.expect("a row")).collect();
    let mut of: Vec<&BTreeMap<String, String>> = Vec::new();
    let (mut items, mut n, mut sum_ms, mut total) = (0, 0, 0, String::new());
    for line in PAPER.lines().filter(|l| !l.is_empty() && !l.starts_with('#')).chain(["end | | | | 0"]) {
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        if let [item, ended, verdict, over, all] = cells[..] {
            assert_eq!(n, of.len(), "as many lines as before {item}");
            if let Some(row) = of.first() {
                minutes(&row["item"], &row["ms_in_all"], &total, 2 * n as i64);
                assert_eq!(sum_ms.to_string(), row["ms_in_all"], "{}", row["item"]);
            }
            of = rows.iter().filter(|r| r["item"] == item).collect();
            (n, sum_ms, total) = (0, 0, all.to_owned());
            let Some(row) = of.first() else { continue };
            items += 1;
            assert_eq!(row["verdict"], verdict, "{item}");
            match over {
                "" => assert_eq!(row["over_since"], "", "{item}"),
                // Where a sum reaches its limit is moved by every tap before.
                over => {
                    let off = at(over, now).since(Instant::parse(&row["over_since"]).expect("a time"));
                    assert!(off.abs() <= 4 * TAP_MS, "{item}: over since {}, {over} on paper", row["over_since"]);
                }
            }
            match ended.split_once(' ') {
                None => assert_eq!(row["ended"], "", "{item}"),
                Some((how, when)) => {
                    assert_eq!(row["ended"], how, "{item}");
                    near(item, &row["ended_at"], at(when, now));
                }
            }
            continue;
        }
        let [out, back, place, with, min, sum] = cells[..] else { panic!("{line:?} is no line") };
        let row = of.get(n).unwrap_or_else(|| panic!("{line:?} isn't on the record: {of:?}"));
        let what = format!("{} line {}", row["item"], n + 1);
        n += 1;
        near(&what, &row["out_at"], at(out, now));
        match back {
            "still" => assert_eq!(row["back_at"], "", "{what}"),
            back => near(&what, &row["back_at"], at(back, now)),
        }
        assert_eq!((row["place_out"].as_str(), row["inherited_from"].as_str()), (place, with), "{what}");
        minutes(&what, &row["ms_this_spell"], min, 1);
        sum_ms += row["ms_this_spell"].parse::<i64>().expect("a number");
        minutes(&what, &sum_ms.to_string(), sum, 2 * n as i64);
    }
    assert_eq!(items, 19);
}
