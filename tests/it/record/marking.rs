//! What a mark may say: worked cases, and for every ledger that no print is later than an earlier mark or than the time
//! computed, and that copies are numbered upwards.
//!
//! Guards against S-11, S-15 of SAFETY.md.

use crate::kit::ledger::{Ledger, has, instant, min, read};
use crate::kit::random::{Known, Story, id, set_up, stories};
use counterclock::clock::{Instant, MINUTE_MS, Zone};
use counterclock::exposure::Fold;
use counterclock::ledger::{From, Id, MOST_COUNT, Meta, Request, accept, parse};
use counterclock::record::label::{Label, NoLabel, Source, Time};
use counterclock::record::marking::{Agreement, Marking, NoMark, UNMARKED_MS, earliest, marks, runs};
use counterclock::rules::{Phase, Standing, Verdict, book, standing};
use counterclock::show::Show;
use proptest::prelude::*;
use serde_json::json;

fn at(ledger: &Ledger, item: &str, when: &str) -> (Marking, Standing) {
    let (state, _) = read(&ledger.lines).unwrap_or_else(|bad| panic!("line {}: {}", bad.line, bad.refusal));
    let fold = Fold::new(&state, instant(when), Zone::UTC);
    let (id, _) = state.items.get_key_value(&Id::new(item).unwrap()).unwrap();
    let s = standing(&fold, id).unwrap();
    (Marking::of(&state, &s).unwrap(), s)
}

/// Its label then.
fn label(ledger: &Ledger, item: &str, when: &str) -> Result<Label, NoLabel> {
    let (state, _) = read(&ledger.lines).unwrap_or_else(|bad| panic!("line {}: {}", bad.line, bad.refusal));
    let source = Source { state: &state, show: Show::of(&state, instant(when)), head: (1, "0123456789abcdef") };
    Label::of(source, &Fold::new(&state, instant(when), Zone::UTC), &Id::new(item).unwrap()).unwrap()
}

#[track_caller]
fn says(ledger: &Ledger, item: &str, when: &str, expected: (&str, u32, bool)) {
    let (m, _) = at(ledger, item, when);
    let next = m.next.unwrap();
    assert_eq!((next.discard_by, m.copy, next.new_time), (instant(expected.0), expected.1, expected.2));
}

#[track_caller]
fn agreement(ledger: &Ledger, item: &str, when: &str, expected: Agreement) {
    assert_eq!(at(ledger, item, when).0.agreement, expected, "at {when}");
}

/// Which built-in rules ask that the food carry its time, each with what that was read from.
#[test]
fn rules_that_ask_for_a_mark() {
    let readings = [
        ("house-2h-4h", false, "common practice, no source"),
        (
            "sum-2h-4h",
            false,
            "FSANZ, 2-hour/4-hour rule: times out and back are to be noted, not shown on the food (read)",
        ),
        (
            "us-time-4h",
            true,
            "FDA Food Code 2022, 3-501.19(B): marked with the time it must go (from memory); Cobb & \
                              Douglas Public Health GA: a four-hour label with only the time of removal is incomplete (read)",
        ),
        ("us-prep-then-4h", true, "3-501.19(B), as this project reads it for what stood out in preparation"),
        (
            "us-time-6h",
            true,
            "FDA Food Code 2022, 3-501.19(C); Cobb & Douglas: a six-hour label needs both times (read)",
        ),
        ("us-cooling", false, "FDA Food Code 2022, 3-501.14: time and temperature of cooling (read), no mark"),
        ("uk-display-4h", false, "NI SR 2006/3 Sch. 4 para 5: one display of less than four hours (read), no mark"),
        ("two-hour", false, "consumer advice"),
        ("banded-70f", false, "FDA Fish and Fishery Products Hazards Guidance App. 4 (read), no mark"),
        ("keep-7d", false, "FDA Food Code 2022, 3-501.17: a date (read), not a time of the day"),
    ];
    assert_eq!(readings.len(), book::all().len());
    for (rule, asks, source) in readings {
        let rule = book::built_in(&Id::new(rule).unwrap()).unwrap();
        assert_eq!(rule.asks_for_mark(), asks, "{}: {source}", rule.rule);
    }
}

