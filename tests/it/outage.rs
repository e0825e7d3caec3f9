//! Failures of the cold on the pages: every place in words, a power cut from the question to its end, what is proposed,
//! a place's air, how it is watched, and its probes. The shop's clock is an hour ahead of the tests'.
//!
//! Guards against S-39 of SAFETY.md.

use crate::kit::actor::{Actor, Bearer};
use crate::kit::browser::{Browser, Page};
use crate::kit::house::{House, t};
use counterclock::board::outage;
use counterclock::clock::{HOUR_MS, Instant, MINUTE_MS, Zone};
use counterclock::ledger::{Temperature, Unit};
use counterclock::web::chart::Chart;
use counterclock::web::show::Show;
use serde_json::{Value, json};

both!(
    every_place_in_words,
    a_power_cut_from_the_question_to_its_end,
    each_since_its_last_good_reading,
    what_a_form_gets_wrong,
    a_proposal_is_confirmed,
    a_proposal_is_dismissed_with_a_reason,
    the_air_as_a_chart_and_a_table,
    how_a_place_is_watched,
    a_probe_from_its_token_to_its_end,
);

const KEY: &str = "00112233445566778899aabbccddeeff";

fn with(house: &House, role: &str) -> Browser {
    let browser = Browser::new(house);
    browser.put("counterclock", &house.role(role).1);
    browser
}

async fn read(house: &House, place: &str, at: &str, value: &str) {
    house.write(json!({"kind": "reading", "place": place, "at": t(at), "value": value, "unit": "C"})).await;
}

async fn begun(house: &House, id: &str, place: &str, at: &str) {
    let entry = json!({"kind": "item", "at": t(at), "item": id, "rules": ["sum-2h-4h"], "name": id, "place": place});
    house.write(entry).await;
}

async fn last(house: &House) -> Value {
    house.tail().await.pop().expect("an entry")
}

async fn every_place_in_words(house: House) {
    house.set_up().await;
    begun(&house, "tub", "walk-in", "12:00").await;
    house.set("12:20");
    read(&house, "fridge", "12:10", "4.0").await;
    read(&house, "walk-in", "12:05", "4.4").await;
    read(&house, "walk-in", "12:15", "7.1").await;
    house.write(json!({"kind": "lapse", "place": "case", "at": t("12:18")})).await;
    let staff = with(&house, "staff");
    let page = staff.open("/s/shop/cold").await;
    let says = |id: &str| page.text(&format!("#c-{id} .state"));
    assert_eq!(says("fridge"), "in control");
    assert_eq!(says("walk-in"), "above its limit since 13:15");
    assert_eq!(says("case"), "without its cold since 13:18");
    assert_eq!(says("freezer"), "never read");
    assert_eq!(page.texts(".cold-place").len(), 4, "a bench has no cold to lose");
    assert_eq!(page.text("#c-walk-in .where"), "7.1 °C at 13:15");
    assert_eq!(
        (page.text("#c-walk-in .in"), page.text("#c-case .in")),
        ("1 item in it".into(), "Nothing in it".into())
    );
    assert_eq!(page.texts(".cold-place button"), ["Cold again: case"]);
    // The same at the head of the board and of the wall.
    for path in ["/s/shop/", "/s/shop/wall"] {
        let said = staff.open(path).await.texts(".cold-says");
        assert_eq!(said, ["case: without its cold since 13:18", "walk-in: above its limit since 13:15"], "{path}");
    }
    let page = with(&house, "inspector").open("/s/shop/cold").await;
    assert_eq!((page.texts(".cold-place").len(), page.texts("main form").len()), (4, 0));
}

