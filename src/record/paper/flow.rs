//! Blocks onto pages: what stands where, and what each mark on the page means to whoever hears it read.

use super::text::{Line, Setter, leading};
use super::{Align, Block, Code, Grid, Ink, Paper, Size, Strip, Text, qr};

/// Points in a millimetre.
pub(super) const MM: f32 = 72.0 / 25.4;

/// What a mark on the page is part of, by its place in [`Laid::nodes`]; without one it is decoration.
pub(super) type Node = usize;

/// What a part of the document is, as PDF names it.
pub(super) enum Role {
    Section,
    Heading { level: u8, title: String, page: usize, y: f32 },
    P,
    List,
    Item,
    Bullet,
    Body,
    Table,
    HeadRows,
    BodyRows,
    Row,
    HeadCell { of_row: bool },
    Cell,
    Figure(String),
}

/// A mark.
pub(super) enum Mark {
    /// Nothing to see: an empty cell.
    Nothing,
    /// A line of text with its left top at a point.
    Text(Line),
    /// Filled rectangles: left, top, width, height.
    Filled(Vec<[f32; 4]>),
    /// Lines from point to point, this thick, with dashes of a length or none.
    Drawn { lines: Vec<[f32; 4]>, thick: f32, dash: Option<f32> },
    /// The filled triangle that marks a limit.
    Notch,
}

/// A mark at its place on a page; points from the left top.
pub(super) struct Placed {
    pub node: Option<Node>,
    pub x: f32,
    pub y: f32,
    pub mark: Mark,
}

/// One page.
#[derive(Default)]
pub(super) struct Page {
    pub high: f32,
    pub placed: Vec<Placed>,
}

/// The whole document.
pub(super) struct Laid {
    pub wide: f32,
    pub margin: f32,
    pub pages: Vec<Page>,
    /// Each part, and the part it belongs to.
    pub nodes: Vec<(Role, Option<Node>)>,
}

/// The pages while they fill.
pub(super) struct Flow {
    pub(super) setter: Setter,
    pub(super) laid: Laid,
    pub(super) x: f32,
    pub(super) wide: f32,
    pub(super) y: f32,
    top: f32,
    bottom: f32,
    /// Whether a page may end here.
    pub(super) may_turn: bool,
    /// A roll has no bottom.
    endless: bool,
}

/// Lays a document out.
pub(super) fn lay(paper: &Paper) -> Laid {
    let (wide, high, margin) = match paper.size {
        Size::A4 => (210.0, 297.0, 16.0),
        Size::Letter => (215.9, 279.4, 16.0),
        Size::Roll { wide_mm } => (wide_mm, 0.0, 4.5),
    };
    let (wide, high, margin) = (wide * MM, high * MM, margin * MM);
    let endless = matches!(paper.size, Size::Roll { .. });
    let foot = if paper.foot { 8.0 * MM } else { 0.0 };
    let bottom = if endless { f32::MAX } else { high - margin - foot };
    let laid = Laid { wide, margin, pages: vec![Page { high, placed: Vec::new() }], nodes: Vec::new() };
    let (x, top) = (margin, if endless { 2.0 * MM } else { margin });
    let setter = Setter::new();
    let mut flow =
        Flow { setter, laid, x, wide: wide - 2.0 * margin, y: top, top, bottom, may_turn: !endless, endless };
    flow.blocks(&paper.blocks, None);
    flow.end_page();
    flow.laid
}

impl Flow {
    pub(super) fn blocks(&mut self, blocks: &[Block], within: Option<Node>) {
        for block in blocks {
            self.block(block, within);
        }
    }

    fn block(&mut self, block: &Block, within: Option<Node>) {
        match block {
            Block::Heading(level, text) => self.heading(*level, text, within),
            Block::Text(text) => self.paragraph(text, Role::P, within),
            Block::List(points) => self.list(points, within),
            Block::Table(table) => self.table(table, within),
            Block::Code(code) => self.code(code, within),
            Block::Strip(strip) => self.strip(strip, within),
            Block::Rule => {
                self.turn_for(6.0);
                let lines = vec![[0.0, 3.0, self.wide, 3.0]];
                self.put(None, self.x, Mark::Drawn { lines, thick: 0.7, dash: None });
                self.y += 6.0;
            }
            Block::Gap { mm } => self.y += mm * MM,
            Block::Break => self.turn(),
            Block::Together(blocks) => self.together(|flow| flow.blocks(blocks, within)),
            Block::Beside { main, side, side_mm } => {
                self.together(|flow| flow.beside((main, side), side_mm * MM, within));
            }
            Block::Grid(grid) => self.grid(grid, within),
        }
    }

