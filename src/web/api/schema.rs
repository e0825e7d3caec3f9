//! Schemas that no derive makes: of ids and instants, of entries (written by hand in `entry.schema.json`), and of the
//! answers that are put together as text.

use crate::clock::Instant;
use crate::exposure::Spell;
use crate::ledger::Id;
use crate::rules::Standing;
use utoipa::openapi::schema::{ObjectBuilder, Type};
use utoipa::openapi::{KnownFormat, RefOr, Schema, SchemaFormat};
use utoipa::{PartialSchema, ToSchema};

/// The entries' schemas, one a kind, with examples that can be posted in their order.
pub const ENTRIES: &str = include_str!("entry.schema.json");

// The rooms that keep ids and instants don't know how the API words them.
impl PartialSchema for Id {
    fn schema() -> RefOr<Schema> {
        let id = ObjectBuilder::new()
            .schema_type(Type::String)
            .pattern(Some("^[A-Za-z0-9._-]{1,40}$"))
            .description(Some("An id: letters, digits, `.`, `_`, `-`, 1 to 40 of them. It never changes meaning."))
            .examples(["tub-3"]);
        id.into()
    }
}

impl ToSchema for Id {}

impl PartialSchema for Instant {
    fn schema() -> RefOr<Schema> {
        let instant = ObjectBuilder::new()
            .schema_type(Type::String)
            .format(Some(SchemaFormat::KnownFormat(KnownFormat::DateTime)))
            .description(Some(
                "An instant, RFC 3339 with an offset. Answers give it in UTC with three decimals; what is sent finer \
                 than a millisecond is cut.",
            ))
            .examples(["2026-05-02T15:20:00.000Z"]);
        instant.into()
    }
}

impl ToSchema for Instant {}

/// Stands for the schema of that name in `entry.schema.json`.
#[derive(ToSchema)]
pub struct LedgerEntry {}

/// Stands for the schema of that name in `entry.schema.json`.
#[derive(ToSchema)]
pub struct Posted {}

/// Stands for the schema of that name in `entry.schema.json`.
#[derive(ToSchema)]
pub struct Entry {}

/// What was written. Once this is answered it is on disk.
#[derive(ToSchema)]
pub struct Written {
    /// The entries asked for, as the ledger keeps them, in the order in which they were asked for.
    pub entries: Vec<LedgerEntry>,
    /// Where the items they are about stand now, by id.
    pub standings: Vec<Standing>,
}

/// A part of the ledger, in order of `seq`.
#[derive(ToSchema)]
pub struct Tail {
    /// The entries.
    pub entries: Vec<LedgerEntry>,
    /// The `seq` of the ledger's last entry: where the answer ends with it, there is no more.
    pub head: u64,
}

/// A page of items, most urgent first: worst verdict, out before cold, least time left, then id.
#[derive(ToSchema)]
pub struct Items {
    /// Where they stand, all as of one instant.
    pub items: Vec<Standing>,
    /// The `cursor` of the next page, as of the same instant; `null` on the last page.
    #[schema(required)]
    pub next_cursor: Option<String>,
}

/// One item whole.
#[derive(ToSchema)]
pub struct Whole {
    /// Where it stands.
    pub standing: Standing,
    /// Its time out as stays that add up to `total_out_ms`, by time.
    pub spells: Vec<Spell>,
    /// The items that it went into.
    pub went_into: Vec<Id>,
    /// All entries about it with their corrections, in order of `seq`, as far as they happened by `as_of` and were
    /// recorded by `known_at`.
    pub entries: Vec<LedgerEntry>,
}

/// What went wrong, for a program and for a person: a problem of RFC 9457.
#[derive(ToSchema)]
pub struct Problem {
    /// `urn:counterclock:problem:` and the code.
    #[schema(format = "uri")]
    pub r#type: String,
    /// What is wrong, in a plain sentence that is the same for every problem of this code.
    pub title: String,
    /// The HTTP status.
    pub status: u16,
    /// Which problem it is; stable, for programs.
    pub code: String,
    /// What is wrong this time, in a plain sentence.
    pub detail: String,
    /// What to do next.
    pub next: String,
    /// Which entry of the request it is about, counted from 0; absent where it is about none.
    #[schema(required = false, nullable = false)]
    pub entry: Option<u64>,
}
