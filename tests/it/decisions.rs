//! Decisions and the day's review through the front door: each kind of line appears, stays, and goes by an entry alone.
//!
//! Guards against S-27 of SAFETY.md.

use crate::kit::actor::Actor;
use crate::kit::browser::{Browser, Page};
use crate::kit::house::{self, House};
use crate::record::procedure::in_force;
use counterclock::web::clocks::Server;
use serde_json::{Value, json};

both!(
    over_stays_until_it_is_thrown_away,
    what_may_not_go_back,
    an_acknowledgement_deals_with_nothing_that_is_over,
    each_deviation_is_decided,
    what_happens_again_is_listed_again,
    a_decision_posted_by_hand,
    of_closed_items_after_they_have_left_the_memory,
    unread_at_the_start_is_one_line_a_day,
    a_late_label_and_a_missing_one_are_marked,
    late_entries_are_one_line_a_day,
    a_clock_that_jumps,
    five_within_a_minute,
    seen_elsewhere,
    out_when_the_shop_closed,
    a_rule_without_approval,
    the_procedure,
    a_place_that_nobody_read,
    the_day_is_signed,
    who_may_look,
    forms_that_say_too_little,
    twice_is_once,
    nothing_goes_by_itself,
);

const PATH: &str = "/s/shop/decisions";
const KEY: &str = "aabbccddeeff00112233445566778899";

/// The day after the one on which the service was opened: a ledger's own time never runs back.
fn next(short: &str) -> String {
    let (day, clock) = short.split_once(' ').unwrap_or(("0", short));
    format!("{} {clock}", day.parse::<u32>().expect("a number of days") + 1)
}

fn t(short: &str) -> String {
    house::t(&next(short))
}

fn set(house: &House, short: &str) {
    house.set(&next(short));
}

async fn signed_in(house: &House, role: &str) -> Browser {
    let browser = Browser::new(house);
    browser.submit("/sign-in", &[("token", &house.role(role).1)]).await.goes("./");
    browser
}

/// A shop at eight in the morning, and its manager.
async fn shop(house: &House) -> Browser {
    set(house, "06:00");
    house.set_up().await;
    set(house, "08:00");
    signed_in(house, "manager").await
}

async fn item(house: &House, id: &str, place: &str, rule: &str) {
    let entry = json!({"kind": "item", "item": id, "name": format!("The {id}"), "place": place, "rules": [rule]});
    house.write(entry).await;
}

async fn go(house: &House, at: &str, id: &str, place: &str) {
    set(house, at);
    house.write(json!({"kind": "move", "item": id, "place": place})).await;
}

async fn close(house: &House, at: &str, id: &str, how: &str) {
    set(house, at);
    house.write(json!({"kind": "close", "item": id, "as": how})).await;
}

/// What always waits in a shop of these tests, unless a test is about it.
const ALWAYS: [&str; 5] = ["no-procedure", "rule-unapproved", "unsigned", "no-reading", "out-at-closing"];

/// The codes of the lines, in their order.
async fn all(browser: &Browser) -> Vec<String> {
    let page = browser.open(PATH).await;
    assert_eq!(page.status(), 200, "{}", page.0.text());
    let classes = page.attributes("li.matter", "class");
    classes.iter().map(|c| c.trim_start_matches("matter m-").to_owned()).collect()
}

async fn codes(browser: &Browser) -> Vec<String> {
    all(browser).await.into_iter().filter(|c| !ALWAYS.contains(&c.as_str())).collect()
}

async fn has(browser: &Browser, code: &str) -> bool {
    all(browser).await.iter().any(|c| c == code)
}

/// The text of a line.
async fn line(browser: &Browser, code: &str) -> String {
    browser.open(PATH).await.text(&format!("li.m-{code}"))
}

async fn send(browser: &Browser, code: &str, action: &str, reason: &str, key: &str) -> Page {
    let page = browser.open(PATH).await;
    let of = page.attributes(&format!("li.m-{code} input[name=of]"), "value");
    assert!(!of.is_empty(), "{code} has no form");
    let mut fields = vec![("key", key), ("code", code), ("action", action), ("reason", reason)];
    fields.extend(of.iter().map(|h| ("of", h.as_str())));
    browser.submit(PATH, &fields).await
}

/// Decides every line of that code by its form.
async fn decide(browser: &Browser, code: &str, action: &str) {
    send(browser, code, action, "Spoken about.", "").await.goes("../../s/shop/decisions?said=done");
}

async fn last(house: &House) -> Value {
    house.tail().await.pop().expect("an entry")
}

