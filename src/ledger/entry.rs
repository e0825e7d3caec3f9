//! An entry: one thing that happened, as it is posted, kept, exported and read by `evaluate`.

use super::{Decimal, Id, Temperature, Unit};
use crate::clock::Instant;
use crate::rules::{Rule, Use};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use utoipa::ToSchema;

/// What the server adds to an entry, besides the chain.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Meta {
    /// 1, 2, 3 … per site.
    pub seq: u64,
    /// A person's or token's id.
    pub by: Option<Id>,
    /// `pin`, `name`, `password` or `token`.
    pub by_how: Option<ByHow>,
    /// The enrolled device.
    pub device: Option<Id>,
    /// When the server wrote it down.
    pub recorded_at: Option<Instant>,
}

impl Meta {
    /// Recorded minus happened, where that is over two minutes.
    pub fn late_ms(&self, at: Instant) -> Option<i64> {
        self.recorded_at.map(|r| r.since(at)).filter(|ms| *ms > 2 * crate::clock::MINUTE_MS)
    }
}

/// How a person showed who they are.
///
/// `pin`: a PIN on an enrolled device. `name`: by name alone, within hours of a PIN. `password`: a password. `token`: a
/// bearer token.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum ByHow {
    /// A PIN on an enrolled device.
    Pin,
    /// By name alone, within hours of a PIN.
    Name,
    /// A password.
    Password,
    /// A bearer token.
    Token,
}

/// One entry.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// When it happened.
    pub at: Instant,
    /// At most 500 characters.
    pub note: Option<Box<str>>,
    /// What happened.
    pub body: Body,
    /// What the server added.
    pub meta: Meta,
}

/// A time by which food must go, and a place's control, and so on: see each variant.
#[derive(Clone, Debug, PartialEq)]
pub enum Body {
    /// The shop.
    Site { name: Box<str>, zone: Box<str>, units: Unit },
    /// A place food can be.
    Place { place: Id, name: Box<str>, control: Control, r#use: Use },
    /// A rule taken into use.
    Rule(Box<Rule>),
    /// What the shop makes.
    Product(Box<Product>),
    /// An item begins.
    Item(Box<Begin>),
    /// It has these in it from now on.
    Join { item: Id, from: Vec<Id> },
    /// Out, back, anywhere.
    Move { item: Id, place: Id },
    /// A food temperature.
    FoodReading { item: Id, probed: Option<Id>, value: Temperature, probe: Option<Id> },
    /// An air temperature.
    AirReading { place: Id, value: Temperature, probe: Option<Id> },
    /// A place lost its temperature control.
    Lapse { place: Id, until: Option<Instant> },
    /// It has it again.
    Restore { place: Id },
    /// The item carries this time now.
    Mark { item: Id, discard_by: Instant, how: MarkHow, copy: u32 },
    /// Observed there.
    Seen { item: Id, place: Id },
    /// The end of the item's clock, or of part of it.
    Close { item: Id, r#as: CloseAs, count: Option<u32>, reason: Option<Box<str>> },
    /// What a person did about something.
    Decide { about: About, action: Action, reason: Box<str> },
    /// A manager puts it in force.
    Approve { what: Id, reference: Option<Box<str>> },
    /// An earlier entry is to be read otherwise.
    Correct { entry: u64, change: Change, reason: Box<str> },
    /// A manager has looked through that stretch.
    Review { from: Box<str>, to: Box<str> },
}

/// Whether a place keeps food `cold`, `frozen`, or neither (`none`).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Control {
    /// Cold.
    Cold,
    /// Frozen.
    Frozen,
    /// Neither.
    None,
}

/// How a mark got onto the item: `written` by hand or `printed`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum MarkHow {
    /// By hand.
    Written,
    /// Printed.
    Printed,
}

/// How an item ended. `served`, `sold`; `used`: all of it went into others; `handed-over`: given into others' hands for
/// good; `discarded`: thrown away; `lost`: nobody knows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CloseAs {
    /// Served.
    Served,
    /// Sold.
    Sold,
    /// All of it went into others.
    Used,
    /// Given into others' hands for good.
    HandedOver,
    /// Thrown away.
    Discarded,
    /// Nobody knows.
    Lost,
}

impl CloseAs {
    /// Whether somebody may eat it.
    pub fn eaten(self) -> bool {
        !matches!(self, CloseAs::Discarded | CloseAs::Lost)
    }
}

/// What a decision did. `acknowledge`: seen and known. `keep`: kept, with a reason. `corrected`: put right. `dismiss`: not
/// a matter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Action {
    /// Seen and known.
    Acknowledge,
    /// Kept, with a reason.
    Keep,
    /// Put right.
    Corrected,
    /// Not a matter.
    Dismiss,
}

/// What a decision is about.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum About {
    /// An entry.
    Seq(u64),
    /// An item or a place.
    Id(Id),
}

/// What a correction changes.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// The entry counts as not written.
    Void,
    /// These members read otherwise; `null` removes one; none restores the original.
    Set(Map<String, Value>),
}

