//! The rules' page: sources, who uses what, approvals; and a rule of the shop's own, tried before it is taken into use.
//!
//! Guards against S-64 of SAFETY.md.

use crate::kit::browser::Browser;
use crate::kit::house::{House, t};
use serde_json::json;

both!(a_rule_is_tried_before_it_is_taken, an_approval_and_its_reference, what_is_no_rule);

const OWN: &str =
    "name=Short+day&measure1=total_out&limit1=45&verdict1=discard&returns=any&title=Our+sheet&basis=common+practice";

fn manager(house: &House) -> Browser {
    let browser = Browser::new(house);
    browser.put("counterclock", &house.manager().1);
    browser
}

async fn a_rule_is_tried_before_it_is_taken(house: House) {
    house.set_up().await;
    house
        .write(json!([
            {"kind": "item", "at": t("08:00"), "item": "long", "product": "cake", "name": "Long", "place": "bench"},
            {"kind": "move", "at": t("08:50"), "item": "long", "place": "fridge"},
            {"kind": "close", "at": t("09:30"), "item": "long", "as": "sold"},
            {"kind": "item", "at": t("08:00"), "item": "short", "product": "cake", "name": "Short", "place": "bench"},
            {"kind": "move", "at": t("08:30"), "item": "short", "place": "fridge"},
            {"kind": "product", "at": t("00:00"), "product": "fudge", "name": "Fudge", "rules": [],
                "exempt": {"reason": "too dry", "evidence": "a report"}},
            {"kind": "item", "at": t("08:00"), "item": "fudge", "product": "fudge", "name": "Fudge", "place": "bench"},
            // Twenty minutes until it is chilled count as out: 50 in all.
            {"kind": "item", "at": t("08:00"), "item": "mousse", "product": "mousse", "name": "Mousse", "place": "bench"},
            {"kind": "move", "at": t("08:30"), "item": "mousse", "place": "fridge"},
        ]))
        .await;
    let (browser, head) = (manager(&house), house.head().await);
    let page = browser.open(&format!("/s/shop/rules/own?{OWN}")).await;
    assert_eq!(page.texts(".warn"), [""; 0]);
    let said = page.text("section.offer");
    assert!(said.contains("Tried on 3 of 4 items"), "what needs no time control is under no rule: {said}");
    assert!(said.contains("Discard: 2 instead of 0."), "{said}");
    let differ = page.texts("section.offer li a");
    assert_eq!(differ, ["Long", "Mousse"]);
    let of_one = browser.open(&format!("/s/shop/rules/own?{OWN}&product=mousse")).await;
    assert!(of_one.text("section.offer").contains("Tried on 1 of 1 items"));
    assert_eq!(house.head().await, head, "trying it writes nothing");
    // Taken into use as it was tried, it is what an item under it obeys.
    let text = page.attributes("section.offer input[name=text]", "value").pop().expect("the rule");
    let taken = browser.submit("/s/shop/rules/take", &[("key", &"d".repeat(32)), ("text", &text)]).await;
    assert_eq!(taken.status(), 303, "{}", taken.text("main"));
    house
        .write(json!({"kind": "item", "at": t("11:00"), "item": "new", "rules": ["short-day"], "name": "New", "place": "bench"}))
        .await;
    let s = house.standing("new").await;
    assert_eq!((s["discard_by"].as_str(), s["verdict"].as_str()), (Some(&*t("11:45")), Some("discard")));
    let list = browser.open("/s/shop/rules").await.text("main");
    assert!(list.contains("Short day") && list.contains("Waits for a manager’s approval"), "{list}");
    house.checks().await;
}

async fn an_approval_and_its_reference(house: House) {
    house.set_up().await;
    let browser = manager(&house);
    let page = browser.open("/s/shop/rules").await;
    assert!(page.text("main").contains("Used by: Cake"), "{}", page.text("main"));
    assert!(page.text("main").contains("health authority"), "whose word comes first");
    let refused = browser.submit("/s/shop/rules/approve", &[("rule", "nothing"), ("reference", "x")]).await;
    assert!((400..500).contains(&refused.status()), "{}", refused.status());
    let fields = [("key", "e".repeat(32)), ("rule", String::from("keep-7d")), ("reference", String::from("File 12"))];
    let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (*n, v.as_str())).collect();
    assert_eq!(browser.submit("/s/shop/rules/approve", &fields).await.status(), 303);
    let page = browser.open("/s/shop/rules").await.text("main");
    assert!(page.contains("Approved Mon 4 May by manager: File 12"), "{page}");
    let staff = Browser::new(&house);
    staff.put("counterclock", &house.staff().1);
    assert_eq!(staff.submit("/s/shop/rules/approve", &fields).await.status(), 403);
    assert_eq!(staff.open("/s/shop/rules/own").await.status(), 403);
    assert!(staff.open("/s/shop/rules").await.text("main").contains("File 12"));
}

async fn what_is_no_rule(house: House) {
    house.set_up().await;
    let (browser, head) = (manager(&house), house.head().await);
    for odd in [
        "name=x&measure1=total_out&limit1=0&verdict1=discard&returns=any&title=y&basis=published",
        "name=x&measure1=total_out&limit1=ten&verdict1=discard&returns=any&title=y&basis=published",
        "name=x&measure1=nothing&limit1=10&verdict1=discard&returns=any&title=y&basis=published",
        "name=x&measure1=day&limit1=0&verdict1=discard&returns=any&title=y&basis=published",
        "name=x&measure1=food_temperature&limit1=hot&verdict1=discard&returns=any&title=y&basis=published",
        "name=x&measure1=total_out&limit1=10&verdict1=fine&returns=any&title=y&basis=published",
        "name=x&measure1=total_out&limit1=10&verdict1=discard&returns=often&title=y&basis=published",
        "name=x&returns=any&title=y&basis=published",
        "name=x&measure1=total_out&limit1=10&verdict1=discard&returns=any&basis=published",
    ] {
        let page = browser.open(&format!("/s/shop/rules/own?{odd}")).await;
        assert_eq!((page.status(), page.texts(".warn").len(), page.texts("section.offer").len()), (200, 1, 0), "{odd}");
    }
    for text in ["", "{", "{\"kind\":\"item\"}", "{\"kind\":\"rule\"}"] {
        let page = browser.submit("/s/shop/rules/take", &[("text", text)]).await;
        assert_eq!(page.status(), 400, "{text}");
    }
    assert_eq!(house.head().await, head);
}
