//! Marks and labels through the front door: written, printed, wrong, missing, put right, and read against the log.
//!
//! Guards against S-11 of SAFETY.md.

use crate::kit::actor::Actor;
use crate::kit::browser::{Browser, Page};
use crate::kit::house::{House, SITE, t};
use counterclock::people::Role;
use serde_json::{Value, json};

both!(
    written_and_printed_at_the_bench,
    the_board_offers_both_after_out,
    a_mark_is_taken_back_with_a_reason,
    an_old_label_is_asked_for_with_its_date,
    two_touches_are_one_mark,
    another_time_is_on_it,
    what_the_page_showed_is_no_longer_so,
    an_earlier_mark_holds_until_it_is_struck_out,
    nothing_to_mark,
    marked_together_on_a_rack,
    a_label_becomes_late_in_four_ways_and_is_marked_anew,
    entered_late_is_told_after_marking_anew,
    unmarked_comes_with_time_alone,
    a_late_label_stands_near_the_top,
    a_label_against_the_log,
    torn_and_foreign_codes,
);

const KEY: &str = "aabbccddeeff00112233445566778899";

async fn signed_in(house: &House, role: &str) -> Browser {
    let browser = Browser::new(house);
    browser.submit("/sign-in", &[("token", &house.role(role).1)]).await.goes("./");
    browser
}

/// Where a form led, as an address of the service.
fn there(page: &Page) -> String {
    assert_eq!(page.status(), 303, "{}", page.0.text());
    format!("/{}", page.to().replace("../", ""))
}

/// A cake in the fridge since eight, and a pie under one clock.
async fn cakes(house: &House) -> Browser {
    house.set_up().await;
    let item = |id: &str, more: Value| {
        let mut e =
            json!({"kind": "item", "at": t("08:00"), "item": id, "name": format!("The {id}"), "place": "fridge"});
        e.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        e
    };
    house.write(json!([item("cake", json!({"product": "cake"})), item("pie", json!({"rules": ["us-time-4h"]}))])).await;
    signed_in(house, "staff").await
}

async fn out(house: &House, id: &str, at: &str) {
    house.set(at);
    house.write(json!({"kind": "move", "at": t(at), "item": id, "place": "bench"})).await;
}

async fn last(house: &House) -> Value {
    house.tail().await.pop().expect("an entry")
}

fn codes(standing: &Value) -> Vec<String> {
    let all = standing["deviations"].as_array().expect("deviations");
    all.iter().map(|d| d["code"].as_str().expect("a code").to_owned()).collect()
}

async fn deviations(house: &House, id: &str) -> Vec<String> {
    codes(&house.standing(id).await)
}

const MARK: &str = "/s/shop/items/cake/mark";

async fn written_and_printed_at_the_bench(house: House) {
    let staff = cakes(&house).await;
    out(&house, "cake", "12:00:20").await;
    let page = staff.open("/s/shop/items/cake").await;
    // 12:00:20 there is 13:00 by the shop's clock; four hours later, cut to the minute.
    assert_eq!(page.text(".mark legend"), "Mark it: discard by 17:00");
    assert_eq!(page.texts(".mark button"), ["Written on it", "Print"]);
    assert!(page.attributes(".mark input", "name").iter().all(|n| n != "discard_by"), "the time is the server's");
    // Whatever time a page may send, it isn't taken.
    let sent = [("key", KEY), ("how", "written"), ("discard_by", "2026-05-04T20:00:00Z")];
    let page = staff.open(&there(&staff.submit(MARK, &sent).await)).await;
    assert_eq!(page.text("[role=status] p"), "The cake: marked “discard by 17:00”.");
    let mark = last(&house).await;
    let expected = json!({"kind": "mark", "item": "cake", "discard_by": t("16:00"), "how": "written", "copy": 1});
    for (name, value) in expected.as_object().unwrap() {
        assert_eq!(&mark[name], value, "{name}");
    }
    assert!(
        page.text(".mark").contains("It carries “discard by 17:00” (by hand 13:00, copy 1)."),
        "{}",
        page.text(".mark")
    );
    // A print leads to the label; its copy is the next.
    let to = there(&staff.submit(MARK, &[("how", "printed")]).await);
    assert!(to.starts_with("/s/shop/items/cake/label?"), "{to}");
    assert_eq!(staff.open(&to).await.status(), 200);
    let mark = last(&house).await;
    assert_eq!((&mark["how"], &mark["copy"], &mark["discard_by"]), (&json!("printed"), &json!(2), &json!(t("16:00"))));
    assert_eq!(deviations(&house, "cake").await, Vec::<String>::new());
    staff.submit(MARK, &[("key", "00000000000000000000000000000009")]).await.says(400, "no such form");
    let neither = staff.submit(MARK, &[("how", "shouted")]).await;
    assert_eq!(neither.status(), 400);
    house.agrees().await;
}

