//! The pages: one file a screen, its template beside it. Each is a struct that a pure function builds from the ledger.

mod access;
mod acting;
mod acts;
mod away;
pub mod board;
mod boards;
mod check_record;
mod cold;
mod correct;
pub mod day;
mod decisions;
pub mod devices;
mod earlier;
mod end;
pub mod enrol;
pub mod forms;
mod found;
mod frame;
pub mod handlers;
mod history;
mod inspect;
pub mod item;
mod join;
pub mod known;
pub mod label;
mod label_check;
mod labels;
mod live;
mod log;
mod mark;
mod moves;
mod naming;
pub mod new_item;
mod notices;
pub mod people;
mod plan;
pub(super) mod printing;
pub mod problem;
mod procedure;
mod publish;
mod qr;
pub mod rack;
mod racking;
mod recall;
pub mod record;
mod round;
mod rounds;
pub mod rows;
mod rules;
mod said;
pub mod scan;
mod scanning;
pub mod session;
pub mod set_up;
pub mod shop;
pub mod sign_in;
mod signal;
mod split;
pub mod tag;
mod tagging;
pub mod tags;
mod taps;
mod task;
mod temperature;
mod tile;
mod tying;
mod undo;
pub mod visitor;
mod wall;
mod was_out;
mod words;
mod working;

pub use handlers::{ROUTES, routes};

use super::assets;
use super::show::Show;
use crate::clock::Instant;
use crate::lang;
use crate::ledger::{Id, Place, State};
use crate::people::{Actor, Names, Role};
use crate::record::account::Named;

/// What a page is asked with, besides the ledger.
#[derive(Clone, Default)]
pub struct Asked<'a> {
    /// The shop's id in addresses.
    pub site: &'a str,
    /// The way from this page to the service's root, like `../../`: so any base path works.
    pub root: &'a str,
    /// Who looks.
    pub viewer: Option<&'a Actor>,
    /// Makes a double tap harmless: every form of the page carries it.
    pub key: &'a str,
    /// What just happened.
    pub notice: Option<Notice>,
    /// The names of whoever wrote entries.
    pub names: Names,
    /// Whether other shops are the viewer's too.
    pub several: bool,
}

/// What just happened, in a line or two at the top of a page.
#[derive(Clone, Default)]
pub struct Notice {
    /// Whether nothing was written.
    pub bad: bool,
    /// The sentence.
    pub text: String,
    /// What to do next.
    pub next: String,
    /// The item and the entries, by number, that one touch takes back.
    pub undo: Option<(Id, String)>,
    /// The item that `offers` are about.
    pub about: Option<Id>,
    /// What may be meant instead.
    pub offers: Vec<Offer>,
    /// What has just gone out and is to be marked.
    pub mark: Option<mark::Offer>,
    /// What has just come somewhere and may be planned to be moved on.
    pub plan: Option<working::Offer>,
}

/// A way on from a notice.
#[derive(Clone)]
pub struct Offer {
    /// The last part of the address behind the item's.
    pub what: &'static str,
    /// On it.
    pub label: &'static str,
}

/// What every page has around it.
pub struct Shell {
    /// See [`Asked`].
    pub root: String,
    /// See [`Asked`].
    pub site: String,
    /// The shop's name.
    pub shop: String,
    /// The server's now, for the script to count from.
    pub now_ms: i64,
    /// The same for people.
    pub as_of: String,
    /// Who looks.
    pub viewer: Option<String>,
    /// Their id, for what waits on the device to be theirs.
    pub person: String,
    /// Whether they may write.
    pub may_write: bool,
    /// Whether they manage the shop.
    pub may_manage: bool,
    /// Whether somebody else may take over on this device.
    pub shared: bool,
    /// See [`Asked`].
    pub several: bool,
    /// See [`Asked`].
    pub key: String,
    /// See [`Asked`].
    pub notice: Option<Notice>,
    /// What the form that takes something back carries, by name, so that it leads here again.
    pub back: Vec<(&'static str, String)>,
}

impl Shell {
    /// Around a page of a shop.
    pub fn of(state: &State, now: Instant, asked: &Asked) -> Shell {
        let may_write = asked.viewer.is_some_and(|a| matches!(a.role, Role::Staff | Role::Manager));
        Shell {
            shop: state.site.as_ref().map_or_else(|| asked.site.to_owned(), |s| s.name.to_string()),
            as_of: Show::of(state, now).clock(now),
            now_ms: now.0,
            may_write,
            may_manage: asked.viewer.is_some_and(|a| a.role == Role::Manager),
            ..Shell::bare(asked)
        }
    }

    /// The languages to choose from: tag, own name, and whether it is the one in force.
    pub fn languages(&self) -> Vec<(&'static str, &'static str, bool)> {
        lang::ALL.into_iter().map(|(lang, name)| (lang.tag(), name, lang == lang::spoken())).collect()
    }

    /// Around a page of no shop.
    pub fn bare(asked: &Asked) -> Shell {
        Shell {
            root: asked.root.to_owned(),
            site: asked.site.to_owned(),
            shop: String::new(),
            now_ms: 0,
            as_of: String::new(),
            viewer: asked.viewer.map(|a| Names::isolated(&a.name)),
            person: asked.viewer.map_or_else(String::new, |a| a.by.to_string()),
            may_write: false,
            may_manage: false,
            several: asked.several,
            shared: asked.viewer.is_some_and(|a| a.device.is_some()),
            key: asked.key.to_owned(),
            notice: asked.notice.clone(),
            back: Vec::new(),
        }
    }

    fn asset(&self, name: &str) -> String {
        format!("{}{}", self.root, assets::address(name))
    }

    fn board(&self) -> String {
        format!("{}s/{}/", self.root, self.site)
    }

    fn item(&self, id: &Id) -> String {
        format!("{}items/{id}", self.board())
    }
}

/// One thing to choose from.
pub struct Choice {
    /// Its id.
    pub id: Id,
    /// Its name.
    pub name: String,
    /// A word more.
    pub more: String,
    /// Whether it is chosen already.
    pub chosen: bool,
}

impl Choice {
    /// A place, with whether it is cold.
    fn place(p: &Place, chosen: bool) -> Choice {
        let more = words::control(p.control).to_owned();
        Choice { id: p.place.clone(), name: p.name.to_string(), more, chosen }
    }
}

/// The way back to the root from a path as the service sees it.
pub fn root_of(path: &str) -> String {
    match path.matches('/').count() {
        0 | 1 => String::from("./"),
        n => "../".repeat(n - 1),
    }
}

/// An item's name, or its id where it isn't at hand.
fn name_of(state: &State, id: &Id) -> String {
    Named::item(state, id).name
}

/// A place's name, or its id.
fn place_name(state: &State, id: &Id) -> String {
    Named::place(state, id).name
}

/// A rule's name, or its id.
fn rule_name(state: &State, id: &Id) -> String {
    state.rule(id, u64::MAX).map_or_else(|| id.to_string(), |r| crate::words::rule_name(&r))
}

/// The patterns by which the script writes time that is left: the messages with places kept open.
fn span_patterns() -> [String; 3] {
    [lang::left_out("{t}"), lang::minutes("{m}"), lang::hours_minutes("{h}", "{m}")]
}
