//! What a manager sets about places, and the probes that measure them.

use super::handed;
use crate::kit::actor::{Actor, Bearer};
use crate::kit::house::{House, instant, t};
use counterclock::board::cold::{Cold, Watch};
use counterclock::ledger::{Id, Temperature, Unit};
use counterclock::web::auth::Reads;
use counterclock::web::manages::Manages;
use counterclock::web::probes::Wrong;
use serde_json::json;

both!(a_manager_sets_how_a_place_is_watched, probes_come_and_go, a_token_is_limited_from_the_command_line);

fn id(text: &str) -> Id {
    Id::new(text).expect("an id")
}

async fn manages(house: &House) -> Manages {
    handed(house, &house.manager().1).await.expect("a manager")
}

async fn cold(house: &House, place: &str) -> Cold {
    let reads: Reads = handed(house, &house.staff().1).await.expect("somebody who reads");
    let found = reads.cold().await.expect("the cold").places;
    let ids: Vec<&str> = found.iter().map(|c| c.place.as_str()).collect();
    assert_eq!(ids, ["case", "freezer", "fridge", "walk-in"]);
    found.into_iter().find(|c| c.place.as_str() == place).expect("the place")
}

async fn a_manager_sets_how_a_place_is_watched(house: House) {
    house.set_up().await;
    for role in ["staff", "inspector", "probe"] {
        assert!(handed::<Manages>(&house, &house.role(role).1).await.is_none(), "{role}");
    }
    let manages = manages(&house).await;
    let limit = Temperature { tenths: 460, unit: Unit::F };
    let own = Watch { limit, grace_min: 10, silent_min: 20 };
    manages.set_watch(&id("fridge"), Some(own)).await.expect("it fits");
    assert_eq!(cold(&house, "fridge").await.watch, own);
    house.restart().await;
    assert_eq!(cold(&house, "fridge").await.watch, own);
    assert_ne!(cold(&house, "walk-in").await.watch, own);
    for (place, watch, wrong) in [
        ("bench", Some(own), "Place"),
        ("nowhere", None, "Place"),
        ("fridge", Some(Watch { grace_min: 241, ..own }), "Figure"),
        ("fridge", Some(Watch { silent_min: 4, ..own }), "Figure"),
    ] {
        let refused = manages.set_watch(&id(place), watch).await.expect_err("it is refused");
        assert_eq!(format!("{refused:?}"), wrong);
    }
    assert_eq!(manages.watched().await.expect("what is set").own, [(id("fridge"), own)].into());
    manages.set_watch(&id("fridge"), None).await.expect("it is as the program has it");
    assert_eq!(cold(&house, "fridge").await.watch, cold(&house, "walk-in").await.watch);
}

async fn probes_come_and_go(house: House) {
    house.set_up().await;
    let manages = manages(&house).await;
    house.set("12:01");
    let made = manages.add_probe(" T1  by the door ", &[id("walk-in"), id("case")]).await.expect("a token");
    let probe = Bearer(house.clone(), made);
    house.set("12:10");
    let air = |place: &str| json!({"kind": "reading", "place": place, "value": "4.0", "unit": "C"});
    probe.post(&air("case")).await.ok();
    probe.post(&air("fridge")).await.refused(403, "not-allowed");
    house.staff().post(&air("walk-in")).await.ok();
    assert!(cold(&house, "case").await.probed && !cold(&house, "fridge").await.probed);
    let listed = manages.probes().await.expect("the probes");
    let [shops, own] = &listed[..] else { panic!("{listed:?}") };
    assert_eq!((shops.name.as_str(), &shops.places[..], shops.last_at), ("probe", &[][..], None));
    assert_eq!((own.name.as_str(), &own.places[..]), ("T1 by the door", &[id("case"), id("walk-in")][..]));
    assert_eq!((own.made_at, own.last_at, own.revoked_at), (instant("12:01"), Some(instant("12:10")), None));
    let wrong = async |name: &str, places: &[&str]| {
        let places: Vec<Id> = places.iter().map(|p| id(p)).collect();
        format!("{:?}", manages.add_probe(name, &places).await.expect_err("it is refused"))
    };
    assert_eq!(wrong("T2", &[]).await, "Places");
    assert_eq!(wrong("T2", &["fridge", "nowhere"]).await, "Place");
    assert_eq!(wrong("t1 by the DOOR", &["fridge"]).await, "NameTaken");
    assert!(wrong("", &["fridge"]).await.starts_with("Name("));
    let shown = own.token.clone();
    assert!(matches!(manages.revoke_probe(&id("t-000000000000")).await, Err(Wrong::Probe)));
    manages.revoke_probe(&shown).await.expect("it is there");
    assert!(matches!(manages.revoke_probe(&shown).await, Err(Wrong::Probe)));
    // At once, whatever is remembered of it.
    probe
        .post(&json!({"kind": "reading", "place": "case", "at": t("12:05"), "value": "4.0", "unit": "C"}))
        .await
        .refused(401, "not-signed-in");
    assert!(!cold(&house, "case").await.probed);
    let listed = manages.probes().await.expect("the probes");
    assert_eq!(listed[1].revoked_at, Some(instant("12:10")));
    // Its name is free again; nobody's but a probe's token is ended so.
    manages.add_probe("T1 by the door", &[id("bench")]).await.expect("a token");
    let staff = house.base().aside().await.ask("select token from token where role = 'staff'").await;
    assert!(matches!(manages.revoke_probe(&id(&staff[0])).await, Err(Wrong::Probe)));
}

async fn a_token_is_limited_from_the_command_line(house: House) {
    house.set_up().await;
    let ask = |more: &[&str]| {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_counterclock"));
        let out = command.args(["token", "add", "--name", "T1", "--db", &house.base().url]).args(more).output();
        let out = out.expect("it runs");
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).trim().to_owned();
        (out.status.success(), text(&out.stdout), text(&out.stderr))
    };
    let (made, token, _) = ask(&["--role", "probe", "--place", "fridge", "--place", "case"]);
    assert!(made);
    let probe = Bearer(house.clone(), token);
    let air = |place: &str| json!({"kind": "reading", "place": place, "value": "4.0", "unit": "C"});
    probe.post(&json!([air("fridge"), air("case")])).await.ok();
    probe.post(&air("walk-in")).await.refused(403, "not-allowed");
    for (more, said) in [
        (&["--role", "probe", "--place", "attic"][..], "There is no place `attic`; there are: bench, case, freezer"),
        (&["--role", "staff", "--place", "case"], "Only a probe is limited to places"),
        (&["--role", "probe", "--place", "case", "--all"], "cannot be used with"),
        (&["--role", "probe", "--place", "a b"], "an id has letters"),
    ] {
        let (made, token, why) = ask(more);
        assert!(!made && token.is_empty() && why.contains(said), "{why}");
    }
    let probes = house.base().aside().await.ask("select name from token where name = 'T1'").await;
    assert_eq!(probes.len(), 1, "nothing else was made");
}