/// Out 10:30 under a four-hour hold: discard by 14:30 (Fairfax County VA, time-control log sample).
#[test]
fn the_first_print_carries_the_computed_time() {
    let log = Ledger::shop().item("pie", "10:00", "fridge", &["us-time-4h"]).moved("pie", "10:30", "shelf");
    says(&log, "pie", "10:31", ("14:30", 1, false));
    let printed = log.mark("pie", "10:31", "14:30", 1);
    says(&printed, "pie", "11:00", ("14:30", 2, false));
    agreement(&printed, "pie", "11:00", Agreement::Agrees);
}

/// It never rounds up: a label shows minutes, so it carries whole ones.
#[test]
fn cut_to_the_minute_downwards() {
    let log = Ledger::shop().item("pie", "10:00", "fridge", &["us-time-4h"]).moved("pie", "10:30:59.999", "shelf");
    says(&log, "pie", "10:32", ("14:30", 1, false));
}

#[test]
fn unmarked_after_a_quarter_of_an_hour() {
    let log = |rule: &str| Ledger::shop().item("pie", "10:00", "fridge", &[rule]).moved("pie", "10:30", "shelf");
    agreement(&log("us-time-4h"), "pie", "10:44:59.999", Agreement::NoneNeeded);
    agreement(&log("us-time-4h"), "pie", "10:45", Agreement::Unmarked);
    assert_eq!(at(&log("us-time-4h"), "pie", "10:31").0.unmarked_from, Some(instant("10:45")));
    agreement(&log("house-2h-4h"), "pie", "11:45", Agreement::NoneNeeded);
    assert_eq!(at(&log("house-2h-4h"), "pie", "10:31").0.unmarked_from, None);
    agreement(&log("us-time-4h").mark("pie", "10:50", "14:30", 1), "pie", "11:00", Agreement::Agrees);
    // Its clock runs on in the cold, and so does this: short trips add up, and the cold clears nothing.
    let trips = log("us-time-4h").moved("pie", "10:44", "fridge");
    agreement(&trips, "pie", "10:44:59.999", Agreement::NoneNeeded);
    agreement(&trips, "pie", "10:45", Agreement::Unmarked);
    says(&trips, "pie", "10:45", ("14:30", 1, false));
    let again = trips.moved("pie", "12:00", "shelf");
    agreement(&again, "pie", "12:01", Agreement::Unmarked);
    // Once it has closed nothing can be marked any more, and that it never was is still told.
    agreement(&again.clone().close("pie", "12:05", "sold"), "pie", "12:30", Agreement::NeverMarked);
    agreement(&log("us-time-4h").close("pie", "10:44", "sold"), "pie", "12:30", Agreement::NoneNeeded);
    agreement(&log("house-2h-4h").close("pie", "11:45", "sold"), "pie", "12:30", Agreement::NoneNeeded);
    // Where only some places start the clock, the present stretch in others counts by itself.
    let prep = Ledger::shop().item("pie", "08:00", "bench", &["us-prep-then-4h"]);
    agreement(&prep, "pie", "08:15", Agreement::Unmarked);
    agreement(&prep.moved("pie", "08:20", "fridge"), "pie", "08:30", Agreement::NoneNeeded);
    // A mark that is struck out is none.
    let marked = log("us-time-4h").mark("pie", "10:50", "14:30", 1);
    let seq = marked.seq();
    agreement(&marked.void(seq, "11:00"), "pie", "11:10", Agreement::Unmarked);
    assert_eq!(UNMARKED_MS, 15 * MINUTE_MS);
}

/// What is split off carries no label of its own, however long the first has had one.
#[test]
fn a_part_needs_its_own() {
    let log = Ledger::shop().item("pie", "10:30", "shelf", &["us-time-4h"]).mark("pie", "10:31", "14:30", 1).made(
        "half",
        "11:00",
        "shelf",
        &["us-time-4h"],
        &["pie"],
    );
    agreement(&log, "half", "11:00", Agreement::Unmarked);
    says(&log, "half", "11:00", ("14:30", 1, false));
}