impl Change {
    /// What the corrected entry would name besides its own item, where the correction says so.
    pub fn named(&self) -> Vec<Id> {
        let Change::Set(set) = self else { return Vec::new() };
        let parents = set.get("from").and_then(Value::as_array).into_iter().flatten();
        let others = ["probed", "about"].into_iter().filter_map(|name| set.get(name));
        parents.chain(others).filter_map(|v| Id::new(v.as_str()?)).collect()
    }
}

/// An item's beginning.
#[derive(Clone, Debug, PartialEq)]
pub struct Begin {
    /// Its id.
    pub item: Id,
    /// For people.
    pub name: Box<str>,
    /// Where it begins.
    pub place: Id,
    /// Its product.
    pub product: Option<Id>,
    /// Rules added to the product's.
    pub rules: Option<Vec<Id>>,
    /// What it was made from, filled with or split off.
    pub from: Option<Vec<Id>>,
    /// How many.
    pub count: Option<u32>,
    /// The lot.
    pub lot: Option<Box<str>>,
}

/// What the shop makes. Times in milliseconds.
#[derive(Clone, Debug, PartialEq)]
pub struct Product {
    /// Its id.
    pub product: Id,
    /// For people.
    pub name: Box<str>,
    /// The rules its items are under.
    pub rules: Vec<Id>,
    /// How long it counts as out after coming under control.
    pub chill_ms: Option<i64>,
    /// A hint: how long out until too soft to work.
    pub soft_ms: Option<i64>,
    /// A hint: how long cold until firm.
    pub firm_ms: Option<i64>,
    /// Why it needs no time control.
    pub exempt: Option<Exempt>,
}

/// Why a product needs no time control.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Exempt {
    /// Why, in words.
    pub reason: Box<str>,
    /// What shows it: a laboratory's report, a published list.
    pub evidence: Box<str>,
}

impl Body {
    /// The item it is about, if it is about one.
    pub fn item(&self) -> Option<&Id> {
        match self {
            Body::Item(b) => Some(&b.item),
            Body::Join { item, .. }
            | Body::Move { item, .. }
            | Body::FoodReading { item, .. }
            | Body::Mark { item, .. }
            | Body::Seen { item, .. }
            | Body::Close { item, .. } => Some(item),
            _ => None,
        }
    }

    /// What it was made from, filled with, joined to here.
    pub fn parents(&self) -> &[Id] {
        match self {
            Body::Item(b) => b.from.as_deref().unwrap_or(&[]),
            Body::Join { from, .. } => from,
            _ => &[],
        }
    }
}

impl Entry {
    /// See [`Body::item`].
    pub fn item(&self) -> Option<&Id> {
        self.body.item()
    }

    /// Its kind, as the ledger writes it.
    pub fn kind(&self) -> &'static str {
        match self.body {
            Body::Site { .. } => "site",
            Body::Place { .. } => "place",
            Body::Rule(_) => "rule",
            Body::Product(_) => "product",
            Body::Item(_) => "item",
            Body::Join { .. } => "join",
            Body::Move { .. } => "move",
            Body::FoodReading { .. } | Body::AirReading { .. } => "reading",
            Body::Lapse { .. } => "lapse",
            Body::Restore { .. } => "restore",
            Body::Mark { .. } => "mark",
            Body::Seen { .. } => "seen",
            Body::Close { .. } => "close",
            Body::Decide { .. } => "decide",
            Body::Approve { .. } => "approve",
            Body::Correct { .. } => "correct",
            Body::Review { .. } => "review",
        }
    }

    /// When a correction says that its entry happened, if it says so.
    pub fn corrected_at(&self) -> Option<Instant> {
        match &self.body {
            Body::Correct { change: Change::Set(set), .. } => set.get("at")?.as_str().and_then(Instant::parse),
            _ => None,
        }
    }

    /// The place whose cold or air it is about (not where an item goes).
    pub fn air_of(&self) -> Option<&Id> {
        match &self.body {
            Body::AirReading { place, .. } | Body::Lapse { place, .. } | Body::Restore { place } => Some(place),
            _ => None,
        }
    }

    /// Where it says that its item goes or begins.
    pub fn goes_to(&self) -> Option<&Id> {
        match &self.body {
            Body::Move { place, .. } => Some(place),
            Body::Item(b) => Some(&b.place),
            _ => None,
        }
    }

    /// Its place in the order of truth.
    pub fn key(&self) -> (Instant, u64) {
        (self.at, self.meta.seq)
    }

    /// Items it names besides its own; a decision's may be a place.
    pub fn named(&self) -> Vec<Id> {
        match &self.body {
            Body::FoodReading { probed: Some(id), .. } | Body::Decide { about: About::Id(id), .. } => vec![id.clone()],
            _ => self.parents().to_vec(),
        }
    }

    /// See [`Body::parents`].
    pub fn parents(&self) -> &[Id] {
        self.body.parents()
    }
}

/// The text of a decimal or of nothing, for the wire.
pub(super) fn temperature(value: Decimal, unit: Unit) -> Result<Temperature, String> {
    Temperature::parse(&value.0, unit).map_err(|why| format!("bad-temperature|{why}"))
}
