//! From the label to the item: signing in on the way, out and back, washed and used again, unknown and foreign ones.
//!
//! Guards against S-23 of SAFETY.md.

use super::{cake, sheet, signed_in};
use crate::kit::browser::Browser;
use crate::kit::house::{House, SITE};
use counterclock::people::Role;
use serde_json::json;

both!(
    from_the_tag_out_and_back,
    signing_in_comes_back_to_the_tag,
    unknown_and_foreign_tags_look_the_same,
    what_became_of_the_first,
    a_tag_is_washed_and_used_again,
    who_may_tie,
    sheets_of_tags,
    typed_key_by_key,
    many_hands_and_one_tag,
    a_new_item_begins_with_its_tag,
);

const KEY: &str = "00112233445566778899aabbccddeeff";

/// Where a tag leads.
async fn leads(browser: &Browser, code: &str) -> String {
    let page = browser.open(&format!("/t/{code}")).await;
    assert_eq!(page.status(), 303, "{}", page.0.text());
    page.to().trim_start_matches("../").to_owned()
}

async fn from_the_tag_out_and_back(house: House) {
    house.set_up().await;
    house.write(json!([cake("1"), cake("2")])).await;
    let staff = signed_in(&house, "staff").await;
    let codes = sheet(&staff, 3).await;
    // A new tag is on nothing: its own page offers what stands here.
    assert_eq!(leads(&staff, &codes[0]).await, format!("s/shop/tags/{}", codes[0]));
    let page = staff.open(&format!("/s/shop/tags/{}", codes[0])).await;
    assert_eq!(page.attributes("button[name=item]", "value"), ["2", "1"], "the latest first");
    // By its own page, and by its code from the item's.
    staff.submit(&format!("/s/shop/tags/{}/tie", codes[0]), &[("item", "1")]).await;
    let typed = codes[1].to_lowercase().replace('0', "o");
    staff.submit("/s/shop/items/2/tag", &[("code", &typed)]).await.goes("../../../../s/shop/items/2/tag?said=tied");
    assert_eq!(leads(&staff, &codes[0]).await, "s/shop/items/1");
    assert_eq!(leads(&staff, &codes[1].to_lowercase()).await, "s/shop/items/2");
    // One touch there: out, and by the tag again: back.
    for (state, total) in [("out", 0), ("cold", 30)] {
        let page = staff.open(&format!("/{}", leads(&staff, &codes[0]).await)).await;
        let (action, place) = (page.attributes(".acts form", "action"), page.attributes(".acts .main", "value"));
        let key = &page.attributes(".acts input[name=key]", "value")[0];
        let address = action[0].replace("../", "");
        let done = staff.submit(&format!("/{address}"), &[("key", key), ("place", &place[0])]).await;
        assert_eq!(done.status(), 303, "{}", done.0.text());
        let standing = house.standing("1").await;
        assert_eq!((&standing["state"], &standing["total_out_ms"]), (&json!(state), &json!(total * 60_000)));
        house.pass(30 * 60_000);
    }
    // More than one tag on an item is nothing unusual; its page shows them.
    staff.submit("/s/shop/items/1/tag", &[("code", &codes[2])]).await.goes("../../../../s/shop/items/1/tag?said=tied");
    let shown = staff.open("/s/shop/items/1/tag?said=tied").await;
    assert_eq!(shown.texts(".stands a").len(), 2);
    assert!(shown.text("[role=status]").contains("tied"));
    house.agrees().await;
}

async fn signing_in_comes_back_to_the_tag(house: House) {
    house.set_up().await;
    house.write(cake("1")).await;
    let staff = signed_in(&house, "staff").await;
    let code = &sheet(&staff, 1).await[0];
    staff.submit("/s/shop/items/1/tag", &[("code", code)]).await;
    let phone = Browser::new(&house);
    let next = format!("t/{code}");
    phone.open(&format!("/t/{code}")).await.goes(&format!("../sign-in?next={next}"));
    let page = phone.open(&format!("/sign-in?next={next}")).await;
    assert!(page.attributes("input[name=next]", "value").contains(&next));
    phone.submit("/sign-in", &[("token", &house.role("staff").1), ("next", &next)]).await.goes(&next);
    phone.open(&format!("/t/{code}")).await.goes("../s/shop/items/1");
    // Whatever is no tag is not gone back to.
    let asked = Browser::new(&house).submit("/sign-in", &[("token", &house.role("staff").1), ("next", "//t/x")]).await;
    asked.goes("./");
}