#[test]
fn a_mark_that_became_too_late_is_told_until_marked_anew() {
    let log = Ledger::shop()
        .item("tub", "08:00", "bench", &["house-2h-4h"])
        .item("cake", "09:00", "bench", &["house-2h-4h"])
        .mark("cake", "09:01", "13:00", 1);
    agreement(&log, "cake", "10:00", Agreement::Agrees);
    let joined = log.join("cake", "10:00", &["tub"]);
    agreement(&joined, "cake", "10:00", Agreement::Late);
    says(&joined, "cake", "10:05", ("12:00", 2, true));
    let anew = joined.mark("cake", "10:05", "12:00", 2);
    agreement(&anew, "cake", "10:06", Agreement::Agrees);
    says(&anew, "cake", "10:06", ("12:00", 3, false));
}

/// Under a rule that adds up, time in the cold gives none back on the label: an earlier mark holds until it is struck out.
#[test]
fn an_earlier_mark_holds() {
    let log = Ledger::shop()
        .item("cake", "08:00", "bench", &["house-2h-4h"])
        .mark("cake", "08:01", "12:00", 1)
        .moved("cake", "08:30", "fridge")
        .moved("cake", "11:00", "bench");
    let (m, s) = at(&log, "cake", "11:05");
    has(&serde_json::to_value(&s).unwrap(), json!({"discard_by": "14:30"}));
    let next = m.next.clone().unwrap();
    assert_eq!((next.discard_by, next.held_by.unwrap().discard_by), (instant("12:00"), instant("12:00")));
    agreement(&log, "cake", "11:05", Agreement::Agrees);
    // Its time has come: nothing can be marked any more.
    let (m, _) = at(&log, "cake", "12:00");
    assert!(matches!(m.next, Err(NoMark::Held(h)) if h.discard_by == instant("12:00")));
    // Struck out, since that label is gone.
    let line = log.lines.iter().position(|l| l.contains("discard_by")).unwrap() + 1;
    says(&log.void(line, "12:01"), "cake", "12:02", ("14:30", 2, false));
}

#[test]
fn none_where_there_is_no_time_to_give() {
    let cold = Ledger::shop().item("cake", "08:00", "fridge", &["house-2h-4h"]);
    let (m, s) = at(&cold, "cake", "09:00");
    assert_eq!((m.next, m.agreement, runs(&s)), (Err(NoMark::Cold), Agreement::NoneNeeded, false));
    let over = Ledger::shop().item("cake", "08:00", "bench", &["house-2h-4h"]);
    let (m, s) = at(&over, "cake", "12:00");
    assert_eq!((m.next, s.verdict, runs(&s)), (Err(NoMark::Over), Verdict::Discard, true));
    let sold = over.close("cake", "09:00", "sold");
    assert_eq!(at(&sold, "cake", "09:30").0.next, Err(NoMark::Closed));
    // One clock runs on in the cold; a date in some days does not make it run.
    let on = Ledger::shop().item("pie", "08:00", "bench", &["us-time-4h"]).moved("pie", "09:00", "fridge");
    assert!(runs(&at(&on, "pie", "10:00").1));
    let kept = Ledger::shop().item("pie", "08:00", "fridge", &["house-2h-4h", "keep-7d"]);
    assert!(!runs(&at(&kept, "pie", "10:00").1));
}

/// In the cold a clock that runs on there has a time, whatever else may yet be used up out of it.
#[test]
fn a_clock_that_runs_on_is_on_the_label() {
    // Three hours of preparation, on display at nine: by thirteen at the latest, and half an hour is left for being out.
    let pie = |marks: bool| {
        let log = Ledger::shop().item("pie", "06:00", "bench", &["us-prep-then-4h"]).moved("pie", "09:00", "shelf");
        let log = log.moved("pie", "09:30", "fridge");
        if marks { log.mark("pie", "09:31", "13:00", 1).with(json!({"how": "printed"})) } else { log }
    };
    let (m, s) = at(&pie(false), "pie", "09:30");
    has(&serde_json::to_value(&s).unwrap(), json!({"discard_by": "13:00", "left_ms": min(30)}));
    assert!(runs(&s));
    assert_eq!(m.next.unwrap().discard_by, instant("13:00"));
    assert_eq!(label(&pie(false), "pie", "09:30"), Err(NoLabel::Unprinted));
    let label_then = label(&pie(true), "pie", "09:31").unwrap();
    assert_eq!(label_then.time, Time::By("13:00".into(), "Mon 4 May".into()));
    assert_eq!(label_then.also.unwrap(), "Out again: 30 min at most. Out at ____ : ____ discard by ____ : ____");
    // Since its clock began, not since the present stretch did.
    assert_eq!(label_then.out_at.unwrap(), "Mon 4 May, 09:00");
    // Two rules at once, and a cooling that is not finished.
    let two = Ledger::shop().item("pie", "08:00", "fridge", &["two-hour", "us-time-4h"]).moved("pie", "09:00", "bench");
    let two = two.moved("pie", "10:30", "fridge");
    assert_eq!(at(&two, "pie", "10:30").0.next.unwrap().discard_by, instant("13:00"));
    let cooling = Ledger::shop().item("base", "08:00", "bench", &["us-cooling", "two-hour"]);
    let cooling =
        cooling.food("base", "08:01", "80.0 C").food("base", "08:10", "50.0 C").moved("base", "09:30", "fridge");
    let (m, s) = at(&cooling, "base", "09:31");
    assert_eq!((runs(&s), m.next.unwrap().discard_by), (true, instant("10:01")));
}

