//! What stands on an item's label, and why there may be none. Pure.
//!
//! A label of what is out carries the time of the last printed mark, never one computed while it is drawn: so the label
//! and the log say the same. It is not drawn where that time is later than the computed one or than any other mark. A label
//! of what is cold says the earliest mark beside the time left, and is not drawn once that mark's time has come.

use super::marking::{self, Marking, NoMark, earliest, marks};
use super::paper::{Align, Block, Code, Grid, Paper, Size, Strip, Table, Text};
use crate::clock::Instant;
use crate::exposure::Fold;
use crate::lang;
use crate::ledger::{Id, MarkHow, State, chain};
use crate::rules::{Demand, Measure, Phase, Rule, Standing, standing};
use crate::show::Show;
use crate::words;

/// What a label is made from.
#[derive(Clone, Copy)]
pub struct Source<'s> {
    /// The ledger, with the item.
    pub state: &'s State,
    /// How times are read.
    pub show: Show,
    /// The last entry's number and hash.
    pub head: (u64, &'s str),
}

/// The largest thing on a label.
#[derive(Clone, PartialEq, Debug)]
pub enum Time {
    /// The time and the date it is discarded by.
    By(String, String),
    /// How long it may yet be out.
    Left(String),
    /// Only its days are counted: the last date, where it is known.
    Days(Option<String>),
    /// Nothing would ever discard it.
    Never,
}

/// A label.
#[derive(Clone, PartialEq, Debug)]
pub struct Label {
    /// The item.
    pub item: Id,
    /// Its name.
    pub name: String,
    /// The shop's.
    pub shop: String,
    /// When it was made or opened.
    pub made: String,
    /// When it was taken out.
    pub out_at: Option<String>,
    /// Until when, or how long.
    pub time: Time,
    /// The same as an instant, where it is one.
    pub discard_by: Option<Instant>,
    /// In the cold, what else holds: an earlier mark's time beside the time left, or the time left beside its time.
    pub also: Option<String>,
    /// Each of its rules in words.
    pub rules: Vec<String>,
    /// The last date it may be used on.
    pub use_by: Option<String>,
    /// Which copy, where it carries a mark's time.
    pub copy: Option<u32>,
    /// Whether that time is earlier than the mark before it.
    pub new_time: bool,
    /// The instant all this was so.
    pub as_of: String,
    /// The last entry's number and the first digits of its hash.
    pub head: (u64, String),
}

/// Why an item has no label.
#[derive(Clone, PartialEq, Debug)]
pub enum NoLabel {
    /// It has ended.
    Closed,
    /// It is at `discard`: it is thrown away, not labelled.
    Over,
    /// Where it is nothing would discard it.
    NoLimit,
    /// The time of an earlier mark has come, and no later one may be given.
    Held(Instant),
    /// None was printed.
    Unprinted,
    /// The printed time is later than it may be by now, and what it may be where a mark can say so.
    TooLate {
        /// What the last printed mark says.
        printed: Instant,
        /// What a new one would say.
        now: Option<Instant>,
    },
}

impl NoLabel {
    /// A sentence.
    pub fn text(&self, show: Show) -> String {
        match self {
            NoLabel::Closed => lang::ticket_closed().to_owned(),
            NoLabel::Over => lang::ticket_over().to_owned(),
            NoLabel::NoLimit => lang::ticket_no_limit().to_owned(),
            NoLabel::Held(by) => lang::ticket_held(&show.clock(*by)),
            NoLabel::Unprinted => lang::ticket_unprinted().to_owned(),
            NoLabel::TooLate { printed, .. } => lang::ticket_too_late(&show.clock(*printed)),
        }
    }

    /// What to do next.
    pub fn next(&self, show: Show) -> String {
        match self {
            NoLabel::Closed => lang::ticket_closed_next().to_owned(),
            NoLabel::Over => lang::ticket_over_next().to_owned(),
            NoLabel::NoLimit => lang::ticket_no_limit_next().to_owned(),
            NoLabel::Held(_) => lang::ticket_held_next().to_owned(),
            NoLabel::Unprinted => lang::ticket_unprinted_next().to_owned(),
            NoLabel::TooLate { now: Some(now), .. } => lang::ticket_too_late_next(&show.clock(*now)),
            NoLabel::TooLate { now: None, .. } => lang::ticket_held_next().to_owned(),
        }
    }

    /// Whether touching "print" gives it one.
    pub fn may_print(&self) -> bool {
        matches!(self, NoLabel::Unprinted | NoLabel::TooLate { now: Some(_), .. })
    }
}

