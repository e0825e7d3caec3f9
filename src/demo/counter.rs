//! At the counter and away: what is shown, sold, served, marked wrong, entered late, forgotten or thrown away.

use super::diary::Diary;
use super::{HANDED_MINUTES, MINUTES_LEFT, NEAREST, WITH_OTHERS};
use crate::clock::{HOUR_MS, MINUTE_MS};
use serde_json::json;

/// The cake that is always the same few minutes from its discard-by time.
pub fn nearest(d: &mut Diary) {
    let spells = [((1, 14, 30), (1, 15, 20)), ((2, 6, 40), (2, 7, 50)), ((2, 9, 10), (2, 10, 5))];
    d.item(spells[0].0, NEAREST, "Strawberry gateau", "bench", "gateau", &[]);
    for (n, (out, back)) in spells.into_iter().enumerate() {
        if n > 0 {
            d.go(out, NEAREST, "bench");
        }
        d.go(back, NEAREST, "order-fridge");
    }
    let discard_by = d.now().plus(MINUTES_LEFT * MINUTE_MS);
    let out = discard_by.plus(d.between(&spells) - 4 * HOUR_MS);
    d.put_at(out, json!({"kind": "move", "item": NEAREST, "place": "bench"})).note("Last decorations.");
    d.mark(out.plus(MINUTE_MS), NEAREST, discard_by, "printed");
}

/// One forgotten and thrown away, one marked an hour too late, one whose return was entered late.
pub fn gateaux(d: &mut Diary) {
    d.item((1, 7, 30), "coffee-1", "Coffee and walnut cake", "bench", "layer-cake", &[]);
    d.go((1, 8, 15), "coffee-1", "walk-in");
    d.go((1, 10, 50), "coffee-1", "counter");
    let by = d.four_hours(d.at((1, 10, 50)), d.between(&[((1, 7, 30), (1, 8, 15))]));
    d.mark(d.at((1, 10, 52)), "coffee-1", by, "printed");
    d.close((1, 14, 25), "coffee-1", "discarded").with("reason", "Found on the stand past its time.");
    d.decide(
        (1, 14, 31),
        "coffee-1",
        "acknowledge",
        "Nobody had the counter during the break; the board is there now.",
    );

    d.item((2, 8, 0), "forest-1", "Black cherry gateau", "bench", "gateau", &[]);
    d.go((2, 8, 40), "forest-1", "order-fridge");
    d.go((2, 12, 50), "forest-1", "counter");
    let by = d.four_hours(d.at((2, 12, 50)), d.between(&[((2, 8, 0), (2, 8, 40))]));
    d.mark(d.at((2, 12, 52)), "forest-1", by.plus(HOUR_MS), "written").note("Added up in the head.");

    d.item((2, 8, 30), "sponge-1", "Cream sponge", "bench", "gateau", &[]);
    d.go((2, 8, 50), "sponge-1", "order-fridge");
    d.go((2, 9, 15), "sponge-1", "counter");
    let by = d.four_hours(d.at((2, 9, 15)), d.between(&[((2, 8, 30), (2, 8, 50))]));
    d.mark(d.at((2, 9, 16)), "sponge-1", by, "printed");
    d.go((2, 9, 40), "sponge-1", "order-fridge").late_by(105).named("sponge-back").note("Forgot to tap; wet hands.");
    d.food((2, 11, 39), "sponge-1", "4.3");
    d.decide_line((2, 11, 40), "sponge-back", "keep", "Two of us saw it go back in; it reads 4.3 °C.");
}

/// Marked before a coat that brought more minutes along, and marked anew with the earlier time.
pub fn marble(d: &mut Diary) {
    let (begun, coat) = ((2, 13, 10), (2, 13, 35));
    d.item(begun, "marble-1", "Marble cake", "bench", "layer-cake", &[]);
    d.mark(d.at((2, 13, 11)), "marble-1", d.four_hours(d.at(begun), 0), "printed");
    d.join(coat, "marble-1", "tub-2").note("Coated from the older tub.");
    // What the tub had been out by then, and the block it was mixed from.
    let tub = [
        ((2, 5, 15), (2, 5, 50)),
        ((2, 5, 50), (2, 6, 25)),
        ((2, 7, 15), (2, 7, 50)),
        ((2, 10, 35), (2, 11, 0)),
        ((2, 13, 25), coat),
    ];
    let by = d.four_hours(d.at(coat), d.between(&tub));
    d.mark(d.at((2, 13, 36)), "marble-1", by, "printed").with("copy", 2);
    d.go((2, 13, 42), "marble-1", "bench-fridge");
}

