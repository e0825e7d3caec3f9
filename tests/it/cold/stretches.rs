//! Which lapses are proposed: worked examples, and every proposal against one that is made minute by minute.
//!
//! Guards against S-06 of SAFETY.md.

use crate::kit::ledger::{Ledger, instant, min, read, short};
use counterclock::board::cold::{Air, Cold, Reading, Series, Watch, Watched, Why, look};
use counterclock::clock::Instant;
use counterclock::ledger::{Control, Id, Temperature, Unit};
use proptest::prelude::*;
use serde_json::json;

fn fridge() -> Id {
    Id::new("fridge").expect("an id")
}

/// A shop that has had a fridge since midnight.
fn shop() -> Ledger {
    let site = json!({"kind": "site", "at": "-1 00:00", "name": "Anvil & Rye", "zone": "UTC", "units": "C"});
    let place =
        |id: &str, control: &str| json!({"kind": "place", "at": "00:00", "place": id, "name": id, "control": control});
    Ledger::empty().add(site).add(place("fridge", "cold")).add(place("freezer", "frozen")).add(place("bench", "none"))
}

fn all(ledger: &Ledger, watched: &Watched, now: &str) -> Vec<Cold> {
    let (state, _) = read(&ledger.lines).unwrap_or_else(|bad| panic!("line {}: {}", bad.line, bad.refusal));
    let places = state.places.keys().map(|id| (id.clone(), Series::of(&state, id))).collect();
    look(&state, &Air { head: state.head, places }, watched, instant(now))
}

/// What is proposed for the fridge: `above 10:00-11:45`, one that goes on `silent 10:00-`.
fn proposed(ledger: &Ledger, watched: &Watched, now: &str) -> Vec<String> {
    let cold = all(ledger, watched, now).into_iter().find(|c| c.place == fridge()).expect("the fridge");
    let time = |t: Instant| short(&t.to_string());
    let one = |p: &counterclock::board::cold::Proposal| {
        let why = if p.why == Why::Above { "above" } else { "silent" };
        format!("{why} {}-{}", time(p.from), p.until.map(time).unwrap_or_default())
    };
    cold.proposals.iter().map(one).collect()
}

fn tied(from: &str, to: Option<&str>) -> Watched {
    let tie = (instant(from), to.map(instant));
    Watched { tied: [(fridge(), vec![tie])].into(), ..Watched::default() }
}

#[test]
fn what_is_usual() {
    let of = |control| {
        let w = Watch::usual(control);
        (w.limit.tenths, w.limit.unit, w.grace_min, w.silent_min)
    };
    assert_eq!(of(Control::Cold), (50, Unit::C, 30, 60));
    assert_eq!(of(Control::Frozen), (-150, Unit::C, 30, 60));
    // 41 °F is 5.0 °C exactly (Food Code 3-501.16, read in states' adoptions): neither is warmer than the limit.
    let w = Watch::usual(Control::Cold);
    let good = |tenths, unit| w.good(Temperature { tenths, unit });
    assert!(good(50, Unit::C) && good(410, Unit::F) && !good(51, Unit::C) && !good(411, Unit::F));
    let fits = |grace_min, silent_min| Watch { grace_min, silent_min, ..w }.fits();
    assert!(fits(0, 5) && fits(240, 1_440) && !fits(-1, 60) && !fits(241, 60) && !fits(30, 4) && !fits(30, 1_441));
    let fits = |tenths, unit| Watch { limit: Temperature { tenths, unit }, ..w }.fits();
    assert!(fits(150, Unit::C) && fits(590, Unit::F) && !fits(151, Unit::C) && !fits(591, Unit::F));
    assert!(fits(-600, Unit::C) && !fits(-601, Unit::C));
}

