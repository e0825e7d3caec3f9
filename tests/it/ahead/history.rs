//! History and recall: figures worked out by hand, few items listed, and everything that a lot went into.

use crate::kit::browser::Browser;
use crate::kit::house::{House, t};
use serde_json::{Value, json};

both!(few_items_are_listed, enough_have_a_median, a_lot_is_followed_to_any_depth, what_cannot_be_asked);

fn reader(house: &House) -> Browser {
    let browser = Browser::new(house);
    browser.put("counterclock", &house.role("inspector").1);
    browser
}

fn item(id: &str, at: &str, place: &str) -> Value {
    json!({"kind": "item", "at": t(at), "item": id, "product": "cake", "name": id, "place": place})
}

async fn few_items_are_listed(house: House) {
    house.set_up().await;
    house
        .write(json!([
            item("a", "08:00", "bench"),
            {"kind": "move", "at": t("08:40"), "item": "a", "place": "fridge"},
            {"kind": "move", "at": t("09:00"), "item": "a", "place": "van"},
            {"kind": "close", "at": t("09:20"), "item": "a", "as": "sold"},
            item("b", "08:00", "bench"),
            {"kind": "close", "at": t("08:15"), "item": "b", "as": "discarded", "reason": "dropped"},
            {"kind": "item", "at": t("09:00"), "item": "c", "product": "cake", "name": "c", "place": "fridge", "from": ["a"]},
            {"kind": "close", "at": t("09:10"), "item": "c", "as": "discarded", "reason": "dropped"},
            item("d", "09:00", "bench"),
            {"kind": "close", "at": t("09:05"), "item": "d", "as": "discarded"},
        ]))
        .await;
    let page = reader(&house).open("/s/shop/history").await;
    let cells = |section: usize| page.texts(&format!("section:nth-of-type({section}) tbody tr"));
    // 40, 15 and 5 minutes on the bench; what came with the parent counts where it was spent, once.
    assert_eq!(cells(1), ["bench 1 h 00 min 3 items", "van 20 min 1 item"]);
    assert!(page.text("section:nth-of-type(1) .hint").ends_with("n = 4"));
    assert_eq!(page.texts("section:nth-of-type(2) li"), ["a 10:20: 1 h 00 min out in all"]);
    assert!(page.text("section:nth-of-type(2)").contains("too few for a median"));
    assert_eq!(cells(3), ["dropped 2", "no reason given 1"]);
    assert!(page.text(".where").contains("Sun 5 Apr") && page.text(".where").contains("Mon 4 May"), "thirty days");
    // Other days have nothing of it.
    let other = reader(&house).open("/s/shop/history?from=2026-04-01&to=2026-04-30").await;
    assert_eq!(other.texts("tbody tr").len(), 0);
}

async fn enough_have_a_median(house: House) {
    house.set_up().await;
    // 1, 2 … 20 minutes: half of them ten or less, nine in ten eighteen or less (nearest rank, by hand).
    for n in 1..=20 {
        let id = format!("i{n:02}");
        let minute = format!("10:{n:02}");
        house
            .write(
                json!([item(&id, "10:00", "bench"), {"kind": "close", "at": t(&minute), "item": id, "as": "served"}]),
            )
            .await;
    }
    let page = reader(&house).open("/s/shop/history").await;
    let section = "section:nth-of-type(2)";
    assert_eq!(
        page.text(&format!("{section} p b")),
        "Half of them had been out 10 min or less, nine in ten 18 min or less."
    );
    assert_eq!(page.texts(&format!("{section} tbody tr")), ["0 min to under 30 min 20"]);
    assert!(page.text(&format!("{section} .hint")).ends_with("n = 20"));
    assert!(page.texts(&format!("{section} li")).is_empty());
}

