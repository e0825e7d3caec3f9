//! Two languages: a page speaks that of whoever asks, and what is recorded is the same in both.
//!
//! Guards against S-52 of SAFETY.md.

use crate::kit::actor::Actor;
use crate::kit::browser::Browser;
use crate::kit::house::{House, t};
use crate::people::{add, device, give, office};
use crate::record::tools::Pdf;
use serde_json::json;

both!(
    a_choice_goes_with_the_person,
    screens_of_one_board_in_two_languages,
    a_link_has_its_language,
    papers_in_the_language_chosen,
    programs_read_english,
);

const ES: &[(&str, &str)] = &[("accept-language", "de;q=0.9, es-MX;q=0.8, en;q=0.3")];

async fn shop(house: &House) {
    house.set_up().await;
    house
        .write(json!([
            {"kind": "item", "at": t("10:00"), "item": "cake", "product": "cake", "name": "Anvil", "place": "bench"},
            {"kind": "reading", "at": t("10:01"), "item": "cake", "value": "4.5", "unit": "C"},
        ]))
        .await;
}

/// Goes back to where it came from, whatever that header says of other places.
async fn choose(browser: &Browser, tag: &str, from: &str) -> String {
    let page = browser.submit_with("/language", &[("language", tag)], &[("referer", from)]).await;
    assert_eq!(page.status(), 303);
    page.to().to_owned()
}

async fn a_choice_goes_with_the_person(house: House) {
    shop(&house).await;
    let office = office(&house);
    let (ada, ben) = (add(&office, "Ada", "staff", "4711", "").await, add(&office, "Ben", "staff", "20815", "").await);
    let phone = device(&house, &office, "bench phone").await;
    // Before anybody is signed in the browser's own language counts; German isn't spoken here.
    let page = phone.open_with("/sign-in", ES).await;
    assert_eq!((page.attributes("html", "lang"), page.text("h1")), (vec!["es".into()], "¿Quién es?".into()));
    assert_eq!(phone.open_with("/sign-in", &[("accept-language", "de, fr;q=0.5")]).await.text("h1"), "Who is it?");
    assert_eq!(phone.open_with("/sign-in", &[("accept-language", "es;q=0, en")]).await.text("h1"), "Who is it?");
    // A choice is kept with whoever makes it, and the page is come back to.
    give(&phone, &ada, "4711").await;
    assert_eq!(phone.open("/s/shop/").await.text("h1"), "1 out, 0 cold, 0 frozen");
    assert_eq!(choose(&phone, "es", "http://shop.test/s/shop/?said=x").await, "/s/shop/?said=x");
    let board = phone.open("/s/shop/").await;
    assert_eq!(
        (board.attributes("html", "lang"), board.text("h1")),
        (vec!["es".into()], "1 fuera, 0 en frío, 0 en congelador".into())
    );
    assert!(board.text("footer").contains("Solo orientación"), "the caution is there in Spanish");
    assert!(board.attributes(".languages button[aria-current]", "value") == ["es"]);
    // The next person on the same phone reads their own, and Ada finds hers again, on another phone too.
    give(&phone, &ben, "20815").await;
    assert_eq!(phone.open("/s/shop/").await.text("h1"), "1 out, 0 cold, 0 frozen");
    give(&phone, &ada, "4711").await;
    assert_eq!(phone.open("/s/shop/").await.text("h1"), "1 fuera, 0 en frío, 0 en congelador");
    let other = device(&house, &office, "van phone").await;
    give(&other, &ada, "4711").await;
    assert_eq!(other.open("/s/shop/items/cake").await.text("h2"), "De qué se compone el tiempo");
    // Signing out leaves the browser without it.
    other.submit("/sign-out", &[]).await;
    assert_eq!(other.open("/sign-in").await.text("h1"), "Who is it?");
    // What can't be a language, or leads elsewhere.
    assert_eq!(choose(&phone, "tlh", "http://shop.test/s/shop/").await, "/s/shop/");
    for elsewhere in ["http://shop.test//evil.example/", "nonsense", "http://shop.test/\\evil"] {
        assert_eq!(choose(&phone, "es", elsewhere).await, "./", "{elsewhere}");
    }
    // A refused form says so in the reader's language, and nothing was written.
    let head = house.head().await;
    let refused = phone.submit("/s/shop/items/cake/move", &[("place", "nowhere")]).await;
    assert!(refused.0.text().contains("No existe ese lugar."), "{}", refused.0.text());
    assert_eq!(house.head().await, head);
}

