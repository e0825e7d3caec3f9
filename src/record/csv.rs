//! The record as CSV (RFC 4180): a line a spell, inherited time as lines of their own naming the parent.

use crate::clock::{Instant, Zone};
use crate::exposure::{Fold, Spell};
use crate::ledger::{Begin, Body, Entry, Id, Item, State};
use crate::people::Names;
use crate::rules::{Standing, standing};
use std::sync::Arc;

/// The header.
pub const COLUMNS: [&str; 34] = [
    "site",
    "item",
    "name",
    "product",
    "lot",
    "made_from",
    "rules",
    "line",
    "inherited_from",
    "out_at",
    "temperature_out",
    "place_out",
    "out_by",
    "back_at",
    "temperature_back",
    "place_back",
    "back_by",
    "minutes_this_spell",
    "minutes_in_all",
    "ms_this_spell",
    "ms_in_all",
    "first_out",
    "verdict",
    "discard_by",
    "marked_discard_by",
    "ended",
    "ended_at",
    "ended_by",
    "late_minutes",
    "corrections",
    "deviations",
    "reviewed_by",
    "reviewed_at",
    "hash",
];

/// What a review says of a stretch, and who signed it.
pub struct Review {
    /// From this local date.
    pub from: String,
    /// To this one, included.
    pub to: String,
    /// Who.
    pub by: Option<Id>,
    /// When.
    pub at: Instant,
}

/// Everything the rows are made from.
pub struct Paper<'a> {
    /// The site's id.
    pub site: &'a str,
    /// The ledger of the stretch.
    pub state: &'a State,
    /// The instant standings are of.
    pub now: Instant,
    /// Hashes by `seq`.
    pub hashes: &'a dyn Fn(u64) -> String,
    /// The signed reviews.
    pub reviews: &'a [Review],
    /// The names of whoever wrote entries.
    pub names: &'a Names,
}

/// Text that a spreadsheet would run as a formula gets an apostrophe before it.
fn guard(text: &str) -> String {
    match text.chars().next() {
        Some('=' | '+' | '-' | '@' | '\t' | '\r') => format!("'{text}"),
        _ => text.to_owned(),
    }
}

/// Minutes with two decimals, never rounded down: time used isn't made less.
fn minutes(ms: i64) -> String {
    let hundredths = (ms * 100).div_euclid(60_000) + i64::from((ms * 100).rem_euclid(60_000) > 0);
    format!("{}.{:02}", hundredths / 100, hundredths % 100)
}

/// Local time with offset, to the millisecond.
fn local(zone: Zone, t: Instant) -> String {
    let l = zone.local(t);
    let (h, m, _) = l.offset().as_hms();
    let sign = if l.offset().is_negative() { '-' } else { '+' };
    format!(
        "{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.{:03}{sign}{:02}:{:02}",
        l.year(),
        u8::from(l.month()),
        l.day(),
        l.hour(),
        l.minute(),
        l.second(),
        l.millisecond(),
        h.abs(),
        m.abs()
    )
}

/// Writes the header and the rows of the items given, in order of their beginning, then spell.
pub fn write<W: std::io::Write>(paper: &Paper, items: &mut dyn Iterator<Item = &Id>, out: W) -> Result<(), csv::Error> {
    let mut csv = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(out);
    csv.write_record(COLUMNS)?;
    let zone = paper.state.site.as_ref().map_or(Zone::UTC, |s| s.zone);
    let fold = Fold::new(paper.state, paper.now, zone);
    let mut order: Vec<_> = items
        .filter_map(|id| paper.state.items.get_key_value(id))
        .filter_map(|(id, item)| item.begin().map(|(e, _)| (e.key(), id)))
        .collect();
    order.sort_unstable();
    for (_, id) in order {
        let Some(item) = paper.state.items.get(id) else { continue };
        let (Some((entry, begin)), Some(s)) = (item.begin(), standing(&fold, id)) else { continue };
        let spells = fold.spells(id);
        let page = Page { paper, zone, item, entry, begin, s: &s };
        if spells.is_empty() {
            csv.write_record(page.row(1, None))?;
        }
        for (i, spell) in spells.iter().enumerate() {
            csv.write_record(page.row(i + 1, Some(spell)))?;
        }
    }
    csv.flush()?;
    Ok(())
}

struct Page<'a> {
    paper: &'a Paper<'a>,
    zone: Zone,
    item: &'a Item,
    entry: &'a Arc<Entry>,
    begin: &'a Begin,
    s: &'a Standing,
}