/// Out 12:00 to 13:30 by hand, so 90 minutes; without cold from 14:00 on another 150 by 16:30, which make four hours.
async fn a_power_cut_from_the_question_to_its_end(house: House) {
    house.set_up().await;
    for (id, place) in [("pie", "bench"), ("cake", "fridge"), ("ice", "freezer")] {
        begun(&house, id, place, "12:00").await;
    }
    house.set("13:30");
    house.write(json!({"kind": "move", "item": "pie", "place": "fridge"})).await;
    house.set("16:30");
    let (staff, head) = (with(&house, "staff"), house.head().await);
    let page = staff.open("/s/shop/cold").await;
    let ticked = page.attributes("input[name=place][checked]", "value");
    assert_eq!(ticked, ["case", "freezer", "fridge", "walk-in"], "all cold ones");
    assert_eq!(page.attributes("input[type=time]", "value"), ["", ""], "nobody guesses a time");
    let asked = "/s/shop/cold/cut?place=fridge&place=case&at=15:00&until=";
    let page = staff.open(asked).await;
    assert_eq!(
        page.texts(".spans li"),
        ["case: without its cold from 15:00, still going on", "fridge: without its cold from 15:00, still going on"]
    );
    assert_eq!(page.text(".counts"), "2 items affected: 1 to be discarded, 1 that may not go back.");
    let rows = page.texts("table.affected tbody tr");
    assert_eq!(
        rows,
        [
            "pie fridge Within left 2 h 30 min once out Discard discard by 17:30 nothing left",
            "cake fridge Within left 4 h 00 min once out Use it now discard by 19:00 left 1 h 30 min"
        ]
    );
    // Published: Washington State Department of Health, by hours out (0 to 2, 2 to 4, over 4) and temperature of the
    // food (45 °F or less, 46 to 50, 51 or more): sell, sell, sell; sell, sell, no; sell, no, no.
    let cells = page.texts("table.grid tbody td");
    let (yes, no) = ("may be sold", "not to be sold");
    assert_eq!(cells, [yes, yes, yes, yes, yes, no, yes, no, no]);
    assert_eq!(page.text("table.grid tr.here th"), "2 to 4 hours so long by now");
    assert_eq!(
        page.texts("table.grid thead th"),
        ["Without power", "at 7.2 °C or colder by now", "over 7.2 °C, up to 10.0 °C", "over 10.0 °C"]
    );
    assert!(page.text("section.guide").contains("the local health authority's code and its decisions come before"));
    assert_eq!(house.head().await, head, "a question writes nothing");

    let handles = page.attributes("main form.begin input[name=lapse]", "value");
    assert_eq!(handles, [format!("case {}", t("14:00")), format!("fridge {}", t("14:00"))]);
    let sent = [("key", KEY), ("lapse", &*handles[0]), ("lapse", &*handles[1])];
    for _ in 0..2 {
        staff.submit("/s/shop/cold/lapse", &sent).await.goes("../../../s/shop/cold?said=lapse");
        assert_eq!(house.head().await, head + 2, "two taps are one");
    }
    assert_eq!(last(&house).await["note"], "power cut or another failure");
    assert_eq!(house.standing("pie").await["verdict"], "discard");
    assert_eq!(house.standing("pie").await["state"], "out", "nothing is thrown away by itself");
    let page = staff.open("/s/shop/cold").await;
    assert_eq!(page.texts(".cold-place.failed h3"), ["case", "fridge"]);
    assert_eq!(page.attributes("input[name=place][checked]", "value"), ["freezer", "walk-in"]);
    house.set("17:00");
    let page = staff.open("/s/shop/cold").await;
    assert_eq!(page.texts("form.go button").first().map(String::as_str), Some("All 2 cold again"));
    let sent = [("key", KEY), ("place", "case"), ("place", "fridge")];
    staff.submit("/s/shop/cold/restore", &sent).await.goes("../../../s/shop/cold?said=restore");
    staff.submit("/s/shop/cold/restore", &sent).await.goes("../../../s/shop/cold?said=restore");
    assert_eq!(house.head().await, head + 4);
    assert_eq!(staff.open("/s/shop/cold").await.texts(".failed"), [""; 0]);
    assert_eq!(house.standing("pie").await["verdict"], "discard", "nothing becomes milder by itself");
    // It is over by the time it is asked about.
    let page = staff.open("/s/shop/cold/cut?place=walk-in&at=16:00&until=16:20").await;
    assert_eq!(page.texts(".spans li"), ["walk-in: without its cold from 16:00 to 16:20"]);
    assert_eq!(page.text(".counts"), "No item that is known stood there in that time.");
    assert_eq!(page.text("table.grid tr.here th"), "less than 2 hours so long by now");
    house.agrees().await;
}

