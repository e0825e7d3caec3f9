//! The chart of a place's air: each reading holds until the next, as the rules count it, and no longer than it may;
//! after that there is a gap. Its limit is a labelled line, its lapses are hatched. Nothing here is worked out in floats.

use super::show::Show;
use super::strip::escape;
use crate::clock::{HOUR_MS, Instant};
use crate::lang;
use crate::ledger::{Temperature, Unit};
use std::fmt::Write;

/// Pixels from the top edge to the highest line, and from there to the lowest.
const TOP: i64 = 20;
const HIGH: i64 = 192;
/// Columns in which the line is drawn: of more readings than that, each column keeps its lowest and its highest.
const COLUMNS: i64 = 600;
/// Stretches named in words at most.
const NAMED: usize = 6;

/// A stretch of time; without an end it goes on.
pub type Stretch = (Instant, Option<Instant>);

/// What a chart is drawn from.
pub struct Chart<'c> {
    /// How times and temperatures are read.
    pub show: Show,
    /// Its left end.
    pub from: Instant,
    /// Its right end.
    pub to: Instant,
    /// Readings in order of time; one from before the left end may hold into it.
    pub readings: &'c [(Instant, Temperature)],
    /// What the place is not to be above.
    pub limit: Option<Temperature>,
    /// Lapses in order of time.
    pub lapses: &'c [Stretch],
    /// For how long a reading holds, milliseconds.
    pub holds_ms: i64,
    /// Whether days are marked instead of hours.
    pub days: bool,
}

/// Readings that follow upon each other without a gap, and until when the last of them holds.
pub struct Run<'c> {
    /// In order of time; at least one.
    pub readings: &'c [(Instant, Temperature)],
    /// Where the line ends.
    pub until: Instant,
}

/// Lowest and highest of the scale and the step of its lines, on the exact scale.
struct Scale {
    low: i64,
    high: i64,
    steps: Vec<(i64, Temperature)>,
}