/// Its label may still be on the box, and a later time can be given after.
/// Guards against S-12.
async fn a_mark_is_taken_back_with_a_reason(house: House) {
    let staff = cakes(&house).await;
    out(&house, "cake", "12:00").await;
    let page = staff.open(&there(&staff.submit(MARK, &[("how", "written")]).await)).await;
    let entries = page.attributes(".notice [name=entries]", "value");
    let head = house.head().await;
    let undo = "/s/shop/items/cake/undo";
    let asked = staff.submit(undo, &[("entries", &entries[0])]).await.says(400, "Say why: is the label off?");
    assert_eq!(asked.texts("[name=why] + span")[0], "the label is off and thrown away");
    assert_eq!(house.head().await, head, "nothing is taken back yet");
    there(&staff.submit(undo, &[("entries", &entries[0]), ("why", "label-off")]).await);
    assert_eq!(last(&house).await["reason"], json!("the label is off and thrown away"));
    assert!(!staff.open("/s/shop/items/cake").await.text(".mark").contains("It carries"));
    // A mark among others asks too; what is no mark, and was just written, does not.
    there(&staff.submit("/s/shop/items/cake/move", &[("place", "fridge")]).await);
    let moved = house.head().await.to_string();
    there(&staff.submit(undo, &[("entries", &moved)]).await);
    house.agrees().await;
}

/// Guards against S-13.
async fn an_old_label_is_asked_for_with_its_date(house: House) {
    let staff = cakes(&house).await;
    out(&house, "cake", "+1 09:00").await;
    // 14:30 is today's, or yesterday's of the same item; nothing is recorded before that is said.
    house.set("+1 09:10");
    let head = house.head().await;
    let asked = staff.submit(MARK, &[("time", "14:30")]).await;
    asked.says(400, "That may be of Mon 4 May or of Tue 5 May: say which date it is.");
    assert_eq!(house.head().await, head);
    there(&staff.submit(MARK, &[("time", "14:30"), ("date", "2026-05-04")]).await);
    assert_eq!(last(&house).await["discard_by"], json!(t("13:30")));
    // Before it began it can't have been on it: eight by the shop's clock was an hour before.
    there(&staff.submit(MARK, &[("time", "08:00"), ("date", "2026-05-05")]).await);
    assert_eq!(last(&house).await["discard_by"], json!(t("+1 07:00")));
    house.agrees().await;
}

async fn the_board_offers_both_after_out(house: House) {
    let staff = cakes(&house).await;
    let moved = staff.submit("/s/shop/items/cake/move", &[("place", "bench"), ("back", "board")]).await;
    let board = staff.open(&there(&moved)).await;
    assert_eq!(board.text(".notice legend"), "Mark it: discard by 17:00");
    assert_eq!(board.texts(".notice .marks button"), ["Written on it", "Print"]);
    let back = staff.submit(MARK, &[("how", "written"), ("back", "board")]).await;
    let board = staff.open(&there(&back)).await;
    assert_eq!(board.text("[role=status] p"), "The cake: marked “discard by 17:00”.");
    assert!(board.texts(".notice .marks").is_empty());
    // Back in the cold there is nothing to write on it, but a label can be had.
    let moved = staff.submit("/s/shop/items/cake/move", &[("place", "fridge"), ("back", "board")]).await;
    assert!(staff.open(&there(&moved)).await.texts(".notice .marks").is_empty());
    let page = staff.open("/s/shop/items/cake").await;
    assert!(page.texts(".marks").is_empty());
    assert!(page.attributes(".tasks a", "href").iter().any(|to| to.ends_with("/items/cake/label")));
    house.agrees().await;
}