/// It says no more than what was written on it before.
#[test]
fn a_cold_label_says_the_earlier_mark() {
    let log = Ledger::shop().item("cake", "10:00", "bench", &["house-2h-4h"]).mark("cake", "10:01", "14:00", 1);
    let log = log.moved("cake", "10:30", "fridge");
    let cold = label(&log, "cake", "13:50").unwrap();
    assert_eq!(cold.time, Time::Left("3 h 30 min".into()));
    assert_eq!(cold.also.unwrap(), "An earlier mark says 14:00: it holds.");
    assert_eq!(label(&log, "cake", "14:00"), Err(NoLabel::Held(instant("14:00"))));
    let line = log.seq() - 1;
    assert_eq!(label(&log.void(line, "14:01"), "cake", "14:02").unwrap().also, None);
}

/// A mark is made only where a label would carry a time of the day: what only its days limit has a date.
#[test]
fn days_are_said_by_their_date() {
    let log = Ledger::shop().item("pie", "08:00", "fridge", &["keep-7d"]);
    let (m, s) = at(&log, "pie", "09:00");
    has(&serde_json::to_value(&s).unwrap(), json!({"use_by": "2026-05-10"}));
    assert_eq!((m.next, runs(&s)), (Err(NoMark::Cold), false));
    let cold = label(&log, "pie", "09:00").unwrap();
    assert_eq!((cold.time, cold.copy, cold.use_by), (Time::Days(Some("Sun 10 May".into())), None, None));
    let both = Ledger::shop().item("pie", "08:00", "fridge", &["keep-7d", "house-2h-4h"]);
    assert_eq!(at(&both, "pie", "09:00").0.next, Err(NoMark::Cold));
    assert_eq!(label(&both, "pie", "09:00").unwrap().time, Time::Left("4 h 00 min".into()));
    // Thawed on a later day it has a day less: no span is written on it.
    let frozen = Ledger::shop().item("pie", "08:00", "freezer", &["keep-7d"]);
    assert_eq!(label(&frozen, "pie", "09:00").unwrap().time, Time::Days(None));
}

/// Each way to have no label says so in its own words.
#[test]
fn no_label_for_each_reason() {
    // On the bench a display's rule counts nothing.
    let log = Ledger::shop().item("cake", "08:00", "bench", &["uk-display-4h"]);
    assert_eq!(at(&log, "cake", "09:00").0.next, Err(NoMark::NoLimit));
    assert_eq!(label(&log, "cake", "09:00"), Err(NoLabel::NoLimit));
    // Only written by hand, and that time has come.
    let held = Ledger::shop().item("cake", "08:00", "bench", &["house-2h-4h"]).mark("cake", "08:01", "11:00", 1);
    let held = held.with(json!({"how": "written"}));
    assert_eq!(label(&held, "cake", "11:00"), Err(NoLabel::Held(instant("11:00"))));
}