async fn over_stays_until_it_is_thrown_away(house: House) {
    let manager = shop(&house).await;
    item(&house, "cake", "bench", "sum-2h-4h").await;
    set(&house, "11:59:59");
    assert_eq!(codes(&manager).await, ["no-return"]);
    set(&house, "12:00");
    assert_eq!(codes(&manager).await, ["over"]);
    let page = manager.open(PATH).await;
    assert_eq!(page.text("section h2"), "Over, and not dealt with");
    assert!(page.text("li.m-over").contains("The cake in bench, 13:00"), "{}", page.text("li.m-over"));
    assert_eq!(page.attributes("li.m-over .do", "href"), ["../../s/shop/items/cake/end"]);
    go(&house, "12:30", "cake", "fridge").await;
    assert_eq!(all(&manager).await[0], "over");
    close(&house, "12:40", "cake", "discarded").await;
    assert_eq!(codes(&manager).await, ["returned-late"]);
}

async fn what_may_not_go_back(house: House) {
    let manager = shop(&house).await;
    item(&house, "cake", "bench", "sum-2h-4h").await;
    set(&house, "09:59:59");
    assert_eq!(codes(&manager).await, [""; 0]);
    set(&house, "10:00");
    assert_eq!(codes(&manager).await, ["no-return"]);
    close(&house, "10:30", "cake", "sold").await;
    assert_eq!(codes(&manager).await, [""; 0]);
    item(&house, "pie", "bench", "sum-2h-4h").await;
    set(&house, "12:30");
    decide(&manager, "no-return", "keep").await;
    assert_eq!(codes(&manager).await, [""; 0]);
    // What comes of it is another matter.
    set(&house, "14:30");
    assert_eq!(codes(&manager).await, ["over"]);
}

async fn an_acknowledgement_deals_with_nothing_that_is_over(house: House) {
    let manager = shop(&house).await;
    item(&house, "cake", "bench", "sum-2h-4h").await;
    set(&house, "12:30");
    let page = manager.open(PATH).await;
    assert_eq!(page.attributes("li.m-over input[type=radio]", "value"), ["keep", "corrected"]);
    house.write(json!({"kind": "decide", "about": "cake", "action": "acknowledge", "reason": "Seen."})).await;
    house.write(json!({"kind": "decide", "about": "cake", "action": "keep", "reason": "Of something else."})).await;
    let note = format!("over {}", t("12:00"));
    house
        .write(json!({"kind": "decide", "about": "cake", "action": "acknowledge", "reason": "Seen.", "note": note}))
        .await;
    assert_eq!(codes(&manager).await, ["over"]);
    let refused = send(&manager, "over", "acknowledge", "Seen.", "").await;
    refused.says(400, "Touch what was decided.");
    decide(&manager, "over", "keep").await;
    let written = last(&house).await;
    assert_eq!((&written["about"], &written["note"]), (&json!("cake"), &json!(note)));
    assert_eq!(codes(&manager).await, [""; 0]);
}

/// A ledger in which each deviation is made once.
async fn deviating(house: &House) -> Browser {
    let manager = shop(house).await;
    for (id, place, rule) in [
        ("late-back", "bench", "sum-2h-4h"),
        ("no-way-back", "fridge", "us-time-4h"),
        ("warm", "fridge", "us-time-4h"),
        ("curd", "bench", "us-cooling"),
        ("served", "bench", "sum-2h-4h"),
        ("cream", "bench", "sum-2h-4h"),
        ("marked", "bench", "sum-2h-4h"),
        ("forgot", "bench", "sum-2h-4h"),
    ] {
        item(house, id, place, rule).await;
    }
    let read = |id: &str, value: &str| json!({"kind": "reading", "item": id, "value": value, "unit": "C"});
    house.write(json!([read("warm", "8.0"), read("no-way-back", "3.0")])).await;
    let mark =
        |id: &str, by: &str| json!({"kind": "mark", "item": id, "discard_by": t(by), "how": "written", "copy": 1});
    house.write(json!([mark("marked", "14:00"), mark("forgot", "12:00")])).await;
    set(house, "08:05");
    house.write(json!({"kind": "move", "items": ["no-way-back", "warm"], "place": "bench"})).await;
    house.write(json!([mark("warm", "12:00"), mark("no-way-back", "12:00")])).await;
    go(house, "09:00", "no-way-back", "fridge").await;
    set(house, "09:30");
    house.write(json!({"kind": "move", "item": "forgot", "place": "fridge", "at": t("08:30")})).await;
    go(house, "10:30", "late-back", "fridge").await;
    set(house, "12:05");
    let new = json!({"kind": "item", "item": "trifle", "name": "The trifle", "place": "fridge", "from": ["cream"],
        "rules": ["sum-2h-4h"]});
    house.write(new).await;
    house.write(json!({"kind": "close", "item": "served", "as": "served"})).await;
    manager
}

