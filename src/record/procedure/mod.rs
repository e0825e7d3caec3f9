//! The written procedure: a document of questions and answers, made from the shop's live set-up and from what only its
//! people know. A version is kept as it was approved, whatever becomes of the set-up. Pure, but for the statements.

mod compare;
pub mod fields;
mod force;
mod generate;
pub mod print;
pub mod sql;

pub use compare::{Change, Changed, Difference, How, compare, since};
pub use fields::{Fault, Missing, Typed, faults, hinders, missing};
pub use force::{Approval, Due, Period, Shelf, Version, approved_as, due, reference, what};
pub use generate::{Shop, document};

use crate::lang;
use crate::ledger::Id;
use crate::people::{Names, Role};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// The shape of the documents that are kept.
const FORMAT: u32 = 1;

/// A written procedure, complete: what is kept of a version is this as JSON.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Document {
    /// The shape of this document.
    pub format: u32,
    /// The language it is written in, as BCP 47 has it.
    pub language: String,
    /// The shop's name.
    pub shop: String,
    /// What it says.
    pub sections: Vec<Section>,
    /// What of the set-up it was made from, to tell whether that has changed since.
    pub facts: Facts,
    /// What people wrote, by field: where the next version begins.
    pub typed: BTreeMap<String, String>,
}

/// By kind (`rule`, `product`, `place`) and id: the name, and what it stands for.
pub type Facts = BTreeMap<String, BTreeMap<String, (String, String)>>;

/// A section.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Section {
    /// Stable.
    pub id: String,
    /// Its heading.
    pub title: String,
    /// In order; lines of one group follow each other.
    pub lines: Vec<Line>,
}

/// A question and its answer.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Line {
    /// Stable; of something people wrote, the field's.
    pub id: String,
    /// What it is about: a rule, a product.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub group: String,
    /// The question.
    pub ask: String,
    /// The answer, a paragraph each; none where it is still to be filled in.
    pub answer: Vec<String>,
    /// Who works here: names are joined on reading, so that they can be erased.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub people: Vec<Person>,
}

/// Somebody who works in the shop, and as what.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Person {
    /// Who.
    pub person: Id,
    /// What they may do.
    pub role: Role,
}

impl Line {
    /// The answer as people read it.
    pub fn shown(&self, names: &Names) -> Vec<String> {
        let person = |p: &Person| lang::procedure_person(&Names::isolated(names.of(&p.person)), role(p.role));
        self.answer.iter().cloned().chain(self.people.iter().map(person)).collect()
    }

    /// Whether there is an answer.
    pub fn is_answered(&self) -> bool {
        !(self.answer.is_empty() && self.people.is_empty())
    }
}

fn role(role: Role) -> &'static str {
    match role {
        Role::Staff => lang::role_staff(),
        Role::Manager => lang::role_manager(),
        Role::Inspector => lang::role_inspector(),
        Role::Probe => lang::role_probe(),
    }
}

impl Document {
    /// As it is kept, and the SHA-256 of that in lower-case hex.
    pub fn sealed(&self) -> (String, String) {
        let text = serde_json::to_string(self).unwrap_or_default();
        let hash = hash(&text);
        (text, hash)
    }

    /// From what was kept.
    pub fn read(text: &str) -> Option<Document> {
        serde_json::from_str(text).ok()
    }

    /// The next review's date, as it was written down.
    pub fn review_on(&self) -> Option<&str> {
        self.typed.get(fields::REVIEW_ON).map(String::as_str)
    }
}

/// The SHA-256 of a version's text, in lower-case hex.
pub fn hash(text: &str) -> String {
    hex::encode(Sha256::digest(text.as_bytes()))
}
