//! Looking after people: what is refused, with nothing lost of what was typed, and what a manager of one shop may not
//! do to somebody of another.

use super::{PASSWORD, add, device, fill_at, give, office};
use crate::kit::browser::Browser;
use crate::kit::house::{House, SITE};
use counterclock::people::{Role, tokens};

both!(
    what_is_typed_is_kept,
    roles_are_changed,
    what_is_new_ends_what_was,
    somebody_of_two_shops,
    another_shop_of_the_same_manager,
);

async fn what_is_typed_is_kept(house: House) {
    let office = office(&house);
    let send = async |fields: &[(&str, &str)]| office.submit("/s/shop/people", fields).await;
    let page = send(&[("name", "Ada \"O'Hara\" <b>🍰</b>"), ("role", "staff"), ("pin", "12ab")]).await;
    let page = page.says(400, "4 to 6 digits");
    assert_eq!(page.attributes("#main input[name=name]", "value")[0], "Ada \"O'Hara\" <b>🍰</b>");
    assert!(page.texts("main b").is_empty(), "nothing of a name is run");
    send(&[("name", "Ada"), ("pin", "1234")]).await.says(400, "digits in a row");
    send(&[("name", "Ada"), ("pin", "7777")]).await.says(400, "digits in a row");
    send(&[("name", "Ada"), ("pin", "123")]).await.says(400, "4 to 6 digits");
    send(&[("name", "   "), ("pin", "4711")]).await.says(400, "1 to 80 characters");
    send(&[("name", &"a".repeat(81)), ("pin", "4711")]).await.says(400, "1 to 80 characters");
    send(&[("name", "Ada\u{202e}"), ("pin", "4711")]).await.says(400, "cannot be seen");
    let manager = |password: &'static str| [("name", "Nora Blaise"), ("role", "manager"), ("password", password)];
    let page = send(&manager("short")).await.says(400, "8 characters at least");
    assert_eq!(page.attributes("#main input[name=role][checked]", "value")[0], "manager");
    send(&manager("P@ssw0rd2026!")).await.says(400, "among the first");
    send(&manager("1234567890")).await.says(400, "among the first");
    send(&manager("nora  blaise")).await.says(400, "is the name");
    assert!(house.base().aside().await.ask("select person from person").await.is_empty(), "nothing was written");
    add(&office, "Ada", "staff", "4711", "").await;
    send(&[("name", " ADA "), ("pin", "4712")]).await.says(409, "has that name already");
    let ada = &house.base().aside().await.ask("select person from person").await[0];
    for what in ["pin", "name", "password", "nonsense"] {
        let page = office.submit(&format!("/s/shop/people/{ada}/{what}"), &[]).await;
        assert!((400..500).contains(&page.status()), "{what} {}", page.status());
        assert_eq!(office.submit(&format!("/s/shop/people/p-none/{what}"), &[]).await.status(), 404, "{what}");
    }
}

async fn roles_are_changed(house: House) {
    let office = office(&house);
    let mia = add(&office, "Mia", "manager", "", PASSWORD).await;
    let ada = add(&office, "Ada", "staff", "4711", "").await;
    let (mia, ada) = (format!("/s/shop/people/{mia}"), format!("/s/shop/people/{ada}"));
    let send =
        async |at: &str, what: &str, fields: &[(&str, &str)]| office.submit(&format!("{at}/{what}"), fields).await;
    // Somebody has to manage the shop.
    for (what, fields) in [("role", [("role", "staff")]), ("disable", [("x", "")]), ("erase", [("sure", "yes")])] {
        send(&mia, what, &fields).await.says(409, "Nobody would be left");
    }
    send(&ada, "password", &[("password", "seven cold spoons")]).await.says(409, "Staff sign in with a PIN");
    send(&ada, "role", &[("role", "manager")]).await.says(400, "8 characters at least");
    assert_eq!(send(&ada, "role", &[("role", "manager"), ("password", "seven cold spoons")]).await.status(), 303);
    let laptop = Browser::new(&house);
    laptop.submit("/sign-in", &[("name", "ada"), ("password", "seven cold spoons")]).await.goes("./");
    // She takes Mia's role, and Mia's password is gone with it.
    let told = laptop.submit(&format!("{mia}/role"), &[("role", "staff")]).await;
    assert_eq!(told.status(), 303, "{}", told.0.text());
    Browser::new(&house).submit("/sign-in", &[("name", "Mia"), ("password", PASSWORD)]).await.says(401, "don’t go");
    // A new name is what is signed in by.
    assert_eq!(send(&ada, "name", &[("name", "Ada Kaya")]).await.status(), 303);
    send(&ada, "name", &[("name", "MIA")]).await.says(409, "has that name already");
    let laptop = Browser::new(&house);
    laptop.submit("/sign-in", &[("name", "ada"), ("password", "seven cold spoons")]).await.says(401, "don’t go");
    laptop.submit("/sign-in", &[("name", "Ada Kaya"), ("password", "seven cold spoons")]).await.goes("./");
    assert!(laptop.open("/s/shop/").await.text("footer").contains("Ada Kaya"));
}