/// A copy that was struck out or corrected keeps its number: its label may still lie about.
#[test]
fn a_number_is_given_once() {
    let log = Ledger::shop().item("cake", "08:00", "bench", &["house-2h-4h"]).mark("cake", "08:01", "12:00", 7);
    let seq = log.seq();
    says(&log.clone().void(seq, "08:02"), "cake", "08:03", ("12:00", 8, false));
    let renumbered = log.clone().set(seq, "08:02", json!({"copy": 2})).set(seq, "08:03", json!({"copy": 1}));
    says(&renumbered, "cake", "08:03", ("12:00", 8, false));
    // Above the highest there is none: better the same again than no mark at all.
    says(&log.mark("cake", "08:02", "12:00", MOST_COUNT), "cake", "08:03", ("12:00", MOST_COUNT, false));
}

/// What people do with labels between the things that happen to the food.
#[derive(Clone, Debug)]
enum Act {
    /// A mark as the program gives it.
    Print,
    /// Whatever somebody wrote, in minutes from now.
    Write(i64),
    /// One of the marks so far is struck out.
    Strike(usize),
    /// One of them is corrected to so many minutes from when it is read.
    Reread(usize, i64),
}

fn acts() -> impl Strategy<Value = Vec<(usize, usize, Act)>> {
    let act = prop_oneof![
        4 => Just(Act::Print),
        2 => (-300..400i64).prop_map(Act::Write),
        1 => (0..8usize).prop_map(Act::Strike),
        1 => (0..8usize, -300..400i64).prop_map(|(n, m)| Act::Reread(n, m)),
    ];
    prop::collection::vec((0..26usize, 0..5usize, act), 1..14)
}

/// A story with these acts in it, told to a listener before each print.
fn told(story: &Story, acts: &[(usize, usize, Act)], mut heard: impl FnMut(&Known, usize, i64, &Marking)) {
    let mut ledger = set_up();
    let mut made: Vec<usize> = Vec::new();
    let mut n = 0;
    for (i, event) in story.events.iter().enumerate() {
        ledger = event.lines().into_iter().fold(ledger, Ledger::add);
        for (_, item, act) in acts.iter().filter(|(when, ..)| when % story.events.len() == i) {
            n += 1;
            let t = event.at + 1 + n;
            if story.events.get(i + 1).is_some_and(|e| e.at <= t) {
                continue;
            }
            let item = item % story.items;
            let when = Instant(t).to_string();
            let mark = |by: Instant, copy: u32| json!({"kind": "mark", "at": when, "item": id(item), "discard_by": by, "how": "printed", "copy": copy});
            let more = match act {
                Act::Print => {
                    let known = Known::of(&ledger).expect("accepted");
                    let Some(s) = known.at(item, t) else { continue };
                    let m = Marking::of(&known.state, &s).expect("it has begun");
                    heard(&known, item, t, &m);
                    let Ok(next) = &m.next else { continue };
                    ledger.clone().add(mark(next.discard_by, m.copy))
                }
                Act::Write(minutes) => ledger.clone().add(mark(Instant(t + min(*minutes)), 1)),
                Act::Strike(_) | Act::Reread(..) if made.is_empty() => continue,
                Act::Strike(k) => ledger.clone().void(made[k % made.len()], &when),
                Act::Reread(k, minutes) => {
                    ledger.clone().set(made[k % made.len()], &when, json!({"discard_by": Instant(t + min(*minutes))}))
                }
            };
            // A mark of what has not begun or has closed is refused; then nothing was marked.
            if more.refused().is_none() {
                if matches!(act, Act::Print | Act::Write(_)) {
                    made.push(more.seq());
                }
                ledger = more;
            }
        }
    }
}