const DEVIATIONS: [&str; 8] = [
    "served-late",
    "made-from-over",
    "label-late",
    "returned-late",
    "returned-not-allowed",
    "start-warm",
    "not-cooled",
    "entered-late",
];

async fn each_deviation_is_decided(house: House) {
    let manager = deviating(&house).await;
    let found = all(&manager).await;
    for code in DEVIATIONS {
        assert_eq!(found.iter().filter(|c| *c == code).count(), 1, "{code} in {found:?}");
    }
    // Half a day later they wait as they did.
    set(&house, "23:00");
    for (n, code) in DEVIATIONS.iter().enumerate() {
        assert!(has(&manager, code).await, "{code} has gone by itself");
        let action = ["acknowledge", "keep", "corrected", "dismiss"][n % 4];
        let before = house.head().await;
        decide(&manager, code, action).await;
        assert!(!has(&manager, code).await, "{code} is still there");
        let written = last(&house).await;
        assert_eq!((&written["action"], &written["reason"]), (&json!(action), &json!("Spoken about.")), "{code}");
        assert_eq!(house.head().await, before + 1, "{code}");
        // Struck out, the decision settles nothing any more.
        if n == 0 {
            house.write(json!({"kind": "correct", "entry": before + 1, "void": true, "reason": "Not said."})).await;
            assert!(has(&manager, code).await);
            decide(&manager, code, action).await;
        }
    }
    house.agrees().await;
}

async fn what_happens_again_is_listed_again(house: House) {
    let manager = shop(&house).await;
    item(&house, "cake", "bench", "sum-2h-4h").await;
    go(&house, "10:30", "cake", "fridge").await;
    decide(&manager, "returned-late", "acknowledge").await;
    assert!(!has(&manager, "returned-late").await);
    go(&house, "10:40", "cake", "bench").await;
    go(&house, "10:50", "cake", "fridge").await;
    let said = line(&manager, "returned-late").await;
    assert!(said.contains("11:50") && !said.contains("11:30"), "{said}");
}

async fn a_decision_posted_by_hand(house: House) {
    let manager = shop(&house).await;
    item(&house, "cake", "bench", "sum-2h-4h").await;
    item(&house, "pie", "bench", "sum-2h-4h").await;
    set(&house, "10:30");
    let moved = house.write(json!({"kind": "move", "items": ["cake", "pie"], "place": "fridge"})).await;
    let count = |found: &[String]| found.iter().filter(|c| *c == "returned-late").count();
    assert_eq!(count(&all(&manager).await), 2);
    // About the entry by which it was done, and about the item.
    let about =
        |about: Value| json!({"kind": "decide", "about": about, "action": "acknowledge", "reason": "Told them."});
    house.write(about(moved["entries"][0]["seq"].clone())).await;
    assert_eq!(count(&all(&manager).await), 1);
    house.write(about(json!("pie"))).await;
    assert_eq!(count(&all(&manager).await), 0);
    // Not what happens after it.
    go(&house, "10:40", "pie", "bench").await;
    go(&house, "10:50", "pie", "fridge").await;
    assert_eq!(count(&all(&manager).await), 1);
}

async fn of_closed_items_after_they_have_left_the_memory(house: House) {
    let manager = shop(&house).await;
    item(&house, "cake", "bench", "sum-2h-4h").await;
    close(&house, "12:10", "cake", "served").await;
    for day in ["1", "2", "9"] {
        set(&house, &format!("{day} 08:00"));
        item(&house, &format!("cake-{day}"), "fridge", "sum-2h-4h").await;
        let said = line(&manager, "served-late").await;
        assert!(said.contains("The cake in bench"), "day {day}: {said}");
    }
    house.restart().await;
    assert!(has(&manager, "served-late").await);
    assert!(manager.open(PATH).await.text("main").contains("the last 14 days of what closed"));
    decide(&manager, "served-late", "acknowledge").await;
    assert!(!has(&manager, "served-late").await);
}

