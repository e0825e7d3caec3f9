//! Found out of the cold that it is logged in: since nobody knows better, it counts as out since it was last known to
//! be cold, and the page says so before anything is written.

use super::task::{Ctx, Head};
use super::{Choice, Shell, moves, place_name};
use crate::clock::Instant;
use crate::lang;
use crate::ledger::{Body, Control, Id, Temperature, Unit};
use crate::web::show::Show;
use askama::Template;

/// Food read at or below this was cold: 5 °C, the limit of the sums' source (FSANZ) and 41 °F of the US Food Code.
const COLD: Temperature = Temperature { tenths: 50, unit: Unit::C };

/// The page.
#[derive(Template)]
#[template(path = "found.html")]
pub(super) struct Found {
    shell: Shell,
    head: Head,
    /// When it was last known to be cold and how; `None` if it isn't logged in the cold at all.
    known: Option<String>,
    counts: String,
    places: Vec<Choice>,
}

/// When an item was last known to be cold, and how that is known.
pub(super) struct LastCold {
    /// The instant.
    pub at: Instant,
    /// How, in words.
    pub how: String,
}

/// Builds it.
pub(super) fn build(c: &Ctx) -> Option<Found> {
    let here = c.standing(c.id)?.place;
    let last = last_cold(c);
    Some(Found {
        shell: c.shell(),
        head: c.head("found", lang::found_title())?,
        counts: last.as_ref().map_or_else(String::new, |l| Show::used(c.show.now.since(l.at))),
        known: last.map(|l| l.how),
        places: out_places(c, &here),
    })
}

/// Places without cold, the likeliest first.
pub(super) fn out_places(c: &Ctx, here: &Id) -> Vec<Choice> {
    let places = moves::places(c.state, c.item, here, false, c.show.now);
    let out = places.into_iter().filter(|p| p.control == Control::None);
    out.map(|p| Choice::place(&p, c.fields.is("place", p.place.as_str()))).collect()
}

/// The latest of: it came where it is, somebody saw it in a cold place, its food was read cold. Never before it came
/// where it is. `None` if it isn't logged in a cold place.
pub(super) fn last_cold(c: &Ctx) -> Option<LastCold> {
    let (now, show) = (c.show.now, c.show);
    let cold = |place: &Id, t: Instant| c.state.places.get(place).is_some_and(|p| moves::controlled(p, t));
    let (mut stay, mut last) = (None, None::<LastCold>);
    for e in c.item.truth.iter().filter(|e| e.at <= now) {
        let how = match &e.body {
            Body::Item(b) => {
                stay = Some((&b.place, e.at));
                lang::cold_since(&place_name(c.state, &b.place), &show.clock(e.at))
            }
            Body::Move { place, .. } => {
                stay = Some((place, e.at));
                lang::cold_since(&place_name(c.state, place), &show.clock(e.at))
            }
            Body::Seen { place, .. } if cold(place, e.at) => {
                lang::cold_seen(&place_name(c.state, place), &show.clock(e.at))
            }
            Body::FoodReading { value, .. } if value.exact() <= COLD.exact() => {
                lang::cold_read(&show.clock(e.at), &show.degrees(*value))
            }
            _ => continue,
        };
        last = Some(LastCold { at: e.at, how });
    }
    let (place, _) = stay?;
    last.filter(|_| cold(place, now))
}