/// A new password or PIN ends whatever they are signed in by, wherever that is.
async fn what_is_new_ends_what_was(house: House) {
    let office = office(&house);
    let mia = add(&office, "Mia", "manager", "", PASSWORD).await;
    let ada = add(&office, "Ada", "staff", "4711", "").await;
    let (laptop, bench) = (Browser::new(&house), device(&house, &office, "bench").await);
    laptop.submit("/sign-in", &[("name", "Mia"), ("password", PASSWORD)]).await.goes("./");
    give(&bench, &ada, "4711").await.goes("./");
    let board = async |browser: &Browser| browser.look("/s/shop/").await.status.as_u16();
    assert_eq!((board(&laptop).await, board(&bench).await), (200, 200));
    for (person, what, value) in [(&mia, "password", "seven cold spoons"), (&ada, "pin", "4712")] {
        let page = office.submit(&format!("/s/shop/people/{person}/{what}"), &[(what, value)]).await;
        assert_eq!(page.status(), 303, "{}", page.0.text());
    }
    assert_eq!((board(&laptop).await, board(&bench).await), (303, 303));
}

async fn somebody_of_two_shops(house: House) {
    let office = office(&house);
    let service = house.service();
    service.add_site("annex", SITE).await.expect("another shop");
    let mia = add(&office, "Mia", "manager", "", PASSWORD).await;
    let mut aside = house.base().aside().await;
    aside
        .must(&format!("insert into member (site, person, role, joined_at) values ('annex', '{mia}', 'inspector', 0)"))
        .await;
    let laptop = Browser::new(&house);
    laptop.submit("/sign-in", &[("name", "Mia"), ("password", PASSWORD)]).await.goes("./");
    // In each shop she is what she is there.
    assert_eq!(laptop.open("/s/shop/people").await.status(), 200);
    assert_eq!(laptop.open("/s/annex/").await.status(), 200);
    assert_eq!(laptop.open("/s/annex/people").await.status(), 403);
    // A manager of the annex alone doesn't become Mia by giving her a password, nor takes her name.
    let token = service.add_token("annex", "n", Role::Manager).await.expect("a token");
    let other = Browser::new(&house);
    other.put("counterclock", &token);
    for (what, fields) in [
        ("password", [("password", "mine now, all mine")]),
        ("pin", [("pin", "4711")]),
        ("name", [("name", "Me")]),
        ("role", [("role", "manager")]),
        ("erase", [("sure", "yes")]),
    ] {
        other
            .submit(&format!("/s/annex/people/{mia}/{what}"), &fields)
            .await
            .says(409, "a shop too that you don’t manage");
    }
    // But may say that she no longer works there.
    assert_eq!(other.submit(&format!("/s/annex/people/{mia}/disable"), &[]).await.status(), 303);
    laptop.submit("/sign-in", &[("name", "Mia"), ("password", PASSWORD)]).await.goes("./");
    assert_eq!(laptop.open("/s/annex/").await.status(), 403);
    assert_eq!(laptop.open("/s/shop/").await.status(), 200);
    // Nobody of the annex is seen or reached from the shop.
    let theirs = other.submit("/s/annex/people", &[("name", "Lou"), ("pin", "4711")]).await;
    let lou = theirs.to().rsplit('=').next().expect("an id").to_owned();
    assert!(!office.open("/s/shop/people").await.0.text().contains("Lou"));
    office.submit(&format!("/s/shop/people/{lou}/pin"), &[("pin", "8053")]).await.says(404, "nobody");
    // Whoever manages all shops may.
    let all = Browser::new(&house);
    all.put("counterclock", &service.add_token(tokens::ALL, "n", Role::Manager).await.expect("a token"));
    assert_eq!(all.submit(&format!("/s/shop/people/{mia}/pin"), &[("pin", "4711")]).await.status(), 303);
}

