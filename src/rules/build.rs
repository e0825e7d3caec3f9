//! From the words of a rule to clauses that can be measured; what doesn't fit is said in a sentence.

use super::{Clause, ClauseText, Demand, Limit, LimitTemperature, Measure, Returns, Rule, Source, Use, Uses};
use crate::clock::{HOUR_MS, MINUTE_MS, SECOND_MS};
use crate::ledger::{Id, Object, Temperature, Unit};
use serde::de::value::MapAccessDeserializer;
use serde::de::{Error, MapAccess, Visitor};
use serde::{Deserialize, Deserializer};
use std::fmt;

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
        "start_temperature" => Measure::StartTemperature {
            limit: degrees()?,
            uses: uses_of(clock_uses)?,
            kept: t.verdict != Demand::Deviation,
        },
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

impl<'de> Deserialize<'de> for LimitTemperature {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<LimitTemperature, D::Error> {
        #[derive(Deserialize)]
        #[serde(deny_unknown_fields)]
        struct Wire {
            value: Box<str>,
            unit: Unit,
        }
        let Object(w) = Object::<Wire>::deserialize(d)?;
        let value = Temperature::parse(&w.value, w.unit)
            .map_err(|why| D::Error::custom(format_args!("bad-temperature|{why}")))?;
        Ok(LimitTemperature { value: value.value().into(), unit: w.unit })
    }
}

impl<'de> Deserialize<'de> for Limit {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Limit, D::Error> {
        struct V;
        impl<'de> Visitor<'de> for V {
            type Value = Limit;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a time like \"PT2H\", a count or a temperature")
            }
            fn visit_u64<E: Error>(self, n: u64) -> Result<Limit, E> {
                u32::try_from(n).map(Limit::Count).map_err(|_| E::custom("bad-member|that count is too large"))
            }
            fn visit_i64<E: Error>(self, n: i64) -> Result<Limit, E> {
                u32::try_from(n).map(Limit::Count).map_err(|_| E::custom("bad-member|a count is not negative"))
            }
            fn visit_str<E: Error>(self, text: &str) -> Result<Limit, E> {
                Ok(Limit::Time(text.into()))
            }
            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Limit, A::Error> {
                LimitTemperature::deserialize(MapAccessDeserializer::new(map)).map(Limit::Temperature)
            }
        }
        d.deserialize_any(V)
    }
}

impl<'de> Deserialize<'de> for Rule {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Rule, D::Error> {
        #[derive(Deserialize)]
        #[serde(deny_unknown_fields)]
        struct Wire {
            rule: Id,
            name: Box<str>,
            returns: Returns,
            clauses: Vec<Object<ClauseText>>,
            source: Object<Source>,
        }
        let w = Wire::deserialize(d)?;
        let clauses = w.clauses.into_iter().map(|c| c.0).collect();
        RuleParts { rule: w.rule, name: w.name, returns: w.returns, clauses, source: w.source.0 }
            .build()
            .map_err(D::Error::custom)
    }
}