impl Label {
    /// An item's label, or why it has none; `None` if there is no such item yet. `fold` is of the source's state at its now.
    pub fn of<'s>(source: Source<'s>, fold: &Fold<'s>, id: &Id) -> Option<Result<Label, NoLabel>> {
        let Source { state, show, head: (seq, hash) } = source;
        let (id, item) = state.items.get_key_value(id)?;
        let (entry, begin) = item.begin()?;
        let s = standing(fold, id)?;
        let marking = Marking::of(state, &s)?;
        let use_by = s.use_by.as_deref().map(|d| show.date_of(d));
        let printed = marks(item).filter(|m| m.how == MarkHow::Printed).last();
        let left = Show::left(s.left_ms.unwrap_or(0));
        let mut also = None;
        let (time, printed) = match (&marking.next, printed) {
            (Err(NoMark::Closed), _) => return Some(Err(NoLabel::Closed)),
            (Err(NoMark::Over), _) => return Some(Err(NoLabel::Over)),
            (Err(NoMark::Held(m)), _) => return Some(Err(NoLabel::Held(m.discard_by))),
            (Err(NoMark::NoLimit), _) if s.left_ms.is_none() => (Time::Never, None),
            (Err(NoMark::Cold), _) => {
                also = earliest(item).map(|m| lang::ticket_held_by(&show.clock(m.discard_by)));
                // Taken out on a later day it has no longer than now: its days go on, so no span is written down.
                (if s.clock_left_ms.is_some() { Time::Left(left) } else { Time::Days(use_by.clone()) }, None)
            }
            (Err(NoMark::NoLimit), None) => return Some(Err(NoLabel::NoLimit)),
            (_, None) => return Some(Err(NoLabel::Unprinted)),
            (next, Some(m)) => {
                let earliest = marks(item).map(|m| m.discard_by).chain(s.discard_by).min();
                if earliest.is_some_and(|t| t < m.discard_by) {
                    let now = next.as_ref().ok().map(|n| n.discard_by);
                    return Some(Err(NoLabel::TooLate { printed: m.discard_by, now }));
                }
                // A clock runs on in the cold, and there is less than that left for being out.
                let once_out = s.left_ms.filter(|_| s.state != Phase::Out).map(|ms| s.as_of.plus(ms));
                also = once_out.filter(|t| *t < m.discard_by).map(|_| lang::ticket_left_too(&left));
                (Time::By(show.time(m.discard_by), show.date(m.discard_by)), Some(m))
            }
        };
        let before = printed.as_ref().and_then(|p| marks(item).take_while(|m| m.seq != p.seq).last());
        let name = match item.left().max(1) {
            1 => begin.name.to_string(),
            n => lang::name_count(&n.to_string(), &begin.name),
        };
        // What only limits the days is said by the use-by date.
        let days = |r: &Rule| s.use_by.is_some() && r.clauses.iter().all(|c| matches!(c.measure, Measure::Day { .. }));
        let rules: Vec<_> = state.rules_of(begin, entry.meta.seq).into_iter().filter(|r| !days(r)).collect();
        Some(Ok(Label {
            item: id.clone(),
            name,
            shop: state.site.as_ref().map(|s| s.name.to_string()).unwrap_or_default(),
            made: show.dated(entry.at),
            out_at: out_at(&s).filter(|_| marking::runs(&s)).map(|t| show.dated(t)),
            also,
            discard_by: printed.as_ref().map(|p| p.discard_by),
            rules: rules.iter().map(|r| rule(show, r)).collect(),
            // Not twice on one label.
            use_by: use_by.filter(|_| !matches!(time, Time::Days(_))),
            time,
            copy: printed.as_ref().map(|p| p.copy),
            new_time: printed.zip(before).is_some_and(|(p, b)| p.discard_by < b.discard_by),
            as_of: show.dated(s.as_of),
            head: (seq, chain::digits(hash).to_owned()),
        }))
    }

    /// The words under the name: which copy, and whether its time is new.
    pub fn copy_words(&self) -> Option<String> {
        let copy = self.copy?.to_string();
        Some(if self.new_time { lang::ticket_copy_new(&copy) } else { lang::ticket_copy(&copy) })
    }

    /// What is asked and what is answered, a line each.
    pub fn lines(&self) -> Vec<(&'static str, String)> {
        let lines = [
            (lang::ticket_made(), Some(&self.made)),
            (lang::ticket_out_at(), self.out_at.as_ref()),
            (lang::ticket_use_by(), self.use_by.as_ref()),
        ];
        lines.into_iter().filter_map(|(what, text)| Some((what, text?.clone()))).collect()
    }

    /// Which state of the log it was printed from.
    pub fn log(&self) -> String {
        lang::ticket_log(&self.head.1, &self.head.0.to_string())
    }

    /// As blocks for a label 57 mm wide. `address` is where its code leads.
    pub fn blocks(&self, address: &str, strip: Strip) -> Vec<Block> {
        let text = |t: &str, pt: f32| Block::Text(Text::from(t).pt(pt));
        let bold = |t: &str, pt: f32| Block::Text(Text::bold(t).pt(pt));
        let mut out = vec![Block::Heading(1, Text::bold(self.name.as_str()).pt(13.0))];
        if let Some(words) = self.copy_words() {
            out.push(if self.new_time { bold(&words, 8.5) } else { text(&words, 8.5) });
        }
        out.push(Block::Rule);
        match &self.time {
            Time::By(time, date) => {
                out.push(bold(lang::ticket_discard_by(), 10.0));
                out.push(Block::Text(Text::bold(time.as_str()).pt(38.0).align(Align::Start)));
                out.push(bold(date, 14.0));
            }
            Time::Left(left) => {
                out.push(bold(lang::ticket_left(), 10.0));
                out.push(bold(left, 26.0));
                out.push(bold(lang::ticket_by_hand_out(), 11.0));
                out.push(bold(lang::ticket_by_hand_by(), 11.0));
            }
            Time::Days(date) => {
                out.push(bold(lang::ticket_use_by(), 10.0));
                out.push(bold(date.as_deref().unwrap_or(lang::ticket_days()), 18.0));
            }
            Time::Never => out.push(bold(lang::lead_no_limit(), 14.0)),
        }
        out.extend(self.also.as_deref().map(|words| bold(words, 9.5)));
        out.push(Block::Rule);
        let rows = self.lines().into_iter().map(|(what, text)| (what.to_owned(), Text::from(text))).collect();
        out.push(Block::Table(Table { pt: 8.0, ..Table::answers(0.44, rows) }));
        // In the cold the strip of a day that is over tomorrow says little.
        if self.out_at.is_some() {
            out.push(Block::Strip(strip));
        }
        out.extend(self.rules.iter().map(|r| text(r, 7.5)));
        let code = Code { address: address.to_owned(), alt: lang::ticket_code(address), square_mm: 0.5 };
        out.push(Block::Beside {
            main: vec![text(&[self.shop.as_str(), &lang::as_of(&self.as_of), &self.log()].join("\n"), 7.5)],
            side: vec![Block::Code(code)],
            side_mm: 24.5,
        });
        out
    }
}

