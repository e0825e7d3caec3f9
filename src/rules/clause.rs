//! What a rule says: its clauses, in the words of the rule book and of `rule` entries.

use crate::ledger::{Id, Temperature, given};
use serde::{Deserialize, Serialize};
use std::fmt;
use utoipa::ToSchema;

/// What a place is used for. `store`: keeping food cold; time out here is a failure of the cold and counts in every
/// clause. `work`: preparing it. `display`: showing it for sale. `transport`: carrying it. `away`: in others' hands, a
/// venue or a customer; the clock runs on.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Use {
    /// Keeping food cold. Time out here is a failure of the cold and counts in every clause.
    Store,
    /// Preparing it.
    Work,
    /// Showing it for sale.
    Display,
    /// Carrying it.
    Transport,
    /// In others' hands: a venue, a customer.
    Away,
}

/// A set of uses that a clause counts; `store` is always in it.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Uses(pub(super) u8);

impl Uses {
    /// Every use.
    pub const ALL: Uses = Uses(0b1_1111);

    /// Whether time out in a place of that use counts.
    pub fn covers(self, u: Use) -> bool {
        u == Use::Store || self.0 & (1 << u as u8) != 0
    }
}

/// How bad a breach is, mildest first; also the verdict on an item. `within`: within every limit. `return`: put it back
/// in the cold now. `use`: use or sell it now, it may not go back. `discard`: throw it away.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Within every limit.
    Within,
    /// Put it back in the cold now.
    Return,
    /// Use or sell it now; it may not go back.
    Use,
    /// Throw it away.
    Discard,
}

impl Verdict {
    /// As it is written.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Within => "within",
            Verdict::Return => "return",
            Verdict::Use => "use",
            Verdict::Discard => "discard",
        }
    }
}

/// What a breached clause asks for: a verdict, or `deviation`, which is listed and changes no verdict.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Demand {
    /// See [`Verdict::Return`].
    Return,
    /// See [`Verdict::Use`].
    Use,
    /// See [`Verdict::Discard`].
    Discard,
    /// Listed, verdict unchanged.
    Deviation,
}

impl Demand {
    /// The verdict it brings, if any.
    pub fn verdict(self) -> Option<Verdict> {
        match self {
            Demand::Return => Some(Verdict::Return),
            Demand::Use => Some(Verdict::Use),
            Demand::Discard => Some(Verdict::Discard),
            Demand::Deviation => None,
        }
    }
}

/// Whether reaching the limit exactly is over it already (`breach`) or not yet (`allowed`).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum AtLimit {
    /// At the limit it is over.
    #[default]
    Breach,
    /// At the limit it is not over yet.
    Allowed,
}

/// What air that nobody has measured counts as: `above`, the worst case, or `not-above`.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Unread {
    /// The worst case.
    #[default]
    Above,
    /// Not above.
    NotAbove,
}

/// Whether food may go back into the cold under a rule. `any`: whenever it likes. `until-use`: until a `use` or
/// `discard` clause is breached. `never`: not once the rule's clock has begun.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Returns {
    /// Whenever it likes.
    Any,
    /// Until a `use` or `discard` clause is breached.
    UntilUse,
    /// Not once the rule's clock has begun.
    Never,
}

/// The quantity a clause limits. Times in milliseconds.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Measure {
    /// Time out, all spells added.
    TotalOut { limit_ms: i64, uses: Uses },
    /// Time since it was first out, in the cold too.
    SinceFirstOut { limit_ms: i64, uses: Uses },
    /// How many unbroken stretches out.
    Spells { limit: u32, uses: Uses },
    /// The longest of them.
    LongestSpell { limit_ms: i64, uses: Uses },
    /// Time out while the air was above a temperature.
    OutAbove { limit_ms: i64, uses: Uses, above: i64, unread: Unread },
    /// The highest food reading since it was first out; `limit` on the exact scale.
    FoodTemperature { limit: i64 },
    /// The food reading when it was first out (in places the rule's clock counts).
    /// `kept`: a bad one that has stood is not mended by a join with an earlier good one, since a verdict never gets
    /// milder; a mere deviation follows the instant.
    StartTemperature { limit: i64, uses: Uses, kept: bool },
    /// Calendar days, the day it began being day 1.
    Day { limit: u32 },
    /// How long it took to cool to `to`, on the exact scale.
    Cooled { limit_ms: i64, to: i64, from: Option<i64> },
}

impl Measure {
    /// Its name in rules and answers.
    pub fn name(&self) -> &'static str {
        match self {
            Measure::TotalOut { .. } => "total_out",
            Measure::SinceFirstOut { .. } => "since_first_out",
            Measure::Spells { .. } => "spells",
            Measure::LongestSpell { .. } => "longest_spell",
            Measure::OutAbove { .. } => "out_above",
            Measure::FoodTemperature { .. } => "food_temperature",
            Measure::StartTemperature { .. } => "start_temperature",
            Measure::Day { .. } => "day",
            Measure::Cooled { .. } => "cooled",
        }
    }
}

/// Every measure's name, and what it reads.
pub const MEASURES: &[(&str, &str)] = &[
    ("total_out", "time out, all spells added"),
    ("since_first_out", "time since it was first out, in the cold too"),
    ("spells", "how many unbroken stretches out"),
    ("longest_spell", "the longest unbroken stretch out"),
    ("out_above", "time out while the air was warmer than `above`"),
    ("food_temperature", "the food's readings since it was first out"),
    ("start_temperature", "the food's last reading in the hour before the rule's clock began"),
    ("day", "calendar days, the day it began being day 1; frozen days don't count"),
    ("cooled", "how long it took to cool down to `to`"),
];