async fn two_touches_are_one_mark(house: House) {
    let staff = cakes(&house).await;
    out(&house, "cake", "12:00").await;
    let head = house.head().await;
    for _ in 0..2 {
        there(&staff.submit(MARK, &[("key", KEY), ("how", "printed")]).await);
    }
    assert_eq!(house.head().await, head + 1);
}

async fn another_time_is_on_it(house: House) {
    let staff = cakes(&house).await;
    out(&house, "cake", "20:30").await;
    for typed in ["25:70", "", "half past", "9", "14:3O", "-1:30"] {
        let refused = staff.submit(MARK, &[("key", KEY), ("time", typed)]).await;
        let refused = refused.says(400, "Write a time of the shop's clock, like 09:10.");
        assert_eq!(refused.attributes("[name=time]", "value"), [typed], "what was typed comes back");
        assert_eq!(refused.attributes("details[open] [name=time]", "name").len(), 1, "unfolded");
    }
    let refused = staff.submit(MARK, &[("time", "14:30"), ("date", "2026-02-30")]).await.says(400, "Write a time");
    assert_eq!(refused.attributes("[name=date]", "value"), ["2026-02-30"]);
    // 20:30 there is 21:30 in the shop; its time is 01:30 tomorrow, so that is the day meant.
    for (typed, date, expected) in
        [("01:45", "", "+1 00:45"), ("23:50", "", "22:50"), ("14:00", "", "13:00"), ("14:00", "2026-05-06", "+2 13:00")]
    {
        there(&staff.submit(MARK, &[("time", typed), ("date", date)]).await);
        let mark = last(&house).await;
        assert_eq!((&mark["discard_by"], &mark["how"]), (&json!(t(expected)), &json!("written")), "{typed} {date}");
    }
    // The last of them is later than the log, and that is told.
    assert_eq!(deviations(&house, "cake").await, ["label-late"]);
    assert!(
        staff.open("/s/shop/items/cake").await.text(".label.late").starts_with("Wrong time on it: Wed 6 May, 14:00")
    );
    house.agrees().await;
}

/// Somebody writes on the box what the page showed, while a tub of more minutes goes into the cake.
/// Guards against S-14.
async fn what_the_page_showed_is_no_longer_so(house: House) {
    let staff = cakes(&house).await;
    house.write(json!({"kind": "item", "at": t("11:00"), "item": "tub", "name": "Tub", "product": "cake", "place": "bench"})).await;
    out(&house, "cake", "12:00").await;
    let page = staff.open("/s/shop/items/cake").await;
    let shown = page.attributes(".mark [name=shown]", "value");
    assert_eq!(shown, [t("16:00")]);
    house.write(json!({"kind": "join", "at": t("12:00"), "item": "cake", "from": ["tub"]})).await;
    let head = house.head().await;
    let sent = [("key", KEY), ("how", "written"), ("shown", shown[0].as_str())];
    let refused = staff.submit(MARK, &sent).await.says(400, "Its time is 16:00 by now");
    assert_eq!(refused.attributes("[name=shown]", "value"), [t("15:00")]);
    assert_eq!(house.head().await, head);
    // A print is made by the server alone, so it is right whatever the page showed.
    there(&staff.submit(MARK, &[("how", "printed"), ("shown", &shown[0])]).await);
    assert_eq!(last(&house).await["discard_by"], json!(t("15:00")));
    house.agrees().await;
}