async fn unknown_and_foreign_tags_look_the_same(house: House) {
    house.set_up().await;
    house.write(cake("1")).await;
    house.service().add_site("other", SITE).await.expect("another shop");
    let staff = signed_in(&house, "staff").await;
    let own = sheet(&staff, 1).await.remove(0);
    let everywhere = house.service().add_token("*", "boss", Role::Manager).await.expect("a token");
    let boss = Browser::new(&house);
    boss.submit("/sign-in", &[("token", &everywhere)]).await.goes("./");
    let made = boss.submit("/s/other/tags", &[("count", "1")]).await;
    let at = made.to().replace("../", "");
    let foreign = boss.open(&format!("/{at}")).await.text(".sheet .code").replace('-', "");
    assert_eq!(leads(&boss, &foreign).await, format!("s/other/tags/{foreign}"));
    let head = house.head().await;
    let mut pages = Vec::new();
    for code in [foreign.as_str(), "0123456789", "unsense", "U123456789"] {
        let page = staff.open(&format!("/t/{code}")).await;
        assert_eq!(page.status(), 404);
        pages.push(page.0.text().to_owned());
        let page = staff.open(&format!("/s/shop/tags/{code}")).await;
        assert_eq!((page.status(), page.text("h1")), (404, String::from("Nobody here has that tag.")));
        let page = staff.submit(&format!("/s/shop/tags/{code}/tie"), &[("item", "1")]).await;
        assert_eq!((page.status(), page.text("h1")), (404, String::from("Nobody here has that tag.")));
        staff.submit("/s/shop/items/1/tag", &[("code", code)]).await.says(404, "Nobody here has that tag.");
    }
    assert!(pages.iter().all(|p| *p == pages[0]), "none of them tells more than another");
    // Another shop's item or sheet neither.
    assert_eq!(boss.submit(&format!("/s/other/tags/{foreign}/tie"), &[("item", "1")]).await.status(), 404);
    assert_eq!(staff.open(&format!("/{}", at.replace("other", "shop"))).await.status(), 404);
    for (path, fields) in [
        (format!("/s/shop/tags/{own}/tie"), vec![("item", "nobody")]),
        (format!("/s/shop/tags/{own}/tie"), vec![("item", "a b")]),
        (format!("/s/shop/tags/{own}/tie"), vec![("rack", "nobody")]),
        (format!("/s/shop/tags/{own}/tie"), vec![]),
        (format!("/s/shop/tags/{own}/burn"), vec![("item", "1")]),
        (String::from("/s/shop/items/nobody/tag"), vec![("code", own.as_str())]),
    ] {
        assert_eq!(staff.submit(&path, &fields).await.status(), 404, "{path} {fields:?}");
    }
    assert_eq!(leads(&staff, &own).await, format!("s/shop/tags/{own}"), "it is still on nothing");
    assert_eq!(house.head().await, head);
}

