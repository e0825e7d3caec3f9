//! Setting up: the shop, its places, the rules it takes into use, and what it makes.

use super::diary::{Diary, When};
use crate::clock::{MINUTE_MS, Zone};
use crate::rules::book;
use serde_json::{Value, json};

const START: When = (0, 14, 50);

const PLACES: &[(&str, &str, &str, &str)] = &[
    ("walk-in", "Walk-in", "cold", "store"),
    ("bench-fridge", "Bench fridge", "cold", "store"),
    ("order-fridge", "Order fridge", "cold", "store"),
    ("blast", "Blast freezer", "frozen", "store"),
    ("mixer", "Mixer corner", "none", "work"),
    ("bench", "Icing bench", "none", "work"),
    ("case", "Display case", "cold", "display"),
    ("counter", "Counter stand", "none", "display"),
    ("van", "Van", "none", "transport"),
    ("hall", "Village hall", "none", "away"),
];

const BUILT_IN: &[&str] =
    &["house-2h-4h", "keep-7d", "sum-2h-4h", "us-time-4h", "us-cooling", "uk-display-4h", "banded-70f"];

/// Writes the set-up.
pub fn set_up(d: &mut Diary, zone: Zone) {
    d.put(START, json!({"kind": "site", "name": "Wendlestone Bakehouse", "zone": zone.name(), "units": "C"}));
    for (id, name, control, r#use) in PLACES {
        d.put((0, 14, 52), json!({"kind": "place", "place": id, "name": name, "control": control, "use": r#use}));
    }
    for rule in book::all().iter().filter(|rule| BUILT_IN.contains(&rule.rule.as_str())) {
        let mut text = json!(rule);
        text["kind"] = json!("rule");
        d.put((0, 15, 0), text);
    }
    own_rules(d);
    products(d);
}

fn own_rules(d: &mut Diary) {
    d.put(
        (0, 15, 4),
        json!({"kind": "rule", "rule": "celebration-3h", "name": "Celebration cakes: three hours from the van on",
            "returns": "until-use",
            "clauses": [
                {"measure": "total_out", "limit": "PT3H", "uses": ["transport", "away"], "verdict": "discard"},
                {"measure": "total_out", "limit": "PT4H", "verdict": "discard"}],
            "source": {"title": "Our delivery sheet", "edition": "third", "basis": "common practice"}}),
    );
    d.put(
        (0, 15, 6),
        json!({"kind": "rule", "rule": "warm-day-3h", "name": "Warm days: three hours in all", "returns": "any",
            "clauses": [
                {"measure": "total_out", "limit": "PT3H", "verdict": "discard"},
                {"measure": "out_above", "limit": "PT45M", "above": {"value": "26.0", "unit": "C"},
                    "unread": "not-above", "verdict": "return"}],
            "source": {"title": "What we did in the last hot summer", "basis": "from memory"}}),
    )
    .note("Waits for the manager; stricter than the house rule in the meantime.");
    d.put((0, 15, 20), json!({"kind": "approve", "what": "house-2h-4h", "reference": "Written procedure, section 2"}));
    d.put(
        (0, 15, 20),
        json!({"kind": "approve", "what": "celebration-3h", "reference": "Letter of the local authority, file 77-3"}),
    );
    d.put((0, 15, 21), json!({"kind": "approve", "what": super::PROCEDURE, "reference": "The first one in writing"}));
}

fn products(d: &mut Diary) {
    let minutes = |n: i64| json!(n * MINUTE_MS);
    let mut make = |product: &str, name: &str, rules: &[&str], hints: [Value; 3]| {
        let [chill, soft, firm] = hints;
        let mut line = json!({"kind": "product", "product": product, "name": name, "rules": rules});
        for (member, value) in [("chill_ms", chill), ("soft_ms", soft), ("firm_ms", firm)] {
            if !value.is_null() {
                line[member] = value;
            }
        }
        d.put((0, 15, 10), line);
    };
    let none = || [Value::Null, Value::Null, Value::Null];
    let house: &[&str] = &["house-2h-4h", "keep-7d"];
    make("cream-cheese", "Cream cheese", house, none());
    make("frosting", "Cream-cheese frosting", house, [Value::Null, minutes(60), minutes(20)]);
    make("layer-cake", "Layer cake", house, [Value::Null, minutes(75), minutes(30)]);
    make("gateau", "Cream gateau", house, none());
    make("tier", "Celebration tier", &["celebration-3h", "keep-7d"], [Value::Null, minutes(75), minutes(30)]);
    make("mascarpone", "Mascarpone cream", &["house-2h-4h", "banded-70f"], [minutes(10), minutes(35), minutes(45)]);
    make("pastry-cream", "Pastry cream", &["us-cooling", "house-2h-4h", "keep-7d"], none());
    make("custard-tart", "Custard tarts", &["house-2h-4h", "uk-display-4h"], none());
    make("choux", "Cream choux", &["sum-2h-4h"], none());
    make("cream-pie", "Cream pie", &["sum-2h-4h"], none());
    make("mousse", "Lemon mousse domes", &["sum-2h-4h", "keep-7d"], none());
    make("cheesecake", "Baked cheesecake", &["us-time-4h", "keep-7d"], none());
    d.put(
        (0, 15, 14),
        json!({"kind": "product", "product": "fudge-icing", "name": "Boiled fudge icing", "rules": [],
            "exempt": {"reason": "Too little free water for time control to matter",
                "evidence": "Laboratory report 0412: water activity 0.78"}}),
    );
    // On reflection the cakes are workable a little longer.
    d.put(
        (0, 15, 30),
        json!({"kind": "product", "product": "layer-cake", "name": "Layer cake", "rules": house,
            "soft_ms": minutes(90), "firm_ms": minutes(30)}),
    );
}