/// When its one clock began, under a rule that allows no return; else when its present stretch did, or, where a clock
/// runs on in the cold, when it first was out.
fn out_at(s: &Standing) -> Option<Instant> {
    let stretch = (s.state == Phase::Out).then(|| s.as_of.plus(-s.spell_ms));
    s.clock_from.or(stretch).or(s.first_out_at)
}

/// What a rule says of throwing away and putting back.
fn rule(show: Show, rule: &Rule) -> String {
    let clauses = rule.clauses.iter().filter(|c| matches!(c.demand, Demand::Discard | Demand::Use));
    let clauses: Vec<String> = clauses.map(|c| words::clause(show, c)).collect();
    match clauses.join("; ") {
        none if none.is_empty() => lang::ticket_rule_plain(&words::rule_name(rule), words::returns(rule.returns)),
        clauses => lang::ticket_rule(&clauses, &words::rule_name(rule), words::returns(rule.returns)),
    }
}

/// Labels on paper: one a page on a roll, three side by side on a sheet. Each comes as its blocks.
pub fn paper(title: String, shop: String, now: Instant, size: Size, labels: Vec<Vec<Block>>) -> Paper {
    let blocks = match size {
        Size::Roll { .. } => {
            let mut blocks = Vec::new();
            for (i, label) in labels.into_iter().enumerate() {
                if i > 0 {
                    blocks.push(Block::Break);
                }
                blocks.extend(label);
            }
            blocks
        }
        Size::A4 | Size::Letter => {
            vec![Block::Grid(Grid { columns: 3, wide_mm: 57.0, high_mm: 40.0, cells: labels })]
        }
    };
    Paper { title, author: shop, made_at: now, size, foot: false, blocks }
}

/// What stands in a label's place where there is none.
pub fn missing(name: &str, why: &NoLabel, show: Show) -> Vec<Block> {
    let text = lang::ticket_missing(&why.next(show), &why.text(show));
    vec![Block::Heading(1, Text::bold(name).pt(11.0)), Block::Text(Text::from(text).pt(9.0))]
}