async fn a_lot_is_followed_to_any_depth(house: House) {
    house.set_up().await;
    house
        .write(json!([
            {"kind": "place", "at": t("00:00"), "place": "venue", "name": "venue", "control": "none", "use": "away"},
            {"kind": "item", "at": t("08:00"), "item": "cream", "product": "cake", "name": "=Cream", "place": "fridge", "lot": "L-7 \"A\""},
            item("plain", "08:00", "fridge"),
            {"kind": "item", "at": t("08:30"), "item": "tub", "product": "cake", "name": "Tub", "place": "bench", "from": ["cream"]},
            {"kind": "item", "at": t("09:00"), "item": "cake", "product": "cake", "name": "Cake", "place": "bench", "from": ["tub"]},
            item("late", "09:00", "fridge"),
            {"kind": "join", "at": t("09:30"), "item": "late", "from": ["cake"]},
            {"kind": "move", "at": t("10:00"), "item": "cake", "place": "venue", "note": "Order 12"},
            {"kind": "close", "at": t("10:30"), "item": "tub", "as": "used"},
            {"kind": "close", "at": t("11:00"), "item": "late", "as": "sold"},
        ]))
        .await;
    let browser = reader(&house);
    let page = browser.open("/s/shop/recall?lot=L-7%20%22A%22").await;
    assert_eq!(page.text("section h2"), "4 items, 2 of them not yet ended", "{}", page.text("main"));
    assert_eq!(page.texts("li a"), ["=Cream", "Cake", "Tub", "late"], "what is still about comes first");
    let cake = page.texts("li").into_iter().find(|l| l.starts_with("Cake")).expect("the cake");
    assert!(cake.contains("venue") && cake.contains("Order 12") && cake.contains("from Tub"), "{cake}");
    let late = page.texts("li").into_iter().find(|l| l.starts_with("late")).expect("the late one");
    assert!(late.contains("sold, 12:00") || late.contains("Sold, 12:00"), "{late}");
    assert_eq!(browser.open("/s/shop/recall?item=tub").await.texts("li a").len(), 3);
    assert_eq!(browser.open("/s/shop/recall?item=late").await.texts("li a"), ["late"]);
    assert_eq!(browser.open("/s/shop/recall?lot=L-7").await.texts("li a"), [""; 0], "a lot is its whole name");
    // The file says the same, and nothing in it runs in a spreadsheet.
    let file = browser.look("/s/shop/recall.csv?lot=L-7%20%22A%22").await;
    let mut read = csv::Reader::from_reader(file.text().as_bytes().to_vec().leak() as &[u8]);
    let head = read.headers().expect("a header").clone();
    let rows: Vec<csv::StringRecord> = read.records().map(|r| r.expect("a row")).collect();
    let cell =
        |row: &csv::StringRecord, name: &str| row[head.iter().position(|h| h == name).expect("a column")].to_owned();
    let of = |id: &str| rows.iter().find(|r| cell(r, "item") == id).expect("a row").clone();
    assert_eq!(rows.len(), 4);
    assert_eq!(cell(&of("cream"), "name"), "'=Cream");
    assert_eq!(cell(&of("cake"), "receiver"), "Order 12");
    assert_eq!((cell(&of("late"), "ended"), cell(&of("late"), "made_from")), ("sold".into(), "cake".into()));
    assert_eq!(cell(&of("cake"), "state"), "out");
}

async fn what_cannot_be_asked(house: House) {
    house.set_up().await;
    let browser = reader(&house);
    for (path, status) in [
        ("history?from=2026-05-05&to=2026-05-01", 400),
        ("history?from=yesterday", 400),
        ("recall?item=nothing", 404),
        ("recall?item=%2F%2F", 400),
        ("recall.csv", 400),
        ("recall", 200),
    ] {
        assert_eq!(browser.open(&format!("/s/shop/{path}")).await.status(), status, "{path}");
    }
    let long = "x".repeat(201);
    assert_eq!(browser.open(&format!("/s/shop/recall?lot={long}")).await.status(), 400);
}