async fn unread_at_the_start_is_one_line_a_day(house: House) {
    let manager = shop(&house).await;
    for (id, day) in [("a", "08:10"), ("b", "08:20"), ("c", "1 08:10")] {
        set(&house, day);
        item(&house, id, "bench", "us-time-4h").await;
    }
    let lines = all(&manager).await.into_iter().filter(|c| c == "start-unread").count();
    assert_eq!(lines, 2);
    let page = manager.open(PATH).await;
    assert_eq!(page.texts("li.m-start-unread .thing"), ["The a", "The b", "The c"]);
    // One form decides the day, an entry an item.
    let of = page.attributes("li.m-start-unread input[name=of]", "value");
    let of: Vec<_> = of.iter().filter(|h| h.contains("2026-05-05")).collect();
    let mut fields = vec![("code", "start-unread"), ("action", "acknowledge"), ("reason", "No probe.")];
    fields.extend(of.iter().map(|h| ("of", h.as_str())));
    let before = house.head().await;
    manager.submit(PATH, &fields).await.goes("../../s/shop/decisions?said=done");
    assert_eq!(house.head().await, before + 2);
    assert_eq!(manager.open(PATH).await.texts("li.m-start-unread .thing"), ["The c"]);
}

async fn a_late_label_and_a_missing_one_are_marked(house: House) {
    let manager = shop(&house).await;
    item(&house, "cake", "bench", "us-time-4h").await;
    item(&house, "pie", "bench", "us-time-4h").await;
    let mark = |id: &str, by: &str, copy: u32| json!({"kind": "mark", "item": id, "discard_by": t(by), "how": "written", "copy": copy});
    house.write(mark("pie", "13:00", 1)).await;
    set(&house, "08:14:59");
    assert!(!has(&manager, "unmarked").await && has(&manager, "label-late").await);
    set(&house, "08:15");
    assert!(has(&manager, "unmarked").await);
    assert_eq!(manager.open(PATH).await.attributes("li.m-unmarked .do", "href"), ["../../s/shop/items/cake/mark"]);
    house.write(json!([mark("cake", "12:00", 1), mark("pie", "12:00", 2)])).await;
    let now = all(&manager).await;
    assert!(!now.iter().any(|c| c == "unmarked" || c == "label-late"), "{now:?}");
    item(&house, "tart", "bench", "us-time-4h").await;
    set(&house, "08:40");
    decide(&manager, "unmarked", "dismiss").await;
    assert!(!has(&manager, "unmarked").await);
}

async fn late_entries_are_one_line_a_day(house: House) {
    let manager = shop(&house).await;
    item(&house, "cake", "fridge", "sum-2h-4h").await;
    item(&house, "pie", "fridge", "sum-2h-4h").await;
    let moved = |id: &str, place: &str, at: &str| json!({"kind": "move", "item": id, "place": place, "at": t(at)});
    set(&house, "08:22");
    house.write(moved("cake", "bench", "08:20")).await;
    assert!(!has(&manager, "late").await, "two minutes are not late");
    set(&house, "09:00");
    house.write(json!([moved("cake", "fridge", "08:30"), moved("pie", "bench", "08:40")])).await;
    set(&house, "1 08:00");
    house.write(moved("pie", "fridge", "09:10")).await;
    assert_eq!(manager.open(PATH).await.texts("li.m-late .thing"), ["The cake", "The pie", "The pie"]);
    assert_eq!(all(&manager).await.iter().filter(|c| *c == "late").count(), 2);
    let said = line(&manager, "late").await;
    assert!(said.contains("entered 30 min late, Tue 5 May, 10:00, by manager"), "{said}");
    // Struck out, it is no entry any more.
    let seq = last(&house).await["seq"].clone();
    house.write(json!({"kind": "correct", "entry": seq, "void": true, "reason": "Never was."})).await;
    assert_eq!(manager.open(PATH).await.texts("li.m-late .thing"), ["The cake", "The pie"]);
    decide(&manager, "late", "keep").await;
    assert!(!has(&manager, "late").await);
}