    /// A new part of the document.
    pub(super) fn node(&mut self, role: Role, within: Option<Node>) -> Node {
        self.laid.nodes.push((role, within));
        self.laid.nodes.len() - 1
    }

    /// A mark at the present height.
    pub(super) fn put(&mut self, node: Option<Node>, x: f32, mark: Mark) {
        let y = self.y;
        if let Some(page) = self.laid.pages.last_mut() {
            page.placed.push(Placed { node, x, y, mark });
        }
    }

    /// Whether the page is still empty.
    pub(super) fn at_top(&self) -> bool {
        self.y <= self.top + 0.1
    }

    /// How much of the page is left; points.
    pub(super) fn left(&self) -> f32 {
        self.bottom - self.y
    }

    /// How much a page holds; points.
    pub(super) fn whole(&self) -> f32 {
        self.bottom - self.top
    }

    fn end_page(&mut self) {
        if let (true, Some(page)) = (self.endless, self.laid.pages.last_mut()) {
            page.high = (self.y + 3.0 * MM).max(10.0 * MM);
        }
    }

    /// Begins a page.
    pub(super) fn turn(&mut self) {
        self.end_page();
        let high = self.laid.pages.last().map_or(0.0, |p| p.high);
        self.laid.pages.push(Page { high, placed: Vec::new() });
        self.y = self.top;
    }

    /// Begins a page if so many points don't fit on this one.
    pub(super) fn turn_for(&mut self, high: f32) {
        if self.may_turn && !self.at_top() && high > self.left() {
            self.turn();
        }
    }

    /// Does it on one page if one page holds it.
    fn together(&mut self, lay: impl Fn(&mut Flow)) {
        if !self.may_turn {
            return lay(self);
        }
        let page = |flow: &Flow| flow.laid.pages.last().map_or(0, |p| p.placed.len());
        let (placed, nodes, y) = (page(self), self.laid.nodes.len(), self.y);
        let undo = |flow: &mut Flow, placed, y| {
            flow.laid.nodes.truncate(nodes);
            if let Some(page) = flow.laid.pages.last_mut() {
                page.placed.truncate(placed);
            }
            flow.y = y;
        };
        self.may_turn = false;
        lay(self);
        if self.y > self.bottom && y > self.top + 0.1 {
            undo(self, placed, y);
            self.turn();
            lay(self);
        }
        self.may_turn = true;
        if self.y > self.bottom {
            let top = self.top;
            undo(self, 0, top);
            lay(self);
        }
    }

    fn heading(&mut self, level: u8, text: &Text, within: Option<Node>) {
        let lines = self.setter.set(text, self.wide);
        let high: f32 = lines.iter().map(|l| l.height).sum();
        if !self.at_top() {
            self.y += text.pt * 0.6;
        }
        // Three lines of what follows.
        self.turn_for(high + 3.0 * leading(super::BODY_PT));
        let page = self.laid.pages.len() - 1;
        let node = self.node(Role::Heading { level, title: text.plain(), page, y: self.y }, within);
        self.lines(lines, node, self.x);
        self.y += text.pt * 0.25;
    }

    fn paragraph(&mut self, text: &Text, role: Role, within: Option<Node>) {
        let lines = self.setter.set(text, self.wide);
        if lines.len() <= 3 {
            self.turn_for(lines.iter().map(|l| l.height).sum());
        }
        let node = self.node(role, within);
        self.lines(lines, node, self.x);
        self.y += (text.pt * 0.35).min(5.0);
    }

    /// Lines of one part below each other, turning pages between them.
    fn lines(&mut self, lines: Vec<Line>, node: Node, x: f32) {
        for line in lines {
            self.turn_for(line.height);
            let height = line.height;
            self.put(Some(node), x, Mark::Text(line));
            self.y += height;
        }
    }

    fn list(&mut self, points: &[Text], within: Option<Node>) {
        let list = self.node(Role::List, within);
        for text in points {
            let indent = text.pt * 1.2;
            let bullet = self.setter.set(&Text::from("•").pt(text.pt), indent);
            let lines = self.setter.set(text, self.wide - indent);
            if lines.len() <= 3 {
                self.turn_for(lines.iter().map(|l| l.height).sum());
            }
            let item = self.node(Role::Item, Some(list));
            let (dot, body) = (self.node(Role::Bullet, Some(item)), self.node(Role::Body, Some(item)));
            for line in bullet {
                self.put(Some(dot), self.x, Mark::Text(line));
            }
            self.lines(lines, body, self.x + indent);
            self.y += text.pt * 0.2;
        }
        self.y += 2.0;
    }

