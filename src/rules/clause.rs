//! What a rule says: its clauses, in the words of the rule book and of `rule` entries.

use crate::ledger::{Id, Temperature};
use serde::{Deserialize, Serialize};
use std::fmt;

/// What a place is used for.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
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

/// How bad a breach is, mildest first; also the verdict on an item.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
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

/// What a breached clause asks for. `Deviation` is listed and changes no verdict.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
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

/// Whether reaching the limit exactly is over it already.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum AtLimit {
    /// At the limit it is over.
    #[default]
    Breach,
    /// At the limit it is not over yet.
    Allowed,
}

/// What unknown air counts as.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Unread {
    /// The worst case.
    #[default]
    Above,
    /// Not above.
    NotAbove,
}

/// Whether food may go back into the cold under a rule.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
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

/// A limit as written: a time, a count or a temperature.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[serde(untagged)]
pub enum Limit {
    /// A count, for `spells` and `day`.
    Count(u32),
    /// A time of hours, minutes and seconds, like `PT2H30M`.
    Time(Box<str>),
    /// A temperature.
    Temperature(LimitTemperature),
}

/// A temperature as a limit: its value kept as text with one decimal.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct LimitTemperature {
    pub(super) value: Box<str>,
    pub(super) unit: crate::ledger::Unit,
}

impl LimitTemperature {
    /// The temperature it names.
    pub fn read(&self) -> Result<Temperature, String> {
        Temperature::parse(&self.value, self.unit).map_err(str::to_owned)
    }
}

/// A clause in the words of the rule book.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ClauseText {
    /// The measure's name.
    pub measure: Box<str>,
    /// Its limit.
    pub limit: Limit,
    /// Defaults to `breach`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_limit: Option<AtLimit>,
    /// What a breach asks for.
    pub verdict: Demand,
    /// Narrows the measure to places of these uses.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uses: Option<Vec<Use>>,
    /// For `out_above`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub above: Option<LimitTemperature>,
    /// For `out_above`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unread: Option<Unread>,
    /// For `cooled`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<LimitTemperature>,
    /// For `cooled`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<LimitTemperature>,
}

/// Where a rule comes from.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// The document.
    pub title: Box<str>,
    /// Its edition.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub edition: Option<Box<str>>,
    /// Where in it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub section: Option<Box<str>>,
    /// `published`, or what else stands behind the rule; anything else waits for a manager's approval.
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