#[test]
fn from_the_last_good_reading_to_the_first_one_after() {
    let none = Watched::default();
    let warm = shop().air("fridge", "10:00", "4.0 C").air("fridge", "10:15", "5.1 C").air("fridge", "10:30", "9.0 C");
    assert_eq!(proposed(&warm, &none, "10:44:59.999"), [""; 0]);
    assert_eq!(proposed(&warm, &none, "10:45"), ["above 10:00-"]);
    let good = warm.clone().air("fridge", "11:45", "41.0 F");
    assert_eq!(proposed(&good, &none, "11:44"), ["above 10:00-"]);
    assert_eq!(proposed(&good, &none, "11:45"), ["above 10:00-11:45"]);
    assert_eq!(proposed(&good, &none, "+13 11:45"), ["above 10:00-11:45"]);
    // Further back is not looked at, unless it goes on.
    assert_eq!(proposed(&good, &none, "+14 11:45:00.001"), [""; 0]);
    assert_eq!(proposed(&warm, &none, "+20 00:00"), ["above 10:00-"]);
    // A door that stood open.
    let door = warm.air("fridge", "10:44:59.999", "5.0 C");
    assert_eq!(proposed(&door, &none, "20:00"), [""; 0]);
    // Never read as cold enough: from when the place was there.
    let never = shop().air("fridge", "10:15", "8.0 C");
    assert_eq!(proposed(&never, &none, "10:45"), ["above 00:00-"]);
    let [bench, freezer, fridge] =
        ["bench", "freezer", "fridge"].map(|p| all(&never, &none, "12:00").into_iter().find(|c| c.place.as_str() == p));
    assert!(bench.is_none() && freezer.expect("it is watched").last.is_none());
    let fridge = fridge.expect("it is watched");
    assert_eq!((fridge.above_since, fridge.last_good), (Some(instant("10:15")), None));
}

#[test]
fn what_lapses_leave_is_proposed() {
    let none = Watched::default();
    let warm = shop().air("fridge", "10:00", "4.0 C").air("fridge", "10:15", "8.0 C").air("fridge", "11:45", "4.0 C");
    let with = |from: &str, to: &str| proposed(&warm.clone().lapsed("fridge", from, to), &none, "12:00");
    assert_eq!(with("10:00", "11:45"), [""; 0]);
    assert_eq!(with("09:00", "11:50"), [""; 0]);
    // Shorter than the grace: whoever wrote it cut it to the minute, or ended it as the air came down.
    assert_eq!(with("10:29:59.999", "11:15:00.001"), [""; 0]);
    assert_eq!(with("10:30", "11:45"), ["above 10:00-10:30"]);
    assert_eq!(with("10:00", "11:15"), ["above 11:15-11:45"]);
    assert_eq!(with("10:30", "11:00"), ["above 10:00-10:30", "above 11:00-11:45"]);
    assert_eq!(with("08:00", "09:00"), ["above 10:00-11:45"]);
    // An open one covers what is yet to come; ended while it is still warm, that is another matter after the grace.
    let warm = shop().air("fridge", "10:00", "4.0 C").air("fridge", "10:15", "8.0 C");
    let open = warm.lapse("fridge", "10:00");
    assert_eq!(proposed(&open, &none, "10:00"), [""; 0]);
    assert_eq!(proposed(&open, &none, "20:00"), [""; 0]);
    let ended = open.restore("fridge", "11:30");
    assert_eq!(proposed(&ended, &none, "11:59:59.999"), [""; 0]);
    assert_eq!(proposed(&ended, &none, "12:00"), ["above 11:30-"]);
    let next = |now: &str| {
        let cold = all(&ended, &none, now).into_iter().find(|c| c.place == fridge()).expect("the fridge");
        cold.next.iter().map(|(why, at)| (*why, short(&at.to_string()))).collect::<Vec<_>>()
    };
    assert_eq!(next("11:30"), [(Why::Above, String::from("12:00"))]);
    assert_eq!(next("11:20"), []);
}

