//! The people room: who acts, and what their role lets them do.

pub mod accesses;
pub mod codes;
mod commonest;
pub mod devices;
pub mod handovers;
pub mod hashing;
pub mod limits;
pub mod persons;
pub mod secret;
pub mod sessions;
pub mod tokens;
pub mod tries;

use crate::clock::Instant;
use crate::ledger::{ByHow, Id};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;
use std::sync::Arc;

/// What a person or token may do.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// Writes what happens at the bench.
    Staff,
    /// Writes everything.
    Manager,
    /// Reads everything, writes nothing.
    Inspector,
    /// Writes air readings only.
    Probe,
}

impl Role {
    /// As it is written.
    pub fn word(self) -> &'static str {
        match self {
            Role::Staff => "staff",
            Role::Manager => "manager",
            Role::Inspector => "inspector",
            Role::Probe => "probe",
        }
    }

    /// The role of that name.
    pub fn named(word: &str) -> Option<Role> {
        [Role::Staff, Role::Manager, Role::Inspector, Role::Probe].into_iter().find(|r| r.word() == word)
    }
}

/// Who acts: the entry's `by` and `by_how`, and the shops they may act in.
#[derive(Clone, PartialEq, Debug)]
pub struct Actor {
    /// The token's or person's id.
    pub by: Id,
    /// Its name, for showing.
    pub name: String,
    /// Its role.
    pub role: Role,
    /// The one shop it is for; none for all.
    pub site: Option<String>,
    /// How they showed who they are.
    pub how: ByHow,
    /// The enrolled device they act on.
    pub device: Option<Id>,
    /// The link that let them in, where one did.
    pub access: Option<Access>,
    /// The places whose air a probe may write; none for every place of its shop.
    pub places: Vec<Id>,
}

/// What an inspector's link lets whoever has it see.
#[derive(Clone, PartialEq, Debug)]
pub struct Access {
    /// Its id.
    pub id: Id,
    /// Until when.
    pub until: Instant,
    /// The only local dates, the first and the last, counted since 1970; none for all.
    pub within: Option<(i64, i64)>,
}

impl Actor {
    /// Who a token stands for.
    pub fn token(by: Id, name: &str, role: Role, site: Option<String>) -> Actor {
        Actor {
            by,
            name: name.to_owned(),
            role,
            site,
            how: ByHow::Token,
            device: None,
            access: None,
            places: Vec::new(),
        }
    }

    /// Whether the air of a place is theirs to write.
    pub fn measures(&self, place: &Id) -> bool {
        self.places.is_empty() || self.places.contains(place)
    }
}

/// Names by id, for showing: they are joined to entries on reading, and stand in none.
#[derive(Clone, Debug, Default)]
pub struct Names(Arc<HashMap<Id, String>>);

impl Names {
    /// From pairs; an erased name is empty.
    pub fn new(pairs: impl Iterator<Item = (Id, String)>) -> Names {
        Names(Arc::new(pairs.filter(|(_, name)| !name.is_empty()).collect()))
    }

    /// A name as it stands in a sentence: one in another script doesn't turn the sentence about it.
    pub fn isolated(name: &str) -> String {
        if name.is_ascii() { name.to_owned() } else { format!("\u{2068}{name}\u{2069}") }
    }

    /// The name, or the id where there is none any more.
    pub fn of<'a>(&'a self, id: &'a Id) -> &'a str {
        self.0.get(id).map_or(id.as_str(), String::as_str)
    }
}
