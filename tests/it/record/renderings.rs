//! One record, four renderings: the page, the table, the PDF and the entries say the same of every item and line, read back
//! by other people's tools.
//!
//! Guards against S-33 of SAFETY.md.

use super::tools::Pdf;
use crate::kit::actor::Actor;
use crate::kit::browser::{Browser, Page};
use crate::kit::chance::Chance;
use crate::kit::house::{House, instant, t};
use counterclock::clock::Zone;
use counterclock::demo;
use scraper::{Html, Selector};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io::Write;
use std::process::{Command, Stdio};

both!(the_demo_reads_the_same_in_all, a_random_month_reads_the_same_in_all);

/// What is read of an item: its lines as whole seconds and their running sum, as a reader sees them.
type Lines = Vec<(i64, i64)>;

/// Rounded up, as time used is.
fn seconds(ms: i64) -> i64 {
    (ms + 999) / 1000
}

/// The lines in whole seconds that add up.
fn lines(lengths_ms: &[i64]) -> Lines {
    let (mut ms, mut found) = (0, Vec::new());
    for length in lengths_ms {
        let before = seconds(ms);
        ms += length;
        found.push((seconds(ms) - before, seconds(ms)));
    }
    found
}

fn clock(text: &str) -> i64 {
    let parts: Vec<i64> = text.split(':').map(|p| p.parse().expect("a number")).collect();
    parts[0] * 3600 + parts[1] * 60 + parts[2]
}

/// Python's `csv` reads the table: rows as maps from the header's names.
fn by_python(text: &str) -> Vec<BTreeMap<String, String>> {
    const READ: &str = "import csv, io, json, sys; t = io.TextIOWrapper(sys.stdin.buffer, 'utf-8', newline=''); json.dump(list(csv.DictReader(t, strict=True)), sys.stdout)";
    let child = Command::new("python3").args(["-c", READ]).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn();
    let mut child = child.expect("python3 is needed");
    let mut stdin = child.stdin.take().expect("a pipe");
    let text = text.to_owned();
    let feed = std::thread::spawn(move || stdin.write_all(text.as_bytes()).expect("it is read"));
    let out = child.wait_with_output().expect("it ends");
    feed.join().expect("it was written");
    assert!(out.status.success(), "python's csv refuses it");
    serde_json::from_slice(&out.stdout).expect("rows")
}

/// Item by item in the table's order, with each line's length; and what it says of the whole item.
fn of_table(rows: &[BTreeMap<String, String>]) -> Vec<(String, Lines, BTreeMap<String, String>)> {
    let mut found: Vec<(String, Vec<i64>, BTreeMap<String, String>)> = Vec::new();
    for row in rows {
        if found.last().is_none_or(|(item, ..)| *item != row["item"]) {
            found.push((row["item"].clone(), Vec::new(), row.clone()));
        }
        let last = found.last_mut().expect("one");
        if !row["out_at"].is_empty() {
            last.1.push(row["ms_this_spell"].parse().expect("a number"));
        }
    }
    found.into_iter().map(|(item, ms, row)| (item, lines(&ms), row)).collect()
}

/// The page's accounts, over all its pages.
async fn of_pages(browser: &Browser, query: &str) -> Vec<(String, Lines, String)> {
    let (mut found, mut n) = (Vec::new(), 1);
    loop {
        let page: Page = browser.open(&format!("/s/shop/record?{query}&page={n}")).await;
        assert_eq!(page.status(), 200);
        let html = Html::parse_document(page.0.text());
        let css = |text: &str| Selector::parse(text).expect("a selector");
        for account in html.select(&css("section.account")) {
            let one = |what: &str| account.select(&css(what)).next().map(|e| e.text().collect::<String>());
            let cells =
                |what: &str| account.select(&css(what)).map(|e| e.text().collect::<String>()).collect::<Vec<_>>();
            let spans = cells("tbody td:nth-last-child(2)");
            let sums = cells("tbody td:last-child");
            let lines: Lines = spans.iter().zip(&sums).map(|(a, b)| (clock(a), clock(b))).collect();
            if let Some(total) = one("tfoot td") {
                assert_eq!(clock(&total), lines.last().expect("a line").1, "the foot says what the lines add up to");
            }
            let text = account.text().collect::<Vec<_>>().join(" ");
            found.push((one("h3 small").expect("an id"), lines, text));
        }
        if page.texts("nav[aria-label=Pages] a").iter().all(|a| a != "Next page") {
            return found;
        }
        n += 1;
    }
}

