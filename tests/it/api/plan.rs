//! What is only planned: worked out by hand, carried out to the millisecond, refused where it can't be.
//!
//! Guards against S-45, S-57 of SAFETY.md.

use crate::kit::actor::Actor;
use crate::kit::browser::Browser;
use crate::kit::chance::Chance;
use crate::kit::house::{House, instant, t};
use serde_json::{Value, json};

both!(by_hand, carried_out_it_stands_as_planned, what_cannot_be_planned, the_page_says_the_same);

async fn plan(house: &House, asked: &Value) -> crate::kit::actor::Answer {
    house.staff().send("POST", "/s/shop/api/plan", &[("content-type", "application/json")], asked.to_string()).await
}

fn moved(at: &str, item: &str, place: &str) -> Value {
    json!({"kind": "move", "at": t(at), "item": item, "place": place})
}

async fn shop(house: &House) {
    house.set_up().await;
    house
        .write(json!([
            {"kind": "item", "at": t("08:00"), "item": "cake", "rules": ["sum-2h-4h"], "name": "Cake", "place": "fridge"},
            {"kind": "item", "at": t("08:00"), "item": "tub", "rules": ["sum-2h-4h"], "name": "Tub", "place": "fridge"},
            {"kind": "move", "at": t("10:00"), "item": "tub", "place": "bench"},
            {"kind": "move", "at": t("11:00"), "item": "tub", "place": "fridge"},
            {"kind": "reading", "at": t("11:30"), "place": "bench", "value": "18.0", "unit": "C"},
        ]))
        .await;
}

/// Two hours to use it, four to discard it, all added up (the 2-hour/4-hour rule of Food Standards Australia New Zealand);
/// the sums are worked out by hand.
async fn by_hand(house: House) {
    shop(&house).await;
    let head = house.head().await;
    // Half an hour on the bench, then two hours in the van: two and a half at five o'clock.
    let steps = [moved("13:00", "cake", "bench"), moved("13:30", "cake", "fridge"), moved("15:00", "cake", "van")];
    let told = plan(&house, &json!({"item": "cake", "serve_at": t("17:00"), "steps": steps})).await.ok().json();
    let s = &told["standing"];
    assert_eq!((s["total_out_ms"].as_i64(), s["verdict"].as_str()), (Some(9_000_000), Some("use")), "{told}");
    assert_eq!(told["turns"], json!([{"at": t("12:00"), "verdict": "within"}, {"at": t("16:30"), "verdict": "use"}]));
    // An hour and a half of the four is left. Out from 13:30 on it would be four hours just then, and that is over.
    assert_eq!(told["slack_ms"], 5_400_000);
    assert_eq!(told["leaving"], json!({"at": t("15:00"), "earliest": t("13:30:00.001"), "latest": t("17:00")}));
    assert_eq!(told["spells"].as_array().map(Vec::len), Some(2));
    // An hour in the van and an hour set up there: it leaves by two at the latest, and not before noon.
    let steps = [moved("13:00", "cake", "van"), moved("14:00", "cake", "shelf")];
    let told = plan(&house, &json!({"item": "cake", "serve_at": t("15:00"), "steps": steps})).await.ok().json();
    assert_eq!(told["leaving"], json!({"at": t("13:00"), "earliest": t("12:00"), "latest": t("14:00")}));
    // A new one from the tub: the hour of the tub's comes along, and three more are too many, however late it leaves.
    let new = json!({"kind": "item", "at": t("12:30"), "item": "order", "rules": ["sum-2h-4h"], "name": "Order", "place": "bench", "from": ["tub"]});
    let steps =
        [new, moved("14:30", "order", "fridge"), moved("15:00", "order", "van"), moved("16:00", "order", "shelf")];
    let told = plan(&house, &json!({"serve_at": t("16:30"), "steps": steps})).await.ok().json();
    assert_eq!(
        (told["standing"]["item"].as_str(), told["standing"]["verdict"].as_str()),
        (Some("order"), Some("discard"))
    );
    assert_eq!(
        told["turns"],
        json!([
            {"at": t("12:30"), "verdict": "within"}, {"at": t("13:30"), "verdict": "use"}, {"at": t("16:00"), "verdict": "discard"},
        ])
    );
    assert_eq!(told["slack_ms"], 0);
    assert_eq!(told["leaving"], json!({"at": t("15:00"), "earliest": null, "latest": null}));
    // Back in the cold by then, its sum stands still: nothing comes nearer, and it doesn't leave again.
    let steps = [moved("13:00", "cake", "bench"), moved("13:30", "cake", "fridge")];
    let told = plan(&house, &json!({"item": "cake", "serve_at": t("14:00"), "steps": steps})).await.ok().json();
    assert_eq!((&told["slack_ms"], told["leaving"]["latest"].as_str()), (&Value::Null, Some(&*t("13:30"))), "{told}");
    // A limit that is worse later: the bench is known to be cool until 15:30, and unknown air counts as warm. Four hours
    // out, of them two warm at most: the block of steps may end by 17:30, so it leaves by then less its length.
    let warm = json!({"kind": "item", "at": t("12:00"), "item": "fish", "rules": ["banded-70f"], "name": "Cool", "place": "fridge"});
    let steps = [warm, moved("13:00", "fish", "bench"), moved("15:45", "fish", "fridge")];
    let told = plan(&house, &json!({"serve_at": t("22:00"), "steps": steps})).await.ok().json();
    let latest = instant(told["leaving"]["latest"].as_str().expect("a time"));
    // By hand, 14:45, and never after it; the steps alone would fit until 19:15.
    assert!(instant("14:45").plus(-1) <= latest && latest <= instant("14:45"), "{told}");
    for (leaves, over) in [(latest, false), (latest.plus(1), true)] {
        let steps = json!([
            {"kind": "item", "at": t("12:00"), "item": "fish", "rules": ["banded-70f"], "name": "Cool", "place": "fridge"},
            moved(&leaves.to_string(), "fish", "bench"), moved(&leaves.plus(9_900_000).to_string(), "fish", "fridge"),
        ]);
        let told = plan(&house, &json!({"serve_at": t("22:00"), "steps": steps})).await.ok().json();
        assert_eq!(told["standing"]["verdict"] == "discard", over, "{leaves}");
    }
    assert_eq!(house.head().await, head, "nothing of it is written");
}

