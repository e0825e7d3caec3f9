//! What a rule says: its clauses, in the words of the rule book and of `rule` entries.

use crate::clock::{HOUR_MS, MINUTE_MS, SECOND_MS};
use crate::ledger::{Id, Temperature};
use serde::{Deserialize, Deserializer, Serialize};
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
pub struct Uses(u8);

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
    StartTemperature { limit: i64, uses: Uses },
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
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
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
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(try_from = "LimitWire")]
pub struct LimitTemperature {
    value: Box<str>,
    unit: crate::ledger::Unit,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LimitWire {
    value: Box<str>,
    unit: crate::ledger::Unit,
}

impl TryFrom<LimitWire> for LimitTemperature {
    type Error = &'static str;
    fn try_from(w: LimitWire) -> Result<LimitTemperature, &'static str> {
        let value = Temperature::parse(&w.value, w.unit)?.value().into();
        Ok(LimitTemperature { value, unit: w.unit })
    }
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

/// Reads `PT2H30M`: hours, minutes, seconds, whole and in that order; milliseconds out.
pub fn parse_duration(text: &str) -> Option<i64> {
    let mut rest = text.strip_prefix("PT")?;
    let (mut ms, mut any) = (0_i64, false);
    for (letter, worth) in [('H', HOUR_MS), ('M', MINUTE_MS), ('S', SECOND_MS)] {
        let Some((digits, after)) = rest.split_once(letter) else { continue };
        if digits.is_empty() || digits.len() > 7 || !digits.bytes().all(|b| b.is_ascii_digit()) {
            return None;
        }
        ms += digits.parse::<i64>().ok()? * worth;
        (rest, any) = (after, true);
    }
    (any && rest.is_empty() && ms > 0).then_some(ms)
}

/// The members of a rule as they are read from the book or an entry.
pub struct RuleParts {
    /// See [`Rule`].
    pub rule: Id,
    /// See [`Rule`].
    pub name: Box<str>,
    /// See [`Rule`].
    pub returns: Returns,
    /// See [`Rule`].
    pub clauses: Vec<ClauseText>,
    /// See [`Rule`].
    pub source: Source,
}

impl RuleParts {
    /// Checks the clauses against what each measure takes.
    pub fn build(self) -> Result<Rule, String> {
        if self.clauses.is_empty() || self.clauses.len() > 20 {
            return Err(String::from("a rule has 1 to 20 clauses"));
        }
        // `start_temperature` looks at the instant the rule counts from: that of its `since_first_out` clause.
        let from = self.clauses.iter().find(|c| &*c.measure == "since_first_out").and_then(|c| c.uses.clone());
        let clauses = self.clauses.into_iter().map(|t| clause(t, from.as_deref())).collect::<Result<_, _>>()?;
        Ok(Rule { rule: self.rule, name: self.name, returns: self.returns, clauses, source: self.source })
    }
}

fn uses_of(list: Option<&[Use]>) -> Result<Uses, String> {
    match list {
        None => Ok(Uses::ALL),
        Some([]) => Err(String::from("`uses` names at least one use")),
        Some(list) => Ok(Uses(list.iter().fold(1, |bits, u| bits | 1 << *u as u8))),
    }
}

fn clause(t: ClauseText, clock_uses: Option<&[Use]>) -> Result<Clause, String> {
    let name = &*t.measure;
    let timed = matches!(name, "total_out" | "since_first_out" | "spells" | "longest_spell" | "out_above");
    let refuse = |member: &str, on: &str| Err(format!("`{member}` belongs to {on} only, not to `{name}`"));
    if t.uses.is_some() && !timed {
        return refuse("uses", "the five measures of time and spells");
    }
    if name != "out_above" && (t.above.is_some() || t.unread.is_some()) {
        return refuse("above` and `unread", "`out_above`");
    }
    if name != "cooled" && (t.to.is_some() || t.from.is_some()) {
        return refuse("to` and `from", "`cooled`");
    }
    let uses = uses_of(t.uses.as_deref())?;
    let time = || match &t.limit {
        Limit::Time(text) => parse_duration(text)
            .filter(|ms| *ms <= 10_000 * HOUR_MS)
            .ok_or_else(|| format!("the limit of `{name}` is a time like \"PT2H\" of hours, minutes, seconds")),
        _ => Err(format!("the limit of `{name}` is a time like \"PT2H\"")),
    };
    let count = || match t.limit {
        Limit::Count(n) if (1..=10_000).contains(&n) => Ok(n),
        _ => Err(format!("the limit of `{name}` is a count from 1 to 10000")),
    };
    let degrees = || match &t.limit {
        Limit::Temperature(d) => Ok(d.read()?.exact()),
        _ => Err(format!("the limit of `{name}` is a temperature")),
    };
    let need = |d: &Option<LimitTemperature>, member: &str| match d {
        Some(d) => d.read().map(Temperature::exact),
        None => Err(format!("`{name}` needs `{member}`")),
    };
    let measure = match name {
        "total_out" => Measure::TotalOut { limit_ms: time()?, uses },
        "since_first_out" => Measure::SinceFirstOut { limit_ms: time()?, uses },
        "spells" => Measure::Spells { limit: count()?, uses },
        "longest_spell" => Measure::LongestSpell { limit_ms: time()?, uses },
        "out_above" => Measure::OutAbove {
            limit_ms: time()?,
            uses,
            above: need(&t.above, "above")?,
            unread: t.unread.unwrap_or_default(),
        },
        "food_temperature" => Measure::FoodTemperature { limit: degrees()? },
        "start_temperature" => Measure::StartTemperature { limit: degrees()?, uses: uses_of(clock_uses)? },
        "day" => Measure::Day { limit: count()? },
        "cooled" => {
            let to = need(&t.to, "to")?;
            let from = t.from.as_ref().map(|d| d.read().map(Temperature::exact)).transpose()?;
            if from.is_some_and(|from| from <= to) {
                return Err(String::from("`from` lies above `to`"));
            }
            Measure::Cooled { limit_ms: time()?, to, from }
        }
        _ => return Err(format!("there is no measure `{name}`")),
    };
    Ok(Clause { measure, at_limit: t.at_limit.unwrap_or_default(), demand: t.verdict, text: Box::new(t) })
}

impl<'de> Deserialize<'de> for Rule {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Rule, D::Error> {
        #[derive(Deserialize)]
        #[serde(deny_unknown_fields)]
        struct Wire {
            rule: Id,
            name: Box<str>,
            returns: Returns,
            clauses: Vec<ClauseText>,
            source: Source,
        }
        let w = Wire::deserialize(d)?;
        RuleParts { rule: w.rule, name: w.name, returns: w.returns, clauses: w.clauses, source: w.source }
            .build()
            .map_err(serde::de::Error::custom)
    }
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