async fn another_shop_of_the_same_manager(house: House) {
    house.set_up().await;
    let office = office(&house);
    add(&office, "Mia", "manager", "", PASSWORD).await;
    let ada = add(&office, "Ada", "staff", "4711", "").await;
    let laptop = Browser::new(&house);
    laptop.submit("/sign-in", &[("name", "Mia"), ("password", PASSWORD)]).await.goes("./");
    let at = "/s/shop/another";
    let page = laptop.open(at).await;
    assert_eq!(page.text("h1"), "Your shop");
    fill_at(&laptop, at, &page, &[("region", "uk")]).await.says(400, "has no name yet");
    let shop = [("name", "Quay Street"), ("zone", "Europe/London"), ("region", "uk"), ("units", "C")];
    let page = fill_at(&laptop, at, &page, &shop).await;
    let page = fill_at(&laptop, at, &page, &[]).await;
    assert_eq!(page.text("h1"), "Its places");
    let page = fill_at(&laptop, at, &page, &[("place", "fridge"), ("place", "bench")]).await;
    assert!(page.text(".progress").contains("4 of 4"), "{}", page.text(".progress"));
    let made = fill_at(&laptop, at, &page, &[("product", "frosting")]).await;
    made.goes("../../s/quay-street/");
    let again = fill_at(&laptop, at, &page, &[("product", "frosting")]).await;
    again.goes("../../s/quay-street/");
    assert!(laptop.open("/s/quay-street/").await.text("footer").contains("Quay Street"));
    // Twice the same name is another id.
    let other = "00112233445566778899aabbccddeeff";
    fill_at(&laptop, at, &page, &[("product", "frosting"), ("key", other)]).await.goes("../../s/quay-street-2/");
    // Whoever works in one may work in the other, with the same PIN.
    let people = laptop.open("/s/quay-street/people").await;
    assert_eq!(people.texts("section[aria-labelledby=also] button").len(), 1);
    assert!(people.text("section[aria-labelledby=also] button").contains("Ada"));
    let also = laptop.submit(&format!("/s/quay-street/people/{ada}/also"), &[]).await;
    assert!(also.to().ends_with(&format!("said=also&person={ada}")), "{}", also.to());
    let code = laptop.submit("/s/quay-street/devices", &[("name", "Till")]).await.text("#the-code");
    let till = Browser::new(&house);
    till.submit("/enrol", &[("code", &code)]).await.goes("sign-in");
    till.submit("/sign-in", &[("person", &ada), ("pin", "4711")]).await.goes("./");
    assert_eq!(till.open("/s/quay-street/").await.status(), 200);
    assert_eq!(till.open("/s/shop/").await.status(), 403, "the device is the one shop's");
    // Nobody is brought over from a shop that one doesn't manage, and a token of one shop makes no other.
    let stranger = Browser::new(&house);
    stranger
        .put("counterclock", &house.service().add_token("quay-street-2", "n", Role::Manager).await.expect("a token"));
    stranger.submit(&format!("/s/quay-street-2/people/{ada}/also"), &[]).await.says(404, "nobody");
    let refused = fill_at(&stranger, "/s/quay-street-2/another", &page, &[("product", "frosting")]).await;
    assert_eq!(refused.status(), 403);
    // What broke off after its first step is gone on with, not begun again.
    let mia = house
        .base()
        .aside()
        .await
        .ask("select person from member where site = 'quay-street' and role = 'manager'")
        .await;
    let mut aside = house.base().aside().await;
    aside.must("insert into site (site, head, hash) select 'half', 0, '0000000000000000000000000000000000000000000000000000000000000000' from site where site = 'shop'").await;
    let half =
        format!("insert into member (site, person, role, joined_at) values ('half', '{}', 'manager', 0)", mia[0]);
    aside.must(&half).await;
    house.restart().await;
    fill_at(&laptop, at, &page, &[("product", "frosting"), ("key", "ffeeddccbbaa99887766554433221100")])
        .await
        .goes("../../s/half/");
    // Nobody is left without a manager by what is done to them elsewhere.
    let laptop_of = |what: &str| format!("/s/shop/people/{}/{what}", mia[0]);
    add(&office, "Nora", "manager", "", "seven cold spoons").await;
    office.submit(&laptop_of("erase"), &[("sure", "yes")]).await.says(409, "a shop too that you don’t manage");
    let all = Browser::new(&house);
    all.put("counterclock", &house.service().add_token(tokens::ALL, "n", Role::Manager).await.expect("a token"));
    all.submit(&laptop_of("erase"), &[("sure", "yes")]).await.says(409, "Nobody would be left");
    assert_eq!(all.submit(&laptop_of("role"), &[("role", "staff")]).await.status(), 303);
    laptop.submit("/sign-in", &[("name", "Mia"), ("password", PASSWORD)]).await.goes("./");
    assert_eq!(laptop.open("/s/quay-street/people").await.status(), 200, "she manages it still");
    assert_eq!(house.service().sites(), ["half", "quay-street", "quay-street-2", "shop"]);
}