/// Whether it is at `discard` when served, if the steps from the one that leaves on are so much later.
async fn over(house: &House, serve: &str, steps: &[Value], leaves: &str, later_ms: i64) -> bool {
    let mut steps = steps.to_vec();
    let from = steps.iter().position(|s| s["at"] == leaves && s["kind"] == "move").expect("the step that leaves");
    for step in &mut steps[from..] {
        step["at"] = json!(instant(step["at"].as_str().expect("a time")).plus(later_ms).to_string());
    }
    let told = plan(house, &json!({"serve_at": serve, "steps": steps})).await.ok().json();
    told["standing"]["verdict"] == "discard"
}

async fn carried_out_it_stands_as_planned(house: House) {
    shop(&house).await;
    for seed in 0..12 {
        let chance = &mut Chance::new(seed);
        let (id, other) = (format!("p{seed}"), if chance.percent(50) { "tub" } else { "cake" });
        let start = house.now();
        let mut at = start;
        let mut steps = vec![
            json!({"kind": "item", "at": at.to_string(), "item": id, "product": chance.of(&["cake", "mousse"]), "name": "Planned", "place": "fridge"}),
        ];
        let mut place = "fridge";
        for _ in 0..1 + chance.below(6) {
            at = at.plus(60_000 + chance.below(7_200_000) as i64);
            if chance.percent(20) {
                steps.push(json!({"kind": "join", "at": at.to_string(), "item": id, "from": [other]}));
                continue;
            }
            let places: Vec<&str> = ["bench", "fridge", "shelf", "van"].into_iter().filter(|p| *p != place).collect();
            place = *chance.of::<&str>(&places);
            steps.push(json!({"kind": "move", "at": at.to_string(), "item": id, "place": place}));
        }
        let serve = at.plus(chance.below(14_400_000) as i64);
        let told = plan(&house, &json!({"serve_at": serve.to_string(), "steps": steps})).await.ok().json();
        let leaving = &told["leaving"];
        if let (Some(at), Some(from), Some(to)) =
            (leaving["at"].as_str(), leaving["earliest"].as_str(), leaving["latest"].as_str())
        {
            let (a, b, c) = (instant(from), instant(at), instant(to));
            assert!(a <= c, "{seed}: {leaving}");
            for leaves in [a, c, a.plus(c.since(a) / 2)] {
                assert!(!over(&house, &serve.to_string(), &steps, at, leaves.since(b)).await, "{seed}: {leaves}");
            }
        }
        for step in &steps {
            house.set(step["at"].as_str().expect("a time"));
            house.write(step.clone()).await;
        }
        house.set(&serve.to_string());
        assert_eq!(told["standing"], house.standing(&id).await, "{seed}: {steps:?}");
        // Each change of the verdict is there when it was planned, and the millisecond before it isn't.
        let turns = told["turns"].as_array().expect("turns");
        for pair in turns.windows(2) {
            let when = instant(pair[1]["at"].as_str().expect("a time"));
            for (as_of, turn) in [(when, &pair[1]), (when.plus(-1), &pair[0])] {
                let stood = house.staff().get(&format!("items/{id}?as_of={as_of}")).await.ok().json();
                assert_eq!(stood["standing"]["verdict"], turn["verdict"], "{seed}: {id} at {as_of}");
            }
        }
    }
    house.checks().await;
}

