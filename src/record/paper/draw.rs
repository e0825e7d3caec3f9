//! Laid-out pages into the bytes of a PDF: marks, and the tree that says what they mean.

use super::flow::{Laid, MM, Mark, Node, Page, Role};
use super::text::{Line, Setter};
use super::{Align, Paper, PaperError, Text, faces};
use crate::lang;
use krilla::SerializeSettings;
use krilla::configure::{Accessibility, ConfigurationBuilder};
use krilla::geom::{Path, PathBuilder, Point, Rect};
use krilla::metadata::{DateTime, Metadata};
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, ContentTag, Identifier, ListNumbering, Node as Leaf, SpanTag, TableHeaderScope, Tag,
    TagGroup, TagKind, TagTree,
};
use krilla::text::Font;
use krilla::{Document, destination::XyzDestination};
use std::num::NonZeroU16;
use time::OffsetDateTime;

/// Writes the pages.
pub(super) fn pdf(paper: &Paper, laid: Laid) -> Result<Vec<u8>, PaperError> {
    let checked = ConfigurationBuilder::new().with_accessibility_validator(Accessibility::UA1).finish();
    let configuration = checked.map_err(|e| PaperError(format!("{e:?}")))?;
    let mut document = Document::new_with(SerializeSettings { configuration, ..SerializeSettings::default() });
    let mut pen = Pen {
        fonts: Vec::new(),
        marked: laid.nodes.iter().map(|_| Vec::new()).collect(),
        read: vec![None; laid.nodes.len()],
    };
    let mut foot = Foot { setter: Setter::new(), of: laid.pages.len(), title: paper.title.as_str() };
    for (n, page) in laid.pages.iter().enumerate() {
        let settings = PageSettings::from_wh(laid.wide, page.high).ok_or_else(|| PaperError("no page".to_owned()))?;
        let mut sheet = document.start_page_with(settings);
        let mut surface = sheet.surface();
        pen.page(&mut surface, page);
        if paper.foot {
            foot.draw(&mut pen, &mut surface, n + 1, (&laid, page));
        }
        surface.finish();
        sheet.finish();
    }
    document.set_metadata(metadata(paper));
    document.set_outline(outline(paper, &laid));
    document.set_tag_tree(tree(&laid, pen));
    document.finish().map_err(|e| PaperError(format!("{e:?}")))
}

fn metadata(paper: &Paper) -> Metadata {
    let t = OffsetDateTime::from_unix_timestamp(paper.made_at.0.div_euclid(1000)).unwrap_or(OffsetDateTime::UNIX_EPOCH);
    let date = DateTime::new(u16::try_from(t.year()).unwrap_or(1970)).month(t.month().into()).day(t.day());
    let date = date.hour(t.hour()).minute(t.minute()).second(t.second()).utc_offset_hour(0).utc_offset_minute(0);
    Metadata::new()
        .title(faces::legible(&paper.title).into_owned())
        .authors(vec![faces::legible(&paper.author).into_owned()])
        // That of every text that is not somebody's own.
        .language(lang::spoken().tag().to_owned())
        .creation_date(date)
}

/// The headings as a list to jump by; the title where there are none.
fn outline(paper: &Paper, laid: &Laid) -> Outline {
    let mut outline = Outline::new();
    let mut any = false;
    for (role, _) in &laid.nodes {
        if let Role::Heading { title, page, y, .. } = role {
            let to = XyzDestination::new(*page, Point::from_xy(0.0, *y));
            outline.push_child(OutlineNode::new(title.clone(), to));
            any = true;
        }
    }
    if !any {
        let top = XyzDestination::new(0, Point::from_xy(0.0, 0.0));
        outline.push_child(OutlineNode::new(paper.title.clone(), top));
    }
    outline
}

/// The parts within each other, each with its marks.
fn tree(laid: &Laid, mut pen: Pen) -> TagTree {
    let mut within: Vec<Vec<Node>> = laid.nodes.iter().map(|_| Vec::new()).collect();
    let mut first = Vec::new();
    for (node, (_, parent)) in laid.nodes.iter().enumerate() {
        match parent {
            Some(parent) => within[*parent].push(node),
            None => first.push(node),
        }
    }
    let mut tree = TagTree::new();
    for node in first {
        tree.push(group(node, laid, &within, &mut pen));
    }
    tree
}

fn group(node: Node, laid: &Laid, within: &[Vec<Node>], pen: &mut Pen) -> TagGroup {
    let mut group = TagGroup::new(tag(&laid.nodes[node].0).with_actual_text(pen.read[node].take()));
    for mark in std::mem::take(&mut pen.marked[node]) {
        group.push(Leaf::Leaf(mark));
    }
    for child in &within[node] {
        group.push(self::group(*child, laid, within, pen));
    }
    group
}

fn tag(role: &Role) -> TagKind {
    match role {
        Role::Section => Tag::Section.into(),
        Role::Heading { level, title, .. } => {
            Tag::Hn(NonZeroU16::new(u16::from(*level)).unwrap_or(NonZeroU16::MIN), Some(title.clone())).into()
        }
        Role::P => Tag::P.into(),
        Role::List => Tag::L(ListNumbering::Disc).into(),
        Role::Item => Tag::LI.into(),
        Role::Bullet => Tag::Lbl.into(),
        Role::Body => Tag::LBody.into(),
        Role::Table => Tag::Table.into(),
        Role::HeadRows => Tag::THead.into(),
        Role::BodyRows => Tag::TBody.into(),
        Role::Row => Tag::TR.into(),
        Role::HeadCell { of_row: true } => Tag::TH(TableHeaderScope::Row).into(),
        Role::HeadCell { of_row: false } => Tag::TH(TableHeaderScope::Column).into(),
        Role::Cell => Tag::TD.into(),
        Role::Figure(alt) => Tag::Figure(Some(alt.clone())).into(),
    }
}

