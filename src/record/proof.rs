//! A copy of the record held against the ledger as it is now: which of its rows still agree. Pure.

use super::csv::COLUMNS;
use crate::ledger::Id;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};

/// What a file is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kind {
    /// Entries, a line each.
    Entries,
    /// The items' table.
    Table,
}

/// What a file is, as far as its first line tells; `None` if it is no record.
pub fn kind(text: &str) -> Option<Kind> {
    let first = text.trim_start_matches('\u{feff}').lines().find(|l| !l.trim().is_empty())?;
    if first.trim_end() == COLUMNS.join(",") {
        return Some(Kind::Table);
    }
    first.trim_start().starts_with('{').then_some(Kind::Entries)
}

/// What became of something in the file.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Found {
    /// It can't be read at all.
    Unreadable,
    /// The ledger has no such entry.
    Absent,
    /// The ledger has another entry of that number.
    Other,
    /// What it says is otherwise by now, in these columns.
    Differs(Vec<&'static str>),
    /// It is as the ledger has it.
    Agrees,
}

/// Something in the file: an item with its entries, or a line of the table.
#[derive(Clone, PartialEq, Debug)]
pub struct Row {
    /// What it is about: an item's id, a place's, or the kind of entry.
    pub about: String,
    /// Which of its lines, in a table.
    pub line: Option<usize>,
    /// How many entries say it.
    pub entries: usize,
    /// What became of it: the worst of them.
    pub found: Found,
    /// The numbers of those that don't agree.
    pub odd: Vec<u64>,
}

#[derive(Deserialize)]
struct Said {
    seq: u64,
    kind: String,
    item: Option<String>,
    place: Option<String>,
}

fn said(line: &str) -> Option<Said> {
    serde_json::from_str(line).ok()
}

/// The numbers of the entries that a file of entries has, in order.
pub fn numbers(text: &str) -> Vec<u64> {
    let all: BTreeSet<u64> = text.lines().filter_map(said).map(|s| s.seq).collect();
    all.into_iter().collect()
}

/// Entries against the ledger's lines, item by item in the order of the file.
pub fn entries(text: &str, ledger: &BTreeMap<u64, String>) -> Vec<Row> {
    let (mut rows, mut at): (Vec<Row>, BTreeMap<String, usize>) = (Vec::new(), BTreeMap::new());
    for (n, line) in text.lines().enumerate().filter(|(_, l)| !l.trim().is_empty()) {
        let (about, seq, found) = match said(line) {
            None => (format!("#{}", n + 1), 0, Found::Unreadable),
            Some(s) => {
                let found = match ledger.get(&s.seq) {
                    None => Found::Absent,
                    Some(kept) if kept.as_str() == line.trim_end() => Found::Agrees,
                    Some(_) => Found::Other,
                };
                (s.item.or(s.place).unwrap_or(s.kind), s.seq, found)
            }
        };
        let i = *at.entry(about.clone()).or_insert(rows.len());
        if i == rows.len() {
            rows.push(Row { about, line: None, entries: 0, found: Found::Agrees, odd: Vec::new() });
        }
        let row = &mut rows[i];
        row.entries += 1;
        if found != Found::Agrees {
            row.odd.push(seq);
        }
        row.found = row.found.clone().min(found);
    }
    rows
}

/// A line of the table as it was read.
pub struct Line {
    /// The item.
    pub item: Option<Id>,
    /// Which of its lines.
    pub line: usize,
    /// The entry it names, and that entry's hash.
    pub entry: (u64, String),
    cells: Vec<String>,
}

/// Reads a table; which line of the file cannot be read, if one can't.
pub fn table(text: &str) -> Result<Vec<Line>, usize> {
    let mut reader = ::csv::ReaderBuilder::new().from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let at = |name: &str| COLUMNS.iter().position(|c| *c == name).unwrap_or_default();
    let (item, line, entry, hash) = (at("item"), at("line"), at("entry"), at("hash"));
    let mut lines = Vec::new();
    for (n, row) in reader.records().enumerate() {
        let row = row.map_err(|_| n + 2)?;
        let cells: Vec<String> = row.iter().map(str::to_owned).collect();
        let (Ok(of), Ok(seq)) = (cells[line].parse(), cells[entry].parse()) else { return Err(n + 2) };
        lines.push(Line { item: Id::new(&cells[item]), line: of, entry: (seq, cells[hash].clone()), cells });
    }
    Ok(lines)
}

/// A line of the table against the ledger: the hash its entry has there, and the same line as it would be written now.
pub fn line(l: &Line, hash: Option<&str>, now: Option<&[String]>) -> Row {
    let found = match (hash, now) {
        (None, _) => Found::Absent,
        (Some(hash), _) if hash != l.entry.1 => Found::Other,
        (_, None) => Found::Differs(vec!["line"]),
        (_, Some(now)) => {
            let differ = COLUMNS.iter().zip(l.cells.iter().zip(now)).filter(|(_, (was, is))| was != is);
            let differ: Vec<&'static str> = differ.map(|(name, _)| *name).collect();
            if differ.is_empty() { Found::Agrees } else { Found::Differs(differ) }
        }
    };
    let about = l.item.as_ref().map_or_else(String::new, Id::to_string);
    let odd = if found == Found::Agrees { Vec::new() } else { vec![l.entry.0] };
    Row { about, line: Some(l.line), entries: 1, found, odd }
}