impl Page<'_> {
    fn row(&self, line: usize, spell: Option<&Spell>) -> Vec<String> {
        let state = self.paper.state;
        let local = |t: Instant| local(self.zone, t);
        let own = spell.filter(|s| s.inherited_from.is_none());
        let place = |id: &Id| guard(state.places.get(id).map_or(id.as_str(), |p| &p.name));
        let name = |id: &Id| guard(self.paper.names.of(id));
        let by = |e: Option<&Arc<Entry>>| e.and_then(|e| e.meta.by.as_ref()).map_or(String::new(), name);
        let at = |t: Option<Instant>| t.and_then(|t| self.item.truth.iter().rev().find(|e| e.at == t && moves(e)));
        let (left, back) = (at(own.map(|s| s.from)), at(own.and_then(|s| s.to)));
        let end = self.item.end();
        let marked = self.item.truth.iter().rev().find_map(|e| match &e.body {
            Body::Mark { discard_by, .. } => Some(*discard_by),
            _ => None,
        });
        let length = spell.map_or(0, |s| s.length_ms(self.s.as_of));
        let late: i64 = self.item.truth.iter().filter_map(|e| e.meta.late_ms(e.at)).max().unwrap_or(0);
        let day = Zone::date_text(self.zone.day(self.entry.at));
        let review = self.paper.reviews.iter().find(|r| r.from <= day && day <= r.to);
        let deviations: Vec<&str> = self.s.deviations.iter().map(|d| d.code).collect();
        let rules: Vec<String> = state.rules_of(self.begin, self.entry.meta.seq).iter().map(rule_words).collect();
        let from: Vec<&str> = self.item.truth.iter().flat_map(|e| e.parents()).map(Id::as_str).collect();
        let ended = end.map(|e| match &e.body {
            Body::Close { r#as, .. } => serde_json::to_value(r#as).ok().and_then(|v| v.as_str().map(str::to_owned)),
            _ => None,
        });
        vec![
            self.paper.site.to_owned(),
            self.begin.item.to_string(),
            guard(&self.begin.name),
            self.begin.product.as_ref().map_or(String::new(), Id::to_string),
            self.begin.lot.as_deref().map_or(String::new(), guard),
            from.join(" "),
            guard(&rules.join("; ")),
            line.to_string(),
            spell.and_then(|s| s.inherited_from.as_ref()).map_or(String::new(), Id::to_string),
            spell.map_or(String::new(), |s| local(s.from)),
            self.temperature(own.map(|s| s.from)),
            spell.map_or(String::new(), |s| place(&s.place)),
            by(left),
            spell.and_then(|s| s.to).map_or(String::new(), local),
            self.temperature(own.and_then(|s| s.to)),
            back.and_then(|e| place_of(e)).map_or(String::new(), place),
            by(back),
            minutes(length),
            minutes(self.s.total_out_ms),
            length.to_string(),
            self.s.total_out_ms.to_string(),
            self.s.first_out_at.map_or(String::new(), local),
            self.s.verdict.to_string(),
            self.s.discard_by.map_or(String::new(), local),
            marked.map_or(String::new(), local),
            ended.flatten().unwrap_or_default(),
            end.map_or(String::new(), |e| local(e.at)),
            by(end),
            minutes(late),
            self.corrections(),
            deviations.join(" "),
            review.and_then(|r| r.by.as_ref()).map_or(String::new(), name),
            review.map_or(String::new(), |r| local(r.at)),
            (self.paper.hashes)(left.unwrap_or(self.entry).meta.seq),
        ]
    }

    /// The last food reading in the hour up to an instant.
    fn temperature(&self, t: Option<Instant>) -> String {
        let Some(t) = t else { return String::new() };
        let near = |e: &&Arc<Entry>| e.at <= t && t.since(e.at) <= crate::clock::HOUR_MS;
        let found = self.item.truth.iter().rev().filter(near).find_map(|e| match &e.body {
            Body::FoodReading { value, .. } => Some(format!("{} {:?}", value.value(), value.unit)),
            _ => None,
        });
        found.unwrap_or_default()
    }

    /// Old and new of what was corrected, by whom, when, why.
    fn corrections(&self) -> String {
        let mut said = Vec::new();
        for record in &self.item.records {
            for c in &record.corrections {
                let Body::Correct { change, reason, .. } = &c.body else { continue };
                let new = match change {
                    crate::ledger::Change::Void => String::from("void"),
                    crate::ledger::Change::Set(set) => serde_json::Value::Object(set.clone()).to_string(),
                };
                let by = c.meta.by.as_ref().map_or("", |id| self.paper.names.of(id));
                let at = local(self.zone, c.meta.recorded_at.unwrap_or(c.at));
                said.push(format!(
                    "entry {} at {}: {new} ({reason}) {by} {at}",
                    record.original.meta.seq,
                    local(self.zone, record.original.at)
                ));
            }
        }
        guard(&said.join(" | "))
    }
}

fn moves(e: &Entry) -> bool {
    matches!(e.body, Body::Move { .. } | Body::Item(_))
}

fn place_of(e: &Entry) -> Option<&Id> {
    match &e.body {
        Body::Move { place, .. } => Some(place),
        Body::Item(b) => Some(&b.place),
        _ => None,
    }
}

fn rule_words(rule: &Arc<crate::rules::Rule>) -> String {
    match &rule.source.edition {
        Some(edition) => format!("{} ({edition})", rule.rule),
        None => rule.rule.to_string(),
    }
}
