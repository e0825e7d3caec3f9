//! What a record is asked for, and what it says of each thing an inspector asks: filters, corrections, the cold, the days;
//! and that what can't be is told in a sentence.

use super::tools::Pdf;
use crate::kit::actor::Actor;
use crate::kit::browser::Browser;
use crate::kit::house::{House, t};
use counterclock::web::clocks::Server;
use serde_json::{Value, json};
use std::collections::BTreeMap;

both!(
    only_what_is_asked_for,
    struck_beside_corrected,
    the_cold_has_its_own_table,
    what_was_said_of_another_place,
    clocks_are_told,
    nonsense_is_told
);
sqlite!(it_has_what_a_record_must_have, a_long_pdf_is_refused);

fn item(id: &str, at: &str, place: &str, from: &[&str]) -> Value {
    let mut entry = json!({"kind": "item", "at": t(at), "item": id, "product": "cake", "name": format!("The {id}"), "place": place});
    if !from.is_empty() {
        entry["from"] = json!(from);
    }
    entry
}

fn moved(id: &str, at: &str, place: &str) -> Value {
    json!({"kind": "move", "at": t(at), "item": id, "place": place})
}

fn inspector(house: &House) -> Browser {
    let browser = Browser::new(house);
    browser.put("counterclock", &house.role("inspector").1);
    browser
}

async fn rows(house: &House, query: &str) -> Vec<BTreeMap<String, String>> {
    let table = house.role("inspector").get(&format!("record.csv?{query}")).await.ok();
    let mut reader = csv::Reader::from_reader(table.bytes.as_slice());
    reader.deserialize().map(|row| row.expect("a row")).collect()
}

async fn items(house: &House, query: &str) -> String {
    let mut found: Vec<String> = rows(house, query).await.iter().map(|r| r["item"].clone()).collect();
    found.dedup();
    found.join(" ")
}

async fn only_what_is_asked_for(house: House) {
    house.set_up().await;
    let mut pie = item("pie", "07:30", "fridge", &["tub"]);
    pie["product"] = json!("mousse");
    house
        .write(json!([
            item("tub", "06:00", "bench", &[]),
            item("cake", "07:00", "bench", &["tub"]),
            pie,
            moved("cake", "07:40", "case"),
            item("slice", "08:00", "case", &["cake"]),
            item("other", "08:00", "fridge", &[])
        ]))
        .await;
    assert_eq!(items(&house, "").await, "tub cake pie slice other", "in order of their beginning, then as written");
    assert_eq!(items(&house, "product=mousse").await, "pie");
    assert_eq!(items(&house, "place=case").await, "cake slice");
    assert_eq!(items(&house, "item=cake").await, "cake");
    assert_eq!(items(&house, "made_from=tub").await, "tub cake pie slice");
    assert_eq!(items(&house, "made_from=cake&product=mousse").await, "");
    // Without dates an item's record is of its whole time, and with them of those.
    house.set("+3 12:00");
    assert_eq!(items(&house, "item=cake").await, "cake");
    assert_eq!(items(&house, "item=cake&from=2026-05-07&to=2026-05-07").await, "cake", "open still");
    house.write(json!({"kind": "close", "item": "cake", "as": "sold"})).await;
    house.set("+5 12:00");
    assert_eq!(items(&house, "item=cake").await, "cake");
    assert_eq!(items(&house, "item=cake&from=2026-05-09&to=2026-05-09").await, "");
    // Where a correction names another product it is found by both: nothing that was ever said is lost.
    let seq = house.tail().await.iter().find(|e| e["item"] == "other").expect("it")["seq"].clone();
    house.write(json!({"kind": "correct", "entry": seq, "set": {"product": "mousse"}, "reason": "wrong tray"})).await;
    assert_eq!(items(&house, "product=mousse&item=other").await, "other");
    assert_eq!(items(&house, "product=cake&item=other").await, "other");
    // The page has the same, and leads to the same as files.
    let page = inspector(&house).open("/s/shop/record?made_from=tub").await;
    assert_eq!(page.texts("section.account h3 small"), ["tub", "cake", "pie", "slice"]);
    let copies = page.attributes("main .files a[href*='?']", "href");
    assert!(copies.iter().all(|a| a.contains("?from=2026-05-04&to=2026-05-09&made_from=tub")), "{copies:?}");
    let form = page.form();
    assert!(form.contains(&(String::from("made_from"), String::from("tub"))), "{form:?}");
    house.agrees().await;
}

