//! Tables: widths, rows on one page where one holds them, the heading row again on every page.

use super::flow::{Flow, MM, Mark, Node, Role};
use super::text::Line;
use super::{Align, BODY_PT, Table, Text};

/// Between two columns; points.
const BETWEEN: f32 = 2.0 * MM;

/// A row's cells, set: each cell's lines.
type Cells = Vec<Vec<Line>>;

fn high(cells: &Cells) -> f32 {
    cells.iter().map(|c| c.iter().map(|l| l.height).sum::<f32>()).fold(0.0, f32::max)
}

impl Flow {
    pub(super) fn table(&mut self, table: &Table, within: Option<Node>) {
        let pt = if table.pt > 0.0 { table.pt } else { BODY_PT };
        let shares: f32 = table.columns.iter().map(|c| c.share).sum();
        let room = self.wide - BETWEEN * (table.columns.len().max(1) - 1) as f32;
        let wides: Vec<f32> = table.columns.iter().map(|c| room * c.share / shares.max(f32::MIN_POSITIVE)).collect();
        let aligns: Vec<Align> = table.columns.iter().map(|c| c.align).collect();
        let set = |flow: &mut Flow, cells: &[Text], bold: bool| -> Cells {
            let cells = cells.iter().enumerate().zip(wides.iter().zip(&aligns));
            let cell = |((i, text), (wide, align)): ((usize, &Text), (&f32, &Align))| {
                let heads = bold || (i == 0 && table.row_heads);
                let parts = text.parts.iter().map(|(t, b)| (t.clone(), *b || heads)).collect();
                flow.setter.set(&Text { parts, pt, align: *align }, *wide)
            };
            cells.map(cell).collect()
        };
        let node = self.node(Role::Table, within);
        let heads: Vec<Text> = table.columns.iter().map(|c| Text::from(c.head.as_str())).collect();
        let heads = heads.iter().any(|h| !h.plain().is_empty()).then(|| set(self, &heads, true));
        let rows: Vec<Cells> = table.rows.iter().map(|row| set(self, row, false)).collect();
        let pad = pt * 0.25;
        let starts: Vec<f32> = wides.iter().scan(0.0, |x, w| Some(std::mem::replace(x, *x + w + BETWEEN))).collect();
        if let Some(heads) = &heads {
            // Never a heading row alone at the foot of a page.
            self.turn_for(high(heads) + rows.first().map_or(0.0, high) + 4.0 * pad);
            let group = self.node(Role::HeadRows, Some(node));
            let row = self.node(Role::Row, Some(group));
            let cells: Vec<Option<Node>> =
                heads.iter().map(|_| Some(self.node(Role::HeadCell { of_row: false }, Some(row)))).collect();
            self.head(heads.clone(), &cells, (&starts, pad));
        }
        let body = self.node(Role::BodyRows, Some(node));
        for mut cells in rows {
            let row = self.node(Role::Row, Some(body));
            let role = |i| if i == 0 && table.row_heads { Role::HeadCell { of_row: true } } else { Role::Cell };
            let nodes: Vec<Option<Node>> = (0..cells.len()).map(|i| Some(self.node(role(i), Some(row)))).collect();
            for (cell, node) in cells.iter().zip(&nodes) {
                // A cell with nothing in it is still a cell, or those after it would stand under other headings.
                if cell.is_empty() {
                    self.put(*node, self.x, Mark::Nothing);
                }
            }
            let again = |flow: &mut Flow| {
                flow.turn();
                if let Some(heads) = &heads {
                    let nobody = vec![None; heads.len()];
                    flow.head(heads.clone(), &nobody, (&starts, pad));
                }
            };
            let whole = high(&cells) + 2.0 * pad;
            if self.may_turn && !self.at_top() && whole > self.left() && whole < self.whole() * 0.8 {
                again(self);
            }
            self.y += pad;
            // What is higher than a page goes on with the next.
            while self.may_turn && high(&cells) > self.left() {
                let room = self.left();
                let now = cells.iter_mut().map(|cell| {
                    let mut used = 0.0;
                    let fit = cell.iter().take_while(|l| {
                        used += l.height;
                        used <= room
                    });
                    let fit = fit.count();
                    cell.drain(..fit).collect()
                });
                let now: Cells = now.collect();
                let stuck = now.iter().all(Vec::is_empty) && self.at_top();
                self.cells(now, &nodes, &starts);
                if stuck {
                    break;
                }
                again(self);
            }
            self.cells(cells, &nodes, &starts);
            self.y += pad;
            if table.ruled {
                let lines = vec![[0.0, 0.0, self.wide, 0.0]];
                self.put(None, self.x, Mark::Drawn { lines, thick: 0.3, dash: None });
            }
        }
        self.y += pt * 0.35;
    }

    fn head(&mut self, cells: Cells, nodes: &[Option<Node>], (starts, pad): (&[f32], f32)) {
        self.y += pad;
        self.cells(cells, nodes, starts);
        self.y += pad;
        let lines = vec![[0.0, 0.0, self.wide, 0.0]];
        self.put(None, self.x, Mark::Drawn { lines, thick: 0.9, dash: None });
    }

    fn cells(&mut self, cells: Cells, nodes: &[Option<Node>], starts: &[f32]) {
        let (top, high) = (self.y, high(&cells));
        for ((cell, node), from) in cells.into_iter().zip(nodes).zip(starts) {
            self.y = top;
            for line in cell {
                let height = line.height;
                self.put(*node, self.x + from, Mark::Text(line));
                self.y += height;
            }
        }
        self.y = top + high;
    }
}