/// What `pdftotext` reads of each item, in the order given: between its heading and the next one's.
fn of_pdf(text: &str, items: &[(String, String)]) -> Vec<Lines> {
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    // What stands at the foot of every sheet isn't the item's.
    let mut rest = words.as_str();
    let mut parts = Vec::new();
    for (id, verdict) in items {
        let heading = format!("{id} {verdict} ");
        let at = rest.find(&heading).unwrap_or_else(|| panic!("`{heading}` isn't in the PDF: {:.600}", rest));
        parts.push(&rest[..at]);
        rest = &rest[at + heading.len()..];
    }
    parts.push(rest.split("Cold places").next().expect("a part"));
    let is_span = |w: &&str| {
        let parts: Vec<&str> = w.split(':').collect();
        parts.len() == 3 && parts.iter().all(|p| !p.is_empty() && p.bytes().all(|b| b.is_ascii_digit()))
    };
    let read = |part: &&str| {
        let all: Vec<&str> = part.split(' ').collect();
        // A time of day stands between its date and how far it is from UTC.
        let of_day = |i: usize| i > 0 && all[i - 1].len() == 10 && all[i - 1].as_bytes()[4] == b'-';
        let spans = all.iter().enumerate().filter(|(i, w)| is_span(w) && !of_day(*i)).map(|(_, w)| clock(w));
        let spans: Vec<i64> = spans.collect();
        // What is said of the item begins with its sum.
        let lines: Lines = spans[1..].chunks(2).map(|c| (c[0], c[1])).collect();
        assert_eq!(spans[0], lines.last().map_or(0, |l| l.1), "{part}");
        lines
    };
    parts[1..].iter().map(read).collect()
}

/// Compares all four over some dates; how many items and lines there were.
async fn compare(house: &House, query: &str) -> (usize, usize) {
    let inspector = house.role("inspector");
    let browser = Browser::new(house);
    browser.put("counterclock", &inspector.1);
    let table = inspector.get(&format!("record.csv?{query}")).await.ok();
    let table = of_table(&by_python(table.text()));
    // The page.
    let pages = of_pages(&browser, query).await;
    assert_eq!(pages.len(), table.len());
    for ((id, lines, row), (on_page, shown, text)) in table.iter().zip(&pages) {
        assert_eq!((id, lines), (on_page, shown));
        for name in [&row["name"], &row["product_name"]] {
            assert!(text.contains(name.trim_start_matches('\'')), "{id}: {name} isn't on the page");
        }
        let said = text.contains("Past its time since");
        assert_eq!(said, row["verdict"] == "discard", "{id}: {text}");
    }
    // The PDF.
    let pdf = inspector.get(&format!("record.pdf?{query}")).await.ok();
    let pdf = Pdf::new(&pdf.bytes);
    assert!(pdf.check().contains("No syntax or stream encoding errors found"));
    let word = |row: &BTreeMap<String, String>| match row["verdict"].as_str() {
        "within" => "Within",
        "return" => "Put it back",
        "use" => "Use it now",
        _ => "Discard",
    };
    let named: Vec<(String, String)> = table.iter().map(|(id, _, row)| (id.clone(), word(row).to_owned())).collect();
    let read = of_pdf(&pdf.text("-raw"), &named);
    for ((id, lines, _), printed) in table.iter().zip(&read) {
        assert_eq!(lines, printed, "{id} on paper");
    }
    // The entries.
    let text = inspector.get(&format!("record.jsonl?{query}")).await.ok().text().to_owned();
    let entries: Vec<Value> = text.lines().map(|l| serde_json::from_str(l).expect("JSON")).collect();
    let standings = House::evaluate(&entries, house.now(), None);
    for (id, lines, row) in &table {
        let s = &standings[id];
        assert_eq!(row["ms_in_all"], s["total_out_ms"].to_string(), "{id}");
        assert_eq!(lines.last().map_or(0, |l| l.1), seconds(s["total_out_ms"].as_i64().expect("a number")), "{id}");
        assert_eq!(row["verdict"], s["verdict"].as_str().expect("a verdict"), "{id}");
    }
    let found = counterclock::check::record(&text);
    assert!(found.iter().all(|f| f.broken.is_none()), "{:?}", found.iter().map(|f| &f.broken).collect::<Vec<_>>());
    (table.len(), table.iter().map(|(_, l, _)| l.len()).sum())
}