async fn screens_of_one_board_in_two_languages(house: House) {
    shop(&house).await;
    let (english, spanish) = (office(&house), office(&house));
    choose(&spanish, "es", "").await;
    for _ in 0..2 {
        let (en, es) = (english.open("/s/shop/fragment").await, spanish.open("/s/shop/fragment").await);
        assert!(en.0.text().contains("out 2 h 00 min in all"), "{}", en.0.text());
        assert!(es.0.text().contains("2 h 00 min fuera en total"), "{}", es.0.text());
        assert!(spanish.open("/s/shop/wall").await.0.text().contains("desechar a las"));
    }
    // Figures by the language: a comma in the temperature, which may be typed either way.
    assert!(spanish.open("/s/shop/items/cake").await.text("main").contains("4,5 °C"));
    assert!(english.open("/s/shop/items/cake").await.text("main").contains("4.5 °C"));
    spanish.submit("/s/shop/items/cake/temperature", &[("value", "5,5")]).await;
    assert_eq!(house.tail().await.pop().expect("an entry")["value"], "5.5");
}

async fn a_link_has_its_language(house: House) {
    shop(&house).await;
    let made = office(&house).submit("/s/shop/access", &[("language", "es")]).await;
    let address = made.text(".links a");
    let phone = Browser::new(&house);
    let enter = phone.open(address.split_once("shop.test").expect("the shop").1).await;
    assert_eq!(enter.text("h1"), "Inspección");
    let form = enter.form();
    let fields: Vec<(&str, &str)> = form.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
    phone.submit("/inspect", &fields).await.goes("s/shop/inspect");
    assert_eq!(phone.open("/s/shop/inspect").await.text("h1"), "Inspección");
    assert!(phone.open("/s/shop/record").await.text("main").contains("Tiempo fuera en total"));
}

async fn papers_in_the_language_chosen(house: House) {
    shop(&house).await;
    let office = office(&house);
    office.submit("/s/shop/items/cake/mark", &[("how", "printed")]).await;
    let paper = async |path: &str| {
        let page = office.open(path).await;
        assert_eq!(page.status(), 200, "{path}");
        let pdf = Pdf::new(&page.0.bytes);
        assert!(pdf.check().contains("No syntax or stream encoding errors found"));
        pdf.text("-raw").split_whitespace().collect::<Vec<_>>().join(" ")
    };
    for (path, es, en) in [
        ("/s/shop/items/cake/label.pdf?size=57mm", "Desechar a las", "Discard by"),
        ("/s/shop/record.pdf?size=a4", "Tiempo fuera en total", "Time out in all"),
    ] {
        let both = [paper(&format!("{path}&language=es")).await, paper(&format!("{path}&language=en")).await];
        assert!(both[0].contains(es) && both[1].contains(en) && !both[0].contains(en), "{both:?}");
        assert!(both.iter().all(|text| text.contains("Anvil")));
    }
    assert!(paper("/s/shop/record.pdf?language=es").await.contains("4,5 °C"));
    // The written procedure is in one language, whoever looks at it.
    let form = office.open("/s/shop/procedure/edit").await.form();
    assert!(form.iter().any(|(n, v)| n == "language" && v == "en"), "{form:?}");
    let typed = [("key", "k"), ("was", ""), ("language", "es"), ("address", "4 Mill Reach"), ("then", "look")];
    office.submit("/s/shop/procedure/edit", &typed).await;
    let draft = office.open("/s/shop/procedure/draft").await;
    assert_eq!(draft.text("h1"), "Draft of the written procedure", "what stands around it is the reader's");
    assert!(draft.texts("section[lang=es] h2").contains(&String::from("Las reglas")));
    assert!(draft.text("main").contains("Dos horas, cuatro horas, sumadas"), "a built-in rule has a name in both");
    assert_eq!(
        office.open("/s/shop/procedure/draft?language=es").await.text("h1"),
        "Borrador del procedimiento escrito"
    );
}

async fn programs_read_english(house: House) {
    shop(&house).await;
    let body = json!({"kind": "move", "item": "cake", "place": "bench"});
    let refused = house.manager().post(&body).await.refused(409, "already-there").json();
    let office = office(&house);
    choose(&office, "es", "").await;
    let seen = office.look("/s/shop/api/items/nothing").await.json();
    assert_eq!(refused["title"], "The item is there already.");
    assert_eq!(seen["title"], "The address names nothing.");
}
