//! Plans that are kept: a checklist that the ledger ticks off, and what the shop runs into within the hour.

use crate::kit::browser::{Browser, Page};
use crate::kit::house::{House, t};
use serde_json::json;

both!(a_plan_becomes_a_checklist, one_that_is_yet_to_be_made, what_comes_within_the_hour, what_cannot_be_kept,);

async fn shop(house: &House) -> Browser {
    house.set_up().await;
    house
        .write(json!([
            {"kind": "item", "at": t("08:00"), "item": "cake", "rules": ["sum-2h-4h"], "name": "Cake", "place": "fridge"},
            {"kind": "item", "at": t("08:00"), "item": "tub", "rules": ["sum-2h-4h"], "name": "Tub", "place": "fridge"},
        ]))
        .await;
    let browser = Browser::new(house);
    browser.put("counterclock", &house.staff().1);
    browser
}

/// Keeps what a plan's page came to, under a name; the address of the list.
async fn keep(browser: &Browser, page: &Page, name: &str) -> String {
    let value = |field: &str| page.attributes(&format!("main input[name={field}]"), "value").pop().unwrap_or_default();
    let (item, steps, serve_at) = (value("item"), value("steps"), value("serve_at"));
    let mut fields = vec![("steps", steps.as_str()), ("serve_at", serve_at.as_str()), ("name", name)];
    if !item.is_empty() {
        fields.push(("item", item.as_str()));
    }
    let kept = browser.submit("/s/shop/plan", &fields).await;
    assert_eq!(kept.status(), 303, "{}", kept.text("main"));
    format!("/s/shop/{}", kept.to().split("s/shop/").last().expect("an address"))
}

async fn a_plan_becomes_a_checklist(house: House) {
    let browser = shop(&house).await;
    let head = house.head().await;
    // By the shop's clock: out at 14:00, a coat 20 minutes later, back after 10 more, into the van at 16:00.
    let steps = "at1=14:00&to1=bench&later2=20&with2=tub&later3=10&to3=fridge&at4=16:00&to4=van";
    let page = browser.open(&format!("/s/shop/items/cake/plan?{steps}&serve=18:00")).await;
    assert_eq!(page.texts("main section .then")[0], "18:00: out 2 h 30 min in all by then");
    let list = keep(&browser, &page, "Wedding at six").await;
    assert_eq!(house.head().await, head, "a plan that is kept is no entry");
    let page = browser.open(&list).await;
    let said = |page: &Page| page.texts(".checklist li p");
    assert_eq!(
        said(&page),
        ["14:00 to: bench", "14:20 another coat from: Tub", "14:30 to: fridge", "16:00 to: van"],
        "{}",
        page.text("main")
    );
    assert_eq!(page.texts(".checklist button"), ["Now to: bench"], "only the next one can be done");
    // Done by its own button; and another from the board.
    house.set("13:01");
    let form = page.attributes(".checklist form", "action").pop().expect("a form");
    let path = format!("/s/shop/{}", form.split("s/shop/").last().expect("a path"));
    let order = list.rsplit('/').next().expect("an id");
    let done = browser.submit(&path, &[("key", &"b".repeat(32)), ("order", order), ("place", "bench")]).await;
    assert!(done.to().ends_with(&format!("orders/{order}")), "{}", done.to());
    house.set("13:25");
    house.write(json!({"kind": "join", "item": "cake", "from": ["tub"]})).await;
    let page = browser.open(&list).await;
    assert_eq!(
        said(&page),
        [
            "14:00 to: bench done at 14:01",
            "14:20 another coat from: Tub done at 14:25",
            "14:30 to: fridge",
            "16:00 to: van"
        ]
    );
    // Late, it says so, and what it comes to counts from now: 44 minutes so far, two hours in the van and after it.
    house.set("13:45");
    let page = browser.open(&list).await;
    assert_eq!(said(&page)[2], "14:30 to: fridge its time has gone by");
    assert_eq!(page.texts("main section .then")[0], "18:00: out 2 h 44 min in all by then");
    // A step that was left out is said to be.
    house.write(json!({"kind": "move", "item": "cake", "place": "van"})).await;
    let page = browser.open(&list).await;
    assert_eq!(said(&page)[2..], ["14:30 to: fridge left out", "16:00 to: van done at 14:45"]);
    house.write(json!({"kind": "close", "item": "cake", "as": "served"})).await;
    assert!(browser.open(&list).await.text(".ended").contains("14:45"));
    browser.submit(&format!("{list}/over"), &[]).await.goes("../../../../s/shop/ahead");
    assert_eq!(browser.open(&list).await.status(), 404);
    house.checks().await;
}

