//! Temperatures in tenths, compared exactly across Celsius and Fahrenheit, never by a rounded conversion.

use serde::{Deserialize, Deserializer, Serialize};
use serde_json::value::RawValue;
use std::fmt;
use utoipa::ToSchema;

/// `C`: degrees Celsius. `F`: degrees Fahrenheit.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize, ToSchema)]
pub enum Unit {
    /// Celsius.
    C,
    /// Fahrenheit.
    F,
}

/// A temperature as it was read: tenths of a degree and the unit.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Temperature {
    /// Tenths of a degree of `unit`.
    pub tenths: i32,
    /// The unit it was read in.
    pub unit: Unit,
}

impl Temperature {
    /// 5.0 °C, the limit under which a food reading ends a chill-down time.
    pub const CHILLED: Temperature = Temperature { tenths: 50, unit: Unit::C };

    /// A common scale on which both units are whole numbers: fiftieths of a degree Fahrenheit.
    pub fn exact(self) -> i64 {
        match self.unit {
            Unit::C => i64::from(self.tenths) * 9 + 1600,
            Unit::F => i64::from(self.tenths) * 5,
        }
    }

    /// Reads a decimal with at most one digit after the point; refuses what no thermometer of food reads
    /// (below −90 °C or −130 °F, above 300 °C or 572 °F).
    pub fn parse(text: &str, unit: Unit) -> Result<Temperature, &'static str> {
        let tenths = tenths(text).ok_or("a temperature is a decimal with one digit after the point, like \"4.5\"")?;
        let (low, high) = match unit {
            Unit::C => (-900, 3000),
            Unit::F => (-1300, 5720),
        };
        if !(low..=high).contains(&tenths) {
            return Err("that is not a temperature of food or its surroundings");
        }
        Ok(Temperature { tenths, unit })
    }

    /// The value with one decimal, without unit.
    pub fn value(self) -> String {
        self.to_string()
    }
}

fn tenths(text: &str) -> Option<i32> {
    let (minus, digits) = text.strip_prefix('-').map_or((false, text), |d| (true, d));
    let (whole, part) = digits.split_once('.').unwrap_or((digits, "0"));
    let numeric = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    if !numeric(whole) || !numeric(part) || whole.len() > 5 || part.len() != 1 {
        return None;
    }
    let n = whole.parse::<i32>().ok()? * 10 + part.parse::<i32>().ok()?;
    Some(if minus { -n } else { n })
}

impl fmt::Display for Temperature {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.tenths < 0 { "-" } else { "" };
        let n = self.tenths.unsigned_abs();
        write!(f, "{sign}{}.{}", n / 10, n % 10)
    }
}

/// The text of a decimal as it stood in the JSON, whether string or number.
#[derive(Clone, Debug)]
pub struct Decimal(pub String);

impl<'de> Deserialize<'de> for Decimal {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Decimal, D::Error> {
        let raw = Box::<RawValue>::deserialize(d)?;
        let text = raw.get();
        if text.starts_with('"') {
            return serde_json::from_str(text).map(Decimal).map_err(serde::de::Error::custom);
        }
        Ok(Decimal(text.to_owned()))
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Wire {
    value: Decimal,
    unit: Unit,
}

impl<'de> Deserialize<'de> for Temperature {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Temperature, D::Error> {
        let w = Wire::deserialize(d)?;
        Temperature::parse(&w.value.0, w.unit)
            .map_err(|why| serde::de::Error::custom(format_args!("bad-temperature|{why}")))
    }
}

impl Serialize for Temperature {
    fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        use serde::ser::SerializeStruct;
        let mut o = s.serialize_struct("Temperature", 2)?;
        o.serialize_field("value", &self.value())?;
        o.serialize_field("unit", &self.unit)?;
        o.end()
    }
}
