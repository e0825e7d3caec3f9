//! What the invented bakery's manager wrote in its written procedure, and what she is about to change.

use crate::clock::Zone;
use crate::record::procedure::Typed;

/// How many days after its approval the procedure is looked through again.
const REVIEW_DAYS: i64 = 330;

const SHOP: &[(&str, &str)] = &[
    ("owner", "Wendlestone Bakehouse, a partnership of two"),
    ("address", "4 Mill Reach\nWendlestone WX9 4QT"),
    ("licence", "Food business registration WX-00417 (invented)"),
    ("trade", "Bakery with a counter, deliveries by van"),
    ("in-charge", "The manager on duty"),
    (
        "agreement",
        "The local authority agreed to time as the control for celebration cakes: its letter, file 77-3, hangs beside the office door.",
    ),
    (
        "cooling",
        "Pastry cream is spread on trays in the blast freezer and read until it is at 5 °C. All else is made from what comes cold out of the walk-in.",
    ),
    (
        "held",
        "On the icing bench and in the mixer corner while it is worked on; on the counter stand and in the display case for sale, behind the counter, served with tongs; in the van in closed boxes.",
    ),
    ("marking", "A label on the tub’s lid or the cake’s board. Food found without one is discarded."),
    (
        "watching",
        "Whoever takes it out of the cold reads it with the probe and taps the reading in; custards are read every half hour while they cool.",
    ),
    (
        "thermometers",
        "Probe 1 for food, a dial in each fridge. Both are checked in melting ice on the first Monday of the month; the sheet hangs in the office.",
    ),
    ("who-discards", "Whoever sees that it is past its time; the manager on duty looks for it at noon and at closing."),
    ("how-discards", "Out of its tin and into the food waste bin in the yard, so that nobody can sell it."),
    ("where-written", "In this record, as discarded, with how many."),
    ("over", "It is discarded at once, whatever it looks like. The manager on duty is told and writes why."),
    (
        "failure",
        "What stood in it counts as out from the last reading that was cold enough. It goes to the walk-in or is discarded; the engineer’s number is on the door. Until it is mended nothing is put in.",
    ),
    (
        "training",
        "The manager goes through this procedure with everybody before their first shift and after each change, at the bench, with a tub and a timer.",
    ),
    ("checking", "The manager on duty looks through the day’s record at closing and writes what followed."),
    ("kept", "Here, and printed in the folder beside the office door; two years."),
    (
        "review-when",
        "A new food, place or rule, a letter of the authority, or anything that had to be discarded twice in a week.",
    ),
];

/// Product, ingredients, how it is made.
const FOODS: &[(&str, &str, &str)] = &[
    ("cream-cheese", "Full-fat soft cheese", "Out of the walk-in to soften for 30 minutes before it is beaten."),
    (
        "frosting",
        "Soft cheese, butter, icing sugar, vanilla",
        "Beaten for 10 minutes in the mixer corner, filled into tubs, back to the bench fridge. Out for 20 to 40 minutes at a time while cakes are coated.",
    ),
    (
        "layer-cake",
        "Sponge, soft-cheese frosting, jam",
        "Filled for 15 minutes, chilled for 30; crumb coat for 10, chilled for 30; top coat and decoration 20 to 60.",
    ),
    (
        "gateau",
        "Sponge, whipped cream, cherries, kirsch",
        "Filled and coated in one stretch of 40 minutes, then chilled.",
    ),
    (
        "tier",
        "Sponge, soft-cheese frosting, buttercream",
        "Built in three stretches of up to 45 minutes; by van in a closed box; set up at the hall an hour before the cutting.",
    ),
    (
        "mascarpone",
        "Mascarpone, cream, sugar, lemon",
        "Whipped for 5 minutes, used within half an hour, back in the cold.",
    ),
    (
        "pastry-cream",
        "Milk, egg yolk, sugar, cornflour, vanilla",
        "Boiled for 2 minutes, spread on trays, blast frozen until it reads 5 °C; out for 20 minutes to fill.",
    ),
    (
        "custard-tart",
        "Pastry, milk, cream, egg, nutmeg",
        "Baked, cooled on racks, chilled; on the counter from opening.",
    ),
    ("choux", "Choux, whipped cream", "Filled in batches of 20 minutes, straight to the case or the counter."),
    ("cream-pie", "Pastry, whipped cream, fruit", "Filled for 15 minutes, chilled; on the counter by the slice."),
    (
        "mousse",
        "Lemon, egg, cream, gelatine",
        "Set in the blast freezer, thawed in the walk-in, glazed for 20 minutes.",
    ),
    ("cheesecake", "Soft cheese, egg, sugar, biscuit", "Baked, chilled overnight; cut and sold from the counter."),
];

/// What stands in version 1, approved on that date.
pub fn first(approved_on: i64) -> Typed {
    let shop = SHOP.iter().map(|(key, text)| ((*key).to_owned(), (*text).to_owned()));
    let foods = FOODS.iter().flat_map(|(id, of, how)| {
        [(format!("ingredients.{id}"), (*of).to_owned()), (format!("making.{id}"), (*how).to_owned())]
    });
    let review = (String::from("review-on"), Zone::date_text(approved_on + REVIEW_DAYS));
    Typed(shop.chain(foods).chain([review]).collect())
}

/// The draft of the next one: a second probe, and nothing said yet of how those who wrap learn it.
pub fn next(approved_on: i64) -> Typed {
    let mut typed = first(approved_on);
    let mut set = |key: &str, text: &str| typed.0.insert(key.to_owned(), text.to_owned());
    set(
        "thermometers",
        "Probe 1 for food at the bench, probe 2 at the counter, a dial in each fridge. All are checked in melting ice on the first Monday of the month; the sheet hangs in the office.",
    );
    set("how-discards", "Out of its tin and into the food waste bin in the yard, dyed, so that nobody can sell it.");
    typed.0.remove("training");
    typed
}