/// Guards against S-32.
async fn struck_beside_corrected(house: House) {
    house.set_up().await;
    let written = house
        .write(json!([item("cake", "08:00", "bench", &[]), moved("cake", "08:50", "fridge"),
        {"kind": "mark", "at": t("09:00"), "item": "cake", "discard_by": t("11:00"), "how": "written", "copy": 1}]))
        .await;
    let seq = |i: usize| written["entries"][i]["seq"].as_u64().expect("a number");
    house.write(json!({"kind": "correct", "entry": seq(1), "set": {"at": t("08:40")}, "reason": "misread"})).await;
    house.pass(60_000);
    house.write(json!({"kind": "correct", "entry": seq(1), "set": {"at": t("08:45")}, "reason": "looked again"})).await;
    house.write(json!({"kind": "correct", "entry": seq(2), "void": true, "reason": "wrong box"})).await;
    let row = &rows(&house, "").await[0];
    assert_eq!((row["minutes_this_spell"].as_str(), row["marked_discard_by"].as_str()), ("45.00", ""));
    let said = &row["corrections"];
    let first = "at 2026-05-04T09:50:00.000+01:00 -> 2026-05-04T09:40:00.000+01:00 (misread) manager";
    // The second is told against what was read before it.
    let second = "at 2026-05-04T09:40:00.000+01:00 -> 2026-05-04T09:45:00.000+01:00 (looked again) manager";
    for part in [first, second, "mark at 2026-05-04T10:00:00.000+01:00: void (wrong box) manager"] {
        assert!(said.contains(part), "{said}");
    }
    let page = inspector(&house).open("/s/shop/record").await;
    assert_eq!(
        page.texts(".struck del"),
        ["2026-05-04 09:50:00 +01:00", "2026-05-04 09:40:00 +01:00", "2026-05-04 10:00:00 +01:00"]
    );
    assert_eq!(page.texts(".struck ins")[..2], ["2026-05-04 09:40:00 +01:00", "2026-05-04 09:45:00 +01:00"]);
    // What was written at noon of the morning was written late, and says so.
    assert_eq!(
        (row["late_minutes"].as_str(), row["late_entries"].contains("item 240.00")),
        ("240.00", true),
        "{row:?}"
    );
    let text = page.text("section.account");
    assert!(text.contains("written 3 h 15 min later") || text.contains("written 3 h 10 min later"), "{text}");
}

