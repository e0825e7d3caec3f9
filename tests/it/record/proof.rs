//! Whoever has the database in hand can make a chain anew that holds in itself. What is outside the shop tells: the number
//! and digits on a label or a paper, a copy that was taken.
//!
//! Guards against S-29 of SAFETY.md.

use super::tools::Pdf;
use crate::kit::actor::Actor;
use crate::kit::base::Kind;
use crate::kit::browser::{Browser, Page};
use crate::kit::house::{House, t};
use counterclock::check;
use counterclock::ledger::chain;
use serde_json::{Value, json};

both!(a_chain_made_anew_is_found, a_copy_is_held_against_the_ledger);
sqlite!(any_byte_changed_is_found, what_is_no_copy_is_told);

async fn busy(house: &House) {
    house.set_up().await;
    let rule = json!({"kind": "rule", "at": t("00:00"), "rule": "own", "name": "Own", "returns": "any",
        "clauses": [{"measure": "total_out", "limit": "PT2H", "verdict": "discard"}],
        "source": {"title": "The shop", "basis": "common practice"}});
    house.write(rule).await;
    house
        .write(json!([
            {"kind": "item", "at": t("08:00"), "item": "tub", "product": "cake", "rules": ["own"], "name": "Tub", "place": "bench"},
            {"kind": "move", "at": t("08:30"), "item": "tub", "place": "fridge"},
            {"kind": "item", "at": t("09:00"), "item": "cake", "product": "cake", "name": "Cake", "place": "bench", "from": ["tub"]},
            {"kind": "move", "at": t("10:00"), "item": "cake", "place": "fridge"},
            {"kind": "reading", "at": t("10:01"), "item": "cake", "value": "6.5", "unit": "C"},
            {"kind": "move", "at": t("10:30"), "item": "cake", "place": "shelf"},
            {"kind": "close", "at": t("11:30"), "item": "cake", "as": "sold"},
        ]))
        .await;
}

/// The whole chain made anew from changed entries, numbered anew: what a forger would do.
fn forged(mut entries: Vec<Value>) -> Vec<String> {
    let mut prev = chain::START.to_owned();
    let mut lines = Vec::new();
    for (n, e) in entries.iter_mut().enumerate() {
        let members = e.as_object_mut().expect("an object");
        members.remove("hash");
        members.remove("prev");
        members.insert(String::from("seq"), json!(n + 1));
        let hash = chain::hash(&prev, &chain::canonical(members));
        members.insert(String::from("prev"), json!(prev));
        members.insert(String::from("hash"), json!(hash));
        lines.push(chain::canonical(members));
        prev = hash;
    }
    lines
}

async fn put(house: &House, lines: &[String]) {
    let mut aside = house.base().aside().await;
    aside.must("delete from entry").await;
    aside.must("insert into entry select * from kept").await;
    let quoted = |line: &str| line.replace('\'', "''");
    for (n, line) in lines.iter().enumerate() {
        let n = n + 1;
        let copy = format!(
            "insert into entry (site, seq, kind, item, place, target, air_at, line)
             select site, {n}, kind, item, place, target, air_at, line from kept where seq = {}",
            n - 1
        );
        if aside.ask(&format!("select kind from entry where seq = {n}")).await.is_empty() {
            aside.must(&copy).await;
        }
        aside.must(&format!("update entry set line = '{}' where seq = {n}", quoted(line))).await;
    }
    aside.must(&format!("delete from entry where seq > {}", lines.len())).await;
    let last: Value = serde_json::from_str(lines.last().expect("a line")).expect("JSON");
    let head = format!("update site set head = {}, hash = '{}'", lines.len(), last["hash"].as_str().expect("a hash"));
    aside.must(&head).await;
}

fn inspector(house: &House) -> Browser {
    let browser = Browser::new(house);
    browser.put("counterclock", &house.role("inspector").1);
    browser
}

async fn upload(browser: &Browser, text: &str) -> Page {
    let body = format!(
        "--xYz\r\nContent-Disposition: form-data; name=\"other\"\r\n\r\n1\r\n--xYz\r\nContent-Disposition: form-data; name=\"record\"; filename=\"record.jsonl\"\r\nContent-Type: application/jsonl\r\n\r\n{text}\r\n--xYz--\r\n"
    );
    let kind = [("content-type", "multipart/form-data; boundary=xYz")];
    Page(browser.send("POST", "/s/shop/check-record", &kind, body).await)
}