#[test]
fn silence_counts_where_a_probe_is_tied() {
    let read = shop().air("fridge", "10:00", "4.0 C").air("fridge", "10:30", "4.1 C");
    assert_eq!(proposed(&read, &Watched::default(), "+1 00:00"), [""; 0]);
    let tied_early = tied("09:30", None);
    assert_eq!(proposed(&read, &tied_early, "11:29:59.999"), [""; 0]);
    assert_eq!(proposed(&read, &tied_early, "11:30"), ["silent 10:30-"]);
    let heard = read.clone().air("fridge", "11:40", "4.0 C");
    assert_eq!(proposed(&heard, &tied_early, "11:40"), ["silent 10:30-11:40"]);
    // Heard again, but warm: it goes on, by another name once it has been warm for long.
    let warm = read.clone().air("fridge", "11:40", "7.0 C");
    assert_eq!(proposed(&warm, &tied_early, "11:40"), ["silent 10:30-"]);
    assert_eq!(proposed(&warm, &tied_early, "12:10"), ["above 10:30-"]);
    // Nobody listened before it was tied, nor after it was revoked; what was silent until then stays so.
    assert_eq!(proposed(&read, &tied("14:00", None), "15:00"), ["silent 14:00-"]);
    assert_eq!(proposed(&read, &tied("09:30", Some("11:29")), "15:00"), [""; 0]);
    assert_eq!(proposed(&read, &tied("09:30", Some("11:30")), "15:00"), ["silent 10:30-"]);
    assert_eq!(proposed(&read.lapsed("fridge", "10:30", "15:00"), &tied_early, "15:00"), [""; 0]);
}

#[test]
fn late_readings_and_corrections_count_as_if_written_at_once() {
    let warm = shop().air("fridge", "10:00", "4.0 C").air("fridge", "10:15", "8.0 C");
    let seq = warm.seq();
    let late = warm.clone().air("fridge", "11:45", "4.0 C").air("fridge", "10:20", "4.5 C");
    assert_eq!(proposed(&late, &Watched::default(), "12:00"), [""; 0]);
    let mended = warm.clone().set(seq, "12:00", json!({"value": "3.0"}));
    assert_eq!(proposed(&mended, &Watched::default(), "12:00"), [""; 0]);
    assert_eq!(proposed(&warm.void(seq, "12:00"), &Watched::default(), "12:00"), [""; 0]);
}

#[test]
fn the_air_is_let_go_of_only_where_it_is_no_longer_needed() {
    let mut air = Series::default();
    let w = Watch::usual(Control::Cold);
    for (n, tenths) in [40, 80, 42, 80, 80].into_iter().enumerate() {
        air.readings.insert((instant(&format!("0{n}:00")), n as u64), Temperature { tenths, unit: Unit::C });
    }
    air.trim(&w, instant("04:30"));
    // The last good one before stays, and so does what comes after it.
    assert_eq!(air.readings.get_min().map(|((at, _), _)| *at), Some(instant("02:00")));
    assert_eq!((air.whole_from, air.readings.len()), (instant("02:00"), 3));
    let many = counterclock::board::cold::READINGS_MOST as i64 + 7;
    for n in 0..many {
        air.readings.insert((instant("05:00").plus(n), 9), Temperature { tenths: 90, unit: Unit::C });
    }
    air.trim(&w, instant("04:30"));
    assert_eq!(air.readings.len() as i64, many - 7);
    assert_eq!(air.whole_from, instant("05:00").plus(7));
}

const NOW: usize = 600;

/// A day's first ten hours, in minutes.
#[derive(Clone, Debug)]
struct Day {
    /// When it was read, and as what.
    read: std::collections::BTreeMap<usize, i32>,
    lapses: Vec<(usize, usize)>,
    open: Option<usize>,
    tie: Option<(usize, Option<usize>)>,
    grace: usize,
    silent: usize,
}

fn days() -> impl Strategy<Value = Day> {
    let read = prop::collection::btree_map(0..NOW, 20..80i32, 0..25);
    let lapses = prop::collection::vec((1..NOW, 1..NOW), 0..3);
    let lapses =
        lapses.prop_map(|l| l.into_iter().filter(|(a, b)| a != b).map(|(a, b)| (a.min(b), a.max(b))).collect());
    let (open, tie) = (prop::option::of(1..NOW), prop::option::of((0..NOW, prop::option::of(0..NOW))));
    let tie = tie.prop_map(|t| t.map(|(a, b)| (a, b.map(|b| a.max(b)))));
    (read, lapses, open, tie, 0..90usize, 5..120usize).prop_map(|(read, lapses, open, tie, grace, silent)| Day {
        read,
        lapses,
        open,
        tie,
        grace,
        silent,
    })
}

