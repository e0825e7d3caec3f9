//! The document on paper.

use super::{Document, Line};
use crate::clock::Instant;
use crate::people::Names;
use crate::record::paper::{Block, Column, Paper, Size, Table, Text};

/// What stands on paper besides the document.
pub struct Print {
    /// Its title, which stands at the foot of every page too.
    pub title: String,
    /// Where the ledger ended when it was printed: at the foot, behind the title.
    pub ledger: String,
    /// Which version it is, by whom and since when; what is wrong about it.
    pub said: Vec<String>,
    /// Who has read it, for those it is shown to.
    pub readers: Option<Readers>,
    /// When it is printed.
    pub now: Instant,
    /// On what.
    pub size: Size,
}

/// Who has read a version.
pub struct Readers {
    /// The heading.
    pub title: String,
    /// What stands over the two columns.
    pub heads: [String; 2],
    /// Name, and when.
    pub rows: Vec<(String, String)>,
}

/// How much of the width the questions take.
const ASKS: f32 = 0.32;
const TITLE_PT: f32 = 20.0;
const SECTION_PT: f32 = 13.0;
const GROUP_PT: f32 = 11.0;

/// Puts a document on paper.
pub fn print(document: &Document, names: &Names, p: Print) -> Paper {
    let mut blocks = vec![Block::Heading(1, Text::bold(p.title.clone()).pt(TITLE_PT))];
    blocks.push(Block::Text(Text::bold(document.shop.clone())));
    blocks.extend(p.said.into_iter().map(|text| Block::Text(text.into())));
    for section in &document.sections {
        blocks.push(Block::Heading(2, Text::bold(section.title.clone()).pt(SECTION_PT)));
        for lines in section.lines.chunk_by(|a, b| a.group == b.group) {
            if let Some(group) = lines.first().map(|l| &l.group).filter(|g| !g.is_empty()) {
                blocks.push(Block::Heading(3, Text::bold(group.clone()).pt(GROUP_PT)));
            }
            blocks.push(Block::Table(answers(lines, names)));
        }
    }
    if let Some(r) = p.readers {
        blocks.push(Block::Heading(2, Text::bold(r.title).pt(SECTION_PT)));
        let columns = r.heads.map(|head| Column { head, share: 0.5, ..Column::default() }).into();
        let rows = r.rows.into_iter().map(|(name, at)| vec![name.into(), at.into()]).collect();
        blocks.push(Block::Table(Table { columns, rows, row_heads: true, ruled: true, ..Table::default() }));
    }
    let title = format!("{} · {}", p.title, p.ledger);
    Paper { title, author: document.shop.clone(), made_at: p.now, size: p.size, foot: true, blocks }
}

fn answers(lines: &[Line], names: &Names) -> Table {
    let row = |l: &Line| (l.ask.clone(), Text::from(l.shown(names).join("\n")));
    Table { ruled: true, ..Table::answers(ASKS, lines.iter().map(row).collect()) }
}
