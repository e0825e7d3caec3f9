//! The items room: what people hold in their hands. Tags tied to items and racks, and racks, which are sets of items.
//! The ledger knows neither: a rack's move is a move of each item.

pub mod sql;
pub mod tag;

pub use tag::Tag;

use crate::clock::Instant;
use crate::ledger::Id;

/// What a tag is on.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Tied {
    /// An item.
    Item(Id),
    /// A rack.
    Rack(Id),
}

/// A time that a tag was on something.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Tie {
    /// What it was on.
    pub what: Tied,
    /// Since when.
    pub from: Instant,
    /// Who tied it.
    pub by: Id,
    /// Until when; none while it is on it.
    pub until: Option<Instant>,
}

/// A rack that things stand on.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Rack {
    /// Its id.
    pub rack: Id,
    /// For people.
    pub name: String,
    /// What was put on it and not taken off, in the order of that. Some may have closed since.
    pub items: Vec<Id>,
}

/// A sheet of tags, made and printed together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Sheet {
    /// Its id.
    pub sheet: String,
    /// When it was made.
    pub made_at: Instant,
    /// How many tags are on it.
    pub tags: usize,
    /// How many of them are on something.
    pub tied: usize,
}

/// Most tags on a sheet.
pub const SHEET_TAGS: usize = 120;
/// Most racks of a shop.
pub const RACKS: usize = 200;
/// Most items on a rack.
pub const RACK_ITEMS: usize = 200;
