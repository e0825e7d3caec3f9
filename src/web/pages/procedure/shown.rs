//! The page that shows a document: what is in force, a version, or a manager's draft.

use super::paper::Paper;
use super::stamp;
use crate::clock::Instant;
use crate::lang;
use crate::ledger::Id;
use crate::people::persons::Member;
use crate::people::{Names, Role};
use crate::web::pages::{Asked, Shell};
use crate::web::service::Look;
use crate::web::show::Show;
use askama::Template;

/// The page.
#[derive(Template)]
#[template(path = "procedure/shown.html")]
pub(super) struct Shown {
    shell: Shell,
    title: String,
    /// Its number, where it has one.
    pub(super) version: Option<u32>,
    /// When it was in force, by whom, when its review is due.
    pub(super) said: Vec<String>,
    /// What is wrong about it.
    pub(super) warns: Vec<String>,
    /// What of the set-up has changed since.
    pub(super) changed: Vec<String>,
    pub(super) paper: Option<Paper>,
    /// Who has read it.
    pub(super) readers: Option<Vec<Reader>>,
    /// Of a draft: the hash of what is shown, and what keeps it from being approved.
    pub(super) draft: Option<Waits>,
}

/// What an approval of a draft waits for.
pub(super) struct Waits {
    /// The hash of what is shown.
    pub(super) seen: String,
    /// A field's key and a sentence each.
    pub(super) hinders: Vec<(String, String)>,
    /// Who would approve it.
    pub(super) name: String,
    /// What changes with it: sections and their lines.
    pub(super) changes: Vec<super::versions::Table>,
    /// Whether another version is in force.
    pub(super) replaces: Option<u32>,
}

/// Somebody who works here, and when they read it.
pub(super) struct Reader {
    name: String,
    read_at: Option<String>,
}

impl Reader {
    /// Everybody who works here, those first who have yet to read it.
    pub(super) fn all(members: &[Member], readers: &[(Id, Instant)], show: Show) -> Vec<Reader> {
        let works = |m: &&Member| m.disabled_at.is_none() && m.role != Role::Inspector;
        let reader = |m: &Member| Reader {
            name: Names::isolated(&m.name),
            read_at: readers.iter().find(|(id, _)| *id == m.person).map(|(_, at)| stamp(show, *at)),
        };
        let mut all: Vec<Reader> = members.iter().filter(works).map(reader).collect();
        all.sort_by_key(|r| r.read_at.is_some());
        all
    }

    /// Their name, and when they read it, in words.
    pub(super) fn words(self) -> (String, String) {
        (self.name, self.read_at.unwrap_or_else(|| lang::procedure_unread().to_owned()))
    }
}

impl Shown {
    pub(super) fn of(look: &Look, asked: &Asked, title: String, paper: Paper) -> Shown {
        Shown {
            shell: Shell::of(&look.state, look.now, asked),
            title,
            version: None,
            said: Vec::new(),
            warns: Vec::new(),
            changed: Vec::new(),
            paper: Some(paper),
            readers: None,
            draft: None,
        }
    }

    /// No version is in force.
    pub(super) fn none(look: &Look, asked: &Asked) -> Shown {
        let nothing = Paper { language: String::new(), sections: Vec::new() };
        let page = Shown::of(look, asked, lang::procedure_title().to_owned(), nothing);
        Shown { paper: None, warns: vec![lang::procedure_none().to_owned()], ..page }
    }
}