async fn an_earlier_mark_holds_until_it_is_struck_out(house: House) {
    let staff = cakes(&house).await;
    out(&house, "cake", "12:00").await;
    there(&staff.submit(MARK, &[("how", "printed")]).await);
    let first = house.head().await;
    house.write(json!({"kind": "move", "at": t("12:00"), "item": "cake", "place": "fridge"})).await;
    out(&house, "cake", "14:00").await;
    assert_eq!(house.standing("cake").await["discard_by"], json!(t("18:00")));
    let page = staff.open("/s/shop/items/cake").await;
    assert!(
        page.text(".mark").contains("An earlier mark says 17:00; a new one never says later."),
        "{}",
        page.text(".mark")
    );
    there(&staff.submit(MARK, &[("how", "printed")]).await);
    let second = last(&house).await;
    assert_eq!((&second["discard_by"], &second["copy"]), (&json!(t("16:00")), &json!(2)));
    // Once its time has come nothing can be marked.
    house.set("16:05");
    staff.submit(MARK, &[("how", "printed")]).await.says(400, "An earlier mark says 17:00, and that time has come");
    let page = staff.open("/s/shop/items/cake").await;
    assert!(page.texts(".mark button").is_empty());
    assert!(page.attributes(".mark a.mend", "href")[0].ends_with(&format!("/correct?entry={first}")));
    for entry in [first, house.head().await] {
        let sent = [("entry", entry.to_string()), ("how", "void".into()), ("reason", "label taken off".into())];
        let sent: Vec<(&str, &str)> = sent.iter().map(|(n, v)| (*n, v.as_str())).collect();
        there(&staff.submit("/s/shop/items/cake/correct", &sent).await);
    }
    there(&staff.submit(MARK, &[("how", "printed")]).await);
    let third = last(&house).await;
    assert_eq!(
        (&third["discard_by"], &third["copy"]),
        (&json!(t("18:00")), &json!(3)),
        "its number is new all the same"
    );
    house.agrees().await;
}

async fn nothing_to_mark(house: House) {
    let staff = cakes(&house).await;
    house
        .write(json!([
            {"kind": "rule", "at": t("08:00"), "rule": "early", "name": "Early", "returns": "any",
             "clauses": [{"measure": "total_out", "limit": "PT2H", "verdict": "return"}],
             "source": {"title": "ours", "basis": "common practice"}},
            {"kind": "item", "at": t("11:00"), "item": "jam", "name": "Jam", "rules": ["early"], "place": "bench"},
            {"kind": "item", "at": t("07:00"), "item": "old", "name": "Old", "product": "cake", "place": "bench"},
        ]))
        .await;
    let head = house.head().await;
    let says = "Nothing in its rules would ever discard it: there is no time to mark it with.";
    let page = staff.open("/s/shop/items/jam").await;
    assert_eq!((page.text(".mark .why").as_str(), page.texts(".mark button").len()), (says, 0));
    staff.submit("/s/shop/items/jam/mark", &[("how", "printed")]).await.says(400, says);
    // What is to be thrown away isn't marked.
    let page = staff.open("/s/shop/items/old").await;
    assert_eq!((page.text(".verdict"), page.texts(".mark button").len()), (String::from("Discard"), 0));
    staff.submit("/s/shop/items/old/mark", &[("how", "written")]).await.says(400, "Its time is over: discard it.");
    house.write(json!({"kind": "close", "item": "cake", "as": "sold"})).await;
    staff.submit(MARK, &[("how", "written")]).await.says(400, "It is closed. Nothing is marked.");
    assert_eq!(staff.open(MARK).await.status(), 404);
    assert_eq!(house.head().await, head + 1);
    // A wrong one is still to be known where nothing limits it.
    there(&staff.submit("/s/shop/items/jam/mark", &[("time", "14:30")]).await);
    assert_eq!(last(&house).await["discard_by"], json!(t("13:30")));
    house.agrees().await;
}

