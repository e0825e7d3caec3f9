//! The exposure room: how long. Folds entries, with places, lapses and parents, into the measures of an item.
//! Pure: it asks no time and knows no database.

mod gauge;
mod join;
mod line;
mod spells;

pub use gauge::{First, Gauge, Out, Used};
pub use line::{AIR_HOLDS_MS, controlled, lapses};
pub use spells::Spell;

use crate::clock::{Instant, Zone};
use crate::ledger::{Body, CloseAs, Id, Place, State};
use crate::rules::{AtLimit, Measure, Rule, Verdict};
use gauge::Along;
use line::{Join, Line};
use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::Arc;

/// Up to where the order of truth is read: an instant and the last `seq` at it.
pub type Cut = (Instant, u64);

/// The least limit that is never reached, for measures that are only read.
const NO_LIMIT: i64 = i64::MAX / 8;
/// The plain sum of time out over all places.
const PLAIN: Measure = Measure::TotalOut { limit_ms: NO_LIMIT, uses: crate::rules::Uses::ALL };

/// A clause as the fold keys it: what it measures and whether the limit is over.
type Aim = (Measure, AtLimit);

/// Gauges as they stood after each join, by the join's key.
type Checkpoints = Vec<(Cut, Gauge)>;

/// A parent that was over, and which clause said so.
#[derive(Clone, Debug, PartialEq)]
pub struct Doom {
    /// The parent's discard-by time at the join.
    pub reach: Instant,
    /// Its rule.
    pub rule: Id,
    /// Its clause's measure.
    pub measure: &'static str,
}

/// Something a rule has to judge on the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stop {
    /// A join with a parent at discard, or not.
    Join { over: bool },
    /// The end of a spell other than by closing.
    Return,
    /// The end of the item or of some of it.
    Close(CloseAs),
}

/// A stop, and how the clauses stood at it.
pub struct StopAt {
    /// When.
    pub at: Instant,
    /// What.
    pub stop: Stop,
    /// Which clauses were breached then, in order of rules and clauses.
    pub breached: Vec<bool>,
    /// Which clauses' clocks had begun; the last is that of any time out at all.
    pub begun: Vec<bool>,
    /// Whether a parent that was over had gone in by then.
    pub doomed: bool,
}

/// Everything the rules read of one item at one instant.
pub struct Exposure {
    /// The instant.
    pub at: Instant,
    /// Its rules, in order.
    pub rules: Vec<Arc<Rule>>,
    /// One a clause, in order of rules and clauses, followed up to the instant.
    pub now: Vec<Gauge>,
    /// The same, followed on as if it stays where it is.
    pub ahead: Vec<Gauge>,
    /// The same, followed on as if it were taken out at the instant.
    pub taken_out: Vec<Gauge>,
    /// Time out over all places, inherited time included.
    pub plain: Gauge,
    /// Where it really is.
    pub place: Id,
    /// Whether it is really out of control there.
    pub out: bool,
    /// Whether it is frozen there.
    pub frozen: bool,
    /// Whether it has ended.
    pub closed: bool,
    /// What went in with a parent that was over.
    pub doom: Option<Doom>,
    /// What happened on the way, in order.
    pub stops: Vec<StopAt>,
    /// The last local date each `day` clause allows.
    pub last_day: Option<i64>,
}