async fn five_within_a_minute(house: House) {
    let manager = shop(&house).await;
    for id in ["a", "b", "c", "d", "e"] {
        item(&house, id, "fridge", "sum-2h-4h").await;
    }
    let out = |id: &str, at: &str| json!({"kind": "move", "item": id, "place": "bench", "at": t(at)});
    let back = |id: &str, at: &str| json!({"kind": "move", "item": id, "place": "fridge", "at": t(at)});
    // Four, and a fifth after more than a minute.
    set(&house, "09:00");
    house.write(json!([out("a", "08:40"), out("b", "08:45"), out("c", "08:50"), out("d", "08:55")])).await;
    set(&house, "09:01:00.001");
    house.write(out("e", "09:01")).await;
    assert!(!has(&manager, "burst").await);
    // Five within the minute, but no more than a quarter of an hour apart.
    set(&house, "09:20");
    let five = [back("a", "09:05"), back("b", "09:10"), back("c", "09:15"), back("d", "09:20"), back("e", "09:20")];
    house.write(json!(five)).await;
    assert!(!has(&manager, "burst").await);
    // By two people: not by one.
    set(&house, "09:40");
    house.write(json!([out("a", "09:24"), out("b", "09:25"), out("c", "09:26")])).await;
    house.staff().post(&json!([out("d", "09:24"), out("e", "09:40")])).await.ok();
    assert!(!has(&manager, "burst").await);
    set(&house, "09:50");
    let seqs = house.write(json!([back("a", "09:34"), back("b", "09:41"), back("c", "09:44")])).await;
    set(&house, "09:51");
    house.write(json!([back("d", "09:49:00.001"), back("e", "09:50")])).await;
    let said = line(&manager, "burst").await;
    assert!(
        said.contains("manager : 5 entries within a minute, 10:50")
            || said.contains("manager: 5 entries within a minute, 10:50"),
        "{said}"
    );
    decide(&manager, "burst", "acknowledge").await;
    assert!(!has(&manager, "burst").await);
    let settled = last(&house).await;
    assert_eq!(settled["about"], seqs["entries"][0]["seq"]);
}

/// A clock that was set is decided about for every shop, each jump by itself.
/// Guards against S-69.
async fn a_clock_that_jumps(house: House) {
    let manager = shop(&house).await;
    let mut server = Server::start(house.service()).await.expect("noted");
    set(&house, "+1 08:00");
    assert!(server.look().await.expect("a look").is_some());
    assert_eq!(codes(&manager).await, ["clock-jumped"]);
    let said = line(&manager, "clock-jumped").await;
    assert!(said.contains("jumped forward by 24 h"), "{said}");
    // Set right, and what was noted lies in the future.
    set(&house, "08:00:30");
    assert!(server.look().await.expect("a look").is_some());
    assert_eq!(codes(&manager).await, ["clock-jumped"; 2]);
    // A decision is about one of them alone.
    let page = manager.open(PATH).await;
    let of = page.attributes("li.m-clock-jumped input[name=of]", "value");
    let fields = [("code", "clock-jumped"), ("action", "corrected"), ("reason", "Set by hand."), ("of", &*of[0])];
    manager.submit(PATH, &fields).await.goes("../../s/shop/decisions?said=done");
    assert_eq!(codes(&manager).await, ["clock-jumped"]);
    decide(&manager, "clock-jumped", "acknowledge").await;
    assert_eq!(codes(&manager).await, [""; 0]);
    // A server that starts by a clock that is behind what the last one saw.
    set(&house, "07:00");
    Server::start(house.service()).await.expect("noted");
    assert_eq!(codes(&manager).await, ["clock-jumped"]);
}

async fn seen_elsewhere(house: House) {
    let manager = shop(&house).await;
    for id in ["a", "b", "c", "d"] {
        item(&house, id, "fridge", "sum-2h-4h").await;
    }
    set(&house, "08:30");
    house.write(json!({"kind": "seen", "items": ["a", "b", "c", "d"], "place": "bench"})).await;
    assert_eq!(manager.open(PATH).await.texts("li.m-seen-elsewhere .thing"), ["The a", "The b", "The c", "The d"]);
    set(&house, "09:00");
    // Since when it was out is said now; or it is taken there; or it has ended.
    house.write(json!({"kind": "move", "item": "a", "place": "bench", "at": t("08:10")})).await;
    go(&house, "09:01", "b", "bench").await;
    go(&house, "09:02", "c", "walk-in").await;
    close(&house, "09:03", "d", "lost").await;
    assert_eq!(manager.open(PATH).await.texts("li.m-seen-elsewhere .thing"), ["The c"]);
    decide(&manager, "seen-elsewhere", "dismiss").await;
    assert!(!has(&manager, "seen-elsewhere").await);
    house.write(json!({"kind": "seen", "item": "c", "place": "walk-in"})).await;
    assert!(!has(&manager, "seen-elsewhere").await);
}

