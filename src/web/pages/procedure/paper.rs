//! A document as a page shows it: sections, and in them lines by what they are about.

use crate::lang;
use crate::people::Names;
use crate::record::procedure::{Changed, Document, How, Line};

/// The document, for reading.
pub(super) struct Paper {
    /// The language it was written in.
    pub(super) language: String,
    pub(super) sections: Vec<Part>,
}

pub(super) struct Part {
    pub(super) id: String,
    pub(super) title: String,
    pub(super) groups: Vec<Group>,
}

/// Lines about one thing; without a name where they are about the shop.
pub(super) struct Group {
    pub(super) name: String,
    pub(super) lines: Vec<(String, Vec<String>)>,
}

impl Paper {
    pub(super) fn of(document: &Document, names: &Names) -> Paper {
        let part = |s: &crate::record::procedure::Section| Part {
            id: s.id.clone(),
            title: s.title.clone(),
            groups: groups(&s.lines, names),
        };
        Paper { language: document.language.clone(), sections: document.sections.iter().map(part).collect() }
    }
}

fn groups(lines: &[Line], names: &Names) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for line in lines {
        let said = (line.ask.clone(), line.shown(names));
        match groups.last_mut().filter(|g| g.name == line.group) {
            Some(group) => group.lines.push(said),
            None => groups.push(Group { name: line.group.clone(), lines: vec![said] }),
        }
    }
    groups
}

/// What became of something, in a word.
pub(super) fn how(how: How) -> &'static str {
    match how {
        How::Added => lang::procedure_added(),
        How::Removed => lang::procedure_removed(),
        How::Changed => lang::procedure_changed(),
    }
}

/// What of the set-up changed, in a line.
pub(super) fn changed(c: &Changed) -> String {
    let kind = match c.kind.as_str() {
        "rule" => lang::procedure_kind_rule(),
        "product" => lang::procedure_kind_product(),
        "place" => lang::procedure_kind_place(),
        _ => lang::procedure_kind_shop(),
    };
    lang::procedure_fact(how(c.how), kind, &c.name)
}