fn cases() -> ProptestConfig {
    let cases = std::env::var("PROPTEST_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(64);
    ProptestConfig { cases, failure_persistence: None, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(cases())]

    /// Whatever happened, whatever was written and struck out before.
    #[test]
    fn no_print_is_later_than_an_earlier_mark_or_the_computed_time(story in stories(0), acts in acts()) {
        let mut wrong = None;
        told(&story, &acts, |known, item, t, m| {
            let Ok(next) = &m.next else { return };
            let s = known.at(item, t).expect("it has begun");
            let marks: Vec<_> = marks(&known.state.items[&s.item]).collect();
            let late = marks.iter().any(|m| next.discard_by > m.discard_by);
            let computed = s.discard_by.is_some_and(|by| next.discard_by <= by);
            let minute = next.discard_by.0 % MINUTE_MS != 0 && marks.iter().all(|m| m.discard_by != next.discard_by);
            let new = marks.last().is_some_and(|m| next.discard_by < m.discard_by);
            if late || !computed || minute || new != next.new_time {
                wrong.get_or_insert(format!("{next:?} at {} of {s:?} after {marks:?}", Instant(t)));
            }
        });
        prop_assert!(wrong.is_none(), "{}", wrong.unwrap_or_default());
    }

    /// Every copy has a number above all that were ever given to it, and whatever is printed agrees with the log then.
    /// Guards against S-16.
    #[test]
    fn copies_rise(story in stories(0), acts in acts()) {
        let mut highest: std::collections::BTreeMap<usize, u32> = Default::default();
        let mut wrong = None;
        told(&story, &acts, |_, item, t, m| {
            if m.next.is_ok() && highest.insert(item, m.copy).is_some_and(|before| before >= m.copy) {
                wrong.get_or_insert(format!("{m:?} at {}", Instant(t)));
            }
        });
        prop_assert!(wrong.is_none(), "{}", wrong.unwrap_or_default());
    }

    /// What is not marked in the cold would not be discarded there, before its last day is over; and no label, whatever it
    /// is of, gives more than the earliest mark in effect.
    /// Guards against S-17.
    #[test]
    fn no_label_gives_more_than_the_log_or_a_mark(story in stories(0), acts in acts()) {
        let mut wrong = None;
        told(&story, &acts, |known, item, t, m| {
            let s = known.at(item, t).expect("it has begun");
            let over = s.verdict == Verdict::Discard || s.state == Phase::Closed;
            let days = s.decides.as_ref().is_none_or(|d| d.measure == "day");
            if !over && !runs(&s) && !days {
                wrong.get_or_insert(format!("{s:?} has a time of the day"));
            }
            let first = earliest(&known.state.items[&s.item]);
            let source = Source { state: &known.state, show: Show::of(&known.state, Instant(t)), head: (1, "00") };
            let label = Label::of(source, &Fold::new(&known.state, Instant(t), Zone::UTC), &s.item).expect("it has begun");
            let ok = match (&label, &first) {
                (Err(_), _) | (Ok(_), None) => true,
                (Ok(l), Some(first)) => match (&l.time, l.discard_by) {
                    (Time::By(..), Some(by)) => by <= first.discard_by && s.discard_by.is_none_or(|d| by <= d),
                    (Time::By(..), None) => false,
                    (Time::Left(_) | Time::Days(_), _) => first.discard_by > Instant(t) && l.also.is_some(),
                    (Time::Never, _) => m.next == Err(NoMark::NoLimit),
                },
            };
            if over != matches!(label, Err(NoLabel::Over | NoLabel::Closed)) || !ok {
                wrong.get_or_insert(format!("{label:?} of {s:?} after {first:?}"));
            }
        });
        prop_assert!(wrong.is_none(), "{}", wrong.unwrap_or_default());
    }

    /// Once it is printed, its label is none to warn of.
    #[test]
    fn what_was_just_printed_agrees(story in stories(0), acts in acts()) {
        let mut wrong = None;
        told(&story, &acts, |known, item, t, m| {
            let Ok(next) = &m.next else { return };
            let s = known.at(item, t).expect("it has begun");
            let mark = json!({"kind": "mark", "item": id(item), "discard_by": next.discard_by, "how": "printed",
                "copy": m.copy, "at": Instant(t)}).to_string();
            let entries = vec![parse(&mark, From::Caller).expect("a mark")];
            let request = Request { entries, now: Instant(t), actor: Meta::default(), manager: false, probe: false, targets: Default::default() };
            let state = accept(&known.state, request).expect("it may be marked").state;
            let fold = Fold::new(&state, Instant(t), Zone::UTC);
            let s = state.items.get_key_value(&s.item).and_then(|(id, _)| standing(&fold, id)).expect("a standing");
            let after = Marking::of(&state, &s).expect("marked");
            if after.agreement != Agreement::Agrees || after.next.is_ok_and(|again| again.discard_by != next.discard_by) {
                wrong.get_or_insert(format!("{m:?} then {s:?}"));
            }
        });
        prop_assert!(wrong.is_none(), "{}", wrong.unwrap_or_default());
    }
}
