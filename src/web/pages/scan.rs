//! Finding a thing by its tag: with the camera where the browser can read codes, or typed on large keys. Each key works
//! without script too: it asks for this page again with one symbol more.

use super::{Asked, Shell, name_of};
use crate::clock::Instant;
use crate::items::tag::{LENGTH, SYMBOLS, symbols};
use crate::items::{Rack, Tag};
use crate::lang;
use crate::ledger::{Id, State};
use askama::Template;

/// What the code is for.
#[derive(Clone, Debug, PartialEq)]
pub enum For {
    /// To go where it leads.
    Finding,
    /// To tie it to an item.
    Item(Id),
    /// To put what it is on onto a rack.
    Rack(Id),
}

/// The page.
#[derive(Template)]
#[template(path = "scan.html")]
pub struct Scan {
    shell: Shell,
    /// The field that keeps what it is for, and its value.
    kept: Option<(&'static str, Id)>,
    title: String,
    code: String,
    /// The code in two groups, with blanks for what is missing.
    shown: String,
    /// Where a whole code is sent; empty where it is gone to.
    action: String,
    go: String,
    keys: Vec<char>,
    /// The way back to what it is for.
    back: Option<(String, String)>,
    /// The code that was read just before, which is not read again.
    last: String,
    /// Whether the camera was in use and goes on.
    camera: bool,
}

/// A code, and how the page goes on from the one before.
#[derive(Default)]
pub struct Typed<'a> {
    /// As far as it is typed.
    pub code: &'a str,
    /// The code read before.
    pub last: &'a str,
    /// Whether the camera goes on.
    pub camera: bool,
}

/// The code after a key was pressed; what isn't a symbol changes nothing.
pub fn pressed(code: &str, press: &str) -> String {
    let mut code = symbols(code).unwrap_or_default();
    match press {
        "back" => _ = code.pop(),
        "clear" => code.clear(),
        _ => code = symbols(&format!("{code}{press}")).unwrap_or(code),
    }
    code
}

/// Builds it.
pub fn build(state: &State, now: Instant, (what, racks): (&For, &[Rack]), typed: &Typed, asked: &Asked) -> Scan {
    let code = typed.code;
    let shell = Shell::of(state, now, asked);
    let (kept, title, action, go, back) = match what {
        For::Finding => (None, lang::scan_title().to_owned(), String::new(), lang::scan_go().to_owned(), None),
        For::Item(id) => {
            let name = name_of(state, id);
            let action = format!("{}/tag", shell.item(id));
            let (title, go) = (lang::item_tag_title(&name), lang::item_tag_go().to_owned());
            (Some(("item", id.clone())), title, action, go, Some((shell.item(id), name)))
        }
        For::Rack(id) => {
            let name = racks.iter().find(|r| r.rack == *id).map_or_else(|| id.to_string(), |r| r.name.clone());
            let at = format!("{}racks/{id}", shell.board());
            let (title, go) = (lang::scan_rack_title(&name), lang::put_on(&name));
            (Some(("rack", id.clone())), title, format!("{at}/put"), go, Some((at, name)))
        }
    };
    let blank = "·".repeat(LENGTH - code.len());
    let mut shown: Vec<char> = format!("{code}{blank}").chars().collect();
    shown.insert(LENGTH / 2, ' ');
    Scan {
        shell,
        kept,
        title,
        code: code.to_owned(),
        shown: shown.into_iter().collect(),
        action,
        go,
        back,
        last: typed.last.to_owned(),
        camera: typed.camera,
        keys: SYMBOLS.iter().map(|b| char::from(*b)).collect(),
    }
}

impl Scan {
    /// Whether the code is whole.
    fn whole(&self) -> Option<Tag> {
        Tag::read(&self.code)
    }
}