impl<'c> Chart<'c> {
    /// The stretches with readings.
    pub fn runs(&self) -> Vec<Run<'c>> {
        let mut runs = Vec::new();
        let mut first = 0;
        for (i, (at, _)) in self.readings.iter().enumerate() {
            let holds = at.plus(self.holds_ms);
            let next = self.readings.get(i + 1).map(|(at, _)| *at);
            if next.is_none_or(|next| next > holds) {
                runs.push(Run { readings: &self.readings[first..=i], until: holds.min(self.to) });
                first = i + 1;
            }
        }
        // One that held no longer when the chart begins is none of it.
        runs.retain(|run| run.until > self.from);
        runs
    }

    /// The stretches without: what lies between the runs, and before and after them.
    pub fn gaps(&self) -> Vec<(Instant, Instant)> {
        let (mut gaps, mut since) = (Vec::new(), self.from);
        for run in self.runs() {
            gaps.push((since, run.readings[0].0));
            since = run.until;
        }
        gaps.push((since, self.to));
        gaps.retain(|(from, to)| from < to);
        gaps
    }

    /// The stretches above the limit, up to the first reading that isn't, or to where the last one holds no longer.
    pub fn above(&self) -> Vec<(Instant, Instant)> {
        let Some(limit) = self.limit else { return Vec::new() };
        let mut found = Vec::new();
        for run in self.runs() {
            let mut since = None;
            for (at, t) in run.readings {
                match (t.exact() > limit.exact(), since) {
                    (true, None) => since = Some(*at),
                    (false, Some(from)) => {
                        found.push((from, *at));
                        since = None;
                    }
                    _ => {}
                }
            }
            found.extend(since.map(|from| (from, run.until)));
        }
        found
    }

    fn lapses_shown(&self) -> impl Iterator<Item = (Instant, Instant, bool)> {
        let (from, to) = (self.from, self.to);
        let cut = move |(since, until): &Stretch| {
            let end = until.unwrap_or(to).min(to);
            (end > from && *since < to).then_some(((*since).max(from), end, until.is_none()))
        };
        self.lapses.iter().filter_map(cut)
    }

    fn scale(&self) -> Scale {
        let unit = self.show.units;
        let whole = |degrees: i64| Temperature { tenths: (degrees * 10) as i32, unit };
        let degree = whole(1).exact() - whole(0).exact();
        let all = || self.readings.iter().map(|(_, t)| t.exact()).chain(self.limit.map(Temperature::exact));
        let zero = whole(0).exact();
        let (least, most) = (all().min().unwrap_or(zero), all().max().unwrap_or(zero + 10 * degree));
        let span = (most - least) / degree + 2;
        let step = [1, 2, 5, 10, 20, 50, 100].into_iter().find(|s| span <= s * 6).unwrap_or(200);
        let low = (least - zero - degree / 2).div_euclid(step * degree) * step;
        let high = -(zero - most - degree / 2).div_euclid(step * degree) * step;
        let lines = (low..=high.max(low + step)).step_by(step as usize);
        let steps: Vec<(i64, Temperature)> = lines.map(|d| (whole(d).exact(), whole(d))).collect();
        let ends = (steps.first(), steps.last());
        let (low, high) = (ends.0.map_or(zero, |s| s.0), ends.1.map_or(zero + degree, |s| s.0));
        Scale { low, high, steps }
    }

    /// Inline SVG with a text equivalent.
    pub fn svg(&self) -> String {
        let (scale, label) = (self.scale(), escape(&self.text()));
        let height = TOP + HIGH + 28;
        let mut out = format!(r#"<svg class="air" role="img" aria-label="{label}" width="100%" height="{height}">"#);
        let o = &mut out;
        _ = write!(o, r#"<defs><pattern id="hatch" width="8" height="8" patternUnits="userSpaceOnUse" "#);
        _ = write!(o, r#"patternTransform="rotate(45)"><line x1="0" x2="0" y1="0" y2="8" stroke="currentColor" "#);
        _ = write!(o, r#"stroke-width="3"/></pattern></defs>"#);
        for (from, to, _) in self.lapses_shown() {
            let (x, wide) = (self.x(from), self.wide(from, to));
            _ = write!(o, r#"<rect class="lapse" x="{x}%" y="{TOP}" width="{wide}%" height="{HIGH}" "#);
            _ = write!(o, r##"fill="url(#hatch)"/>"##);
        }
        for (value, t) in &scale.steps {
            let (y, text) = (self.y(&scale, *value), escape(&self.whole(*t)));
            _ = write!(o, r#"<line class="step" x1="0" x2="100%" y1="{y}" y2="{y}" stroke="currentColor"/>"#);
            _ = write!(o, r#"<text class="scale" x="2" y="{y}" dy="-4" fill="currentColor">{text}</text>"#);
        }
        self.ticks(o);
        // What was read lies over every word.
        if let Some(limit) = self.limit {
            let y = self.y(&scale, limit.exact());
            _ = write!(o, r#"<line class="limit" x1="0" x2="100%" y1="{y}" y2="{y}" stroke="currentColor"/>"#);
            let text = escape(&lang::chart_limit(&self.show.limit(limit)));
            _ = write!(o, r#"<text class="limit" x="100%" dx="-4" y="{y}" dy="-6" text-anchor="end" "#);
            _ = write!(o, r#"fill="currentColor">{text}</text>"#);
        }
        for (from, to) in self.gaps().iter().filter(|(from, to)| to.since(*from) * 4 > self.to.since(self.from)) {
            let x = self.x(from.plus(to.since(*from) / 2));
            _ = write!(o, r#"<text class="gap" x="{x}%" y="{}" text-anchor="middle" "#, TOP + HIGH / 2);
            _ = write!(o, r#"fill="currentColor">{}</text>"#, escape(lang::chart_gap()));
        }
        _ = write!(o, r#"<svg y="{TOP}" width="100%" height="{HIGH}" viewBox="0 0 10000 {HIGH}00" "#);
        _ = write!(o, r#"preserveAspectRatio="none">"#);
        for run in self.runs() {
            _ = write!(
                o,
                r#"<polyline class="read" fill="none" stroke="currentColor" points="{}" "#,
                self.line(&run, &scale)
            );
            _ = write!(o, r#"vector-effect="non-scaling-stroke"/>"#);
        }
        o.push_str("</svg>");
        // A reading by hand, a few a day, is a point of its own.
        let few = self.runs().into_iter().filter(|r| r.readings.len() <= 3);
        for (at, t) in few.flat_map(|r| r.readings).filter(|(at, _)| *at >= self.from) {
            let (x, y) = (self.x(*at), self.y(&scale, t.exact()));
            _ = write!(o, r#"<circle class="point" cx="{x}%" cy="{y}" r="3" fill="currentColor"/>"#);
        }
        out.push_str("</svg>");
        out
    }

    /// A line of the scale: whole degrees, in the shop's own unit.
    fn whole(&self, t: Temperature) -> String {
        let degrees = (t.tenths / 10).to_string();
        match t.unit {
            Unit::C => lang::celsius(&degrees),
            Unit::F => lang::fahrenheit(&degrees),
        }
    }

    /// The corners of a run's line, each reading level up to the next.
    fn line(&self, run: &Run, scale: &Scale) -> String {
        let mut out = String::new();
        let kept = self.thinned(run.readings);
        for (i, (at, t)) in kept.iter().enumerate() {
            let (x, until) = (self.column(*at, 10_000), kept.get(i + 1).map_or(run.until, |(at, _)| *at));
            let y = (scale.high - t.exact()) * HIGH * 100 / (scale.high - scale.low).max(1);
            _ = write!(out, "{x},{y} {},{y} ", self.column(until, 10_000));
        }
        out.truncate(out.trim_end().len());
        out
    }

    /// Of many readings in one column the lowest and the highest: no peak is lost.
    fn thinned(&self, readings: &[(Instant, Temperature)]) -> Vec<(Instant, Temperature)> {
        let column = |r: &(Instant, Temperature)| self.column(r.0, COLUMNS);
        let mut kept = Vec::new();
        for part in readings.chunk_by(|a, b| column(a) == column(b)) {
            let by = |r: &&(Instant, Temperature)| r.1.exact();
            let (low, high) = (part.iter().min_by_key(by), part.iter().max_by_key(by));
            kept.extend(low.into_iter().chain(high).copied());
        }
        kept.sort_by_key(|r| r.0);
        kept.dedup_by_key(|r| r.0);
        kept
    }

    fn ticks(&self, o: &mut String) {
        let (y, zone) = (TOP + HIGH, self.show.zone);
        let mut tick = |at: Instant, long: bool| {
            let (x, end) = (self.x(at), y + if long { 8 } else { 4 });
            _ = write!(o, r#"<line class="tick" x1="{x}%" x2="{x}%" y1="{y}" y2="{end}" stroke="currentColor"/>"#);
        };
        let mut words = Vec::new();
        if self.days {
            for day in zone.day(self.from)..=zone.day(self.to) {
                let (from, to) = (zone.day_starts(day), zone.day_starts(day + 1));
                if from > self.from {
                    tick(from, true);
                }
                let noon = from.plus(to.since(from) / 2);
                words.push((noon, self.show.weekday(noon).to_owned()));
            }
        } else {
            // Some zones are off by half an hour, or a quarter.
            let mut at = Instant(self.from.0 - self.from.0.rem_euclid(HOUR_MS / 4));
            while at <= self.to {
                let local = zone.local(at);
                if at >= self.from && local.minute() == 0 && local.hour().is_multiple_of(3) {
                    let long = local.hour().is_multiple_of(6);
                    tick(at, long);
                    words.extend(long.then(|| (at, self.show.time(at))));
                }
                at = at.plus(HOUR_MS / 4);
            }
        }
        for (at, text) in words {
            let part = self.column(at, 100);
            if (4..=96).contains(&part) {
                _ = write!(o, r#"<text class="hour" x="{}%" y="{}" text-anchor="middle" "#, self.x(at), y + 22);
                _ = write!(o, r#"fill="currentColor">{}</text>"#, escape(&text));
            }
        }
    }

    /// Where an instant falls, of so many columns; at an edge if it lies outside.
    fn column(&self, at: Instant, of: i64) -> i64 {
        let at = at.clamp(self.from, self.to);
        at.since(self.from) * of / self.to.since(self.from).max(1)
    }

    fn x(&self, at: Instant) -> String {
        hundredths(self.column(at, 10_000))
    }

    /// How wide a stretch is, in per cent; wide enough to be seen.
    fn wide(&self, from: Instant, to: Instant) -> String {
        hundredths((self.column(to, 10_000) - self.column(from, 10_000)).max(30))
    }

    fn y(&self, scale: &Scale, value: i64) -> String {
        hundredths(TOP * 100 + (scale.high - value) * HIGH * 100 / (scale.high - scale.low).max(1))
    }

    /// The same in words.
    pub fn text(&self) -> String {
        let show = self.show;
        let mut parts = vec![lang::chart_span(&show.clock(self.from), &show.clock(self.to))];
        let by = |r: &&(Instant, Temperature)| r.1.exact();
        match (self.readings.iter().min_by_key(by), self.readings.iter().max_by_key(by)) {
            (Some(low), Some(high)) => {
                let (low, at) = (show.degrees(low.1), &show.clock(high.0));
                parts.push(lang::chart_range(at, &show.degrees(high.1), &low));
            }
            _ => parts.push(lang::chart_unread().to_owned()),
        }
        parts.extend(self.limit.map(|t| lang::chart_limit(&show.limit(t))));
        let named = |all: Vec<(Instant, Instant)>, words: fn(&str, &str) -> String| {
            let more = all.len().saturating_sub(NAMED);
            let line = |(from, to): &(Instant, Instant)| words(&show.clock(*from), &show.clock(*to));
            let lines: Vec<String> = all.iter().take(NAMED).map(line).collect();
            lines.into_iter().chain((more > 0).then(|| lang::chart_more(&more.to_string()))).collect::<Vec<_>>()
        };
        parts.extend(named(self.above(), lang::chart_above));
        let lapse = |(from, to, open): (Instant, Instant, bool)| match open {
            true => lang::chart_lapse_open(&show.clock(from)),
            false => lang::chart_lapse(&show.clock(from), &show.clock(to)),
        };
        parts.extend(self.lapses_shown().map(lapse));
        if !self.readings.is_empty() {
            parts.extend(named(self.gaps(), lang::chart_gap_from));
        }
        parts.join("; ")
    }
}

/// `12.34` for hundredths.
fn hundredths(n: i64) -> String {
    format!("{}.{:02}", n / 100, n % 100)
}