async fn what_became_of_the_first(house: House) {
    house.set_up().await;
    house.write(json!([cake("1"), cake("2"), cake("3")])).await;
    let staff = signed_in(&house, "staff").await;
    let code = sheet(&staff, 1).await.remove(0);
    let tie = format!("/s/shop/tags/{code}/tie");
    staff.submit(&tie, &[("item", "1")]).await;
    let head = house.head().await;
    // Tied to what it is on: nothing is asked.
    assert_eq!(staff.submit(&tie, &[("item", "1")]).await.status(), 303);
    let asked = staff.submit("/s/shop/items/2/tag", &[("code", &code)]).await;
    assert_eq!((asked.status(), asked.text("h1")), (409, String::from("What became of Cake 1?")));
    assert_eq!(asked.attributes("input[name=item]", "value"), ["2"]);
    assert_eq!(asked.attributes("input[name=was]", "value"), ["1"]);
    let answers = asked.attributes("button[name=before]", "value");
    assert_eq!(answers, ["sold", "served", "used", "handed-over", "discarded", "lost", "stays"]);
    assert_eq!(leads(&staff, &code).await, "s/shop/items/1", "nothing changed yet");
    assert_eq!(house.head().await, head);
    // An answer about another thing, or none that there is, changes nothing.
    for (was, before, status) in [("3", "sold", 409), ("", "sold", 409), ("1", "eaten", 400)] {
        let page = staff.submit(&tie, &[("item", "2"), ("was", was), ("before", before)]).await;
        assert_eq!((page.status(), page.text("h1")), (status, String::from("What became of Cake 1?")));
        assert_eq!(house.head().await, head);
    }
    let answer = [("key", KEY), ("item", "2"), ("was", "1"), ("before", "sold")];
    staff.submit(&tie, &answer).await.goes("../../../../s/shop/items/2/tag?said=tied");
    assert_eq!(
        (&house.standing("1").await["state"], &house.standing("2").await["state"]),
        (&json!("closed"), &json!("cold"))
    );
    assert_eq!(leads(&staff, &code).await, "s/shop/items/2");
    // The second of two taps.
    staff.submit(&tie, &answer).await.goes("../../../../s/shop/items/2/tag?said=tied");
    assert_eq!(house.head().await, head + 1);
    // It may also just have lost its tag.
    let answer = [("item", "3"), ("was", "2"), ("before", "stays")];
    assert_eq!(staff.submit(&tie, &answer).await.status(), 303);
    assert_eq!(house.standing("2").await["state"], "cold");
    assert_eq!(leads(&staff, &code).await, "s/shop/items/3");
    assert_eq!(house.head().await, head + 1);
    house.agrees().await;
}

async fn a_tag_is_washed_and_used_again(house: House) {
    house.set_up().await;
    house.write(json!([cake("1"), cake("2")])).await;
    let staff = signed_in(&house, "staff").await;
    let code = sheet(&staff, 1).await.remove(0);
    let (own, tie) = (format!("s/shop/tags/{code}"), format!("/s/shop/tags/{code}/tie"));
    staff.submit(&tie, &[("item", "1")]).await;
    house.write(json!({"kind": "close", "item": "1", "as": "sold"})).await;
    // Its item is closed: the tag says so, and goes on the next without a question.
    assert_eq!(leads(&staff, &code).await, own);
    assert!(staff.open(&format!("/{own}")).await.text(".on").contains("closed"));
    house.set("12:30");
    let refused = staff.submit(&format!("/{own}/tie"), &[("item", "1")]).await;
    assert_eq!(refused.status(), 409, "not to what is closed");
    assert_eq!(staff.submit(&tie, &[("item", "2")]).await.status(), 303);
    house.set("13:00");
    assert_eq!(staff.submit(&format!("/{own}/off"), &[]).await.status(), 303);
    assert_eq!(leads(&staff, &code).await, own);
    house.restart().await;
    let past = staff.open(&format!("/{own}")).await.texts(".past li");
    let said = ["13:30 to 14:00: Cake 2 (tied by staff)", "13:00 to 13:30: Cake 1 (tied by staff)"];
    assert_eq!(past, said, "in the shop's own time");
    house.agrees().await;
}

async fn who_may_tie(house: House) {
    house.set_up().await;
    house.write(cake("1")).await;
    let staff = signed_in(&house, "staff").await;
    let code = sheet(&staff, 1).await.remove(0);
    staff.submit(&format!("/s/shop/tags/{code}/tie"), &[("item", "1")]).await;
    let inspector = signed_in(&house, "inspector").await;
    assert_eq!(leads(&inspector, &code).await, "s/shop/items/1");
    for path in [format!("/s/shop/tags/{code}"), String::from("/s/shop/tags"), String::from("/s/shop/racks")] {
        let page = inspector.open(&path).await;
        assert_eq!((page.status(), page.texts("main form").len()), (200, 0), "{path}");
    }
    for role in ["inspector", "probe"] {
        let browser = signed_in(&house, role).await;
        for path in [format!("/s/shop/tags/{code}/off"), String::from("/s/shop/tags"), String::from("/s/shop/racks")] {
            assert_eq!(browser.submit(&path, &[("name", "R"), ("count", "1")]).await.status(), 403, "{role} {path}");
        }
    }
    assert_eq!(Browser::new(&house).submit(&format!("/s/shop/tags/{code}/off"), &[]).await.status(), 401);
    assert_eq!(leads(&staff, &code).await, "s/shop/items/1");
}

