//! At the bench: two tubs of frosting, the cakes coated from them, a rack of twenty, tiers, custard, mascarpone.

use super::diary::{Diary, When};
use crate::clock::HOUR_MS;
use serde_json::json;

/// Two tubs of different age, mixed from cream cheese that stood out to soften.
pub fn tubs(d: &mut Diary) {
    d.item((0, 15, 40), "cheese-1", "Cream cheese, block 1", "walk-in", "cream-cheese", &[]).with("lot", "C-2214");
    d.item((0, 15, 41), "cheese-2", "Cream cheese, block 2", "bench-fridge", "cream-cheese", &[]).with("lot", "C-2214");
    d.go((1, 5, 20), "cheese-1", "bench").note("To soften.");
    d.item((1, 6, 5), "tub-1", "Vanilla frosting, tub 1", "mixer", "frosting", &["cheese-1"]);
    d.close((1, 6, 8), "cheese-1", "used");
    d.go((1, 6, 20), "tub-1", "bench");
    d.go((1, 7, 5), "tub-1", "bench-fridge");
    d.go((1, 9, 40), "tub-1", "bench").note("Whipped again.");
    d.go((1, 10, 5), "tub-1", "bench-fridge");
    d.food((2, 8, 29), "tub-1", "4.4");
    d.go((2, 8, 30), "tub-1", "bench");
    d.go((2, 8, 50), "tub-1", "bench-fridge");
    d.go((2, 13, 30), "tub-1", "bench");

    d.go((2, 5, 15), "cheese-2", "bench").note("To soften.");
    d.item((2, 5, 50), "tub-2", "Vanilla frosting, tub 2", "mixer", "frosting", &["cheese-2"]);
    d.go((2, 5, 53), "cheese-2", "walk-in").note("Half of it is left.");
    d.go((2, 6, 0), "tub-2", "bench");
    d.go((2, 6, 25), "tub-2", "bench-fridge");
    d.go((2, 7, 15), "tub-2", "bench");
    d.go((2, 7, 50), "tub-2", "bench-fridge");
    d.go((2, 10, 35), "tub-2", "bench");
    d.go((2, 11, 0), "tub-2", "bench-fridge");
    d.go((2, 13, 25), "tub-2", "bench");
    d.go((2, 13, 50), "tub-2", "bench-fridge");
}

/// Cakes filled from the first tub and finished from the second.
pub fn cakes(d: &mut Diary) {
    d.item((1, 6, 35), "lemon-1", "Lemon layer cake", "bench", "layer-cake", &["tub-1"]);
    d.go((1, 6, 55), "lemon-1", "bench-fridge");
    d.go((1, 9, 45), "lemon-1", "bench");
    d.join((1, 9, 50), "lemon-1", "tub-1").note("Crumb coat.");
    d.go((1, 10, 20), "lemon-1", "case");
    d.go((2, 7, 20), "lemon-1", "bench");
    d.join((2, 7, 35), "lemon-1", "tub-2").note("Top coat.");
    d.go((2, 7, 45), "lemon-1", "case");

    d.item((1, 6, 50), "carrot-1", "Carrot cake", "bench", "layer-cake", &["tub-1"]);
    d.go((1, 7, 10), "carrot-1", "walk-in");
    d.go((1, 9, 55), "carrot-1", "bench");
    d.join((1, 10, 0), "carrot-1", "tub-1").note("Crumb coat.");
    d.go((1, 10, 10), "carrot-1", "walk-in");
    d.go((2, 10, 40), "carrot-1", "bench").named("carrot-out");
    let earlier = d.at((2, 10, 25));
    let why = "It was taken out a quarter of an hour before it was tapped.";
    d.correct((2, 10, 43), "carrot-out", json!({"at": earlier}), why);
    d.join((2, 10, 45), "carrot-1", "tub-2").note("Top coat.");
    d.go((2, 10, 55), "carrot-1", "walk-in");

    d.item((2, 7, 25), "lemon-2", "Lemon layer cake, small", "bench", "layer-cake", &["tub-2"])
        .with("rules", json!(["warm-day-3h"]));
    d.go((2, 7, 50), "lemon-2", "walk-in");
    d.close((2, 11, 10), "lemon-2", "sold").named("wrong-cake");
    d.void((2, 11, 13), "wrong-cake", "Tapped the wrong cake: the other small one was sold.");

    d.item((1, 8, 0), "fudge-1", "Fudge icing, pan", "bench", "fudge-icing", &[]);
}

/// Twenty small cakes that go everywhere together.
pub fn rack(d: &mut Diary) {
    d.item((1, 10, 20), "tub-3", "Chocolate frosting, tub 3", "mixer", "frosting", &[]);
    let ids: Vec<String> = (1..=20).map(|n| format!("small-{n:02}")).collect();
    let ids: Vec<&str> = ids.iter().map(String::as_str).collect();
    for (n, id) in ids.iter().enumerate() {
        let name = format!("Small chocolate cake {}", n + 1);
        d.item((1, 11, 0), id, &name, "bench", "layer-cake", &["tub-3"]).with("lot", "rack-4");
    }
    d.close((1, 11, 5), "tub-3", "used");
    d.go_together((1, 11, 45), &ids, "walk-in").note("Rack full.");
    d.put(
        (1, 16, 30),
        json!({"kind": "reading", "items": ids, "probed": "small-07", "value": "4.1", "unit": "C", "probe": "probe-1"}),
    );
    d.go_together((2, 7, 30), &ids, "bench").note("Decorating.");
    d.go_together((2, 8, 10), &ids, "walk-in");
    d.go_together((2, 8, 40), &ids[..16], "van");
    d.put((2, 9, 10), json!({"kind": "close", "items": &ids[..16], "as": "handed-over"}))
        .note("Farm shop, signed for at the door; 3.9 °C on their own probe.");
    d.go_together((2, 9, 20), &ids[16..18], "case");
    d.close((2, 12, 20), "small-17", "sold");
}