async fn one_that_is_yet_to_be_made(house: House) {
    let browser = shop(&house).await;
    let asked = "product=cake&from=tub&start=bench&begins=14:00&later1=30&to1=fridge&at2=17:00&to2=van&serve=18:00";
    let page = browser.open(&format!("/s/shop/plan?{asked}")).await;
    assert_eq!(page.texts("main section .then")[0], "18:00: out 1 h 30 min in all by then", "{}", page.text("main"));
    let list = keep(&browser, &page, "Order 7").await;
    let page = browser.open(&list).await;
    assert_eq!(page.texts(".checklist button"), ["Now begin it in: bench, from: Tub"]);
    house.set("13:00");
    let begin = format!("{list}/begin");
    let fields = [("key", &*"c".repeat(32)), ("begin", "now")];
    for _ in 0..2 {
        // The second touch begins no second one.
        assert_eq!(browser.submit(&begin, &fields).await.status(), 303);
    }
    let items = house.list("open", 50).await;
    assert_eq!(items.len(), 3, "{items:?}");
    let page = browser.open(&list).await;
    assert!(page.text(".checklist li").contains("done at 14:00"), "{}", page.text(".checklist li"));
    assert_eq!(page.text(".where a"), "Cake, Mon 1, Order 7");
    assert_eq!(page.texts(".checklist button"), ["Now to: fridge"]);
    house.checks().await;
}

async fn what_comes_within_the_hour(house: House) {
    let browser = shop(&house).await;
    house
        .write(json!([
            {"kind": "move", "at": t("10:45"), "item": "tub", "place": "bench"},
            {"kind": "item", "at": t("08:20"), "item": "late", "rules": ["sum-2h-4h"], "name": "Late", "place": "bench"},
            {"kind": "item", "at": t("11:30"), "item": "fine", "rules": ["sum-2h-4h"], "name": "Fine", "place": "bench"},
        ]))
        .await;
    let page = browser.open("/s/shop/ahead").await;
    // Two hours and four hours added up (Food Standards Australia New Zealand); by hand, and an hour ahead of UTC.
    assert_eq!(page.texts("section:nth-of-type(1) li a"), ["Late"], "over its two hours, and still here");
    assert_eq!(page.texts("section:nth-of-type(2) li a"), ["13:20 Late", "13:45 Tub"]);
    assert_eq!(page.texts("section:nth-of-type(2) li b"), ["Discard", "Use it now"]);
    assert!(page.text("section:nth-of-type(2) h2").contains("14:00"));
    assert_eq!(house.standing("late").await["discard_by"], t("12:20"));
    // In the cold nothing comes.
    house.write(json!({"kind": "move", "item": "tub", "place": "fridge"})).await;
    assert_eq!(browser.open("/s/shop/ahead").await.texts("section:nth-of-type(2) li a"), ["13:20 Late"]);
}

async fn what_cannot_be_kept(house: House) {
    let browser = shop(&house).await;
    let head = house.head().await;
    let step = json!([{"kind": "move", "at": t("13:00"), "item": "cake", "place": "bench"}]).to_string();
    let (serve, long, many) =
        (t("17:00"), "x".repeat(81), format!("[{}]", vec![step.trim_matches(['[', ']']); 200].join(",")));
    for (what, fields) in [
        ("no name", vec![("item", "cake"), ("steps", &*step), ("serve_at", &*serve)]),
        ("a long name", vec![("item", "cake"), ("steps", &*step), ("serve_at", &*serve), ("name", &*long)]),
        ("no steps", vec![("item", "cake"), ("serve_at", &*serve), ("name", "x")]),
        ("no JSON", vec![("item", "cake"), ("steps", "[{"), ("serve_at", &*serve), ("name", "x")]),
        ("no item", vec![("item", "nothing"), ("steps", &*step), ("serve_at", &*serve), ("name", "x")]),
        (
            "served before",
            vec![("item", "cake"), ("steps", &*step), ("serve_at", "2026-01-01T00:00:00Z"), ("name", "x")],
        ),
        ("200 steps", vec![("item", "cake"), ("steps", &*many), ("serve_at", &*serve), ("name", "x")]),
    ] {
        let page = browser.submit("/s/shop/plan", &fields).await;
        assert_eq!(page.status(), 400, "{what}: {}", page.text("main"));
    }
    assert!(browser.open("/s/shop/ahead").await.text("section:last-of-type").contains("None is planned"));
    for odd in
        ["/s/shop/orders/nothing", "/s/shop/orders/%00", "/s/shop/plan?serve=10:00", "/s/shop/plan?product=zzz&serve=1"]
    {
        assert!(browser.open(odd).await.status() < 500, "{odd}");
    }
    assert_eq!(house.head().await, head);
}
