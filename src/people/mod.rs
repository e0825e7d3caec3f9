//! The people room: who acts, and what their role lets them do.

pub mod tokens;

use crate::ledger::Id;
use serde::{Deserialize, Serialize};

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
}