/// Three tiers, put together in the van, standing at a venue now.
pub fn wedding(d: &mut Diary) {
    let tiers = ["tier-1", "tier-2", "tier-3"];
    for (id, which) in tiers.iter().zip(["bottom", "middle", "top"]) {
        d.item((1, 12, 10), id, &format!("Wedding cake, {which} tier"), "bench", "tier", &[]);
    }
    d.go_together((1, 12, 55), &tiers, "walk-in");
    d.put(
        (2, 12, 36),
        json!({"kind": "reading", "items": tiers, "probed": "tier-1", "value": "3.6", "unit": "C", "probe": "probe-1"}),
    );
    d.item((2, 12, 38), "wedding-1", "Wedding cake, three tiers", "van", "tier", &tiers);
    d.put((2, 12, 38), json!({"kind": "close", "items": tiers, "as": "used"}));
    // Its three hours began in the walk-in that failed.
    let used = d.between(&[((2, 4, 10), (2, 4, 50))]);
    let by = d.at((2, 12, 38)).plus(3 * HOUR_MS - used);
    d.mark(d.at((2, 12, 40)), "wedding-1", by, "printed").note("Stands on the card for the hosts.");
    d.go((2, 13, 5), "wedding-1", "hall");
}

/// Pastry cream that took too long to cool, and one that didn't.
pub fn custard(d: &mut Diary) {
    d.item((1, 6, 0), "custard-1", "Pastry cream, pan 1", "bench", "pastry-cream", &[]);
    d.food((1, 6, 2), "custard-1", "88.0");
    d.food((1, 6, 30), "custard-1", "62.0");
    d.go((1, 6, 50), "custard-1", "walk-in");
    d.food((1, 7, 45), "custard-1", "20.4");
    d.food((1, 10, 15), "custard-1", "4.7").note("Left deep in the pan; next time in shallow trays.");
    d.go((1, 11, 10), "custard-1", "bench");
    d.item((1, 11, 20), "tarts-1", "Custard tarts, tray 1", "bench", "custard-tart", &["custard-1"]).with("count", 24);
    d.close((1, 11, 25), "custard-1", "used");
    d.go((1, 11, 50), "tarts-1", "case");
    d.close((1, 13, 35), "tarts-1", "sold").with("count", 14);
    d.close((1, 15, 30), "tarts-1", "sold");

    d.item((2, 6, 10), "custard-2", "Pastry cream, pan 2", "bench", "pastry-cream", &[]);
    let mut fahrenheit = |when: When, value: &str| {
        d.put(when, json!({"kind": "reading", "item": "custard-2", "value": value, "unit": "F", "probe": "probe-2"}));
    };
    fahrenheit((2, 6, 11), "190.4");
    fahrenheit((2, 6, 35), "143.6");
    fahrenheit((2, 7, 40), "66.2");
    fahrenheit((2, 9, 20), "39.9");
    d.go((2, 6, 45), "custard-2", "walk-in").note("Shallow trays.");
    d.go((2, 10, 20), "custard-2", "bench");
    d.item((2, 10, 30), "tarts-2", "Custard tarts, tray 2", "bench", "custard-tart", &["custard-2"]).with("count", 20);
    d.go((2, 10, 40), "custard-2", "walk-in");
    d.go((2, 10, 55), "tarts-2", "case");
}

/// A bowl forgotten out, what was made from it, and the day after done right.
pub fn mascarpone(d: &mut Diary) {
    d.item((1, 8, 20), "mascarpone-1", "Mascarpone cream, bowl 1", "mixer", "mascarpone", &[]);
    d.go((1, 8, 30), "mascarpone-1", "bench");
    d.item((1, 12, 45), "tiramisu-1", "Tiramisu cups, tray 1", "bench", "gateau", &["mascarpone-1"]).with("count", 12);
    let why = "The bowl was over its four hours when the cups were filled.";
    d.put(
        (1, 13, 0),
        json!({"kind": "close", "items": ["mascarpone-1", "tiramisu-1"], "as": "discarded", "reason": why}),
    );
    d.decide((1, 13, 4), "tiramisu-1", "acknowledge", "Look at the board before filling; said so to everybody.");

    d.item((2, 7, 10), "mascarpone-2", "Mascarpone cream, bowl 2", "mixer", "mascarpone", &[]);
    d.go((2, 7, 40), "mascarpone-2", "bench-fridge");
    d.food((2, 7, 47), "mascarpone-2", "4.6");
    d.go((2, 11, 30), "mascarpone-2", "bench");
    d.item((2, 11, 40), "tiramisu-2", "Tiramisu cups, tray 2", "bench", "gateau", &["mascarpone-2"]).with("count", 12);
    d.go((2, 11, 50), "mascarpone-2", "bench-fridge");
    d.go((2, 12, 5), "tiramisu-2", "order-fridge");
}
