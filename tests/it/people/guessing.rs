//! Guessing is slowed down: by account, by device, by address; nobody else notices, and a restart forgives nothing.
//!
//! Guards against S-65 of SAFETY.md.

use super::{PASSWORD, add, device, give, office};
use crate::kit::browser::Browser;
use crate::kit::house::House;
use std::collections::BTreeMap;

both!(
    a_pin_is_locked,
    a_password_is_locked,
    a_device_and_an_address_are_locked,
    only_a_named_proxy_says_who_asks,
    many_at_once_are_no_more
);

const MINUTE_MS: i64 = 60_000;

async fn a_pin_is_locked(house: House) {
    let office = office(&house);
    let ada = add(&office, "Ada", "staff", "4711", "").await;
    let ben = add(&office, "Ben", "staff", "20815", "").await;
    let (bench, tablet) = (device(&house, &office, "bench").await, device(&house, &office, "tablet").await);
    for n in 0..4 {
        give(&bench, &ada, &format!("700{n}")).await.says(401, "not the PIN");
    }
    // The right one in between forgives her mistakes.
    give(&bench, &ada, "4711").await.goes("./");
    for n in 0..5 {
        give(&bench, &ada, &format!("700{n}")).await.says(401, "not the PIN");
    }
    // 12:00 in London is 13:00 in summer: a minute from now.
    let page = give(&bench, &ada, "4711").await.says(429, "Nothing more is heard until 13:01");
    assert_eq!(page.0.header("retry-after"), "60");
    // It is her account, on whatever device; other accounts don't notice, and a restart forgives nothing.
    give(&tablet, &ada, "4711").await.says(429, "13:01");
    give(&bench, &ben, "20815").await.goes("./");
    house.restart().await;
    give(&tablet, &ada, "4711").await.says(429, "13:01");
    give(&tablet, &ben, "20815").await.goes("./");
    // Each further wrong one doubles it, up to an hour; what comes in a pause is neither heard nor counted.
    let mut pause = MINUTE_MS;
    for _ in 0..8 {
        house.pass(pause);
        give(&bench, &ada, "7000").await.says(401, "not the PIN");
        pause = (2 * pause).min(60 * MINUTE_MS);
        house.pass(pause - 1);
        give(&bench, &ada, "4711").await.says(429, "Too many");
        house.pass(-(pause - 1));
    }
    house.pass(pause);
    give(&bench, &ada, "4711").await.goes("./");
    give(&bench, &ada, "7000").await.says(401, "not the PIN");
    give(&bench, &ada, "4711").await.goes("./");
    // A manager's new PIN is heard at once.
    for n in 0..5 {
        give(&bench, &ada, &format!("700{n}")).await.says(401, "not the PIN");
    }
    give(&bench, &ada, "4711").await.says(429, "Too many");
    office.submit(&format!("/s/shop/people/{ada}/pin"), &[("pin", "8053")]).await;
    give(&bench, &ada, "8053").await.goes("./");
}

async fn a_password_is_locked(house: House) {
    let office = office(&house);
    add(&office, "Mia", "manager", "", PASSWORD).await;
    add(&office, "Mo", "manager", "", "cold butter, warm hands").await;
    let laptop = Browser::new(&house);
    let sign_in = async |browser: &Browser, name: &str, password: &str| {
        browser.submit("/sign-in", &[("name", name), ("password", password)]).await
    };
    // A name that nobody has is locked just so.
    for name in ["mia", "nobody"] {
        for _ in 0..5 {
            sign_in(&laptop, name, "wrong, wrong").await.says(401, "don’t go together");
        }
        sign_in(&laptop.at([192, 0, 2, 99]), name, PASSWORD).await.says(429, "Too many");
    }
    house.restart().await;
    sign_in(&laptop, "Mia", PASSWORD).await.says(429, "Too many");
    sign_in(&laptop, "Mo", "cold butter, warm hands").await.goes("./");
    house.pass(MINUTE_MS);
    sign_in(&laptop, "Mia", PASSWORD).await.goes("./");
    // A day later nothing is held against anybody.
    for _ in 0..4 {
        sign_in(&laptop, "Mia", "wrong, wrong").await.says(401, "don’t go together");
    }
    house.pass(25 * 60 * MINUTE_MS);
    for _ in 0..4 {
        sign_in(&laptop, "Mia", "wrong, wrong").await.says(401, "don’t go together");
    }
    sign_in(&laptop, "Mia", PASSWORD).await.goes("./");
}