/// Folds a ledger as it is known, up to a cut. Keeps what it worked out for parents.
pub struct Fold<'a> {
    state: &'a State,
    cut: Cut,
    zone: Zone,
    lines: RefCell<HashMap<&'a Id, Option<Rc<Line<'a>>>>>,
    checkpoints: RefCell<HashMap<(&'a Id, Aim), Checkpoints>>,
    dooms: RefCell<HashMap<(&'a Id, Cut), Option<Doom>>>,
}

impl<'a> Fold<'a> {
    /// Reads what happened up to and including `as_of`.
    pub fn new(state: &'a State, as_of: Instant, zone: Zone) -> Fold<'a> {
        Fold::cut_at(state, (as_of, u64::MAX), zone)
    }

    fn cut_at(state: &'a State, cut: Cut, zone: Zone) -> Fold<'a> {
        let (lines, checkpoints, dooms) = Default::default();
        Fold { state, cut, zone, lines, checkpoints, dooms }
    }

    fn line(&self, id: &'a Id) -> Option<Rc<Line<'a>>> {
        if let Some(known) = self.lines.borrow().get(id) {
            return known.clone();
        }
        let line = self.draw(id, self.cut).map(Rc::new);
        self.lines.borrow_mut().insert(id, line.clone());
        line
    }

    fn draw(&self, id: &Id, cut: Cut) -> Option<Line<'a>> {
        line::draw(self.state, id, cut, |join| self.out_places(join))
    }

    /// Where the parents were that were out at the join, or whose stretch out ended at it.
    fn out_places(&self, join: &Join<'a>) -> Vec<&'a Place> {
        let mut places = Vec::new();
        let t = join.key.0;
        for parent in join.from {
            let Some(line) = self.line(parent) else { continue };
            let i = line.pieces.partition_point(|p| p.to <= t);
            let here = line.pieces.get(i).filter(|p| p.from <= t && p.out);
            let just = i.checked_sub(1).and_then(|i| line.pieces.get(i)).filter(|p| p.to == t && p.out);
            if let Some(piece) = here.or(just) {
                places.extend_from_slice(piece.at.places());
            }
        }
        places
    }

    fn along<'f>(&self, line: &'f Line<'a>, cut: Cut) -> Along<'f, 'a> {
        Along { line, zone: self.zone, cut }
    }

    /// A parent's gauge at a join: its own joins before it in the order of truth, its time up to that instant.
    fn at_join(&self, id: &'a Id, aim: Aim, key: Cut) -> Option<Gauge> {
        let line = self.line(id)?;
        let along = self.along(&line, self.cut);
        loop {
            let (done, last) = {
                let all = self.checkpoints.borrow();
                let mine = all.get(&(id, aim)).map_or(&[][..], |v| v.as_slice());
                let before = mine.partition_point(|(k, _)| *k < key);
                (mine.len(), before.checked_sub(1).map(|i| mine[i].1.clone()))
            };
            let next = line.joins.get(done).filter(|j| j.key < key);
            let mut gauge = last.unwrap_or_else(|| Gauge::start(aim.0, aim.1, &along));
            let Some(join) = next else {
                gauge.advance(&along, key.0);
                return Some(gauge);
            };
            gauge.advance(&along, join.key.0);
            gauge.join(&self.parents(join, aim), &along, join.key.0);
            let mut all = self.checkpoints.borrow_mut();
            let mine = all.entry((id, aim)).or_default();
            if mine.len() == done {
                mine.push((join.key, gauge));
            }
        }
    }

    fn parents(&self, join: &Join<'a>, aim: Aim) -> Vec<Gauge> {
        join.from.iter().filter_map(|p| self.at_join(p, aim, join.key)).collect()
    }

    fn rules_of(&self, line: &Line<'a>) -> Vec<Arc<Rule>> {
        self.state.rules_of(line.begin, line.entry.meta.seq)
    }

    /// Whether an item is at discard just then, and since when by which clause.
    fn doom(&self, id: &'a Id, key: Cut) -> Option<Doom> {
        if let Some(known) = self.dooms.borrow().get(&(id, key)) {
            return known.clone();
        }
        let line = self.line(id)?;
        let (mut over, mut worst) = (false, None::<Doom>);
        for rule in self.rules_of(&line) {
            for clause in rule.clauses.iter().filter(|c| c.demand.verdict() == Some(Verdict::Discard)) {
                let Some(gauge) = self.at_join(id, (clause.measure, clause.at_limit), key) else { continue };
                over |= gauge.breached(key.0);
                if let Some(reach) = gauge.reach().filter(|r| worst.as_ref().is_none_or(|w| *r < w.reach)) {
                    worst = Some(Doom { reach, rule: rule.rule.clone(), measure: clause.measure.name() });
                }
            }
        }
        for join in line.joins.iter().filter(|j| j.key < key) {
            if let Some(doom) = self.doom_of(join) {
                over = true;
                if worst.as_ref().is_none_or(|w| doom.reach < w.reach) {
                    worst = Some(doom);
                }
            }
        }
        let found = worst.filter(|_| over);
        self.dooms.borrow_mut().insert((id, key), found.clone());
        found
    }

    fn doom_of(&self, join: &Join<'a>) -> Option<Doom> {
        let dooms = join.from.iter().filter_map(|p| self.doom(p, join.key));
        dooms.reduce(|a, b| if b.reach < a.reach { b } else { a })
    }

    /// All that the rules read of an item: at the fold's instant, or at the instant it closed.
    /// `None` if it hasn't begun by then.
    pub fn exposure(&self, id: &'a Id) -> Option<Exposure> {
        let item = self.state.items.get(id)?;
        let end = item.end().filter(|e| e.key() <= self.cut);
        let cut = end.map_or(self.cut, |e| e.key());
        let line = if end.is_some() { Rc::new(self.draw(id, cut)?) } else { self.line(id)? };
        if cut != self.cut && line.joins.iter().any(|j| j.key.0 == cut.0) {
            // What happened to a parent at that very instant, but later in the order of truth, doesn't count.
            return Fold::cut_at(self.state, cut, self.zone).exposure_along(id, &line, cut, true);
        }
        self.exposure_along(id, &line, cut, end.is_some())
    }

    fn exposure_along(&self, id: &'a Id, line: &Line<'a>, cut: Cut, closed: bool) -> Option<Exposure> {
        let item = self.state.items.get(id)?;
        let at = cut.0;
        let along = self.along(line, cut);
        let rules = self.rules_of(line);
        let aims: Vec<Aim> = rules.iter().flat_map(|r| &r.clauses).map(|c| (c.measure, c.at_limit)).collect();
        let mut now: Vec<Gauge> = aims.iter().map(|a| Gauge::start(a.0, a.1, &along)).collect();
        let plain_aim: Aim = (PLAIN, AtLimit::Breach);
        let mut plain = Gauge::start(PLAIN, AtLimit::Breach, &along);
        let mut doom: Option<Doom> = None;
        let mut stops = Vec::new();
        enum Event<'e, 'a> {
            Join(&'e Join<'a>),
            Return,
            Close(CloseAs),
        }
        let mut events: Vec<(Cut, Event)> = line.joins.iter().map(|j| (j.key, Event::Join(j))).collect();
        for pair in line.pieces.windows(2) {
            if pair[0].out && !pair[0].chilling && (!pair[1].out || pair[1].chilling) && pair[1].from <= at {
                events.push(((pair[1].from, u64::MAX), Event::Return));
            }
        }
        for e in item.truth.iter().take_while(|e| e.key() <= cut) {
            if let Body::Close { r#as, .. } = e.body {
                events.push((e.key(), Event::Close(r#as)));
            }
        }
        events.sort_by_key(|(key, _)| *key);
        for (key, event) in events {
            for gauge in now.iter_mut().chain([&mut plain]) {
                gauge.advance(&along, key.0);
            }
            let stop = match event {
                Event::Join(join) => {
                    for (gauge, aim) in now.iter_mut().zip(&aims) {
                        gauge.join(&self.parents(join, *aim), &along, key.0);
                    }
                    plain.join(&self.parents(join, plain_aim), &along, key.0);
                    let theirs = self.doom_of(join);
                    let over = theirs.is_some();
                    if theirs.as_ref().is_some_and(|t| doom.as_ref().is_none_or(|d| t.reach < d.reach)) {
                        doom = theirs;
                    }
                    Stop::Join { over }
                }
                Event::Return => Stop::Return,
                Event::Close(how) => Stop::Close(how),
            };
            let begun = |g: &Gauge| g.out().is_some_and(|o| o.first.is_some());
            let breached = now.iter().map(|g| g.breached(key.0)).collect();
            let begun = now.iter().chain([&plain]).map(begun).collect();
            stops.push(StopAt { at: key.0, stop, breached, begun, doomed: doom.is_some() });
        }
        for gauge in now.iter_mut().chain([&mut plain]) {
            gauge.advance(&along, at);
        }
        let stays = |g: &Gauge| {
            let mut g = g.clone();
            g.advance(&along, Instant::FAR);
            g
        };
        let piece = line.piece(at)?;
        let last_day = now.iter().filter_map(|g| g.last_day(self.zone)).min();
        Some(Exposure {
            at,
            ahead: now.iter().map(stays).collect(),
            taken_out: self.taken_out(id, line, cut, &aims, &now)?,
            now,
            plain,
            rules,
            place: piece.place.place.clone(),
            out: piece.out && !piece.chilling,
            frozen: piece.place.control == crate::ledger::Control::Frozen && (!piece.out || piece.chilling),
            closed,
            doom,
            stops,
            last_day,
        })
    }

    /// The gauges as if the item were taken out at the cut, followed to the end.
    fn taken_out(&self, id: &'a Id, line: &Line<'a>, cut: Cut, aims: &[Aim], now: &[Gauge]) -> Option<Vec<Gauge>> {
        let at = cut.0;
        // What began or was joined at that very instant would have been out then: it is followed from the start.
        if line.entry.at == at || line.joins.iter().any(|j| j.key.0 == at) {
            let other = Rc::new(line.taken_out(at)?);
            let fold = Fold::cut_at(self.state, cut, self.zone);
            fold.lines.borrow_mut().insert(id, Some(other.clone()));
            let along = fold.along(&other, cut);
            let follow = |aim: &Aim| {
                let mut gauge = fold.at_join(id, *aim, (at, u64::MAX))?;
                gauge.advance(&along, Instant::FAR);
                Some(gauge)
            };
            return aims.iter().map(follow).collect();
        }
        let (along, last) = (self.along(line, cut), line.out_from(at)?);
        let follow = |gauge: &Gauge| {
            let mut gauge = gauge.clone();
            gauge.go_on(&along, &last, at);
            gauge
        };
        Some(now.iter().map(follow).collect())
    }

    /// The instant up to which happenings are read.
    pub fn as_of(&self) -> Instant {
        self.cut.0
    }

    /// The zone whose calendar counts.
    pub fn zone(&self) -> Zone {
        self.zone
    }

    /// The ledger being folded.
    pub fn state(&self) -> &'a State {
        self.state
    }
}