async fn each_since_its_last_good_reading(house: House) {
    house.set_up().await;
    begun(&house, "tub", "fridge", "12:00").await;
    house.set("15:00");
    read(&house, "fridge", "13:00", "4.0").await;
    read(&house, "walk-in", "13:40", "3.0").await;
    let staff = with(&house, "staff");
    let page = staff.open("/s/shop/cold").await;
    let choices = page.texts("label.pick small");
    assert!(choices.contains(&String::from("last good reading 4.0 °C at 14:00")), "{choices:?}");
    let page = staff.open("/s/shop/cold/cut?place=fridge&place=walk-in&at=&good=1").await;
    let spans = page.texts(".spans li");
    assert_eq!(spans[0], "fridge: without its cold from 14:00, still going on");
    assert_eq!(spans[1], "walk-in: without its cold from 14:40, still going on");
    let page = staff.open("/s/shop/cold/cut?place=fridge&place=case&at=&good=1").await;
    page.says(400, "case has no good reading to count from: say a time.");
}

async fn what_a_form_gets_wrong(house: House) {
    house.set_up().await;
    house.set("14:00");
    house.write(json!({"kind": "lapse", "place": "case", "at": t("13:55")})).await;
    let (manager, head) = (with(&house, "manager"), house.head().await);
    for (query, status, says) in [
        ("", 400, "Tick the places that have no cold."),
        ("at=14:00", 400, "Tick the places that have no cold."),
        ("place=fridge", 400, "Say since when."),
        ("place=fridge&at=14:00&good=1", 400, "not both"),
        ("place=fridge&at=15:01", 409, "15:01 is still to come today."),
        ("place=fridge&at=14:00&until=15:30", 409, "15:30 is still to come today."),
        ("place=fridge&at=14:00&until=13:59", 409, "It cannot be cold again before it failed."),
        ("place=fridge&at=14:00&until=14:00", 409, "It cannot be cold again before it failed."),
        ("place=fridge&at=noon", 400, "time"),
        ("place=fridge&at=25:00", 400, "time"),
        ("place=moon&at=14:00", 409, "There is no such place."),
        ("place=%3Cb%3E&at=14:00", 409, "There is no such place."),
        ("place=bench&at=14:00", 409, "bench has no cold to lose."),
        ("place=case&at=14:00", 409, "case is recorded as without its cold since 14:55 already."),
        ("lapse=fridge+2026-05-05T00:00:00.000Z", 409, "future"),
        ("lapse=fridge+1970-01-01T00:00:00.000Z", 409, "before the shop's ledger begins"),
    ] {
        let page = manager.open(&format!("/s/shop/cold/cut?{query}")).await;
        page.says(status, says);
    }
    // What was typed and ticked is there again.
    let page = manager.open("/s/shop/cold/cut?place=fridge&at=15:01&until-yesterday=1").await;
    assert_eq!(page.attributes("input[name=place][checked]", "value"), ["fridge"]);
    assert_eq!(page.attributes("input[name=at]", "value"), ["15:01"]);
    // Tomorrow's time is yesterday's where that is said.
    assert_eq!(manager.open("/s/shop/cold/cut?place=fridge&at=15:01&yesterday=1").await.status(), 200);
    let past = format!("fridge {}", t("13:00"));
    for (what, fields, status, says) in [
        ("lapse", vec![], 400, "Tick the places"),
        ("lapse", vec![("lapse", "")], 400, "Tick the places"),
        ("lapse", vec![("lapse", "fridge yesterday")], 400, "Tick the places"),
        ("lapse", vec![("lapse", "moon 2026-05-04T13:00:00Z")], 409, "There is no such place."),
        ("lapse", vec![("lapse", "bench 2026-05-04T13:00:00Z")], 409, "no temperature control"),
        ("lapse", vec![("lapse", "fridge 2026-05-04T15:00:00Z")], 409, "future"),
        ("lapse", vec![("lapse", "fridge 1970-01-01T00:00:00Z")], 409, "before the shop's ledger begins"),
        ("lapse", vec![("lapse", "fridge 2026-05-04T13:00:00Z 2026-05-04T12:00:00Z")], 409, "ends after it begins"),
        ("lapse", vec![("lapse", &past), ("proposed", "1")], 400, "no longer proposed"),
        ("lapse", vec![("lapse", &past), ("lapse", "case 2026-05-04T13:00:00Z")], 409, "already"),
        ("restore", vec![], 409, "No place is recorded as without its cold."),
        ("restore", vec![("place", "fridge")], 409, "No place is recorded"),
        ("restore", vec![("place", "moon")], 409, "No place is recorded"),
        ("dismiss", vec![("lapse", &past), ("reason", "r")], 400, "no longer proposed"),
        ("dismiss", vec![("reason", "r")], 400, "no longer proposed"),
    ] {
        let page: Page = manager.submit(&format!("/s/shop/cold/{what}"), &fields).await;
        page.says(status, says);
    }
    assert_eq!(house.head().await, head, "nothing was written");
}