async fn a_chain_made_anew_is_found(house: House) {
    busy(&house).await;
    // What is outside the shop: the foot of a paper, and a copy.
    let paper = house.role("inspector").get("record.pdf").await.ok();
    let foot = Pdf::new(&paper.bytes).text("-raw");
    let said = foot.split("ledger to entry ").nth(1).expect("a foot").split_whitespace().take(2).collect::<Vec<_>>();
    let (seq, digits) = (said[0].trim_end_matches(',').to_owned(), said[1].to_owned());
    assert_eq!(seq, house.head().await.to_string());
    let copy = house.role("inspector").get("record.jsonl").await.ok().text().to_owned();
    let browser = inspector(&house);
    let ask = async || {
        let page = browser.submit("/s/shop/check-record", &[("seq", seq.as_str()), ("digits", digits.as_str())]).await;
        assert_eq!(page.status(), 200);
        page.text("main [role=status]")
    };
    assert_eq!(ask().await, format!("Entry {seq} still begins with {digits}."));
    let mut aside = house.base().aside().await;
    let triggers = match house.base().kind {
        Kind::Sqlite => "drop trigger entry_stays; drop trigger entry_remains; drop trigger entry_once",
        Kind::Postgres => "drop trigger entry_stays on entry; drop trigger entry_remains on entry",
    };
    aside.must(triggers).await;
    aside.must("create table kept as select * from entry").await;
    let whole = house.tail().await;
    let n = whole.len();
    let find = |kind: &str, item: &str| {
        whole.iter().position(|e| e["kind"] == kind && (e["item"] == item || item.is_empty())).expect("an entry")
    };
    let with = |change: &dyn Fn(&mut Vec<Value>)| {
        let mut entries = whole.clone();
        change(&mut entries);
        forged(entries)
    };
    for (what, lines, touched) in [
        ("a changed row", with(&|e| e[find("reading", "cake")]["value"] = json!("4.0")), "cake"),
        ("the last rows removed", with(&|e| e.truncate(n - 2)), "cake"),
        ("two swapped", with(&|e| e.swap(find("move", "tub"), find("move", "cake"))), "tub"),
        ("a rule's text changed", with(&|e| e[find("rule", "")]["clauses"][0]["limit"] = json!("PT4H")), "rule"),
        (
            "a row inserted",
            with(&|e| {
                let mut row = e[find("reading", "cake")].clone();
                row["at"] = json!(t("10:02"));
                e.insert(find("reading", "cake") + 1, row);
            }),
            "cake",
        ),
    ] {
        put(&house, &lines).await;
        let broken = house.broken().await;
        assert!(!broken.iter().any(|b| b.starts_with("chain")), "{what}: the chain holds in itself: {broken:?}");
        let told = ask().await;
        assert!(told.starts_with("It does not hold: entry "), "{what}: {told}");
        let mut conn = house.service().db().reader().await.expect("a connection");
        let found = check::head(&mut conn, "shop", seq.parse().expect("a number"), &digits).await.expect("it is asked");
        assert!(found.is_some(), "{what}");
        drop(conn);
        // The copy is whole in itself, and the page says which of its rows no longer are so.
        assert!(check::record(&copy).iter().all(|f| f.broken.is_none()));
        let page = upload(&browser, &copy).await;
        assert_eq!(page.status(), 200);
        let odd = page.texts(".proof li b");
        let rows = page.texts(".proof li");
        assert!(
            !odd.is_empty() && rows.iter().any(|r| r.starts_with(touched) && !r.ends_with(": agrees")),
            "{what}: {rows:?}"
        );
    }
    // As it was, it agrees again.
    let all: Vec<String> = whole.iter().map(|e| chain::canonical(e.as_object().expect("an object"))).collect();
    put(&house, &all).await;
    house.checks().await;
    assert_eq!(ask().await, format!("Entry {seq} still begins with {digits}."));
    assert_eq!(upload(&browser, &copy).await.texts(".proof li b"), Vec::<String>::new());
}