    fn code(&mut self, code: &Code, within: Option<Node>) {
        let node = self.node(Role::Figure(code.alt.clone()), within);
        let Some(squares) = qr::squares(&code.address) else { return self.put(Some(node), self.x, Mark::Nothing) };
        // Rather smaller than cut off.
        let one = (code.square_mm * MM).min(self.wide / squares.wide as f32);
        let filled = squares.dark.iter().map(|[x, y, n]| [*x as f32 * one, *y as f32 * one, *n as f32 * one, one]);
        let high = squares.wide as f32 * one;
        self.turn_for(high);
        let x = self.x + ((self.wide - high) / 2.0).max(0.0);
        self.put(Some(node), x, Mark::Filled(filled.collect()));
        self.y += high;
    }

    fn strip(&mut self, strip: &Strip, within: Option<Node>) {
        const HIGH: f32 = 9.0;
        let written = strip.ticks.iter().any(|(_, hour)| hour.is_some());
        let whole = HIGH + 6.0 + if written { 8.0 } else { 0.0 };
        self.turn_for(whole);
        let node = self.node(Role::Figure(strip.alt.clone()), within);
        let (x, wide, top) = (self.x, self.wide, self.y);
        let middle = 2.0 + HIGH / 2.0;
        for bar in &strip.bars {
            let (from, long) = (bar.from * wide, ((bar.to - bar.from) * wide).max(0.6));
            let line = |thick, dash| {
                let lines = vec![[from, middle, from + long, middle]];
                Mark::Drawn { lines, thick, dash }
            };
            let mark = match bar.ink {
                Ink::Out => Mark::Filled(vec![[from, 2.0, long, HIGH]]),
                Ink::Cold => line(0.6, None),
                Ink::Came => line(HIGH, Some(1.0)),
                Ink::Ahead => line(1.4, Some(1.4)),
            };
            self.put(Some(node), x, mark);
        }
        if let Some(at) = strip.notch {
            self.put(Some(node), x + at * wide, Mark::Notch);
        }
        for (at, hour) in &strip.ticks {
            let lines = vec![[at * wide, 2.5 + HIGH, at * wide, 4.5 + HIGH]];
            self.put(Some(node), x, Mark::Drawn { lines, thick: 0.5, dash: None });
            if let Some(hour) = hour {
                const ROOM: f32 = 30.0;
                let text = Text::from(hour.as_str()).pt(5.5).align(Align::Middle);
                let left = (at * wide - ROOM / 2.0).clamp(-9.0, wide + 9.0 - ROOM);
                self.y = top + HIGH + 5.0;
                for line in self.setter.set(&text, ROOM) {
                    self.put(Some(node), x + left, Mark::Text(line));
                }
                self.y = top;
            }
        }
        self.y = top + whole;
    }

    /// Lays blocks in a column of their own; where the page is afterwards.
    fn column(&mut self, blocks: &[Block], (x, wide): (f32, f32), within: Option<Node>) -> f32 {
        let (old, y) = ((self.x, self.wide), self.y);
        (self.x, self.wide) = (x, wide);
        self.blocks(blocks, within);
        (self.x, self.wide) = old;
        std::mem::replace(&mut self.y, y)
    }

    fn beside(&mut self, (main, side): (&[Block], &[Block]), side_wide: f32, within: Option<Node>) {
        const BETWEEN: f32 = 4.0;
        let (x, wide) = (self.x, self.wide);
        let left = self.column(main, (x, wide - side_wide - BETWEEN), within);
        let right = self.column(side, (x + wide - side_wide, side_wide), within);
        self.y = left.max(right);
    }

    fn grid(&mut self, grid: &Grid, within: Option<Node>) {
        const INSIDE: f32 = 2.5 * MM;
        let columns = grid.columns.max(1);
        let wide = grid.wide_mm * MM;
        let from = self.x + (self.wide - wide * columns as f32) / 2.0;
        for row in grid.cells.chunks(columns) {
            self.together(|flow| {
                let top = flow.y;
                let mut high = grid.high_mm * MM;
                for (i, cell) in row.iter().enumerate() {
                    let section = flow.node(Role::Section, within);
                    flow.y = top + INSIDE;
                    let x = from + i as f32 * wide;
                    let bottom = flow.column(cell, (x + INSIDE, wide - 2.0 * INSIDE), Some(section));
                    high = high.max(bottom + INSIDE - top);
                }
                flow.y = top;
                let cut = |i: usize| {
                    let x = i as f32 * wide;
                    [
                        [x, 0.0, x + wide, 0.0],
                        [x, high, x + wide, high],
                        [x, 0.0, x, high],
                        [x + wide, 0.0, x + wide, high],
                    ]
                };
                let lines = (0..row.len()).flat_map(cut).collect();
                flow.put(None, from, Mark::Drawn { lines, thick: 0.3, dash: Some(2.0) });
                flow.y = top + high;
            });
        }
    }
}
