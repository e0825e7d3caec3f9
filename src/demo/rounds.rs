//! Rounds and oversight: air readings, two failures of the cold, stocktakes, what the manager looked through.

use super::diary::{Diary, When};
use crate::clock::Zone;
use serde_json::json;

/// The thermometers, read on the rounds.
pub fn air(d: &mut Diary) {
    let rounds: &[(When, &[(&str, &str)])] = &[
        ((1, 5, 5), &[("walk-in", "3.2"), ("bench-fridge", "3.9"), ("order-fridge", "3.5"), ("bench", "19.4")]),
        ((1, 8, 25), &[("bench", "21.0")]),
        ((1, 11, 20), &[("blast", "-19.5")]),
        ((1, 11, 32), &[("walk-in", "3.6"), ("case", "4.8"), ("bench", "22.3"), ("counter", "22.0")]),
        ((1, 17, 10), &[("walk-in", "3.4"), ("order-fridge", "3.8"), ("case", "5.0"), ("bench", "21.6")]),
        ((2, 5, 40), &[("walk-in", "4.4"), ("order-fridge", "3.6"), ("bench", "19.8")]),
        ((2, 9, 5), &[("bench", "21.7"), ("counter", "21.2")]),
        ((2, 11, 35), &[("walk-in", "3.5"), ("case", "4.6"), ("bench", "22.8"), ("counter", "22.4")]),
    ];
    for (when, readings) in rounds {
        for (place, value) in *readings {
            d.air(*when, place, value);
        }
    }
    d.air((2, 5, 41), "bench-fridge", "38.0").named("typed-wrong");
    d.correct((2, 5, 44), "typed-wrong", json!({"value": "3.8"}), "Typed without the point.");
    // From the sheet of paper, all at once.
    for (hour, minute, place, value) in [
        (15, 0, "bench", "22.6"),
        (15, 20, "counter", "22.1"),
        (16, 0, "bench", "22.0"),
        (16, 20, "counter", "21.8"),
        (16, 50, "bench", "21.7"),
    ] {
        d.air((1, hour, minute), place, value).late_by((17 - hour) * 60 + 35 - minute).note("From the sheet of paper.");
    }
}

/// The walk-in without cold for forty minutes, found by the first one in; the case with its door ajar.
pub fn failures(d: &mut Diary) {
    let back = d.at((2, 4, 50));
    d.put((2, 4, 10), json!({"kind": "lapse", "place": "walk-in", "until": back}))
        .late_by(46)
        .note("Breaker tripped; times from the logger.");
    d.air((2, 4, 57), "walk-in", "7.9");
    d.decide((2, 5, 2), "walk-in", "acknowledge", "Everything in it carries the forty minutes; electrician called.");
    d.put((1, 16, 5), json!({"kind": "lapse", "place": "case"})).note("Door ajar, 11.2 °C inside.");
    d.put((1, 16, 20), json!({"kind": "restore", "place": "case"}));
    d.decide((1, 16, 24), "lemon-1", "keep", "Stays in the case, with the quarter of an hour counted.");
}

/// Who stands where, as seen.
pub fn stocktakes(d: &mut Diary) {
    let mut seen = |when: When, place: &str, items: &[&str]| {
        d.put(when, json!({"kind": "seen", "items": items, "place": place}));
    };
    seen((1, 17, 20), "walk-in", &["carrot-1", "tier-1", "tier-2", "tier-3", "cheesecake-4"]);
    seen((1, 17, 21), "bench-fridge", &["tub-1", "cheese-2"]);
    seen((1, 17, 22), "order-fridge", &["gateau-1", "cheesecake-2", "cheesecake-3"]);
    seen((2, 4, 59), "walk-in", &["carrot-1", "tier-1", "tier-2", "tier-3", "small-01", "small-20", "cheesecake-4"]);
    seen((2, 13, 52), "bench-fridge", &["cheese-2", "mascarpone-2"]);
    seen((2, 11, 37), "order-fridge", &["gateau-1", "sponge-1", "forest-1", "cheesecake-2", "cheesecake-3"]);
    d.put((2, 11, 38), json!({"kind": "seen", "item": "carrot-1", "place": "case"})).named("seen-elsewhere");
    d.decide_line(
        (2, 11, 42),
        "seen-elsewhere",
        "dismiss",
        "That was the lemon cake; the carrot cake is in the walk-in.",
    );
    d.decide((2, 11, 14), "lemon-2", "corrected", "The sale is taken back; the cake stands in the walk-in.");
}

/// What was changed in the shop, and the day looked through.
pub fn manager(d: &mut Diary, zone: Zone) {
    d.put(
        (1, 17, 30),
        json!({"kind": "place", "place": "walk-in", "name": "Walk-in cooler", "control": "cold", "use": "store"}),
    );
    let when = (2, 8, 55);
    let day = Zone::date_text(zone.day(d.at(when)) - 1);
    d.put(when, json!({"kind": "review", "from": day, "to": day})).note("Late trifle and the choux tray spoken about.");
}