/// Trays on the counter: sold in parts, put back too late, over and not yet binned.
pub fn choux_and_tarts(d: &mut Diary) {
    d.item((1, 8, 50), "choux-1", "Cream choux, tray 1", "bench", "choux", &[]).with("count", 24);
    d.go((1, 9, 15), "choux-1", "case");
    d.go((1, 10, 0), "choux-1", "counter");
    d.close((1, 10, 40), "choux-1", "sold").with("count", 9);
    d.close((1, 11, 30), "choux-1", "sold").with("count", 8);
    d.go((1, 12, 5), "choux-1", "walk-in").named("choux-back");
    let why = "Past two hours a tray is sold, not chilled; shown to the new helper.";
    d.decide_line((1, 12, 20), "choux-back", "acknowledge", why);
    d.close((1, 13, 10), "choux-1", "sold");

    d.item((2, 8, 55), "choux-2", "Cream choux, tray 2", "bench", "choux", &[]).with("count", 24);
    d.go((2, 9, 20), "choux-2", "case");
    d.close((2, 11, 5), "choux-2", "sold").with("count", 6);
    d.go((2, 12, 10), "choux-2", "counter");
    let by = d.four_hours(d.at((2, 12, 10)), d.between(&[((2, 8, 55), (2, 9, 20))]));
    d.mark(d.at((2, 12, 11)), "choux-2", by, "printed");
    d.close((2, 13, 15), "choux-2", "sold").with("count", 7);

    d.item((2, 7, 45), "banana-1", "Banana cream pie", "bench", "cream-pie", &[]).with("count", 8);
    d.go((2, 8, 20), "banana-1", "case");
    d.go((2, 10, 20), "banana-1", "counter");
    let by = d.four_hours(d.at((2, 10, 20)), d.between(&[((2, 7, 45), (2, 8, 20))]));
    d.mark(d.at((2, 10, 21)), "banana-1", by, "printed");
    d.close((2, 11, 45), "banana-1", "sold").with("count", 5);

    d.item((2, 13, 51), "trifle-2", "Banana trifle, a glass", "counter", "cream-pie", &["banana-1"]);
    let why = "Made from the pie that stood past its time; seen at once.";
    d.close((2, 13, 55), "trifle-2", "discarded").with("reason", why);

    // Made at the bench, with its pan of custard.
    d.go((2, 12, 45), "tarts-2", "counter");
    d.close((2, 13, 0), "tarts-2", "sold").with("count", 6);
    d.close((2, 13, 35), "tarts-2", "sold").with("count", 5);

    d.item((1, 15, 0), "domes-1", "Lemon mousse domes", "bench", "mousse", &[]).with("count", 12);
    d.go((1, 15, 35), "domes-1", "blast");
}

/// One clock from the first removal: started warm, put back all the same, started unread, caught by a failure.
pub fn cheesecakes(d: &mut Diary) {
    let mut begin = |when, id: &str, name: &str, place: &str| {
        d.item(when, id, name, place, "cheesecake", &[]).with("count", 8);
    };
    begin((0, 16, 0), "cheesecake-1", "Baked cheesecake, plain", "order-fridge");
    begin((1, 15, 40), "cheesecake-2", "Baked cheesecake, blueberry", "order-fridge");
    begin((1, 15, 42), "cheesecake-3", "Baked cheesecake, plain", "order-fridge");
    begin((1, 15, 44), "cheesecake-4", "Baked cheesecake, ginger", "walk-in");
    begin((1, 15, 46), "cheesecake-5", "Baked cheesecake, lemon", "order-fridge");
    d.food((1, 9, 58), "cheesecake-1", "6.4");
    d.go((1, 10, 0), "cheesecake-1", "counter");
    d.close((1, 11, 20), "cheesecake-1", "served").with("count", 3);
    d.go((1, 12, 30), "cheesecake-1", "order-fridge");
    let why = "Started warm and was put back, which its rule doesn't allow.";
    d.close((1, 13, 20), "cheesecake-1", "discarded").with("reason", why);

    d.go((2, 11, 50), "cheesecake-2", "counter");
    let by = d.four_hours(d.at((2, 11, 50)), 0);
    d.mark(d.at((2, 11, 51)), "cheesecake-2", by, "printed");
    d.mark(d.at((2, 12, 56)), "cheesecake-2", by, "printed").with("copy", 2).note("The first label got wet.");
    d.close((2, 12, 55), "cheesecake-2", "served").with("count", 3);
    d.food((2, 11, 36), "cheesecake-3", "3.6");
    d.food((2, 13, 19), "cheesecake-5", "3.9");
    d.go((2, 13, 21), "cheesecake-5", "counter").note("The labels had run out.");
    let why = "In the walk-in when it failed: its four hours ran from then.";
    d.close((2, 8, 20), "cheesecake-4", "discarded").with("reason", why);
}

/// In others' hands: served past its time at a venue, a plate nobody found again, a tasting that went well.
pub fn away(d: &mut Diary) {
    d.item((1, 9, 0), "trifle-1", "Trifle bowls", "bench", "cream-pie", &[]).with("count", 10);
    d.go((1, 9, 30), "trifle-1", "order-fridge");
    d.go((1, 11, 0), "trifle-1", "van");
    d.go((1, 11, 25), "trifle-1", "hall");
    d.close((1, 12, 30), "trifle-1", "served").with("count", 6);
    d.close((1, 14, 45), "trifle-1", "served").named("late-trifle");
    d.decide_line(
        (1, 15, 5),
        "late-trifle",
        "acknowledge",
        "The host was rung at once; next time the bowls go out in two lots.",
    );

    d.item((1, 13, 30), "tasting-1", "Tasting plate 1", "bench", "gateau", &[]);
    d.go((1, 13, 50), "tasting-1", "order-fridge");
    d.close((1, 17, 25), "tasting-1", "lost").with("reason", "Not found at the stocktake.");
    d.item((2, 10, 0), "tasting-2", "Tasting plate 2", "bench", "gateau", &[]);
    d.go((2, 10, 15), "tasting-2", "counter");
    d.close((2, 11, 0), "tasting-2", "served");

    d.item((2, 7, 15), WITH_OTHERS, "Raspberry gateau", "bench", "gateau", &[]);
    d.go((2, 7, 40), WITH_OTHERS, "order-fridge");
    let handed = d.now().plus(-HANDED_MINUTES * MINUTE_MS);
    d.put_at(handed, json!({"kind": "move", "item": WITH_OTHERS, "place": "hall"})).note("Order 31");
}