async fn the_demo_reads_the_same_in_all(house: House) {
    let now = instant("+1 15:20");
    // The house has its first entry already.
    for (recorded_at, entry) in &demo::entries(now, Zone::named("Europe/London").expect("a zone"))[1..] {
        house.set(&recorded_at.to_string());
        house.manager().post(entry).await.ok();
    }
    house.set(&now.to_string());
    let (items, lines) = compare(&house, "from=2026-05-03&to=2026-05-05").await;
    assert!(items > 40 && lines > 100, "{items} items, {lines} lines");
    compare(&house, "from=2026-05-05&to=2026-05-05&place=bench").await;
}

/// Some days of a bakery by chance: tubs, cakes filled from them, moves forgotten and written down late, corrections,
/// closings; the month has a change of the clocks in it.
pub(super) async fn month(house: &House, seed: u64, days: &[usize]) {
    let chance = &mut Chance::new(seed);
    let mut open: Vec<(String, &str)> = Vec::new();
    for day in days {
        house.set(&format!("+{day} 19:00"));
        let at = |h: usize, m: usize| t(&format!("+{day} {:02}:{:02}", h, m));
        let mut hour = 7;
        for n in 0..4 + chance.below(4) {
            let (tub, mut entries) = (format!("d{day}-{n}"), Vec::new());
            // Only of what was there in the morning: by then it has begun.
            let there = open.iter().filter(|(id, _)| !id.starts_with(&format!("d{day}-")));
            let from: Vec<&str> = there.filter(|_| chance.percent(25)).take(3).map(|(id, _)| id.as_str()).collect();
            let name = *chance.of(&["Layer cake", "כתר", "Tub 🧁 №1", "=1+1", "A, \"b\""]);
            let mut item = json!({"kind": "item", "at": at(hour, chance.below(30)), "item": tub, "name": format!("{name} {day}/{n}"),
                "product": chance.of(&["cake", "mousse"]), "place": chance.of(&["bench", "fridge"])});
            if !from.is_empty() {
                item["from"] = json!(from);
            }
            let mut place = if item["place"] == "bench" { "bench" } else { "fridge" };
            entries.push(item);
            for _ in 0..chance.below(4) {
                hour = (hour + 1).min(18);
                place = if place == "fridge" { "bench" } else { "fridge" };
                entries
                    .push(json!({"kind": "move", "at": at(hour, 31 + chance.below(28)), "item": tub, "place": place}));
                if chance.percent(30) {
                    entries
                        .push(json!({"kind": "reading", "at": at(hour, 59), "item": tub, "value": "6.5", "unit": "C"}));
                }
            }
            let written = house.write(Value::from(entries)).await;
            if chance.percent(20) {
                let seq = written["entries"][0]["seq"].as_u64().expect("a number");
                house
                    .write(json!({"kind": "correct", "entry": seq, "set": {"lot": "L-7"}, "reason": "lot forgotten"}))
                    .await;
            }
            open.push((tub, place));
            hour = 7 + chance.below(9);
        }
        while open.len() > 9 {
            let (id, _) = open.remove(0);
            let how = chance.of(&["sold", "discarded", "served"]);
            house.write(json!({"kind": "close", "at": at(18, 59), "item": id, "as": how})).await;
        }
    }
}

/// Some days with both changes of the clocks among them: on 25 October 2026 and 28 March 2027 in London. Another seed,
/// `COUNTERCLOCK_SEED`, is other days, and then a whole month of them.
async fn a_random_month_reads_the_same_in_all(house: House) {
    house.set_up().await;
    let seed = std::env::var("COUNTERCLOCK_SEED").ok().and_then(|n| n.parse::<u64>().ok());
    let days: Vec<usize> = match seed {
        None => (0..2).chain(173..176).chain(326..330).collect(),
        Some(_) => (0..10).chain(168..178).chain(320..330).collect(),
    };
    month(&house, seed.unwrap_or(1), &days).await;
    let (items, lines) = compare(&house, "from=2026-05-04&to=2027-04-01").await;
    assert!(items >= 4 * days.len() && lines > items, "{items} items, {lines} lines");
}
