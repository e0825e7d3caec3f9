//! What changed: between two documents, section by section, and in the set-up since a document was made from it.

use super::{Document, Facts, Line, Section};
use crate::lang;
use crate::people::Names;

/// What became of an answer or of a thing.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum How {
    /// It is new.
    Added,
    /// It is gone.
    Removed,
    /// It reads otherwise.
    Changed,
}

/// A section in which something changed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Difference {
    /// Its heading.
    pub title: String,
    /// What changed in it.
    pub changes: Vec<Change>,
}

/// An answer that changed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Change {
    /// What became of it.
    pub how: How,
    /// What it is about, where that is a rule or a product.
    pub group: String,
    /// The question.
    pub ask: String,
    /// The answer before.
    pub was: Vec<String>,
    /// The answer now.
    pub is: Vec<String>,
}

/// What changed from one document to another; nothing if they say the same.
pub fn compare(a: &Document, b: &Document, names: &Names) -> Vec<Difference> {
    let none = Section { id: String::new(), title: String::new(), lines: Vec::new() };
    let of = |doc: &Document, id: &str| doc.sections.iter().find(|s| s.id == id).cloned();
    let added = b.sections.iter().filter(|s| of(a, &s.id).is_none());
    let ids = a.sections.iter().chain(added).map(|s| s.id.as_str());
    let difference = |id: &str| {
        let (was, is) = (of(a, id), of(b, id));
        let title = is.as_ref().or(was.as_ref()).map_or(String::new(), |s| s.title.clone());
        let changes = lines(&was.unwrap_or(none.clone()).lines, &is.unwrap_or(none.clone()).lines, names);
        (!changes.is_empty()).then_some(Difference { title, changes })
    };
    ids.filter_map(difference).collect()
}

fn lines(a: &[Line], b: &[Line], names: &Names) -> Vec<Change> {
    let shown = |line: Option<&Line>| line.map_or_else(Vec::new, |l| l.shown(names));
    let change = |was: Option<&Line>, is: Option<&Line>| {
        let line = is.or(was)?;
        let (was, is) = (shown(was), shown(is));
        let how = match (was.is_empty(), is.is_empty()) {
            _ if was == is => return None,
            (true, _) => How::Added,
            (_, true) => How::Removed,
            _ => How::Changed,
        };
        Some(Change { how, group: line.group.clone(), ask: line.ask.clone(), was, is })
    };
    let in_b = b.iter().map(|line| (a.iter().find(|l| l.id == line.id), Some(line)));
    let gone = a.iter().filter(|line| b.iter().all(|l| l.id != line.id)).map(|line| (Some(line), None));
    let mut changes: Vec<Change> = Vec::new();
    for (was, is) in in_b.chain(gone) {
        let renamed = was.zip(is).and_then(|(was, is)| renamed(was, is));
        changes.extend(renamed.filter(|c| !changes.contains(c)));
        changes.extend(change(was, is));
    }
    changes
}

/// What a line is about has another name; how a question is worded is no matter.
fn renamed(was: &Line, is: &Line) -> Option<Change> {
    let name = |l: &Line| if l.id.starts_with("place.") { l.ask.clone() } else { l.group.clone() };
    let (old, new) = (name(was), name(is));
    let (how, ask) = (How::Changed, lang::procedure_name().to_owned());
    (old != new).then(|| Change { how, group: new.clone(), ask, was: vec![old], is: vec![new] })
}

/// Something of the set-up that is no longer as a document has it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Changed {
    /// `shop`, `rule`, `product`, `place`.
    pub kind: String,
    /// Its name now, or the last one.
    pub name: String,
    /// What became of it.
    pub how: How,
}

/// What of the set-up changed since a document was made.
pub fn since(then: &Facts, now: &Facts) -> Vec<Changed> {
    let mut found = Vec::new();
    let kinds = now.keys().chain(then.keys().filter(|k| !now.contains_key(*k)));
    for kind in kinds {
        let none = Default::default();
        let (was, is) = (then.get(kind).unwrap_or(&none), now.get(kind).unwrap_or(&none));
        let mut add = |name: &str, how| found.push(Changed { kind: kind.clone(), name: name.to_owned(), how });
        for (id, fact) in is {
            match was.get(id) {
                None => add(&fact.0, How::Added),
                Some(before) if before != fact => add(&fact.0, How::Changed),
                Some(_) => {}
            }
        }
        for (_, fact) in was.iter().filter(|(id, _)| !is.contains_key(*id)) {
            add(&fact.0, How::Removed);
        }
    }
    found
}
