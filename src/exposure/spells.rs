//! An item's time out as lines that add up to its total, inherited lines naming the parent they came with.

use super::line::Line;
use super::{AtLimit, Cut, Fold, Gauge, PLAIN};
use crate::clock::Instant;
use crate::ledger::Id;
use serde::Serialize;
use utoipa::ToSchema;

/// An unbroken stay out in one place. An item's spells add up to its total time out.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct Spell {
    /// Out since this instant.
    pub from: Instant,
    /// Out until just before this instant; `null` while it lasts.
    #[schema(required)]
    pub to: Option<Instant>,
    /// The place it was out in.
    pub place: Id,
    /// The parent that brought this time in; absent if it is the item's own.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub inherited_from: Option<Id>,
}

impl Spell {
    /// Its length at `t`, milliseconds.
    pub fn length_ms(&self, t: Instant) -> i64 {
        self.to.unwrap_or(t).since(self.from)
    }
}

impl<'a> Fold<'a> {
    /// Its own stretches in and out of control, one after the other, chill-down time left aside: since when, and whether
    /// out. The last one lasts.
    pub fn stretches(&self, id: &'a Id) -> Vec<(Instant, bool)> {
        let Some(line) = self.line(id) else { return Vec::new() };
        let mut all: Vec<(Instant, bool)> = Vec::new();
        for piece in line.pieces.iter().filter(|p| p.from <= self.cut.0 && p.from < p.to) {
            let out = piece.out && !piece.chilling;
            if all.last().is_none_or(|last| last.1 != out) {
                all.push((piece.from, out));
            }
        }
        all
    }

    /// The lines that add up to the item's total at the fold's instant, or at the instant it closed.
    pub fn spells(&self, id: &'a Id) -> Vec<Spell> {
        let Some(item) = self.state.items.get(id) else { return Vec::new() };
        let cut = item.end().map_or(self.cut, |e| e.key()).min(self.cut);
        let Some(line) = self.draw(id, cut) else { return Vec::new() };
        let mut spells = self.lines_of(&line, cut, cut);
        if let Some(last) = spells.last_mut()
            && line.piece(cut.0).is_some_and(|p| p.out && last.to == Some(cut.0))
            && item.end().is_none_or(|e| e.key() > cut)
        {
            last.to = None;
        }
        spells
    }

    fn lines_of(&self, line: &Line<'a>, upto: Cut, cut: Cut) -> Vec<Spell> {
        let along = self.along(line, cut);
        let mut gauge = Gauge::start(PLAIN, AtLimit::Breach, &along);
        let mut spells = Vec::new();
        let mut done = line.entry.at;
        for join in line.joins.iter().filter(|j| j.key < upto) {
            let t = join.key.0;
            own(line, done, t, &mut spells);
            done = t;
            gauge.advance(&along, t);
            for parent in join.from {
                let Some(theirs) = self.at_join(parent, (PLAIN, AtLimit::Breach), join.key) else { continue };
                let total = |g: &Gauge| g.out().map_or(0, |o| o.total_ms);
                if total(&theirs) > total(&gauge)
                    && let Some(line) = self.line(parent)
                {
                    // The larger sum goes on: its lines stand for all before.
                    spells = self.lines_of(&line, join.key, self.cut);
                    spells.iter_mut().for_each(|s| s.inherited_from = Some(parent.clone()));
                }
                gauge.join(&[theirs], &along, t);
            }
        }
        own(line, done, upto.0, &mut spells);
        spells
    }
}

/// Adds the item's own time out in `[from, to]`.
fn own(line: &Line, from: Instant, to: Instant, spells: &mut Vec<Spell>) {
    for piece in line.pieces.iter().filter(|p| p.out && p.from <= to && p.to > from) {
        let (a, b) = (piece.from.max(from), piece.to.min(to));
        // While chilling it counts as still where it was.
        let place = piece.at.places().first().map_or(&piece.place.place, |p| &p.place);
        match spells.last_mut() {
            Some(last) if last.to == Some(a) && last.place == *place && last.inherited_from.is_none() => {
                last.to = Some(b)
            }
            _ => spells.push(Spell { from: a, to: Some(b), place: place.clone(), inherited_from: None }),
        }
    }
}
