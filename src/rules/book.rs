//! The built-in rule book, read once from its TOML.

use super::Rule;
use crate::lang;
use crate::ledger::Id;
use serde::Deserialize;
use std::sync::{Arc, LazyLock};

/// Shown wherever a rule is shown.
pub fn defers() -> &'static str {
    lang::defers()
}

#[derive(Deserialize)]
struct Book {
    rule: Vec<Rule>,
}

static BOOK: LazyLock<Vec<Arc<Rule>>> = LazyLock::new(|| {
    let book: Book = toml::from_str(include_str!("book.toml")).expect("the built-in rule book is valid");
    book.rule.into_iter().map(Arc::new).collect()
});

/// All of it, in its own order.
pub fn all() -> &'static [Arc<Rule>] {
    &BOOK
}

/// The built-in rule of that id.
pub fn built_in(id: &Id) -> Option<Arc<Rule>> {
    BOOK.iter().find(|r| r.rule == *id).cloned()
}