async fn what_cannot_be_planned(house: House) {
    shop(&house).await;
    let head = house.head().await;
    let step = moved("13:00", "cake", "bench");
    let serve = t("17:00");
    for (what, asked) in [
        ("no JSON", json!("nonsense")),
        ("an unknown member", json!({"item": "cake", "serve_at": serve, "colour": "red"})),
        ("nothing", json!({"serve_at": serve})),
        ("served in the past", json!({"item": "cake", "serve_at": t("11:59")})),
        ("too far ahead", json!({"item": "cake", "serve_at": t("+15 12:00")})),
        ("nobody's", json!({"item": "nothing", "serve_at": serve})),
        (
            "out of order",
            json!({"item": "cake", "serve_at": serve, "steps": [moved("14:00", "cake", "bench"), moved("13:00", "cake", "fridge")]}),
        ),
        ("after serving", json!({"item": "cake", "serve_at": t("12:30"), "steps": [step]})),
        ("in the past", json!({"item": "cake", "serve_at": serve, "steps": [moved("11:00", "cake", "bench")]})),
        (
            "without a time",
            json!({"item": "cake", "serve_at": serve, "steps": [{"kind": "move", "item": "cake", "place": "bench"}]}),
        ),
        (
            "a close",
            json!({"item": "cake", "serve_at": serve, "steps": [{"kind": "close", "at": t("13:00"), "item": "cake", "as": "sold"}]}),
        ),
        (
            "a rack of 101",
            json!({"item": "cake", "serve_at": serve, "steps": [{"kind": "move", "at": t("13:00"), "place": "bench",
            "items": (0..101).map(|n| format!("i{n}")).collect::<Vec<_>>()}]}),
        ),
        ("10,000 steps", json!({"item": "cake", "serve_at": serve, "steps": vec![step.clone(); 10_000]})),
    ] {
        let answer = plan(&house, &asked).await;
        assert_eq!((answer.status.as_u16(), answer.code().as_str()), (400, "bad-plan"), "{what}: {}", answer.text());
    }
    // What the ledger would refuse is refused in its words, with the step.
    let twice = json!({"item": "cake", "serve_at": serve, "steps": [step, moved("14:00", "cake", "bench")]});
    let answer = plan(&house, &twice).await.refused(409, "already-there").json();
    assert_eq!(answer["entry"], 1);
    let probe = house.role("probe");
    let asked = json!({"item": "cake", "serve_at": serve}).to_string();
    let refused = probe.send("POST", "/s/shop/api/plan", &[("content-type", "application/json")], asked).await;
    refused.refused(403, "not-allowed");
    assert_eq!(house.head().await, head, "nothing of it is written");
}

/// The page takes wall times of the shop, an hour ahead of UTC in May, and writes nothing either.
async fn the_page_says_the_same(house: House) {
    shop(&house).await;
    let head = house.head().await;
    let browser = Browser::new(&house);
    browser.put("counterclock", &house.staff().1);
    assert!(
        browser.open("/s/shop/items/cake").await.attributes(".tasks a", "href").iter().any(|a| a.ends_with("/plan"))
    );
    let steps = "at1=14:00&to1=bench&at2=14:30&to2=fridge&at3=16:00&to3=van";
    let page = browser.open(&format!("/s/shop/items/cake/plan?{steps}&serve=18:00")).await;
    assert_eq!((page.status(), page.text("main section .verdict")), (200, String::from("Use it now")));
    assert_eq!(
        page.texts("main section .then"),
        [
            "18:00: out 2 h 30 min in all by then",
            "It may leave the cold from 14:31 on, until 18:00 at the latest.",
            "It may be served 1 h 30 min later than that, left where it is then.",
        ]
    );
    assert_eq!(page.texts("main section ol li"), ["from 13:00: Within", "from 17:30: Use it now"]);
    assert!(page.attributes("select[name=to3] option[selected]", "value") == ["van"], "what was filled in stays");
    // Times that have passed today are tomorrow's; what can't be is said, and nothing is a fault.
    let page = browser.open("/s/shop/items/cake/plan?at1=09:00&to1=van&serve=10:00").await;
    assert!(page.text("main section .then").starts_with("Tue 5 May, 10:00"), "{}", page.text("main section .then"));
    for odd in [
        "at1=09:00&serve=10:00",
        "to1=van&serve=10:00",
        "at1=25:00&to1=van&serve=10:00",
        "serve=x",
        "serve=10:00&on=2026-04-01",
        "serve=10:00&on=2027-01-01",
        "at1=14:00&to1=nowhere&serve=18:00",
        "at1=14:00&to1=fridge&serve=18:00",
    ] {
        let page = browser.open(&format!("/s/shop/items/cake/plan?{odd}")).await;
        assert_eq!(
            (page.status(), page.texts("main .warn").len(), page.texts("main section").len()),
            (200, 1, 0),
            "{odd}"
        );
    }
    assert_eq!(house.head().await, head);
}