/// Guards against S-31.
async fn the_cold_has_its_own_table(house: House) {
    house.set_up().await;
    house
        .write(json!([
            item("in", "06:00", "fridge", &[]), item("out", "06:00", "bench", &[]), item("left", "06:00", "fridge", &[]),
            moved("left", "07:00", "bench"),
            {"kind": "reading", "at": t("06:30"), "place": "fridge", "value": "3.5", "unit": "C", "probe": "p-1"},
            {"kind": "lapse", "at": t("08:00"), "place": "fridge"},
            {"kind": "restore", "at": t("08:20"), "place": "fridge"},
            {"kind": "reading", "at": t("09:00"), "place": "fridge", "value": "9.9", "unit": "C"},
        ]))
        .await;
    let seq = house.head().await;
    // A logger writes with a token of its own; whoever reads another thermometer soon after checks it.
    let logger = |at: &str, place: &str, value: &str| json!({"kind": "reading", "at": t(at), "place": place, "value": value, "unit": "C", "probe": "p-2"});
    let by_hand = |at: &str, value: &str, unit: &str| json!({"kind": "reading", "at": t(at), "place": "walk-in", "value": value, "unit": unit});
    for at in ["08:30", "08:40"] {
        house.role("probe").post(&logger(at, "walk-in", "3.8")).await.ok();
    }
    house
        .write(json!([by_hand("08:35", "3.7", "C"), by_hand("08:54", "39.1", "F"), by_hand("08:56", "4.0", "C")]))
        .await;
    house.write(json!({"kind": "correct", "entry": seq, "set": {"value": "4.9"}, "reason": "misread"})).await;
    let of = |rows: &[BTreeMap<String, String>], what: &str| {
        rows.iter().filter(|r| r["what"] == what).cloned().collect::<Vec<_>>()
    };
    let all = rows(&house, "table=cold").await;
    assert!(all.windows(2).all(|w| w[0]["at"] <= w[1]["at"]), "in order of time");
    let (all_read, lapses) = (of(&all, "reading"), of(&all, "lapse"));
    let read: Vec<_> = all_read.iter().filter(|r| r["place"] == "fridge").collect();
    assert_eq!((read[0]["value"].as_str(), read[0]["unit"].as_str(), read[0]["probe"].as_str()), ("3.5", "C", "p-1"));
    assert!(
        read[1]["value"] == "4.9" && read[1]["corrections"].contains("value 9.9 -> 4.9 (misread)"),
        "{:?}",
        read[1]
    );
    // 39.1 °F is 3.9444 °C: 0.26 °F more than 3.8 °C, shown as 0.3. A quarter of an hour later is no longer beside it.
    let beside: Vec<Vec<&str>> = (all_read.iter().filter(|r| r["place"] == "walk-in"))
        .map(|r| ["value", "beside_value", "beside_unit", "apart", "beside_probe"].map(|c| r[c].as_str()).to_vec())
        .collect();
    assert_eq!(beside[1], ["3.7", "3.8", "C", "0.1", "p-2"], "{beside:?}");
    assert_eq!(beside[3], ["39.1", "3.8", "C", "0.3", "p-2"]);
    assert!([0, 2, 4].iter().all(|i| beside[*i][1..].iter().all(|c| c.is_empty())), "{beside:?}");
    assert!(all_read.iter().all(|r| r["beside_at"].is_empty() == r["apart"].is_empty()));
    assert_eq!((lapses.len(), lapses[0]["minutes"].as_str()), (1, "20.00"));
    assert_eq!(lapses[0]["items"], "in", "what stood there then, and nothing else");
    assert!(!lapses[0]["hash"].is_empty() && lapses[0]["to_by"] == "manager");
    // Above the place's limit: from the first such reading to the next good one, the warmest of them named.
    house
        .write(json!([{"kind": "reading", "at": t("10:00"), "place": "fridge", "value": "5.1", "unit": "C"},
        {"kind": "reading", "at": t("10:20"), "place": "fridge", "value": "44.0", "unit": "F"}]))
        .await;
    let above = of(&rows(&house, "table=cold").await, "above");
    assert_eq!((above.len(), above[0]["to"].as_str(), above[0]["limit"].as_str()), (1, "", "5.0 C"), "{above:?}");
    house.write(json!({"kind": "reading", "at": t("10:50"), "place": "fridge", "value": "5.0", "unit": "C"})).await;
    let above = of(&rows(&house, "table=cold").await, "above");
    assert_eq!(
        (above[0]["minutes"].as_str(), above[0]["value"].as_str(), above[0]["unit"].as_str()),
        ("50.00", "44.0", "F")
    );
    // A day and more without a reading is a line of its own, between two readings or up to now.
    house.set("+2 10:00");
    house.write(json!({"kind": "reading", "place": "fridge", "value": "4.0", "unit": "C"})).await;
    house.set("+4 12:00");
    let mut unread = of(&rows(&house, "table=cold&from=2026-05-04&to=2026-05-08").await, "unread");
    unread.retain(|r| r["place"] == "fridge");
    assert_eq!(unread.len(), 2, "{unread:?}");
    assert_eq!(
        (unread[0]["at"].as_str(), unread[0]["to"].as_str()),
        ("2026-05-04T11:50:00.000+01:00", "2026-05-06T11:00:00.000+01:00")
    );
    assert_eq!((unread[1]["to"].as_str(), unread[1]["minutes"].as_str()), ("", "3000.00"));
    // A failure that began before the first date and lasted into it is told on each, with what stood there.
    house.write(json!({"kind": "lapse", "at": t("+4 11:00"), "place": "fridge"})).await;
    house.set("+6 12:00");
    house.write(json!({"kind": "restore", "at": t("+6 09:00"), "place": "fridge"})).await;
    for (day, told) in [("2026-05-07", 0), ("2026-05-08", 1), ("2026-05-09", 1), ("2026-05-10", 1), ("2026-05-11", 0)] {
        let lapses = of(&rows(&house, &format!("table=cold&from={day}&to={day}")).await, "lapse");
        assert_eq!(lapses.len(), told, "{day}: {lapses:?}");
        assert!(lapses.iter().all(|l| l["at"] == "2026-05-08T12:00:00.000+01:00" && l["items"] == "in"), "{lapses:?}");
    }
    // The page and the PDF have the same lines.
    let page = inspector(&house).open("/s/shop/record?from=2026-05-04&to=2026-05-08&part=cold").await;
    let table = rows(&house, "table=cold&from=2026-05-04&to=2026-05-08").await;
    assert_eq!(page.texts("table.cold tbody tr").len(), table.len());
    let pdf = house.role("inspector").get("record.pdf?from=2026-05-04&to=2026-05-08&size=letter").await.ok();
    let text = Pdf::new(&pdf.bytes).text("-raw").split_whitespace().collect::<Vec<_>>().join(" ");
    for row in &table {
        let at = row["at"][..19].replace('T', " ");
        assert!(text.contains(&at), "{at} isn't on paper");
    }
    assert!(text.contains("there then: The in"), "{text}");
}