/// A good reading at 12:10, then too warm from 12:20 to 12:55: longer than half an hour.
async fn warmed(house: &House, place: &str) {
    for (at, value) in [("12:10", "4.4"), ("12:20", "6.2"), ("12:40", "7.9"), ("12:55", "7.4")] {
        house.set(at);
        read(house, place, at, value).await;
    }
}

async fn a_proposal_is_confirmed(house: House) {
    house.set_up().await;
    begun(&house, "tub", "fridge", "12:00").await;
    warmed(&house, "fridge").await;
    let (staff, head) = (with(&house, "staff"), house.head().await);
    let page = staff.open("/s/shop/cold").await;
    assert_eq!(page.text(".proposal .state"), "above its limit since 13:20");
    assert_eq!(
        page.text(".proposal .state + p"),
        "Limit 5.0 °C; above it for longer than its 30 min of grace. Warmest: 7.9 °C at 13:40. \
         Last good reading before it: 4.4 °C at 13:10."
    );
    assert_eq!(page.text(".proposal .then"), "fridge: without its cold from 13:10, still going on");
    assert_eq!(
        page.texts(".proposal tbody tr"),
        ["tub fridge Within left 4 h 00 min once out Within discard by 17:10 left 3 h 15 min"]
    );
    assert_eq!(house.standing("tub").await["total_out_ms"], 0, "nothing counts yet");
    // Its decision leads there.
    let to = with(&house, "manager").open("/s/shop/decisions").await.attributes("li.m-air-above a.do", "href");
    assert_eq!(to, ["../../s/shop/cold"]);
    let handle = page.attributes(".proposal button[name=lapse]", "value");
    let sent = [("key", KEY), ("proposed", "1"), ("lapse", &*handle[0])];
    for _ in 0..2 {
        staff.submit("/s/shop/cold/lapse", &sent).await.goes("../../../s/shop/cold?said=lapse");
    }
    let entry = last(&house).await;
    assert_eq!(
        (&entry["kind"], &entry["place"], &entry["at"]),
        (&json!("lapse"), &json!("fridge"), &json!(t("12:10")))
    );
    assert_eq!(entry["note"], "proposed by the readings: above 5.0 °C since 13:20");
    assert_eq!((house.head().await, entry.get("until")), (head + 1, None));
    assert_eq!(house.standing("tub").await["total_out_ms"], 45 * MINUTE_MS);
    let page = staff.open("/s/shop/cold").await;
    assert_eq!(
        (page.texts(".proposal").len(), page.text("#c-fridge .state")),
        (0, "without its cold since 13:10".into())
    );
    assert_eq!(page.texts("#c-fridge button"), ["Cold again: fridge"]);
    house.agrees().await;
}