/// The same by its definition, minute by minute: each minute lies between two good readings; it is proposed if what lies
/// between them was lost and no lapse covers it, and if the minutes around it that are so too are enough.
fn by_minutes(d: &Day) -> Vec<(bool, usize, Option<usize>)> {
    let good = |m: usize| d.read.get(&m).is_some_and(|v| *v <= 50);
    let stretch = |m: usize| {
        let from = (0..=m).rev().find(|m| good(*m)).unwrap_or(0);
        (from, (m + 1..NOW).find(|m| good(*m)))
    };
    let heard = |m: usize| d.read.contains_key(&m);
    let listened = |m: usize| d.tie.is_some_and(|(a, b)| a <= m && b.is_none_or(|b| m < b));
    // So many minutes one after the other that begin anywhere or with a reading, and in which nothing was read.
    let silence = |(from, to): (usize, usize)| {
        let quiet = |m: &usize| m + d.silent <= to && (*m..m + d.silent).all(|n| listened(n) && (n == *m || !heard(n)));
        (from..to).find(quiet)
    };
    let why = |m: usize| {
        let (from, to) = stretch(m);
        let end = to.unwrap_or(NOW);
        let first_above = (from..end).find(|m| heard(*m) && !good(*m));
        let quiet = silence((from, end));
        let above = first_above.is_some_and(|b| end - b >= d.grace);
        let before = quiet.is_some_and(|q| d.tie.is_some_and(|(a, _)| q == a && m < a));
        (above || (quiet.is_some() && !before)).then_some((above, from))
    };
    let lapsed = |m: usize| d.lapses.iter().any(|(a, b)| *a <= m && m < *b) || d.open.is_some_and(|a| a <= m);
    let (mut found, mut m) = (Vec::new(), 0);
    while m < NOW {
        let Some((above, of)) = why(m).filter(|_| !lapsed(m)) else {
            m += 1;
            continue;
        };
        let from = m;
        while m < NOW && !lapsed(m) && why(m) == Some((above, of)) {
            m += 1;
        }
        let least = if above { d.grace } else { d.silent };
        if m - from >= least.max(1) {
            found.push((above, from, (m < NOW).then_some(m)));
        }
    }
    found
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_proposal_is_that_of_the_minutes(d in days()) {
        let clock = |m: usize| format!("{:02}:{:02}", m / 60, m % 60);
        let mut ledger = d.read.iter().fold(shop(), |l, (m, tenths)| {
            l.air("fridge", &clock(*m), &format!("{}.{} C", tenths / 10, tenths % 10))
        });
        for (a, b) in &d.lapses {
            ledger = ledger.lapsed("fridge", &clock(*a), &clock(*b));
        }
        ledger = d.open.iter().fold(ledger, |l, a| l.lapse("fridge", &clock(*a)));
        let at = |m: usize| instant(&clock(m));
        let watch = Watch { grace_min: d.grace as i64, silent_min: d.silent as i64, ..Watch::usual(Control::Cold) };
        let tied = d.tie.iter().map(|(a, b)| (fridge(), vec![(at(*a), b.map(at))])).collect();
        let watched = Watched { own: [(fridge(), watch)].into(), tied };
        let cold = all(&ledger, &watched, &clock(NOW)).into_iter().find(|c| c.place == fridge()).expect("the fridge");
        let minute = |t: Instant| (t.since(at(0)) / min(1)) as usize;
        let found: Vec<_> = cold.proposals.iter().map(|p| (p.why == Why::Above, minute(p.from), p.until.map(minute))).collect();
        prop_assert_eq!(found, by_minutes(&d));
        for p in &cold.proposals {
            prop_assert!(p.since >= p.from && p.until.is_none_or(|u| u > p.from));
        }
        let last = d.read.iter().next_back().map(|(m, tenths)| Reading { at: at(*m), value: Temperature { tenths: *tenths, unit: Unit::C } });
        prop_assert_eq!(cold.last, last);
        prop_assert!(cold.next.iter().all(|(_, t)| *t > at(NOW)));
    }
}