/// A reading and a failure that were written for the wrong place stand where a correction put them, with what was corrected.
async fn what_was_said_of_another_place(house: House) {
    house.set_up().await;
    house
        .write(json!([
            {"kind": "reading", "at": t("09:00"), "place": "fridge", "value": "3.5", "unit": "C"},
            {"kind": "lapse", "at": t("08:00"), "place": "fridge", "until": t("08:30")},
        ]))
        .await;
    let head = house.head().await;
    for entry in [head - 1, head] {
        let set = json!({"place": "walk-in"});
        house.write(json!({"kind": "correct", "entry": entry, "set": set, "reason": "the other door"})).await;
    }
    let table = rows(&house, "table=cold").await;
    for what in ["reading", "lapse"] {
        let of: Vec<_> = table.iter().filter(|r| r["what"] == what).collect();
        assert_eq!((of.len(), of[0]["place"].as_str()), (1, "walk-in"), "{what}: {table:?}");
        assert!(of[0]["corrections"].contains("fridge -> walk-in (the other door)"), "{what}: {of:?}");
    }
    let page = inspector(&house).open("/s/shop/record?part=cold").await;
    assert_eq!(page.texts("table.cold tbody tr").len(), table.len());
    // The day's round knows of it as well.
    let staff = Browser::new(&house);
    staff.put("counterclock", &house.staff().1);
    assert!(staff.open("/s/shop/round/walk-in").await.0.text().contains("3.5"));
    house.agrees().await;
}