async fn marked_together_on_a_rack(house: House) {
    let staff = cakes(&house).await;
    let made = staff.submit("/s/shop/racks", &[("name", "Rack 3")]).await;
    let at = there(&made);
    staff.submit(&format!("{at}/put"), &[("item", "cake"), ("item", "pie")]).await;
    assert!(staff.open(&at).await.texts(".marks").is_empty(), "all of it is cold");
    let moved = staff.submit(&format!("{at}/move"), &[("place", "bench")]).await;
    let page = staff.open(&there(&moved)).await;
    assert_eq!(page.texts(".marks button"), ["Written on all", "Print all"]);
    let head = house.head().await;
    let mark = format!("{at}/mark");
    let page = staff.open(&there(&staff.submit(&mark, &[("key", KEY), ("how", "written")]).await)).await;
    assert_eq!(page.text("[role=status] p"), "2 items marked.");
    assert_eq!(house.head().await, head + 2);
    let twice = staff.submit(&mark, &[("key", KEY), ("how", "written")]).await;
    assert_eq!((twice.status(), house.head().await), (303, head + 2), "two touches are one");
    for entry in &house.tail().await[head as usize..] {
        assert_eq!((&entry["kind"], &entry["how"]), (&json!("mark"), &json!("written")));
        assert_eq!((&entry["discard_by"], &entry["copy"]), (&json!(t("16:00")), &json!(1)));
    }
    let page = staff.open(&there(&staff.submit(&mark, &[("how", "printed")]).await)).await;
    assert_eq!(
        page.text("[role=status] p"),
        "2 items marked. Print them now: their labels are at the end of this page."
    );
    assert!(page.attributes("a", "href").iter().any(|a| a.contains("/labels.pdf")));
    // One is cold, and of one the page showed another time: both are named, the third is marked.
    house.write(json!({"kind": "item", "at": t("11:00"), "item": "bun", "name": "The bun", "product": "cake", "place": "bench"})).await;
    staff.submit(&format!("{at}/put"), &[("item", "bun")]).await;
    house.write(json!({"kind": "move", "item": "cake", "place": "fridge"})).await;
    let shown = format!("bun {}", t("15:30"));
    let some = staff.submit(&mark, &[("how", "written"), ("shown", &shown)]).await;
    assert_eq!((some.status(), some.text("[role=status] p").as_str()), (200, "One item marked."));
    let refused = some.texts(".refused li");
    assert_eq!(refused.len(), 2, "{refused:?}");
    assert!(refused.iter().any(|r| r == "The cake: In the cold there is no time to mark it with."), "{refused:?}");
    assert!(refused.iter().any(|r| r.starts_with("The bun: Its time is 16:00 by now")), "{refused:?}");
    assert_eq!(last(&house).await["item"], "pie");
    // A wrong label is told on the rack too.
    house.write(json!({"kind": "mark", "item": "pie", "discard_by": t("18:00"), "how": "written", "copy": 9})).await;
    let page = staff.open(&at).await;
    assert_eq!(page.text(".stands .label.late > span"), "Wrong time on it: 19:00 is too late");
    assert!(page.attributes(".stands .label a", "href")[0].ends_with("/items/pie/mark"));
    house.agrees().await;
}

/// By a join, a late entry, a correction and a lapse; each time marking anew makes it go.
async fn a_label_becomes_late_in_four_ways_and_is_marked_anew(house: House) {
    let staff = cakes(&house).await;
    house
        .write(json!([
            {"kind": "item", "at": t("11:00"), "item": "tub", "name": "Tub", "product": "cake", "place": "bench"},
            {"kind": "item", "at": t("08:00"), "item": "bun", "name": "Bun", "product": "cake", "place": "walk-in"},
        ]))
        .await;
    let anew = async |id: &str, by: &str, copy: u64| {
        assert_eq!(deviations(&house, id).await, ["label-late"], "{id}");
        let board = staff.open("/s/shop/").await;
        assert_eq!(board.texts(&format!("#i-{id} .label.late")).len(), 1, "{id} is an alarm on the board");
        assert!(board.text("p.labels").contains("1 carries a time that is too late"));
        let act = board.attributes(&format!("#i-{id} .label a"), "href");
        let page = staff.open(&format!("/s/shop/{}", act[0].split_once("/shop/").expect("an address").1)).await;
        assert_eq!(page.texts(".marks button").len(), 2, "the way to act");
        assert!(page.text(".hint").starts_with("New time: it is earlier than the last."), "{}", page.text(".hint"));
        there(&staff.submit(&format!("/s/shop/items/{id}/mark"), &[("how", "printed")]).await);
        let mark = last(&house).await;
        assert_eq!((&mark["discard_by"], &mark["copy"]), (&json!(t(by)), &json!(copy)), "{id}");
        assert_eq!(deviations(&house, id).await, Vec::<String>::new(), "{id}");
        let board = staff.open("/s/shop/").await;
        assert!(board.texts(&format!("#i-{id} .label")).is_empty() && board.texts("p.labels").is_empty());
    };
    out(&house, "cake", "12:00").await;
    there(&staff.submit(MARK, &[("how", "printed")]).await);
    // More minutes come with what goes in.
    house.write(json!({"kind": "join", "at": t("12:00"), "item": "cake", "from": ["tub"]})).await;
    anew("cake", "15:00", 2).await;
    // Somebody had it out before, and says so late.
    house
        .write(json!([
            {"kind": "move", "at": t("10:00"), "item": "cake", "place": "shelf"},
            {"kind": "move", "at": t("11:10"), "item": "cake", "place": "fridge"},
        ]))
        .await;
    anew("cake", "14:50", 3).await;
    // The last move was earlier than was said.
    let tail = house.tail().await;
    let moved = tail.iter().rfind(|e| e["kind"] == "move" && e["at"] == t("12:00").as_str()).expect("the move");
    house
        .write(json!({"kind": "correct", "entry": moved["seq"], "set": {"at": t("11:40")}, "reason": "misread"}))
        .await;
    anew("cake", "14:30", 4).await;
    // The walk-in had failed before the bun came out of it, as is found out later.
    out(&house, "bun", "12:00").await;
    there(&staff.submit("/s/shop/items/bun/mark", &[("how", "printed")]).await);
    house.write(json!({"kind": "lapse", "at": t("09:00"), "place": "walk-in", "until": t("10:00")})).await;
    anew("bun", "15:00", 2).await;
    house.agrees().await;
}