async fn sheets_of_tags(house: House) {
    let staff = signed_in(&house, "staff").await;
    for count in ["0", "121", "-1", "some", "9999999999999999999999"] {
        staff.submit("/s/shop/tags", &[("count", count)]).await.says(400, "1 to 120");
    }
    assert!(staff.open("/s/shop/tags").await.texts("main .links a").is_empty());
    // The second of two taps makes no second sheet.
    for _ in 0..2 {
        staff
            .submit("/s/shop/tags", &[("key", KEY), ("count", "120")])
            .await
            .goes(&format!("../../s/shop/sheets/{KEY}"));
    }
    assert_eq!(staff.open("/s/shop/tags").await.texts("main .links a").len(), 1);
    let page = staff.open(&format!("/s/shop/sheets/{KEY}")).await;
    let mut codes = page.texts(".sheet .code");
    assert_eq!((codes.len(), page.attributes(".sheet svg", "aria-label").len()), (120, 120));
    codes.dedup();
    assert_eq!(codes.len(), 120, "each another");
    assert!(page.text(".no-print").contains("http://shop.test/"), "where the codes lead is said");
    // As many as usual where nobody says.
    let made = staff.submit("/s/shop/tags", &[]).await;
    assert_eq!(staff.open(&format!("/{}", made.to().replace("../", ""))).await.texts(".sheet .code").len(), 24);
    // Where the operator said at which address phones reach it, that is what is printed.
    house.service().set_address("https://clock.example/holding");
    let page = staff.open(&format!("/s/shop/sheets/{KEY}")).await;
    assert!(page.text(".no-print").contains("https://clock.example/holding/"));
    assert_eq!(staff.open("/s/shop/sheets/none").await.status(), 404);
}

/// The large keys without script: each asks for the page again.
async fn typed_key_by_key(house: House) {
    house.set_up().await;
    house.write(cake("1")).await;
    let staff = signed_in(&house, "staff").await;
    let code = sheet(&staff, 1).await.remove(0);
    let press = async |query: &str| staff.open(&format!("/s/shop/scan?{query}")).await;
    let mut typed = String::new();
    for (n, key) in code.chars().enumerate() {
        let page = press(&format!("code={typed}&press={key}")).await;
        if n == 9 {
            page.goes(&format!("../../t/{code}"));
            break;
        }
        assert_eq!((page.status(), page.texts("#keys button[name=press]").len()), (200, 34));
        typed = page.attributes("#keys input[name=code]", "value")[0].clone();
        assert_eq!(typed.len(), n + 1);
    }
    let after = async |query: &str| press(query).await.attributes("#keys input[name=code]", "value")[0].clone();
    assert_eq!(after("code=AB&press=back").await, "A");
    assert_eq!(after("code=&press=back").await, "");
    assert_eq!(after("code=ABC&press=clear").await, "");
    assert_eq!(after("code=AB&press=o").await, "AB0");
    assert_eq!(after("code=AB&press=%3C").await, "AB", "what is no symbol changes nothing");
    // Typed in one go, with the address around it or badly.
    press(&format!("code=http%3A%2F%2Fshop.test%2Ft%2F{code}")).await.goes(&format!("../../t/{code}"));
    press("code=unsense").await.says(400, "no code of a tag");
    // For an item a whole code is sent by a button; and only this page may ask for the camera.
    let page = press(&format!("item=1&code={code}")).await;
    assert_eq!(page.attributes("#send:not([hidden]) input[name=code]", "value"), [code.as_str()]);
    assert_eq!(page.attributes("#send", "action"), ["../../s/shop/items/1/tag"]);
    assert_eq!(press("item=1&code=AB").await.attributes("#send[hidden]", "action").len(), 1);
    assert!(page.0.header("permissions-policy").contains("camera=(self)"));
    assert!(staff.open("/s/shop/").await.0.header("permissions-policy").contains("camera=()"));
}