async fn a_proposal_is_dismissed_with_a_reason(house: House) {
    house.set_up().await;
    warmed(&house, "walk-in").await;
    house.set("13:00");
    read(&house, "walk-in", "13:00", "4.1").await;
    let (staff, manager) = (with(&house, "staff"), with(&house, "manager"));
    let page = staff.open("/s/shop/cold").await;
    assert_eq!(page.text(".proposal .then"), "walk-in: without its cold from 13:10 to 14:00");
    assert_eq!(page.texts(".proposal details"), [""; 0], "a manager's to say");
    assert_eq!(staff.open("/s/shop/").await.texts(".cold-says"), ["walk-in: 13:10 to 14:00 waits to be confirmed"]);
    let handle = page.attributes(".proposal button[name=lapse]", "value");
    let lapse = ("lapse", &*handle[0]);
    assert_eq!(staff.submit("/s/shop/cold/dismiss", &[lapse, ("reason", "r")]).await.status(), 403);
    let head = house.head().await;
    manager.submit("/s/shop/cold/dismiss", &[lapse, ("reason", " ")]).await.says(400, "Say why.");
    assert_eq!(house.head().await, head);
    let sent = [("key", KEY), lapse, ("reason", "The logger lay on the step.")];
    for _ in 0..2 {
        manager.submit("/s/shop/cold/dismiss", &sent).await.goes("../../../s/shop/cold?said=dismiss");
    }
    let entry = last(&house).await;
    assert_eq!(
        (&entry["kind"], &entry["about"], &entry["action"]),
        (&json!("decide"), &json!("walk-in"), &json!("dismiss"))
    );
    assert_eq!(house.head().await, head + 1);
    for path in ["/s/shop/cold", "/s/shop/decisions", "/s/shop/"] {
        let page = manager.open(path).await;
        assert_eq!(page.texts(".proposal, li.m-air-above, .cold-says"), [""; 0], "{path}");
    }
    let again = staff.submit("/s/shop/cold/lapse", &[("proposed", "1"), lapse]).await;
    again.says(400, "This is no longer proposed");
}

/// Guards against S-41.
async fn the_air_as_a_chart_and_a_table(house: House) {
    house.set_up().await;
    let path = "/s/shop/places/walk-in";
    let staff = with(&house, "staff");
    assert_eq!(staff.open(path).await.text(".empty"), "no reading in this time");
    house.write(json!({"kind": "lapse", "place": "walk-in", "at": t("12:00")})).await;
    for (at, value) in [("12:10", "4.0"), ("12:20", "6.0"), ("12:30", "4.5"), ("18:30", "3.0"), ("+1 00:10", "3.5")] {
        let at = at.trim_start_matches('+');
        house.set(at);
        read(&house, "walk-in", at, value).await;
        if value == "4.0" {
            house.write(json!({"kind": "restore", "place": "walk-in"})).await;
        }
    }
    house.set("1 01:00");
    let page = staff.open(path).await;
    let said = page.attributes("svg.air", "aria-label").pop().expect("a chart");
    for part in [
        "lowest 3.0 °C, highest 6.0 °C at Mon 4 May, 13:20",
        "limit 5.0 °C",
        "above its limit from Mon 4 May, 13:20 to Mon 4 May, 13:30",
        "recorded as without its cold from Mon 4 May, 13:00 to Mon 4 May, 13:10",
        // A reading holds for four hours at most.
        "no reading from Mon 4 May, 17:30 to Mon 4 May, 19:30",
    ] {
        assert!(said.contains(part), "{part} isn't in {said}");
    }
    assert_eq!(page.attributes("svg.air polyline", "points").len(), 3, "a line each, and gaps between");
    assert_eq!((page.texts("svg.air text.limit").len(), page.attributes("svg.air rect.lapse", "fill").len()), (1, 1));
    let rows = page.texts("table.readings tbody tr");
    assert!(rows.contains(&String::from("Mon 4 May, 13:20 6.0 °C above its limit")), "{rows:?}");
    assert!(rows.contains(&String::from("Mon 4 May, 17:30 to Mon 4 May, 19:30 no reading")), "{rows:?}");
    assert!(rows[0].starts_with("01:10 3.5 °C"), "the newest first: {rows:?}");
    let week = staff.open(&format!("{path}?over=week")).await;
    assert_eq!(week.text("#air"), "The last 7 days");
    assert_eq!(week.texts("svg.air text.hour").len(), 7, "a day each, but those cut off at the edge");
    // A bench has air too, and no limit of its own.
    read(&house, "bench", "1 00:50", "21.5").await;
    let bench = staff.open("/s/shop/places/bench").await;
    assert_eq!((bench.texts("svg.air text.limit").len(), bench.texts("#watch").len()), (0, 0));
    assert_eq!(bench.texts("table.readings tbody tr")[0], "01:50 21.5 °C");
    for unknown in ["moon", "%3Cb%3E"] {
        assert_eq!(staff.open(&format!("/s/shop/places/{unknown}")).await.status(), 404);
    }
}

