//! Tags to print: the sheets there are, and one sheet with its codes.

use super::{Asked, Shell, qr};
use crate::clock::Instant;
use crate::items::{Sheet, Tag};
use crate::lang;
use crate::ledger::State;
use crate::web::show::Show;
use askama::Template;

/// The sheets there are.
#[derive(Template)]
#[template(path = "tags.html")]
pub struct Sheets {
    shell: Shell,
    /// Address and words of each.
    sheets: Vec<(String, String)>,
}

/// How many tags a sheet has where nobody says otherwise: three by eight on a page.
pub const USUAL: usize = 24;

/// Builds the list.
pub fn sheets(state: &State, now: Instant, sheets: &[Sheet], asked: &Asked) -> Sheets {
    let (shell, show) = (Shell::of(state, now, asked), Show::of(state, now));
    let line = |s: &Sheet| {
        let text = lang::sheet_line(&s.tags.to_string(), &s.tied.to_string(), &show.clock(s.made_at));
        (format!("{}sheets/{}", shell.board(), s.sheet), text)
    };
    Sheets { sheets: sheets.iter().map(line).collect(), shell }
}

/// One sheet, for printing.
#[derive(Template)]
#[template(path = "sheet.html")]
pub struct Printed {
    shell: Shell,
    id: String,
    sizes: [(&'static str, &'static str); 3],
    base: String,
    labels: Vec<Label>,
}

struct Label {
    code: String,
    picture: String,
}

/// Builds a sheet; `base` is the service's address as phones reach it.
pub fn sheet(state: &State, now: Instant, (id, tags): (&str, &[Tag]), base: &str, asked: &Asked) -> Printed {
    let label = |tag: &Tag| Label {
        code: tag.to_string(),
        picture: qr::svg(&format!("{base}t/{}", tag.as_str()), &tag.to_string()),
    };
    Printed {
        shell: Shell::of(state, now, asked),
        id: id.to_owned(),
        sizes: super::label::sizes(),
        base: base.to_owned(),
        labels: tags.iter().map(label).collect(),
    }
}
