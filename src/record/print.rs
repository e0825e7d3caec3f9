//! The record on paper: its head, an account an item with its strip and its lines, the cold's table, the days, what was
//! corrected in the set-up, what the record does not know.

use super::cover::Cover;
use super::paper::{Align, Block, Column, Paper, Size, Strip, Table, Text};
use super::told::{Struck, Told, cold_heads, heads, unknown};
use crate::lang;
use crate::people::Names;
use crate::show::Show;

/// What is printed.
pub struct Sheets {
    /// The head.
    pub cover: Cover,
    /// How times are read.
    pub show: Show,
    /// On what.
    pub size: Size,
    /// Each item, with its strip.
    pub items: Vec<(Told, Strip)>,
    /// The cold's table.
    pub cold: Vec<[String; 5]>,
    /// Each day, and who signed it.
    pub days: Vec<(String, String)>,
    /// What happened to the servers' clocks: when, and what.
    pub clocks: Vec<(String, String)>,
    /// What was corrected in the set-up and in what people said.
    pub setup: Vec<Struck>,
}

const TITLE_PT: f32 = 18.0;
const PART_PT: f32 = 13.0;
const ITEM_PT: f32 = 10.5;
const SMALL_PT: f32 = 7.5;
/// The parts of the width that the columns of lines take.
const SHARES: [f32; 7] = [0.3, 1.35, 1.6, 1.35, 1.6, 0.65, 0.65];
const COLD_SHARES: [f32; 5] = [1.0, 1.3, 2.0, 1.0, 1.7];

/// Puts it on paper.
pub fn print(s: Sheets) -> Paper {
    let part = |text: &str| Block::Heading(2, Text::bold(text).pt(PART_PT));
    let title = s.cover.title();
    let mut blocks = vec![Block::Heading(1, Text::bold(title.clone()).pt(TITLE_PT))];
    blocks.extend(s.cover.lines(s.show).into_iter().map(|line| Block::Text(line.into())));
    blocks.push(part(lang::record_part_items()));
    if s.items.is_empty() {
        blocks.push(Block::Text(lang::record_none().into()));
    }
    for (told, strip) in s.items {
        item(told, strip, &mut blocks);
    }
    blocks.push(part(lang::record_part_cold()));
    if s.cold.is_empty() {
        blocks.push(Block::Text(lang::record_cold_none().into()));
    } else {
        blocks.push(Block::Table(table(cold_heads().iter().zip(COLD_SHARES), s.cold, 5)));
    }
    blocks.push(part(lang::record_part_days()));
    let heads = [lang::record_col_day(), lang::record_col_signed()];
    blocks.push(Block::Table(table(heads.iter().zip([1.0, 4.0]), s.days.into_iter().map(|(d, t)| [d, t]), 2)));
    blocks.push(part(lang::record_part_clocks()));
    blocks.push(Block::Text(lang::record_clock_what().into()));
    if !s.clocks.is_empty() {
        let heads = [lang::record_col_when(), lang::record_col_what()];
        let rows = s.clocks.into_iter().map(|(at, said)| [at, said]);
        blocks.push(Block::Table(table(heads.iter().zip([1.0, 4.0]), rows, 2)));
    }
    if !s.setup.is_empty() {
        blocks.push(part(lang::record_part_setup()));
        blocks.extend(s.setup.iter().map(struck));
    }
    blocks.push(part(lang::record_part_unknown()));
    blocks.push(Block::List(unknown().map(Text::from).into()));
    let foot = format!("{} · {} · {}", s.cover.shop, title, s.cover.ledger());
    Paper { title: foot, author: s.cover.shop, made_at: s.cover.made_at, size: s.size, foot: true, blocks }
}

fn table<'h, const N: usize>(
    heads: impl Iterator<Item = (&'h &'static str, f32)>,
    rows: impl IntoIterator<Item = [String; N]>,
    figures_from: usize,
) -> Table {
    let column = |(i, (head, share)): (usize, (&&str, f32))| {
        let align = if i >= figures_from { Align::Right } else { Align::Start };
        Column { head: (*head).to_owned(), share, align }
    };
    let columns = heads.enumerate().map(column).collect();
    let rows = rows.into_iter().map(|row| row.map(Text::from).into()).collect();
    Table { columns, rows, pt: SMALL_PT, row_heads: true, ruled: true }
}

fn item(told: Told, strip: Strip, blocks: &mut Vec<Block>) {
    // A name in another script doesn't turn the line it begins.
    let heading =
        Text::bold(Names::isolated(&told.name)).and(format!("  {}  ", told.id), false).and(told.verdict, true);
    let mut text = Text::from(String::new()).pt(SMALL_PT);
    for (what, said) in told.facts {
        text = text.and(format!("{what} "), true).and(format!("{said}   "), false);
    }
    // The name, the strip and what is said of it stay together; the lines may go on over the page.
    let mut head = vec![Block::Heading(3, heading.pt(ITEM_PT))];
    head.extend(told.over.map(|over| Block::Text(Text::bold(over).pt(SMALL_PT))));
    head.push(Block::Text(text));
    head.push(Block::Strip(strip));
    blocks.push(Block::Together(head));
    if !told.lines.is_empty() {
        blocks.push(Block::Table(table(heads().iter().zip(SHARES), told.lines, 5)));
    }
    blocks.extend(told.struck.iter().map(struck));
    blocks.push(Block::Gap { mm: 2.0 });
}

/// What was struck out stays readable beside what stands in its place.
fn struck(s: &Struck) -> Block {
    let mut text = Text::from(format!("{} ", s.said)).pt(SMALL_PT);
    for (what, was, now) in &s.changes {
        text = text.and(lang::record_change(now, was, what), true).and("  ", false);
    }
    Block::Text(text)
}