async fn out_when_the_shop_closed(house: House) {
    let manager = shop(&house).await;
    for id in ["a", "b", "c"] {
        item(&house, id, "fridge", "two-hour").await;
    }
    set(&house, "17:00");
    house.write(json!({"kind": "move", "items": ["a", "b"], "place": "bench"})).await;
    set(&house, "20:59:59");
    assert!(!has(&manager, "out-at-closing").await);
    set(&house, "21:00");
    assert_eq!(manager.open(PATH).await.texts("li.m-out-at-closing .thing"), ["The a", "The b"]);
    // Put away in the morning, it was out all the same.
    go(&house, "1 06:00", "a", "fridge").await;
    assert_eq!(manager.open(PATH).await.texts("li.m-out-at-closing .thing"), ["The a", "The b"]);
    // It hadn't been; and the other is thrown away.
    house.write(json!({"kind": "correct", "entry": last(&house).await["seq"], "set": {"at": t("17:00")}, "reason": "Saw it."})).await;
    close(&house, "1 06:10", "b", "discarded").await;
    assert!(!has(&manager, "out-at-closing").await);
    go(&house, "1 17:00", "c", "bench").await;
    set(&house, "1 22:00");
    decide(&manager, "out-at-closing", "acknowledge").await;
    assert!(!has(&manager, "out-at-closing").await);
}

async fn a_rule_without_approval(house: House) {
    let manager = shop(&house).await;
    let rule = |id: &str, basis: &str| {
        json!({"kind": "rule", "rule": id, "name": format!("Rule {id}"), "returns": "any",
            "clauses": [{"measure": "total_out", "limit": "PT3H", "verdict": "discard"}],
            "source": {"title": "Our sheet", "basis": basis}})
    };
    house.write(json!([rule("a", "from memory"), rule("b", "published"), rule("c", "common practice")])).await;
    let names = async || manager.open(PATH).await.texts("li.m-rule-unapproved .of").join(" ");
    let said = names().await;
    assert!(said.contains("“Rule a” rests on: from memory") && said.contains("Rule c"), "{said}");
    assert!(!said.contains("Rule b"), "{said}");
    // An approval that rests on nothing doesn't count.
    house.write(json!({"kind": "approve", "what": "a"})).await;
    assert!(names().await.contains("Rule a"));
    manager.submit(PATH, &[("approve", "a"), ("reference", " ")]).await.says(400, "Say what the approval rests on.");
    let sent = [("approve", "a"), ("reference", "Letter 77-3")];
    manager.submit(PATH, &sent).await.goes("../../s/shop/decisions?said=done");
    assert_eq!(last(&house).await["reference"], "Letter 77-3");
    assert!(!names().await.contains("Rule a"));
    decide(&manager, "rule-unapproved", "acknowledge").await;
    assert!(!has(&manager, "rule-unapproved").await);
}

async fn the_procedure(house: House) {
    let manager = shop(&house).await;
    assert!(has(&manager, "no-procedure").await);
    let page = manager.open(PATH).await;
    assert_eq!(page.attributes("li.m-no-procedure .do", "href"), ["../../s/shop/procedure"]);
    assert_eq!(page.attributes("li.m-no-procedure form", "action"), [""; 0], "only an approval mends that");
    in_force(&manager, &[("review-on", "2026-05-08")]).await;
    let waits = async || (has(&manager, "no-procedure").await, has(&manager, "procedure-review").await);
    assert_eq!(waits().await, (false, false));
    house.set("3 08:00");
    assert_eq!(waits().await, (false, false));
    // Its review's date comes: a new version says when it is looked through again.
    house.set("4 08:00");
    assert_eq!(waits().await, (false, true));
    in_force(&manager, &[("review-on", "2026-06-08")]).await;
    assert_eq!(waits().await, (false, false));
}

async fn a_place_that_nobody_read(house: House) {
    let manager = shop(&house).await;
    let unread = async || manager.open(PATH).await.text("li.m-no-reading");
    set(&house, "1 06:00");
    assert_eq!(unread().await, "");
    set(&house, "1 06:00:00.001");
    let said = unread().await;
    for place in ["fridge:", "walk-in:", "freezer:", "case:"] {
        assert!(said.contains(place), "{place} {said}");
    }
    assert!(!said.contains("bench:"), "{said}");
    let air = |place: &str| json!({"kind": "reading", "place": place, "value": "3.0", "unit": "C"});
    house.write(json!([air("fridge"), air("walk-in")])).await;
    let said = unread().await;
    assert!(!said.contains("fridge:") && said.contains("freezer:"), "{said}");
    decide(&manager, "no-reading", "acknowledge").await;
    assert_eq!(unread().await, "");
    // Another day, the same question.
    set(&house, "2 06:00");
    let said = unread().await;
    assert!(said.contains("freezer:") && !said.contains("fridge:"), "{said}");
}

const REVIEW: &str = "/s/shop/review";

