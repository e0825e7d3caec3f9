//! The record: JSON Lines that `evaluate` reads alone, CSV that a spreadsheet opens; and whether the service lives.

use crate::kit::actor::{Actor, Anonymous};
use crate::kit::house::{House, t};
use axum::body::Body;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

both!(lines_are_read_again, rows_are_read_by_another, packed_it_is_the_same, a_stretch_of_days, health);

fn item(id: &str, at: &str, from: &[&str]) -> Value {
    let mut entry = json!({"kind": "item", "at": t(at), "item": id, "product": "cake", "name": id, "place": "bench"});
    if !from.is_empty() {
        entry["from"] = json!(from);
    }
    entry
}

fn moved(id: &str, at: &str, place: &str) -> Value {
    json!({"kind": "move", "at": t(at), "item": id, "place": place})
}

async fn busy(house: &House) {
    house.set_up().await;
    let answer = house
        .write(json!([
            item("tub", "06:00", &[]),
            moved("tub", "06:30", "fridge"),
            item("cake", "07:00", &["tub"]),
            moved("cake", "07:40", "fridge"),
            {"kind": "reading", "at": t("07:45"), "item": "cake", "value": 6.5, "unit": "C"},
            {"kind": "reading", "at": t("07:46"), "place": "fridge", "value": "3.0", "unit": "C"},
            {"kind": "lapse", "at": t("08:00"), "place": "fridge", "until": t("08:20")},
            {"kind": "mark", "at": t("08:30"), "item": "cake", "discard_by": t("10:00"), "how": "written", "copy": 1},
            moved("cake", "09:00", "shelf"),
            {"kind": "item", "at": t("09:00"), "item": "quiet", "product": "cake", "lot": "=1+1", "count": 3,
             "name": "=SUM(A1), \"so\"\nsaid", "place": "fridge"},
            {"kind": "close", "at": t("11:00"), "item": "cake", "as": "discarded", "reason": "over"},
            {"kind": "close", "at": t("11:10"), "item": "quiet", "as": "sold", "count": 1},
            {"kind": "decide", "at": t("11:20"), "about": "cake", "action": "acknowledge", "reason": "thrown away"},
            {"kind": "approve", "at": t("11:25"), "what": "sum-2h-4h", "reference": "Plan 3"},
            {"kind": "review", "at": t("11:30"), "from": "2026-05-04", "to": "2026-05-04"},
        ]))
        .await;
    let read = answer["entries"][4]["seq"].as_u64().expect("a seq");
    house.write(json!({"kind": "correct", "entry": read, "set": {"value": "5.5"}, "reason": "misread"})).await;
}

async fn lines_are_read_again(house: House) {
    busy(&house).await;
    let answer = house.role("inspector").get("record.jsonl").await.ok();
    assert_eq!(answer.header("content-type"), "application/jsonl; charset=utf-8");
    assert_eq!(answer.header("content-disposition"), "attachment; filename=\"record.jsonl\"");
    assert!(answer.text().ends_with('\n'));
    let lines: Vec<Value> = answer.text().lines().map(|l| serde_json::from_str(l).expect("JSON")).collect();
    // All of it happened today, so this is the whole ledger, entry by entry as it is kept.
    assert_eq!(lines, house.tail().await);
    let standings = House::evaluate(&lines, house.now(), None);
    assert_eq!(standings.len(), 3);
    for (item, standing) in standings {
        assert_eq!(house.standing(&item).await, standing);
    }
    let found = counterclock::check::record(answer.text());
    assert!(found.iter().all(|f| f.broken.is_none()));
    house.agrees().await;
}

async fn rows_are_read_by_another(house: House) {
    busy(&house).await;
    let answer = house.role("inspector").get("record.csv").await.ok();
    assert_eq!(answer.header("content-type"), "text/csv; charset=utf-8");
    let mut reader = csv::Reader::from_reader(answer.bytes.as_slice());
    let header: Vec<String> = reader.headers().expect("a header").iter().map(str::to_owned).collect();
    assert_eq!(header, counterclock::record::csv::COLUMNS);
    let rows: Vec<BTreeMap<String, String>> = reader.deserialize().map(|row| row.expect("a row")).collect();
    let of = |item: &str| rows.iter().filter(|r| r["item"] == item).collect::<Vec<_>>();
    let (tub, cake, quiet) = (of("tub"), of("cake"), of("quiet"));
    assert_eq!((tub.len(), cake.len(), quiet.len()), (2, 4, 1));
    for list in [&tub, &cake, &quiet] {
        let mut sum = 0;
        for (n, row) in list.iter().enumerate() {
            sum += row["ms_this_spell"].parse::<i64>().expect("a number");
            assert_eq!(row["line"], (n + 1).to_string());
        }
        let standing = house.standing(&list[0]["item"]).await;
        assert_eq!(standing["total_out_ms"], sum, "the lines add up to the total");
        assert!(list.iter().all(|r| r["ms_in_all"] == sum.to_string()), "and each says it");
        assert!(list.iter().all(|r| r["verdict"] == standing["verdict"].as_str().expect("a verdict")));
    }
    assert_eq!((cake[0]["inherited_from"].as_str(), cake[1]["inherited_from"].as_str()), ("tub", ""));
    assert_eq!(cake[1]["out_at"], "2026-05-04T08:00:00.000+01:00", "local time with its offset");
    assert_eq!((cake[3]["ended"].as_str(), cake[3]["temperature_back"].as_str()), ("discarded", ""));
    assert!(cake[3]["corrections"].contains("misread"), "{}", cake[3]["corrections"]);
    // Names are joined on reading; the ledger has the id.
    assert_eq!(cake[0]["reviewed_by"], "manager");
    // A spreadsheet doesn't run it, and a reader gets it back as it was.
    assert_eq!((quiet[0]["name"].as_str(), quiet[0]["lot"].as_str()), ("'=SUM(A1), \"so\"\nsaid", "'=1+1"));
    let hashes: BTreeSet<String> =
        house.tail().await.iter().map(|e| e["hash"].as_str().expect("a hash").to_owned()).collect();
    assert!(rows.iter().all(|r| hashes.contains(&r["hash"])));
}