/// Starts and jumps of the server's clock: no entry says them, the record does.
async fn clocks_are_told(house: House) {
    house.set_up().await;
    let mut first = Server::start(house.service()).await.expect("noted");
    // Time that runs is no jump, nor is a clock that is a second off.
    assert_eq!(first.look().await.expect("a look"), None);
    house.pass(1_000);
    assert_eq!(first.look().await.expect("a look"), None);
    house.pass(3_600_000);
    let jumped = first.look().await.expect("a look").expect("a jump");
    assert!((3_590_000..=3_600_000).contains(&jumped), "{jumped}");
    house.pass(-7_200_000);
    assert!(first.look().await.expect("a look").is_some_and(|ms| ms <= -7_200_000));
    house.pass(600_000);
    Server::start(house.service()).await.expect("noted");
    // A server that starts by a clock that has gone back.
    house.pass(-1_800_000);
    Server::start(house.service()).await.expect("noted");
    let told = rows(&house, "table=clock").await;
    let said: Vec<(&str, &str)> = told.iter().map(|r| (r["what"].as_str(), &r["at"][11..16])).collect();
    assert_eq!(
        said,
        [("start", "11:40"), ("jump", "12:00"), ("start", "12:10"), ("start", "13:00"), ("jump", "14:00")]
    );
    assert_eq!((told[2]["ms"].as_str(), told[0]["ms"].as_str()), ("600000", "-1800000"));
    let page = inspector(&house).open("/s/shop/record?part=days").await;
    let shown = page.texts("table.clocks td");
    assert_eq!(shown.len(), 5);
    assert_eq!(shown[0], "started with a clock 30 min earlier than when it was last seen");
    assert_eq!(
        (shown[2].as_str(), shown[3].as_str()),
        ("started, 10 min after it was last seen", "started for the first time")
    );
    assert!(
        shown[1].starts_with("jumped back by 2:00:0") && shown[4].starts_with("jumped forward by 0:59:5")
            || shown[4].starts_with("jumped forward by 1:00:00")
    );
    let pdf = house.role("inspector").get("record.pdf").await.ok();
    assert!(Pdf::new(&pdf.bytes).text("-raw").contains("started for the first time"));
}

async fn nonsense_is_told(house: House) {
    house.set_up().await;
    house.write(item("cake", "08:00", "bench", &[])).await;
    let (program, browser) = (house.role("inspector"), inspector(&house));
    for (query, status, part) in [
        ("from=2026-05-05&to=2026-05-04", 400, "`from` comes after `to`"),
        ("from=2026-02-30", 400, "`from` is a date"),
        ("to=yesterday", 400, "`to` is a date"),
        ("item=no%20id", 400, "`item` is not an id"),
        ("item=nothing", 404, "There is no item `nothing`"),
        ("made_from=nothing", 404, "There is no item `nothing`"),
        ("product=nothing", 404, "There is no product `nothing`"),
        ("place=nowhere", 404, "There is no place `nowhere`"),
    ] {
        for what in ["record.csv", "record.jsonl", "record.pdf"] {
            let answer = program.get(&format!("{what}?{query}")).await;
            assert_eq!(answer.status.as_u16(), status, "{what}?{query}");
            assert!(answer.json()["detail"].as_str().expect("a sentence").contains(part), "{}", answer.text());
        }
        for what in ["record", "record.pdf"] {
            let page = browser.open(&format!("/s/shop/{what}?{query}")).await;
            assert!(page.status() == status && page.text("h1").contains(part), "{query}: {}", page.0.text());
        }
    }
    assert_eq!(program.get("record.pdf?size=57mm").await.status.as_u16(), 400);
    // An empty stretch and a whole year are a page, a table and a paper all the same.
    for query in ["from=2020-01-01&to=2020-01-01", "from=2025-06-01&to=2026-06-01", "from=1970-01-01&to=1970-01-02"] {
        let page = browser.open(&format!("/s/shop/record?{query}")).await;
        assert!(page.status() == 200 && !page.text("h1").is_empty());
        for part in ["cold", "days", "nothing"] {
            assert_eq!(browser.open(&format!("/s/shop/record?{query}&part={part}&page=99999")).await.status(), 200);
        }
        for what in ["csv", "jsonl", "pdf"] {
            program.get(&format!("record.{what}?{query}")).await.ok();
        }
    }
    let page = browser.open("/s/shop/record?from=2020-01-01&to=2020-01-01").await;
    assert_eq!(page.text(".empty"), "No item was there.");
}