async fn a_device_and_an_address_are_locked(house: House) {
    let office = office(&house);
    let ada = add(&office, "Ada", "staff", "4711", "").await;
    add(&office, "Mia", "manager", "", PASSWORD).await;
    let (bench, tablet) = (device(&house, &office, "bench").await, device(&house, &office, "tablet").await);
    // Whoever goes through the names one by one is slowed down by the device.
    for n in 0..20 {
        give(&bench, &format!("p-{}", n / 3), "7000").await.says(401, "not the PIN");
    }
    give(&bench, &ada, "4711").await.says(429, "Too many");
    give(&tablet, &ada, "4711").await.goes("./");
    // And from one address by the address; an enrolled device there counts by itself.
    let laptop = Browser::new(&house);
    for n in 0..50 {
        let fields = [("name", format!("n{n}")), ("password", String::from("wrong, wrong"))];
        let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (*n, v.as_str())).collect();
        laptop.submit("/sign-in", &fields).await.says(401, "don’t go together");
    }
    let right = [("name", "Mia"), ("password", PASSWORD)];
    laptop.submit("/sign-in", &right).await.says(429, "Too many");
    laptop.submit("/enrol", &[("code", "0000-0000")]).await.says(429, "Too many");
    laptop.at([192, 0, 2, 8]).submit("/sign-in", &right).await.goes("./");
    tablet.submit("/sign-in", &right).await.goes("./");
    house.pass(MINUTE_MS);
    laptop.submit("/sign-in", &right).await.goes("./");
}

/// Behind a proxy that is named each phone counts by itself; what anybody else writes about where they are counts for nothing.
/// Guards against S-51.
async fn only_a_named_proxy_says_who_asks(house: House) {
    house.service().trust_proxies(vec!["198.51.100.0/24".parse().expect("a network")]);
    add(&office(&house), "Mia", "manager", "", PASSWORD).await;
    for odd in ["", "x", "10.0.0.0/33", "::ffff:10.0.0.0/104", "10.0.0.0/-1", "2001:db8::/129"] {
        assert!(odd.parse::<counterclock::web::proxies::Network>().is_err(), "{odd}");
    }
    let (proxy, forger) = (Browser::new(&house).at([198, 51, 100, 7]), Browser::new(&house));
    let wrong = [("name", "Mia"), ("password", "wrong, wrong")];
    let other = |n: usize| [("name", format!("n{n}")), ("password", String::from("wrong, wrong"))];
    for n in 0..50 {
        let fields = other(n);
        let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (*n, v.as_str())).collect();
        // A forged beginning changes nothing: the proxy writes the phone it heard last.
        let through = format!("203.0.113.{n}, 192.0.2.50");
        proxy.submit_with("/sign-in", &fields, &[("x-forwarded-for", &through)]).await.says(401, "don’t go together");
        let made_up = format!("203.0.113.{n}");
        forger.submit_with("/sign-in", &fields, &[("x-forwarded-for", &made_up)]).await.says(401, "don’t go together");
    }
    let at = |phone: &'static str| [("x-forwarded-for", phone)];
    proxy.submit_with("/sign-in", &wrong, &at("192.0.2.50")).await.says(429, "Too many");
    forger.submit_with("/sign-in", &wrong, &at("203.0.113.200")).await.says(429, "Too many");
    let right = [("name", "Mia"), ("password", PASSWORD)];
    proxy.submit_with("/sign-in", &right, &at("192.0.2.51")).await.goes("./");
    // Through two proxies, and with a port behind the address.
    proxy.submit_with("/sign-in", &wrong, &at("192.0.2.50:4711, 198.51.100.8")).await.says(429, "Too many");
}

/// Of many guesses that come at the same moment no more are heard than of those that come one by one.
async fn many_at_once_are_no_more(house: House) {
    let office = office(&house);
    let ada = add(&office, "Ada", "staff", "4711", "").await;
    let bench = device(&house, &office, "bench").await;
    let guesses: Vec<_> = (0..20)
        .map(|n| {
            let (bench, ada) = (bench.clone(), ada.clone());
            tokio::spawn(async move { give(&bench, &ada, &format!("70{n:02}")).await.status() })
        })
        .collect();
    let mut heard = BTreeMap::new();
    for guess in guesses {
        *heard.entry(guess.await.expect("an answer")).or_insert(0) += 1;
    }
    assert_eq!(heard, BTreeMap::from([(401, 5), (429, 15)]));
}