/// Local dates, both included; what was made from what comes along, what was over before doesn't.
/// As every browser asks for it.
async fn packed_it_is_the_same(house: House) {
    busy(&house).await;
    for path in ["/s/shop/api/record.csv", "/s/shop/api/record.csv?table=cold", "/s/shop/api/record.jsonl"] {
        let plain = house.staff().send("GET", path, &[], Body::empty()).await.ok();
        let packed = house.staff().send("GET", path, &[("accept-encoding", "gzip")], Body::empty()).await.ok();
        assert_eq!(packed.header("content-encoding"), "gzip", "{path}");
        let mut text = String::new();
        std::io::Read::read_to_string(&mut flate2::read::GzDecoder::new(&packed.bytes[..]), &mut text).expect("gzip");
        assert_eq!(text, plain.text(), "{path}");
    }
}

async fn a_stretch_of_days(house: House) {
    house.set_up().await;
    house
        .write(json!([item("old", "06:00", &[]), item("tub", "06:10", &[]),
        {"kind": "close", "at": t("07:00"), "item": "old", "as": "sold"}]))
        .await;
    house.set("+1 12:00");
    house.write(json!([item("cake", "+1 08:00", &["tub"]), {"kind": "close", "at": t("+1 08:01"), "item": "tub", "as": "used"}])).await;
    // Half past midnight in summer, by the shop's clock: the third day has begun where the shop is.
    house.set("+1 23:30");
    house.write(item("late", "+1 23:30", &["cake"])).await;
    house.set("+3 12:00");
    let items = async |dates: &str| {
        let text = house.manager().get(&format!("record.jsonl?{dates}")).await.ok().text().to_owned();
        let lines: Vec<Value> = text.lines().map(|l| serde_json::from_str(l).expect("JSON")).collect();
        let standings = House::evaluate(&lines, house.now(), None);
        for (item, standing) in &standings {
            assert_eq!(house.standing(item).await, *standing, "{dates}");
        }
        let rows = house.manager().get(&format!("record.csv?{dates}")).await.ok();
        let mut reader = csv::Reader::from_reader(rows.bytes.as_slice());
        let listed: BTreeSet<String> = reader.records().map(|r| r.expect("a row")[1].to_owned()).collect();
        let read: Vec<String> = standings.into_keys().collect();
        (read.join(" "), listed.into_iter().collect::<Vec<_>>().join(" "))
    };
    let both = |read: &str, listed: &str| (read.to_owned(), listed.to_owned());
    assert_eq!(items("from=2026-05-03&to=2026-05-03").await, both("", ""));
    assert_eq!(items("from=2026-05-04&to=2026-05-04").await, both("old tub", "old tub"));
    assert_eq!(items("from=2026-05-05&to=2026-05-05").await, both("cake tub", "cake tub"));
    // Its grandparent is read for what it brought, but wasn't there any more.
    assert_eq!(items("from=2026-05-06&to=2026-05-06").await, both("cake late tub", "cake late"));
    assert_eq!(items("from=2026-05-04&to=2026-05-06").await, both("cake late old tub", "cake late old tub"));
    assert_eq!(items("").await, both("cake late tub", "cake late"), "today, if nothing is said");
}

async fn health(house: House) {
    let nobody = Anonymous(house.clone());
    let live = nobody.send("GET", "/healthz", &[], Body::empty()).await.ok();
    assert_eq!(live.json(), json!({"status": "up"}));
    let ready = nobody.send("GET", "/readyz", &[], Body::empty()).await.ok().json();
    assert_eq!(ready["status"], "ready");
    let told = house.service();
    let mut conn = told.db().reader().await.expect("a connection");
    let note = |done, _: &str, of| told.note_verified("shop", done, of);
    let broken = counterclock::check::chain_of(&mut conn, "shop", note).await.expect("a check");
    drop(conn);
    assert_eq!(broken, None);
    let ready = nobody.send("GET", "/readyz", &[], Body::empty()).await.ok().json();
    assert_eq!((&ready["verified"], &ready["of"], &ready["sites"]), (&json!(1), &json!(1), &json!(1)));
    // Packed where the client says it can unpack, and still checked for what every answer has.
    house.set_up().await;
    let packed =
        house.staff().send("GET", "/s/shop/api/rules", &[("accept-encoding", "gzip")], Body::empty()).await.ok();
    assert_eq!(packed.header("content-encoding"), "gzip");
    // Without its database it lives, and isn't ready.
    house.service().db().close().await;
    nobody.send("GET", "/healthz", &[], Body::empty()).await.ok();
    let down = nobody.send("GET", "/readyz", &[], Body::empty()).await;
    assert_eq!((down.status.as_u16(), down.code().as_str()), (503, "not-recorded"));
    house.staff().post(&json!({"kind": "restore", "place": "fridge"})).await.refused(503, "not-recorded");
    house.restart().await;
    house.agrees().await;
}