/// Signs a day as its page asks; answers what was sent too.
async fn sign(manager: &Browser, on: &str) -> (Page, String) {
    let page = manager.open(&format!("{REVIEW}?on={on}")).await;
    let head = page.attributes("input[name=head]", "value").pop().expect("a form to sign");
    (manager.submit(REVIEW, &[("on", on), ("head", &head), ("key", KEY)]).await, head)
}

/// Guards against S-28.
async fn the_day_is_signed(house: House) {
    let manager = shop(&house).await;
    item(&house, "cake", "fridge", "sum-2h-4h").await;
    let unsigned = async || manager.open(PATH).await.attributes("li.m-unsigned .do", "href");
    assert!(!unsigned().await.iter().any(|a| a.ends_with("2026-05-05")), "the day isn't over");
    set(&house, "1 08:00");
    assert!(unsigned().await.iter().any(|a| a.ends_with("review?on=2026-05-05")));
    let page = manager.open(&format!("{REVIEW}?on=2026-05-05")).await;
    assert!(
        page.texts("section[aria-labelledby=all] li")
            .iter()
            .any(|l| l.contains("The cake") && l.contains("begun in fridge"))
    );
    let (page, head) = sign(&manager, "2026-05-05").await;
    page.goes("../../s/shop/review?on=2026-05-05&said=done");
    let signed = last(&house).await;
    assert_eq!(
        (&signed["kind"], &signed["from"], &signed["to"]),
        (&json!("review"), &json!("2026-05-05"), &json!("2026-05-05"))
    );
    assert!(!unsigned().await.iter().any(|a| a.ends_with("2026-05-05")));
    let page = manager.open(&format!("{REVIEW}?on=2026-05-05")).await;
    assert_eq!(page.text(".may"), "Read and signed by manager, 09:00.");
    // Two touches sign once.
    assert_eq!(page.attributes("main form", "action"), [""; 0], "nothing is left to sign");
    let again = manager.submit(REVIEW, &[("on", "2026-05-05"), ("head", &head), ("key", KEY)]).await;
    again.goes("../../s/shop/review?on=2026-05-05&said=done");
    assert_eq!(last(&house).await["seq"], signed["seq"]);
    // What is written about it later opens it again, and stands out there.
    set(&house, "1 09:00");
    house.write(json!({"kind": "move", "item": "cake", "place": "bench", "at": t("09:00")})).await;
    assert!(unsigned().await.iter().any(|a| a.ends_with("2026-05-05")));
    let page = manager.open(&format!("{REVIEW}?on=2026-05-05")).await;
    let odd = page.texts("section[aria-labelledby=odd] li").join(" ");
    assert!(odd.contains("The cake to bench") && odd.contains("entered 24 h 00 min late"), "{odd}");
    assert!(page.text(".warn").contains("Something was written about it after that"));
    // Written while the page lay open: it hasn't been read.
    let head = page.attributes("input[name=head]", "value").pop().expect("a form");
    let moved = last(&house).await["seq"].clone();
    house
        .write(json!({"kind": "correct", "entry": moved, "set": {"place": "shelf"}, "reason": "The other one."}))
        .await;
    let stale = manager.submit(REVIEW, &[("on", "2026-05-05"), ("head", &head)]).await;
    stale.says(400, "Something was written about this day since the page was made.");
    let page = manager.open(&format!("{REVIEW}?on=2026-05-05")).await;
    assert!(page.text("section[aria-labelledby=odd] ins").contains("The other one."));
    let head = page.attributes("input[name=head]", "value").pop().expect("a form");
    manager
        .submit(REVIEW, &[("on", "2026-05-05"), ("head", &head)])
        .await
        .goes("../../s/shop/review?on=2026-05-05&said=done");
    assert!(!unsigned().await.iter().any(|a| a.ends_with("2026-05-05")));
    for on in ["tomorrow", "2026-06-01", "2026-02-30"] {
        assert_eq!(manager.open(&format!("{REVIEW}?on={on}")).await.status(), 404, "{on}");
        assert_eq!(manager.submit(REVIEW, &[("on", on)]).await.status(), 404, "{on}");
    }
    let older = manager.submit(REVIEW, &[("on", "2026-03-01"), ("head", "999")]).await;
    older.says(400, "This page reads the last 14 days.");
    house.agrees().await;
}