/// It was back for an hour, as somebody says long after it was marked: its time moves past the mark.
async fn entered_late_is_told_after_marking_anew(house: House) {
    let staff = cakes(&house).await;
    out(&house, "cake", "12:00").await;
    there(&staff.submit(MARK, &[("how", "printed")]).await);
    assert_eq!(deviations(&house, "cake").await, Vec::<String>::new());
    house.set("14:00");
    let late = json!([
        {"kind": "move", "at": t("12:30"), "item": "cake", "place": "fridge"},
        {"kind": "move", "at": t("13:30"), "item": "cake", "place": "bench"},
    ]);
    house.write(late).await;
    let standing = house.standing("cake").await;
    assert_eq!((&standing["discard_by"], codes(&standing)), (&json!(t("17:00")), vec![String::from("entered-late")]));
    // It is about what was entered, so another mark does not make it go; and the mark is the earlier time.
    there(&staff.submit(MARK, &[("how", "printed")]).await);
    assert_eq!(last(&house).await["discard_by"], json!(t("16:00")));
    assert_eq!(deviations(&house, "cake").await, ["entered-late"]);
    assert!(staff.open("/s/shop/items/cake").await.text("section[aria-labelledby=dev]").contains("a late entry moved"));
    // Struck out, it was entered all the same: for two hours the label and the log told different times.
    let seqs: Vec<u64> = house
        .tail()
        .await
        .iter()
        .rev()
        .filter(|e| e["kind"] == "move")
        .take(2)
        .filter_map(|e| e["seq"].as_u64())
        .collect();
    let void = |n: &u64| json!({"kind": "correct", "entry": n, "void": true, "reason": "it was another cake"});
    house.write(json!(seqs.iter().map(void).collect::<Vec<_>>())).await;
    assert_eq!(deviations(&house, "cake").await, ["entered-late"]);
    house.agrees().await;
}

/// No entry brings it, so no cache may hold it back.
/// Guards against S-15.
async fn unmarked_comes_with_time_alone(house: House) {
    let staff = cakes(&house).await;
    out(&house, "cake", "12:00").await;
    out(&house, "pie", "12:00").await;
    let labels = async || {
        let board = staff.open("/s/shop/").await;
        (board.texts("#i-pie .label.unmarked > span"), board.texts("#i-cake .label"), board.text("p.labels"))
    };
    assert_eq!(labels().await, (vec![], vec![], String::new()));
    house.set("12:14:59.999");
    assert_eq!(labels().await, (vec![], vec![], String::new()));
    house.set("12:15");
    assert_eq!(labels().await, (vec![String::from("Not marked")], vec![], String::from("1 not marked")));
    assert_eq!(staff.open("/s/shop/items/pie").await.text(".label.unmarked"), "Not marked");
    there(&staff.submit("/s/shop/items/pie/mark", &[("how", "written")]).await);
    assert_eq!(labels().await, (vec![], vec![], String::new()));
    house.agrees().await;
}

