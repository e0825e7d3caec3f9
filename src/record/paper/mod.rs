//! Paper: a document described in blocks, laid out on pages and written as a tagged PDF. Pure: a description goes in,
//! bytes come out, the same ones for the same description.
//!
//! Whoever adds a paper builds a [`Paper`] from [`Block`]s and calls [`Paper::pdf`]; nothing else here needs to be known.
//! Lengths are millimetres where a name ends in `_mm`, type sizes are points (`pt`). The text is English and set from the
//! left; a paragraph whose first letter is of a right-to-left script is set from the right. What no font here can draw is
//! printed as its code point, like `[U+4E2D]`, never as a blank.

mod draw;
mod faces;
mod flow;
pub mod qr;
mod table;
mod text;

use crate::clock::Instant;

/// What is printed on.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Size {
    /// 210 mm by 297 mm (ISO 216).
    A4,
    /// 8.5 in by 11 in (ANSI/ASME Y14.1).
    Letter,
    /// A roll of labels, this wide. Each page is as long as what stands on it.
    Roll {
        /// Its width.
        wide_mm: f32,
    },
}

impl Size {
    /// A roll of 57 mm, of which a printer's head reaches 48 mm (common practice, no source).
    pub const ROLL: Size = Size::Roll { wide_mm: 57.0 };

    /// `a4`, `letter` or `57mm`.
    pub fn parse(text: &str) -> Option<Size> {
        match text {
            "a4" => Some(Size::A4),
            "letter" => Some(Size::Letter),
            "57mm" => Some(Size::ROLL),
            _ => None,
        }
    }
}

/// A document.
#[derive(Clone, Debug)]
pub struct Paper {
    /// What a reader's window is called; also stands at the foot of every page where there is a foot.
    pub title: String,
    /// Whose it is: the shop.
    pub author: String,
    /// The date the document says it was made at. Passed in, so that the same paper is the same bytes.
    pub made_at: Instant,
    /// What it is printed on.
    pub size: Size,
    /// With the title and "page 1 of 3" at the foot of each page.
    pub foot: bool,
    /// What stands on it, in reading order.
    pub blocks: Vec<Block>,
}

impl Paper {
    /// The document as PDF 1.7 that keeps to PDF/UA-1 (ISO 14289-1) as far as a program can tell.
    pub fn pdf(&self) -> Result<Vec<u8>, PaperError> {
        let laid = flow::lay(self);
        draw::pdf(self, laid)
    }
}

/// Why there is no document. No text causes this: it is a fault of the program.
#[derive(Debug, thiserror::Error)]
#[error("the paper could not be written: {0}")]
pub struct PaperError(pub String);

/// One thing on a page.
#[derive(Clone, Debug)]
pub enum Block {
    /// A heading of a level from 1; levels are not skipped. Stays with what follows it.
    Heading(u8, Text),
    /// A paragraph.
    Text(Text),
    /// Points, each with a dot before it.
    List(Vec<Text>),
    /// A table; see [`Table`].
    Table(Table),
    /// A QR code; see [`Code`].
    Code(Code),
    /// The strip of an item's day.
    Strip(Strip),
    /// A line across.
    Rule,
    /// Space.
    Gap {
        /// How high.
        mm: f32,
    },
    /// What follows begins a page.
    Break,
    /// These stay on one page if one page holds them.
    Together(Vec<Block>),
    /// Two columns side by side, kept together.
    Beside {
        /// The left one, which takes what is left of the width. Read first.
        main: Vec<Block>,
        /// The right one.
        side: Vec<Block>,
        /// How wide the right one is.
        side_mm: f32,
    },
    /// Labels on a sheet; see [`Grid`].
    Grid(Grid),
}

/// Where lines of text stand.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub enum Align {
    /// At the side their script begins from.
    #[default]
    Start,
    /// In the middle.
    Middle,
    /// At the right, for figures.
    Right,
}

/// Text of one size, in parts that are bold or not. A line feed begins a new line.
#[derive(Clone, PartialEq, Debug)]
pub struct Text {
    /// Each part, and whether it is bold.
    pub parts: Vec<(String, bool)>,
    /// Its size in points.
    pub pt: f32,
    /// Where its lines stand.
    pub align: Align,
}

