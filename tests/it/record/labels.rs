//! Labels through the front door: what stands on them, read back from paper, and that none says more than the log.

use super::tools::Pdf;
use crate::kit::browser::Browser;
use crate::kit::house::{House, t};
use serde_json::{Value, json};

both!(
    what_is_out,
    what_is_cold,
    what_has_no_limit_and_what_a_clock_runs_on,
    never_milder_than_the_log,
    no_label,
    any_name,
    several_at_once,
    sheets_of_tags_on_paper,
);

async fn signed_in(house: &House, role: &str) -> Browser {
    let browser = Browser::new(house);
    browser.submit("/sign-in", &[("token", &house.role(role).1)]).await.goes("./");
    browser
}

/// A cake in the fridge since eight, and whatever else.
async fn shop(house: &House, more: &[Value]) -> Browser {
    house.set_up().await;
    let mut all =
        vec![json!({"kind": "item", "at": t("08:00"), "item": "cake", "name": "Carrot cake", "product": "cake",
        "place": "fridge"})];
    all.extend_from_slice(more);
    house.write(json!(all)).await;
    signed_in(house, "staff").await
}

async fn out(house: &House, id: &str, at: &str) {
    house.set(at);
    house.write(json!({"kind": "move", "at": t(at), "item": id, "place": "bench"})).await;
}

async fn print(browser: &Browser, id: &str) {
    let done = browser.submit(&format!("/s/shop/items/{id}/mark"), &[("how", "printed")]).await;
    assert_eq!(done.status(), 303, "{}", done.0.text());
    assert!(done.to().contains(&format!("items/{id}/label?")), "{}", done.to());
}

async fn pdf(browser: &Browser, address: &str) -> Pdf {
    let page = browser.open(address).await;
    assert_eq!(page.status(), 200, "{address}: {}", String::from_utf8_lossy(&page.0.bytes));
    assert_eq!(page.0.header("content-type"), "application/pdf");
    let pdf = Pdf::new(&page.0.bytes);
    assert!(pdf.check().contains("No syntax or stream encoding errors found"));
    pdf
}