async fn who_may_look(house: House) {
    let manager = shop(&house).await;
    item(&house, "cake", "bench", "sum-2h-4h").await;
    set(&house, "12:30");
    let board = manager.open("/s/shop/").await;
    let count = all(&manager).await.len();
    assert_eq!(board.text("a.waiting"), format!("{count} decisions wait"));
    decide(&manager, "over", "keep").await;
    assert_eq!(manager.open("/s/shop/").await.text("a.waiting"), format!("{} decisions wait", count - 1));
    let page = manager.open(&format!("{PATH}?said=done")).await;
    assert_eq!(page.text("[role=status] p"), "Recorded, with your name and the time.");
    for role in ["staff", "inspector"] {
        let other = signed_in(&house, role).await;
        assert_eq!(other.open("/s/shop/").await.texts("a.waiting"), [""; 0], "{role}");
        let page = other.open(PATH).await;
        assert!(page.status() == 200 && !page.texts("li.matter").is_empty(), "{role}");
        assert_eq!(page.texts("main form"), [""; 0], "{role}");
        assert_eq!(page.texts("li.matter .do").is_empty(), role == "inspector", "{role}");
        assert_eq!(other.open(REVIEW).await.texts("main form"), [""; 0], "{role}");
        assert_eq!(other.submit(PATH, &[("code", "over")]).await.status(), 403, "{role}");
        assert_eq!(other.submit(REVIEW, &[("on", "2026-05-04")]).await.status(), 403, "{role}");
    }
}

async fn forms_that_say_too_little(house: House) {
    let manager = shop(&house).await;
    item(&house, "cake", "bench", "sum-2h-4h").await;
    go(&house, "10:30", "cake", "fridge").await;
    let head = house.head().await;
    send(&manager, "returned-late", "keep", " ", "").await.says(400, "Say why.");
    let page = send(&manager, "returned-late", "shout", "It stood & stood.", "").await;
    assert_eq!(page.attributes("li.m-returned-late details[open] input[name=reason]", "value"), ["It stood & stood."]);
    page.says(400, "Touch what was decided.");
    let long = "x".repeat(501);
    assert_eq!(send(&manager, "returned-late", "keep", &long, "").await.status(), 400);
    for of in ["", "cake", "cake 2026-05-05T00:00:00.000Z", "pie 2026-05-05T10:30:00.000Z", "🎂"] {
        let sent = [("code", "returned-late"), ("action", "keep"), ("reason", "Why"), ("of", of)];
        manager.submit(PATH, &sent).await.says(400, "This no longer waits");
    }
    for (code, says) in [
        ("unsigned", "Touch what was decided."),
        ("", "This no longer waits"),
        ("no-such-code", "This no longer waits"),
    ] {
        let sent = [("code", code), ("action", "keep"), ("reason", "Why")];
        manager.submit(PATH, &sent).await.says(400, says);
    }
    assert_eq!(house.head().await, head);
}

async fn twice_is_once(house: House) {
    let manager = shop(&house).await;
    item(&house, "cake", "bench", "sum-2h-4h").await;
    go(&house, "10:30", "cake", "fridge").await;
    let page = manager.open(PATH).await;
    let of = page.attributes("li.m-returned-late input[name=of]", "value");
    let sent = [
        ("key", KEY),
        ("code", "returned-late"),
        ("action", "keep"),
        ("reason", "Cold again in time."),
        ("of", &*of[0]),
    ];
    manager.submit(PATH, &sent).await.goes("../../s/shop/decisions?said=done");
    let head = house.head().await;
    manager.submit(PATH, &sent).await.goes("../../s/shop/decisions?said=done");
    assert_eq!(house.head().await, head);
}

/// Time passes, the server starts again: what waited waits. Only what time makes worse takes another name.
async fn nothing_goes_by_itself(house: House) {
    let manager = deviating(&house).await;
    item(&house, "bare", "bench", "us-time-4h").await;
    house.write(json!({"kind": "seen", "item": "curd", "place": "shelf"})).await;
    set(&house, "12:30");
    let mut waiting = all(&manager).await;
    assert!(waiting.iter().any(|c| c == "unmarked") && waiting.iter().any(|c| c == "seen-elsewhere"), "{waiting:?}");
    for later in ["12:31", "14:00", "20:00", "1 08:00", "3 08:00", "13 07:00"] {
        set(&house, later);
        house.restart().await;
        let mut now = all(&manager).await;
        let gone: Vec<_> = waiting
            .iter()
            .filter(|c| !now.contains(c) && (*c != "no-return" || !now.iter().any(|n| n == "over")))
            .collect();
        assert!(gone.is_empty(), "{later}: {gone:?} have gone by themselves");
        now.dedup();
        waiting = now;
    }
}