async fn a_late_label_stands_near_the_top(house: House) {
    let staff = cakes(&house).await;
    let item = |id: &str, at: &str| json!({"kind": "item", "at": t(at), "item": id, "name": id, "product": "cake", "place": "bench"});
    house.write(json!([item("over", "07:30"), item("use", "09:30"), item("near", "11:00")])).await;
    house
        .write(json!({"kind": "mark", "item": "cake", "discard_by": t("+20 18:00"), "how": "written", "copy": 1}))
        .await;
    let board = staff.open("/s/shop/").await;
    let ids: Vec<String> = board.attributes("li.row", "id");
    assert_eq!(ids, ["i-over", "i-use", "i-cake", "i-near", "i-pie"]);
    assert_eq!(board.texts("h2")[..3], ["Needs you now", "Wrong time on it", "Out"]);
    // For programs the order is by verdict, state and time left alone.
    let listed: Vec<String> =
        house.list("open", 2).await.iter().map(|s| s["item"].as_str().unwrap().to_owned()).collect();
    assert_eq!(listed, ["over", "use", "near", "cake", "pie"]);
}

async fn a_label_against_the_log(house: House) {
    let staff = cakes(&house).await;
    let inspector = signed_in(&house, "inspector").await;
    house
        .write(json!([
            {"kind": "item", "at": t("09:00"), "item": "tub", "name": "The tub", "product": "cake", "place": "bench"},
            {"kind": "move", "at": t("09:40"), "item": "tub", "place": "fridge"},
            {"kind": "join", "at": t("10:00"), "item": "cake", "from": ["tub"]},
            {"kind": "reading", "at": t("10:50"), "item": "cake", "value": "3.9", "unit": "C"},
            {"kind": "move", "at": t("11:00"), "item": "cake", "place": "bench"},
            {"kind": "mark", "at": t("11:01"), "item": "cake", "discard_by": t("14:20"), "how": "printed", "copy": 1},
            {"kind": "move", "at": t("11:20"), "item": "cake", "place": "fridge"},
            {"kind": "move", "at": t("12:00"), "item": "cake", "place": "bench"},
            {"kind": "mark", "at": t("12:00"), "item": "cake", "discard_by": t("16:00"), "how": "written", "copy": 2},
            {"kind": "item", "at": t("08:00"), "item": "failed", "name": "Failed", "product": "cake", "place": "walk-in"},
            {"kind": "item", "at": t("12:00"), "item": "slice", "name": "The slice", "product": "cake", "place": "bench", "from": ["cake"]},
        ]))
        .await;
    house.set("12:10");
    let address = "/s/shop/items/cake/label-check";
    for who in [&staff, &inspector] {
        let page = who.open(address).await;
        assert_eq!(page.status(), 200);
        assert_eq!(page.texts(".three .says"), ["15:20", "17:00", "16:00"]);
        let agree = page.texts(".three dd b");
        assert_eq!(
            agree,
            ["agrees: earlier, and the earlier time holds, if it is still on it", "too late by 1 h 00 min"]
        );
        assert_eq!(page.text(".label.late"), "It carries 17:00, later than the log: by the log it goes by 16:00.");
        let lines = page.texts("table.sums tbody tr");
        assert_eq!(lines.len(), 3);
        assert_eq!(
            lines[0],
            "10:00 to 10:40, bench came with The tub ; begun there by manager; temperature not taken; then fridge, by manager 0:40:00"
        );
        assert_eq!(
            lines[1],
            "12:00 to 12:20, bench taken out by manager; read 3.9 °C at 11:50; then fridge, by manager 0:20:00"
        );
        assert_eq!(lines[2], "since 13:00, bench taken out by manager; temperature not taken 0:10:00");
        assert_eq!(page.text("table.sums tfoot td"), "1:10:00");
        assert_eq!(page.text("section[aria-labelledby=from] a"), "The tub");
        assert_eq!(page.text("section[aria-labelledby=into] a"), "The slice");
        assert_eq!(page.texts("section[aria-labelledby=marks] li").len(), 2);
        assert!(
            who.open("/s/shop/items/cake").await.attributes("a", "href").iter().any(|a| a.ends_with("/label-check"))
        );
    }
    assert_eq!(house.standing("cake").await["total_out_ms"], 70 * 60_000);
    there(&staff.submit(MARK, &[("how", "written")]).await);
    let page = inspector.open(address).await;
    assert_eq!(page.text(".label"), "It carries 15:20, and that agrees with the log.");
    // A stretch that a failure began, and one that a join cut in two.
    house
        .write(json!([
            {"kind": "lapse", "at": t("09:30"), "place": "walk-in", "until": t("09:50")},
            {"kind": "item", "at": t("08:00"), "item": "base", "name": "Base", "product": "cake", "place": "walk-in"},
            {"kind": "move", "at": t("12:00"), "item": "base", "place": "bench"},
            {"kind": "join", "at": t("12:05"), "item": "base", "from": ["tub"]},
        ]))
        .await;
    let lines = inspector.open("/s/shop/items/base/label-check").await.texts("table.sums tbody tr");
    assert!(lines[0].contains("came with The tub") && lines[0].ends_with("0:40:00"), "{lines:?}");
    assert_eq!(lines[1], "since 13:05, bench out already as it was joined 0:05:00");
    let lines = inspector.open("/s/shop/items/failed/label-check").await.texts("table.sums tbody tr");
    assert_eq!(lines, ["10:30 to 10:50, walk-in its place lost its cold, entered by manager 0:20:00"]);
    // What never carried a time, what should, and what has ended.
    let pie = "/s/shop/items/pie/label-check";
    assert_eq!(inspector.open(pie).await.text(".label"), "It carries no time, and its rules ask for none now.");
    out(&house, "pie", "12:10").await;
    house.set("12:30");
    let page = inspector.open(pie).await;
    assert!(page.text(".label.unmarked").contains("it carries none"));
    assert_eq!(page.texts(".three .says"), ["never", "never", "17:10"]);
    house.write(json!({"kind": "close", "item": "cake", "as": "sold"})).await;
    house.set("+1 12:30");
    let page = inspector.open(address).await;
    assert_eq!(page.texts(".three .says")[2], "Mon 4 May, 16:00");
    assert!(
        page.texts(".three div")[2].ends_with("when it closed, Mon 4 May, 13:30"),
        "{:?}",
        page.texts(".three div")
    );
    assert_eq!(inspector.open("/s/shop/items/nobody/label-check").await.status(), 404);
    house.agrees().await;
}