/// One of them is first; the others are asked about what it is on by then. A second server stands for the rest.
async fn many_hands_and_one_tag(house: House) {
    house.set_up().await;
    let ids: Vec<String> = (1..=8).map(|n| n.to_string()).collect();
    house.write(json!(ids.iter().map(|id| cake(id)).collect::<Vec<_>>())).await;
    let staff = signed_in(&house, "staff").await;
    let other = signed_in(&house.twin().await, "staff").await;
    let code = sheet(&staff, 1).await.remove(0);
    let rack = staff.submit("/s/shop/racks", &[("name", "R")]).await.to().replace("../", "");
    let second = staff.submit("/s/shop/racks", &[("name", "S")]).await.to().replace("../", "");
    let mut hands = tokio::task::JoinSet::new();
    for (n, id) in ids.iter().enumerate() {
        let browser = if n % 2 == 0 { staff.clone() } else { other.clone() };
        let (code, id) = (code.clone(), id.clone());
        let at = format!("/{}/put", if n % 2 == 0 { &rack } else { &second });
        hands.spawn(async move {
            let put = browser.submit(&at, &[("item", "1")]).await;
            assert_eq!(put.status(), 303, "{}", put.0.text());
            let page = browser.submit(&format!("/s/shop/items/{id}/tag"), &[("code", &code)]).await;
            (id, page.status())
        });
    }
    let done = hands.join_all().await;
    let first: Vec<&String> = done.iter().filter(|(_, status)| *status == 303).map(|(id, _)| id).collect();
    assert_eq!((first.len(), done.iter().filter(|(_, status)| *status == 409).count()), (1, 7), "{done:?}");
    assert_eq!(leads(&other, &code).await, format!("s/shop/items/{}", first[0]));
    // And what all of them put on a rack stands on one.
    let mut stands = 0;
    for at in [rack, second] {
        stands += staff.open(&format!("/{at}")).await.texts("section[aria-labelledby=on] li").len();
    }
    assert_eq!(stands, 1);
    house.agrees().await;
}

async fn a_new_item_begins_with_its_tag(house: House) {
    house.set_up().await;
    let staff = signed_in(&house, "staff").await;
    let codes = sheet(&staff, 2).await;
    let page = staff.open(&format!("/s/shop/tags/{}", codes[0])).await;
    let to = page.attributes("main a.main", "href")[0].replace("../", "");
    let new = staff.open(&format!("/{to}")).await;
    assert_eq!(new.attributes("form input[name=tag]", "value"), [codes[0].as_str()]);
    let key = new.attributes("form input[name=key]", "value").remove(0);
    let begin = |tag: &str, key: &str| {
        let fields = [("key", key), ("tag", tag), ("product", "cake"), ("place", "bench"), ("count", "1")];
        fields.map(|(n, v)| (n.to_owned(), v.to_owned()))
    };
    let send = async |tag: &str, key: &str| {
        let fields = begin(tag, key);
        let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
        staff.submit("/s/shop/new", &fields).await
    };
    // Two taps begin one, and the tag leads to it.
    let head = house.head().await;
    for _ in 0..2 {
        assert_eq!(send(&codes[0], &key).await.status(), 303);
    }
    assert_eq!(house.head().await, head + 1);
    let first = leads(&staff, &codes[0]).await;
    assert!(first.starts_with("s/shop/items/cake-"), "{first}");
    // One that is on something: what is new has begun, and it is asked what became of the other.
    let asked = send(&codes[0], KEY).await;
    assert_eq!((asked.status(), asked.text("h1")), (409, String::from("What became of Cake, Mon 1?")));
    assert_eq!((house.head().await, leads(&staff, &codes[0]).await), (head + 2, first));
    // A tag nobody has is no reason not to begin.
    assert_eq!(send("nonsense", "").await.status(), 303);
    assert_eq!(house.head().await, head + 3);
    house.agrees().await;
}