async fn how_a_place_is_watched(house: House) {
    house.set_up().await;
    let (manager, staff, path) = (with(&house, "manager"), with(&house, "staff"), "/s/shop/places/case");
    let page = manager.open(path).await;
    assert!(page.text("section[aria-labelledby=watch]").contains("Limit 5.0 °C; above it for longer than 30 min"));
    assert_eq!(staff.open(path).await.texts("main form"), [""; 0]);
    let sent = [("limit", "8,5"), ("grace", "20"), ("silent", "45")];
    assert_eq!(staff.submit(path, &sent).await.status(), 403);
    manager.submit(path, &sent).await.goes("../../../s/shop/places/case?said=done");
    let page = manager.open(path).await;
    assert!(
        page.text("section[aria-labelledby=watch]")
            .contains("Limit 8.5 °C; above it for longer than 20 min, or silent for longer than 45 min")
    );
    for (limit, grace, silent) in [
        ("warm", "20", "45"),
        ("-999", "20", "45"),
        ("NaN", "20", "45"),
        ("4.55", "20", "45"),
        ("", "20", "45"),
        ("8.5", "-1", "45"),
        ("8.5", "241", "45"),
        ("8.5", "1.5", "45"),
        ("8.5", "20", "0"),
        ("8.5", "20", "1441"),
        ("8.5", "20", ""),
    ] {
        let page = manager.submit(path, &[("limit", limit), ("grace", grace), ("silent", silent)]).await;
        page.says(400, "Give a temperature of at most one digit after the point");
    }
    assert_eq!(manager.submit("/s/shop/places/moon", &sent).await.status(), 404);
    assert!(manager.open(path).await.text("section[aria-labelledby=watch]").contains("Limit 8.5 °C"), "it stays");
    read(&house, "case", "12:00", "8.5").await;
    assert_eq!(staff.open("/s/shop/cold").await.text("#c-case .state"), "in control");
    house.set("12:00:01");
    read(&house, "case", "12:00:01", "8.6").await;
    assert_eq!(staff.open("/s/shop/cold").await.text("#c-case .state"), "above its limit since 13:00");
}

async fn a_probe_from_its_token_to_its_end(house: House) {
    house.set_up().await;
    let (manager, path) = (with(&house, "manager"), "/s/shop/probes");
    let sent = [("name", "Logger “1”"), ("place", "fridge"), ("place", "walk-in")];
    let page = manager.submit(path, &sent).await;
    let token = page.text("#the-token");
    assert!(page.status() == 200 && token.starts_with("cc_"), "{}", page.0.text());
    // The line does what it says, when its parts are sent.
    let line = page.texts("pre code").remove(1);
    assert!(line.starts_with(&format!("curl -H 'Authorization: Bearer {token}' ")), "{line}");
    assert!(line.ends_with(" http://shop.test/s/shop/api/entries"), "{line}");
    let reading: Value = serde_json::from_str(line.split('\'').nth(5).expect("what it sends")).expect("JSON");
    assert_eq!(reading["place"], "walk-in");
    let probe = Bearer(house.clone(), token.clone());
    probe.post(&reading).await.ok();
    probe
        .post(&json!({"kind": "reading", "place": "case", "value": "4.0", "unit": "C"}))
        .await
        .refused(403, "not-allowed");
    let page = manager.open(path).await;
    assert!(!page.0.text().contains(&token), "shown once");
    let listed = page.texts("details summary");
    assert!(listed.contains(&String::from("Logger “1” fridge, walk-in. Last reading 13:00")), "{listed:?}");
    for (fields, status, says) in [
        (vec![("name", "Logger “1”"), ("place", "fridge")], 409, "There is a probe of that name already."),
        (vec![("name", "x")], 400, "Tick the places it reads:"),
        (vec![("name", "x"), ("place", "moon")], 400, "Tick the places it reads:"),
        (vec![("name", ""), ("place", "fridge")], 400, "name"),
        (vec![("place", "fridge")], 400, "name"),
    ] {
        manager.submit(path, &fields).await.says(status, says);
    }
    let acts = page.attributes("details form", "action");
    let revoke = acts.iter().find(|a| a.ends_with("/revoke")).expect("a way to end it").replace("../../", "/");
    let last = acts.len() - 1;
    assert_eq!(acts.iter().filter(|a| a.ends_with("/revoke")).count(), last + 1);
    let mine = page.texts("details").iter().position(|d| d.contains("Logger")).expect("it is listed");
    let revoke = acts.get(mine).map_or(revoke, |a| a.replace("../../", "/"));
    for _ in 0..2 {
        manager.submit(&revoke, &[]).await.goes("../../../../s/shop/probes");
    }
    probe.post(&reading).await.refused(401, "not-signed-in");
    assert!(manager.open(path).await.texts("details.gone").iter().any(|d| d.contains("Revoked 13:00")));
    assert_eq!(manager.submit("/s/shop/probes/t-nobody/revoke", &[]).await.status(), 404);
}

