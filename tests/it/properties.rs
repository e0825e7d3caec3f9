//! What holds of every ledger. The number of cases is `PROPTEST_CASES`, or 64.
//!
//! Guards against S-03 of SAFETY.md.

use crate::kit::ledger::{Ledger, Shop, instant, min};
use crate::kit::random::{
    AIR, COLD, COOLING, COOLING_FROM, Event, Known, OUT, SPELLS, START, Story, What, id, set_up, stories, stories_under,
};
use counterclock::clock::{Instant, Zone};
use counterclock::exposure::Fold;
use counterclock::rules::{Demand, Phase, Standing, Verdict};
use proptest::prelude::*;
use proptest::sample::Index;
use serde_json::json;

fn cases() -> ProptestConfig {
    let cases = std::env::var("PROPTEST_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(64);
    ProptestConfig { cases, failure_persistence: None, ..ProptestConfig::default() }
}

/// A verdict without `return`, which is asked only while the item is out.
fn lasting(s: &Standing) -> Verdict {
    if s.verdict == Verdict::Return { Verdict::Within } else { s.verdict }
}

/// None lies after every time.
fn by(s: &Standing) -> i64 {
    s.discard_by.map_or(i64::MAX, |t| t.0)
}

/// The same ledger with more in it is nowhere judged more mildly and gives nowhere more time.
fn never_milder(before: &Story, after: &Known) -> Result<(), TestCaseError> {
    let plain = before.read();
    for t in before.instants(14) {
        for (old, new) in plain.standings(t).iter().zip(after.standings(t)) {
            let (Some(old), Some(new)) = (old, new) else { continue };
            prop_assert!(
                new.verdict >= old.verdict,
                "verdict of {} at {}: {} became {}",
                old.item,
                Instant(t),
                old.verdict,
                new.verdict
            );
            prop_assert!(
                by(&new) <= by(old),
                "discard_by of {} at {}: {:?} became {:?}",
                old.item,
                Instant(t),
                old.discard_by,
                new.discard_by
            );
        }
    }
    Ok(())
}

fn two_of(story: &Story, a: Index, b: Index) -> (usize, usize) {
    let a = a.index(story.items);
    (a, (a + 1 + b.index((story.items - 1).max(1))) % story.items)
}

/// A sum or a length that stands at its allowed limit exactly, in the cold: the limit is reached, and over it is with the
/// next millisecond out. Until then it is within.
fn at_the_allowed_limit(s: &Standing) -> bool {
    let sums = ["total_out", "longest_spell", "out_above"];
    matches!(s.state, Phase::Cold | Phase::Frozen)
        && s.verdict != Verdict::Discard
        && s.left_ms == Some(0)
        && s.decides.as_ref().is_some_and(|d| sums.contains(&d.measure))
}

/// The same, out again: the sum stands where the rule doesn't count, or until the next millisecond; an earlier stretch as
/// long as the limit while another, shorter one goes on; time in warm air while the air is not.
fn out_at_the_allowed_limit(s: &Standing) -> bool {
    let sums = ["total_out", "longest_spell", "out_above"];
    let sum = s.decides.as_ref().is_some_and(|d| sums.contains(&d.measure));
    sum && s.state == Phase::Out && s.discard_by.is_some_and(|d| d < s.as_of)
}

/// Whether an item that is out is over a limit of time in warm air, which its air left at the limit exactly, once that is
/// warm again.
fn over_once_warm(story: &Story, t: i64, item: usize, at: i64, verdict: Verdict) -> bool {
    let alone = left_alone(story, t);
    let place = alone.read().at(item, at).map(|s| s.place.to_string()).expect("it has begun");
    let warm = Event { at, what: What::Air { place, tenths: 400 } };
    alone.and(warm).read().at(item, at + 1).is_some_and(|s| s.verdict >= verdict)
}

/// What happened, with nothing known of what comes after: a lapse with an end still to come is one without.
fn left_alone(story: &Story, t: i64) -> Story {
    let mut story = story.until(t);
    for event in &mut story.events {
        if let What::Lapse { until: Some(until), .. } = &mut event.what
            && *until > t
        {
            *until = instant("+4000 00:00").0;
        }
    }
    story
}

proptest! {
    #![proptest_config(cases())]

    /// Two orders of arrival that are both accepted give equal standings.
    #[test]
    fn the_order_of_arrival_does_not_matter(story in stories(0), delays in prop::collection::vec(0..6usize, 64)) {
        let mut late: Vec<(usize, &Event)> = story.events.iter().enumerate().map(|(i, e)| {
            let first = matches!(e.what, What::Begin { .. });
            (i + if first { 0 } else { delays[i % delays.len()] }, e)
        }).collect();
        late.sort_by_key(|(arrival, _)| *arrival);
        let ledger = late.iter().flat_map(|(_, e)| e.lines()).fold(set_up(), Ledger::add);
        if let Some(late) = Known::of(&ledger) {
            let prompt = story.read();
            for t in story.instants(12) {
                prop_assert_eq!(prompt.standings(t), late.standings(t));
            }
        }
    }

    /// The service, asked entry by entry, keeps a ledger that reads the same.
    #[test]
    fn entry_by_entry_it_is_the_same_ledger(story in stories(0)) {
        let ledger = story.ledger();
        let shop = Shop::with(&ledger);
        let whole = story.read();
        for t in story.instants(5) {
            for item in 0..story.items {
                if let Some(s) = whole.at(item, t) {
                    prop_assert_eq!(serde_json::to_value(s).expect("JSON"), shop.at(&id(item), &Instant(t).to_string()));
                }
            }
        }
        let kept = Known::of(&Ledger::of_lines(shop.kept()));
        prop_assert!(kept.is_some());
    }

    /// A stay out cut in two, at another place of the same use and air or by a return of no length, is the same stay.
    #[test]
    fn cutting_a_spell_in_two_changes_no_sum(story in stories(0), which in any::<Index>(), returns in any::<bool>()) {
        let stays: Vec<(usize, usize, i64, String)> = story.events.iter().enumerate().filter_map(|(i, e)| match &e.what {
            What::Move { item, place } if OUT.contains(&place.as_str()) => Some((i, *item, e.at, place.clone())),
            What::Begin { item, place, .. } if OUT.contains(place) => Some((i, *item, e.at, (*place).to_owned())),
            _ => None,
        }).collect();
        prop_assume!(!stays.is_empty());
        let (i, item, from, place) = stays[which.index(stays.len())].clone();
        let end = story.events[i + 1..].iter().find(|e| match e.what {
            What::Move { item: other, .. } | What::Close { item: other } => other == item,
            _ => false,
        });
        let to = end.map_or(from + min(100), |e| e.at);
        let middle = from + (to - from) / 2;
        prop_assume!(middle > from);
        let moved = |place: String| Event { at: middle, what: What::Move { item, place } };
        let cut = if returns {
            story.and(moved(String::from("fridge"))).and(moved(place))
        } else {
            story.and(moved(format!("{place}-2")))
        };
        let (whole, cut) = (story.read(), cut.read());
        for t in story.instants(14).into_iter().chain([middle, middle + 1]) {
            for (a, b) in whole.standings(t).into_iter().zip(cut.standings(t)) {
                let place = |s: Option<Standing>| s.map(|s| Standing { place: counterclock::ledger::Id::new("x").expect("an id"), ..s });
                prop_assert_eq!(place(a), place(b));
            }
        }
    }

    /// As time goes by nothing is judged more mildly, but for `return`. (The reading at the start may be a parent's that
    /// came in later: see `not_even_where_a_parent_brings_a_better_start`.)
    #[test]
    fn verdicts_never_become_milder(story in stories(START)) {
        only_worse(&story)?;
    }

    #[test]
    fn not_even_where_a_parent_brings_a_better_start(story in stories_under(vec!["c-start"])) {
        only_worse(&story)?;
    }

    /// One rule more.
    #[test]
    fn another_rule_is_never_milder(story in stories(0), which in any::<Index>(), rule in any::<Index>()) {
        let rules = ["c-total", "c-longest", "c-spells", "c-air", "c-food", "c-cool", "us-time-4h", "two-hour", "c-day", "c-start"];
        let mut more = story.clone();
        let item = which.index(story.items);
        for event in &mut more.events {
            if let What::Begin { item: i, rules: mine, .. } = &mut event.what
                && *i == item
            {
                mine.push(rules[rule.index(rules.len())]);
            }
        }
        never_milder(&story, &more.read())?;
    }

    /// One parent more, from some instant on. (Without the reading at the start, which may then be the parent's.)
    #[test]
    fn another_parent_is_never_milder(story in stories(START), which in any::<Index>(), from in any::<Index>(), when in any::<Index>()) {
        let (item, from) = two_of(&story, which, from);
        let begun = story.begins(item).max(story.begins(from));
        let later: Vec<i64> = story.events.iter().map(|e| e.at).filter(|at| *at >= begun).collect();
        if item == from || later.is_empty() {
            return Ok(());
        }
        let at = later[when.index(later.len())] + 1;
        let more = story.and(Event { at, what: What::Join { item, from } });
        if let Some(more) = Known::of(&more.ledger()) {
            never_milder(&story, &more)?;
        }
    }

    /// One parent more from the beginning. Cooling from the beginning is left out, too: "if it began out with no parent"
    /// means that a parent takes that clock away, unless it brings one that runs.
    #[test]
    fn another_parent_at_the_beginning_is_never_milder(story in stories(START | COOLING), which in any::<Index>(), from in any::<Index>()) {
        let (item, parent) = two_of(&story, which, from);
        let (item, parent) = (item.max(parent), item.min(parent));
        if item == parent {
            return Ok(());
        }
        let mut more = story.clone();
        for event in &mut more.events {
            if let What::Begin { item: i, from, .. } = &mut event.what
                && *i == item && !from.contains(&parent)
            {
                from.push(parent);
            }
        }
        if let Some(more) = Known::of(&more.ledger()) {
            never_milder(&story, &more)?;
        }
    }

    /// One lapse more. Left out: `spells`, since a lapse between two stretches makes them one, as the measure is defined;
    /// the reading at the start, which is that of an earlier instant then; and the air, since what still chills counts
    /// with the air of where it was, and in a lapse with that of where it is.
    #[test]
    fn another_lapse_is_never_milder(story in stories(SPELLS | START | AIR), place in any::<Index>(), from in any::<Index>(), minutes in 1..300i64) {
        let at = story.events[from.index(story.events.len())].at + 1;
        let lapse = What::Lapse { place: COLD[place.index(COLD.len())], until: Some(at + min(minutes)) };
        never_milder(&story, &story.and(Event { at, what: lapse }).read())?;
    }

    /// A reading of the food that was warmer. Left out: `cooled` with `from`, of which a warmer reading can by definition
    /// show that cooling had not begun; `spells`, since what chills for longer may still be out when it goes out again.
    #[test]
    fn warmer_food_is_never_milder(story in stories(SPELLS | COOLING_FROM), one in any::<Index>(), which in any::<Index>(), cold in -100..60i32, by in 1..700i32) {
        let item = one.index(story.items);
        let more = story.and(Event { at: story.begins(item) + min(35), what: What::Food { item, tenths: cold } });
        let story = if more.ledger().refused().is_none() { more } else { story };
        let readings = story.events.iter().filter(|e| matches!(e.what, What::Food { .. })).count();
        if readings == 0 {
            return Ok(());
        }
        let mut warmer = story.clone();
        let reading = warmer.events.iter_mut().filter_map(|e| match &mut e.what {
            What::Food { tenths, .. } => Some(tenths),
            _ => None,
        });
        *reading.into_iter().nth(which.index(readings)).expect("a reading") += by;
        never_milder(&story, &warmer.read())?;
    }

    /// Air that was warmer.
    #[test]
    fn warmer_air_is_never_milder(story in stories(0), one in any::<Index>(), which in any::<Index>(), by in 1..300i32) {
        let place = OUT[one.index(OUT.len())].to_owned();
        let story = story.and(Event { at: story.begins(0) + min(25), what: What::Air { place, tenths: 150 } });
        let readings = story.events.iter().filter(|e| matches!(e.what, What::Air { .. })).count();
        let mut warmer = story.clone();
        let reading = warmer.events.iter_mut().filter_map(|e| match &mut e.what {
            What::Air { tenths, .. } => Some(tenths),
            _ => None,
        });
        *reading.into_iter().nth(which.index(readings)).expect("a reading") += by;
        never_milder(&story, &warmer.read())?;
    }

    /// At `discard_by` an item left where it is becomes `discard`, or a millisecond after where the limit is allowed; a
    /// millisecond before it wasn't. Where none is given it never does.
    #[test]
    fn discard_by_is_when_it_becomes_discard(story in stories(0), when in any::<Index>()) {
        let all = story.instants(40);
        let t = all[when.index(all.len())];
        let alone = left_alone(&story, t).read();
        for item in 0..story.items {
            let Some(s) = alone.at(item, t) else { continue };
            if s.verdict == Verdict::Discard {
                prop_assert_eq!(s.left_ms, Some(0));
                prop_assert!(s.discard_by.is_some_and(|d| d.0 <= t), "{:?}", s);
                continue;
            }
            prop_assert_eq!(s.discard_by.is_some(), s.decides.is_some());
            if s.state == Phase::Closed {
                continue;
            }
            let verdict = |t: i64| alone.at(item, t).expect("it has begun").verdict;
            match s.discard_by {
                Some(_) if out_at_the_allowed_limit(&s) => prop_assert_eq!(s.left_ms, Some(0), "{:?}", s),
                Some(d) if alone.at(item, t.max(d.0 + 1)).is_some_and(|s| at_the_allowed_limit(&s)) => {
                    prop_assert_ne!(verdict(t.max(d.0 + 1)), Verdict::Discard, "{:?}", s);
                    // Warm air, or another stretch as long, is yet to come for these.
                    let yet = ["out_above", "longest_spell"];
                    if s.decides.as_ref().is_some_and(|d| yet.contains(&d.measure)) {
                        continue;
                    }
                    let out = Event { at: t.max(d.0 + 1), what: What::Move { item, place: String::from("shelf") } };
                    let over = left_alone(&story, t).and(out).read().at(item, t.max(d.0 + 1) + 1);
                    prop_assert!(over.is_some_and(|s| s.verdict == Verdict::Discard), "taken out after {:?}", s);
                }
                Some(d) if d.0 >= t && s.state == Phase::Out && verdict(d.0 + 1) != Verdict::Discard => {
                    prop_assert_eq!(s.decides.as_ref().map(|d| d.measure), Some("out_above"), "{:?}", s);
                    prop_assert!(over_once_warm(&story, t, item, d.0 + 1, Verdict::Discard), "{:?}", s);
                }
                Some(d) => {
                    prop_assert!(d.0 >= t, "{:?}", s);
                    prop_assert_eq!(verdict(d.0 + 1), Verdict::Discard, "after {:?}", s);
                    if d.0 > t {
                        prop_assert_ne!(verdict(d.0 - 1), Verdict::Discard, "before {:?}", s);
                    }
                }
                None => prop_assert_ne!(verdict(t + 60 * 24 * min(60)), Verdict::Discard, "{:?}", s),
            }
        }
    }

    /// `next` is when the verdict gets worse, and to what; without one it stays, if the item is left where it is.
    #[test]
    fn next_is_when_it_gets_worse(story in stories(0), when in any::<Index>()) {
        let all = story.instants(40);
        let t = all[when.index(all.len())];
        let alone = left_alone(&story, t).read();
        for item in 0..story.items {
            let Some(s) = alone.at(item, t).filter(|s| s.state != Phase::Closed) else { continue };
            let verdict = |t: i64| alone.at(item, t).expect("it has begun").verdict;
            match &s.next {
                Some(next) => {
                    prop_assert!(next.at.0 >= t && next.verdict > s.verdict, "{:?}", s);
                    let after = alone.at(item, next.at.0 + 1).expect("it has begun");
                    if after.verdict < next.verdict && after.state == Phase::Out {
                        prop_assert!(over_once_warm(&story, t, item, next.at.0 + 1, next.verdict), "{:?}", s);
                        continue;
                    }
                    if after.verdict < next.verdict {
                        // In the cold a sum may stand at its allowed limit exactly: over it is as soon as it is out.
                        prop_assert!(matches!(after.state, Phase::Cold | Phase::Frozen), "after {:?}", s);
                        let out = Event { at: next.at.0 + 1, what: What::Move { item, place: String::from("shelf") } };
                        let out = left_alone(&story, t).and(out).read().at(item, next.at.0 + 2);
                        prop_assert!(out.is_some_and(|s| s.verdict >= next.verdict), "taken out after {:?}", s);
                        continue;
                    }
                    if next.at.0 > t {
                        prop_assert_eq!(verdict(next.at.0 - 1), s.verdict, "before {:?}", s);
                    }
                }
                None => prop_assert_eq!(verdict(t + 60 * 24 * min(60)), s.verdict, "{:?}", s),
            }
        }
    }

    /// `left_ms` in the cold is what `discard_by` leaves once it is taken out, into a place that counts everywhere. (Of the
    /// air nothing is supposed but that it is mild, which no reading says of all time to come.)
    #[test]
    fn left_in_the_cold_is_left_when_taken_out(story in stories(AIR), when in any::<Index>()) {
        let all = story.instants(40);
        let t = all[when.index(all.len())];
        let story = left_alone(&story, t);
        let known = story.read();
        for item in 0..story.items {
            let Some(s) = known.at(item, t) else { continue };
            let begun = story.events.iter().any(|e| e.at == t && matches!(e.what, What::Begin { item: i, .. } if i == item));
            let taken = story.and(Event { at: t, what: What::Move { item, place: String::from("shelf") } });
            let left = match s.state {
                Phase::Closed => continue,
                Phase::Out => match s.discard_by {
                    Some(d) => Some((d.0 - t).max(0)),
                    None => continue,
                },
                // Moved in the instant of its beginning it would have begun out.
                _ if begun => continue,
                _ => taken.read().at(item, t).and_then(|s| s.discard_by).map(|d| (d.0 - t).max(0)),
            };
            let left = if s.verdict == Verdict::Discard { Some(0) } else { left };
            prop_assert_eq!(s.left_ms, left, "{:?}", s);
        }
    }

    /// An early instant sees nothing of what came later.
    #[test]
    fn an_early_instant_sees_nothing_later(story in stories(0), when in any::<Index>()) {
        let all = story.instants(40);
        let t = all[when.index(all.len())];
        prop_assert_eq!(story.read().standings(t), story.until(t).read().standings(t));
    }

    /// A correction equals having written it right.
    #[test]
    fn a_correction_equals_having_written_it_right(story in stories(0), wrong in prop::collection::vec((any::<Index>(), any::<Index>(), -300..300i64), 1..5)) {
        let mut right = set_up();
        let mut lines = Vec::new();
        for line in story.events.iter().flat_map(Event::lines) {
            right = right.add(line.clone());
            lines.push((right.seq(), line));
        }
        let mut misread = right.clone();
        let mut corrections = Vec::new();
        for (which, other, minutes) in wrong {
            let (seq, line) = &lines[which.index(lines.len())];
            if corrections.iter().any(|(done, _)| done == seq) {
                continue;
            }
            // The members written wrongly, and what they should have been.
            let mut bad = line.clone();
            let mut set = json!({});
            let name = ["at", "place", "value", "rules", "until", "from"][other.index(6)];
            let Some(true_value) = line.get(name).cloned() else { continue };
            bad[name] = match name {
                "at" | "until" => json!(Instant(instant(true_value.as_str().expect("a time")).0 + min(minutes)).to_string()),
                "place" => json!("case"),
                "value" => json!("7.7"),
                "rules" => json!(["two-hour"]),
                _ => json!(["i0"]),
            };
            set[name] = true_value;
            misread.lines[*seq - 1] = bad.to_string();
            corrections.push((*seq, set));
        }
        for (seq, set) in corrections {
            misread = misread.set(seq, "+20 00:00", set);
        }
        let (right, misread) = (Known::of(&right).expect("accepted"), Known::of(&misread));
        let misread = misread.ok_or_else(|| TestCaseError::fail("the corrected ledger is refused"))?;
        for t in story.instants(10) {
            prop_assert_eq!(right.standings(t), misread.standings(t));
        }
    }

    /// What never happened, once it is voided, is as if it had not been written.
    #[test]
    fn a_void_entry_equals_one_never_written(story in stories(0), lapse in any::<bool>(), when in any::<Index>(), place in any::<Index>(), item in any::<Index>()) {
        let at = story.events[when.index(story.events.len())].at + 1;
        let what = if lapse {
            What::Lapse { place: COLD[place.index(COLD.len())], until: Some(at + min(90)) }
        } else {
            What::Food { item: item.index(story.items), tenths: 900 }
        };
        let ledger = Event { at, what }.lines().into_iter().fold(story.ledger(), Ledger::add);
        if ledger.refused().is_none() {
            let seq = ledger.seq();
            let voided = Known::of(&ledger.void(seq, "+20 00:00")).expect("accepted");
            let plain = story.read();
            for t in story.instants(10) {
                prop_assert_eq!(plain.standings(t), voided.standings(t));
            }
        }
    }

    /// The lines of time out add up to the total.
    #[test]
    fn the_lines_add_up_to_the_total(story in stories(0)) {
        let known = story.read();
        for t in story.instants(10) {
            let fold = Fold::new(&known.state, Instant(t), Zone::UTC);
            for item in 0..story.items {
                let Some(s) = known.at(item, t) else { continue };
                let (id, _) = known.state.items.get_key_value(&s.item).expect("an item");
                let spells = fold.spells(id);
                let sum: i64 = spells.iter().map(|l| l.length_ms(s.as_of)).sum();
                prop_assert_eq!(sum, s.total_out_ms, "{:?}", spells);
            }
        }
    }

    /// What a standing says of itself fits together.
    #[test]
    fn a_standing_fits_together(story in stories(0)) {
        let known = story.read();
        for t in story.instants(14) {
            for s in known.standings(t).into_iter().flatten() {
                prop_assert!(s.as_of.0 <= t && s.total_out_ms >= 0 && s.spell_ms >= 0);
                prop_assert_eq!(s.spells == 0, s.first_out_at.is_none());
                prop_assert!(s.spells > 0 || s.total_out_ms == 0);
                prop_assert!(s.first_out_at.is_none_or(|f| f <= s.as_of));
                prop_assert!(s.left_ms.is_none_or(|l| l >= 0));
                prop_assert_eq!(s.discard_by.is_some(), s.decides.is_some());
                if s.state != Phase::Out {
                    prop_assert_eq!(s.return_by, None);
                    prop_assert!(s.state == Phase::Closed || s.verdict != Verdict::Return);
                } else if s.verdict > Verdict::Within && !s.deviations.iter().any(|d| d.code == "made-from-over") {
                    prop_assert!(s.return_by.is_none_or(|r| r <= s.as_of), "{:?}", s);
                }
                if s.state == Phase::Closed {
                    prop_assert!(s.next.is_none() && s.use_by.is_none());
                }
                if s.state == Phase::Frozen {
                    prop_assert_eq!(s.use_by.as_deref(), None);
                }
                if s.verdict == Verdict::Discard {
                    prop_assert!(s.left_ms == Some(0) && s.next.is_none() && s.discard_by.is_some_and(|d| d <= s.as_of));
                }
                // Each reason is of a breached clause that was reached by now.
                for r in &s.reasons {
                    prop_assert!(r.reached_at.is_some_and(|at| at <= s.as_of), "{:?}", s);
                    prop_assert!(r.used_ms.is_some() || r.used.is_some());
                }
                let worst = s.reasons.iter().filter_map(|r| r.verdict.verdict()).filter(|v| *v != Verdict::Return || s.state == Phase::Out).max();
                if !s.deviations.iter().any(|d| d.code == "made-from-over") && s.state != Phase::Closed {
                    prop_assert_eq!(worst.unwrap_or(Verdict::Within), s.verdict, "{:?}", s);
                }
                prop_assert!(s.deviations.is_sorted());
                prop_assert!(s.reasons.iter().all(|r| r.verdict != Demand::Deviation || r.measure == "start_temperature" || r.measure == "cooled"));
            }
        }
    }
}

/// The random ledgers reach every state and verdict, breach every measure, and deviate in every way but those of labels
/// and of late entries, so that what is said of all of them is said of something.
#[test]
fn the_stories_reach_everything() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    let mut seen = std::collections::BTreeSet::new();
    for _ in 0..300 {
        let story = stories(0).new_tree(&mut runner).expect("a story").current();
        let known = story.read();
        for s in story.instants(8).into_iter().flat_map(|t| known.standings(t)).flatten() {
            seen.insert(format!("{:?}", s.state));
            seen.insert(s.verdict.to_string());
            seen.extend(s.reasons.iter().map(|r| r.measure.to_owned()));
            seen.extend(s.deviations.iter().map(|d| d.code.to_owned()));
            seen.extend(s.return_by.map(|_| String::from("return_by")));
            seen.extend(s.next.map(|n| format!("next {}", n.verdict)));
        }
    }
    for what in [
        "Out",
        "Cold",
        "Frozen",
        "Closed",
        "within",
        "return",
        "use",
        "discard",
        "total_out",
        "since_first_out",
        "spells",
        "longest_spell",
        "out_above",
        "food_temperature",
        "start_temperature",
        "day",
        "cooled",
        "returned-late",
        "returned-not-allowed",
        "start-warm",
        "start-unread",
        "not-cooled",
        "made-from-over",
        "served-late",
        "return_by",
        "next return",
        "next use",
        "next discard",
    ] {
        assert!(seen.contains(what), "{what} is not among {seen:?}");
    }
}

fn only_worse(story: &Story) -> Result<(), TestCaseError> {
    let known = story.read();
    let mut before: Vec<Option<Standing>> = vec![None; 5];
    for t in story.instants(60) {
        for (was, now) in before.iter_mut().zip(known.standings(t)) {
            let Some(now) = now else { continue };
            if let Some(was) = was.as_ref() {
                prop_assert!(lasting(&now) >= lasting(was), "{} at {}: {:?} then {:?}", now.item, Instant(t), was, now);
            }
            *was = Some(now);
        }
    }
    Ok(())
}