impl Text {
    /// Bold text.
    pub fn bold(text: impl Into<String>) -> Text {
        Text { parts: vec![(text.into(), true)], ..Text::from(String::new()) }
    }

    /// The same at another size.
    #[must_use]
    pub fn pt(self, pt: f32) -> Text {
        Text { pt, ..self }
    }

    /// The same, set elsewhere.
    #[must_use]
    pub fn align(self, align: Align) -> Text {
        Text { align, ..self }
    }

    /// With more text after it.
    #[must_use]
    pub fn and(mut self, text: impl Into<String>, bold: bool) -> Text {
        self.parts.push((text.into(), bold));
        self
    }

    /// Its characters alone.
    pub fn plain(&self) -> String {
        self.parts.iter().map(|(t, _)| t.as_str()).collect()
    }
}

/// The size of running text, in points.
pub const BODY_PT: f32 = 10.0;

impl From<String> for Text {
    fn from(text: String) -> Text {
        Text { parts: vec![(text, false)], pt: BODY_PT, align: Align::Start }
    }
}

impl From<&str> for Text {
    fn from(text: &str) -> Text {
        Text::from(text.to_owned())
    }
}

/// A table. A row stays on one page if it fits on one; the heading row is repeated on every page.
#[derive(Clone, Debug, Default)]
pub struct Table {
    /// Its columns. There is no heading row if no column has a heading.
    pub columns: Vec<Column>,
    /// As many cells a row as there are columns. They are set in the table's size and the column's alignment.
    pub rows: Vec<Vec<Text>>,
    /// The size of all its text, in points; [`BODY_PT`] where 0.
    pub pt: f32,
    /// Whether the first cell of each row is that row's heading.
    pub row_heads: bool,
    /// Whether lines are drawn between rows.
    pub ruled: bool,
}

impl Table {
    /// What is asked and what is answered, a line each: the left column takes `share` of the width.
    pub fn answers(share: f32, rows: Vec<(String, Text)>) -> Table {
        let column = |share| Column { share, ..Column::default() };
        let cell = |(head, text): (String, Text)| vec![Text::from(head), text];
        Table {
            columns: vec![column(share), column(1.0 - share)],
            rows: rows.into_iter().map(cell).collect(),
            row_heads: true,
            ..Table::default()
        }
    }
}

/// A column of a table.
#[derive(Clone, Debug, Default)]
pub struct Column {
    /// What stands over it.
    pub head: String,
    /// Its part of the width, against the others' parts.
    pub share: f32,
    /// Where its text stands.
    pub align: Align,
}

/// A QR code.
#[derive(Clone, Debug)]
pub struct Code {
    /// What it says.
    pub address: String,
    /// The same for whoever hears the page read.
    pub alt: String,
    /// How wide one of its squares is. 0.5 mm is four dots of a printer with 203 to the inch.
    pub square_mm: f32,
}

/// The strip: an item's day from left to right. Places are parts of its width, from 0 to 1.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Strip {
    /// What it shows, in words.
    pub alt: String,
    /// Its stretches.
    pub bars: Vec<Bar>,
    /// Where the limit falls.
    pub notch: Option<f32>,
    /// Where hours are marked, and what is written there.
    pub ticks: Vec<(f32, Option<String>)>,
}

/// A stretch of a strip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bar {
    /// From.
    pub from: f32,
    /// To.
    pub to: f32,
    /// How it is drawn.
    pub ink: Ink,
}

/// How a stretch of a strip is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// Out: solid.
    Out,
    /// In the cold: a hairline.
    Cold,
    /// Came with others: ruled.
    Came,
    /// What is left: dots.
    Ahead,
}

/// Cells side by side with lines to cut along.
#[derive(Clone, Debug)]
pub struct Grid {
    /// How many side by side.
    pub columns: usize,
    /// How wide a cell is.
    pub wide_mm: f32,
    /// How high it is at least; a row is as high as its highest cell.
    pub high_mm: f32,
    /// What stands in each.
    pub cells: Vec<Vec<Block>>,
}
