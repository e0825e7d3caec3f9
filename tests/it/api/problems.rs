//! Every problem that isn't a refusal of an entry, over HTTP, with the ledger as long as before.

use crate::kit::actor::{Actor, Anonymous, Answer};
use crate::kit::fault;
use crate::kit::house::{House, t};
use crate::taps;
use axum::body::Body;
use counterclock::web::error::PROBLEMS;
use serde_json::json;
use std::collections::BTreeSet;
use std::time::Duration;

both!(every_problem_is_produced, the_query_is_checked, bodies_are_checked, addresses_and_methods);

/// Requests that the queue has no place for: 1,024 wait, those of the batch under way don't.
const CROWD: usize = 1_400;

async fn every_problem_is_produced(house: House) {
    house.set_up().await;
    let (nobody, staff, inspector) = (Anonymous(house.clone()), house.staff(), house.role("inspector"));
    let air = json!({"kind": "reading", "place": "fridge", "value": "4.0", "unit": "C"}).to_string();
    let one = json!({"kind": "item", "product": "cake", "name": "Cake", "place": "fridge"});
    let post = "/s/shop/api/entries";
    let json_type = ("content-type", "application/json");
    staff.post_keyed("used", &one).await.ok();
    let head = house.head().await;
    let mut answers: Vec<(&str, Answer)> = vec![
        ("bad-query", staff.get("items?state=lukewarm").await),
        ("malformed", staff.post_text(&air, &[("idempotency-key", &"k".repeat(201))]).await),
        ("bad-plan", staff.send("POST", "/s/shop/api/plan", &[json_type], "[]").await),
        ("not-signed-in", nobody.get("items").await),
        ("not-allowed", inspector.post_text(&air, &[]).await),
        ("cross-site", staff.post_text(&air, &[("sec-fetch-site", "cross-site")]).await),
        ("cross-site", staff.post_text(&air, &[("origin", "https://elsewhere.test")]).await),
        ("not-found", staff.get("items/nothing").await),
        ("wrong-method", staff.send("DELETE", post, &[], Body::empty()).await),
        ("too-large", staff.send("POST", post, &[json_type], " ".repeat((1 << 20) + 1)).await),
        ("not-json", staff.send("POST", post, &[("content-type", "text/plain")], air.clone()).await),
        ("another-person", staff.send("POST", "/s/shop/taps", &[json_type], taps::somebody_elses()).await),
        ("key-reused", staff.post_keyed("used", &json!({"kind": "restore", "place": "fridge"})).await),
    ];
    fault::lose_items(&house).await;
    answers.push(("not-recorded", staff.post_keyed("again", &one).await));
    fault::find_items(&house).await;
    fault::lose_commit(&house).await;
    answers.push(("unknown-outcome", staff.post_keyed("again", &one).await));
    fault::find_commit(&house).await;
    assert_eq!(house.head().await, head, "nothing was written");
    staff.post_keyed("again", &one).await.ok();

    let lock = fault::lock(&house).await;
    let crowd: Vec<_> = (0..CROWD)
        .map(|n| {
            // Of one probe each: the same reading sent again would be the one that is there.
            let (staff, air) = (staff.clone(), air.replace("\"unit\"", &format!("\"probe\":\"p{n}\",\"unit\"")));
            tokio::spawn(async move { staff.post_text(&air, &[]).await })
        })
        .collect();
    // Whoever is turned away is told so while the others still wait.
    while crowd.iter().filter(|task| task.is_finished()).count() < CROWD - 1_024 - 256 {
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
    lock.release().await;
    let (mut written, mut busy) = (0, None);
    for task in crowd {
        let answer = task.await.expect("an answer");
        match answer.status.as_u16() {
            201 => written += 1,
            _ => busy = Some(answer),
        }
    }
    answers.push(("busy", busy.expect("one that was turned away")));
    assert_eq!(house.head().await, head + 1 + written, "what was acknowledged is there, and nothing else");
    house.checks().await;

    let mut produced = BTreeSet::new();
    for (code, answer) in answers {
        let row = PROBLEMS.iter().find(|p| p.0 == code).expect("a problem of the table");
        let answer = answer.refused(row.1, row.0);
        assert_eq!(
            (answer.json()["title"].as_str(), answer.json()["next"].as_str()),
            (Some((row.2)()), Some((row.3)()))
        );
        match row.1 {
            401 => assert_eq!(answer.header("www-authenticate"), "Bearer"),
            503 => assert_eq!(answer.header("retry-after"), "1"),
            _ => {}
        }
        produced.insert(row.0);
    }
    let known: BTreeSet<&str> = PROBLEMS.iter().map(|p| p.0).collect();
    assert_eq!(produced, known, "a problem without a case here");
}

async fn the_query_is_checked(house: House) {
    house.set_up().await;
    house.write(json!({"kind": "item", "item": "tub", "product": "cake", "name": "Tub", "place": "fridge"})).await;
    let staff = house.staff();
    for path in [
        "items?limit=-1",
        "items?limit=0",
        "items?limit=501",
        "items?state=closed&limit=501",
        "items?limit=many",
        "items?limit=1&limit=2",
        "items?limit=99999999999999999999999",
        "items?state=",
        "items?cursor=x",
        "items?cursor=1~2~3~4",
        "items?cursor=1~2~3~4~tub~6",
        "items?cursor=99999999999999999999~0~0~0~tub",
        "items?cursor=1~300~0~0~tub",
        "items?cursor=1~0~0~0~a%20b",
        "items?state=closed&cursor=%00",
        "items/tub?as_of=noon",
        "items/tub?as_of=2026-05-04T12:00:00",
        "items/tub?as_of=2026-13-04T12:00:00Z",
        "items/tub?known_at=",
        "entries?after=-1",
        "entries?after=x",
        "entries?limit=1.5",
        "entries?limit=0",
        "entries?limit=1001",
        "record.jsonl?from=today",
        "record.jsonl?from=2026-02-30",
        "record.csv?from=2026-05-05&to=2026-05-04",
        "record.csv?to=0000-00-00",
        "record.csv?to=",
        "entries?after=9223372036854775808",
        "entries?after=18446744073709551616",
    ] {
        staff.get(path).await.refused(400, "bad-query");
    }
    // The edges that are allowed.
    for path in [
        "items?limit=1",
        "items?limit=500",
        "entries?limit=1000",
        "items?cursor=-9223372036854775808~0~0~0~tub",
        "items?cursor=9223372036854775807~0~0~0~tub",
        "items?state=closed&cursor=9223372036854775807~3~1~9223372036854775807~tub",
        "entries?after=9223372036854775807",
        "items/tub?as_of=2026-05-04T13:00:00+01:00",
        "items/tub?as_of=2199-12-31T00:00:00Z",
        "record.csv?from=2026-05-04&to=2026-05-04",
        "record.csv?from=1970-01-01&to=9999-12-31",
    ] {
        staff.get(path).await.ok();
    }
    for path in ["items/tub?as_of=1970-01-01T00:00:00Z", "items/tub?known_at=2026-05-04T11:59:00Z"] {
        staff.get(path).await.refused(404, "not-found");
    }
}

async fn bodies_are_checked(house: House) {
    house.set_up().await;
    house.write(json!({"kind": "item", "item": "tub", "product": "cake", "name": "Tub", "place": "fridge"})).await;
    let manager = house.manager();
    let head = house.head().await;
    let deep = |n: usize| format!("{}{}", "[".repeat(n), "]".repeat(n));
    let named =
        |name: &str| format!(r#"{{"kind":"item","item":"new","name":"{name}","product":"cake","place":"fridge"}}"#);
    let set = |set: &str| format!(r#"{{"kind":"correct","entry":3,"set":{set},"reason":"test"}}"#);
    let reading = |value: &str| format!(r#"{{"kind":"reading","item":"tub","value":{value},"unit":"C"}}"#);
    let moved = |at: &str| format!(r#"{{"kind":"move","item":"tub","place":"bench","at":"{at}"}}"#);
    let clause = |members: &str| {
        format!(
            r#"{{"kind":"rule","rule":"own","name":"Own","returns":"any","source":{{"title":"x","basis":"from memory"}},
            "clauses":[{{"measure":"total_out","limit":"PT2H","verdict":"discard"{members}}}]}}"#
        )
    };
    let turned_down: Vec<(String, &str)> = vec![
        // Not JSON at all.
        ("nul\0".into(), "malformed-json"),
        (named("a\0b"), "malformed-json"),
        (named(r"a\ud800b"), "malformed-json"),
        ("{'kind':'restore'}".into(), "malformed-json"),
        ("[{\"kind\":\"restore\",\"place\":\"fridge\"},]".into(), "malformed-json"),
        (deep(100_000), "bad-member"),
        (format!(r#"[{}]"#, deep(50_000)), "bad-member"),
        (format!(r#"{{"kind":{}}}"#, deep(50_000)), "bad-member"),
        (set(&format!(r#"{{"note":{}}}"#, deep(50_000))), "malformed-json"),
        (format!(r#"{{"kind":"move","item":"tub","place":"bench","x":{}}}"#, deep(50_000)), "unknown-member"),
        ("null".into(), "bad-member"),
        ("[[]]".into(), "bad-member"),
        // Members unknown or doubled inside of others.
        (clause(r#","why":1"#), "unknown-member"),
        (clause(r#","limit":"PT3H""#), "doubled-member"),
        (clause(r#","uses":[]"#), "bad-member"),
        (clause(r#","above":{"value":"4.0","unit":"C"}"#), "bad-member"),
        (set(r#"{"note":"a","note":"b"}"#), "doubled-member"),
        (set(r#"{"colour":"red"}"#), "unknown-member"),
        (
            r#"{"kind":"product","product":"p","name":"P","rules":[],"exempt":{"reason":"a","evidence":"b","x":1}}"#.into(),
            "unknown-member",
        ),
        (
            r#"{"kind":"product","product":"p","name":"P","rules":[],"exempt":{"reason":"a","reason":"b","evidence":"c"}}"#
                .into(),
            "doubled-member",
        ),
        // Absurd values.
        (reading("\"-90.1\""), "bad-temperature"),
        (reading("300.1"), "bad-temperature"),
        (reading("1e400"), "bad-temperature"),
        (reading("\"NaN\""), "bad-temperature"),
        (reading("\"4,5\""), "bad-temperature"),
        (reading("\"\""), "bad-temperature"),
        (reading("null"), "bad-temperature"),
        (reading("999999999999999999999999"), "bad-temperature"),
        (moved("0000-01-01T00:00:00Z"), "bad-time"),
        (moved("1969-12-31T23:59:59Z"), "bad-time"),
        (moved("2026-05-04T24:00:00Z"), "bad-time"),
        (moved("2026-02-29T12:00:00Z"), "bad-time"),
        (moved("2026-05-04"), "bad-time"),
        (moved("9999-01-01T00:00:00Z"), "bad-time"),
        (moved("2199-01-01T00:00:00Z"), "in-the-future"),
        (r#"{"kind":"move","item":"","place":"bench"}"#.into(), "bad-id"),
        (r#"{"kind":"move","item":"tüb","place":"bench"}"#.into(), "bad-id"),
        (r#"{"kind":"move","item":"../tub","place":"bench"}"#.into(), "bad-id"),
        (r#"{"kind":"move","items":[],"place":"bench"}"#.into(), "bad-member"),
        (r#"{"kind":"move","item":"tub","items":["tub"],"place":"bench"}"#.into(), "bad-member"),
        (r#"{"kind":"close","item":"tub","as":"eaten"}"#.into(), "bad-member"),
        (r#"{"kind":"close","item":"tub","as":"sold","count":0}"#.into(), "bad-member"),
        (r#"{"kind":"close","item":"tub","as":"sold","count":-1}"#.into(), "bad-member"),
        (r#"{"kind":"close","item":"tub","as":"sold","count":1.5}"#.into(), "bad-member"),
        (r#"{"kind":"correct","entry":-1,"void":true,"reason":"x"}"#.into(), "bad-member"),
        (r#"{"kind":"correct","entry":3,"void":false,"reason":"x"}"#.into(), "bad-member"),
        (r#"{"kind":"correct","entry":18446744073709551615,"void":true,"reason":"x"}"#.into(), "unknown-entry"),
        (r#"{"kind":"correct","entry":0,"void":true,"reason":"x"}"#.into(), "unknown-entry"),
        (r#"{"kind":"decide","about":0,"action":"keep","reason":"x"}"#.into(), "unknown-entry"),
        (named(""), "bad-member"),
        (named(&"n".repeat(201)), "bad-member"),
        (r#"{"kind":"site","name":"S","zone":"Mars/Base","units":"C"}"#.into(), "bad-member"),
    ];
    for (sent, code) in turned_down {
        let answer = manager.post_text(&sent, &[]).await;
        let shown: String = sent.chars().take(90).collect();
        assert_eq!((answer.code().as_str(), shown.as_str()), (code, shown.as_str()));
        assert!(answer.bytes.len() < 2_000, "{shown}: an answer of {} bytes", answer.bytes.len());
    }
    let latin = [&b"{\"kind\":\"restore\",\"place\":\"fridge\",\"note\":\"caf"[..], &[0xe9], b"\"}"].concat();
    let json_type = [("content-type", "application/json")];
    manager.send("POST", "/s/shop/api/entries", &json_type, latin).await.refused(400, "malformed-json");
    // At the limit it is read: a megabyte of blanks round nothing is merely no entry.
    manager.send("POST", "/s/shop/api/entries", &json_type, " ".repeat(1 << 20)).await.refused(400, "malformed-json");
    // A body that comes in pieces and says no length is cut off all the same.
    let pieces = (0..17).map(|_| Ok::<_, std::io::Error>(vec![b' '; 1 << 16]));
    let body = Body::from_stream(stream(pieces));
    manager.send("POST", "/s/shop/api/entries", &json_type, body).await.refused(413, "too-large");
    // So is one that breaks off; what came of it isn't taken for the whole.
    let pieces = [Ok(b"{\"kind\":\"lapse\",\"place\":\"fridge\"}".to_vec()), Err(std::io::Error::other("gone"))];
    let body = Body::from_stream(stream(pieces.into_iter()));
    manager.send("POST", "/s/shop/api/entries", &json_type, body).await.refused(400, "malformed");
    for media in ["", "application/jsonp", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x"] {
        let headers = if media.is_empty() { vec![] } else { vec![("content-type", media)] };
        manager.send("POST", "/s/shop/api/entries", &headers, "{}").await.refused(415, "not-json");
    }
    assert_eq!(house.head().await, head, "nothing was written");
    // What looks odd and is fine: an escaped NUL in a note, a charset, decimals as numbers.
    let odd = r#"[{"kind":"seen","item":"tub","place":"fridge","note":"a\u0000b\ud83c\udf70"},
        {"kind":"reading","item":"tub","value":4.5,"unit":"C"},{"kind":"reading","item":"tub","value":-4,"unit":"F"}]"#;
    let headers = [("content-type", "Application/JSON; charset=utf-8")];
    let answer = manager.send("POST", "/s/shop/api/entries", &headers, odd).await.ok().json();
    assert_eq!(answer["entries"][0]["note"], "a\0b\u{1f370}");
    assert_eq!(answer["entries"][1]["value"], "4.5");
    assert_eq!(answer["entries"][2]["value"], "-4.0");
    house.restart().await;
    house.agrees().await;
}

/// A stream of ready pieces.
fn stream<T: Send + 'static>(
    pieces: impl Iterator<Item = T> + Send + Unpin + 'static,
) -> impl futures_core::Stream<Item = T> + Send + 'static {
    struct Pieces<I>(I);
    impl<I: Iterator + Unpin> futures_core::Stream for Pieces<I> {
        type Item = I::Item;
        fn poll_next(
            mut self: std::pin::Pin<&mut Self>,
            _: &mut std::task::Context<'_>,
        ) -> std::task::Poll<Option<I::Item>> {
            std::task::Poll::Ready(self.0.next())
        }
    }
    Pieces(pieces)
}

async fn addresses_and_methods(house: House) {
    house.set_up().await;
    let manager = house.manager();
    for path in ["/s/shop/api", "/s/shop/api/", "/s/shop/api/nothing", "/s/shop/api/items/tub/more", "/api/"] {
        manager.send("GET", path, &[], Body::empty()).await.refused(404, "not-found");
    }
    for path in [
        "items/nothing",
        "items/a%20b",
        "items/%00",
        "items/%FF",
        "items/..%2f..%2fetc",
        &format!("items/{}", "x".repeat(41)),
    ] {
        manager.get(path).await.refused(404, "not-found");
    }
    let gets = ["items", "items/tub", "rules", "places", "products", "record.jsonl", "record.csv"];
    for path in gets.iter().map(|p| format!("/s/shop/api/{p}")).chain(["/healthz".into(), "/readyz".into()]) {
        for method in ["POST", "PUT", "PATCH", "DELETE"] {
            let answer = manager.send(method, &path, &[], Body::empty()).await.refused(405, "wrong-method");
            assert!(answer.header("allow").contains("GET"), "{method} {path}: {:?}", answer.headers);
        }
    }
    let item =
        json!({"kind": "item", "at": t("11:00"), "item": "tub", "product": "cake", "name": "T", "place": "fridge"});
    manager.send("PUT", "/s/shop/api/entries", &[], item.to_string()).await.refused(405, "wrong-method");
}