/// One clause, ready to be measured, with the words it was written in. Two clauses are the same if they measure and
/// ask the same, whatever defaults their words leave out.
#[derive(Clone, Debug)]
pub struct Clause {
    /// What it limits, and at what.
    pub measure: Measure,
    /// Whether the limit itself is over it.
    pub at_limit: AtLimit,
    /// What its breach asks for.
    pub demand: Demand,
    /// As written, for showing and for the ledger.
    pub text: Box<ClauseText>,
}

impl PartialEq for Clause {
    fn eq(&self, other: &Clause) -> bool {
        (self.measure, self.at_limit, self.demand) == (other.measure, other.at_limit, other.demand)
    }
}

impl Eq for Clause {}

/// A limit as written: a count (`spells`, `day`), a temperature (`food_temperature`, `start_temperature`), or for the
/// other measures a time of hours, minutes and seconds in ISO 8601, like `PT2H30M`.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, ToSchema)]
#[serde(untagged)]
pub enum Limit {
    /// A count from 1 to 10,000, for `spells` and `day`; it is breached above it.
    Count(u32),
    /// A time of hours, minutes and seconds, like `PT2H30M`.
    #[schema(value_type = String)]
    Time(Box<str>),
    /// A temperature.
    Temperature(LimitTemperature),
}

/// A temperature as a limit, compared in tenths of a degree, never by a rounded conversion.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, ToSchema)]
pub struct LimitTemperature {
    /// A decimal as text with at most one digit after the point, like `41.0`; degrees of `unit`.
    #[schema(pattern = r"^-?[0-9]{1,5}(\.[0-9])?$")]
    pub(super) value: Box<str>,
    /// Celsius or Fahrenheit.
    pub(super) unit: crate::ledger::Unit,
}

impl LimitTemperature {
    /// The temperature it names.
    pub fn read(&self) -> Result<Temperature, String> {
        Temperature::parse(&self.value, self.unit).map_err(str::to_owned)
    }
}

/// A clause of a rule: a measure, its limit, and what a breach asks for.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, ToSchema)]
#[schema(as = Clause)]
#[serde(deny_unknown_fields)]
pub struct ClauseText {
    /// What it measures.
    pub measure: Box<str>,
    /// At what the measure is limited: a time, a count or a temperature, as the measure has it.
    pub limit: Limit,
    /// Whether the limit itself is over it; `breach` where left out. Counts are breached above their limit.
    #[serde(default, deserialize_with = "given", skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub at_limit: Option<AtLimit>,
    /// What a breach asks for.
    pub verdict: Demand,
    /// Narrows the measure to time out in places of these uses; only for `total_out`, `since_first_out`, `spells`,
    /// `longest_spell` and `out_above`. Time out in a `store` place counts whatever stands here.
    #[serde(default, deserialize_with = "given", skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub uses: Option<Vec<Use>>,
    /// Only for `out_above`, and needed there: time counts while the air is warmer than this.
    #[serde(default, deserialize_with = "given", skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub above: Option<LimitTemperature>,
    /// Only for `out_above`: what air counts as that nobody has measured in the last 4 hours; `above` where left out.
    #[serde(default, deserialize_with = "given", skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub unread: Option<Unread>,
    /// Only for `cooled`, and needed there: cooled once a reading is at or below this.
    #[serde(default, deserialize_with = "given", skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub to: Option<LimitTemperature>,
    /// Only for `cooled`: the clock starts at the last reading at or above this; where left out, at the item's
    /// beginning. It lies above `to`.
    #[serde(default, deserialize_with = "given", skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub from: Option<LimitTemperature>,
}

/// Where a rule comes from.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// The document, by its title.
    pub title: Box<str>,
    /// The document's edition.
    #[serde(default, deserialize_with = "given", skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub edition: Option<Box<str>>,
    /// The section of it.
    #[serde(default, deserialize_with = "given", skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub section: Option<Box<str>>,
    /// What stands behind the rule: `published`, `project's reading`, `common practice`, `from memory`. Any but
    /// `published` is listed for a decision until a manager approves the rule with a reference.
    pub basis: Box<str>,
}

/// A rule: when its clauses are breached, and whether food may go back.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Rule {
    /// Its id, which never changes meaning.
    pub rule: Id,
    /// For people.
    pub name: Box<str>,
    /// Whether food may go back.
    pub returns: Returns,
    /// At least one.
    #[serde(serialize_with = "clause_texts")]
    pub clauses: Vec<Clause>,
    /// Where it comes from.
    pub source: Source,
}

impl Rule {
    /// Whether it asks that food which is out carry its discard-by time.
    ///
    /// FDA Food Code 2022, 3-501.19(B) and (C), has food under time alone marked with the time it must go; Cobb and
    /// Douglas Public Health calls a label that shows only the time of removal incomplete. Of the other sources in the
    /// book none asks for a time on the food itself: the two-hour/four-hour advice asks that times be noted, the rule for
    /// display says nothing of it, and 3-501.17 asks for a date. So it is read from `returns: never`: under such a rule
    /// one clock runs from the first removal and nothing but the mark tells whoever takes the food into their hands
    /// when it began. A shop's own rule of that kind is asked the same.
    pub fn asks_for_mark(&self) -> bool {
        self.returns == Returns::Never
    }
}

fn clause_texts<S: serde::Serializer>(clauses: &[Clause], s: S) -> Result<S::Ok, S::Error> {
    s.collect_seq(clauses.iter().map(|c| &c.text))
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Verdict::Within => "within",
            Verdict::Return => "return",
            Verdict::Use => "use",
            Verdict::Discard => "discard",
        })
    }
}