/// Draws marks, and remembers which part each belongs to.
struct Pen {
    /// The fonts used so far, by file.
    fonts: Vec<(usize, Font)>,
    marked: Vec<Vec<Identifier>>,
    /// What a part says, where the order seen is not the order read.
    read: Vec<Option<String>>,
}

impl Pen {
    fn page(&mut self, surface: &mut Surface, page: &Page) {
        for p in &page.placed {
            // Whoever hears a part that runs from right to left gets it in the order it is read. Said of the part, not of
            // its lines: programs that copy text turn those round themselves.
            if let (Some(node), Mark::Text(line)) = (p.node, &p.mark)
                && line.turned
            {
                self.read[node] = Some(line.text.to_string());
            }
            let tag = match (p.node, &p.mark) {
                (None, _) => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
                (Some(_), Mark::Text(_)) => ContentTag::Span(SpanTag::empty()),
                (Some(_), _) => ContentTag::Other,
            };
            let id = surface.start_tagged(tag);
            self.mark(surface, &p.mark, (p.x, p.y));
            surface.end_tagged();
            if let Some(node) = p.node {
                self.marked[node].push(id);
            }
        }
    }

    fn mark(&mut self, surface: &mut Surface, mark: &Mark, (x, y): (f32, f32)) {
        let black = |surface: &mut Surface| {
            surface.set_stroke(None);
            surface.set_fill(Some(Fill::default()));
        };
        match mark {
            Mark::Nothing => {}
            Mark::Text(line) => {
                black(surface);
                self.text(surface, line, (x, y));
            }
            Mark::Filled(rects) => {
                let mut path = PathBuilder::new();
                for [left, top, wide, high] in rects {
                    if let Some(rect) = Rect::from_xywh(x + left, y + top, *wide, *high) {
                        path.push_rect(rect);
                    }
                }
                black(surface);
                draw(surface, path.finish());
            }
            Mark::Drawn { lines, thick, dash } => {
                let mut path = PathBuilder::new();
                for [x1, y1, x2, y2] in lines {
                    path.move_to(x + x1, y + y1);
                    path.line_to(x + x2, y + y2);
                }
                let dash = dash.map(|long| StrokeDash { array: vec![long, long], offset: 0.0 });
                surface.set_fill(None);
                surface.set_stroke(Some(Stroke {
                    width: *thick,
                    opacity: NormalizedF32::ONE,
                    dash,
                    ..Stroke::default()
                }));
                draw(surface, path.finish());
            }
            Mark::Notch => {
                let mut path = PathBuilder::new();
                path.move_to(x - 3.5, y);
                for (dx, dy) in [(3.5, 0.0), (0.5, 4.5), (0.5, 13.0), (-0.5, 13.0), (-0.5, 4.5)] {
                    path.line_to(x + dx, y + dy);
                }
                path.close();
                black(surface);
                draw(surface, path.finish());
            }
        }
    }

    fn text(&mut self, surface: &mut Surface, line: &Line, (x, y): (f32, f32)) {
        for run in &line.runs {
            let have = self.fonts.iter().find(|(file, _)| *file == run.face).map(|(_, font)| font.clone());
            let Some(font) = have.or_else(|| faces::font(run.face)) else { continue };
            if self.fonts.iter().all(|(file, _)| *file != run.face) {
                self.fonts.push((run.face, font.clone()));
            }
            let start = Point::from_xy(x + run.x, y + line.baseline);
            surface.draw_glyphs(start, &run.glyphs, font, &line.text, run.pt, false);
        }
    }
}

fn draw(surface: &mut Surface, path: Option<Path>) {
    if let Some(path) = path {
        surface.draw_path(&path);
    }
}

/// The foot of each page: the title, and which page of how many.
struct Foot<'p> {
    setter: Setter,
    of: usize,
    title: &'p str,
}

impl Foot<'_> {
    fn draw(&mut self, pen: &mut Pen, surface: &mut Surface, n: usize, (laid, page): (&Laid, &Page)) {
        const PT: f32 = 8.0;
        let wide = laid.wide - 2.0 * laid.margin;
        let count = lang::paper_page(&n.to_string(), &self.of.to_string());
        let count = Text::from(count).pt(PT).align(Align::Right);
        let y = page.high - laid.margin - 4.0 * MM;
        let left = self.setter.set(&Text::from(self.title).pt(PT), wide * 0.75).into_iter().next();
        let right = self.setter.set(&count, wide).into_iter().next();
        surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(ArtifactType::Footer)));
        let lines = vec![[0.0, 0.0, wide, 0.0]];
        pen.mark(surface, &Mark::Drawn { lines, thick: 0.5, dash: None }, (laid.margin, y - 3.0));
        for line in [left, right].into_iter().flatten() {
            pen.mark(surface, &Mark::Text(line), (laid.margin, y));
        }
        surface.end_tagged();
    }
}