async fn a_copy_is_held_against_the_ledger(house: House) {
    busy(&house).await;
    let (browser, program) = (inspector(&house), house.role("inspector"));
    let (lines, table) = (program.get("record.jsonl").await.ok(), program.get("record.csv").await.ok());
    let page = upload(&browser, lines.text()).await;
    assert!(
        page.text("main b").ends_with("rows agree with the ledger as it is now.")
            && page.texts(".proof li b").is_empty()
    );
    assert_eq!(page.texts("#result ~ ul:first-of-type li"), ["chain: holds", "order of truth: holds"]);
    let page = upload(&browser, table.text()).await;
    assert!(page.texts(".proof li b").is_empty(), "{:?}", page.texts(".proof li"));
    // The ledger goes on: what was corrected since is told, line by line, and what wasn't agrees still.
    let seq = house.tail().await.iter().find(|e| e["kind"] == "move" && e["item"] == "tub").expect("it")["seq"].clone();
    house.write(json!({"kind": "correct", "entry": seq, "set": {"at": t("08:40")}, "reason": "misread"})).await;
    let page = upload(&browser, lines.text()).await;
    assert!(page.texts(".proof li b").is_empty(), "the entries are as they were: a correction is another");
    let page = upload(&browser, table.text()).await;
    let odd = page.texts(".proof li:has(b)");
    assert!(
        odd.iter()
            .any(|r| r.starts_with("tub, line 1: the same entry, but otherwise by now: ") && r.contains("back_at")),
        "{odd:?}"
    );
    // A copy that was changed names where.
    let changed = lines.text().replacen("\"value\":\"6.5\"", "\"value\":\"4.5\"", 1);
    let page = upload(&browser, &changed).await;
    assert!(page.text("#result ~ ul li b").contains("its `hash` is not that of its contents"), "{}", page.text("main"));
    assert!(page.texts(".proof li:has(b)").iter().any(|r| r.starts_with("cake")));
    let changed = table.text().replacen(",discard,", ",within,", 1).replacen("sold", "discarded", 1);
    assert!(changed != table.text());
    assert!(upload(&browser, &changed).await.texts(".proof li:has(b)").iter().any(|r| r.contains("ended")));
}

async fn any_byte_changed_is_found(house: House) {
    busy(&house).await;
    let text = house.role("inspector").get("record.jsonl").await.ok().text().to_owned();
    let whole = |text: &str| check::record(text).iter().all(|f| f.broken.is_none());
    assert!(whole(&text));
    let mut tried = 0;
    for at in (0..text.len()).step_by(7).chain([text.len() - 1]) {
        for flip in [1_u8, 2, 7, 0x20] {
            let mut bytes = text.clone().into_bytes();
            bytes[at] ^= flip;
            // Part of a copy that is no text is told before anything is read.
            let Ok(changed) = String::from_utf8(bytes) else { continue };
            assert!(!whole(&changed), "byte {at}, {:?} for {:?}", &changed[at..=at], &text[at..=at]);
            tried += 1;
        }
    }
    assert!(tried > 1_000, "{tried}");
    // Cut off within a line, too.
    assert!(!whole(&text[..text.len() - 40]));
}

async fn what_is_no_copy_is_told(house: House) {
    busy(&house).await;
    let browser = inspector(&house);
    let cut = house.role("inspector").get("record.csv").await.ok().text().to_owned();
    for (text, part) in [
        ("", "Nothing was sent"),
        ("a letter", "That is no copy of a record"),
        ("%PDF-1.7\r\nbinary \u{fffd}", "That is no copy of a record"),
        ("item,name\r\ncake,Cake\r\n", "That is no copy of a record"),
        (&cut[..cut.len() - 90], "breaks off or was changed at line"),
    ] {
        let page = upload(&browser, text).await.says(400, part);
        assert!(page.text("h1").contains("Check this record"));
    }
    // What only looks like entries is a page that says what is wrong with each line.
    let page = upload(&browser, "{\"seq\":1}\n{}\n{\"seq\":18446744073709551615,\"kind\":\"move\"}\n{").await;
    assert!(page.status() == 200 && page.texts(".proof li b").len() >= 3, "{}", page.text("main"));
    for (seq, digits) in
        [("1", "short"), ("one", "0123456789ab"), ("1", "0123456789xy"), ("-1", "0123456789ab"), ("", "")]
    {
        assert_eq!(
            browser.submit("/s/shop/check-record", &[("seq", seq), ("digits", digits)]).await.status(),
            400,
            "{seq} {digits}"
        );
    }
    for seq in ["0", "99999", "18446744073709551615"] {
        let page = browser.submit("/s/shop/check-record", &[("seq", seq), ("digits", "0123456789ab")]).await;
        assert!(
            page.status() == 200 && page.text("main [role=status]").contains("does not hold"),
            "{seq}: {}",
            page.text("main")
        );
    }
    let kind = [("content-type", "multipart/form-data")];
    assert_eq!(browser.send("POST", "/s/shop/check-record", &kind, "x".to_owned()).await.status.as_u16(), 400);
    let kind = [("content-type", "multipart/form-data; boundary=b")];
    let large = browser.send("POST", "/s/shop/check-record", &kind, "x".repeat((8 << 20) + 1)).await;
    assert_eq!(large.status.as_u16(), 413);
}
