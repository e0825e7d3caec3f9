//! Which built-in rules go with where a shop is. What is proposed is the strictest that applies there; what is offered
//! beside it needs a reason, or the authority's word.

use super::{Demand, Measure, Rule, Uses};

/// A part of the world with rules of its own.
pub struct Region {
    /// Its id in forms.
    pub id: &'static str,
    /// The rules proposed there.
    pub proposed: &'static [&'static str],
    /// Others that may be chosen there.
    pub offered: &'static [&'static str],
}

/// All of them. Where no law is in the book the strictest general rule that counts the whole time is proposed.
pub const REGIONS: [Region; 4] = [
    Region {
        id: "us",
        proposed: &["us-time-4h", "keep-7d"],
        offered: &["us-prep-then-4h", "us-time-6h", "us-cooling", "banded-70f", "two-hour"],
    },
    // One display alone would leave the bench uncounted: a rule that counts all goes with it.
    Region { id: "uk", proposed: &["uk-display-4h", "sum-2h-4h"], offered: &["two-hour", "house-2h-4h", "keep-7d"] },
    Region { id: "au-nz", proposed: &["sum-2h-4h"], offered: &["two-hour", "house-2h-4h", "keep-7d"] },
    Region {
        id: "elsewhere",
        proposed: &["sum-2h-4h"],
        offered: &["two-hour", "us-time-4h", "uk-display-4h", "banded-70f", "house-2h-4h", "keep-7d"],
    },
];

/// The region of that id.
pub fn region(id: &str) -> Option<&'static Region> {
    REGIONS.iter().find(|r| r.id == id)
}

/// Whether a rule limits all the time out there is, in whatever places: no product may be without such a one.
pub fn counts_all(rule: &Rule) -> bool {
    rule.clauses.iter().any(|c| {
        let uses = match c.measure {
            Measure::TotalOut { uses, .. } | Measure::SinceFirstOut { uses, .. } => uses,
            _ => return false,
        };
        c.demand == Demand::Discard && uses == Uses::ALL
    })
}