/// 45 °F is 7.2… °C and 50 °F is 10 °C exactly: the bound that is shown in the other unit is never above the published.
/// Guards against S-40.
#[test]
fn no_bound_is_rounded_up() {
    let show = |units| Show { zone: Zone::UTC, units, now: Instant(0) };
    assert_eq!(outage::UP_TO.map(|t| show(Unit::C).up_to(t)), ["7.2 °C", "10.0 °C"]);
    assert_eq!(outage::UP_TO.map(|t| show(Unit::F).up_to(t)), ["45.0 °F", "50.0 °F"]);
    for tenths in -400..1200 {
        for (unit, units) in [(Unit::C, Unit::F), (Unit::F, Unit::C)] {
            let t = Temperature { tenths, unit };
            let shown = show(units).highest(t);
            let next = Temperature { tenths: shown.tenths + 1, ..shown };
            assert!(shown.exact() <= t.exact() && next.exact() > t.exact(), "{t} {unit:?}: {shown} {units:?}");
        }
    }
    // At the edges the longer counts, by the milliseconds.
    let rows = [0, 2 * HOUR_MS - 1, 2 * HOUR_MS, 4 * HOUR_MS - 1, 4 * HOUR_MS, i64::MAX].map(outage::row);
    assert_eq!(rows, [0, 0, 1, 1, 2, 2]);
}

/// A reading a minute for a week, one of them a minute's peak, and a day without any.
#[test]
fn a_chart_of_many_readings_loses_no_peak() {
    let (from, minutes) = (Instant(1_777_852_800_000), 7 * 24 * 60);
    let t = |tenths| Temperature { tenths, unit: Unit::C };
    let silent = |n: &i64| !(2 * 24 * 60..3 * 24 * 60).contains(n);
    let value = |n: i64| if n == 5_000 { 312 } else { (30 + n % 13) as i32 };
    let read = (0..minutes).filter(silent).map(|n| (from.plus(n * MINUTE_MS), t(value(n))));
    // One of the day before holds no longer when it begins.
    let readings: Vec<_> = std::iter::once((from.plus(-20 * HOUR_MS), t(40))).chain(read).collect();
    let show = Show { zone: Zone::UTC, units: Unit::C, now: from };
    let to = from.plus(minutes * MINUTE_MS);
    let chart =
        Chart { show, from, to, readings: &readings, limit: Some(t(50)), lapses: &[], holds_ms: HOUR_MS, days: true };
    let svg = chart.svg();
    assert!(svg.len() < 40_000, "{} bytes", svg.len());
    assert_eq!((chart.runs().len(), chart.gaps().len(), chart.above().len()), (2, 1, 1));
    assert!(chart.text().contains("highest 31.2 °C"), "{}", chart.text());
    let line = |part: &str| -> Vec<(i64, i64)> {
        let points = part.split_once("points=\"").expect("points").1.split_once('"').expect("an end").0;
        let of = |p: &str| p.split_once(',').map(|(x, y)| (x.parse().expect("x"), y.parse().expect("y")));
        points.split(' ').filter_map(of).collect()
    };
    let lines: Vec<_> = svg.split("<polyline").skip(1).map(line).collect();
    let all: Vec<(i64, i64)> = lines.concat();
    assert!(all.iter().all(|(x, y)| (0..=10_000).contains(x) && (0..=19_200).contains(y)), "all of it is inside");
    assert!(lines.iter().all(|l| l.windows(2).all(|p| p[0].0 <= p[1].0)), "from left to right");
    let top = all.iter().map(|(_, y)| y).min().expect("a point");
    assert!(all.iter().filter(|(_, y)| y == top).count() <= 4, "the peak is there, once");
    let level = all.iter().map(|(_, y)| y).max().expect("a point");
    assert!(level - top > 12_000, "and stands out: {top} over {level}");
}