/// Text with all runs of white space as one space, the marks that only turn text left out.
fn flat(text: &str) -> String {
    let plain: String = text
        .chars()
        .filter(|c| !matches!(c, '\u{200e}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'))
        .collect();
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

const LABEL: &str = "/s/shop/items/cake/label";
const SIZES: [&str; 3] = ["57mm", "a4", "letter"];

async fn what_is_out(house: House) {
    let staff = shop(&house, &[]).await;
    out(&house, "cake", "12:00:20").await;
    print(&staff, "cake").await;
    house.set("12:10");
    let tail = house.tail().await;
    let head = tail.last().expect("an entry");
    let digits = &head["hash"].as_str().expect("a hash")[..12];
    // 12:00:20 there is 13:00 by the shop's clock; four hours later, cut to the minute. The rule allows seven days, the
    // day it was made being the first.
    let says = [
        "Carrot cake",
        "Copy 1",
        "Discard by",
        "17:00",
        "Mon 4 May",
        "Made/opened Mon 4 May, 09:00",
        "Out at Mon 4 May, 13:00",
        "Use by Sun 10 May",
        "Two hours, four hours, added up",
        "Anvil & Rye",
        "As of Mon 4 May, 13:10",
        &format!("Log {}, {digits}", head["seq"]),
    ];
    let page = staff.open(LABEL).await;
    let shown = page.text(".ticket");
    for part in says {
        assert!(shown.contains(part), "{part}: {shown}");
    }
    for size in SIZES {
        let pdf = pdf(&staff, &format!("{LABEL}.pdf?size={size}")).await;
        let text = flat(&pdf.text("-raw"));
        for part in says {
            assert!(text.contains(part), "{size}: {part}: {text}");
        }
        assert_eq!(pdf.codes(), ["http://shop.test/s/shop/items/cake"], "{size}");
    }
    // An inspector may look, and with a tag on it the code is the tag's.
    let codes = staff.submit("/s/shop/tags", &[("count", "1")]).await;
    let sheet = staff.open(&format!("/{}", codes.to().replace("../", ""))).await;
    let code = sheet.text(".sheet .code").replace('-', "");
    staff.submit(&format!("/s/shop/tags/{code}/tie"), &[("item", "cake")]).await;
    let inspector = signed_in(&house, "inspector").await;
    assert_eq!(pdf(&inspector, &format!("{LABEL}.pdf")).await.codes(), [format!("http://shop.test/t/{code}")]);
    house.service().set_address("https://holding.example");
    assert_eq!(pdf(&inspector, &format!("{LABEL}.pdf")).await.codes(), [format!("https://holding.example/t/{code}")]);
    // Only who may write is offered another copy.
    assert!(inspector.open(LABEL).await.texts("main form").is_empty());
    print(&staff, "cake").await;
    let text = staff.open(LABEL).await.text(".ticket");
    assert!(text.contains("Copy 2") && !text.contains("new time"), "{text}");
    assert!(staff.open(LABEL).await.texts("main h1").iter().all(|h| !h.contains("safe")));
}

async fn what_is_cold(house: House) {
    let staff = shop(&house, &[]).await;
    out(&house, "cake", "08:10").await;
    house.set("10:00:30");
    house.write(json!({"kind": "move", "at": t("10:00:30"), "item": "cake", "place": "fridge"})).await;
    // 1 h 50 min 30 s of 4 h are used: 2 h 9 min 30 s are left, and are cut.
    let says = [
        "Carrot cake",
        "Time left out",
        "2 h 09 min",
        "out at ____ : ____",
        "discard by ____ : ____",
        "Use by Sun 10 May",
    ];
    let shown = staff.open(LABEL).await.text(".ticket");
    let text = flat(&pdf(&staff, &format!("{LABEL}.pdf")).await.text("-raw"));
    for part in says {
        assert!(shown.contains(part), "{part}: {shown}");
        assert!(text.contains(part), "{part}: {text}");
    }
    for none in ["Copy", "Out at Mon"] {
        assert!(!shown.contains(none) && !text.contains(none), "{none}: {text}");
    }
}

async fn what_has_no_limit_and_what_a_clock_runs_on(house: House) {
    let item = |id: &str, more: Value| {
        let mut e = json!({"kind": "item", "at": t("08:00"), "item": id, "name": id, "place": "fridge"});
        e.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        e
    };
    let never = json!({"kind": "product", "at": t("00:00"), "product": "crisp", "name": "Crisps", "rules": [],
        "exempt": {"reason": "dry", "evidence": "water activity 0.40, invented"}});
    let more = [never, item("crisps", json!({"product": "crisp"})), item("pie", json!({"rules": ["us-time-4h"]}))];
    let staff = shop(&house, &more).await;
    let shown = staff.open("/s/shop/items/crisps/label").await.text(".ticket");
    assert!(shown.contains("no limit") && !shown.contains("iscard by"), "{shown}");
    assert!(pdf(&staff, "/s/shop/items/crisps/label.pdf").await.text("-raw").contains("no limit"));
    // Back in the cold its clock runs on: the time printed while it was out still is its time.
    out(&house, "pie", "09:00").await;
    print(&staff, "pie").await;
    house.set("10:00");
    house.write(json!({"kind": "move", "at": t("10:00"), "item": "pie", "place": "fridge"})).await;
    let shown = staff.open("/s/shop/items/pie/label").await.text(".ticket");
    assert!(shown.contains("Discard by 14:00 Mon 4 May") && shown.contains("Out at Mon 4 May, 10:00"), "{shown}");
}

/// Guards against S-17.
async fn never_milder_than_the_log(house: House) {
    let staff = shop(&house, &[]).await;
    out(&house, "cake", "12:00").await;
    print(&staff, "cake").await;
    // That the fridge had failed for an hour this morning is written down late: the label's 17:00 is an hour too much.
    house.set("12:30");
    house.write(json!({"kind": "lapse", "at": t("09:00"), "place": "fridge", "until": t("10:00")})).await;
    let page = staff.open(LABEL).await;
    assert!(page.texts(".ticket").is_empty());
    let why = page.text("main .why");
    assert!(
        why.contains("says 17:00, and that is too late by now") && why.contains("Print it anew, with 16:00"),
        "{why}"
    );
    assert_eq!(page.texts("main form button"), ["Print a label with 16:00"]);
    let refused = staff.open(&format!("{LABEL}.pdf")).await;
    assert_eq!(refused.status(), 409);
    assert!(refused.0.text().contains("too late by now"));
    // On a sheet the reason stands in its place.
    let text = flat(&pdf(&staff, "/s/shop/labels.pdf?items=cake").await.text("-raw"));
    assert!(text.contains("No label:") && text.contains("Print it anew, with 16:00"), "{text}");
    print(&staff, "cake").await;
    let text = flat(&pdf(&staff, &format!("{LABEL}.pdf")).await.text("-raw"));
    assert!(text.contains("16:00") && text.contains("Copy 2: new time") && !text.contains("17:00"), "{text}");
    // Nor is a print given again once something else on it says less.
    staff.submit("/s/shop/items/cake/mark", &[("time", "15:00")]).await;
    assert_eq!(staff.open(&format!("{LABEL}.pdf")).await.status(), 409);
    assert!(staff.open(LABEL).await.text("main .why").contains("Print it anew, with 15:00"));
}

async fn no_label(house: House) {
    let staff = shop(&house, &[]).await;
    out(&house, "cake", "12:00").await;
    let page = staff.open(LABEL).await;
    assert!(page.text("main .why").contains("No label was printed yet."));
    assert_eq!(page.texts("main form button"), ["Print a label with 17:00"]);
    assert_eq!(staff.open(&format!("{LABEL}.pdf")).await.status(), 409);
    print(&staff, "cake").await;
    // Its time comes: what was printed isn't printed again.
    house.set("16:00");
    let page = staff.open(LABEL).await;
    assert!(page.text("main .why").contains("Its time is over") && page.texts("main form").is_empty());
    assert_eq!(staff.open(&format!("{LABEL}.pdf")).await.status(), 409);
    house.write(json!({"kind": "close", "at": t("16:00"), "item": "cake", "as": "discarded"})).await;
    assert!(staff.open(LABEL).await.text("main .why").contains("It is closed"));
    for (address, status) in [
        ("/s/shop/items/nothing/label", 404),
        ("/s/shop/items/nothing/label.pdf", 404),
        ("/s/shop/items/%2e%2e/label.pdf", 404),
        ("/s/shop/items/cake/label.pdf?size=a5", 400),
        ("/s/shop/labels.pdf", 400),
        ("/s/shop/labels.pdf?items=", 400),
        ("/s/shop/labels.pdf?items=cake&size=", 400),
        ("/s/shop/labels.pdf?items=cake,nothing", 404),
        ("/s/shop/racks/none/labels.pdf", 404),
        ("/s/shop/sheets/none/tags.pdf", 404),
    ] {
        let page = staff.open(address).await;
        assert_eq!(page.status(), status, "{address}");
        assert!(!page.text("main p").is_empty(), "{address} says nothing");
    }
    let many = vec!["cake"; 201].join(",");
    assert_eq!(staff.open(&format!("/s/shop/labels.pdf?items={many}")).await.status(), 400);
}

/// Guards against S-18.
async fn any_name(house: House) {
    let names = [
        ("quotes", r#"Anna's "best" <b>cake</b> & co."#),
        ("emoji", "Birthday 🎂 cake"),
        ("hebrew", "עוגת גבינה"),
        ("arabic", "كعكة الجبن 2"),
        ("formula", "=cmd()|' /C calc'!A0"),
        ("chinese", "奶油蛋糕"),
        ("unseen", "\u{2060}\u{200d}"),
        ("long", "Threelayeredcarrotcakewithcreamcheesefrostingandwalnuts"),
    ];
    let item = |(id, name): &(&str, &str)| json!({"kind": "item", "at": t("08:00"), "item": id, "name": name, "product": "cake", "place": "fridge"});
    let staff = shop(&house, &names.iter().map(item).collect::<Vec<_>>()).await;
    for (id, name) in names {
        let page = staff.open(&format!("/s/shop/items/{id}/label")).await;
        assert_eq!(page.text(".ticket h2"), name);
        let pdf = pdf(&staff, &format!("/s/shop/items/{id}/label.pdf")).await;
        let text = flat(&pdf.text("-nopgbrk")).replace(' ', "");
        match id {
            "chinese" => assert!(text.contains("[U+5976][U+6CB9][U+86CB][U+7CD5]"), "{text}"),
            "unseen" => assert!(text.contains("[U+2060][U+200D]"), "{text}"),
            // In which order the words of a line that runs both ways are told is the reader's affair.
            _ => assert!(name.split(' ').all(|word| text.contains(word)), "{name}: {text}"),
        }
        assert_eq!(pdf.codes(), [format!("http://shop.test/s/shop/items/{id}")]);
    }
}

async fn several_at_once(house: House) {
    let item = |id: usize| {
        json!({"kind": "item", "at": t("08:00"), "item": format!("tub-{id}"), "name": format!("Tub {id}"),
            "product": "cake", "place": "fridge"})
    };
    let staff = shop(&house, &(0..12).map(item).collect::<Vec<_>>()).await;
    let page = staff.open("/s/shop/labels").await;
    assert_eq!(page.texts("[name=items]").len(), 13);
    let asked: Vec<String> = (0..12).map(|n| format!("items=tub-{n}")).collect();
    for size in ["a4", "letter", "57mm"] {
        let pdf = pdf(&staff, &format!("/s/shop/labels.pdf?{}&size={size}", asked.join("&"))).await;
        let mut codes = pdf.codes();
        codes.sort();
        let mut all: Vec<String> = (0..12).map(|n| format!("http://shop.test/s/shop/items/tub-{n}")).collect();
        all.sort();
        assert_eq!(codes, all, "{size}");
        let text = flat(&pdf.text("-raw"));
        assert_eq!(text.matches("4 h 00 min out in all").count(), 12, "{size}: {text}");
        let pages = if size == "57mm" { "Pages:           12" } else { "Pages:           2" };
        assert!(pdf.info(&[]).contains(pages), "{size}: {}", pdf.info(&[]));
    }
    // The same by commas, and of a rack.
    assert_eq!(pdf(&staff, "/s/shop/labels.pdf?items=tub-1,tub-2").await.codes().len(), 2);
    let made = staff.submit("/s/shop/racks", &[("key", "00112233445566778899aabbccddeeff"), ("name", "Left")]).await;
    let rack = format!("/{}", made.to().replace("../", ""));
    let empty = staff.open(&format!("{rack}/labels.pdf")).await;
    assert_eq!(empty.status(), 400);
    staff.submit(&format!("{rack}/put"), &[("item", "tub-3"), ("item", "tub-4")]).await;
    let links = staff.open(&rack).await.attributes("a[href*='labels.pdf']", "href");
    assert_eq!(links.len(), 3);
    assert_eq!(pdf(&staff, &format!("{rack}/labels.pdf?size=letter")).await.codes().len(), 2);
}

async fn sheets_of_tags_on_paper(house: House) {
    let staff = shop(&house, &[]).await;
    let made = staff.submit("/s/shop/tags", &[("count", "24")]).await;
    let sheet = format!("/{}", made.to().replace("../", ""));
    let page = staff.open(&sheet).await;
    let shown = page.texts(".sheet .code");
    assert_eq!(page.attributes("a[href*='tags.pdf']", "href").len(), 3);
    for size in SIZES {
        let pdf = pdf(&staff, &format!("{sheet}/tags.pdf?size={size}")).await;
        let text = pdf.text("-raw");
        assert!(shown.iter().all(|code| text.contains(code.as_str())), "{size}: {text}");
        let (mut codes, mut all) = (pdf.codes(), Vec::new());
        all.extend(shown.iter().map(|c| format!("http://shop.test/t/{}", c.replace('-', ""))));
        codes.sort();
        all.sort();
        assert_eq!(codes, all, "{size}");
    }
}