/// What 21 CFR 117.305 asks of records, point by point (from memory; the section's words are (a) original, a true copy, or
/// electronic; (b) the actual values and observations; (c) accurate, indelible, legible; (d) created concurrently with the
/// activity; (e) as detailed as necessary; (f) the plant's name and, where needed, its place, the date and, where
/// appropriate, the time, who performed the activity, and the product and, where applicable, the lot).
async fn it_has_what_a_record_must_have(house: House) {
    house.set_up().await;
    let mut cake = item("cake", "11:59", "bench", &[]);
    cake["lot"] = json!("L-12");
    let written = house
        .write(json!([cake, {"kind": "reading", "at": t("11:59:30"), "item": "cake", "value": "41.0", "unit": "F"}]))
        .await;
    let row = &rows(&house, "").await[0];
    let pdf = house.role("inspector").get("record.pdf").await.ok();
    let pdf = Pdf::new(&pdf.bytes);
    let paper = pdf.text("-raw").split_whitespace().collect::<Vec<_>>().join(" ");
    // (b) The value that was read, in the unit it was read in, not "in order".
    assert!(row["readings"].ends_with("41.0 F") && paper.contains("41.0 °F"), "{paper}");
    // (c) Nothing of it can be changed: any byte breaks its hash. Legible: real text, its fonts embedded.
    let text = house.role("inspector").get("record.jsonl").await.ok().text().to_owned();
    let changed = text.replacen("\"41.0\"", "\"40.0\"", 1);
    assert!(counterclock::check::record(&text).iter().all(|f| f.broken.is_none()));
    assert!(changed != text && counterclock::check::record(&changed).iter().any(|f| f.broken.is_some()));
    let fonts = pdf.fonts();
    assert!(fonts.lines().skip(2).all(|f| f.contains(" yes yes ")), "{fonts}");
    // (d) When it was written, beside when it happened: nothing here was late, and what is late says so.
    assert_eq!((row["late_minutes"].as_str(), row["late_entries"].as_str()), ("", ""));
    assert!(written["entries"][0]["recorded_at"].is_string());
    // (f) Whose, when, who, what, which lot.
    for part in ["Anvil & Rye", "2026-05-04 12:59:00 +01:00", "manager", "Cake", "L-12"] {
        assert!(paper.contains(part), "{part} isn't in {paper}");
    }
    assert_eq!((row["out_at"].as_str(), row["out_by"].as_str()), ("2026-05-04T12:59:00.000+01:00", "manager"));
    assert_eq!((row["product"].as_str(), row["lot"].as_str()), ("cake", "L-12"));
    // 21 CFR 117.305 is silent on it, the trade is not: each sheet says which of how many, and where the ledger ended.
    let head = house.tail().await.last().expect("an entry")["hash"].as_str().expect("a hash")[..12].to_owned();
    assert!(paper.contains(&head) && paper.contains("1 of "), "{paper}");
}

async fn a_long_pdf_is_refused(house: House) {
    house.set_up().await;
    for some in 0..5 {
        let many: Vec<Value> = (0..500).map(|n| item(&format!("i-{some}-{n}"), "11:00", "fridge", &[])).collect();
        house.write(Value::from(many)).await;
    }
    let answer = house.role("inspector").get("record.pdf").await.refused(400, "bad-query");
    let said = answer.json()["detail"].as_str().expect("a sentence").to_owned();
    assert!(said.contains("2500 items") && said.contains("1200") && said.contains("Name fewer dates"), "{said}");
    // The table has no such end, and keeps its order from slice to slice.
    let order: Vec<String> = rows(&house, "").await.into_iter().map(|r| r["item"].clone()).collect();
    let expected: Vec<String> = (0..5).flat_map(|s| (0..500).map(move |n| format!("i-{s}-{n}"))).collect();
    assert_eq!(order, expected);
    let text = house.role("inspector").get("record.jsonl").await.ok().text().to_owned();
    let seqs: Vec<u64> = text
        .lines()
        .map(|l| serde_json::from_str::<Value>(l).expect("JSON")["seq"].as_u64().expect("a number"))
        .collect();
    assert!(seqs.windows(2).all(|w| w[0] < w[1]) && seqs.len() as u64 == house.head().await);
    let page = inspector(&house).open("/s/shop/record?page=100").await;
    assert_eq!((page.texts("section.account").len(), page.text(".page").as_str()), (25, "Page 100 of 100"));
}