async fn torn_and_foreign_codes(house: House) {
    let staff = cakes(&house).await;
    let inspector = signed_in(&house, "inspector").await;
    let made = staff.submit("/s/shop/tags", &[("count", "1")]).await;
    let code = staff.open(&there(&made)).await.text(".sheet .code").replace('-', "");
    staff.submit("/s/shop/items/cake/tag", &[("code", &code)]).await;
    inspector.open(&format!("/t/{code}")).await.goes("../s/shop/items/cake");
    let page = inspector.open(&format!("/s/shop/tags/{code}")).await;
    assert!(page.attributes("a", "href").iter().any(|a| a.ends_with("/items/cake/label-check")));
    let torn = inspector.open(&format!("/t/{}", &code[..6])).await;
    assert_eq!(torn.status(), 404);
    assert!(torn.0.text().contains("That is not a whole code: a tag has 10 letters and digits."), "{}", torn.0.text());
    let typed = inspector.open(&format!("/s/shop/scan?code={}", &code[..6])).await;
    let typed = typed.says(400, "That is not a whole code");
    assert_eq!(typed.attributes("#keys [name=code]", "value"), [&code[..6]], "what was typed is kept");
    // Another shop's label: whoever isn't of that shop is told no more than of one that nobody has.
    house.service().add_site("annex", SITE).await.expect("another shop");
    let token = house.service().add_token("annex", "n", Role::Manager).await.expect("a token");
    let stranger = Browser::new(&house);
    stranger.submit("/sign-in", &[("token", &token)]).await.goes("./");
    let foreign = stranger.open(&format!("/t/{code}")).await;
    assert_eq!(foreign.status(), 404);
    assert!(foreign.0.text().contains("Nobody here has that tag."));
    assert_eq!(stranger.open("/s/shop/items/cake/label-check").await.status(), 403);
    assert_eq!(
        stranger.send("GET", "/s/annex/items/cake/label-check", &[], axum::body::Body::empty()).await.status,
        404
    );
}
